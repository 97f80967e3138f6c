"""Figures of a study; the one door to plotly.

Every text that a user wrote is escaped, since plotly reads markup in text. Colours are those of
light paper; the page swaps them by role. Nothing is computed here but positions on paper.
"""

from __future__ import annotations

import html
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from linkbudget.report.palette import Role, light
from linkbudget.report.wording import metres, number, plain, typeset

if TYPE_CHECKING:
    from numpy.typing import ArrayLike
    from plotly.graph_objects import Figure

    from linkbudget.core.decibels import FloatArray
    from linkbudget.link.budget import LinkBudget
    from linkbudget.link.reach import LinkComparison
    from linkbudget.results import LevelCurve, VariantLink

ROW_PX = 40  # one step of the budget figure
LONGEST_LABEL = 48
_HEAD_ROWS, _FOOT_ROWS = 0.6, 0.95  # room above the first and below the last step
_SMALLEST_STEP_DB = 0.05  # prints as zero
_FONT = 'system-ui, -apple-system, "Segoe UI", Roboto, "Helvetica Neue", Arial, sans-serif'


def label(text: object, longest: int = LONGEST_LABEL) -> str:
    """Return a user's text, shortened and safe inside a figure.

    Examples
    --------
    >>> label("<b>lid</b>"), label("x" * 60, longest=5)
    ('&lt;b&gt;lid&lt;/b&gt;', 'xxxx…')
    """
    clean = plain(text)
    return html.escape(clean if len(clean) <= longest else clean[: longest - 1] + "…", quote=False)


def plotly_script() -> str:
    """Return plotly's own script, to stand in the page once."""
    from plotly.offline import get_plotlyjs

    return str(get_plotlyjs())


def canvas(height: int, x_axis: dict[str, Any], y_axis: dict[str, Any]) -> Figure:
    """Return an empty figure in the style of the report.

    Parameters
    ----------
    height : int
        Height on a wide screen [px].
    x_axis, y_axis : dict
        Settings of plotly's axes, on top of the common ones.
    """
    from plotly.graph_objects import Figure, layout

    axis = {
        "gridcolor": light("rule"),
        "linecolor": light("muted"),
        "zeroline": False,
        "ticks": "outside",
        "tickcolor": light("rule"),
        "title": {"standoff": 8},
        "automargin": True,
    }
    return Figure(
        layout={
            "template": layout.Template(),  # plotly's own look would cost 7 kB a figure
            "height": height,
            "paper_bgcolor": light("paper"),
            "plot_bgcolor": "rgba(0,0,0,0)",
            "font": {"family": _FONT, "size": 12, "color": light("ink")},
            "margin": {"l": 8, "r": 16, "t": 28, "b": 8},
            "showlegend": False,  # the page draws its own, which the keyboard reaches
            "hoverlabel": {"bgcolor": light("panel"), "font": {"color": light("ink")}},
            "dragmode": False,
            "xaxis": axis | x_axis,
            "yaxis": axis | y_axis,
        }
    )


@dataclass(frozen=True, slots=True)
class _Case:
    """One of the two links that a figure compares, and how it is drawn."""

    name: str
    role: Role
    budget: LinkBudget
    dash: str
    symbol: str
    offset: float  # in rows, so that the two stairs do not hide each other


def _cases(comparison: LinkComparison) -> list[_Case]:
    cases = [_Case("without metal", "lake", comparison.without, "solid", "circle", -0.11)]
    if comparison.with_metal is not None:
        cases.append(
            _Case("with metal", "copper", comparison.with_metal, "8px,3px", "diamond", 0.11)
        )
    return cases


def budget_figure(link: VariantLink) -> Figure:
    """Draw the budget as a stair from the transmitter down to the receiver.

    Parameters
    ----------
    link : VariantLink
        With a comparison.

    Returns
    -------
    Figure
        One stair without metal and one with it; steps of zero are left out.
    """
    cases = _cases(_compared(link))
    steps = _steps(cases[-1].budget)
    names = [_step_text(name, value) for name, value in steps.items()]
    figure = canvas(
        ROW_PX * (len(steps) + 1) + 90,
        {"title": {"text": "Level, dBm"}, "range": _level_range(cases)},
        {
            "range": [len(steps) + _FOOT_ROWS, -_HEAD_ROWS],
            "tickvals": list(range(len(steps) + 1)),
            "ticktext": [*names, "<b>received level</b>"],
            "showgrid": False,
            "ticks": "",
        },
    )
    for case in cases:
        _add_stair(figure, case, list(steps))
        _add_received(figure, case, len(steps))
    for name, level_dbm, dash in _needed_levels(cases[0].budget):
        _add_needed(
            figure, name, [level_dbm, level_dbm], [-_HEAD_ROWS, len(steps) + _FOOT_ROWS], dash
        )
    return figure


def _compared(link: VariantLink) -> LinkComparison:
    if link.comparison is None:
        raise ValueError("a link without a comparison cannot be drawn")
    return link.comparison


def _level_range(cases: Sequence[_Case]) -> list[float]:
    levels = [edge for case in cases for edge in case.budget.received.band]
    levels += [level_dbm for _, level_dbm, _ in _needed_levels(cases[0].budget)]
    tops = [np.cumsum([line.value.value for line in case.budget.lines]).max() for case in cases]
    return [min(levels) - 5.0, float(max(tops)) + 5.0]


def _steps(budget: LinkBudget) -> dict[str, float]:
    """Return the power and every step that is not zero, in order."""
    return {
        line.name: line.value.value
        for at, line in enumerate(budget.lines)
        if at == 0 or abs(line.value.value) >= _SMALLEST_STEP_DB
    }


