"""The rooms that are known: free space, over a ground, indoors, by an exponent, as measured."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.core.distributions import BAND_COVERAGE
from linkbudget.core.errors import InputError
from linkbudget.core.quantity import Quantity
from linkbudget.core.units import format_length
from linkbudget.link.rooms import Barrier, Room
from linkbudget.link.terms import typical_term
from linkbudget.physics.diffraction import (
    LARGEST_BEND_RAD,
    LEAST_PARAMETER,
    diffraction_parameter,
    knife_edge_loss_db,
)
from linkbudget.physics.exponent import ExponentFit
from linkbudget.physics.ground import OverGround, break_distance_m, two_ray_loss_db
from linkbudget.physics.indoor import (
    PowerLawEnvironment,
    Sight,
    SiteGeneralEnvironment,
    indoor_power_law_loss_db,
    indoor_site_general,
    indoor_site_general_loss_db,
)
from linkbudget.physics.propagation import (
    free_space_loss_db,
    near_field_boundary_m,
    wavelength_m,
)
from linkbudget.physics.validity import require_within

_FARTHEST_M = 10_000.0  # no desktop device is asked about more
_POWER_LAW_M = (1.0, 100.0)
_POINTS_PER_DECADE = 400  # the ripple over a ground is drawn too
_TABLE_HEIGHT_M = 1.0  # a product on a table, a telephone in a hand
_HEIGHT_SPREAD = 0.1  # heights stated to a few centimetres
_SLACK = 1e-9  # rounding of a distance
_FREE_SPACE = "free space, ITU-R P.525"


def open_air(frequency_hz: float) -> Room:
    """Return free space, which is the best case of any room.

    Parameters
    ----------
    frequency_hz : float
        Frequency [Hz].

    Notes
    -----
    Beyond ``4 h1 h2 / wavelength`` open ground takes more than free space does; with both antennas
    1 m up that is where it stops being believed.

    References
    ----------
    ITU-R P.525, free-space attenuation (from memory).

    Examples
    --------
    >>> room = open_air(2.44e9)
    >>> round(room.believed_to_m, 1), round(room.loss_at(10.0).value, 1)
    (32.6, 60.2)
    """
    nearest_m = near_field_boundary_m(frequency_hz)
    ends_m = break_distance_m(frequency_hz, _TABLE_HEIGHT_M, _TABLE_HEIGHT_M)
    room = Room.straight(
        "free space",
        pivot_m=nearest_m,
        loss_db=free_space_loss_db(frequency_hz, nearest_m),
        slope=Quantity(20.0, "dB", "computed", source=_FREE_SPACE),
        holds_m=(nearest_m, _FARTHEST_M),
        source=_FREE_SPACE,
    )
    return replace(
        room,
        believed_to_m=ends_m,
        beyond_belief=(
            "Free space alone: with both antennas 1 m above open ground the level falls faster"
            f" from about {format_length(ends_m)} on (4 h1 h2 / wavelength), and the true reach"
            " is shorter."
        ),
        begins_at="wavelength/2 pi",
    )


def over_ground(frequency_hz: float, over: OverGround) -> Room:
    """Return a direct ray and one from a flat ground or desk.

    Parameters
    ----------
    frequency_hz : float
        Frequency [Hz].
    over : OverGround
        Heights, ground and polarisation; heights are taken as known to 10 % of their product.

    References
    ----------
    See ``physics.ground.two_ray_loss_db``.
    """
    distance_m = _grid_m(1.01 * wavelength_m(frequency_hz), _FARTHEST_M)
    loss_db = two_ray_loss_db(frequency_hz, distance_m, over, _HEIGHT_SPREAD)
    return Room(
        name="over flat ground",
        distance_m=distance_m,
        loss_db=loss_db,
        source="two rays over flat ground, heights known to 10 %",
        begins_at="one wavelength",
    )


def indoor_by_floors(frequency_hz: float, environment: PowerLawEnvironment, floors: int) -> Room:
    """Return the older indoor law, which knows floors; its walls are within the exponent.

    Parameters
    ----------
    frequency_hz : float
        Frequency, within a band of the table [Hz].
    environment : {"residential", "house", "office", "commercial"}
    floors : int
        Floors between the two ends.

    Raises
    ------
    OutOfRange
        Where the table does not reach.
    """
    distance_m = _grid_m(*_POWER_LAW_M)
    loss_db, deviation_db = indoor_power_law_loss_db(frequency_hz, distance_m, environment, floors)
    through = f", {floors} floor{'s' if floors > 1 else ''} between" if floors else ""
    return Room(
        name=f"indoors, {environment}{through}",
        distance_m=distance_m,
        loss_db=loss_db,
        source="ITU-R P.1238, distance power law, editions up to P.1238-10",
        doubt=typical_term("how well a room's law fits one building"),
        shadowing_db=deviation_db,
        begins_at="the shortest distance of the Recommendation",
    )


def indoor(frequency_hz: float, environment: SiteGeneralEnvironment, sight: Sight) -> Room:
    """Return the newer indoor law, site-general.

    Parameters
    ----------
    frequency_hz : float
        Frequency [Hz].
    environment : {"office", "corridor", "industrial"}
    sight : {"line of sight", "no line of sight"}

    Raises
    ------
    OutOfRange
        Where the law was not measured at that frequency.
    """
    row = indoor_site_general(environment, sight)
    distance_m = _grid_m(row.low_m, row.high_m)
    loss_db, deviation_db = indoor_site_general_loss_db(
        frequency_hz, distance_m, environment, sight
    )
    return Room(
        name=f"indoors, {environment}, {sight}",
        distance_m=distance_m,
        loss_db=loss_db,
        source="ITU-R P.1238-11, site-general form",
        doubt=typical_term("how well a room's law fits one building"),
        shadowing_db=deviation_db,
        begins_at="the shortest distance of the Recommendation",
    )


def by_exponent(
    frequency_hz: float, exponent: Quantity, reference_m: float, offset: Quantity | None = None
) -> Room:
    """Return a law with the user's own exponent, free space up to a reference distance.

    Parameters
    ----------
    frequency_hz : float
        Frequency [Hz].
    exponent : Quantity
        2 is free space [1].
    reference_m : float
        Up to here free space holds [m].
    offset : Quantity, optional
        How far the whole law lies above that [dB].

    References
    ----------
    See ``physics.exponent.exponent_loss_db``.
    """
    above_db = 0.0 if offset is None else offset.value
    room = Room.straight(
        f"exponent {exponent.value:g}",
        pivot_m=reference_m,
        loss_db=free_space_loss_db(frequency_hz, reference_m) + above_db,
        slope=exponent.scaled(10.0, "dB"),
        holds_m=(reference_m, _FARTHEST_M),
        source=f"stated exponent, free space up to {format_length(reference_m)}",
    )
    room = replace(room, begins_at="the distance up to which free space holds")
    return room if offset is None else replace(room, doubt=offset.less(above_db))


def as_measured(fit: ExponentFit, loss_at_1_m: Quantity, *, holds_everything: bool) -> Room:
    """Return the law that was fitted to a measured series of levels.

    Parameters
    ----------
    fit : ExponentFit
        Of the received levels over distance.
    loss_at_1_m : Quantity
        Transmission loss that belongs to the fitted level at 1 m [dB]: what was radiated and
        received less that level; its band is that of what was radiated and received.
    holds_everything : bool
        Whether the series was taken with this very link.

    Notes
    -----
    Exponent and level are independent of each other at the mean of the logarithms of the distances,
    so the line turns about that point. The scatter of the readings about it is shadowing. Student's
    factor widens the bands of a short series. The law holds a factor of ten beyond the measured
    distances, either way.
    """
    pivot_m = math.pow(10.0, fit.mean_decades)
    half = fit.student_factor(BAND_COVERAGE)
    slope_db, slope_half_db = 10.0 * fit.exponent, 10.0 * half * fit.exponent_error
    offset_db = half * fit.mean_error_db
    method = f"fitted to {fit.count} measured levels"
    slope = Quantity(
        slope_db, "dB", "measured", slope_db - slope_half_db, slope_db + slope_half_db, method
    )
    room = Room.straight(
        "the measured series",
        pivot_m=pivot_m,
        loss_db=loss_at_1_m.value + slope_db * fit.mean_decades,
        slope=slope,
        holds_m=(fit.nearest_m / 10.0, fit.farthest_m * 10.0),
        source=method,
    )
    line = Quantity(0.0, "dB", "measured", -offset_db, offset_db, method)
    return replace(
        room,
        doubt=replace(_summed(line, loss_at_1_m.less(loss_at_1_m.value)), kind="measured"),
        shadowing_db=fit.residual_deviation_db,
        holds_everything=holds_everything,
        fit=fit,
        begins_at="a tenth of the nearest measured distance",
    )


def _summed(one: Quantity, other: Quantity) -> Quantity:
    below, above = (
        math.hypot(one.band[side] - one.value, other.band[side] - other.value) for side in (0, 1)
    )
    value = one.value + other.value
    return replace(one, value=value, low=value - below, high=value + above)


@dataclass(frozen=True, slots=True)
class Edge:
    """A body or a cabinet that reaches into the path, at a fixed place near the product.

    Parameters
    ----------
    height_m : float
        Above the straight line between the antennas, negative below it [m].
    from_product_m : float
        From the product [m].
    """

    height_m: float
    from_product_m: float


def behind_edges(room: Room, frequency_hz: float, edges: Sequence[Edge]) -> Room:
    """Return the same room with edges in the way.

    Parameters
    ----------
    room : Room
        Its slope is free of doubt.
    frequency_hz : float
        Frequency [Hz].
    edges : sequence of Edge

    Returns
    -------
    Room
        Begins so far behind the last edge that the way round it is that of a knife edge.

    Raises
    ------
    InputError
        Where the slope of the room is in doubt.
    OutOfRange
        Where an edge is nearer to the product than a wavelength, or so near that the way over it
        bends too sharply whatever the distance.

    Notes
    -----
    The loss of several edges is added up, which is on the careful side where they stand close. An
    edge that the path clears costs nothing.

    References
    ----------
    ITU-R P.526, single knife-edge obstacle (from memory).
    """
    edges = [edge for edge in edges if not _is_far_below(edge)]
    if not edges:
        return room
    if room.slope is not None and room.slope.band[0] != room.slope.band[1]:
        raise InputError(
            f"an edge behind which the exponent is in doubt ({room.name})",
            "an edge, or an exponent with a spread",
            "State the exponent as one number, or leave the edge out.",
        )
    low_m, high_m = room.holds_m
    nearest_m = max(low_m, *(_begins_m(frequency_hz, edge) for edge in edges))
    require_within("distance behind the edge (m)", nearest_m, low_m, high_m)
    distance_m = _grid_m(nearest_m, high_m)
    loss_db = room.typical_loss_db(distance_m)
    for edge in edges:
        loss_db = loss_db + [_edge_loss_db(frequency_hz, d, edge) for d in distance_m.tolist()]
    return replace(
        room,
        name=f"{room.name}, behind an edge",
        distance_m=distance_m,
        loss_db=loss_db,
        slope=None,
        source=f"{room.source}; knife edge, ITU-R P.526",
        begins_at="the distance from which on the way over the edge is not too sharp",
    )


def _is_far_below(edge: Edge) -> bool:
    return math.atan2(-edge.height_m, edge.from_product_m) >= LARGEST_BEND_RAD


def _begins_m(frequency_hz: float, edge: Edge) -> float:
    """Return the distance from which on an edge bends the path no more than a knife edge may."""
    rise_m = abs(edge.height_m)
    left_rad = LARGEST_BEND_RAD - math.atan2(rise_m, edge.from_product_m)
    require_within(
        "bend of the way over the edge, seen from the product (rad)",
        LARGEST_BEND_RAD - left_rad,
        0.0,
        LARGEST_BEND_RAD * (1.0 - _SLACK),
        "An edge so near and high is no knife edge: state its loss instead.",
    )
    behind_m = max(wavelength_m(frequency_hz), rise_m / math.tan(left_rad))
    return edge.from_product_m + behind_m * (1.0 + _SLACK)


def _edge_loss_db(frequency_hz: float, distance_m: float, edge: Edge) -> float:
    behind_m = distance_m - edge.from_product_m
    parameter = diffraction_parameter(frequency_hz, edge.height_m, edge.from_product_m, behind_m)
    return knife_edge_loss_db(max(parameter, LEAST_PARAMETER))


def with_barriers(room: Room, barriers: Sequence[Barrier]) -> Room:
    """Return the same room with walls in the way; those of one name are counted."""
    standing = {barrier.name: barrier for barrier in room.barriers}
    for barrier in barriers:
        name, count = barrier.name, 1
        while name in standing:
            count += 1
            name = f"{barrier.name} no. {count}"
        standing[name] = replace(barrier, name=name)
    return replace(room, barriers=tuple(standing.values()))


def _grid_m(low_m: float, high_m: float) -> FloatArray:
    points = 2 + math.ceil(_POINTS_PER_DECADE * math.log10(high_m / low_m))
    grid_m: FloatArray = np.geomspace(low_m, high_m, points)
    return grid_m
