"""What lies between the two ends: how the level falls with distance, and how sure that is.

A room is built by ``link.laws``; budget, forecast and reach ask it for the loss at a distance and
for the distance at a loss, and know nothing of the law behind it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Self

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.core.distributions import BAND_COVERAGE
from linkbudget.core.errors import OutOfRange
from linkbudget.core.quantity import Quantity
from linkbudget.physics.exponent import ExponentFit

_FLATTEST_DB = 0.1  # per decade: a spread of slopes may hold some that do not fall at all


def _no_doubt() -> Quantity:
    return Quantity(0.0, "dB", "computed", source="the law holds as it stands")


@dataclass(frozen=True, slots=True)
class Barrier:
    """Something that the signal has to cross, whatever the distance.

    Parameters
    ----------
    name : str
        As the budget prints it.
    loss : Quantity
        What it takes [dB].
    """

    name: str
    loss: Quantity


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Room:
    """The law by which the median level falls with distance.

    Loss is that between isotropic antennas. Each doubt is one draw for the whole law: it moves or
    turns the whole curve.

    Parameters
    ----------
    name : str
        As the budget and the report print it.
    distance_m : array, shape (n,)
        Rising distances at which the loss is tabled [m]; its ends are where the law holds. Between
        them the loss is a straight line over the logarithm of distance.
    loss_db : array, shape (n,)
        Median transmission loss between isotropic antennas there [dB], barriers not included.
    source : str
        Document or method.
    slope : Quantity, optional
        Loss per decade of distance [dB], for a law that is a straight line on a logarithmic axis;
        its band turns the line round `pivot_m`.
    pivot_m : float
        Distance at which that band does not matter, where the law holds [m].
    doubt : Quantity
        How far the whole law may be off [dB]; positive is more loss.
    barriers : tuple of Barrier
        Walls, floors and edges in the way.
    shadowing_db : float
        Standard deviation from place to place about the median [dB]; 0 where the law has none.
    holds_everything : bool
        Whether the law was fitted to the very link, so that it contains what its ends lose.
    believed_to_m : float
        Beyond it the law is known to promise too much [m]; infinite where it does not.
    beyond_belief : str
        Why, in a sentence.
    begins_at : str
        What its shortest distance is.
    fit : ExponentFit, optional
        The line through measured levels [dBm] that the law rests on.
    """

    name: str
    distance_m: FloatArray
    loss_db: FloatArray
    source: str
    slope: Quantity | None = None
    pivot_m: float = 1.0
    doubt: Quantity = field(default_factory=_no_doubt)
    barriers: tuple[Barrier, ...] = ()
    shadowing_db: float = 0.0
    holds_everything: bool = False
    believed_to_m: float = math.inf
    beyond_belief: str = ""
    begins_at: str = "its shortest distance"
    fit: ExponentFit | None = None

    @property
    def holds_m(self) -> tuple[float, float]:
        """Shortest and longest distance at which the law holds [m]."""
        return float(self.distance_m[0]), float(self.distance_m[-1])

    def one_reading(self, distance_m: float, coverage: float = BAND_COVERAGE) -> Quantity | None:
        """Return what one further reading of the measured series would show [dBm].

        Parameters
        ----------
        distance_m : float
            Where it is taken; held to where the law holds [m].
        coverage : float
            Share of such readings within the band [1].

        Returns
        -------
        Quantity or None
            Wider than the band of the median, since a reading scatters about it. None where the
            law rests on no series.
        """
        if self.fit is None:
            return None
        low_m, high_m = self.holds_m
        at_m = min(max(distance_m, low_m), high_m)
        level_dbm, half_db = self.fit.level_db(at_m), self.fit.half_interval_db(at_m, coverage)
        source = f"fitted to {self.fit.count} measured levels, prediction of a single reading"
        ends = level_dbm - half_db, level_dbm + half_db
        return Quantity(level_dbm, "dBm", "measured", *ends, source, f"{100.0 * coverage:g} %")

    @property
    def barrier_loss_db(self) -> float:
        """What all barriers take together [dB]."""
        return sum(barrier.loss.value for barrier in self.barriers)

    def typical_loss_db(self, distance_m: FloatArray | float) -> FloatArray:
        """Return the median transmission loss at distances where the law holds [dB].

        Barriers are not included.

        Raises
        ------
        OutOfRange
            Where a distance lies outside.
        """
        asked_m = np.asarray(distance_m, dtype=float)
        low_m, high_m = self.holds_m
        for edge_m in (float(asked_m.min()), float(asked_m.max())):
            if not low_m * (1.0 - 1e-9) <= edge_m <= high_m * (1.0 + 1e-9):
                begins = f"; it begins at {self.begins_at}" if edge_m < low_m else ""
                mend = f"There the law of the room ({self.name}) does not hold{begins}."
                raise OutOfRange("distance (m)", edge_m, low_m, high_m, mend, field="distance")
        loss_db: FloatArray = np.interp(np.log10(asked_m), np.log10(self.distance_m), self.loss_db)
        return loss_db

    def loss_at(self, distance_m: float) -> Quantity:
        """Return the median transmission loss at one distance [dB], with its band.

        Notes
        -----
        The bands of the doubt and of the slope are independent: root of the sum of squares.
        """
        value_db = float(self.typical_loss_db(distance_m))
        decades = float(np.log10(distance_m / self.pivot_m))
        terms = [self.doubt]
        if self.slope is not None:
            low_db, high_db = (edge - self.slope.value for edge in self.slope.band)
            ends = sorted((low_db * decades, high_db * decades))
            terms.append(replace(_no_doubt(), low=ends[0], high=ends[1]))
        down_db = float(np.hypot.reduce([term.value - term.band[0] for term in terms]))
        up_db = float(np.hypot.reduce([term.band[1] - term.value for term in terms]))
        if down_db == up_db == 0.0:
            return Quantity(value_db, "dB", "computed", source=self.source)
        return Quantity(
            value_db, "dB", "computed", value_db - down_db, value_db + up_db, self.source
        )

    def reach_m(
        self, allowed_db: FloatArray, slope_db: FloatArray | float | None = None
    ) -> FloatArray:
        """Return the furthest distance at which the loss stays within what is allowed.

        Parameters
        ----------
        allowed_db : array of any shape
            Transmission loss that the link may have, barriers and doubt already taken off [dB].
        slope_db : array of the same shape, or float, optional
            Loss per decade in place of the law's own [dB]; for a law with a slope.

        Returns
        -------
        array of the same shape
            Distances [m], held at the ends of the range in which the law holds.

        Notes
        -----
        Where the level ripples, reached is what every nearer place reaches too.

        Examples
        --------
        >>> room = Room.straight(
        ...     "free space", pivot_m=1.0, loss_db=40.0, slope=Quantity(20.0, "dB", "computed"),
        ...     holds_m=(0.1, 1000.0), source="",
        ... )
        >>> room.reach_m(np.array([0.0, 60.0, 66.0, 200.0])).round(2).tolist()
        [0.1, 10.0, 19.95, 1000.0]
        """
        decades = np.log10(self.distance_m)
        if self.slope is None:
            reached = np.interp(allowed_db, np.maximum.accumulate(self.loss_db), decades)
        else:
            at_pivot_db = np.interp(np.log10(self.pivot_m), decades, self.loss_db)
            slope = np.maximum(self.slope.value if slope_db is None else slope_db, _FLATTEST_DB)
            beyond = (allowed_db - at_pivot_db) / slope
            reached = np.clip(beyond + np.log10(self.pivot_m), decades[0], decades[-1])
        distance_m: FloatArray = np.exp(reached * math.log(10.0))  # a power takes far longer
        return np.clip(distance_m, *self.holds_m)

    @classmethod
    def straight(
        cls,
        name: str,
        *,
        pivot_m: float,
        loss_db: float,
        slope: Quantity,
        holds_m: tuple[float, float],
        source: str,
    ) -> Self:
        """Return a law that is a straight line over the logarithm of distance.

        Parameters
        ----------
        name, source : str
        pivot_m, loss_db : float
            A distance [m] where the law holds, and the median transmission loss there [dB].
        slope : Quantity
            Loss per decade of distance, more than zero [dB].
        holds_m : (float, float)
            Shortest and longest distance [m].
        """
        ends_m = np.array(holds_m)
        return cls(
            name=name,
            distance_m=ends_m,
            loss_db=loss_db + slope.value * np.log10(ends_m / pivot_m),
            source=source,
            slope=slope,
            pivot_m=pivot_m,
        )
