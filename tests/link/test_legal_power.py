"""How far a transmitter is from each line: at, below and above every edge, and what is not known.

Levels in the expectations: 10 mW = 10 dBm, 100 mW = 20 dBm, 1 W = 30 dBm, 0.125 W = 20.97 dBm,
50 mV/m at 3 m = -1.2 dBm e.i.r.p.; all as the rules or common conversion tables print them.
"""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.core.errors import InputError, OutOfRange
from linkbudget.core.quantity import Quantity
from linkbudget.link.exposure import near_threshold_mw
from linkbudget.link.legal_power import Transmission, eirp, power_rows

JUST = 1e-6


def stated(value, unit, below=None, above=None):
    if below is None:
        return Quantity(value, unit, "stated")
    return Quantity(value, unit, "stated", value - below, value + above)


def transmission(power_dbm=4.0, gain_dbi=0.0, **more):
    facts = {
        "band_hz": (2.402e9, 2.480e9),
        "conducted_power": stated(power_dbm, "dBm"),
        "peak_gain": stated(gain_dbi, "dBi"),
        "metal_gain": None,
        "cable_loss": stated(0.0, "dB"),
        "channel_bandwidth_hz": 1e6,
        "technology": "digital modulation",
        "duty_cycle": 1.0,
        "separation_m": 0.2,
    }
    return Transmission(**{**facts, **more})


def row(rows, text):
    found = [one for one in rows if text in one.rule]
    assert len(found) == 1, [one.rule for one in rows]
    return found[0]


def judged(text, *args, **more):
    return row(power_rows(transmission(*args, **more)), text)


# radiated power


def test_radiated_power_is_power_less_cable_plus_peak_plus_the_metals_gain():
    radio = transmission(
        4.0, 2.0, cable_loss=stated(0.5, "dB"), metal_gain=stated(3.0, "dB", 3.0, 3.0)
    )
    assert eirp(radio).value == pytest.approx(8.5)
    assert eirp(radio).high == pytest.approx(11.5)
    assert "stated" in eirp(radio).source


def test_a_plate_that_adds_six_decibels_crosses_ten_milliwatts():
    bare = judged("spectrum sharing", 5.0)
    plated = judged("spectrum sharing", 5.0, metal_gain=stated(3.0, "dB", 3.0, 3.0))
    assert bare.margin.value == pytest.approx(5.0)
    assert "not asked" in bare.note
    assert plated.counted_margin_db == pytest.approx(-1.0)  # 10 - (5 + 6)
    assert "inside the band" in plated.note


def test_without_a_gain_by_the_metal_the_source_says_so():
    assert "no gain by metal" in judged("spectrum sharing").margin.source


@pytest.mark.parametrize(
    ("power_dbm", "words"),
    [(10.0 - JUST, "not asked"), (10.0, ": asked"), (10.0 + JUST, ": asked")],
)
def test_the_sharing_duty_starts_at_ten_milliwatts_exactly(power_dbm, words):
    found = judged("spectrum sharing", power_dbm)
    assert found.margin.value == pytest.approx(10.0 - power_dbm)
    assert words in found.note


@pytest.mark.parametrize(
    ("power_dbm", "margin_db"), [(20.0 - JUST, JUST), (20.0, 0.0), (21.0, -1.0)]
)
def test_the_european_line_of_a_hundred_milliwatts(power_dbm, margin_db):
    found = judged("EN 300 328: radiated power", power_dbm)
    assert found.margin.value == pytest.approx(margin_db, abs=1e-12)
    assert (found.edition, found.clause) == ("V2.2.2 (2019-07)", "4.3.2.2.3")
    assert "check against the standard" in found.standing


def test_the_duty_cycle_does_not_help_the_mean_power_during_the_burst():
    rare = judged("EN 300 328: radiated power", 15.0, duty_cycle=0.001)
    assert rare.margin.value == pytest.approx(5.0)


