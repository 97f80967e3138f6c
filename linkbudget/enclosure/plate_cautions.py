"""Where the closed forms for a sheet end, in words."""

from __future__ import annotations

from linkbudget.core.quantity import Quantity
from linkbudget.enclosure.geometry import Plate
from linkbudget.enclosure.walls import share_loss_db
from linkbudget.physics.antennas import HALF_WAVE_RESISTANCE_OHM, image_impedance_ohm
from linkbudget.physics.propagation import wavelength_m

FINAL_CAUTIONS = (
    "Closed forms, checked for a half-wave dipole without loss that lies parallel to the sheet,"
    " along its longer side and midway along it; another antenna or place may lose more or less.",
    "Means over a whole side, or over all of them: single directions scatter by several dB more,"
    " and straight behind a plate there may be a bright spot or a null.",
    "A measurement with and without the metal replaces this estimate.",
)
_ACROSS_THE_EDGE = (
    "Near the edge the direction of the antenna decides: one that points across the edge, or"
    " stands at a corner, loses up to 10 dB less than the low end told here."
)
PARASITIC = (
    "The sheet is shorter than about half a wavelength and acts as a reflector or director, whose"
    " resonance may turn the effect round; the band is widened."
)


def place_cautions(plate: Plate, frequency_hz: float, detuning: Quantity) -> tuple[str, ...]:
    """Return what to know of this place under this sheet, at this frequency [Hz]."""
    cautions = []
    if abs(plate.edge_distance_m) < wavelength_m(frequency_hz) / 4.0:
        cautions.append(_ACROSS_THE_EDGE)
    if detuning.value > 1.0:
        cautions.append(_lossy_antenna(plate.depth_m, frequency_hz))
    return tuple(cautions)


def _lossy_antenna(depth_m: float, frequency_hz: float) -> str:
    near = image_impedance_ohm(depth_m, frequency_hz).real
    loss_db = -share_loss_db(1.0 + HALF_WAVE_RESISTANCE_OHM / near)
    return (
        "A lossy antenna loses more when detuned: at this depth, far from the edges, a chip antenna"
        f" of 50 % efficiency loses about {loss_db:.0f} dB, and re-matching does not bring that"
        " back."
    )
