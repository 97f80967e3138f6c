"""Decibel arithmetic: ratios, sums of powers, and conversions between level units.

Constants are exact or derived in place; each function names its source.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

REFERENCE_IMPEDANCE_OHM = 50.0
FREE_SPACE_IMPEDANCE_OHM = 376.730313412  # CODATA 2022, characteristic impedance of vacuum
DBI_PER_DBD_DB = 2.15  # gain of a half-wave dipole over isotropic, 10 log10(1.64)

FloatArray = NDArray[np.float64]


def db_from_power_ratio(ratio: float) -> float:
    """Return a power ratio in dB.

    Parameters
    ----------
    ratio : float
        Power ratio [1], greater than zero.

    Examples
    --------
    >>> round(db_from_power_ratio(2.0), 2)
    3.01
    """
    return 10.0 * math.log10(ratio)


def power_ratio_from_db(level_db: float) -> float:
    """Return the power ratio [1] of a level difference in dB.

    Examples
    --------
    >>> power_ratio_from_db(-20.0)
    0.01
    """
    return float(10.0 ** (level_db / 10.0))


def power_sum_db(levels_db: ArrayLike) -> float:
    """Add levels as powers.

    Parameters
    ----------
    levels_db : array_like
        Levels in any decibel unit of power or of field or voltage squared [dB].

    Returns
    -------
    float
        10 log10 of the sum of powers [same unit].

    Examples
    --------
    >>> round(power_sum_db([30.0, 30.0]), 2)
    33.01
    """
    return 10.0 * math.log10(float(np.sum(10.0 ** (np.asarray(levels_db, dtype=float) / 10.0))))


def dbuv_from_dbm(level_dbm: float, impedance_ohm: float = REFERENCE_IMPEDANCE_OHM) -> float:
    """Return the voltage level across an impedance that takes a given power.

    Parameters
    ----------
    level_dbm : float
        Power level [dBm].
    impedance_ohm : float
        Resistance across which the voltage stands [ohm].

    Returns
    -------
    float
        Voltage level [dBuV].

    Notes
    -----
    ``V^2 / Z = P``: level = dBm + 90 + 10 log10(Z), which is dBm + 106.99 in 50 ohm.

    Examples
    --------
    >>> round(dbuv_from_dbm(0.0), 2)
    106.99
    """
    return level_dbm + 90.0 + 10.0 * math.log10(impedance_ohm)


def dbuv_per_m_from_dbua_per_m(level_dbua_per_m: float) -> float:
    """Return the electric field level of a plane wave from its magnetic field level.

    Notes
    -----
    ``E = H Z0``: + 20 log10(376.73) = + 51.52 dB, plane wave in free space only.

    Examples
    --------
    >>> round(dbuv_per_m_from_dbua_per_m(0.0), 2)
    51.52
    """
    return level_dbua_per_m + 20.0 * math.log10(FREE_SPACE_IMPEDANCE_OHM)


def erp_dbm_from_eirp_dbm(eirp_dbm: float) -> float:
    """Return the effective radiated power (over a half-wave dipole) from the EIRP.

    Examples
    --------
    >>> erp_dbm_from_eirp_dbm(10.0)
    7.85
    """
    return eirp_dbm - DBI_PER_DBD_DB


def root_sum_square_db(contributions_db: ArrayLike) -> float:
    """Combine independent uncertainties, all at the same coverage.

    Parameters
    ----------
    contributions_db : array_like
        Uncertainties at one coverage factor [dB].

    Returns
    -------
    float
        Their root sum of squares [dB].

    References
    ----------
    JCGM 100:2008, Guide to the expression of uncertainty in measurement, equation (10).

    Examples
    --------
    >>> round(root_sum_square_db([5.0, 6.0]), 2)
    7.81
    """
    return float(np.sqrt(np.sum(np.square(np.asarray(contributions_db, dtype=float)))))
