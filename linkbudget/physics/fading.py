"""Fade margins: how much level must be kept in hand for a wanted reliability.

Reliability is the share of places or of moments at which the level is high enough, 0 to 1: of
moments where people or the product move, of places where all stands still. Rice fading is in
``rice``, shadowing with fast fading on top in ``shadowed_fading``.
"""

from __future__ import annotations

import math

from linkbudget.physics.validity import require_positive, require_within

_HIGHEST_RELIABILITY = 1.0 - 1e-12


def require_reliability(reliability: float) -> None:
    """Refuse a reliability [1] that no finite margin gives, with ``OutOfRange``."""
    require_within(
        "reliability",
        reliability,
        1e-12,
        _HIGHEST_RELIABILITY,
        "No finite margin gives 100 %: state a share below it, such as 0.99.",
    )


def rayleigh_margin_db(reliability: float) -> float:
    """Return the margin over the MEAN POWER for a reliability under Rayleigh fading.

    Parameters
    ----------
    reliability : float
        Share of time or places, between 0 and 1 [1].

    Returns
    -------
    float
        Margin relative to the mean power [dB]; negative below a reliability of 36.8 %.

    Raises
    ------
    OutOfRange
        Where the reliability is not between 0 and 1.

    Notes
    -----
    Many waves and no line of sight: the power is exponentially distributed, so
    ``reliability = exp(-10^(-M/10))`` and ``M = -10 log10(-ln(reliability))``. Relative to the
    median power the margin would be 1.59 dB less: texts that say "10 dB for 93 %" mean that.

    References
    ----------
    J. D. Parsons, The Mobile Radio Propagation Channel, Rayleigh distribution (from memory).

    Examples
    --------
    >>> round(rayleigh_margin_db(0.99), 2)
    19.98
    """
    require_reliability(reliability)
    return -10.0 * math.log10(-math.log(reliability))


def rayleigh_outage(margin_db: float) -> float:
    """Return the share of outage that a margin leaves under Rayleigh fading.

    Parameters
    ----------
    margin_db : float
        Margin relative to the mean power [dB].

    Returns
    -------
    float
        Outage, ``1 - exp(-10^(-M/10))``, which is one less the reliability [1].

    Examples
    --------
    >>> round(rayleigh_outage(10.0), 4)
    0.0952
    """
    # expm1 keeps the digits of a small outage
    return -math.expm1(-(10.0 ** (-margin_db / 10.0)))


def log_normal_margin_db(reliability: float, sigma_db: float) -> float:
    """Return the margin over the MEDIAN level for a reliability under log-normal shadowing.

    Parameters
    ----------
    reliability : float
        Share of places at the stated distance (at the edge, not averaged over the area) [1].
    sigma_db : float
        Standard deviation of the level [dB], zero or more.

    Returns
    -------
    float
        Margin relative to the median level [dB]; negative below 50 %.

    Raises
    ------
    OutOfRange
        Where the reliability is not between 0 and 1, or the deviation is negative.

    Notes
    -----
    The level in dB is normal: ``M = sigma * z(reliability)``, z the quantile of the normal
    distribution.

    Examples
    --------
    >>> round(log_normal_margin_db(0.90, 8.0), 1)
    10.3
    """
    from statistics import NormalDist

    require_reliability(reliability)
    require_within("standard deviation (dB)", sigma_db, 0.0, 100.0)
    return sigma_db * NormalDist().inv_cdf(reliability)


def log_normal_reliability(margin_db: float, sigma_db: float) -> float:
    """Return the reliability that a margin gives, inverse of ``log_normal_margin_db``.

    Parameters
    ----------
    margin_db : float
        Margin relative to the median level [dB].
    sigma_db : float
        Standard deviation of the level, greater than zero [dB].

    Returns
    -------
    float
        Share of places at the stated distance [1].

    Examples
    --------
    >>> log_normal_reliability(0.0, 8.0)
    0.5
    """
    require_positive("standard deviation (dB)", sigma_db)
    # erfc keeps the digits of a small share
    return math.erfc(-margin_db / sigma_db / math.sqrt(2.0)) / 2.0
