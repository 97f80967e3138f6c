"""Antennas: mismatch, polarisation, and a half-wave dipole over a conducting plane."""

from __future__ import annotations

import math

from linkbudget.core.decibels import FREE_SPACE_IMPEDANCE_OHM
from linkbudget.core.errors import InputError
from linkbudget.physics.propagation import wavelength_m
from linkbudget.physics.special_functions import sine_cosine_integrals
from linkbudget.physics.validity import require_positive, require_within

LARGEST_POLARISATION_ANGLE_DEG = 80.0

_ETA_OVER_4PI_OHM = FREE_SPACE_IMPEDANCE_OHM / (4.0 * math.pi)
_CIN_2PI = 2.437653393057  # Cin(2 pi) = euler gamma + ln(2 pi) - Ci(2 pi)

HALF_WAVE_RESISTANCE_OHM = _ETA_OVER_4PI_OHM * _CIN_2PI
"""Radiation resistance of a thin half-wave dipole in free space, 73.08 ohm [ohm].

Books print 73.13 with an impedance of space of 120 pi ohm instead of 376.73 ohm.
"""


def mismatch_loss_db(return_loss_db: float) -> float:
    """Return the power lost to reflection at a mismatched port.

    Parameters
    ----------
    return_loss_db : float
        Return loss, ``-20 log10 |S11|``, greater than zero [dB].

    Returns
    -------
    float
        Mismatch loss ``-10 log10(1 - |S11|^2)`` [dB].

    Raises
    ------
    InputError
        Where the return loss is zero or negative: no power would enter at all.

    Notes
    -----
    For a source that is itself matched to the reference impedance.

    Examples
    --------
    >>> round(mismatch_loss_db(10.0), 2)
    0.46
    """
    if not return_loss_db > 0.0:
        raise InputError(
            f"return loss (dB) {return_loss_db:g}",
            "a number greater than zero",
            "Return loss is written positive: |S11| of -10 dB is a return loss of 10 dB.",
        )
    return -10.0 * math.log10(-math.expm1(-return_loss_db / 10.0 * math.log(10.0)))


def polarisation_loss_db(angle_deg: float) -> float:
    """Return the loss between two linear polarisations at an angle.

    Parameters
    ----------
    angle_deg : float
        Angle between the two, at most 80 either way [deg].

    Returns
    -------
    float
        ``-20 log10(cos angle)`` [dB].

    Raises
    ------
    OutOfRange
        Beyond 80 degrees (15.2 dB): there the antennas' own cross-polarisation decides, and the
        formula runs to infinity.

    Examples
    --------
    >>> round(polarisation_loss_db(45.0), 2)
    3.01
    """
    limit = LARGEST_POLARISATION_ANGLE_DEG
    mend = "Near crossed polarisation, state the loss in dB instead of the angle."
    require_within("polarisation angle (deg)", angle_deg, -limit, limit, mend)
    return max(0.0, -20.0 * math.log10(math.cos(math.radians(angle_deg))))


