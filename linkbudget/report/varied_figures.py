"""Margin and reach against one varied field, with their bands."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from linkbudget.report.drawings import Drawing, drawing_of
from linkbudget.report.figures import add_needed, canvas, label, rounded
from linkbudget.report.palette import Role, light
from linkbudget.report.varied import Answered, answered, column, sentences, variant_names

if TYPE_CHECKING:
    from plotly.graph_objects import Figure

    from linkbudget.core.quantity import Quantity
    from linkbudget.results import VariedField, VaryResult

_HEIGHT_PX = 330
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")
_BAND = "95 % of the draws"
_ROLE: Role = "copper"


def varied_drawings(varied: VaryResult) -> tuple[Drawing, ...]:
    """Return margin and reach of every variant; nothing where two fields were varied."""
    if len(varied.fields) != 1:
        return ()
    drawings = []
    for at, name in enumerate(variant_names(varied)):
        points = [answered(*each) for each in column(varied, at)]
        if not any(points):
            continue
        told = " ".join(sentences(varied, at))
        drawings.append(
            drawing_of(
                f"margin-{at}",
                f"Margin at the wanted distance, {name}",
                f"Margin against {varied.fields[0].key}. {told}",
                "Above the dashed line the wanted distance works; where the band crosses it, it is"
                " too close to call. The bar at each value holds 95 % of the draws.",
                margin_figure(varied.fields[0], points),
            )
        )
        drawings.append(
            drawing_of(
                f"reach-{at}",
                f"Reach, {name}",
                f"Reach against {varied.fields[0].key}. {told}",
                "The distance at which nothing is left of the margin; where it runs flat, it met"
                " the end of the room's law.",
                reach_figure(varied.fields[0], points),
            )
        )
    return tuple(drawings)


def margin_figure(field: VariedField, points: Sequence[Answered | None]) -> Figure:
    """Draw the margin at every value of a field; a refused one is marked.

    Parameters
    ----------
    field : VariedField
    points : sequence of Answered or None
        One for each value of the field, in its order.
    """
    found = [None if each is None else each.margin for each in points]
    figure = _figure(field, found, "Margin, dB", "dB")
    x = _places(field)
    add_needed(figure, "nothing to spare", [min(x), max(x)], [0.0, 0.0], "10px,4px")
    return figure


def reach_figure(field: VariedField, points: Sequence[Answered | None]) -> Figure:
    """Draw the reach at every value of a field; see ``margin_figure``."""
    found = [None if each is None else each.reach for each in points]
    figure = _figure(field, found, "Reach, m", "m")
    figure.update_yaxes(rangemode="tozero")
    x = _places(field)
    ordered = sorted((x[at], each.wanted_m) for at, each in enumerate(points) if each is not None)
    if ordered[0] != ordered[-1]:
        add_needed(figure, "wanted", *_columns(ordered), "10px,4px")
    return figure


def _columns(pairs: Sequence[tuple[float, float]]) -> tuple[list[float], list[float]]:
    return [x for x, _ in pairs], [y for _, y in pairs]


def _places(field: VariedField) -> list[float]:
    """Return where the values stand: at their numbers, or one after another."""
    return list(field.numbers) or [float(at) for at in range(len(field.values))]


def _figure(field: VariedField, found: Sequence[Quantity | None], title: str, unit: str) -> Figure:
    x = _places(field)
    axis: dict[str, Any] = {
        "title": {"text": label(f"{field.key}, {field.unit}" if field.unit else field.key)}
    }
    if not field.numbers:
        room = 0.4
        axis |= {
            "tickvals": x,
            "ticktext": [label(value, 16) for value in field.values],
            "range": [-room, len(x) - 1 + room],
        }
    figure = canvas(_HEIGHT_PX, axis, {"title": {"text": title}})
    if field.numbers:
        for run in _runs(sorted(zip(x, found, strict=True), key=lambda pair: pair[0])):
            _add_band(figure, run)
            _add_line(figure, run)
    _add_marks(figure, field, found, unit)
    for place, each in zip(x, found, strict=True):
        if each is None:
            _mark(figure, place, "refused", "slate", "dot")
    for place in _stated_place(field):
        _mark(figure, place, "in the scenario", "ink", "solid")
    return figure


def _stated_place(field: VariedField) -> list[float]:
    """Return where the scenario's own value stands; nothing where it is of another sort."""
    if field.stated in field.values:
        return [_places(field)[field.values.index(field.stated)]]
    number = field.stated.removesuffix(field.unit).strip()
    is_number = field.numbers and _NUMBER.fullmatch(number)
    return [float(number)] if is_number else []


def _runs(
    pairs: Sequence[tuple[float, Quantity | None]],
) -> Iterator[list[tuple[float, Quantity]]]:
    """Split the points where one is refused: no line runs across what is not known."""
    for known, run in itertools.groupby(pairs, key=lambda pair: pair[1] is not None):
        if known:
            yield [(x, each) for x, each in run if each is not None]


def _add_band(figure: Figure, run: Sequence[tuple[float, Quantity]]) -> None:
    x = [place for place, _ in run]
    low, high = ([each.band[end] for _, each in run] for end in (0, 1))
    figure.add_scatter(
        x=rounded([*x, *x[::-1]], 9),
        y=rounded([*high, *low[::-1]], 3),
        mode="lines",
        fill="toself",
        fillcolor=light("copper-veil"),
        line={"width": 0, "color": light("copper-veil")},
        name=_BAND,
        legendgroup=_BAND,
        showlegend=_is_new(figure, _BAND),
        hoverinfo="skip",
    )


def _add_line(figure: Figure, run: Sequence[tuple[float, Quantity]]) -> None:
    figure.add_scatter(
        x=rounded([place for place, _ in run], 9),
        y=rounded([each.value for _, each in run], 3),
        mode="lines",
        name="typical",
        legendgroup="typical",
        showlegend=_is_new(figure, "typical"),
        line={"color": light(_ROLE), "width": 2.5},
        hoverinfo="skip",
    )


def _is_new(figure: Figure, name: str) -> bool:
    return all(trace.name != name for trace in figure.data)


def _add_marks(
    figure: Figure, field: VariedField, found: Sequence[Quantity | None], unit: str
) -> None:
    """Mark every value with the ends of its band."""
    shown = [
        (place, value, each)
        for place, value, each in zip(_places(field), field.values, found, strict=True)
        if each is not None
    ]
    values = [each.value for _, _, each in shown]
    figure.add_scatter(
        x=rounded([place for place, _, _ in shown], 9),
        y=rounded(values, 3),
        mode="markers",
        name="each value",
        legendgroup="typical",
        showlegend=False,
        marker={"color": light(_ROLE), "size": 9, "symbol": "diamond"},
        error_y={
            "type": "data",
            "symmetric": False,
            "array": rounded([each.band[1] - each.value for _, _, each in shown], 3),
            "arrayminus": rounded([each.value - each.band[0] for _, _, each in shown], 3),
            "color": light(_ROLE),
            "thickness": 1.2,
            "width": 4,
        },
        text=[label(value) for _, value, _ in shown],
        hovertemplate=f"%{{text}}: %{{y:.1f}} {unit}<extra></extra>",
    )


def _mark(figure: Figure, place: float, text: str, role: Role, dash: str) -> None:
    figure.add_vline(x=place, line={"color": light(role), "width": 1, "dash": dash}, layer="below")
    figure.add_annotation(
        x=place,
        y=1.0,
        yref="paper",
        yanchor="bottom",
        text=text,
        showarrow=False,
        font={"size": 11, "color": light(role)},
    )
