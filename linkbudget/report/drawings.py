"""The figures of the page, each with the words that stand beside it."""

from __future__ import annotations

import html
import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from linkbudget.report import (
    bounds,
    certainty,
    figures,
    level_figures,
    range_answer,
    reach_figures,
    scan_figures,
    wording,
)
from linkbudget.report.forecast_rows import compared_links
from linkbudget.report.palette import PALETTE, Role
from linkbudget.report.scan_groups import ScanGroup, marked_peaks, scan_groups

if TYPE_CHECKING:
    from plotly.graph_objects import Figure

    from linkbudget.results import StudyResult, VariantLink

_BARS = (
    "The bars hold 50 % (thick), 80 % and 95 % (thin) of the draws, and the open mark is their"
    " median."
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
        """Section that it belongs to: "link", "metal" or "scans"."""
        return next((part for part in ("metal", "scans") if self.anchor.startswith(part)), "link")

    @property
    def link_at(self) -> int:
        """Place of the link whose reach it shows."""
        return int(self.anchor.removeprefix("reach-"))

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
    beside = compared_links(study.links)
    if beside:
        drawings.append(_variants_drawing(beside))
    for at, link in enumerate(study.links):
        if link.comparison is None:
            continue
        drawings.append(_reach_drawing(f"reach-{at}", link))
        if link.curve is not None:
            drawings.append(_level_drawing(f"level-{at}", link))
        drawings.append(_budget_drawing(f"budget-{at}", link))
    if study.emissions is not None:
        for at, group in enumerate(scan_groups(study.emissions)):
            drawings.append(_scan_drawing(f"scans-{at}", group))
    return tuple(drawings)


def _variants_drawing(links: Sequence[VariantLink]) -> Drawing:
    told = [f"{link.variant}: {certainty.leading(link)}." for link in links]
    return drawing_of(
        "variants",
        "The variants side by side",
        "Reach of each variant with its intervals. " + " ".join(told),
        f"{_BARS} Margin and chance are those of the wanted distance, with the metal where there"
        " is any.",
        reach_figures.variants_figure(links),
    )


def _reach_drawing(anchor: str, link: VariantLink) -> Drawing:
    return drawing_of(
        anchor,
        f"How sure the reach is, {link.variant}",
        f"Chance of reaching at least so far. {certainty.leading(link)}."
        f" {certainty.chance_sentence(link)}",
        "Follow the wanted distance up to a curve: the mark there is the chance that it works in"
        f" {certainty.wanted_share(link)}. {_BARS}",
        reach_figures.reach_figure(link),
    )


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
    curve, found, told = link.curve, link.comparison, ""
    if curve is None or found is None:
        return told
    low, high = found.as_built[2].level.intervals[-1]
    if low.value != high.value:
        told += (
            " The veils hold 80 % and 95 % of what the level may be, fading not in it: those of"
            " the forecast at the wanted distance, moved along the curve."
        )
        if (
            link.room is not None
            and link.room.slope is not None
            and link.room.slope.low is not None
        ):
            told += (
                " What is not known of how fast the level falls counts for nothing at"
                f" {wording.metres(link.room.pivot_m)}, where they are narrowest, and for more"
                " either way."
            )
    if bounds.is_beyond_belief(link, float(curve.distance_m[-1])) and link.room is not None:
        told += (
            f" From {wording.metres(link.room.believed_to_m)} on the curves are thin:"
            f" {link.room.name} alone promises too much there."
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
