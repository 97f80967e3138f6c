"""A scene as wires: how fine, and whether the geometry is possible, before the solver sees it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

from linkbudget.core.errors import InputError
from linkbudget.enclosure.fullwave.grids import Sheet, sheet_segments, sheet_wires
from linkbudget.enclosure.fullwave.radiators import Radiator, radiator
from linkbudget.enclosure.fullwave.wires import Solid, Wire, point, solid_between
from linkbudget.enclosure.geometry import Scene
from linkbudget.physics.propagation import wavelength_m
from linkbudget.physics.validity import require_positive

MOST_SEGMENTS = 4000
"""Unknowns of the largest mesh that is solved: 256 MB and half a minute a frequency."""

_FEW_SEGMENTS = (
    700  # so few cost a quarter of a second: small metal is meshed finer than it must be
)
_SMALLEST_CELL = 1.0 / 40.0  # [wavelengths]
FINE_CELL, COARSE_CELL = 1.0 / 18.0, 1.0 / 13.0  # [wavelengths]
_LARGEST_FINE_CELL = 1.0 / 10.0  # a tenth of a wavelength is the coarsest usual grid [wavelengths]
_CELLS_PER_GAP = 2.0  # an antenna sees single wires where it is nearer than half a cell
_CELLS_PER_LENGTH = 0.25  # a short antenna that near needs cells that follow its charges
_LEAST_GAP = 1.0 / 100.0  # 1.2 mm at 2.44 GHz: two radii of the antenna's wire [wavelengths]


class MeshTooLarge(InputError):
    """The geometry is sound, but the solver would need more than it may take."""


@dataclass(frozen=True, slots=True)
class Mesh:
    """What the solver gets: wires, the first of which is fed.

    Parameters
    ----------
    wires : tuple of Wire
    feed_segment : int
        Segment of the first wire with the source in it, counted from 1.
    cell_m : float
        Wanted cell of its grids [m].
    """

    wires: tuple[Wire, ...]
    feed_segment: int
    cell_m: float

    @property
    def segments(self) -> int:
        """Number of unknowns."""
        return sum(wire.segments for wire in self.wires)


@lru_cache(maxsize=16)  # every radio of a product is solved in the same scene
def two_meshes(scene: Scene, frequency_hz: float) -> tuple[Mesh, Mesh]:
    """Return a coarse and a fine mesh of a scene, after its geometry has been checked.

    Parameters
    ----------
    scene : Scene
    frequency_hz : float
        In the middle of the band [Hz].

    Returns
    -------
    tuple of Mesh
        Coarse, fine. Cells of 1/13 and 1/18 wavelength, less where the antenna is close to metal or
        the metal small, more (fine at most 1/10) where the sheets are large.

    Raises
    ------
    InputError
        Where parts overlap, are closer than the wires can tell, or need too many segments.
    """
    wavelength = wavelength_m(frequency_hz)
    aerial = radiator(scene.antenna, scene.board, wavelength)
    sheets = _sheets(scene, aerial, wavelength)
    finest_m = _finest_cell_m(aerial, _require_clear(aerial, sheets, wavelength))
    ratio = COARSE_CELL / FINE_CELL
    fine_m = min(FINE_CELL * wavelength, finest_m / ratio, _affordable_cell_m(sheets, wavelength))
    largest_m = min(_LARGEST_FINE_CELL * wavelength, finest_m / ratio)
    fine = _mesh(aerial, sheets, _allowed_cell_m(aerial, sheets, fine_m, largest_m, frequency_hz))
    coarse = _mesh(aerial, sheets, fine.cell_m * ratio)
    while sheets and fine.segments <= coarse.segments:
        fine = _mesh(aerial, sheets, fine.cell_m * 0.95)  # so small that both were one
    return coarse, fine


def without_plate(
    scene: Scene, frequency_hz: float, meshes: tuple[Mesh, Mesh]
) -> tuple[Mesh, Mesh]:
    """Return the meshes of a scene less its plate, the board in the same cells.

    What the cells get wrong at the antenna's feed then drops out of the comparison.
    """
    bare = replace(scene, plate=None)
    coarse, fine = (_bare_mesh(bare, frequency_hz, mesh.cell_m) for mesh in meshes)
    return coarse, fine


@lru_cache(maxsize=32)
def _bare_mesh(bare: Scene, frequency_hz: float, cell_m: float) -> Mesh:
    wavelength = wavelength_m(frequency_hz)
    aerial = radiator(bare.antenna, bare.board, wavelength)
    return _mesh(aerial, _sheets(bare, aerial, wavelength), cell_m)


def _finest_cell_m(aerial: Radiator, gap_m: float) -> float:
    """Return the largest cell that still tells what is near; none finer than the gap is needed."""
    length_m = sum(wire.length_m for wire in aerial.wires) * (2.0 if aerial.feet else 1.0)
    return max(gap_m, min(_CELLS_PER_GAP * gap_m, _CELLS_PER_LENGTH * length_m))


def _affordable_cell_m(sheets: list[Sheet], wavelength: float) -> float:
    """Return the cell of a mesh that costs next to nothing [m]: two wires a cell."""
    area_m2 = sum(
        sheet.length_m * sheet.width_m + 2.0 * sheet.skirt_m * (sheet.length_m + sheet.width_m)
        for sheet in sheets
    )
    return max(_SMALLEST_CELL * wavelength, math.sqrt(2.0 * area_m2 / _FEW_SEGMENTS))


def seconds_to_solve(segments: int) -> float:
    """Return roughly how long one frequency takes: filling goes by the square, solving by the cube.

    Examples
    --------
    >>> round(seconds_to_solve(4000))
    34
    """
    return 1e-7 * segments**2 + 5e-10 * segments**3


def least_skirt_m(wavelength: float) -> float:
    """Return the lowest skirt that the wires can follow; a lower one is left out [m]."""
    return _LEAST_GAP * wavelength


def bytes_to_solve(segments: int) -> int:
    """Return the memory of the matrix: a complex number for each pair of segments [byte].

    Examples
    --------
    >>> bytes_to_solve(4000)
    256000000
    """
    return 16 * segments**2


def _sheets(scene: Scene, aerial: Radiator, wavelength: float) -> list[Sheet]:
    """Return the plate and the board, their grids laid through the antenna's middle or feet."""
    sheets = []
    if scene.plate is not None:
        plate = scene.plate
        require_positive("length of the sheet (m)", plate.length_m)
        require_positive("width of the sheet (m)", plate.width_m)
        under = (scene.antenna.x_m, scene.antenna.y_m)
        skirt_m = plate.skirt_m if plate.skirt_m >= least_skirt_m(wavelength) else 0.0
        anchors = (under,) if _well_inside(under, plate.length_m, plate.width_m) else ()
        sheets.append(
            Sheet("the sheet", plate.length_m, plate.width_m, skirt_m=skirt_m, anchors=anchors)
        )
    if scene.board is not None:
        board = scene.board
        require_positive("length of the board (m)", board.length_m)
        require_positive("width of the board (m)", board.width_m)
        middle = (board.x_m, board.y_m, -board.depth_m)
        sheets.append(
            Sheet("the board", board.length_m, board.width_m, *middle, anchors=aerial.feet)
        )
    return sheets


