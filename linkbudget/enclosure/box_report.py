"""What stands behind the loss of a box: its resonances, its openings, and where its power goes."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from linkbudget.core.errors import InputError
from linkbudget.core.quantity import Quantity
from linkbudget.enclosure.bands import metal_bands
from linkbudget.enclosure.boxes import (
    BALANCE_METHOD,
    box_cautions,
    box_leaks,
    box_quality,
    radiated_loss,
    require_possible,
)
from linkbudget.enclosure.cut_off import CUT_OFF_METHOD, is_cut_off
from linkbudget.enclosure.effect import BAND_MEANING, loss_quantity
from linkbudget.enclosure.geometry import Box
from linkbudget.enclosure.leaks import Leak, leaks_together, opening_area_m2
from linkbudget.enclosure.shielding import shielding
from linkbudget.physics.cavity import (
    cavity_modes,
    lowest_resonance_hz,
    opening_quality_factor,
    wall_quality_factor,
)
from linkbudget.physics.propagation import SPEED_OF_LIGHT_M_PER_S
from linkbudget.physics.sheets import SHEET_LOSS_FLOOR_DB

_STEPS = 5
_MOST_MODES = 60
_ROUND_HALF_WAVE = 0.5  # wavelengths of the longest dimension at resonance

EMISSION_STEPS_HZ = (30e6, 100e6, 300e6, 1e9, 3e9, 6e9)
SHIELDING_METHOD = "line with a short below the first resonance, balance of powers above"
MAY_RING = "below 0 dB: may be stronger than without the box, at a resonance"

NO_WAVE = "below its first resonance the box holds no wave"
"""Why a box has no quality factor at the radio's frequency."""

WALL_METHOD = "skin depth over all walls; seams, paint and screws leave a fraction of it"


@dataclass(frozen=True, slots=True)
class BoxMode:
    """One resonance of the box.

    Parameters
    ----------
    name : str
        Such as "TE101", half-waves along length, width and height.
    frequency_hz, filled_hz : float
        Of the empty box, and the lowest it may have with what stands in it [Hz].
    in_band : bool
        Whether it may lie in the radio's band.
    """

    name: str
    frequency_hz: float
    filled_hz: float
    in_band: bool


@dataclass(frozen=True, slots=True)
class OpeningRow:
    """One entry of the openings, at the middle of the band.

    Parameters
    ----------
    name : str
    cross_section_m2 : float
        Typical power through all its equal openings over the power density that falls on them from
        all directions of the half-space before the wall [m2].
    share : float
        Of the power that leaves through openings [1].
    quality_factor : float or None
        That it alone would leave [1]; None below the first resonance of the box.
    resonance_hz : float
        Where its longest dimension is half a wavelength [Hz].
    """

    name: str
    cross_section_m2: float
    share: float
    quality_factor: float | None
    resonance_hz: float


@dataclass(frozen=True, slots=True)
class QualityPart:
    """What one sink alone would leave of the quality factor: less means that it takes more."""

    name: str
    value: Quantity


@dataclass(frozen=True, slots=True)
class ShieldingAt:
    """Field without the box over the field in its middle [dB], at one frequency [Hz]."""

    frequency_hz: float
    level: Quantity


@dataclass(frozen=True, slots=True)
class BoxReport:
    """All about a box with a radio in it, over the radio's band.

    Parameters
    ----------
    modes : tuple of BoxMode
        Up to a quarter above the band, lowest first; where there are very many, those nearest.
    feared : BoxMode or None
        The one in the band nearest to its middle.
    openings : tuple of OpeningRow
        The one that lets most through first.
    dominant : str
        Name of that opening.
    quality_factor : Quantity or None
        With all sinks together [1]; None below the first resonance, where it plays no part.
    sinks : tuple of QualityPart
        Walls, board and contents, openings; none below the first resonance.
    loss : Quantity
        Accepted over radiated power, mean over the band; detuning not included [dB]. Below the
        first resonance that of the antenna as is, detuning included.
    cautions : tuple of str
    shielding : tuple of ShieldingAt
        The same box the other way round, for emissions.
    """

    modes: tuple[BoxMode, ...]
    feared: BoxMode | None
    openings: tuple[OpeningRow, ...]
    dominant: str
    quality_factor: Quantity | None
    sinks: tuple[QualityPart, ...]
    loss: Quantity
    cautions: tuple[str, ...]
    shielding: tuple[ShieldingAt, ...] = ()


