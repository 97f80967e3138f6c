"""Free space: transmission loss, wavelength, and field strength from radiated power."""

from __future__ import annotations

import math
from typing import overload

import numpy as np

from linkbudget.core.decibels import FREE_SPACE_IMPEDANCE_OHM, FloatArray
from linkbudget.core.errors import OutOfRange
from linkbudget.physics.validity import require_positive

SPEED_OF_LIGHT_M_PER_S = 299_792_458.0  # exact, definition of the metre

# E^2 = Z0 P / (4 pi d^2); 120 dB from V/m to uV/m, 30 dB from W to mW: 104.77 dB
_FIELD_CONSTANT_DB = 10.0 * math.log10(FREE_SPACE_IMPEDANCE_OHM / (4.0 * math.pi)) + 120.0 - 30.0


def wavelength_m(frequency_hz: float) -> float:
    """Return the wavelength in vacuum [m] at a frequency [Hz].

    Examples
    --------
    >>> round(wavelength_m(2.44e9) * 1e3, 1)
    122.9
    """
    require_positive("frequency (Hz)", frequency_hz)
    return SPEED_OF_LIGHT_M_PER_S / frequency_hz


def near_field_boundary_m(frequency_hz: float) -> float:
    """Return the distance [m] below which the far-field formulas do not hold, wavelength/2 pi."""
    return wavelength_m(frequency_hz) / (2.0 * math.pi)


def far_field_distance_m(size_m: float, frequency_hz: float) -> float:
    """Return where the far field of an antenna of some size begins.

    Parameters
    ----------
    size_m : float
        Largest dimension of everything that radiates [m].
    frequency_hz : float
        Frequency [Hz].

    Returns
    -------
    float
        The larger of ``2 D^2 / wavelength`` and ``wavelength / (2 pi)`` [m].

    Notes
    -----
    At ``2 D^2 / wavelength`` the phase across the antenna differs by a sixteenth of a wavelength.

    References
    ----------
    C. A. Balanis, Antenna Theory, field regions (from memory).

    Examples
    --------
    >>> round(far_field_distance_m(0.18, 2.44e9), 2)
    0.53
    """
    require_positive("size (m)", size_m)
    return max(2.0 * size_m**2 / wavelength_m(frequency_hz), near_field_boundary_m(frequency_hz))


@overload
def free_space_loss_db(frequency_hz: float, distance_m: float) -> float: ...
@overload
def free_space_loss_db(frequency_hz: float, distance_m: FloatArray) -> FloatArray: ...
def free_space_loss_db(frequency_hz: float, distance_m: float | FloatArray) -> float | FloatArray:
    """Return the transmission loss between isotropic antennas in free space.

    Parameters
    ----------
    frequency_hz : float
        Frequency [Hz].
    distance_m : float or array of any shape
        Distance [m].

    Returns
    -------
    float or array of the same shape
        Free-space transmission loss [dB].

    Raises
    ------
    OutOfRange
        Where a distance lies below wavelength/2 pi.

    Notes
    -----
    ``L = 20 log10(4 pi d / wavelength)``, H. T. Friis 1946. Far field only: for antennas of size D
    the distance should also exceed ``far_field_distance_m``.

    References
    ----------
    ITU-R P.525-5 (11/2024), Calculation of free-space attenuation, equation 5 (from memory).

    Examples
    --------
    >>> round(free_space_loss_db(2.4e9, 1.0), 2)
    40.05
    """
    _require_far_field(distance_m, frequency_hz)
    loss_db = 20.0 * np.log10(4.0 * np.pi * distance_m / wavelength_m(frequency_hz))  # P.525 (5)
    return float(loss_db) if np.ndim(loss_db) == 0 else loss_db


def free_space_distance_m(frequency_hz: float, loss_db: float) -> float:
    """Return the distance at which free space costs a given loss.

    The inverse of ``free_space_loss_db``.

    Parameters
    ----------
    frequency_hz : float
        Frequency [Hz].
    loss_db : float
        Free-space transmission loss [dB], at least 6.02 dB (which is wavelength/2 pi).

    Returns
    -------
    float
        Distance [m].

    Raises
    ------
    OutOfRange
        Where the distance would lie below wavelength/2 pi.
    """
    distance_m = wavelength_m(frequency_hz) / (4.0 * math.pi) * math.pow(10.0, loss_db / 20.0)
    _require_far_field(distance_m, frequency_hz)
    return distance_m


def field_dbuv_per_m_from_eirp_dbm(eirp_dbm: float, distance_m: float) -> float:
    """Return the field strength that a radiated power makes in free space.

    Parameters
    ----------
    eirp_dbm : float
        Equivalent isotropically radiated power [dBm].
    distance_m : float
        Distance, in the far field [m].

    Returns
    -------
    float
        Electric field level [dBuV/m].

    Notes
    -----
    ``E = EIRP + 104.77 - 20 log10(d)``. Free space alone: the reflection from the ground plane of a
    test site adds up to 6 dB and is not in it.

    Examples
    --------
    >>> round(field_dbuv_per_m_from_eirp_dbm(0.0, 3.0), 2)
    95.23
    """
    require_positive("distance (m)", distance_m)
    return eirp_dbm + _FIELD_CONSTANT_DB - 20.0 * math.log10(distance_m)


def eirp_dbm_from_field_dbuv_per_m(field_dbuv_per_m: float, distance_m: float) -> float:
    """Return the radiated power [dBm] behind a field [dBuV/m] at a distance [m] in free space."""
    return field_dbuv_per_m - field_dbuv_per_m_from_eirp_dbm(0.0, distance_m)


def _require_far_field(distance_m: float | FloatArray, frequency_hz: float) -> None:
    boundary_m = near_field_boundary_m(frequency_hz)
    nearest_m = float(np.min(distance_m)) if np.size(distance_m) else math.inf
    # a hair of slack, so that the inverse of the boundary's own loss is taken
    if not nearest_m >= boundary_m * (1.0 - 1e-12):
        raise OutOfRange(
            "distance (m)",
            nearest_m,
            boundary_m,
            math.inf,
            "Nearer than wavelength/2 pi the far-field formula does not hold.",
        )
