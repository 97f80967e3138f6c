"""Electric shielding of a box with a slot in one face, as a transmission line with a short."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from linkbudget.core.decibels import FREE_SPACE_IMPEDANCE_OHM, FloatArray
from linkbudget.core.errors import InputError, OutOfRange
from linkbudget.physics.propagation import SPEED_OF_LIGHT_M_PER_S

_NO_FIELD_DB = 300.0  # a waveguide so far below cut-off that the arithmetic ends


@dataclass(frozen=True, slots=True)
class SlottedFace:
    """A box seen from its face with the slot.

    Parameters
    ----------
    along_m, across_m, deep_m : float
        The face along the slot and across it, and the box behind it [m].
    slot_length_m, slot_width_m, thickness_m : float
        The slot in the middle of the face, and the wall [m].
    """

    along_m: float
    across_m: float
    deep_m: float
    slot_length_m: float
    slot_width_m: float
    thickness_m: float


def slotted_box_shielding_db(
    face: SlottedFace, frequency_hz: FloatArray, quality_factor: float = math.inf
) -> FloatArray:
    """Return the electric shielding in the middle of a box with one slot.

    Parameters
    ----------
    face : SlottedFace
    frequency_hz : array, shape (n,)
        Frequencies [Hz].
    quality_factor : float
        Of the box [1]; infinite for one without loss.

    Returns
    -------
    array, shape (n,)
        Field without the box over field in its middle [dB], field across the slot, wave at right
        angles to the face; negative where the box rings.

    Raises
    ------
    InputError
        Where the quality factor is not greater than zero.
    OutOfRange
        Where the slot is wider than the face allows.

    Notes
    -----
    The wave meets the slot, a shorted coplanar line ``Z_ap = j/2 (l/a) Z_s tan(k l / 2)``, and
    behind it the fundamental mode of the face as a waveguide of depth ``d``, shorted at its end.
    ``Z_s`` falls with the slot's width less ``5 t / (4 pi) (1 + ln(4 pi w / t))``. It knows the
    resonances with one half-wave along the slot and none across; the first other one ends it.

    References
    ----------
    M. P. Robinson et al., Analytical formulation for the shielding effectiveness of enclosures with
    apertures, IEEE Transactions on Electromagnetic Compatibility 40(3), 1998 (from memory).

    Examples
    --------
    >>> face = SlottedFace(0.3, 0.12, 0.3, 0.1, 0.005, 0.0015)
    >>> float(slotted_box_shielding_db(face, np.array([500e6]))[0].round(1))
    31.1
    """
    if not quality_factor > 0.0:
        raise InputError(f"quality factor {quality_factor:g}", "a number greater than zero")
    free = FREE_SPACE_IMPEDANCE_OHM
    k = 2.0 * math.pi * np.asarray(frequency_hz, dtype=float) / SPEED_OF_LIGHT_M_PER_S
    slot_ohm = 0.5 * face.slot_length_m / face.along_m * _slot_line_ohm(face)
    slot = 1j * slot_ohm * np.tan(k * face.slot_length_m / 2.0)
    source_v, source_ohm = slot / (free + slot), free * slot / (free + slot)
    lossy_k2 = k**2 * (1.0 - 1j / quality_factor) + 0j
    # attenuating waves decay: the root with negative imaginary part
    root = np.sqrt(lossy_k2 - (math.pi / face.along_m) ** 2)
    along = np.where(root.imag > 0.0, -root, root)
    guide_ohm = free * k / along
    to_middle, behind = _line(along, face.deep_m / 2.0), _line(along, face.deep_m / 2.0)
    ratio = source_ohm / guide_ohm
    voltage = source_v / (to_middle.cosine * (1.0 + 1j * ratio * to_middle.tangent))
    seen = (source_ohm + 1j * guide_ohm * to_middle.tangent) / (
        1.0 + 1j * ratio * to_middle.tangent
    )
    short = 1j * guide_ohm * behind.tangent
    middle = np.abs(2.0 * voltage * short / (seen + short))
    shielding: FloatArray = -20.0 * np.log10(np.maximum(middle, 10.0 ** (-_NO_FIELD_DB / 20.0)))
    return shielding


@dataclass(frozen=True, slots=True)
class _Line:
    cosine: NDArray[np.complex128]
    tangent: NDArray[np.complex128]


def _line(along: NDArray[np.complex128], length_m: float) -> _Line:
    phase = along * length_m
    phase = phase.real + 1j * np.maximum(phase.imag, -300.0)  # beyond, exp overflows
    return _Line(np.cos(phase), np.tan(phase))


def _slot_line_ohm(face: SlottedFace) -> float:
    width_m, thickness_m = face.slot_width_m, face.thickness_m
    if width_m >= face.across_m:
        raise OutOfRange("width of the slot (m)", width_m, 0.0, face.across_m)
    narrowed_m = width_m
    if thickness_m > 0.0:
        lost_m = 5.0 * thickness_m / (4.0 * math.pi)
        lost_m *= 1.0 + math.log(4.0 * math.pi * width_m / thickness_m)
        # a wall thicker than the slot is wide leaves the formula: keep a tenth of the slot
        narrowed_m = max(width_m - max(lost_m, 0.0), width_m / 10.0)
    root = (1.0 - (narrowed_m / face.across_m) ** 2) ** 0.25
    return 120.0 * math.pi**2 / math.log(2.0 * (1.0 + root) / (1.0 - root))
