"""Gains of a change against field solvers: pairs of cases that differ in one dimension alone.

``plate_cases.csv`` and ``box_cases.csv``: see the tests of the losses themselves.
"""

import csv
import math
from dataclasses import replace
from itertools import permutations
from pathlib import Path

import pytest

from linkbudget.enclosure import fullwave
from linkbudget.enclosure.box_changes import box_gain
from linkbudget.enclosure.changes import Allowed, what_would_help
from linkbudget.enclosure.geometry import Box, Metal, Opening, PlacedAntenna, Plate, Scene
from linkbudget.enclosure.plate_changes import plate_gain

HERE = Path(__file__).parent
ALUMINIUM = Metal("aluminium", 3.5e7)
FREQUENCY_HZ = 2.44e9

needs_solver = pytest.mark.skipif(
    not fullwave.available(), reason="the optional extra 'fullwave' is not installed"
)


def _lid(depth_mm, edge_mm=60.0):
    return Plate(0.180, 0.120, 0.001, ALUMINIUM, depth_mm / 1e3, edge_mm / 1e3)


# Finite differences in time at 2440 MHz, sheet of 180 x 120 mm, thin dipole of 56.5 mm along it, by
# an independent general-purpose solver, 0.3 dB each: mean loss above is 20.07 dB at 5 mm, 14.23 at
# 12 mm, 10.69 at 31 mm, and 1.46 dB at 5 mm depth, 10 mm outside the edge; below 4.48, -1.09,
# -2.63 and -0.34 dB; total radiated power 7.38, 1.79, 0.18 and 0.47 dB.
GAINS = {
    "5 to 12 mm": (_lid(5), _lid(12), {"above": 5.84, "below": 5.57, "anywhere": 5.59}),
    "12 to 31 mm": (_lid(12), _lid(31), {"above": 3.54, "below": 1.54, "anywhere": 1.61}),
    "5 to 31 mm": (_lid(5), _lid(31), {"above": 9.38, "below": 7.11, "anywhere": 7.20}),
    "10 mm outside": (
        _lid(5),
        _lid(5, -10.0),
        {"above": 18.61, "below": 4.82, "anywhere": 6.91},
    ),
}


@pytest.mark.parametrize(("today", "changed", "gains"), GAINS.values(), ids=GAINS)
def test_the_band_holds_finite_differences(today, changed, gains):
    for toward, gain_db in gains.items():
        low, high = plate_gain(today, changed, FREQUENCY_HZ, toward).band
        assert low <= gain_db <= high
        if toward != "anywhere":
            assert high - low <= 8.0


@needs_solver
@pytest.mark.parametrize(
    ("today", "changed", "gains"),
    [GAINS["5 to 12 mm"], GAINS["12 to 31 mm"], GAINS["10 mm outside"]],
    ids=["5 to 12 mm", "12 to 31 mm", "10 mm outside"],
)
@pytest.mark.parametrize("toward", ["above", "below", "anywhere"])
def test_solved_changes_against_finite_differences(today, changed, gains, toward):
    allowed = Allowed(
        deeper_m=changed.depth_m - today.depth_m,
        to_edge_m=changed.edge_distance_m if changed.edge_distance_m < 0.0 else math.inf,
        window_m=0.0,
    )
    antenna = PlacedAntenna("half-wave dipole", "length", 0.0, 0.0, today.depth_m)
    found = what_would_help(
        today, FREQUENCY_HZ, toward, allowed=allowed, scene=Scene(antenna, plate=today)
    )
    (change,) = (one for one in found if not one.ruled_out)
    assert change.method == "solved"
    assert change.best[1].value == pytest.approx(gains[toward], abs=0.5)
    assert change.best[1].band[0] <= gains[toward] <= change.best[1].band[1]


# --- pairs of many sheets --------------------------------------------------------------------

PLATE_KEYS = (
    "length_mm",
    "width_mm",
    "skirt_mm",
    "depth_mm",
    "across_mm",
    "along_mm",
    "antenna_along",
)
LOSSES = {"above": "above_loss_db", "below": "below_loss_db", "beside": "beside_loss_db"} | {
    "anywhere": "total_loss_db"
}
FEW = {"reference", "fit", "held-out", "other-place"}  # made in rows that differ in one dimension

with (HERE / "plate_cases.csv").open(encoding="utf-8") as table:
    PLATES = [row for row in csv.DictReader(table) if row["set"] in FEW]
with (HERE / "box_cases.csv").open(encoding="utf-8") as table:
    BOXES = list(csv.DictReader(table))


