"""The figures of the page, each with the words that stand beside it."""

from __future__ import annotations

import html
import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from linkbudget.report import (
    bounds,
    figures,
    level_figures,
    range_answer,
    scan_figures,
    wording,
)
from linkbudget.report.palette import PALETTE, Role
from linkbudget.report.scan_groups import ScanGroup, marked_peaks, scan_groups

if TYPE_CHECKING:
    from plotly.graph_objects import Figure

    from linkbudget.results import StudyResult, VariantLink

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
        """Section that it belongs to: "link", "metal" or "scans"."""
        return next((part for part in ("metal", "scans") if self.anchor.startswith(part)), "link")

    @property
    def zoomable(self) -> bool:
        """Whether a reader may want to look closer."""
        return self.part == "scans"

    @property
    def height(self) -> int:
        """Height on a wide screen [px]."""
        return int(self.spec["layout"]["height"])


def link_and_scan_drawings(study: StudyResult) -> tuple[Drawing, ...]:
    """Return the figures of the links and of the scans, in their order."""
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
    return drawing_of(
        anchor,
        f"The budget in steps, {link.variant}",
        f"Stair of levels at {wording.metres(link.wanted_distance_m)}. "
        + " ".join(range_answer.range_sentences(link)),
        "Read it from the top: every row is one gain or loss that is not zero, and a stair that"
        " ends to the right of the long-dashed line works at the wanted distance and reliability.",
        figures.budget_figure(link),
    )


def _level_drawing(anchor: str, link: VariantLink) -> Drawing:
    return drawing_of(
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
    return drawing_of(anchor, group.title, " ".join(told), reading, figure)


def drawing_of(anchor: str, title: str, described: str, reading: str, figure: Figure) -> Drawing:
    """Return a figure with its words, and with the legend that the page draws for it.

    Parameters
    ----------
    anchor : str
        Name of its place on the page; it begins with the part that it belongs to.
    title, described, reading : str
        Heading, what it shows, and how to read it.
    figure : Figure
    """
    spec = json.loads(str(figure.to_json()))
    keys = tuple(_key(at, t) for at, t in enumerate(spec["data"]) if t.get("showlegend", True))
    return Drawing(anchor, title, described, reading, spec, keys)


def _key(at: int, trace: dict[str, Any]) -> Key:
    shape = "area" if "fill" in trace else "line" if trace["mode"] == "lines" else "mark"
    colour = trace["line"]["color"] if shape != "mark" else PALETTE["ink"][0]
    dash = str(trace.get("line", {}).get("dash", "solid"))
    dashes = "" if dash == "solid" else dash.replace("px", "")
    return Key(at, html.unescape(trace["name"]), _ROLE_OF[colour], dashes, shape)
