"""Means and spreads of a pattern over the directions in which the far end may be."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.enclosure.fullwave.directions import THETA_STEPS

Side = Literal["above", "beside", "below", "anywhere"]

SIDES: dict[Side, tuple[float, float]] = {
    "above": (0.0, 90.0),
    "beside": (60.0, 120.0),  # 30 degrees either side of the sheet's plane
    "below": (90.0, 180.0),
    "anywhere": (0.0, 180.0),
}
"""Range of the angle from straight up that each side covers [deg]."""

THETA_DEG: FloatArray = np.linspace(0.0, 180.0, THETA_STEPS)
"""Angle from straight up of each ring of directions [deg]."""

QUANTILES = (0.1, 0.5, 0.9)


def ring_areas(side: Side) -> FloatArray:
    """Return the share of the side's solid angle that each ring of directions stands for [1].

    Parameters
    ----------
    side : {"above", "beside", "below", "anywhere"}

    Returns
    -------
    array
        Over theta; sums to one. A ring at the rim of the side counts with the part inside.

    Examples
    --------
    >>> round(float(ring_areas("above").sum()), 6)
    1.0
    """
    half = 90.0 / (THETA_STEPS - 1)
    low, high = SIDES[side]
    starts = np.clip(THETA_DEG - half, low, high)
    stops = np.clip(THETA_DEG + half, low, high)
    areas = np.cos(np.radians(starts)) - np.cos(np.radians(stops))
    shares: FloatArray = areas / areas.sum()
    return shares


def side_mean(gain: FloatArray, side: Side) -> float:
    """Return the mean over a side's solid angle of a gain over theta and phi [1]."""
    return float(ring_areas(side) @ gain.mean(axis=1))


def side_quantiles(gain: FloatArray, side: Side) -> tuple[float, float, float]:
    """Return what 10, 50 and 90 % of a side's solid angle stay under [1]."""
    areas = np.repeat(ring_areas(side), gain.shape[1])
    values = gain.ravel()
    order = np.argsort(values)
    below = np.cumsum(areas[order])
    low, middle, high = (
        float(values[order[int(np.searchsorted(below, q * below[-1]))]]) for q in QUANTILES
    )
    return low, middle, high


def decibels(ratio: float) -> float:
    """Return a power ratio in dB; a ratio of nothing as -300 dB."""
    return 10.0 * math.log10(max(ratio, 1e-30))
