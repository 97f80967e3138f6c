"""Read a pre-scan file into a trace, and tell all that was found and assumed on the way.

A clean file goes through pandas, which reads it with threads; a count of the delimiters then
proves that no row lost or gained a cell. A file with anything odd is read again line by line,
which finds gaps and comments, or the line at fault.
"""

from __future__ import annotations

import csv
import math
import warnings
from array import array
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.core.errors import InputError, MissingData, OutOfRange
from linkbudget.core.units import KINDS
from linkbudget.emissions import sniff
from linkbudget.emissions.columns import FREQUENCY_UNITS, shown
from linkbudget.emissions.layout import Layout, find_layout
from linkbudget.emissions.scan import LevelUnit, Reading, Trace

_KIND_OF_LEVEL: dict[LevelUnit, str] = {
    "dBm": "power level",
    "dBuV": "voltage level",
    "dBuV/m": "field level",
    "dBuA": "current level",
}
_HIGHEST_FREQUENCY_HZ = KINDS["frequency"].high
_ONLY_HERTZ_REACHES = 1e7  # as kHz this would be 10 GHz, as MHz 10 THz
_FEWEST_POINTS = 2


@dataclass(frozen=True, slots=True)
class _Rows:
    """The two columns as they stand in the file, and what was met on the way."""

    frequency: FloatArray
    level: FloatArray
    gaps: int = 0
    first_gap_line: int = 0
    comments: int = 0


def read_scan(
    path: Path,
    *,
    shown_as: str = "",
    frequency_unit: str | None = None,
    level_unit: str | None = None,
    level_column: str | None = None,
) -> Trace:
    """Read a scan of one frequency and one level column from a text file.

    Parameters
    ----------
    path : Path
        The file.
    shown_as : str
        Its name in messages; the path itself if empty.
    frequency_unit : {"Hz", "kHz", "MHz", "GHz"} or None
        Needed where the file does not say it.
    level_unit : {"dBm", "dBuV", "dBuV/m", "dBuA"} or None
        Needed where the file does not say it.
    level_column : str or None
        Heading or number of the level column, where more than one may be meant.

    Returns
    -------
    Trace
        Rising frequencies [Hz] with their levels, and what was found and assumed.

    Raises
    ------
    InputError
        With file and line, where the file cannot be read in one way only.
    OutOfRange
        A frequency or level that its unit makes impossible.
    """
    name = shown_as or str(path)
    try:
        layout = find_layout(
            path, frequency_unit=frequency_unit, level_unit=level_unit, level_column=level_column
        )
        rows = _read_fast(path, layout) or _read_line_by_line(path, layout)
        return _trace(rows, layout, name)
    except InputError as error:
        raise error.located(file=name) from None
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise InputError(reason.lower(), "a file that can be read", file=name) from None


def _read_fast(path: Path, layout: Layout) -> _Rows | None:
    """Read with pandas; None where anything at all is odd.

    Notes
    -----
    ``na_filter=False`` makes an empty or missing number an error and not NaN; ``index_col=False``
    keeps a trailing delimiter from shifting the columns; QUOTE_NONE keeps an inch mark in the
    preamble from swallowing lines; an absolute path is never taken for a URL. Of a column that is
    not wanted one byte is kept (S1), which is the cheapest way past it that keeps the threads.
    """
    if not _can_be_proved(layout):
        return None
    expected_rows = _count_rows(path, layout)
    import pandas as pd

    names = [str(number) for number in range(1, layout.width + 1)]
    wanted = {str(layout.frequency.number), str(layout.level.number)}
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")  # pandas warns where it drops cells beyond the names
            frame = pd.read_csv(
                path.absolute(),
                sep=r"\s+" if layout.delimiter == sniff.BLANKS else layout.delimiter,
                decimal=layout.decimal,
                header=None,
                names=names,
                skiprows=layout.first_line - 1,
                dtype={name: "float64" if name in wanted else "S1" for name in names},
                na_filter=False,
                index_col=False,
                quoting=csv.QUOTE_NONE,
                compression=None,
                encoding_errors="replace",
            )
    except (ValueError, OverflowError, Warning):
        return None
    frequency = frame[str(layout.frequency.number)].to_numpy()
    level = frame[str(layout.level.number)].to_numpy()
    if frequency.size != expected_rows or not _is_sane(frequency, level, layout):
        return None
    return _Rows(frequency, level)


