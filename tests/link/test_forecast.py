"""The forecast against closed forms, on the same draws with and without metal."""

import math
from dataclasses import replace
from itertools import pairwise
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linkbudget.core.errors import OutOfRange
from linkbudget.core.quantity import Quantity
from linkbudget.core.uncertainty import KEPT, simulate
from linkbudget.link.budget import LinkInputs, MetalLoss, budget
from linkbudget.link.drivers import unstated
from linkbudget.link.fades import FadeLaw
from linkbudget.link.forecast import COVERAGES, Outcome, _Link, forecasts
from linkbudget.link.laws import by_exponent, indoor, open_air, over_ground, with_barriers
from linkbudget.link.rooms import Barrier
from linkbudget.physics.dielectrics import Dielectric
from linkbudget.physics.ground import OverGround
from linkbudget.physics.shadowed_fading import shadowed_margin_db

BAND_HZ = 2.44e9
GAUSS = NormalDist()
TO_SD = GAUSS.inv_cdf(0.975)  # half a 95 % band over its standard deviation


def stated(value, half=0.0, unit="dB"):
    return Quantity(value, unit, "stated", value - half, value + half)


INPUTS = LinkInputs(
    frequency_hz=BAND_HZ,
    conducted_power=stated(4.0, 1.0, "dBm"),
    mismatch=stated(0.5, 0.3),
    antenna_gain=stated(-3.0, 4.0, "dBi"),
    body=stated(3.0, 2.0),
    far_gain=stated(-1.0, 3.0, "dBi"),
    sensitivity=stated(-90.0, 2.0, "dBm"),
    desensitisation=stated(3.0, 1.5),
)
METAL = MetalLoss(stated(2.0, 1.0), stated(9.0, 5.0))
ROOM = replace(open_air(BAND_HZ), doubt=stated(0.0, 4.0))
FADE = FadeLaw("rayleigh", 0.99)
HALVES = [1.0, 0.3, 4.0, 2.0, 3.0, 4.0]  # of the level; the receiver adds 2 and 1.5 dB
DOUBTFUL = FadeLaw("rice and log-normal", 0.99, "places", stated(6.0, 3.0), stated(5.0, 2.0))


def near(estimate, expected, sigmas=4.5):
    return abs(estimate.value - expected) <= sigmas * estimate.standard_error


@pytest.mark.parametrize(
    ("figure", "middle", "halves"),
    [
        # 4 - 0.5 - 3 - 3 - 1 - 60.20 = -63.70 dBm; the needs are -90 + 3; Rayleigh 99 % 19.98 dB
        ("level", -63.70, HALVES),
        ("above", -63.70 + 87.0, [*HALVES, 2.0, 1.5]),
        ("margin", -63.70 + 87.0 - 19.98, [*HALVES, 2.0, 1.5]),
    ],
)
@pytest.mark.parametrize("with_metal", [False, True])
def test_a_sum_of_gaussians_is_a_gaussian(figure, middle, halves, with_metal):
    if with_metal:
        middle, halves = middle - 11.0, [*halves, 1.0, 5.0]
    forecast = forecasts(INPUTS, ROOM, FADE, 10.0, METAL)[with_metal]
    found = getattr(forecast, figure)
    spread = math.hypot(*halves) / TO_SD
    assert near(found.median, middle)
    for coverage, (low, high) in zip((0.5, 0.8, 0.95), found.intervals, strict=True):
        half = spread * GAUSS.inv_cdf(0.5 + coverage / 2.0)
        assert near(low, middle - half)
        assert near(high, middle + half)
    assert found.median.standard_error < 0.03
    # the curve: 16,384 draws
    whole = [middle + spread * GAUSS.inv_cdf(share) for share in found.shares]
    assert found.values == pytest.approx(whole, abs=0.4)


def test_the_chance_and_the_reach_of_a_gaussian_margin():
    forecast, _ = forecasts(INPUTS, ROOM, FADE, 10.0)
    middle, spread = -63.70 + 87.0 - 19.98, math.hypot(*HALVES, 2.0, 1.5) / TO_SD
    assert near(forecast.chance, GAUSS.cdf(middle / spread))
    assert 0.0 < forecast.chance.standard_error <= 0.002
    # 20 dB are a factor of ten
    low, high = forecast.reach.intervals[-1]
    assert near(forecast.reach.median, 10.0 * 10.0 ** (middle / 20.0))
    assert near(low, 10.0 * 10.0 ** ((middle - TO_SD * spread) / 20.0))
    assert near(high, 10.0 * 10.0 ** ((middle + TO_SD * spread) / 20.0))


