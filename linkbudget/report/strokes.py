"""Line drawings of our own: shapes for an inline SVG, and dimensions as on a workshop drawing.

A shape holds numbers, the name of its look in the style sheet, and at most one text; the page
writes and escapes it. Colours, and so light, dark and paper, are the style sheet's.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

LETTER_PX = 6.6  # mean width of a letter at the size of the drawings
_TICK_PX = 4.0
_CLEAR_PX = 4.0  # between a dimension and its text, or its extension line and the part

Tag = Literal["line", "rect", "circle", "ellipse", "polyline", "polygon", "text"]
Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True, slots=True)
class Shape:
    """One element of a drawing.

    Parameters
    ----------
    tag : str
        Element of SVG.
    look : str
        Classes of the style sheet.
    at : tuple of (str, str)
        Attributes of its geometry.
    text : str
        For an element "text".
    """

    tag: Tag
    look: str
    at: tuple[tuple[str, str], ...]
    text: str = ""


@dataclass(frozen=True, slots=True)
class View:
    """One drawing, ready for the page.

    Parameters
    ----------
    name, described : str
        Its heading, and what it shows, in words.
    width_px, height_px : float
    shapes : tuple of Shape
        The first one lies at the bottom.
    """

    name: str
    described: str
    width_px: float
    height_px: float
    shapes: tuple[Shape, ...]


@dataclass(frozen=True, slots=True)
class Paper:
    """Where a place in the drawn plane lies on the screen.

    Parameters
    ----------
    left, top : float
        Place of the upper left corner of what is drawn [px].
    low_x, high_y : float
        The same corner in the unit of what is drawn.
    x_scale, y_scale : float
        Pixels per unit; equal where a drawing is to scale.
    """

    left: float
    top: float
    low_x: float
    high_y: float
    x_scale: float
    y_scale: float

    def x(self, value: float) -> float:
        """Return the pixel of a place to the right."""
        return self.left + (value - self.low_x) * self.x_scale

    def y(self, value: float) -> float:
        """Return the pixel of a place upward."""
        return self.top + (self.high_y - value) * self.y_scale


def line(look: str, x1: float, y1: float, x2: float, y2: float) -> Shape:
    """Return a straight line between two pixels."""
    return Shape("line", look, _attributes(x1=x1, y1=y1, x2=x2, y2=y2))


def rectangle(look: str, x: float, y: float, width: float, height: float) -> Shape:
    """Return a rectangle by its upper left corner [px]."""
    return Shape("rect", look, _attributes(x=x, y=y, width=width, height=height))


def circle(look: str, x: float, y: float, radius: float) -> Shape:
    """Return a circle round a pixel."""
    return Shape("circle", look, _attributes(cx=x, cy=y, r=radius))


def ellipse(look: str, x: float, y: float, across: float, upright: float) -> Shape:
    """Return an ellipse round a pixel, by its half axes [px]."""
    return Shape("ellipse", look, _attributes(cx=x, cy=y, rx=across, ry=upright))


def path(
    look: str, places: Sequence[tuple[float, float]], *, closed: bool = False, text: str = ""
) -> Shape:
    """Return a line through pixels, or the area inside them."""
    points = " ".join(f"{_short(x)},{_short(y)}" for x, y in places)
    return Shape("polygon" if closed else "polyline", look, (("points", points),), text)


def words(look: str, x: float, y: float, text: str, anchor: Anchor = "start") -> Shape:
    """Return a text whose baseline starts, is centred or ends at a pixel."""
    return Shape("text", look, (*_attributes(x=x, y=y), ("text-anchor", anchor)), text)


def round_steps(low: float, high: float, most: float) -> tuple[float, ...]:
    """Return round places between two values, in steps of 1, 2 or 5 and a power of ten.

    Examples
    --------
    >>> round_steps(-10.0, 60.0, 5.0), round_steps(61.0, 61.4, 3.0)
    ((0.0, 20.0, 40.0, 60.0), (61.0, 61.2, 61.4))
    """
    least = (high - low) / most or 1.0
    power = 10.0 ** math.floor(math.log10(least))
    step = next(mark * power for mark in (1.0, 2.0, 5.0, 10.0) if mark * power >= least * 0.999)
    first, last = math.ceil(low / step - 1e-6), math.floor(high / step + 1e-6)
    return tuple(round(number * step, 9) + 0.0 for number in range(first, last + 1))


def arrow(look: str, x: float, y: float, to_y: float) -> tuple[Shape, ...]:
    """Return an upright arrow between two heights [px]."""
    back = 7.0 if to_y < y else -7.0
    head = [(x, to_y), (x - 4.0, to_y + back), (x + 4.0, to_y + back)]
    return line(look, x, y, x, to_y + back / 2.0), path(f"{look} head", head, closed=True)


def dimension_across(
    x1: float, x2: float, part_y: float, line_y: float, text: str
) -> tuple[Shape, ...]:
    """Return a dimension along a row of pixels, its text above the line or beside it.

    Parameters
    ----------
    x1, x2 : float
        Ends of what is measured [px], in any order.
    part_y, line_y : float
        Height of the part and of the dimension line [px].
    text : str
        Its number, in mm.
    """
    low, high = sorted((x1, x2))
    beyond = _CLEAR_PX if line_y > part_y else -_CLEAR_PX
    shapes = [line("extension", x, part_y + beyond, x, line_y + beyond) for x in (low, high)]
    shapes += [line("measure", low, line_y, high, line_y)]
    shapes += [_slash(x, line_y) for x in (low, high)]
    if high - low > LETTER_PX * len(text) + 4.0:
        shapes.append(words("number", (low + high) / 2.0, line_y - _CLEAR_PX, text, "middle"))
    else:
        shapes.append(words("number", high + 1.5 * _CLEAR_PX, line_y + 4.0, text))
    return tuple(shapes)


def dimension_upright(
    y1: float, y2: float, part_x: float, line_x: float, text: str
) -> tuple[Shape, ...]:
    """Return a dimension along a column of pixels, its text beside the line, away from the part."""
    low, high = sorted((y1, y2))
    right = line_x > part_x
    beyond = _CLEAR_PX if right else -_CLEAR_PX
    shapes = [line("extension", part_x + beyond, y, line_x + beyond, y) for y in (low, high)]
    shapes += [line("measure", line_x, low, line_x, high)]
    shapes += [_slash(line_x, y) for y in (low, high)]
    beside = line_x + 2.25 * beyond
    middle = (low + high) / 2.0 + 4.0
    shapes.append(words("number", beside, middle, text, "start" if right else "end"))
    return tuple(shapes)


def _slash(x: float, y: float) -> Shape:
    return line("measure tick", x - _TICK_PX, y + _TICK_PX, x + _TICK_PX, y - _TICK_PX)


def _attributes(**values: float) -> tuple[tuple[str, str], ...]:
    return tuple((name, _short(value)) for name, value in values.items())


def _short(value: float) -> str:
    return f"{round(value, 1) + 0.0:g}"
