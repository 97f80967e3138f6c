"""Exponent: the stated law, the fit by hand, and what is refused."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.core.errors import InputError, MissingData, OutOfRange
from linkbudget.physics.exponent import exponent_loss_db, fit_exponent
from linkbudget.physics.propagation import free_space_loss_db

F = 2.44e9


@given(st.floats(1.0, 1e4))
def test_exponent_two_is_free_space(distance_m):
    assert exponent_loss_db(F, distance_m, 2.0) == pytest.approx(
        free_space_loss_db(F, distance_m), abs=1e-9
    )


@given(st.floats(1.0, 8.0), st.floats(1.0, 1e3), st.floats(1.01, 10.0))
def test_loss_grows_with_distance(exponent, distance_m, factor):
    near = exponent_loss_db(F, distance_m, exponent)
    assert exponent_loss_db(F, distance_m * factor, exponent) - near == pytest.approx(
        10.0 * exponent * math.log10(factor), abs=1e-9
    )


def test_the_law_starts_at_free_space_at_its_reference():
    assert exponent_loss_db(F, 3.0, 3.5, 3.0) == free_space_loss_db(F, 3.0)


@pytest.mark.parametrize(
    ("distance_m", "exponent", "reference_m", "found"),
    [
        (0.9, 3.0, 1.0, r"distance \(m\) 0\.9.*use free space"),
        (5.0, 0.5, 1.0, "path loss exponent 0.5"),
        (5.0, float("nan"), 1.0, "path loss exponent nan"),
        (5.0, 3.0, 0.01, "wavelength/2 pi"),
    ],
)
def test_the_law_beyond_its_range_is_refused(distance_m, exponent, reference_m, found):
    with pytest.raises(OutOfRange, match=found):
        exponent_loss_db(F, distance_m, exponent, reference_m)


def test_a_fit_worked_by_hand():
    # x = 0, 1, 2; mean level -63, slope -48/2 = -24 a decade, residuals -1, 2, -1: s^2 = 6 / 1;
    # var(slope) = 6/2, var(at 1 m) = 6 (1/3 + 1/2) = 5, cov(at 1 m, slope) = -6/2
    fit = fit_exponent([1.0, 10.0, 100.0], [-40.0, -61.0, -88.0])
    assert fit.exponent == pytest.approx(2.4)
    assert fit.level_at_1_m_db == pytest.approx(-39.0)
    assert fit.residual_deviation_db == pytest.approx(math.sqrt(6.0))
    assert fit.exponent_error == pytest.approx(math.sqrt(3.0) / 10.0)
    assert fit.level_error_db == pytest.approx(math.sqrt(5.0))
    assert fit.covariance_db == pytest.approx(0.3)
    assert (fit.count, fit.nearest_m, fit.farthest_m) == (3, 1.0, 100.0)
    assert fit.level_db(1000.0) == pytest.approx(-111.0)
    # t(0.975; 1) = 12.7062 of the tables; sqrt(6 (1 + 1/3 + 4/2)) = sqrt(20)
    assert fit.half_interval_db(1000.0) == pytest.approx(12.7062 * math.sqrt(20.0), rel=1e-5)
    assert fit.half_interval_db(10.0) == pytest.approx(12.7062 * math.sqrt(8.0), rel=1e-5)


@given(
    st.floats(0.5, 6.0),
    st.floats(-80.0, 80.0),
    st.lists(st.integers(1, 300), min_size=3, max_size=20, unique=True),
)
def test_a_series_without_scatter_gives_its_law_back(exponent, level_db, distances):
    d = np.array(distances, dtype=float)
    fit = fit_exponent(d, level_db - 10.0 * exponent * np.log10(d))
    assert fit.exponent == pytest.approx(exponent, abs=1e-6)
    assert fit.level_at_1_m_db == pytest.approx(level_db, abs=1e-5)
    assert fit.residual_deviation_db == pytest.approx(0.0, abs=1e-9)


@given(st.floats(-40.0, 40.0))
def test_another_unit_of_level_moves_the_level_alone(shift_db):
    d, level = np.array([1.0, 3.0, 8.0, 20.0]), np.array([-50.0, -61.0, -77.0, -83.0])
    here, there = fit_exponent(d, level), fit_exponent(d, level + shift_db)
    assert there.level_at_1_m_db - here.level_at_1_m_db == pytest.approx(shift_db, abs=1e-9)
    assert there.exponent == pytest.approx(here.exponent, abs=1e-9)
    assert there.half_interval_db(15.0) == pytest.approx(here.half_interval_db(15.0), abs=1e-9)


def test_the_interval_widens_away_from_the_readings_and_with_coverage():
    fit = fit_exponent([2.0, 4.0, 8.0, 16.0], [-50.0, -62.0, -69.0, -81.0])
    middle = math.sqrt(2.0 * 16.0)
    widths = fit.half_interval_db(np.array([middle, 16.0, 40.0, 160.0]))
    assert widths.shape == (4,)
    assert np.all(np.diff(widths) > 0.0)
    assert fit.half_interval_db(20.0, 0.99) > fit.half_interval_db(20.0, 0.9)
    assert type(fit.half_interval_db(20.0)) is type(fit.level_db(20.0)) is float


@pytest.mark.parametrize("distances", [[1.0, 2.0], [1.0, 1.0, 2.0, 2.0], [3.0], []])
def test_fewer_than_three_distances_are_refused(distances):
    with pytest.raises(MissingData, match=r"at least 3.*measure at further distances"):
        fit_exponent(distances, [-50.0] * len(distances))


@pytest.mark.parametrize(
    ("distances", "levels"),
    [
        ([1.0, 2.0, 3.0], [-50.0, -60.0]),
        ([1.0, 0.0, 3.0], [-50.0, -60.0, -70.0]),
        ([1.0, -2.0, 3.0], [-50.0, -60.0, -70.0]),
        ([1.0, 2.0, float("nan")], [-50.0, -60.0, -70.0]),
        ([1.0, 2.0, 3.0], [-50.0, float("-inf"), -70.0]),
    ],
)
def test_readings_that_are_none_are_refused(distances, levels):
    with pytest.raises(
        InputError, match=r"one level for each|greater than zero, each with a level"
    ):
        fit_exponent(distances, levels)


@pytest.mark.parametrize("distance_m", [0.19, 161.0])
def test_a_prediction_more_than_a_decade_away_is_refused(distance_m):
    fit = fit_exponent([2.0, 4.0, 16.0], [-50.0, -62.0, -81.0])
    with pytest.raises(OutOfRange, match=r"expected 0\.2 to 160\. Measure nearer"):
        fit.level_db(distance_m)
    with pytest.raises(OutOfRange, match=r"expected 0\.2 to 160"):
        fit.half_interval_db(distance_m)


def test_a_coverage_of_one_is_refused():
    fit = fit_exponent([2.0, 4.0, 16.0], [-50.0, -62.0, -81.0])
    with pytest.raises(OutOfRange, match="coverage 1"):
        fit.half_interval_db(5.0, 1.0)
