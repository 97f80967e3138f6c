"""Turn what the user wrote into the objects of the lower floors."""

from __future__ import annotations

from linkbudget.emissions.scan import ScanRecord
from linkbudget.enclosure.geometry import (
    Box,
    Enclosure,
    Metal,
    Opening,
    Plate,
    StatedAttenuation,
)
from linkbudget.physics.materials import metal as metal_row
from linkbudget.scenario.models import (
    BoxMetal,
    NoMetal,
    PlateMetal,
    RoundOpening,
    Scan,
    Scenario,
    SlotOpening,
    StatedMetal,
    TrayMetal,
)


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
        return StatedAttenuation(metal.attenuation, metal.spread, metal.measured)
    openings = tuple(_opening(opening) for opening in metal.openings)
    if isinstance(metal, BoxMetal):
        return Box(
            length_m=metal.length,
            width_m=metal.width,
            height_m=metal.height,
            thickness_m=metal.thickness,
            metal=_conductor(metal),
            openings=openings,
        )
    return Plate(
        length_m=metal.length,
        width_m=metal.width,
        thickness_m=metal.thickness,
        metal=_conductor(metal),
        depth_m=metal.antenna_depth,
        edge_distance_m=metal.antenna_to_edge,
        skirt_m=metal.skirt if isinstance(metal, TrayMetal) else 0.0,
        openings=openings,
    )


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


def _opening(opening: SlotOpening | RoundOpening) -> Opening:
    if isinstance(opening, RoundOpening):
        return Opening("round", opening.diameter, opening.diameter, opening.count)
    return Opening(opening.shape, opening.length, opening.width, opening.count)
