"""A short dipole in a box that holds no wave: how much of its field still reaches a wall.

Below its first resonance a box is a waveguide below cut-off in every direction. The fields of the
dipole are those of all its images; summed over the wall's own standing waves they die away with the
distance between dipole and wall.
"""

from __future__ import annotations

import math

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.physics.cavity import Sides
from linkbudget.physics.cavity_places import SmallSource, Spot, SpotField, collected
from linkbudget.physics.openings import Ports, port_area_m2
from linkbudget.physics.propagation import wavelength_m
from linkbudget.physics.validity import require_positive

_SETTLED = 12.0  # exp(-12): waves that die away faster on the way to the wall are left out
_MOST_WAVES = 400  # along each side; enough down to 1/100 of it


def reaching_field(
    sides_m: Sides,
    frequency_hz: float,
    quality_factor: float,
    source: SmallSource,
    spot: Spot,
) -> SpotField:
    """Return the field that a short dipole leaves on a wall with its openings closed.

    Parameters
    ----------
    sides_m : tuple of float
        Inner length, width and height [m].
    frequency_hz : float
        Frequency [Hz]; meant for below the first resonance, true at any.
    quality_factor : float
        Keeps the field finite at a resonance; below it nothing depends on it [1].
    source : SmallSource
    spot : Spot
        With the length over which a slot collects the field, or 0.

    Returns
    -------
    SpotField
        Squares of the magnetic field, and of the electric over 377 ohm, of a current moment of
        1 A m [1/m^2 each, over (A m)^2].

    Notes
    -----
    The vector potential lies along the dipole. Over the wall's coordinates it is a sum of standing
    waves, sine across the walls along it and cosine toward those that it meets; across the wall, at
    the distance ``z`` of the dipole and with the box ``L`` deep, each runs as
    ``sinh(g (L - z)) / sinh(g L)``, or ``cosh`` of a dipole that points at the wall, with
    ``g^2 = kx^2 + ky^2 - k^2 (1 - j/Q)``. Fields from ``H = curl A``, ``E = (k^2 + grad div) A /
    (j k / eta)``.

    References
    ----------
    R. E. Collin, Field Theory of Guided Waves, Green's functions of a rectangular guide and cavity
    (from memory).
    """
    require_positive("quality factor", quality_factor)
    k_per_m = 2.0 * math.pi / wavelength_m(frequency_hz)
    wall, along = spot.wall, spot.along
    aside = 3 - wall - along
    depth_m = sides_m[wall]
    away_m = abs(source.at_m[wall] - spot.at_m[wall])
    waves = [
        _wave_numbers(sides_m[axis], away_m, cosine=source.axis == axis) for axis in (along, aside)
    ]
    kx, ky = np.meshgrid(*waves, indexing="ij")
    share = np.where(kx > 0.0, 2.0, 1.0) * np.where(ky > 0.0, 2.0, 1.0)
    share = share / (sides_m[along] * sides_m[aside])
    g = np.sqrt(kx**2 + ky**2 - k_per_m**2 * (1.0 - 1j / quality_factor))
    near, far = np.exp(-g * away_m), np.exp(-g * (2.0 * depth_m - away_m))
    round_trip = 1.0 - np.exp(-2.0 * g * depth_m)
    there = _at(kx, source, along, source.at_m[along]) * _at(ky, source, aside, source.at_m[aside])
    gather = collected(kx, spot.length_m) if spot.length_m else np.ones_like(kx)
    here, slope = (
        [wave(k, source, axis, spot.at_m[axis]) for k, axis in ((kx, along), (ky, aside))]
        for wave in (_at, _slope)
    )
    weight = share * there * gather

    def square(terms: FloatArray) -> float:
        return float(abs(np.sum(weight * terms)) ** 2)

    if source.axis == wall:
        decay = (near + far) / (g * round_trip)
        return SpotField(
            square(here[0] * slope[1] * decay),
            square(slope[0] * here[1] * decay),
            square((kx**2 + ky**2) * here[0] * here[1] * decay) / k_per_m**2,
        )
    decay = (near - far) / round_trip
    lies = 0 if source.axis == along else 1
    magnetic = square(here[0] * here[1] * decay)  # along the other axis of the wall
    normal = square(slope[lies] * here[1 - lies] * decay) / k_per_m**2
    return SpotField(magnetic * lies, magnetic * (1 - lies), normal)


def _wave_numbers(side_m: float, away_m: float, *, cosine: bool) -> FloatArray:
    highest = math.ceil(_SETTLED / max(away_m, 1e-9) * side_m / math.pi) + 1
    number = np.arange(0 if cosine else 1, min(highest, _MOST_WAVES) + 1, dtype=np.float64)
    return number * math.pi / side_m


def _at(k: FloatArray, source: SmallSource, axis: int, at_m: float) -> FloatArray:
    wave: FloatArray = np.cos(k * at_m) if source.axis == axis else np.sin(k * at_m)
    return wave


def _slope(k: FloatArray, source: SmallSource, axis: int, at_m: float) -> FloatArray:
    slope: FloatArray = -k * np.sin(k * at_m) if source.axis == axis else k * np.cos(k * at_m)
    return slope


def radiated_share(ports: Ports, field: SpotField, frequency_hz: float) -> float:
    """Return the power that an opening sends out over that of the same dipole in free space.

    Parameters
    ----------
    ports : Ports
        Of the opening.
    field : SpotField
        Of a current moment of 1 A m on the closed wall.
    frequency_hz : float
        Frequency [Hz].

    Returns
    -------
    float
        Ratio of powers at equal current [1].

    Notes
    -----
    A port takes ``c u / 4`` per square metre of ``port_area_m2`` from a field of energy density
    ``u``, of which each wall component is 2/3: ``(3/16) area eta |H|^2``. The dipole alone sends
    ``eta k^2 / (12 pi)``. Small round hole: ``(8 / 27 pi) eta k^4 r^6 |H|^2`` after Bethe.

    Examples
    --------
    >>> from linkbudget.physics.openings import opening_ports
    >>> k, r = 2 * math.pi / 0.3, 0.003
    >>> f = 299_792_458 / 0.3
    >>> out = radiated_share(opening_ports("round", 2 * r, 2 * r, f), SpotField(1.0, 0.0, 0.0), f)
    >>> round(out / (8 / (27 * math.pi) * k**4 * r**6 / (k**2 / (12 * math.pi))), 2)
    1.0
    """
    driven = ports.along * field.along + ports.across * field.aside + ports.normal * field.normal
    k_per_m = 2.0 * math.pi / wavelength_m(frequency_hz)
    return 3.0 / 16.0 * port_area_m2(frequency_hz) * driven * 12.0 * math.pi / k_per_m**2
