"""Rice fading, shadowing with fast fading, and retries against scipy, integrals and simulation."""

import itertools
import math

import numpy as np
import pytest
from scipy import integrate, stats

from linkbudget.physics.coherence import echo_mixing, faded_beside, power_correlation
from linkbudget.physics.fading import log_normal_margin_db
from linkbudget.physics.retries import (
    Hopping,
    delivery,
    delivery_simulated,
    delivery_uncorrelated,
)
from linkbudget.physics.rice import rice_margin_db, rice_outage
from linkbudget.physics.shadowed_fading import shadowed_margin_db, shadowed_outage

NO_DIRECT_RAY = -math.inf
DRAWS = 400_000


def _rice_power(k_db, count, seed=11):
    """Powers of a fixed ray and two normal parts, mean one."""
    k = 10.0 ** (k_db / 10.0)
    random = np.random.default_rng(seed)
    scatter = math.sqrt(0.5 / (k + 1.0))
    real = math.sqrt(k / (k + 1.0)) + scatter * random.standard_normal(count)
    return real**2 + (scatter * random.standard_normal(count)) ** 2


def _binomial_error(share, count):
    return math.sqrt(share * (1.0 - share) / count)


# --- Rice ------------------------------------------------------------------------------------


@pytest.mark.parametrize("k_db", [-20.0, 0.0, 6.0, 12.0, 25.0])
def test_rice_against_the_amplitude_distribution(k_db):
    k = 10.0 ** (k_db / 10.0)
    margin_db = np.array([-4.0, 0.0, 1.0, 6.0, 15.0, 30.0])
    # amplitude over the scatter of one part: b = sqrt(2 K), mean power 2 (K + 1)
    amplitude = np.sqrt(2.0 * (k + 1.0) * 10.0 ** (-margin_db / 10.0))
    expected = stats.rice.cdf(amplitude, math.sqrt(2.0 * k))
    assert rice_outage(margin_db, k_db) == pytest.approx(expected, rel=1e-9, abs=1e-40)


@pytest.mark.parametrize("k_db", [-20.0, 0.0, 6.0, 12.0, 25.0])
@pytest.mark.parametrize("reliability", [0.05, 0.5, 0.9, 0.99, 0.9999])
def test_rice_margin_against_the_power_quantile(k_db, reliability):
    k = 10.0 ** (k_db / 10.0)
    power = stats.ncx2.ppf(1.0 - reliability, 2.0, 2.0 * k) / (2.0 * (k + 1.0))
    assert rice_margin_db(reliability, k_db) == pytest.approx(-10.0 * math.log10(power), abs=1e-7)


@pytest.mark.parametrize("k_db", [0.0, 6.0, 12.0])
@pytest.mark.parametrize("margin_db", [-1.0, 2.0, 6.0])
def test_rice_against_simulation(k_db, margin_db):
    found = float(np.mean(_rice_power(k_db, DRAWS) < 10.0 ** (-margin_db / 10.0)))
    expected = rice_outage(margin_db, k_db)
    assert abs(found - expected) < 4.0 * _binomial_error(expected, DRAWS)


@pytest.mark.parametrize(
    ("outage", "margin_db"), [(0.1, 9.77), (0.05, 12.90), (0.01, 19.98), (0.001, 30.00)]
)
def test_rayleigh_limit_against_the_exponential_distribution(outage, margin_db):
    # -10 log10(-ln(1 - outage)), by hand
    assert rice_margin_db(1.0 - outage, NO_DIRECT_RAY) == pytest.approx(margin_db, abs=0.005)
    assert shadowed_margin_db(1.0 - outage, NO_DIRECT_RAY, 0.0) == pytest.approx(
        margin_db, abs=0.005
    )


@pytest.mark.parametrize(
    ("margin_db", "outage"),
    [(3.0, 0.39419), (5.0, 0.27111), (10.0, 0.095163), (20.0, 0.0099502), (40.0, 9.9995e-05)],
)
def test_rayleigh_limit_outages(margin_db, outage):
    # 1 - exp(-10^(-M/10)), by hand
    assert rice_outage(margin_db, NO_DIRECT_RAY) == pytest.approx(outage, rel=2e-5)


# --- shadowing with fast fading --------------------------------------------------------------


