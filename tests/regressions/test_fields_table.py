"""Frozen own numbers: the table of ``docs/fields.md`` says what the code gives today.

A regression test, and no more: it holds the columns "ours" to the code, so that the page cannot
rot. How good the numbers are is for the page itself, and for ``tests/against``. Renew the page by
hand where a model changed, from what a failing row prints.
"""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from linkbudget.enclosure import fullwave
from linkbudget.enclosure.box_report import box_report
from linkbudget.enclosure.geometry import Box, Metal, Opening, PlacedAntenna, Plate, Scene
from linkbudget.enclosure.paths import metal_effect
from linkbudget.enclosure.shielding import shielding

PAGE = Path(__file__).parents[2] / "docs" / "fields.md"
ALUMINIUM = Metal("aluminium", 3.5e7)
FREQUENCY_HZ = 2.44e9
SHEETS_MM = {  # length, width, skirt, depth, from the middle along the short side
    "plate-180x120-h12": (180, 120, 0, 12, 0),
    "plate-180x120-h31": (180, 120, 0, 31, 0),
    "plate-180x120-h5": (180, 120, 0, 5, 0),
    "plate-180x120-h5-y70": (180, 120, 0, 5, 70),
    "plate-90x60-h8": (90, 60, 0, 8, 0),
    "tray-200x120-skirt8-h5": (200, 120, 8, 5, 0),
}
MIDDLE_M = (0.010, 0.015)  # (110, 75) mm from the corner of a lid of 200 x 120 mm
BOXES = {
    "box-slot-20": Opening("slot", 0.020, 0.001, 1, "lid", "length", MIDDLE_M),
    "box-slot-61": Opening("slot", 0.061, 0.001, 1, "lid", "length", MIDDLE_M),
    "box-slot-100": Opening("slot", 0.100, 0.001, 1, "lid", "length", MIDDLE_M),
    "box-holes": Opening("rectangle", 0.014, 0.014, 50, "lid", "length"),
}
INVERTED_L = PlacedAntenna("inverted-F", "upright", -0.040, -0.015, 0.016)  # foot at (60, 45) mm


def _rows(heading):
    """Rows of one table by their first cells, each a dict of its columns."""
    section = PAGE.read_text(encoding="utf-8").split(f"## {heading}\n")[1].split("\n## ")[0]
    lines = [line for line in section.splitlines() if line.startswith("|")]
    cells = [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]
    return [dict(zip(cells[0], row, strict=True)) for row in cells[2:]]


def _numbers(text):
    return [float(found) for found in re.findall(r"-?\d+\.\d+", text)]


def _same(text, quantity):
    """Hold a printed "value (low to high)" to a quantity."""
    assert _numbers(text) == pytest.approx((quantity.value, *quantity.band), abs=0.06), str(
        quantity
    )


def _sheet(name):
    length, width, skirt, depth, off = (each / 1e3 for each in SHEETS_MM[name])
    return Plate(length, width, 0.001, ALUMINIUM, depth, width / 2 - off, skirt)


def _scene(name):
    *_, depth, off = SHEETS_MM[name]
    antenna = PlacedAntenna("half-wave dipole", "length", 0.0, off / 1e3, depth / 1e3)
    return Scene(antenna, plate=_sheet(name))


def _box(opening, placed):
    antenna = INVERTED_L if placed else None
    kept = opening if placed else replace(opening, wall=None, along=None, place_m=None)
    return Box(0.2, 0.12, 0.025, 1e-5, ALUMINIUM, (kept,), 100.0, antenna)


@pytest.mark.parametrize("name", SHEETS_MM)
def test_closed_forms_of_a_sheet_are_as_printed(name):
    towards = {"power, all directions": "anywhere", "mean above": "above", "mean below": "below"}
    rows = {row["quantity"]: row for row in _rows("Plates and trays") if row["case"] == name}
    assert set(rows) == {*towards, "straight up"}
    for quantity, toward in towards.items():
        found = metal_effect(_sheet(name), FREQUENCY_HZ, toward).total.negated()
        _same(rows[quantity]["closed forms"], found)


@pytest.mark.skipif(not fullwave.available(), reason="the optional extra 'fullwave' is missing")
@pytest.mark.parametrize("name", SHEETS_MM)
def test_field_solver_on_a_sheet_is_as_printed(name):
    found = fullwave.compare(_scene(name), FREQUENCY_HZ, FREQUENCY_HZ)
    metal = found.with_metal
    rows = {row["quantity"]: row for row in _rows("Plates and trays") if row["case"] == name}
    _same(rows["power, all directions"]["solver"], found.total_radiated())
    _same(rows["mean above"]["solver"], found.mean_gain("above"))
    _same(rows["mean below"]["solver"], found.mean_gain("below"))
    _same(rows["straight up"]["solver"], found.gain_above())
    _same_pattern(name, metal)


@pytest.mark.skipif(not fullwave.available(), reason="the optional extra 'fullwave' is missing")
def test_field_solver_on_the_dipole_alone_is_as_printed():
    scene = Scene(PlacedAntenna("half-wave dipole", "length", 0.0, 0.0, 0.01))
    _same_pattern("free_space", fullwave.solve(scene, FREQUENCY_HZ, FREQUENCY_HZ))


def _same_pattern(name, solved):
    (row,) = (row for row in _rows("Pattern and impedance") if row["case"] == name)
    for column, found in _pattern(solved).items():
        assert float(row[column].split("/")[1]) == pytest.approx(found, abs=0.06), column


def _pattern(solved):
    impedance_ohm = complex(solved.impedance_ohm[0])
    return {
        "mean above": solved.directivity("above").value,
        "mean below": solved.directivity("below").value,
        "up": solved.directivity_above.value,
        "down": solved.directivity_below.value,
        "largest": solved.directivity_max.value,
        "resistance": impedance_ohm.real,
        "reactance": impedance_ohm.imag,
    }


@pytest.mark.parametrize("name", BOXES)
def test_boxes_are_as_printed(name):
    (row,) = (row for row in _rows("Boxes: a radio inside") if row["case"] == name)
    for column, placed in (("place unknown", False), ("place known", True)):
        if row[column] == "":
            assert BOXES[name].place_m is None
            continue
        loss = box_report(_box(BOXES[name], placed), 2.4e9, 2.4835e9).loss
        _same(row[column], loss.negated())


@pytest.mark.parametrize("mhz", [500, 600, 800])
def test_shielding_is_as_printed(mhz):
    (row,) = (row for row in _rows("Boxes: a field outside") if row["case"] == f"se-{mhz}")
    slot = Opening("slot", 0.1, 0.005, wall="front", along="length")
    box = Box(0.3, 0.3, 0.12, 1e-5, ALUMINIUM, (slot,), 1000.0)
    found = shielding(box, np.array([mhz * 1e6]))
    levels = (found.typical_db[0], found.low_db[0], found.high_db[0])
    assert _numbers(row["ours"]) == pytest.approx(levels, abs=0.06)