def _step_text(name: str, value: float) -> str:
    name = name.replace("transmission loss", "loss")  # the table has the full name
    unit, sign = ("dBm", "") if name == "conducted power" else ("dB", "+" if value > 0 else "")
    return f"{label(name)}<br><b>{sign}{typeset(number(value))}</b> {unit}"


def _add_stair(figure: Figure, case: _Case, steps: Sequence[str]) -> None:
    own = {line.name: line.value.value for line in case.budget.lines}
    after = np.cumsum([own.get(step, 0.0) for step in steps])
    rows = np.arange(len(steps)) + case.offset
    # each step runs along its own row, then drops to the next one
    x = np.repeat(after, 2)
    y = np.concatenate([[rows[0]], np.repeat(rows[1:], 2), [len(steps) + case.offset]])
    figure.add_scatter(
        x=rounded(x, 2),
        y=rounded(y, 2),
        mode="lines",
        name=case.name,
        line={"color": light(case.role), "width": 3, "dash": case.dash},
        hovertemplate=f"{case.name}: %{{x:.1f}} dBm<extra></extra>",
    )


def _add_received(figure: Figure, case: _Case, row: int) -> None:
    received, colour = case.budget.received, light(case.role)
    low, high = received.band
    figure.add_scatter(
        x=[received.value],
        y=[row + 2.0 * case.offset],
        mode="markers+text",
        name=f"{case.name}, received",
        showlegend=False,
        marker={"color": colour, "size": 11, "symbol": case.symbol},
        error_x={
            "type": "data",
            "symmetric": False,
            "array": [high - received.value],
            "arrayminus": [received.value - low],
            "color": colour,
            "thickness": 1.5,
            "width": 4,
        },
        text=[f"  {typeset(number(received.value))} dBm"],
        textposition="top right" if case.offset < 0.0 else "bottom right",
        textfont={"color": colour},
        cliponaxis=False,
        hovertemplate=f"{case.name}: %{{x:.1f}} dBm<extra></extra>",
    )


def _needed_levels(budget: LinkBudget) -> list[tuple[str, float, str]]:
    """Return name, level [dBm] and dash of the sensitivity, bare and with the fade allowance."""
    bare, allowance = budget.sensitivity.value, budget.fade_allowance.value
    levels = [(f"sensitivity, {typeset(number(bare))} dBm", bare, "2px,3px")]
    if allowance > 0.0:
        total = bare + allowance
        name = f"sensitivity and fade margin needed, {typeset(number(total))} dBm"
        levels.append((name, total, "10px,4px"))
    return levels


def _add_needed(
    figure: Figure, name: str, x: Sequence[float], y: Sequence[float], dash: str
) -> None:
    figure.add_scatter(
        x=x,
        y=y,
        mode="lines",
        name=name,
        line={"color": light("ink"), "width": 1.5, "dash": dash},
        hoverinfo="skip",
    )


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
    curve, comparison = link.curve, _compared(link)
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
    levels = {"without metal": curve.without_dbm, "with metal": curve.with_dbm}
    for case in _cases(comparison):
        _add_curve(figure, case, curve.distance_m, levels[case.name])
        _add_reach(figure, case, comparison)
    for name, level_dbm, dash in _needed_levels(comparison.without):
        _add_needed(figure, name, [nearest_m, furthest_m], [level_dbm, level_dbm], dash)
    _mark_wanted(figure, link.wanted_distance_m)
    return figure


def _add_curve(
    figure: Figure, case: _Case, distance_m: FloatArray, level_dbm: FloatArray | None
) -> None:
    if level_dbm is None:
        return
    figure.add_scatter(
        x=rounded(distance_m, 4),
        y=rounded(level_dbm, 2),
        mode="lines",
        name=case.name,
        line={"color": light(case.role), "width": 2.5, "dash": case.dash},
        hovertemplate=f"{case.name}: %{{y:.1f}} dBm at %{{x:.3~g}} m<extra></extra>",
    )


def _add_reach(figure: Figure, case: _Case, comparison: LinkComparison) -> None:
    """Mark where the curve meets the level that is needed, and print the distance."""
    reach = comparison.reach_without if case.offset < 0.0 else comparison.reach_with
    lowest_log, highest_log = figure.layout.xaxis.range
    if reach is None or not lowest_log <= np.log10(reach.distance.value) <= highest_log:
        return
    figure.add_scatter(
        x=[reach.distance.value],
        y=[_needed_levels(case.budget)[-1][1]],
        mode="markers+text",
        name=f"{case.name}, reach",
        showlegend=False,
        marker={"color": light(case.role), "size": 11, "symbol": case.symbol},
        text=[f" <b>{typeset(metres(reach.distance.value))}</b>"],
        textposition="top right",
        textfont={"color": light(case.role)},
        hoverinfo="skip",
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
        name="with metal, low to high",
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


def rounded(values: ArrayLike, digits: int) -> list[float]:
    """Return plain numbers, short enough for the page [unit of the values]."""
    return [float(value) for value in np.round(np.asarray(values, dtype=float), digits)]


def log_ticks(low: float, high: float) -> dict[str, Any]:
    """Return ticks of a logarithmic axis: at 1, 2, 5 of each decade, or closer on a short one.

    Examples
    --------
    >>> log_ticks(30.0, 1000.0)["ticktext"]
    ['30', '50', '70', '100', '200', '300', '500', '700', '1000']
    """
    marks = (1, 2, 5) if high / low > 100.0 else (1, 2, 3, 5, 7)
    decades = range(int(np.floor(np.log10(low))), int(np.ceil(np.log10(high))) + 1)
    values = [mark * 10.0**decade for decade in decades for mark in marks]
    inside = [value for value in values if low * 0.999 <= value <= high * 1.001]
    return {"tickvals": inside, "ticktext": [f"{value:.6g}" for value in inside]}
