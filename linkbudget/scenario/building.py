"""Turn what the user wrote into the objects of the lower floors."""

from __future__ import annotations

import math
from dataclasses import replace

from linkbudget.core.quantity import Quantity
from linkbudget.emissions.scan import ScanRecord
from linkbudget.enclosure.geometry import (
    Board,
    Box,
    Enclosure,
    Metal,
    PlacedAntenna,
    Plate,
    Scene,
    StatedAttenuation,
)
from linkbudget.enclosure.geometry import Opening as Hole
from linkbudget.enclosure.sweeps import Allowed
from linkbudget.physics.materials import metal as metal_row
from linkbudget.physics.plastics import PlasticPart, plastics
from linkbudget.scenario.link_models import OwnAntenna
from linkbudget.scenario.metal_models import (
    BoxMetal,
    NoMetal,
    Opening,
    PlateMetal,
    RoundOpening,
    StatedMetal,
    TrayMetal,
)
from linkbudget.scenario.models import Plastic, Scan, Scenario


def enclosure_of(scenario: Scenario) -> Enclosure | None:
    """Return the metal round the radio, or None where there is none.

    Parameters
    ----------
    scenario : Scenario

    Returns
    -------
    Plate, Box, StatedAttenuation or None
        A tray is a plate with a skirt.
    """
    metal = scenario.metal
    if metal is None or isinstance(metal, NoMetal):
        return None
    if isinstance(metal, StatedMetal):
        return StatedAttenuation(metal.attenuation.value, _spread_db(metal), metal.measured)
    openings = tuple(_opening(opening) for opening in metal.openings)
    if isinstance(metal, BoxMetal):
        return Box(
            length_m=metal.length,
            width_m=metal.width,
            height_m=metal.height,
            thickness_m=metal.thickness,
            metal=_conductor(metal),
            openings=openings,
            quality_factor=metal.quality_factor,
            antenna=_in_box(metal, scenario.antenna),
        )
    return Plate(
        length_m=metal.length,
        width_m=metal.width,
        thickness_m=metal.thickness,
        metal=_conductor(metal),
        depth_m=metal.antenna_depth,
        edge_distance_m=edge_distance_m(metal),
        skirt_m=metal.skirt if isinstance(metal, TrayMetal) else 0.0,
        openings=openings,
        along=(scenario.antenna and scenario.antenna.along) or "length",
        antenna_at_m=metal.antenna_at,
    )


def _spread_db(metal: StatedMetal) -> float:
    low, high = metal.attenuation.band
    return max(metal.attenuation.value - low, high - metal.attenuation.value, metal.spread or 0.0)


def allowed_of(scenario: Scenario) -> Allowed:
    """Return how far the product may be changed.

    Parameters
    ----------
    scenario : Scenario

    Returns
    -------
    Allowed
        What nobody said is None; what is ruled out stays as it is.
    """
    said = scenario.allowed
    if said is None:
        return Allowed()
    return Allowed(
        deeper_m=said.deeper,
        to_edge_m=math.inf if said.to_edge is False else said.to_edge,
        window_m=said.window,
        new_slot_m=said.new_slot,
        lower_skirt=said.lower_skirt,
        half_wave_slot=said.half_wave_slot,
        quality_factor=said.quality_factor,
        clearance_m=said.ground_clearance,
    )


def plastics_of(scenario: Scenario) -> tuple[PlasticPart, ...]:
    """Return the plastic parts near the product's antenna.

    Parameters
    ----------
    scenario : Scenario

    Returns
    -------
    tuple of PlasticPart
        Empty where none are stated.
    """
    return tuple(_plastic_part(part) for part in scenario.plastics or ())


def _plastic_part(part: Plastic) -> PlasticPart:
    if part.material is not None:
        row = plastics()[part.material]
        name, felt = row.name, Quantity(row.permittivity, "1", "typical", row.low, row.high)
    elif part.permittivity is not None:
        felt = Quantity(part.permittivity, "1", "stated")
        name = f"plastic of permittivity {part.permittivity:g}"
    else:
        raise ValueError("a checked scenario states a material or a permittivity")
    return PlasticPart(name, felt, part.thickness, part.gap)


