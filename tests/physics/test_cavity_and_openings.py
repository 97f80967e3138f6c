"""Resonances, walls and openings: what any honest model must do."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.core.errors import InputError, OutOfRange
from linkbudget.physics.cavity import (
    DIFFUSE_SHARE,
    cavity_modes,
    lowest_resonance_hz,
    mode_count,
    wall_field,
    wall_quality_factor,
    weighty_modes,
)
from linkbudget.physics.cavity_places import SmallSource, Spot, slot_ratio
from linkbudget.physics.openings import (
    normal_cross_section_m2,
    opening_ports,
    slot_impedance_ohm,
    strip_dipole_impedance_ohm,
)
from linkbudget.physics.slotted_box import SlottedFace, slotted_box_shielding_db

sides = st.floats(0.03, 0.4)
boxes = st.tuples(sides, sides, sides)


@given(boxes)
def test_first_of_all_modes_is_the_lowest_resonance(sides_m):
    lowest_hz = lowest_resonance_hz(sides_m)
    modes = cavity_modes(sides_m, 0.0, 2.0 * lowest_hz)
    assert modes[0].frequency_hz == pytest.approx(lowest_hz)
    assert sum(index == 0 for index in modes[0].half_waves) == 1


def test_modes_are_counted_as_the_smooth_law_says():
    sides_m, highest_hz = (0.31, 0.23, 0.11), 6e9
    found = len(cavity_modes(sides_m, 0.0, highest_hz))
    assert found == pytest.approx(mode_count(sides_m, highest_hz), rel=0.05)


def test_modes_carry_the_names_of_the_trade():
    names = [mode.name for mode in cavity_modes((0.3, 0.12, 0.3), 0.0, 1.2e9)]
    # half-waves along 300, 120 and 300 mm: 706.6 MHz, then sqrt(5) / 2 times c / 300 mm, twice
    assert names == ["TE101", "TE102", "TE201"]


def test_a_mode_without_a_zero_comes_twice():
    kinds = {
        mode.kind
        for mode in cavity_modes((0.3, 0.2, 0.1), 0.0, 2e9)
        if mode.half_waves == (1, 1, 1)
    }
    assert kinds == {"TE", "TM"}


@given(boxes, st.floats(1.0, 4.0), st.floats(5.0, 300.0))
def test_wall_field_keeps_the_balance_of_standing_waves(sides_m, times, sharpness):
    field = wall_field(sides_m, times * lowest_resonance_hz(sides_m), sharpness)
    assert np.all(np.diag(field.magnetic) == 0.0)
    assert np.all(field.magnetic >= -1e-12)
    assert np.all(field.magnetic <= 2.0 + 1e-9)
    # tangential magnetic less normal electric square is the pressure on a wall; over the three
    # pairs of walls it sums to twice the energy of one field, whatever the mode
    pressure = field.magnetic.sum(axis=1) - field.electric
    assert pressure.sum() == pytest.approx(2.0, rel=1e-6)


def test_large_box_tends_to_a_diffuse_field():
    field = wall_field((1.0, 0.8, 0.7), 6e9, 50.0)
    off = field.magnetic[~np.eye(3, dtype=bool)]
    assert off == pytest.approx(np.full(6, DIFFUSE_SHARE), abs=0.05)
    assert field.electric == pytest.approx(np.full(3, DIFFUSE_SHARE), abs=0.05)


def test_one_mode_alone_at_the_first_resonance():
    flat = (0.2, 0.12, 0.025)
    assert weighty_modes(flat, lowest_resonance_hz(flat), 100.0) == pytest.approx(1.0, abs=0.02)
    assert weighty_modes(flat, 6e9, 20.0) > 5.0


def test_copper_box_rings_longer_than_a_steel_one():
    flat = (0.2, 0.12, 0.025)
    copper = wall_quality_factor(flat, 2.44e9, 5.8e7)
    steel = wall_quality_factor(flat, 2.44e9, 5.8e6, 100.0)
    assert copper / steel == pytest.approx(math.sqrt(1000.0), rel=1e-6)


@given(st.floats(0.004, 0.02), st.floats(1.05, 1.5))
def test_small_hole_passes_with_the_sixth_power_of_its_size(diameter_m, factor):
    small, large = (
        normal_cross_section_m2("round", size_m, size_m, 100e6)
        for size_m in (diameter_m, diameter_m * factor)
    )
    assert large / small == pytest.approx(factor**6, rel=0.01)


@given(st.floats(0.004, 0.055), st.floats(1.02, 1.1), st.floats(0.02, 0.2))
def test_longer_slot_passes_more_up_to_resonance(length_m, factor, slender):
    longer_m = min(length_m * factor, 0.058)
    short, long = (
        opening_ports("slot", each_m, 0.004 * slender, 2.44e9).along
        for each_m in (length_m, longer_m)
    )
    assert long >= short


@given(st.floats(0.001, 0.3), st.floats(0.02, 1.0), st.sampled_from(["slot", "round", "rectangle"]))
def test_no_port_passes_more_than_all(length_m, ratio, shape):
    width_m = length_m if shape == "round" else length_m * ratio
    ports = opening_ports(shape, length_m, width_m, 2.44e9)
    count = math.floor(2.0 * length_m / 0.12287) + 1
    assert 0.0 <= ports.along <= count
    assert 0.0 <= ports.across <= 1.0
    assert 0.0 <= ports.normal <= 1.0


def test_slot_resonates_just_under_half_a_wavelength():
    lengths_m = np.linspace(0.045, 0.065, 201)
    shares = [opening_ports("slot", float(one), 0.001, 2.44e9).along for one in lengths_m]
    best_m = float(lengths_m[int(np.argmax(shares))])
    assert 0.44 < best_m / 0.12287 < 0.5
    assert max(shares) > 0.99


def test_strip_dipole_is_a_small_dipole_when_it_is_short():
    # 20 (k h)^2 with the mean 2 / pi of a half-wave of current: R = eta k^2 (2 L / pi)^2 / (6 pi)
    k, length_m = 2 * math.pi, 0.02
    expected = 376.73 * (k * 2 * length_m / math.pi) ** 2 / (6 * math.pi)
    found = strip_dipole_impedance_ohm(length_m, 0.001, 299_792_458.0)
    assert found.real == pytest.approx(expected, rel=0.01)
    assert found.imag < -100.0 * found.real


def test_slot_impedance_turns_the_strip_over():
    product = slot_impedance_ohm(0.06, 0.001, 2.44e9) * strip_dipole_impedance_ohm(
        0.06, 0.001, 2.44e9
    )
    assert product == pytest.approx(376.73**2 / 4.0, rel=1e-4)


def _ratio(source, spot, quality_factor=100.0):
    return slot_ratio((0.2, 0.12, 0.025), 2.44e9, quality_factor, source, spot, 0.001)


def test_slot_at_a_mirror_place_leaks_alike():
    source = SmallSource((0.1, 0.045, 0.012), 2)  # on the middle line of the length
    left, right = (_ratio(source, Spot((x_m, 0.08, 0.025), 2, 0, 0.03)) for x_m in (0.06, 0.14))
    assert left == pytest.approx(right, rel=1e-9)


def test_small_slot_leaks_with_the_quality_factor_off_resonance():
    source, spot = SmallSource((0.06, 0.045, 0.012), 2), Spot((0.11, 0.075, 0.025), 2, 0, 0.02)
    assert _ratio(source, spot, 1000.0) / _ratio(source, spot, 100.0) == pytest.approx(
        10.0, rel=0.1
    )


def test_slot_up_a_side_wall_of_a_flat_box_is_hardly_driven():
    source = SmallSource((0.06, 0.045, 0.012), 2)
    lying, upright = (_ratio(source, Spot((0.1, 0.0, 0.0125), 1, along, 0.02)) for along in (0, 2))
    assert upright < lying / 1e3


def test_line_with_a_short_rings_at_the_first_resonance():
    face = SlottedFace(0.3, 0.12, 0.3, 0.1, 0.005, 0.0015)
    f = np.linspace(650e6, 760e6, 1101)
    lowest = f[int(np.argmin(slotted_box_shielding_db(face, f)))]
    assert 0.97 * 706.6e6 < lowest < 706.6e6  # the slot's inductance lowers it somewhat
    damped = slotted_box_shielding_db(face, f, 30.0).min()
    assert damped > slotted_box_shielding_db(face, f).min() + 3.0


def test_impossible_inputs_are_refused():
    with pytest.raises(OutOfRange, match="width of the slot"):
        slotted_box_shielding_db(SlottedFace(0.3, 0.1, 0.3, 0.1, 0.2, 0.0), np.array([1e8]))
    with pytest.raises(InputError, match="quality factor"):
        slotted_box_shielding_db(SlottedFace(0.3, 0.1, 0.3, 0.1, 0.01, 0.0), np.array([1e8]), 0.0)
    with pytest.raises(InputError, match="inner side of the box"):
        cavity_modes((0.3, 0.0, 0.1), 0.0, 1e9)
