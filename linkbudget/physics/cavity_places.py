"""The field of a small antenna in a box at one place on a wall, as a sum over resonances."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from linkbudget.core.decibels import FREE_SPACE_IMPEDANCE_OHM, FloatArray
from linkbudget.physics.cavity import Sides, standing_waves
from linkbudget.physics.openings import strip_dipole_impedance_ohm
from linkbudget.physics.propagation import wavelength_m
from linkbudget.physics.validity import require_positive

ComplexArray = NDArray[np.complex128]

_HIGHEST = 3.0  # modes up to this multiple of the frequency; the rest is near field of the source


@dataclass(frozen=True, slots=True)
class SmallSource:
    """A short electric dipole in a box.

    Parameters
    ----------
    at_m : tuple of float
        From the corner where length, width and height begin [m].
    axis : int
        0 along the length, 1 along the width, 2 upright.
    """

    at_m: tuple[float, float, float]
    axis: int


@dataclass(frozen=True, slots=True)
class Spot:
    """The middle of an opening on a wall.

    Parameters
    ----------
    at_m : tuple of float
        From the same corner [m].
    wall, along : int
        Axes across the wall and along the opening.
    length_m : float
        Length over which the opening collects the field, weighted by a half-wave; 0 for a point
        [m].
    """

    at_m: tuple[float, float, float]
    wall: int
    along: int
    length_m: float = 0.0


@dataclass(frozen=True, slots=True)
class SpotField:
    """Square of the field at a spot over its mean square in the box.

    Parameters
    ----------
    along, aside : float
        Magnetic, along the opening and across it in the wall [1].
    normal : float
        Electric, across the wall [1].
    """

    along: float
    aside: float
    normal: float


def spot_field(
    sides_m: Sides,
    frequency_hz: float,
    quality_factor: float,
    source: SmallSource,
    spot: Spot,
    slowing: float = 1.0,
) -> SpotField:
    """Return how strongly a small source drives an opening, against the mean field of the box.

    Parameters
    ----------
    sides_m : tuple of float
        Inner length, width and height [m].
    frequency_hz : float
        Frequency [Hz].
    quality_factor : float
        Of the box, openings closed [1].
    source : SmallSource
    spot : Spot
    slowing : float
        Resonances of the filled box over those of the empty one [1].

    Returns
    -------
    SpotField

    Notes
    -----
    Mode ``n`` with wave vector ``k_n`` and unit fields ``e_n``, ``h_n = curl e_n / k_n`` answers a
    moment ``p`` with ``E_n = -j k eta (e_n . p) / D`` and ``H_n = k_n (e_n . p) / D``, where
    ``D = k_n^2 - k^2 (1 - j/Q)``. Fields at the spot add with their phases, energies over the
    modes. The two polarisations of a mode number are summed by ``sum (e.u)(h.v) =
    |e|^2 u . (v x k_n)/k_n`` with the standing waves at source and spot inside ``u`` and ``v``.

    References
    ----------
    R. E. Collin, Field Theory of Guided Waves, mode expansion of fields in a cavity (from memory).
    """
    modes = _driven_modes(sides_m, frequency_hz, quality_factor, source, slowing)
    by_source = -1j * modes.k_per_m / modes.distance
    mean = _energy(modes, by_source, 0.0 * modes.vectors, 0.0) / math.prod(sides_m)
    magnetic = _magnetic(modes.vectors, spot.at_m)

    def magnetic_share(axis: int) -> float:
        turned = np.cross(_on_axis(magnetic, axis), modes.unit)
        return float(abs(_magnetic_field(modes, turned)) ** 2 / mean)

    across = (modes.driven * _electric(modes.vectors, spot.at_m))[:, spot.wall]
    normal = np.sum(modes.unit_norm * across * modes.k_per_m / modes.distance)
    return SpotField(
        magnetic_share(spot.along),
        magnetic_share(3 - spot.wall - spot.along),
        float(abs(normal) ** 2 / mean),
    )


def slot_ratio(
    sides_m: Sides,
    frequency_hz: float,
    quality_factor: float,
    source: SmallSource,
    spot: Spot,
    width_m: float,
    slowing: float = 1.0,
) -> float:
    """Return the power that leaves through a slot over the power that is lost in the box.

    Parameters
    ----------
    sides_m : tuple of float
        Inner length, width and height [m].
    frequency_hz : float
        Frequency [Hz].
    quality_factor : float
        Of the box, openings closed [1].
    source : SmallSource
    spot : Spot
        With the length of the slot.
    width_m : float
        Of the slot [m].
    slowing : float
        Resonances of the filled box over those of the empty one [1].

    Returns
    -------
    float
        Ratio of powers [1].

    Notes
    -----
    The slot carries a half-wave of voltage ``V = I / (Y + j B + Y_box)``: `I` is the field of the
    source that the wall cuts, ``Y = G + j B`` what the slot sees outside, ``2 Z / eta^2`` of the
    strip that fits it, and ``Y_box`` the resonances within half the frequency. Waves of the voltage
    act back on the resonances. One half-wave: for slots up to about a wavelength.

    References
    ----------
    R. E. Collin, Field Theory of Guided Waves, mode expansion and apertures in a cavity (from
    memory).
    """
    modes = _driven_modes(sides_m, frequency_hz, quality_factor, source, slowing)
    outside = 2.0 * strip_dipole_impedance_ohm(spot.length_m, width_m, frequency_hz)
    outside /= FREE_SPACE_IMPEDANCE_OHM  # times eta: admittances here are over 1 / eta
    collected = _collected(modes.vectors, spot) * 2.0 * spot.length_m / math.pi
    magnetic = _magnetic(modes.vectors, spot.at_m) * collected[:, None]
    turned = np.cross(_on_axis(magnetic, spot.along), modes.unit)
    lossy_k = modes.k_per_m * (1.0 - 1j / quality_factor)
    answer = 1j * lossy_k * np.sum(turned**2, axis=1) * modes.unit_norm / modes.distance
    near = np.abs(modes.size - modes.k_per_m) < 0.5 * modes.k_per_m
    box = complex(np.sum(answer[near]))
    voltage = _magnetic_field(modes, turned) / (outside + 1j * outside.imag + box)
    lost = (
        modes.k_per_m
        / quality_factor
        * _energy(modes, -1j * modes.k_per_m / modes.distance, turned, voltage)
    )
    return float(abs(voltage) ** 2 * outside.real / lost)


@dataclass(frozen=True, slots=True)
class _DrivenModes:
    """All mode numbers of a box and how a source of unit moment times eta drives them."""

    k_per_m: float
    vectors: FloatArray
    size: FloatArray  # of the vectors, filling counted
    unit: FloatArray
    unit_norm: FloatArray  # |e_n|^2
    distance: ComplexArray
    driven: FloatArray  # standing waves at the source, across the wave vector


def _driven_modes(
    sides_m: Sides,
    frequency_hz: float,
    quality_factor: float,
    source: SmallSource,
    slowing: float,
) -> _DrivenModes:
    require_positive("quality factor", quality_factor)
    waves = standing_waves(sides_m, _HIGHEST * frequency_hz)
    vectors, size = waves.vectors_per_m, waves.size_per_m * slowing
    unit = vectors / waves.size_per_m[:, None]
    k_per_m = 2.0 * math.pi / wavelength_m(frequency_hz)
    driven = _on_axis(_electric(vectors, source.at_m), source.axis)
    driven -= np.sum(driven * unit, axis=1)[:, None] * unit
    return _DrivenModes(
        k_per_m=k_per_m,
        vectors=vectors,
        size=size,
        unit=unit,
        unit_norm=4.0 * waves.polarisations / math.prod(sides_m),
        distance=np.asarray(size**2 - k_per_m**2 * (1.0 - 1j / quality_factor), np.complex128),
        driven=driven,
    )


def _magnetic_field(modes: _DrivenModes, turned: FloatArray) -> complex:
    """Return eta times the magnetic field at a place, `turned` its standing waves across k."""
    each = modes.unit_norm * np.sum(modes.driven * turned, axis=1) * modes.size / modes.distance
    return complex(np.sum(each))


def _energy(
    modes: _DrivenModes, by_source: ComplexArray, turned: FloatArray, voltage: complex
) -> float:
    """Return the integral of |E|^2 over the box, of the source and of the voltage of a slot."""
    by_slot = -(modes.size / modes.distance) * voltage
    amplitude = by_source[:, None] * modes.driven + by_slot[:, None] * turned
    return float(np.sum(modes.unit_norm * np.sum(np.abs(amplitude) ** 2, axis=1)))


def _electric(vectors: FloatArray, at_m: tuple[float, float, float]) -> FloatArray:
    """Return the standing waves of each electric component at a place, shape (modes, 3)."""
    return _one_and_two_others(np.cos(vectors * at_m), np.sin(vectors * at_m))


def _magnetic(vectors: FloatArray, at_m: tuple[float, float, float]) -> FloatArray:
    return _one_and_two_others(np.sin(vectors * at_m), np.cos(vectors * at_m))


def _one_and_two_others(own: FloatArray, others: FloatArray) -> FloatArray:
    return np.stack(
        [own[:, axis] * others[:, axis - 1] * others[:, axis - 2] for axis in range(3)], axis=1
    )


def _on_axis(waves: FloatArray, axis: int) -> FloatArray:
    kept = np.zeros_like(waves)
    kept[:, axis] = waves[:, axis]
    return kept


def _collected(vectors: FloatArray, spot: Spot) -> FloatArray:
    """Return the mean of each mode along the opening, weighted by its half-wave of voltage."""
    return collected(vectors[:, spot.along], spot.length_m)


def collected(wave_per_m: FloatArray, length_m: float) -> FloatArray:
    """Return the mean of a standing wave along an opening over its value in the middle.

    Parameters
    ----------
    wave_per_m : array
        Wave number along the opening [1/m].
    length_m : float
        Of the opening, which weights by its half-wave of voltage [m].

    Returns
    -------
    array
        1 for a wave far longer than the opening [1].

    Examples
    --------
    >>> collected(np.array([0.0, math.pi / 0.06]), 0.06).round(3)
    array([1.   , 0.785])
    """
    ratio = wave_per_m * length_m / math.pi
    # cos(pi r / 2) / (1 - r^2) tends to pi / 4 at r = 1
    near = np.abs(1.0 - ratio**2) < 1e-6
    safe = np.where(near, 0.0, ratio)
    mean: FloatArray = np.where(near, math.pi / 4.0, np.cos(math.pi / 2.0 * safe) / (1.0 - safe**2))
    return mean
