"""From analyser reading to limit unit: the correction chain.

The role of a correction is declared, and its sign and units follow from the role; nobody writes a
sign. What cannot be right (a negative loss, an antenna factor counted twice) is refused.
"""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import reduce
from pathlib import Path
from typing import Literal

import numpy as np

from linkbudget.core.decibels import FloatArray, dbuv_from_dbm
from linkbudget.core.errors import InputError, MissingData
from linkbudget.core.tables import LogFrequencyTable
from linkbudget.emissions.scan import LevelUnit, Scan, ScanRecord, Trace

Role = Literal[
    "antenna factor", "cable loss", "attenuator", "preamplifier gain", "line-impedance network"
]


@dataclass(frozen=True, slots=True)
class _RoleRule:
    """Sign, unit and plausible range that follow from a role."""

    sign: float
    unit: str
    low_db: float
    high_db: float
    mend: str


_LOSS_HINT = "A loss is written as a positive number; it is added to the reading."
ROLES: dict[Role, _RoleRule] = {
    "antenna factor": _RoleRule(
        1.0, "dB/m", -20.0, 80.0, "Take the antenna factor of the calibration sheet, not the gain."
    ),
    "cable loss": _RoleRule(1.0, "dB", 0.0, 60.0, _LOSS_HINT),
    "attenuator": _RoleRule(1.0, "dB", 0.0, 60.0, _LOSS_HINT),
    "preamplifier gain": _RoleRule(
        -1.0,
        "dB",
        0.0,
        80.0,
        "A gain is written as a positive number; it is taken off the reading.",
    ),
    "line-impedance network": _RoleRule(1.0, "dB", 0.0, 40.0, _LOSS_HINT),
}

_FREQUENCY_UNITS = {"Hz": 1.0, "kHz": 1e3, "MHz": 1e6, "GHz": 1e9}
_FREQUENCY_UNIT = re.compile(r"(?<![A-Za-z])(Hz|kHz|MHz|GHz)(?![A-Za-z])")
_VALUE_UNIT = re.compile(r"(?<![A-Za-z])(dB\(1/m\)|dB/m|dB1/m|dB)(?![A-Za-z/(])")
_LARGEST_TABLE_BYTES = 10_000_000


@dataclass(frozen=True, slots=True)
class Correction:
    """One item between the product and the analyser.

    Parameters
    ----------
    role : Role
        "antenna factor", "cable loss", "attenuator", "preamplifier gain" or
        "line-impedance network".
    value : LogFrequencyTable or float
        Against frequency, or one value for all [dB/m for an antenna factor, else dB].
    name : str
        For tables and messages, such as the file's name.

    Raises
    ------
    InputError
        Where a value is implausible for the role.

    Examples
    --------
    >>> Correction("preamplifier gain", -30.0)
    Traceback (most recent call last):
    ...
    linkbudget.core.errors.InputError: preamplifier gain: found -30 dB; expected 0 to 80 dB. A \
gain is written as a positive number; it is taken off the reading.
    """

    role: Role
    value: LogFrequencyTable | float
    name: str = ""

    def __post_init__(self) -> None:
        """Refuse what the role cannot be."""
        rule = ROLES[self.role]
        levels = self.value.level_db if isinstance(self.value, LogFrequencyTable) else self.value
        for level in (float(np.min(levels)), float(np.max(levels))):
            if not rule.low_db <= level <= rule.high_db:
                raise InputError(
                    f"{level:g} {rule.unit}",
                    f"{rule.low_db:g} to {rule.high_db:g} {rule.unit}",
                    rule.mend,
                    field=self.name or self.role,
                )

    @property
    def sign(self) -> float:
        """+1 where the value is added to the reading, -1 where it is taken off."""
        return ROLES[self.role].sign

    def unit_out(self, unit_in: LevelUnit) -> LevelUnit:
        """Return the unit after this correction.

        Raises
        ------
        InputError
            Where an antenna factor meets anything but a voltage level.
        """
        if self.role != "antenna factor":
            return unit_in
        if unit_in != "dBuV":
            raise InputError(
                f"an antenna factor for levels that are in {unit_in} already",
                "levels in dBm or dBuV, or no antenna factor",
                "It would be counted twice or wrongly: leave it out, or state the file's unit.",
                field=self.name or self.role,
            )
        return "dBuV/m"

    def signed(self) -> LogFrequencyTable | float:
        """Return what is added to the reading."""
        if isinstance(self.value, LogFrequencyTable):
            return replace(self.value, level_db=self.sign * self.value.level_db)
        return self.sign * self.value

    def in_words(self, unit_in: LevelUnit) -> str:
        """Tell the correction, its size and its units, for the record."""
        levels = self.value.level_db if isinstance(self.value, LogFrequencyTable) else self.value
        low, high = float(np.min(levels)), float(np.max(levels))
        size = f"{low:g}" if low == high else f"{low:g} to {high:g}"
        verb = "added" if self.sign > 0 else "taken off"
        named = f" ({self.name})" if self.name and self.name != self.role else ""
        unit = ROLES[self.role].unit
        return f"{self.role}{named}: {size} {unit} {verb}, {unit_in} to {self.unit_out(unit_in)}"


