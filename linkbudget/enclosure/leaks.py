"""The openings of a box: what each takes from the field inside, and how evenly it finds it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import get_args

from linkbudget.core.decibels import db_from_power_ratio, power_ratio_from_db
from linkbudget.core.errors import InputError
from linkbudget.enclosure.bands import metal_bands
from linkbudget.enclosure.geometry import Box, Direction, Opening, Wall
from linkbudget.physics.apertures import below_cutoff_db
from linkbudget.physics.cavity import (
    DIFFUSE_SHARE,
    WallField,
    opening_quality_factor,
    resonance_hz,
    wall_field,
    weighty_modes,
)
from linkbudget.physics.cavity_places import SmallSource, Spot, slot_ratio, spot_field
from linkbudget.physics.openings import Ports, is_slot, opening_ports, port_area_m2
from linkbudget.physics.propagation import wavelength_m
from linkbudget.physics.special_functions import EULER_GAMMA, digamma

WALL_AXIS: dict[Wall, int] = {
    "left": 0,
    "right": 0,
    "front": 1,
    "back": 1,
    "lid": 2,
    "floor": 2,
}
"""The axis of the box (length, width, upright) that runs across each wall."""

AXIS: dict[Direction, int] = {"length": 0, "width": 1, "upright": 2}
"""The axis of the box of each direction."""

# mean of logs under log of mean: sin^2 3.01 dB on each of two axes, an exponential power 2.51 dB
_ONE_MODE_DB = 20.0 * math.log10(2.0) - 10.0 / math.log(10.0) * EULER_GAMMA

_LEAST_AREA_M2 = 1e-60  # a hole far below cut-off in a thick wall underflows


@dataclass(frozen=True, slots=True)
class Leak:
    """One entry of the box's openings, as the field inside meets it.

    Parameters
    ----------
    opening : Opening
    area_m2 : float
        Of a surface that swallows all, and takes as much from a diffuse field as all the equal
        openings together; typical [m2].
    below_db, above_db : float
        How far it may fall short of the typical and exceed it, both positive [dB].
    placed : bool
        Whether the places of opening and antenna were used.
    null_db : float
        How far the sum of resonances at these places lies under `area_m2`, which is held up by what
        breaks such a null in a product [dB]; hundreds where no resonance drives the opening.
    """

    opening: Opening
    area_m2: float
    below_db: float
    above_db: float
    placed: bool
    null_db: float = 0.0

    @property
    def name(self) -> str:
        """How an engineer would call it, such as "slot 61 x 1 mm in the lid"."""
        opening = self.opening
        size = f"{opening.length_m * 1e3:g}"
        if opening.shape != "round":
            size += f" x {opening.width_m * 1e3:g}"
        many = f"{opening.count} times " if opening.count > 1 else ""
        where = f" in the {opening.wall}" if opening.wall else ""
        what = "round hole" if opening.shape == "round" else opening.shape
        return f"{many}{what} {size} mm{where}"


@dataclass(frozen=True, slots=True)
class Site:
    """One way of putting an opening into a box.

    Parameters
    ----------
    wall, along, aside : int
        Axes of the box: across the wall, along the opening, and the other one in the wall.
    area_m2 : float
        Of the wall [m2].
    """

    wall: int
    along: int
    aside: int
    area_m2: float


def sites(box: Box, opening: Opening) -> tuple[Site, ...]:
    """Return every wall and direction into which an opening fits, as far as nobody said.

    Parameters
    ----------
    box : Box
    opening : Opening

    Returns
    -------
    tuple of Site
        At least one.

    Raises
    ------
    InputError
        Where it fits nowhere, or not where it is said to be.
    """
    sides_m = box.sides_m
    walls = {WALL_AXIS[opening.wall]} if opening.wall else {0, 1, 2}
    directions = {AXIS[opening.along]} if opening.along else {0, 1, 2}
    slack = 1.0 + 1e-9
    found = tuple(
        Site(wall, along, aside, sides_m[along] * sides_m[aside])
        for wall in sorted(walls)
        for along in sorted(directions - {wall})
        for aside in {0, 1, 2} - {wall, along}
        if opening.length_m <= sides_m[along] * slack and opening.width_m <= sides_m[aside] * slack
    )
    if not found:
        wall = f"the {opening.wall}" if opening.wall else "a wall"
        along = f", along its {opening.along} side" if opening.along else ""
        size = " x ".join(f"{side_m * 1e3:g}" for side_m in sides_m)
        raise InputError(
            f"an opening {opening.length_m * 1e3:g} mm long and {opening.width_m * 1e3:g} mm wide",
            f"one that fits into {wall} of the box of {size} mm{along}",
            "A wall is one of " + ", ".join(get_args(Wall)) + ".",
            field="openings",
        )
    return found


def leaks_of(box: Box, frequency_hz: float) -> tuple[Leak, ...]:
    """Return what each entry of the openings takes from the field inside.

    Parameters
    ----------
    box : Box
        With at least one opening.
    frequency_hz : float
        Frequency [Hz].

    Returns
    -------
    tuple of Leak
        In the order of the box.

    Notes
    -----
    A place at random on the wall is taken, or on all walls into which the opening fits. Where
    opening and antenna have a place, the resonances are summed there, at three fillings of the box.
    A sum of standing waves has nulls that no product has: its board, cables and feed scatter. So
    the typical area is no less than ``box_null_floor`` under that of the random place, and the band
    reaches up to it.
    """
    field = wall_field(box.sides_m, frequency_hz, _sharpness())
    modes = weighty_modes(box.sides_m, frequency_hz, _sharpness())
    leaks = []
    for opening in box.openings:
        leak = _somewhere(box, opening, frequency_hz, field, modes)
        leaks.append(_placed(box, leak, frequency_hz) if _has_place(box, opening) else leak)
    return tuple(leaks)


def _sharpness() -> float:
    # what stands in a box moves its resonances: they are known no better than this
    filling = metal_bands()["box_filling"]
    return 1.0 / (filling.high - filling.low)


def _has_place(box: Box, opening: Opening) -> bool:
    lies = opening.along is not None or opening.shape == "round"
    known = opening.wall is not None and opening.place_m is not None and lies
    return known and box.antenna is not None


def _somewhere(
    box: Box, opening: Opening, frequency_hz: float, field: WallField, modes: float
) -> Leak:
    ports = opening_ports(opening.shape, opening.length_m, opening.width_m, frequency_hz)
    places = sites(box, opening)
    driven = sum(place.area_m2 * _driven(ports, place, field) for place in places)
    mean = driven / sum(place.area_m2 for place in places)
    samples = independent_samples(opening, frequency_hz)
    area_m2 = _area_m2(opening, mean, box.thickness_m, frequency_hz)
    spread, model = metal_bands()["box_place_spread"], metal_bands()["box_model_spread"]
    return Leak(
        opening,
        max(area_m2 * power_ratio_from_db(typical_place_db(samples, modes)), _LEAST_AREA_M2),
        math.hypot(spread.low / math.sqrt(samples), model.low),
        math.hypot(spread.high / math.sqrt(samples), model.high),
        placed=False,
    )


def _placed(box: Box, somewhere: Leak, frequency_hz: float) -> Leak:
    """Return the leak at its place, held up by what the same opening takes at a random one."""
    filling, spread = metal_bands()["box_filling"], metal_bands()["box_placed_spread"]
    floor = metal_bands()["box_null_floor"]
    ideal_m2 = _LEAST_AREA_M2
    if _rings(box, frequency_hz, filling.low):
        areas_m2 = [
            _placed_area_m2(box, somewhere.opening, frequency_hz, slowing)
            for slowing in (filling.low, filling.value, filling.high)
        ]
        ideal_m2 = max(math.prod(areas_m2) ** (1.0 / len(areas_m2)), _LEAST_AREA_M2)
    typical_m2 = max(ideal_m2, somewhere.area_m2 * power_ratio_from_db(floor.value))
    above_db = max(spread.high, db_from_power_ratio(somewhere.area_m2 / typical_m2))
    return replace(
        somewhere,
        area_m2=typical_m2,
        # what the band gains toward the random place it gives up below: the null is broken
        below_db=spread.high - spread.low - above_db,
        above_db=above_db,
        placed=True,
        null_db=db_from_power_ratio(typical_m2 / ideal_m2),
    )


def _rings(box: Box, frequency_hz: float, slowing: float) -> bool:
    """Tell whether the antenna drives any wave that lives in the box, along its own axis."""
    axis = antenna_source(box).axis
    first, second, third = (0 if one == axis else 1 for one in range(3))
    return resonance_hz(box.sides_m, (first, second, third)) * slowing <= frequency_hz


def _placed_area_m2(box: Box, opening: Opening, frequency_hz: float, slowing: float) -> float:
    site = sites(box, opening)[0]
    quality = box.quality_factor or metal_bands()["box_quality_factor"].value
    spot = Spot(spot_place_m(box, opening), site.wall, site.along, opening.length_m)
    scene = (box.sides_m, frequency_hz, quality, antenna_source(box), spot)
    if is_slot(opening.shape, opening.length_m, opening.width_m):
        ratio = slot_ratio(*scene, opening.width_m, slowing)
        full_m2 = opening_quality_factor(math.prod(box.sides_m), 1.0, frequency_hz) / quality
        driven = ratio * full_m2 / port_area_m2(frequency_hz)
    else:
        ports = opening_ports(opening.shape, opening.length_m, opening.width_m, frequency_hz)
        near = spot_field(*scene, slowing)
        driven = ports.along * near.along + ports.across * near.aside + ports.normal * near.normal
        driven /= DIFFUSE_SHARE
    return _area_m2(opening, driven, box.thickness_m, frequency_hz)


def spot_place_m(box: Box, opening: Opening) -> tuple[float, float, float]:
    """Return the middle of a placed opening, from the corner where the dimensions begin [m]."""
    if opening.wall is None or opening.place_m is None:
        raise ValueError("an opening without a place")
    place = [side_m / 2.0 for side_m in box.sides_m]
    wall = WALL_AXIS[opening.wall]
    first, second = (axis for axis in range(3) if axis != wall)
    place[first] += opening.place_m[0]
    place[second] += opening.place_m[1]
    place[wall] = box.sides_m[wall] if opening.wall in {"lid", "back", "right"} else 0.0
    return place[0], place[1], place[2]


def antenna_source(box: Box) -> SmallSource:
    """Return the antenna of a box as a short dipole, from the same corner."""
    antenna = box.antenna
    if antenna is None:
        raise ValueError("a box whose antenna has no place")
    at_m = (
        box.length_m / 2.0 + antenna.x_m,
        box.width_m / 2.0 + antenna.y_m,
        box.height_m - antenna.depth_m,
    )
    return SmallSource(at_m, AXIS[antenna.along])


def opening_area_m2(opening: Opening, thickness_m: float, frequency_hz: float) -> float:
    """Return what an opening takes from a diffuse field, as an area that swallows all.

    Parameters
    ----------
    opening : Opening
    thickness_m : float
        Thickness of the wall [m].
    frequency_hz : float
        Frequency [Hz].

    Returns
    -------
    float
        Of all its equal openings together; twice the transmission cross-section averaged over the
        directions and polarisations of the half-space before the wall [m2].
    """
    ports = opening_ports(opening.shape, opening.length_m, opening.width_m, frequency_hz)
    driven = ports.along + ports.across + ports.normal
    return _area_m2(opening, driven, thickness_m, frequency_hz)


def _driven(ports: Ports, site: Site, field: WallField) -> float:
    # antennas and boards are never along one axis alone
    magnetic = field.magnetic[site.wall].clip(metal_bands()["box_least_share"].value)
    along, across = ports.along * magnetic[site.along], ports.across * magnetic[site.aside]
    return float(along + across + ports.normal * field.electric[site.wall]) / DIFFUSE_SHARE


def _area_m2(opening: Opening, driven: float, thickness_m: float, frequency_hz: float) -> float:
    alone_m2 = port_area_m2(frequency_hz) * driven
    if opening.width_m > wavelength_m(frequency_hz) / 2.0:
        share = math.pi / 4.0 if opening.shape == "round" else 1.0
        alone_m2 = max(alone_m2, share * opening.length_m * opening.width_m)  # rays
    depth_db = below_cutoff_db(opening.shape, opening.length_m, thickness_m, frequency_hz)
    return float(opening.count * alone_m2 * 10.0 ** (-depth_db / 10.0))


def independent_samples(opening: Opening, frequency_hz: float) -> float:
    """Return at how many independent places equal openings meet the field.

    Notes
    -----
    One for each half-wave of length, slots end to end; holes lie in a field with a pitch of one
    and a half diameters, one sample for each square of half a wavelength.
    """
    half_waves = 2.0 * opening.length_m / wavelength_m(frequency_hz)
    if opening.shape == "slot":
        return max(1.0, opening.count * half_waves)
    return max(1.0, opening.count * (1.5 * half_waves) ** 2)


def typical_place_db(samples: float, modes: float) -> float:
    """Return the mean level at places on a wall over the level of the mean power.

    Parameters
    ----------
    samples : float
        Independent places whose powers add, at least one [1].
    modes : float
        Resonances that share the field, at least one [1].

    Returns
    -------
    float
        Zero or negative [dB].

    Notes
    -----
    Many modes: the power at one place is exponential, the mean of its logarithm ``-2.5 dB``; of the
    mean of `n` places ``10 log10(exp(psi(n)) / n)``. One mode: ``sin^2 x sin^2 y`` along two axes
    of the wall, ``-6.0 dB``; the difference is shared among the modes.

    References
    ----------
    D. A. Hill, Electromagnetic Fields in Cavities, IEEE Press / Wiley 2009, chapter 7, probability
    densities of a well-stirred field (from memory).

    Examples
    --------
    >>> round(typical_place_db(1.0, 1.0), 1), round(typical_place_db(1.0, math.inf), 1)
    (-6.0, -2.5)
    """
    many_db = 10.0 / math.log(10.0) * (digamma(samples) - math.log(samples))
    return many_db - _ONE_MODE_DB / (modes * samples)


@dataclass(frozen=True, slots=True)
class Together:
    """What all openings of a box swallow [m2]."""

    low_m2: float
    typical_m2: float
    high_m2: float


def leaks_together(leaks: Sequence[Leak]) -> Together:
    """Return the area of all openings; independent spreads add as root of squares.

    Examples
    --------
    >>> slot = Leak(Opening("slot", 0.06, 0.002), 1e-3, 6.0, 3.0, placed=False)
    >>> both = leaks_together([slot, slot])
    >>> round(10 * math.log10(both.typical_m2 / both.low_m2), 1)
    4.2
    """
    total_m2 = sum(one.area_m2 for one in leaks)
    below_db = math.hypot(*(one.area_m2 * one.below_db for one in leaks)) / total_m2
    above_db = math.hypot(*(one.area_m2 * one.above_db for one in leaks)) / total_m2
    return Together(
        total_m2 * power_ratio_from_db(-below_db),
        total_m2,
        total_m2 * power_ratio_from_db(above_db),
    )
