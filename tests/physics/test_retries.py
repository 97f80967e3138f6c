"""Retries and hopping: closed forms as limits, monotony, the latency that comes back, refusals."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linkbudget.core.errors import InputError, OutOfRange
from linkbudget.physics.coherence import (
    coherence_bandwidth_hz,
    faded_beside,
    power_correlation,
)
from linkbudget.physics.retries import (
    Hopping,
    delivery,
    delivery_simulated,
    delivery_uncorrelated,
    latency_for_delivery_s,
    tries_within,
)
from linkbudget.physics.rice import rice_outage

NO_DIRECT_RAY = -math.inf
INTERVAL_S = 0.0075


def hop(count=4, *, spacing_hz=6e6, rms_delay_s=30e-9, k_db=NO_DIRECT_RAY, busy=0.0):
    channels = tuple(2.402e9 + spacing_hz * i for i in range(count))
    return Hopping(INTERVAL_S, channels, rms_delay_s, k_db, (busy,) * count)


hops = st.builds(
    hop,
    st.integers(1, 6),
    spacing_hz=st.floats(1e6, 2e7),
    rms_delay_s=st.floats(0.0, 2e-7),
    k_db=st.one_of(st.just(NO_DIRECT_RAY), st.floats(-10.0, 12.0)),
    busy=st.floats(0.0, 0.9),
)
margins = st.floats(-10.0, 25.0)
tries = st.integers(0, 12)


# --- one by one: channels that stand still, channels that fade apart -------------------------


@pytest.mark.parametrize("count", [1, 2, 5])
def test_one_channel_keeps_its_fade_for_ever(count):
    # p + (1 - p) q^n: at 10 dB p = 1 - exp(-0.1) = 0.09516, q = 0.3
    expected = 1.0 - (0.0951626 + 0.9048374 * 0.3**count)
    latency_s = count * INTERVAL_S
    assert delivery(10.0, hop(1, busy=0.3), latency_s) == pytest.approx(expected, abs=1e-6)
    assert delivery_uncorrelated(0.0951626, count, 1, 0.3) == pytest.approx(expected, abs=1e-6)


def test_channels_apart_multiply():
    # 0.0951626^3 = 8.618e-4; the delay spread of 1 ms decorrelates 20 MHz altogether
    apart = hop(3, spacing_hz=2e7, rms_delay_s=1e-3)
    assert 1.0 - delivery(10.0, apart, 3 * INTERVAL_S) == pytest.approx(8.618e-4, rel=1e-3)
    assert 1.0 - delivery_uncorrelated(0.0951626, 3, 3) == pytest.approx(8.618e-4, rel=1e-3)


def test_channels_without_echoes_delayed_fade_as_one():
    assert delivery(10.0, hop(6, rms_delay_s=0.0), 6 * INTERVAL_S) == pytest.approx(
        0.9048374, abs=1e-6
    )


def test_channels_are_taken_in_turn():
    # five tries on three channels: two of them twice; p = 0.2, q = 0.5
    twice, once = 0.2 + 0.8 * 0.25, 0.2 + 0.8 * 0.5
    expected = 1.0 - twice * twice * once
    assert delivery_uncorrelated(0.2, 5, 3, 0.5) == pytest.approx(expected, rel=1e-12)


def test_each_channel_has_its_own_interference():
    # no fading: both tries are lost with 0.9 times 0.1
    quiet_and_loud = replace(hop(2, k_db=math.inf), busy=(0.9, 0.1))
    assert delivery(3.0, quiet_and_loud, 2 * INTERVAL_S) == pytest.approx(0.91, rel=1e-12)
    found = delivery_simulated(3.0, quiet_and_loud, 2 * INTERVAL_S, draws=100)
    assert found.chance == pytest.approx(0.91, rel=1e-12)
    assert found.standard_error == pytest.approx(0.0, abs=1e-7)


def test_no_fading_and_too_little_level_never_arrives():
    assert delivery(-1.0, hop(3, k_db=math.inf), 1.0) == 0.0
    assert latency_for_delivery_s(0.5, -1.0, hop(3, k_db=math.inf)) == math.inf


def test_a_channel_that_is_always_busy_gives_nothing():
    one, two = hop(1), replace(hop(2), busy=(0.0, 1.0))
    assert delivery(10.0, two, 8 * INTERVAL_S) == pytest.approx(delivery(10.0, one, INTERVAL_S))
    assert delivery(10.0, hop(2, busy=1.0), 1.0) == 0.0


def test_no_time_for_a_try_gives_no_chance():
    assert delivery(30.0, hop(), 0.9 * INTERVAL_S) == 0.0
    assert delivery_uncorrelated(0.01, 0, 3) == 0.0
    assert delivery_simulated(30.0, hop(), 0.0, draws=100).chance == 0.0


def test_tries_are_whole_intervals_and_survive_rounding():
    assert [tries_within(n * 0.1, 0.1) for n in range(1, 40)] == list(range(1, 40))
    assert tries_within(0.0299, 0.0075) == 3


# --- properties ------------------------------------------------------------------------------


@settings(max_examples=50)
@given(hops, margins, st.floats(0.01, 10.0), tries)
def test_more_margin_never_harms(hopping, margin_db, more_db, count):
    latency_s = count * INTERVAL_S
    chance = delivery(margin_db, hopping, latency_s)
    assert -1e-12 <= chance <= 1.0
    assert delivery(margin_db + more_db, hopping, latency_s) >= chance - 1e-12


@settings(max_examples=50)
@given(hops, margins, tries)
def test_one_try_more_hardly_ever_harms(hopping, margin_db, count):
    # a chain that gains a channel in between links the outer two anew
    chance = delivery(margin_db, hopping, count * INTERVAL_S)
    assert delivery(margin_db, hopping, (count + 1) * INTERVAL_S) >= chance - 5e-3


@settings(max_examples=50)
@given(hops, margins, st.floats(0.0, 0.09), tries)
def test_more_interference_never_helps(hopping, margin_db, more, count):
    busier = replace(hopping, busy=tuple(share + more for share in hopping.busy))
    latency_s = count * INTERVAL_S
    assert delivery(margin_db, busier, latency_s) <= (
        delivery(margin_db, hopping, latency_s) + 1e-12
    )


@settings(max_examples=50)
@given(hops, margins, st.randoms())
def test_the_order_of_the_hop_does_not_matter_after_a_whole_round(hopping, margin_db, random):
    shuffled = list(hopping.channel_hz)
    random.shuffle(shuffled)
    latency_s = len(shuffled) * INTERVAL_S
    assert delivery(margin_db, replace(hopping, channel_hz=tuple(shuffled)), latency_s) == (
        pytest.approx(delivery(margin_db, hopping, latency_s), rel=1e-12)
    )


@settings(max_examples=50)
@given(hops, st.floats(0.0, 25.0), st.floats(0.3, 0.9999))
def test_the_latency_gives_the_chance_and_one_interval_less_does_not(hopping, margin_db, chance):
    latency_s = latency_for_delivery_s(chance, margin_db, hopping)
    if math.isinf(latency_s):
        assert delivery(margin_db, hopping, 1e5) < chance
    else:
        assert delivery(margin_db, hopping, latency_s) >= chance - 1e-12
        assert delivery(margin_db, hopping, latency_s - INTERVAL_S) < chance


@given(st.floats(0.0, 1.0), st.integers(1, 30), st.integers(1, 10), st.floats(0.0, 1.0))
def test_uncorrelated_channels_of_one_or_many_margins(outage, count, channels, busy):
    chance = delivery_uncorrelated(outage, count, channels, busy)
    assert -1e-12 <= chance <= 1.0
    at_once = delivery_uncorrelated(np.array([outage, 0.5]), count, channels, busy)
    assert at_once[0] == pytest.approx(chance, abs=1e-12)


def test_many_margins_at_once_are_the_same_as_one_by_one():
    margin_db = np.array([-5.0, 0.0, 7.0, 20.0])
    hopping = hop(5, k_db=6.0, busy=0.2)
    at_once = delivery(margin_db, hopping, 4 * INTERVAL_S)
    for one, chance in zip(margin_db, at_once, strict=True):
        assert delivery(float(one), hopping, 4 * INTERVAL_S) == pytest.approx(chance, rel=1e-12)


def test_the_same_seed_gives_the_same_chance_and_more_draws_are_surer():
    few, again, other = (
        delivery_simulated(5.0, hop(), 3 * INTERVAL_S, draws=30_000, seed=s) for s in (1, 1, 2)
    )
    assert few == again
    assert few != other
    more = delivery_simulated(5.0, hop(), 3 * INTERVAL_S, draws=120_000, seed=1)
    assert more.standard_error == pytest.approx(few.standard_error / 2.0, rel=0.05)


# --- coherence -------------------------------------------------------------------------------


def test_half_the_correlation_at_the_coherence_bandwidth():
    for delay_s in (1e-9, 50e-9, 2e-6):
        spacing_hz = coherence_bandwidth_hz(delay_s)
        assert power_correlation(spacing_hz, delay_s) == pytest.approx(0.5, rel=1e-12)
        assert power_correlation(3.0 * spacing_hz, delay_s) == pytest.approx(0.1, rel=1e-12)
    assert power_correlation(1e6, 0.0) == 1.0


@given(st.floats(0.0, 25.0), st.floats(-10.0, 10.0), st.floats(0.02, 50.0))
def test_a_channel_beside_a_faded_one_is_likelier_faded(margin_db, k_db, widths):
    spacing_hz = widths * coherence_bandwidth_hz(30e-9)
    beside = float(faded_beside(np.array([margin_db]), k_db, spacing_hz, 30e-9)[0])
    assert rice_outage(margin_db, k_db) * 0.999 <= beside <= 1.001


# --- refusals --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"interval_s": 0.0}, "interval between tries"),
        ({"rms_delay_s": -1e-9}, "rms delay spread"),
        ({"k_db": 31.0}, "Rice factor"),
        ({"busy": (0.1, 1.2, 0.0, 0.0)}, "busy share"),
        ({"busy": (0.1,)}, "a busy share for each"),
        ({"channel_hz": (2.4e9, 2.4e9, 2.41e9, 2.42e9)}, "3 of them different"),
        ({"channel_hz": (), "busy": ()}, "at least one channel"),
        ({"channel_hz": (2.4e9, -1.0, 2.41e9, 2.42e9)}, "channel"),
    ],
)
def test_a_hop_that_cannot_be_is_refused(change, told):
    with pytest.raises(InputError, match=told):
        replace(hop(), **change)


def test_values_out_of_range_are_refused():
    with pytest.raises(OutOfRange, match="latency"):
        delivery(10.0, hop(), -1.0)
    with pytest.raises(OutOfRange, match="wanted chance"):
        latency_for_delivery_s(1.5, 10.0, hop())
    with pytest.raises(OutOfRange, match="draws"):
        delivery_simulated(10.0, hop(), 1.0, draws=5)
    with pytest.raises(OutOfRange, match="outage"):
        delivery_uncorrelated(1.5, 1, 1)
    with pytest.raises(OutOfRange, match="channels"):
        delivery_uncorrelated(0.5, 1, 0)
    with pytest.raises(InputError, match="rms delay spread"):
        coherence_bandwidth_hz(0.0)
