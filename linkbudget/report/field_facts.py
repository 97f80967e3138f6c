"""What stands behind the metal, in short, for the terminal: a heading, rows and sentences."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from linkbudget.enclosure.box_report import NO_WAVE
from linkbudget.enclosure.measured import AS_MEASURED
from linkbudget.report import wording
from linkbudget.report.field_rows import (
    CHANGES_HEADING,
    ChangeRow,
    change_rows,
    changes_beside,
    estimate_notes,
    far_end,
    measured_rows,
    measured_sentence,
    port_rows,
    quality_rows,
    shown_modes,
    side_rows,
    split_rows,
)
from linkbudget.report.scene_drawing import scene_facts

if TYPE_CHECKING:
    from linkbudget.core.quantity import Quantity
    from linkbudget.enclosure.box_report import BoxReport
    from linkbudget.enclosure.fullwave import FieldComparison
    from linkbudget.enclosure.geometry import FarEnd
    from linkbudget.enclosure.measured import MeasuredMetal
    from linkbudget.results import VariantLink

_FIRST_CHANGES = 5


@dataclass(frozen=True, slots=True)
class Facts:
    """One paragraph: a heading, values by name, and sentences below them."""

    heading: str
    rows: tuple[tuple[str, Quantity], ...] = ()
    sentences: tuple[str, ...] = ()


def metal_facts(link: VariantLink) -> Iterator[Facts]:
    """Yield what is known of the metal beyond its paths."""
    if link.scene is not None:
        told = scene_facts(link.scene, link.frequency_hz)
        yield Facts("Geometry", (), tuple(f"{name}: {of}" for name, of in told))
    if link.measured is not None:
        yield _of_measured(link, link.measured)
    if link.fields is not None:
        yield from _of_fields(link.fields, far_end(link))
    elif link.fields_absent:
        yield Facts("Field solver", (), (link.fields_absent,))
    if link.box is not None:
        yield _of_box(link.box)
    if link.changes:
        yield _of_changes(link)


def _of_measured(link: VariantLink, measured: MeasuredMetal) -> Facts:
    is_whole = link.metal is not None and link.metal.dominant == AS_MEASURED
    return Facts(
        "Measured with and without the metal: loss",
        tuple(measured_rows(measured)),
        (measured_sentence(measured), *(estimate_notes(link) if is_whole else ())),
    )


def _of_fields(fields: FieldComparison, toward: FarEnd) -> Iterator[Facts]:
    side = "in all directions" if toward == "anywhere" else toward
    sides = side_rows(fields, toward)
    as_is = [(row.name, row.as_is) for row in sides]
    rematched = [(row.name, row.rematched) for row in sides[:4]]
    port = [(f"{row.name}, {case}", one) for row in port_rows(fields)
            for case, one in (("free", row.free), ("metal", row.as_is))]  # fmt: skip
    yield Facts("At the antenna's port, without metal (free) and with it, as is", _known(port))
    yield Facts(
        "Change by the metal, as is; negative weakens",
        _known(as_is),
        (f"Shares of directions: {side}, against the mean there without the metal.",),
    )
    yield Facts(f"Change by the metal, re-matched by {fields.network}", _known(rematched))
    split = [(row.name, row.as_is) for row in split_rows(fields, toward)]
    coverage = sides[0].as_is.coverage if sides[0].as_is is not None else ""
    yield Facts(
        f"Where the power is lost, mean {side}, as is: loss",
        _known(split),
        (f"Band of a mean: {coverage}.",),
    )


def _known(rows: list[tuple[str, Quantity | None]]) -> tuple[tuple[str, Quantity], ...]:
    return tuple((name, one) for name, one in rows if one is not None)


def _of_box(box: BoxReport) -> Facts:
    feared, (modes, more) = box.feared, shown_modes(box)
    inside = sum(mode.in_band for mode in box.modes)
    told = ["No resonance of the box lies in the band."]
    if box.quality_factor is None:
        first = box.modes[0]
        told = [
            f"Its first resonance is {first.name} at {wording.frequency(first.frequency_hz)}:"
            f" {NO_WAVE}, and its loss includes the detuning."
        ]
    if feared is not None:
        place = wording.span(feared.filled_hz, feared.frequency_hz, 4)
        told = [
            f"Resonance to fear: {feared.name}, {place} by its contents; {inside} may lie in the"
            f" band, {len(modes) + more} in and near it."
        ]
    told += [
        f"{one.name}: cross-section {wording.area(one.cross_section_m2)},"
        f" {wording.percent(one.share)} of what gets out,"
        f" half a wavelength long at {wording.frequency(one.resonance_hz)}"
        for one in box.openings
    ]
    rows = (
        *quality_rows(box),
        ("loss, mean over the band", box.loss),
        *(
            (f"shielding at {wording.frequency(one.frequency_hz)}", one.level)
            for one in box.shielding
        ),
    )
    heading = "Box: quality factor, openings, resonances"
    if box.quality_factor is None:
        heading = "Box below its first resonance: openings"
    return Facts(heading, rows, tuple(told))


def _of_changes(link: VariantLink) -> Facts:
    rows = change_rows(link)
    told = [_change_told(row) for row in rows[:_FIRST_CHANGES]]
    left = len(rows) - len(told)
    return Facts(
        CHANGES_HEADING,
        (),
        (*told, *((f"and {left} more",) if left else ()), *changes_beside(link)),
    )


def _change_told(row: ChangeRow) -> str:
    parts = [row.gain, *((row.reach,) if row.reach is not None else ())]
    gained = " or ".join(
        wording.amount(one) + (f" ({wording.band(one)})" if wording.band(one) else "")
        for one in parts
    )
    return (
        f"{gained}, {row.gain.kind}, {row.method}: {row.name}; {row.dimension} {row.step}"
        f" (allowed to {row.limit}, {row.limit_kind})"
    )
