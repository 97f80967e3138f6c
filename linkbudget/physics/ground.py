"""Over a flat ground, a floor or a desk: direct ray, reflection, and the wave along the surface."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, overload

import numpy as np
from numpy.typing import NDArray

from linkbudget.core.decibels import FloatArray
from linkbudget.physics.arrays import float_or_array, require_all_within
from linkbudget.physics.dielectrics import Dielectric
from linkbudget.physics.propagation import wavelength_m
from linkbudget.physics.validity import require_positive, require_within

AntennaPolarisation = Literal["horizontal", "vertical"]
ComplexArray = NDArray[np.complex128]

_LEAST_CONTRAST = 0.8  # of the complex permittivity against air: less is no ground


@dataclass(frozen=True, slots=True)
class OverGround:
    """Two antennas over a flat ground.

    Parameters
    ----------
    height_m, far_height_m : float
        Of each antenna above the reflecting surface [m].
    ground : Dielectric
        The surface, taken as endless and deep.
    polarisation : {"horizontal", "vertical"}
        Of the field with respect to the surface.
    """

    height_m: float
    far_height_m: float
    ground: Dielectric
    polarisation: AntennaPolarisation

    def __post_init__(self) -> None:
        """Refuse heights that no antenna has."""
        require_positive("antenna height (m)", self.height_m)
        require_positive("far antenna height (m)", self.far_height_m)


def reflection_coefficient(
    frequency_hz: float,
    grazing_rad: float | FloatArray,
    ground: Dielectric,
    polarisation: AntennaPolarisation,
) -> ComplexArray:
    """Return what a flat ground reflects of a plane wave, as a share of the field.

    Parameters
    ----------
    frequency_hz : float
        Frequency [Hz].
    grazing_rad : float or array of any shape
        Angle between the ray and the surface, 0 to pi/2 [rad].
    ground : Dielectric
    polarisation : {"horizontal", "vertical"}

    Returns
    -------
    array of the same shape
        Complex reflection coefficient [1]: -1 at grazing incidence. The sign of "vertical" is that
        of the component upright to the ground, so a perfect conductor gives +1.

    Raises
    ------
    OutOfRange
        An angle outside 0 to pi/2; a ground that hardly differs from air.

    Notes
    -----
    ``(sin psi - z) / (sin psi + z)``; for horizontal ``z = sqrt(eta - cos^2 psi)``, eta the complex
    permittivity, for vertical that over eta.

    References
    ----------
    A. Fresnel; J. D. Parsons, The Mobile Radio Propagation Channel, propagation over a reflecting
    surface (from memory).
    """
    psi = np.asarray(grazing_rad, dtype=float)
    require_all_within("grazing angle (rad)", psi, 0.0, math.pi / 2.0)
    impedance = _surface_impedance(frequency_hz, psi, ground, polarisation)
    coefficient: ComplexArray = (np.sin(psi) - impedance) / (np.sin(psi) + impedance)
    return coefficient


def break_distance_m(frequency_hz: float, height_m: float, far_height_m: float) -> float:
    """Return where the two rays cease to go in and out of step.

    Parameters
    ----------
    frequency_hz : float
        Frequency [Hz].
    height_m, far_height_m : float
        Heights of the antennas above the ground [m].

    Returns
    -------
    float
        ``4 h1 h2 / wavelength``, where the reflected ray is half a wavelength longer [m].

    Examples
    --------
    >>> round(break_distance_m(2.44e9, 1.5, 1.5), 1)
    73.3
    """
    require_positive("antenna height (m)", height_m)
    require_positive("far antenna height (m)", far_height_m)
    return 4.0 * height_m * far_height_m / wavelength_m(frequency_hz)


@overload
def two_ray_loss_db(
    frequency_hz: float, distance_m: float, over: OverGround, height_spread: float = 0.0
) -> float: ...
@overload
def two_ray_loss_db(
    frequency_hz: float, distance_m: FloatArray, over: OverGround, height_spread: float = 0.0
) -> FloatArray: ...
def two_ray_loss_db(
    frequency_hz: float,
    distance_m: float | FloatArray,
    over: OverGround,
    height_spread: float = 0.0,
) -> float | FloatArray:
    """Return the loss between isotropic antennas over a flat ground.

    Parameters
    ----------
    frequency_hz : float
        Frequency [Hz].
    distance_m : float or array of any shape
        Distance along the ground [m].
    over : OverGround
        Heights, ground and polarisation.
    height_spread : float
        Relative standard deviation of the product of the heights, 0 to 0.5 [1]. At 0 the fades and
        peaks stand where the heights put them; else the power is averaged over heights that are
        known only so well, which near by leaves the power sum of both rays.

    Returns
    -------
    float or array of the same shape
        Transmission loss [dB]; less than in free space where the rays add.

    Raises
    ------
    OutOfRange
        A direct ray shorter than a wavelength; a spread out of range; a ground that hardly differs
        from air.

    Notes
    -----
    ``E = exp(-j k r1) / r1 + (G + (1 - G) F cos^2 psi) exp(-j k r2) / r2`` with the Fresnel
    coefficient G and Norton's attenuation F of the wave along the surface (without ``cos^2 psi``
    for horizontal), and ``L = -20 log10(|E| wavelength / 4 pi)``. F counts for antennas lower than
    a wavelength alone: 5 mm over a desk at 2.44 GHz two rays would lose 12 dB too much. Against
    Sommerfeld's integrals 0.3 dB from 20 wavelengths on, about 1 dB from 8 on.

    With a spread s the cross term of ``|E|^2`` is lessened by ``exp(-(s k (r2 - r1))^2 / 2)``.

    The ground is flat, smooth to ``wavelength / (8 sin psi)``, endless and deep: a desk must reach
    beyond the point of reflection. The patterns of the antennas, and what a surface within a
    sixth of a wavelength does to their match, are the caller's.

    References
    ----------
    J. D. Parsons, The Mobile Radio Propagation Channel, propagation over a reflecting surface;
    K. A. Norton, The calculation of ground-wave field intensity over a finitely conducting
    spherical earth, Proc. IRE 1941, plane earth (both from memory).

    Examples
    --------
    >>> over = OverGround(1.5, 1.5, Dielectric(15.0, 0.1), "vertical")
    >>> round(two_ray_loss_db(2.44e9, 300.0, over), 1)
    92.6
    """
    d = np.asarray(distance_m, dtype=float)
    wavelength = wavelength_m(frequency_hz)
    direct_m = np.hypot(d, over.height_m - over.far_height_m)
    require_within("relative spread of the heights", height_spread, 0.0, 0.5)
    require_all_within("distance along the ground (m)", d, 0.0, math.inf)
    require_all_within(
        "direct ray (m)", direct_m, wavelength, math.inf, "Nearer, rays do not describe the field."
    )
    wave_number = 2.0 * math.pi / wavelength
    reflected_m = np.hypot(d, over.height_m + over.far_height_m)
    longer_m = 4.0 * over.height_m * over.far_height_m / (direct_m + reflected_m)
    second = _from_the_ground(frequency_hz, d, reflected_m, over) * direct_m / reflected_m
    steady = np.square(np.abs(1.0 + second * np.exp(-1j * wave_number * longer_m)))
    averaged = 1.0 + np.square(np.abs(second))
    blurred = -np.expm1(-np.square(height_spread * wave_number * longer_m) / 2.0)
    power = steady + blurred * (averaged - steady)  # against the direct ray alone
    free_db = 20.0 * np.log10(2.0 * wave_number * direct_m)
    return float_or_array(free_db - 10.0 * np.log10(power))


@overload
def two_ray_far_loss_db(
    frequency_hz: float, distance_m: float, height_m: float, far_height_m: float
) -> float: ...
@overload
def two_ray_far_loss_db(
    frequency_hz: float, distance_m: FloatArray, height_m: float, far_height_m: float
) -> FloatArray: ...
def two_ray_far_loss_db(
    frequency_hz: float, distance_m: float | FloatArray, height_m: float, far_height_m: float
) -> float | FloatArray:
    """Return the loss over a flat ground far beyond the break distance, whatever the ground.

    Parameters
    ----------
    frequency_hz : float
        Frequency, for the range alone: the law does not depend on it [Hz].
    distance_m : float or array of any shape
        Distance along the ground, from the break distance on [m].
    height_m, far_height_m : float
        Heights of the antennas, a wavelength or more [m].

    Returns
    -------
    float or array of the same shape
        Transmission loss between isotropic antennas [dB].

    Raises
    ------
    OutOfRange
        Nearer than the break distance, or lower than a wavelength.

    Notes
    -----
    ``L = 40 log10(d) - 20 log10(h1 h2)``. Against both rays over a perfect reflector it is 3.9 dB
    too little at the break distance and 0.4 dB too little at three times that.

    References
    ----------
    J. D. Parsons, The Mobile Radio Propagation Channel, plane earth propagation equation (from
    memory).

    Examples
    --------
    >>> round(two_ray_far_loss_db(2.44e9, 300.0, 1.5, 1.5), 1)
    92.0
    """
    d = np.asarray(distance_m, dtype=float)
    least_m = break_distance_m(frequency_hz, height_m, far_height_m)
    for name, height in (
        ("antenna height (m)", height_m),
        ("far antenna height (m)", far_height_m),
    ):
        require_within(name, height, wavelength_m(frequency_hz), math.inf)
    require_all_within("distance (m)", d, least_m, math.inf, "Nearer, both rays must be added.")
    loss_db = 40.0 * np.log10(d) - 20.0 * math.log10(height_m * far_height_m)
    return float_or_array(np.asarray(loss_db))


def _surface_impedance(
    frequency_hz: float,
    psi: FloatArray,
    ground: Dielectric,
    polarisation: AntennaPolarisation,
) -> ComplexArray:
    """Return the impedance that the wave meets (its inverse for horizontal), over that of air."""
    eta = ground.complex_permittivity(frequency_hz)
    require_within(
        "difference of the ground's complex permittivity from that of air",
        abs(eta - 1.0),
        _LEAST_CONTRAST,
        math.inf,
        "A ground so light reflects next to nothing: use free space.",
    )
    root = np.sqrt(eta - np.square(np.cos(psi)))
    impedance: ComplexArray = root / eta if polarisation == "vertical" else root
    return impedance


def _from_the_ground(
    frequency_hz: float, distance_m: FloatArray, reflected_m: FloatArray, over: OverGround
) -> ComplexArray:
    """Return reflected ray and surface wave together, over an undisturbed ray of that length."""
    from scipy.special import wofz

    sine = (over.height_m + over.far_height_m) / reflected_m
    cosine = distance_m / reflected_m
    psi = np.arctan2(sine, cosine)
    mirror = reflection_coefficient(frequency_hz, psi, over.ground, over.polarisation)
    impedance = _surface_impedance(frequency_hz, psi, over.ground, over.polarisation)
    wave_number = 2.0 * math.pi / wavelength_m(frequency_hz)
    numerical = -0.5j * wave_number * reflected_m * np.square(sine + impedance)
    # exp(-w) erfc(j sqrt w) is the Faddeeva function of -sqrt w, which does not overflow
    along = 1.0 - 1j * np.sqrt(np.pi * numerical) * wofz(-np.sqrt(numerical))
    upright = np.square(cosine) if over.polarisation == "vertical" else 1.0
    together: ComplexArray = mirror + (1.0 - mirror) * along * upright
    return together
