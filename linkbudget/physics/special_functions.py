"""Functions of mathematics that the metal needs on every run.

Written out, since the library that holds them takes longer to load than a whole comparison of the
metal; the tests hold them against it.
"""

from __future__ import annotations

import cmath
import math

from linkbudget.physics.validity import require_positive

EULER_GAMMA = 0.5772156649015329
_SERIES_UP_TO, _SERIES_TERMS, _FRACTION_TERMS = 4.0, 40, 80
_ASYMPTOTIC_FROM = 10.0


def sine_cosine_integrals(x: float) -> tuple[float, float]:
    """Return the sine and the cosine integral, Si and Ci.

    Parameters
    ----------
    x : float
        Argument, greater than zero [1].

    Returns
    -------
    tuple of float
        ``Si(x)``, ``Ci(x)`` [1], within 1e-14.

    Notes
    -----
    Up to 4 the series; beyond, the continued fraction of ``E1(jx) = -Ci(x) + j (Si(x) - pi/2)``,
    taken from its far end.

    References
    ----------
    M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, equations 5.1.22, 5.2.14,
    5.2.16 and 5.2.21 (from memory).

    Examples
    --------
    >>> [round(value, 4) for value in sine_cosine_integrals(1.0)]
    [0.9461, 0.3374]
    """
    require_positive("argument of the sine integral", x)
    if x <= _SERIES_UP_TO:
        term, total = 1.0 + 0.0j, 0.0 + 0.0j
        for n in range(1, _SERIES_TERMS):
            term *= 1j * x / n
            total += term / n  # even powers are Ci, odd ones Si
        return total.imag, EULER_GAMMA + math.log(x) + total.real
    z = complex(0.0, x)
    fraction = z + (2 * _FRACTION_TERMS + 1)
    for n in range(_FRACTION_TERMS, 0, -1):
        fraction = z + (2 * n - 1) - n * n / fraction
    e1 = cmath.exp(-z) / fraction
    return math.pi / 2.0 + e1.imag, -e1.real


def digamma(x: float) -> float:
    """Return the logarithmic derivative of the gamma function.

    Parameters
    ----------
    x : float
        Argument, greater than zero [1].

    Returns
    -------
    float
        ``psi(x)`` [1], within 1e-13.

    Notes
    -----
    ``psi(x) = psi(x + 1) - 1 / x`` up to 10, then the asymptotic series.

    References
    ----------
    M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, equations 6.3.5 and 6.3.18
    (from memory).

    Examples
    --------
    >>> round(digamma(1.0), 6)  # Euler's constant, negative
    -0.577216
    """
    require_positive("argument of the digamma function", x)
    below = 0.0
    while x < _ASYMPTOTIC_FROM:
        below += 1.0 / x
        x += 1.0
    y = 1.0 / x**2
    series = y * (1 / 12 - y * (1 / 120 - y * (1 / 252 - y * (1 / 240 - y * (1 / 132)))))
    return math.log(x) - 0.5 / x - series - below
