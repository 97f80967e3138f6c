"""Fields instead of rules of thumb: the user's own plate, tray and board, solved.

Method of moments on wire grids (nec2++ through PyNEC, the optional extra ``fullwave``), in a child
process; two meshes say how sure the answer is; the answers are kept on disk.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.core.errors import InputError, OutOfRange
from linkbudget.enclosure.fullwave.comparison import FieldComparison, LossSplit, Spread
from linkbudget.enclosure.fullwave.mesh import (
    MeshTooLarge,
    least_skirt_m,
    two_meshes,
    without_plate,
)
from linkbudget.enclosure.fullwave.solution import (
    BALANCE_DB,
    FieldSolution,
    MeshSolution,
    Port,
    balanced,
    port_of,
)
from linkbudget.enclosure.fullwave.solver import Job, SolverFailed, available, solve_jobs
from linkbudget.enclosure.geometry import Scene
from linkbudget.physics.propagation import wavelength_m

__all__ = [
    "FieldComparison",
    "FieldSolution",
    "LossSplit",
    "MeshSolution",
    "MeshTooLarge",
    "Port",
    "SolverFailed",
    "Spread",
    "available",
    "compare",
    "require_sound",
    "solve",
]

Progress = Callable[[str], None]

_STEP = 0.1  # share of the middle frequency that two points of the sweep may lie apart
_WIDE_SPAN, _LARGEST_SPAN = 0.5, 1.0  # width of the band over its middle: told, and refused
_WORST_BALANCE_DB = 3.0

_OPENINGS = "The openings of the sheet are not in the solved geometry: a wire grid leaks more."
_PERFECT = "All metal is a perfect conductor, and the sheet has no thickness."
_PLASTIC = (
    "No plastic and no parts on the board are in the solved geometry; plastic that is stated enters"
    " the link budget in a line of its own, as a band."
)


def solve(
    scene: Scene, low_hz: float, high_hz: float, *, progress: Progress | None = None
) -> FieldSolution:
    """Return the fields of an antenna where it stands.

    Parameters
    ----------
    scene : Scene
    low_hz, high_hz : float
        Ends of the band [Hz]; equal for a single frequency.
    progress : callable, optional
        Is told in words what takes time.

    Returns
    -------
    FieldSolution

    Raises
    ------
    InputError
        Where the geometry is impossible; MeshTooLarge where it needs a mesh that is too large, or
        the band more than one.
    MissingData
        Where the field solver is not installed.
    SolverFailed
        Where it crashed, hung or answered nonsense.

    Notes
    -----
    The coarse mesh is swept over the band; the fine one is solved in its middle, and lends the
    sweep its difference there.
    """
    return _solutions(scene, low_hz, high_hz, progress)[0]


def compare(
    scene: Scene, low_hz: float, high_hz: float, *, progress: Progress | None = None
) -> FieldComparison:
    """Return an antenna with its sheet or tray against the same antenna without.

    Parameters
    ----------
    scene : Scene
        With a plate.
    low_hz, high_hz : float
        Ends of the band [Hz]; equal for a single frequency.
    progress : callable, optional
        Is told in words what takes time.

    Returns
    -------
    FieldComparison
        The antenna alone, with its board where it has one, is what "free" means.

    Raises
    ------
    InputError, MissingData, SolverFailed
        As ``solve``; InputError also where the scene has no plate.
    """
    if scene.plate is None:
        raise InputError("a scene without a sheet", "one with a sheet or tray", field="metal")
    return FieldComparison(*_solutions(scene, low_hz, high_hz, progress))


def require_sound(scene: Scene, frequency_hz: float) -> None:
    """Refuse a scene whose parts overlap or stand where none can; a solver is not needed for it.

    Raises
    ------
    InputError
        Naming the parts.
    """
    _require_antenna(scene)
    try:
        two_meshes(scene, frequency_hz)
    except MeshTooLarge:
        return


def _solutions(
    scene: Scene, low_hz: float, high_hz: float, progress: Progress | None
) -> tuple[FieldSolution, FieldSolution]:
    """Return the scene with its metal, and without."""
    frequencies_hz = _sweep_hz(low_hz, high_hz)
    _require_antenna(scene)
    middle_hz = float(frequencies_hz[len(frequencies_hz) // 2])
    scenes = [scene] if scene.plate is None else [scene, replace(scene, plate=None)]
    meshes = [two_meshes(scene, middle_hz)]
    if scene.plate is not None:
        meshes.append(without_plate(scene, middle_hz, meshes[0]))
    jobs = []
    for coarse, fine in meshes:
        jobs.append(Job(coarse, tuple(frequencies_hz.tolist()), middle_hz))
        jobs.append(Job(fine, (middle_hz,), middle_hz))
    answers = solve_jobs(jobs, progress)
    solved = [_mesh_solution(job, answer) for job, answer in zip(jobs, answers, strict=True)]
    ports = [port_of(mesh, scene.antenna.efficiency) for mesh in _lent(*solved[-2:])]
    with_metal, free = (
        FieldSolution(
            each,
            frequencies_hz,
            *_lent(*pair),
            ports[0],
            ports[1],
            _cautions(each, frequencies_hz, middle_hz, *pair),
        )
        for each, pair in ((scenes[0], solved[:2]), (scenes[-1], solved[-2:]))
    )
    return with_metal, free


def _sweep_hz(low_hz: float, high_hz: float) -> FloatArray:
    if not 0.0 < low_hz <= high_hz < float("inf"):
        raise InputError(
            f"a band from {low_hz / 1e9:g} to {high_hz / 1e9:g} GHz",
            "two frequencies, the lower one first",
        )
    middle_hz = round((low_hz + high_hz) / 2.0)
    span = (high_hz - low_hz) / middle_hz
    if span > _LARGEST_SPAN:
        raise MeshTooLarge(
            f"a band from {low_hz / 1e9:g} to {high_hz / 1e9:g} GHz for one mesh",
            "at most three times the lowest frequency",
            "State the bands that are used as radios of their own.",
            field="metal",
        )
    if span == 0.0:
        return np.array([float(middle_hz)])
    points = 1 + 2 * max(1, round(span / (2.0 * _STEP)))
    return np.linspace(low_hz, high_hz, points).round()


def _require_antenna(scene: Scene) -> None:
    antenna = scene.antenna
    if not 0.0 < antenna.efficiency <= 1.0:
        raise OutOfRange("efficiency of the antenna", antenna.efficiency, 0.0, 1.0, field="antenna")
    if scene.plate is not None and antenna.depth_m <= 0.0:
        raise InputError(
            f"an antenna {antenna.depth_m * 1e3:g} mm under the sheet",
            "a depth above zero",
            "Depth counts from the sheet toward the inside of the product.",
            field="depth",
        )
    if scene.plate is not None and scene.board is not None and scene.board.depth_m <= 0.0:
        raise InputError(
            f"a board {scene.board.depth_m * 1e3:g} mm under the sheet",
            "a depth above zero",
            field="board",
        )


def _mesh_solution(job: Job, answer: dict[str, list[list[float]]]) -> MeshSolution:
    pairs = np.array(answer["impedance_ohm"])
    gain = 10.0 ** (np.array(answer["gain_db"]) / 10.0)
    solution = balanced(job.mesh.cell_m, job.mesh.segments, pairs[:, 0] + 1j * pairs[:, 1], gain)
    worst = float(solution.impedance_ohm.real.min())
    if worst <= 0.0 or abs(solution.power_balance_db) > _WORST_BALANCE_DB:
        raise SolverFailed(
            f"answered with radiated power {solution.power_balance_db:+.1f} dB off the accepted"
            f" power, and {worst:.2g} ohm at the feed",
            "Move the antenna a little further from the metal.",
        )
    return solution


def _lent(coarse: MeshSolution, fine: MeshSolution) -> tuple[MeshSolution, MeshSolution]:
    """Return both meshes over the band, the fine one with the coarse one's course."""
    course = coarse.impedance_ohm
    middle = course[len(course) // 2]
    # resistance by its ratio, which cannot turn it negative; reactance by its difference
    resistance = course.real * (fine.impedance_ohm[0].real / middle.real)
    reactance = course.imag + (fine.impedance_ohm[0].imag - middle.imag)
    return coarse, replace(fine, impedance_ohm=resistance + 1j * reactance)


def _cautions(
    scene: Scene,
    frequencies_hz: FloatArray,
    middle_hz: float,
    coarse: MeshSolution,
    fine: MeshSolution,
) -> tuple[str, ...]:
    cautions = [_PERFECT, _PLASTIC]
    if scene.plate is not None and scene.plate.openings:
        cautions.append(_OPENINGS)
    if scene.plate is not None and 0.0 < scene.plate.skirt_m < least_skirt_m(
        wavelength_m(middle_hz)
    ):
        cautions.append(f"A skirt of {scene.plate.skirt_m * 1e3:g} mm is too low to be meshed.")
    span = (frequencies_hz[-1] - frequencies_hz[0]) / middle_hz
    if span > _WIDE_SPAN:
        cautions.append(
            f"The band, {frequencies_hz[0] / 1e9:g} to {frequencies_hz[-1] / 1e9:g} GHz, is wide"
            f" for one antenna and one mesh: gains hold in its middle, {middle_hz / 1e9:g} GHz."
            " State the bands that are used as radios of their own."
        )
    worst_db = max(coarse.power_balance_db, fine.power_balance_db, key=abs)
    if abs(worst_db) > BALANCE_DB:
        cautions.append(
            f"The feed's own figure of the power differs by {worst_db:+.1f} dB from the radiated"
            " power, on which all figures rest: the mesh is coarse at the feed."
        )
    return tuple(cautions)
