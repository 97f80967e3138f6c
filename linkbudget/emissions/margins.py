"""One scan against one limit line: worst margin over all points, coverage, peaks, notes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.core.errors import InputError, MissingData
from linkbudget.core.quantity import Quantity
from linkbudget.core.units import format_frequency
from linkbudget.emissions.coverage import (
    LARGEST_STEP_PER_BANDWIDTH,
    Range,
    covered_ranges,
    merged,
    overlap,
    runs,
    typical_step_hz,
    without,
)
from linkbudget.emissions.limits import LimitLine, LimitSegment
from linkbudget.emissions.peaks import Peak, prominent_points
from linkbudget.emissions.scan import Detector, Port, Scan, ScanRecord, Trace
from linkbudget.emissions.uncertainty import measurement_uncertainty

SIDES: dict[Port, tuple[str, str]] = {
    "enclosure": ("horizontal", "vertical"),
    "AC mains": ("line", "neutral"),
}
_BANDWIDTH_TOLERANCE = 0.25  # own choice: a quarter changes a broadband level by 2 dB
_STEP_TOLERANCE = 0.2  # of the stated step; rounding in a file moves it by less
_BLOCK = 16_384  # points that stay in the processor's cache on a slope


@dataclass(frozen=True, slots=True)
class ScanAgainstLine:
    """What one scan says against one line.

    Parameters
    ----------
    scan : str
        Name of the scan.
    detector : {"peak", "quasi-peak", "average"}
        Detector of the scan; that of the line may be another.
    line : LimitLine
    worst_margin : Quantity
        Smallest limit minus level over all points, with the uncertainty as its band [dB].
    worst_at_hz : float
        Where it stands [Hz].
    worst_level_db, worst_limit_db : float
        Reading and limit there [the unit of the line].
    covered, gaps : tuple of (low, high)
        Parts of the wanted range that the scan covers, and that it does not [Hz].
    above : tuple of (low, high)
        Where the reading lies above the line [Hz].
    peaks : tuple of Peak
        Worst margin first.
    uncertainty : Quantity
        Expanded, k = 2 [dB].
    notes : tuple of str
        What weakens the comparison.
    """

    scan: str
    detector: Detector
    line: LimitLine
    worst_margin: Quantity
    worst_at_hz: float
    worst_level_db: float
    worst_limit_db: float
    covered: tuple[Range, ...]
    gaps: tuple[Range, ...]
    above: tuple[Range, ...]
    peaks: tuple[Peak, ...]
    uncertainty: Quantity
    notes: tuple[str, ...]


def sides(record: ScanRecord) -> tuple[str, ...]:
    """Return the polarisations or conductors that a scan stands for; none where nobody said.

    Raises
    ------
    InputError
        Where the word is none of those that are known.

    Examples
    --------
    >>> sides(ScanRecord("enclosure", "antenna", polarisation="vertical"))
    ('vertical',)
    """
    stated = record.polarisation if record.port == "enclosure" else record.conductor
    known = SIDES[record.port]
    if not stated.strip():
        return ()
    if stated.strip().lower() == "both":
        return known
    if stated.strip().lower() not in known:
        what = "polarisation" if record.port == "enclosure" else "conductor"
        raise InputError(repr(stated), " or ".join((*known, "both")), field=what)
    return (stated.strip().lower(),)


def why_not_compared(scan: Scan, line: LimitLine) -> str:
    """Return why a scan may not meet a line; "" where it may.

    Raises
    ------
    MissingData
        Where the detector, or the distance of an antenna, is not stated.
    """
    record = scan.record
    if record.transducer in ("near-field probe", "current probe"):
        return (
            f"a {record.transducer} has no limit line: its readings serve to compare before and"
            " after a change"
        )
    if record.port != line.port:
        return f"it was taken at the {record.port} port, the line is for the {line.port} port"
    proper = "antenna" if line.port == "enclosure" else "line-impedance network"
    if record.transducer != proper:
        return f"it was taken with a {record.transducer}, this port is measured with: {proper}"
    if record.detector is None:
        raise MissingData(
            "a scan without its detector",
            "peak, quasi-peak or average",
            field=f"{scan.name}: detector",
        )
    if line.distance_m is None:
        return ""
    if record.distance_m is None:
        raise MissingData(
            "a radiated scan without its distance",
            "the distance from antenna to product, such as 3 m",
            field=f"{scan.name}: distance",
        )
    if not math.isclose(record.distance_m, line.distance_m, rel_tol=0.01):
        return (
            f"it was taken at {record.distance_m:g} m, the line is for {line.distance_m:g} m, and"
            " no factor between distances is trusted"
        )
    return ""


def assess(
    scan: Scan,
    line: LimitLine,
    *,
    within: Range | None = None,
    apart: Sequence[Range] = (),
) -> ScanAgainstLine:
    """Compare a scan with a limit line.

    Parameters
    ----------
    scan : Scan
        Corrected to the unit of the line.
    line : LimitLine
    within : (low, high), optional
        Part of the line that is wanted, such as up to the highest measured frequency [Hz].
    apart : sequence of (low, high)
        Ranges that this line does not judge, such as the product's own transmitter [Hz].

    Returns
    -------
    ScanAgainstLine

    Raises
    ------
    InputError
        Where the two may not be compared, or no point of the scan lies in the wanted range.
    MissingData
        Where the detector or the distance is not stated.
    """
    found = compare(scan, line, within=within, apart=apart)
    if found is None:
        low, high = within or (line.low_hz, line.high_hz)
        raise InputError(
            f"scan {scan.name!r} without a point to compare",
            f"points from {format_frequency(low)} to {format_frequency(high)}",
            field=scan.name,
        )
    return found


def compare(
    scan: Scan,
    line: LimitLine,
    *,
    within: Range | None = None,
    apart: Sequence[Range] = (),
) -> ScanAgainstLine | None:
    """Compare as ``assess`` does, but return None where no point of the scan is left."""
    refusal = why_not_compared(scan, line)
    if refusal:
        raise InputError(f"scan {scan.name!r}: {refusal}", line.label, field=scan.name)
    if scan.trace.unit != line.unit:
        raise InputError(f"levels in {scan.trace.unit}", line.unit, field=scan.name)
    low, high = within or (line.low_hz, line.high_hz)
    wanted = without(overlap([(line.low_hz, line.high_hz)], (low, high)), apart)
    worst = None if _only_touches(scan, line) else _worst_point(scan.trace, line, wanted)
    if worst is None or scan.record.detector is None:
        return None
    at_hz, level_db = float(scan.trace.frequency_hz[worst]), float(scan.trace.level_db[worst])
    limit_db = float(line.level_at(np.array([at_hz]))[0])
    margin_db = limit_db - level_db
    uncertainty = measurement_uncertainty(line, scan.record.uncertainty_db)
    bandwidth_hz = scan.record.bandwidth_hz or line.bandwidth_hz
    covered = covered_ranges(scan.trace.frequency_hz, bandwidth_hz, swept=scan.record.swept)
    return ScanAgainstLine(
        scan=scan.name,
        detector=scan.record.detector,
        line=line,
        worst_margin=Quantity(
            margin_db,
            "dB",
            "measured",
            margin_db - uncertainty.value,
            margin_db + uncertainty.value,
            source=f"{scan.trace.file}, {scan.record.detector}",
            coverage=uncertainty.coverage,
        ),
        worst_at_hz=at_hz,
        worst_level_db=level_db,
        worst_limit_db=limit_db,
        covered=overlap(covered, (low, high)),
        gaps=without(wanted, covered),
        above=_above(scan.trace, line, wanted, bandwidth_hz) if margin_db < 0 else (),
        peaks=_peaks(scan.trace, line, wanted, bandwidth_hz),
        uncertainty=uncertainty,
        notes=_notes(scan, line),
    )


def reads_low(scan: Scan, line: LimitLine) -> bool:
    """Return whether the stated bandwidth is so narrow that broadband levels read low."""
    stated_hz = scan.record.bandwidth_hz
    return stated_hz is not None and stated_hz < (1.0 - _BANDWIDTH_TOLERANCE) * line.bandwidth_hz


def _only_touches(scan: Scan, line: LimitLine) -> bool:
    """Return whether a sweep ends where the line begins, or begins where it ends."""
    f = scan.trace.frequency_hz
    slack_hz = min(typical_step_hz(f), line.bandwidth_hz)
    return f.size > 1 and bool(f[-1] <= line.low_hz + slack_hz or f[0] >= line.high_hz - slack_hz)


def _slice(frequency_hz: FloatArray, span: Range) -> slice:
    """Return the points of a closed range."""
    return slice(
        int(np.searchsorted(frequency_hz, span[0], side="left")),
        int(np.searchsorted(frequency_hz, span[1], side="right")),
    )


def _inside(trace: Trace, line: LimitLine) -> tuple[FloatArray, FloatArray]:
    """Return frequencies and levels in the range of the line."""
    points = _slice(trace.frequency_hz, (line.low_hz, line.high_hz))
    return trace.frequency_hz[points], trace.level_db[points]


def _worst_point(trace: Trace, line: LimitLine, wanted: Sequence[Range]) -> int | None:
    """Return the point of the smallest margin; both limits count where segments meet."""
    worst, smallest_db = None, math.inf
    for segment in line.segments:
        for span in overlap(wanted, (segment.low_hz, segment.high_hz)):
            points = _slice(trace.frequency_hz, span)
            f, level = trace.frequency_hz[points], trace.level_db[points]
            if not f.size:
                continue
            k = int(np.argmax(level)) if segment.is_flat else _worst_on_slope(f, level, segment)
            margin_db = float(segment.level_at(f[k : k + 1])[0] - level[k])
            if not math.isfinite(margin_db):
                raise InputError(
                    f"level {level[k]} at {format_frequency(float(f[k]))}",
                    "a finite level at every frequency",
                    file=trace.file,
                )
            if margin_db < smallest_db:
                worst, smallest_db = points.start + k, margin_db
    return worst


def _worst_on_slope(frequency_hz: FloatArray, level_db: FloatArray, segment: LimitSegment) -> int:
    worst, smallest_db = 0, math.inf
    for start in range(0, frequency_hz.size, _BLOCK):
        block = slice(start, start + _BLOCK)
        margin_db = segment.level_at(frequency_hz[block]) - level_db[block]
        k = int(np.argmin(margin_db))
        if not margin_db[k] >= smallest_db:  # a level that is not a number must surface
            worst, smallest_db = start + k, float(margin_db[k])
    return worst


def _above(
    trace: Trace, line: LimitLine, wanted: Sequence[Range], bandwidth_hz: float
) -> tuple[Range, ...]:
    """Return the runs of points above the line, lengthened by half a bandwidth or a step."""
    found: list[Range] = []
    for segment in line.segments:
        for span in overlap(wanted, (segment.low_hz, segment.high_hz)):
            points = _slice(trace.frequency_hz, span)
            f = trace.frequency_hz[points]
            limit_db = segment.level_at_low_db if segment.is_flat else segment.level_at(f)
            is_above = trace.level_db[points] > limit_db
            found += runs(f, is_above, max(bandwidth_hz / 2.0, typical_step_hz(f)))
    return merged(found)


def _peaks(
    trace: Trace, line: LimitLine, wanted: Sequence[Range], bandwidth_hz: float
) -> tuple[Peak, ...]:
    """Return the peaks in the wanted ranges, worst margin first."""
    f, level = _inside(trace, line)
    at = prominent_points(f, level, bandwidth_hz)
    limit = line.level_at(f[at])
    rows = zip(f[at].tolist(), level[at].tolist(), limit.tolist(), strict=True)
    peaks = [
        Peak(frequency, height, limit_db)
        for frequency, height, limit_db in rows
        if overlap(wanted, (frequency, frequency))
    ]
    return tuple(sorted(peaks, key=lambda peak: peak.margin_db))


def _notes(scan: Scan, line: LimitLine) -> tuple[str, ...]:
    """Tell what weakens the comparison."""
    record = scan.record
    notes: list[str] = []
    wanted = format_frequency(line.bandwidth_hz)
    if record.bandwidth_hz is None:
        notes.append(f"no resolution bandwidth is stated; the line's own {wanted} is presumed")
    elif abs(record.bandwidth_hz / line.bandwidth_hz - 1.0) > _BANDWIDTH_TOLERANCE:
        error_db = 20.0 * math.log10(record.bandwidth_hz / line.bandwidth_hz)
        notes.append(
            f"taken with {format_frequency(record.bandwidth_hz)}, the line presumes {wanted}:"
            f" broadband levels may read up to {abs(error_db):.0f} dB too"
            f" {'low' if error_db < 0 else 'high'}"
        )
    bandwidth_hz = record.bandwidth_hz or line.bandwidth_hz
    step_hz = typical_step_hz(_inside(scan.trace, line)[0])
    if step_hz > LARGEST_STEP_PER_BANDWIDTH * bandwidth_hz:
        apart = f"the step of {format_frequency(step_hz)} is larger than the bandwidth of"
        apart += f" {format_frequency(bandwidth_hz)}"
        notes.append(
            f"{apart}; each point is the highest level of its step, as stated"
            if record.swept
            else f"{apart}: nothing between the points is covered, unless the sweep kept the"
            " highest level of each step and the record says so"
        )
    if record.step_hz is not None and abs(record.step_hz / step_hz - 1.0) > _STEP_TOLERANCE:
        notes.append(
            f"a step of {format_frequency(record.step_hz)} is stated, the file has"
            f" {format_frequency(step_hz)}"
        )
    stated = record.polarisation if record.port == "enclosure" else record.conductor
    if not stated.strip():
        what = "polarisation" if record.port == "enclosure" else "conductor"
        first, second = SIDES[record.port]
        notes.append(f"no {what} is stated, so neither {first} nor {second} is settled by it")
    return tuple(notes)
