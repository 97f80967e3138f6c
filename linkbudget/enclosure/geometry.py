"""The metal round the radio, as an engineer would dimension it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

FarEnd = Literal["above", "beside", "below", "anywhere"]
OpeningShape = Literal["slot", "round", "rectangle"]
Direction = Literal["length", "width", "upright"]
Wall = Literal["lid", "floor", "front", "back", "left", "right"]


@dataclass(frozen=True, slots=True)
class Metal:
    """A conductor, described by what its sheet needs.

    Parameters
    ----------
    name : str
    conductivity_s_per_m : float
        Direct-current conductivity [S/m].
    relative_permeability : float
        At radio frequencies, where iron has lost most of it [1].
    kind : {"stated", "typical"}
        Whether the user gave the numbers or the materials table did.
    """

    name: str
    conductivity_s_per_m: float
    relative_permeability: float = 1.0
    kind: Literal["stated", "typical"] = "typical"


@dataclass(frozen=True, slots=True)
class Opening:
    """A slot or hole in a wall, or several equal ones.

    A gap between lid and body is a slot in the lid or a side: as long as the distance between two
    fasteners, as wide as the gap, and as many of them as there are such distances.

    Parameters
    ----------
    shape : {"slot", "round", "rectangle"}
    length_m : float
        Longest dimension, the diameter for a round hole [m].
    width_m : float
        The other dimension, equal to the length for a round hole [m].
    count : int
        How many equal openings there are; in a plate, those within half a wavelength of each other.
    wall : {"lid", "floor", "front", "back", "left", "right"} or None
        Of a box: lid and floor are length by width, front and back length by height, left and right
        width by height; None: nobody said.
    along : {"length", "width", "upright"} or None
        The dimension of the box along which the opening is longest; None: nobody said.
    place_m : tuple of float or None
        Of its middle from the middle of the wall, along the two dimensions of the wall in the order
        length, width, upright [m]; None: nobody said.
    """

    shape: OpeningShape
    length_m: float
    width_m: float
    count: int = 1
    wall: Wall | None = None
    along: Direction | None = None
    place_m: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Plate:
    """A flat sheet near the antenna; with a skirt all round it is a tray turned upside down.

    Parameters
    ----------
    length_m, width_m, thickness_m : float
        Outer dimensions [m]; length is the longer side.
    metal : Metal
    depth_m : float
        Distance from the sheet to the middle of the antenna on its inner side [m].
    edge_distance_m : float
        From the middle of the antenna to the nearest edge, in the plane of the sheet [m];
        negative where the antenna stands outside the edge.
    skirt_m : float
        Height of the turned-down rim [m]; 0 for a flat plate.
    openings : tuple of Opening
    along : {"length", "width", "upright"}
        Direction of the antenna's radiating part.
    antenna_at_m : tuple of float or None
        Its middle along length and width, from the middle of the sheet [m], as far from the edge as
        `edge_distance_m` says; None: midway along the length.
    """

    length_m: float
    width_m: float
    thickness_m: float
    metal: Metal
    depth_m: float
    edge_distance_m: float
    skirt_m: float = 0.0
    openings: tuple[Opening, ...] = ()
    along: Direction = "length"
    antenna_at_m: tuple[float, float] | None = None

    @property
    def place_m(self) -> tuple[float, float]:
        """Place of the antenna along length and width, from the middle of the sheet [m]."""
        if self.antenna_at_m is not None:
            return self.antenna_at_m
        return 0.0, self.width_m / 2.0 - self.edge_distance_m

    @property
    def turned(self) -> bool:
        """Whether the antenna lies along the width."""
        return self.along == "width"

    def moved_to(self, edge_distance_m: float) -> Plate:
        """Return the sheet with the antenna moved to this distance from its nearest edge [m]."""
        moved = replace(self, edge_distance_m=edge_distance_m)
        if self.antenna_at_m is None:
            return moved
        outward_m = self.edge_distance_m - edge_distance_m
        x_m, y_m = self.antenna_at_m
        if self.length_m / 2.0 - abs(x_m) < self.width_m / 2.0 - abs(y_m) - 1e-9:
            return replace(moved, antenna_at_m=(x_m + math.copysign(outward_m, x_m), y_m))
        return replace(moved, antenna_at_m=(x_m, y_m + math.copysign(outward_m, y_m)))


@dataclass(frozen=True, slots=True)
class Box:
    """A closed metal box with the radio inside.

    Parameters
    ----------
    length_m, width_m, height_m, thickness_m : float
        Inner dimensions and wall [m]; length and width lie, height stands.
    metal : Metal
    openings : tuple of Opening
    quality_factor : float or None
        Of the box with all that is in it, openings closed [1]; None: nobody said.
    antenna : PlacedAntenna or None
        Where it stands, from the middle of the lid; None: nobody said.
    """

    length_m: float
    width_m: float
    height_m: float
    thickness_m: float
    metal: Metal
    openings: tuple[Opening, ...] = ()
    quality_factor: float | None = None
    antenna: PlacedAntenna | None = None

    @property
    def sides_m(self) -> tuple[float, float, float]:
        """Inner length, width and height [m]."""
        return self.length_m, self.width_m, self.height_m


@dataclass(frozen=True, slots=True)
class StatedAttenuation:
    """What the user measured or was told the metal costs, instead of its dimensions.

    Parameters
    ----------
    typical_db : float
        Loss toward the far end [dB].
    spread_db : float
        Half the distance between low and high [dB].
    measured : bool
        Whether the user says that it was measured.
    """

    typical_db: float
    spread_db: float
    measured: bool = False


Enclosure = Plate | Box | StatedAttenuation


AntennaKind = Literal[
    "half-wave dipole", "short dipole", "quarter-wave monopole", "inverted-F", "chip"
]


@dataclass(frozen=True, slots=True)
class PlacedAntenna:
    """The product's antenna as the field solver sees it.

    Parameters
    ----------
    kind : AntennaKind
        A chip antenna is a short dipole whose loss resistance gives its stated efficiency.
    along : {"length", "width", "upright"}
        Direction of its radiating part, by the metal's length and width; a monopole or
        inverted-F over a board runs upright from it or along it.
    x_m, y_m : float
        Its middle (a dipole) or its foot (over a board), from the middle of the sheet [m].
    depth_m : float
        Under the sheet [m]; positive. Of a dipole its middle; of a part that lies over a board that
        part, equal to the board's where it leaves from its edge; upright, any point of it.
    length_m : float or None
        Of the whole wire, a rise from the board included [m]; None: resonant in free space, and
        0.3 wavelengths for a short dipole or chip.
    efficiency : float
        Radiated over accepted power in free space [1]; below 1 it becomes a fixed loss
        resistance at the feed.
    """

    kind: AntennaKind
    along: Direction
    x_m: float
    y_m: float
    depth_m: float
    length_m: float | None = None
    efficiency: float = 1.0


@dataclass(frozen=True, slots=True)
class Board:
    """The ground plane of the product's board, parallel to the sheet.

    Parameters
    ----------
    length_m, width_m : float
        Along the metal's length and width [m].
    x_m, y_m : float
        Its middle, from the middle of the sheet [m].
    depth_m : float
        Under the sheet [m]; positive.
    """

    length_m: float
    width_m: float
    x_m: float
    y_m: float
    depth_m: float


@dataclass(frozen=True, slots=True)
class Scene:
    """What is solved: an antenna, the board it stands on, and the sheet or tray above them.

    Parameters
    ----------
    antenna : PlacedAntenna
    board : Board or None
    plate : Plate or None
        Flat or with a skirt; None: the same antenna and board without the metal.
    """

    antenna: PlacedAntenna
    board: Board | None = None
    plate: Plate | None = None
