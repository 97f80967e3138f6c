"""Shadowing and fast fading together: the level falls behind things, and echoes beat on top.

Every margin here is relative to the MEAN POWER OF THE MEDIAN PLACE: fast fading is averaged, and
half of the places lie above. The mean over all places lies ``0.115 sigma^2`` dB higher (sigma in
dB), since decibels are averaged there and powers here. The share counts places and, at each place,
moments or channels.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import overload

import numpy as np

from linkbudget.core.decibels import FloatArray, power_ratio_from_db
from linkbudget.physics.arrays import float_or_array
from linkbudget.physics.fading import require_reliability
from linkbudget.physics.rice import margin_of_outage_db, require_rice_factor, rice_outage
from linkbudget.physics.validity import require_within

LARGEST_SIGMA_DB = 20.0
_REACH = 8.5  # standard deviations of shadowing that count; 2e-17 lies beyond
_TABLE_SHARE = 1e-6


@overload
def shadowed_outage(margin_db: float, k_db: float, sigma_db: float) -> float: ...
@overload
def shadowed_outage(margin_db: FloatArray, k_db: float, sigma_db: float) -> FloatArray: ...
def shadowed_outage(
    margin_db: float | FloatArray, k_db: float, sigma_db: float
) -> float | FloatArray:
    """Return the share of outage under log-normal shadowing with Rice fading on top.

    Parameters
    ----------
    margin_db : float or array of any shape
        Margin relative to the mean power of the median place [dB].
    k_db : float
        Rice factor: minus infinity (Rayleigh) to 30 dB, or plus infinity (shadowing alone) [dB].
    sigma_db : float
        Standard deviation of shadowing, 0 to 20 dB; zero leaves the fast fading alone [dB].

    Returns
    -------
    float or array of the same shape
        Outage over places and moments together [1].

    Raises
    ------
    OutOfRange
        Where the Rice factor or the deviation is beyond its range.

    Notes
    -----
    ``outage(M) = integral phi(z) F(M + sigma z) dz``: phi the normal density, F the outage of fast
    fading at a place. Summed in equal steps that are narrow against F as well, which leaves an
    error below a millionth of the outage; the nodes of Gauss and Hermite would lie too far apart
    for a large Rice factor.

    References
    ----------
    H. Suzuki, A Statistical Model for Urban Radio Propagation, IEEE Transactions on Communications
    1977: Rayleigh with log-normal (from memory).

    Examples
    --------
    >>> round(shadowed_outage(20.0, -math.inf, 6.0), 4)
    0.0242
    """
    from scipy.special import ndtr

    require_rice_factor(k_db)
    require_within("standard deviation (dB)", sigma_db, 0.0, LARGEST_SIGMA_DB)
    if sigma_db == 0.0:
        return rice_outage(margin_db, k_db)
    margin = np.asarray(margin_db, dtype=float)
    if k_db == math.inf:
        share = np.asarray(ndtr(-margin / sigma_db))
    else:
        z, weight = _normal_steps(k_db, sigma_db)
        share = rice_outage(margin[..., np.newaxis] + sigma_db * z, k_db) @ weight
    return float_or_array(np.asarray(share))


def _normal_steps(k_db: float, sigma_db: float) -> tuple[FloatArray, FloatArray]:
    # spread of the level in dB where the direct ray rules; Rayleigh itself spreads over 5.6 dB
    spread_db = 10.0 / math.log(10.0) * math.sqrt(2.0 / (power_ratio_from_db(k_db) + 1.0))
    step = min(0.25, 0.5 * spread_db / sigma_db)
    half = math.ceil(_REACH / step)
    z: FloatArray = step * np.arange(-half, half + 1, dtype=float)
    weight: FloatArray = np.exp(-0.5 * z**2)
    return z, weight / weight.sum()


def shadowed_margin_db(reliability: float, k_db: float, sigma_db: float) -> float:
    """Return the margin for a reliability under shadowing with Rice fading on top.

    The inverse of ``shadowed_outage``.

    Parameters
    ----------
    reliability : float
        Share over places and moments together, between 0 and 1 [1].
    k_db : float
        Rice factor, minus infinity to 30 dB, or plus infinity [dB].
    sigma_db : float
        Standard deviation of shadowing, 0 to 20 dB [dB].

    Returns
    -------
    float
        Margin relative to the mean power of the median place [dB].

    Raises
    ------
    OutOfRange
        Where the reliability is not between 0 and 1, or another value is beyond its range.

    Examples
    --------
    >>> round(shadowed_margin_db(0.99, -math.inf, 0.0), 2)
    19.98
    >>> round(shadowed_margin_db(0.99, -math.inf, 8.0), 2)
    26.95
    """
    require_rice_factor(k_db)
    require_within("standard deviation (dB)", sigma_db, 0.0, LARGEST_SIGMA_DB)
    if sigma_db == 0.0 and k_db == math.inf:
        require_reliability(reliability)
        return 0.0
    return margin_of_outage_db(
        lambda margin_db: shadowed_outage(margin_db, k_db, sigma_db), reliability, 8.0 * sigma_db
    )


@dataclass(frozen=True, slots=True)
class OutageTable:
    """Outage against margin, for many draws at once.

    Parameters
    ----------
    margin_db : array, shape (n,)
        Margins in equal steps, rising [dB].
    outage : array, shape (n,)
        Outage at each, falling from nearly 1 to nearly 0 [1].
    """

    margin_db: FloatArray
    outage: FloatArray

    def at(self, margin_db: FloatArray) -> FloatArray:
        """Return the outage [1] at margins [dB] by straight lines; past an end, that end's."""
        share: FloatArray = np.interp(margin_db, self.margin_db, self.outage)
        return share


def outage_table(k_db: float, sigma_db: float, points: int = 1001) -> OutageTable:
    """Return the outage as a table from a reliability of a millionth to all but a millionth.

    Parameters
    ----------
    k_db : float
        Rice factor, minus infinity to 30 dB, or plus infinity [dB].
    sigma_db : float
        Standard deviation of shadowing, 0 to 20 dB [dB].
    points : int
        Length of the table, at least 100.

    Returns
    -------
    OutageTable
        Past its ends the outage is off by a millionth at most. Without any fading it is a step.

    Raises
    ------
    OutOfRange
        Where a value is beyond its range.

    Examples
    --------
    >>> table = outage_table(-math.inf, 0.0)
    >>> table.at(np.array([0.0, 10.0, 20.0])).round(4).tolist()
    [0.6321, 0.0952, 0.01]
    """
    require_within("points of the table", points, 100, 100_000)
    slack_db = 1e-6  # a table of no fading has some width too
    margin_db = np.linspace(
        shadowed_margin_db(_TABLE_SHARE, k_db, sigma_db) - slack_db,
        shadowed_margin_db(1.0 - _TABLE_SHARE, k_db, sigma_db) + slack_db,
        points,
    )
    return OutageTable(margin_db, shadowed_outage(margin_db, k_db, sigma_db))