def box_report(box: Box, low_hz: float, high_hz: float) -> BoxReport:
    """Return resonances, openings, sinks and loss of a box over a radio's band.

    Parameters
    ----------
    box : Box
    low_hz, high_hz : float
        Ends of the band [Hz].

    Returns
    -------
    BoxReport

    Raises
    ------
    InputError, MissingData
        As ``box_effect``, for any frequency of the band.
    """
    if not low_hz <= high_hz:
        raise InputError(f"a band from {low_hz:g} to {high_hz:g} Hz", "its lower end first")
    require_possible(box, low_hz)
    middle_hz = math.sqrt(low_hz * high_hz)
    leaks, below = box_leaks(box, middle_hz), is_cut_off(box, middle_hz)
    modes = _modes(box, low_hz, high_hz)
    inside = [mode for mode in modes if mode.in_band]
    openings = _openings(box, leaks, middle_hz)
    sinks = () if below else _sinks(box, leaks, middle_hz)
    return BoxReport(
        modes=modes,
        feared=min(inside, key=lambda mode: _off(mode, middle_hz), default=None),
        openings=openings,
        dominant=openings[0].name,
        quality_factor=None if below else _together(box, leaks, middle_hz),
        sinks=sinks,
        loss=_loss(box, low_hz, high_hz),
        cautions=(*_sink_cautions(box, middle_hz), *box_cautions(box, middle_hz, leaks)),
        shielding=_shielding(box),
    )


def _modes(box: Box, low_hz: float, high_hz: float) -> tuple[BoxMode, ...]:
    filling = metal_bands()["box_filling"]
    lowest_hz = lowest_resonance_hz(box.sides_m)
    found = [
        BoxMode(
            mode.name,
            mode.frequency_hz,
            mode.frequency_hz * filling.low,
            mode.frequency_hz * filling.low <= high_hz and mode.frequency_hz >= low_hz,
        )
        for mode in cavity_modes(
            box.sides_m, lowest_hz * (1.0 - 1e-9), max(1.25 * high_hz, lowest_hz * (1.0 + 1e-9))
        )
    ]
    middle_hz = math.sqrt(low_hz * high_hz)
    nearest = sorted(found, key=lambda mode: _off(mode, middle_hz))[:_MOST_MODES]
    return tuple(sorted(nearest, key=lambda mode: mode.frequency_hz))


def _off(mode: BoxMode, frequency_hz: float) -> float:
    return abs(math.sqrt(mode.frequency_hz * mode.filled_hz) - frequency_hz)


def _openings(box: Box, leaks: tuple[Leak, ...], frequency_hz: float) -> tuple[OpeningRow, ...]:
    volume_m3, total_m2 = math.prod(box.sides_m), sum(one.area_m2 for one in leaks)
    below = is_cut_off(box, frequency_hz)

    def area_m2(one: Leak) -> float:  # below cut-off a leak is no area, but a share of power
        if not below:
            return one.area_m2
        return opening_area_m2(one.opening, box.thickness_m, frequency_hz)

    rows = [
        OpeningRow(
            one.name,
            area_m2(one) / 2.0,
            one.area_m2 / total_m2,
            None if below else opening_quality_factor(volume_m3, one.area_m2, frequency_hz),
            _ROUND_HALF_WAVE * SPEED_OF_LIGHT_M_PER_S / one.opening.length_m,
        )
        for one in leaks
    ]
    return tuple(sorted(rows, key=lambda row: -row.share))


