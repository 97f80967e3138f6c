"""The closed forms for boxes against field solvers, and against fields drawn at random.

Nothing in the estimate was fitted to these cases but the widths of the bands. ``box_cases.csv``:
finite differences in time, own program, box with perfectly conducting walls without thickness, 1.6
mm of glass-epoxy on the floor, an inverted-L of 18 mm height and 12 mm arm on it; losses are
accepted over radiated power, mean, least and most over the band. Slots are one cell wide there,
which reads about 3 dB too much loss for those well under half a wavelength (four cells across a
slot of 40 mm: 12.2 dB instead of 15.3 dB).
"""

import csv
import math
from pathlib import Path

import numpy as np
import pytest

from linkbudget.enclosure.boxes import box_loss
from linkbudget.enclosure.geometry import Box, Metal, Opening, PlacedAntenna
from linkbudget.enclosure.leaks import opening_area_m2
from linkbudget.enclosure.paths import metal_effect
from linkbudget.enclosure.shielding import shielding
from linkbudget.physics.apertures import slot_shielding_db
from linkbudget.physics.cavity import wall_field
from linkbudget.physics.cavity_places import SmallSource, Spot, slot_ratio, spot_field
from linkbudget.physics.openings import port_area_m2
from linkbudget.physics.slotted_box import SlottedFace, slotted_box_shielding_db

ALUMINIUM = Metal("aluminium", 3.5e7)
FREQUENCY_HZ = 2.44e9

# Finite differences in time by a general-purpose solver, box 200 x 120 x 25 mm, quality factor 100,
# 2400 to 2483.5 MHz: accepted over radiated power in dB, least, mean and most in the band.
BOXES = {
    "slot 20 x 1 mm": (Opening("slot", 0.020, 0.001), 40.4, 41.9, 43.1),
    "slot 61 x 1 mm": (Opening("slot", 0.061, 0.001), 3.1, 5.6, 10.5),
    "slot 100 x 1 mm": (Opening("slot", 0.100, 0.001), 10.2, 11.3, 15.0),
    "50 holes of 14 mm": (Opening("rectangle", 0.014, 0.014, 50), 11.3, 11.9, 13.2),
}


def _box(opening, quality_factor=None):
    return Box(0.200, 0.120, 0.025, 1e-5, ALUMINIUM, (opening,), quality_factor)


@pytest.mark.parametrize(("opening", "least", "mean", "most"), BOXES.values(), ids=BOXES)
def test_box_band_holds_finite_differences(opening, least, mean, most):
    low, high = box_loss(_box(opening), FREQUENCY_HZ, 100.0).band
    assert low <= least <= mean <= high
    low, high = metal_effect(_box(opening), FREQUENCY_HZ, "anywhere").way_out.band
    assert low <= least <= mean <= most <= high


@pytest.mark.parametrize(("opening", "least", "mean", "most"), BOXES.values(), ids=BOXES)
def test_typical_loss_of_a_box_is_near_finite_differences(opening, least, mean, most):
    assert box_loss(_box(opening), FREQUENCY_HZ, 100.0).value == pytest.approx(mean, abs=3.0)


@pytest.mark.parametrize("length_mm", [8, 20, 40, 61, 80, 110])
@pytest.mark.parametrize("quality_factor", [20.0, 100.0, 1000.0])
def test_box_band_is_at_most_12_db_wide_where_the_quality_factor_is_known(
    length_mm, quality_factor
):
    slot = Opening("slot", length_mm / 1e3, 0.001)
    low, high = metal_effect(_box(slot, quality_factor), FREQUENCY_HZ, "anywhere").way_out.band
    assert high - low <= 12.0


def test_slot_rule_is_not_used_for_a_box():
    opening, _, mean_db, _ = BOXES["slot 20 x 1 mm"]
    way_out_db = box_loss(_box(opening), FREQUENCY_HZ, 100.0).value
    rule_db = slot_shielding_db(opening.length_m, FREQUENCY_HZ)
    assert rule_db == pytest.approx(9.75, abs=0.01)  # 20 log10(122.87 / 40)
    assert abs(way_out_db - mean_db) < abs(rule_db - mean_db) / 10.0


