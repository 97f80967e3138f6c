"""Fade margins and noise: round trips, monotony, refusals."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linkbudget.core.errors import InputError, OutOfRange
from linkbudget.physics.fading import (
    log_normal_margin_db,
    log_normal_reliability,
    rayleigh_margin_db,
    rayleigh_outage,
)
from linkbudget.physics.noise import sensitivity_dbm, thermal_noise_dbm

shares = st.floats(0.001, 0.999999)


@given(shares)
def test_rayleigh_comes_back(reliability):
    outage = rayleigh_outage(rayleigh_margin_db(reliability))
    assert 1.0 - outage == pytest.approx(reliability, rel=1e-9)


@settings(deadline=None)  # the first call imports scipy
@given(shares, st.floats(0.1, 20.0))
def test_log_normal_comes_back(reliability, sigma_db):
    margin_db = log_normal_margin_db(reliability, sigma_db)
    assert log_normal_reliability(margin_db, sigma_db) == pytest.approx(reliability, rel=1e-9)


@settings(deadline=None)  # the first call imports scipy
@given(st.floats(0.01, 0.99), st.floats(0.0001, 0.009))
def test_more_reliability_needs_more_margin(reliability, more):
    assert rayleigh_margin_db(reliability + more) > rayleigh_margin_db(reliability)
    assert log_normal_margin_db(reliability + more, 8.0) > log_normal_margin_db(reliability, 8.0)


def test_reference_is_the_mean_and_not_the_median():
    # at the median power half the time is below: 10 log10(ln 2) = -1.59 dB re mean
    assert rayleigh_margin_db(0.5) == pytest.approx(1.5917, abs=1e-4)
    assert rayleigh_outage(1.5917) == pytest.approx(0.5, abs=1e-4)


def test_a_tiny_outage_keeps_its_digits():
    assert rayleigh_outage(150.0) == pytest.approx(1e-15, rel=1e-6)


def test_no_spread_needs_no_margin():
    assert log_normal_margin_db(0.99, 0.0) == 0.0


@pytest.mark.parametrize("reliability", [0.0, 1.0, -0.1, 1.5, 99.0, float("nan")])
def test_a_reliability_lies_between_0_and_1(reliability):
    with pytest.raises(OutOfRange, match="No finite margin gives 100 %"):
        rayleigh_margin_db(reliability)
    with pytest.raises(OutOfRange, match="reliability"):
        log_normal_margin_db(reliability, 8.0)


def test_a_spread_is_not_negative():
    with pytest.raises(OutOfRange, match="standard deviation"):
        log_normal_margin_db(0.9, -1.0)
    with pytest.raises(InputError, match="standard deviation"):
        log_normal_reliability(3.0, 0.0)


@given(st.floats(1.0, 1e10), st.floats(1.0, 1000.0))
def test_noise_grows_ten_db_with_ten_times_the_bandwidth(bandwidth_hz, temperature_k):
    noise_dbm = thermal_noise_dbm(bandwidth_hz, temperature_k)
    assert thermal_noise_dbm(10 * bandwidth_hz, temperature_k) == pytest.approx(noise_dbm + 10)
    assert thermal_noise_dbm(bandwidth_hz, 10 * temperature_k) == pytest.approx(noise_dbm + 10)


def test_sensitivity_takes_every_decibel():
    assert sensitivity_dbm(1e6, 7.0, 3.0) == pytest.approx(thermal_noise_dbm(1e6) + 10.0)


def test_noise_refuses_what_no_receiver_has():
    with pytest.raises(InputError, match="bandwidth"):
        thermal_noise_dbm(0.0)
    with pytest.raises(InputError, match="temperature"):
        thermal_noise_dbm(1e6, 0.0)
    with pytest.raises(OutOfRange, match="noise figure"):
        sensitivity_dbm(1e6, -1.0, 10.0)
