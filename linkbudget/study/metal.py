"""From a scenario to what its metal does: measured before solved, solved before closed forms."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from linkbudget.core.errors import InputError, OutOfRange
from linkbudget.enclosure.box_report import BoxReport, box_report
from linkbudget.enclosure.changes import Change, what_would_help
from linkbudget.enclosure.fullwave import (
    FieldComparison,
    MeshTooLarge,
    SolverFailed,
    available,
    compare,
)
from linkbudget.enclosure.geometry import Box, Enclosure, FarEnd, Plate, Scene
from linkbudget.enclosure.measured import (
    MeasuredMetal,
    levels_loss,
    measured_effect,
    touchstone_loss,
)
from linkbudget.enclosure.paths import MetalEffect, metal_effect
from linkbudget.enclosure.plates import loosened, require_possible
from linkbudget.enclosure.solved import solved_effect
from linkbudget.scenario import Scenario, allowed_of, scene_of

_NOT_INSTALLED = (
    "Closed forms answer here. Installing the optional extra fullwave (PyNEC, GPL-3.0-only) lets a"
    " field solver compute this very sheet, and narrows the band."
)
_NOT_SOLVED = "Closed forms answer here, since the field solver did not"
_WOULD_ANSWER = (
    "Or install the optional extra fullwave (PyNEC, GPL-3.0-only): its field solver does not end"
    " there."
)
_MEASURE = "measure with and without the metal, and state the attenuation."


@dataclass(frozen=True, slots=True)
class Metal:
    """What is known of the metal round one radio.

    Parameters
    ----------
    effect : MetalEffect
        Toward the far end, from the best source there is.
    scene : Scene, Box or None
    fields : FieldComparison or None
    fields_absent : str
    box : BoxReport or None
    measured : MeasuredMetal or None
    changes : tuple of Change
        What would help toward the far end, best first.
    """

    effect: MetalEffect
    scene: Scene | Box | None = None
    fields: FieldComparison | None = None
    fields_absent: str = ""
    box: BoxReport | None = None
    measured: MeasuredMetal | None = None
    changes: tuple[Change, ...] = ()


def metal_of(
    scenario: Scenario,
    enclosure: Enclosure,
    band_hz: tuple[float, float],
    frequency_hz: float,
    toward: FarEnd,
    changes: bool,
    progress: Callable[[str], None],
) -> Metal:
    """Return what the metal does to one radio.

    Parameters
    ----------
    scenario : Scenario
    enclosure : Enclosure
    band_hz : (low, high)
        Band that is solved [Hz].
    frequency_hz : float
        Where the link is computed [Hz].
    toward : {"above", "beside", "below", "anywhere"}
    changes : bool
        Whether to look for what would help.
    progress : callable
        Told each step in words.

    Raises
    ------
    InputError
        Where the geometry is impossible, incomplete, or beyond all models: closed forms are asked
        only where the field solver does not answer.
    """
    if isinstance(enclosure, Plate):
        found = _sheet(scenario, enclosure, band_hz, frequency_hz, toward, progress)
    else:
        found = Metal(metal_effect(enclosure, frequency_hz, toward))
        if isinstance(enclosure, Box):
            found = replace(found, scene=enclosure, box=box_report(enclosure, *band_hz))
    if changes:
        progress("looking for what would help")
        helpful = _changes(scenario, enclosure, frequency_hz, toward, found, progress)
        found = replace(found, changes=helpful)
    if scenario.measured is None:
        return found
    side = scenario.measured.toward or toward
    there = _estimate(found, enclosure, frequency_hz, side)
    measured = _measured(scenario, band_hz, there)
    effect = measured_effect(measured, found.effect)
    if toward == "anywhere":  # one probe, or one row of places, is one direction
        effect = replace(effect, scatter=found.effect.scatter)
    return replace(found, measured=measured, effect=effect)


def _estimate(
    found: Metal, enclosure: Enclosure, frequency_hz: float, toward: FarEnd
) -> MetalEffect:
    """Return what was estimated toward another side than the far end's."""
    if toward == found.effect.toward:
        return found.effect
    if isinstance(enclosure, Plate) and found.fields is not None:
        return solved_effect(found.fields, enclosure, frequency_hz, toward)
    effect = metal_effect(enclosure, frequency_hz, toward)
    if isinstance(found.scene, Scene):
        return loosened(effect, found.scene, frequency_hz)
    return effect


def _sheet(
    scenario: Scenario,
    plate: Plate,
    band_hz: tuple[float, float],
    frequency_hz: float,
    toward: FarEnd,
    progress: Callable[[str], None],
) -> Metal:
    scene = scene_of(scenario)
    require_possible(plate)
    refusal: InputError | SolverFailed | None = None
    if scene is not None and available():
        try:
            fields = compare(scene, *band_hz, progress=progress)
        except (MeshTooLarge, SolverFailed) as error:
            refusal = error
        else:
            return Metal(solved_effect(fields, plate, frequency_hz, toward), scene, fields)
    try:
        closed = metal_effect(plate, frequency_hz, toward)
    except OutOfRange as error:
        raise _neither(refusal, error) from None
    if scene is not None:
        closed = loosened(closed, scene, frequency_hz)
    because = _NOT_INSTALLED if refusal is None else f"{_NOT_SOLVED}: {refusal}"
    return Metal(closed, scene, None, because)


def _neither(refusal: InputError | SolverFailed | None, closed: OutOfRange) -> InputError:
    """Return why neither the field solver nor closed forms answer, and what to do."""
    if refusal is None:
        return InputError(
            closed.found, closed.expected, f"{closed.mend} {_WOULD_ANSWER}", field=closed.field
        )
    beyond = f"Closed forms end there too ({closed.found}; expected {closed.expected})"
    if isinstance(refusal, SolverFailed):
        return InputError(
            f"a sheet for which the field solver {refusal.what}",
            "one that it can solve",
            f"{refusal.mend} {beyond}: {_MEASURE}",
            field="metal",
        )
    return InputError(
        refusal.found,
        refusal.expected,
        f"{refusal.mend} {beyond}: {_MEASURE}",
        field=refusal.field,
    )


def _changes(
    scenario: Scenario,
    enclosure: Enclosure,
    frequency_hz: float,
    toward: FarEnd,
    found: Metal,
    progress: Callable[[str], None],
) -> tuple[Change, ...]:
    """Return what would help."""
    return what_would_help(
        enclosure,
        frequency_hz,
        toward,
        allowed=allowed_of(scenario),
        scene=found.scene if isinstance(found.scene, Scene) else None,
        fields=found.fields,
        solve=found.fields is not None,  # what failed once is not tried again
        progress=progress,
    )


def _measured(
    scenario: Scenario, band_hz: tuple[float, float], estimate: MetalEffect
) -> MeasuredMetal:
    pair = scenario.measured
    if pair is None:
        raise ValueError("no pair was stated")
    if pair.with_metal is not None and pair.without_metal is not None:
        return touchstone_loss(
            scenario.path_to(pair.with_metal),
            scenario.path_to(pair.without_metal),
            *band_hz,
            estimated=estimate.total,
            estimated_detuning=estimate.detuning,
            toward=pair.toward,
        )
    return levels_loss(
        pair.levels_with, pair.levels_without, estimated=estimate.total, toward=pair.toward
    )
