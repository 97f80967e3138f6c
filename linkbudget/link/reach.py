"""How far a link reaches in free space, and what the metal takes from it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.core.quantity import Quantity
from linkbudget.core.units import format_length
from linkbudget.link.budget import LinkBudget, LinkInputs, MetalLoss, budget
from linkbudget.physics.propagation import (
    far_field_distance_m,
    free_space_loss_db,
    near_field_boundary_m,
    wavelength_m,
)
from linkbudget.physics.validity import require_within

_ANTENNA_HEIGHT_M = 1.0  # a product on a table, a telephone in a hand


@dataclass(frozen=True, slots=True)
class Reach:
    """How far a link works at the wanted reliability.

    Parameters
    ----------
    distance : Quantity
        Distance at which the margin is zero [m].
    cautions : tuple of str
        What makes the number doubtful; empty where nothing does.
    """

    distance: Quantity
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LinkComparison:
    """One link without and with its metal.

    Parameters
    ----------
    without, reach_without : LinkBudget, Reach
        The link as if there were no metal.
    with_metal, reach_with : LinkBudget, Reach, optional
        The same with metal; none where there is no metal.
    lost_db : Quantity, optional
        What the metal takes from the level [dB]; negative where it adds.
    lost_m : Quantity, optional
        What it takes from the reach [m]; negative where it adds.
    """

    without: LinkBudget
    reach_without: Reach
    with_metal: LinkBudget | None = None
    reach_with: Reach | None = None
    lost_db: Quantity | None = None
    lost_m: Quantity | None = None


def reach(
    inputs: LinkInputs,
    fade_allowance: Quantity,
    metal: MetalLoss | None = None,
    radiator_size_m: float | None = None,
) -> Reach:
    """Return the distance at which the margin of a link in free space is zero.

    Parameters
    ----------
    inputs : LinkInputs
        Both ends of the link.
    fade_allowance : Quantity
        What fading may take [dB].
    metal : MetalLoss, optional
        What the metal costs.
    radiator_size_m : float, optional
        Largest dimension of what radiates, a plate near the antenna included [m]; for the
        far-field caution.

    Returns
    -------
    Reach
        Distance with the band that follows from all lines of the budget but the path.

    Notes
    -----
    Free space loses 20 dB for each factor of ten, so with the margin ``M0`` at a distance ``d0``
    the reach is ``d0 10^(M0 / 20)``; low and high follow from low and high of ``M0``.
    """
    start_m = wavelength_m(inputs.frequency_hz)  # any place in the far field gives the same
    margin = budget(inputs, start_m, fade_allowance, metal).margin
    low_m, value_m, high_m = (
        start_m * math.pow(10.0, db / 20.0) for db in (margin.band[0], margin.value, margin.band[1])
    )
    banded = margin.low is not None
    distance = Quantity(
        value_m,
        "m",
        "computed",
        low_m if banded else None,
        high_m if banded else None,
        "free space, distance at which the margin is zero",
        margin.coverage,
    )
    return Reach(distance, _cautions(value_m, inputs.frequency_hz, radiator_size_m))


def _cautions(
    distance_m: float, frequency_hz: float, radiator_size_m: float | None
) -> tuple[str, ...]:
    boundary_m = near_field_boundary_m(frequency_hz)
    far_field_m = far_field_distance_m(radiator_size_m or boundary_m, frequency_hz)
    break_m = ground_break_m(frequency_hz)
    told = []
    if distance_m < boundary_m:
        told.append(
            f"The reach lies within wavelength/2 pi ({format_length(boundary_m)}), where the"
            " free-space formula does not hold: read it as next to nothing."
        )
    elif distance_m < far_field_m:
        told.append(
            f"The reach lies nearer than the far field of what radiates"
            f" ({format_length(far_field_m)}), so gains do not hold there."
        )
    if distance_m > max(break_m, far_field_m):
        told.append(
            "Free space alone: with both antennas 1 m above open ground the level falls faster"
            f" from about {format_length(break_m)} on (4 h1 h2 / wavelength), and the true reach"
            " is shorter."
        )
    return tuple(told)


def ground_break_m(frequency_hz: float) -> float:
    """Return the distance beyond which open ground takes more than free space does.

    Parameters
    ----------
    frequency_hz : float
        Frequency [Hz].

    Returns
    -------
    float
        ``4 h1 h2 / wavelength`` with both antennas 1 m above flat ground [m].

    References
    ----------
    Two rays over flat ground, break point; T. S. Rappaport, Wireless Communications, ground
    reflection model (from memory).

    Examples
    --------
    >>> round(ground_break_m(2.44e9), 1)
    32.6
    """
    return 4.0 * _ANTENNA_HEIGHT_M**2 / wavelength_m(frequency_hz)


def level_against_distance(
    inputs: LinkInputs,
    low_m: float,
    high_m: float,
    metal: MetalLoss | None = None,
    points: int = 200,
) -> tuple[FloatArray, FloatArray]:
    """Return the mean received level over a range of distances, for a figure.

    Parameters
    ----------
    inputs : LinkInputs
        Both ends of the link.
    low_m, high_m : float
        First and last distance [m].
    metal : MetalLoss, optional
        What the metal costs.
    points : int
        How many distances, at equal steps of their logarithm; at least two.

    Returns
    -------
    distance_m, level_dbm : array, shape (points,)
        Distances [m] and typical received levels [dBm].

    Raises
    ------
    OutOfRange
        Where `low_m` lies below wavelength/2 pi, or above `high_m`.
    """
    require_within("first distance (m)", low_m, near_field_boundary_m(inputs.frequency_hz), high_m)
    require_within("number of points", points, 2, 1_000_000)
    distance_m = np.geomspace(low_m, high_m, points)
    no_fading = Quantity(0.0, "dB", "computed")
    first_dbm = budget(inputs, low_m, no_fading, metal).received.value
    loss_db = free_space_loss_db(inputs.frequency_hz, distance_m)
    return distance_m, first_dbm + loss_db[0] - loss_db


def difference(
    inputs: LinkInputs,
    distance_m: float,
    fade_allowance: Quantity,
    metal: MetalLoss | None = None,
    radiator_size_m: float | None = None,
) -> LinkComparison:
    """Compare a link with its metal against the same link without it.

    Parameters
    ----------
    inputs : LinkInputs
        Both ends of the link.
    distance_m : float
        The required distance [m].
    fade_allowance : Quantity
        What fading may take [dB].
    metal : MetalLoss, optional
        What the metal costs; none where the product has no metal.
    radiator_size_m : float, optional
        Largest dimension of the metal that radiates along with the antenna [m].

    Returns
    -------
    LinkComparison

    Raises
    ------
    OutOfRange
        Where the distance lies below wavelength/2 pi.

    Notes
    -----
    The bands of the differences come from the metal alone: everything else is shared by both
    cases and cancels. The loss in metres is that from the typical reach without metal,
    ``d (1 - 10^(-L / 20))``.
    """
    without = budget(inputs, distance_m, fade_allowance)
    reach_without = reach(inputs, fade_allowance)
    if metal is None:
        return LinkComparison(without, reach_without)
    lost_db = replace(metal.total(), source="the metal at the antenna's port, and its path")
    return LinkComparison(
        without,
        reach_without,
        budget(inputs, distance_m, fade_allowance, metal),
        reach(inputs, fade_allowance, metal, radiator_size_m),
        lost_db,
        _lost_m(reach_without.distance, lost_db),
    )


def reach_gained(reach: Quantity, gain_db: Quantity) -> Quantity:
    """Return what a gain adds to a reach in free space.

    Parameters
    ----------
    reach : Quantity
        Typical reach before [m].
    gain_db : Quantity
        What the link gains [dB]; negative where it loses.

    Returns
    -------
    Quantity
        Metres gained, with the band of the gain alone [m].

    Examples
    --------
    >>> ten = Quantity(10.0, "m", "computed")
    >>> print(reach_gained(ten, Quantity(20.0, "dB", "computed")))
    90.0 m
    """
    low_m, value_m, high_m = (
        reach.value * (math.pow(10.0, db / 20.0) - 1.0)
        for db in (gain_db.band[0], gain_db.value, gain_db.band[1])
    )
    banded = gain_db.low is not None
    return Quantity(
        value_m,
        "m",
        "computed",
        low_m if banded else None,
        high_m if banded else None,
        "free space, from the typical reach with the metal",
        "band of the gain alone" if banded else "",
    )


def _lost_m(reach: Quantity, lost_db: Quantity) -> Quantity:
    """Return what a loss takes from a reach: a gain of the opposite sign."""
    return replace(
        reach_gained(reach, lost_db.negated()).negated(),
        source="from the typical reach without metal",
        coverage="band of the metal alone" if lost_db.low is not None else "",
    )