with (Path(__file__).parent / "box_cases.csv").open(encoding="utf-8") as table:
    CASES = list(csv.DictReader(table))


def _scene(case, *, placed):
    m = {key: float(case[key]) / 1e3 for key in case if key.endswith("_mm")}
    opening = Opening(
        case["shape"],
        m["opening_mm"],
        m["opening_width_mm"],
        wall=case["wall"] if placed else None,
        along=case["along"] if placed else None,
        place_m=(m["first_mm"], m["second_mm"]) if placed else None,
    )
    antenna = PlacedAntenna(
        "inverted-F", "upright", m["antenna_x_mm"], m["antenna_y_mm"], m["height_mm"] - 0.009
    )
    return Box(
        m["length_mm"],
        m["width_mm"],
        m["height_mm"],
        1e-5,
        ALUMINIUM,
        (opening,),
        float(case["quality_factor"]),
        antenna if placed else None,
    )


def _misses_db(*, placed):
    """How far outside the band each case lies [dB], and estimate less solver [dB]."""
    outside, off = [], []
    for case in CASES:
        quality_factor = float(case["quality_factor"])
        loss = box_loss(
            _scene(case, placed=placed), float(case["frequency_mhz"]) * 1e6, quality_factor
        )
        low, high = loss.band
        assert high - low <= 12.0, case["id"]
        mean_db = float(case["mean_loss_db"])
        outside.append(max(low - mean_db, mean_db - high, 0.0))
        off.append(loss.value - mean_db)
    return np.array(outside), np.array(off)


def test_band_holds_four_of_five_boxes_where_no_place_is_known():
    # "seven places in ten": exponential power at a random place, and a model that is not perfect
    outside, _ = _misses_db(placed=False)
    assert len(outside) >= 40
    assert np.mean(outside == 0.0) >= 0.8


def test_places_of_opening_and_antenna_sharpen_the_estimate():
    _, somewhere = _misses_db(placed=False)
    outside, placed = _misses_db(placed=True)
    assert np.mean(outside == 0.0) >= 0.9
    assert np.std(placed) < np.std(somewhere)


def _named(name):
    return next(case for case in CASES if case["id"] == name)


def _placed_ratio_db(name):
    case = _named(name)
    box = _scene(case, placed=True)
    (opening,) = box.openings
    at_m = (0.1 + opening.place_m[0], 0.06 + opening.place_m[1], 0.025)
    source = SmallSource((0.060, 0.045, 0.009), 2)
    along = {"length": 0, "width": 1}[opening.along]
    # 1.6 mm of relative permittivity 4.3 on the floor: the electric field stands across it
    slowing = math.sqrt((25.0 - 1.6 + 1.6 / 4.3) / 25.0)
    ratios = [
        slot_ratio(
            box.sides_m,
            mhz * 1e6,
            100.0,
            source,
            Spot(at_m, 2, along, opening.length_m),
            opening.width_m / 3.0,  # a slot one cell wide acts as one of a third
            slowing,
        )
        for mhz in np.linspace(2400.0, 2483.5, 9)
    ]
    return -10.0 * math.log10(np.mean([ratio / (1.0 + ratio) for ratio in ratios]))


@pytest.mark.parametrize(
    "name", ["lidx20", "lidx30", "lidx40", "lidx61", "lidx80", "lidy40", "lidy61", "lidy40b"]
)
def test_sum_over_resonances_follows_finite_differences(name):
    # from 2.7 to 40 dB, in the middle of the lid and at a node: the same within 3 dB
    assert _placed_ratio_db(name) == pytest.approx(float(_named(name)["mean_loss_db"]), abs=3.0)


