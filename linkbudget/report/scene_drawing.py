"""The geometry in three views, to scale, with its dimensions in mm, so that a mistake is seen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linkbudget.report.scene_parts import AXES, FRONT, RIGHT, Measure, Parts, Place, Slab, parts_of
from linkbudget.report.strokes import (
    Paper,
    Shape,
    View,
    arrow,
    circle,
    dimension_across,
    dimension_upright,
    ellipse,
    line,
    path,
    rectangle,
    words,
)

if TYPE_CHECKING:
    from linkbudget.enclosure.geometry import Box, FarEnd, Scene

LARGEST_PX = 225.0  # of the longest dimension; a telephone holds it with its dimensions beside
_LEFT_PX, _RIGHT_PX, _TOP_PX, _UNDER_PX = 56.0, 62.0, 58.0, 48.0
_FAR_END_PX = 26.0  # more below, where the far end is there
_LINE_OFF_PX = {"under": 24.0, "over": -14.0, "left": -18.0, "right": 16.0}
_THINNEST_PX = 2.0

_NAMES = ("From above", "From the front, cut open", "From the right, cut open")
_ENDS = (("left", "right"), ("left", "right"), ("front", "back"))


def scene_views(
    geometry: Scene | Box, frequency_hz: float, toward: FarEnd = "anywhere"
) -> tuple[View, View, View]:
    """Draw a geometry from above, from the front and from the right, all at one scale.

    Parameters
    ----------
    geometry : Scene or Box
    frequency_hz : float
        Middle of the radio's band [Hz]: an antenna of no stated length is drawn resonant.
    toward : {"above", "beside", "below", "anywhere"}
        Where the far end is.
    """
    parts = parts_of(geometry, frequency_hz)
    above, front, right = (_view(parts, view, toward) for view in range(3))
    return above, front, right


def _view(parts: Parts, view: int, toward: FarEnd) -> View:
    low, high = parts.corners
    scale = LARGEST_PX / max(1e-9, *(b - a for a, b in zip(low, high, strict=True)))
    across, upright = AXES[view]
    paper = Paper(_LEFT_PX, _TOP_PX, low[across], high[upright], scale, scale)
    right_px, under_px = paper.x(high[across]), paper.y(low[upright])
    edges = {"left": _LEFT_PX, "right": right_px, "over": _TOP_PX, "under": under_px}
    shapes = [_slab(slab, view, paper) for slab in parts.slabs if slab.looks[view]]
    shapes += _antenna(parts, view, paper)
    for measure in parts.measures:
        if measure.view == view:
            shapes += _measured(measure, parts.antenna, paper, edges)
    shapes += _ends(view, edges, parts)
    shapes += _up(view, edges, toward)
    height_px = under_px + _UNDER_PX + (_FAR_END_PX if toward == "below" else 0.0)
    return View(_NAMES[view], _described(view, parts), right_px + _RIGHT_PX, height_px, (*shapes,))


def _slab(slab: Slab, view: int, paper: Paper) -> Shape:
    across, upright = AXES[view]
    left, right = paper.x(slab.low[across]), paper.x(slab.high[across])
    over, under = paper.y(slab.high[upright]), paper.y(slab.low[upright])
    look = slab.looks[view]
    if slab.is_round and look.startswith("opening"):
        middle = (left + right) / 2.0, (over + under) / 2.0
        return ellipse(look, *middle, (right - left) / 2.0, (under - over) / 2.0)
    width, height = max(right - left, _THINNEST_PX), max(under - over, _THINNEST_PX)
    return rectangle(look, left, over, width, height)


def _antenna(parts: Parts, view: int, paper: Paper) -> list[Shape]:
    """Draw wires as lines, those toward the reader as a ringed dot, and the feed as a square."""
    if parts.antenna is None:
        return []
    ends = [tuple(_pixel(end, view, paper) for end in wire) for wire in parts.wires]
    shapes = [path("antenna", wire) for wire in ends if _apart(*wire)]
    if not shapes:
        x, y = _pixel(parts.antenna, view, paper)
        shapes.append(circle("antenna toward", x, y, 5.0))
        shapes.append(circle("antenna dot", x, y, 1.6))
        return shapes
    x, y = _pixel(parts.feed or parts.antenna, view, paper)
    half = 4.5 if parts.is_chip else 3.0
    look = "antenna chip" if parts.is_chip else "antenna feed"
    return [*shapes, rectangle(look, x - half, y - half, 2.0 * half, 2.0 * half)]


def _pixel(place: Place, view: int, paper: Paper) -> tuple[float, float]:
    across, upright = AXES[view]
    return paper.x(place[across]), paper.y(place[upright])


def _apart(one: tuple[float, float], other: tuple[float, float]) -> bool:
    return max(abs(one[0] - other[0]), abs(one[1] - other[1])) > 1.0


def _measured(
    measure: Measure, antenna: Place | None, paper: Paper, edges: dict[str, float]
) -> list[Shape]:
    """Draw a dimension outside its edge, with a thin line to the antenna where it measures that."""
    part = edges[measure.edge]
    at = part + _LINE_OFF_PX[measure.edge]
    first, last = measure.ends
    text = f"{round(abs(last - first), 1) + 0.0:g}"
    shapes: list[Shape] = []
    if measure.edge in ("left", "right"):
        if measure.of_antenna and antenna is not None:
            x, y = _pixel(antenna, measure.view, paper)
            shapes.append(line("centre", x, y, part, y))
        return [*shapes, *dimension_upright(paper.y(first), paper.y(last), part, at, text)]
    if measure.of_antenna and antenna is not None:
        x, y = _pixel(antenna, measure.view, paper)
        shapes.append(line("centre", x, y, x, part))
    return [*shapes, *dimension_across(paper.x(first), paper.x(last), part, at, text)]


def _ends(view: int, edges: dict[str, float], parts: Parts) -> list[Shape]:
    """Name the ends of the metal."""
    under = edges["under"] + 41.0
    start, stop = _ENDS[view]
    shapes = [
        words("end", edges["left"], under, start),
        words("end", edges["right"], under, stop, "end"),
    ]
    if view in (FRONT, RIGHT):
        return shapes
    if parts.antenna is None or parts.antenna[0] >= 0.0:  # its dimension stands on the right
        back = words("end", edges["left"] + 2.0, edges["over"] - 5.0, "back")
    else:
        back = words("end", edges["right"] - 2.0, edges["over"] - 5.0, "back", "end")
    shapes.append(back)
    shapes.append(words("end", edges["left"] + 6.0, edges["under"] + 14.0, "front"))
    return shapes


def _up(view: int, edges: dict[str, float], toward: FarEnd) -> list[Shape]:
    """Show which way is above, and the far end where it is above or below."""
    told = "above, the far end" if toward == "above" else "above"
    x = edges["left"] + 8.0
    if view not in (FRONT, RIGHT):
        toward_reader = [circle("way", 14.0, 12.0, 5.0), circle("way head", 14.0, 12.0, 1.6)]
        return [*toward_reader, words("end", 25.0, 16.0, f"{told}: toward you")]
    over, under = edges["over"], edges["under"] + 46.0
    shapes = [*arrow("way", x, over - 12.0, over - 46.0), words("end", x + 10.0, over - 32.0, told)]
    if toward == "below":
        shapes += arrow("way", x, under, under + 24.0)
        shapes.append(words("end", x + 10.0, under + 16.0, "below, the far end"))
    return shapes


def _described(view: int, parts: Parts) -> str:
    return f"{_NAMES[view]}, to scale. " + "; ".join(f"{name}: {of}" for name, of in parts.facts)


def scene_facts(
    geometry: Scene | Box, frequency_hz: float, toward: FarEnd | None = None
) -> tuple[tuple[str, str], ...]:
    """Return name and dimensions of every drawn part, in words, and where the far end is."""
    facts = parts_of(geometry, frequency_hz).facts
    return (*facts, ("far end", toward)) if toward else facts
