"""Which frequencies a sweep has really looked at, and plain arithmetic on frequency ranges."""

from __future__ import annotations

import math
from collections.abc import Iterable
from itertools import islice

import numpy as np
from numpy.typing import NDArray

from linkbudget.core.decibels import FloatArray
from linkbudget.core.units import format_frequency

Range = tuple[float, float]

LARGEST_STEP_PER_BANDWIDTH = 1.1  # a tenth for the rounding of frequencies in files
GAP_PER_STEP = 1.9  # below 2, so that one missing level between coarse points is a hole
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


def bridged(ranges: Iterable[Range], width_hz: float) -> tuple[Range, ...]:
    """Return ranges with every gap up to a width closed: the filter itself has seen that far.

    Examples
    --------
    >>> bridged([(1.0, 2.0), (2.5, 4.0), (9.0, 10.0)], 1.0)
    ((1.0, 4.0), (9.0, 10.0))
    """
    closed: list[Range] = []
    for low, high in merged(ranges):
        if closed and low - closed[-1][1] <= width_hz:
            closed[-1] = (closed[-1][0], high)
        else:
            closed.append((low, high))
    return tuple(closed)


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
    left: list[Range] = []
    cuts = merged(taken)
    at = 0
    for low, high in merged(ranges):
        while at < len(cuts) and cuts[at][1] < low:
            at += 1
        start = low
        for taken_low, taken_high in islice(cuts, at, None):
            if taken_low > high:
                break
            if start < taken_low:
                left.append((start, math.nextafter(taken_low, -math.inf)))
            start = math.nextafter(taken_high, math.inf)
        if start <= high:
            left.append((start, high))
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


def covered_ranges(
    frequency_hz: FloatArray, bandwidth_hz: float, *, swept: bool = False
) -> tuple[Range, ...]:
    """Return the ranges that a sweep covers.

    Parameters
    ----------
    frequency_hz : array, shape (n,)
        Rising, at least one point [Hz].
    bandwidth_hz : float
        Resolution bandwidth [Hz].
    swept : bool
        Whether the analyser swept through and each point holds the highest level of its step.

    Returns
    -------
    tuple of (low, high)
        Each run of points, lengthened at both ends by half a bandwidth, or by half its step there
        where the sweep kept the highest level of each step [Hz].

    Notes
    -----
    Neighbours further apart than the bandwidth leave a gap between them. In a sweep that kept the
    highest level of each step they leave one only where their spacing exceeds 1.9 times the local
    step (median of the 17 spacings around), both in hertz and as a ratio, so that linear and
    logarithmic sweeps and a change of step are no gap. The 1.9 is this tool's own choice.
    """
    half = bandwidth_hz / 2.0
    spacing = np.diff(frequency_hz)
    if swept:
        breaks = _gap_positions(frequency_hz, spacing, bandwidth_hz)
    else:
        breaks = np.flatnonzero(spacing > LARGEST_STEP_PER_BANDWIDTH * bandwidth_hz)
    first = np.concatenate(([0], breaks + 1))
    last = np.concatenate((breaks, [frequency_hz.size - 1]))
    found: list[Range] = []
    for start, end in zip(first.tolist(), last.tolist(), strict=True):
        before = after = half
        if swept and end > start:
            before, after = max(half, spacing[start] / 2), max(half, spacing[end - 1] / 2)
        found.append((float(frequency_hz[start] - before), float(frequency_hz[end] + after)))
    return merged(found)


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
