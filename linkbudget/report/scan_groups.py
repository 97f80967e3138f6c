"""Scans sorted into figures, and the peaks that a figure marks; no drawing here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from linkbudget.emissions.coverage import merged, overlap
from linkbudget.emissions.detectors import meaning
from linkbudget.report.palette import Role
from linkbudget.report.wording import number, span

if TYPE_CHECKING:
    from linkbudget.emissions.limits import LimitLine
    from linkbudget.results import EmissionsResult, ScanResult

MOST_PEAK_MARKS = 24  # noise alone may have hundreds

Span = tuple[float, float]
LineKey = tuple[str, float | None, float, float]


@dataclass(frozen=True, slots=True)
class ScanGroup:
    """What one figure shows.

    Parameters
    ----------
    title : str
        Port, distance and range.
    unit : str
    low_hz, high_hz : float
        Range of the figure [Hz].
    lines : tuple of LimitLine
        Empty where no line may be drawn.
    scans : tuple of ScanResult
    gaps : tuple of (low, high)
        What no scan has measured in full [Hz].
    """

    title: str
    unit: str
    low_hz: float
    high_hz: float
    lines: tuple[LimitLine, ...]
    scans: tuple[ScanResult, ...]
    gaps: tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class MarkedPeak:
    """A peak with the margin that counts, for its mark and its label."""

    frequency_hz: float
    level_db: float
    margin_db: float
    scan: str
    is_open: bool = False  # over a line on which the scan's detector says nothing

    @property
    def words(self) -> str:
        """Margin for a label: "2.3 dB over", "4.1 dB left", or what is still to be read."""
        if self.is_open:
            return "needs average reading"
        return f"{number(abs(self.margin_db))} dB {'over' if self.margin_db < 0.0 else 'left'}"

    @property
    def look(self) -> tuple[Role, str, int]:
        """Colour, symbol and size [px] of its mark."""
        if self.is_open:
            return "ochre", "diamond", 8
        return ("madder", "triangle-up", 10) if self.margin_db < 0.0 else ("ink", "circle-open", 6)


def scan_groups(emissions: EmissionsResult) -> tuple[ScanGroup, ...]:
    """Sort the scans into figures.

    Parameters
    ----------
    emissions : EmissionsResult

    Returns
    -------
    tuple of ScanGroup
        Compared scans with their lines first, then scans over which no line may be drawn.
    """
    by_key: dict[LineKey, list[ScanResult]] = {}
    for scan in emissions.scans:
        for line in {_key(found.line): found.line for found in scan.against}.values():
            if _points_inside(scan, line.low_hz, line.high_hz) > 1:
                by_key.setdefault(_key(line), []).append(scan)
    order = [_key(line) for line in emissions.lines]
    groups = [
        _compared_group(emissions, key, by_key[key])
        for key in sorted(by_key, key=lambda key: order.index(key) if key in order else len(order))
    ]
    alone: dict[object, list[ScanResult]] = {}
    for scan in emissions.scans:
        if not scan.against and scan.trace.points:
            r = scan.record
            kind = (r.port, r.distance_m, r.bandwidth_hz, scan.unit, scan.refused)
            alone.setdefault(kind, []).append(scan)
    return (*groups, *(_lone_group(scans) for scans in alone.values()))


def _points_inside(scan: ScanResult, low_hz: float, high_hz: float) -> int:
    f = scan.trace.frequency_hz
    return int(np.count_nonzero((f >= low_hz) & (f <= high_hz)))


def _key(line: LimitLine) -> LineKey:
    return line.port, line.distance_m, line.low_hz, line.high_hz


def _compared_group(
    emissions: EmissionsResult, key: LineKey, scans: Sequence[ScanResult]
) -> ScanGroup:
    port, distance_m, low_hz, high_hz = key
    lines = {f.line.line_id: f.line for s in scans for f in s.against if _key(f.line) == key}
    named = {scan.record.variant for scan in scans}
    standings = [
        standing
        for of_variant in emissions.variants
        if "" in named or of_variant.variant in named
        for standing in of_variant.standings
        if standing.line.line_id in lines
    ]
    gaps = merged(gap for standing in standings for gap in standing.gaps)
    top = emissions.highest_measured
    if port == "enclosure" and top is not None and top.value > low_hz:
        high_hz = min(high_hz, top.value)
    return ScanGroup(
        f"{_way(port, distance_m)}, {span(low_hz, high_hz)}",
        next(iter(lines.values())).unit,
        low_hz,
        high_hz,
        tuple(lines.values()),
        tuple(scans),
        overlap(gaps, (low_hz, high_hz)),
    )


def _way(port: str, distance_m: float | None) -> str:
    if port == "AC mains":
        return "AC mains"
    return "Radiated" if distance_m is None else f"Radiated at {distance_m:g} m"


def _lone_group(scans: Sequence[ScanResult]) -> ScanGroup:
    record = scans[0].record
    low = min(float(scan.trace.frequency_hz[0]) for scan in scans)
    high = max(float(scan.trace.frequency_hz[-1]) for scan in scans)
    title = f"{_way(record.port, record.distance_m)}, {span(low, high, 2)}: no line is drawn"
    return ScanGroup(title, scans[0].unit, low, high, (), tuple(scans), ())


def marked_peaks(group: ScanGroup) -> tuple[MarkedPeak, ...]:
    """Return the worst points and peaks with the least margin, least first.

    Parameters
    ----------
    group : ScanGroup

    Returns
    -------
    tuple of MarkedPeak
        One for each scan and frequency, with the least margin among the lines; open where the
        scan stands over an average line but was not read with the average detector.
    """
    least: dict[tuple[str, float], MarkedPeak] = {}
    shown = {line.line_id for line in group.lines}
    for scan in group.scans:
        for found in scan.against:
            if found.line.line_id not in shown:
                continue
            points = [(p.frequency_hz, p.level_db, p.margin_db) for p in found.peaks]
            worst = (found.worst_at_hz, found.worst_level_db, found.worst_margin.value)
            for frequency_hz, level_db, margin_db in (worst, *points):
                said = meaning(found.detector, found.line.detector, below=margin_db >= 0)
                is_open = said == "says nothing"
                inside = group.low_hz <= frequency_hz <= group.high_hz
                if not inside or (is_open and margin_db >= 0):
                    continue
                peak = MarkedPeak(frequency_hz, level_db, margin_db, scan.name, is_open)
                key = (scan.name, frequency_hz)
                if key not in least or margin_db < least[key].margin_db:
                    least[key] = peak
    return tuple(sorted(least.values(), key=lambda peak: peak.margin_db)[:MOST_PEAK_MARKS])
