"""Rows of the tables that stand behind the metal: solved fields, a box, a measurement, changes.

A change is a gain, negative where the metal weakens; a loss is positive where it weakens.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from linkbudget.core.quantity import Quantity
from linkbudget.enclosure.fullwave.sides import Side
from linkbudget.enclosure.fullwave.solution import two_mesh_quantity
from linkbudget.enclosure.measured import AS_MEASURED
from linkbudget.report import wording

if TYPE_CHECKING:
    from linkbudget.enclosure.box_report import BoxMode, BoxReport
    from linkbudget.enclosure.fullwave import FieldComparison, FieldSolution, MeshSolution, Port
    from linkbudget.enclosure.fullwave.comparison import Match
    from linkbudget.enclosure.geometry import FarEnd
    from linkbudget.enclosure.measured import MeasuredMetal
    from linkbudget.enclosure.sweeps import Change, LimitKind
    from linkbudget.results import VariantLink

CHANGES_HEADING = "What would help, the surest first: gain toward the far end"
MOST_MODES = 12
TOGETHER = "all of it"
_SHARES = ("10 %", "half", "90 %")
_TWO_MESHES = "difference of two meshes"


@dataclass(frozen=True, slots=True)
class FieldRow:
    """One line of a table of solved fields.

    Parameters
    ----------
    name : str
    free, as_is, rematched : Quantity or None
        Without the metal, with it, and with it and a matching network; None: has no meaning.
    is_total : bool
        Whether the eye should find it first.
    """

    name: str
    free: Quantity | None
    as_is: Quantity | None
    rematched: Quantity | None
    is_total: bool = False


@dataclass(frozen=True, slots=True)
class MeshRow:
    """One mesh of the solver: what it stands for, its cell [m], its unknowns, its balance [dB]."""

    name: str
    cell_m: float
    segments: int
    power_balance_db: float


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """One change: what would be done, from which value to which, what it gains, and how sure.

    `step` and `limit`, how far it may go, are printed; `reach` is what it adds [m].
    """

    name: str
    dimension: str
    step: str
    limit: str
    limit_kind: LimitKind
    gain: Quantity
    reach: Quantity | None
    method: str
    notes: tuple[str, ...]


def far_end(link: VariantLink) -> FarEnd:
    """Return the side on which the far end is, as far as it is known."""
    return link.metal.toward if link.metal is not None else "anywhere"


def estimate_notes(link: VariantLink) -> tuple[str, ...]:
    """Return where solved fields and a box end; marked where a measurement stands before them."""
    notes = () if link.fields is None else link.fields.cautions
    notes += () if link.box is None else link.box.cautions
    if link.metal is None or link.metal.dominant != AS_MEASURED:
        return notes
    return tuple(f"Of the estimate, not of what was measured: {note}" for note in notes)


def port_rows(fields: FieldComparison) -> list[FieldRow]:
    """Return impedance and accepted power at the antenna's port, at the middle of the band."""
    middle = len(fields.frequencies_hz) // 2

    def accepted(match: Match) -> Quantity:
        share = 100.0 * float(fields.accepted_share(match)[middle])
        source = fields.network if match == "re-matched" else "source that suits the free antenna"
        return Quantity(share, "%", "computed", source=source)

    whole = Quantity(100.0, "%", "computed", source="source that suits the free antenna")
    free, metal = fields.without_metal, fields.with_metal
    return [
        FieldRow("feed resistance", _ohm(free, _resistance), _ohm(metal, _resistance), None),
        FieldRow("feed reactance", _ohm(free, _reactance), _ohm(metal, _reactance), None),
        FieldRow("power into the antenna", whole, accepted("as is"), accepted("re-matched")),
    ]


def _resistance(mesh: MeshSolution, port: Port, solution: FieldSolution) -> float:
    return _seen(mesh, port, solution).real


def _reactance(mesh: MeshSolution, port: Port, solution: FieldSolution) -> float:
    return _seen(mesh, port, solution).imag


