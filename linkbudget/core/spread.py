"""What the simulation needs to know of a value that is not known exactly."""

from __future__ import annotations

from abc import ABC, abstractmethod

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.core.errors import InputError


class Distribution(ABC):
    """What the simulation needs to know of an input; a new shape fills in the four blanks."""

    __slots__ = ()

    @property
    @abstractmethod
    def mean(self) -> float:
        """Expected value."""

    @property
    @abstractmethod
    def standard_deviation(self) -> float:
        """Standard uncertainty (JCGM 100, 2.3.1)."""

    @abstractmethod
    def _quantile(self, probability: float) -> float:
        """Return the value below which this share lies."""

    @abstractmethod
    def _fill(self, rng: np.random.Generator, out: FloatArray) -> None:
        """Put random values into the array, in steps that continue one series."""

    def interval(self, coverage: float) -> tuple[float, float]:
        """Return the ends of an interval with as much left on each side (JCGM 101, 3.15).

        Parameters
        ----------
        coverage : float
            Share of the values inside, between 0 and 1 [1].

        Raises
        ------
        InputError
            Where the coverage is not between 0 and 1.
        """
        require(0.0 < coverage < 1.0, f"a coverage of {coverage:g}", "between 0 and 1")
        return self._quantile(0.5 - coverage / 2.0), self._quantile(0.5 + coverage / 2.0)

    def draw(
        self, rng: np.random.Generator, count: int, out: FloatArray | None = None
    ) -> FloatArray:
        """Return random values, shape (count,).

        Parameters
        ----------
        rng : numpy.random.Generator
            Source of random numbers.
        count : int
            How many.
        out : FloatArray, optional
            Where to put them, shape (count,).

        Notes
        -----
        Two draws in a row continue one series: a and then b values are the same as a + b at once.
        """
        drawn = np.empty(count) if out is None else out
        self._fill(rng, drawn)
        return drawn


def require(holds: bool, found: str, expected: str) -> None:
    """Refuse a shape that cannot be, with ``InputError``."""
    if not holds:
        raise InputError(found, expected)
