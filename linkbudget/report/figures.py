"""The canvas of every figure, and the budget in steps; the one door to plotly.

Every text that a user wrote is escaped, since plotly reads markup in text. Colours are those of
light paper; the page swaps them by role. Nothing is computed here but positions on paper.
"""

from __future__ import annotations

import html
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from linkbudget.report.palette import Role, light
from linkbudget.report.wording import listed, number, plain, typeset

if TYPE_CHECKING:
    from numpy.typing import ArrayLike
    from plotly.graph_objects import Figure

    from linkbudget.link.budget import LinkBudget
    from linkbudget.link.forecast import Forecast
    from linkbudget.link.reach import LinkComparison, Reach
    from linkbudget.results import VariantLink

ROW_PX = 40  # one step of the budget figure
LONGEST_LABEL = 48
_STEP_COLUMNS = 26  # else a narrow screen has no room left for the stair
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
    plain = {"zeroline": False, "title": {"standoff": 8}, "automargin": True}
    return _figure(height, {"xaxis": _axis(plain) | x_axis, "yaxis": _axis(plain) | y_axis})


def polar_canvas(height: int, radial: dict[str, Any], angular: dict[str, Any]) -> Figure:
    """Return an empty figure of directions, straight up at the top and turning clockwise.

    Parameters
    ----------
    height : int
        Height on a wide screen [px].
    radial, angular : dict
        Settings of plotly's axes, on top of the common ones.
    """
    turned = {"rotation": 90, "direction": "clockwise", "showline": False}
    polar = {
        "bgcolor": "rgba(0,0,0,0)",
        "radialaxis": _axis({"showline": False, "ticks": ""}) | radial,
        "angularaxis": _axis(turned) | angular,
    }
    return _figure(height, {"polar": polar, "margin": {"l": 42, "r": 42, "t": 30, "b": 30}})


def _axis(more: dict[str, Any] | None = None) -> dict[str, Any]:
    return {
        "gridcolor": light("rule"),
        "linecolor": light("muted"),
        "ticks": "outside",
        "tickcolor": light("rule"),
    } | (more or {})


def _figure(height: int, own: dict[str, Any]) -> Figure:
    from plotly.graph_objects import Figure, layout

    return Figure(
        layout={
            "template": layout.Template(),  # plotly's own look would cost 7 kB a figure
            "height": height,
            "paper_bgcolor": light("paper"),
            "plot_bgcolor": "rgba(0,0,0,0)",
            "font": {"family": _FONT, "size": 12, "color": light("ink")},
            "margin": {"l": 8, "r": 16, "t": 28, "b": 8},
            "showlegend": False,  # the page draws its own, which the tab key reaches
            "hoverlabel": {"bgcolor": light("panel"), "font": {"color": light("ink")}},
            "dragmode": False,
        }
        | own
    )


@dataclass(frozen=True, slots=True)
class Case:
    """One of the two links that a figure compares, and how it is drawn."""

    name: str
    role: Role
    veils: tuple[Role, Role]  # of its 95 % band, and of the 80 % band on top
    budget: LinkBudget
    reach: Reach
    forecast: Forecast
    dash: str
    symbol: str
    offset: float  # in rows, so that the two stairs do not hide each other


def cases_of(comparison: LinkComparison) -> list[Case]:
    """Return the link without metal and, where there is any, the one with it."""
    without, *with_metal = comparison.cases
    veils: tuple[Role, Role] = ("lake-haze", "lake-veil")
    cases = [Case("without metal", "lake", veils, *without, "solid", "circle", -0.11)]
    veils = ("copper-haze", "copper-veil")
    cases += [
        Case("with metal", "copper", veils, *case, "8px,3px", "diamond", 0.11)
        for case in with_metal
    ]
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
    cases = cases_of(compared(link))
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
    for name, level_dbm, dash in needed_levels(cases[0].budget):
        add_needed(
            figure, name, [level_dbm, level_dbm], [-_HEAD_ROWS, len(steps) + _FOOT_ROWS], dash
        )
    return figure


def compared(link: VariantLink) -> LinkComparison:
    """Return the comparison that a figure needs; a link without one cannot be drawn."""
    if link.comparison is None:
        raise ValueError("a link without a comparison cannot be drawn")
    return link.comparison


def _level_range(cases: Sequence[Case]) -> list[float]:
    levels = [edge for case in cases for edge in case.budget.received.band]
    levels += [level_dbm for _, level_dbm, _ in needed_levels(cases[0].budget)]
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
    name = name.replace("transmission loss, ", "loss, ")  # the table has the full name
    unit, sign = ("dBm", "") if name == "conducted power" else ("dB", "+" if value > 0 else "")
    told = "<br>".join(label(line) for line in textwrap.wrap(name, _STEP_COLUMNS)[:2])
    return f"{told}<br><b>{sign}{typeset(number(value))}</b> {unit}"


def _add_stair(figure: Figure, case: Case, steps: Sequence[str]) -> None:
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
        legendgroup=case.name,
        line={"color": light(case.role), "width": 3, "dash": case.dash},
        hovertemplate=f"{case.name}: %{{x:.1f}} dBm<extra></extra>",
    )


def _add_received(figure: Figure, case: Case, row: int) -> None:
    received, colour = case.budget.received, light(case.role)
    low, high = received.band
    figure.add_scatter(
        x=[received.value],
        y=[row + 2.0 * case.offset],
        mode="markers+text",
        name=f"{case.name}, received",
        legendgroup=case.name,
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


def needed_levels(budget: LinkBudget) -> list[tuple[str, float, str]]:
    """Return name, level [dBm] and dash of the sensitivity, bare and with all that is set aside."""
    bare = budget.sensitivity.value
    aside = {"noise rise": budget.desensitisation, "fade margin needed": budget.fade_allowance}
    raised = {name: one.value for name, one in aside.items() if one.value >= _SMALLEST_STEP_DB}
    levels = [(f"sensitivity, {typeset(number(bare))} dBm", bare, "2px,3px")]
    if raised:
        total = bare + sum(raised.values())
        name = listed(["sensitivity", *raised])
        levels.append((f"{name}, {typeset(number(total))} dBm", total, "10px,4px"))
    return levels


def add_needed(
    figure: Figure, name: str, x: Sequence[float], y: Sequence[float], dash: str
) -> None:
    """Draw a level that the link needs."""
    figure.add_scatter(
        x=x,
        y=y,
        mode="lines",
        name=name,
        line={"color": light("ink"), "width": 1.5, "dash": dash},
        hoverinfo="skip",
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
