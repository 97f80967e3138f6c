"""Received level against distance, without and with the metal, as far as free space holds."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from linkbudget.report import bounds
from linkbudget.report.figures import (
    Case,
    add_needed,
    canvas,
    cases_of,
    compared,
    log_ticks,
    needed_levels,
    rounded,
)
from linkbudget.report.palette import light
from linkbudget.report.wording import metres, typeset

if TYPE_CHECKING:
    from plotly.graph_objects import Figure

    from linkbudget.core.decibels import FloatArray
    from linkbudget.results import LevelCurve, VariantLink


def level_figure(link: VariantLink) -> Figure:
    """Draw the received level against distance, with and without the metal.

    Parameters
    ----------
    link : VariantLink
        With a comparison and a curve.

    Returns
    -------
    Figure
        Curves, band, needed levels, and the wanted distance.
    """
    curve, comparison = link.curve, compared(link)
    if curve is None:
        raise ValueError("a link without a curve has no level to draw")
    nearest_m, furthest_m = float(curve.distance_m[0]), float(curve.distance_m[-1])
    figure = canvas(
        430,
        {
            "type": "log",
            "range": [float(np.log10(nearest_m)), float(np.log10(furthest_m))],
            "title": {"text": "Distance, m"},
            **log_ticks(nearest_m, furthest_m),
        },
        {"title": {"text": "Received level, dBm"}},
    )
    _add_band(figure, curve)
    if nearest_m < link.free_space_to_m < furthest_m:
        _mark_end_of_free_space(figure, link.free_space_to_m, furthest_m)
    levels = {"without metal": curve.without_dbm, "with metal": curve.with_dbm}
    for case in cases_of(comparison):
        _add_curve(figure, case, link, levels[case.name])
        _add_reach(figure, case, link)
    for name, level_dbm, dash in needed_levels(comparison.without):
        add_needed(figure, name, [nearest_m, furthest_m], [level_dbm, level_dbm], dash)
    _mark_wanted(figure, link.wanted_distance_m)
    figure.update_layout(margin_r=44)  # room for the reach that is printed beside its mark
    return figure


def _add_curve(figure: Figure, case: Case, link: VariantLink, level_dbm: FloatArray | None) -> None:
    """Draw one level, thinner where free space alone no longer holds."""
    if link.curve is None or level_dbm is None:
        return
    distance_m = link.curve.distance_m
    holds = distance_m <= (link.free_space_to_m or np.inf)
    first_beyond = int(np.count_nonzero(holds))
    parts = ((slice(None, first_beyond), 2.5), (slice(max(first_beyond - 1, 0), None), 1.0))
    for at, (part, width) in enumerate(parts):
        if at == 1 and holds.all():
            break
        figure.add_scatter(
            x=rounded(distance_m[part], 4),
            y=rounded(level_dbm[part], 2),
            mode="lines",
            name=case.name if at == 0 else f"{case.name}, beyond free space",
            legendgroup=case.name,
            showlegend=at == 0,
            line={"color": light(case.role), "width": width, "dash": case.dash},
            hovertemplate=f"{case.name}: %{{y:.1f}} dBm at %{{x:.3~g}} m<extra></extra>",
        )


def _add_reach(figure: Figure, case: Case, link: VariantLink) -> None:
    """Mark where the curve meets the level that is needed, and print the distance."""
    comparison = compared(link)
    reach = comparison.reach_without if case.offset < 0.0 else comparison.reach_with
    lowest_log, highest_log = figure.layout.xaxis.range
    if reach is None or not lowest_log <= np.log10(reach.distance.value) <= highest_log:
        return
    told = typeset(metres(reach.distance.value))
    if bounds.is_beyond_free_space(link, reach.distance.value):
        told = f"≤ {told}"
    figure.add_scatter(
        x=[reach.distance.value],
        y=[needed_levels(case.budget)[-1][1]],
        mode="markers+text",
        name=f"{case.name}, reach",
        legendgroup=case.name,
        showlegend=False,
        marker={"color": light(case.role), "size": 11, "symbol": case.symbol},
        text=[f" <b>{told}</b> "],
        textposition="top right" if case.offset < 0.0 else "bottom left",
        textfont={"color": light(case.role)},
        cliponaxis=False,
        hoverinfo="skip",
    )


def _mark_end_of_free_space(figure: Figure, from_m: float, to_m: float) -> None:
    """Shade the distances at which free space alone cannot say."""
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
        text="free space alone cannot say",
        textangle=-90,
        showarrow=False,
        font={"size": 11, "color": light("slate")},
    )


def _add_band(figure: Figure, curve: LevelCurve) -> None:
    low, high = curve.with_low_dbm, curve.with_high_dbm
    if low is None or high is None:
        return
    out_and_back_m = np.concatenate([curve.distance_m, curve.distance_m[::-1]])
    figure.add_scatter(
        x=rounded(out_and_back_m, 4),
        y=rounded(np.concatenate([high, low[::-1]]), 2),
        mode="lines",
        fill="toself",
        fillcolor=light("copper-veil"),
        line={"width": 0, "color": light("copper-veil")},
        name="spread of the metal alone",
        hoverinfo="skip",
    )


def _mark_wanted(figure: Figure, distance_m: float) -> None:
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
