"""Peaks of a trace: prominent ones on the envelope per half resolution bandwidth.

Raw noise has thousands of local maxima of 6 dB; its envelope has next to none.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from linkbudget.core.decibels import FloatArray

PROMINENCE_DB = 6.0
_MOST_BINS = 2**15  # a rising comb makes prominence quadratic in the number of bins


@dataclass(frozen=True, slots=True)
class Peak:
    """One peak of a scan against a line.

    Parameters
    ----------
    frequency_hz : float
        Where it stands [Hz].
    level_db, limit_db : float
        Reading and limit there [the unit of the line].
    """

    frequency_hz: float
    level_db: float
    limit_db: float

    @property
    def margin_db(self) -> float:
        """Limit minus level; negative is over the line [dB]."""
        return self.limit_db - self.level_db


def bin_starts(frequency_hz: FloatArray, bandwidth_hz: float) -> NDArray[np.intp]:
    """Return where each bin of half a bandwidth begins; every bin holds at least one point.

    Parameters
    ----------
    frequency_hz : array, shape (n,)
        Rising [Hz].
    bandwidth_hz : float
        Resolution bandwidth [Hz].

    Returns
    -------
    array of int, shape (bins,)
        Index of the first point of each bin. Where points are further apart than half a
        bandwidth, each point is its own bin.

    Notes
    -----
    At most 2**15 bins: a bandwidth much finer than the span is widened for peaks (and for peaks
    alone) so that the search stays fast on any input.
    """
    if frequency_hz.size == 0:
        return np.empty(0, dtype=np.intp)
    first, last = float(frequency_hz[0]), float(frequency_hz[-1])
    width_hz = max(bandwidth_hz / 2.0, (last - first) / _MOST_BINS)
    edges = first + width_hz * np.arange(int((last - first) / width_hz) + 1 if width_hz else 1)
    starts = np.unique(np.searchsorted(frequency_hz, edges, side="left"))
    inside: NDArray[np.intp] = starts[starts < frequency_hz.size]
    return inside


def prominent_points(
    frequency_hz: FloatArray,
    level_db: FloatArray,
    bandwidth_hz: float,
    prominence_db: float = PROMINENCE_DB,
) -> NDArray[np.intp]:
    """Return the points that stand out of their surroundings.

    Parameters
    ----------
    frequency_hz : array, shape (n,)
        Rising [Hz].
    level_db : array, shape (n,)
        Level in any decibel unit.
    bandwidth_hz : float
        Resolution bandwidth [Hz].
    prominence_db : float
        Height over the higher of the two saddles beside the peak [dB].

    Returns
    -------
    array of int, shape (k,)
        Index of the highest point of each peak, rising.

    Notes
    -----
    The envelope is the maximum per half resolution bandwidth. A trace that is highest at its very
    end has no peak there: the worst margin is looked for over all points, not here.

    Examples
    --------
    >>> f = np.arange(30e6, 31e6, 10e3)
    >>> level = np.where(np.abs(f - 30.5e6) < 30e3, 40.0, 20.0)
    >>> f[prominent_points(f, level, 120e3)]
    array([30480000.])
    """
    from scipy.signal import find_peaks

    starts = bin_starts(frequency_hz, bandwidth_hz)
    if starts.size < 3:
        return np.empty(0, dtype=np.intp)
    envelope = np.maximum.reduceat(level_db, starts)
    found, _ = find_peaks(envelope, prominence=prominence_db)
    ends = np.append(starts[1:], frequency_hz.size)
    points = [int(starts[k] + np.argmax(level_db[starts[k] : ends[k]])) for k in found]
    return np.asarray(points, dtype=np.intp)
