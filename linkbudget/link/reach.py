"""How far a link reaches, how sure that is, and what the metal takes from it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.core.quantity import Quantity
from linkbudget.core.units import format_length
from linkbudget.link.budget import LOPSIDED, BudgetLine, LinkBudget, LinkInputs, MetalLoss, budget
from linkbudget.link.fades import FadeLaw
from linkbudget.link.forecast import Forecast, Outcome, forecasts
from linkbudget.link.rooms import Room
from linkbudget.physics.propagation import far_field_distance_m
from linkbudget.physics.validity import require_within

AT_LEAST, AT_MOST = "at least", "at most"  # coverage of a reach at which a law ends

_LUCK = 4.0  # standard errors of a median that mean nothing
_ROUNDING = 1e-9
_SHOWN_DB = 0.05  # what prints as more than zero
_EDGE = 1e-6  # share of a distance that rounding may move it


@dataclass(frozen=True, slots=True)
class Reach:
    """How far a link works at the wanted reliability.

    Parameters
    ----------
    distance : Quantity
        Distance at which the margin is zero [m]; "at least" or "at most" where a law ends.
    cautions : tuple of str
        What makes the number doubtful; empty where nothing does.
    """

    distance: Quantity
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LinkComparison:
    """One link without and with its metal.

    Parameters
    ----------
    without, reach_without, forecast_without : LinkBudget, Reach, Forecast
        The link as if there were no metal.
    with_metal, reach_with, forecast_with : LinkBudget, Reach, Forecast, optional
        The same with metal; none where there is no metal.
    lost_db : Quantity, optional
        What the metal takes from the level [dB]; negative where it adds.
    lost_m : Quantity, optional
        What it takes from the reach [m]; negative where it adds.
    """

    without: LinkBudget
    reach_without: Reach
    forecast_without: Forecast
    with_metal: LinkBudget | None = None
    reach_with: Reach | None = None
    forecast_with: Forecast | None = None
    lost_db: Quantity | None = None
    lost_m: Quantity | None = None

    @property
    def cases(self) -> tuple[tuple[LinkBudget, Reach, Forecast], ...]:
        """The link without metal and, where there is any, with it."""
        found = [(self.without, self.reach_without, self.forecast_without)]
        if self.with_metal and self.reach_with and self.forecast_with:
            found.append((self.with_metal, self.reach_with, self.forecast_with))
        return tuple(found)

    @property
    def as_built(self) -> tuple[LinkBudget, Reach, Forecast]:
        """The link as the product is: with its metal where there is any."""
        return self.cases[-1]


def difference(
    inputs: LinkInputs,
    room: Room,
    fade: FadeLaw,
    distance_m: float,
    metal: MetalLoss | None = None,
    radiator_size_m: float | None = None,
) -> LinkComparison:
    """Compare a link with its metal against the same link without it.

    Parameters
    ----------
    inputs : LinkInputs
        Both ends of the link.
    room : Room
        Between them.
    fade : FadeLaw
        How the level varies, and how reliable the link shall be.
    distance_m : float
        The required distance [m].
    metal : MetalLoss, optional
        What the metal costs; none where the product has no metal.
    radiator_size_m : float, optional
        Largest dimension of the metal that radiates along with the antenna [m].

    Returns
    -------
    LinkComparison

    Raises
    ------
    OutOfRange
        Where the law of the room does not hold at the distance.

    Notes
    -----
    Level, margin and reach are medians of the forecast with its 95 % interval as band. Where bands
    are wider on one side, medians lie off the sum of the typical values: the budget has a line for
    that, so that it adds up. What the metal takes has its own typical value and band, since
    everything else is shared by both cases and cancels; where its band is wider on one side, the
    medians lie further apart. A difference of reaches is "at least" or "at most" what is printed
    where one of them is.
    """
    without, with_metal = forecasts(inputs, room, fade, distance_m, metal)
    first = _judged(budget(inputs, room, distance_m, fade.allowance), without)
    reach = _reach(inputs, room, first, without)
    if metal is None or with_metal is None:
        return LinkComparison(first, reach, without)
    second = _judged(budget(inputs, room, distance_m, fade.allowance, metal), with_metal)
    reach_with = _reach(inputs, room, second, with_metal, radiator_size_m)
    lost_db = replace(metal.total(), source="the metal at the antenna's port, and its path")
    allowed_db = _allowed_db(room, first), _allowed_db(room, second)
    lost_m = _lost_m(room, *allowed_db, lost_db)
    bounded = replace(lost_m, coverage=_bound_lost(reach, reach_with) or lost_m.coverage)
    return LinkComparison(first, reach, without, second, reach_with, with_metal, lost_db, bounded)


def _judged(drawn: LinkBudget, forecast: Forecast) -> LinkBudget:
    """Return the budget as drawn: medians and bands of the forecast, with what moved them."""
    received = _median(forecast.level, drawn.received)
    margin = _median(forecast.margin, drawn.margin)
    up_to_receiver_db = received.value - drawn.received.value
    lines = drawn.lines
    if abs(up_to_receiver_db) >= _SHOWN_DB:
        lines = (*lines, BudgetLine("lopsided bands", _moved(up_to_receiver_db)))
    return replace(
        drawn,
        lines=lines,
        received=received,
        above_sensitivity=_median(forecast.above, drawn.above_sensitivity),
        lopsided=_moved(margin.value - drawn.margin.value - up_to_receiver_db),
        margin=margin,
    )


def _median(outcome: Outcome, typical: Quantity) -> Quantity:
    """Return the median, or the typical value where the two differ by the luck of the draws."""
    median = outcome.median
    if abs(median.value - typical.value) <= _LUCK * median.standard_error + _ROUNDING:
        return outcome.quantity(typical.value, typical.source)
    return outcome.quantity(median.value, "median of the draws")


def _moved(by_db: float) -> Quantity:
    return Quantity(by_db, "dB", "computed", source=LOPSIDED)


def _allowed_db(room: Room, drawn: LinkBudget) -> float:
    """Return the transmission loss that the room may have by the median margin [dB]."""
    return drawn.margin.value + float(room.typical_loss_db(drawn.distance_m))


def _reach(
    inputs: LinkInputs,
    room: Room,
    drawn: LinkBudget,
    forecast: Forecast,
    radiator_size_m: float | None = None,
) -> Reach:
    """Return the median reach, its band from the forecast."""
    source = f"{room.name}, distance at which the margin is zero"
    at_median_m = float(room.reach_m(np.array(_allowed_db(room, drawn))))
    distance = _median(forecast.reach, Quantity(at_median_m, "m", "computed", source=source))
    told = _cautions(distance, room, inputs, radiator_size_m)
    return Reach(replace(distance, coverage=_bound(distance, room) or distance.coverage), told)


def _starts(distance_m: float, room: Room) -> bool:
    return distance_m <= room.holds_m[0] * (1.0 + _EDGE)


def _ends(distance_m: float, room: Room) -> bool:
    return distance_m >= room.holds_m[1] * (1.0 - _EDGE)


def _bound(distance: Quantity, room: Room) -> str:
    """Tell what a reach is where the law of the room ends, or is no longer believed."""
    if distance.value > room.believed_to_m or _starts(distance.value, room):
        return AT_MOST
    return AT_LEAST if _ends(distance.value, room) else ""


def _bound_lost(without: Reach, with_metal: Reach) -> str:
    """Tell what a difference of reaches is where one of them is a bound only."""
    if without.distance.coverage in (AT_LEAST, AT_MOST):
        return without.distance.coverage
    return AT_LEAST if with_metal.distance.coverage == AT_MOST else ""


def _cautions(
    distance: Quantity, room: Room, inputs: LinkInputs, radiator_size_m: float | None
) -> tuple[str, ...]:
    distance_m, law = distance.value, f"law of the room ({room.name})"
    low, high = (format_length(end_m) for end_m in room.holds_m)
    told = []
    if _starts(distance_m, room):
        told.append(
            f"The reach lies below {room.begins_at} ({low}), where the {law} does not hold: read it"
            " as next to nothing."
        )
    elif radiator_size_m is not None:
        far_field_m = far_field_distance_m(radiator_size_m, inputs.frequency_hz)
        if distance_m < far_field_m:
            told.append(
                f"The reach lies nearer than the far field of what radiates"
                f" ({format_length(far_field_m)}), so gains do not hold there."
            )
    if _ends(distance_m, room):
        told.append(f"The {law} ends at {high}: the reach is at least that.")
    elif _starts(distance.band[0], room) or _ends(distance.band[1], room):
        told.append(f"The band of the reach is cut where the {law} ends, at {low} and {high}.")
    if distance_m > room.believed_to_m:
        told.append(room.beyond_belief)
    return tuple(told)


def level_against_distance(
    room: Room, drawn: LinkBudget, low_m: float, high_m: float, points: int = 200
) -> tuple[FloatArray, FloatArray]:
    """Return the received level over a range of distances, for a figure.

    Parameters
    ----------
    room : Room
        Between the two ends.
    drawn : LinkBudget
        Whose level is moved along the law of the room.
    low_m, high_m : float
        First and last distance [m].
    points : int
        How many distances, at equal steps of their logarithm; at least two.

    Returns
    -------
    distance_m, level_dbm : array, shape (points,)
        Distances [m] and received levels [dBm].

    Raises
    ------
    OutOfRange
        Where a distance lies outside the law of the room, or `low_m` above `high_m`.
    """
    require_within("first distance (m)", low_m, room.holds_m[0], high_m)
    require_within("number of points", points, 2, 1_000_000)
    distance_m = np.geomspace(low_m, high_m, points)
    at_budget_db = float(room.typical_loss_db(drawn.distance_m))
    return distance_m, drawn.received.value + at_budget_db - room.typical_loss_db(distance_m)


def reach_gained(room: Room, reach: Quantity, gain_db: Quantity) -> Quantity:
    """Return what a gain adds to a reach.

    Parameters
    ----------
    room : Room
        Between the two ends.
    reach : Quantity
        Typical reach before [m].
    gain_db : Quantity
        What the link gains [dB]; negative where it loses.

    Returns
    -------
    Quantity
        Metres gained, with the band of the gain alone [m].
    """
    allowed_db = float(room.typical_loss_db(reach.value))
    return replace(
        _lost_m(room, allowed_db, allowed_db + gain_db.value, gain_db.negated()).negated(),
        source=f"{room.name}, from the typical reach with the metal",
        coverage="band of the gain alone" if gain_db.low is not None else "",
    )


def _lost_m(room: Room, allowed_db: float, allowed_with_db: float, lost_db: Quantity) -> Quantity:
    """Return the difference of two median reaches, with the band that the metal alone gives it."""
    low_db, high_db = lost_db.band
    left_db = np.array([allowed_db, allowed_with_db, allowed_db - low_db, allowed_db - high_db])
    before_m, with_m, *ends_m = room.reach_m(left_db).tolist()
    value_m, low_m, high_m = (before_m - each_m for each_m in (with_m, *ends_m))
    source = "median reach without metal less that with it"
    if lost_db.low is None:
        return Quantity(value_m, "m", "computed", source=source)
    low_m, high_m = min(low_m, value_m), max(high_m, value_m)
    return Quantity(value_m, "m", "computed", low_m, high_m, source, "band of the metal alone")