def half_wave_mutual_impedance_ohm(spacing_m: float, frequency_hz: float) -> complex:
    """Return the mutual impedance of two thin half-wave dipoles side by side.

    Parameters
    ----------
    spacing_m : float
        Distance between the two parallel dipoles, greater than zero [m].
    frequency_hz : float
        Frequency at which they are half a wavelength long [Hz].

    Returns
    -------
    complex
        Mutual impedance, referred to the current maximum at the feed [ohm].

    Raises
    ------
    InputError
        Where an input is not greater than zero.

    Notes
    -----
    Sinusoidal current, thin wire, no height offset. With ``k = 2 pi / wavelength``::

        R =  eta/(4 pi) [2 Ci(u0) - Ci(u1) - Ci(u2)]
        X = -eta/(4 pi) [2 Si(u0) - Si(u1) - Si(u2)]
        u0 = k d    u1 = k (sqrt(d^2 + l^2) + l)    u2 = k (sqrt(d^2 + l^2) - l)    l = wavelength/2

    References
    ----------
    C. A. Balanis, Antenna Theory: Analysis and Design, mutual impedance of side-by-side half-wave
    dipoles, equations 8-71 and following of the third edition (from memory).

    Examples
    --------
    >>> z = half_wave_mutual_impedance_ohm(0.5, 299_792_458.0)  # half a wavelength apart
    >>> round(z.real, 1), round(z.imag, 1)
    (-12.5, -29.9)
    """
    require_positive("spacing (m)", spacing_m)
    k_per_m = 2.0 * math.pi / wavelength_m(frequency_hz)
    length_m = wavelength_m(frequency_hz) / 2.0
    diagonal_m = math.hypot(spacing_m, length_m)
    si_0, ci_0 = sine_cosine_integrals(k_per_m * spacing_m)
    si_1, ci_1 = sine_cosine_integrals(k_per_m * (diagonal_m + length_m))
    # diagonal - length, written so that nothing cancels at small spacing
    si_2, ci_2 = sine_cosine_integrals(k_per_m * spacing_m**2 / (diagonal_m + length_m))
    resistance = _ETA_OVER_4PI_OHM * (2.0 * ci_0 - ci_1 - ci_2)
    reactance = -_ETA_OVER_4PI_OHM * (2.0 * si_0 - si_1 - si_2)
    return complex(resistance, reactance)


def image_impedance_ohm(height_m: float, frequency_hz: float) -> complex:
    """Return the feed impedance of a half-wave dipole parallel to a large conducting plane.

    Parameters
    ----------
    height_m : float
        Distance from the plane to the dipole [m].
    frequency_hz : float
        Frequency at which the dipole is half a wavelength long [Hz].

    Returns
    -------
    complex
        Feed impedance [ohm].

    Raises
    ------
    InputError
        Where an input is not greater than zero.

    Notes
    -----
    The plane acts as a second dipole with reversed current, twice the height away:
    ``Z = Z11 - Z12(2 h)``. The dipole is taken as resonant in free space, as a real one is cut or
    matched: ``Z11`` is its resistance, 73.08 ohm, and its own 42.5 ohm of reactance counts as
    matched out. Near the plane ``R`` falls with the square of the height, within 3 % as for a
    short dipole: ``R / R0 = u^2 / 5`` with ``u = 2 k h``. Perfect conductor, plane larger than
    about a wavelength; ohmic loss is not in it.

    References
    ----------
    C. A. Balanis, Antenna Theory: Analysis and Design, image theory and mutual impedance (from
    memory).

    Examples
    --------
    >>> round(image_impedance_ohm(0.012, 2.44e9).real)
    21
    """
    mutual = half_wave_mutual_impedance_ohm(2.0 * height_m, frequency_hz)
    return HALF_WAVE_RESISTANCE_OHM - mutual


def source_mismatch_loss_db(impedance_ohm: complex, source_impedance_ohm: complex) -> float:
    """Return the loss against a conjugate match between a source and a load.

    Parameters
    ----------
    impedance_ohm : complex
        Load, such as the antenna where it stands [ohm]; its resistance greater than zero.
    source_impedance_ohm : complex
        Source [ohm]; its resistance greater than zero.

    Returns
    -------
    float
        ``-10 log10(4 R Rs / |Z + Zs|^2)`` [dB], zero at conjugate match.

    Raises
    ------
    InputError
        Where a resistance is not greater than zero.

    Examples
    --------
    >>> round(source_mismatch_loss_db(3.77 - 5.54j, 71.92), 2)
    7.25
    """
    load, source = complex(impedance_ohm), complex(source_impedance_ohm)
    require_positive("load resistance (ohm)", load.real)
    require_positive("source resistance (ohm)", source.real)
    taken = 4.0 * load.real * source.real / abs(load + source) ** 2
    return max(0.0, -10.0 * math.log10(taken))
