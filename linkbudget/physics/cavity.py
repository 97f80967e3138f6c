"""Waves shut in a rectangular metal box: its resonances, and where on its walls they press."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from linkbudget.core.decibels import FloatArray
from linkbudget.physics.materials import skin_depth_m
from linkbudget.physics.propagation import SPEED_OF_LIGHT_M_PER_S, wavelength_m
from linkbudget.physics.validity import require_positive

IntArray = NDArray[np.int_]
Sides = tuple[float, float, float]
"""Inner length, width and height of a box [m]."""

_DIFFUSE_ABOVE = 100_000  # modes: beyond, the sums have long become those of a diffuse field


@dataclass(frozen=True, slots=True)
class CavityMode:
    """One resonance of a rectangular box.

    Parameters
    ----------
    kind : {"TE", "TM"}
        Seen along the height: electric or magnetic field across it alone.
    half_waves : tuple of int
        How many half-waves stand along length, width and height.
    frequency_hz : float
        Of the empty box [Hz].
    """

    kind: Literal["TE", "TM"]
    half_waves: tuple[int, int, int]
    frequency_hz: float

    @property
    def name(self) -> str:
        """The name of the trade, such as "TE101"."""
        digits = [str(index) for index in self.half_waves]
        return self.kind + ("" if max(self.half_waves) < 10 else ",").join(digits)


def resonance_hz(sides_m: Sides, half_waves: tuple[int, int, int]) -> float:
    """Return the frequency of one resonance of an empty rectangular box.

    Parameters
    ----------
    sides_m : tuple of float
        Inner length, width and height [m].
    half_waves : tuple of int
        Half-waves along each of them; at most one may be zero.

    Returns
    -------
    float
        ``c/2 sqrt((m/a)^2 + (n/b)^2 + (p/d)^2)`` [Hz].

    References
    ----------
    D. M. Pozar, Microwave Engineering, rectangular waveguide cavity resonators, equation 6.40 of
    the fourth edition (from memory).

    Examples
    --------
    >>> round(resonance_hz((0.3, 0.12, 0.3), (1, 0, 1)) / 1e6, 1)
    706.6
    """
    for side_m in sides_m:
        require_positive("inner side of the box (m)", side_m)
    parts = (index / side_m for index, side_m in zip(half_waves, sides_m, strict=True))
    return SPEED_OF_LIGHT_M_PER_S / 2.0 * math.hypot(*parts)


def lowest_resonance_hz(sides_m: Sides) -> float:
    """Return the lowest resonance of an empty box: one half-wave along each of the longest sides.

    Parameters
    ----------
    sides_m : tuple of float
        Inner length, width and height [m].

    Returns
    -------
    float
        Frequency [Hz].
    """
    shortest = sides_m.index(min(sides_m))
    first, second, third = (0 if axis == shortest else 1 for axis in range(3))
    return resonance_hz(sides_m, (first, second, third))


def cavity_modes(sides_m: Sides, low_hz: float, high_hz: float) -> tuple[CavityMode, ...]:
    """Return the resonances of an empty box within a range of frequencies, lowest first.

    Parameters
    ----------
    sides_m : tuple of float
        Inner length, width and height [m].
    low_hz, high_hz : float
        The range, both ends included [Hz].

    Returns
    -------
    tuple of CavityMode

    Notes
    -----
    TM to the height needs half-waves along length and width; TE needs one along the height and at
    least one across it.

    Examples
    --------
    >>> [mode.name for mode in cavity_modes((0.2, 0.12, 0.025), 1e9, 2e9)]
    ['TM110', 'TM210']
    """
    modes = []
    for m, n, p in standing_waves(sides_m, high_hz).half_waves.tolist():
        frequency_hz = resonance_hz(sides_m, (m, n, p))
        if not low_hz <= frequency_hz <= high_hz:
            continue
        if m and n:
            modes.append(CavityMode("TM", (m, n, p), frequency_hz))
        if p:
            modes.append(CavityMode("TE", (m, n, p), frequency_hz))
    return tuple(sorted(modes, key=lambda mode: (mode.frequency_hz, mode.kind, mode.half_waves)))


def mode_count(sides_m: Sides, frequency_hz: float) -> float:
    """Return roughly how many resonances an empty box has below a frequency.

    Notes
    -----
    ``8 pi/3 V/wavelength^3 - (a + b + d)/wavelength + 1/2``, never below zero: a smooth count.

    References
    ----------
    D. A. Hill, Electromagnetic Fields in Cavities, IEEE Press / Wiley 2009, chapter 2, smooth mode
    number of a rectangular cavity (from memory).
    """
    wavelength = wavelength_m(frequency_hz)
    volume = math.prod(sides_m) / wavelength**3
    return max(0.0, 8.0 * math.pi / 3.0 * volume - sum(sides_m) / wavelength + 0.5)


def weighty_modes(sides_m: Sides, frequency_hz: float, sharpness: float) -> float:
    """Return how many resonances share the field at a frequency.

    Parameters
    ----------
    sides_m : tuple of float
        Inner length, width and height [m].
    frequency_hz : float
        Frequency of the source [Hz].
    sharpness : float
        As for ``wall_field`` [1].

    Returns
    -------
    float
        ``(sum w)^2 / sum w^2`` of their weights, at least one [1].
    """
    if mode_count(sides_m, 2.0 * frequency_hz) > _DIFFUSE_ABOVE:
        return math.inf
    waves, weight = _answers(sides_m, frequency_hz, sharpness)
    each = waves.polarisations
    return float(np.sum(weight * each) ** 2 / np.sum(weight**2 * each))


@dataclass(frozen=True, slots=True)
class WallField:
    """Mean square of the field on the walls against its mean square in the volume.

    Parameters
    ----------
    magnetic : array, shape (3, 3)
        ``[wall, axis]``: along `axis`, on the two walls across the axis `wall`; zero where they are
        the same [1].
    electric : array, shape (3,)
        Across the wall [1].
    """

    magnetic: FloatArray
    electric: FloatArray


DIFFUSE_SHARE = 2.0 / 3.0
"""Share of each magnetic axis, and of the electric field, on a wall under a diffuse field [1].

