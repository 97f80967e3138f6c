"""What a scenario says of the room between the two ends."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from linkbudget.scenario import fields as f
from linkbudget.scenario import uncertain as u
from linkbudget.scenario.tables import Table

Floors = Annotated[int, Field(strict=True, ge=0, le=100, examples=[0])]


class Wall(Table):
    """A wall that the signal crosses, whatever the distance."""

    material: f.BuildingMaterial | None = Field(
        None, description="What it is made of, with thickness; or loss.", examples=["brick"]
    )
    thickness: f.Thickness | None = Field(
        None, description="Of the wall, or of one board.", examples=["120 mm"]
    )
    loss: u.Loss | None = Field(
        None, description="What one wall takes, where that is known.", examples=["6 dB"]
    )
    count: f.Count = Field(1, description="How many equal walls.")


class ObstacleEdge(Table):
    """A body or a cabinet that reaches into the path."""

    height: f.Offset = Field(
        description="Of its edge above the straight line between the antennas; negative below.",
        examples=["200 mm"],
    )
    from_product: f.Distance = Field(description="From the product.", examples=["1 m"])


class _Room(Table):
    delay_spread: f.DelaySpread | None = Field(
        None,
        description="Rms delay spread of the echoes; it decides how far apart channels fade alike.",
    )


class _LawfulRoom(_Room):
    walls: tuple[Wall, ...] = Field(
        (), max_length=20, description="Walls in the way, each [[room.walls]]."
    )
    edges: tuple[ObstacleEdge, ...] = Field(
        (), max_length=20, description="Bodies or cabinets in the way, each [[room.edges]]."
    )


class OpenAirRoom(_LawfulRoom):
    """Nothing round the link: the best case of any room."""

    kind: Literal["open air"] = Field(description="What the room is.")


class GroundRoom(_LawfulRoom):
    """A flat floor, desk or field under the link."""

    kind: Literal["over ground"] = Field(description="What the room is.")
    height: f.Length = Field(description="Of the product's antenna above it.", examples=["1.5 m"])
    far_height: f.Length = Field(description="Of the other antenna above it.", examples=["1.5 m"])
    ground: f.BuildingMaterial | None = Field(
        None,
        description="What it is made of; or permittivity and conductivity.",
        examples=["medium dry ground"],
    )
    permittivity: f.GroundPermittivity | None = Field(
        None, description="Relative permittivity of the ground at the radio's frequency, 2 to 100."
    )
    conductivity: f.GroundConductivity | None = Field(
        None, description="Of the ground at the radio's frequency, all its losses in it."
    )
    polarisation: Literal["horizontal", "vertical"] = Field(
        description="Direction of the electric field against the ground."
    )


class IndoorRoom(_LawfulRoom):
    """A building, by ITU-R P.1238."""

    kind: Literal["indoor"] = Field(description="What the room is.")
    surroundings: Literal[
        "office", "corridor", "industrial", "residential", "house", "commercial"
    ] = Field(description="Sort of building.")
    sight: Literal["clear", "obstructed"] | None = Field(
        None, description="Whether the ends see each other (office, corridor, industrial)."
    )
    floors: Floors | None = Field(
        None,
        description="Floors between the two ends (office, residential, house, commercial); it asks"
        " for the older law, which knows floors.",
    )

    @property
    def by_floors(self) -> bool:
        """Whether the older law answers, whose exponent holds the walls."""
        return self.floors is not None or self.surroundings in (
            "residential",
            "house",
            "commercial",
        )


class ExponentRoom(_LawfulRoom):
    """Loss that grows by a power of the distance that the user knows."""

    kind: Literal["exponent"] = Field(description="What the room is.")
    exponent: u.Exponent = Field(
        description="A plain number; 2 is free space.", examples=[[2.2, 3.5]]
    )
    from_distance: f.Distance = Field(
        1.0, description="Up to here free space holds. Left out: 1 m.", examples=["1 m"]
    )
    offset: u.Ratio | None = Field(
        None, description="How far the whole law lies above that.", examples=["3 dB"]
    )


class MeasuredRoom(_Room):
    """A law that is fitted to your own measured levels."""

    kind: Literal["measured"] = Field(description="What the room is.")
    levels: f.Text = Field(
        description="CSV of distance and received level, beside the scenario.",
        examples=["levels.csv"],
    )
    distance_unit: Literal["m", "cm", "mm", "km", "ft", "in"] | None = Field(
        None, description="Where the heading of the file does not say."
    )
    level_unit: Literal["dBm", "dBW"] | None = Field(
        None, description="Where the heading of the file does not say."
    )
    of_this_link: f.Flag = Field(
        description="Whether both ends of this very link were measured; else radiated_power and"
        " far_gain of what was used instead."
    )
    radiated_power: u.PowerLevel | None = Field(
        None,
        description="Isotropically radiated power of the transmitter that was used.",
        examples=["10 dBm"],
    )
    far_gain: u.Gain | None = Field(
        None, description="Gain of the receiving antenna that was used, its cable taken off."
    )
    with_metal: f.Flag | None = Field(
        None,
        description="Whether the metal was in place, where this very link was measured. Left out:"
        " it was.",
    )


Room = Annotated[
    OpenAirRoom | GroundRoom | IndoorRoom | ExponentRoom | MeasuredRoom,
    Field(discriminator="kind"),
]
