"""Values that someone outside this project printed, or that the trade recalls (marked so)."""

import math

import pytest

from linkbudget.core.decibels import (
    dbuv_from_dbm,
    dbuv_per_m_from_dbua_per_m,
    erp_dbm_from_eirp_dbm,
)
from linkbudget.core.units import parse
from linkbudget.physics.antennas import (
    half_wave_mutual_impedance_ohm,
    image_impedance_ohm,
    mismatch_loss_db,
    polarisation_loss_db,
)
from linkbudget.physics.apertures import below_cutoff_db, cutoff_hz, slot_shielding_db
from linkbudget.physics.fading import log_normal_margin_db, rayleigh_margin_db, rayleigh_outage
from linkbudget.physics.materials import absorption_loss_db, metal, skin_depth_m
from linkbudget.physics.noise import sensitivity_dbm, thermal_noise_dbm
from linkbudget.physics.propagation import (
    eirp_dbm_from_field_dbuv_per_m,
    field_dbuv_per_m_from_eirp_dbm,
    free_space_loss_db,
)
from linkbudget.physics.sheets import Layer, sheet_loss_db

C = 299_792_458.0


@pytest.mark.published(source="ITU-R P.525", where="equation 6, km and MHz", from_memory=True)
def test_free_space_constant_for_kilometre_and_megahertz(printed):
    assert free_space_loss_db(1e6, 1e3) == printed("32.4")


@pytest.mark.published(
    source="radio link texts", where="loss at 1 m, 2.4 GHz", from_memory=True, practice=True
)
def test_free_space_loss_at_one_metre(printed):
    assert free_space_loss_db(2.4e9, 1.0) == printed("40.05")


@pytest.mark.published(source="radio link texts", where="loss at 1 km, 2.4 GHz", from_memory=True)
def test_free_space_loss_at_one_kilometre(printed):
    assert free_space_loss_db(2.4e9, 1e3) == printed("100.05")


@pytest.mark.published(
    source="EMC formula sheets", where="field strength from EIRP", from_memory=True
)
@pytest.mark.parametrize(("distance_m", "field"), [(1.0, "104.8"), (3.0, "95.2"), (10.0, "84.8")])
def test_field_strength_of_one_milliwatt(distance_m, field, printed):
    assert field_dbuv_per_m_from_eirp_dbm(0.0, distance_m) == printed(field)


@pytest.mark.published(
    source="FCC 47 CFR 15.209 and measurement guidance",
    where="500 uV/m at 3 m above 960 MHz as EIRP",
    from_memory=True,
)
def test_general_limit_above_960_mhz_as_radiated_power(printed):
    assert eirp_dbm_from_field_dbuv_per_m(parse("500 uV/m", "field level"), 3.0) == printed("-41.2")


@pytest.mark.published(
    source="FCC 47 CFR 15.209", where="100, 150, 200, 500 uV/m in dBuV/m", from_memory=True
)
@pytest.mark.parametrize(
    ("linear", "level"),
    [("100 uV/m", "40.0"), ("150 uV/m", "43.5"), ("200 uV/m", "46.0"), ("500 uV/m", "54.0")],
)
def test_field_levels(linear, level, printed):
    assert parse(linear, "field level") == printed(level)


@pytest.mark.published(source="EMC handbooks", where="dBm to dBuV in 50 ohm", from_memory=True)
@pytest.mark.parametrize(("impedance_ohm", "level"), [(50.0, "107"), (75.0, "108.8")])
def test_voltage_of_one_milliwatt(impedance_ohm, level, printed):
    assert dbuv_from_dbm(0.0, impedance_ohm) == printed(level)


@pytest.mark.published(source="EMC handbooks", where="dBuA/m to dBuV/m", from_memory=True)
def test_plane_wave_impedance_in_decibels(printed):
    assert dbuv_per_m_from_dbua_per_m(0.0) == printed("51.5")