def record_of(scan: Scan) -> ScanRecord:
    """Return the record of a scan.

    Parameters
    ----------
    scan : Scan
        As the scenario states it.

    Returns
    -------
    ScanRecord
        What nobody said is None, or "" for words.
    """
    return ScanRecord(
        port=scan.port,
        transducer=scan.transducer,
        detector=scan.detector,
        bandwidth_hz=scan.bandwidth,
        step_hz=scan.step,
        distance_m=scan.distance,
        antenna_height_m=scan.antenna_height,
        uncertainty_db=scan.uncertainty,
        swept=scan.swept,
        variant=scan.variant or "",
        polarisation=scan.polarisation or "",
        turntable=scan.turntable or "",
        site=scan.site or "",
        mode=scan.mode or "",
        channel=scan.channel or "",
        supply=scan.supply or "",
        conductor=scan.conductor or "",
        cables=scan.cables or "",
        firmware=scan.firmware or "",
    )


def _conductor(metal: PlateMetal | TrayMetal | BoxMetal) -> Metal:
    if metal.material is not None:
        row = metal_row(metal.material)
        return Metal(row.name, row.conductivity_s_per_m, row.relative_permeability, "typical")
    if metal.conductivity is None:
        raise ValueError("a checked scenario states a material or a conductivity")
    permeability = metal.relative_permeability or 1.0
    return Metal("metal of stated conductivity", metal.conductivity, permeability, "stated")


def scene_of(scenario: Scenario) -> Scene | None:
    """Return what the field solver is to solve: antenna, board, and the plate or tray over them.

    Parameters
    ----------
    scenario : Scenario

    Returns
    -------
    Scene or None
        None where there is no plate or tray, or no antenna.
    """
    metal, antenna, enclosure = scenario.metal, scenario.antenna, enclosure_of(scenario)
    if not isinstance(metal, PlateMetal | TrayMetal) or not isinstance(enclosure, Plate):
        return None
    if antenna is None:
        return None
    x_m, y_m = metal.antenna_at or (0.0, metal.width / 2.0 - (metal.antenna_to_edge or 0.0))
    stated = scenario.board
    board = None
    if stated is not None:
        board = Board(stated.length, stated.width, stated.at[0], stated.at[1], stated.depth)
    return Scene(_placed(antenna, x_m, y_m, metal.antenna_depth), board, enclosure)


def _placed(antenna: OwnAntenna | None, x_m: float, y_m: float, depth_m: float) -> PlacedAntenna:
    kind = (antenna and antenna.kind) or "half-wave dipole"
    stated = antenna and antenna.efficiency
    return PlacedAntenna(
        kind=kind,
        along=(antenna and antenna.along) or "length",
        x_m=x_m,
        y_m=y_m,
        depth_m=depth_m,
        length_m=antenna.length if antenna else None,
        efficiency=stated.value if stated else 1.0,
    )


def _in_box(metal: BoxMetal, antenna: OwnAntenna | None) -> PlacedAntenna | None:
    if metal.antenna_at is None or metal.antenna_depth is None:
        return None
    placed = _placed(antenna, *metal.antenna_at, metal.antenna_depth)
    if antenna is not None and antenna.kind is not None:
        return placed
    return replace(placed, kind="short dipole")  # of a length that nobody stated


def edge_distance_m(metal: PlateMetal | TrayMetal) -> float:
    """Return the way to the nearest edge, negative outside, from whichever way it was stated."""
    if metal.antenna_at is None:
        return metal.antenna_to_edge or 0.0
    x_m, y_m = (abs(place) for place in metal.antenna_at)
    return min(metal.length / 2.0 - x_m, metal.width / 2.0 - y_m)


def _opening(opening: Opening) -> Hole:
    if isinstance(opening, RoundOpening):
        length_m = width_m = opening.diameter
    else:
        length_m, width_m = opening.length, opening.width
    return Hole(
        opening.shape, length_m, width_m, opening.count, opening.wall, opening.along, opening.at
    )
