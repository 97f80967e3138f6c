"""Detuning and the way out together are the total again, band included."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.core.errors import OutOfRange
from linkbudget.enclosure.geometry import Box, Metal, Opening, Plate, StatedAttenuation
from linkbudget.enclosure.paths import metal_effect
from linkbudget.link.budget import MetalLoss


@given(st.floats(0.006, 0.04), st.floats(-0.02, 0.05), st.sampled_from(["above", "below"]))
def test_the_two_budget_lines_of_a_plate_add_up_to_its_total(depth_m, edge_m, toward):
    plate = Plate(0.18, 0.12, 0.0015, Metal("aluminium", 3.5e7), depth_m, edge_m)
    effect = metal_effect(plate, 2.44e9, toward)
    mean = MetalLoss(effect.detuning, effect.way_out).total()
    assert mean.band == pytest.approx(effect.total.band, abs=1e-6)
    total = MetalLoss(effect.detuning, effect.in_one_direction).total()
    assert total.value == pytest.approx(effect.total.value)
    down = math.hypot(effect.total.value - effect.total.band[0], effect.scatter.band[0])
    up = math.hypot(effect.total.band[1] - effect.total.value, effect.scatter.band[1])
    assert total.band == pytest.approx((total.value - down, total.value + up), abs=1e-6)


@pytest.mark.parametrize(
    ("plate", "on_axis_db"),
    [
        # finite-difference field solver, straight up against free space, 1 dB
        (Plate(0.18, 0.12, 0.0015, Metal("aluminium", 3.5e7), 0.012, 0.06), 19.27),
        (Plate(0.18, 0.12, 0.0015, Metal("aluminium", 3.5e7), 0.031, 0.06), 15.19),
        (Plate(0.18, 0.12, 0.0015, Metal("aluminium", 3.5e7), 0.005, 0.06), 24.86),
        (Plate(0.09, 0.06, 0.0015, Metal("aluminium", 3.5e7), 0.008, 0.03), 13.07),
        (Plate(0.20, 0.12, 0.0015, Metal("aluminium", 3.5e7), 0.005, 0.06, 0.008), 28.81),
    ],
)
def test_straight_up_lies_inside_the_band_of_a_single_direction(plate, on_axis_db):
    effect = metal_effect(plate, 2.44e9, "above")
    low, high = MetalLoss(effect.detuning, effect.in_one_direction).total().band
    assert low <= on_axis_db <= high


def test_far_outside_the_fitted_range_nothing_is_told():
    endless = Plate(1000.0, 1000.0, 0.0015, Metal("aluminium", 3.5e7), 0.012, 0.06)
    with pytest.raises(OutOfRange, match="length of the sheet"):
        metal_effect(endless, 2.44e9, "above")
    with pytest.raises(OutOfRange, match=r"length of the sheet \(mm\) 300; expected 1768"):
        metal_effect(replace(endless, length_m=0.3, width_m=0.2), 13.56e6, "above")


def test_a_hole_beyond_measure_is_no_fault_of_the_tool():
    pin_hole = (Opening("round", 1e-4, 1e-4),)
    thick = Plate(0.18, 0.12, 0.02, Metal("aluminium", 3.5e7), 0.012, 0.06, openings=pin_hole)
    assert metal_effect(thick, 2.44e9, "above").dominant == "round the edge"
    box = Box(0.2, 0.12, 0.025, 0.02, Metal("aluminium", 3.5e7), (Opening("slot", 1e-4, 1e-4),))
    assert metal_effect(box, 2.44e9, "above").total.value > 100.0


def test_a_stated_attenuation_is_all_way_out():
    effect = metal_effect(StatedAttenuation(6.0, 3.0), 2.44e9, "above")
    assert effect.detuning is None
    assert (effect.in_one_direction.value, *effect.in_one_direction.band) == (6.0, 3.0, 9.0)
