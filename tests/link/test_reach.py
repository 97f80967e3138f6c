"""Reach is where the margin is zero, and the difference carries the metal's band alone."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.core.errors import OutOfRange
from linkbudget.core.quantity import Quantity
from linkbudget.link.budget import LinkInputs, MetalLoss, budget, fading_allowance
from linkbudget.link.reach import difference, level_against_distance, reach

NO_FADING = fading_allowance("none")


def plain(value, unit="dB"):
    return Quantity(value, unit, "stated")


def link(sensitivity_dbm=-90.0, spread_db=None, frequency_hz=2.44e9):
    sensitivity = plain(sensitivity_dbm, "dBm")
    if spread_db is not None:
        low, high = sensitivity_dbm - spread_db, sensitivity_dbm + spread_db
        sensitivity = replace(sensitivity, low=low, high=high)
    return LinkInputs(
        frequency_hz=frequency_hz,
        conducted_power=plain(4.0, "dBm"),
        antenna_gain=plain(0.0, "dBi"),
        far_gain=plain(-2.0, "dBi"),
        sensitivity=sensitivity,
    )


metals = st.builds(
    MetalLoss,
    st.builds(
        lambda v, a: Quantity(v, "dB", "typical", v, v + a), st.floats(0, 10), st.floats(0, 5)
    ),
    st.builds(
        lambda v, a: Quantity(v, "dB", "typical", v - a, v + a), st.floats(-4, 40), st.floats(0, 9)
    ),
)


@given(st.floats(-120.0, -50.0), st.floats(1e8, 6e9), st.floats(0.0, 30.0), st.none() | metals)
def test_at_the_reach_the_margin_is_zero(sensitivity_dbm, frequency_hz, fade_db, metal):
    # 8 kW keep every case out of the near field, where no budget can be drawn up
    inputs = replace(link(sensitivity_dbm, 3.0, frequency_hz), conducted_power=plain(69.0, "dBm"))
    result = reach(inputs, plain(fade_db), metal)
    at_reach = budget(inputs, result.distance.value, plain(fade_db), metal)
    assert at_reach.margin.value == pytest.approx(0.0, abs=1e-9)
    low_m, high_m = result.distance.band
    for edge_m, edge_db in ((low_m, at_reach.margin.low), (high_m, at_reach.margin.high)):
        assert 20.0 * np.log10(edge_m / result.distance.value) == pytest.approx(edge_db, abs=1e-9)


def test_a_reach_worked_by_hand():
    # 4 - 2 + 90 = 92 dB of path; 122.87 mm / 4 pi x 10^(92/20) = 389.2 m; 20 dB less: 38.9 m
    assert reach(link(), NO_FADING).distance.value == pytest.approx(389.2, abs=0.1)
    assert reach(link(), plain(20.0)).distance.value == pytest.approx(38.92, abs=0.01)


def test_six_db_of_band_is_a_factor_of_two():
    # 20 log10(2) = 6.0206
    distance = reach(link(spread_db=6.0206), NO_FADING).distance
    assert distance.low == pytest.approx(389.2 / 2, abs=0.1)
    assert distance.high == pytest.approx(389.2 * 2, abs=0.2)
    assert "root sum of squares" in distance.coverage


def test_a_reach_without_bands_has_none():
    assert reach(link(), NO_FADING).distance.low is None


def test_a_reach_in_the_near_field_is_told_and_not_raised():
    result = reach(link(sensitivity_dbm=0.0), NO_FADING)
    assert result.distance.value < 0.0196
    assert any("wavelength/2 pi (19.55 mm)" in caution for caution in result.cautions)


def test_a_reach_nearer_than_the_far_field_of_a_plate_is_told():
    # 2 x 0.5^2 / 0.12287 = 4.07 m
    result = reach(link(sensitivity_dbm=-50.0), NO_FADING, radiator_size_m=0.5)
    assert 0.0196 < result.distance.value < 4.07
    assert any("far field of what radiates (4.07 m)" in caution for caution in result.cautions)


def test_a_long_reach_is_told_to_be_free_space_alone():
    # 4 x 1 m x 1 m / 0.12287 m = 32.6 m
    assert any("from about 32.6 m on" in caution for caution in reach(link(), NO_FADING).cautions)
    assert reach(link(), plain(30.0)).cautions == ()


def test_levels_fall_20_db_in_a_decade_and_meet_the_budget():
    metal = MetalLoss(plain(2.0), plain(11.0))
    distance_m, level_dbm = level_against_distance(link(), 1.0, 100.0, metal, points=201)
    assert distance_m.shape == level_dbm.shape == (201,)
    assert (distance_m[0], distance_m[-1]) == pytest.approx((1.0, 100.0))
    assert np.ptp(np.diff(np.log10(distance_m))) < 1e-12
    assert level_dbm[0] - level_dbm[100] == pytest.approx(20.0)
    expected = budget(link(), 10.0, NO_FADING, metal).received.value
    assert level_dbm[100] == pytest.approx(expected)


@pytest.mark.parametrize(("low_m", "high_m"), [(0.001, 10.0), (10.0, 1.0), (0.0, 5.0)])
def test_a_range_of_distances_has_limits(low_m, high_m):
    with pytest.raises(OutOfRange, match="first distance"):
        level_against_distance(link(), low_m, high_m)


def test_without_metal_there_is_no_difference():
    result = difference(link(), 10.0, NO_FADING)
    assert result.without == budget(link(), 10.0, NO_FADING)
    assert result.reach_without == reach(link(), NO_FADING)
    assert (result.with_metal, result.reach_with) == (None, None)
    assert (result.lost_db, result.lost_m) == (None, None)


@given(metals)
def test_the_difference_is_the_metal(metal):
    inputs = link(spread_db=5.0)
    result = difference(inputs, 10.0, plain(10.0), metal)
    lost_db = result.without.margin.value - result.with_metal.margin.value
    assert result.lost_db.value == pytest.approx(lost_db, abs=1e-9)
    lost_m = result.reach_without.distance.value - result.reach_with.distance.value
    assert result.lost_m.value == pytest.approx(lost_m, abs=1e-6)
    # the receiver's spread is in both cases alike and stays out of the difference
    assert result.lost_db.band == difference(link(), 10.0, plain(10.0), metal).lost_db.band


def test_a_difference_worked_by_hand():
    # 2 + 11 dB; half-bands 3 and 4 give 5 dB; 389.2 m x (1 - 10^(-13/20)) = 302.1 m
    metal = MetalLoss(
        Quantity(2.0, "dB", "typical", 2.0, 5.0), Quantity(11.0, "dB", "typical", 9.0, 15.0)
    )
    result = difference(link(), 10.0, NO_FADING, metal)
    assert (result.lost_db.value, *result.lost_db.band) == pytest.approx((13.0, 11.0, 18.0))
    assert result.lost_m.value == pytest.approx(302.1, abs=0.1)
    # 389.2 x (1 - 10^(-11/20)) = 279.5; 389.2 x (1 - 10^(-18/20)) = 340.2
    assert result.lost_m.band == pytest.approx((279.5, 340.2), abs=0.2)


def test_a_plate_that_adds_gain_gives_a_negative_loss():
    metal = MetalLoss(plain(0.0), plain(-3.0))
    result = difference(link(), 10.0, NO_FADING, metal)
    assert result.lost_db.value == -3.0
    assert result.lost_m.value < 0.0
    assert result.reach_with.distance.value > result.reach_without.distance.value