@pytest.mark.parametrize("k_db", [NO_DIRECT_RAY, 0.0, 10.0, 25.0])
@pytest.mark.parametrize("sigma_db", [0.3, 4.0, 10.0])
@pytest.mark.parametrize("margin_db", [-6.0, 0.0, 12.0])
def test_both_together_against_adaptive_integration(k_db, sigma_db, margin_db):
    k = 10.0 ** (k_db / 10.0)

    def part(z):
        local_db = margin_db + sigma_db * z
        bent = 2.0 * (k + 1.0) * 10.0 ** (-local_db / 10.0)
        return stats.norm.pdf(z) * stats.ncx2.cdf(bent, 2.0, 2.0 * k)

    bend = min(8.0, max(-8.0, -margin_db / sigma_db))  # where the place's mean is just enough
    expected, _ = integrate.quad(
        part, -9.0, 9.0, points=[bend - 0.2, bend, bend + 0.2], epsabs=1e-9, limit=300
    )
    assert shadowed_outage(margin_db, k_db, sigma_db) == pytest.approx(expected, abs=1e-7)


@pytest.mark.parametrize("k_db", [NO_DIRECT_RAY, 6.0])
@pytest.mark.parametrize("sigma_db", [4.0, 8.0])
def test_both_together_against_simulation(k_db, sigma_db):
    fast_db = 10.0 * np.log10(_rice_power(k_db, DRAWS))
    level_db = fast_db + sigma_db * np.random.default_rng(12).standard_normal(DRAWS)
    for margin_db in (0.0, 8.0, 15.0):
        expected = shadowed_outage(margin_db, k_db, sigma_db)
        found = float(np.mean(level_db < -margin_db))
        assert abs(found - expected) < 4.0 * _binomial_error(expected, DRAWS)


@pytest.mark.parametrize("sigma_db", [3.0, 8.0, 12.0])
@pytest.mark.parametrize("reliability", [0.2, 0.9, 0.999])
def test_shadowing_alone_against_the_normal_quantile(sigma_db, reliability):
    expected = sigma_db * stats.norm.ppf(reliability)
    alone = shadowed_margin_db(reliability, math.inf, sigma_db)
    assert alone == pytest.approx(expected, abs=1e-6)
    assert alone == pytest.approx(log_normal_margin_db(reliability, sigma_db), abs=1e-6)
    # a strong direct ray beats by 0.2 dB at most: hardly more than shadowing alone
    assert shadowed_margin_db(reliability, 30.0, sigma_db) == pytest.approx(expected, abs=0.05)


# --- correlation of channels -----------------------------------------------------------------


@pytest.mark.parametrize("k_db", [NO_DIRECT_RAY, 3.0, 10.0])
@pytest.mark.parametrize("spacing_hz", [1e6, 5e6, 2e7])
def test_power_correlation_against_echoes_with_delays(k_db, spacing_hz):
    # echoes one by one: exponential delays, random phases, equal strength; and a ray at delay zero
    places, echoes, delay_s = 60_000, 60, 30e-9
    random = np.random.default_rng(14)
    delay = random.exponential(delay_s, (places, echoes))
    phase = random.uniform(0.0, 2.0 * math.pi, (places, echoes))
    k = 10.0 ** (k_db / 10.0)
    power = [
        np.abs(
            math.sqrt(k)
            + np.exp(1j * (phase - 2.0 * math.pi * offset_hz * delay)).sum(axis=1)
            / math.sqrt(echoes)
        )
        ** 2
        for offset_hz in (0.0, spacing_hz)
    ]
    found = np.corrcoef(power[0], power[1])[0, 1]
    assert power_correlation(spacing_hz, delay_s) == pytest.approx(found, abs=0.025)


def test_mixing_gives_the_correlation_back():
    channels = (2.402e9, 2.403e9, 2.41e9, 2.48e9)
    mixing = echo_mixing(channels, 40e-9)
    product = np.abs(mixing @ mixing.conj().T) ** 2
    for (i, one), (j, other) in itertools.product(enumerate(channels), repeat=2):
        assert product[i, j] == pytest.approx(power_correlation(one - other, 40e-9), abs=1e-9)