# medium utilisation: (P / 100 mW) x duty cycle


@pytest.mark.parametrize(
    ("power_dbm", "duty_cycle", "percent", "margin_db"),
    [
        (20.0, 0.1, 10.0, 0.0),
        (20.0, 0.05, 5.0, 3.0103),  # 10 log10(2)
        (20.0, 0.2, 20.0, -3.0103),
        (10.0, 1.0, 10.0, 0.0),
        (17.0, 0.1, 5.0119, 3.0),  # 50.119 mW
    ],
)
def test_medium_utilisation(power_dbm, duty_cycle, percent, margin_db):
    found = judged("medium utilisation", power_dbm, duty_cycle=duty_cycle)
    assert found.judged.value == pytest.approx(percent, rel=1e-4)
    assert (found.limit, found.unit, found.judged.unit) == (pytest.approx(10.0), "%", "%")
    assert found.margin.value == pytest.approx(margin_db, abs=1e-4)


def test_medium_utilisation_carries_its_band():
    power = stated(18.0, "dBm", 1.0, 2.0)
    found = judged("medium utilisation", conducted_power=power, duty_cycle=0.05)
    assert found.judged.high == pytest.approx(5.0)
    assert found.counted_margin_db == pytest.approx(3.0103, abs=1e-4)


def test_below_ten_milliwatts_medium_utilisation_is_not_asked():
    assert judged("medium utilisation", 10.0 - JUST).state == "not asked"
    assert judged("medium utilisation", 10.0).state == "judged"


def test_without_a_duty_cycle_medium_utilisation_cannot_be_told():
    found = judged("medium utilisation", 20.0, duty_cycle=None)
    assert found.state == "cannot tell"
    assert found.margin is None
    assert found.note.startswith("cannot tell: the duty cycle is not stated")
    assert "up to 10 % of the time" in found.note


# power density


@pytest.mark.parametrize(("power_dbm", "margin_db"), [(9.0, 1.0), (10.0, 0.0), (11.0, -1.0)])
def test_a_channel_inside_one_megahertz_has_all_its_power_there(power_dbm, margin_db):
    found = judged("EN 300 328: power density", power_dbm, channel_bandwidth_hz=1e6)
    assert found.state == "judged"
    assert found.margin.band == pytest.approx((margin_db, margin_db))


def test_a_wide_channel_lies_between_even_and_all_in_one_place():
    found = judged("EN 300 328: power density", 9.0, channel_bandwidth_hz=2e7)
    assert found.judged.value == pytest.approx(9.0 - 13.0103, abs=1e-4)  # 10 log10(20)
    assert found.judged.high == pytest.approx(9.0)
    assert found.state == "judged"


@pytest.mark.parametrize(
    ("power_dbm", "state"), [(10.0, "judged"), (10.1, "cannot tell"), (23.1, "judged")]
)
def test_a_density_line_between_the_two_cannot_be_told(power_dbm, state):
    found = judged("EN 300 328: power density", power_dbm, channel_bandwidth_hz=2e7)
    assert found.state == state
    assert found.margin is not None


def test_hopping_has_no_density_line_in_europe():
    found = judged("EN 300 328: power density", technology="frequency hopping", channels=79)
    assert found.state == "not asked"


def test_the_united_states_density_is_conducted_and_counts_three_kilohertz():
    found = judged("15.247: power density", 7.0, 20.0, channel_bandwidth_hz=3e6)
    assert found.judged.value == pytest.approx(7.0 - 30.0)
    assert found.counted_margin_db == pytest.approx(1.0)


# the routes of 15.247


@pytest.mark.parametrize(
    ("bandwidth_hz", "state"),
    [(500e3 * (1 - JUST), "route not open"), (500e3, "judged"), (500e3 * (1 + JUST), "judged")],
)
def test_the_digital_route_opens_at_five_hundred_kilohertz(bandwidth_hz, state):
    rows = power_rows(transmission(channel_bandwidth_hz=bandwidth_hz))
    found = row(rows, "15.247: conducted power")
    assert found.state == state
    assert "15.249" in found.note
    assert row(rows, "field strength, average").margin is not None


