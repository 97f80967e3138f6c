"""Read a measured series of levels over distance, and fit the law of its room."""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from linkbudget.core.distributions import BAND_COVERAGE
from linkbudget.core.errors import InputError
from linkbudget.core.units import parse
from linkbudget.physics.exponent import ExponentFit, fit_exponent

_LARGEST_FILE_BYTES = 10_000_000
_UNIT = re.compile(r"[(\[]\s*([^)\]]+?)\s*[)\]]")
_MEANINGS = {
    "distance": ("length", re.compile(r"dist|range", re.I)),
    "level": ("power level", re.compile(r"level|rssi|power|received", re.I)),
}
_EXPECTED = 'a heading with both columns, such as "distance (m),level (dBm)"'


@dataclass(frozen=True, slots=True)
class _Column:
    index: int
    unit: str
    kind: str


def fit_levels(path: Path, shown_as: str, units: Mapping[str, str | None]) -> ExponentFit:
    """Fit exponent and level to a file of distances and received levels.

    Parameters
    ----------
    path : Path
        CSV: a heading, then one reading in a row; fields apart by comma, semicolon or tab. A line
        that begins with # is a comment.
    shown_as : str
        Name for messages.
    units : mapping
        Unit of "distance" and of "level" where the heading does not say; None: it does.

    Returns
    -------
    ExponentFit
        Of levels in dBm over distances in m.

    Raises
    ------
    InputError
        Where the file cannot be read, or its readings do not tell an exponent.
    """
    try:
        distance_m, level_dbm = _readings(path, shown_as, units)
        fit = fit_exponent(distance_m, level_dbm)
    except InputError as error:
        raise error.located(file=shown_as) from None
    half = fit.student_factor(BAND_COVERAGE) * fit.exponent_error
    if fit.exponent - half <= 0.0:
        raise InputError(
            f"{fit.count} levels that give an exponent of {fit.exponent:.2g} within {half:.2g}",
            "levels that fall with distance beyond doubt",
            "Measure at more distances, and over a wider range of them.",
            file=shown_as,
        )
    return fit


def _readings(
    path: Path, shown_as: str, units: Mapping[str, str | None]
) -> tuple[list[float], list[float]]:
    rows = _rows(path, shown_as)
    if not rows:
        raise InputError("no reading", _EXPECTED)
    line, heading = rows[0]
    columns = {what: _column(heading, what, units[what], line) for what in _MEANINGS}
    found: dict[str, list[float]] = {what: [] for what in _MEANINGS}
    for number, cells in rows[1:]:
        for what, column in columns.items():
            found[what].append(_value(cells, column, what, number))
    return found["distance"], found["level"]


def _rows(path: Path, shown_as: str) -> list[tuple[int, list[str]]]:
    """Return the cells of every row that is no comment and not empty, with its line."""
    try:
        with path.open("rb") as stream:
            raw = stream.read(_LARGEST_FILE_BYTES + 1)
        text = raw.decode("utf-8-sig")
    except OSError as error:
        raise InputError(error.strerror or str(error), "a file that can be read") from None
    except UnicodeDecodeError:
        raise InputError("bytes that are not UTF-8", "a text file in UTF-8") from None
    if len(raw) > _LARGEST_FILE_BYTES:
        raise InputError("more than 10 MB", "a series of levels of some kilobytes")
    lines = [
        (number, line)
        for number, line in enumerate(text.splitlines(), start=1)
        if line.strip(" \t;,") and not line.lstrip().startswith("#")
    ]
    if not lines:
        return []
    apart = max(";\t,", key=lambda mark: (lines[0][1].count(mark) > 0, mark != ","))
    return [
        (number, [_plain(cell, apart) for cell in row])
        for number, line in lines
        for row in csv.reader([line], delimiter=apart, skipinitialspace=True)
    ]


def _plain(cell: str, apart: str) -> str:
    """Return a cell with a point as decimal mark, where a comma can be nothing else."""
    text = cell.strip()
    return text.replace(",", ".") if apart != "," and re.fullmatch(r"[-+\d,eE]+", text) else text


def _column(heading: list[str], what: str, unit: str | None, line: int) -> _Column:
    kind, name = _MEANINGS[what]
    found = [index for index, cell in enumerate(heading) if name.search(_UNIT.sub("", cell))]
    if len(found) != 1:
        several = f"{len(found)} columns" if found else "no column"
        raise InputError(f"{several} of {what} in the heading", _EXPECTED, line=line)
    written = _UNIT.search(heading[found[0]])
    unit = unit or (written[1] if written else None)
    if unit is None:
        raise InputError(
            f"a column of {what} without a unit",
            _EXPECTED,
            f"Write it into the heading, or as room.{what}_unit.",
            line=line,
        )
    return _Column(found[0], unit, kind)


def _value(cells: list[str], column: _Column, what: str, line: int) -> float:
    if column.index >= len(cells):
        raise InputError("a row that ends too early", f"a {what} in {column.unit}", line=line)
    try:
        value = parse(f"{cells[column.index]} {column.unit}", column.kind)
    except InputError as error:
        found = f"{cells[column.index]!r} as {what} in {column.unit}"
        raise InputError(found, error.expected, error.mend, line=line) from None
    if what == "distance" and value <= 0.0:
        raise InputError("a distance of zero", "more than zero", line=line)
    return value
