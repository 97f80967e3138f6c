"""Boxes: the report that stands behind a loss, the way in, and how both speak where they end."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.core.errors import InputError, MissingData, OutOfRange
from linkbudget.enclosure.box_report import box_report
from linkbudget.enclosure.boxes import box_effect, box_loss
from linkbudget.enclosure.geometry import Box, Metal, Opening, PlacedAntenna
from linkbudget.enclosure.shielding import shielding

ALUMINIUM = Metal("aluminium", 3.5e7)
BAND = (2.4e9, 2.4835e9)
FREQUENCY_HZ = 2.44e9
SLOT = Opening("slot", 0.04, 0.001)
ANTENNA = PlacedAntenna("inverted-F", "upright", -0.04, -0.015, 0.016)


def box(*openings, quality_factor=100.0, antenna=None):
    return Box(0.2, 0.12, 0.025, 0.001, ALUMINIUM, openings or (SLOT,), quality_factor, antenna)


def test_report_names_the_resonances_that_may_lie_in_the_band():
    report = box_report(box(), *BAND)
    names = {mode.name: mode for mode in report.modes}
    # empty: c/2 sqrt((3/0.2)^2 + (1/0.12)^2) = 2572.1 MHz; a filling of 5 % brings it down to 2443
    assert names["TM310"].frequency_hz / 1e6 == pytest.approx(2572.1, abs=0.1)
    assert names["TM310"].in_band
    assert not names["TM110"].in_band
    assert report.feared is not None
    assert report.feared.in_band


def test_report_without_a_resonance_near_the_band_fears_none():
    report = box_report(box(), 1.6e9, 1.7e9)
    assert report.feared is None


def test_report_names_the_opening_that_dominates():
    holes = Opening("round", 0.004, 0.004, 40)
    report = box_report(box(holes, SLOT), *BAND)
    assert report.dominant == "slot 40 x 1 mm"
    assert report.openings[0].share > 0.99
    assert sum(row.share for row in report.openings) == pytest.approx(1.0)
    assert report.openings[0].resonance_hz == pytest.approx(299_792_458.0 / 0.08)


def test_sinks_add_up_to_the_quality_factor():
    report = box_report(box(), *BAND)
    inverse = sum(1.0 / sink.value.value for sink in report.sinks)
    assert 1.0 / inverse == pytest.approx(report.quality_factor.value, rel=1e-6)
    walls = report.sinks[0].value.value
    # 1.5 x 0.6 litres over 0.064 m2 and 1.722 um of skin: 8168
    assert walls == pytest.approx(8168.0, rel=0.01)


def test_quality_factor_beyond_that_of_the_walls_is_used_and_told():
    report = box_report(box(quality_factor=2e4), *BAND)
    assert any("more than the" in caution for caution in report.cautions)


@given(st.floats(10.0, 300.0), st.floats(1.5, 10.0))
def test_quality_factor_is_ten_db_a_decade_for_a_small_opening(quality_factor, factor):
    small = box(Opening("slot", 0.01, 0.001))
    low, high = (
        box_loss(small, FREQUENCY_HZ, q) for q in (quality_factor, quality_factor * factor)
    )
    assert low.value - high.value == pytest.approx(10.0 * math.log10(factor), abs=0.01)


def test_stated_quality_factor_narrows_the_band():
    known = box_effect(box(), FREQUENCY_HZ, "anywhere")
    unknown = box_effect(box(quality_factor=None), FREQUENCY_HZ, "anywhere")
    assert any("quality factor of the box is not known" in text for text in unknown.cautions)
    assert not any("quality factor of the box is not known" in text for text in known.cautions)
    width = [effect.way_out.band[1] - effect.way_out.band[0] for effect in (known, unknown)]
    assert width[0] <= 12.0 < width[1]


def test_openings_of_the_lid_favour_the_side_above():
    lid = box(replace(SLOT, wall="lid"))
    above, below, anywhere = (
        box_effect(lid, FREQUENCY_HZ, toward).total.value
        for toward in ("above", "below", "anywhere")
    )
    assert above == pytest.approx(anywhere - 3.0)
    assert below == pytest.approx(anywhere + 10.0)


def test_orientation_toward_the_antenna_is_worth_tens_of_db():
    lying = Opening("slot", 0.02, 0.001, wall="front", along="length", place_m=(0.0, 0.0))
    upright = replace(lying, along="upright")
    losses = [
        box_loss(box(one, antenna=ANTENNA), FREQUENCY_HZ, 100.0).value for one in (lying, upright)
    ]
    assert losses[1] - losses[0] > 15.0


def test_placed_hole_and_slot_are_both_taken():
    slot = Opening("slot", 0.03, 0.001, wall="lid", along="length", place_m=(0.01, 0.015))
    hole = Opening("round", 0.03, 0.03, wall="lid", place_m=(0.01, 0.015))
    effects = [box_effect(box(one, antenna=ANTENNA), FREQUENCY_HZ, "above") for one in (slot, hole)]
    for effect in effects:
        assert not any("place of an opening" in caution for caution in effect.cautions)
    # magnetic polarisability 4.5e-6 m3 against about 1e-6 m3 of the slot
    assert effects[0].way_out.value > effects[1].way_out.value


def test_gap_of_the_lid_is_a_slot_between_fasteners():
    seam = Opening("slot", 0.05, 0.0002, 8, wall="front")
    closer = Opening("slot", 0.025, 0.0002, 16, wall="front")
    losses = [box_loss(box(one), FREQUENCY_HZ, 100.0).value for one in (seam, closer)]
    assert losses[1] > losses[0] + 10.0


@pytest.mark.parametrize(
    ("opening", "words"),
    [
        (Opening("slot", 0.15, 0.001, wall="left"), "fits into the left"),
        (Opening("slot", 0.04, 0.001, wall="front", along="upright"), "along its upright side"),
        (Opening("slot", 0.15, 0.13), "130 mm wide"),
    ],
)
def test_opening_that_fits_nowhere_is_refused(opening, words):
    with pytest.raises(InputError, match=words):
        box_effect(box(opening), FREQUENCY_HZ, "anywhere")


def test_antenna_outside_the_box_is_refused():
    outside = replace(ANTENNA, depth_m=0.03)
    with pytest.raises(InputError, match="a place inside the box"):
        box_effect(box(antenna=outside), FREQUENCY_HZ, "anywhere")


def test_quality_factor_of_zero_is_refused():
    with pytest.raises(InputError, match="quality factor"):
        box_effect(box(quality_factor=0.0), FREQUENCY_HZ, "anywhere")


def test_report_refuses_a_band_turned_round():
    with pytest.raises(InputError, match="its lower end first"):
        box_report(box(), BAND[1], BAND[0])


FREQUENCIES = np.geomspace(30e6, 6e9, 120)


def test_shielding_runs_over_the_whole_range_and_keeps_its_order():
    found = shielding(box(quality_factor=None), FREQUENCIES)
    assert np.all(np.isfinite(found.typical_db))
    assert np.all(found.low_db <= found.typical_db)
    assert np.all(found.typical_db <= found.high_db)
    assert any("quality factor" in caution for caution in found.cautions)


def test_slot_of_a_wavelength_lets_more_in_than_a_short_one():
    long, short = (
        shielding(box(Opening("slot", length_m, 0.001)), np.array([3e9])).typical_db[0]
        for length_m in (0.1, 0.02)
    )
    assert long < short - 10.0


def test_shielding_below_zero_is_put_into_words():
    rows = box_report(box(Opening("slot", 0.1, 0.005), quality_factor=None), *BAND).shielding
    assert any(row.level.band[0] < 0.0 for row in rows)
    for row in rows:
        told = "may be stronger than without the box, at a resonance" in row.level.source
        assert told == (row.level.band[0] < 0.0)


def test_low_frequencies_are_kept_out_twenty_db_a_decade():
    found = shielding(box(), np.array([30e6, 300e6]))
    assert found.typical_db[0] - found.typical_db[1] == pytest.approx(20.0, abs=1.0)


@given(st.floats(0.01, 0.08), st.floats(1.1, 1.4))
def test_longer_slot_lets_more_in_below_the_resonances(length_m, factor):
    short, long = (
        shielding(box(Opening("slot", each_m, 0.001, wall="lid")), np.array([200e6])).typical_db[0]
        for each_m in (length_m, length_m * factor)
    )
    assert long < short


def test_more_loss_inside_shields_better_above_the_resonances():
    lossy, ringing = (
        shielding(box(quality_factor=q), np.array([5e9])).typical_db[0] for q in (50.0, 500.0)
    )
    assert lossy - ringing == pytest.approx(10.0, abs=1.5)


def test_equal_holes_in_step_add_as_fields_at_low_frequency():
    one, ten = (
        shielding(box(Opening("round", 0.01, 0.01, count)), np.array([100e6])).typical_db[0]
        for count in (1, 10)
    )
    assert one - ten == pytest.approx(20.0)


def test_shielding_refuses_what_it_does_not_know():
    with pytest.raises(OutOfRange, match="frequency of the shielding"):
        shielding(box(), np.array([10e6]))
    with pytest.raises(MissingData):
        shielding(replace(box(), openings=()), np.array([100e6]))


def _unknown(opening, antenna=None):
    told = box_effect(box(opening, antenna=antenna), FREQUENCY_HZ, "above").cautions
    return [caution.partition(". ")[0] for caution in told if caution.startswith("Not known")]


@pytest.mark.parametrize(
    ("known", "antenna", "told"),
    [
        ({}, None, "the place of the antenna; wall, direction and place of the slot 60 x 2 mm"),
        (
            {"wall": "lid", "along": "length", "place_m": (0.0, 0.02)},
            None,
            "the place of the antenna",
        ),
        ({"wall": "lid", "along": "length"}, ANTENNA, "place of the slot 60 x 2 mm in the lid"),
        ({"wall": "lid", "place_m": (0.0, 0.0)}, ANTENNA, "direction of the slot 60 x 2 mm in"),
    ],
)
def test_what_has_no_place_is_named_and_nothing_else(known, antenna, told):
    (caution,) = _unknown(Opening("slot", 0.060, 0.002, **known), antenna)
    assert told in caution
    assert caution.count(";") == told.count(";")


def test_nothing_is_unknown_where_all_is_placed():
    placed = Opening("slot", 0.060, 0.002, wall="lid", along="length", place_m=(0.0, 0.02))
    assert _unknown(placed, ANTENNA) == []
