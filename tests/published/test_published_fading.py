"""Fading, coherence and noise rise against values that others printed or the trade recalls."""

import math

import pytest

from linkbudget.physics.coherence import coherence_bandwidth_hz
from linkbudget.physics.noise_rise import fast_port_rise, noise_rise_db
from linkbudget.physics.rice import rice_margin_db, rice_outage
from linkbudget.physics.shadowed_fading import shadowed_margin_db


@pytest.mark.published(
    source="Radio magazine 1966, nomograph (Lenkurt)", where="fade margin of 20 dB is 99 %"
)
def test_rice_without_direct_ray_at_20_db(printed):
    assert 100.0 * (1.0 - rice_outage(20.0, -math.inf)) == printed("99")
    assert rice_margin_db(0.99, -math.inf) == printed("20")


@pytest.mark.published(
    source="microwave link texts", where="30 dB is 99.9 %, 40 dB is 99.99 %", from_memory=True
)
@pytest.mark.parametrize(("margin_db", "share"), [(30.0, "99.9"), (40.0, "99.99")])
def test_rice_without_direct_ray_gains_a_nine_each_ten_decibel(margin_db, share, printed):
    assert 100.0 * (1.0 - rice_outage(margin_db, -math.inf)) == printed(share)


@pytest.mark.published(
    source="tables of the normal distribution", where="one-sided quantiles", from_memory=True
)
@pytest.mark.parametrize(("share", "quantile"), [(0.90, "1.282"), (0.99, "2.326")])
def test_shadowing_alone(share, quantile, printed):
    assert shadowed_margin_db(share, math.inf, 1.0) == printed(quantile)


@pytest.mark.published(
    source="W. C. Y. Lee, Mobile Communications Engineering",
    where="coherence bandwidth of an urban area, delay spread 3 us, in kHz",
    from_memory=True,
)
def test_coherence_bandwidth_of_an_urban_area(printed):
    assert coherence_bandwidth_hz(3e-6) / 1e3 == printed("53")


@pytest.mark.published(
    source="ITU-R sharing studies",
    where="interference 6 dB or 10 dB below the noise costs 1 dB or 0.4 dB",
    from_memory=True,
)
@pytest.mark.parametrize(("below_db", "rise_db"), [(6.0, "1.0"), (10.0, "0.4")])
def test_interference_below_the_noise(below_db, rise_db, printed):
    assert noise_rise_db(-100.0, -100.0 - below_db) == printed(rise_db)


@pytest.mark.published(
    source="addition of levels, tables of the trade", where="two equal powers", from_memory=True
)
def test_interference_as_strong_as_the_noise(printed):
    assert noise_rise_db(-100.0, -100.0) == printed("3.01")


@pytest.mark.published(
    source="white paper on USB 3.0 interference at 2.4 GHz, 2012",
    where="rise of the noise floor beside a port in use",
    from_memory=True,
    practice=True,
)
def test_fast_port_at_its_worst(printed):
    assert fast_port_rise().high == printed("20")
