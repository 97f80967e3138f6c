"""Figures of solved fields: gain in two cuts, impedance and match across the band."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np

from linkbudget.enclosure.fullwave.sides import SIDES, THETA_DEG
from linkbudget.report.figures import canvas, polar_canvas, rounded
from linkbudget.report.palette import Role, light

if TYPE_CHECKING:
    from plotly.graph_objects import Figure

    from linkbudget.core.decibels import FloatArray
    from linkbudget.enclosure.fullwave import FieldComparison, FieldSolution
    from linkbudget.enclosure.geometry import FarEnd

Cut = Literal["along the length", "across the width"]

CUTS: dict[Cut, tuple[str, str]] = {
    "along the length": ("right", "left"),
    "across the width": ("back", "front"),
}
"""The ends of the metal on the right and on the left hand of each cut."""

_POLAR_PX, _MATCH_PX = 370, 370
_RANGE_DB, _STEP_DB = 40.0, 10.0  # from the rim to the middle of the polar figure
_SHEET_SHARE = 0.3  # of the radius; it shows how the sheet lies, not its size


def cut_figure(fields: FieldComparison, cut: Cut, toward: FarEnd) -> Figure:
    """Draw the gain over the directions of one upright plane, with the metal and without.

    Parameters
    ----------
    fields : FieldComparison
    cut : {"along the length", "across the width"}
        The plane through straight up and the length or the width of the metal.
    toward : {"above", "beside", "below", "anywhere"}
        Where the far end is; shaded unless it may be anywhere.

    Returns
    -------
    Figure
        Gain over accepted power at the middle of the band [dBi]; what lies below the middle of the
        figure is drawn there.
    """
    right, left = CUTS[cut]
    top_db = _top_db(fields)
    bottom_db = top_db - _RANGE_DB
    figure = polar_canvas(
        _POLAR_PX,
        {
            "range": [bottom_db, top_db],
            "tickvals": rounded(np.arange(bottom_db + _STEP_DB, top_db + 1.0, _STEP_DB), 1),
            "angle": 45,
            "tickangle": 0,
            "tickfont": {"size": 11, "color": light("muted")},
        },
        {
            "tickvals": [0, 90, 180, 270],
            "ticktext": ["<b>above</b>", right, "<b>below</b>", left],
        },
    )
    _shade_far_end(figure, toward, bottom_db, top_db)
    _add_gain(figure, "without metal", fields.without_metal, cut, bottom_db, "lake", "solid")
    _add_gain(figure, "with metal", fields.with_metal, cut, bottom_db, "copper", "8px,3px")
    half_db = bottom_db + _SHEET_SHARE * _RANGE_DB
    figure.add_scatterpolar(
        r=[half_db, bottom_db, half_db],
        theta=[270.0, 0.0, 90.0],
        mode="lines",
        name="how the sheet lies",
        line={"color": light("ink"), "width": 4, "dash": "solid"},
        hoverinfo="skip",
    )
    return figure


def cut_gain_dbi(solution: FieldSolution, cut: Cut) -> tuple[FloatArray, FloatArray]:
    """Return angle from straight up, clockwise [deg], and gain [dBi] all round one plane."""
    gain = solution.gain_dbi
    around = gain.shape[1]
    first = 0 if cut == "along the length" else around // 4
    one, other = gain[:, first], gain[:, first + around // 2]
    return np.concatenate([THETA_DEG, 180.0 + THETA_DEG[1:]]), np.concatenate([one, other[-2::-1]])


def match_figure(fields: FieldComparison) -> Figure:
    """Draw the share of the source's power that reaches the antenna, across the band.

    Parameters
    ----------
    fields : FieldComparison
        Solved at more than one frequency.

    Returns
    -------
    Figure
        With the metal, as is and re-matched [%].
    """
    frequencies_ghz = rounded(fields.frequencies_hz / 1e9, 4)
    figure = canvas(
        _MATCH_PX,
        {"title": {"text": "Frequency, GHz"}, "range": [frequencies_ghz[0], frequencies_ghz[-1]]},
        {"title": {"text": "Power into the antenna, %"}, "range": [0.0, 104.0], "dtick": 20},
    )
    shares: tuple[tuple[str, FloatArray, Role, str], ...] = (
        ("as is", fields.accepted_share("as is"), "copper", "8px,3px"),
        ("re-matched", fields.accepted_share("re-matched"), "moss", "2px,3px"),
    )
    for name, share, role, dash in shares:
        figure.add_scatter(
            x=frequencies_ghz,
            y=rounded(100.0 * share, 1),
            mode="lines",
            name=name,
            line={"color": light(role), "width": 2.5, "dash": dash},
            hovertemplate=f"{name}: %{{y:.0f}} % at %{{x:.4~g}} GHz<extra></extra>",
        )
    return figure


def impedance_figure(fields: FieldComparison) -> Figure:
    """Draw resistance and reactance at the antenna's port across the band, with the metal and not.

    Parameters
    ----------
    fields : FieldComparison
        Solved at more than one frequency.

    Returns
    -------
    Figure
        Straight lines between the frequencies that were solved [ohm].
    """
    solved = fields.with_metal.frequencies_hz
    figure = canvas(
        _MATCH_PX,
        {"title": {"text": "Frequency, GHz"}, "range": rounded(solved[[0, -1]] / 1e9, 4)},
        {"title": {"text": "Impedance at the port, ohm"}, "zeroline": True},
    )
    cases: tuple[tuple[str, FieldSolution, Role], ...] = (
        ("without metal", fields.without_metal, "lake"),
        ("with metal", fields.with_metal, "copper"),
    )
    for case, solution, role in cases:
        impedance = solution.port_impedance_ohm
        parts = (("R", impedance.real, "solid"), ("X", impedance.imag, "8px,3px"))
        for part, ohm, dash in parts:
            name = f"{part} {case}"
            figure.add_scatter(
                x=rounded(solution.frequencies_hz / 1e9, 4),
                y=rounded(ohm, 1),
                mode="lines",
                name=name,
                line={"color": light(role), "width": 2.5, "dash": dash},
                hovertemplate=f"{name}: %{{y:.0f}} ohm at %{{x:.4~g}} GHz<extra></extra>",
            )
    return figure


def _top_db(fields: FieldComparison) -> float:
    """Return the rim of the figures, the same for both cuts [dBi]."""
    highest = max(
        float(cut_gain_dbi(solution, cut)[1].max())
        for solution in (fields.with_metal, fields.without_metal)
        for cut in CUTS
    )
    return float(_STEP_DB * np.ceil(highest / _STEP_DB))


def _add_gain(
    figure: Figure,
    name: str,
    solution: FieldSolution,
    cut: Cut,
    bottom_db: float,
    role: Role,
    dash: str,
) -> None:
    angle_deg, gain_dbi = cut_gain_dbi(solution, cut)
    figure.add_scatterpolar(
        r=rounded(np.maximum(gain_dbi, bottom_db), 2),
        theta=rounded(angle_deg, 1),
        customdata=rounded(gain_dbi, 1),
        mode="lines",
        name=name,
        line={"color": light(role), "width": 2.5, "dash": dash},
        hovertemplate=f"{name}: %{{customdata:.1f}} dBi<extra></extra>",
    )


def _shade_far_end(figure: Figure, toward: FarEnd, bottom_db: float, top_db: float) -> None:
    if toward == "anywhere":
        return
    low, high = SIDES[toward]
    arc = np.linspace(low, high, 31)
    # one sector on the right hand and one on the left; they meet in the middle of the figure
    angles = np.concatenate([[low], arc, [high], [360.0 - high], 360.0 - arc[::-1], [360.0 - low]])
    rims = np.full(arc.size, top_db)
    ends = [bottom_db]
    figure.add_scatterpolar(
        r=rounded(np.concatenate([ends, rims, ends, ends, rims, ends]), 2),
        theta=rounded(angles, 1),
        mode="lines",
        fill="toself",
        fillcolor=light("slate-veil"),
        line={"width": 0, "color": light("slate-veil")},
        name="where the far end may be",
        hoverinfo="skip",
    )
