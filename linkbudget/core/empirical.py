"""The shape of a sample: values that were seen or computed, or a few of their quantiles."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import ArrayLike

from linkbudget.core.decibels import FloatArray
from linkbudget.core.spread import Distribution, require

_TABLE_SIZE = 4096  # a weight is resolved to 0.024 %, and the table stays in the nearest cache


@dataclass(frozen=True, slots=True, eq=False)
class Empirical(Distribution):
    """Values that were seen or computed, alike likely each, as the gain over all directions.

    Parameters
    ----------
    table : FloatArray
        Rising values, shape (n,): the quantiles at (i + 1/2)/n.

    Notes
    -----
    A table at equal steps of probability is read by index; a search in one at unequal steps takes
    twenty times as long. So weights are resolved to a share of 1/4096, once, at the start.

    Examples
    --------
    >>> Empirical.of_sample([3.0, 1.0, 2.0]).interval(0.9)
    (1.0, 3.0)
    """

    table: FloatArray

    def __post_init__(self) -> None:
        table = np.array(self.table, dtype=float)
        require(
            table.ndim == 1 and table.size > 0 and bool(np.all(np.isfinite(table))),
            "an empty table, or one with a value that is not finite",
            "one or more finite values",
        )
        require(bool(np.all(table[1:] >= table[:-1])), "a table that falls", "rising values")
        table.flags.writeable = False
        object.__setattr__(self, "table", table)

    @classmethod
    def of_sample(cls, values: ArrayLike, weights: ArrayLike | None = None) -> Self:
        """Build from a sample in any order, shape (n,); weights zero or more, alike if left out."""
        sample = np.asarray(values, dtype=float)
        order = np.argsort(sample, kind="stable")
        if weights is None:
            return cls(sample[order])
        counts = np.asarray(weights, dtype=float)
        require(
            counts.shape == sample.shape
            and bool(np.all(counts >= 0.0))
            and 0.0 < counts.sum() < math.inf,
            "weights that do not fit",
            "one for each value, zero or more, not all zero",
        )
        share = np.cumsum(counts[order])
        return cls(sample[order][np.searchsorted(share, _equal_steps() * share[-1])])

    @classmethod
    def of_quantiles(cls, probabilities: ArrayLike, values: ArrayLike) -> Self:
        """Build from quantiles at probabilities rising from 0 to 1, straight lines between."""
        shares = np.asarray(probabilities, dtype=float)
        table = np.asarray(values, dtype=float)
        require(
            shares.shape == table.shape
            and shares.size > 1
            and (shares[0], shares[-1]) == (0.0, 1.0)
            and bool(np.all(np.diff(shares) > 0.0)),
            "quantiles that do not rise from 0 to 1",
            "one value for each probability, the first at 0 and the last at 1",
        )
        return cls(np.interp(_equal_steps(), shares, table))

    @property
    def mean(self) -> float:
        """Mean of the table."""
        return float(np.mean(self.table))

    @property
    def standard_deviation(self) -> float:
        """Standard deviation of the table, as the whole population."""
        return float(np.std(self.table))

    def _quantile(self, probability: float) -> float:
        return float(self.table[int(probability * self.table.size)])

    def _fill(self, rng: np.random.Generator, out: FloatArray) -> None:
        rng.random(out=out)
        out *= self.table.size
        np.take(self.table, out.astype(np.intp), out=out, mode="clip")


def _equal_steps() -> FloatArray:
    return (np.arange(_TABLE_SIZE) + 0.5) / _TABLE_SIZE
