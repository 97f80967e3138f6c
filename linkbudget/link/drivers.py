"""Which input drives the spread of an answer, and what it would be worth to know it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.core.errors import InputError
from linkbudget.core.quantity import Kind, Quantity
from linkbudget.core.uncertainty import Simulated

_UNSTATED: tuple[Kind, ...] = ("assumed", "typical")
_SLICES = 16
_FEWEST = 8 * _SLICES


@dataclass(frozen=True, slots=True)
class Driver:
    """What one input does to the spread of an output.

    Parameters
    ----------
    name : str
        The input.
    kind : {"measured", "stated", "computed", "typical", "assumed"}
        What sort of knowledge it is.
    correlation : float
        Rank correlation with the output, -1 to 1 [1]; positive where more gives more.
    share : float
        Share of the spread, as variance [1]; the shares of all inputs add up to one.
    spread_if_known : float
        Standard deviation that would remain if this input were known exactly [unit of the output].
    fall : float
        By how much that is less than now [unit of the output].
    """

    name: str
    kind: Kind
    correlation: float
    share: float
    spread_if_known: float
    fall: float


def drivers(simulated: Simulated, output: str, known: Mapping[str, Quantity]) -> tuple[Driver, ...]:
    """Rank the inputs of a simulation by what they do to the spread of an output.

    Parameters
    ----------
    simulated : Simulated
        Its kept draws are used.
    output : str
        Name of the output.
    known : mapping of Quantity
        What is known of each input that counts; others that were simulated are left out.

    Returns
    -------
    tuple of Driver
        By share, largest first.

    Raises
    ------
    InputError
        Where the output is not finite, or too few draws were kept.

    Notes
    -----
    Share: squared rank correlation (Spearman), divided by the sum over the inputs, so that any
    rising or falling dependence counts in full. A constant has none. Where the squared correlations
    add up to far less than one, inputs act together or both ways, and the shares say less.

    Spread if known: the kept draws are cut into 16 slices along the input, a straight line is
    fitted in each, and what remains about the lines is the spread that the other inputs make. For a
    sum of independent terms that is the root of the variance less the variance of the term.

    References
    ----------
    C. Spearman, The proof and measurement of association between two things, 1904. A. Saltelli et
    al., Global Sensitivity Analysis, first-order index as the expected fall of the variance (from
    memory).

    Examples
    --------
    >>> from linkbudget.core.distributions import of_quantity
    >>> from linkbudget.core.uncertainty import simulate
    >>> known = {
    ...     "gain": Quantity(0.0, "dBi", "assumed", -6.0, 6.0),
    ...     "power": Quantity(10.0, "dBm", "stated", 8.0, 12.0),
    ... }
    >>> inputs = {name: of_quantity(each) for name, each in known.items()}
    >>> done = simulate(inputs, lambda x: {"level": x["gain"] + x["power"]}, 20_000, seed=1)
    >>> [(driver.name, round(driver.share, 1)) for driver in drivers(done, "level", known)]
    [('gain', 0.9), ('power', 0.1)]
    """
    inputs = {name: simulated.inputs[name] for name in known}
    if not inputs:
        return ()
    kept = min(len(values) for values in inputs.values())
    answer = simulated.outputs[output][:kept]
    if kept < _FEWEST:
        raise InputError(f"{kept} kept draws", f"{_FEWEST} or more")
    if not np.all(np.isfinite(answer)):
        raise InputError(f"an output '{output}' that grows without end", "a finite output")
    spread, ranks = float(np.std(answer)), _ranks(answer)
    found = {name: _correlation(_ranks(values), ranks) for name, values in inputs.items()}
    explained = math.fsum(r**2 for r in found.values()) or 1.0
    ranked = []
    for name, r in found.items():
        rest = min(spread, _spread_about_lines(inputs[name], answer))
        ranked.append(Driver(name, known[name].kind, r, r**2 / explained, rest, spread - rest))
    return tuple(sorted(ranked, key=lambda driver: -driver.share))


def unstated(ranked: Iterable[Driver]) -> tuple[Driver, ...]:
    """Return those that nobody stated, assumed or typical, in the same order."""
    return tuple(driver for driver in ranked if driver.kind in _UNSTATED)


def _ranks(values: FloatArray) -> FloatArray:
    """Ranks from 0, those that tie sharing their mean."""
    _, place, counts = np.unique(values, return_inverse=True, return_counts=True)
    ranks: FloatArray = (np.cumsum(counts) - (counts + 1) / 2.0)[place]
    return ranks


def _correlation(one: FloatArray, other: FloatArray) -> float:
    a, b = one - np.mean(one), other - np.mean(other)
    # summed here, since threads of a matrix library take longer to start than this takes
    size = math.sqrt(float(np.sum(a * a)) * float(np.sum(b * b)))
    return float(np.sum(a * b)) / size if size else 0.0


def _spread_about_lines(values: FloatArray, answer: FloatArray) -> float:
    """Return the standard deviation about a straight line in each slice of the values."""
    whole = len(values) // _SLICES * _SLICES
    order = np.argsort(values[:whole], kind="stable").reshape(_SLICES, -1)
    x, y = values[order], answer[order]
    x -= np.mean(x, axis=1, keepdims=True)
    y -= np.mean(y, axis=1, keepdims=True)
    width = np.sum(x * x, axis=1)
    along = np.sum(x * y, axis=1)
    fitted = np.divide(along**2, width, out=np.zeros(_SLICES), where=width > 0.0)
    left = float(np.sum(y * y) - np.sum(fitted))
    return math.sqrt(max(0.0, left) / (whole - 2 * _SLICES))  # two terms fitted in each slice
