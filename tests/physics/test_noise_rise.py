"""Noise raised by neighbours and fast ports, and clock harmonics in channels."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linkbudget.core.errors import InputError, OutOfRange
from linkbudget.physics.clocks import harmonics_in_channels
from linkbudget.physics.noise_rise import (
    Interferer,
    fast_port_rise,
    interference_dbm_from_rise,
    neighbour_level_dbm,
    noise_rise_db,
    noise_states,
    received_density_dbm_per_hz,
    rise_not_exceeded_db,
)

levels = st.floats(-150.0, -20.0)
interferers = st.lists(
    st.builds(Interferer, st.just("neighbour"), st.floats(0.0, 1.0), levels), max_size=4
)

# --- power sums ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("over_db", "rise_db"), [(0.0, 3.0103), (-10.0, 0.4139), (10.0, 10.4139), (-math.inf, 0.0)]
)
def test_rise_by_hand(over_db, rise_db):
    # 10 log10(1 + ratio): 2, 1.1, 11 and 1
    assert noise_rise_db(-104.0, -104.0 + over_db) == pytest.approx(rise_db, abs=5e-5)


def test_rise_of_many_levels_at_once():
    rise_db = noise_rise_db(-104.0, np.array([[-104.0, -114.0], [-94.0, 60.0]]))
    assert rise_db == pytest.approx(np.array([[3.0103, 0.4139], [10.4139, 164.0]]), abs=5e-5)


@given(levels, levels, st.floats(0.01, 20.0))
def test_more_interference_raises_the_noise(noise_dbm, interference_dbm, more_db):
    rise_db = noise_rise_db(noise_dbm, interference_dbm)
    assert rise_db >= max(0.0, interference_dbm - noise_dbm)
    assert noise_rise_db(noise_dbm, interference_dbm + more_db) >= rise_db


@given(levels, st.floats(1e-3, 150.0))
def test_a_rise_comes_back(noise_dbm, rise_db):
    interference_dbm = interference_dbm_from_rise(noise_dbm, rise_db)
    assert noise_rise_db(noise_dbm, interference_dbm) == pytest.approx(rise_db, rel=1e-6)


def test_interference_behind_a_rise():
    assert interference_dbm_from_rise(-104.0, 3.0103) == pytest.approx(-104.0, abs=1e-4)
    assert interference_dbm_from_rise(-104.0, 0.0) == -math.inf
    with pytest.raises(OutOfRange, match="rise of the noise"):
        interference_dbm_from_rise(-104.0, -1.0)


# --- how often -------------------------------------------------------------------------------


def test_two_neighbours_by_hand():
    # noise, and one or two others as strong as it: 0, 3.01 and 4.77 dB
    states = noise_states(-100.0, [Interferer("one", 0.5, -100.0), Interferer("two", 0.2, -100.0)])
    assert [state.share for state in states] == pytest.approx([0.4, 0.1, 0.4, 0.1])
    assert [state.rise_db for state in states] == pytest.approx(
        [0.0, 3.0103, 3.0103, 4.7712], abs=5e-5
    )
    assert rise_not_exceeded_db(states, 0.4) == 0.0
    assert rise_not_exceeded_db(states, 0.85) == pytest.approx(3.0103, abs=5e-5)
    assert rise_not_exceeded_db(states, 1.0) == pytest.approx(4.7712, abs=5e-5)


def test_states_that_never_occur_are_left_out():
    always = noise_states(-100.0, [Interferer("port", 1.0, -90.0)])
    assert [(state.share, round(state.rise_db, 2)) for state in always] == [(1.0, 10.41)]
    assert [state.rise_db for state in noise_states(-100.0, [])] == [0.0]


@settings(max_examples=60)
@given(levels, interferers, st.floats(0.0, 1.0))
def test_states_cover_the_time_from_quiet_to_loud(noise_dbm, others, share):
    states = noise_states(noise_dbm, others)
    assert math.fsum(state.share for state in states) == pytest.approx(1.0)
    rises = [state.rise_db for state in states]
    assert rises == sorted(rises)
    rise_db = rise_not_exceeded_db(states, share)
    within = math.fsum(state.share for state in states if state.rise_db <= rise_db)
    assert within >= share - 1e-9


def test_states_against_simulation():
    others = [
        Interferer("a", 0.3, -98.0),
        Interferer("b", 0.6, -103.0),
        Interferer("c", 0.1, -80.0),
    ]
    random = np.random.default_rng(21)
    total = np.full(200_000, 10.0**-10.0)
    for one in others:
        total += (random.random(total.size) < one.active) * 10.0 ** (one.level_dbm / 10.0)
    rise_db = 10.0 * np.log10(total) + 100.0
    states = noise_states(-100.0, others)
    mean_db = math.fsum(state.share * state.rise_db for state in states)
    assert mean_db == pytest.approx(rise_db.mean(), abs=4.0 * rise_db.std() / math.sqrt(200_000))
    for share in (0.2, 0.5, 0.8, 0.95):
        assert rise_not_exceeded_db(states, share) == pytest.approx(
            np.quantile(rise_db, share), abs=1e-6
        )


def test_too_many_or_impossible_neighbours_are_refused():
    with pytest.raises(OutOfRange, match="number of interferers"):
        noise_states(-100.0, [Interferer("one", 0.5, -90.0)] * 13)
    with pytest.raises(OutOfRange, match="printer room: share of the time"):
        Interferer("printer room", 1.5, -90.0)
    with pytest.raises(OutOfRange, match="share of the time"):
        rise_not_exceeded_db(noise_states(-100.0, []), 1.1)


# --- a wireless LAN as neighbour -------------------------------------------------------------


def test_a_neighbour_ten_metres_away_by_hand():
    # 32.45 + 20 log10(0.01 km) + 20 log10(2437 MHz) = 60.19 dB; 20 MHz is 73.01 dB over 1 Hz
    density = received_density_dbm_per_hz(20.0, 10.0, 2.437e9)
    assert density == pytest.approx(20.0 - 60.19 - 73.01, abs=0.01)
    assert received_density_dbm_per_hz(20.0, 10.0, 2.437e9, -3.0, 40e6) == pytest.approx(
        density - 3.0 - 3.0103, abs=1e-4
    )


@pytest.mark.parametrize(
    ("offset_hz", "rejection_db", "level_dbm"),
    [
        (0.0, math.inf, -50.0),  # 1 MHz inside 20 MHz
        (9.5e6, math.inf, -50.0),  # just inside
        (10.0e6, math.inf, -53.0103),  # half inside
        (-10.0e6, math.inf, -53.0103),  # the same below
        (25.0e6, math.inf, -math.inf),
        (25.0e6, 30.0, -66.9897),  # 20 MHz, 30 dB down
        (0.0, 0.0, -36.9897),  # a receiver without a filter takes all 20 MHz
    ],
)
def test_what_counts_in_the_channel_by_hand(offset_hz, rejection_db, level_dbm):
    found = neighbour_level_dbm(-110.0, offset_hz, 1e6, rejection_db)
    assert found == pytest.approx(level_dbm, abs=1e-3)


def test_a_receiver_wider_than_its_neighbour_takes_it_whole():
    assert neighbour_level_dbm(-110.0, 0.0, 5e6, math.inf, bandwidth_hz=1e6) == pytest.approx(-50.0)


@given(st.floats(0.0, 6e7), st.floats(0.0, 3e7), st.floats(0.0, 90.0), st.floats(0.0, 30.0))
def test_farther_or_better_filtered_counts_less(offset_hz, more_hz, rejection_db, more_db):
    level_dbm = neighbour_level_dbm(-110.0, offset_hz, 2e6, rejection_db)
    assert neighbour_level_dbm(-110.0, offset_hz + more_hz, 2e6, rejection_db) <= level_dbm + 1e-9
    assert neighbour_level_dbm(-110.0, offset_hz, 2e6, rejection_db + more_db) <= level_dbm + 1e-9


def test_neighbours_that_cannot_be_are_refused():
    with pytest.raises(OutOfRange, match="distance"):
        received_density_dbm_per_hz(20.0, 0.01, 2.437e9)
    with pytest.raises(InputError, match="bandwidth of the neighbour"):
        received_density_dbm_per_hz(20.0, 10.0, 2.437e9, bandwidth_hz=0.0)
    with pytest.raises(InputError, match="bandwidth of the receiver"):
        neighbour_level_dbm(-110.0, 0.0, 0.0, 30.0)
    with pytest.raises(OutOfRange, match="rejection"):
        neighbour_level_dbm(-110.0, 0.0, 1e6, -1.0)


def test_the_fast_port_is_told_as_typical_with_its_source():
    rise = fast_port_rise()
    assert (rise.kind, rise.unit) == ("typical", "dB")
    assert "white paper" in rise.source
    assert "check against the document" in rise.source


# --- own clocks ------------------------------------------------------------------------------

BAND_HZ = [2.402e9 + 2e6 * i for i in range(40)]  # 40 channels of 2 MHz


def test_harmonics_of_a_24_mhz_crystal_by_hand():
    # 101 x 24 = 2424, 102 x 24 = 2448, 103 x 24 = 2472; 2400 lies below the first channel
    hits = harmonics_in_channels([24e6], 20.0, BAND_HZ, 1e6)
    assert [(hit.number, hit.frequency_hz, hit.channel) for hit in hits] == [
        (101, 2.424e9, 11),
        (102, 2.448e9, 23),
        (103, 2.472e9, 35),
    ]
    assert all(hit.always for hit in hits)


def test_a_wide_tolerance_reaches_the_neighbouring_channel():
    # 51 x 48 = 2448 MHz moves by 2.448 MHz to either side at 1000 ppm
    channels = [2.444e9, 2.446e9, 2.448e9, 2.450e9, 2.452e9]
    hits = harmonics_in_channels([48e6], 1000.0, channels, 1e6)
    assert [(hit.channel, hit.number, hit.always) for hit in hits] == [
        (1, 51, False), (2, 51, False), (3, 51, False)
    ]  # fmt: skip


def test_clocks_come_in_their_order():
    hits = harmonics_in_channels([612e6, 816e6], 10.0, [2.448e9], 1e6)
    assert [(hit.clock_hz, hit.number) for hit in hits] == [(612e6, 4), (816e6, 3)]


@settings(max_examples=60)
@given(st.floats(2e6, 3e9), st.floats(0.0, 2000.0), st.floats(2e5, 2e7))
def test_harmonics_against_trying_every_number(clock_hz, ppm, width_hz):
    channels = [2.41e9, 2.44e9, 2.475e9]
    expected = {
        (number, index)
        for index, centre_hz in enumerate(channels)
        for number in range(1, int(2.6e9 / clock_hz) + 2)
        if number * clock_hz * (1.0 - ppm * 1e-6) <= centre_hz + width_hz / 2.0
        and number * clock_hz * (1.0 + ppm * 1e-6) >= centre_hz - width_hz / 2.0
    }
    hits = harmonics_in_channels([clock_hz], ppm, channels, width_hz)
    assert {(hit.number, hit.channel) for hit in hits} == expected


def test_clocks_that_cannot_be_are_refused():
    with pytest.raises(InputError, match="clock or channel"):
        harmonics_in_channels([0.0], 20.0, BAND_HZ, 1e6)
    with pytest.raises(InputError, match="width of a channel"):
        harmonics_in_channels([24e6], 20.0, BAND_HZ, 0.0)
    with pytest.raises(OutOfRange, match="tolerance of a clock"):
        harmonics_in_channels([24e6], -1.0, BAND_HZ, 1e6)
