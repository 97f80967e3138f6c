"""Rice fading and shadowing with fast fading on top: limits, round trips, monotony, refusals."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linkbudget.core.errors import OutOfRange
from linkbudget.physics.fading import rayleigh_margin_db, rayleigh_outage
from linkbudget.physics.rice import rice_margin_db, rice_outage
from linkbudget.physics.shadowed_fading import (
    outage_table,
    shadowed_margin_db,
    shadowed_outage,
)

NO_DIRECT_RAY = -math.inf
NO_FADING = math.inf

shares = st.floats(0.001, 0.99999)
factors = st.one_of(st.just(NO_DIRECT_RAY), st.floats(-30.0, 15.0))
margins = st.floats(-10.0, 30.0)
spreads = st.floats(0.0, 12.0)


@given(margins)
def test_without_a_direct_ray_it_is_rayleigh(margin_db):
    assert rice_outage(margin_db, NO_DIRECT_RAY) == pytest.approx(
        rayleigh_outage(margin_db), rel=1e-9
    )


@given(margins)
def test_a_weak_direct_ray_is_nearly_rayleigh(margin_db):
    # 1e-4 of the echoes' power
    assert rice_outage(margin_db, -40.0) == pytest.approx(rayleigh_outage(margin_db), rel=1e-3)


def test_a_strong_direct_ray_nearly_stands_still():
    # amplitude spreads by 1 / sqrt(2 K) = 2.2 % round its mean: 0.45 dB at 2.326 deviations
    assert rice_margin_db(0.99, 30.0) == pytest.approx(0.45, abs=0.02)
    assert rice_outage(1.0, 30.0) < 1e-5
    assert rice_outage(-1.0, 30.0) > 1.0 - 1e-5


def test_no_fading_is_a_step():
    assert rice_outage(np.array([-0.1, 0.0, 0.1]), NO_FADING).tolist() == [1.0, 0.0, 0.0]
    assert rice_margin_db(0.999, NO_FADING) == 0.0
    assert shadowed_margin_db(0.999, NO_FADING, 0.0) == 0.0


@given(margins, st.floats(0.01, 10.0), factors)
def test_more_margin_leaves_less_outage(margin_db, more_db, k_db):
    assert rice_outage(margin_db + more_db, k_db) <= rice_outage(margin_db, k_db)


@given(st.floats(-20.0, 14.0), st.floats(0.1, 5.0))
def test_a_stronger_direct_ray_needs_less_margin(k_db, more_db):
    assert rice_margin_db(0.99, k_db + more_db) < rice_margin_db(0.99, k_db)


@given(shares, factors)
def test_rice_comes_back(reliability, k_db):
    outage = rice_outage(rice_margin_db(reliability, k_db), k_db)
    assert 1.0 - outage == pytest.approx(reliability, abs=1e-8)


@settings(max_examples=40)
@given(shares, factors, spreads)
def test_both_together_come_back(reliability, k_db, sigma_db):
    margin_db = shadowed_margin_db(reliability, k_db, sigma_db)
    outage = shadowed_outage(margin_db, k_db, sigma_db)
    assert 1.0 - outage == pytest.approx(reliability, abs=1e-8)


@settings(max_examples=40)
@given(st.floats(0.9, 0.9999), factors, spreads, st.floats(0.1, 3.0))
def test_more_shadowing_needs_more_margin(reliability, k_db, sigma_db, more_db):
    assert shadowed_margin_db(reliability, k_db, sigma_db + more_db) > shadowed_margin_db(
        reliability, k_db, sigma_db
    )


@settings(max_examples=40)
@given(margins, st.floats(0.01, 10.0), factors, spreads)
def test_more_margin_leaves_less_outage_of_both(margin_db, more_db, k_db, sigma_db):
    less = shadowed_outage(margin_db + more_db, k_db, sigma_db)
    assert less <= shadowed_outage(margin_db, k_db, sigma_db) * (1.0 + 1e-6)


@given(factors, spreads)
def test_many_margins_at_once_are_the_same_as_one_by_one(k_db, sigma_db):
    margin_db = np.array([[-3.0, 0.0], [5.0, 17.0]])
    at_once = shadowed_outage(margin_db, k_db, sigma_db)
    assert at_once.shape == margin_db.shape
    for one, outage in zip(margin_db.ravel(), at_once.ravel(), strict=True):
        assert shadowed_outage(float(one), k_db, sigma_db) == pytest.approx(outage, rel=1e-12)


@pytest.mark.parametrize("k_db", [NO_DIRECT_RAY, 0.0, 10.0])
@pytest.mark.parametrize("sigma_db", [0.0, 6.0])
def test_the_table_lies_close_to_the_curve(k_db, sigma_db):
    table = outage_table(k_db, sigma_db)
    margin_db = np.linspace(-8.0, 25.0, 300)
    exact = shadowed_outage(margin_db, k_db, sigma_db)
    # straight lines: half a thousandth of the outage, and a millionth past the ends
    assert np.all(np.abs(table.at(margin_db) - exact) < 5e-4 * exact + 1e-6)


def test_the_table_of_no_fading_is_a_step():
    table = outage_table(NO_FADING, 0.0)
    assert table.at(np.array([-0.01, 0.01])).tolist() == [1.0, 0.0]


@pytest.mark.parametrize("k_db", [30.1, float("nan")])
def test_a_rice_factor_has_a_range(k_db):
    for refused in (
        lambda: rice_outage(3.0, k_db),
        lambda: rice_margin_db(0.9, k_db),
        lambda: shadowed_outage(3.0, k_db, 6.0),
        lambda: outage_table(k_db, 6.0),
    ):
        with pytest.raises(OutOfRange, match="state no fading"):
            refused()


@pytest.mark.parametrize("sigma_db", [-0.1, 20.1, float("nan")])
def test_a_spread_of_shadowing_has_a_range(sigma_db):
    with pytest.raises(OutOfRange, match="standard deviation"):
        shadowed_outage(3.0, 6.0, sigma_db)
    with pytest.raises(OutOfRange, match="standard deviation"):
        shadowed_margin_db(0.9, 6.0, sigma_db)


@pytest.mark.parametrize("reliability", [0.0, 1.0, 99.0, float("nan")])
@pytest.mark.parametrize("k_db", [6.0, NO_FADING])
def test_a_reliability_lies_between_0_and_1(reliability, k_db):
    with pytest.raises(OutOfRange, match="No finite margin gives 100 %"):
        rice_margin_db(reliability, k_db)
    with pytest.raises(OutOfRange, match="No finite margin gives 100 %"):
        shadowed_margin_db(reliability, k_db, 0.0)


def test_a_table_has_enough_points():
    with pytest.raises(OutOfRange, match="points of the table"):
        outage_table(6.0, 6.0, points=3)


def test_rayleigh_margins_agree_over_eleven_decades():
    for reliability in (1e-6, 0.5, 0.99, 1.0 - 1e-6, 1.0 - 1e-11):
        assert rice_margin_db(reliability, NO_DIRECT_RAY) == pytest.approx(
            rayleigh_margin_db(reliability), abs=1e-4
        )
