"""Rooms that contradict themselves, and fading that does not fit its room."""

from __future__ import annotations

from collections.abc import Iterator

from linkbudget.core.units import format_frequency, format_length
from linkbudget.physics.dielectrics import building_material, building_material_names
from linkbudget.scenario.file_checks import file_mistakes
from linkbudget.scenario.lines import KeyPath
from linkbudget.scenario.link_models import Goal
from linkbudget.scenario.mistakes import Mistake
from linkbudget.scenario.models import NO_RADIO, Scenario
from linkbudget.scenario.room_models import (
    ExponentRoom,
    GroundRoom,
    IndoorRoom,
    MeasuredRoom,
    ObstacleEdge,
    Wall,
)

_BY_FLOORS = ("office", "residential", "house", "commercial")
_SITE_GENERAL = ("office", "corridor", "industrial")


def room_mistakes(scenario: Scenario) -> Iterator[Mistake]:
    """Yield what contradicts itself in the room of a scenario."""
    room = scenario.room
    if room is None:
        return
    if isinstance(room, MeasuredRoom):
        yield from _measured(scenario, room)
        return
    for index, wall in enumerate(room.walls):
        yield from _wall(scenario, wall, ("room", "walls", index))
    for index, edge in enumerate(room.edges):
        yield from _edge(scenario, edge, ("room", "edges", index, "from_product"))
    if isinstance(room, GroundRoom):
        yield from _ground(scenario, room)
    if isinstance(room, IndoorRoom):
        yield from _indoor(room)
    if isinstance(room, ExponentRoom) and room.edges and room.exponent.low is not None:
        yield Mistake(
            ("room", "exponent"),
            "an exponent that is in doubt, and edges",
            "an exact exponent, such as exponent = 2.8, or no edges",
            "What the edges take can stand in the doubt of room.offset instead.",
        )


def _indoor(room: IndoorRoom) -> Iterator[Mistake]:
    named = f'surroundings = "{room.surroundings}"'
    if room.floors is not None and room.surroundings not in _BY_FLOORS:
        yield Mistake(
            ("room", "floors"),
            f"floors with {named}, for which no law knows floors",
            "no floors, or surroundings of " + ", ".join(_BY_FLOORS),
            "State the floor as a wall instead, with its loss.",
        )
    elif room.by_floors and room.sight is not None:
        law = "floors" if room.floors is not None else named
        yield Mistake(
            ("room", "sight"),
            f"sight with {law}: the law that answers knows no sight",
            "no sight, or surroundings of " + ", ".join(_SITE_GENERAL) + " without floors",
        )
    if not room.by_floors and room.sight is None:
        yield Mistake(
            ("room",),
            f'no key "sight" with {named}',
            'sight = "clear" or "obstructed" (whether the ends see each other)',
        )
    if room.by_floors and room.walls:
        yield Mistake(
            ("room", "walls"),
            "walls with the distance power law, whose exponent holds them already",
            "no walls" + (", or no floors" if room.surroundings == "office" else ""),
            "Walls of the building are in the law; they would count twice.",
        )


def _ground(scenario: Scenario, room: GroundRoom) -> Iterator[Mistake]:
    own = (room.permittivity is not None, room.conductivity is not None)
    either = 'ground = "medium dry ground", or permittivity = 15 with conductivity = "0.05 S/m"'
    if room.ground is not None and any(own):
        yield Mistake(("room", "ground"), "both ways to state the ground", either)
    elif room.ground is None and not all(own):
        yield Mistake(("room",), "half of a ground" if any(own) else "no ground", either)
    if room.ground is None:
        return
    for frequency_hz in _beyond_table(scenario, room.ground):
        yield Mistake(
            ("room", "ground"),
            f'"{room.ground}" at {format_frequency(frequency_hz)}, where its table does not hold',
            f"a ground that is tabled there: {_tabled(frequency_hz)}",
            "Or state the ground's own permittivity and conductivity instead.",
        )


def _beyond_table(scenario: Scenario, name: str) -> list[float]:
    material = building_material(name)
    return [each for each in scenario.radio_frequencies_hz if not material.holds_at(each)]


