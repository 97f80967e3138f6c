"""What disturbs the receiver of a link: neighbours, fast ports, and the product's own clocks."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.core.distributions import of_quantity
from linkbudget.core.quantity import Kind, Quantity
from linkbudget.core.stated import tabled
from linkbudget.core.tables import SourcedRow, load_sourced_rows
from linkbudget.link import terms
from linkbudget.link.budget import LinkInputs, no_loss
from linkbudget.link.delivery import Delivery, delivered
from linkbudget.link.fades import FadeLaw
from linkbudget.link.forecast import Outcome
from linkbudget.physics.clocks import harmonics_in_channels
from linkbudget.physics.noise_rise import (
    fast_port_rise,
    neighbour_level_dbm,
    noise_rise_db,
    received_density_dbm_per_hz,
)
from linkbudget.physics.retries import Hopping
from linkbudget.physics.rice import rice_outage
from linkbudget.results import ClockInChannel
from linkbudget.scenario import Radio, Scenario
from linkbudget.scenario.link_models import NoiseRise, UsbPort, WirelessLan
from linkbudget.scenario.room_models import IndoorRoom

PRESUMED_TOLERANCE_PPM = 50.0

_DRAWS = 4096
_SEED = 2_400
_REJECTIONS = 15
_HALF = 0.5  # of the time: what is on for less, the budget leaves to the retries
_ALWAYS = 1.0
_LEFT = "what is on for less than half of the time is left to the retries"
_HOP = 0.382  # share of the band from one hop to the next; the golden section spreads them


@dataclass(frozen=True, slots=True, eq=False)
class _Disturber:
    """What is on for a share of the time, and the rise of the noise it then makes.

    Parameters
    ----------
    active : float
        Share of the time [1].
    rise_db : array, shape (channels, draws)
        On each channel, for each draw of what is not known of it [dB].
    alone : Quantity
        The same as a quantity.
    """

    active: float
    rise_db: FloatArray
    alone: Quantity

    @property
    def is_plain(self) -> bool:
        """Whether the quantity says it all: always on, and on all channels alike."""
        return self.active == _ALWAYS and len(self.rise_db) == 1 and not self.alone.table


def channels_hz(radio: Radio) -> tuple[float, ...]:
    """Return the channel centres [Hz], evenly over the band; as many as fit where none are told."""
    low_hz, high_hz = radio.band
    count = radio.channels or 1 + int((high_hz - low_hz) / radio.bandwidth)
    if count == 1 or low_hz == high_hz:
        return (math.sqrt(low_hz * high_hz),)
    return tuple(np.round(np.linspace(low_hz, high_hz, count), -3).tolist())


def hops(radio: Radio) -> bool:
    """Return whether each try takes another channel."""
    if radio.hopping is not None:
        return radio.hopping
    return radio.modulation == "frequency hopping"


def desensitisation_of(scenario: Scenario, radio: Radio, far_gain_dbi: float) -> Quantity:
    """Return by how much noise from outside raises the level that the receiver needs.

    Parameters
    ----------
    scenario : Scenario
    radio : Radio
    far_gain_dbi : float
        Gain of the receiver's antenna [dBi].

    Returns
    -------
    Quantity
        Rise of the noise [dB]; its value is the median.

    Notes
    -----
    A radio that retries outlasts what comes and goes: what is on for less than half of the time is
    left to its retries, the rest counts as on all the time, and of the channels of a hop the median
    counts. A radio of which no retries are stated meets every moment and every channel as often as
    they come; without hopping it is on the worst channel.
    """
    return _rise(scenario, radio, far_gain_dbi, _HALF)


def between_disturbances(scenario: Scenario, radio: Radio, inputs: LinkInputs) -> LinkInputs:
    """Return both ends as a try meets them while nothing that comes and goes is on.

    What is not on all the time spoils a try now and then (``delivery_of``), so the level of a try
    does not count it once more. The inputs stay as they are where no delivery is judged.
    """
    if not _is_delivery_judged(scenario, radio):
        return inputs
    steady = _rise(scenario, radio, inputs.far_gain.value, _ALWAYS)
    return replace(inputs, desensitisation=steady)


def _rise(scenario: Scenario, radio: Radio, far_gain_dbi: float, least: float) -> Quantity:
    """Return the rise by what is on for at least a share of the time, or by all without retries."""
    found = _disturbers(scenario, radio, far_gain_dbi)
    retries = radio.retry_interval is not None
    left_out = [each for each in found if retries and each.active < least]
    lasting = [_lasting(each, radio) for each in found if not retries or each.active >= least]
    if not lasting:
        return Quantity(0.0, "dB", "computed", source=_LEFT) if left_out else no_loss()
    total = lasting[0].alone if len(lasting) == 1 and lasting[0].is_plain else _summed(lasting)
    return replace(total, source=f"{total.source}; {_LEFT}") if left_out else total


def _lasting(each: _Disturber, radio: Radio) -> _Disturber:
    if radio.retry_interval is None:
        return each
    return replace(each, active=1.0, rise_db=np.median(each.rise_db, axis=0, keepdims=True))


def _summed(disturbers: Sequence[_Disturber]) -> Quantity:
    """Return the rise by all together, over time, channels, and what is not known of them."""
    rng = np.random.default_rng(_SEED)
    # each channel and each share of the time exactly as often as it should be
    channel, draw = rng.permutation(_DRAWS), np.arange(_DRAWS)
    extra = np.zeros(_DRAWS)
    for each in disturbers:
        on = rng.permutation((draw + 0.5) / _DRAWS < each.active)
        rise_db = each.rise_db[channel % len(each.rise_db), draw]
        extra += np.where(on, np.power(10.0, rise_db / 10.0) - 1.0, 0.0)
    total_db = (10.0 * np.log10(1.0 + extra)).tolist()
    kinds: set[Kind] = {each.alone.kind for each in disturbers}
    kind = kinds.pop() if len(kinds) == 1 else "typical" if "typical" in kinds else "computed"
    source = "; ".join(dict.fromkeys(each.alone.source for each in disturbers))
    return tabled(total_db, "dB", source, kind)


def _disturbers(scenario: Scenario, radio: Radio, far_gain_dbi: float) -> list[_Disturber]:
    rng = np.random.default_rng(_SEED)
    found = []
    for stated in scenario.interference:
        active = 1.0 if stated.activity is None else stated.activity
        if isinstance(stated, WirelessLan):
            rise_db, alone = _neighbour(stated, radio, far_gain_dbi, rng)
        else:
            alone = _plain_rise(stated)
            rise_db = np.atleast_2d(_drawn(alone, rng))
        found.append(_Disturber(active, np.maximum(rise_db, 0.0), alone))
    return found


def _plain_rise(stated: UsbPort | NoiseRise) -> Quantity:
    if isinstance(stated, NoiseRise):
        return stated.rise.quantity("dB", "interference.rise")
    return fast_port_rise()


def _drawn(quantity: Quantity, rng: np.random.Generator) -> FloatArray:
    return of_quantity(quantity).draw(rng, _DRAWS)


def _neighbour(
    stated: WirelessLan, radio: Radio, far_gain_dbi: float, rng: np.random.Generator
) -> tuple[FloatArray, Quantity]:
    """Return the rise on each channel, on the worst alone without hopping; and as a quantity."""
    middle_hz = stated.frequency or math.sqrt(radio.band[0] * radio.band[1])
    density = received_density_dbm_per_hz(0.0, stated.distance, middle_hz, far_gain_dbi)
    if stated.rejection is not None:
        rejection = stated.rejection.quantity("dB", "interference.rejection")
    else:
        rejection = terms.typical_term("rejection beside the channel not stated")
    steps = np.quantile(_drawn(rejection, rng), (np.arange(_REJECTIONS) + 0.5) / _REJECTIONS)
    levels_dbm = np.array(
        [
            [
                neighbour_level_dbm(density, at_hz - middle_hz, radio.bandwidth, max(0.0, each))
                for each in steps.tolist()
            ]
            for at_hz in channels_hz(radio)
        ]
    )
    if not hops(radio):
        levels_dbm = levels_dbm[[int(levels_dbm.mean(axis=1).argmax())]]
    power_dbm = _drawn(stated.radiated_power.quantity("dBm", ""), rng)
    level_dbm = levels_dbm[:, rng.integers(_REJECTIONS, size=_DRAWS)] + power_dbm
    noise_dbm = terms.receiver_noise_dbm(radio.bandwidth, radio.noise_figure)
    rise_db = noise_rise_db(noise_dbm, level_dbm)
    source = f"wireless LAN at {stated.distance:g} m, free space, against the receiver's noise"
    if stated.rejection is None:
        source += f"; {rejection.source}"
    return rise_db, tabled(rise_db.ravel()[::7].tolist(), "dB", source, "computed")


def clocks_of(scenario: Scenario, radio: Radio) -> tuple[ClockInChannel, ...]:
    """Return the harmonics of the product's clocks that may lie in a channel."""
    centres_hz = channels_hz(radio)
    return tuple(
        ClockInChannel(
            clock.name, hit.number, hit.frequency_hz, centres_hz[hit.channel], hit.always
        )
        for clock in scenario.clocks
        for hit in harmonics_in_channels(
            [clock.frequency],
            PRESUMED_TOLERANCE_PPM if clock.tolerance is None else clock.tolerance,
            centres_hz,
            radio.bandwidth,
        )
    )


