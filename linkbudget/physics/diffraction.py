"""One edge in the way: a cabinet, a screen or a body as a knife edge, ITU-R P.526."""

from __future__ import annotations

import math
from typing import overload

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.physics.arrays import float_or_array, require_all_within
from linkbudget.physics.propagation import wavelength_m
from linkbudget.physics.validity import require_within

LEAST_PARAMETER = -0.78
"""Where the approximation of the loss has fallen to zero; the edge is clear of the path."""

LARGEST_BEND_RAD = 0.5
"""Sharper ways round an edge are not those of a knife edge."""


def diffraction_parameter(
    frequency_hz: float, height_m: float, distance_m: float, far_distance_m: float
) -> float:
    """Return how deep an edge stands in the path between two antennas.

    Parameters
    ----------
    frequency_hz : float
        Frequency [Hz].
    height_m : float
        Edge above the straight line between the antennas, negative below it [m]. The line may
        just as well pass the edge sideways.
    distance_m, far_distance_m : float
        From the edge's foot on that line to each antenna, a wavelength or more [m].

    Returns
    -------
    float
        Parameter v [1]: positive in the shadow, 0 where the edge touches the line.

    Raises
    ------
    OutOfRange
        An antenna nearer to the edge than a wavelength, or a way round that bends by more than
        0.5 rad.

    Notes
    -----
    ``v = 2 sqrt(detour / wavelength)`` with the sign of the height, the detour being the way over
    the edge less the straight line. For small angles that is
    ``h sqrt(2 (1/d1 + 1/d2) / wavelength)``, which P.526 prints for up to about 0.2 rad. At 0.5 rad
    the two polarisations lie 2.5 dB either side of it.

    References
    ----------
    ITU-R P.526, single knife-edge obstacle (from memory).

    Examples
    --------
    >>> round(diffraction_parameter(2.44e9, 0.3, 2.0, 3.0), 2)
    1.1
    """
    least_m = wavelength_m(frequency_hz)
    for name, value in (("edge to antenna", distance_m), ("edge to far antenna", far_distance_m)):
        require_within(f"{name} (m)", value, least_m, math.inf)
    rise = abs(height_m)
    bend = math.atan2(rise, distance_m) + math.atan2(rise, far_distance_m)
    require_within("bend of the way round the edge (rad)", bend, 0.0, LARGEST_BEND_RAD)
    # rise^2 / (slant + d) is slant - d without the loss of digits
    detour_m = sum(rise**2 / (math.hypot(d, rise) + d) for d in (distance_m, far_distance_m))
    return math.copysign(2.0 * math.sqrt(detour_m / least_m), height_m)


@overload
def knife_edge_loss_db(parameter: float) -> float: ...
@overload
def knife_edge_loss_db(parameter: FloatArray) -> FloatArray: ...
def knife_edge_loss_db(parameter: float | FloatArray) -> float | FloatArray:
    """Return what an edge in the way costs beyond free space, by the usual approximation.

    Parameters
    ----------
    parameter : float or array of any shape
        ``diffraction_parameter``, -0.78 or more [1].

    Returns
    -------
    float or array of the same shape
        Diffraction loss J(v) [dB], within 0.13 dB of ``knife_edge_exact_loss_db`` from -0.7 on.

    Raises
    ------
    OutOfRange
        Below -0.78: the edge is clear of the path.

    Notes
    -----
    ``J = 6.9 + 20 log10(sqrt((v - 0.1)^2 + 1) + v - 0.1)``. An endless straight edge: a plate or a
    body also passes power round its other sides, and on the axis of a small plate the ways round
    add up to a bright spot.

    References
    ----------
    ITU-R P.526, single knife-edge obstacle, approximation of J(v) (from memory).

    Examples
    --------
    >>> round(knife_edge_loss_db(0.0), 2)
    6.03
    """
    v = np.asarray(parameter, dtype=float)
    require_all_within(
        "diffraction parameter",
        v,
        LEAST_PARAMETER,
        math.inf,
        "Below it the edge is clear of the path and costs nothing worth counting.",
    )
    loss_db = 6.9 + 20.0 * np.log10(np.hypot(v - 0.1, 1.0) + v - 0.1)
    return float_or_array(np.asarray(loss_db))


@overload
def knife_edge_exact_loss_db(parameter: float) -> float: ...
@overload
def knife_edge_exact_loss_db(parameter: FloatArray) -> FloatArray: ...
def knife_edge_exact_loss_db(parameter: float | FloatArray) -> float | FloatArray:
    """Return what an edge costs beyond free space, by Fresnel's integrals.

    Parameters
    ----------
    parameter : float or array of any shape
        ``diffraction_parameter``, any sign, up to 1000 [1].

    Returns
    -------
    float or array of the same shape
        Diffraction loss [dB]; down to -1.4 dB where the edge, clear of the path, adds to it.

    Raises
    ------
    OutOfRange
        Beyond 1000 either way, where the integrals lose their digits.

    Notes
    -----
    ``J = -20 log10(sqrt((1 - C - S)^2 + (C - S)^2) / 2)``, C and S Fresnel's integrals of v.

    References
    ----------
    ITU-R P.526, single knife-edge obstacle, exact form (from memory).

    Examples
    --------
    >>> round(knife_edge_exact_loss_db(0.0), 2)
    6.02
    """
    from scipy.special import fresnel

    v = np.asarray(parameter, dtype=float)
    require_all_within("diffraction parameter", v, -1e3, 1e3)
    s, c = fresnel(v)
    return float_or_array(np.asarray(-20.0 * np.log10(np.hypot(1.0 - c - s, c - s) / 2.0)))
