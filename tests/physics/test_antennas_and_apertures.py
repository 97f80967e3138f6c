"""Antennas and openings: limits, order of things, refusals."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linkbudget.core.errors import InputError, OutOfRange
from linkbudget.physics.antennas import (
    HALF_WAVE_RESISTANCE_OHM,
    half_wave_mutual_impedance_ohm,
    image_impedance_ohm,
    mismatch_loss_db,
    polarisation_loss_db,
    source_mismatch_loss_db,
)
from linkbudget.physics.apertures import (
    below_cutoff_db,
    cutoff_hz,
    equal_openings_db,
    slot_shielding_db,
)

resistances = st.floats(0.1, 1e4)
reactances = st.floats(-1e4, 1e4)


@given(st.floats(0.01, 60.0))
def test_mismatch_and_reflection_share_the_power(return_loss_db):
    taken = 10.0 ** (-mismatch_loss_db(return_loss_db) / 10.0)
    assert taken + 10.0 ** (-return_loss_db / 10.0) == pytest.approx(1.0)


@pytest.mark.parametrize("return_loss_db", [0.0, -10.0, float("nan")])
def test_a_return_loss_is_positive(return_loss_db):
    with pytest.raises(InputError, match="Return loss is written positive"):
        mismatch_loss_db(return_loss_db)


def test_a_perfect_match_loses_nothing():
    assert mismatch_loss_db(math.inf) == 0.0


@given(resistances, reactances, resistances, reactances)
def test_source_and_load_may_change_places(r1, x1, r2, x2):
    one = source_mismatch_loss_db(complex(r1, x1), complex(r2, x2))
    assert one >= 0.0
    assert source_mismatch_loss_db(complex(r2, x2), complex(r1, x1)) == pytest.approx(one)


@given(resistances, reactances)
def test_a_conjugate_match_loses_nothing(resistance, reactance):
    load = complex(resistance, reactance)
    assert source_mismatch_loss_db(load, load.conjugate()) == pytest.approx(0.0, abs=1e-9)


def test_a_real_mismatch_agrees_with_its_return_loss():
    # 100 ohm on 50 ohm: reflection 1/3, return loss 9.54 dB
    assert source_mismatch_loss_db(100.0, 50.0) == pytest.approx(
        mismatch_loss_db(20.0 * math.log10(3.0))
    )


@pytest.mark.parametrize(("load", "source"), [(0.0, 50.0), (-5.0 + 3j, 50.0), (50.0, 10j)])
def test_a_resistance_is_positive(load, source):
    with pytest.raises(InputError, match="resistance"):
        source_mismatch_loss_db(load, source)


@given(st.floats(-80.0, 80.0))
def test_polarisation_loss_is_even_and_not_negative(angle_deg):
    loss_db = polarisation_loss_db(angle_deg)
    assert loss_db >= 0.0
    assert polarisation_loss_db(-angle_deg) == loss_db


@pytest.mark.parametrize("angle_deg", [81.0, 90.0, -100.0, float("nan")])
def test_crossed_polarisation_is_for_the_user_to_state(angle_deg):
    with pytest.raises(OutOfRange, match="state the loss in dB"):
        polarisation_loss_db(angle_deg)


@settings(deadline=None)  # the first call imports scipy
@given(st.floats(1e-6, 0.16))
def test_lower_antenna_has_less_resistance(height_in_wavelengths):
    # up to the first maximum, near a third of a wavelength, R rises with height
    frequency_hz = 299_792_458.0
    low = image_impedance_ohm(height_in_wavelengths, frequency_hz)
    high = image_impedance_ohm(height_in_wavelengths * 1.05, frequency_hz)
    assert 0.0 < low.real < high.real


@settings(deadline=None)  # the first call imports scipy
@given(st.floats(0.001, 10.0), st.floats(1.5, 100.0))
def test_impedance_depends_on_height_in_wavelengths_alone(height_m, factor):
    one = image_impedance_ohm(height_m, 300e6)
    other = image_impedance_ohm(height_m / factor, 300e6 * factor)
    assert other == pytest.approx(one, rel=1e-9, abs=1e-9)


def test_mutual_impedance_dies_away():
    assert abs(half_wave_mutual_impedance_ohm(300.0, 300e6)) < 0.002 * HALF_WAVE_RESISTANCE_OHM


def test_a_height_is_positive():
    with pytest.raises(InputError, match="spacing"):
        image_impedance_ohm(0.0, 1e9)


@given(st.floats(1e-4, 1.0), st.floats(1e6, 1e10))
def test_slot_never_adds_and_a_longer_one_shields_less(length_m, frequency_hz):
    shielding_db = slot_shielding_db(length_m, frequency_hz)
    assert shielding_db >= 0.0
    assert slot_shielding_db(length_m * 1.1, frequency_hz) <= shielding_db
    assert slot_shielding_db(length_m, frequency_hz * 1.1) <= shielding_db


def test_half_a_wavelength_shields_nothing():
    half_wave_m = 299_792_458.0 / 2.44e9 / 2.0
    assert slot_shielding_db(half_wave_m, 2.44e9) == pytest.approx(0.0, abs=1e-12)
    assert slot_shielding_db(half_wave_m * 1.0001, 2.44e9) == 0.0
    # and a tenth of that length shields 20 dB
    assert slot_shielding_db(half_wave_m / 10.0, 2.44e9) == pytest.approx(20.0)


@pytest.mark.parametrize(("count", "change_db"), [(1, 0.0), (2, -3.01), (50, -16.99)])
def test_equal_openings_add_their_power(count, change_db):
    assert equal_openings_db(count) == pytest.approx(change_db, abs=0.005)


def test_no_opening_is_no_number_of_openings():
    with pytest.raises(InputError, match="at least one"):
        equal_openings_db(0)


@given(st.floats(1e-3, 0.1), st.floats(0.0, 0.5), st.floats(0.01, 0.99))
def test_depth_shields_in_proportion_below_cutoff(width_m, depth_m, share_of_cutoff):
    for shape in ("rectangle", "slot", "round"):
        frequency_hz = share_of_cutoff * cutoff_hz(shape, width_m)
        once_db = below_cutoff_db(shape, width_m, depth_m, frequency_hz)
        assert once_db >= 0.0
        assert below_cutoff_db(shape, width_m, 2 * depth_m, frequency_hz) == pytest.approx(
            2 * once_db
        )
        assert below_cutoff_db(shape, width_m, depth_m, frequency_hz * 0.9) >= once_db


@pytest.mark.parametrize("shape", ["rectangle", "slot", "round"])
def test_above_cutoff_depth_shields_nothing(shape):
    cutoff = cutoff_hz(shape, 0.05)
    assert below_cutoff_db(shape, 0.05, 1.0, cutoff) == 0.0
    assert below_cutoff_db(shape, 0.05, 1.0, cutoff * 3) == 0.0


def test_a_guide_has_positive_dimensions():
    with pytest.raises(OutOfRange, match="depth"):
        below_cutoff_db("round", 0.01, -0.01, 1e9)
    with pytest.raises(InputError, match="width"):
        below_cutoff_db("round", 0.0, 0.01, 1e9)
    with pytest.raises(InputError, match="length"):
        slot_shielding_db(0.0, 1e9)