@pytest.mark.published(source="ETSI and FCC texts", where="ERP = EIRP - 2.15 dB", from_memory=True)
def test_erp_against_eirp(printed):
    assert erp_dbm_from_eirp_dbm(0.0) == printed("-2.15")
    assert parse("0 dBd", "gain") == printed("2.15")


@pytest.mark.published(
    source="H. W. Ott, EMC Engineering", where="skin depth of copper", from_memory=True
)
@pytest.mark.parametrize(
    ("frequency_hz", "depth_um"), [(1e6, "66"), (1e7, "21"), (1e8, "6.6"), (1e9, "2.1")]
)
def test_skin_depth_of_copper(frequency_hz, depth_um, printed):
    copper = metal("copper").conductivity_s_per_m
    assert skin_depth_m(frequency_hz, copper) * 1e6 == printed(depth_um)


@pytest.mark.published(
    source="RF handbooks", where="skin depth of copper, three digits", from_memory=True
)
def test_skin_depth_of_copper_to_three_digits(printed):
    assert skin_depth_m(1e6, 5.8e7) * 1e6 == printed("66.1")
    assert skin_depth_m(1e9, 5.8e7) * 1e6 == printed("2.09")


@pytest.mark.published(
    source="MIL-HDBK-419A, volume I (quoted in a worked solution)",
    where="equation 8-5: A = 3.338e-3 t sqrt(mu f g), t in mil",
)
@pytest.mark.parametrize(("conductance", "permeability"), [(1.0, 1.0), (0.61, 1.0), (0.17, 700.0)])
def test_absorption_constant_of_the_handbook(conductance, permeability, printed):
    loss_db = absorption_loss_db(1e6, 25.4e-6, conductance * 5.8e7, permeability)
    assert loss_db / math.sqrt(1e6 * permeability * conductance) * 1e3 == printed("3.338")


@pytest.mark.published(
    source="S. A. Schelkunoff; H. W. Ott, EMC Engineering",
    where="reflection loss of copper to a plane wave, R = 168 - 10 log10(f)",
    from_memory=True,
)
def test_reflection_constant_of_copper(printed):
    # eight skin depths: thick enough for no re-reflection, thin enough to stay below the ceiling
    frequency_hz, thickness_m = 1e6, 8 * 66.1e-6
    total_db = sheet_loss_db(frequency_hz, [Layer(thickness_m, conductivity_s_per_m=5.8e7)])
    absorbed_db = absorption_loss_db(frequency_hz, thickness_m, 5.8e7)
    assert total_db - absorbed_db + 10.0 * math.log10(frequency_hz) == printed("168")


@pytest.mark.published(
    source="H. W. Ott, EMC Engineering",
    where="maximum slot length for 20 dB of shielding",
    from_memory=True,
)
@pytest.mark.parametrize(
    ("frequency_hz", "length_m"), [(100e6, 0.15), (300e6, 0.05), (500e6, 0.03), (1e9, 0.015)]
)
def test_slot_length_for_20_db(frequency_hz, length_m, printed):
    assert slot_shielding_db(length_m, frequency_hz) == printed("20")


@pytest.mark.published(
    source="trade magazine, May 2021, page 33, slot length chart after Ott",
    where="a slot of 6 in (150 mm) is half a wavelength at 1 GHz",
)
def test_half_wave_slot_shields_nothing(printed):
    assert slot_shielding_db(0.150, 1e9) == printed("0.0")
    assert slot_shielding_db(6 * 0.0254, 1e9) == 0.0


@pytest.mark.published(
    source="EMC handbooks (H. W. Ott)", where="waveguide below cutoff", from_memory=True
)
@pytest.mark.parametrize(("shape", "per_width"), [("rectangle", "27.3"), ("round", "32.0")])
def test_attenuation_below_cutoff_for_a_depth_of_one_width(shape, per_width, printed):
    assert below_cutoff_db(shape, 0.003, 0.003, 1e6) == printed(per_width)


@pytest.mark.published(source="shielding application text", where="round guide: fc = c / (1.71 D)")
def test_cutoff_of_a_round_guide(printed):
    assert C / (cutoff_hz("round", 0.01) * 0.01) == printed("1.71")


