"""What the drawing of the geometry shows: parts in mm, their dimensions, and what they are.

The axes are those of the solver: x along the length, y along the width, z up; the inner face of
sheet or lid is z = 0, and the product lies below it. The antenna is drawn as the wires that are
solved, so that a mistake in the scenario is a mistake in the picture.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from linkbudget.core.errors import InputError
from linkbudget.enclosure.fullwave.radiators import radiator
from linkbudget.enclosure.geometry import Board, Box, Opening, PlacedAntenna, Plate, Scene
from linkbudget.enclosure.leaks import WALL_AXIS

Place = tuple[float, float, float]
Edge = Literal["under", "over", "left", "right"]

ABOVE, FRONT, RIGHT = 0, 1, 2
AXES = ((0, 1), (0, 2), (1, 2))
"""Of each view, from above, the front and the right: the axis to the right, and the upright one."""

_FACE_ON = (RIGHT, FRONT, ABOVE)  # the view on a wall, by the axis that runs across it
_FAR_WALLS = {"floor", "back", "left"}
_LIGHT_M_PER_S = 299_792_458.0  # an antenna of no stated length is drawn at its resonant one
_AXIS = {"length": 0, "width": 1, "upright": 2}
_MM = 1e3


@dataclass(frozen=True, slots=True)
class Slab:
    """A part with sides along the axes [mm], and its look in each of the three views; "": none."""

    low: Place
    high: Place
    looks: tuple[str, str, str]
    is_round: bool = False


@dataclass(frozen=True, slots=True)
class Measure:
    """A dimension: its view, the axis and both ends [mm], and on which edge of the view it stands.

    A measure of the antenna draws a line from there to the antenna.
    """

    view: int
    axis: int
    ends: tuple[float, float]
    edge: Edge
    of_antenna: bool = False


@dataclass(frozen=True, slots=True)
class Parts:
    """All that is drawn of one geometry.

    Parameters
    ----------
    slabs : tuple of Slab
        The first one lies at the bottom.
    wires : tuple of (Place, Place)
        Of the antenna [mm]; none where only its place is known.
    antenna : Place or None
        Its middle or foot [mm].
    feed : Place or None
        Where its source stands [mm].
    is_chip : bool
    measures : tuple of Measure
    facts : tuple of (str, str)
        Name and dimensions of every part, in words.
    """

    slabs: tuple[Slab, ...]
    wires: tuple[tuple[Place, Place], ...]
    antenna: Place | None
    feed: Place | None
    is_chip: bool
    measures: tuple[Measure, ...]
    facts: tuple[tuple[str, str], ...]

    @property
    def corners(self) -> tuple[Place, Place]:
        """Lowest and highest coordinates of everything [mm]."""
        places = [p for s in self.slabs for p in (s.low, s.high)]
        places += [end for wire in self.wires for end in wire]
        places += [self.antenna] if self.antenna else []
        columns = list(zip(*places, strict=True))
        low, high = (tuple(map(of, columns)) for of in (min, max))
        return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def parts_of(geometry: Scene | Box, frequency_hz: float) -> Parts:
    """Return what is drawn of a geometry.

    Parameters
    ----------
    geometry : Scene or Box
    frequency_hz : float
        Middle of the radio's band [Hz].
    """
    if isinstance(geometry, Box):
        return _of_box(geometry, frequency_hz)
    plate, board, antenna = geometry.plate, geometry.board, geometry.antenna
    wires, feed = _wires(antenna, board, frequency_hz)
    slabs = (*(_sheet(plate) if plate else ()), *(_board(board) if board else ()))
    sheet_mm = (plate.length_m * _MM, plate.width_m * _MM) if plate else None
    facts = [*(_sheet_facts(plate) if plate else ()), *(_board_facts(board) if board else ())]
    return Parts(
        slabs,
        wires,
        _place(antenna),
        feed,
        antenna.kind == "chip",
        (
            *(_sheet_measures(plate) if plate else ()),
            *(_antenna_measures(antenna, sheet_mm) if sheet_mm else ()),
            *(_board_measures(board) if board else ()),
        ),
        (*facts, ("antenna", _antenna_words(antenna, wires, "sheet"))),
    )


def _of_box(box: Box, frequency_hz: float) -> Parts:
    antenna = box.antenna
    wires, feed = _wires(antenna, None, frequency_hz) if antenna else ((), None)
    length, width, height = (side_m * _MM for side_m in box.sides_m)
    low, high = (-length / 2.0, -width / 2.0, -height), (length / 2.0, width / 2.0, 0.0)
    if antenna and not all(_within(end, low, high) for wire in wires for end in wire):
        wires, feed = (), _place(antenna)  # how long it is nobody stated
    wall = box.thickness_m * _MM
    outside = (_moved(low, -wall), _moved(high, wall))
    measures = [
        Measure(ABOVE, 0, (low[0], high[0]), "under"),
        Measure(ABOVE, 1, (low[1], high[1]), "left"),
        Measure(FRONT, 2, (low[2], high[2]), "left"),
    ]
    told = _antenna_words(antenna, wires, "lid") if antenna else "place not stated, not drawn"
    size = f"{_mm(length)} x {_mm(width)} x {_mm(height)} mm inside"
    return Parts(
        (
            Slab(*outside, ("metal", "metal", "metal")),
            Slab(low, high, ("inside", "inside", "inside")),
            *(slab for one in box.openings for slab in _opening_in_box(one, box)),
        ),
        wires,
        _place(antenna) if antenna else None,
        feed,
        antenna is not None and antenna.kind == "chip",
        (*measures, *(_antenna_measures(antenna, (length, width)) if antenna else ())),
        (
            ("box", f"{size}, walls {_mm(wall)} mm, {box.metal.name}"),
            *_opening_facts(box.openings, in_box=True),
            ("antenna", told),
        ),
    )


def _within(place: Place, low: Place, high: Place) -> bool:
    return all(a <= at <= b for at, a, b in zip(place, low, high, strict=True))


def _place(antenna: PlacedAntenna) -> Place:
    return antenna.x_m * _MM, antenna.y_m * _MM, -antenna.depth_m * _MM


def _moved(place: Place, by_mm: float) -> Place:
    return place[0] + by_mm, place[1] + by_mm, place[2] + by_mm


def _wires(
    antenna: PlacedAntenna, board: Board | None, frequency_hz: float
) -> tuple[tuple[tuple[Place, Place], ...], Place | None]:
    """Return the antenna's wires and its feed [mm]; none where it cannot stand as described."""
    try:
        found = radiator(antenna, board, _LIGHT_M_PER_S / frequency_hz)
    except (InputError, ZeroDivisionError):
        return (), _place(antenna)  # the cause is told where the link is judged
    fed = found.wires[0]
    share = (found.feed_segment - 0.5) / fed.segments if len(found.wires) == 1 else 0.0
    x, y, z = (_MM * (a + share * (b - a)) for a, b in zip(fed.start, fed.stop, strict=True))
    return tuple((_scaled(w.start), _scaled(w.stop)) for w in found.wires), (x, y, z)