def _seen(mesh: MeshSolution, port: Port, solution: FieldSolution) -> complex:
    seen = port.impedance_ohm(mesh.impedance_ohm, solution.frequencies_hz)
    return complex(seen[len(seen) // 2])


def _ohm(
    solution: FieldSolution, of: Callable[[MeshSolution, Port, FieldSolution], float]
) -> Quantity:
    coarse = of(solution.coarse, solution.coarse_port, solution)
    fine = of(solution.fine, solution.fine_port, solution)
    return replace(two_mesh_quantity(coarse, fine, "ohm", 0.0), coverage=_TWO_MESHES)


def side_rows(fields: FieldComparison, toward: FarEnd) -> list[FieldRow]:
    """Return how the metal changes the power on every side, and over the far end's directions."""
    rows = [
        FieldRow("total radiated power", None, *_both(fields.total_radiated)),
        *(
            FieldRow(f"mean gain {side}", None, *_both(_mean_of(fields, side)), side == toward)
            for side in _sides()
        ),
        FieldRow("gain straight up", None, *_both(fields.gain_above)),
    ]
    spread = {match: fields.spread(toward, match) for match in ("as is", "re-matched")}
    parts = zip(*((one.low, one.middle, one.high) for one in spread.values()), _SHARES, strict=True)
    return rows + [
        FieldRow(f"{share} of directions stay under", None, as_is, rematched)
        for as_is, rematched, share in parts
    ]


def _sides() -> tuple[Side, ...]:
    return ("above", "beside", "below")


def _mean_of(fields: FieldComparison, side: Side) -> Callable[[Match], Quantity]:
    return lambda match: fields.mean_gain(side, match)


def _both(of: Callable[[Match], Quantity]) -> tuple[Quantity, Quantity]:
    return of("as is"), of("re-matched")


def split_rows(fields: FieldComparison, toward: FarEnd) -> list[FieldRow]:
    """Return into what the loss toward the far end splits, and all of it [dB]."""
    as_is, rematched = _both(_mean_of(fields, toward))
    one, other = fields.split(toward, "as is"), fields.split(toward, "re-matched")
    return [
        FieldRow("detuning", None, one.detuning, other.detuning),
        FieldRow("dissipation", None, one.dissipation, other.dissipation),
        FieldRow("shadow", None, one.shadow, other.shadow),
        FieldRow(TOGETHER, None, as_is.negated(), rematched.negated(), is_total=True),
    ]


def mesh_rows(fields: FieldComparison) -> list[MeshRow]:
    """Return the meshes whose difference is the numerical uncertainty."""
    solutions = (("with metal", fields.with_metal), ("without metal", fields.without_metal))
    return [
        MeshRow(f"{case}, {mesh}", found.cell_m, found.segments, found.power_balance_db)
        for case, solution in solutions
        for mesh, found in (("coarse", solution.coarse), ("fine", solution.fine))
    ]


def quality_rows(box: BoxReport) -> list[tuple[str, Quantity]]:
    """Return the quality factor and what each sink alone would leave of it; none below cut-off."""
    sinks = [(f"{part.name} alone", part.value) for part in box.sinks]
    return [("quality factor", box.quality_factor), *sinks] if box.quality_factor else []


def shown_modes(box: BoxReport) -> tuple[tuple[BoxMode, ...], int]:
    """Return the resonances worth printing, lowest first, and how many more there are."""

    def rank(mode: BoxMode) -> tuple[bool, bool]:
        return mode is not box.feared, not mode.in_band

    chosen = sorted(box.modes, key=rank)[:MOST_MODES]
    kept = tuple(mode for mode in box.modes if any(mode is one for one in chosen))
    return kept, len(box.modes) - len(kept)


def measured_rows(measured: MeasuredMetal) -> list[tuple[str, Quantity]]:
    """Return the measured loss, the mismatch in it, and the estimate that it replaces."""
    name = "measured loss" if measured.sees_shadow else "measured loss by mismatch"
    rows = [(name, measured.loss)]
    if measured.sees_shadow and measured.detuning is not None:
        rows.append(("mismatch in it, measured", measured.detuning))
    if measured.estimated is not None:
        rows.append(("estimate of the same loss", measured.estimated))
    return rows


def change_rows(link: VariantLink) -> list[ChangeRow]:
    """Return what gains, as it is ranked, with the reach that it adds where that is known."""
    reaches = link.changes_reach or (None,) * len(link.changes)
    return [
        ChangeRow(
            change.name,
            change.dimension,
            _way(change, change.best[0]),
            _figure(change.limit) + _unit(change),
            change.limit_kind,
            change.best[1],
            reach,
            change.method,
            _notes(change),
        )
        for change, reach in zip(link.changes, reaches, strict=True)
        if change.gains
    ]


def changes_beside(link: VariantLink) -> list[str]:
    """Say of every change that is not ranked why it is not."""

    def told(changes: Sequence[Change], *, ways: bool = True) -> str:
        return "; ".join(
            change.name + (f" ({_way(change, change.limit)})" if ways else "") for change in changes
        )

    ruled_out = [change for change in link.changes if change.ruled_out]
    untold = [change for change in link.changes if change.untold]
    tried = [one for one in link.changes if not (one.gains or one.ruled_out or one.untold)]
    sentences = []
    if tried:
        sentences.append(f"Tried, gains nothing: {told(tried)}.")
    if untold:
        sentences.append(f"Not told, since no model here holds: {told(untold)}.")
    if ruled_out:
        sentences.append(f"Ruled out in the scenario, not tried: {told(ruled_out, ways=False)}.")
    return sentences


def _way(change: Change, to: float) -> str:
    return f"{_figure(float(change.values[0]))} to {_figure(to)}{_unit(change)}"


def _figure(value: float) -> str:
    return wording.count(value) if value else "0"


def _unit(change: Change) -> str:
    return "" if change.unit == "1" else f" {change.unit}"


def _notes(change: Change) -> tuple[str, ...]:
    notes = tuple(wording.sentence(note) for note in change.notes)
    if not change.left_out:
        return notes
    steps = len(change.values) - 1 + change.left_out
    return (*notes, f"No model here holds {change.left_out} of its {steps} steps.")


def measured_sentence(measured: MeasuredMetal) -> str:
    """Say how far the estimate was off; positive is an estimate that feared too much."""
    estimated, off_db = measured.estimated, measured.off_by_db
    if estimated is None or off_db is None:
        return "Nothing was estimated beside it."
    low, high = estimated.band
    holds = "holds" if low <= measured.loss.value <= high else "does not hold"
    way = "too high" if off_db > 0.0 else "too low"
    return (
        f"The estimate was {abs(off_db):.1f} dB {way}, and its band {holds} the measured loss."
        if abs(off_db) >= 0.05
        else f"The estimate met the measured loss, and its band {holds} it."
    )