@pytest.mark.parametrize(
    ("channels", "limit_dbm"),
    [(None, None), (14, None), (15, 20.97), (74, 20.97), (75, 30.0), (79, 30.0)],
)
def test_the_hopping_line_depends_on_the_number_of_channels(channels, limit_dbm):
    found = judged("15.247", 4.0, technology="frequency hopping", channels=channels)
    if limit_dbm is None:
        assert found.margin is None
        assert found.state == ("cannot tell" if channels is None else "route not open")
    else:
        assert found.limit == pytest.approx(limit_dbm, abs=0.005)
        assert found.margin.value == pytest.approx(limit_dbm - 4.0, abs=0.005)


def test_an_unstated_technology_cannot_be_told_but_the_field_route_is_judged():
    rows = power_rows(transmission(technology=""))
    for text in ("EN 300 328: power density", "15.247"):
        found = row(rows, text)
        assert found.state == "cannot tell"
        assert found.note.startswith("cannot tell: whether it hops or how it modulates")
    assert row(rows, "field strength, average").state == "judged"


@pytest.mark.parametrize(
    ("gain_dbi", "margin_db"),
    [(-3.0, 10.0), (6.0 - JUST, 10.0), (6.0, 10.0), (6.5, 9.5), (9.0, 7.0)],
)
def test_gain_above_six_decibels_takes_its_excess_off(gain_dbi, margin_db):
    found = judged("15.247: conducted power", 20.0, gain_dbi)
    assert found.margin.value == pytest.approx(margin_db)


def test_the_metals_gain_counts_above_six_decibels_too():
    found = judged("15.247: conducted power", 20.0, 3.0, metal_gain=stated(3.0, "dB", 3.0, 3.0))
    assert found.margin.value == pytest.approx(10.0)
    assert found.counted_margin_db == pytest.approx(7.0)  # 9 dBi at the high end


def test_the_peak_counts_for_hopping_alone():
    crest = stated(3.0, "dB")
    hopping = {"technology": "frequency hopping", "channels": 79}
    assert judged("15.247", 20.0, **hopping, peak_over_mean=crest).margin.value == pytest.approx(
        7.0
    )
    assert "constant envelope" in judged("15.247", 20.0, **hopping).note
    digital = judged("15.247: conducted power", 20.0, peak_over_mean=crest)
    assert digital.margin.value == pytest.approx(10.0)


# 15.249: fields


@pytest.mark.parametrize(("power_dbm", "margin_db"), [(-2.25, 1.0), (-1.25, 0.0), (-0.25, -1.0)])
def test_the_average_field_line(power_dbm, margin_db):
    found = judged("field strength, average", power_dbm)
    assert found.margin.value == pytest.approx(margin_db, abs=0.01)
    assert found.unit == found.judged.unit == "dBuV/m"


def test_a_field_is_averaged_as_a_field_and_its_peak_is_not():
    rows = power_rows(transmission(0.0, duty_cycle=0.1))
    always = power_rows(transmission(0.0))
    average = row(rows, "field strength, average").margin.value
    assert average - row(always, "field strength, average").margin.value == pytest.approx(20.0)
    peak = row(rows, "field strength, peak").margin.value
    assert peak == row(always, "field strength, peak").margin.value
    assert peak == pytest.approx(18.75, abs=0.01)  # 114 dBuV/m is 18.75 dBm


def test_the_peak_of_the_envelope_counts_for_the_peak_field():
    found = judged("field strength, peak", 0.0, peak_over_mean=stated(8.0, "dB"))
    assert found.margin.value == pytest.approx(10.75, abs=0.01)