def delivery_of(
    scenario: Scenario, radio: Radio, above: Outcome, fade: FadeLaw, far_gain_dbi: float
) -> Delivery | None:
    """Return whether reports arrive in time at the wanted distance.

    Parameters
    ----------
    scenario : Scenario
    radio : Radio
    above : Outcome
        How far the level lies above what the receiver needs, ``between_disturbances`` [dB].
    fade : FadeLaw
    far_gain_dbi : float
        Gain of the receiver's antenna [dBi].

    Returns
    -------
    Delivery or None
        None where no latency or no interval is stated.
    """
    goal = scenario.goal
    if goal is None or goal.latency is None or radio.retry_interval is None:
        return None
    centres_hz = channels_hz(radio)
    busy = _busy(scenario, radio, far_gain_dbi, above.median.value, fade.typical_k_db)
    order = _hop_order(len(centres_hz)) if hops(radio) else [int(np.argmax(busy))]
    hopping = Hopping(
        radio.retry_interval,
        tuple(centres_hz[each] for each in order),
        delay_spread(scenario).value,
        fade.typical_k_db,
        tuple(busy[each] for each in order),
    )
    return delivered(above, fade.typical_sigma_db, hopping, goal.latency)


def _is_delivery_judged(scenario: Scenario, radio: Radio) -> bool:
    goal = scenario.goal
    return goal is not None and goal.latency is not None and radio.retry_interval is not None