def _well_inside(place: tuple[float, float], length_m: float, width_m: float) -> bool:
    # a grid line is drawn through the antenna only where that leaves no sliver at the edge
    margin = 0.1
    return abs(place[0]) < (0.5 - margin) * length_m and abs(place[1]) < (0.5 - margin) * width_m


def _mesh(aerial: Radiator, sheets: list[Sheet], cell_m: float) -> Mesh:
    grids = [wire for sheet in sheets for wire in sheet_wires(sheet, cell_m)]
    wires = (*aerial.wires, *grids)
    if len({frozenset((wire.start, wire.stop)) for wire in wires}) < len(wires):
        raise InputError(
            "two wires in one place",
            "one",
            "Move the antenna or the board a little.",
            field="metal",
        )
    return Mesh(wires, aerial.feed_segment, cell_m)


def _allowed_cell_m(
    aerial: Radiator, sheets: list[Sheet], fine_m: float, largest_m: float, frequency_hz: float
) -> float:
    """Return the wanted cell, or the smallest above it that can be solved [m]; no wire is made.

    Raises
    ------
    MeshTooLarge
        Where even the largest cell makes too many segments.
    """
    own = sum(wire.segments for wire in aerial.wires)

    def segments(cell_m: float) -> int:
        return own + sum(sheet_segments(sheet, cell_m) for sheet in sheets)

    if segments(fine_m) <= MOST_SEGMENTS:
        return fine_m
    least = segments(largest_m)
    if least > MOST_SEGMENTS:
        raise _too_large(least, largest_m, frequency_hz)
    cell_m = fine_m
    while segments(cell_m) > MOST_SEGMENTS:
        cell_m = min(largest_m, cell_m * 1.05)
    return cell_m