def test_without_a_duty_cycle_a_weak_sender_counts_as_sending_all_the_time():
    weak = judged("field strength, average", -10.0, duty_cycle=None)
    assert weak.state == "judged"
    assert weak.margin.value == pytest.approx(8.75, abs=0.01)
    assert "duty cycle is not stated" in weak.note


def test_without_a_duty_cycle_a_strong_sender_cannot_be_told():
    strong = judged("field strength, average", 18.75, duty_cycle=None)
    assert strong.state == "cannot tell"
    assert "up to 10 % of the time" in strong.note  # 20 dB over the line, as a field


def test_the_harmonics_cannot_be_told_and_the_row_says_how_far_down_they_have_to_be():
    found = judged("harmonics", 0.0)
    assert found.state == "cannot tell"
    assert "41.2 dB or more below" in found.note


# exposure


@pytest.mark.parametrize(("power_dbm", "words"), [(13.0102, "not asked"), (13.0104, ": asked")])
def test_the_exclusion_of_twenty_milliwatts(power_dbm, words):
    assert words in judged("EN 62479", power_dbm).note


def test_exposure_averages_over_the_duty_cycle():
    assert judged("EN 62479", 20.0, duty_cycle=0.1).margin.value == pytest.approx(3.0103, abs=1e-4)


def test_one_milliwatt_is_exempt_and_not_above():
    assert "not asked" in judged("any distance", 0.0).note
    assert ": asked" in judged("any distance", JUST).note


# thresholds at 5 mm: 2402, 2440 and 2480 MHz; then 10, 20 and 50 mm at 2440 MHz
@pytest.mark.parametrize(
    ("frequency_hz", "distance_m", "threshold_mw", "half_digit"),
    [
        (2.402e9, 0.005, 2.79, 0.005),
        (2.440e9, 0.005, 2.75, 0.005),
        (2.440e9, 0.010, 10.28, 0.005),
        (2.440e9, 0.020, 38.4, 0.05),
        (2.440e9, 0.050, 219.0, 0.5),
        (2.440e9, 0.200, 3060.0, 1e-6),
        (2.440e9, 0.400, 3060.0, 1e-6),
    ],
)
def test_threshold_near_the_body(frequency_hz, distance_m, threshold_mw, half_digit):
    found = near_threshold_mw(frequency_hz, distance_m, 3060.0)
    assert found == pytest.approx(threshold_mw, abs=half_digit)


@pytest.mark.parametrize(
    ("frequency_hz", "distance_m"),
    [(1.49e9, 0.1), (6.1e9, 0.1), (2.44e9, 0.0049), (2.44e9, 0.401)],
)
def test_the_threshold_is_not_extrapolated(frequency_hz, distance_m):
    with pytest.raises(OutOfRange):
        near_threshold_mw(frequency_hz, distance_m, 3060.0)


def test_the_larger_of_conducted_and_radiated_power_counts_near_the_body():
    # e.r.p. is e.i.r.p. less 2.15 dB
    low_gain = judged("exemption by distance", 4.0, 0.0)
    high_gain = judged("exemption by distance", 4.0, 5.15)
    assert low_gain.judged.value == pytest.approx(4.0)
    assert high_gain.judged.value == pytest.approx(7.0)


def test_beyond_forty_centimetres_the_threshold_follows_the_square_of_distance():
    found = judged("exemption by distance", separation_m=0.5)
    assert found.clause == "(b)(3)(i)(C)"
    assert 10.0 ** (found.limit / 10.0) == pytest.approx(4800.0)  # 19.2 W x 0.25
    assert judged("exemption by distance", separation_m=0.4).clause == "(b)(3)(i)(B)"


@pytest.mark.parametrize(
    ("distance_m", "words"),
    [(None, "is not stated"), (0.0, "from 5 mm on"), (0.0049, "from 5 mm on")],
)
def test_exposure_without_a_usable_distance_cannot_be_told(distance_m, words):
    found = judged("exemption by distance", separation_m=distance_m)
    assert found.state == "cannot tell"
    assert words in found.note


# bands