def delay_spread(scenario: Scenario) -> Quantity:
    """Return the rms delay spread of the echoes [s]: stated, typical indoors, or assumed none."""
    room = scenario.room
    if room is not None and room.delay_spread is not None:
        return Quantity(room.delay_spread, "s", "stated", source="room.delay_spread")
    if isinstance(room, IndoorRoom):
        row = echo_row()
        low, used, high = (1e-9 * row.number(f"{name}_ns") for name in ("low", "typical", "high"))
        return Quantity(used, "s", "typical", low, high, f"{row.source}: {row.source.note}")
    return Quantity(0.0, "s", "assumed", source="no echoes")


@lru_cache(maxsize=1)
def echo_row() -> SourcedRow:
    """Return how long echoes last indoors."""
    return load_sourced_rows("practice/echoes.csv")[0]


def _hop_order(count: int) -> list[int]:
    """Return the channels as a hop that leaps over the band visits them, each once."""
    step = next(
        leap
        for leap in sorted(range(1, count + 1), key=lambda leap: abs(leap - _HOP * count))
        if math.gcd(leap, count) == 1
    )
    return [number * step % count for number in range(count)]


def _busy(
    scenario: Scenario, radio: Radio, far_gain_dbi: float, above_db: float, k_db: float
) -> list[float]:
    """Return for each channel how likely what comes and goes spoils a try that would get through.

    Notes
    -----
    While a disturber is on, the level stands lower above the noise by its rise: of the places that
    are not in a fade without it, so many are in one with it.
    """
    through = np.ones(len(channels_hz(radio)))
    clear = 1.0 - rice_outage(above_db, k_db)
    for each in _disturbers(scenario, radio, far_gain_dbi):
        if each.active < _ALWAYS:
            faded = rice_outage(above_db - each.rise_db, k_db).mean(axis=1)
            spoiled = np.clip((faded - (1.0 - clear)) / max(clear, 1e-9), 0.0, 1.0)
            through = through * (1.0 - each.active * spoiled)
    busy: list[float] = (1.0 - through).tolist()
    return busy
