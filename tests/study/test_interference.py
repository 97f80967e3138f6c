"""Neighbours, ports and clocks of a scenario, and whether reports still arrive in time."""

import numpy as np
import pytest

from linkbudget.study import study

RADIO = """
band = ["2.40 GHz", "2.48 GHz"]
bandwidth = "1 MHz"
channels = 41
conducted_power = "10 dBm"
noise_figure = "6 dB"
required_snr = "10 dB"
"""
RETRIES = 'hopping = true\nretry_interval = "5 ms"\n'
RISE = '[[interference]]\nkind = "noise rise"\n'


def _desensitisation(found):
    return found.comparison.without.desensitisation


def test_nothing_that_disturbs_is_assumed_and_told(link):
    assert _desensitisation(link()).kind == "assumed"
    assert _desensitisation(link()).value == 0.0


def test_a_known_rise_is_taken_off_the_margin(link):
    quiet, loud = link().comparison, link(f'{RISE}rise = "3 dB"').comparison
    assert quiet.without.margin.value - loud.without.margin.value == pytest.approx(3.0)
    loose = _desensitisation(link(f'{RISE}rise = ["2 dB", "6 dB"]'))
    assert (loose.low, loose.high, loose.shape) == (2.0, 6.0, "rectangular")


def test_two_rises_add_in_power(link):
    # two disturbers of 3.01 dB each: noise, and twice the noise on top, 10 log10(3)
    both = _desensitisation(link(2 * f'{RISE}rise = "3.0103 dB"\n'))
    assert both.value == pytest.approx(4.771, abs=0.001)


def test_without_retries_every_moment_counts_as_often_as_it_comes(link):
    found = _desensitisation(link(f'{RISE}rise = "10 dB"\nactivity = "30 %"'))
    table = np.array(found.table)
    assert np.mean(table > 5.0) == pytest.approx(0.3, abs=0.001)
    assert set(np.round(table, 6)) == {0.0, 10.0}


def test_what_comes_and_goes_is_left_to_the_retries(link):
    goal = 'distance = "10 m"\nreliability = "99 %"\nfading = "none"\nlatency = "15 ms"'
    radio = RADIO + RETRIES
    rare = link(f'{RISE}rise = "60 dB"\nactivity = "30 %"', radio=radio, goal=goal)
    assert _desensitisation(rare).value == 0.0
    assert "left to the retries" in _desensitisation(rare).source
    # three tries, each spoiled for 30 % of the time: 1 - 0.3^3
    assert rare.delivery.tries == 3
    assert rare.delivery.chance.median.value == pytest.approx(1.0 - 0.3**3, abs=1e-6)
    assert rare.delivery.needed_s == pytest.approx(0.020)  # 0.3^4 is the first below 1 %
    often = link(f'{RISE}rise = "60 dB"\nactivity = "60 %"', radio=radio, goal=goal)
    assert _desensitisation(often).value == pytest.approx(60.0)


@pytest.mark.parametrize("percent", [10, 49, 50, 75, 99])
def test_reports_meet_what_comes_and_goes_try_by_try(link, percent):
    goal = 'distance = "10 m"\nreliability = "99 %"\nfading = "none"\nlatency = "30 ms"'
    disturbed = f'{RISE}rise = "60 dB"\nactivity = "{percent} %"'
    found = link(disturbed, radio=RADIO + RETRIES, goal=goal).delivery
    assert found.tries == 6
    assert found.chance.median.value == pytest.approx(1.0 - (percent / 100.0) ** 6, abs=1e-6)


@pytest.mark.parametrize("activity", ["", 'activity = "100 %"'])
def test_what_is_always_on_lowers_the_level_of_every_try(link, activity):
    goal = 'distance = "10 m"\nreliability = "99 %"\nfading = "rayleigh"\nlatency = "5 ms"'
    quiet = link(radio=RADIO + RETRIES, goal=goal)
    loud = link(f'{RISE}rise = "20 dB"\n{activity}', radio=RADIO + RETRIES, goal=goal)
    above_db = quiet.comparison.without.above_sensitivity.value
    assert quiet.delivery.chance.median.value == pytest.approx(
        np.exp(-(10.0 ** (-above_db / 10.0))), abs=1e-4
    )
    assert loud.delivery.chance.median.value == pytest.approx(
        np.exp(-(10.0 ** ((20.0 - above_db) / 10.0))), abs=1e-4
    )


def test_a_disturber_in_the_margin_does_not_count_twice_in_the_reports(link):
    goal = 'distance = "10 m"\nreliability = "99 %"\nfading = "rayleigh"\nlatency = "5 ms"'
    quiet = link(radio=RADIO + RETRIES, goal=goal)
    loud = link(f'{RISE}rise = "20 dB"\nactivity = "60 %"', radio=RADIO + RETRIES, goal=goal)
    assert _desensitisation(loud).value == pytest.approx(20.0)
    above_db = quiet.comparison.without.above_sensitivity.value
    quiet_share, loud_share = (
        np.exp(-(10.0 ** ((rise_db - above_db) / 10.0))) for rise_db in (0.0, 20.0)
    )
    # one try: 60 % of the time 20 dB lower
    assert loud.delivery.chance.median.value == pytest.approx(
        0.4 * quiet_share + 0.6 * loud_share, abs=1e-3
    )


