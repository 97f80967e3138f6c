"""A value as somebody states it: exactly, or with how far it may be off."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from linkbudget.core.distributions import BAND_COVERAGE, Normal, of_quantity
from linkbudget.core.quantity import Kind, Quantity, Shape

_STEPS = 1024  # of a table; a share of 0.1 % each
HARD_ENDS = "nothing beyond"
SOFT_ENDS = f"{BAND_COVERAGE * 100:.0f} % interval"


@dataclass(frozen=True, slots=True)
class Stated:
    """A stated value in the base unit of its kind.

    Parameters
    ----------
    value : float
        The value, or the middle of a range.
    low, high : float, optional
        Band round it; both or none.
    shape : {"", "gaussian", "rectangular", "triangular", "arcsine"}
        As of ``core.quantity.Quantity``.

    Examples
    --------
    >>> print(Stated(1.5).quantity("dBi", "data sheet"))
    1.5 dBi
    >>> print(Stated.between(-3.0, 3.0).quantity("dBi", "range of the maker"))
    0.0 dBi (-3.0 to 3.0)
    """

    value: float
    low: float | None = None
    high: float | None = None
    shape: Shape | Literal[""] = ""

    @classmethod
    def between(cls, low: float, high: float) -> Stated:
        """Return what may lie anywhere between two hard ends, alike likely."""
        return cls((low + high) / 2.0, low, high, "rectangular")

    @classmethod
    def spread(cls, value: float, standard_deviation: float) -> Stated:
        """Return a Gaussian; its band holds 95 %."""
        low, high = Normal(value, standard_deviation).interval(BAND_COVERAGE)
        return cls(value, low, high, "gaussian")

    @property
    def band(self) -> tuple[float, float]:
        """Low and high; both the value itself where it is exact."""
        if self.low is None or self.high is None:
            return self.value, self.value
        return self.low, self.high

    def quantity(self, unit: str, source: str, kind: Kind = "stated") -> Quantity:
        """Return it with its unit and source, band and shape kept."""
        coverage = ""
        if self.low is not None:
            coverage = SOFT_ENDS if self.shape in ("", "gaussian") else HARD_ENDS
        return Quantity(self.value, unit, kind, self.low, self.high, source, coverage, self.shape)

    def through(
        self, change: Callable[[float], float], unit: str, source: str, kind: Kind = "stated"
    ) -> Quantity:
        """Return what a function makes of it, its spread bent by the function.

        Parameters
        ----------
        change : callable
            From the base unit to `unit`.
        unit, source, kind
            Of the result.

        Returns
        -------
        Quantity
            With a table where the value has a band; its value is then the median.

        Examples
        --------
        >>> print(Stated.between(0.0, 2.0).through(lambda x: x * x, "m2", "a square"))
        1.0 m2 (0.0 to 3.8)
        """
        if self.low is None:
            return Quantity(change(self.value), unit, kind, source=source)
        shape = of_quantity(self.quantity(unit, source))
        ends = [shape.interval(1.0 - (2 * k + 1) / _STEPS) for k in range(_STEPS // 2)]
        return tabled([change(end) for pair in ends for end in pair], unit, source, kind)


def tabled(values: list[float], unit: str, source: str, kind: Kind) -> Quantity:
    """Return a quantity that may have any of these values, alike likely; its value is the median.

    Examples
    --------
    >>> tabled([3.0, 1.0, 2.0], "dB", "three readings", "measured").value
    2.0
    """
    table = tuple(sorted(values))
    tail = int(len(table) * (1.0 - BAND_COVERAGE) / 2.0)
    middle = (table[(len(table) - 1) // 2] + table[len(table) // 2]) / 2.0
    ends = table[tail], table[-1 - tail]
    return Quantity(middle, unit, kind, *ends, source, SOFT_ENDS, table=table)
