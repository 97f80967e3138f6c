"""One dimension of the product, changed step by step: what it gains toward the far end."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Generic, Literal, TypeVar

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.core.errors import InputError
from linkbudget.core.quantity import Quantity
from linkbudget.enclosure.effect import BAND_MEANING

Method = Literal["solved", "closed form"]
LimitKind = Literal["stated", "assumed"]
Shape = TypeVar("Shape")

LEAST_GAIN_DB = 0.1
"""A change that gains no more than this gains nothing."""


@dataclass(frozen=True, slots=True)
class Allowed:
    """How far the user lets each dimension go; ``None``: nobody said, so the usual stands.

    Parameters
    ----------
    deeper_m : float or None
        Antenna further from the sheet, by [m]; 0 leaves it.
    to_edge_m : float or None
        Antenna toward the edge of the sheet, down to this distance inside it [m]; negative is
        outside, infinite leaves it.
    window_m, new_slot_m : float or None
        Side of a window in the sheet over the antenna, and length of a new slot in a box, at most
        [m]; 0: none. Usual is half a wavelength.
    lower_skirt : bool or None
        The rim of a tray cut down, or away.
    half_wave_slot : bool or None
        The longest slot of a box brought to half a wavelength.
    quality_factor : float or None
        Of a box, raised to at most [1]; 0 leaves it.
    clearance_m : float or None
        Edge of the board's ground drawn back from the antenna, by [m]; 0 leaves it.
    """

    deeper_m: float | None = None
    to_edge_m: float | None = None
    window_m: float | None = None
    new_slot_m: float | None = None
    lower_skirt: bool | None = None
    half_wave_slot: bool | None = None
    quality_factor: float | None = None
    clearance_m: float | None = None


def limit_of(stated: float | None, usual: float) -> tuple[float, LimitKind]:
    """Return how far a dimension may go, and whether the user said so.

    Examples
    --------
    >>> limit_of(None, 0.02), limit_of(0.0, 0.02)
    ((0.02, 'assumed'), (0.0, 'stated'))
    """
    return (usual, "assumed") if stated is None else (stated, "stated")


@dataclass(frozen=True, slots=True, eq=False)
class Change:
    """What one dimension can bring.

    Parameters
    ----------
    name : str
        What would be done, such as "antenna further from the sheet".
    dimension, unit : str
        What is drawn along the axis, such as "antenna depth", "mm".
    values : array, shape (n,)
        Of the dimension in `unit`; the first is today's.
    gain_db : tuple of Quantity
        Toward the far end against today, at each value [dB]; the first is 0. Closed forms wherever
        there is one.
    best : (float, Quantity)
        Smallest step with the highest gain, and that gain; solved where `method` says so, and then
        not quite what `gain_db` says there.
    method : {"solved", "closed form"}
    limit : float
        How far the dimension may go, in `unit`; today's value where the change is ruled out.
    limit_kind : {"stated", "assumed"}
        Whether the user said so, or the usual stands.
    left_out : int
        Steps that were asked for and are not told, since no model holds there.
    notes : tuple of str
        What to know before one does it.
    """

    name: str
    dimension: str
    unit: str
    values: FloatArray
    gain_db: tuple[Quantity, ...]
    best: tuple[float, Quantity]
    method: Method
    limit: float
    limit_kind: LimitKind = "assumed"
    left_out: int = 0
    notes: tuple[str, ...] = ()

    @property
    def gains(self) -> bool:
        """Whether a step typically gains anything."""
        return self.best[1].value > LEAST_GAIN_DB

    @property
    def sure(self) -> bool:
        """Whether it gains over the whole of its band."""
        return self.gains and self.best[1].band[0] > 0.0

    @property
    def ruled_out(self) -> bool:
        """Whether the user forbids it, so that no step was tried."""
        return len(self.values) == 1 and self.left_out == 0

    @property
    def untold(self) -> bool:
        """Whether no model holds at any step that was asked for."""
        return len(self.values) == 1 and self.left_out > 0


@dataclass(frozen=True, slots=True)
class Sweep(Generic[Shape]):
    """The steps of one dimension, each with the product as it would be.

    Parameters
    ----------
    name, dimension, unit : str
    steps : tuple of (float, Shape)
        Value in `unit` and product; the first is today's, and alone where it is ruled out.
    limit : float
        How far it may go, in `unit`.
    limit_kind : {"stated", "assumed"}
    left_out : int
        Steps refused before.
    notes : tuple of str
    """

    name: str
    dimension: str
    unit: str
    steps: tuple[tuple[float, Shape], ...]
    limit: float
    limit_kind: LimitKind
    left_out: int = 0
    notes: tuple[str, ...] = ()

    def thinned(self, most: int) -> Sweep[Shape]:
        """Return the same sweep with at most so many steps beside today's, the last among them."""
        asked = self.steps[1:]
        every = math.ceil(len(asked) / most) or 1
        return replace(self, steps=(self.steps[0], *asked[::-1][::every][::-1]))


def stepped(sweep: Sweep[Shape], gain: Callable[[Shape], Quantity]) -> tuple[Change, Shape]:
    """Return what a sweep brings, and the product at its best step.

    Parameters
    ----------
    sweep : Sweep
    gain : callable
        Gain of a product against today's [dB]; a step that it refuses is left out.

    Returns
    -------
    (Change, Shape)
    """
    values, gains, shapes, left_out = [], [], [], sweep.left_out
    for value, shape in sweep.steps:
        try:
            gains.append(gain(shape))
        except InputError:  # beyond what the closed forms hold
            left_out += 1
            continue
        values.append(value)
        shapes.append(shape)
    best = int(np.argmax([round(one.value, 6) for one in gains]))
    change = Change(
        name=sweep.name,
        dimension=sweep.dimension,
        unit=sweep.unit,
        values=np.array(values),
        gain_db=tuple(gains),
        best=(values[best], gains[best]),
        method="closed form",
        limit=sweep.limit,
        limit_kind=sweep.limit_kind,
        left_out=left_out,
        notes=sweep.notes,
    )
    return change, shapes[best]


def gain_quantity(value_db: float, deviations_db: Iterable[float], source: str) -> Quantity:
    """Return a gain whose independent sources of doubt add as root of squares.

    Parameters
    ----------
    value_db : float
        Typical gain [dB].
    deviations_db : iterable of float
        What each source of doubt, at one of its ends, adds to it [dB]; either sign.
    source : str

    Examples
    --------
    >>> gain_quantity(10.0, [3.0, 4.0, -1.0], "").band
    (9.0, 15.0)
    """
    deviations = tuple(deviations_db)
    up = math.hypot(*(max(0.0, one) for one in deviations))
    down = math.hypot(*(min(0.0, one) for one in deviations))
    return Quantity(
        value_db, "dB", "computed", value_db - down, value_db + up, source, BAND_MEANING
    )
