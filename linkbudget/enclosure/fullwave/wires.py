"""Straight wires, all along an axis, and the boxes that hold them."""

from __future__ import annotations

import math
from dataclasses import dataclass

Point = tuple[float, float, float]

_DECIMALS = 7  # 0.1 um: coordinates are rounded once, here, or whole sheets come apart


def rounded(value_m: float) -> float:
    """Return a coordinate to a tenth of a micrometre [m]; never minus zero."""
    return round(float(value_m), _DECIMALS) + 0.0


def point(x_m: float, y_m: float, z_m: float) -> Point:
    """Return a point, rounded to a tenth of a micrometre [m]."""
    return rounded(x_m), rounded(y_m), rounded(z_m)


@dataclass(frozen=True, slots=True)
class Wire:
    """A straight thin wire.

    Parameters
    ----------
    start, stop : Point
        Its ends [m].
    segments : int
        Equal parts with one unknown each.
    radius_m : float
        Its radius [m].
    """

    start: Point
    stop: Point
    segments: int
    radius_m: float

    @property
    def length_m(self) -> float:
        """From end to end [m]."""
        return math.dist(self.start, self.stop)


@dataclass(frozen=True, slots=True)
class Solid:
    """A named box along the axes; flat or as thin as a line where two corners share a coordinate.

    Parameters
    ----------
    name : str
        As an engineer would call it, with its article.
    low, high : Point
        Opposite corners [m].
    """

    name: str
    low: Point
    high: Point

    def gap_m(self, other: Solid) -> float:
        """Return the shortest distance to another box [m]; 0 where they touch or overlap."""
        gaps = (
            max(0.0, theirs_low - high, low - theirs_high)
            for low, high, theirs_low, theirs_high in zip(
                self.low, self.high, other.low, other.high, strict=True
            )
        )
        return math.hypot(*gaps)


def solid_between(name: str, one: Point, other: Point) -> Solid:
    """Return the box between two opposite corners."""
    pairs = list(zip(one, other, strict=True))
    return Solid(name, point(*map(min, pairs)), point(*map(max, pairs)))
