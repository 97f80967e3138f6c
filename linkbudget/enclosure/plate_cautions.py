"""Where the closed forms for a sheet end, in words."""

from __future__ import annotations

from linkbudget.core.quantity import Quantity
from linkbudget.enclosure.geometry import Plate
from linkbudget.enclosure.walls import share_loss_db
from linkbudget.physics.antennas import HALF_WAVE_RESISTANCE_OHM, image_impedance_ohm
from linkbudget.physics.propagation import wavelength_m

FINAL_CAUTIONS = (
    "Closed forms, checked for a half-wave dipole without loss that lies parallel to the sheet;"
    " another antenna may lose more or less.",
    "Means over a whole side, or over all of them: single directions scatter by several dB more,"
    " and straight behind a plate there may be a bright spot or a null.",
    "A measurement with and without the metal replaces this estimate.",
)
_PLACE_UNKNOWN = (
    "Near the edge the direction and the place of the antenna decide: told here for one that lies"
    " along the sheet, midway along it. One that points across the edge, or stands at a corner, may"
    " lose up to 10 dB less: state antenna_at and along."
)
PARASITIC = (
    "What the antenna feels of the sheet is about half a wavelength long and acts as a reflector or"
    " director, whose resonance may turn the effect round."
)
BESIDE_WALL = (
    "A wall of the tray stands close beside the antenna and detunes it as well, or is higher than a"
    " quarter of a wavelength and may resonate; the band is widened."
)
_WIDE = (
    "The band is {:.0f} dB wide: closed forms tell no more of this sheet toward this side. The"
    " field solver or a measurement does."
)
_USUAL_WIDTH_DB = 8.0


def place_cautions(
    plate: Plate, frequency_hz: float, detuning: Quantity, total: Quantity
) -> tuple[str, ...]:
    """Return what to know of this place under this sheet, at this frequency [Hz]."""
    cautions = []
    if plate.antenna_at_m is None and (
        abs(plate.edge_distance_m) < wavelength_m(frequency_hz) / 4.0
    ):
        cautions.append(_PLACE_UNKNOWN)
    width_db = total.band[1] - total.band[0]
    if width_db > _USUAL_WIDTH_DB + 1e-9:
        cautions.append(_WIDE.format(width_db))
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
