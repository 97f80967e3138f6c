"""Plastic beside an antenna: how far it lowers the resonance, and what that costs untuned."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from linkbudget.core.decibels import FloatArray, db_from_power_ratio, power_ratio_from_db
from linkbudget.core.quantity import Quantity
from linkbudget.core.sources import Source
from linkbudget.core.tables import load_sourced_rows
from linkbudget.physics.propagation import wavelength_m
from linkbudget.physics.validity import require_positive, require_within

LARGEST_PERMITTIVITY = 12.0
FURTHEST = 0.25
"""Far face of a part, from the antenna, up to which the quasi-static form holds [wavelengths]."""

_IMAGES = 200  # the last one weighs (11/13)^400 at the largest permittivity
_POINTS = 21  # over the band


@dataclass(frozen=True, slots=True)
class PlasticRow:
    """One plastic of the shipped table.

    Parameters
    ----------
    name : str
    permittivity, low, high : float
        Relative permittivity near 1 GHz: typical, and the range of grades [1].
    source : Source
    """

    name: str
    permittivity: float
    low: float
    high: float
    source: Source


@dataclass(frozen=True, slots=True)
class PlasticPart:
    """A plastic part beside the product's antenna, which was tuned without it.

    Parameters
    ----------
    name : str
        As the budget calls it.
    permittivity : Quantity
        Relative; its band is that of the grades [1].
    thickness_m, gap_m : float
        Of the part, and from the antenna to its near face [m].
    """

    name: str
    permittivity: Quantity
    thickness_m: float
    gap_m: float


@cache
def plastics() -> dict[str, PlasticRow]:
    """Return the plastics of the shipped table by name.

    Examples
    --------
    >>> plastics()["ABS"].permittivity
    2.8
    """
    return {
        row.cells["name"]: PlasticRow(
            row.cells["name"],
            row.number("permittivity"),
            row.number("low"),
            row.number("high"),
            row.source,
        )
        for row in load_sourced_rows("materials/plastics.csv")
    }


def plastic_names() -> tuple[str, ...]:
    """Return the names of all plastics in the shipped table, in its order."""
    return tuple(plastics())


def effective_permittivity(
    permittivity: float,
    thickness_m: float,
    gap_m: float,
    frequency_hz: float,
    conductor_radius_m: float,
) -> float:
    """Return the relative permittivity that a thin conductor feels beside a plastic wall.

    Parameters
    ----------
    permittivity : float
        Of the plastic, relative, 1 to 12 [1].
    thickness_m : float
        Of the wall [m], zero or more.
    gap_m : float
        From the conductor's surface to the wall [m], zero or more.
    frequency_hz : float
        Resonance of the conductor without the wall [Hz].
    conductor_radius_m : float
        A quarter of the width for a flat strip [m].

    Returns
    -------
    float
        From 1, without a wall, to ``(permittivity + 1) / 2`` on a thick one.

    Raises
    ------
    InputError, OutOfRange
        Where an input is not physical, or the far face lies beyond a quarter wavelength.

    Notes
    -----
    Quasi-static: the charge on the conductor varies as ``cos(k z)`` with ``k = 2 pi/wavelength``,
    whose potential at the distance d is ``K0(k d)``. A wall answers with images: with
    ``p = (er - 1)/(er + 1)`` and ``d_n = 2 gap + a + 2 n thickness``::

        S = p K0(k d_0) - (1 - p^2) sum over n >= 1 of p^(2n-1) K0(k d_n)
        e = K0(k a) / (K0(k a) - S)

    The wall is wider than a quarter wavelength (a smaller part does less), lossless, and on one
    side. Counting the gap from the surface makes a strip on a thick wall come out exactly.

    References
    ----------
    W. R. Smythe, Static and Dynamic Electricity, images of a line charge in a dielectric slab (from
    memory); M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 9.6 (K0).

    Examples
    --------
    >>> round(effective_permittivity(2.8, 0.002, 0.001, 2.44e9, 0.00025), 2)
    1.13
    """
    require_positive("frequency (Hz)", frequency_hz)
    require_positive("radius of the conductor (m)", conductor_radius_m)
    require_within("relative permittivity", permittivity, 1.0, LARGEST_PERMITTIVITY)
    furthest_m = FURTHEST * wavelength_m(frequency_hz)
    require_within("thickness (m)", thickness_m, 0.0, furthest_m)
    require_within("gap to the antenna (m)", gap_m, 0.0, furthest_m - thickness_m)
    k_per_m = 2.0 * math.pi / wavelength_m(frequency_hz)
    p = (permittivity - 1.0) / (permittivity + 1.0)
    n = np.arange(1, _IMAGES + 1)
    first_m = 2.0 * gap_m + conductor_radius_m
    far = p ** (2 * n - 1) * bessel_k0(k_per_m * (first_m + 2.0 * n * thickness_m))
    images = p * float(bessel_k0(k_per_m * first_m)) - (1.0 - p**2) * float(far.sum())
    alone = float(bessel_k0(k_per_m * conductor_radius_m))
    return max(1.0, alone / (alone - images))


def bessel_k0(x: ArrayLike) -> FloatArray:
    """Return the modified Bessel function K0.

    Parameters
    ----------
    x : float or array
        Argument, above 1e-6 [1].

    Returns
    -------
    array, of the shape of `x`
        Within 1e-9 of the value [1].

    Notes
    -----
    ``K0(x) = integral over t >= 0 of exp(-x cosh t)`` by the trapezoidal rule, whose error falls
    exponentially for so smooth an integrand; a library would take longer to load.

    References
    ----------
    M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, equation 9.6.24 (from memory).

    Examples
    --------
    >>> round(float(bessel_k0(1.0)), 6)
    0.421024
    """
    t, step = np.linspace(0.0, 18.0, 181, retstep=True)
    parts = np.exp(-np.multiply.outer(np.asarray(x, dtype=float), np.cosh(t)))
    integral: FloatArray = (parts.sum(axis=-1) - parts[..., 0] / 2.0) * step
    return integral


def lowered_resonance(effective: Iterable[float], weight: float = 1.0) -> float:
    """Return the resonance with plastic parts over that without.

    Parameters
    ----------
    effective : iterable of float
        Effective permittivity of each part alone [1].
    weight : float
        Factor on what the parts add to a permittivity of 1.

    Returns
    -------
    float
        ``1 / sqrt(1 + weight sum(e - 1))``, 1 without parts [1].

    Notes
    -----
    What the parts add is summed: with thick walls on both sides of a strip this is full embedding,
    ``1 / sqrt(er)``.

    Examples
    --------
    >>> lowered_resonance([2.5, 2.5])  # a strip between two thick walls of permittivity 4
    0.5
    """
    return 1.0 / math.sqrt(1.0 + weight * sum(each - 1.0 for each in effective))


def most_quality_factor(return_loss_db: float, low_hz: float, high_hz: float) -> float:
    """Return the largest quality factor with which an antenna keeps a return loss over a band.

    Parameters
    ----------
    return_loss_db : float
        Worst in the band, greater than zero [dB].
    low_hz, high_hz : float
        Ends of the band [Hz].

    Returns
    -------
    float
        ``f/B 2 g / sqrt(1 - g^2)`` with the reflection ``g`` at both ends; infinite for a single
        frequency [1].

    Notes
    -----
    Single-tuned, matched at its resonance; one that is better than that at the ends has less.

    References
    ----------
    A. D. Yaghjian, S. R. Best, Impedance, bandwidth, and Q of antennas, IEEE Transactions on
    Antennas and Propagation, 2005, matched bandwidth ``(s - 1) / (Q sqrt(s))`` (from memory); with
    ``s = (1 + g) / (1 - g)`` it is the same.

    Examples
    --------
    >>> round(most_quality_factor(10.0, 2.4e9, 2.5e9), 1)
    16.3
    """
    require_positive("return loss (dB)", return_loss_db)
    if high_hz <= low_hz:
        return math.inf
    reflected = power_ratio_from_db(-return_loss_db)
    at_ends = 2.0 * math.sqrt(reflected / (1.0 - reflected))
    return at_ends * math.sqrt(low_hz * high_hz) / (high_hz - low_hz)


def detuned_loss_db(low_hz: float, high_hz: float, lowered: float, quality_factor: float) -> float:
    """Return the mismatch that a lowered resonance adds, mean over a band.

    Parameters
    ----------
    low_hz, high_hz : float
        Ends of the band, in whose middle the antenna was tuned [Hz].
    lowered : float
        Resonance now over resonance then, above 0 [1].
    quality_factor : float
        Unloaded, of the antenna matched at its resonance [1].

    Returns
    -------
    float
        Loss [dB], zero or more; the antenna is not tuned again.

    Notes
    -----
    Accepted power of a single-tuned resonator: ``1 - |g|^2 = 1 / (1 + x^2/4)`` with
    ``x = Q (f/f0 - f0/f)``, about ``2 Q df/f``; the ratio of its means over the band without and
    with the plastic.

    References
    ----------
    D. M. Pozar, Microwave Engineering, series resonant circuit near resonance (from memory).

    Examples
    --------
    >>> round(detuned_loss_db(2.44e9, 2.44e9, 1 - 150 / 2440, 12.0), 1)
    2.0
    """
    require_positive("resonance with plastic over that without", lowered)
    require_positive("quality factor", quality_factor)
    middles = (np.arange(_POINTS) + 0.5) / _POINTS
    frequency_hz = low_hz + middles * (high_hz - low_hz)
    tuned_hz = math.sqrt(low_hz * high_hz)

    def accepted(resonance_hz: float) -> float:
        ratio = frequency_hz / resonance_hz
        return float(np.mean(1.0 / (1.0 + (quality_factor * (ratio - 1.0 / ratio)) ** 2 / 4.0)))

    return max(0.0, db_from_power_ratio(accepted(tuned_hz) / accepted(tuned_hz * lowered)))