@pytest.mark.published(
    source="Radio magazine 1966, nomograph (Lenkurt)", where="fade margin of 20 dB is 99 %"
)
def test_rayleigh_margin_of_20_db(printed):
    assert 100.0 * (1.0 - rayleigh_outage(20.0)) == printed("99")
    assert rayleigh_margin_db(0.99) == printed("20")


@pytest.mark.published(
    source="microwave link texts", where="30 dB is 99.9 %, 40 dB is 99.99 %", from_memory=True
)
@pytest.mark.parametrize(("margin_db", "share"), [(30.0, "99.9"), (40.0, "99.99")])
def test_ten_decibel_for_each_nine(margin_db, share, printed):
    assert 100.0 * (1.0 - rayleigh_outage(margin_db)) == printed(share)


@pytest.mark.published(
    source="tables of the normal distribution", where="one-sided quantiles", from_memory=True
)
@pytest.mark.parametrize(
    ("share", "quantile"), [(0.90, "1.282"), (0.95, "1.645"), (0.99, "2.326"), (0.999, "3.090")]
)
def test_normal_quantiles(share, quantile, printed):
    assert log_normal_margin_db(share, 1.0) == printed(quantile)


@pytest.mark.published(source="receiver texts", where="kTB at 290 K", from_memory=True)
@pytest.mark.parametrize(("bandwidth_hz", "noise"), [(1.0, "-174"), (1e6, "-114"), (2e6, "-111")])
def test_thermal_noise(bandwidth_hz, noise, printed):
    assert thermal_noise_dbm(bandwidth_hz) == printed(noise)


@pytest.mark.published(
    source="receiver texts",
    where="1 MHz, noise figure 6 dB, ratio 12 dB",
    from_memory=True,
    practice=True,
)
def test_sensitivity_of_a_low_energy_receiver(printed):
    assert sensitivity_dbm(1e6, 6.0, 12.0) == printed("-96")


@pytest.mark.published(
    source="tables of VSWR", where="return loss against mismatch loss", from_memory=True
)
@pytest.mark.parametrize(
    ("return_loss_db", "loss"), [(9.54, "0.51"), (6.02, "1.25"), (13.98, "0.18"), (10.0, "0.46")]
)
def test_mismatch_loss(return_loss_db, loss, printed):
    assert mismatch_loss_db(return_loss_db) == printed(loss)


@pytest.mark.published(source="antenna texts", where="linear at 45 and 60 deg", from_memory=True)
@pytest.mark.parametrize(("angle_deg", "loss"), [(0.0, "0.0"), (45.0, "3.0"), (60.0, "6.0")])
def test_polarisation_loss(angle_deg, loss, printed):
    assert polarisation_loss_db(angle_deg) == printed(loss)


@pytest.mark.published(
    source="C. A. Balanis, Antenna Theory", where="half-wave dipole, 73 + j42.5", from_memory=True
)
def test_self_impedance_of_a_half_wave_dipole(printed):
    # the mutual impedance of two dipoles that move into one place is the self-impedance
    together = half_wave_mutual_impedance_ohm(1e-9, 300e6)
    assert together.real == printed("73")
    assert together.imag == printed("42.5")


@pytest.mark.published(
    source="C. A. Balanis, Antenna Theory; J. D. Kraus, Antennas",
    where="side-by-side half-wave dipoles half a wavelength apart, -12.5 - j29.9",
    from_memory=True,
)
def test_mutual_impedance_at_half_a_wavelength(printed):
    mutual = half_wave_mutual_impedance_ohm(0.5 * C / 300e6, 300e6)
    assert mutual.real == printed("-12.5")
    assert mutual.imag == printed("-29.9")


@pytest.mark.published(
    source="J. D. Kraus, Antennas", where="resistance far from the ground", from_memory=True
)
def test_dipole_far_from_the_plane_is_in_free_space(printed):
    impedance = image_impedance_ohm(5_000.0, 300e6)
    assert impedance.real == printed("73")
    assert impedance.imag == printed("0.0")