# Electric shielding in the middle of a 300 x 120 x 300 mm box, slot 100 x 5 mm in the middle of a
# 300 x 120 mm face, field across the slot: finite differences, two slot meshes within 1.2 dB
@pytest.mark.parametrize(
    ("mhz", "least", "value", "most"),
    [(500, 32.2, 33.4, 34.6), (600, 22.2, 23.4, 24.6), (800, 16.4, 17.6, 18.8)],
)
@pytest.mark.parametrize("thickness_m", [1e-5, 0.0015])
@pytest.mark.parametrize("quality_factor", [None, 1000.0])
def test_shielding_band_holds_finite_differences(
    mhz, least, value, most, thickness_m, quality_factor
):
    slot = Opening("slot", 0.1, 0.005, wall="front", along="length")
    box = Box(0.3, 0.3, 0.12, thickness_m, ALUMINIUM, (slot,), quality_factor)
    found = shielding(box, np.array([mhz * 1e6]))
    assert found.low_db[0] <= least <= value <= most <= found.high_db[0]
    assert found.high_db[0] - found.low_db[0] <= 12.0


# The same box without loss, wall of 1.5 mm: computed elsewhere with the same formula, recalled from
# Robinson et al. 1998 (not values that the paper prints)
@pytest.mark.parametrize(
    ("mhz", "shielding_db"),
    [
        (100, 53.8),
        (200, 46.89),
        (300, 41.79),
        (400, 36.84),
        (500, 31.11),
        (600, 22.98),
        (650, 16.06),
        (700, -9.69),
        (800, 17.4),
        (900, 20.48),
        (1000, 20.16),
    ],
)
def test_line_with_a_short_agrees_with_the_formula_computed_elsewhere(mhz, shielding_db):
    face = SlottedFace(0.3, 0.12, 0.3, 0.1, 0.005, 0.0015)
    found = slotted_box_shielding_db(face, np.array([mhz * 1e6]))
    assert found[0] == pytest.approx(shielding_db, abs=0.02)


def _waves_at_random(count):
    """Directions toward a wall z = 0 and magnetic fields across them, shape (count, 3)."""
    chance = np.random.default_rng(7)
    direction = chance.normal(size=(count, 3))
    direction /= np.linalg.norm(direction, axis=1)[:, None]
    direction[:, 2] = np.abs(direction[:, 2])
    magnetic = chance.normal(size=(count, 3))
    magnetic -= np.sum(magnetic * direction, axis=1)[:, None] * direction
    return direction, magnetic / np.linalg.norm(magnetic, axis=1)[:, None]


def test_small_round_hole_takes_what_random_waves_drive_through_it():
    # Bethe: a magnetic dipole 4 r^3 / 3 times the tangential field and an electric one of half
    # that, beside the short-circuited field of each wave: 64 k^4 r^6 / (27 pi) at normal incidence
    radius_m, wave_number = 0.001, 51.138
    direction, magnetic = _waves_at_random(200_000)
    normal_m2 = 64.0 * wave_number**4 * radius_m**6 / (27.0 * math.pi)
    tangential = np.sum(magnetic[:, :2] ** 2, axis=1)
    electric = np.cross(magnetic, direction)[:, 2] ** 2 / 4.0
    mean_m2 = normal_m2 * np.mean(tangential + electric)
    hole = Opening("round", 2 * radius_m, 2 * radius_m)
    # as an area that swallows all: twice the mean cross-section over the half-space
    assert opening_area_m2(hole, 0.0, FREQUENCY_HZ) == pytest.approx(2.0 * mean_m2, rel=0.02)


def test_no_narrow_opening_takes_more_than_an_antenna_of_its_ports():
    for length_m in np.linspace(0.005, 0.061, 40):
        area_m2 = opening_area_m2(Opening("slot", float(length_m), 0.001), 0.0, FREQUENCY_HZ)
        assert area_m2 <= port_area_m2(FREQUENCY_HZ)


