"""Changes that a user allows and that the product cannot take."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from linkbudget.core.units import format_length
from linkbudget.enclosure.changes import FREE_STANDING
from linkbudget.physics.openings import is_slot
from linkbudget.scenario.building import edge_distance_m
from linkbudget.scenario.fields import choice_of
from linkbudget.scenario.metal_models import (
    AllowedChanges,
    BoxMetal,
    PlateMetal,
    RoundOpening,
    TrayMetal,
)
from linkbudget.scenario.mistakes import Mistake
from linkbudget.scenario.models import Scenario

_OF_SHEET = ("deeper", "to_edge", "window", "ground_clearance")
_OF_KIND: Mapping[str, tuple[str, ...]] = {
    "plate": _OF_SHEET,
    "tray": (*_OF_SHEET, "lower_skirt"),
    "box": ("new_slot", "half_wave_slot", "quality_factor"),
}


def allowed_mistakes(scenario: Scenario) -> Iterator[Mistake]:
    """Yield what is allowed and the product cannot take; what is ruled out may always stand."""
    said = scenario.allowed
    if said is None:
        return
    kind = scenario.metal.kind if scenario.metal is not None else "none"
    takes = _OF_KIND.get(kind, ())
    stated = {key: value for key, value in said if value is not None}
    for key, value in stated.items():
        if key not in takes and not _is_ruled_out(key, value):
            takes_words = "one of " + ", ".join(takes) if takes else "no key here"
            yield _mistake(
                key,
                f'{key} allowed, with metal of kind = "{kind}"',
                f"{takes_words}, for such metal",
                "Remove it, or put # before it.",
            )
    for check in _CHECKS.get(kind, ()):
        yield from check(scenario, said)


def _is_ruled_out(key: str, value: object) -> bool:
    # 0 mm from the edge is a place; 0 mm of all else is no change
    return value is False or (value == 0 and key != "to_edge")


def _mistake(key: str, found: str, expected: str, mend: str = "") -> Mistake:
    return Mistake(("allowed", key), found, expected, mend)


def _edge(scenario: Scenario, said: AllowedChanges) -> Iterator[Mistake]:
    metal = scenario.metal
    if not isinstance(metal, PlateMetal | TrayMetal):
        return
    inside_m = edge_distance_m(metal)
    to_m = said.to_edge
    if to_m is not None and to_m is not False and to_m >= inside_m:
        yield _mistake(
            "to_edge",
            f"{format_length(to_m)}, with the antenna at {format_length(inside_m)} today",
            f"less than {format_length(inside_m)}",
            "It counts as antenna_to_edge does: negative where the antenna stands outside.",
        )
    if said.window and inside_m <= 0.0:
        yield _mistake(
            "window",
            "a window over an antenna that stands outside the edge",
            "window = false, or an antenna under the sheet",
        )
    elif said.window and said.window >= metal.width:
        found = f"a window of {format_length(said.window)}"
        yield _mistake("window", found, f"less than the width, {format_length(metal.width)}")


def _clearance(scenario: Scenario, said: AllowedChanges) -> Iterator[Mistake]:
    if not said.ground_clearance:
        return
    if scenario.board is None:
        yield _mistake(
            "ground_clearance",
            "ground to be drawn back, and no table [board]",
            "[board]: the ground plane of the product's board",
        )
    kind = scenario.antenna.kind if scenario.antenna is not None else None
    if kind is not None and kind not in FREE_STANDING:
        yield _mistake(
            "ground_clearance",
            f'ground to be drawn back from an antenna of kind = "{kind}", which stands on it',
            choice_of(None, FREE_STANDING, "an antenna of kind")[0],
        )


def _slots(scenario: Scenario, said: AllowedChanges) -> Iterator[Mistake]:
    box = scenario.metal
    if not isinstance(box, BoxMetal):
        return
    longest_m = max(box.length, box.width, box.height)
    if said.new_slot and said.new_slot >= longest_m:
        found = f"a slot of {format_length(said.new_slot)}"
        expected = f"less than the longest side, {format_length(longest_m)}"
        yield _mistake("new_slot", found, expected)
    slots = [
        one
        for one in box.openings
        if not isinstance(one, RoundOpening) and is_slot(one.shape, one.length, one.width)
    ]
    if said.half_wave_slot and not slots:
        yield _mistake(
            "half_wave_slot",
            "a slot to be brought to half a wavelength, and no slot in the box",
            "a slot in [[metal.openings]], or new_slot",
        )


def _quality(scenario: Scenario, said: AllowedChanges) -> Iterator[Mistake]:
    box = scenario.metal
    if not isinstance(box, BoxMetal) or box.quality_factor is None or not said.quality_factor:
        return
    if said.quality_factor <= box.quality_factor:
        yield _mistake(
            "quality_factor",
            f"{said.quality_factor:g}",
            f"more than that of the box today, {box.quality_factor:g}",
            "Fewer losses raise it.",
        )


_Check = Callable[[Scenario, AllowedChanges], Iterator[Mistake]]
_CHECKS: Mapping[str, tuple[_Check, ...]] = {
    "plate": (_edge, _clearance),
    "tray": (_edge, _clearance),
    "box": (_slots, _quality),
}