def _can_be_proved(layout: Layout) -> bool:
    """Say whether a count of bytes can show that pandas lost nothing.

    Notes
    -----
    Runs of blanks cannot be counted, but of two columns a lost cell is a lost number. Where lines
    end in a carriage return alone, pandas has been seen to skip one line too many.
    """
    if layout.encoding == "utf-16" or layout.stray_returns:
        return False
    return layout.delimiter != sniff.BLANKS or layout.width == 2


def _count_rows(path: Path, layout: Layout) -> float:
    """Count the rows from the bytes alone, to prove that pandas lost none.

    Returns
    -------
    float
        Delimiters over delimiters in a row, or lines where blanks part the columns; not a whole
        number where the rows differ or a stray carriage return ends lines too.

    Raises
    ------
    InputError
        A NUL byte, or a megabyte without an end of line.
    """
    by_line = layout.delimiter == sniff.BLANKS
    mark = ord("\n" if by_line else layout.delimiter)
    block = bytearray(sniff.HEAD_BYTES)
    codes = np.frombuffer(block, dtype=np.uint8)
    count = returns = last = 0
    with path.open("rb", buffering=0) as file:
        place = file.seek(layout.first_byte)
        while size := file.readinto(block):
            if (nul := block.find(0, 0, size)) >= 0:
                raise InputError(
                    f"a NUL byte at byte {place + nul}", "text", "The file is damaged."
                )
            if size == len(block) and block.find(b"\n") < 0 and block.find(b"\r") < 0:
                raise InputError("a megabyte without an end of line", "one row on each line")
            count += int(np.count_nonzero(codes[:size] == mark))
            returns += block.count(b"\r", 0, size) if by_line else 0
            place += size
            last = block[size - 1]
    if not by_line:
        return count / (layout.width - 1)
    return count + (last != mark) if returns in (0, count) else math.nan


def _is_sane(frequency: FloatArray, level: FloatArray, layout: Layout) -> bool:
    """Check ranges; NaN and infinity fail every comparison or exceed every range."""
    if frequency.size == 0:
        return False
    low, high = _level_range(layout.level_unit)
    return bool(
        frequency.min() > 0.0
        and frequency.max() <= _HIGHEST_FREQUENCY_HZ / _factor(layout)
        and low <= level.min()
        and level.max() <= high
    )


def _factor(layout: Layout) -> float:
    return FREQUENCY_UNITS[layout.frequency_unit or "Hz"]


@cache
def _level_range(unit: LevelUnit) -> tuple[float, float]:
    kind = KINDS[_KIND_OF_LEVEL[unit]]
    return kind.low, kind.high


def _read_line_by_line(path: Path, layout: Layout) -> _Rows:
    """Read with care; the first line at fault ends it with its number."""
    frequency, level = array("d"), array("d")
    gaps = first_gap = comments = 0
    for number, line in _lines(path, layout):
        if sniff.is_comment(line):
            comments += 1
            continue
        try:
            f, value = _numbers(line, layout)
        except InputError as error:
            raise error.located(line=number) from None
        if value is None:
            gaps += 1
            first_gap = first_gap or number
            continue
        frequency.append(f)
        level.append(value)
    return _Rows(np.array(frequency), np.array(level), gaps, first_gap, comments)


def _lines(path: Path, layout: Layout) -> Iterator[tuple[int, str]]:
    """Yield the lines from the first row on that are not blank, with their number."""
    with path.open(encoding=layout.encoding, errors="replace", newline=None) as file:
        number = 0
        while line := file.readline(sniff.LONGEST_LINE + 1):
            number += 1
            if len(line) > sniff.LONGEST_LINE:
                raise sniff.line_too_long(number)
            if number >= layout.first_line and not sniff.is_blank(line):
                yield number, line.rstrip("\n")


def _numbers(line: str, layout: Layout) -> tuple[float, float | None]:
    """Return frequency and level of one row; None for a level that is stated as missing."""
    cells = sniff.split(line, layout.delimiter)
    if len(cells) < layout.filled_width or any(cells[layout.filled_width :]):
        raise InputError(
            f"{max(sniff.filled_width(cells), 1)} columns in {shown(line.strip())}",
            f"{layout.filled_width} columns, as in the rows above",
            "Write --- or NaN where a level is missing.",
        )
    frequency = _number(cells[layout.frequency.number - 1], "frequency", layout)
    if frequency <= 0:
        raise InputError(f"a frequency of {frequency:g}", "a frequency greater than zero")
    if frequency * _factor(layout) > _HIGHEST_FREQUENCY_HZ:
        raise OutOfRange(
            "frequency (Hz)",
            frequency * _factor(layout),
            0.0,
            _HIGHEST_FREQUENCY_HZ,
            "Check the unit of the frequency.",
        )
    cell = cells[layout.level.number - 1]
    if sniff.is_missing(cell):
        return frequency, None
    level = _number(cell, "level", layout)
    low, high = _level_range(layout.level_unit)
    if not low <= level <= high:
        raise OutOfRange(
            f"level ({layout.level_unit})",
            level,
            low,
            high,
            "Check the unit, and write --- or NaN where a level is missing.",
        )
    return frequency, level


