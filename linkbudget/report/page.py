"""One self-contained HTML page: the answer first, then figures, tables, gaps, sources, cautions."""

from __future__ import annotations

import html
import json
from dataclasses import dataclass
from importlib import resources
from typing import TYPE_CHECKING, Any

from linkbudget.core.quantity import KIND_MEANING
from linkbudget.report import figures, rows, scan_figures, wording
from linkbudget.report.palette import PALETTE, Role, style_variables
from linkbudget.report.scan_groups import ScanGroup, marked_peaks, scan_groups

if TYPE_CHECKING:
    from jinja2 import Environment
    from plotly.graph_objects import Figure

    from linkbudget.results import (
        StudyResult,
        VariantLink,
    )

_ROLE_OF = {pair[0]: role for role, pair in PALETTE.items()}


@dataclass(frozen=True, slots=True)
class Key:
    """One entry of a figure's legend, which the page draws as a button.

    Parameters
    ----------
    index : int
        Which trace it shows or hides.
    name : str
    role : str
        Colour by role.
    dashes : str
        Dash pattern of a line [px]; "" for a solid one.
    shape : {"line", "area", "mark"}
    """

    index: int
    name: str
    role: Role
    dashes: str
    shape: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """A figure as the page shows it: what plotly needs, and what the reader needs beside it."""

    anchor: str
    title: str
    described: str
    reading: str
    spec: dict[str, Any]
    keys: tuple[Key, ...]

    @property
    def part(self) -> str:
        """Section that it belongs to: "link" or "scans"."""
        return "scans" if self.zoomable else "link"

    @property
    def zoomable(self) -> bool:
        """Whether a reader may want to look closer."""
        return self.anchor.startswith("scans")

    @property
    def height(self) -> int:
        """Height on a wide screen [px]."""
        return int(self.spec["layout"]["height"])


def render_page(study: StudyResult) -> str:
    """Render a study as one HTML file that needs nothing else, not even a network.

    Parameters
    ----------
    study : StudyResult
        Whole or partial; a part that was not asked for is left out.

    Returns
    -------
    str
        The page, plotly's script included once.
    """
    from markupsafe import Markup

    drawings = _drawings(study)
    figure_data = {
        "swap": dict(PALETTE.values()),
        "paper": PALETTE["paper"][0],
        "drawings": {
            d.anchor: {"data": d.spec["data"], "layout": d.spec["layout"], "zoomable": d.zoomable}
            for d in drawings
        },
    }
    return str(
        _environment()
        .get_template("page.html")
        .render(
            study=study,
            drawings={d.anchor: d for d in drawings},
            figure_data=figure_data,
            kinds=KIND_MEANING,
            light=Markup(style_variables("light")),  # noqa: S704 -- our own palette
            dark=Markup(style_variables("dark")),  # noqa: S704 -- our own palette
            style=Markup(_template_text("page.css")),  # noqa: S704 -- a file of this package
            script=Markup(_template_text("page.js")),  # noqa: S704 -- a file of this package
            plotly=Markup(figures.plotly_script()) if drawings else "",  # noqa: S704 -- plotly's own
        )
    )


def _template_text(name: str) -> str:
    return resources.files("linkbudget.report").joinpath("templates", name).read_text("utf-8")


