"""What would help: for each change that the user allows, what it gains toward the far end.

Closed forms sweep every dimension; the field solver, where it is installed, then settles the best
step of each.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from linkbudget.core.errors import InputError, OutOfRange
from linkbudget.core.quantity import Quantity
from linkbudget.enclosure.bands import metal_bands
from linkbudget.enclosure.box_changes import box_gain, box_sweeps
from linkbudget.enclosure.boxes import box_effect
from linkbudget.enclosure.effect import BAND_MEANING
from linkbudget.enclosure.fullwave import FieldComparison, SolverFailed, available, compare
from linkbudget.enclosure.fullwave.mesh import seconds_to_solve
from linkbudget.enclosure.geometry import (
    AntennaKind,
    Board,
    Box,
    Enclosure,
    FarEnd,
    PlacedAntenna,
    Plate,
    Scene,
)
from linkbudget.enclosure.plate_changes import plate_gain, plate_sweeps
from linkbudget.enclosure.plates import plate_effect, require_possible
from linkbudget.enclosure.sweeps import (
    Allowed,
    Change,
    Sweep,
    gain_quantity,
    limit_of,
    stepped,
)

__all__ = ["Allowed", "Change", "what_would_help"]

SOLVED_METHOD = "method of moments on a wire grid, today against the change, two meshes each"

_MOST_SECONDS = 12.0  # of solving, all changes together; a large sheet leaves the closed forms
_USUAL_CLEARANCE_M = 0.010
_CLEARANCES = 2  # steps of the board's edge
_LEAST_BOARD = 0.3  # share of the ground that must be left
FREE_STANDING: tuple[AntennaKind, ...] = ("half-wave dipole", "short dipole", "chip")
"""Antennas that need no foot on the board, so that its ground may be drawn back."""

_TOO_DEAR = "By closed forms: a sheet this large takes the field solver too long for each change."
_NO_OPENINGS = "The field solver's grid holds no openings."
_BEYOND = "Closed forms do not hold for this sheet ({}; expected {}): {}."
_STEPS_SOLVED = 2  # of each dimension, where nothing but the field solver answers
_CLEARANCE = (
    "The ground ends further from the antenna, over the whole board; the antenna is matched anew to"
    " its board, without the metal."
)

Progress = Callable[[str], None]


def what_would_help(
    enclosure: Enclosure,
    frequency_hz: float,
    toward: FarEnd,
    *,
    allowed: Allowed | None = None,
    scene: Scene | None = None,
    fields: FieldComparison | None = None,
    solve: bool = True,
    progress: Progress | None = None,
) -> tuple[Change, ...]:
    """Return what each change of the metal would gain, as far as it is allowed.

    Parameters
    ----------
    enclosure : Plate, Box or StatedAttenuation
        As it is today.
    frequency_hz : float
        Frequency [Hz].
    toward : {"above", "beside", "below", "anywhere"}
    allowed : Allowed, optional
        How far each dimension may go; what is usual where nobody said.
    scene : Scene, optional
        Of the plate, for the field solver; without it closed forms alone.
    fields : FieldComparison, optional
        That scene as solved already; solved here where it is missing.
    solve : bool
        Whether the field solver is asked, where it is installed.
    progress : callable, optional
        Is told in words what takes time.

    Returns
    -------
    tuple of Change
        First what surely gains, then what typically does, by the typical gain; then what gains
        nothing, what no model holds, and what the user rules out. None for a stated attenuation,
        whose geometry is not known. On a plate without openings each best step is solved as far as
        time allows, where the field solver is installed, but for the window; the board's clearance,
        which has no closed form, at every step. A plate beyond the closed forms has a few steps
        of each dimension solved; what is not told says why.

    Raises
    ------
    InputError, MissingData, OutOfRange
        Where the enclosure is impossible, or a box lies beyond the closed forms.

    Examples
    --------
    >>> from linkbudget.enclosure.geometry import Metal
    >>> lid = Plate(0.18, 0.12, 0.0015, Metal("aluminium", 3.5e7), 0.005, 0.06)
    >>> best = what_would_help(lid, 2.44e9, "above")[0]
    >>> best.name, f"{best.best[0]:.0f} {best.unit}: {best.best[1].value:.0f} dB"
    ('antenna moved toward the edge of the sheet, or past it', '-10 mm: 18 dB')
    """
    may = allowed or Allowed()
    changes: list[Change] = []
    if isinstance(enclosure, Plate):
        solver = None
        if scene is not None and solve and available():
            solver = _Solver(scene, enclosure, frequency_hz, toward, fields, progress)
        try:
            found = _of_plate(enclosure, frequency_hz, toward, may)
        except OutOfRange as beyond:
            changes = _solved_alone(enclosure, frequency_hz, may, solver, beyond)
        else:
            changes = _settled(found, solver) if solver else [change for change, _ in found]
        if scene is not None:
            changes += _clearance(scene, solver, may.clearance_m)
    elif isinstance(enclosure, Box):
        changes = _of_box(enclosure, frequency_hz, toward, may)
    return tuple(sorted(changes, key=_rank))


def _rank(change: Change) -> tuple[bool, bool, bool, bool, float]:
    """Order by what is sure, so that a wide band is no merit; then by the typical gain."""
    nothing_tried = change.ruled_out, change.untold
    return not change.sure, not change.gains, *nothing_tried, -change.best[1].value


def _of_plate(
    plate: Plate, frequency_hz: float, toward: FarEnd, allowed: Allowed
) -> list[tuple[Change, Plate]]:
    plate_effect(plate, frequency_hz, toward)  # refused as it is, before any step is
    return [
        stepped(sweep, lambda changed: plate_gain(plate, changed, frequency_hz, toward))
        for sweep in plate_sweeps(plate, frequency_hz, allowed)
    ]


def _solved_alone(
    plate: Plate, frequency_hz: float, allowed: Allowed, solver: _Solver | None, beyond: OutOfRange
) -> list[Change]:
    """Return the changes of a plate that closed forms do not hold, by the field solver alone."""
    require_possible(plate)
    told = "solved at a few steps" if solver else "the field solver alone would tell"
    note = _BEYOND.format(beyond.found, beyond.expected, told)

    def gain(changed: Plate) -> Quantity:
        if changed == plate:
            return Quantity(0.0, "dB", "computed", 0.0, 0.0, SOLVED_METHOD, BAND_MEANING)
        if solver is None or changed.openings or not solver.has_time():
            raise InputError("a change that the field solver does not answer for", "another")
        try:
            return solver.gain(changed_scene(solver.scene, plate, changed))
        except SolverFailed as error:
            raise InputError(f"a field solver that {error.what}", "an answer") from None

    sweeps = plate_sweeps(plate, frequency_hz, allowed, closed_forms=False)
    found = (stepped(sweep.thinned(_STEPS_SOLVED), gain)[0] for sweep in sweeps)
    return [replace(one, method="solved", notes=(note, *one.notes)) for one in found]


def _of_box(box: Box, frequency_hz: float, toward: FarEnd, allowed: Allowed) -> list[Change]:
    box_effect(box, frequency_hz, toward)
    return [
        stepped(sweep, lambda changed: box_gain(box, changed, frequency_hz, toward))[0]
        for sweep in box_sweeps(box, frequency_hz, toward, allowed)
    ]


@dataclass
class _Solver:
    """Solves changed scenes and holds them against today's, which is solved once."""

    scene: Scene
    plate: Plate
    frequency_hz: float
    toward: FarEnd
    fields: FieldComparison | None
    progress: Progress | None
    seconds_left: float = _MOST_SECONDS

    def today(self) -> FieldComparison:
        """Return the scene as it is, solved once."""
        if self.fields is None:
            self.fields = compare(
                self.scene, self.frequency_hz, self.frequency_hz, progress=self.progress
            )
        return self.fields

    def has_time(self) -> bool:
        """Book one more solve, as dear as today's; False where that takes too long."""
        metal = self.today().with_metal
        self.seconds_left -= sum(
            seconds_to_solve(mesh.segments) for mesh in (metal.coarse, metal.fine)
        )
        return self.seconds_left >= 0.0

    def gain(self, changed: Scene) -> Quantity:
        """Return what a changed scene gains toward the far end, as is [dB].

        Notes
        -----
        Against the source, not against each scene's own free antenna: a change of the board changes
        that as well. What neither scene holds, plastic and a hand, counts once.
        """
        today = self.today()
        swept = today.with_metal.frequencies_hz
        middle_hz = float(swept[len(swept) // 2])
        then = compare(changed, middle_hz, middle_hz, progress=self.progress)
        today_db, then_db = (self._toward_dbi(each) for each in (today, then))
        value = then_db.value - today_db.value
        bands = metal_bands()
        fade = min(1.0, abs(value) / bands["plate_change_fade"].value)
        left_out = bands["solved_left_out"]
        mesh_db = [each.band[1] - each.value for each in (today_db, then_db)]
        doubts = [*mesh_db, *(-one for one in mesh_db), fade * left_out.low, fade * left_out.high]
        return gain_quantity(value, doubts, SOLVED_METHOD)

    def _toward_dbi(self, fields: FieldComparison) -> Quantity:
        radiated = fields.radiated_of_available()
        directivity = fields.with_metal.directivity(self.toward)
        value = radiated.value + directivity.value
        half = math.hypot(
            radiated.band[1] - radiated.value, directivity.band[1] - directivity.value
        )
        return Quantity(value, "dBi", "computed", value - half, value + half, SOLVED_METHOD)


def _settled(found: list[tuple[Change, Plate]], solver: _Solver) -> list[Change]:
    """Return the changes, those that gain and that the wire grid can hold solved, best first."""
    order = sorted(found, key=lambda one: -one[0].best[1].value)
    return [_solved(change, plate, solver) if change.gains else change for change, plate in order]


def _solved(change: Change, plate: Plate, solver: _Solver) -> Change:
    # beside an opening the edge carries only part of the power, and the grid has no openings
    if plate.openings:
        return replace(change, notes=(*change.notes, _NO_OPENINGS))
    try:
        if not solver.has_time():
            return replace(change, notes=(*change.notes, _TOO_DEAR))
        gain = solver.gain(changed_scene(solver.scene, solver.plate, plate))
    except (InputError, SolverFailed) as error:
        note = f"By closed forms, since the field solver did not answer: {error}"
        return replace(change, notes=(*change.notes, note))
    return replace(change, best=(change.best[0], gain), method="solved")


def changed_scene(scene: Scene, today: Plate, changed: Plate) -> Scene:
    """Return a scene with a changed plate over it; antenna and board move together.

    Parameters
    ----------
    scene : Scene
        With the plate as it is today.
    today, changed : Plate

    Returns
    -------
    Scene
        Deeper by the change of depth, and toward the nearest edge by the change of that distance.
    """
    deeper_m = changed.depth_m - today.depth_m
    outward_m = today.edge_distance_m - changed.edge_distance_m
    antenna = scene.antenna
    gaps_m = (
        today.length_m / 2.0 - abs(antenna.x_m) - today.edge_distance_m,
        today.width_m / 2.0 - abs(antenna.y_m) - today.edge_distance_m,
    )
    by_length = abs(gaps_m[0]) < abs(gaps_m[1]) - 1e-9
    x_m = math.copysign(outward_m, antenna.x_m) if by_length else 0.0
    y_m = 0.0 if by_length else math.copysign(outward_m, antenna.y_m)
    board = scene.board and replace(
        scene.board,
        x_m=scene.board.x_m + x_m,
        y_m=scene.board.y_m + y_m,
        depth_m=scene.board.depth_m + deeper_m,
    )
    moved = replace(
        antenna, x_m=antenna.x_m + x_m, y_m=antenna.y_m + y_m, depth_m=antenna.depth_m + deeper_m
    )
    return Scene(moved, board, changed)


def _clearance(scene: Scene, solver: _Solver | None, stated_m: float | None) -> list[Change]:
    """Return what drawing back the board's ground brings; fields alone can tell."""
    antenna, board = scene.antenna, scene.board
    if board is None or antenna.kind not in FREE_STANDING:
        return []
    sweep = _clearance_sweep(scene, antenna, board, stated_m)
    try:
        change, _ = stepped(sweep, lambda changed: _clearance_gain(changed, scene, solver))
    except SolverFailed:
        change, _ = stepped(sweep, lambda changed: _clearance_gain(changed, scene, None))
    return [replace(change, method="solved")]


def _clearance_sweep(
    scene: Scene, antenna: PlacedAntenna, board: Board, stated_m: float | None
) -> Sweep[Scene]:
    most_m, kind = limit_of(stated_m, _USUAL_CLEARANCE_M)
    axis = _across(antenna, board)
    clear_m = _clear_m(antenna, board, axis)
    size_m = (board.length_m, board.width_m)[axis]
    asked_m = np.linspace(0.0, most_m, _CLEARANCES + 1).tolist() if most_m else [0.0]
    steps = tuple(
        ((clear_m + m) * 1e3, replace(scene, board=_drawn_back(board, antenna, axis, m)))
        for m in asked_m
        if m <= (1.0 - _LEAST_BOARD) * size_m
    )
    return Sweep(
        "ground of the board drawn back from the antenna",
        "clearance from antenna to ground",
        "mm",
        steps,
        (clear_m + most_m) * 1e3,
        kind,
        len(asked_m) - len(steps),
        (_CLEARANCE,),
    )


def _clearance_gain(changed: Scene, today: Scene, solver: _Solver | None) -> Quantity:
    if changed == today:
        return Quantity(0.0, "dB", "computed", 0.0, 0.0, SOLVED_METHOD, BAND_MEANING)
    if solver is None or not solver.has_time():
        raise InputError("a sheet that the field solver does not answer for", "a smaller one")
    return solver.gain(changed)


def _across(antenna: PlacedAntenna, board: Board) -> int:
    """Return the axis along which the ground is drawn back: across the antenna."""
    if antenna.along == "upright":
        return max((0, 1), key=lambda axis: _clear_m(antenna, board, axis))
    return 1 if antenna.along == "length" else 0


def _clear_m(antenna: PlacedAntenna, board: Board, axis: int) -> float:
    """Return how far the antenna stands outside the board's edge [m]; negative over the ground."""
    off_m = (antenna.x_m - board.x_m, antenna.y_m - board.y_m)[axis]
    return abs(off_m) - (board.length_m, board.width_m)[axis] / 2.0


def _drawn_back(board: Board, antenna: PlacedAntenna, axis: int, by_m: float) -> Board:
    if by_m == 0.0:
        return board
    if axis == 0:
        x_m = board.x_m - math.copysign(by_m / 2.0, antenna.x_m - board.x_m)
        return replace(board, length_m=board.length_m - by_m, x_m=x_m)
    y_m = board.y_m - math.copysign(by_m / 2.0, antenna.y_m - board.y_m)
    return replace(board, width_m=board.width_m - by_m, y_m=y_m)
