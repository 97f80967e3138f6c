"""The chance of reaching a distance, and the reach of all variants side by side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from linkbudget.report.bounds import at_end
from linkbudget.report.certainty import chance, ends_of_reach
from linkbudget.report.figures import Case, canvas, cases_of, compared, label, rounded
from linkbudget.report.level_figures import (
    clear_of_edges,
    distance_axis,
    mark_beyond_belief,
    mark_wanted,
    shade,
)
from linkbudget.report.palette import light
from linkbudget.report.wording import amount, metres, typeset

if TYPE_CHECKING:
    from plotly.graph_objects import Figure

    from linkbudget.link.forecast import Outcome
    from linkbudget.link.rooms import Room
    from linkbudget.results import VariantLink

_WIDTHS_PX = (11.0, 6.0, 2.0)  # of the bars that hold 50 %, 80 % and 95 %
_BAR_PERCENT = {"without metal": -11.0, "with metal": -24.0}  # where they stand below the curves
_ROW_PX = 84
_LONGEST_VARIANT = 26


def reach_figure(link: VariantLink) -> Figure:
    """Draw the chance that a link reaches at least so far, without the metal and with it.

    Parameters
    ----------
    link : VariantLink
        With a comparison.

    Returns
    -------
    Figure
        Falling curves; below them the 50 %, 80 % and 95 % intervals of the reach with its median.
    """
    cases = cases_of(compared(link))
    nearest_m, furthest_m = _span_m([link])
    figure = canvas(
        430,
        distance_axis(nearest_m, furthest_m),
        {
            "title": {"text": "Chance of reaching at least so far, %"},
            "range": [-32.0, 106.0],
            "tickvals": [0, 25, 50, 75, 100],
        },
    )
    _mark_ends(figure, link.room, nearest_m, furthest_m)
    mark_beyond_belief(figure, link, nearest_m, furthest_m)
    mark_wanted(figure, link.wanted_distance_m)
    for case in cases:
        _add_chances(figure, case, link.room, nearest_m, furthest_m)
        _add_interval(figure, case, link.room, _BAR_PERCENT[case.name])
    for case in cases:
        _add_chance_at(figure, case, link.wanted_distance_m)
    figure.update_layout(margin_r=44)
    return figure


def variants_figure(links: Sequence[VariantLink]) -> Figure:
    """Draw the reach of several variants below each other, with margin and chance beside them.

    Parameters
    ----------
    links : sequence of VariantLink
        Each with a comparison.
    """
    nearest_m, furthest_m = _span_m(links)
    figure = canvas(
        _ROW_PX * len(links) + 90,
        distance_axis(nearest_m, furthest_m) | {"title": {"text": "Reach, m"}},
        {
            "range": [len(links) - 0.4, -0.6],
            "tickvals": list(range(len(links))),
            "ticktext": [_beside(link) for link in links],
            "showgrid": False,
            "ticks": "",
        },
    )
    for row, link in enumerate(links):
        for case in cases_of(compared(link)):
            _add_interval(figure, case, link.room, row + 1.8 * case.offset, in_legend=True)
    for distance_m in sorted({link.wanted_distance_m for link in links}):
        mark_wanted(figure, distance_m)
    return figure


def _beside(link: VariantLink) -> str:
    margin = compared(link).as_built[0].margin
    works = chance(compared(link).as_built[2].chance.value)
    return (
        f"<b>{label(link.variant, _LONGEST_VARIANT)}</b><br>margin {typeset(amount(margin))}"
        f"<br>chance {typeset(works)}"
    )


def _span_m(links: Sequence[VariantLink]) -> tuple[float, float]:
    """Return round distances that hold every reach and every wanted distance [m]."""
    shown = [link.wanted_distance_m for link in links if link.wanted_distance_m > 0.0]
    for link in links:
        for case in cases_of(compared(link)):
            shown += [float(case.forecast.reach.values[end]) for end in (0, -1)]
            shown += [end.value for end in case.forecast.reach.intervals[-1]]
            shown.append(case.reach.distance.value)
    return 0.8 * min(shown), 1.25 * max(shown)


def _add_chances(
    figure: Figure, case: Case, room: Room | None, nearest_m: float, furthest_m: float
) -> None:
    """Draw the chance of at least so far, within the distances of which the room's law speaks."""
    reach = case.forecast.reach
    points = list(zip(reach.values, 100.0 * (1.0 - reach.shares), strict=True))
    starts = sum(at_end(room, at) == "under" for at, _ in points)
    ends = sum(at_end(room, at) == "over" for at, _ in points)
    # draws beyond the law are held at its ends, and no more is known of them than that
    points = points[max(starts - 1, 0) : len(points) - max(ends - 1, 0)]
    low_m, high_m = room.holds_m if room is not None else (nearest_m, furthest_m)
    if not starts:
        points = [(max(nearest_m, low_m), 100.0), (points[0][0], 100.0), *points]
    if not ends:
        points += [(points[-1][0], 0.0), (min(furthest_m, high_m), 0.0)]
    figure.add_scatter(
        x=rounded([at for at, _ in points], 4),
        y=rounded([share for _, share in points], 2),
        mode="lines",
        name=case.name,
        legendgroup=case.name,
        line={"color": light(case.role), "width": 2.5, "dash": case.dash},
        hovertemplate=f"{case.name}: %{{y:.0f}} % reach %{{x:.3~g}} m<extra></extra>",
    )


