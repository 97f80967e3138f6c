"""Detuning and the way out together are the total again, band included."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.enclosure.geometry import Metal, Plate, StatedAttenuation
from linkbudget.enclosure.paths import metal_effect
from linkbudget.link.budget import MetalLoss


@given(st.floats(0.006, 0.04), st.floats(-0.02, 0.05), st.sampled_from(["above", "below"]))
def test_the_two_budget_lines_of_a_plate_add_up_to_its_total(depth_m, edge_m, toward):
    plate = Plate(0.18, 0.12, 0.0015, Metal("aluminium", 3.5e7), depth_m, edge_m)
    effect = metal_effect(plate, 2.44e9, toward)
    total = MetalLoss(effect.detuning, effect.way_out).total()
    assert total.value == pytest.approx(effect.total.value)
    assert total.band == pytest.approx(effect.total.band, abs=1e-6)


def test_a_stated_attenuation_is_all_way_out():
    effect = metal_effect(StatedAttenuation(6.0, 3.0), 2.44e9, "above")
    assert effect.detuning.value == 0.0
    assert (effect.way_out.value, *effect.way_out.band) == (6.0, 3.0, 9.0)
