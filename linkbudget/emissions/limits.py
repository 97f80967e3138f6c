"""Limit lines as data: which standard a product family falls under, its lines, how far to measure.

Numbers and clause references only; every segment carries its source.
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby
from typing import Literal, cast

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.core.errors import InputError, MissingData
from linkbudget.core.quantity import Quantity
from linkbudget.core.sources import Source
from linkbudget.core.tables import SourcedRow, load_sourced_rows
from linkbudget.core.units import format_frequency
from linkbudget.emissions.scan import Detector, Port

EquipmentClass = Literal["A", "B"]
LimitUnit = Literal["dBuV/m", "dBuV"]

_LINE_FILES = ("limits/cispr32.csv",)
_UNKNOWN_INTERNAL = "no highest internal frequency is stated, so the longest range is taken"


@dataclass(frozen=True, slots=True)
class LimitSegment:
    """One stretch of a limit line, straight in dB over the logarithm of frequency.

    Parameters
    ----------
    low_hz, high_hz : float
        Both ends belong to the segment [Hz].
    level_at_low_db, level_at_high_db : float
        Limit at the two ends [the unit of the line].
    source : Source
        Where the values come from.
    """

    low_hz: float
    high_hz: float
    level_at_low_db: float
    level_at_high_db: float
    source: Source

    @property
    def is_flat(self) -> bool:
        """Whether the limit is one value over the whole segment."""
        return self.level_at_low_db == self.level_at_high_db

    def level_at(self, frequency_hz: FloatArray) -> FloatArray:
        """Return the limit inside the segment; the caller keeps to its range.

        Parameters
        ----------
        frequency_hz : array, shape (m,)
            Between `low_hz` and `high_hz` [Hz].

        Returns
        -------
        array, shape (m,)
            Limit [the unit of the line].
        """
        ends_log = np.log10([self.low_hz, self.high_hz])
        level: FloatArray = np.interp(
            np.log10(frequency_hz), ends_log, [self.level_at_low_db, self.level_at_high_db]
        )
        return level


@dataclass(frozen=True, slots=True)
class LimitLine:
    """A limit line of one port, detector and distance.

    Parameters
    ----------
    line_id : str
        Short key, as in ``"cispr32-b-radiated-3m-quasi-peak"``.
    standard : str
        As printed, "CISPR 32".
    equipment_class : {"A", "B"}
    port : {"enclosure", "AC mains"}
    detector : {"peak", "quasi-peak", "average"}
    distance_m : float or None
        Antenna to product [m]; None at a port that is measured by wire.
    unit : {"dBuV/m", "dBuV"}
    bandwidth_hz : float
        Resolution bandwidth that the limit presumes [Hz].
    segments : tuple of LimitSegment
        Rising and adjoining.
    """

    line_id: str
    standard: str
    equipment_class: EquipmentClass
    port: Port
    detector: Detector
    distance_m: float | None
    unit: LimitUnit
    bandwidth_hz: float
    segments: tuple[LimitSegment, ...]

    @property
    def low_hz(self) -> float:
        """Lower end of the line [Hz]."""
        return self.segments[0].low_hz

    @property
    def high_hz(self) -> float:
        """Upper end of the line [Hz]."""
        return self.segments[-1].high_hz

    @property
    def label(self) -> str:
        """Name of the line as an engineer would say it.

        Examples
        --------
        >>> line("cispr32-b-radiated-3m-quasi-peak").label
        'CISPR 32 class B, radiated at 3 m, quasi-peak, 30 MHz to 1 GHz'
        """
        way = "AC mains" if self.distance_m is None else f"radiated at {self.distance_m:g} m"
        span = f"{format_frequency(self.low_hz)} to {format_frequency(self.high_hz)}"
        return f"{self.standard} class {self.equipment_class}, {way}, {self.detector}, {span}"

    def level_at(self, frequency_hz: FloatArray) -> FloatArray:
        """Return the limit; the lower one where two segments meet, nan outside the line.

        Parameters
        ----------
        frequency_hz : array, shape (m,)
            In any order [Hz].

        Returns
        -------
        array, shape (m,)
            Limit [the unit of the line].

        Notes
        -----
        Linear in dB over the logarithm of frequency inside a segment. The lower limit applies at
        the transition frequencies (CISPR 32, annex A).

        Examples
        --------
        >>> line("cispr32-b-radiated-3m-quasi-peak").level_at(np.array([230e6, 231e6, 2e9]))
        array([40., 47., nan])
        """
        f = np.asarray(frequency_hz, dtype=float)
        level = np.full(f.shape, np.nan)
        for segment in self.segments:
            inside = (f >= segment.low_hz) & (f <= segment.high_hz)
            level[inside] = np.fmin(level[inside], segment.level_at(f[inside]))
        return level


def _line_from_rows(line_id: str, rows: tuple[SourcedRow, ...]) -> LimitLine:
    cells = rows[0].cells
    return LimitLine(
        line_id=line_id,
        standard=cells["standard"],
        equipment_class=cast(EquipmentClass, cells["equipment_class"]),
        port=cast(Port, cells["port"]),
        detector=cast(Detector, cells["detector"]),
        distance_m=float(cells["distance_m"]) if cells["distance_m"] else None,
        unit=cast(LimitUnit, cells["unit"]),
        bandwidth_hz=rows[0].number("bandwidth_hz"),
        segments=tuple(
            LimitSegment(
                row.number("low_hz"),
                row.number("high_hz"),
                row.number("level_at_low_db"),
                row.number("level_at_high_db"),
                row.source,
            )
            for row in rows
        ),
    )


@lru_cache(maxsize=1)
def all_lines() -> tuple[LimitLine, ...]:
    """Return every limit line that the data hold, in the order of the files."""
    rows = [row for name in _LINE_FILES for row in load_sourced_rows(name)]
    return tuple(
        _line_from_rows(line_id, tuple(group))
        for line_id, group in groupby(rows, key=lambda row: row.cells["line_id"])
    )


def lines(standard: str, equipment_class: EquipmentClass) -> tuple[LimitLine, ...]:
    """Return the lines of one standard and class.

    Raises
    ------
    MissingData
        Where the data hold no line of that standard and class.
    """
    found = tuple(
        candidate
        for candidate in all_lines()
        if (candidate.standard, candidate.equipment_class) == (standard, equipment_class)
    )
    if not found:
        held = sorted({f"{one.standard} class {one.equipment_class}" for one in all_lines()})
        raise MissingData(
            f"{standard} class {equipment_class}", "one of the limit sets held: " + ", ".join(held)
        )
    return found


def line(line_id: str) -> LimitLine:
    """Return one line by its key.

    Raises
    ------
    InputError
        Where no line has that key; the nearest one is named.
    """
    by_id = {candidate.line_id: candidate for candidate in all_lines()}
    if line_id not in by_id:
        near = difflib.get_close_matches(line_id, by_id, n=1)
        hint = f'Did you mean "{near[0]}"?' if near else ""
        raise InputError(repr(line_id), "one of " + ", ".join(by_id), hint)
    return by_id[line_id]


@dataclass(frozen=True, slots=True)
class FamilyStandard:
    """The emission standard of a product family, and whether the data hold its lines."""

    family: str
    standard: str
    held: bool
    source: Source


@lru_cache(maxsize=1)
def families() -> tuple[FamilyStandard, ...]:
    """Return every product family that is known by name."""
    return tuple(
        FamilyStandard(
            row.cells["family"], row.cells["standard"], row.cells["held"] == "yes", row.source
        )
        for row in load_sourced_rows("limits/families.csv")
    )


def standard_of(family: str) -> FamilyStandard:
    """Return the emission standard of a product family.

    Raises
    ------
    InputError
        Where the family is not known; all known ones are named.

    Examples
    --------
    >>> found = standard_of("household")
    >>> found.standard, found.held
    ('CISPR 14-1', False)
    """
    by_name = {known.family: known for known in families()}
    if family not in by_name:
        near = difflib.get_close_matches(family, by_name, n=1)
        hint = f'Did you mean "{near[0]}"?' if near else ""
        known = "; ".join(by_name)
        raise InputError(repr(family), f"a product family: {known}", hint, field="family")
    return by_name[family]


def highest_measured_frequency(highest_internal_hz: float | None) -> Quantity:
    """Return up to where radiated emissions must be measured.

    Parameters
    ----------
    highest_internal_hz : float or None
        Highest frequency that is generated or used inside the product, chips included [Hz];
        None where nobody stated it.

    Returns
    -------
    Quantity
        Highest measured frequency [Hz]; kind "assumed" where the internal one is unknown.

    Raises
    ------
    InputError
        Where the frequency is not positive.

    Notes
    -----
    Break points and range from ``data/limits/measured_range.csv`` (CISPR 32, table 1).

    Examples
    --------
    >>> highest_measured_frequency(480e6).value, highest_measured_frequency(None).kind
    (2000000000.0, 'assumed')
    """
    if highest_internal_hz is not None and not 0.0 < highest_internal_hz < np.inf:
        raise InputError(
            f"{highest_internal_hz:g} Hz",
            "a positive frequency",
            field="highest internal frequency",
        )
    row = _measured_range_row(highest_internal_hz)
    highest_hz = row.number("measured_to_hz")
    if highest_internal_hz is None:
        note = f"{row.source}; {_UNKNOWN_INTERNAL}"
        return Quantity(highest_hz, "Hz", "assumed", source=note)
    if row.cells["times_internal"]:
        highest_hz = min(highest_hz, row.number("times_internal") * highest_internal_hz)
    internal = format_frequency(highest_internal_hz)
    note = f"{row.source}, for a highest internal frequency of {internal}"
    return Quantity(highest_hz, "Hz", "computed", source=note)


def _measured_range_row(highest_internal_hz: float | None) -> SourcedRow:
    rows = load_sourced_rows("limits/measured_range.csv")
    if highest_internal_hz is None:
        return next(row for row in rows if row.cells["rule"] == "unknown")
    return next(
        row
        for row in rows
        if row.cells["rule"] != "unknown"
        and highest_internal_hz <= float(row.cells["internal_up_to_hz"] or np.inf)
    )