def test_walls_and_a_doubtful_slope_add_as_squares():
    # 10 dB of half-band in a decade, a decade away; a wall of 6 dB +- 3 dB
    room = by_exponent(BAND_HZ, stated(3.0, 1.0, ""), 1.0)
    room = with_barriers(
        room, [Barrier("wall", stated(6.0, 3.0)), Barrier("wall", stated(6.0, 3.0))]
    )
    level = forecasts(INPUTS, room, FADE, 10.0)[0].level
    spread = math.hypot(1.0, 0.3, 4.0, 2.0, 3.0, 10.0, 3.0, 3.0) / TO_SD
    assert near(level.median, -63.70 - 10.0 - 12.0)
    assert near(level.intervals[1][1], -63.70 - 22.0 + spread * GAUSS.inv_cdf(0.9))


ROOMS = {
    "straight": ROOM,
    "doubtful slope": by_exponent(BAND_HZ, stated(2.5, 0.5, ""), 1.0, stated(1.0, 3.0)),
    "rippling": over_ground(BAND_HZ, OverGround(1.0, 1.0, Dielectric(4.0, 0.02), "horizontal")),
    "short": indoor(BAND_HZ, "office", "no line of sight"),
}


@pytest.mark.parametrize("name", ROOMS)
def test_every_reach_is_where_bisection_finds_the_margin_gone(name):
    room, draws = ROOMS[name], 200
    _, forecast = forecasts(INPUTS, room, DOUBTFUL, 10.0, METAL, draws=draws)
    drawn = forecast.kept.inputs
    found_m = [_bisected_m(room, {each: drawn[each][k] for each in drawn}) for k in range(draws)]
    # the 200 draws one by one give the same quantiles
    expected = np.quantile(found_m, [0.5, 0.25, 0.75, 0.1, 0.9, 0.025, 0.975])
    ends = [end.value for pair in forecast.reach.intervals for end in pair]
    # between two ranked draws: a straight line in metres here, in decibels there
    assert [forecast.reach.median.value, *ends] == pytest.approx(expected, rel=0.03)


def _bisected_m(room, drawn):
    """Reach of one draw: the whole budget by hand at one distance after the other."""

    sent = sum(drawn[each] for each in SENT)
    sent += sum(each.value for name, each in _signed() if name not in drawn)
    fade_db = shadowed_margin_db(0.99, drawn["Rice factor"], drawn["spread of shadowing"])
    needed = drawn["sensitivity"] + drawn["noise rise at the receiver"] + fade_db

    def margin_db(distance_m):
        loss_db = float(room.typical_loss_db(distance_m))
        loss_db += drawn.get("room: how well its law fits", 0.0)
        if "room: loss per decade of distance" in drawn:
            off = drawn["room: loss per decade of distance"] - room.slope.value
            loss_db += off * math.log10(distance_m / room.pivot_m)
        return sent - loss_db - needed

    low_m, high_m = room.holds_m
    grid_m = np.geomspace(low_m * (1 + 1e-9), high_m * (1 - 1e-9), 400)
    for one_m, other_m in pairwise(grid_m.tolist()):
        if margin_db(other_m) < 0.0:
            low_m, high_m = one_m, other_m
            break
    else:
        return high_m
    for _ in range(30):
        middle_m = math.sqrt(low_m * high_m)
        low_m, high_m = (middle_m, high_m) if margin_db(middle_m) >= 0 else (low_m, middle_m)
    return low_m


def _signed():
    return [
        ("cable loss (product)", INPUTS.cable.negated()),
        ("polarisation loss", INPUTS.polarisation.negated()),
        ("mismatch loss (far end)", INPUTS.far_mismatch.negated()),
        ("cable loss (far end)", INPUTS.far_cable.negated()),
    ]


SENT = (
    "conducted power",
    "mismatch loss (product)",
    "antenna gain (product)",
    "body loss",
    "antenna gain (far end)",
    "metal: at the antenna's port",
    "metal: toward the far end",
)


def test_with_and_without_metal_everything_else_is_drawn_alike():
    link = _Link(INPUTS, ROOM, DOUBTFUL, 10.0, METAL)
    done = simulate(link.distributions(), link.model, 5_000, seed=3)
    metal_db = (
        done.inputs["metal: at the antenna's port"] + done.inputs["metal: toward the far end"]
    )
    for figure in ("level", "above", "margin"):
        lost_db = done.outputs[f"{figure} with metal"] - done.outputs[figure]
        assert lost_db == pytest.approx(metal_db, abs=1e-9)
    assert np.std(metal_db) == pytest.approx(math.hypot(1.0, 5.0) / TO_SD, rel=0.05)


def test_the_case_without_metal_does_not_know_of_the_metal():
    alone, _ = forecasts(INPUTS, ROOM, DOUBTFUL, 10.0)
    beside, with_metal = forecasts(INPUTS, ROOM, DOUBTFUL, 10.0, METAL)
    assert alone.margin.median == beside.margin.median
    assert alone.margin.intervals == beside.margin.intervals
    assert alone.drivers == beside.drivers
    names = {driver.name for driver in with_metal.drivers}
    assert names - {driver.name for driver in beside.drivers} == set(SENT[-2:])