def _scaled(place_m: Place) -> Place:
    return place_m[0] * _MM, place_m[1] * _MM, place_m[2] * _MM


def _sheet(plate: Plate) -> tuple[Slab, ...]:
    x, y = plate.length_m * _MM / 2.0, plate.width_m * _MM / 2.0
    t, rim = plate.thickness_m * _MM, plate.skirt_m * _MM
    slabs = [Slab((-x, -y, 0.0), (x, y, t), ("metal", "metal", "metal"))]
    if rim > 0.0:
        across, along = ("hidden", "metal", ""), ("hidden", "", "metal")
        slabs += [
            Slab((-x, -y, -rim), (-x + t, y, 0.0), across),
            Slab((x - t, -y, -rim), (x, y, 0.0), across),
            Slab((-x, -y, -rim), (x, -y + t, 0.0), along),
            Slab((-x, y - t, -rim), (x, y, 0.0), along),
        ]
    for one in plate.openings:
        if one.place_m is not None:
            half = _half_sizes(one, (0, 1), plate.length_m >= plate.width_m)
            low = (one.place_m[0] * _MM - half[0], one.place_m[1] * _MM - half[1], 0.0)
            high = (one.place_m[0] * _MM + half[0], one.place_m[1] * _MM + half[1], t)
            slabs.append(Slab(low, high, ("opening", "gap", "gap"), one.shape == "round"))
    return tuple(slabs)