def read_correction_table(path: str | Path, role: Role) -> Correction:
    """Read a correction against frequency from a small CSV file.

    Parameters
    ----------
    path : str or Path
        A heading row with the frequency's unit, ``frequency (MHz), antenna factor (dB/m)``, then
        rising frequencies with one value each. Comma, semicolon or tab between; point as decimal
        mark; lines that begin with # are comments. A unit in the second heading must fit the role.
    role : Role
        What the table corrects.

    Returns
    -------
    Correction
        Named after the file.

    Raises
    ------
    InputError
        With file and line, where anything is missing, misplaced or implausible.
    """
    file = str(path)
    text_lines = _text_lines(Path(path), file)
    if len(text_lines) < 2:
        raise InputError(
            f"{len(text_lines)} lines", "a heading and at least one row of numbers", file=file
        )
    heading_line, heading = text_lines[0]
    delimiter = next((mark for mark in ";\t," if mark in heading), ",")
    factor = _frequency_factor(heading.split(delimiter), role, file, heading_line)
    frequencies: list[float] = []
    levels: list[float] = []
    for line, text in text_lines[1:]:
        frequency, level = _numbers(text, delimiter, file, line)
        if frequencies and frequency * factor <= frequencies[-1]:
            raise InputError(
                f"frequency {frequency:g} after {frequencies[-1] / factor:g}",
                "strictly rising frequencies",
                "Sort the table and remove double rows.",
                file=file,
                line=line,
            )
        frequencies.append(frequency * factor)
        levels.append(level)
    table = LogFrequencyTable(np.array(frequencies), np.array(levels), Path(path).name)
    try:
        return Correction(role, table, Path(path).name)
    except InputError as error:
        raise error.located(file=file) from None


def _text_lines(path: Path, file: str) -> list[tuple[int, str]]:
    """Return each line that holds something, with its number."""
    try:
        if path.stat().st_size > _LARGEST_TABLE_BYTES:
            raise InputError(
                f"{path.stat().st_size} bytes", "a correction table below 10 MB", file=file
            )
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        reason = error.strerror or "it cannot be read"
        raise InputError(reason, "a correction table", file=file) from None
    except UnicodeDecodeError:
        raise InputError("bytes that are not UTF-8 text", "a CSV text file", file=file) from None
    numbered = enumerate(text.splitlines(), start=1)
    return [(n, line) for n, line in numbered if line.strip() and not line.lstrip().startswith("#")]


def _frequency_factor(heading: list[str], role: Role, file: str, line: int) -> float:
    """Return what turns the first column into hertz; check the unit of the second."""
    expected = "a heading such as frequency (MHz), " + f"{role} ({ROLES[role].unit})"
    if len(heading) != 2:
        raise InputError(f"{len(heading)} columns", expected, file=file, line=line)
    unit = _FREQUENCY_UNIT.search(heading[0])
    if unit is None:
        raise InputError(
            repr(heading[0].strip()),
            expected,
            "State the frequency's unit: Hz, kHz, MHz or GHz.",
            file=file,
            line=line,
        )
    value_unit = _VALUE_UNIT.search(heading[1])
    stated = value_unit[1] if value_unit else ROLES[role].unit
    is_per_metre = stated != "dB"
    if is_per_metre != (ROLES[role].unit == "dB/m"):
        raise InputError(f"a value in {stated}", expected, file=file, line=line)
    return _FREQUENCY_UNITS[unit[1]]


def _numbers(text: str, delimiter: str, file: str, line: int) -> tuple[float, float]:
    """Return frequency and value of one row."""
    shown = repr(text if len(text) <= 60 else text[:60] + "…")
    try:
        cells = next(csv.reader([text], delimiter=delimiter, strict=True))
        if len(cells) != 2:
            raise InputError(
                f"{len(cells)} cells in {shown}",
                "a frequency and a value",
                "Write the decimal mark as a point.",
                file=file,
                line=line,
            )
        frequency, level = float(cells[0]), float(cells[1])
    except (ValueError, csv.Error):
        raise InputError(
            shown,
            "two numbers",
            "Write the decimal mark as a point, and no unit in the cell.",
            file=file,
            line=line,
        ) from None
    if not (math.isfinite(frequency) and math.isfinite(level) and frequency > 0):
        raise InputError(shown, "a positive frequency and a finite value", file=file, line=line)
    return frequency, level


