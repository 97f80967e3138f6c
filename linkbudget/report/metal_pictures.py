"""What the page draws of the metal: its geometry, the fields round it, and what would help."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from linkbudget.report import wording
from linkbudget.report.change_drawing import change_views
from linkbudget.report.drawings import Drawing, drawing_of
from linkbudget.report.field_figures import CUTS, cut_figure, impedance_figure, match_figure
from linkbudget.report.field_rows import far_end
from linkbudget.report.scene_drawing import scene_facts, scene_views
from linkbudget.report.strokes import View

if TYPE_CHECKING:
    from linkbudget.core.quantity import Quantity
    from linkbudget.enclosure.fullwave import FieldComparison, FieldSolution
    from linkbudget.enclosure.geometry import FarEnd
    from linkbudget.results import StudyResult, VariantLink


@dataclass(frozen=True, slots=True)
class MetalPicture:
    """Everything drawn of one geometry, which several variants may share.

    Parameters
    ----------
    title : str
        The variants.
    views : tuple of View
        From above, the front and the right; none where the geometry is not known.
    facts : tuple of (str, str)
        Names and dimensions of what is drawn.
    drawings : tuple of Drawing
        Gain in two cuts, impedance and match; none without solved fields.
    changes : tuple of View
        Gain against every dimension whose change helps.
    reach_drawn : bool
        Whether they have a scale of metres as well.
    """

    title: str
    views: tuple[View, ...]
    facts: tuple[tuple[str, str], ...]
    drawings: tuple[Drawing, ...]
    changes: tuple[View, ...]
    reach_drawn: bool


def metal_pictures(study: StudyResult) -> tuple[MetalPicture, ...]:
    """Return the pictures of every geometry once, in the order of the variants."""
    shared: dict[object, list[VariantLink]] = {}
    for link in study.links:
        if link.scene is not None or link.fields is not None or link.changes:
            key = (link.scene, link.frequency_hz, link.fields is None, bool(link.changes))
            shared.setdefault(key, []).append(link)
    return tuple(_picture(at, links) for at, links in enumerate(shared.values()))


def _picture(at: int, links: Sequence[VariantLink]) -> MetalPicture:
    link = links[0]
    toward = far_end(link)
    reach = _reach(links)
    views: tuple[View, ...] = ()
    facts: tuple[tuple[str, str], ...] = ()
    if link.scene is not None:
        views = scene_views(link.scene, link.frequency_hz, toward)
        facts = scene_facts(link.scene, link.frequency_hz, toward)
    return MetalPicture(
        wording.listed([one.variant for one in links]),
        views,
        facts,
        _field_drawings(f"metal-{at}", link.fields, toward) if link.fields is not None else (),
        change_views(link.changes, reach, link.room),
        reach is not None and link.room is not None,
    )


def _reach(links: Sequence[VariantLink]) -> Quantity | None:
    """Return the reach with the metal, where all variants of a picture share it [m]."""
    found = [one.comparison.reach_with for one in links if one.comparison is not None]
    reaches = [one.distance for one in found if one is not None]
    if len(reaches) < len(links) or len({round(one.value, 3) for one in reaches}) != 1:
        return None
    return reaches[0]


def _field_drawings(anchor: str, fields: FieldComparison, toward: FarEnd) -> tuple[Drawing, ...]:
    change = wording.amount(fields.mean_gain(toward))
    side = toward if toward != "anywhere" else "in all directions"
    drawings = [
        drawing_of(
            f"{anchor}-cut-{number}",
            f"Gain, dBi, {cut}",
            f"Gain over the directions of the upright plane {cut}, with the metal and without."
            f" Mean change {side}: {change}.",
            "Straight up is at the top. Gain over the power that the antenna accepts: the mismatch"
            " is not in it, the tables have it.",
            cut_figure(fields, cut, toward),
        )
        for number, cut in enumerate(CUTS)
    ]
    if len(fields.frequencies_hz) > 1:
        middle = len(fields.frequencies_hz) // 2
        shares = [100.0 * fields.accepted_share(m)[middle] for m in ("as is", "re-matched")]
        drawings.append(_impedance_drawing(anchor, fields))
        drawings.append(
            drawing_of(
                f"{anchor}-match",
                "Match across the band",
                f"With the metal, in the middle of the band: {shares[0]:.0f} % as is,"
                f" {shares[1]:.0f} % re-matched.",
                "From a source that suits the antenna without the metal. Re-matched:"
                f" {fields.network}, parts of finite quality factor.",
                match_figure(fields),
            )
        )
    return tuple(drawings)


def _impedance_drawing(anchor: str, fields: FieldComparison) -> Drawing:
    middle = len(fields.with_metal.frequencies_hz) // 2

    def at_middle(solution: FieldSolution) -> str:
        seen = solution.port_impedance_ohm[middle]
        return f"{seen.real:.0f} {'+' if seen.imag >= 0.0 else '-'} j{abs(seen.imag):.0f} ohm"

    return drawing_of(
        f"{anchor}-impedance",
        "Impedance across the band",
        f"In the middle of the band: {at_middle(fields.with_metal)} with the metal,"
        f" {at_middle(fields.without_metal)} without.",
        "R is the resistance, X the reactance of the antenna as is, its own loss included; straight"
        f" lines between {len(fields.with_metal.frequencies_hz)} solved frequencies.",
        impedance_figure(fields),
    )
