"""Reach is where the margin is zero, and the difference carries the metal's band alone."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linkbudget.core.errors import OutOfRange
from linkbudget.core.quantity import Quantity
from linkbudget.link.budget import LinkInputs, MetalLoss, budget
from linkbudget.link.fades import FadeLaw
from linkbudget.link.laws import by_exponent, indoor, open_air
from linkbudget.link.reach import (
    AT_LEAST,
    AT_MOST,
    difference,
    level_against_distance,
    reach_gained,
)

NO_FADING = FadeLaw("none", 0.5)
AIR = open_air(2.44e9)


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


def rayleigh(allowance_db):
    """Fading that takes so much: M = -10 log10(-ln r) turned round."""
    return FadeLaw("rayleigh", math.exp(-(10.0 ** (-allowance_db / 10.0))))


def reach(inputs, fade, metal=None, size_m=None, room=None):
    return difference(inputs, room or open_air(inputs.frequency_hz), fade, 10.0, metal, size_m)


@settings(max_examples=40)
@given(st.floats(30.0, 75.0), st.floats(1e8, 6e9), st.floats(0.1, 30.0), st.none() | metals)
def test_at_the_reach_the_margin_is_zero(allowed_db, frequency_hz, fade_db, metal):
    taken_db = fade_db + (metal.total().value if metal else 0.0)
    power = plain(allowed_db + taken_db + 2.0 - 90.0, "dBm")
    inputs = replace(link(-90.0, 3.0, frequency_hz), conducted_power=power)
    drawn, found, forecast = reach(inputs, rayleigh(fade_db), metal).as_built
    room, allowance = open_air(frequency_hz), rayleigh(fade_db).allowance
    at_reach = budget(inputs, room, found.distance.value, allowance, metal)
    at_10_m = drawn.margin.value
    moved_db = at_10_m - budget(inputs, room, 10.0, allowance, metal).margin.value
    assert at_reach.margin.value + moved_db == pytest.approx(0.0, abs=1e-9)
    low, high = forecast.margin.intervals[-1]
    for edge_m, edge in zip(found.distance.band, (low, high), strict=True):
        # free space: 20 dB in a decade
        edge_db = 20.0 * np.log10(edge_m / found.distance.value)
        assert edge_db == pytest.approx(edge.value - at_10_m, abs=1e-9)


def test_a_reach_worked_by_hand():
    # 4 - 2 + 90 = 92 dB of path; 122.87 mm / 4 pi x 10^(92/20) = 389.2 m; 20 dB less: 38.9 m
    found = [reach(link(), fade).as_built[1] for fade in (NO_FADING, rayleigh(20.0))]
    assert found[0].distance.value == pytest.approx(389.2, abs=0.1)
    assert found[1].distance.value == pytest.approx(38.92, abs=0.01)


def test_six_db_of_band_is_a_factor_of_two():
    # 20 log10(2) = 6.0206
    _, found, forecast = reach(link(spread_db=6.0206), NO_FADING).as_built
    (low, high), distance = forecast.reach.intervals[-1], found.distance
    assert distance.band == (low.value, high.value)
    assert distance.low == pytest.approx(389.2 / 2, abs=0.1 + 4.0 * low.standard_error)
    assert distance.high == pytest.approx(389.2 * 2, abs=0.2 + 4.0 * high.standard_error)
    assert low.standard_error < 0.005 * low.value
    at_10_m = budget(link(spread_db=6.0206), AIR, 10.0, NO_FADING.allowance).margin
    assert "root sum of squares" in at_10_m.coverage
    assert at_10_m.high - at_10_m.value == pytest.approx(6.0206)


def test_a_reach_without_bands_has_none():
    drawn, found, forecast = reach(link(), NO_FADING).as_built
    assert (found.distance.low, drawn.margin.low, drawn.received.low) == (None, None, None)
    assert forecast.chance.value == 1.0
    assert forecast.drivers == ()


def test_a_reach_in_the_near_field_is_told_and_not_raised():
    found = reach(link(sensitivity_dbm=0.0), NO_FADING).reach_without
    assert found.distance.value < 0.0196
    assert found.distance.coverage == AT_MOST
    assert any("wavelength/2 pi (19.55 mm)" in caution for caution in found.cautions)


def test_a_reach_nearer_than_the_far_field_of_a_plate_is_told():
    # 2 x 0.5^2 / 0.12287 = 4.07 m
    metal = MetalLoss(plain(0.0), plain(0.0))
    found = reach(link(sensitivity_dbm=-50.0), NO_FADING, metal, 0.5)
    assert 0.0196 < found.reach_with.distance.value < 4.07
    told = "far field of what radiates (4.07 m)"
    assert any(told in caution for caution in found.reach_with.cautions)
    assert found.reach_without.cautions == ()


def test_a_long_reach_is_told_to_be_free_space_alone():
    # 4 x 1 m x 1 m / 0.12287 m = 32.6 m
    found = reach(link(), NO_FADING).reach_without
    assert any("from about 32.6 m on" in caution for caution in found.cautions)
    assert found.distance.coverage == AT_MOST
    near = reach(link(), rayleigh(30.0)).reach_without
    assert near.cautions == ()
    assert near.distance.coverage == ""


def test_where_a_law_ends_the_reach_is_at_least_that():
    # ITU-R P.1238-11, Table 2: office, line of sight, measured from 2 to 27 m
    office = indoor(2.44e9, "office", "line of sight")
    found = reach(link(sensitivity_dbm=-130.0), NO_FADING, room=office).reach_without
    assert found.distance.value == pytest.approx(27.0)
    assert found.distance.coverage == AT_LEAST
    assert any("ends at 27" in caution for caution in found.cautions)


def test_a_band_that_the_law_cuts_is_told():
    office = indoor(2.44e9, "office", "line of sight")
    found = reach(link(sensitivity_dbm=-60.0, spread_db=20.0), NO_FADING, room=office)
    low_m, high_m = found.reach_without.distance.band
    assert 2.0 < found.reach_without.distance.value < 27.0
    assert (low_m, high_m) == pytest.approx((2.0, 27.0))
    assert any("band of the reach is cut" in each for each in found.reach_without.cautions)


@pytest.mark.parametrize(
    ("sensitivity_dbm", "coverage"), [(-130.0, AT_LEAST), (-60.0, "band of the metal alone")]
)
def test_metres_lost_from_where_a_law_ends_are_at_least_so_many(sensitivity_dbm, coverage):
    office = indoor(2.44e9, "office", "line of sight")
    metal = MetalLoss(plain(0.0), Quantity(2.0, "dB", "typical", 1.0, 3.0))
    found = reach(link(sensitivity_dbm), NO_FADING, metal, room=office)
    assert found.lost_m.coverage == coverage


def test_levels_fall_20_db_in_a_decade_and_meet_the_budget():
    metal = MetalLoss(plain(2.0), plain(11.0))
    drawn = budget(link(), AIR, 3.0, NO_FADING.allowance, metal)
    distance_m, level_dbm = level_against_distance(AIR, drawn, 1.0, 100.0, points=201)
    assert distance_m.shape == level_dbm.shape == (201,)
    assert (distance_m[0], distance_m[-1]) == pytest.approx((1.0, 100.0))
    assert np.ptp(np.diff(np.log10(distance_m))) < 1e-12
    assert level_dbm[0] - level_dbm[100] == pytest.approx(20.0)
    expected = budget(link(), AIR, 10.0, NO_FADING.allowance, metal).received.value
    assert level_dbm[100] == pytest.approx(expected)


@pytest.mark.parametrize(("low_m", "high_m"), [(0.001, 10.0), (10.0, 1.0), (0.0, 5.0)])
def test_a_range_of_distances_has_limits(low_m, high_m):
    with pytest.raises(OutOfRange, match="first distance"):
        level_against_distance(AIR, budget(link(), AIR, 3.0, NO_FADING.allowance), low_m, high_m)


def test_without_metal_there_is_no_difference():
    result = reach(link(), NO_FADING)
    assert result.without == budget(link(), AIR, 10.0, NO_FADING.allowance)
    assert result.as_built == (result.without, result.reach_without, result.forecast_without)
    assert (result.with_metal, result.reach_with, result.forecast_with) == (None, None, None)
    assert (result.lost_db, result.lost_m) == (None, None)


@settings(max_examples=40)
@given(metals)
def test_the_difference_is_the_metal(metal):
    inputs = link(spread_db=5.0)
    result = reach(inputs, rayleigh(10.0), metal)
    assert result.lost_db.value == pytest.approx(metal.total().value, abs=1e-9)
    lost_m = result.reach_without.distance.value - result.reach_with.distance.value
    assert result.lost_m.value == pytest.approx(lost_m, abs=1e-6)
    # the receiver's spread is in both cases alike and stays out of the difference
    assert result.lost_db.band == reach(link(), rayleigh(10.0), metal).lost_db.band


def test_a_difference_worked_by_hand():
    # 2 + 11 dB; half-bands 3 and 4 give 5 dB; 389.2 m x (1 - 10^(-13/20)) = 302.1 m
    metal = MetalLoss(
        Quantity(2.0, "dB", "typical", -1.0, 5.0), Quantity(11.0, "dB", "typical", 7.0, 15.0)
    )
    result = reach(link(), NO_FADING, metal)
    assert (result.lost_db.value, *result.lost_db.band) == pytest.approx((13.0, 8.0, 18.0))
    assert result.lost_m.value == pytest.approx(302.1, abs=0.1)
    # 389.2 x (1 - 10^(-8/20)) = 234.3; 389.2 x (1 - 10^(-18/20)) = 340.2
    assert result.lost_m.band == pytest.approx((234.3, 340.2), abs=0.2)


def test_lopsided_bands_move_the_median_and_the_budget_still_adds_up():
    # one band alone moves nothing: half of a split normal lies on either side of its value
    one = MetalLoss(None, Quantity(11.0, "dB", "typical", 9.0, 19.0))
    drawn, _, _ = reach(link(), NO_FADING, one).as_built
    assert [line.name for line in drawn.lines].count("lopsided bands") == 0
    # two of them do: against the median of 4,000,000 plain draws
    two = replace(one, detuning=Quantity(2.0, "dB", "typical", 1.0, 9.0))
    drawn, _, _ = reach(link(), NO_FADING, two).as_built
    z = np.random.default_rng(1).standard_normal((2, 4_000_000))
    losses = [
        13.0,
        *(
            np.where(z < 0, low * z, high * z) / 1.959964
            for z, (low, high) in zip(z, ((1.0, 7.0), (2.0, 8.0)), strict=True)
        ),
    ]
    expected_db = -(float(np.median(losses[1] + losses[2])))
    moved = {line.name: line.value.value for line in drawn.lines}["lopsided bands"]
    assert moved == pytest.approx(expected_db, abs=0.05)
    assert sum(line.value.value for line in drawn.lines) == pytest.approx(drawn.received.value)


def test_a_plate_that_adds_gain_gives_a_negative_loss():
    metal = MetalLoss(plain(0.0), plain(-3.0))
    result = reach(link(), NO_FADING, metal)
    assert result.lost_db.value == -3.0
    assert result.lost_m.value < 0.0
    assert result.reach_with.distance.value > result.reach_without.distance.value


def test_metres_gained_worked_by_hand():
    # exponent 3: 6 dB are a factor of 10^(6/30) = 1.5849, 3 dB of 1.2589
    room = by_exponent(2.44e9, plain(3.0, ""), 1.0)
    gain = Quantity(6.0, "dB", "computed", 3.0, 6.0)
    gained = reach_gained(room, plain(10.0, "m"), gain)
    assert gained.value == pytest.approx(5.849, abs=0.001)
    assert gained.band == pytest.approx((2.589, 5.849), abs=0.001)


def test_a_wanted_distance_outside_the_law_is_refused():
    with pytest.raises(
        OutOfRange, match="it begins at the shortest distance of the Recommendation"
    ):
        difference(link(), indoor(2.44e9, "office", "line of sight"), NO_FADING, 1.0)
