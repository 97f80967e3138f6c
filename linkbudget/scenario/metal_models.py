"""What a scenario says of the metal, the board under it, and what was measured of the two."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from linkbudget.enclosure.geometry import Direction, Wall
from linkbudget.scenario import fields as f
from linkbudget.scenario import uncertain as u
from linkbudget.scenario.tables import Table


class _Opening(Table):
    count: f.Count = Field(1, description="How many equal openings lie side by side.")
    wall: Wall | None = Field(None, description="Wall of a box that it is in.")
    along: Direction | None = Field(
        None, description="Dimension of the box along which it is longest."
    )
    at: tuple[f.Offset, f.Offset] | None = Field(
        None,
        description="Of its middle from the middle of the wall of a box, along the wall's two"
        " dimensions in the order length, width, upright.",
        examples=[["10 mm", "-15 mm"]],
    )


class SlotOpening(_Opening):
    """A slot or a rectangle in the metal."""

    shape: Literal["slot", "rectangle"] = Field(description="Shape of the opening.")
    length: f.Length = Field(description="Longer side.", examples=["60 mm"])
    width: f.Length = Field(description="Shorter side.", examples=["2 mm"])


class RoundOpening(_Opening):
    """A round hole in the metal."""

    shape: Literal["round"] = Field(description="Shape of the opening.")
    diameter: f.Length = Field(description="Diameter of the hole.", examples=["5 mm"])


Opening = Annotated[SlotOpening | RoundOpening, Field(discriminator="shape")]


class _SheetMetal(Table):
    material: f.MetalName | None = Field(
        None, description="Name of the metal; or conductivity.", examples=["aluminium"]
    )
    conductivity: f.Conductivity | None = Field(
        None, description="Conductivity of the metal, where its name is not in the list."
    )
    relative_permeability: f.Permeability | None = Field(
        None, description="At radio frequencies, with conductivity. Left out: 1."
    )
    length: f.Length = Field(description="Longer side of the metal.", examples=["200 mm"])
    width: f.Length = Field(description="Shorter side of the metal.", examples=["120 mm"])
    thickness: f.Thickness = Field(description="Thickness of the sheet or wall.")
    openings: tuple[Opening, ...] = Field(
        (), description="Slots and holes, each [[metal.openings]]."
    )


class _OpenMetal(_SheetMetal):
    antenna_depth: f.Length = Field(
        description="From the sheet to the middle of the antenna.", examples=["12 mm"]
    )
    antenna_to_edge: f.Offset | None = Field(
        None,
        description="From the middle of the antenna to the nearest long edge, along the sheet;"
        " negative where the antenna stands outside; or antenna_at.",
    )
    antenna_at: tuple[f.Offset, f.Offset] | None = Field(
        None,
        description="Place of the antenna from the middle of the sheet, along its length and width;"
        " or antenna_to_edge.",
        examples=[["0 mm", "35 mm"]],
    )


class PlateMetal(_OpenMetal):
    """A flat sheet over the antenna."""

    kind: Literal["plate"] = Field(description="What the metal is.")


class TrayMetal(_OpenMetal):
    """A sheet with a rim turned down all round, open below."""

    kind: Literal["tray"] = Field(description="What the metal is.")
    skirt: f.Length = Field(description="Height of the turned-down rim.", examples=["8 mm"])


class BoxMetal(_SheetMetal):
    """A closed box with the radio inside."""

    kind: Literal["box"] = Field(description="What the metal is.")
    height: f.Length = Field(description="Inner height of the box.", examples=["25 mm"])
    quality_factor: f.Permeability | None = Field(
        None,
        description="Of the box with all that is in it, openings closed; a plain number. Left out:"
        " 30 to 300 is presumed.",
    )
    antenna_depth: f.Length | None = Field(
        None, description="From the lid to the middle of the antenna."
    )
    antenna_at: tuple[f.Offset, f.Offset] | None = Field(
        None, description="Place of the antenna from the middle of the lid, along length and width."
    )


class StatedMetal(Table):
    """What the metal costs, where that is known already."""

    kind: Literal["attenuation"] = Field(description="What the metal is.")
    attenuation: u.Ratio = Field(
        description="Loss toward the far end; negative where the metal helps.", examples=["6 dB"]
    )
    spread: f.Loss | None = Field(
        None,
        description="How far it may lie off to either side; or attenuation itself says it.",
        examples=["3 dB"],
    )
    measured: f.Flag = Field(False, description="Whether it was measured on this product.")


class NoMetal(Table):
    """Plastic all round."""

    kind: Literal["none"] = Field(description="What the metal is.")


Metal = Annotated[
    PlateMetal | TrayMetal | BoxMetal | StatedMetal | NoMetal, Field(discriminator="kind")
]


class BoardPlane(Table):
    """The ground plane of the product's board."""

    length: f.Length = Field(description="Along the metal's length.", examples=["80 mm"])
    width: f.Length = Field(description="Along the metal's width.", examples=["50 mm"])
    depth: f.Length = Field(description="Under the sheet.", examples=["15 mm"])
    at: tuple[f.Offset, f.Offset] = Field(
        (0.0, 0.0),
        description="Of its middle from the middle of the sheet, along length and width.",
        examples=[["0 mm", "-20 mm"]],
    )


