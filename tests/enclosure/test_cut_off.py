"""A radio in a box below its first resonance: an answer with a wide band, and what it says."""

import math
from dataclasses import replace

import pytest

from linkbudget.enclosure.box_changes import box_sweeps
from linkbudget.enclosure.box_report import box_report
from linkbudget.enclosure.boxes import box_effect, first_resonance_hz
from linkbudget.enclosure.effect import THROUGH_OPENINGS
from linkbudget.enclosure.geometry import Box, Metal, Opening, PlacedAntenna
from linkbudget.enclosure.sweeps import Allowed

SLOT = Opening("slot", 0.04, 0.001, wall="lid", along="length", place_m=(0.0, 0.01))
ANTENNA = PlacedAntenna("chip", "width", 0.0, -0.01, 0.015)
BOX = Box(0.1, 0.06, 0.025, 0.001, Metal("aluminium", 3.5e7), (SLOT,), None, ANTENNA)
FREQUENCY_HZ = 868.3e6


def _loss(box, toward="anywhere"):
    return box_effect(box, FREQUENCY_HZ, toward).total


def _through(box, thickness_m):
    """Loss of the openings alone: a foil as thin as that lets more through itself."""
    effect = box_effect(replace(box, thickness_m=thickness_m), FREQUENCY_HZ, "anywhere")
    return next(path.loss for path in effect.paths if path.name == THROUGH_OPENINGS)


def _placed(**changes):
    return replace(BOX, openings=(replace(SLOT, **changes),))


def test_a_small_box_is_answered_and_says_what_it_cannot_know():
    effect = box_effect(BOX, FREQUENCY_HZ, "anywhere")
    assert effect.detuning is None
    low, high = effect.total.band
    assert 0.0 < low < effect.total.value < high
    assert high - low <= 20.0
    told = " ".join(effect.cautions)
    for words in ("quality factor plays no part", "Detuning dominates", "measured with the lid on"):
        assert words in told
    assert "is assumed and the band covers" not in told  # of a quality factor


def test_unknown_places_widen_the_band():
    unknown = replace(BOX, antenna=None, openings=(Opening("slot", 0.04, 0.001),))
    effect = box_effect(unknown, FREQUENCY_HZ, "anywhere")
    assert effect.total.band[1] - effect.total.band[0] > 20.0
    assert "wall, direction and place of the slot" in " ".join(effect.cautions)


def test_a_slot_further_from_the_antenna_loses_what_the_guide_takes():
    # across the length the box is a guide 60 mm wide: 27.3 dB per 60 mm, less the near field's own
    hole = Opening("round", 0.004, 0.004, wall="lid", place_m=(0.0, -0.01))
    there = replace(BOX, openings=(replace(hole, place_m=(0.04, -0.01)),))
    gained = _loss(there).value - _loss(replace(BOX, openings=(hole,))).value
    assert gained > 27.3 * 0.04 / 0.06


def test_the_slot_along_the_current_of_the_wall_is_shut():
    across = _placed(along="width", place_m=(0.0, 0.0))
    assert _loss(across).value > _loss(_placed(place_m=(0.0, 0.0))).value + 5.0


def test_a_small_hole_counts_by_the_sixth_power_of_its_size_and_by_its_depth():
    hole = Opening("round", 0.002, 0.002, wall="lid", place_m=(0.0, 0.01))
    one, other = (
        _through(replace(BOX, openings=(replace(hole, length_m=d, width_m=d),)), 1e-6)
        for d in (0.002, 0.004)
    )
    assert one.value - other.value == pytest.approx(60.0 * math.log10(2.0), abs=0.1)
    deep = _through(replace(BOX, openings=(hole,)), 0.002)
    assert deep.value - one.value == pytest.approx(32.0, abs=0.2)  # one diameter of a round guide


def test_equal_openings_add_as_powers():
    hole = Opening("round", 0.002, 0.002, wall="lid", place_m=(0.0, 0.01))
    one, ten = (
        _loss(replace(BOX, openings=(replace(hole, count=count),))).value for count in (1, 10)
    )
    assert one - ten == pytest.approx(10.0)


def test_no_loss_below_zero_beside_a_large_opening():
    window = Opening("rectangle", 0.09, 0.05, wall="lid", along="length", place_m=(0.0, 0.0))
    near = replace(BOX, openings=(window,), antenna=replace(ANTENNA, depth_m=0.002))
    low, _ = _loss(near).band
    assert low >= 0.0


def test_report_has_no_quality_factor_and_names_the_first_resonance():
    report = box_report(BOX, 868.0e6, 868.6e6)
    assert report.quality_factor is None
    assert report.sinks == ()
    assert report.feared is None
    # c/2 sqrt(1/0.1^2 + 1/0.06^2)
    assert report.modes[0].frequency_hz / 1e6 == pytest.approx(2913.5, abs=0.1)
    assert report.openings[0].quality_factor is None
    assert report.openings[0].share == 1.0
    assert report.loss.value == pytest.approx(_loss(BOX).value, abs=0.1)


def test_both_sides_of_the_first_resonance_are_answered():
    first_hz = first_resonance_hz(BOX)
    for share in (0.5, 0.9, 0.999, 1.001, 1.1):
        effect = box_effect(BOX, share * first_hz, "above")
        assert math.isfinite(effect.total.value)
        assert (effect.detuning is None) == (share < 1.0)


def test_no_change_is_offered_where_the_balance_behind_it_ends():
    assert list(box_sweeps(BOX, FREQUENCY_HZ, "above", Allowed())) == []