def _number(cell: str, what: str, layout: Layout) -> float:
    number = sniff.to_number(cell, layout.decimal)
    if number is None:
        mark = "point" if layout.decimal == "." else "comma"
        raise InputError(
            f"{shown(cell)} for the {what}",
            f"a number with a decimal {mark}, and no thousands marks",
        )
    if not math.isfinite(number):
        raise InputError(f"{shown(cell)} for the {what}", "a finite number")
    return number


def _trace(rows: _Rows, layout: Layout, name: str) -> Trace:
    if rows.frequency.size < _FEWEST_POINTS:
        raise InputError(
            f"{rows.frequency.size} points with a level", f"at least {_FEWEST_POINTS} points"
        )
    frequency_hz, unit = _in_hertz(rows.frequency, layout)
    frequency_hz, level, order = _rising(frequency_hz, rows.level, layout)
    frequency_hz, level, merged = _merged(frequency_hz, level)
    if frequency_hz.size < _FEWEST_POINTS:
        raise InputError("one frequency only", f"at least {_FEWEST_POINTS} frequencies")
    told = [*layout.readings, *unit, _told_of_rows(rows, layout)]
    if rows.comments:
        told.append(Reading("comment lines", f"{rows.comments} among the rows, left out"))
    if rows.gaps:
        told.append(
            Reading(
                "gaps", f"{rows.gaps} rows without a level, first on line {rows.first_gap_line}"
            )
        )
    told += [reading for reading in (order, merged) if reading is not None]
    return Trace(frequency_hz, level, layout.level_unit, name, tuple(told), rows.gaps)


def _told_of_rows(rows: _Rows, layout: Layout) -> Reading:
    count = rows.frequency.size + rows.gaps
    return Reading("rows", f"{count}, from line {layout.first_line}")


def _in_hertz(frequency: FloatArray, layout: Layout) -> tuple[FloatArray, list[Reading]]:
    """Scale to hertz; without a unit, take hertz where nothing else is possible."""
    if layout.frequency_unit is None:
        highest = float(frequency.max())
        if highest < _ONLY_HERTZ_REACHES:
            raise MissingData(
                f"no unit of the frequency; the numbers reach {highest:g}",
                f"one of {', '.join(FREQUENCY_UNITS)}",
                'Say which it is: frequency_unit = "MHz", for instance.',
            )
        told = Reading("frequency unit", f"Hz, as they reach {highest:g}", assumed=True)
        return frequency, [told]
    if _factor(layout) == 1.0:
        return frequency, []
    # Rounding to a millihertz gives 30.1 MHz and 30100000 Hz the same float, on every limit edge.
    scaled = frequency * (_factor(layout) * 1e3)
    np.rint(scaled, out=scaled)
    return np.divide(scaled, 1e3, out=scaled), []


def _rising(
    frequency: FloatArray, level: FloatArray, layout: Layout
) -> tuple[FloatArray, FloatArray, Reading | None]:
    """Bring the rows into rising order, and say so."""
    if np.all(frequency[1:] >= frequency[:-1]):
        return frequency, level, None
    if np.all(frequency[1:] <= frequency[:-1]):
        return frequency[::-1], level[::-1], Reading("order", "falling, reversed")
    if layout.frequency.role != "frequency":
        raise InputError(
            f"{layout.frequency} without a heading, and its numbers neither rise nor fall",
            "a heading such as 'Frequency [MHz]' over the frequencies",
            line=layout.first_line,
        )
    back = int(np.argmax(frequency[1:] < frequency[:-1])) + 2
    order = np.argsort(frequency, kind="stable")
    found = f"not sorted (row {back} steps back), sorted"
    return frequency[order], level[order], Reading("order", found)


def _merged(
    frequency: FloatArray, level: FloatArray
) -> tuple[FloatArray, FloatArray, Reading | None]:
    """Keep the highest level at each frequency."""
    is_new = np.concatenate(([True], frequency[1:] > frequency[:-1]))
    if is_new.all():
        return frequency, level, None
    starts = np.flatnonzero(is_new)
    found = f"{frequency.size - starts.size} merged, the highest level kept"
    return (
        frequency[starts],
        np.maximum.reduceat(level, starts),
        Reading("duplicate frequencies", found),
    )
