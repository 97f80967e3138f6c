"""Rice fading: a direct ray among echoes, between Rayleigh and no fading at all.

Every margin here is relative to the MEAN POWER, direct ray and echoes together. The K factor is the
power of the direct ray over the mean power of all echoes: minus infinity dB is Rayleigh, plus
infinity dB does not fade. The share counts moments where things move, and places or channels a few
wavelengths or coherence bandwidths apart where nothing does.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import overload

import numpy as np

from linkbudget.core.decibels import FloatArray, power_ratio_from_db
from linkbudget.physics.arrays import float_or_array
from linkbudget.physics.fading import require_reliability
from linkbudget.physics.validity import require_within

LARGEST_K_DB = 30.0  # 99 % needs half a dB there; beyond it say infinity


@overload
def rice_outage(margin_db: float, k_db: float) -> float: ...
@overload
def rice_outage(margin_db: FloatArray, k_db: float) -> FloatArray: ...
def rice_outage(margin_db: float | FloatArray, k_db: float) -> float | FloatArray:
    """Return the share of outage that a margin leaves under Rice fading.

    Parameters
    ----------
    margin_db : float or array of any shape
        Margin relative to the mean power [dB].
    k_db : float
        Rice factor: minus infinity (Rayleigh) to 30 dB, or plus infinity (no fading) [dB].

    Returns
    -------
    float or array of the same shape
        Outage, the share in which the power lies below the mean power less the margin [1].

    Raises
    ------
    OutOfRange
        Where the Rice factor is finite and above 30 dB, or not a number.

    Notes
    -----
    ``2 (K + 1)`` times power over mean power is non-central chi-square with 2 degrees of freedom
    and non-centrality ``2 K``. Outages below 1e-40 come out as zero.

    References
    ----------
    S. O. Rice, Mathematical Analysis of Random Noise, Bell System Technical Journal 1945, part III
    (from memory).

    Examples
    --------
    >>> round(rice_outage(10.0, -math.inf), 4)
    0.0952
    >>> round(rice_outage(10.0, 6.0), 4)
    0.0165
    """
    from scipy.special import chndtr

    require_rice_factor(k_db)
    if k_db == math.inf:
        share = np.where(np.asarray(margin_db) < 0.0, 1.0, 0.0)
    else:
        k = power_ratio_from_db(k_db)
        threshold = np.power(10.0, -np.asarray(margin_db, dtype=float) / 10.0)
        share = np.asarray(chndtr(2.0 * (k + 1.0) * threshold, 2.0, 2.0 * k))
    return float_or_array(share)


def rice_margin_db(reliability: float, k_db: float) -> float:
    """Return the margin over the mean power for a reliability, inverse of ``rice_outage``.

    Parameters
    ----------
    reliability : float
        Share of moments or places, between 0 and 1 [1].
    k_db : float
        Rice factor, minus infinity to 30 dB, or plus infinity [dB].

    Returns
    -------
    float
        Margin relative to the mean power [dB]; zero without fading.

    Raises
    ------
    OutOfRange
        Where the reliability is not between 0 and 1, or the Rice factor is beyond its range.

    Examples
    --------
    >>> round(rice_margin_db(0.99, -math.inf), 2), round(rice_margin_db(0.99, 10.0), 2)
    (19.98, 6.18)
    """
    require_rice_factor(k_db)
    if k_db == math.inf:
        require_reliability(reliability)
        return 0.0
    return margin_of_outage_db(lambda margin_db: rice_outage(margin_db, k_db), reliability)


def require_rice_factor(k_db: float) -> None:
    """Refuse a Rice factor [dB] that is neither up to 30 dB nor plus infinity."""
    if k_db != math.inf:
        require_within(
            "Rice factor (dB)",
            k_db,
            -math.inf,
            LARGEST_K_DB,
            "Above 30 dB fades stay under half a decibel in 99 %: state no fading.",
        )


def margin_of_outage_db(
    outage: Callable[[float], float], reliability: float, beyond_db: float = 0.0
) -> float:
    """Return the margin at which an outage is what a reliability leaves.

    Parameters
    ----------
    outage : callable
        Outage [1] of a margin [dB]: falling, and no worse than Rayleigh fading.
    reliability : float
        Wanted share, between 0 and 1 [1].
    beyond_db : float
        How far past the margins of Rayleigh fading to look, to either side [dB].

    Returns
    -------
    float
        Margin, to a billionth of a decibel [dB].

    Raises
    ------
    OutOfRange
        Where the reliability is not between 0 and 1.
    """
    from scipy.optimize import brentq

    require_reliability(reliability)
    low_db, high_db = -20.0 - beyond_db, 130.0 + beyond_db  # Rayleigh: -14.4 to 120 dB
    root = brentq(
        lambda margin_db: outage(margin_db) - (1.0 - reliability), low_db, high_db, xtol=1e-9
    )
    return float(root)
