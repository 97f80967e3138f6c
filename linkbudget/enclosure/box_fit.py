"""Whether a box can be made: its antenna inside, its openings each in its wall, none twice."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations

from linkbudget.core.errors import InputError, MissingData
from linkbudget.enclosure.fullwave.radiators import RESONANT_LENGTH
from linkbudget.enclosure.geometry import Box, Opening, PlacedAntenna
from linkbudget.enclosure.leaks import AXIS, WALL_AXIS, Leak, sites
from linkbudget.physics.propagation import wavelength_m
from linkbudget.physics.validity import require_positive

_SLACK = 1.0 + 1e-9
_DIRECTIONS = ("length", "width", "height")


def require_sound(box: Box) -> None:
    """Refuse a box whose dimensions are impossible or whose openings nobody stated.

    Parameters
    ----------
    box : Box

    Raises
    ------
    InputError, MissingData
        Naming what is wrong; the field of an opening is "openings" and its number from 0.

    Notes
    -----
    Openings need a web between them no narrower than the wall is thick, a rule of sheet-metal work
    (from memory): what needs more room than its wall has is refused.
    """
    for what, value in zip(("length", "width", "height"), box.sides_m, strict=True):
        require_positive(f"inner {what} of the box (m)", value)
    if box.quality_factor is not None:
        require_positive("quality factor", box.quality_factor)
    _require_middle_inside(box)
    if not box.openings:
        raise MissingData(
            "a closed box without any opening",
            "the openings, slots and gaps of the box",
            "State them, longest first; or measure with the lid on and off, and state the"
            " attenuation.",
            field="openings",
        )
    for index, opening in enumerate(box.openings):
        _require_in_wall(box, opening, f"openings.{index}")
    _require_apart(box)
    _require_room(box)


def require_antenna_fits(box: Box, frequency_hz: float) -> None:
    """Refuse an antenna whose ends stand in or beyond a wall.

    Parameters
    ----------
    box : Box
    frequency_hz : float
        For the length of an antenna that is resonant [Hz].

    Raises
    ------
    InputError
        Naming how far it reaches.

    Notes
    -----
    A dipole is as long as stated, a half-wave one otherwise resonant; a short one or a chip without
    a stated length counts by its middle. What rises from a board is bent and loaded until it fits,
    so its stated length alone counts: up the box's height, and from its foot toward the further
    wall.
    """
    antenna = box.antenna
    if antenna is None:
        return
    length_m = antenna.length_m
    if antenna.kind in ("half-wave dipole", "short dipole", "chip"):
        if length_m is None and antenna.kind == "half-wave dipole":
            length_m = RESONANT_LENGTH * wavelength_m(frequency_hz)
        _require_straight(box, antenna, length_m or 0.0)
    elif length_m is not None:
        _require_bent(box, antenna, length_m)


def _middle_m(box: Box, antenna: PlacedAntenna) -> tuple[float, float, float]:
    """Return the place from the middle of the box [m]."""
    return antenna.x_m, antenna.y_m, box.height_m / 2.0 - antenna.depth_m


def _require_straight(box: Box, antenna: PlacedAntenna, length_m: float) -> None:
    axis = AXIS[antenna.along]
    side_m = box.sides_m[axis]
    end_m = abs(_middle_m(box, antenna)[axis]) + length_m / 2.0
    if end_m <= side_m / 2.0 * _SLACK:
        return
    raise InputError(
        f"a {antenna.kind} {length_m * 1e3:.1f} mm long whose end stands"
        f" {(end_m - side_m / 2.0) * 1e3:.1f} mm outside the box",
        f"both ends inside the {side_m * 1e3:g} mm of its {_DIRECTIONS[axis]}",
        "Move it, turn it, or state its kind and length as they are.",
        field="place" if length_m <= side_m else "antenna",
    )


def _require_bent(box: Box, antenna: PlacedAntenna, length_m: float) -> None:
    axis = AXIS[antenna.along]
    side_m = box.sides_m[axis]
    if axis == 2:
        room_m = side_m
    else:
        room_m = side_m / 2.0 + abs(_middle_m(box, antenna)[axis]) + box.height_m
    if length_m <= room_m * _SLACK:
        return
    raise InputError(
        f"a {antenna.kind} {length_m * 1e3:.1f} mm long",
        f"at most the {room_m * 1e3:g} mm that the box leaves it along its {_DIRECTIONS[axis]}",
        "Turn it, or state its kind and length as they are.",
        field="antenna",
    )


def _require_middle_inside(box: Box) -> None:
    antenna = box.antenna
    if antenna is not None and not (
        abs(antenna.x_m) < box.length_m / 2.0
        and abs(antenna.y_m) < box.width_m / 2.0
        and 0.0 < antenna.depth_m < box.height_m
    ):
        raise InputError(
            f"an antenna {antenna.x_m * 1e3:g} and {antenna.y_m * 1e3:g} mm from the middle,"
            f" {antenna.depth_m * 1e3:g} mm under the lid",
            "a place inside the box",
            field="place",
        )


def _require_in_wall(box: Box, opening: Opening, field: str) -> None:
    try:
        places = sites(box, opening)
    except InputError as error:
        raise InputError(error.found, error.expected, error.mend, field=field) from None
    if opening.wall is None or opening.place_m is None:
        return
    beyond_m = min(
        max(
            abs(at_m) + half_m - box.sides_m[axis] / 2.0
            for axis, at_m, half_m in _spans(opening, site.along)
        )
        for site in places
    )
    if beyond_m > (_SLACK - 1.0) * max(box.sides_m):
        across = " x ".join(f"{box.sides_m[axis] * 1e3:g}" for axis in _axes(opening))
        raise InputError(
            f"a {_called(opening)} that stands {beyond_m * 1e3:.1f} mm over the edge",
            f"all of it inside the {across} mm of the {opening.wall}",
            "The place is that of its middle, from the middle of the wall.",
            field=f"{field}.at",
        )


def _spans(opening: Opening, along: int) -> Iterator[tuple[int, float, float]]:
    """Yield axis, middle and half size of a placed opening in its wall [m]."""
    for axis, at_m in zip(_axes(opening), opening.place_m or (), strict=True):
        yield axis, at_m, (opening.length_m if axis == along else opening.width_m) / 2.0


def _axes(opening: Opening) -> tuple[int, ...]:
    wall = WALL_AXIS[opening.wall] if opening.wall else None
    return tuple(axis for axis in range(3) if axis != wall)


def _require_apart(box: Box) -> None:
    """Refuse two openings that share metal, which is not there twice."""
    placed = [
        (index, one)
        for index, one in enumerate(box.openings)
        if one.wall is not None and one.place_m is not None and (one.along or one.shape == "round")
    ]
    for (first, one), (second, other) in combinations(placed, 2):
        if one.wall == other.wall and _overlap(one, other):
            raise InputError(
                f"a {_called(other)} that overlaps the {_called(one)}",
                f"openings apart from each other: they are entries {first + 1} and {second + 1}",
                "State what is one hole once; equal ones side by side by their count.",
                field=f"openings.{second}.at",
            )


def _overlap(one: Opening, other: Opening) -> bool:
    # an even row has a web in its middle, where another opening may be
    if (one.count % 2 == 0 or other.count % 2 == 0) and one.place_m != other.place_m:
        return False
    gaps = [
        abs(first[1] - second[1]) - first[2] - second[2]
        for first, second in zip(
            _spans(one, AXIS[one.along or "length"]),
            _spans(other, AXIS[other.along or "length"]),
            strict=True,
        )
    ]
    if max(gaps) >= -1e-9:
        return False
    if one.shape == other.shape == "round":
        away_m = math.dist(one.place_m or (), other.place_m or ())
        return away_m < (one.length_m + other.length_m) / 2.0 - 1e-9
    return True


def _require_room(box: Box) -> None:
    """Refuse more openings than a wall has room for, each entry alone and all of a wall."""
    filled_m2: dict[str | None, float] = {}
    for index, opening in enumerate(box.openings):
        alone_m2 = _needed_m2(box, opening)
        filled_m2[opening.wall] = filled_m2.get(opening.wall, 0.0) + alone_m2
        if opening.wall is None:
            room_m2 = max(_wall_m2(box, site.wall) for site in sites(box, opening))
            everything_m2 = sum(_wall_m2(box, axis) for axis in (0, 0, 1, 1, 2, 2))
        else:
            room_m2 = everything_m2 = _wall_m2(box, WALL_AXIS[opening.wall])
        if alone_m2 <= room_m2 * _SLACK and filled_m2[opening.wall] <= everything_m2 * _SLACK:
            continue
        where = f"the {opening.wall}" if opening.wall else "a wall"
        together = "" if alone_m2 > room_m2 * _SLACK else ", with those before it,"
        needed_m2 = alone_m2 if alone_m2 > room_m2 * _SLACK else filled_m2[opening.wall]
        raise InputError(
            f"{opening.count} times a {_called(opening)}{together} which need"
            f" {needed_m2 * 1e4:.0f} cm2 with webs as wide as the wall is thick",
            f"at most the {room_m2 * 1e4:.0f} cm2 of {where}",
            "Count those of one wall, or make them smaller.",
            field=f"openings.{index}.count" if opening.count > 1 else f"openings.{index}",
        )


def _needed_m2(box: Box, opening: Opening) -> float:
    web_m = box.thickness_m
    cell_m2 = (opening.length_m + web_m) * (opening.width_m + web_m)
    # round holes lie closest in triangles
    return opening.count * cell_m2 * (math.sqrt(0.75) if opening.shape == "round" else 1.0)


def _wall_m2(box: Box, wall: int) -> float:
    """Return the area of a wall, and half a web round it that its openings do not need [m2]."""
    first, second = (box.sides_m[axis] + box.thickness_m for axis in range(3) if axis != wall)
    return first * second


def _called(opening: Opening) -> str:
    return Leak(opening, 1.0, 0.0, 0.0, placed=False).name.split(" times ")[-1]
