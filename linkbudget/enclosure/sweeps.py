"""One dimension of the product, changed step by step: what it gains toward the far end."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Generic, Literal, TypeVar

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.core.errors import InputError
from linkbudget.core.quantity import Quantity
from linkbudget.enclosure.effect import BAND_MEANING

Method = Literal["solved", "closed form"]
Shape = TypeVar("Shape")


@dataclass(frozen=True, slots=True)
class Allowed:
    """How far the user lets each dimension go; ``None`` or 0 leaves it as it is.

    Parameters
    ----------
    deeper_m : float
        Antenna further from the sheet, by [m].
    edge_distance_m : float or None
        Antenna toward the edge of the sheet, down to this distance [m]; negative is outside.
    window_half_waves, new_slot_half_waves : float
        Side of a window in the sheet over the antenna, and length of a new slot in a box, at most
        [half wavelengths].
    lower_skirt : bool
        The rim of a tray cut down, or away.
    half_wave_slot : bool
        The longest slot of a box brought to half a wavelength.
    quality_factor : float
        Of a box, raised to at most [1]; 0 leaves it.
    clearance_m : float
        Edge of the board's ground drawn back from the antenna, by [m].
    """

    deeper_m: float = 0.020
    edge_distance_m: float | None = -0.010
    window_half_waves: float = 1.0
    new_slot_half_waves: float = 1.0
    lower_skirt: bool = True
    half_wave_slot: bool = True
    quality_factor: float = 300.0
    clearance_m: float = 0.010


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
    left_out: int = 0
    notes: tuple[str, ...] = ()

    @property
    def helps(self) -> bool:
        """Whether any step gains more than it may lose."""
        gain = self.best[1]
        return gain.value > 0.1 and gain.value > -gain.band[0]


@dataclass(frozen=True, slots=True)
class Sweep(Generic[Shape]):
    """The steps of one dimension, each with the product as it would be.

    Parameters
    ----------
    name, dimension, unit : str
    steps : tuple of (float, Shape)
        Value in `unit` and product; the first is today's.
    left_out : int
        Steps refused before.
    notes : tuple of str
    """

    name: str
    dimension: str
    unit: str
    steps: tuple[tuple[float, Shape], ...]
    left_out: int = 0
    notes: tuple[str, ...] = ()


def stepped(sweep: Sweep[Shape], gain: Callable[[Shape], Quantity]) -> tuple[Change, Shape] | None:
    """Return what a sweep brings, and the product at its best step.

    Parameters
    ----------
    sweep : Sweep
    gain : callable
        Gain of a product against today's [dB].

    Returns
    -------
    (Change, Shape) or None
        None where no step but today's is left.
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
    if len(values) < 2:
        return None
    best = int(np.argmax([round(one.value, 6) for one in gains]))
    change = Change(
        name=sweep.name,
        dimension=sweep.dimension,
        unit=sweep.unit,
        values=np.array(values),
        gain_db=tuple(gains),
        best=(values[best], gains[best]),
        method="closed form",
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