def _plate(row):
    mm = {key: float(row[key]) for key in PLATE_KEYS if key.endswith("_mm")}
    edge_mm = min(
        mm["width_mm"] / 2 - abs(mm["across_mm"]), mm["length_mm"] / 2 - abs(mm["along_mm"])
    )
    return Plate(
        mm["length_mm"] / 1e3,
        mm["width_mm"] / 1e3,
        0.001,
        ALUMINIUM,
        mm["depth_mm"] / 1e3,
        edge_mm / 1e3,
        mm["skirt_mm"] / 1e3,
        along=row["antenna_along"],
        antenna_at_m=(mm["along_mm"] / 1e3, mm["across_mm"] / 1e3),
    )


def _pairs(rows, keys, vary):
    """Every ordered pair that is alike in all keys but one."""
    return [
        (one, other)
        for one, other in permutations(rows, 2)
        if one[vary] != other[vary] and all(one[k] == other[k] for k in keys if k != vary)
    ]


def _wanted(vary, one, other):
    step_mm = float(other[vary]) - float(one[vary])
    return {"depth_mm": 0 < step_mm <= 20.0, "across_mm": step_mm > 0, "skirt_mm": step_mm < 0}[
        vary
    ]


@pytest.mark.parametrize("toward", LOSSES)
def test_95_in_100_pairs_of_sheets_lie_in_the_band(toward):
    held = []
    for vary in ("depth_mm", "across_mm", "skirt_mm"):
        for one, other in _pairs(PLATES, PLATE_KEYS, vary):
            told = one[LOSSES[toward]], other[LOSSES[toward]]
            if not all(told) or not _wanted(vary, one, other):
                continue
            gain_db = float(told[0]) - float(told[1])
            low, high = plate_gain(_plate(one), _plate(other), FREQUENCY_HZ, toward).band
            held.append(low - 0.3 <= gain_db <= high + 0.3)  # 0.3 dB: what the solver is sure of
    assert len(held) > 300
    assert sum(held) / len(held) >= 0.95


BOX_KEYS = tuple(key for key in BOXES[0] if key != "id" and not key.endswith("_loss_db"))


def _box(row, *, placed):
    m = {key: float(row[key]) / 1e3 for key in row if key.endswith("_mm")}
    slot = Opening(row["shape"], m["opening_mm"], m["opening_width_mm"])
    antenna = None
    if placed:
        slot = replace(
            slot,
            wall=row["wall"],
            along=row["along"],
            place_m=(m["first_mm"], m["second_mm"]),
        )
        antenna = PlacedAntenna(
            "quarter-wave monopole",
            "upright",
            m["antenna_x_mm"],
            m["antenna_y_mm"],
            m["height_mm"] - 0.009,
        )
    return Box(
        m["length_mm"],
        m["width_mm"],
        m["height_mm"],
        1e-5,
        ALUMINIUM,
        (slot,),
        float(row["quality_factor"]),
        antenna,
    )


@pytest.mark.parametrize("placed", [False, True], ids=["no places", "places"])
@pytest.mark.parametrize(("vary", "least"), [("opening_mm", 0.90), ("quality_factor", 0.90)])
def test_9_in_10_pairs_of_boxes_lie_in_the_band(vary, least, placed):
    held = []
    for one, other in _pairs(BOXES, BOX_KEYS, vary):
        if float(other[vary]) < float(one[vary]):
            continue
        gain_db = float(one["mean_loss_db"]) - float(other["mean_loss_db"])
        boxes = (_box(row, placed=placed) for row in (one, other))
        low, high = box_gain(*boxes, float(one["frequency_mhz"]) * 1e6, "anywhere").band
        held.append(low <= gain_db <= high)
    assert len(held) >= 12
    assert sum(held) / len(held) >= least


# Finite differences in time by a general-purpose solver, box 200 x 120 x 25 mm, quality factor 100,
# radiated over accepted power: slot 20 x 1 mm -41.9 dB, 61 x 1 mm -5.6 dB, 100 x 1 mm -11.3 dB.
@pytest.mark.parametrize(
    ("today_mm", "changed_mm", "gain_db"), [(20, 61, 36.3), (100, 61, 5.7), (20, 100, 30.6)]
)
def test_a_longer_slot_against_a_general_purpose_solver(today_mm, changed_mm, gain_db):
    today, changed = (
        Box(0.2, 0.12, 0.025, 1e-5, ALUMINIUM, (Opening("slot", mm / 1e3, 0.001),), 100.0)
        for mm in (today_mm, changed_mm)
    )
    low, high = box_gain(today, changed, FREQUENCY_HZ, "anywhere").band
    assert low <= gain_db <= high
    assert high - low <= 13.0
