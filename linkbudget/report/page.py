"""One self-contained HTML page: the answer first, then figures, tables, gaps, sources, cautions."""

from __future__ import annotations

import html
import json
import re
from dataclasses import dataclass
from importlib import resources
from typing import TYPE_CHECKING, Any

from linkbudget.core.quantity import KIND_MEANING
from linkbudget.report import (
    bounds,
    figures,
    gathered,
    level_figures,
    range_answer,
    rows,
    scan_figures,
    scans_answer,
    wording,
)
from linkbudget.report.palette import PALETTE, Role, style_variables
from linkbudget.report.scan_groups import ScanGroup, marked_peaks, scan_groups

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup
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
            has_tables=_has_tables(study),
            kinds=KIND_MEANING,
            light=Markup(style_variables("light")),  # noqa: S704 -- our own palette
            dark=Markup(style_variables("dark")),  # noqa: S704 -- our own palette
            style=Markup(_template_text("page.css")),  # noqa: S704 -- a file of this package
            script=Markup(_template_text("page.js")),  # noqa: S704 -- a file of this package
            plotly=Markup(figures.plotly_script()) if drawings else "",  # noqa: S704 -- plotly's own
        )
    )


def _has_tables(study: StudyResult) -> bool:
    emissions = study.emissions
    has_links = any(link.comparison or range_answer.is_refused(link) for link in study.links)
    has_lines = emissions is not None and bool(emissions.variants or emissions.scans)
    return has_links or has_lines or bool(study.booking.facts)


def _template_text(name: str) -> str:
    return resources.files("linkbudget.report").joinpath("templates", name).read_text("utf-8")


def _breakable(key: str) -> Markup:
    """Let a key break after dots and underscores, by nothing that a copy would keep."""
    from markupsafe import Markup

    parts = re.split(r"(?<=[._])", key)
    return Markup("<wbr>").join(parts)


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
        "counted": scans_answer.counted,
        "nearest": scans_answer.nearest,
        "scans_headline": scans_answer.scans_headline,
        "scans_sentences": scans_answer.scans_sentences,
        "state": scans_answer.state,
        "with_detector": wording.with_detector,
        "clean": wording.plain,
        "breakable": _breakable,
        "apart_rows": gathered.apart_rows,
        "cited_documents": gathered.cited_documents,
        "record_groups": gathered.record_groups,
        "unstated_rows": gathered.unstated_rows,
        "with_repeats": rows.with_repeats,
        "typeset": wording.typeset,
    }
    environment.globals |= {
        "range_question": range_answer.RANGE_QUESTION,
        "range_headline": range_answer.range_headline,
        "is_refused": range_answer.is_refused,
        "range_sentences": range_answer.range_sentences,
        "span": lambda low_hz, high_hz: wording.typeset(wording.span(low_hz, high_hz)),
        "standing_words": wording.STANDING_WORDS,
        "emissions_only": wording.EMISSIONS_ONLY,
        "no_action": wording.NO_ACTION,
        "reach_bars": rows.reach_bars,
        "budget_rows": rows.budget_rows,
        "lost_reach": bounds.lost_reach,
        "at_least": bounds.AT_LEAST,
        "metal_rows": rows.metal_rows,
        "gain_sentence": rows.gain_sentence,
        "highest_points": rows.highest_points,
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
        + " ".join(range_answer.range_sentences(link)),
        "Read it from the top: every row is one gain or loss that is not zero, and a stair that"
        " ends to the right of the long-dashed line works at the wanted distance and reliability.",
        figures.budget_figure(link),
    )


def _level_drawing(anchor: str, link: VariantLink) -> Drawing:
    return _drawing(
        anchor,
        f"Level against distance, {link.variant}",
        "Received level falling with distance. " + " ".join(range_answer.range_sentences(link)),
        "Follow a curve to the right until it meets the long-dashed line: beyond that distance the"
        " link works less often than you want." + _level_reading(link),
        level_figures.level_figure(link),
    )


def _level_reading(link: VariantLink) -> str:
    """Say what the veils of the level figure mean, where there are any."""
    curve, told = link.curve, ""
    if curve is None:
        return told
    if curve.with_low_dbm is not None:
        told += (
            " The veil is the spread of the metal alone; what else is uncertain shifts both curves"
            " together."
        )
    if bounds.is_beyond_free_space(link, float(curve.distance_m[-1])):
        told += (
            f" From {wording.metres(link.free_space_to_m)} on the curves are thin: over open ground"
            " the level falls faster than free space alone says."
        )
    return told


def _scan_drawing(anchor: str, group: ScanGroup) -> Drawing:
    peaks = marked_peaks(group)
    scans = "1 scan" if len(group.scans) == 1 else f"{len(group.scans)} scans"
    told = [f"{scans} over {len(group.lines)} limit lines." if group.lines else f"{scans}."]
    if peaks:
        place = wording.frequency(peaks[0].frequency_hz)
        told.append(f"Nearest: {wording.beside_line(peaks[0].margin_db)} at {place}.")
    reading = (
        "A triangle stands over its line, a ring below it, and a diamond over the average line in a"
        " scan that was not read with the average detector; traces show their highest level in"
        f" {scan_figures.DRAWN_STEPS} steps of the axis."
    )
    if not group.lines:
        refused = wording.sentence(group.scans[0].refused or "none is held that fits")
        reading = f"No limit line is drawn. {refused}"
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