def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("linkbudget.report", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {
        "amount": lambda quantity: wording.typeset(wording.amount(quantity)),
        "band": lambda quantity: wording.typeset(wording.band(quantity)),
        "decimal": lambda value: wording.typeset(wording.number(value)),
        "metres": lambda distance_m: wording.typeset(wording.metres(distance_m)),
        "frequency": lambda frequency_hz: wording.typeset(wording.frequency(frequency_hz)),
        "beside_line": lambda margin_db: wording.typeset(wording.beside_line(margin_db)),
        "line_name": lambda line: wording.typeset(wording.line_name(line)),
        "counted": wording.counted,
        "nearest": wording.nearest,
        "clean": wording.plain,
        "typeset": wording.typeset,
    }
    environment.globals |= {
        "range_headline": wording.range_headline,
        "range_sentences": wording.range_sentences,
        "span": lambda low_hz, high_hz: wording.typeset(wording.span(low_hz, high_hz)),
        "standing_words": wording.STANDING_WORDS,
        "emissions_only": wording.EMISSIONS_ONLY,
        "no_action": wording.NO_ACTION,
        "reach_bars": rows.reach_bars,
        "budget_rows": rows.budget_rows,
        "metal_rows": rows.metal_rows,
        "record_rows": rows.record_rows,
        "matrix_rows": rows.matrix_rows,
        "strip": rows.strip,
        "worst_rows": rows.worst_rows,
        "lines_in_use": rows.lines_in_use,
    }
    return environment


def _drawings(study: StudyResult) -> tuple[Drawing, ...]:
    drawings: list[Drawing] = []
    for at, link in enumerate(study.links):
        if link.comparison is None:
            continue
        drawings.append(_budget_drawing(f"budget-{at}", link))
        if link.curve is not None:
            drawings.append(_level_drawing(f"level-{at}", link))
    if study.emissions is not None:
        for at, group in enumerate(scan_groups(study.emissions)):
            drawings.append(_scan_drawing(f"scans-{at}", group))
    return tuple(drawings)


def _budget_drawing(anchor: str, link: VariantLink) -> Drawing:
    return _drawing(
        anchor,
        f"The budget in steps, {link.variant}",
        f"Stair of levels at {wording.metres(link.wanted_distance_m)}. "
        + " ".join(wording.range_sentences(link)),
        "Read it from the top: every row is one gain or loss that is not zero, and a stair that"
        " ends to the right of the long-dashed line works at the wanted distance and reliability.",
        figures.budget_figure(link),
    )


def _level_drawing(anchor: str, link: VariantLink) -> Drawing:
    return _drawing(
        anchor,
        f"Level against distance, {link.variant}",
        "Received level falling with distance. " + " ".join(wording.range_sentences(link)),
        "Follow a curve to the right until it meets the long-dashed line: beyond that distance the"
        " link works less often than you want.",
        figures.level_figure(link),
    )


def _scan_drawing(anchor: str, group: ScanGroup) -> Drawing:
    peaks = marked_peaks(group)
    told = [f"{len(group.scans)} scans over {len(group.lines)} limit lines."]
    if peaks:
        place = wording.frequency(peaks[0].frequency_hz)
        told.append(f"Nearest: {wording.beside_line(peaks[0].margin_db)} at {place}.")
    reading = (
        "A triangle stands over its line, a ring below it, and a diamond over the average line in a"
        " scan that was not read with the average detector; traces show their highest level in"
        f" {scan_figures.DRAWN_STEPS} steps of the axis."
    )
    if not group.lines:
        reading = "No limit line may be drawn over this scan: " + (
            group.scans[0].refused or "none is held for it."
        )
    figure = scan_figures.scan_figure(group)
    return _drawing(anchor, group.title, " ".join(told), reading, figure)


def _drawing(
    anchor: str,
    title: str,
    described: str,
    reading: str,
    figure: Figure,
) -> Drawing:
    spec = json.loads(str(figure.to_json()))
    keys = tuple(_key(at, t) for at, t in enumerate(spec["data"]) if t.get("showlegend", True))
    return Drawing(anchor, title, described, reading, spec, keys)


def _key(at: int, trace: dict[str, Any]) -> Key:
    shape = "area" if "fill" in trace else "line" if trace["mode"] == "lines" else "mark"
    colour = trace["line"]["color"] if shape != "mark" else PALETTE["ink"][0]
    dash = str(trace.get("line", {}).get("dash", "solid"))
    dashes = "" if dash == "solid" else dash.replace("px", "")
    return Key(at, html.unescape(trace["name"]), _ROLE_OF[colour], dashes, shape)
