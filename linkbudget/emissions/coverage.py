"""Which frequencies a sweep has really looked at, and plain arithmetic on frequency ranges."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from linkbudget.core.decibels import FloatArray
from linkbudget.core.units import format_frequency

Range = tuple[float, float]

GAP_PER_STEP = 1.9  # below 2, so that one missing level between coarse points is a hole
SINGLE_READINGS_PER_BANDWIDTH = 30.0  # coarser than this, points are readings, not a sweep
_BLOCK = 64  # spacings looked at together for a first suspicion
_NEIGHBOURS = 17  # spacings that make up the local step


def merged(ranges: Iterable[Range]) -> tuple[Range, ...]:
    """Return the union, sorted; ranges that touch within 1e-9 become one.

    Examples
    --------
    >>> merged([(5.0, 6.0), (1.0, 2.0), (2.0, 3.0)])
    ((1.0, 3.0), (5.0, 6.0))
    """
    union: list[Range] = []
    for low, high in sorted(ranges):
        if union and low <= union[-1][1] * (1 + 1e-9):
            union[-1] = (union[-1][0], max(union[-1][1], high))
        else:
            union.append((low, high))
    return tuple(union)


def without(ranges: Iterable[Range], taken: Iterable[Range]) -> tuple[Range, ...]:
    """Return what is left of ranges; the edge of a taken range goes with it.

    Parameters
    ----------
    ranges, taken : iterable of (low, high)
        Closed ranges [Hz].

    Returns
    -------
    tuple of (low, high)
        Closed ranges, sorted [Hz].

    Examples
    --------
    >>> [(round(a), round(b)) for a, b in without([(1.0, 9.0)], [(3.0, 4.0), (8.0, 12.0)])]
    [(1, 3), (4, 8)]
    """
    left = list(merged(ranges))
    for taken_low, taken_high in merged(taken):
        pieces: list[Range] = []
        for low, high in left:
            if taken_high < low or taken_low > high:
                pieces.append((low, high))
                continue
            if low < taken_low:
                pieces.append((low, math.nextafter(taken_low, -math.inf)))
            if taken_high < high:
                pieces.append((math.nextafter(taken_high, math.inf), high))
        left = pieces
    return tuple(left)


def overlap(ranges: Iterable[Range], window: Range) -> tuple[Range, ...]:
    """Return the parts of ranges that lie inside a window."""
    clipped = ((max(low, window[0]), min(high, window[1])) for low, high in ranges)
    return tuple((low, high) for low, high in clipped if low <= high)


def runs(frequency_hz: FloatArray, chosen: NDArray[np.bool_], reach_hz: float) -> tuple[Range, ...]:
    """Return the runs of chosen points, each lengthened at both ends; overlapping ones joined.

    Examples
    --------
    >>> f = np.array([1.0, 2.0, 3.0, 4.0, 5.0, 6.0])
    >>> runs(f, np.array([False, True, True, False, False, True]), 0.5)
    ((1.5, 3.5), (5.5, 6.5))
    """
    change = np.flatnonzero(np.diff(chosen, prepend=False, append=False))
    starts, ends = frequency_hz[change[::2]] - reach_hz, frequency_hz[change[1::2] - 1] + reach_hz
    if starts.size:
        apart = starts[1:] > ends[:-1]  # noise near a limit makes runs by the thousand
        starts, ends = starts[np.append(True, apart)], ends[np.append(apart, True)]
    return merged(zip(starts.tolist(), ends.tolist(), strict=True))


def in_words(ranges: Iterable[Range], most: int = 4) -> str:
    """Print ranges for a sentence; beyond a few, the rest is counted.

    Examples
    --------
    >>> in_words([(30e6, 230e6), (1e9, 3e9)])
    '30 MHz to 230 MHz, 1 GHz to 3 GHz'
    """
    listed = list(ranges)
    texts = [f"{format_frequency(low)} to {format_frequency(high)}" for low, high in listed[:most]]
    if len(listed) > most:
        texts.append(f"and {len(listed) - most} more")
    return ", ".join(texts)


def typical_step_hz(frequency_hz: FloatArray) -> float:
    """Return the middle of up to 4096 evenly picked spacings; 0 for a single point [Hz]."""
    if frequency_hz.size < 2:
        return 0.0
    picked = np.linspace(0, frequency_hz.size - 2, min(4096, frequency_hz.size - 1)).astype(int)
    return float(np.median(frequency_hz[picked + 1] - frequency_hz[picked]))


def covered_ranges(frequency_hz: FloatArray, bandwidth_hz: float) -> tuple[Range, ...]:
    """Return the ranges that a sweep covers.

    Parameters
    ----------
    frequency_hz : array, shape (n,)
        Rising, at least one point [Hz].
    bandwidth_hz : float
        Resolution bandwidth [Hz].

    Returns
    -------
    tuple of (low, high)
        Each run of points, lengthened at both ends by its step there or half a bandwidth [Hz].

    Notes
    -----
    Two neighbours leave a gap where their spacing exceeds 1.9 times the local step (median of the
    17 spacings around), both in hertz and as a ratio, so that linear and logarithmic sweeps and
    a change of step are no gap; and where it exceeds the bandwidth, since less hides nothing.
    Points further apart than 30 bandwidths are single readings (a list of final measurements),
    each good for its own bandwidth only. Both numbers are this tool's own choice.
    """
    half = bandwidth_hz / 2.0
    if typical_step_hz(frequency_hz) > SINGLE_READINGS_PER_BANDWIDTH * bandwidth_hz:
        return merged((f - half, f + half) for f in frequency_hz.tolist())
    spacing = np.diff(frequency_hz)
    breaks = _gap_positions(frequency_hz, spacing, bandwidth_hz)
    first = np.concatenate(([0], breaks + 1))
    last = np.concatenate((breaks, [frequency_hz.size - 1]))
    runs: list[Range] = []
    for start, end in zip(first.tolist(), last.tolist(), strict=True):
        before = after = half
        if end > start:
            before, after = max(half, spacing[start]), max(half, spacing[end - 1])
        runs.append((float(frequency_hz[start] - before), float(frequency_hz[end] + after)))
    return merged(runs)


def _gap_positions(
    frequency_hz: FloatArray, spacing: FloatArray, bandwidth_hz: float
) -> NDArray[np.intp]:
    """Return each i with a gap between points i and i + 1; cheap where there is none."""
    if spacing.size == 0:
        return np.empty(0, dtype=np.intp)
    starts = np.arange(0, spacing.size, _BLOCK)
    widest = np.maximum.reduceat(spacing, starts)
    least = np.minimum.reduceat(spacing, starts)
    padded = np.pad(least, 1, mode="edge")
    least_around = np.minimum(np.minimum(padded[:-2], padded[2:]), least)
    blocks = np.flatnonzero(widest > np.maximum(GAP_PER_STEP * least_around, bandwidth_hz))
    index = (starts[blocks][:, np.newaxis] + np.arange(_BLOCK)).ravel()
    index = index[index < spacing.size]
    reference = np.repeat(least_around[blocks], _BLOCK)[: index.size]
    index = index[spacing[index] > np.maximum(GAP_PER_STEP * reference, bandwidth_hz)]
    width = min(_NEIGHBOURS, spacing.size)
    left = np.clip(index - width // 2, 0, spacing.size - width)
    around = left[:, np.newaxis] + np.arange(width)
    ratio = np.log1p(spacing[around] / frequency_hz[around])
    own_ratio = np.log1p(spacing[index] / frequency_hz[index])
    is_gap = (spacing[index] > GAP_PER_STEP * np.median(spacing[around], axis=1)) & (
        own_ratio > GAP_PER_STEP * np.median(ratio, axis=1)
    )
    positions: NDArray[np.intp] = index[is_gap]
    return positions