@pytest.mark.parametrize(
    ("band_hz", "held"),
    [
        ((2.4e9, 2.4835e9), True),
        ((2.4e9 * (1 - JUST), 2.48e9), False),
        ((2.402e9, 2.4835e9 * (1 + JUST)), False),
        ((868.0e6, 868.6e6), False),
    ],
)
def test_a_band_without_lines_says_so(band_hz, held):
    rows = power_rows(transmission(band_hz=band_hz))
    if held:
        assert len(rows) == 12
        assert all(one.source is not None for one in rows)
    else:
        assert [one.state for one in rows] == ["no line held"]
        assert rows[0].rule == "no line held for this band"
        assert "2.4 GHz to 2.4835 GHz" in rows[0].note
        assert (rows[0].clause, rows[0].edition) == ("", "")
        assert "look up" in rows[0].standing


@pytest.mark.parametrize(
    "wrong",
    [
        {"band_hz": (2.48e9, 2.402e9)},
        {"cable_loss": stated(-1.0, "dB")},
        {"technology": "spread"},
        {"channels": 0},
        {"duty_cycle": 0.0},
        {"duty_cycle": 1.0 + JUST},
        {"duty_cycle": math.nan},
        {"separation_m": -0.01},
        {"peak_over_mean": stated(-1.0, "dB")},
    ],
)
def test_a_transmitter_that_cannot_be_is_refused_by_field(wrong):
    with pytest.raises(InputError) as caught:
        transmission(**wrong)
    assert caught.value.field == next(iter(wrong))


# properties

transmissions = st.builds(
    lambda power, gain, below, above, metal, more: transmission(
        power, gain, **more, metal_gain=None if metal is None else stated(metal, "dB", below, above)
    ),
    st.floats(-10.0, 30.0),
    st.floats(-5.0, 12.0),
    st.floats(0.0, 3.0),
    st.floats(0.0, 3.0),
    st.none() | st.floats(0.0, 6.0),
    st.fixed_dictionaries(
        {
            "technology": st.sampled_from(["", "digital modulation", "frequency hopping"]),
            "channels": st.none() | st.integers(1, 100),
            "duty_cycle": st.none() | st.floats(0.001, 1.0),
            "separation_m": st.none() | st.floats(0.0, 2.0),
            "channel_bandwidth_hz": st.floats(1e5, 4e7),
        }
    ),
)


@given(transmissions, st.floats(0.0, 20.0))
def test_more_gain_never_raises_a_margin(radio, more_db):
    stronger = replace(radio, peak_gain=stated(radio.peak_gain.value + more_db, "dBi"))
    before, after = power_rows(radio), power_rows(stronger)
    assert [one.rule for one in before] == [one.rule for one in after]
    for one, other in zip(before, after, strict=True):
        if one.margin is None:
            # what could not be told does not become good by more gain
            assert other.margin is None or one.state == "not asked"
        elif other.margin is not None:
            assert other.margin.value <= one.margin.value + 1e-9
            assert other.counted_margin_db <= one.counted_margin_db + 1e-9


@given(transmissions)
def test_every_row_says_what_it_judges_and_why_it_does_not(radio):
    for one in power_rows(radio):
        assert one.counts
        assert one.written
        assert one.state == "judged" or one.note
        assert (one.judged is None) == (one.margin is None)
        assert one.state != "judged" or one.margin is not None
        assert "check against the standard" in one.standing


@given(transmissions, st.floats(0.0, 6.0))
def test_the_metals_gain_lowers_the_margin_of_radiated_power_by_as_much(radio, metal_db):
    bare = replace(radio, metal_gain=None)
    plated = replace(radio, metal_gain=stated(metal_db, "dB"))
    lost = (
        row(power_rows(bare), "EN 300 328: radiated power").margin.value
        - row(power_rows(plated), "EN 300 328: radiated power").margin.value
    )
    assert lost == pytest.approx(metal_db, abs=1e-9)
