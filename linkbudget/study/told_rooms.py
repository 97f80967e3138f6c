"""What stands in for what nobody said of the room, its fading and its interference; and sources."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import cast

from linkbudget.core.quantity import Quantity
from linkbudget.core.sources import Source
from linkbudget.link.rooms import Room
from linkbudget.link.terms import cited_terms, typical_term
from linkbudget.physics.dielectrics import building_material
from linkbudget.physics.indoor import (
    PowerLawEnvironment,
    SiteGeneralEnvironment,
    indoor_power_law,
    indoor_site_general,
)
from linkbudget.physics.noise_rise import fast_port_rise
from linkbudget.results import Cited, Unstated, VariantLink
from linkbudget.scenario import Radio, Scenario
from linkbudget.scenario.link_models import UsbPort, WirelessLan
from linkbudget.scenario.room_models import GroundRoom, IndoorRoom, MeasuredRoom
from linkbudget.study.interference import (
    PRESUMED_TOLERANCE_PPM,
    channels_hz,
    delay_spread,
    echo_row,
    hops,
)
from linkbudget.study.rooms import SIGHT

FREE_SPACE = Source("ITU-R P.525", "", "free-space attenuation", "from memory")
_EDGE = Source("ITU-R P.526", "", "single knife-edge obstacle", "from memory")
_TWO_RAYS = Source(
    "J. D. Parsons, The Mobile Radio Propagation Channel",
    "",
    "propagation over a reflecting surface",
    "from memory",
)
_RETRIES = Source(
    "W. C. Jakes, Microwave Mobile Communications", "1974", "coherence bandwidth", "from memory"
)


def unstated_of_rooms(scenario: Scenario, links: Sequence[VariantLink]) -> Iterator[Unstated]:
    """Yield what stands in for what nobody said of the way between the two ends."""
    judged = [one for one in links if one.comparison is not None and one.room is not None]
    if not judged:
        return
    rooms = [one.room for one in judged if one.room is not None]
    yield from _of_the_room(scenario, rooms)
    yield from _of_the_goal(scenario, rooms)
    yield from _of_interference(scenario)
    used = {variant.radio for variant in scenario.variants}
    for key, radio in scenario.radios.items():
        if key in used:
            yield from _of_a_radio(scenario, key, radio)
    for clock in scenario.clocks:
        if clock.tolerance is None:
            used_ppm = f"{PRESUMED_TOLERANCE_PPM:g} ppm"
            why = "it decides which harmonics may fall into a channel"
            yield _assumed(f"tolerance of clock {clock.name}", used_ppm, "clocks.tolerance", why)


def _assumed(what: str, used: str, key: str, why: str) -> Unstated:
    return Unstated(what, used, "assumed", key, None, why)


def _half_db(quantity: Quantity) -> float:
    low, high = quantity.band
    return max(quantity.value - low, high - quantity.value)


def _of_the_room(scenario: Scenario, rooms: Sequence[Room]) -> Iterator[Unstated]:
    stated = scenario.room
    if stated is None:
        why = "the best case of any room"
        yield _assumed("the room", "open air", "room.kind", why)
    for room in rooms:
        if room.doubt.kind == "typical":
            yield Unstated(
                "how well the law of the room fits this one",
                f"{_half_db(room.doubt):.0f} dB to either side",
                "typical",
                'levels measured there: room.kind = "measured"',
                _half_db(room.doubt),
                room.doubt.source,
            )
    if isinstance(stated, IndoorRoom) and stated.by_floors and stated.floors is None:
        yield _assumed("floors between the two ends", "none", "room.floors", "each takes some dB")
    measured = stated if isinstance(stated, MeasuredRoom) and stated.of_this_link else None
    has_metal = scenario.metal is not None and scenario.metal.kind != "none"
    if measured and measured.with_metal is None and has_metal:
        why = "else it counts twice, or not at all"
        yield _assumed("whether the metal was measured with", "it was", "room.with_metal", why)


def _of_the_goal(scenario: Scenario, rooms: Sequence[Room]) -> Iterator[Unstated]:
    goal = scenario.goal
    if goal is None:
        return
    if goal.counts is None and goal.fading != "none":
        why = "a share of time where people move, of places where all stands still"
        yield _assumed("what the reliability is a share of", "time or places", "goal.counts", why)
    if goal.fading.endswith("log-normal") and goal.shadowing_sigma is None:
        for room in (one for one in rooms if one.fit is None):
            yield Unstated(
                "standard deviation of shadowing",
                f"{room.shadowing_db:.1f} dB",
                "typical",
                "goal.shadowing_sigma",
                None,
                f"scatter about the law of the room, {room.source}",
            )
    if goal.body_distance is None:
        why = "without it not every rule on exposure can be weighed"
        yield _assumed("distance between antenna and body", "none", "goal.body_distance", why)


def _of_interference(scenario: Scenario) -> Iterator[Unstated]:
    if not scenario.interference:
        why = "a neighbouring wireless LAN or a fast USB port may take some dB"
        yield _assumed("interference at the receiver", "none", "interference", why)
    for stated in scenario.interference:
        if isinstance(stated, UsbPort):
            rise = fast_port_rise()
            yield Unstated(
                "rise of the noise by the USB port",
                str(rise),
                "typical",
                'a measured one: interference.kind = "noise rise"',
                _half_db(rise),
                rise.source,
            )
        elif isinstance(stated, WirelessLan) and stated.rejection is None:
            rejection = typical_term("rejection beside the channel not stated")
            yield Unstated(
                "rejection of the receiver beside its channel",
                str(rejection),
                "typical",
                "interference.rejection",
                None,
                rejection.source,
            )


def _of_a_radio(scenario: Scenario, key: str, radio: Radio) -> Iterator[Unstated]:
    table = f"radios.{key}"
    if radio.modulation is None:
        why = "the radio rules have a route for each"
        yield _assumed(f"modulation of radio {key}", "cannot be told", f"{table}.modulation", why)
    has_neighbour = any(isinstance(each, WirelessLan) for each in scenario.interference)
    if radio.noise_figure is None and has_neighbour:
        figure = typical_term("noise figure not stated")
        yield Unstated(
            f"noise figure of radio {key}",
            f"{figure.value:g} dB",
            "typical",
            f"{table}.noise_figure, with required_snr",
            None,
            f"interference is weighed by it; {figure.source}",
        )
    if hops(radio) and radio.channels is None:
        count, why = len(channels_hz(radio)), "as many as its bandwidth fits into its band"
        yield _assumed(f"channels of radio {key}", str(count), f"{table}.channels", why)
    if scenario.goal is None or scenario.goal.latency is None:
        return
    if radio.retry_interval is None:
        why = "without it nobody can tell what arrives within the latency"
        yield _assumed(f"retries of radio {key}", "none", f"{table}.retry_interval", why)
    elif hops(radio) and (scenario.room is None or scenario.room.delay_spread is None):
        echoes = delay_spread(scenario)
        why = "channels then fade as one, and hopping helps against interference alone"
        why = echoes.source if echoes.kind == "typical" else why
        used = f"{echoes.value * 1e9:g} ns"
        what = "delay spread of the echoes"
        yield Unstated(what, used, echoes.kind, "room.delay_spread", None, why)


def sources_of_rooms(scenario: Scenario | None, links: Sequence[VariantLink]) -> Iterator[Cited]:
    """Yield every document whose numbers the way between the two ends leans on."""
    judged = [one for one in links if one.comparison is not None]
    if not judged or scenario is None:
        return
    stated = scenario.room
    if isinstance(stated, IndoorRoom):
        yield from _indoor(stated, judged)
    elif isinstance(stated, GroundRoom):
        yield Cited("direct ray and reflection", _TWO_RAYS)
        yield from _permittivities([stated.ground])
    elif not isinstance(stated, MeasuredRoom):
        yield Cited("free-space transmission loss", FREE_SPACE)
    if stated is not None and not isinstance(stated, MeasuredRoom):
        yield from _permittivities([wall.material for wall in stated.walls])
        if stated.edges:
            yield Cited("loss behind an edge", _EDGE)
    doubts = [one.room.doubt for one in judged if one.room is not None]
    needed = [one.comparison.without.desensitisation for one in judged if one.comparison]
    for row in cited_terms([*doubts, *needed]):
        yield Cited(row.cells["term"], row.source)
    for rule in {row.rule: row for one in judged for row in one.power}.values():
        if rule.source is not None:
            yield Cited(rule.rule, rule.source)
    if any(one.delivery is not None for one in judged):
        yield Cited("how far apart channels fade apart", _RETRIES)
        if delay_spread(scenario).kind == "typical":
            yield Cited("delay spread of the echoes", echo_row().source)


def _permittivities(names: Sequence[str | None]) -> Iterator[Cited]:
    for material in (building_material(name) for name in names if name is not None):
        yield Cited(f"permittivity of {material.name}", material.source)


def _indoor(stated: IndoorRoom, links: Sequence[VariantLink]) -> Iterator[Cited]:
    place = stated.surroundings
    if stated.by_floors:
        for one in links:
            law = indoor_power_law(cast(PowerLawEnvironment, place), one.frequency_hz)
            yield Cited(f"loss indoors, {place}", law.source)
    elif stated.sight is not None:
        row = indoor_site_general(cast(SiteGeneralEnvironment, place), SIGHT[stated.sight])
        yield Cited(f"loss indoors, {place}", row.source)