def _mark_ends(figure: Figure, room: Room | None, nearest_m: float, furthest_m: float) -> None:
    """Shade the distances of which the law of the room does not speak."""
    if room is None:
        return
    low_m, high_m = room.holds_m
    for from_m, to_m in ((nearest_m, low_m), (high_m, furthest_m)):
        if from_m < to_m:
            shade(figure, from_m, to_m, "law ends")


def _add_interval(
    figure: Figure, case: Case, room: Room | None, y: float, *, in_legend: bool = False
) -> None:
    """Draw the intervals of a reach as bars within each other, the median on top."""
    reach, colour = case.forecast.reach, light(case.role)
    bound = {"under": "≤ ", "over": "≥ "}.get(at_end(room, reach.median.value), "")
    for (low, high), width in reversed(list(zip(reach.intervals, _WIDTHS_PX, strict=True))):
        thinnest = width == _WIDTHS_PX[-1]
        figure.add_scatter(
            x=rounded([low.value, high.value], 4),
            y=[y, y],
            mode="lines",
            name=case.name,
            legendgroup=case.name,
            showlegend=in_legend and thinnest and _is_new(figure, case.name),
            line={"color": colour, "width": width, "dash": case.dash if thinnest else "solid"},
            opacity=0.6 if width == _WIDTHS_PX[1] else 1.0,
            hoverinfo="skip",
        )
    figure.add_scatter(
        x=rounded([reach.median.value], 4),
        y=[y],
        mode="markers+text",
        name=f"{case.name}, median",
        legendgroup=case.name,
        showlegend=False,
        marker={
            "color": light("paper"),
            "size": 10,
            "symbol": case.symbol,
            "line": {"color": colour, "width": 2},
        },
        text=[f"{bound}{typeset(metres(reach.median.value))}"],
        textposition=f"top {clear_of_edges(figure, reach.median.value)}",
        textfont={"color": colour},
        cliponaxis=False,
        hovertemplate=f"{case.name}: {_told(reach, room)}<extra></extra>",
    )


def _is_new(figure: Figure, name: str) -> bool:
    return not any(trace.name == name and trace.showlegend for trace in figure.data)


def _told(reach: Outcome, room: Room | None) -> str:
    low, high = ends_of_reach(room, reach.quantity(reach.median.value, ""))
    return f"95 % from {low} to {high}"


def _add_chance_at(figure: Figure, case: Case, wanted_m: float) -> None:
    """Mark how likely the wanted distance works."""
    share = case.forecast.chance.value
    right = case.offset < 0.0
    figure.add_scatter(
        x=[wanted_m],
        y=[100.0 * share],
        mode="markers+text",
        name=f"{case.name}, wanted",
        legendgroup=case.name,
        showlegend=False,
        marker={"color": light(case.role), "size": 11, "symbol": case.symbol},
        text=[f" <b>{typeset(chance(share))}</b> "],
        textposition="top right" if right else "bottom left",
        textfont={"color": light(case.role)},
        cliponaxis=False,
        hoverinfo="skip",
    )
