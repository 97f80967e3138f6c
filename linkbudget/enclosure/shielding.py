"""The same box for emissions: how much of a field it keeps out, and by reciprocity in."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.enclosure.bands import metal_bands
from linkbudget.enclosure.box_fit import require_sound
from linkbudget.enclosure.boxes import box_quality
from linkbudget.enclosure.geometry import Box, Opening
from linkbudget.enclosure.leaks import Site, leaks_of, leaks_together, sites
from linkbudget.physics.apertures import below_cutoff_db, cutoff_hz
from linkbudget.physics.cavity import (
    cavity_modes,
    lowest_resonance_hz,
    mode_count,
    opening_quality_factor,
)
from linkbudget.physics.slotted_box import SlottedFace, slotted_box_shielding_db
from linkbudget.physics.validity import require_within

LOWEST_HZ, HIGHEST_HZ = 30e6, 6e9
_GRID = 48  # points of the power balance, which runs smoothly; between them on log frequency

_CAUTIONS = (
    "Electric field in the middle of the box. A source close to an opening, or a cable through the"
    " wall, leaks more than this.",
    "Seams and gaps that are not stated are not counted.",
)


@dataclass(frozen=True, slots=True)
class Shielding:
    """Electric shielding of a box over frequency.

    Parameters
    ----------
    frequency_hz : array, shape (n,)
        As asked [Hz].
    typical_db, low_db, high_db : array, shape (n,)
        Field without the box over the field in its middle [dB]; negative where it rings.
    line_ends_hz : float
        Up to here the box is a line with a short; from twice this on, a balance of powers [Hz].
    cautions : tuple of str
    """

    frequency_hz: FloatArray
    typical_db: FloatArray
    low_db: FloatArray
    high_db: FloatArray
    line_ends_hz: float
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Levels:
    typical_db: FloatArray
    low_db: FloatArray
    high_db: FloatArray


def shielding(box: Box, frequency_hz: FloatArray) -> Shielding:
    """Return the electric shielding of a box with openings, 30 MHz to 6 GHz.

    Parameters
    ----------
    box : Box
        With at least one opening.
    frequency_hz : array, shape (n,)
        Frequencies [Hz].

    Returns
    -------
    Shielding
        A wave from the side of the openings, worst polarisation; the band covers resonances moved
        by what stands in the box, its quality factor, and openings that act in step.

    Raises
    ------
    InputError, MissingData, OutOfRange
        Where the geometry is impossible, no opening is stated, or a frequency lies outside.

    Notes
    -----
    Up to the first resonance that it does not know, or half a wavelength of the longest opening,
    ``slotted_box_shielding_db``, in the worst wall
    where nobody said in which; from twice that on, ``10 log10(4 pi V / (wavelength a Q))`` with all
    sinks in ``Q``; between them one passes into the other on log frequency.

    References
    ----------
    D. A. Hill, Electromagnetic Fields in Cavities, IEEE Press / Wiley 2009, chapter 7, shielding
    effectiveness of a cavity with apertures (from memory).
    """
    require_sound(box)
    f = np.atleast_1d(np.asarray(frequency_hz, dtype=float))
    for edge in (float(f.min()), float(f.max())):
        require_within("frequency of the shielding (Hz)", edge, LOWEST_HZ, HIGHEST_HZ)
    box = replace(box, antenna=None)
    ends_hz = _line_ends_hz(box)
    line, balance = _line(box, f), _balance(box, f)
    part = np.clip(np.log2(f / ends_hz), 0.0, 1.0)
    typical, low, high = (
        (1.0 - part) * getattr(line, name) + part * getattr(balance, name)
        for name in ("typical_db", "low_db", "high_db")
    )
    return Shielding(f, typical, low, high, ends_hz, _cautions(box))


def _cautions(box: Box) -> tuple[str, ...]:
    cautions: list[str] = []
    if box.quality_factor is None:
        common = metal_bands()["box_quality_factor"]
        cautions.append(
            f"The quality factor of the box is not known: {common.value:g} is assumed and the band"
            f" covers {common.low:g} to {common.high:g}; a decade of it is 10 dB above the first"
            " resonances."
        )
    if any(opening.wall is None for opening in box.openings):
        cautions.append(
            "The wall of an opening is not known: below the resonances the worst one is taken; in"
            " another wall it may let 10 dB less in."
        )
    return (*cautions, *_CAUTIONS)


def _line_ends_hz(box: Box) -> float:
    """Return where the line of some opening ends: at a resonance it does not know, its own too."""
    highest_hz = 4.0 * lowest_resonance_hz(box.sides_m)
    modes = cavity_modes(box.sides_m, 0.0, highest_hz)

    def first_strange_hz(site: Site) -> float:
        strange = (
            mode.frequency_hz
            for mode in modes
            if mode.half_waves[site.along] != 1 or mode.half_waves[site.aside] != 0
        )
        return min(strange, default=highest_hz)

    # a slot longer than half a wavelength is no shorted line any more: at one wavelength it would
    # be a short
    return min(
        min(max(map(first_strange_hz, sites(box, one))), cutoff_hz("slot", one.length_m))
        for one in box.openings
    )


def _line(box: Box, f: FloatArray) -> _Levels:
    filling, spread = metal_bands()["box_filling"], metal_bands()["box_line_spread"]
    quality = box_quality(box)
    shifts = np.linspace(filling.low, 1.0, 5)
    low_q, high_q = quality.band
    typical = _all_openings_db(box, f, quality.value, in_step=False)
    # what stands in the box moves the resonances down: the field of a higher frequency comes lower
    moved = [
        _all_openings_db(box, f / shift, q, in_step=in_step)
        for shift in shifts
        for q, in_step in ((high_q, True), (low_q, False))
    ]
    return _Levels(
        typical,
        np.minimum(typical, np.min(moved, axis=0)) + spread.low,
        np.maximum(typical, np.max(moved, axis=0)) + spread.high,
    )


def _all_openings_db(
    box: Box, f: FloatArray, quality_factor: float, *, in_step: bool
) -> FloatArray:
    """Add the openings, each in the worst wall that it may be in: as fields in step, or powers."""
    field = np.zeros_like(f)
    for opening in box.openings:
        by_site = [
            _one_opening_db(box, opening, site, f, quality_factor) for site in sites(box, opening)
        ]
        own = 10.0 ** (-np.min(by_site, axis=0) / 20.0)
        field = field + own if in_step else np.hypot(field, own)
    shielding_db: FloatArray = -20.0 * np.log10(field)
    return shielding_db


def _one_opening_db(
    box: Box, opening: Opening, site: Site, f: FloatArray, quality_factor: float
) -> FloatArray:
    sides_m = box.sides_m
    length_m, width_m = opening.length_m, opening.width_m
    if opening.shape == "round":  # a square of the same area
        length_m = width_m = math.sqrt(math.pi) / 2.0 * opening.length_m
    face = SlottedFace(
        sides_m[site.along],
        sides_m[site.aside],
        sides_m[site.wall],
        length_m,
        min(width_m, 0.99 * sides_m[site.aside]),
        box.thickness_m,
    )
    deep = [
        below_cutoff_db(opening.shape, opening.length_m, box.thickness_m, float(one)) for one in f
    ]
    alone = slotted_box_shielding_db(face, f, quality_factor) + np.array(deep)
    # equal openings in one face drive the line in step
    shielding_db: FloatArray = alone - 20.0 * math.log10(opening.count)
    return shielding_db


def _balance(box: Box, f: FloatArray) -> _Levels:
    lowest_hz = max(float(f.min()), lowest_resonance_hz(box.sides_m))
    highest_hz = max(float(f.max()), 1.001 * lowest_hz)
    grid = np.geomspace(lowest_hz, highest_hz, _GRID)
    rows = np.array([_balance_db(box, float(one)) for one in grid])
    typical, low, high = (np.interp(np.log(f), np.log(grid), column) for column in rows.T)
    return _Levels(typical, low, high)


def _balance_db(box: Box, frequency_hz: float) -> tuple[float, float, float]:
    volume_m3 = math.prod(box.sides_m)
    quality, areas = box_quality(box), leaks_together(leaks_of(box, frequency_hz))

    def level_db(quality_factor: float, area_m2: float) -> float:
        alone = opening_quality_factor(volume_m3, area_m2, frequency_hz)
        together = 1.0 / (1.0 / quality_factor + 1.0 / alone)
        return 10.0 * math.log10(alone / (2.0 * together))  # the lit half-space alone: 1/2

    low_q, high_q = quality.band
    typical = level_db(quality.value, areas.typical_m2)
    ring_db = _ring_db(box, frequency_hz, quality.value)
    return (
        typical,
        level_db(high_q, areas.high_m2) - ring_db,
        level_db(low_q, areas.low_m2) + ring_db,
    )


def _ring_db(box: Box, frequency_hz: float, quality_factor: float) -> float:
    """Return how far single resonances rise over the mean, and the field falls between them [dB].

    Notes
    -----
    Peak over mean of lines of width ``f / Q`` at the distance of two modes: ``2/pi`` of distance
    over width; none where they overlap.
    """
    octave = mode_count(box.sides_m, 1.1 * frequency_hz) - mode_count(
        box.sides_m, frequency_hz / 1.1
    )
    overlapping = octave / (1.1 - 1.0 / 1.1) / quality_factor  # modes within a line's width
    return 10.0 * math.log10(max(1.0, 2.0 / (math.pi * max(overlapping, 1e-3))))
