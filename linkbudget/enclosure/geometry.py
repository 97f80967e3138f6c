"""The metal round the radio, as an engineer would dimension it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

FarEnd = Literal["above", "beside", "below", "anywhere"]
OpeningShape = Literal["slot", "round", "rectangle"]


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

    Parameters
    ----------
    shape : {"slot", "round", "rectangle"}
    length_m : float
        Longest dimension, the diameter for a round hole [m].
    width_m : float
        The other dimension, equal to the length for a round hole [m].
    count : int
        How many equal openings there are; in a plate, those within half a wavelength of each other.
    """

    shape: OpeningShape
    length_m: float
    width_m: float
    count: int = 1


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
    """

    length_m: float
    width_m: float
    thickness_m: float
    metal: Metal
    depth_m: float
    edge_distance_m: float
    skirt_m: float = 0.0
    openings: tuple[Opening, ...] = ()


@dataclass(frozen=True, slots=True)
class Box:
    """A closed metal box with the radio inside.

    Parameters
    ----------
    length_m, width_m, height_m, thickness_m : float
        Inner dimensions and wall [m].
    metal : Metal
    openings : tuple of Opening
    """

    length_m: float
    width_m: float
    height_m: float
    thickness_m: float
    metal: Metal
    openings: tuple[Opening, ...] = ()


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
