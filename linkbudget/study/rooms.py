"""From a scenario to the law of its room, to how the level varies there, and to what is sent."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any, assert_never, cast

from linkbudget.core.errors import InputError
from linkbudget.core.quantity import Kind, Quantity
from linkbudget.link import laws, terms
from linkbudget.link.budget import LinkInputs, MetalLoss, combine, far_terms, near_terms, no_loss
from linkbudget.link.fades import FadeLaw
from linkbudget.link.rooms import Barrier, Room
from linkbudget.link.transmission import Transmission
from linkbudget.physics.dielectrics import Dielectric, building_material
from linkbudget.physics.ground import OverGround
from linkbudget.physics.indoor import PowerLawEnvironment, Sight, SiteGeneralEnvironment
from linkbudget.physics.propagation import wavelength_m
from linkbudget.physics.walls import thick_wall_loss, wall_loss_db
from linkbudget.scenario import Goal, Radio, Scenario
from linkbudget.scenario.room_models import (
    ExponentRoom,
    GroundRoom,
    IndoorRoom,
    MeasuredRoom,
    OpenAirRoom,
    Wall,
)
from linkbudget.study.measured_levels import fit_levels

_SENT = (
    "conducted_power",
    "cable",
    "mismatch",
    "antenna_gain",
    "plastic",
    "body",
    "polarisation",
    "far_gain",
    "far_mismatch",
    "far_cable",
)  # of LinkInputs: what a level at the receiver holds
SIGHT: dict[str, Sight] = {"clear": "line of sight", "obstructed": "no line of sight"}


def room_of(scenario: Scenario, inputs: LinkInputs, metal: MetalLoss | None) -> Room:
    """Return the law of the room, with what stands in the way.

    Parameters
    ----------
    scenario : Scenario
    inputs : LinkInputs
        Both ends, at whose frequency it holds; their typical values turn levels that were measured
        with this very link into a loss.
    metal : MetalLoss or None
        The same of the metal.

    Raises
    ------
    InputError
        Where no law holds at the frequency, or the measured series is at fault; located.
    """
    stated = scenario.room or OpenAirRoom(kind="open air")
    key: tuple[str | int, ...] = ("room",)
    try:
        if isinstance(stated, MeasuredRoom):
            return _as_measured(scenario, stated, inputs, metal)
        room = _law(stated, inputs.frequency_hz)
        key = ("room", "edges")
        edges = [laws.Edge(edge.height, edge.from_product) for edge in stated.edges]
        room = laws.behind_edges(room, inputs.frequency_hz, edges)
        key = ("room", "walls")
        walls = [_barrier(wall, inputs.frequency_hz) for wall in stated.walls]
        return laws.with_barriers(room, walls)
    except InputError as error:
        if error.file:
            raise
        bare = InputError(error.found, error.expected, error.mend)
        raise scenario.located(bare, *key) from None


def _law(stated: OpenAirRoom | GroundRoom | IndoorRoom | ExponentRoom, frequency_hz: float) -> Room:
    match stated:
        case OpenAirRoom():
            return laws.open_air(frequency_hz)
        case GroundRoom():
            ground = _ground(stated, frequency_hz)
            over = OverGround(stated.height, stated.far_height, ground, stated.polarisation)
            return laws.over_ground(frequency_hz, over)
        case IndoorRoom():
            return _indoor(stated, frequency_hz)
        case ExponentRoom():
            exponent = stated.exponent.quantity("1", "room.exponent")
            offset = None
            if stated.offset is not None:
                offset = stated.offset.quantity("dB", "room.offset")
            return laws.by_exponent(frequency_hz, exponent, stated.from_distance, offset)
    assert_never(stated)


def _ground(stated: GroundRoom, frequency_hz: float) -> Dielectric:
    if stated.ground is not None:
        return building_material(stated.ground).at(frequency_hz)
    if stated.permittivity is None or stated.conductivity is None:
        raise ValueError("a checked scenario states its ground")
    return Dielectric(stated.permittivity, stated.conductivity)


def _indoor(stated: IndoorRoom, frequency_hz: float) -> Room:
    place = stated.surroundings
    if stated.by_floors:
        return laws.indoor_by_floors(
            frequency_hz, cast(PowerLawEnvironment, place), stated.floors or 0
        )
    if stated.sight is None:
        raise ValueError("a checked scenario says whether the ends see each other")
    return laws.indoor(frequency_hz, cast(SiteGeneralEnvironment, place), SIGHT[stated.sight])


def _barrier(wall: Wall, frequency_hz: float) -> Barrier:
    """Return equal walls as one barrier; what is not known of one is not known of all alike."""
    if wall.loss is not None:
        one, name = wall.loss.quantity("dB", "room.walls.loss"), "stated loss"
    elif wall.material is not None and wall.thickness is not None:
        one, name = _through(wall.material, wall.thickness, frequency_hz), wall.material
    else:
        raise ValueError("a checked wall states its loss, or material and thickness")
    many = f"{wall.count} walls" if wall.count > 1 else "wall"
    return Barrier(f"{many}, {name}", one.scaled(float(wall.count), "dB"))


def _through(name: str, thickness_m: float, frequency_hz: float) -> Quantity:
    material = building_material(name)
    source = f"slab of {name}, face on, {material.source}"
    index = math.sqrt(material.at(frequency_hz).relative_permittivity)
    if thickness_m < wavelength_m(frequency_hz) / index / 4.0 * 1.01:
        loss_db = wall_loss_db(material, thickness_m, frequency_hz)
        return Quantity(loss_db, "dB", "computed", source=source)
    loss = thick_wall_loss(material, thickness_m, frequency_hz)
    ends = loss.low_db, loss.high_db
    coverage = "ripple over a quarter wavelength of thickness"
    return Quantity(loss.mean_db, "dB", "computed", *ends, source, coverage, "arcsine")


def _as_measured(
    scenario: Scenario, stated: MeasuredRoom, inputs: LinkInputs, metal: MetalLoss | None
) -> Room:
    units = {"distance": stated.distance_unit, "level": stated.level_unit}
    fit = fit_levels(scenario.path_to(stated.levels), stated.levels, units)
    if stated.of_this_link:
        sent = [term for _, term in [*near_terms(inputs), *far_terms(inputs)]]
        if metal is not None and stated.with_metal is not False:
            sent += [term for _, term in metal.signed_terms()]
        loss_db = math.fsum(term.value for term in sent) - fit.level_at_1_m_db
        exact = Quantity(loss_db, "dB", "measured", source=stated.levels)
        return laws.as_measured(fit, exact, holds_everything=True)
    if stated.radiated_power is None or stated.far_gain is None:
        raise ValueError("a checked scenario says what was used to measure")
    power = stated.radiated_power.quantity("dBm", "room.radiated_power")
    gain = stated.far_gain.quantity("dBi", "room.far_gain")
    source = "radiated power and gain of what was used to measure, less the fitted level"
    loss = combine((power, gain), "dB", source).less(fit.level_at_1_m_db)
    return laws.as_measured(fit, loss, holds_everything=False)


def known_ends(scenario: Scenario, inputs: LinkInputs) -> LinkInputs:
    """Return both ends without the doubt that a series of this very link has taken from them."""
    if not _is_of_this_link(scenario.room):
        return inputs
    terms_of = {name: getattr(inputs, name) for name in _SENT}
    known: dict[str, Any] = {
        name: term.without_band() for name, term in terms_of.items() if term is not None
    }
    return replace(inputs, **known)


def known_metal(scenario: Scenario, metal: MetalLoss | None) -> MetalLoss | None:
    """Return the metal without its doubt, where the series was taken with it in place."""
    room = scenario.room
    if metal is None or not isinstance(room, MeasuredRoom):
        return metal
    if not room.of_this_link or room.with_metal is False:
        return metal
    detuning = None if metal.detuning is None else metal.detuning.without_band()
    return MetalLoss(detuning, metal.path.without_band())


def _is_of_this_link(room: object) -> bool:
    return isinstance(room, MeasuredRoom) and room.of_this_link


def fade_law_of(goal: Goal, room: Room) -> FadeLaw:
    """Return how the level varies, with the room's own scatter where none is stated."""
    sigma = None
    if goal.fading.endswith("log-normal"):
        if goal.shadowing_sigma is not None:
            sigma = goal.shadowing_sigma.quantity("dB", "goal.shadowing_sigma")
        else:
            kind: Kind = "measured" if room.fit is not None else "typical"
            sigma = Quantity(room.shadowing_db, "dB", kind, source=f"scatter about {room.name}")
    factor = None
    if goal.rice_factor is not None:
        factor = goal.rice_factor.quantity("dB", "goal.rice_factor")
    return FadeLaw(goal.fading, goal.reliability, goal.counts or "time or places", factor, sigma)


def transmission_of(scenario: Scenario, radio: Radio, metal_gain: Quantity | None) -> Transmission:
    """Return what a radio sends, as the radio rules weigh it.

    Parameters
    ----------
    scenario : Scenario
    radio : Radio
    metal_gain : Quantity or None
        How much the metal may raise the peak gain [dB].
    """
    antenna, goal = scenario.antenna, scenario.goal
    if antenna is None or goal is None:
        raise ValueError("a checked scenario with a radio has its antenna and its goal")
    crest, cable = radio.peak_over_mean, antenna.cable_loss
    return Transmission(
        band_hz=radio.band,
        conducted_power=radio.conducted_power.quantity("dBm", "data sheet output power"),
        peak_gain=terms.peak_gain(antenna.gain, antenna.efficiency, antenna.gain_toward),
        metal_gain=metal_gain,
        cable_loss=no_loss() if cable is None else cable.quantity("dB", "antenna.cable_loss"),
        channel_bandwidth_hz=radio.bandwidth,
        technology=radio.modulation or "",
        channels=radio.channels,
        duty_cycle=radio.duty_cycle,
        separation_m=goal.body_distance,
        peak_over_mean=None if crest is None else crest.quantity("dB", "peak_over_mean"),
    )
