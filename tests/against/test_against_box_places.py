"""Boxes whose places are known: held-out field solutions, and an independent closed form.

``box_held_out.csv``: finite differences in time, own program, box with perfectly conducting walls
without thickness, slots one cell wide, which reads 2 to 3 dB too much loss where they are short:
three cells across, "front-upright-q200" loses 10.9 dB and "lid-upright-q50" 23.4 dB.
Computed after the closed forms stood; no width of a band was fitted to the set "upright". "lying"
is an inverted-L of 25 mm over a rise of 12.5 mm; its three cases stand behind the floor of a null.
"bare null" is an ideal antenna, or a slot along a field that does not exist, in an ideal box: what
a product never is. 120 dB means: nothing above rounding.
"""

import csv
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import dblquad, quad

from linkbudget.enclosure.boxes import box_effect, box_loss
from linkbudget.enclosure.geometry import Box, Metal, Opening, PlacedAntenna
from linkbudget.physics.cavity_places import SmallSource, Spot, slot_ratio, spot_field

ALUMINIUM = Metal("aluminium", 3.5e7)
WAVE_PER_M = 51.138  # at 2.44 GHz

with (Path(__file__).parent / "box_held_out.csv").open(encoding="utf-8") as table:
    CASES = {case["id"]: case for case in csv.DictReader(table)}


def _named(kind):
    return [name for name, case in CASES.items() if case["set"] == kind]


def _box(case):
    m = {key: float(case[key]) / 1e3 for key in case if key.endswith("_mm")}
    place_m = m["first_mm"], m["second_mm"]
    slot = Opening(
        "slot", m["opening_mm"], m["opening_width_mm"], 1, case["wall"], case["along"], place_m
    )
    antenna = PlacedAntenna(
        case["antenna"],
        case["antenna_along"],
        m["antenna_x_mm"],
        m["antenna_y_mm"],
        m["antenna_depth_mm"],
    )
    sides_m = m["length_mm"], m["width_mm"], m["height_mm"]
    return Box(*sides_m, 1e-5, ALUMINIUM, (slot,), float(case["quality_factor"]), antenna)


def _loss(case, box):
    return box_loss(box, float(case["frequency_mhz"]) * 1e6, float(case["quality_factor"]))


def _misses_db(names):
    """How far outside the band each case lies [dB]."""
    misses = {}
    for name in names:
        low, high = _loss(CASES[name], _box(CASES[name])).band
        mean_db = float(CASES[name]["mean_loss_db"])
        misses[name] = max(low - mean_db, mean_db - high, 0.0)
        assert high - low <= 12.0, name
    return misses


def test_band_holds_the_held_out_boxes_but_one():
    misses = _misses_db(_named("upright"))
    assert sum(miss > 0.0 for miss in misses.values()) <= 1
    assert max(misses.values()) < 0.5


def test_band_holds_an_antenna_that_lies_over_its_rise():
    misses = _misses_db(_named("lying"))
    assert max(misses.values()) == 0.0


def test_height_of_a_slot_in_a_low_wall_does_not_matter():
    # finite differences agree: 7.3 and 7.4 dB, 6 mm under and over the middle of 25 mm
    losses = [_loss(CASES[name], _box(CASES[name])).value for name in ("front-low", "front-high")]
    assert losses[0] == pytest.approx(losses[1], abs=0.3)


def test_height_of_a_slot_counts_where_the_field_varies_with_it():
    # 120 x 80 x 50 mm at 5.25 GHz: the first wave with half a wave of height lives from 3.2 GHz on
    case = CASES["front-5ghz-middle"]
    box = _box(case)
    losses = []
    for up_mm in np.linspace(-20.0, 20.0, 9):
        slot = replace(box.openings[0], place_m=(0.01, up_mm / 1e3))
        losses.append(_loss(case, replace(box, openings=(slot,))).value)
    assert max(losses) - min(losses) > 1.0


@pytest.mark.parametrize("name", _named("bare null"))
def test_a_null_of_the_bare_box_is_told_and_not_believed(name):
    case = CASES[name]
    box = _box(case)
    assert float(case["mean_loss_db"]) > _loss(case, box).band[1]
    effect = box_effect(box, float(case["frequency_mhz"]) * 1e6, "anywhere")
    (told,) = (caution for caution in effect.cautions if "null" in caution)
    assert "over 20 dB less would leave" in told
    assert "7 dB under a place that nobody knows" in told


def test_no_null_is_told_where_there_is_none():
    case = CASES["front-low"]
    effect = box_effect(_box(case), 2.44e9, "anywhere")
    assert not any("null" in caution for caution in effect.cautions)


mm = st.floats(-0.45, 0.45)


