"""Monte Carlo: from what is known of the inputs to how sure the answer is.

Propagation of distributions after JCGM 101:2008. Memory is bounded: inputs live for one chunk of
draws, a few outputs are kept whole. Every figure comes with its own sampling error.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linkbudget.core.decibels import FloatArray
from linkbudget.core.distributions import Distribution
from linkbudget.core.errors import InputError

Draws = Mapping[str, FloatArray]
Model = Callable[[Draws], Mapping[str, ArrayLike]]

CHUNK = 8_192  # a dozen inputs of this length, and what a model makes of them, stay in the cache
KEPT = 16_384  # inputs kept for sensitivities: a rank correlation is then good to 0.008
_SAMPLE = 16_384  # draws that say where about a quantile lies
_FEW = 16  # quantiles that are found sooner one by one than by ranking every draw


@dataclass(frozen=True, slots=True)
class Estimate:
    """A figure of a simulation and how far chance may have moved it.

    Parameters
    ----------
    value : float
        The figure.
    standard_error : float
        One standard deviation of its sampling error, in the same unit; infinite where the draws
        are too few to tell.
    """

    value: float
    standard_error: float


@dataclass(frozen=True, slots=True)
class Simulated:
    """What a simulation gave.

    Parameters
    ----------
    outputs : mapping of FloatArray
        Every draw of every output of the model, each of shape (draws,).
    inputs : mapping of FloatArray
        The first draws of every input, each of shape (kept,); they belong to the first of the
        outputs.
    """

    outputs: Draws
    inputs: Draws

    @property
    def draws(self) -> int:
        """Number of draws."""
        return len(next(iter(self.outputs.values())))


def simulate(
    inputs: Mapping[str, Distribution],
    model: Model,
    draws: int,
    seed: int,
    *,
    chunk: int = CHUNK,
    kept: int = KEPT,
) -> Simulated:
    """Draw the inputs, and put each set of them through the model.

    Parameters
    ----------
    inputs : mapping of Distribution
        Independent inputs by name. What two terms share is one input that the model uses twice.
    model : callable
        Takes the inputs of a chunk by name, each of shape (n,), and returns outputs by name, each
        of shape (n,) or a scalar. It must work element by element. The arrays that it is given are
        used again for the next chunk.
    draws : int
        Number of draws, at least 1.
    seed : int
        Zero or more; the same seed gives the same draws.
    chunk : int
        Draws at a time; changes memory and speed, not the result.
    kept : int
        How many draws of the inputs are kept for sensitivities.

    Returns
    -------
    Simulated

    Raises
    ------
    InputError
        Where no draw is asked for, or the model gives what is not a number.

    Notes
    -----
    Each input has a random stream of its own, made from the seed and its name. So its draws depend
    neither on the other inputs, nor on the chunk, nor on how many draws follow: two variants of a
    link are compared on the same draws of what they share, and a longer run begins as the shorter.

    Examples
    --------
    >>> from linkbudget.core.distributions import Normal, Uniform
    >>> inputs = {"power": Normal(4.0, 0.5), "loss": Uniform(60.0, 66.0)}
    >>> done = simulate(inputs, lambda x: {"level": x["power"] - x["loss"]}, 100_000, seed=1)
    >>> round(quantile_with_error(done.outputs["level"], 0.5).value, 1)
    -59.0
    """
    run = _Run(inputs, model, seed, chunk, kept)
    run.grow_to(draws)
    return run.result()


def simulate_until(
    inputs: Mapping[str, Distribution],
    model: Model,
    wanted: Callable[[Simulated], Estimate],
    tolerance: float,
    seed: int,
    *,
    first: int = 65_536,
    ceiling: int = 4_194_304,
    chunk: int = CHUNK,
    kept: int = KEPT,
) -> tuple[Simulated, Estimate]:
    """Simulate, doubling the draws until the wanted figure is sure enough.

    Parameters
    ----------
    inputs, model, seed, chunk, kept
        As for ``simulate``.
    wanted : callable
        Takes the simulation so far and returns the figure that matters.
    tolerance : float
        Largest standard error that will do, in the unit of that figure, greater than zero.
    first, ceiling : int
        Draws of the first attempt, and the most that are made.

    Returns
    -------
    Simulated
        The same as ``simulate`` gives for that many draws.
    Estimate
        The wanted figure; where the ceiling came first, its standard error is above the tolerance.

    References
    ----------
    JCGM 101:2008, 7.9, adaptive procedure; here the standard error of the one figure decides.
    """
    if not tolerance > 0.0:
        raise InputError(f"a tolerance of {tolerance:g}", "more than zero")
    run = _Run(inputs, model, seed, chunk, kept)
    draws = min(first, ceiling)
    while True:
        run.grow_to(draws)
        result = run.result()
        estimate = wanted(result)
        if estimate.standard_error <= tolerance or draws >= ceiling:
            return result, estimate
        draws = min(2 * draws, ceiling)


def share_with_error(holds: NDArray[np.bool_]) -> Estimate:
    """Return the share of draws in which something holds, such as ``margin_db >= 0``.

    Parameters
    ----------
    holds : array of bool
        Shape (draws,).

    Returns
    -------
    Estimate
        Probability [1].

    Notes
    -----
    With k of n draws, the standard error is ``sqrt(p (1 - p)/(n + 3))`` with ``p = (k + 1)/(n +
    2)``: the spread of the probability given the draws, alike likely before. For many draws it is
    the binomial one, and it does not claim certainty where all draws agree.

    Examples
    --------
    >>> estimate = share_with_error(np.arange(10_000) < 2_000)
    >>> estimate.value, round(estimate.standard_error, 4)
    (0.2, 0.004)
    """
    draws, found = len(holds), int(np.count_nonzero(holds))
    p = (found + 1.0) / (draws + 2.0)
    return Estimate(found / draws, math.sqrt(p * (1.0 - p) / (draws + 3.0)))


def quantiles_with_error(values: FloatArray, probabilities: Sequence[float]) -> list[Estimate]:
    """Return several quantiles at once, each with its sampling error.

    Parameters
    ----------
    values : FloatArray
        Draws of an output, shape (draws,).
    probabilities : sequence of float
        Shares below, each between 0 and 1 [1].

    Returns
    -------
    list of Estimate
        One for each probability, in the unit of the values.

    Raises
    ------
    InputError
        Where a probability is not between 0 and 1.

    Notes
    -----
    The number of draws below the true quantile is binomial, with standard deviation ``sqrt(n p (1
    - p))``. Half the distance between the draws that stand that many ranks below and above is the
    standard error, whatever the shape. Where those ranks do not exist it is infinite.

    References
    ----------
    H. A. David, H. N. Nagaraja, Order Statistics, distribution-free confidence intervals for
    quantiles (from memory). JCGM 101:2008, 7.7, coverage intervals from ranked draws.
    """
    ranked = np.sort(values if len(probabilities) > _FEW else values[:_SAMPLE])
    return [_quantile(values, ranked, probability) for probability in probabilities]


def quantile_with_error(values: FloatArray, probability: float) -> Estimate:
    """Return one quantile with its sampling error, see ``quantiles_with_error``.

    Examples
    --------
    >>> quantile_with_error(np.arange(10_001.0), 0.5)
    Estimate(value=5000.0, standard_error=51.0)
    """
    return quantiles_with_error(values, [probability])[0]


def interval_with_error(values: FloatArray, coverage: float) -> tuple[Estimate, Estimate]:
    """Return both ends of the probabilistically symmetric coverage interval (JCGM 101, 3.15).

    Parameters
    ----------
    values : FloatArray
        Draws of an output, shape (draws,).
    coverage : float
        Share of the draws inside, between 0 and 1 [1].
    """
    low, high = quantiles_with_error(values, [0.5 - coverage / 2.0, 0.5 + coverage / 2.0])
    return low, high


def _quantile(values: FloatArray, ranked: FloatArray, probability: float) -> Estimate:
    if not 0.0 < probability < 1.0:
        raise InputError(f"a probability of {probability:g}", "between 0 and 1")
    last = len(values) - 1
    rank = probability * last
    spread = math.sqrt(len(values) * probability * (1.0 - probability))
    ends = math.floor(rank - spread), math.ceil(rank + spread)
    wanted = (max(ends[0], 0), math.floor(rank), math.ceil(rank), min(ends[1], last))
    near, start = _near(values, ranked, probability, wanted)
    places = [place - start for place in wanted]
    if near is not ranked:
        near.partition(places)
    low, lower, upper, high = (float(near[place]) for place in places)
    alone = lower == upper or math.isinf(lower)  # infinity has no in-between
    value = lower if alone else lower + (rank - math.floor(rank)) * (upper - lower)
    if ends != (wanted[0], wanted[-1]):
        return Estimate(value, math.inf)
    return Estimate(value, 0.0 if low == high else (high - low) / 2.0)


def _near(
    values: FloatArray, ranked: FloatArray, probability: float, ranks: tuple[int, ...]
) -> tuple[FloatArray, int]:
    """Return those values that hold the ranks, few if they can be, and the lowest one's rank.

    The whole need not be ranked: a part of it, ranked, brackets the quantile within five of its own
    standard errors. Where the ranks lie outside after all, every value is returned.
    """
    if len(ranked) == len(values):
        return ranked, 0
    scale = len(ranked) / len(values)
    slack = 5.0 * math.sqrt(len(ranked) * probability * (1.0 - probability)) + 1.0
    low, high = int(ranks[0] * scale - slack), int(ranks[-1] * scale + slack)
    if low >= 0 and high < len(ranked):
        inside = values >= ranked[low]
        start = len(values) - int(np.count_nonzero(inside))
        inside &= values <= ranked[high]
        near = values[np.flatnonzero(inside)]
        if start <= ranks[0] and ranks[-1] < start + len(near):
            return near, start
    return values.copy(), 0


class _Run:
    """A simulation that can go on where it stopped."""

    def __init__(
        self,
        inputs: Mapping[str, Distribution],
        model: Model,
        seed: int,
        chunk: int,
        kept: int,
    ) -> None:
        self._inputs = inputs
        self._model = model
        self._kept = kept
        self._buffers = {name: np.empty(chunk) for name in inputs}
        self._streams = {name: _stream(seed, name) for name in inputs}
        self._outputs: dict[str, FloatArray] = {}
        self._first: dict[str, list[FloatArray]] = {name: [] for name in inputs}
        self._chunk = chunk
        self._draws = 0

    def grow_to(self, draws: int) -> None:
        if draws < 1 or self._chunk < 1:
            raise InputError(f"{draws} draws in chunks of {self._chunk}", "at least 1 of each")
        for name, values in self._outputs.items():
            self._outputs[name] = np.concatenate([values, np.empty(draws - self._draws)])
        while self._draws < draws:
            self._step(min(self._chunk, draws - self._draws), draws)

    def result(self) -> Simulated:
        first = {name: np.concatenate(parts) for name, parts in self._first.items()}
        return Simulated(dict(self._outputs), first)

    def _step(self, count: int, draws: int) -> None:
        drawn = {}
        for name, shape in self._inputs.items():
            drawn[name] = shape.draw(self._streams[name], count, self._buffers[name][:count])
        wanted = max(0, min(count, self._kept - self._draws))
        if wanted or not self._draws:
            for name, values in drawn.items():
                self._first[name].append(values[:wanted].copy())
        for name, found in self._model(drawn).items():
            if name not in self._outputs:
                self._outputs[name] = np.empty(draws)
            part = self._outputs[name][self._draws : self._draws + count]
            part[:] = found
            if np.isnan(part).any():
                raise InputError(
                    f"an output '{name}' that is not a number",
                    "a number for every draw of the inputs",
                    "A band reaches where the model does not hold; narrow it.",
                )
        self._draws += count


def _stream(seed: int, name: str) -> np.random.Generator:
    return np.random.default_rng(np.random.SeedSequence(seed, spawn_key=tuple(name.encode())))