def merge(corrections: Sequence[Correction]) -> LogFrequencyTable | float:
    """Return all corrections as one, with their signs.

    Parameters
    ----------
    corrections : sequence of Correction

    Returns
    -------
    LogFrequencyTable or float
        What is added to the reading [dB]; a float where no correction depends on frequency.

    Raises
    ------
    InputError
        Where the tables have no frequency in common.

    Notes
    -----
    A sum of functions that are straight over log frequency between their nodes is itself straight
    between the union of all nodes, so the merged table is exact. It spans the range common to all.
    """
    signed = [correction.signed() for correction in corrections]
    constant = math.fsum(item for item in signed if not isinstance(item, LogFrequencyTable))
    tables = [item for item in signed if isinstance(item, LogFrequencyTable)]
    if not tables:
        return constant
    low = max(float(table.frequency_hz[0]) for table in tables)
    high = min(float(table.frequency_hz[-1]) for table in tables)
    if low > high:
        names = " and ".join(table.name for table in tables)
        raise InputError(
            f"{names}, which have no frequency in common", "correction tables that overlap"
        )
    nodes = reduce(np.union1d, [table.frequency_hz for table in tables])
    nodes = nodes[(nodes >= low) & (nodes <= high)]
    total: FloatArray = sum((table.at(nodes) for table in tables), np.full(nodes.shape, constant))
    return LogFrequencyTable(nodes, total, " + ".join(table.name for table in tables))


def _wanted_unit(record: ScanRecord) -> LevelUnit | None:
    """Return the unit of the port's limit lines; None for a probe, which meets no limit line."""
    if record.transducer in ("near-field probe", "current probe"):
        return None
    return "dBuV/m" if record.port == "enclosure" else "dBuV"


def correct(
    name: str, trace: Trace, record: ScanRecord, corrections: Sequence[Correction] = ()
) -> Scan:
    """Bring a trace into the unit of its limit lines.

    Parameters
    ----------
    name : str
        Short name of the scan.
    trace : Trace
        As read.
    record : ScanRecord
        How it was taken.
    corrections : sequence of Correction
        From the product to the analyser, in any order.

    Returns
    -------
    Scan
        Levels in dBuV/m (enclosure) or dBuV (AC mains); the steps in words in ``chain``. A probe's
        levels stay in their own unit.

    Raises
    ------
    MissingData
        Where the chain does not end in the unit of the limit lines.
    InputError
        Where a factor would be counted twice.
    OutOfRange
        Where the scan reaches beyond a correction table; nothing is extrapolated.

    Notes
    -----
    E = reading + antenna factor + cable loss + attenuator - preamplifier gain [dB].
    """
    unit = trace.unit
    shift_db = 0.0
    chain: list[str] = []
    if unit == "dBm":
        unit, shift_db = "dBuV", dbuv_from_dbm(0.0)
        chain.append(f"dBm to dBuV in 50 ohm: {shift_db:.2f} dB added")
    for correction in corrections:
        _require_range(correction, trace)
        chain.append(correction.in_words(unit))
        unit = correction.unit_out(unit)
    _require_unit(name, unit, record)
    merged = merge(corrections)
    if isinstance(merged, LogFrequencyTable):
        level = trace.level_db + (merged.at(trace.frequency_hz) + shift_db)
    else:
        level = trace.level_db + (merged + shift_db)
    return Scan(name, replace(trace, level_db=level, unit=unit), record, tuple(chain))


def _require_range(correction: Correction, trace: Trace) -> None:
    """Let the one table that is too short name itself."""
    if isinstance(correction.value, LogFrequencyTable) and trace.frequency_hz.size:
        correction.value.at(trace.frequency_hz[[0, -1]])


def _require_unit(name: str, unit: LevelUnit, record: ScanRecord) -> None:
    wanted = _wanted_unit(record)
    if wanted is None or unit == wanted:
        return
    if wanted == "dBuV/m" and unit == "dBuV":
        raise MissingData(
            "levels in dBuV after all corrections",
            "dBuV/m, the unit of the radiated limit lines",
            "Add the antenna factor from the calibration sheet of the antenna, or state that the"
            " file is in dBuV/m already.",
            field=name,
        )
    raise InputError(
        f"levels in {unit} after all corrections",
        f"{wanted}, the unit of the limit lines of the {record.port} port",
        "State the right port and transducer of the scan, and only the corrections between them.",
        field=name,
    )