def _board(board: Board) -> tuple[Slab, ...]:
    x, y, z = board.x_m * _MM, board.y_m * _MM, -board.depth_m * _MM
    length, width = board.length_m * _MM / 2.0, board.width_m * _MM / 2.0
    looks = ("board", "board", "board")
    return (Slab((x - length, y - width, z), (x + length, y + width, z), looks),)


def _half_sizes(opening: Opening, axes: tuple[int, int], first_is_longer: bool) -> Sequence[float]:
    """Return half the size of an opening along the two axes of its wall [mm]."""
    along = _AXIS[opening.along] if opening.along else axes[0 if first_is_longer else 1]
    return [(opening.length_m if axis == along else opening.width_m) * _MM / 2.0 for axis in axes]


def _opening_in_box(opening: Opening, box: Box) -> tuple[Slab, ...]:
    """Return the opening on its wall: in its middle, and marked so, where no place is told."""
    if opening.wall is None:
        return ()
    across = WALL_AXIS[opening.wall]
    first, second = (axis for axis in (0, 1, 2) if axis != across)
    sides = [side_m * _MM for side_m in box.sides_m]
    half = _half_sizes(opening, (first, second), sides[first] >= sides[second])
    middle = [0.0, 0.0, -sides[2] / 2.0]
    low, high = list(middle), list(middle)
    for at, axis in enumerate((first, second)):
        centre = middle[axis] + (opening.place_m[at] * _MM if opening.place_m else 0.0)
        low[axis], high[axis] = centre - half[at], centre + half[at]
    wall = box.thickness_m * _MM
    near = opening.wall in ("lid", "back", "right")  # at the high end of its axis
    inner = middle[across] + (sides[across] / 2.0 if near else -sides[across] / 2.0)
    low[across], high[across] = (inner, inner + wall) if near else (inner - wall, inner)
    looks = ["gap", "gap", "gap"] if opening.place_m else ["", "", ""]
    looks[_FACE_ON[across]] = " ".join(
        (
            "opening",
            *(("far",) if opening.wall in _FAR_WALLS else ()),
            *(() if opening.place_m else ("guessed",)),
        )
    )
    corners = (low[0], low[1], low[2]), (high[0], high[1], high[2])
    return (Slab(*corners, (looks[0], looks[1], looks[2]), opening.shape == "round"),)


def _sheet_measures(plate: Plate) -> tuple[Measure, ...]:
    x, y = plate.length_m * _MM / 2.0, plate.width_m * _MM / 2.0
    measures = [Measure(ABOVE, 0, (-x, x), "under"), Measure(ABOVE, 1, (-y, y), "left")]
    if plate.skirt_m > 0.0:
        measures.append(Measure(FRONT, 2, (-plate.skirt_m * _MM, 0.0), "left"))
    return tuple(measures)


def _antenna_measures(antenna: PlacedAntenna, metal_mm: tuple[float, float]) -> tuple[Measure, ...]:
    """Measure the antenna from the nearest edges of the metal, and from its inner face."""
    x, y, z = _place(antenna)
    edges: tuple[Edge, Edge] = ("over", "right")
    measures = [
        Measure(ABOVE, axis, (at, -side / 2.0 if at < 0.0 else side / 2.0), edges[axis], True)
        for axis, (at, side) in enumerate(zip((x, y), metal_mm, strict=True))
    ]
    return (*measures, Measure(FRONT, 2, (z, 0.0), "right", True))


