"""Slots and holes as small antennas: how much of a field on one side of a wall leaves on the other.

Each way in which an opening can be driven is a port between two equal half-spaces. It passes the
share ``R^2 / (R^2 + X^2)`` of what an antenna of its shape could take from the field: all at
resonance, the fourth power of frequency times the sixth power of length when it is small.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np

from linkbudget.core.decibels import FREE_SPACE_IMPEDANCE_OHM
from linkbudget.physics.propagation import wavelength_m
from linkbudget.physics.validity import require_positive

OpeningShape = Literal["slot", "round", "rectangle"]

_SLENDER = 0.5  # width over length

_POINTS, _WEIGHTS = np.polynomial.legendre.leggauss(96)


def strip_dipole_impedance_ohm(
    length_m: float, width_m: float, frequency_hz: float, half_waves: int = 1
) -> complex:
    """Return the self-impedance of a thin strip that carries a standing half-wave of current.

    Parameters
    ----------
    length_m, width_m : float
        Of the strip [m].
    frequency_hz : float
        Frequency [Hz]; the strip need not be resonant.
    half_waves : int
        Half-waves of current along the strip, at least one.

    Returns
    -------
    complex
        Impedance referred to the largest current [ohm].

    Notes
    -----
    Induced-EMF method with the current ``I(s) = sin(q pi s / L)`` and the strip as a wire of radius
    ``a = w / 4``. With its autocorrelation ``A(u)``::

        Z = j eta / (2 pi k) integral_0^L (k^2 A + A'') exp(-j k r) / r du,   r = sqrt(u^2 + a^2)

    ``u = a sinh t`` takes the peak at ``u = 0`` out of the integral.

    References
    ----------
    C. A. Balanis, Antenna Theory: Analysis and Design, integral equations and the induced EMF
    method, chapter 8 of the third edition; equivalent radius of a strip, table 9.3 (from memory).

    Examples
    --------
    >>> z = strip_dipole_impedance_ohm(0.5, 1e-6, 299_792_458.0)  # half a wavelength, thin
    >>> round(z.real, 1), round(z.imag, 1)
    (73.1, 42.5)
    """
    require_positive("length (m)", length_m)
    require_positive("width (m)", width_m)
    k_per_m = 2.0 * math.pi / wavelength_m(frequency_hz)
    radius_m = width_m / 4.0
    end = math.asinh(length_m / radius_m)
    t = (_POINTS + 1.0) * end / 2.0
    u, r = radius_m * np.sinh(t), radius_m * np.cosh(t)
    q_per_m = half_waves * math.pi / length_m
    cosine, sine = np.cos(q_per_m * u), np.sin(q_per_m * u)
    overlap = 0.5 * ((length_m - u) * cosine + sine / q_per_m)
    bend = 0.5 * q_per_m * sine - 0.5 * q_per_m**2 * (length_m - u) * cosine
    kernel = (k_per_m**2 * overlap + bend) * np.exp(-1j * k_per_m * r)
    integral = complex(np.sum(_WEIGHTS * kernel)) * end / 2.0
    return 1j * FREE_SPACE_IMPEDANCE_OHM / (2.0 * math.pi * k_per_m) * integral


def slot_impedance_ohm(length_m: float, width_m: float, frequency_hz: float) -> complex:
    """Return the impedance at the middle of a thin slot in a large sheet, open to both sides.

    Parameters
    ----------
    length_m, width_m : float
        Of the slot [m].
    frequency_hz : float
        Frequency [Hz].

    Returns
    -------
    complex
        ``eta^2 / (4 Z)`` with the impedance of the strip that fits the slot [ohm].

    References
    ----------
    H. G. Booker, Slot aerials and their relation to complementary wire aerials (Babinet's
    principle), Journal of the IEE 93, 1946 (from memory).
    """
    strip_ohm = strip_dipole_impedance_ohm(length_m, width_m, frequency_hz)
    return FREE_SPACE_IMPEDANCE_OHM**2 / (4.0 * strip_ohm)


def is_slot(shape: OpeningShape, length_m: float, width_m: float) -> bool:
    """Tell whether an opening acts as a slot; wider than half its length it is a hole."""
    return shape != "round" and width_m <= _SLENDER * length_m


@dataclass(frozen=True, slots=True)
class Ports:
    """What an opening passes of each field that can drive it.

    Parameters
    ----------
    along, across : float
        Of the magnetic field along its length and along its width [1]; above 1 where a long slot
        has several ports.
    normal : float
        Of the electric field across the wall [1].
    """

    along: float
    across: float
    normal: float


@lru_cache(maxsize=4096)
def opening_ports(
    shape: OpeningShape, length_m: float, width_m: float, frequency_hz: float
) -> Ports:
    """Return what an opening in a thin wall passes of each field that can drive it.

    Parameters
    ----------
    shape : {"slot", "round", "rectangle"}
    length_m, width_m : float
        Longest dimension and the other one, both the diameter for a round hole [m].
    frequency_hz : float
        Frequency [Hz].

    Returns
    -------
    Ports

    Notes
    -----
    Slot: ``sum R^2 / (R^2 + X^2)`` over the standing waves of ``strip_dipole_impedance_ohm``, as
    many as fit and one more. Hole: ``X / R = (1 - x^2) / (2 p k^3 / (3 pi))`` with the
    polarisability ``p`` of each axis and ``x = 2 L / wavelength``; the first factor is the
    resonance at about half a wavelength, which the expansion of a round hole confirms,
    ``1 + 0.44 (k r)^2`` on the field against ``x^2 = 0.41 (k r)^2``.

    References
    ----------
    H. A. Bethe, Theory of Diffraction by Small Holes, Physical Review 66, 1944; C. J. Bouwkamp,
    Diffraction Theory, Reports on Progress in Physics 17, 1954 (both from memory).
    """
    require_positive("opening length (m)", length_m)
    require_positive("opening width (m)", width_m)
    wavelength = wavelength_m(frequency_hz)
    if is_slot(shape, length_m, width_m):
        highest = math.floor(2.0 * length_m / wavelength) + 1
        shares = (
            _share(strip_dipole_impedance_ohm(length_m, width_m, frequency_hz, half_waves))
            for half_waves in range(1, highest + 1)
        )
        return Ports(sum(shares), 0.0, 0.0)
    magnetic_m3, electric_m3 = hole_polarisability_m3(shape, length_m, width_m)
    detuned = 1.0 - (2.0 * length_m / wavelength) ** 2
    cube = (2.0 * math.pi / wavelength) ** 3
    driven, pushed = (2.0 * p * cube / (3.0 * math.pi) for p in (magnetic_m3, electric_m3))
    magnetic = _share(complex(driven, detuned))
    return Ports(magnetic, magnetic, _share(complex(pushed, detuned)))


def _share(impedance: complex) -> float:
    return impedance.real**2 / abs(impedance) ** 2


def hole_polarisability_m3(
    shape: OpeningShape, length_m: float, width_m: float
) -> tuple[float, float]:
    """Return the magnetic (each axis) and the electric polarisability of a hole.

    Parameters
    ----------
    shape : {"round", "rectangle", "slot"}
    length_m, width_m : float
        Sides, or twice the diameter [m].

    Returns
    -------
    tuple of float
        ``4 r^3 / 3`` and ``2 r^3 / 3`` of a round hole; 0.259 and 0.113 times the cube of the side
        of a square one, with the sides multiplied where they differ somewhat [m3].

    References
    ----------
    H. A. Bethe, Theory of Diffraction by Small Holes, Physical Review 66, 1944; S. B. Cohn,
    measurements of polarisability in an electrolytic tank, Proceedings of the IRE 39 and 40, 1951
    and 1952 (both from memory).
    """
    if shape == "round":
        return length_m**3 / 6.0, length_m**3 / 12.0
    return 0.259 * length_m**2 * width_m, 0.113 * length_m * width_m**2


def port_area_m2(frequency_hz: float) -> float:
    """Return what one port takes from a diffuse field when it passes all [m2].

    Notes
    -----
    ``wavelength^2 / (2 pi)``, as an area that swallows all that falls on it: an antenna in a wall
    has ``wavelength^2 / (4 pi)`` of one polarisation averaged over the whole sphere, and only the
    half-space before the wall sends.

    Examples
    --------
    >>> round(port_area_m2(2.44e9) * 1e4, 1)  # cm2
    24.0
    """
    return wavelength_m(frequency_hz) ** 2 / (2.0 * math.pi)


def normal_cross_section_m2(
    shape: OpeningShape, length_m: float, width_m: float, frequency_hz: float
) -> float:
    """Return the transmission cross-section of an opening for a plane wave at normal incidence.

    Parameters
    ----------
    shape : {"slot", "round", "rectangle"}
    length_m, width_m : float
        Longest dimension and the other one, both the diameter for a round hole [m].
    frequency_hz : float
        Frequency [Hz].

    Returns
    -------
    float
        Power that leaves on the far side over the incident power density, magnetic field along the
        opening [m2].

    Notes
    -----
    A small opening is a magnetic dipole over a wall: gain 3 against ``3/2`` in free space, hence
    ``3 wavelength^2 / (4 pi)`` at resonance; a slot's half-wave has 2 times 1.64.

    Examples
    --------
    >>> k, radius_m = 2 * math.pi / 0.3, 0.003  # Bethe: 64 k^4 r^6 / (27 pi)
    >>> bethe_m2 = 64 * k**4 * radius_m**6 / (27 * math.pi)
    >>> area_m2 = normal_cross_section_m2("round", 2 * radius_m, 2 * radius_m, 299_792_458 / 0.3)
    >>> round(area_m2 / bethe_m2, 2)
    1.0
    """
    wavelength = wavelength_m(frequency_hz)
    if not is_slot(shape, length_m, width_m):
        share = opening_ports(shape, length_m, width_m, frequency_hz).along
        return 3.0 * wavelength**2 / (4.0 * math.pi) * share
    strip_ohm = strip_dipole_impedance_ohm(length_m, width_m, frequency_hz)
    effective_m = 2.0 * length_m / math.pi  # mean of the half-wave of voltage along the slot
    # V = he 2 H / (2 Y), P = |V|^2 G / 2 with Y = 2 Z / eta^2 on each side, over eta H^2 / 2
    return effective_m**2 * FREE_SPACE_IMPEDANCE_OHM * strip_ohm.real / (2.0 * abs(strip_ohm) ** 2)