def _both_rayleigh_faded(threshold, correlation):
    """Two correlated Rayleigh channels: given one's power, the other is non-central chi-square."""

    def part(power):
        apart = 1.0 - correlation
        return math.exp(-power) * stats.ncx2.cdf(
            2.0 * threshold / apart, 2.0, 2.0 * correlation * power / apart
        )

    return integrate.quad(part, 0.0, threshold, epsabs=0.0, epsrel=1e-9)[0]


@pytest.mark.parametrize("margin_db", [3.0, 10.0, 20.0])
@pytest.mark.parametrize("correlation", [0.9, 0.5, 0.1])
def test_two_rayleigh_channels_against_an_integral(margin_db, correlation):
    threshold = 10.0 ** (-margin_db / 10.0)
    both = _both_rayleigh_faded(threshold, correlation)
    outage = -math.expm1(-threshold)
    delay_s = 30e-9
    spacing_hz = math.sqrt(1.0 / correlation - 1.0) / (2.0 * math.pi * delay_s)
    beside = faded_beside(np.array([margin_db]), NO_DIRECT_RAY, spacing_hz, delay_s)
    assert beside[0] == pytest.approx(both / outage, rel=1e-3)
    # two tries, busy for a fifth of the time: faded and faded, faded and spoiled, spoiled twice
    busy = 0.2
    lost = both + 2.0 * (outage - both) * busy + (1.0 - 2.0 * outage + both) * busy**2
    hop = Hopping(1.0, (2.44e9, 2.44e9 + spacing_hz), delay_s, NO_DIRECT_RAY, (busy, busy))
    assert 1.0 - delivery(margin_db, hop, 2.0) == pytest.approx(lost, rel=1e-3)
    found = delivery_simulated(margin_db, hop, 2.0)
    assert abs(1.0 - found.chance - lost) < 4.0 * found.standard_error


# --- retries ---------------------------------------------------------------------------------


@pytest.mark.parametrize("tries", [1, 3, 6])
@pytest.mark.parametrize("margin_db", [3.0, 10.0])
def test_channels_apart_against_the_binomial_distribution(tries, margin_db):
    outage = rice_outage(margin_db, 6.0)
    expected = stats.binom.sf(0, tries, 1.0 - outage)
    channels = tuple(2.4e9 + 1e7 * i for i in range(tries))
    hop = Hopping(0.01, channels, 1e-3, 6.0, (0.0,) * tries)
    assert delivery_uncorrelated(outage, tries, tries) == pytest.approx(expected, rel=1e-12)
    assert delivery(margin_db, hop, 0.01 * tries) == pytest.approx(expected, abs=1e-6)


def test_uncorrelated_channels_against_tries_one_by_one():
    outage, tries, channels, busy, places = 0.3, 7, 3, 0.4, 200_000
    random = np.random.default_rng(15)
    faded = random.random((places, channels)) < outage
    arrived = np.zeros(places, dtype=bool)
    for n in range(tries):
        arrived |= ~faded[:, n % channels] & (random.random(places) >= busy)
    expected = delivery_uncorrelated(outage, tries, channels, busy)
    assert abs(arrived.mean() - expected) < 4.0 * _binomial_error(expected, places)


def _chains():
    for k_db, delay_s, spacing_hz in itertools.product(
        (NO_DIRECT_RAY, 3.0, 10.0), (10e-9, 30e-9, 100e-9), (1e6, 4e6, 16e6)
    ):
        for count, busy, margin_db in ((3, 0.0, 6.0), (3, 0.2, 12.0), (8, 0.0, 3.0), (8, 0.2, 8.0)):
            yield k_db, delay_s, spacing_hz, count, busy, margin_db


def test_the_chain_of_channels_against_simulation():
    ratios = []
    for k_db, delay_s, spacing_hz, count, busy, margin_db in _chains():
        channels = tuple(2.402e9 + spacing_hz * i for i in range(count))
        hop = Hopping(0.01, channels, delay_s, k_db, (busy,) * count)
        found = delivery_simulated(margin_db, hop, 0.01 * count, draws=30_000)
        lost = 1.0 - found.chance
        if lost > 10.0 * found.standard_error:
            ratios.append((1.0 - delivery(margin_db, hop, 0.01 * count)) / lost)
    assert len(ratios) > 60
    low, usual_low, usual_high, high = np.quantile(ratios, [0.0, 0.1, 0.9, 1.0])
    assert 1.0 / 2.2 < low < high < 2.2
    assert 0.8 < usual_low < usual_high < 1.25