class AllowedChanges(Table):
    """How far the product may be changed, where the report looks for what would help."""

    deeper: f.LengthOrFalse | None = Field(
        None,
        description="Antenna further from the sheet, by at most this (plate, tray); 0 mm or false:"
        " not at all. Left out: 20 mm.",
        examples=["10 mm"],
    )
    to_edge: f.OffsetOrFalse | None = Field(
        None,
        description="Antenna toward the edge of the sheet, down to this distance inside it,"
        " negative outside (plate, tray); false: not at all. Left out: -10 mm.",
        examples=["-10 mm"],
    )
    window: f.LengthOrFalse | None = Field(
        None,
        description="Side of a window in the sheet over the antenna, at most (plate, tray); 0 mm or"
        " false: none. Left out: half a wavelength.",
        examples=["60 mm"],
    )
    lower_skirt: f.Flag | None = Field(
        None, description="Whether the rim may be cut down, or away (tray). Left out: true."
    )
    ground_clearance: f.LengthOrFalse | None = Field(
        None,
        description="Edge of the board's ground drawn back from the antenna, by at most this"
        " (plate, tray, with a board); 0 mm or false: not at all. Left out: 10 mm.",
        examples=["5 mm"],
    )
    new_slot: f.LengthOrFalse | None = Field(
        None,
        description="Length of a new slot, at most (box); 0 mm or false: none. Left out: half a"
        " wavelength.",
        examples=["40 mm"],
    )
    half_wave_slot: f.Flag | None = Field(
        None,
        description="Whether the longest slot may be brought to half a wavelength (box). Left out:"
        " true.",
    )
    quality_factor: f.QualityOrFalse | None = Field(
        None,
        description="To which quality factor lossy parts inside may be fewer, a plain number (box);"
        " 0 or false: they stay. Left out: 300.",
        examples=[100],
    )


class MeasuredPair(Table):
    """With and without the metal, nothing else changed."""

    with_metal: f.Text | None = Field(
        None, description="Touchstone file with the metal; .s2p from the antenna to a far probe."
    )
    without_metal: f.Text | None = Field(
        None, description="Touchstone file of the same set-up without the metal."
    )
    levels_with: tuple[f.PowerLevel, ...] = Field(
        (),
        description="Received levels with the metal, place by place.",
        examples=[["-71 dBm", "-68 dBm", "-74 dBm"]],
    )
    levels_without: tuple[f.PowerLevel, ...] = Field(
        (), description="Received levels at the same places without the metal."
    )
    toward: Literal["above", "beside", "below"] | None = Field(
        None,
        description="Where the probe, or the other end, stood, seen from the metal. Left out: where"
        " the far end is.",
    )
