"""The chance that a report arrives in time follows the level, whose doubt it inherits."""

import math

import numpy as np
import pytest
from scipy import integrate, stats

from linkbudget.core.errors import OutOfRange
from linkbudget.link.delivery import delivered
from linkbudget.link.forecast import Outcome
from linkbudget.physics.retries import Hopping, delivery

APART = 1e-3  # so long an rms delay that channels fade independently
INTERVAL_S = 0.0075


def hop(channels, busy=0.0, rms_delay_s=APART, k_db=-math.inf):
    centres = tuple(2.404e9 + 20e6 * index for index in range(channels))
    return Hopping(INTERVAL_S, centres, rms_delay_s, k_db, (busy,) * channels)


def level(middle_db, spread_db=0.0, draws=4_001):
    """Quantiles of a Gaussian without chance in them."""
    shares = (np.arange(draws) + 0.5) / draws
    return Outcome.of_draws(stats.norm.ppf(shares, middle_db, spread_db or 1e-12), "dB")


def test_channels_that_fade_apart_multiply():
    # Rayleigh at 10 dB: 1 - exp(-0.1) = 0.09516; three channels once each: 1 - 0.09516^3
    found = delivered(level(10.0), 0.0, hop(3), 3 * INTERVAL_S)
    assert found.tries == 3
    assert found.chance.median.value == pytest.approx(1.0 - 0.09516**3, abs=1e-5)


def test_one_channel_keeps_its_fade_for_ever():
    # a try is spoiled with 0.2: 1 - (p + (1 - p) 0.2^4), p = 0.09516
    found = delivered(level(10.0), 0.0, hop(1, busy=0.2), 4 * INTERVAL_S)
    assert found.chance.median.value == pytest.approx(0.90484 * (1.0 - 0.2**4), abs=1e-4)
    assert found.needed_s == math.inf


def test_shadowing_that_all_channels_share_is_averaged():
    def at_a_place(z):
        outage = -math.expm1(-(10.0 ** (-(10.0 + 6.0 * z) / 10.0)))
        return stats.norm.pdf(z) * (1.0 - outage**3)

    expected, _ = integrate.quad(at_a_place, -8.0, 8.0)
    found = delivered(level(10.0), 6.0, hop(3), 3 * INTERVAL_S)
    assert found.chance.median.value == pytest.approx(expected, abs=1e-5)


def test_shadowing_alone_leaves_the_normal_share_of_places():
    still = hop(1, k_db=math.inf)
    for margin_db, sigma_db in ((18.9, 8.0), (0.0, 8.0), (-5.0, 3.0), (4.0, 2.0), (25.0, 8.0)):
        found = delivered(level(margin_db), sigma_db, still, INTERVAL_S).chance.median.value
        assert found == pytest.approx(stats.norm.cdf(margin_db / sigma_db), abs=1e-5)


def test_rice_with_shadowing_is_that_of_drawn_places():
    rng = np.random.default_rng(11)
    k = 10.0**0.6
    echo = rng.normal(size=(1_000_000, 2)) @ (1.0, 1.0j) * math.sqrt(0.5 / (k + 1.0))
    power_db = 20.0 * np.log10(np.abs(math.sqrt(k / (k + 1.0)) + echo))
    above = 12.0 + power_db + rng.normal(0.0, 6.0, 1_000_000) > 0.0
    found = delivered(level(12.0), 6.0, hop(1, k_db=6.0), INTERVAL_S).chance.median.value
    assert found == pytest.approx(above.mean(), abs=5.0 * above.std() / 1_000.0)
    assert found == pytest.approx(above.mean(), abs=1e-3)


def test_the_latency_that_is_needed_counts_all_places():
    # shadowing alone and 30 % busy: cdf(2.3625) (1 - 0.3^n), 0.9909 (1 - 0.0027) is below 99 %
    still = hop(1, busy=0.3, k_db=math.inf)
    share = stats.norm.cdf(18.9 / 8.0)
    tries = next(n for n in range(1, 20) if share * (1.0 - 0.3**n) >= 0.99)
    found = delivered(level(18.9), 8.0, still, INTERVAL_S)
    assert found.needed_s == pytest.approx(tries * INTERVAL_S)
    assert delivered(level(18.0), 8.0, still, INTERVAL_S).needed_s == math.inf


def test_the_doubt_of_the_level_becomes_that_of_the_chance():
    found = delivered(level(10.0, 5.0), 0.0, hop(3), 3 * INTERVAL_S).chance
    for (low, high), z in zip(found.intervals, (0.67449, 1.28155, 1.95996), strict=True):
        for end, margin_db in ((low, 10.0 - 5.0 * z), (high, 10.0 + 5.0 * z)):
            outage = -math.expm1(-(10.0 ** (-margin_db / 10.0)))
            assert end.value == pytest.approx(1.0 - outage**3, abs=0.002)
    assert found.unit == "1"
    assert np.all(np.diff(found.values) >= 0.0)


def test_the_latency_for_99_percent_is_the_first_that_gives_it():
    # Rayleigh at 5 dB: p = 0.2711; p^3 = 0.01993, p^4 = 0.0054
    found = delivered(level(5.0), 0.0, hop(6), 0.05)
    assert found.needed_s == pytest.approx(4 * INTERVAL_S)
    # p^2 = 0.0735, p = 0.2711
    assert delivered(level(5.0), 0.0, hop(6), 0.05, 0.9).needed_s == pytest.approx(2 * INTERVAL_S)
    assert delivered(level(5.0), 0.0, hop(6), 0.05, 0.7).needed_s == pytest.approx(INTERVAL_S)


def test_interference_alone_needs_tries_and_no_level_helps():
    # 0.5^6 = 0.0156, 0.5^7 = 0.0078
    found = delivered(level(60.0), 0.0, hop(3, busy=0.5), 0.001)
    assert (found.tries, found.chance.median.value) == (0, 0.0)
    assert found.needed_s == pytest.approx(7 * INTERVAL_S)


def test_without_fading_a_report_arrives_or_does_not():
    still = hop(2, k_db=math.inf)
    assert delivered(level(1.0), 0.0, still, 0.02).chance.median.value == 1.0
    assert delivered(level(-1.0), 0.0, still, 0.02).chance.median.value == 0.0


def test_correlated_channels_follow_the_physics():
    near = hop(3, busy=0.1, rms_delay_s=10e-9, k_db=3.0)
    found = delivered(level(7.0), 0.0, near, 3 * INTERVAL_S).chance.median.value
    assert found == pytest.approx(delivery(7.0, near, 3 * INTERVAL_S), abs=2e-4)
    assert found < delivered(level(7.0), 0.0, hop(3, 0.1, APART, 3.0), 0.0225).chance.median.value


def test_a_negative_latency_is_refused():
    with pytest.raises(OutOfRange, match="latency"):
        delivered(level(10.0), 0.0, hop(3), -0.001)
