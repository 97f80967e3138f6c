"""How far apart two channels must lie to fade apart: coherence bandwidth and correlation.

The echoes arrive with an exponential power delay profile, the direct ray (if any) first of all.
Amplitudes are complex, and the mean power of each channel is one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from linkbudget.core.decibels import FloatArray, power_ratio_from_db
from linkbudget.physics.rice import require_rice_factor
from linkbudget.physics.validity import require_positive, require_within

LONGEST_RMS_DELAY_S = 1e-3
_RADII = 16  # nodes over a disk of faded amplitudes; twice as many angles
_AS_ONE = 1e-3  # channels nearer than this part of the coherence bandwidth fade as one


def coherence_bandwidth_hz(rms_delay_s: float) -> float:
    """Return the spacing [Hz] at which two channels' powers are correlated by one half.

    Parameters
    ----------
    rms_delay_s : float
        Rms delay spread of an exponential power delay profile [s].

    Returns
    -------
    float
        ``1 / (2 pi delay)`` [Hz].

    References
    ----------
    W. C. Jakes, Microwave Mobile Communications, 1974, coherence bandwidth (from memory).

    Examples
    --------
    >>> round(coherence_bandwidth_hz(30e-9) / 1e6, 1)
    5.3
    """
    require_positive("rms delay spread (s)", rms_delay_s)
    return 1.0 / (2.0 * math.pi * rms_delay_s)


def power_correlation(spacing_hz: float, rms_delay_s: float) -> float:
    """Return how the powers of two channels are correlated.

    Parameters
    ----------
    spacing_hz : float
        Distance between the channels [Hz].
    rms_delay_s : float
        Rms delay spread of an exponential power delay profile, zero or more [s].

    Returns
    -------
    float
        ``1 / (1 + (spacing / coherence bandwidth)^2)``, 0 to 1 [1].

    Notes
    -----
    The square of the echoes' own complex correlation, ``1 / (1 + 2j pi spacing delay)``. With a
    direct ray it is ``(|r|^2 + 2 K Re r) / (1 + 2 K)``, which is the same, since here ``Re r`` is
    ``|r|^2``: the Rice factor does not come in.

    References
    ----------
    W. C. Jakes, Microwave Mobile Communications, 1974; T. S. Rappaport, Wireless Communications
    (both from memory).

    Examples
    --------
    >>> round(power_correlation(5.3e6, 30e-9), 2)
    0.5
    """
    require_within("rms delay spread (s)", rms_delay_s, 0.0, LONGEST_RMS_DELAY_S)
    return abs(echo_correlation(spacing_hz, rms_delay_s)) ** 2


def echo_correlation(spacing_hz: float, rms_delay_s: float) -> complex:
    """Return the complex correlation [1] of the echoes on two channels a spacing [Hz] apart."""
    return 1.0 / complex(1.0, 2.0 * math.pi * spacing_hz * rms_delay_s)


def amplitudes(k_db: float) -> tuple[float, float]:
    """Return the direct ray's amplitude and the echoes' mean power for a Rice factor [dB]."""
    k = power_ratio_from_db(k_db)
    return (1.0, 0.0) if math.isinf(k) else (math.sqrt(k / (k + 1.0)), 1.0 / (k + 1.0))


def echo_mixing(channel_hz: Sequence[float], rms_delay_s: float) -> NDArray[np.complex128]:
    """Return the matrix that gives independent echoes the correlation of their channels.

    Parameters
    ----------
    channel_hz : sequence of float, length n
        Channel centres [Hz].
    rms_delay_s : float
        Rms delay spread [s].

    Returns
    -------
    array, shape (n, n)
        ``A`` with ``A A^H`` the correlation, also where some channels fade as one.
    """
    spacing_hz = np.subtract.outer(np.asarray(channel_hz), np.asarray(channel_hz))
    values, vectors = np.linalg.eigh(1.0 / (1.0 + 2j * np.pi * spacing_hz * rms_delay_s))
    mixed: NDArray[np.complex128] = vectors * np.sqrt(np.maximum(values, 0.0))
    return mixed


def faded_beside(
    margin_db: FloatArray, k_db: float, spacing_hz: float, rms_delay_s: float
) -> FloatArray:
    """Return how likely a channel is faded where another channel is.

    Parameters
    ----------
    margin_db : array, shape (m,)
        Margins relative to the mean power [dB].
    k_db : float
        Rice factor on both channels [dB].
    spacing_hz : float
        Distance between the channels [Hz].
    rms_delay_s : float
        Rms delay spread [s].

    Returns
    -------
    array, shape (m,)
        Conditional share of outage: the outage itself far apart, one close together [1].

    Raises
    ------
    OutOfRange
        Where the Rice factor is beyond its range.

    Notes
    -----
    The other channel's amplitude lies in the disk below the threshold; each point of it leaves this
    channel a Rice distribution with the part of the echoes that is not correlated. Sixteen radii by
    thirty-two angles: to 0.2 % for Rice factors up to 10 dB, to 15 % for 20 dB.
    """
    from scipy.special import chndtr

    require_rice_factor(k_db)
    correlation = echo_correlation(spacing_hz, rms_delay_s)
    apart = 1.0 - abs(correlation) ** 2
    direct, echoes = amplitudes(k_db)
    if echoes == 0.0 or apart < _AS_ONE**2:
        return np.ones_like(margin_db)
    threshold = 10.0 ** (-margin_db / 10.0)
    there, density = _faded_disk(threshold, direct, echoes)
    mean = direct + correlation * (there - direct)
    variance = 0.5 * apart * echoes  # of each part of the complex amplitude
    share = chndtr(threshold[:, np.newaxis] / variance, 2.0, np.abs(mean) ** 2 / variance)
    return np.asarray((density * share).sum(axis=1))


def _faded_disk(
    threshold: FloatArray, direct: float, echoes: float
) -> tuple[NDArray[np.complex128], FloatArray]:
    """Return amplitudes below each threshold and their shares, both of shape (m, points)."""
    nodes, weights = np.polynomial.legendre.leggauss(_RADII)
    turn = np.exp(2j * np.pi * (np.arange(2 * _RADII) + 0.5) / (2 * _RADII))
    unit = np.multiply.outer(np.sqrt(0.5 * (nodes + 1.0)), turn).ravel()  # equal areas weigh alike
    there = np.multiply.outer(np.sqrt(threshold), unit)
    exponent = -(np.abs(there - direct) ** 2) / echoes
    density = np.exp(exponent - exponent.max(axis=1, keepdims=True))
    density *= np.repeat(weights, turn.size)
    return there, density / density.sum(axis=1, keepdims=True)
