"""Openings in a wall that is lit from one side: the rules of thumb, and where they end.

None of them holds for a radio inside a closed box, whose resonances decide instead.
"""

from __future__ import annotations

import math
from typing import Literal

from linkbudget.core.errors import InputError
from linkbudget.physics.materials import DB_PER_NEPER
from linkbudget.physics.propagation import SPEED_OF_LIGHT_M_PER_S, wavelength_m
from linkbudget.physics.validity import require_positive, require_within

DuctShape = Literal["slot", "rectangle", "round"]

_TE11_ROOT = 1.841184  # first zero of the derivative of the Bessel function J1


def slot_shielding_db(length_m: float, frequency_hz: float) -> float:
    """Return the shielding of a wall with one thin slot.

    Parameters
    ----------
    length_m : float
        Longest dimension of the slot [m].
    frequency_hz : float
        Frequency [Hz].

    Returns
    -------
    float
        Shielding [dB], positive weakens; 0 at half a wavelength and above.

    Raises
    ------
    InputError
        Where an input is not greater than zero.

    Notes
    -----
    ``S = 20 log10(wavelength / (2 L))`` for ``L <= wavelength / 2``. The worst case: electric field
    across the slot, current along it interrupted; nothing is said of its width or depth. A long
    slot is no antenna gain here, so 0 dB is returned above half a wavelength.

    References
    ----------
    H. W. Ott, Electromagnetic Compatibility Engineering, Wiley 2009, chapter 6, apertures.

    Examples
    --------
    >>> round(slot_shielding_db(0.015, 1e9), 1)
    20.0
    """
    require_positive("opening length (m)", length_m)
    return max(0.0, 20.0 * math.log10(wavelength_m(frequency_hz) / (2.0 * length_m)))


def equal_openings_db(count: int) -> float:
    """Return what several equal openings change against one, to be added to the shielding.

    Parameters
    ----------
    count : int
        How many equal openings lie within half a wavelength of each other, at least one.

    Returns
    -------
    float
        ``-10 log10(count)`` [dB], zero or negative: shielding is lost.

    Raises
    ------
    InputError
        Where the count is below one.

    References
    ----------
    H. W. Ott, Electromagnetic Compatibility Engineering, Wiley 2009, chapter 6, multiple apertures.
    Some texts use 20 log10, all openings in phase; this is the sum of powers.

    Examples
    --------
    >>> equal_openings_db(10)
    -10.0
    """
    if count < 1:
        raise InputError(f"{count} openings", "at least one")
    return -10.0 * math.log10(count)


def cutoff_hz(shape: DuctShape, width_m: float) -> float:
    """Return the frequency below which an opening with depth acts as a guide that carries nothing.

    Parameters
    ----------
    shape : {"slot", "rectangle", "round"}
    width_m : float
        Longest dimension of the cross-section, the diameter of a round one [m].

    Returns
    -------
    float
        ``c / (2 a)``, or ``c / (1.706 D)`` for a round one [Hz].
    """
    require_positive("opening width (m)", width_m)
    if shape == "round":
        return _TE11_ROOT * SPEED_OF_LIGHT_M_PER_S / (math.pi * width_m)
    return SPEED_OF_LIGHT_M_PER_S / (2.0 * width_m)


def below_cutoff_db(shape: DuctShape, width_m: float, depth_m: float, frequency_hz: float) -> float:
    """Return what the depth of an opening adds, as a waveguide below its cut-off.

    Parameters
    ----------
    shape : {"slot", "rectangle", "round"}
        A slot counts as a rectangle.
    width_m : float
        Longest dimension of the cross-section, the diameter of a round one [m].
    depth_m : float
        Length of the guide along the wave: thickness of the wall or of a honeycomb [m].
    frequency_hz : float
        Frequency [Hz].

    Returns
    -------
    float
        Attenuation [dB], positive weakens; 0 at cut-off and above, where the guide carries the
        wave.

    Raises
    ------
    InputError, OutOfRange
        Where an input is not physical.

    Notes
    -----
    ``8.686 (2 pi fc / c) t sqrt(1 - (f / fc)^2)``: well below cut-off 27.3 dB for each ``t / a``
    of a rectangle, 32.0 dB for each ``t / D`` of a round hole. Lowest mode alone, so at least this
    much along the guide.

    References
    ----------
    H. W. Ott, Electromagnetic Compatibility Engineering, Wiley 2009, chapter 6, waveguide below
    cutoff (from memory).

    Examples
    --------
    >>> round(below_cutoff_db("round", 0.003, 0.012, 1e6), 1)
    127.9
    """
    require_within("depth (m)", depth_m, 0.0, 1e3)
    require_positive("frequency (Hz)", frequency_hz)
    cutoff = cutoff_hz(shape, width_m)
    if frequency_hz >= cutoff:
        return 0.0
    nepers_per_m = 2.0 * math.pi * cutoff / SPEED_OF_LIGHT_M_PER_S
    return DB_PER_NEPER * nepers_per_m * depth_m * math.sqrt(1.0 - (frequency_hz / cutoff) ** 2)
