"""Shapes of what is not known exactly: what an input may be, and how likely each value is.

Names of shapes follow JCGM 101:2008, table 1. All values of a shape are in the unit of its
quantity; decibel quantities are spread in decibels.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.core.empirical import Empirical
from linkbudget.core.quantity import Quantity
from linkbudget.core.spread import Distribution, require

__all__ = [
    "BAND_COVERAGE",
    "Arcsine",
    "Distribution",
    "Exact",
    "Normal",
    "OneSided",
    "SplitNormal",
    "Triangular",
    "Uniform",
    "of_quantity",
]

BAND_COVERAGE = 0.95  # what a band holds where nothing else is said

_GAUSS = NormalDist()
_BAND_FACTOR = _GAUSS.inv_cdf(0.5 + BAND_COVERAGE / 2.0)  # 1.96 standard deviations each side


@dataclass(frozen=True, slots=True)
class Exact(Distribution):
    """One value, without doubt."""

    value: float

    @property
    def mean(self) -> float:
        """The value."""
        return self.value

    @property
    def standard_deviation(self) -> float:
        """Zero."""
        return 0.0

    def _quantile(self, probability: float) -> float:
        return self.value

    def _fill(self, rng: np.random.Generator, out: FloatArray) -> None:
        out.fill(self.value)


@dataclass(frozen=True, slots=True)
class Normal(Distribution):
    """Gaussian.

    Parameters
    ----------
    value : float
        Mean.
    spread : float
        Standard deviation, zero or more.

    Examples
    --------
    >>> low, high = Normal(10.0, 2.0).interval(0.95)
    >>> round(low, 2), round(high, 2)
    (6.08, 13.92)
    """

    value: float
    spread: float

    def __post_init__(self) -> None:
        _require_spread(self.spread)

    @property
    def mean(self) -> float:
        """The value."""
        return self.value

    @property
    def standard_deviation(self) -> float:
        """The spread."""
        return self.spread

    def _quantile(self, probability: float) -> float:
        return self.value + self.spread * _GAUSS.inv_cdf(probability)

    def _fill(self, rng: np.random.Generator, out: FloatArray) -> None:
        rng.standard_normal(out=out)
        out *= self.spread
        out += self.value


@dataclass(frozen=True, slots=True)
class SplitNormal(Distribution):
    """Half a Gaussian each side of the value, each with a spread of its own.

    Parameters
    ----------
    value : float
        Median: half of the values lie below it.
    below, above : float
        Standard deviations of the two Gaussians, zero or more.

    Notes
    -----
    ``value + Z below`` for Z < 0, ``value + Z above`` otherwise, Z standard normal. Mean
    ``value + (above - below)/sqrt(2 pi)``, variance ``(above^2 + below^2)/2 - (above - below)^2 /
    (2 pi)``. The value is the median, not the mode: a lopsided band keeps both sides alike likely.
    """

    value: float
    below: float
    above: float

    def __post_init__(self) -> None:
        _require_spread(self.below, self.above)

    @property
    def mean(self) -> float:
        """Expected value, away from the median toward the wider side."""
        return self.value + (self.above - self.below) / math.sqrt(2.0 * math.pi)

    @property
    def standard_deviation(self) -> float:
        """Spread of both halves about their common mean."""
        square = (self.above**2 + self.below**2) / 2.0
        return math.sqrt(square - (self.above - self.below) ** 2 / (2.0 * math.pi))

    def _quantile(self, probability: float) -> float:
        z = _GAUSS.inv_cdf(probability)
        return self.value + z * (self.below if z < 0.0 else self.above)

    def _fill(self, rng: np.random.Generator, out: FloatArray) -> None:
        rng.standard_normal(out=out)
        lean = (self.above - self.below) / 2.0
        aside = np.abs(out) * lean if lean else 0.0  # |Z| turns one slope into two, no branch
        out *= (self.above + self.below) / 2.0
        out += aside
        out += self.value


@dataclass(frozen=True, slots=True)
class OneSided(Distribution):
    """Half-normal: never above the value, most often just below, as a reading that misses some.

    Parameters
    ----------
    value : float
        Highest value.
    below : float
        Standard deviation of the whole Gaussian whose lower half this is, zero or more.
    """

    value: float
    below: float

    def __post_init__(self) -> None:
        _require_spread(self.below)

    @property
    def mean(self) -> float:
        """Expected value, ``value - below sqrt(2/pi)``."""
        return self.value - self.below * math.sqrt(2.0 / math.pi)

    @property
    def standard_deviation(self) -> float:
        """``below sqrt(1 - 2/pi)``."""
        return self.below * math.sqrt(1.0 - 2.0 / math.pi)

    def _quantile(self, probability: float) -> float:
        return self.value + self.below * _GAUSS.inv_cdf(probability / 2.0)

    def _fill(self, rng: np.random.Generator, out: FloatArray) -> None:
        rng.standard_normal(out=out)
        np.abs(out, out=out)
        out *= -self.below
        out += self.value


@dataclass(frozen=True, slots=True)
class _Between(Distribution):
    """Alike on both sides of the middle of two hard ends."""

    low: float
    high: float

    def __post_init__(self) -> None:
        _require_ends(self.low, self.high)

    @property
    def mean(self) -> float:
        """Middle of the ends."""
        return (self.low + self.high) / 2.0


@dataclass(frozen=True, slots=True)
class Uniform(_Between):
    """Rectangular: alike likely between two hard ends."""

    @property
    def standard_deviation(self) -> float:
        """Half the width over root 3."""
        return (self.high - self.low) / math.sqrt(12.0)

    def _quantile(self, probability: float) -> float:
        return self.low + (self.high - self.low) * probability

    def _fill(self, rng: np.random.Generator, out: FloatArray) -> None:
        rng.random(out=out)
        out *= self.high - self.low
        out += self.low


@dataclass(frozen=True, slots=True)
class Triangular(Distribution):
    """Triangular: most likely at the mode, falling straight to zero at two hard ends."""

    low: float
    mode: float
    high: float

    def __post_init__(self) -> None:
        _require_ends(self.low, self.high)
        require(
            self.low <= self.mode <= self.high,
            f"a most likely value of {self.mode:g}",
            f"{self.low:g} to {self.high:g}",
        )

    @property
    def mean(self) -> float:
        """Mean of the three corners."""
        return (self.low + self.mode + self.high) / 3.0

    @property
    def standard_deviation(self) -> float:
        """Half the width over root 6 where the mode is in the middle."""
        left, right = self.mode - self.low, self.high - self.mode
        return math.sqrt((left**2 + left * right + right**2) / 18.0)

    def _quantile(self, probability: float) -> float:
        width, left = self.high - self.low, self.mode - self.low
        if probability * width < left:
            return self.low + math.sqrt(probability * width * left)
        return self.high - math.sqrt((1.0 - probability) * width * (width - left))

    def _fill(self, rng: np.random.Generator, out: FloatArray) -> None:
        width, left = self.high - self.low, self.mode - self.low
        rng.random(out=out)
        right = np.maximum(out, left / width)  # below the mode this part adds nothing
        np.subtract(1.0, right, out=right)
        right *= width * (width - left)
        np.sqrt(right, out=right)
        np.minimum(out, left / width, out=out)
        out *= width * left
        np.sqrt(out, out=out)
        out -= right
        out += self.low + (width - left)


@dataclass(frozen=True, slots=True)
class Arcsine(_Between):
    """U-shaped: the sine of a phase that nobody knows, as mismatch; likeliest at its hard ends.

    References
    ----------
    JCGM 101:2008, 6.4.6, arc sine (U-shaped) distributions (from memory).
    """

    @property
    def standard_deviation(self) -> float:
        """Half the width over root 2."""
        return (self.high - self.low) / math.sqrt(8.0)

    def _quantile(self, probability: float) -> float:
        return self.mean - (self.high - self.low) / 2.0 * math.cos(math.pi * probability)

    def _fill(self, rng: np.random.Generator, out: FloatArray) -> None:
        rng.random(out=out)
        out -= 0.5
        out *= math.pi
        np.sin(out, out=out)
        out *= (self.high - self.low) / 2.0
        out += self.mean


def of_quantity(quantity: Quantity) -> Distribution:
    """Return the shape of a quantity, in its unit.

    Parameters
    ----------
    quantity : Quantity
        With a table, that. Without a band, or with one of no width, its value alone. "rectangular",
        "triangular" and "arcsine" take the band as hard ends. Any other band is read as a 95 %
        interval, half a Gaussian each side of the value.

    Notes
    -----
    A band stated at k = 2 is read at k = 1.96; 2 % is far below what anybody knows of a spread. A
    rectangular or arcsine shape has its mean in the middle of its ends, wherever the value stands.

    Examples
    --------
    >>> of_quantity(Quantity(0.0, "dB", "stated"))
    Exact(value=0.0)
    >>> of_quantity(Quantity(0.0, "dB", "stated", -1.0, 1.0, shape="arcsine"))
    Arcsine(low=-1.0, high=1.0)
    """
    low, high = quantity.band
    if quantity.table:
        return Empirical(np.array(quantity.table))
    if low == high:
        return Exact(quantity.value)
    if quantity.shape == "rectangular":
        return Uniform(low, high)
    if quantity.shape == "arcsine":
        return Arcsine(low, high)
    value = min(max(quantity.value, low), high)  # a band may miss its value by a rounding error
    if quantity.shape == "triangular":
        return Triangular(low, value, high)
    return SplitNormal(value, (value - low) / _BAND_FACTOR, (high - value) / _BAND_FACTOR)


def _require_spread(*spreads: float) -> None:
    for spread in spreads:
        require(0.0 <= spread < math.inf, f"a spread of {spread:g}", "zero or more, and finite")


def _require_ends(low: float, high: float) -> None:
    require(
        -math.inf < low < high < math.inf,
        f"{low:g} to {high:g}",
        "a low end below the high end, both finite",
    )