def _wall_quality(box: Box, frequency_hz: float) -> float:
    metal = box.metal
    return wall_quality_factor(
        box.sides_m, frequency_hz, metal.conductivity_s_per_m, metal.relative_permeability
    )


def _open_quality(
    box: Box, leaks: tuple[Leak, ...], frequency_hz: float
) -> tuple[float, float, float]:
    """Return typical, low and high of what the openings alone would leave."""
    volume_m3, areas = math.prod(box.sides_m), leaks_together(leaks)
    typical, low, high = (
        opening_quality_factor(volume_m3, area_m2, frequency_hz)
        for area_m2 in (areas.typical_m2, areas.high_m2, areas.low_m2)
    )
    return typical, low, high


def _sinks(box: Box, leaks: tuple[Leak, ...], frequency_hz: float) -> tuple[QualityPart, ...]:
    walls = _wall_quality(box, frequency_hz)
    closed = box_quality(box)

    def rest(quality_factor: float) -> float:
        return 1.0 / max(1.0 / quality_factor - 1.0 / walls, 1e-9)

    low, high = closed.band
    contents = Quantity(
        rest(closed.value), "1", closed.kind, rest(low), rest(high), closed.source, BAND_MEANING
    )
    typical, least, most = _open_quality(box, leaks, frequency_hz)
    openings = Quantity(typical, "1", "computed", least, most, BALANCE_METHOD, BAND_MEANING)
    return (
        QualityPart("walls", Quantity(walls, "1", "computed", source=WALL_METHOD)),
        QualityPart("board and contents", contents),
        QualityPart("openings", openings),
    )


def _together(box: Box, leaks: tuple[Leak, ...], frequency_hz: float) -> Quantity:
    closed = box_quality(box)
    open_typical, open_low, open_high = _open_quality(box, leaks, frequency_hz)

    def both(first: float, second: float) -> float:
        return 1.0 / (1.0 / first + 1.0 / second)

    low, high = closed.band
    return Quantity(
        both(closed.value, open_typical),
        "1",
        closed.kind if closed.kind == "assumed" else "computed",
        both(low, open_low),
        both(high, open_high),
        "sum of all sinks",
        BAND_MEANING,
    )


def _loss(box: Box, low_hz: float, high_hz: float) -> Quantity:
    losses = [
        radiated_loss(box, float(frequency_hz))
        for frequency_hz in np.linspace(low_hz, high_hz, _STEPS)
    ]
    value, low, high = (
        float(np.mean(levels))
        for levels in zip(*((loss.value, *loss.band) for loss in losses), strict=True)
    )
    below = is_cut_off(box, math.sqrt(low_hz * high_hz))
    return loss_quantity(value, low, high, CUT_OFF_METHOD if below else BALANCE_METHOD)


def _sink_cautions(box: Box, frequency_hz: float) -> tuple[str, ...]:
    walls = _wall_quality(box, frequency_hz)
    if box.quality_factor is None or is_cut_off(box, frequency_hz) or box.quality_factor <= walls:
        return ()
    return (
        f"The stated quality factor, {box.quality_factor:g}, is more than the {walls:.0f} that the"
        " metal of the walls would leave; it is used as stated.",
    )


def _shielding(box: Box) -> tuple[ShieldingAt, ...]:
    """Return what the box takes from an emission inside, at a few frequencies."""
    found = shielding(box, np.array(EMISSION_STEPS_HZ))
    columns = (found.frequency_hz, found.typical_db, found.low_db, found.high_db)
    return tuple(
        ShieldingAt(
            float(f),
            Quantity(
                float(typical),
                "dB",
                "computed",
                float(low),
                float(high),
                SHIELDING_METHOD if low >= 0.0 else f"{SHIELDING_METHOD}; {MAY_RING}",
                BAND_MEANING if low < SHEET_LOSS_FLOOR_DB else "at least",
            ),
        )
        # beyond what any sheet is said to hold, a number would be a pretence
        for f, typical, low, high in zip(
            columns[0], *(np.minimum(one, SHEET_LOSS_FLOOR_DB) for one in columns[1:]), strict=True
        )
    )