One axis in three, doubled in the mean square because a wall is a maximum of it.
"""


def wall_field(sides_m: Sides, frequency_hz: float, sharpness: float) -> WallField:
    """Return how the resonances of a box press on its walls.

    Parameters
    ----------
    sides_m : tuple of float
        Inner length, width and height [m].
    frequency_hz : float
        Frequency of the source [Hz].
    sharpness : float
        Frequency over the width in which a resonance answers: its quality factor, or less where
        the frequencies of the resonances are known less well than that [1].

    Returns
    -------
    WallField
        Means over each wall; where on it an opening lies is another question.

    Notes
    -----
    A source at an unknown place drives every mode alike; mode ``n`` answers with the weight
    ``1 / ((1 - (fn/f)^2)^2 + 1/Q^2)``, modes up to twice the frequency. In a mode with wave vector
    ``k`` both fields stand across ``k``: magnetic share of axis ``c``, ``1 - kc^2/k^2``, halved
    where two polarisations share the mode. A wall doubles the mean square unless the field does
    not vary toward it. In a flat box (height under half a wavelength) that leaves 1/2 for each axis
    of the lid, 1 along a long side wall, and 0 up it; a large box tends to ``DIFFUSE_SHARE``.
    """
    if mode_count(sides_m, 2.0 * frequency_hz) > _DIFFUSE_ABOVE:
        across = DIFFUSE_SHARE * (1.0 - np.eye(3))
        return WallField(across, np.full(3, DIFFUSE_SHARE))
    waves, weight = _answers(sides_m, frequency_hz, sharpness)
    standing = waves.vectors_per_m > 0.0
    single = (waves.polarisations == 1.0)[:, None]  # E along the axis without half-waves
    transverse = 1.0 - (waves.vectors_per_m / waves.size_per_m[:, None]) ** 2
    # per mode number, both polarisations together: shares add up to 1, or to 2 where there are two
    magnetic = np.where(single, np.where(standing, transverse, 0.0), transverse)
    electric = np.where(single, ~standing, transverse)
    doubled = np.where(standing, 2.0, 1.0)
    total = float(np.sum(weight * waves.polarisations))
    on_wall = np.einsum("n,nw,na->wa", weight, doubled, magnetic) / total
    np.fill_diagonal(on_wall, 0.0)
    return WallField(on_wall, np.einsum("n,nw,nw->w", weight, doubled, electric) / total)


@dataclass(frozen=True, slots=True)
class StandingWaves:
    """The waves that fit between the walls of an empty box, one row for each.

    Parameters
    ----------
    half_waves : array of int, shape (n, 3)
        Along length, width and height; at most one zero.
    vectors_per_m : array, shape (n, 3)
        Wave vectors [rad/m].
    size_per_m : array, shape (n,)
        Their lengths [rad/m].
    polarisations : array, shape (n,)
        How many resonances share the row: one where a number is zero, else two [1].
    """

    half_waves: IntArray
    vectors_per_m: FloatArray
    size_per_m: FloatArray
    polarisations: FloatArray


def standing_waves(sides_m: Sides, highest_hz: float) -> StandingWaves:
    """Return every standing wave of an empty box up to a frequency.

    Parameters
    ----------
    sides_m : tuple of float
        Inner length, width and height [m].
    highest_hz : float
        Frequency [Hz].

    Returns
    -------
    StandingWaves

    Raises
    ------
    InputError
        Where a side is not greater than zero.
    """
    for side_m in sides_m:
        require_positive("inner side of the box (m)", side_m)
    per_m = 2.0 * highest_hz / SPEED_OF_LIGHT_M_PER_S
    axes = [np.arange(math.floor(side_m * per_m) + 1) for side_m in sides_m]
    grid = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    possible = np.sum(grid == 0, axis=1) <= 1
    inside = np.sum((grid / np.array(sides_m)) ** 2, axis=1) <= per_m**2 * (1.0 + 1e-12)
    kept: IntArray = grid[possible & inside]
    vectors = kept * math.pi / np.array(sides_m)
    polarisations = np.where(np.any(kept == 0, axis=1), 1.0, 2.0)
    return StandingWaves(kept, vectors, np.linalg.norm(vectors, axis=1), polarisations)


def _answers(
    sides_m: Sides, frequency_hz: float, sharpness: float
) -> tuple[StandingWaves, FloatArray]:
    """Return the waves of a box and the weight with which each answers a source."""
    highest_hz = max(2.0 * frequency_hz, 1.5 * lowest_resonance_hz(sides_m))
    waves = standing_waves(sides_m, highest_hz)
    ratio = (waves.size_per_m * wavelength_m(frequency_hz) / (2.0 * math.pi)) ** 2  # (fn / f)^2
    return waves, 1.0 / ((1.0 - ratio) ** 2 + 1.0 / sharpness**2)


def wall_quality_factor(
    sides_m: Sides,
    frequency_hz: float,
    conductivity_s_per_m: float,
    relative_permeability: float = 1.0,
) -> float:
    """Return the quality factor that the metal of the walls alone would leave.

    Parameters
    ----------
    sides_m : tuple of float
        Inner length, width and height [m].
    frequency_hz : float
        Frequency [Hz].
    conductivity_s_per_m, relative_permeability : float
        Of the walls [S/m], [1].

    Returns
    -------
    float
        ``3 V / (2 mu_r S delta)`` [1]: an ideal; seams, paint and screws leave a fraction of it.

    References
    ----------
    D. A. Hill, Electromagnetic Fields in Cavities, IEEE Press / Wiley 2009, chapter 7, wall losses
    (from memory).

    Examples
    --------
    >>> round(wall_quality_factor((0.2, 0.12, 0.025), 2.44e9, 3.5e7), -2)
    8200.0
    """
    a, b, d = sides_m
    surface_m2 = 2.0 * (a * b + b * d + d * a)
    depth_m = skin_depth_m(frequency_hz, conductivity_s_per_m, relative_permeability)
    return 1.5 * math.prod(sides_m) / (relative_permeability * surface_m2 * depth_m)


def opening_quality_factor(volume_m3: float, area_m2: float, frequency_hz: float) -> float:
    """Return the quality factor that an opening alone would leave.

    Parameters
    ----------
    volume_m3 : float
        Of the box [m3].
    area_m2 : float
        What the opening takes from a diffuse field, as an area that swallows all [m2].
    frequency_hz : float
        Frequency [Hz].

    Returns
    -------
    float
        ``8 pi V / (wavelength A)`` [1].

    Notes
    -----
    A wall under a diffuse field of energy density ``u`` meets the power ``c u / 4`` on each square
    metre. Hill writes ``4 pi V / (wavelength s)`` with the transmission cross-section ``s``
    averaged over the half-space before the wall, which is ``A / 2``.

    References
    ----------
    D. A. Hill, Electromagnetic Fields in Cavities, IEEE Press / Wiley 2009, chapter 7, aperture
    leakage (from memory).
    """
    return 8.0 * math.pi * volume_m3 / (wavelength_m(frequency_hz) * area_m2)