def _board_measures(board: Board) -> tuple[Measure, ...]:
    x, y, z = board.x_m * _MM, board.y_m * _MM, -board.depth_m * _MM
    length, width = board.length_m * _MM / 2.0, board.width_m * _MM / 2.0
    return (
        Measure(FRONT, 0, (x - length, x + length), "under"),
        Measure(RIGHT, 1, (y - width, y + width), "under"),
        Measure(RIGHT, 2, (z, 0.0), "right"),
    )


def _sheet_facts(plate: Plate) -> list[tuple[str, str]]:
    size = " x ".join(_mm(v * _MM) for v in (plate.length_m, plate.width_m, plate.thickness_m))
    name, rim = "sheet", ""
    if plate.skirt_m > 0.0:
        name, rim = "tray", f", its rim {_mm(plate.skirt_m * _MM)} mm down"
    facts = [(name, f"{size} mm, {plate.metal.name}{rim}")]
    return [*facts, *_opening_facts(plate.openings, in_box=False)]


def _board_facts(board: Board) -> list[tuple[str, str]]:
    size = f"{_mm(board.length_m * _MM)} x {_mm(board.width_m * _MM)} mm"
    depth = f"{_mm(board.depth_m * _MM)} mm under the sheet"
    place = _off_middle(board.x_m * _MM, board.y_m * _MM, "sheet")
    return [("ground of the board", f"{size}, {depth}, {place}")]


def _opening_facts(openings: Sequence[Opening], *, in_box: bool) -> list[tuple[str, str]]:
    facts: list[tuple[str, str]] = []
    for one in openings:
        size = _mm(one.length_m * _MM)
        size += "" if one.shape == "round" else f" x {_mm(one.width_m * _MM)}"
        many = f"{one.count} times " if one.count > 1 else ""
        where = f" in the {one.wall}" if one.wall else ""
        if in_box and one.wall is None:
            told = "wall not stated, not drawn"
        elif one.place_m is None:
            told = "place not stated, drawn dotted in the middle of its wall"
            told = told if in_box else "place not stated, not drawn"
        else:
            told = "drawn once" if one.count > 1 else ""
        facts.append((one.shape, f"{many}{size} mm{where}{'; ' if told else ''}{told}"))
    return facts


def _antenna_words(antenna: PlacedAntenna, wires: Sequence[tuple[Place, Place]], metal: str) -> str:
    x, y, z = _place(antenna)
    way = "upright" if antenna.along == "upright" else f"along the {antenna.along}"
    told = [f"{antenna.kind} {way}, {_mm(-z)} mm under the {metal}"]
    told.append(_off_middle(x, y, metal))
    if wires:
        total_mm = sum(
            sum((b - a) ** 2 for a, b in zip(*wire, strict=True)) ** 0.5 for wire in wires
        )
        assumed = "" if antenna.length_m else ", resonant" if "half" in antenna.kind else ""
        told.append(f"{total_mm:.0f} mm of wire{assumed}")
    if antenna.efficiency < 1.0:
        told.append(f"efficiency {antenna.efficiency * 100.0:.3g} %")
    return ", ".join(told)


def _off_middle(x_mm: float, y_mm: float, metal: str) -> str:
    if abs(x_mm) < 0.05 and abs(y_mm) < 0.05:
        return f"under the middle of the {metal}"
    ways = [
        f"{_mm(abs(by_mm))} mm to the {high if by_mm > 0.0 else low}"
        for by_mm, low, high in ((x_mm, "left", "right"), (y_mm, "front", "back"))
        if abs(by_mm) >= 0.05
    ]
    return f"{' and '.join(ways)} of the middle of the {metal}"


def _mm(value_mm: float) -> str:
    return f"{round(value_mm, 1) + 0.0:g}"