def _told(small, more="", **tables):
    return {one.what: one for one in study(small(more, **tables), emissions=False).unstated}


GOAL = 'distance = "10 m"\nreliability = "99 %"\nfading = "rayleigh"\nlatency = "30 ms"'


def test_echoes_indoors_are_typical_and_told(small):
    office = 'kind = "indoor"\nsurroundings = "office"\nsight = "clear"\n'
    told = _told(small, radio=RADIO + RETRIES, goal=GOAL, room=office)
    echoes = told["delay spread of the echoes"]
    assert echoes.kind == "typical"
    assert echoes.used == "35 ns"
    assert "from memory" in echoes.why
    stated = _told(small, radio=RADIO + RETRIES, goal=GOAL, room=office + 'delay_spread = "35 ns"')
    assert "delay spread of the echoes" not in stated
    alike = [
        study(small(radio=RADIO + RETRIES, goal=GOAL, room=room), emissions=False)
        for room in (office, office + 'delay_spread = "35 ns"')
    ]
    one, other = (each.links[0].delivery.chance.median.value for each in alike)
    assert one == other
    open_air = _told(small, radio=RADIO + RETRIES, goal=GOAL)["delay spread of the echoes"]
    assert (open_air.kind, open_air.used) == ("assumed", "0 ns")


def test_channels_of_a_hop_that_nobody_counted_are_told(small):
    radio = (RADIO + RETRIES).replace("channels = 41", "")
    told = _told(small, radio=radio, goal=GOAL)["channels of radio radio"]
    assert (told.kind, told.used) == ("assumed", "81")  # 80 MHz in steps of 1 MHz, both ends
    assert "channels of radio radio" not in _told(small, radio=RADIO + RETRIES, goal=GOAL)


def test_a_neighbour_raises_the_noise_by_its_level_in_the_channel(link):
    # without hopping on the worst channel, which lies in the neighbour's 20 MHz: 0 dBm less
    # 60.1 dB over 10 m at 2.44 GHz less 13.0 dB for 1 MHz of 20, over -113.98 dBm + 6 dB of noise
    neighbour = (
        '[[interference]]\nkind = "wireless LAN"\ndistance = "10 m"\nradiated_power = "0 dBm"\n'
        'activity = "100 %"\nfrequency = "2.44 GHz"\nrejection = "60 dB"\n'
    )
    rise = _desensitisation(link(neighbour, radio=RADIO))
    assert rise.value == pytest.approx(-60.2 - 13.0 + 113.98 - 6.0, abs=0.1)
    assert rise.kind == "computed"
    # a hop is outside of it on most of its channels: 0 - 60.2 - 60 dB is below the noise
    hopping = _desensitisation(link(neighbour, radio=RADIO + RETRIES))
    assert hopping.value == pytest.approx(0.25, abs=0.05)  # 10 log10(1 + 10^((-120.2 + 108) / 10))


def test_clocks_that_fall_into_a_channel_are_named(link):
    clocks = '[[clocks]]\nname = "bus"\nfrequency = "48 MHz"\ntolerance = "20 ppm"\n'
    hits = link(clocks).clocks
    # 50 * 48 MHz = 2400 MHz and 51 * 48 MHz = 2448 MHz are channels, every 2 MHz
    assert [(hit.harmonic, hit.channel_hz, hit.always) for hit in hits] == [
        (50, 2.400e9, True),
        (51, 2.448e9, True),
    ]
    assert {hit.clock for hit in hits} == {"bus"}


def test_delivery_needs_a_latency_and_an_interval(link):
    assert link(radio=RADIO + RETRIES).delivery is None
    goal = 'distance = "10 m"\nreliability = "99 %"\nfading = "rayleigh"\nlatency = "50 ms"'
    assert link(goal=goal).delivery is None
    echoes = 'kind = "open air"\ndelay_spread = "100 ns"'
    hop = link(radio=RADIO + RETRIES, goal=goal, room=echoes).delivery
    still = link(radio=RADIO + 'retry_interval = "5 ms"', goal=goal, room=echoes).delivery
    # a fade stands still over the retries on one channel
    assert hop.chance.median.value > still.chance.median.value


def test_the_rules_weigh_what_the_scenario_says_of_the_radio(link):
    radio = (
        RADIO + 'modulation = "digital modulation"\nduty_cycle = "10 %"\npeak_over_mean = "2 dB"'
    )
    goal = 'distance = "10 m"\nreliability = "99 %"\nfading = "none"\nbody_distance = "200 mm"'
    rows = {row.rule: row for row in link(radio=radio, goal=goal).power}
    power = rows["EN 300 328: radiated power"]
    assert power.judged.value == pytest.approx(10.0)  # 10 dBm at 0 dBi
    assert power.margin.value == pytest.approx(10.0)  # to 20 dBm
    assert rows["47 CFR 1.1307: exemption by distance"].state == "judged"
    assert "cannot tell" in {row.state for row in link().power}
