"""Changes to a closed box round the radio: its slots, and what is lost inside, in closed forms."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from linkbudget.core.quantity import Quantity
from linkbudget.enclosure.bands import metal_bands
from linkbudget.enclosure.boxes import box_effect, box_quality
from linkbudget.enclosure.cut_off import is_cut_off
from linkbudget.enclosure.geometry import Box, Direction, FarEnd, Opening, Wall
from linkbudget.enclosure.leaks import WALL_AXIS, Leak, leaks_of, leaks_together
from linkbudget.enclosure.sides import toward_loss
from linkbudget.enclosure.sweeps import Allowed, LimitKind, Sweep, gain_quantity, limit_of
from linkbudget.enclosure.walls import share_loss_db
from linkbudget.physics.cavity import opening_quality_factor
from linkbudget.physics.openings import is_slot
from linkbudget.physics.propagation import wavelength_m

GAIN_METHOD = (
    "difference of two power balances of a resonant box; what they share cancels, the rest is held"
    " against pairs of finite-difference runs"
)

_USUAL_QUALITY = 300.0

_STEPS = 11
_SLOT_WIDTH_M = 0.002  # as the slots of the finite-difference runs
_FACING: dict[FarEnd, Wall] = {
    "above": "lid",
    "below": "floor",
    "beside": "front",
    "anywhere": "lid",  # the largest wall
}

_NEW_SLOT = (
    "Where in that wall nobody chose: low, the field stands still there, or the currents run along"
    " the slot; high, it cuts them in the best place. Near half a wavelength it rings, and its"
    " length counts to a millimetre or two. Emissions leave by it as well."
)
_WALLS_UNKNOWN = (
    "Power in all directions: in which walls the other openings are is not stated, so the side on"
    " which this one lies is not counted."
)
_LONGER = (
    "At the same place. Near half a wavelength a slot rings: its length and what lies over it count"
    " to a millimetre or two. Emissions leave by it as well."
)
_QUALITY = (
    "Fewer lossy parts inside: absorber, ferrite, wet or lossy plastic, bare board. Fields inside"
    " rise as much, and with them what the product's own circuits see."
)

_Level = Literal["low", "typical", "high"]


def box_sweeps(
    box: Box, frequency_hz: float, toward: FarEnd, allowed: Allowed
) -> Iterator[Sweep[Box]]:
    """Yield each dimension that may change, with the steps that the closed forms hold.

    Parameters
    ----------
    box : Box
    frequency_hz : float
        Frequency [Hz].
    toward : {"above", "beside", "below", "anywhere"}
    allowed : Allowed

    Yields
    ------
    Sweep of Box
        None below the first resonance: of which the balance behind a gain says nothing.
    """
    if is_cut_off(box, frequency_hz):
        return
    half_wave_m = wavelength_m(frequency_hz) / 2.0
    yield _new_slot(box, half_wave_m, toward, allowed.new_slot_m)
    longest = _longest_slot(box)
    if longest is not None and not math.isclose(box.openings[longest].length_m, half_wave_m):
        yield _half_wave_slot(box, longest, half_wave_m, allowed.half_wave_slot)
    if allowed.quality_factor == 0.0:
        yield _less_lossy(box, box_quality(box).value, "stated")
    else:
        most, kind = limit_of(allowed.quality_factor, _USUAL_QUALITY)
        if most > box_quality(box).value:
            yield _less_lossy(box, most, kind)


def box_gain(today: Box, changed: Box, frequency_hz: float, toward: FarEnd) -> Quantity:
    """Return what a change of the box gains toward the far end.

    Parameters
    ----------
    today, changed : Box
        Of equal dimensions; a new opening stands last.
    frequency_hz : float
        Frequency [Hz].
    toward : {"above", "beside", "below", "anywhere"}

    Returns
    -------
    Quantity
        Loss today less loss then [dB].

    Raises
    ------
    InputError, MissingData, OutOfRange
        As ``box_effect``.

    Notes
    -----
    Each doubt is turned to its ends in both boxes at once, where it is the same in both: the
    openings that stay, a quality factor that nobody knows, the side on which the power comes out.
    What is not the same, the place of a new slot and the model along a slot's length, counts alone.
    """
    losses = [box_effect(box, frequency_hz, toward).total.value for box in (today, changed)]
    value = losses[0] - losses[1]
    pair = _Pair(
        (today, changed),
        (leaks_of(today, frequency_hz), leaks_of(changed, frequency_hz)),
        frequency_hz,
        toward,
    )
    ends: tuple[_Level, ...] = ("low", "high")
    deviations = [
        pair.gain_db(**{doubt: end}) - pair.gain_db()
        for doubt in ("staying", "new", "quality", "side")
        for end in ends
    ]
    return gain_quantity(value, [*deviations, *_model_doubts(today, changed, value)], GAIN_METHOD)


def _model_doubts(today: Box, changed: Box, gain_db: float) -> list[float]:
    """Return what two models of one box may differ in [dB]; nothing where nothing changed."""
    bands = metal_bands()
    doubts = []
    for before, after in zip(today.openings, changed.openings, strict=False):
        # a slot that rings may gain nothing and still have changed much: its length says how far
        step = after.length_m / before.length_m - 1.0
        fade = min(1.0, abs(step) / bands["box_change_length_fade"].value)
        band = bands["box_change_length"]
        # held against pairs from the shorter slot to the longer one
        ends = (band.low, band.high) if step >= 0.0 else (-band.high, -band.low)
        doubts += [fade * end for end in ends]
    if changed.quality_factor != today.quality_factor:
        fade = min(1.0, abs(gain_db) / bands["box_change_fade"].value)
        band = bands["box_change_quality"]
        doubts += [fade * band.low, fade * band.high]
    return doubts


@dataclass(frozen=True, slots=True)
class _Pair:
    """A box today and changed, with each doubt at one of its ends, the same in both."""

    boxes: tuple[Box, Box]
    leaks: tuple[Sequence[Leak], Sequence[Leak]]
    frequency_hz: float
    toward: FarEnd

    def gain_db(
        self,
        staying: _Level = "typical",
        new: _Level = "typical",
        quality: _Level = "typical",
        side: _Level = "typical",
    ) -> float:
        """Return the gain, sheet and detuning not counted [dB]."""
        today_db, changed_db = (
            self._loss_db(which, staying, new, quality, side) for which in (0, 1)
        )
        return today_db - changed_db

    def _loss_db(
        self, which: int, staying: _Level, new: _Level, quality: _Level, side: _Level
    ) -> float:
        box, leaks, stay = self.boxes[which], self.leaks[which], len(self.boxes[0].openings)
        old, added = leaks[:stay], leaks[stay:]
        area_m2 = getattr(leaks_together(old), f"{staying}_m2")
        if added:
            area_m2 += getattr(leaks_together(added), f"{new}_m2")
        alone = opening_quality_factor(math.prod(box.sides_m), area_m2, self.frequency_hz)
        known = box_quality(box)
        at = {"low": known.band[0], "typical": known.value, "high": known.band[1]}[quality]
        out_db = share_loss_db(at / alone / (1.0 + at / alone))
        toward = toward_loss(leaks, self.toward)
        if toward is None:
            return out_db
        ends = {"low": toward.band[0], "typical": toward.value, "high": toward.band[1]}
        return out_db + ends[side]


def _new_slot(box: Box, half_wave_m: float, toward: FarEnd, stated_m: float | None) -> Sweep[Box]:
    most_m, kind = limit_of(stated_m, half_wave_m)
    least_m = min(metal_bands()["box_opening_range"].low * 2.0 * half_wave_m, most_m)
    lengths_m = sorted(set(np.linspace(least_m, most_m, _STEPS - 1).tolist())) if most_m else []
    wall = _FACING[toward]
    along = _long_side(box, wall)
    # no place: its band is that of a slot anywhere in the wall
    slots = [Opening("slot", m, min(_SLOT_WIDTH_M, m), wall=wall, along=along) for m in lengths_m]
    steps = [(slot.length_m * 1e3, replace(box, openings=(*box.openings, slot))) for slot in slots]
    counted = toward == "anywhere" or all(opening.wall is not None for opening in box.openings)
    where = f"the {wall}" if wall in ("lid", "floor") else f"the {wall} wall"
    lies = "upright" if along == "upright" else f"along its {along}"
    return Sweep(
        f"a new slot {_SLOT_WIDTH_M * 1e3:g} mm wide in {where}, {lies}",
        "length of the new slot",
        "mm",
        ((0.0, box), *steps),
        most_m * 1e3,
        kind,
        0,
        (_NEW_SLOT,) if counted else (_NEW_SLOT, _WALLS_UNKNOWN),
    )


def _long_side(box: Box, wall: Wall) -> Direction:
    """Return the dimension along which a wall is longest."""
    directions: tuple[Direction, ...] = ("length", "width", "upright")
    in_wall = [axis for axis in range(3) if axis != WALL_AXIS[wall]]
    return directions[max(in_wall, key=lambda axis: box.sides_m[axis])]


def _longest_slot(box: Box) -> int | None:
    slots = [
        (opening.length_m, number)
        for number, opening in enumerate(box.openings)
        if is_slot(opening.shape, opening.length_m, opening.width_m)
    ]
    return max(slots)[1] if slots else None


def _half_wave_slot(box: Box, number: int, half_wave_m: float, stated: bool | None) -> Sweep[Box]:
    slot = box.openings[number]
    may, kind = limit_of(stated, True)
    lengths_m = np.linspace(slot.length_m, half_wave_m, _STEPS)[1:].tolist() if may else []
    least_m = metal_bands()["box_opening_range"].low * 2.0 * half_wave_m
    steps = []
    for length_m in lengths_m:
        longer = replace(slot, length_m=length_m)
        if length_m < least_m or not _fits(box, longer):
            continue
        openings = (*box.openings[:number], longer, *box.openings[number + 1 :])
        steps.append((length_m * 1e3, replace(box, openings=openings)))
    return Sweep(
        "longest slot brought to half a wavelength",
        "length of the slot",
        "mm",
        ((slot.length_m * 1e3, box), *steps),
        (half_wave_m if may else slot.length_m) * 1e3,
        kind,
        len(lengths_m) - len(steps),
        (_LONGER,),
    )


def _fits(box: Box, opening: Opening) -> bool:
    """Tell whether a placed opening stays within its wall; one without a place may."""
    if opening.wall is None or opening.along is None or opening.place_m is None:
        return True
    axis = {"length": 0, "width": 1, "upright": 2}[opening.along]
    across = [one for one in range(3) if one != WALL_AXIS[opening.wall]]
    if axis not in across:
        return True
    off_m = abs(opening.place_m[across.index(axis)])
    return off_m + opening.length_m / 2.0 <= box.sides_m[axis] / 2.0


def _less_lossy(box: Box, most: float, kind: LimitKind) -> Sweep[Box]:
    today = box_quality(box).value
    factors = np.geomspace(today, most, _STEPS)[1:].tolist() if most > today else []
    return Sweep(
        "fewer losses inside the box",
        "quality factor of the box",
        "1",
        ((today, box), *((factor, replace(box, quality_factor=factor)) for factor in factors)),
        most,
        kind,
        0,
        (_QUALITY,),
    )