def _tabled(frequency_hz: float) -> str:
    names = building_material_names()
    return ", ".join(n for n in names if building_material(n).holds_at(frequency_hz)) or "none"


def _edge(scenario: Scenario, edge: ObstacleEdge, at: KeyPath) -> Iterator[Mistake]:
    goal = scenario.goal
    if goal is not None and edge.from_product >= goal.distance:
        yield Mistake(
            at,
            f"an edge {format_length(edge.from_product)} from the product",
            f"less than goal.distance, {format_length(goal.distance)}",
            "An edge behind the far end is not in the way: leave it out.",
        )


def _wall(scenario: Scenario, wall: Wall, at: KeyPath) -> Iterator[Mistake]:
    made = (wall.material is not None, wall.thickness is not None)
    if wall.loss is not None and any(made):
        yield Mistake((*at, "loss"), "both what a wall is made of and its loss", "one of the two")
    elif wall.loss is None and not all(made):
        found = "half of a wall" if any(made) else "a wall without a loss"
        yield Mistake(at, found, "material with thickness, or loss")
    elif wall.material is not None:
        for frequency_hz in _beyond_table(scenario, wall.material):
            yield Mistake(
                (*at, "material"),
                f'"{wall.material}" at {format_frequency(frequency_hz)}, where its table does not'
                " hold",
                f"a material that is tabled there: {_tabled(frequency_hz)}",
                "Or state the loss of the wall instead.",
            )


def _measured(scenario: Scenario, room: MeasuredRoom) -> Iterator[Mistake]:
    yield from file_mistakes(scenario, room.levels, ("room", "levels"))
    instead = {"radiated_power": room.radiated_power, "far_gain": room.far_gain}
    for key, value in instead.items():
        if room.of_this_link and value is not None:
            yield Mistake(
                ("room", key),
                f"{key} with of_this_link = true",
                "of_this_link = false, or no such key",
                "Levels of this very link hold both its ends already.",
            )
        if not room.of_this_link and value is None:
            yield Mistake(
                ("room",),
                f'no key "{key}" with of_this_link = false',
                "radiated_power and far_gain of what was used to measure",
                "Without them a level does not tell a loss.",
            )
    if not room.of_this_link and room.with_metal is not None:
        yield Mistake(
            ("room", "with_metal"),
            "with_metal with of_this_link = false",
            "no with_metal: what was measured with is another transmitter",
        )
    if room.of_this_link and len(_radios_used(scenario)) > 1:
        yield Mistake(
            ("room", "of_this_link"),
            "levels of this very link, and variants with several radios",
            "one radio, or of_this_link = false with radiated_power and far_gain",
        )


def _radios_used(scenario: Scenario) -> set[str]:
    return {variant.radio for variant in scenario.variants} - {NO_RADIO}


def goal_mistakes(scenario: Scenario) -> Iterator[Mistake]:
    """Yield what contradicts itself in the goal of a scenario, and between goal and room."""
    goal = scenario.goal
    if goal is None:
        return
    has_ray, is_shadowed = goal.fading.startswith("rice"), goal.fading.endswith("log-normal")
    if has_ray != (goal.rice_factor is not None):
        yield Mistake(
            ("goal", "rice_factor"),
            f'fading = "{goal.fading}" with{"out" if has_ray else ""} rice_factor',
            'both a fading of rice and rice_factor = "6 dB", or neither',
        )
    if goal.shadowing_sigma is not None and not is_shadowed:
        yield _sigma(goal, "with", "both a fading of log-normal and shadowing_sigma, or neither")
    if goal.shadowing_sigma is None and is_shadowed and not _scatters(scenario):
        yield _sigma(
            goal,
            "without",
            'shadowing_sigma = "6 dB", or a room of kind "indoor" or "measured", which has its own',
        )


def _sigma(goal: Goal, found: str, expected: str) -> Mistake:
    return Mistake(
        ("goal", "shadowing_sigma"), f'fading = "{goal.fading}" {found} shadowing_sigma', expected
    )


def _scatters(scenario: Scenario) -> bool:
    return isinstance(scenario.room, IndoorRoom | MeasuredRoom)
