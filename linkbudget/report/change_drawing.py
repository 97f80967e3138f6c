"""What would help, as small drawings of one scale: gain against the dimension that changes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from linkbudget.core.quantity import Quantity
from linkbudget.link.reach import reach_gained
from linkbudget.report import wording
from linkbudget.report.strokes import (
    Paper,
    Shape,
    View,
    circle,
    line,
    path,
    rectangle,
    round_steps,
    words,
)

if TYPE_CHECKING:
    from linkbudget.enclosure.sweeps import Change
    from linkbudget.link.rooms import Room

    _Gained = Callable[[Quantity], Quantity]  # metres, of a gain

_WIDTH_PX, _HEIGHT_PX = 320.0, 200.0
_LEFT_PX, _TOP_PX, _PLOT_WIDTH_PX, _PLOT_HEIGHT_PX = 44.0, 16.0, 214.0, 132.0
_MOST_STEPS = 5
_LEAST_SPAN_DB = 2.0


def change_views(
    changes: Sequence[Change], reach: Quantity | None = None, room: Room | None = None
) -> tuple[View, ...]:
    """Draw every change that gains, as it is ranked, with one scale of gain.

    Parameters
    ----------
    changes : sequence of Change
    reach : Quantity, optional
        Reach with the metal [m].
    room : Room, optional
        With both, a scale of what is gained in metres stands on the right.

    Returns
    -------
    tuple of View
        Gain toward the far end [dB] with its band; a square marks today, a ring the best step; it
        stands off the curve where the field solver has settled it.
    """
    drawn = [change for change in changes if change.gains]
    gains = [gain for change in drawn for gain in (*change.gain_db, change.best[1])]
    edges = [edge for gain in gains for edge in gain.band]
    if not edges:
        return ()
    low_db, high_db = min(0.0, *edges), max(0.0, *edges)
    spare_db = max(0.0, _LEAST_SPAN_DB - (high_db - low_db)) / 2.0
    gained = None
    if reach is not None and room is not None:
        gained = partial(reach_gained, room, reach)
    return tuple(_view(one, low_db - spare_db, high_db + spare_db, gained) for one in drawn)


def _view(change: Change, low_db: float, high_db: float, gained: _Gained | None) -> View:
    low, high = float(change.values.min()), float(change.values.max())
    paper = Paper(
        _LEFT_PX,
        _TOP_PX,
        low,
        high_db,
        _PLOT_WIDTH_PX / (high - low or 1.0),
        _PLOT_HEIGHT_PX / (high_db - low_db),
    )
    shapes = [*_scale(paper, low_db, high_db), *_curve(change, paper), *_steps(change, paper)]
    value, best = change.best
    told = f"{best.value:+.1f} dB"
    if gained is not None:
        shapes += _metres(paper, low_db, high_db, gained)
        told += f" and {wording.amount(gained(best))} of reach"
    told += f" at {value:.4g}" + ("" if change.unit == "1" else f" {change.unit}")
    described = f"Gain against {change.dimension}: at best {told}."
    return View(change.name, described, _WIDTH_PX, _HEIGHT_PX, tuple(shapes))


def _scale(paper: Paper, low_db: float, high_db: float) -> list[Shape]:
    shapes = []
    for level_db in round_steps(low_db, high_db, _MOST_STEPS):
        y = paper.y(level_db)
        look = "axis" if level_db == 0.0 else "grid"
        shapes.append(line(look, _LEFT_PX, y, _LEFT_PX + _PLOT_WIDTH_PX, y))
        text = wording.typeset(f"{level_db:+g}" if level_db else "0")
        shapes.append(words("end", _LEFT_PX - 7.0, y + 4.0, text, "end"))
    shapes.append(words("end", 2.0, 11.0, "dB"))
    return shapes


def _metres(paper: Paper, low_db: float, high_db: float, gained: _Gained) -> list[Shape]:
    """Write on the right what each level of the scale adds to the reach."""
    x = _LEFT_PX + _PLOT_WIDTH_PX + 12.0  # clear of a ring
    shapes = []
    for level_db in round_steps(low_db, high_db, _MOST_STEPS):
        added = gained(Quantity(level_db, "dB", "computed"))
        text = wording.typeset(wording.amount(added)) if level_db else "0"
        shapes.append(words("end", x, paper.y(level_db) + 4.0, text))
    return shapes


def _curve(change: Change, paper: Paper) -> list[Shape]:
    order = np.argsort(change.values).tolist()
    at = [paper.x(float(change.values[i])) for i in order]
    gains = [change.gain_db[i] for i in order]
    upper = [(x, paper.y(gain.band[1])) for x, gain in zip(at, gains, strict=True)]
    lower = [(x, paper.y(gain.band[0])) for x, gain in zip(at, gains, strict=True)]
    curve = [(x, paper.y(gain.value)) for x, gain in zip(at, gains, strict=True)]
    value, best = change.best
    x, y = paper.x(value), paper.y(best.value)
    return [
        path("veil", [*upper, *lower[::-1]], closed=True),
        path("curve", curve),
        *(circle("dot", *place, 2.4) for place in curve),
        rectangle("today", paper.x(float(change.values[0])) - 4.0, paper.y(0.0) - 4.0, 8.0, 8.0),
        line("whisker", x, paper.y(best.band[0]), x, paper.y(best.band[1])),
        circle("best", x, y, 6.0),
    ]


def _steps(change: Change, paper: Paper) -> list[Shape]:
    """Write round values of the dimension below, and its name."""
    under = _TOP_PX + _PLOT_HEIGHT_PX
    shapes = []
    low, high = float(change.values.min()), float(change.values.max())
    for value in round_steps(low, high, _MOST_STEPS):
        x = paper.x(value)
        shapes.append(line("axis", x, under, x, under + 4.0))
        shapes.append(words("end", x, under + 17.0, wording.typeset(f"{value:g}"), "middle"))
    unit = f", {change.unit}" if change.unit not in ("", "1") else ""
    middle = _LEFT_PX + _PLOT_WIDTH_PX / 2.0
    shapes.append(words("number", middle, under + 35.0, f"{change.dimension}{unit}", "middle"))
    return shapes
