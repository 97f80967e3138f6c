"""Metal that no workshop could make, and antennas that stand where none can."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from linkbudget.core.errors import InputError, MissingData
from linkbudget.core.units import format_length
from linkbudget.enclosure.boxes import require_possible
from linkbudget.enclosure.fullwave import require_sound
from linkbudget.enclosure.geometry import Box
from linkbudget.scenario.building import enclosure_of, scene_of
from linkbudget.scenario.fields import shown
from linkbudget.scenario.lines import KeyPath
from linkbudget.scenario.metal_models import (
    BoxMetal,
    MeasuredPair,
    Opening,
    PlateMetal,
    RoundOpening,
    StatedMetal,
    TrayMetal,
)
from linkbudget.scenario.mistakes import Mistake
from linkbudget.scenario.models import Scenario

_PLAUSIBLE_ATTENUATION_DB = (-10.0, 200.0)

SheetMetal = PlateMetal | TrayMetal | BoxMetal


def metal_mistakes(scenario: Scenario) -> Iterator[Mistake]:
    """Yield what contradicts itself in the metal of a scenario."""
    metal = scenario.metal
    if scenario.measured is not None:
        yield from _measured(scenario, scenario.measured)
    if isinstance(metal, StatedMetal):
        yield from _stated(metal)
    if not isinstance(metal, SheetMetal):
        return
    found = [*_material(metal), *_dimensions(metal)]
    for index, opening in enumerate(metal.openings):
        found += _opening(opening, metal, ("metal", "openings", index))
    yield from found or _geometry(scenario)


def key_of(scenario: Scenario, field: str) -> KeyPath:
    """Return the key that states what a room below calls `field`; the metal where none is known."""
    at_edge = isinstance(scenario.metal, PlateMetal | TrayMetal) and not scenario.metal.antenna_at
    place = "antenna_to_edge" if at_edge else "antenna_at"
    first, *rest = field.split(".")
    if first == "openings" and rest:  # as in openings.0.at
        return ("metal", first, int(rest[0]), *rest[1:])
    known: dict[str, KeyPath] = {
        "angle": ("far_end", "polarisation_angle"),
        "antenna": ("antenna",),
        "board": ("board",),
        "depth": ("metal", "antenna_depth"),
        "distance": ("goal", "distance"),
        "edge_distance": ("metal", place),
        "length": ("metal", "length"),
        "openings": ("metal", "openings"),
        "place": ("metal", place),
        "skirt": ("metal", "skirt"),
    }
    return known.get(field, ("metal",))


def _geometry(scenario: Scenario) -> Iterator[Mistake]:
    """Yield what stands in one place, at the frequency of every radio that a variant uses."""
    scene, enclosure = scene_of(scenario), enclosure_of(scenario)
    told: dict[Mistake, None] = {}
    for frequency_hz in scenario.radio_frequencies_hz:
        try:
            if scene is not None:
                require_sound(scene, frequency_hz)
            elif isinstance(enclosure, Box):
                require_possible(enclosure, frequency_hz)
        except MissingData:
            return  # a fact that the link alone needs: the link says so
        except InputError as error:
            key = key_of(scenario, error.field)
            told[Mistake(key, error.found, error.expected, error.mend)] = None
    yield from told


def _measured(scenario: Scenario, pair: MeasuredPair) -> Iterator[Mistake]:
    files = (pair.with_metal, pair.without_metal)
    levels = (pair.levels_with, pair.levels_without)
    if any(files) == any(levels) or (None in files and any(files)):
        yield Mistake(
            ("measured",),
            "no complete pair, or two kinds of pair",
            "either with_metal and without_metal, or levels_with and levels_without",
        )
    for key, name in zip(("with_metal", "without_metal"), files, strict=True):
        if name is not None and not scenario.path_to(name).is_file():
            yield Mistake(("measured", key), shown(name), "a file that exists")
    if len(pair.levels_with) != len(pair.levels_without):
        yield Mistake(
            ("measured", "levels_without"),
            f"{_levels(pair.levels_with)} with and {len(pair.levels_without)} without the metal",
            "one of each for every place",
        )


def _levels(levels_dbm: Sequence[float]) -> str:
    return f"{len(levels_dbm)} level{'' if len(levels_dbm) == 1 else 's'}"


def _stated(metal: StatedMetal) -> Iterator[Mistake]:
    low, high = _PLAUSIBLE_ATTENUATION_DB
    has_band = metal.attenuation.low is not None
    if has_band == (metal.spread is not None):
        yield Mistake(
            ("metal", "spread"),
            "two spreads" if has_band else "no spread",
            'one way to say it, such as spread = "3 dB"',
        )
    if not low <= metal.attenuation.value <= high:
        yield Mistake(
            ("metal", "attenuation"),
            f"{metal.attenuation.value:g} dB",
            f"{low:g} dB to {high:g} dB",
            "Metal may turn some gain toward one side, and no measurement sees through more.",
        )


def _material(metal: SheetMetal) -> Iterator[Mistake]:
    named, numbers = metal.material is not None, metal.conductivity is not None
    if named and numbers:
        yield Mistake(("metal", "conductivity"), "both material and conductivity", "one of the two")
    if not named and not numbers:
        expected = 'one of the two, such as material = "aluminium"'
        yield Mistake(("metal",), "neither material nor conductivity", expected)
    if metal.relative_permeability is not None and not numbers:
        yield Mistake(
            ("metal", "relative_permeability"),
            "relative_permeability without conductivity",
            "both, or a material alone",
        )


def _dimensions(metal: SheetMetal) -> Iterator[Mistake]:
    if metal.width > metal.length:
        found = f"a width of {format_length(metal.width)}"
        expected = f"at most the length, {format_length(metal.length)}"
        yield Mistake(("metal", "width"), found, expected, "The length is the longer side.")
    smallest = min(metal.length, metal.width, *_rise(metal))
    if metal.thickness >= smallest:
        yield Mistake(
            ("metal", "thickness"),
            f"a thickness of {format_length(metal.thickness)}",
            f"less than the smallest side, {format_length(smallest)}",
        )
    if isinstance(metal, BoxMetal):
        if (metal.antenna_at is None) != (metal.antenna_depth is None):
            yield Mistake(
                ("metal", "antenna_at"),
                "half of the antenna's place",
                "antenna_at and antenna_depth",
            )
        return
    stated = (metal.antenna_to_edge is not None, metal.antenna_at is not None)
    if all(stated) or not any(stated):
        found = "both antenna_to_edge and antenna_at" if all(stated) else "no place of the antenna"
        expected = 'one of the two, such as antenna_to_edge = "25 mm"'
        yield Mistake(("metal", "antenna_to_edge"), found, expected)
    half = min(metal.length, metal.width) / 2.0
    if metal.antenna_to_edge is not None and metal.antenna_to_edge > half * (1 + 1e-9):
        yield Mistake(
            ("metal", "antenna_to_edge"),
            f"{format_length(metal.antenna_to_edge)} to the nearest edge",
            f"at most half the width, {format_length(half)}",
            "In the middle of the metal it is half the width.",
        )


def _rise(metal: SheetMetal) -> tuple[float, ...]:
    if isinstance(metal, BoxMetal):
        return (metal.height,)
    return (metal.skirt,) if isinstance(metal, TrayMetal) else ()


def _opening(opening: Opening, metal: SheetMetal, at: KeyPath) -> Iterator[Mistake]:
    if isinstance(opening, RoundOpening):
        key, long, short = "diameter", opening.diameter, opening.diameter
        area = math.pi * opening.diameter**2 / 4.0
    else:
        key, long, short = "length", opening.length, opening.width
        area = long * short
    if short > long:
        found = f"a width of {format_length(short)} and a length of {format_length(long)}"
        yield Mistake((*at, "width"), found, "the longer side as length")
        long, short = short, long
    wall_short, wall_long = sorted((metal.length, metal.width, *_rise(metal)))[-2:]
    wall = f"{format_length(wall_long)} by {format_length(wall_short)}"
    if long >= wall_long or short >= wall_short:
        found = f"an opening of {format_length(long)} by {format_length(short)}"
        yield Mistake((*at, key), found, f"less than the largest wall, {wall}")
    elif opening.count * area >= wall_long * wall_short:
        found = f"{opening.count} openings, larger together than their wall"
        yield Mistake((*at, "count"), found, f"less than {wall}")