def test_the_same_seed_gives_the_same_and_another_seed_another_answer():
    first, again, other = (
        forecasts(INPUTS, ROOM, DOUBTFUL, 10.0, METAL, seed=seed, draws=2_000)[1]
        for seed in (1, 1, 2)
    )
    assert first.margin.median == again.margin.median
    assert first.reach.intervals == again.reach.intervals
    assert first.drivers == again.drivers
    assert first.margin.median != other.margin.median
    assert near(other.margin.median, first.margin.median.value, 7.0)


@settings(max_examples=40)
@given(st.floats(0.01, 20.0), st.sampled_from(list(ROOMS)))
def test_more_power_is_never_worse(more_db, name):
    room = ROOMS[name]
    power = INPUTS.conducted_power
    lifted = replace(power, value=power.value + more_db, low=power.low + more_db,
                     high=power.high + more_db)  # fmt: skip
    stronger = replace(INPUTS, conducted_power=lifted)
    less, more = (forecasts(each, room, FADE, 10.0, draws=500)[0] for each in (INPUTS, stronger))
    assert more.margin.median.value - less.margin.median.value == pytest.approx(more_db)
    assert more.chance.value >= less.chance.value
    assert np.all(more.reach.values >= less.reach.values)


@settings(max_examples=40)
@given(st.floats(4.0, 20.0), st.floats(1.01, 1.3), st.sampled_from(["straight", "short"]))
def test_further_away_is_never_better_and_the_reach_stays(distance_m, factor, name):
    room = ROOMS[name]
    near_by, away = (
        forecasts(INPUTS, room, FADE, each, draws=500)[0]
        for each in (distance_m, distance_m * factor)
    )
    assert away.level.median.value < near_by.level.median.value
    assert away.chance.value <= near_by.chance.value
    assert away.reach.values == pytest.approx(near_by.reach.values)


def test_the_draws_go_on_until_the_low_end_is_known():
    broad = replace(INPUTS, antenna_gain=stated(-3.0, 80.0, "dBi"))
    few, many = forecasts(INPUTS, ROOM, FADE, 10.0)[0], forecasts(broad, ROOM, FADE, 10.0)[0]
    assert few.draws == 65_536 < many.draws
    assert many.margin.intervals[-1][0].standard_error <= 0.1
    assert len(many.kept.outputs["margin"]) == KEPT


def test_what_drives_the_spread_is_named_and_what_nobody_stated_told_apart():
    guessed = replace(INPUTS, far_gain=replace(stated(-1.0, 3.0, "dBi"), kind="assumed"))
    forecast, _ = forecasts(guessed, ROOM, FADE, 10.0)
    found = {driver.name: driver for driver in forecast.drivers}
    total = math.fsum(half**2 for half in [*HALVES, 2.0, 1.5])
    assert found["antenna gain (product)"].share == pytest.approx(16.0 / total, abs=0.03)
    assert found["room: how well its law fits"].share == pytest.approx(16.0 / total, abs=0.03)
    assert math.fsum(driver.share for driver in forecast.drivers) == pytest.approx(1.0)
    assert [driver.name for driver in unstated(forecast.drivers)] == ["antenna gain (far end)"]


def test_a_link_without_doubt_has_one_answer():
    sure = LinkInputs(
        frequency_hz=BAND_HZ,
        conducted_power=stated(4.0, 0.0, "dBm"),
        antenna_gain=stated(0.0, 0.0, "dBi"),
        far_gain=stated(-2.0, 0.0, "dBi"),
        sensitivity=stated(-90.0, 0.0, "dBm"),
    )
    forecast, _ = forecasts(sure, open_air(BAND_HZ), FADE, 10.0)
    typical = budget(sure, open_air(BAND_HZ), 10.0, FADE.allowance).margin.value
    assert forecast.margin.median.value == pytest.approx(typical, abs=1e-9)
    assert forecast.margin.quantity(typical, "").low is None
    assert forecast.chance.value == 1.0
    assert forecast.drivers == ()


def test_the_band_holds_the_typical_value_even_where_the_draws_do_not():
    outcome = Outcome.of_draws(np.linspace(0.0, 1.0, 1_001), "dB")
    assert outcome.quantity(2.0, "").band == pytest.approx((0.025, 2.0))
    assert outcome.quantity(0.5, "").coverage == "95 % of the draws"
    assert len(outcome.intervals) == len(COVERAGES)


def test_quantiles_go_through_a_rising_function():
    values = np.random.default_rng(1).normal(size=9_999)
    through = Outcome.of_draws(values, "dB").through(np.exp, "1")
    direct = Outcome.of_draws(np.exp(values), "1")
    assert through.median.value == pytest.approx(direct.median.value)
    assert through.median.standard_error == pytest.approx(direct.median.standard_error, rel=0.05)
    assert through.values == pytest.approx(direct.values, rel=1e-2)
    assert through.unit == "1"


def test_a_distance_outside_the_law_is_refused():
    with pytest.raises(OutOfRange, match="expected 2 to 27"):
        forecasts(INPUTS, indoor(BAND_HZ, "office", "line of sight"), FADE, 30.0)