def test_wall_field_is_that_of_standing_waves_drawn_at_random():
    # box 200 x 120 x 25 mm at 2.44 GHz: modes TM mn0 alone; 2000 points on the lid, each mode with
    # its weight, E = sin sin upright, H from its derivatives
    chance = np.random.default_rng(3)
    x, y = chance.uniform(0.0, 0.2, 2000), chance.uniform(0.0, 0.12, 2000)
    along_x = along_y = energy = 0.0
    for m in range(1, 7):
        for n in range(1, 5):
            kx, ky = m * math.pi / 0.2, n * math.pi / 0.12
            ratio = (kx**2 + ky**2) / 51.138**2
            if ratio > 4.0:
                continue
            weight = 1.0 / ((1.0 - ratio) ** 2 + 1.0 / 400.0)
            k2 = kx**2 + ky**2
            along_x += weight * np.mean((ky * np.sin(kx * x) * np.cos(ky * y)) ** 2) / k2
            along_y += weight * np.mean((kx * np.cos(kx * x) * np.sin(ky * y)) ** 2) / k2
            energy += weight * 0.25
    field = wall_field((0.2, 0.12, 0.025), FREQUENCY_HZ, 20.0).magnetic
    # the solver's only other mode below twice the frequency would be half a wave high, at 6 GHz
    assert field[2, 0] == pytest.approx(along_x / energy, rel=0.03)
    assert field[2, 1] == pytest.approx(along_y / energy, rel=0.03)


@pytest.mark.parametrize("sides_m", [(0.2, 0.12, 0.025), (0.3, 0.2, 0.06)])
def test_band_holds_seven_in_ten_places_drawn_at_random(sides_m):
    # a small slot and an upright antenna anywhere but close to an edge, sum over resonances
    chance = np.random.default_rng(5)
    ratios = []
    for _ in range(150):
        at_m = [chance.uniform(0.1 * side_m, 0.9 * side_m) for side_m in sides_m[:2]]
        spot_m = [chance.uniform(0.1 * side_m, 0.9 * side_m) for side_m in sides_m[:2]]
        source = SmallSource((*at_m, 0.009), 2)
        spot = Spot((*spot_m, sides_m[2]), 2, 0, 0.02)
        over_band = [
            slot_ratio(sides_m, mhz * 1e6, 100.0, source, spot, 0.001, 0.98)
            for mhz in (2400.0, 2420.0, 2440.0, 2460.0, 2480.0)
        ]
        ratios.append(np.mean(over_band))
    levels_db = -10.0 * np.log10(ratios)
    slot = Opening("slot", 0.02, 0.001, wall="lid", along="length")
    loss = box_loss(Box(*sides_m, 1e-5, ALUMINIUM, (slot,)), FREQUENCY_HZ, 100.0)
    low, high = loss.band
    assert 0.6 <= np.mean((levels_db >= low) & (levels_db <= high)) <= 0.9
    assert np.median(levels_db) == pytest.approx(loss.value, abs=2.5)


def test_local_field_of_one_mode_is_its_standing_wave():
    # close to 2572.1 MHz mode TM310 rings alone: H along x is sin(3 pi x/a) cos(pi y/b) times the
    # share (1/b)^2 / ((3/a)^2 + (1/b)^2) = 0.236, over the mean 1/4 of the squares
    x_m, y_m = 0.11, 0.075
    wave = (math.sin(3 * math.pi * x_m / 0.2) * math.cos(math.pi * y_m / 0.12)) ** 2
    source, spot = SmallSource((0.03, 0.06, 0.012), 2), Spot((x_m, y_m, 0.025), 2, 0)
    near = spot_field((0.2, 0.12, 0.025), 2572.1e6, 1e5, source, spot)
    assert near.along == pytest.approx(0.2358 * wave / 0.25, rel=0.01)
    electric = (math.sin(3 * math.pi * x_m / 0.2) * math.sin(math.pi * y_m / 0.12)) ** 2
    assert near.normal == pytest.approx(electric / 0.25, rel=0.01)
