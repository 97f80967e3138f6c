"""Sheets as grids of wires: lines, and the wires on them.

The radius is decisive. A wire has the surface of the strip of sheet that it stands for:
``2 pi radius = spacing`` (equal-area rule); a twentieth of the cell instead gives a loss of 3.7 dB
where 7.3 dB is right.

References
----------
A. C. Ludwig, Wire grid modeling of surfaces, IEEE Transactions on Antennas and Propagation, AP-35,
1987, equal-area rule (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.enclosure.fullwave.wires import Point, Wire, point, rounded


@dataclass(frozen=True, slots=True)
class Sheet:
    """A flat rectangle of metal parallel to the plane z = 0, with or without a rim turned down.

    Parameters
    ----------
    name : str
        "the sheet" or "the board".
    length_m, width_m : float
        Along x and y [m].
    x_m, y_m, z_m : float
        Its middle [m].
    skirt_m : float
        Height of the rim [m].
    anchors : tuple of (float, float)
        Places x, y that must be nodes of the grid, where they lie on it [m].
    """

    name: str
    length_m: float
    width_m: float
    x_m: float = 0.0
    y_m: float = 0.0
    z_m: float = 0.0
    skirt_m: float = 0.0
    anchors: tuple[tuple[float, float], ...] = ()


def equal_area_radius_m(spacing_m: float) -> float:
    """Return the wire radius for a spacing of the grid, ``spacing / 2 pi`` [m].

    Examples
    --------
    >>> round(equal_area_radius_m(0.008) * 1e3, 2)
    1.27
    """
    return spacing_m / (2.0 * math.pi)


def sheet_wires(sheet: Sheet, cell_m: float) -> list[Wire]:
    """Return the wires of a sheet, one segment each.

    Parameters
    ----------
    sheet : Sheet
    cell_m : float
        Wanted cell [m]; the nearest that fits with cells close to squares is taken.
    """
    x, y = _lines(sheet, cell_m)
    flat = [*_parallel(x, y, sheet.z_m, along_x=True), *_parallel(y, x, sheet.z_m, along_x=False)]
    if sheet.skirt_m <= 0.0:
        return flat
    # fat wires that end at the edge must not swallow the first wires of a low rim
    slim_m = 0.4 * sheet.skirt_m
    low, high = point(x[0], y[0], sheet.z_m), point(x[-1], y[-1], sheet.z_m)
    slim = [
        Wire(wire.start, wire.stop, wire.segments, min(wire.radius_m, slim_m))
        if _at_edge(wire, low, high)
        else wire
        for wire in flat
    ]
    return [*slim, *_rim(x, y, sheet.z_m, sheet.skirt_m, cell_m)]


def sheet_segments(sheet: Sheet, cell_m: float) -> int:
    """Return how many segments ``sheet_wires`` would make, without making them."""
    x, y = _lines(sheet, cell_m)
    flat = len(y) * (len(x) - 1) + len(x) * (len(y) - 1)
    if sheet.skirt_m <= 0.0:
        return flat
    around = 2 * (len(x) + len(y) - 2)
    return flat + 2 * around * _rim_layers(sheet.skirt_m, cell_m)


def _rim_layers(height_m: float, cell_m: float) -> int:
    return max(1, round(height_m / cell_m))


def _at_edge(wire: Wire, low: Point, high: Point) -> bool:
    return any(
        end[axis] in (low[axis], high[axis]) for end in (wire.start, wire.stop) for axis in (0, 1)
    )


@lru_cache(maxsize=64)
def _lines(sheet: Sheet, cell_m: float) -> tuple[FloatArray, FloatArray]:
    """Return the x and y of the lines, for cells near squares and near the wanted size."""
    trials = []
    for share in np.linspace(0.9, 1.1, 21):
        x = _cuts(sheet.x_m, sheet.length_m, [a for a, _ in sheet.anchors], cell_m * share)
        y = _cuts(sheet.y_m, sheet.width_m, [b for _, b in sheet.anchors], cell_m * share)
        steps = np.log(np.concatenate([np.diff(x), np.diff(y)]) / cell_m)
        # a wrong size weighs double, or the two meshes of a small sheet would be one
        trials.append((float(np.ptp(steps) + 2.0 * abs(steps.mean())), (x, y)))
    return min(trials, key=lambda trial: trial[0])[1]


def _cuts(middle_m: float, size_m: float, wanted_m: Sequence[float], cell_m: float) -> FloatArray:
    ends = middle_m - size_m / 2.0, middle_m + size_m / 2.0
    stops = [ends[0]]
    for stop in [*sorted(wanted_m), ends[1]]:
        # a line that falls on the one before, or off the sheet, is not another line
        if ends[0] < stop <= ends[1] and stop - stops[-1] > 1e-6:
            stops.append(stop)
    parts = [
        np.linspace(low, high, max(1, round((high - low) / cell_m)) + 1)[1:]
        for low, high in pairwise(stops)
    ]
    cuts: FloatArray = np.concatenate([[ends[0]], *parts])
    return cuts


def _spacing(lines: FloatArray) -> FloatArray:
    """Return the width of sheet that each line stands for; an outer line counts as an inner one."""
    steps = np.diff(lines)
    spacing: FloatArray = (np.append(steps[0], steps) + np.append(steps, steps[-1])) / 2.0
    return spacing


def _parallel(
    along: FloatArray, across: FloatArray, z_m: float, *, along_x: bool
) -> Iterator[Wire]:
    steps, depth_m = [rounded(a) for a in along], rounded(z_m)
    for place, spacing in zip(map(rounded, across), _spacing(across), strict=True):
        radius_m = equal_area_radius_m(float(spacing))
        nodes = [(a, place, depth_m) if along_x else (place, a, depth_m) for a in steps]
        for start, stop in pairwise(nodes):
            yield Wire(start, stop, 1, radius_m)


def _rim(
    x: FloatArray, y: FloatArray, z_m: float, height_m: float, cell_m: float
) -> Iterator[Wire]:
    corner = [(a, y[0]) for a in x[:-1]] + [(x[-1], b) for b in y[:-1]]
    corner += [(a, y[-1]) for a in x[:0:-1]] + [(x[0], b) for b in y[:0:-1]]
    layers = _rim_layers(height_m, cell_m)
    levels = z_m - np.linspace(0.0, height_m, layers + 1)
    layer_m = height_m / layers
    radius_m = equal_area_radius_m(min(cell_m, layer_m))
    for upper, lower in pairwise(levels):
        ring: list[Point] = [point(a, b, lower) for a, b in corner]
        for (a, b), below in zip(corner, ring, strict=True):
            yield Wire(point(a, b, upper), below, 1, radius_m)
        for start, stop in pairwise([*ring, ring[0]]):
            yield Wire(start, stop, 1, radius_m)
