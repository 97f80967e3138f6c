"""Which readings count against a line, and what no reading settles."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from linkbudget.emissions.coverage import Range, bridged, overlap, without
from linkbudget.emissions.detectors import meaning, reads_at_least
from linkbudget.emissions.limits import LimitLine
from linkbudget.emissions.margins import SIDES, ScanAgainstLine, compare, reads_low, sides
from linkbudget.emissions.scan import Scan

Compared = tuple[Scan, ScanAgainstLine]
SetApartIn = Callable[[Scan], tuple[Range, ...]]

_NARROW_RUN_BANDWIDTHS = 10.0  # one final reading stands for a run above the line up to this width
_MOST_GAPS_TOLD = 40


def compare_all(
    usable: Sequence[Scan], line: LimitLine, within: Range, set_apart_in: SetApartIn
) -> list[Compared]:
    """Compare all scans; a reading with the line's own detector stands before any other.

    Parameters
    ----------
    usable : sequence of Scan
        Scans that may meet the line.
    line : LimitLine
    within : (low, high)
        Part of the line that is wanted [Hz].
    set_apart_in : callable
        Ranges of a scan that this line does not judge [Hz].
    """
    final: list[Compared] = []
    for scan in usable:
        if scan.record.detector == line.detector:
            found = compare(scan, line, within=within, apart=set_apart_in(scan))
            if found is not None:
                final.append((scan, found))
    quick: list[Compared] = []
    for scan in usable:
        if scan.record.detector != line.detector:
            apart = set_apart_in(scan)
            replaced = _replaced_by(final, scan, line, within, apart)
            found = compare(scan, line, within=within, apart=(*apart, *replaced))
            if found is not None:
                quick.append((scan, found))
    return final + quick


def _replaced_by(
    final: Sequence[Compared],
    scan: Scan,
    line: LimitLine,
    within: Range,
    apart: Sequence[Range],
) -> tuple[Range, ...]:
    """Return where final readings of the same set-up make a quick scan's readings obsolete.

    A final reading at the highest point of a narrow run above the line stands for that whole run.
    """
    own = set(sides(scan.record))
    read = tuple(
        span
        for other, found in final
        if _same_set_up(other, scan) and own and own <= set(sides(other.record))
        for span in found.covered
    )
    first = compare(scan, line, within=within, apart=apart) if read else None
    if first is None:
        return read
    widest_hz = _NARROW_RUN_BANDWIDTHS * line.bandwidth_hz
    runs = tuple(
        run
        for run in first.above
        if run[1] - run[0] <= widest_hz and overlap(read, _summit(scan, run, line.bandwidth_hz))
    )
    return (*read, *runs)


def _summit(scan: Scan, run: Range, bandwidth_hz: float) -> Range:
    """Return the highest point of a run, half a bandwidth to either side."""
    f = scan.trace.frequency_hz
    first = int(np.searchsorted(f, run[0], side="left"))
    end = int(np.searchsorted(f, run[1], side="right"))
    at_hz = float(f[first + int(np.argmax(scan.trace.level_db[first:end]))])
    return at_hz - bandwidth_hz / 2.0, at_hz + bandwidth_hz / 2.0


def _same_set_up(one: Scan, other: Scan) -> bool:
    a, b = one.record, other.record
    return (a.variant, a.mode, a.channel, a.supply) == (b.variant, b.mode, b.channel, b.supply)


def unsettled(
    results: Sequence[Compared],
    line: LimitLine,
    wanted: Sequence[Range],
    set_apart_in: SetApartIn,
) -> dict[str, tuple[Range, ...]]:
    """Return what is not settled in each polarisation or on each conductor.

    Parameters
    ----------
    results : sequence of (Scan, ScanAgainstLine)
    line : LimitLine
    wanted : sequence of (low, high)
        What has to be settled [Hz].
    set_apart_in : callable
        Ranges of a scan that this line does not judge, and which it therefore does not settle [Hz].
    """
    missing: dict[str, tuple[Range, ...]] = {}
    for side in SIDES[line.port]:
        settled: list[Range] = []
        for scan, found in results:
            if side not in sides(scan.record) or reads_low(scan, line):
                continue
            if not reads_at_least(found.detector, line.detector):
                continue
            is_open = meaning(found.detector, line.detector, below=False) == "says nothing"
            covered = bridged(found.covered, line.bandwidth_hz)
            settled += without(covered, (*(found.above if is_open else ()), *set_apart_in(scan)))
        left = without(wanted, settled)
        if len(left) > _MOST_GAPS_TOLD:  # a comb of gaps is one gap to whoever has to close it
            left = ((left[0][0], left[-1][1]),)
        if left:
            missing[side] = left
    return missing
