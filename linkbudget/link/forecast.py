"""How sure the answer is: every doubt of a link drawn at once, and what comes out at the receiver.

One simulation gives level, margin and reach, without the metal and with it, on the same draws of
all that the two cases share.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.core.distributions import Distribution, of_quantity
from linkbudget.core.quantity import Quantity
from linkbudget.core.uncertainty import (
    KEPT,
    Draws,
    Estimate,
    Simulated,
    quantile_with_error,
    quantiles_with_error,
    share_with_error,
    simulate,
    simulate_until,
)
from linkbudget.link.budget import LinkInputs, MetalLoss, far_terms, near_terms
from linkbudget.link.drivers import Driver, drivers
from linkbudget.link.fades import FadeLaw
from linkbudget.link.rooms import Room

COVERAGES = (0.5, 0.8, 0.95)
SEED = 20_000  # of every forecast: the same scenario gives the same answer

_LOW_END = 0.025  # share of the draws below the 95 % interval
_TOLERANCE_DB = 0.1  # standard error of that end of the margin
_SHARES = (0.5, *(0.5 + side * held / 2.0 for held in COVERAGES for side in (-1.0, 1.0)))
_CURVE_SHARES = np.linspace(0.005, 0.995, 100)
_CURVE_DRAWS = 16_384  # a figure needs no more
_DOUBT, _SLOPE = "room: how well its law fits", "room: loss per decade of distance"
_SENSITIVITY, _DESENSITISATION = "sensitivity", "noise rise at the receiver"


@dataclass(frozen=True, slots=True, eq=False)
class Outcome:
    """One figure as the simulation spreads it.

    Parameters
    ----------
    median : Estimate
        With its sampling error.
    intervals : tuple of (Estimate, Estimate)
        Ends of the 50 %, 80 % and 95 % intervals, as much left on each side.
    shares, values : array, shape (n,)
        The distribution, for figures: so large a share of the draws lies below each value.
    unit : str
    """

    median: Estimate
    intervals: tuple[tuple[Estimate, Estimate], ...]
    shares: FloatArray
    values: FloatArray
    unit: str

    @classmethod
    def of_draws(cls, values: FloatArray, unit: str) -> Outcome:
        """Return the outcome of draws of a figure, shape (draws,)."""
        ranked = np.sort(values[:_CURVE_DRAWS])
        few = ranked if len(ranked) == len(values) else values  # sorted once is enough
        curve = np.interp(_CURVE_SHARES * (len(ranked) - 1), np.arange(len(ranked)), ranked)
        return cls._of_figures(quantiles_with_error(few, _SHARES), curve, unit)

    @classmethod
    def _of_figures(cls, figures: Sequence[Estimate], curve: FloatArray, unit: str) -> Outcome:
        median, *ends = figures
        intervals = tuple(zip(ends[0::2], ends[1::2], strict=True))
        return cls(median, intervals, _CURVE_SHARES, curve, unit)

    def through(self, rising: Callable[[FloatArray], FloatArray], unit: str) -> Outcome:
        """Return the outcome of what rises with this figure and with nothing else.

        Parameters
        ----------
        rising : callable
            Works element by element, and never falls.
        unit : str
            Of what it gives.

        Notes
        -----
        Quantiles stay quantiles through a function that never falls, so nothing is drawn again.
        """
        figures = [self.median, *(end for interval in self.intervals for end in interval)]
        value, error = np.array([(each.value, each.standard_error) for each in figures]).T
        wide = np.where(np.isinf(error), error, (rising(value + error) - rising(value - error)) / 2)
        moved = [
            Estimate(*pair) for pair in zip(rising(value).tolist(), wide.tolist(), strict=True)
        ]
        return self._of_figures(moved, rising(self.values), unit)

    def quantity(self, value: float, source: str) -> Quantity:
        """Return a typical value with the 95 % interval round it; nothing drawn leaves no band."""
        low, high = (end.value for end in self.intervals[-1])
        if low == high:
            return Quantity(value, self.unit, "computed", source=source)
        low, high = min(low, value), max(high, value)
        return Quantity(value, self.unit, "computed", low, high, source, "95 % of the draws")


@dataclass(frozen=True, eq=False)
class Forecast:
    """What one case of a link comes to.

    Parameters
    ----------
    level, above, margin, reach : Outcome
        At the wanted distance: median level at the receiver [dBm], how far it lies above what the
        receiver needs [dB], the same less fading [dB]; and the reach [m].
    chance : Estimate
        That the wanted distance works at the wanted reliability [1].
    draws : int
        How many draws stand behind them.
    kept : Simulated
        The first draws, of the inputs and of the margin.
    known : mapping of Quantity
        Every input that was drawn.
    """

    level: Outcome
    above: Outcome
    margin: Outcome
    reach: Outcome
    chance: Estimate
    draws: int
    kept: Simulated
    known: Mapping[str, Quantity]

    @cached_property
    def drivers(self) -> tuple[Driver, ...]:
        """What spreads the margin, strongest first."""
        return drivers(self.kept, "margin", self.known)


def forecasts(
    inputs: LinkInputs,
    room: Room,
    fade: FadeLaw,
    wanted_m: float,
    metal: MetalLoss | None = None,
    *,
    seed: int = SEED,
    draws: int | None = None,
) -> tuple[Forecast, Forecast | None]:
    """Return the forecast without the metal, and with it.

    Parameters
    ----------
    inputs : LinkInputs
        Both ends of the link.
    room : Room
        Between them.
    fade : FadeLaw
        How the level varies, and how reliable the link shall be.
    wanted_m : float
        The required distance [m].
    metal : MetalLoss, optional
        What the metal costs; none where the product has no metal.
    seed : int
        Zero or more; the same seed gives the same draws.
    draws : int, optional
        How many; left out, as many as are needed.

    Returns
    -------
    Forecast, Forecast or None

    Raises
    ------
    OutOfRange
        Where the law of the room does not hold at the wanted distance.

    Notes
    -----
    Draws are doubled until the low end of the 95 % interval of the margin is known to a standard
    error of 0.1 dB; with the 65,536 of the first attempt the chance is known to 0.2 %. All terms
    are taken as independent of each other.

    References
    ----------
    JCGM 101:2008, propagation of distributions by a Monte Carlo method.
    """
    link = _Link(inputs, room, fade, wanted_m, metal)
    shapes = link.distributions()
    if draws is not None:
        done = simulate(shapes, link.model, draws, seed)
    else:
        margin = "margin" + link.last_case
        done, _ = simulate_until(
            shapes,
            link.model,
            lambda so_far: quantile_with_error(so_far.outputs[margin], _LOW_END),
            _TOLERANCE_DB,
            seed,
        )
    without = _forecast(done, link, "")
    return without, None if metal is None else _forecast(done, link, link.last_case)


class _Link:
    """The link as a function of its inputs; what has no band is added up once."""

    def __init__(
        self,
        inputs: LinkInputs,
        room: Room,
        fade: FadeLaw,
        wanted_m: float,
        metal: MetalLoss | None,
    ) -> None:
        self.room, self.fade = room, fade
        self.loss_db = float(room.typical_loss_db(wanted_m))
        self.decades = float(np.log10(wanted_m / room.pivot_m))
        barriers = [(each.name, each.loss.negated()) for each in room.barriers]
        self.sent = _Terms([*near_terms(inputs), *far_terms(inputs), *barriers])
        self.needed = _Terms(
            [(_SENSITIVITY, inputs.sensitivity), (_DESENSITISATION, inputs.desensitisation)]
        )
        self.doubt = _Terms([(_DOUBT, room.doubt)])
        self.slope = _Terms([] if room.slope is None else [(_SLOPE, room.slope)])
        self.fades = _Terms(list(fade.quantities().items()))
        self.metal = {} if metal is None else {" with metal": _Terms(metal.signed_terms())}

    @property
    def last_case(self) -> str:
        """With the metal where there is any: what is added to the name of an output."""
        return next(iter(self.metal), "")

    def quantities(self, case: str) -> dict[str, Quantity]:
        """Return every input that has a band, by name."""
        terms = [self.sent, self.needed, self.doubt, self.slope, self.fades]
        terms += [self.metal[case]] if case else []
        return {name: each for term in terms for name, each in term.spread.items()}

    def distributions(self) -> dict[str, Distribution]:
        """Return the shape of every input that has a band."""
        return {name: of_quantity(each) for name, each in self.quantities(self.last_case).items()}

    def model(self, drawn: Draws) -> Mapping[str, FloatArray | float]:
        """Return the figures of both cases for each set of inputs.

        What rises with the margin alone is left to it: the level above sensitivity unless the
        fading is drawn, the reach unless the slope is.
        """
        turned_db: FloatArray | float = 0.0
        slope_db = drawn.get(_SLOPE)
        if slope_db is not None and self.room.slope is not None:
            turned_db = (slope_db - self.room.slope.value) * self.decades
        off_db = self.doubt.total(drawn) + turned_db
        level_dbm = self.sent.total(drawn) - off_db - self.loss_db
        needed_dbm, allowance_db = self.needed.total(drawn), self.fade.allowance_db(drawn)
        found: dict[str, FloatArray | float] = {}
        for case in ("", *self.metal):
            if case:
                level_dbm = level_dbm + self.metal[case].total(drawn)
            above_db = level_dbm - needed_dbm
            margin_db = above_db - allowance_db
            found |= {"level" + case: level_dbm, "margin" + case: margin_db}
            if self.fades.spread:
                found["above" + case] = above_db
            if slope_db is not None:
                spare_db = np.asarray(margin_db + turned_db + self.loss_db)
                found["reach" + case] = self.room.reach_m(spare_db, slope_db)
        return found

    def above_db(self, margin_db: FloatArray) -> FloatArray:
        """Return the level above sensitivity of a margin, where the fade allowance is not drawn."""
        return margin_db + self.fade.allowance_db({})

    def reach_m(self, margin_db: FloatArray) -> FloatArray:
        """Return the reach of a margin at the wanted distance, where the slope is not drawn."""
        return self.room.reach_m(margin_db + self.loss_db)


class _Terms:
    """A sum of signed terms, those with a band apart from the others."""

    def __init__(self, terms: Sequence[tuple[str, Quantity]]) -> None:
        self.spread = {name: each for name, each in terms if each.band[0] != each.band[1]}
        self._fixed = sum(each.value for name, each in terms if name not in self.spread)

    def total(self, drawn: Draws) -> FloatArray | float:
        """Return the sum for each set of inputs."""
        total: FloatArray | float = self._fixed
        for name in self.spread:
            total = total + drawn[name]
        return total


def _forecast(done: Simulated, link: _Link, case: str) -> Forecast:
    margin_db = done.outputs["margin" + case]
    margin = Outcome.of_draws(margin_db, "dB")
    drawn = {
        name: Outcome.of_draws(done.outputs[name + case], unit)
        for name, unit in (("level", "dBm"), ("above", "dB"), ("reach", "m"))
        if name + case in done.outputs
    }
    return Forecast(
        level=drawn["level"],
        above=drawn.get("above") or margin.through(link.above_db, "dB"),
        margin=margin,
        reach=drawn.get("reach") or margin.through(link.reach_m, "m"),
        chance=share_with_error(margin_db >= 0.0),
        draws=done.draws,
        kept=replace(done, outputs={"margin": margin_db[:KEPT].copy()}),
        known=link.quantities(case),
    )
