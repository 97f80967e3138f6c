"""Antennas as wires: dipoles that stand free, monopoles and inverted-F fed from the board."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from linkbudget.core.errors import InputError
from linkbudget.enclosure.fullwave.wires import Point, Wire, point
from linkbudget.enclosure.geometry import Board, PlacedAntenna

RESONANT_LENGTH = 0.4619
"""Length of a dipole of our wire radius and segments where its reactance is zero [wavelengths]."""

_RADIUS = 1.0 / 250.0  # of the wire [wavelengths]; the resonant length belongs to it
_SLENDER = 1.0 / 60.0  # a short antenna is thinner: radius at most this share of its length
_SEGMENT = 1.0 / 45.0  # [wavelengths]; 21 on a half-wave dipole
_STANDING_SEGMENT = 1.0 / 25.0  # as long as those of the grid that it stands on [wavelengths]
_INVERTED_F_LENGTH = 0.265  # rise and arm from the short; nearly resonant [wavelengths]
_CHIP_LENGTH = 0.3  # chip and the currents beside it together [wavelengths]
_HEIGHT = 1.0 / 24.0  # of an inverted-F in the plane of the board [wavelengths]; 5 mm at 2.44 GHz
_SHORT_TO_FEED = 1.0 / 25.0  # of an inverted-F [wavelengths]; 5 mm at 2.44 GHz
_ON_THE_EDGE = 1.0 / 40.0  # a foot as close as this to the board's edge stands on it [wavelengths]

_FROM_MIDDLE = "from the middle of the sheet"  # as a scenario's antenna_at counts
_ABOUT_ALONG = 'State along = "length" or "width", the direction of the part that lies.'


@dataclass(frozen=True, slots=True)
class Radiator:
    """The antenna's wires, the first of which is fed.

    Parameters
    ----------
    wires : tuple of Wire
    feed_segment : int
        Segment of the first wire with the source in it, counted from 1.
    feet : tuple of (float, float)
        Places x, y at which it stands on the board's grid [m]; none for a dipole.
    """

    wires: tuple[Wire, ...]
    feed_segment: int
    feet: tuple[tuple[float, float], ...] = ()


def radiator(antenna: PlacedAntenna, board: Board | None, wavelength_m: float) -> Radiator:
    """Return the wires of an antenna.

    Parameters
    ----------
    antenna : PlacedAntenna
    board : Board or None
        Needed by a monopole and an inverted-F. In its plane (`depth_m` equal) they leave from its
        edge; above it they rise from the foot to the depth of the antenna and run back over it. The
        foot of an inverted-F is its short; the feed stands a twenty-fifth wavelength further in.
    wavelength_m : float
        In the middle of the band [m].

    Raises
    ------
    InputError
        Where the antenna has no board to stand on, or no room for its length.
    """
    if antenna.length_m is not None and antenna.length_m <= 0.0:
        raise _fault(f"an antenna {antenna.length_m * 1e3:g} mm long", "a length above zero")
    if antenna.kind in ("half-wave dipole", "short dipole", "chip"):
        return _dipole(antenna, wavelength_m)
    if board is None:
        raise _fault(
            f"a {antenna.kind} without a board",
            "the ground plane that it stands on",
            "State the board, or describe the antenna as a dipole.",
        )
    foot = _foot(antenna, board, wavelength_m)
    if antenna.along == "upright":
        return _upright(antenna, board, foot, wavelength_m)
    return _lying(antenna, board, foot, wavelength_m)


def _dipole(antenna: PlacedAntenna, wavelength_m: float) -> Radiator:
    default = RESONANT_LENGTH if antenna.kind == "half-wave dipole" else _CHIP_LENGTH
    length_m = antenna.length_m or default * wavelength_m
    middle = [antenna.x_m, antenna.y_m, -antenna.depth_m]
    start, stop = list(middle), list(middle)
    axis = {"length": 0, "width": 1, "upright": 2}[antenna.along]
    start[axis] -= length_m / 2.0
    stop[axis] += length_m / 2.0
    segments = max(5, 2 * round(length_m / (2.0 * _SEGMENT * wavelength_m)) + 1)
    wire = Wire(point(*start), point(*stop), segments, _radius_m(length_m, wavelength_m))
    return Radiator((wire,), (segments + 1) // 2)


def _upright(
    antenna: PlacedAntenna, board: Board, foot: tuple[float, float], wavelength_m: float
) -> Radiator:
    if antenna.kind == "inverted-F":
        raise _fault("an upright inverted-F", "an arm that lies", _ABOUT_ALONG)
    length_m = antenna.length_m or RESONANT_LENGTH / 2.0 * wavelength_m
    away = antenna.depth_m > board.depth_m + 1e-6
    tip_m = -board.depth_m + (-length_m if away else length_m)
    if abs(antenna.depth_m - board.depth_m) > length_m + 1e-6:
        raise _fault(
            f"a monopole {antenna.depth_m * 1e3:g} mm deep",
            f"a depth on the antenna: from its foot, {board.depth_m * 1e3:g} mm, to its tip,"
            f" {-tip_m * 1e3:.1f} mm",
            field="depth",
        )
    wires = _chain([point(*foot, -board.depth_m), point(*foot, tip_m)], length_m, wavelength_m)
    return Radiator(wires, 1, (foot,))


def _lying(
    antenna: PlacedAntenna, board: Board, foot: tuple[float, float], wavelength_m: float
) -> Radiator:
    """Return a monopole or inverted-F whose arm lies along the board's length or width."""
    axis = 0 if antenna.along == "length" else 1
    middle = (board.x_m, board.y_m)
    inward = -1.0 if foot[axis] > middle[axis] else 1.0
    base = point(*foot, -board.depth_m)
    inverted_f = antenna.kind == "inverted-F"
    default = _INVERTED_F_LENGTH if inverted_f else RESONANT_LENGTH / 2.0
    total_m = antenna.length_m or default * wavelength_m
    height_m = board.depth_m - antenna.depth_m
    in_plane = abs(height_m) < 1e-6
    if in_plane and not inverted_f:
        _require_edge(foot, board, axis)
        nodes = [base, _moved(base, axis, -inward * total_m)]
        return Radiator(_chain(nodes, total_m, wavelength_m), 1, (foot,))
    if in_plane:
        _require_edge(foot, board, 1 - axis)
        height_m = _HEIGHT * wavelength_m
        outward = 1.0 if foot[1 - axis] > middle[1 - axis] else -1.0
        rise = 1 - axis, outward * height_m
    else:
        rise = 2, height_m
    arm_m = total_m - abs(height_m)
    if arm_m <= 2.0 * _STANDING_SEGMENT * wavelength_m:
        raise _fault(
            f"an antenna {abs(height_m) * 1e3:.1f} mm above its board, {total_m * 1e3:.1f} mm long",
            "an arm left after the rise",
            "Use an upright monopole, or less height.",
        )
    knee = _moved(base, *rise)
    tip = _moved(knee, axis, inward * arm_m)
    if not inverted_f:
        return Radiator(_chain([base, knee, tip], total_m, wavelength_m), 1, (foot,))
    fed = _moved(base, axis, inward * _SHORT_TO_FEED * wavelength_m)
    _require_on_board(fed[:2], board, "the feed of the inverted-F")
    branch = _moved(fed, *rise)
    leg = _chain([fed, branch], total_m, wavelength_m)
    rest = _chain([base, knee, branch, tip], total_m, wavelength_m)
    return Radiator((*leg, *rest), 1, (foot, fed[:2]))