def _require_clear(aerial: Radiator, sheets: list[Sheet], wavelength: float) -> float:
    """Return the smallest gap that the mesh must tell [m]; refuse what is in one place."""
    metal = {sheet.name: _faces(sheet) for sheet in sheets}
    gaps = [math.inf]
    for wire in aerial.wires:
        antenna = solid_between("the antenna", wire.start, wire.stop)
        for name, faces in metal.items():
            ours = [f for f in faces if not (name == "the board" and _stands_on(wire, f, aerial))]
            gaps += [_gap_m(antenna, face, wavelength) for face in ours]
    if len(metal) > 1:
        board = metal["the board"][0]
        gaps += [_gap_m(board, face, wavelength) for face in metal["the sheet"]]
    return min(gaps)


def _stands_on(wire: Wire, face: Solid, aerial: Radiator) -> bool:
    """Tell whether a wire may touch the board: it has an end on a foot, and only that end."""
    ends = (wire.start, wire.stop)
    down = [end for end in ends if end[2] == face.low[2] and end[:2] in aerial.feet]
    if len(down) != 1:
        return False
    other = ends[1] if down[0] is ends[0] else ends[0]
    return solid_between("", other, other).gap_m(face) > 0.0


def _gap_m(one: Solid, other: Solid, wavelength: float) -> float:
    gap_m = one.gap_m(other)
    least_m = _LEAST_GAP * wavelength
    names = (one.name, other.name)
    field = "board" if "the board" in names else "place" if "the skirt" in names else "depth"
    if gap_m == 0.0:
        raise InputError(
            f"{one.name} inside or across {other.name}",
            "a gap between them",
            "Look at depth, place, direction and length of both.",
            field=field,
        )
    if gap_m < least_m * (1.0 - 1e-9):
        raise MeshTooLarge(
            f"{one.name} {gap_m * 1e3:.2f} mm from {other.name}",
            f"at least {least_m * 1e3:.2f} mm, a hundredth of a wavelength: the field solver's"
            " wires have a thickness",
            "Move them apart, or measure.",
            field=field,
        )
    return gap_m


def _faces(sheet: Sheet) -> list[Solid]:
    x, y = sheet.length_m / 2.0, sheet.width_m / 2.0
    low = point(sheet.x_m - x, sheet.y_m - y, sheet.z_m)
    high = point(sheet.x_m + x, sheet.y_m + y, sheet.z_m)
    faces = [Solid(sheet.name, low, high)]
    if sheet.skirt_m > 0.0:
        deep = Solid("the skirt", point(*low[:2], sheet.z_m - sheet.skirt_m), high)
        faces += [
            replace(deep, high=point(low[0], high[1], high[2])),
            replace(deep, low=point(high[0], low[1], deep.low[2])),
            replace(deep, high=point(high[0], low[1], high[2])),
            replace(deep, low=point(low[0], high[1], deep.low[2])),
        ]
    return faces


def _too_large(segments: int, cell_m: float, frequency_hz: float) -> MeshTooLarge:
    megabytes = bytes_to_solve(segments) / 1e6
    return MeshTooLarge(
        f"metal that needs {segments} segments in cells of {cell_m * 1e3:.1f} mm:"
        f" {megabytes:.0f} MB and about {seconds_to_solve(segments):.0f} s a frequency"
        f" at {frequency_hz / 1e9:g} GHz",
        f"at most {MOST_SEGMENTS} segments",
        "Give only the metal within two wavelengths of the antenna, or more room between antenna"
        " and metal.",
        field="metal",
    )