@given(
    st.sampled_from(["front", "left", "lid"]),
    st.sampled_from(["length", "width", "upright"]),
    st.sampled_from(["length", "width", "upright"]),
    st.tuples(mm, mm),
    st.tuples(mm, mm, st.floats(0.1, 0.9)),
    st.sampled_from([(0.2, 0.12, 0.025), (0.3, 0.2, 0.1)]),
)
def test_band_of_a_placed_opening_reaches_up_to_that_of_an_unknown_place(
    wall, along, antenna_along, at, stands, sides_m
):
    axes = {"front": (0, 2), "left": (1, 2), "lid": (0, 1)}[wall]
    assume({"length": 0, "width": 1, "upright": 2}[along] in axes)
    place_m = (at[0] * sides_m[axes[0]], at[1] * sides_m[axes[1]])
    antenna = PlacedAntenna(
        "inverted-F",
        antenna_along,
        stands[0] * sides_m[0],
        stands[1] * sides_m[1],
        stands[2] * sides_m[2],
    )
    length_axis = {"length": 0, "width": 1, "upright": 2}[along]
    for axis, at_m in zip(axes, place_m, strict=True):  # the slot ends inside its wall
        half_m = 0.01 if axis == length_axis else 0.0005
        assume(abs(at_m) + half_m <= sides_m[axis] / 2.0)
    slot = Opening("slot", 0.02, 0.001, 1, wall, along, place_m)
    placed = Box(*sides_m, 1e-5, ALUMINIUM, (slot,), 100.0, antenna)
    somewhere = replace(placed, openings=(replace(slot, place_m=None),))
    loss, other = (box_loss(box, 2.44e9, 100.0) for box in (placed, somewhere))
    low, high = loss.band
    assert low <= other.value + 1e-9
    assert high - low <= 12.0
    assert loss.value <= other.value + 7.0 + 1e-9


def _waves(sides_m, source_m, x_m, y_m, k2_per_m2, *, slope):
    """Field of an upright current, uniform over the height, in the plane of a low box.

    Standing waves along the length alone; along the width each is closed, sinh over sinh: no
    resonance is summed. With `slope` its derivative along the width, else the field itself.
    """
    length_m, width_m, _ = sides_m
    from_m, to_m = min(y_m, source_m[1]), max(y_m, source_m[1])
    m = np.arange(1, 61) * math.pi / length_m
    g = np.sqrt(m**2 - k2_per_m2 + 0j)
    if not slope:
        top = np.sinh(g * from_m) * np.sinh(g * (width_m - to_m)) / g
    elif y_m > source_m[1]:
        top = -np.sinh(g * source_m[1]) * np.cosh(g * (width_m - y_m))
    else:
        top = np.cosh(g * y_m) * np.sinh(g * (width_m - source_m[1]))
    across = np.sin(m * source_m[0]) * np.sin(m * x_m)
    return complex(np.sum(across * top / np.sinh(g * width_m)))


def _lossy(quality_factor):
    return WAVE_PER_M**2 * (1.0 - 1j / quality_factor)


def test_field_at_places_drawn_at_random_is_that_of_a_closed_form():
    # twelve low boxes: |H along the length|^2 over the mean of |E|^2, by quadrature over the floor
    chance, off_db = np.random.default_rng(1), []
    for _ in range(12):
        sides_m = (chance.uniform(0.14, 0.3), chance.uniform(0.09, 0.2), 0.015)
        source_m, spot_m = (
            tuple(chance.uniform(0.1, 0.9) * side_m for side_m in sides_m[:2]) for _ in range(2)
        )

        def square(y, x, sides_m=sides_m, source_m=source_m):
            return abs(_waves(sides_m, source_m, x, y, _lossy(100.0), slope=False)) ** 2

        whole = dblquad(square, 0.0, sides_m[0], 0.0, sides_m[1], epsabs=0.0, epsrel=0.05)[0]
        slope = abs(_waves(sides_m, source_m, *spot_m, _lossy(100.0), slope=True)) ** 2
        expected = slope / WAVE_PER_M**2 * sides_m[0] * sides_m[1] / whole
        near = spot_field(
            sides_m,
            2.44e9,
            100.0,
            SmallSource((*source_m, 0.0075), 2),
            Spot((*spot_m, 0.015), 2, 0),
        )
        if expected > 0.05:  # a null is only as deep as the near field that a sum leaves out
            off_db.append(10.0 * math.log10(near.along / expected))
    assert len(off_db) >= 8
    assert abs(np.median(off_db)) < 0.6
    assert np.sqrt(np.mean(np.square(off_db))) < 1.7


@pytest.mark.parametrize(
    ("sides_m", "source_m", "spots_m", "quality_factor"),
    [
        ((0.23, 0.15, 0.02), (0.07, 0.05), ((0.13, 0.02), (0.16, 0.09)), 100.0),
        ((0.16, 0.10, 0.015), (0.05, 0.03), ((0.11, 0.07), (0.06, 0.075)), 60.0),
        ((0.31, 0.19, 0.02), (0.21, 0.05), ((0.12, 0.13), (0.08, 0.04)), 150.0),
    ],
)
def test_what_a_short_slot_collects_is_the_overlap_with_its_half_wave(
    sides_m, source_m, spots_m, quality_factor
):
    length_m, overlaps, ratios = 0.02, [], []
    for spot_m in spots_m:

        def along(s, part, spot_m=spot_m):
            at = spot_m[0] + s, spot_m[1]
            field = _waves(sides_m, source_m, *at, _lossy(quality_factor), slope=True)
            return math.cos(math.pi * s / length_m) * getattr(field, part)

        ends = -length_m / 2.0, length_m / 2.0
        real, imag = (quad(along, *ends, args=(part,))[0] for part in ("real", "imag"))
        overlaps.append(real**2 + imag**2)
        source = SmallSource((*source_m, sides_m[2] / 2.0), 2)
        spot = Spot((*spot_m, sides_m[2]), 2, 0, length_m)
        ratios.append(slot_ratio(sides_m, 2.44e9, quality_factor, source, spot, 0.0005))
    difference_db = 10.0 * math.log10(overlaps[0] / overlaps[1])
    assert 10.0 * math.log10(ratios[0] / ratios[1]) == pytest.approx(difference_db, abs=1.5)
