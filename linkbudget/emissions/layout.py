"""Find what the rows of a scan file mean: header, preamble, the two columns and their units."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import zip_longest
from pathlib import Path

from linkbudget.core.errors import InputError
from linkbudget.emissions import columns as col
from linkbudget.emissions import sniff
from linkbudget.emissions.scan import LevelUnit, Reading

_SPOKEN = {";": "semicolon", "\t": "tab", ",": "comma", sniff.BLANKS: "blanks", ".": "point"}
_VALUE = re.compile(r"[+-]?[0-9.,]+\s*[A-Za-zµμ%/]{0,7}")  # 12, or 30 MHz: not a heading
_UNIT_WORD = re.compile(r"unit|einheit", re.IGNORECASE)
_OTHER_VALUES = re.compile(
    r"limit|\bref|factor|offset|atten|preamp|gain|loss|margin|width|\br?bw\b|\bvbw\b|span|step",
    re.IGNORECASE,
)
_LONGEST_HEADING = 200


@dataclass(frozen=True, slots=True)
class Layout:
    """Where the numbers stand in a file, and what they mean.

    Parameters
    ----------
    encoding : str
        Codec of the text.
    delimiter, decimal : str
        Between columns (``sniff.BLANKS`` for runs of blanks), and inside numbers.
    first_line, first_byte : int
        Where the first row stands: line counted from 1, and byte (not for UTF-16).
    stray_returns : bool
        True where a line before the first row ends in a carriage return alone.
    width, filled_width : int
        Cells in a row, with and without the empty ones after a trailing delimiter.
    frequency, level : Column
        The two columns that are read.
    frequency_unit : str or None
        None where nobody says it.
    level_unit : LevelUnit
    readings : tuple of Reading
        What was found and assumed.
    """

    encoding: str
    delimiter: str
    decimal: str
    first_line: int
    first_byte: int
    stray_returns: bool
    width: int
    filled_width: int
    frequency: col.Column
    level: col.Column
    frequency_unit: str | None
    level_unit: LevelUnit
    readings: tuple[Reading, ...]


@dataclass(frozen=True, slots=True)
class _Header:
    """Index of the first row, index of the heading line or None, and the headings."""

    rows_from: int
    index: int | None
    names: Sequence[str]


def find_layout(
    path: Path,
    *,
    frequency_unit: str | None = None,
    level_unit: str | None = None,
    level_column: str | None = None,
) -> Layout:
    """Find the table in a file from its head.

    Parameters
    ----------
    path : Path
        The scan file.
    frequency_unit, level_unit, level_column : str or None
        What the user says where the file does not.

    Returns
    -------
    Layout

    Raises
    ------
    InputError
        Not a readable file, no table, or a table that can be read in two ways.
    """
    encoding, raw = sniff.decode_head(sniff.read_head(path))
    codec = "latin-1" if encoding == "latin-1" else "utf-8"
    lines = [line.decode(codec, "replace").rstrip("\r\n").lstrip("\ufeff") for line in raw]
    grid = sniff.find_grid(lines)
    header = _find_header(lines, grid)
    preamble = lines[: header.rows_from if header.index is None else header.index]
    _refuse_second_table(preamble, grid)
    columns = _describe_columns(grid, header.names)
    frequency = col.pick_frequency(columns, level_is_chosen=level_column is not None)
    level = col.pick_level(columns, frequency, level_column)
    _refuse_units_in_rows(grid, header)
    level_units, frequency_units = _stated_units(preamble)
    unit_of_level = col.settle_level_unit(level, level_units, level_unit)
    unit_of_frequency = col.settle_frequency_unit(frequency, frequency_units, frequency_unit)
    return Layout(
        encoding=encoding,
        delimiter=grid.delimiter,
        decimal=grid.decimal,
        first_line=header.rows_from + 1,
        first_byte=sum(map(len, raw[: header.rows_from])),
        stray_returns=any(line.endswith(b"\r") for line in raw[: header.rows_from]),
        width=grid.width,
        filled_width=len(columns),
        frequency=frequency,
        level=level,
        frequency_unit=unit_of_frequency,
        level_unit=unit_of_level,
        readings=(
            *_told_of_text(encoding, grid, header, preamble),
            *_told_of_columns(columns, frequency, level),
            *_told_of_unit("level unit", unit_of_level, level.unit, level_units),
            *_told_of_unit("frequency unit", unit_of_frequency, frequency.unit, frequency_units),
        ),
    )


def _find_header(lines: Sequence[str], grid: sniff.Grid) -> _Header:
    """Walk up from the first numbers to the line that heads the columns.

    Notes
    -----
    Everything below the header counts as a row, so that a damaged first row becomes an error and
    does not vanish into the preamble.
    """
    units: list[str] = []
    rows_from = grid.first
    nearest = True
    for index in range(grid.first - 1, -1, -1):
        text = sniff.uncomment(lines[index])
        if sniff.is_blank(text):
            continue
        cells = _heading_cells(text, grid)
        if nearest and not units and _is_row_of_units(cells):
            units, rows_from = cells, index + 1
            continue
        if _is_header(cells, grid, nearest=nearest):
            pairs = zip_longest(cells, units, fillvalue="")
            names = [f"{name} [{unit}]" if unit else name for name, unit in pairs]
            return _Header(rows_from if units else index + 1, index, names)
        if nearest:
            _refuse_other_width(cells, grid, index + 1)
        nearest = nearest and sniff.is_comment(lines[index])
    return _Header(_first_damaged_row(lines, grid) if not units else rows_from, None, units)


def _first_damaged_row(lines: Sequence[str], grid: sniff.Grid) -> int:
    """Without a header, rows that begin like the others belong to them."""
    numbers = [sniff.to_number(cell, grid.decimal) is not None for cell in grid.rows[0]]
    lead = numbers.index(True)
    start = grid.first
    for index in range(grid.first - 1, -1, -1):
        if sniff.is_blank(lines[index]) or sniff.is_comment(lines[index]):
            continue
        cells = sniff.split(lines[index], grid.delimiter)
        if len(cells) <= lead or sniff.to_number(cells[lead], grid.decimal) is None:
            break
        start = index
    return start


def _heading_cells(text: str, grid: sniff.Grid) -> list[str]:
    """Cut a heading line; between blanks a name and its unit may stand apart."""
    if grid.delimiter != sniff.BLANKS:
        return sniff.split(text, grid.delimiter)
    words = sniff.split(text, sniff.BLANKS)
    ways = (
        words,
        [cell.strip() for cell in re.split(r"\s{2,}|\t", text) if cell.strip()],
        re.findall(r"[^\s\[(]+(?:\s?[\[(][^\])]{0,40}[\])]\S{0,40})?", text),
        [" ".join(pair) for pair in zip(words[::2], words[1::2], strict=False)],
    )
    return next((cells for cells in ways if len(cells) == grid.width), words)


def _is_row_of_units(cells: Sequence[str]) -> bool:
    filled = [cell for cell in cells if cell]
    return len(filled) > 1 and all(map(col.is_unit, filled))


def _roles(cells: Sequence[str]) -> set[col.Role]:
    short = [cell for cell in cells if 0 < len(cell) <= _LONGEST_HEADING]
    return {col.describe(0, cell, numeric=True).role for cell in short}


def _is_header(cells: Sequence[str], grid: sniff.Grid, *, nearest: bool) -> bool:
    """Say whether a line can head the columns; far from the rows it must name both."""
    filled = [cell for cell in cells if cell]
    if not grid.filled_width <= sniff.filled_width(cells) <= grid.width or len(filled) < 2:
        return False
    if any(
        len(cell) > _LONGEST_HEADING or _VALUE.fullmatch(cell) or _UNIT_WORD.search(cell)
        for cell in filled
    ):
        return False
    if nearest and grid.delimiter != sniff.BLANKS:
        return True
    return {"frequency", "level"} <= _roles(filled) or (nearest and "frequency" in _roles(filled))


def _refuse_other_width(cells: Sequence[str], grid: sniff.Grid, line: int) -> None:
    """Refuse a heading line that does not fit, rather than guess which heading is which."""
    count = sniff.filled_width(cells)
    if grid.filled_width <= count <= grid.width or any(map(_VALUE.fullmatch, cells)):
        return
    roles = _roles(cells)
    a_sentence = grid.delimiter == sniff.BLANKS and not roles & {"phase", "linear"}
    if {"frequency", "level"} <= roles and not a_sentence:
        raise InputError(
            f"{count} headings over rows of {grid.filled_width} columns",
            "as many headings as columns",
            "Where the comma is the decimal mark, export with ; or a tab between the columns.",
            line=line,
        )


def _refuse_second_table(preamble: Sequence[str], grid: sniff.Grid) -> None:
    for number, line in enumerate(preamble, 1):
        cells = sniff.split(line, grid.delimiter)
        if len(cells) == grid.width and not sniff.is_comment(line):
            filled = [cell for cell in cells if cell]
            if len(filled) > 1 and all(
                sniff.to_number(c, grid.decimal) is not None for c in filled
            ):
                raise InputError(
                    f"a row of numbers {col.shown(line.strip())} above the header",
                    "one table in the file",
                    "Save each table to a file of its own.",
                    line=number,
                )


def _refuse_units_in_rows(grid: sniff.Grid, header: _Header) -> None:
    for cell in grid.rows[0]:
        if col.is_unit(cell):
            raise InputError(
                f"the unit {col.shown(cell)} inside the rows",
                "plain numbers, and the units in the header",
                "Export the scan without a unit in each row.",
                line=max(header.rows_from, grid.first) + 1,
            )


def _describe_columns(grid: sniff.Grid, names: Sequence[str]) -> list[col.Column]:
    columns = []
    for index in range(max(sniff.filled_width(names), grid.filled_width)):
        cells = [row[index] for row in grid.rows if not sniff.is_missing(row[index])]
        numeric = all(sniff.to_number(cell, grid.decimal) is not None for cell in cells)
        name = names[index] if index < len(names) else ""
        columns.append(col.describe(index + 1, name, numeric=numeric and bool(cells)))
    return columns


def _stated_units(preamble: Sequence[str]) -> tuple[list[str], list[str]]:
    """Collect level and frequency units from lines that state a unit and not a value in it."""
    levels, frequencies = [], []
    for line in preamble:
        states = _UNIT_WORD.search(line) or not re.search(r"[0-9]", line)
        if not states or len(line) > _LONGEST_HEADING or _OTHER_VALUES.search(line):
            continue
        level, frequency = col.level_unit_in(line), col.frequency_unit_in(line)
        levels += [level] if level not in (None, "dB") else []
        frequencies += [frequency] if frequency else []
    return [str(level) for level in levels], frequencies


def _told_of_text(
    encoding: str, grid: sniff.Grid, header: _Header, preamble: Sequence[str]
) -> list[Reading]:
    name = {"utf-8": "UTF-8", "utf-8-sig": "UTF-8 with byte order mark", "utf-16": "UTF-16"}
    told = [
        Reading("encoding", name.get(encoding, "Latin-1"), assumed=encoding == "latin-1"),
        Reading("delimiter", _SPOKEN[grid.delimiter]),
        Reading("decimal mark", _SPOKEN[grid.decimal], assumed=not grid.mark_seen),
    ]
    if any(not sniff.is_blank(line) for line in preamble):
        told.append(Reading("preamble", f"lines 1 to {len(preamble)}, read for units only"))
    line = f"line {header.index + 1}" if header.index is not None else "none"
    return [*told, Reading("header", line, assumed=header.index is None)]


def _told_of_columns(
    columns: Sequence[col.Column], frequency: col.Column, level: col.Column
) -> list[Reading]:
    told = [
        Reading("frequency column", str(frequency), assumed=frequency.role != "frequency"),
        Reading("level column", str(level), assumed=level.role != "level"),
    ]
    rest = [
        str(column) for column in columns if column.number not in (frequency.number, level.number)
    ]
    if rest:
        told.append(Reading("columns not taken", col.listed(rest)))
    return told


def _told_of_unit(
    what: str, unit: str | None, over_column: str | None, stated: Sequence[str]
) -> list[Reading]:
    if unit is None:
        return []
    if unit == over_column:
        return [Reading(what, unit)]
    return [Reading(what, f"{unit}, {'as stated above the rows' if stated else 'as you say'}")]