def _chain(nodes: list[Point], total_m: float, wavelength_m: float) -> tuple[Wire, ...]:
    radius_m = _radius_m(total_m, wavelength_m)
    wires = []
    for start, stop in pairwise(nodes):
        parts = max(1, round(math.dist(start, stop) / (_STANDING_SEGMENT * wavelength_m)))
        wires.append(Wire(start, stop, parts, radius_m))
    return tuple(wires)


def _radius_m(length_m: float, wavelength_m: float) -> float:
    return min(_RADIUS * wavelength_m, _SLENDER * length_m)


def _moved(start: Point, axis: int, by_m: float) -> Point:
    moved = list(start)
    moved[axis] += by_m
    return point(*moved)


def _foot(antenna: PlacedAntenna, board: Board, wavelength_m: float) -> tuple[float, float]:
    """Return where the antenna stands; almost on the edge is on it, at every mesh alike."""
    _require_on_board((antenna.x_m, antenna.y_m), board, "the antenna's foot")

    def settled(at_m: float, middle_m: float, size_m: float) -> float:
        edge_m = middle_m + math.copysign(size_m / 2.0, at_m - middle_m)
        return edge_m if abs(edge_m - at_m) < _ON_THE_EDGE * wavelength_m else at_m

    x, y, _ = point(
        settled(antenna.x_m, board.x_m, board.length_m),
        settled(antenna.y_m, board.y_m, board.width_m),
        0.0,
    )
    return x, y


def _require_on_board(place: tuple[float, float], board: Board, what: str) -> None:
    across = abs(place[0] - board.x_m) - board.length_m / 2.0
    along = abs(place[1] - board.y_m) - board.width_m / 2.0
    if max(across, along) > 1e-6:
        raise _fault(
            f"{what} {place[0] * 1e3:.1f} mm along the length and {place[1] * 1e3:.1f} mm along the"
            f" width {_FROM_MIDDLE}",
            f"a place on the board: {_span(board.x_m, board.length_m)} along the length,"
            f" {_span(board.y_m, board.width_m)} along the width",
            field="place",
        )


def _require_edge(foot: tuple[float, float], board: Board, axis: int) -> None:
    size = (board.length_m, board.width_m)[axis]
    middle = (board.x_m, board.y_m)[axis]
    side = ("length", "width")[axis]
    if abs(abs(foot[axis] - middle) - size / 2.0) > 1e-6:
        raise _fault(
            f"an antenna in the plane of the board whose foot stands inside the ground,"
            f" {foot[axis] * 1e3:.1f} mm along the {side} {_FROM_MIDDLE}",
            f"a foot on an edge of the board, at an end of {_span(middle, size)} along the {side}",
            "Move the foot to the edge, or give the antenna a smaller depth than the board.",
            field="place",
        )


def _span(middle_m: float, size_m: float) -> str:
    low, high = (middle_m - size_m / 2.0) * 1e3, (middle_m + size_m / 2.0) * 1e3
    return f"{low:.1f} to {high:.1f} mm"


def _fault(found: str, expected: str, mend: str = "", *, field: str = "antenna") -> InputError:
    return InputError(found, expected, mend, field=field)
