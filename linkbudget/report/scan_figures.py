"""Scans over their limit lines: one figure for each port, distance and range of frequencies."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from linkbudget.emissions.coverage import overlap
from linkbudget.report.figures import LONGEST_LABEL, canvas, label, log_ticks, rounded
from linkbudget.report.palette import Role, light
from linkbudget.report.scan_groups import MarkedPeak, ScanGroup, Span, marked_peaks
from linkbudget.report.wording import frequency, typeset, with_detector

if TYPE_CHECKING:
    from plotly.graph_objects import Figure

    from linkbudget.core.decibels import FloatArray
    from linkbudget.emissions.limits import LimitLine
    from linkbudget.results import ScanResult

MOST_PEAK_LABELS = 6
LABELLED_WITHIN_DB = 8.0  # of a line; further below, only the nearest peak is named
DRAWN_STEPS = 900  # over the width of a figure, each with its highest level
_CLOSEST_LABELS = 0.09  # as a share of the width, so that two labels do not touch
_GIGAHERTZ = 1e9
_LIMIT_DASHES = {"quasi-peak": "solid", "average": "8px,4px", "peak": "10px,3px,2px,3px"}
_COLOURS: tuple[Role, ...] = ("lake", "copper", "violet", "moss")
_DASHES = ("solid", "2px,2px", "6px,2px")


def scan_figure(group: ScanGroup) -> Figure:
    """Draw scans over their lines.

    Parameters
    ----------
    group : ScanGroup

    Returns
    -------
    Figure
        Traces, lines, marked peaks, ranges set apart, and what is not measured.
    """
    scale, unit = (1e9, "GHz") if group.low_hz >= _GIGAHERTZ else (1e6, "MHz")
    low, high = group.low_hz / scale, max(group.high_hz, group.low_hz * 1.01) / scale
    figure = canvas(
        460,
        {
            "type": "log",
            "range": [float(np.log10(low)), float(np.log10(high))],
            "title": {"text": f"Frequency, {unit}"},
            **log_ticks(low, high),
        },
        {"title": {"text": typeset(f"Level, {label(group.unit)}")}},
    )
    _shade_gaps(figure, group, scale)
    _shade_own_transmitter(figure, group, scale)
    tops = [_add_scan(figure, n, scan, group, scale) for n, scan in enumerate(group.scans)]
    tops += [_add_line(figure, line, group, scale) for line in group.lines]
    _add_peaks(figure, marked_peaks(group), group, scale)
    levels = [edge for pair in tops if pair for edge in pair]
    if levels:
        figure.update_yaxes(range=[min(levels) - 3.0, max(levels) + 14.0])
    return figure


def _add_scan(
    figure: Figure, at: int, scan: ScanResult, group: ScanGroup, scale: float
) -> Span | None:
    f, level = scan.trace.frequency_hz, scan.trace.level_db
    keep = (f >= group.low_hz * 0.999) & (f <= group.high_hz * 1.001) & np.isfinite(level)
    if not keep.any():
        return None
    f, level = highest_per_step(f[keep], level[keep])
    figure.add_scatter(
        x=rounded(f / scale, 6),
        y=rounded(level, 2),
        mode="lines",
        name=label(with_detector(scan.name, scan.record.detector), LONGEST_LABEL + 12),
        line={
            "color": light(_COLOURS[at % len(_COLOURS)]),
            "width": 1.1,
            "dash": _DASHES[at // len(_COLOURS) % len(_DASHES)],
        },
        hovertemplate=f"%{{y:.1f}} {label(group.unit)} at %{{x:.6~g}}<extra></extra>",
    )
    return float(level.min()), float(level.max())


def highest_per_step(
    frequency_hz: FloatArray, level_db: FloatArray, steps: int = DRAWN_STEPS
) -> tuple[FloatArray, FloatArray]:
    """Return the upper edge of a trace, one point per step of a logarithmic axis.

    Parameters
    ----------
    frequency_hz, level_db : array, shape (n,)
        Frequencies rising.
    steps : int
        Steps over the whole range.

    Returns
    -------
    frequency_hz, level_db : array, shape (m,)
        The highest point of each step; the trace itself where it has fewer points.

    Examples
    --------
    >>> f = np.geomspace(1.0, 100.0, 1000)
    >>> x, y = highest_per_step(f, np.where(f == f[321], 9.0, 1.0), steps=10)
    >>> x.size, float(y.max()), bool(x[y.argmax()] == f[321])
    (10, 9.0, True)
    """
    if frequency_hz.size <= steps:
        return frequency_hz, level_db
    edges = np.geomspace(frequency_hz[0], frequency_hz[-1], steps + 1)[:-1]
    starts = np.unique(np.searchsorted(frequency_hz, edges * (1.0 - 1e-12)))
    ends = np.append(starts[1:], frequency_hz.size)
    rows = [a + int(np.argmax(level_db[a:b])) for a, b in zip(starts, ends, strict=True)]
    return frequency_hz[rows], level_db[rows]


def _add_line(figure: Figure, line: LimitLine, group: ScanGroup, scale: float) -> Span | None:
    x: list[float | None] = []
    y: list[float | None] = []
    for segment in line.segments:
        inside = overlap([(segment.low_hz, segment.high_hz)], (group.low_hz, group.high_hz))
        for low, high in inside:
            ends = np.array([low, high])
            x += rounded(ends / scale, 6)
            y += rounded(segment.level_at(ends), 2)
    if not x:
        return None
    figure.add_scatter(
        x=x,
        y=y,
        mode="lines",
        name=f"limit, {line.detector}",
        line={"color": light("ink"), "width": 2.2, "dash": _LIMIT_DASHES[line.detector]},
        hovertemplate=f"limit, {line.detector}: %{{y:.1f}} {label(line.unit)}<extra></extra>",
    )
    levels = [v for v in y if v is not None]
    return min(levels), max(levels)


def _labelled(peaks: Iterable[MarkedPeak], low_hz: float, high_hz: float) -> list[MarkedPeak]:
    width = np.log10(high_hz / low_hz)
    chosen: list[MarkedPeak] = []
    for peak in peaks:
        away = [abs(np.log10(peak.frequency_hz / c.frequency_hz)) / width for c in chosen]
        near_line = peak.margin_db <= LABELLED_WITHIN_DB or not chosen
        if near_line and all(distance >= _CLOSEST_LABELS for distance in away):
            chosen.append(peak)
    return chosen[:MOST_PEAK_LABELS]


def _add_peaks(figure: Figure, peaks: Sequence[MarkedPeak], group: ScanGroup, scale: float) -> None:
    if not peaks:
        return
    colours, symbols, sizes = zip(*(peak.look for peak in peaks), strict=True)
    figure.add_scatter(
        x=rounded([p.frequency_hz / scale for p in peaks], 6),
        y=rounded([p.level_db for p in peaks], 2),
        mode="markers",
        name="peaks and worst points",
        marker={
            "color": [light(role) for role in colours],
            "symbol": list(symbols),
            "size": list(sizes),
        },
        text=[f"{frequency(p.frequency_hz)}, {p.words}, {label(p.scan)}" for p in peaks],
        hovertemplate="%{text}<extra></extra>",
    )
    for peak in _labelled(peaks, group.low_hz, group.high_hz):
        figure.add_annotation(
            name="peak",
            x=float(np.log10(peak.frequency_hz / scale)),
            y=peak.level_db,
            text=typeset(f"{frequency(peak.frequency_hz)}<br><b>{peak.words}</b>"),
            showarrow=True,
            arrowhead=0,
            arrowwidth=1,
            arrowcolor=light("muted"),
            standoff=5,
            ax=0,
            ay=-34,
            font={"size": 11, "color": light(peak.look[0])},
            bgcolor=light("paper-veil"),
        )


def _shade_gaps(figure: Figure, group: ScanGroup, scale: float) -> None:
    for low, high in group.gaps:
        share = np.log10(high / low) / np.log10(group.high_hz / group.low_hz)
        _shade(figure, (low / scale, high / scale), "slate-veil")
        if share > 0.05:
            _name_range(figure, (low / scale, high / scale), "not measured in full", "slate")


def _shade_own_transmitter(figure: Figure, group: ScanGroup, scale: float) -> None:
    owned_ranges = [owned for scan in group.scans for owned in scan.set_apart]
    for edges, owned in {(o.low_hz, o.high_hz): o for o in owned_ranges}.items():
        for low, high in overlap([edges], (group.low_hz, group.high_hz)):
            _shade(figure, (low / scale, high / scale), "violet-veil")
            _name_range(figure, (low / scale, high / scale), label(owned.why, 44), "violet")


def _shade(figure: Figure, edges: Span, role: Role) -> None:
    figure.add_shape(
        type="rect",
        x0=edges[0],
        x1=edges[1],
        y0=0.0,
        y1=1.0,
        yref="paper",
        line={"width": 0},
        fillcolor=light(role),
        layer="below",
    )


def _name_range(figure: Figure, edges: Span, text: str, role: Role) -> None:
    """Print a name upright beside the right edge of a range, from the top, clear of the traces."""
    figure.add_annotation(
        x=float(np.log10(edges[1])),
        xanchor="right" if role == "slate" else "left",
        y=1.0,
        yref="paper",
        yanchor="top",
        text=text,
        textangle=-90,
        showarrow=False,
        font={"size": 11, "color": light(role)},
    )
