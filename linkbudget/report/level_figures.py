"""Received level against distance, without and with the metal, and how sure it is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from linkbudget.core.distributions import of_quantity
from linkbudget.link.forecast import COVERAGES
from linkbudget.report.bounds import AT_LEAST, AT_MOST, at_end
from linkbudget.report.figures import (
    Case,
    add_needed,
    canvas,
    cases_of,
    compared,
    label,
    log_ticks,
    needed_levels,
    rounded,
)
from linkbudget.report.palette import light
from linkbudget.report.wording import metres, typeset

if TYPE_CHECKING:
    from plotly.graph_objects import Figure

    from linkbudget.core.decibels import FloatArray
    from linkbudget.results import VariantLink

_NEAR_EDGE = 0.12  # share of the axis


def level_figure(link: VariantLink) -> Figure:
    """Draw the received level against distance, with and without the metal.

    Parameters
    ----------
    link : VariantLink
        With a comparison and a curve.

    Returns
    -------
    Figure
        Curves, 80 % and 95 % band of the last case, needed levels, and the wanted distance.
    """
    curve, comparison = link.curve, compared(link)
    if curve is None:
        raise ValueError("a link without a curve has no level to draw")
    nearest_m, furthest_m = float(curve.distance_m[0]), float(curve.distance_m[-1])
    figure = canvas(
        430,
        distance_axis(nearest_m, furthest_m),
        {"title": {"text": "Received level, dBm"}},
    )
    cases = cases_of(comparison)
    _add_bands(figure, cases[-1], link)
    mark_beyond_belief(figure, link, nearest_m, furthest_m)
    levels = {"without metal": curve.without_dbm, "with metal": curve.with_dbm}
    for case in cases:
        _add_curve(figure, case, link, levels[case.name])
        _add_reach(figure, case, link, levels[case.name])
    for name, level_dbm, dash in needed_levels(comparison.without):
        add_needed(figure, name, [nearest_m, furthest_m], [level_dbm, level_dbm], dash)
    mark_wanted(figure, link.wanted_distance_m)
    figure.update_layout(margin_r=44)  # room for the reach that is printed beside its mark
    return figure


def distance_axis(nearest_m: float, furthest_m: float) -> dict[str, Any]:
    """Return the settings of a logarithmic axis of distances [m]."""
    return {
        "type": "log",
        "range": [float(np.log10(nearest_m)), float(np.log10(furthest_m))],
        "title": {"text": "Distance, m"},
        **log_ticks(nearest_m, furthest_m),
    }


def _add_curve(figure: Figure, case: Case, link: VariantLink, level_dbm: FloatArray | None) -> None:
    """Draw one level, thinner where the law of the room promises too much."""
    if link.curve is None or level_dbm is None:
        return
    distance_m = link.curve.distance_m
    holds = distance_m <= (link.room.believed_to_m if link.room is not None else np.inf)
    first_beyond = int(np.count_nonzero(holds))
    parts = ((slice(None, first_beyond), 2.5), (slice(max(first_beyond - 1, 0), None), 1.0))
    for at, (part, width) in enumerate(parts):
        if at == 1 and holds.all():
            break
        figure.add_scatter(
            x=rounded(distance_m[part], 4),
            y=rounded(level_dbm[part], 2),
            mode="lines",
            name=case.name if at == 0 else f"{case.name}, beyond belief",
            legendgroup=case.name,
            showlegend=at == 0,
            line={"color": light(case.role), "width": width, "dash": case.dash},
            hovertemplate=f"{case.name}: %{{y:.1f}} dBm at %{{x:.3~g}} m<extra></extra>",
        )


def _add_reach(figure: Figure, case: Case, link: VariantLink, level_dbm: FloatArray | None) -> None:
    """Mark where the curve meets the level that is needed, or the law ends; print the distance."""
    distance = case.reach.distance
    lowest_log, highest_log = figure.layout.xaxis.range
    if not lowest_log <= np.log10(distance.value) <= highest_log:
        return
    marked_dbm = needed_levels(case.budget)[-1][1]
    if link.curve is not None and level_dbm is not None and at_end(link.room, distance.value):
        marked_dbm = float(np.interp(distance.value, link.curve.distance_m, level_dbm))
    above = case.offset < 0.0
    beside = clear_of_edges(figure, distance.value, "right" if above else "left")
    bound = {AT_MOST: "≤ ", AT_LEAST: "≥ "}.get(distance.coverage, "")
    told = f"{bound}{typeset(metres(distance.value))}"
    figure.add_scatter(
        x=[distance.value],
        y=[marked_dbm],
        mode="markers+text",
        name=f"{case.name}, reach",
        legendgroup=case.name,
        showlegend=False,
        marker={"color": light(case.role), "size": 11, "symbol": case.symbol},
        text=[f" <b>{told}</b> "],
        textposition=f"{'top' if above else 'bottom'} {beside}",
        textfont={"color": light(case.role)},
        cliponaxis=False,
        hoverinfo="skip",
    )


def clear_of_edges(figure: Figure, distance_m: float, wanted: str = "center") -> str:
    """Return where a text beside a distance has room: where it is wanted, or "right" or "left"."""
    first, last = figure.layout.xaxis.range
    place = (np.log10(distance_m) - first) / (last - first)
    return "right" if place < _NEAR_EDGE else "left" if place > 1.0 - _NEAR_EDGE else wanted


def mark_beyond_belief(
    figure: Figure, link: VariantLink, nearest_m: float, furthest_m: float
) -> None:
    """Shade the distances of a figure at which the law of the room promises too much."""
    room = link.room
    if room is None or room.believed_to_m >= furthest_m:
        return
    shade(figure, max(room.believed_to_m, nearest_m), furthest_m, f"{room.name} alone cannot say")


def shade(figure: Figure, from_m: float, to_m: float, text: str) -> None:
    """Shade a range of distances on a logarithmic axis, its reason at its right edge."""
    figure.add_shape(
        type="rect",
        x0=from_m,
        x1=to_m,
        y0=0.0,
        y1=1.0,
        yref="paper",
        line={"width": 0},
        fillcolor=light("slate-veil"),
        layer="below",
    )
    figure.add_annotation(
        x=float(np.log10(to_m)),
        xanchor="right",
        y=1.0,
        yref="paper",
        yanchor="top",
        text=label(text),
        textangle=-90,
        showarrow=False,
        font={"size": 11, "color": light("slate")},
    )


def _add_bands(figure: Figure, case: Case, link: VariantLink) -> None:
    """Draw the 95 % and the 80 % band of a level; where nothing spreads it, there is none."""
    curve = link.curve
    if curve is None:
        return
    typical_dbm = curve.with_dbm if curve.with_dbm is not None else curve.without_dbm
    out_and_back_m = np.concatenate([curve.distance_m, curve.distance_m[::-1]])
    by_coverage = dict(zip(COVERAGES, case.forecast.level.intervals, strict=True))
    for coverage, veil in zip((0.95, 0.8), case.veils, strict=True):
        ends = [end.value - case.budget.received.value for end in by_coverage[coverage]]
        if ends[0] == ends[1]:
            continue
        low, high = (typical_dbm + off for off in _off_dbm(link, curve.distance_m, ends, coverage))
        figure.add_scatter(
            x=rounded(out_and_back_m, 4),
            y=rounded(np.concatenate([high, low[::-1]]), 2),
            mode="lines",
            fill="toself",
            fillcolor=light(veil),
            line={"width": 0, "color": light(veil)},
            name=f"{100.0 * coverage:.0f} % band, {case.name}",
            hoverinfo="skip",
        )


def _off_dbm(
    link: VariantLink, distance_m: FloatArray, ends_db: Sequence[float], coverage: float
) -> list[FloatArray]:
    """Return how far the ends of the band at the wanted distance lie off the curve elsewhere.

    They move along the curve unchanged, but for the doubt of a slope, which grows with the decades
    from its pivot; it is taken out at the wanted distance, and put in again, as root of squares.
    """
    room = link.room
    slope = room.slope if room is not None else None
    if room is None or slope is None or slope.low is None:
        return [np.full(distance_m.shape, end) for end in ends_db]
    flattest, steepest = of_quantity(slope).interval(coverage)
    half_db = (steepest - flattest) / 2.0
    decades = np.log10(distance_m / room.pivot_m)
    at_wanted_db = half_db * np.log10(link.wanted_distance_m / room.pivot_m)
    middle_db = sum(ends_db) / 2.0
    return [
        middle_db
        + sign
        * np.sqrt(
            np.maximum((end - middle_db) ** 2 - at_wanted_db**2, 0.0) + (half_db * decades) ** 2
        )
        for sign, end in zip((-1.0, 1.0), ends_db, strict=True)
    ]


def mark_wanted(figure: Figure, distance_m: float) -> None:
    """Draw the wanted distance as an upright line, and name it."""
    if distance_m <= 0.0:
        return
    figure.add_vline(x=distance_m, line={"color": light("ink"), "width": 1})
    figure.add_annotation(
        x=float(np.log10(distance_m)),  # plotly places text on a logarithmic axis by its exponent
        y=1.0,
        yref="paper",
        yanchor="bottom",
        text=f"wanted: {typeset(metres(distance_m))}",
        showarrow=False,
    )
