"""From a scenario to the radio link of each variant, without and with the metal."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from linkbudget.core.decibels import FloatArray
from linkbudget.core.errors import InputError
from linkbudget.core.quantity import Quantity
from linkbudget.core.stated import Stated
from linkbudget.enclosure.changes import Change
from linkbudget.enclosure.geometry import Box, Enclosure, Plate
from linkbudget.link import terms
from linkbudget.link.budget import LinkInputs, MetalLoss, no_loss
from linkbudget.link.fades import FadeLaw
from linkbudget.link.legal_power import power_rows
from linkbudget.link.reach import (
    LinkComparison,
    difference,
    level_against_distance,
    reach_gained,
)
from linkbudget.link.rooms import Room
from linkbudget.physics.touchstone import worst_return_loss_db
from linkbudget.results import FadeAllowances, LevelCurve, VariantLink
from linkbudget.scenario import (
    NO_RADIO,
    Antenna,
    Goal,
    Radio,
    Scenario,
    enclosure_of,
    key_of,
    plastics_of,
)
from linkbudget.scenario.metal_models import StatedMetal
from linkbudget.study.interference import (
    between_disturbances,
    clocks_of,
    delivery_of,
    desensitisation_of,
)
from linkbudget.study.metal import Metal, metal_of
from linkbudget.study.prescans import allocated_band
from linkbudget.study.rooms import (
    fade_law_of,
    known_ends,
    known_metal,
    room_of,
    transmission_of,
)

_CURVE_POINTS = 200
_TOUCHSTONE_KEYS = (
    ("antenna", "touchstone"),
    ("far_end", "touchstone"),
    ("measured", "without_metal"),
    ("measured", "with_metal"),
)


def link_results(
    scenario: Scenario,
    *,
    refuse: bool = False,
    changes: bool = True,
    progress: Callable[[str], None] = lambda _step: None,
) -> tuple[VariantLink, ...]:
    """Return the link of every variant, in the order of the scenario.

    Parameters
    ----------
    scenario : Scenario
    refuse : bool
        Raise where a link cannot be judged; otherwise its variant says why, and the others stand.
    changes : bool
        Whether to look for what would help, which takes most of the time.
    progress : callable
        Told each step in words.

    Raises
    ------
    InputError
        Where the metal, a Touchstone file or an angle lies outside what the models hold.
    """
    enclosure = enclosure_of(scenario)
    links = []
    for variant in scenario.variants:
        try:
            link = _link(scenario, variant.name, variant.radio, enclosure, changes, progress)
        except InputError as error:
            located = _located(scenario, error)
            if refuse:
                raise located from None
            radio = scenario.radios[variant.radio]
            name = radio.description or radio.technology or variant.radio
            link = VariantLink(variant.name, name, absent_because=str(located))
        links.append(link)
    return tuple(links)


def _located(scenario: Scenario, error: InputError) -> InputError:
    """Tell where in the scenario the refused value stands, as far as the error knows."""
    if not error.file:
        bare = InputError(error.found, error.expected, error.mend)
        return scenario.located(bare, *key_of(scenario, error.field))
    for table, key in _TOUCHSTONE_KEYS:
        name = getattr(getattr(scenario, table), key, None)
        if name is not None and error.file == str(scenario.path_to(name)):
            named = InputError(f"{error.found}, in {name}", error.expected, error.mend)
            return scenario.located(named, table, key)
    levels = getattr(scenario.room, "levels", None)
    return error.located(field="room.levels") if error.file == levels else error


def _link(
    scenario: Scenario,
    variant: str,
    key: str,
    enclosure: Enclosure | None,
    changes: bool,
    progress: Callable[[str], None],
) -> VariantLink:
    if key == NO_RADIO:
        return VariantLink(variant, "none", absent_because="this variant has no radio")
    radio = scenario.radios[key]
    if scenario.goal is None or scenario.antenna is None or scenario.far_end is None:
        raise ValueError("a checked scenario with a radio has its antennas and its goal")
    goal = scenario.goal
    inputs = link_inputs(scenario, radio)
    toward = scenario.far_end.where or "anywhere"
    metal = None
    if enclosure is not None:
        band_hz = allocated_band(radio)
        metal = metal_of(
            scenario, enclosure, band_hz, inputs.frequency_hz, toward, changes, progress
        )
    loss = _metal_loss(scenario, metal)
    room = room_of(scenario, inputs, loss)
    inputs, loss = known_ends(scenario, inputs), known_metal(scenario, loss)
    fade = fade_law_of(goal, room)

    def judged(ends: LinkInputs) -> LinkComparison:
        return difference(ends, room, fade, goal.distance, loss, _size_m(enclosure))

    comparison = judged(inputs)
    quiet = between_disturbances(scenario, radio, inputs)
    of_a_try = comparison if quiet == inputs else judged(quiet)
    gain = metal.effect.largest_gain if metal is not None else None
    link = VariantLink(
        variant=variant,
        radio=radio.description or radio.technology or key,
        frequency_hz=inputs.frequency_hz,
        wanted_distance_m=goal.distance,
        reliability=goal.reliability,
        room=room,
        comparison=comparison,
        fading=_fade_allowances(goal, fade),
        curve=_curve(room, goal.distance, comparison),
        notes=_notes(comparison, fade, room),
        power=power_rows(transmission_of(scenario, radio, gain)),
        clocks=clocks_of(scenario, radio),
        delivery=delivery_of(
            scenario, radio, of_a_try.as_built[2].above, fade, inputs.far_gain.value
        ),
    )
    if metal is None:
        return link
    return replace(
        link,
        metal=metal.effect,
        scene=metal.scene,
        fields=metal.fields,
        fields_absent=metal.fields_absent,
        box=metal.box,
        measured=metal.measured,
        changes=metal.changes,
        changes_reach=_reach_gained(room, comparison, metal.changes),
    )


def _metal_loss(scenario: Scenario, metal: Metal | None) -> MetalLoss | None:
    """Return what the metal costs; a loss that was stated keeps its own band and shape."""
    if metal is None:
        return None
    path, stated = metal.effect.in_one_direction, scenario.metal
    if (
        isinstance(stated, StatedMetal)
        and stated.attenuation.low is not None
        and metal.measured is None
    ):
        path = stated.attenuation.quantity("dB", path.source, path.kind)
    return MetalLoss(metal.effect.detuning, path)


def _reach_gained(
    room: Room, comparison: LinkComparison, changes: tuple[Change, ...]
) -> tuple[Quantity, ...]:
    """Return what each change adds to the reach with the metal [m]."""
    if comparison.reach_with is None:
        return ()
    reach = comparison.reach_with.distance
    return tuple(reach_gained(room, reach, change.best[1]) for change in changes)


def link_inputs(scenario: Scenario, radio: Radio) -> LinkInputs:
    """Return the terms of a budget, each with its kind and source."""
    near, far = scenario.antenna, scenario.far_end
    if near is None or far is None:
        raise ValueError("a checked scenario with a radio has its antennas")
    low, high = radio.band
    far_gain = terms.antenna_gain(far.gain, far.efficiency, far.gain_toward)
    return LinkInputs(
        frequency_hz=math.sqrt(low * high),
        conducted_power=radio.conducted_power.quantity("dBm", "data sheet output power"),
        cable=_cable(near),
        mismatch=_mismatch(scenario, near, low, high),
        antenna_gain=terms.antenna_gain(near.gain, near.efficiency, near.gain_toward),
        plastic=_plastic(scenario, near, low, high),
        body=terms.body(far.body_loss),
        polarisation=terms.polarisation(
            near.polarisation, far.polarisation, far.polarisation_angle
        ),
        far_gain=far_gain,
        far_mismatch=_mismatch(scenario, far, low, high),
        far_cable=_cable(far),
        sensitivity=terms.sensitivity(
            far.sensitivity if far.sensitivity is not None else radio.sensitivity,
            radio.bandwidth,
            radio.noise_figure,
            radio.required_snr,
        ),
        desensitisation=desensitisation_of(scenario, radio, far_gain.value),
    )


def _cable(antenna: Antenna) -> Quantity:
    if antenna.cable_loss is None:
        return no_loss()
    return antenna.cable_loss.quantity("dB", "cable_loss")


def _mismatch(scenario: Scenario, antenna: Antenna, low_hz: float, high_hz: float) -> Quantity:
    return_loss, at_hz = _return_loss(scenario, antenna, low_hz, high_hz)
    if return_loss is None or at_hz is None:
        return terms.mismatch(return_loss)
    where = f"{antenna.touchstone} at {at_hz / 1e6:.1f} MHz, return loss {return_loss.value:.1f} dB"
    return terms.mismatch(return_loss, measured_at=where)


def _return_loss(
    scenario: Scenario, antenna: Antenna, low_hz: float, high_hz: float
) -> tuple[Stated | None, float | None]:
    """Return the worst in the band [dB], and where it was measured [Hz]."""
    if antenna.touchstone is None:
        return antenna.return_loss, None
    path = scenario.path_to(antenna.touchstone)
    return_loss_db, at_hz = worst_return_loss_db(path, low_hz, high_hz)
    return Stated(return_loss_db), at_hz


def _plastic(
    scenario: Scenario, antenna: Antenna, low_hz: float, high_hz: float
) -> Quantity | None:
    parts = plastics_of(scenario)
    if not parts:
        return None
    return_loss, _ = _return_loss(scenario, antenna, low_hz, high_hz)
    return terms.plastic(parts, low_hz, high_hz, None if return_loss is None else return_loss.value)


def _fade_allowances(goal: Goal, fade: FadeLaw) -> FadeAllowances:
    sigma = fade.sigma or Quantity(terms.typical_shadowing_db(), "dB", "assumed")
    log_normal = FadeLaw("log-normal", goal.reliability, fade.share, sigma=sigma).allowance
    return FadeAllowances(
        goal.fading,
        FadeLaw("rayleigh", goal.reliability, fade.share).allowance,
        log_normal if fade.sigma else replace(log_normal, kind="assumed"),
        fade.share,
    )


def _size_m(enclosure: Enclosure | None) -> float | None:
    if isinstance(enclosure, Plate | Box):
        return math.hypot(enclosure.length_m, enclosure.width_m)
    return None


def _curve(room: Room, wanted_m: float, comparison: LinkComparison) -> LevelCurve:
    nearest_m, furthest_m = room.holds_m
    near_m = max(min(0.3, wanted_m / 3.0), nearest_m)
    far_m = min(2.0 * max(comparison.reach_without.distance.value, wanted_m), furthest_m)
    distance_m, *levels_dbm = _levels(room, comparison, near_m, far_m)
    lost = comparison.lost_db
    if lost is None:
        return LevelCurve(distance_m, levels_dbm[0], None, None, None)
    without_dbm, with_dbm = levels_dbm
    low_db, high_db = lost.less(lost.value).band
    return LevelCurve(distance_m, without_dbm, with_dbm, with_dbm - high_db, with_dbm - low_db)


def _levels(
    room: Room, comparison: LinkComparison, near_m: float, far_m: float
) -> list[FloatArray]:
    """Return distances [m], and the level [dBm] of each case there."""
    found = [
        level_against_distance(room, drawn, near_m, far_m, _CURVE_POINTS)
        for drawn, _, _ in comparison.cases
    ]
    return [found[0][0], *(level_dbm for _, level_dbm in found)]


def _notes(comparison: LinkComparison, fade: FadeLaw, room: Room) -> tuple[str, ...]:
    cautions = [caution for _, reach, _ in comparison.cases for caution in reach.cautions]
    if room.shadowing_db > 0.0 and fade.sigma is None:
        cautions.append(
            f"Levels scatter about the law of the room ({room.name}) by"
            f' {room.shadowing_db:.1f} dB from place to place, and fading = "{fade.model}" leaves'
            " that out: a fading of log-normal counts it."
        )
    return tuple(dict.fromkeys(cautions))
