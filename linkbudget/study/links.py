"""From a scenario to the radio link of each variant, without and with the metal."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from linkbudget.core.errors import InputError
from linkbudget.core.quantity import Quantity
from linkbudget.enclosure.changes import Change
from linkbudget.enclosure.geometry import Box, Enclosure, Plate
from linkbudget.link import terms
from linkbudget.link.budget import LinkInputs, MetalLoss, fading_allowance, no_loss
from linkbudget.link.reach import (
    LinkComparison,
    difference,
    ground_break_m,
    level_against_distance,
    reach_gained,
)
from linkbudget.physics.propagation import near_field_boundary_m
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
from linkbudget.study.metal import metal_of
from linkbudget.study.prescans import allocated_band

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
    progress: Callable[[str], None] = lambda _step: None,
) -> tuple[VariantLink, ...]:
    """Return the link of every variant, in the order of the scenario.

    Parameters
    ----------
    scenario : Scenario
    refuse : bool
        Raise where a link cannot be judged; otherwise its variant says why, and the others stand.
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
            links.append(_link(scenario, variant.name, variant.radio, enclosure, progress))
        except InputError as error:
            located = _located(scenario, error)
            if refuse:
                raise located from None
            radio = scenario.radios[variant.radio]
            name = radio.description or radio.technology or variant.radio
            links.append(VariantLink(variant.name, name, absent_because=str(located)))
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
    return error


def _link(
    scenario: Scenario,
    variant: str,
    key: str,
    enclosure: Enclosure | None,
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
        metal = metal_of(scenario, enclosure, band_hz, inputs.frequency_hz, toward, progress)
    loss = MetalLoss(metal.effect.detuning, metal.effect.in_one_direction) if metal else None
    fades = _fade_allowances(goal)
    allowance = fading_allowance(goal.fading, goal.reliability, goal.shadowing_sigma)
    comparison = difference(inputs, goal.distance, allowance, loss, _size_m(enclosure))
    link = VariantLink(
        variant=variant,
        radio=radio.description or radio.technology or key,
        frequency_hz=inputs.frequency_hz,
        wanted_distance_m=goal.distance,
        reliability=goal.reliability,
        free_space_to_m=ground_break_m(inputs.frequency_hz),
        comparison=comparison,
        fading=fades,
        curve=_curve(inputs, goal.distance, comparison, loss),
        notes=_notes(comparison),
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
        changes_reach=_reach_gained(comparison, metal.changes),
    )


def _reach_gained(comparison: LinkComparison, changes: tuple[Change, ...]) -> tuple[Quantity, ...]:
    """Return what each change adds to the reach with the metal [m]."""
    if comparison.reach_with is None:
        return ()
    reach = comparison.reach_with.distance
    return tuple(reach_gained(reach, change.best[1]) for change in changes)


def link_inputs(scenario: Scenario, radio: Radio) -> LinkInputs:
    """Return the terms of a budget, each with its kind and source."""
    near, far = scenario.antenna, scenario.far_end
    if near is None or far is None:
        raise ValueError("a checked scenario with a radio has its antennas")
    low, high = radio.band
    return LinkInputs(
        frequency_hz=math.sqrt(low * high),
        conducted_power=Quantity(
            radio.conducted_power, "dBm", "stated", source="data sheet output power"
        ),
        cable=_cable(near),
        mismatch=_mismatch(scenario, near, low, high),
        antenna_gain=terms.antenna_gain(near.gain, near.efficiency),
        plastic=_plastic(scenario, near, low, high),
        body=terms.body(far.body_loss),
        polarisation=terms.polarisation(
            near.polarisation, far.polarisation, far.polarisation_angle
        ),
        far_gain=terms.antenna_gain(far.gain, far.efficiency),
        far_mismatch=_mismatch(scenario, far, low, high),
        far_cable=_cable(far),
        sensitivity=terms.sensitivity(
            far.sensitivity if far.sensitivity is not None else radio.sensitivity,
            radio.bandwidth,
            radio.noise_figure,
            radio.required_snr,
        ),
    )


def _cable(antenna: Antenna) -> Quantity:
    if antenna.cable_loss is None:
        return no_loss()
    return Quantity(antenna.cable_loss, "dB", "stated", source="cable_loss")


def _mismatch(scenario: Scenario, antenna: Antenna, low_hz: float, high_hz: float) -> Quantity:
    return_loss_db, at_hz = _return_loss(scenario, antenna, low_hz, high_hz)
    if at_hz is None:
        return terms.mismatch(return_loss_db)
    where = f"{antenna.touchstone} at {at_hz / 1e6:.1f} MHz, return loss {return_loss_db:.1f} dB"
    return terms.mismatch(return_loss_db, measured_at=where)


def _return_loss(
    scenario: Scenario, antenna: Antenna, low_hz: float, high_hz: float
) -> tuple[float | None, float | None]:
    """Return the worst in the band [dB], and where it was measured [Hz]."""
    if antenna.touchstone is None:
        return antenna.return_loss, None
    return worst_return_loss_db(scenario.path_to(antenna.touchstone), low_hz, high_hz)


def _plastic(
    scenario: Scenario, antenna: Antenna, low_hz: float, high_hz: float
) -> Quantity | None:
    parts = plastics_of(scenario)
    if not parts:
        return None
    return_loss_db, _ = _return_loss(scenario, antenna, low_hz, high_hz)
    return terms.plastic(parts, low_hz, high_hz, return_loss_db)


def _fade_allowances(goal: Goal) -> FadeAllowances:
    sigma_db = goal.shadowing_sigma
    log_normal = fading_allowance(
        "log-normal", goal.reliability, sigma_db or terms.typical_shadowing_db()
    )
    return FadeAllowances(
        goal.fading,
        fading_allowance("rayleigh", goal.reliability),
        log_normal if sigma_db else replace(log_normal, kind="assumed"),
    )


def _size_m(enclosure: Enclosure | None) -> float | None:
    if isinstance(enclosure, Plate | Box):
        return math.hypot(enclosure.length_m, enclosure.width_m)
    return None


def _curve(
    inputs: LinkInputs, wanted_m: float, comparison: LinkComparison, loss: MetalLoss | None
) -> LevelCurve:
    reaches = [comparison.reach_without.distance.value, wanted_m]
    near_m = max(min(0.3, wanted_m / 3.0), near_field_boundary_m(inputs.frequency_hz))
    far_m = 2.0 * max(reaches)
    distance_m, without_dbm = level_against_distance(inputs, near_m, far_m, None, _CURVE_POINTS)
    lost = comparison.lost_db
    if loss is None or lost is None:
        return LevelCurve(distance_m, without_dbm, None, None, None)
    low_db, high_db = lost.band
    return LevelCurve(
        distance_m,
        without_dbm,
        without_dbm - lost.value,
        without_dbm - high_db,
        np.asarray(without_dbm - low_db),
    )


def _notes(comparison: LinkComparison) -> tuple[str, ...]:
    cautions = list(comparison.reach_without.cautions)
    if comparison.reach_with is not None:
        cautions += comparison.reach_with.cautions
    return tuple(dict.fromkeys(cautions))
