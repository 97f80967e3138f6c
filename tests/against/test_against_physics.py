"""The physics against other methods: scipy, numerical integration, a field solver, own algebra."""

import cmath
import math

import numpy as np
import pytest
import skrf
from scipy import constants, integrate, special, stats
from skrf.media import Freespace

from linkbudget.core.decibels import DBI_PER_DBD_DB
from linkbudget.physics.antennas import (
    HALF_WAVE_RESISTANCE_OHM,
    half_wave_mutual_impedance_ohm,
    image_impedance_ohm,
    source_mismatch_loss_db,
)
from linkbudget.physics.apertures import below_cutoff_db, cutoff_hz, slot_shielding_db
from linkbudget.physics.fading import (
    log_normal_margin_db,
    log_normal_reliability,
    rayleigh_margin_db,
    rayleigh_outage,
)
from linkbudget.physics.materials import absorption_loss_db, skin_depth_m
from linkbudget.physics.noise import thermal_noise_dbm
from linkbudget.physics.propagation import (
    field_dbuv_per_m_from_eirp_dbm,
    free_space_loss_db,
    near_field_boundary_m,
)
from linkbudget.physics.sheets import SHEET_LOSS_FLOOR_DB, Layer, sheet_loss_db
from linkbudget.physics.special_functions import digamma, sine_cosine_integrals

Z0_OHM = math.sqrt(constants.mu_0 / constants.epsilon_0)

# --- propagation ---------------------------------------------------------------------------


@pytest.mark.parametrize("distance_m", [0.5, 3.0, 47.0, 2e3])
def test_free_space_loss_against_aperture_over_sphere(distance_m):
    # received = effective area of an isotropic antenna over the surface of the sphere
    frequency_hz = 868e6
    area_m2 = (constants.c / frequency_hz) ** 2 / (4.0 * math.pi)
    share = area_m2 / (4.0 * math.pi * distance_m**2)
    loss_db = free_space_loss_db(frequency_hz, distance_m)
    assert loss_db == pytest.approx(-10.0 * math.log10(share), abs=1e-9)


def test_field_strength_against_poynting_vector():
    power_w, distance_m = 0.0025, 7.3
    field_v_per_m = math.sqrt(Z0_OHM * power_w / (4.0 * math.pi * distance_m**2))
    level = field_dbuv_per_m_from_eirp_dbm(10.0 * math.log10(power_w / 1e-3), distance_m)
    assert level == pytest.approx(20.0 * math.log10(field_v_per_m / 1e-6), abs=1e-6)


def test_near_field_boundary_is_where_the_loss_is_6_db():
    # 4 pi d / wavelength = 2 there, so the loss is 20 log10(2)
    boundary_m = near_field_boundary_m(433.92e6)
    assert free_space_loss_db(433.92e6, boundary_m) == pytest.approx(6.020599913, abs=1e-6)


def test_thermal_noise_against_the_constant_of_scipy():
    power_w = constants.k * 300.0 * 20e6
    assert thermal_noise_dbm(20e6, 300.0) == pytest.approx(10 * math.log10(power_w / 1e-3))


# --- fading --------------------------------------------------------------------------------


@pytest.mark.parametrize("reliability", [0.5, 0.9, 0.95, 0.99, 0.999, 0.999999])
def test_rayleigh_margin_against_the_exponential_distribution(reliability):
    weakest = stats.expon.ppf(1.0 - reliability)  # power over its mean
    assert rayleigh_margin_db(reliability) == pytest.approx(-10.0 * math.log10(weakest), rel=1e-9)


@pytest.mark.parametrize("margin_db", [-3.0, 0.0, 3.0, 10.0, 30.0, 60.0])
def test_rayleigh_outage_against_the_exponential_distribution(margin_db):
    expected = stats.expon.cdf(10.0 ** (-margin_db / 10.0))
    assert rayleigh_outage(margin_db) == pytest.approx(expected, rel=1e-9)


def test_rayleigh_outage_against_drawn_waves():
    # 200,000 complex Gaussian sums; 10 dB leaves 9.5 %, with a standard error of 0.07 %
    draw = np.random.default_rng(20240607)
    waves = draw.normal(size=200_000) + 1j * draw.normal(size=200_000)
    power = np.abs(waves) ** 2 / 2.0
    assert rayleigh_outage(10.0) == pytest.approx(np.mean(power < 0.1), abs=0.003)


@pytest.mark.parametrize("reliability", [0.2, 0.5, 0.9, 0.99, 0.9999])
def test_log_normal_against_scipy(reliability):
    margin_db = log_normal_margin_db(reliability, 7.5)
    assert margin_db == pytest.approx(stats.norm.ppf(reliability, scale=7.5), abs=1e-9)
    assert log_normal_reliability(margin_db, 7.5) == pytest.approx(reliability, rel=1e-12)


# --- sheets --------------------------------------------------------------------------------


def cascade_loss_db(frequency_hz, layers):
    """Transmission through layers as transmission lines cascaded by scikit-rf."""
    point = skrf.Frequency.from_f([frequency_hz], unit="hz")
    cascade = None
    for layer in layers:
        conducts = layer.conductivity_s_per_m > 0.0
        medium = Freespace(
            point,
            z0_port=Z0_OHM,
            ep_r=complex(layer.relative_permittivity),
            mu_r=layer.relative_permeability,
            rho=1.0 / layer.conductivity_s_per_m if conducts else None,
        )
        line = medium.line(layer.thickness_m, "m")
        cascade = line if cascade is None else cascade**line
    return -20.0 * math.log10(abs(complex(cascade.s[0, 1, 0])))


ALUMINIUM, COPPER, STEEL = 3.5e7, 5.8e7, 6e6


@pytest.mark.parametrize(
    ("frequency_hz", "layers"),
    [
        (2.44e9, [Layer(5e-6, ALUMINIUM)]),
        (2.44e9, [Layer(20e-6, ALUMINIUM)]),
        (2.44e9, [Layer(50e-9, ALUMINIUM)]),
        (100e6, [Layer(15e-6, STEEL, 100.0)]),
        (60.0, [Layer(1e-3, ALUMINIUM)]),
        (
            150e3,
            [Layer(35e-6, COPPER), Layer(1.6e-3, 0.0, 1.0, 4.3 - 0.086j), Layer(35e-6, COPPER)],
        ),
        (2.44e9, [Layer(2e-3, 0.0, 1.0, 3.0 - 0.03j)]),
        (2.44e9, [Layer(2e-3, 0.0, 1.0, 3.0 - 0.03j), Layer(1e-6, 1e6)]),
        (5.8e9, [Layer(3e-3, 0.02, 1.0, 6.3)]),
    ],
)
def test_sheet_against_a_cascade_of_lines(frequency_hz, layers):
    expected = cascade_loss_db(frequency_hz, layers)
    assert expected < SHEET_LOSS_FLOOR_DB
    assert sheet_loss_db(frequency_hz, layers) == pytest.approx(expected, abs=1e-4)


@pytest.mark.parametrize("thickness_m", [1e-6, 3e-6, 10e-6])
def test_sheet_against_absorption_reflection_and_re_reflection(thickness_m):
    # Schelkunoff: R + A + B for a good conductor, eta = (1 + j) / (sigma delta)
    frequency_hz = 2.44e9
    delta_m = 1.0 / math.sqrt(math.pi * frequency_hz * constants.mu_0 * COPPER)
    ratio = (1 + 1j) / (COPPER * delta_m) / Z0_OHM
    reflection_db = 20.0 * math.log10(abs((1 + ratio) ** 2 / (4 * ratio)))
    absorption_db = 20.0 * math.log10(math.e) * thickness_m / delta_m
    again = ((1 - ratio) / (1 + ratio)) ** 2 * cmath.exp(-2 * (1 + 1j) * thickness_m / delta_m)
    expected = reflection_db + absorption_db + 20.0 * math.log10(abs(1 - again))
    assert sheet_loss_db(frequency_hz, [Layer(thickness_m, COPPER)]) == pytest.approx(
        expected, abs=0.01
    )
    assert absorption_loss_db(frequency_hz, thickness_m, COPPER) == pytest.approx(
        absorption_db, abs=1e-6
    )


def test_thin_sheet_is_a_shunt_resistor():
    # much thinner than its skin depth a film is 1/(sigma t) across the line: 20 log10(1 + Z0/2Rs)
    sheet_ohm = 10.0
    film = Layer(20e-9, 1.0 / (sheet_ohm * 20e-9))
    expected = 20.0 * math.log10(1.0 + Z0_OHM / (2.0 * sheet_ohm))
    assert sheet_loss_db(1e9, [film]) == pytest.approx(expected, abs=0.01)


def test_skin_depth_against_the_exact_propagation_constant():
    omega = 2.0 * math.pi * 2.44e9
    exact = 1j * omega * cmath.sqrt(constants.mu_0 * (constants.epsilon_0 - 1j * STEEL / omega))
    assert skin_depth_m(2.44e9, STEEL) == pytest.approx(1.0 / exact.real, rel=1e-6)


# --- antennas ------------------------------------------------------------------------------


def induced_emf_impedance_ohm(spacing_in_wavelengths):
    """Mutual impedance of side-by-side half-wave dipoles by integrating the field of one."""
    k, half, d = 2.0 * math.pi, 0.25, spacing_in_wavelengths

    def field_times_current(z):
        r1, r2 = math.hypot(d, z - half), math.hypot(d, z + half)
        # exact near field of a sinusoidal current; the middle term vanishes at half a wavelength
        field = cmath.exp(-1j * k * r1) / r1 + cmath.exp(-1j * k * r2) / r2
        return 1j * Z0_OHM / (4.0 * math.pi) * field * math.cos(k * z)

    parts = [
        integrate.quad(lambda z, p=part: getattr(field_times_current(z), p), -half, half, limit=200)
        for part in ("real", "imag")
    ]
    return complex(parts[0][0], parts[1][0])


@pytest.mark.parametrize("spacing", [0.02, 0.0814, 0.2, 0.5, 1.0, 3.3])
def test_mutual_impedance_against_the_induced_emf_integral(spacing):
    closed_form = half_wave_mutual_impedance_ohm(spacing * constants.c / 1e9, 1e9)
    assert closed_form == pytest.approx(induced_emf_impedance_ohm(spacing), abs=1e-5)


@pytest.mark.parametrize("x", [1e-6, 0.3, 2.0, 4.0, 4.0001, 9.0, 30.0, 150.0])
def test_sine_and_cosine_integral_against_scipy(x):
    assert sine_cosine_integrals(x) == pytest.approx(special.sici(x), abs=1e-13)


@pytest.mark.parametrize("x", [0.01, 1.0, 1.5, 7.0, 9.9999, 10.0, 250.0])
def test_digamma_against_scipy(x):
    assert digamma(x) == pytest.approx(special.digamma(x), rel=1e-12)


def test_half_wave_resistance_against_its_radiated_power():
    # R = eta/(2 pi) integral of cos^2(pi/2 cos theta)/sin theta
    integral, _ = integrate.quad(
        lambda theta: math.cos(math.pi / 2 * math.cos(theta)) ** 2 / math.sin(theta), 0, math.pi
    )
    assert pytest.approx(Z0_OHM / (2 * math.pi) * integral, rel=1e-8) == HALF_WAVE_RESISTANCE_OHM
    # and its directivity is 2 / integral, the 2.15 dB between ERP and EIRP
    assert pytest.approx(10 * math.log10(2.0 / integral), abs=0.005) == DBI_PER_DBD_DB


@pytest.mark.parametrize(
    ("height_m", "resistance_ohm", "power_db"),
    [(0.005, 3.77, -7.38), (0.012, 21.14, -1.79), (0.031, 89.91, -0.18)],
)
def test_image_theory_against_a_field_solver(height_m, resistance_ohm, power_db):
    # finite-difference field solver, 0.3 dB on power: dipole of 56.5 mm (71.92 ohm in free space)
    # below the middle of a plate of 180 x 120 mm at 2.44 GHz. The plate is no endless plane and
    # the dipole is shorter than half a wavelength: 6 % of the resistance is allowed.
    impedance = image_impedance_ohm(height_m, 2.44e9)
    assert impedance.real == pytest.approx(resistance_ohm, rel=0.06)
    loss_db = source_mismatch_loss_db(impedance, HALF_WAVE_RESISTANCE_OHM)
    assert loss_db == pytest.approx(-power_db, abs=0.3)


def test_dipole_close_to_the_plane_falls_as_a_short_one():
    # short dipole and its image: R/R0 = 1 - 3 (sin u / u + cos u / u^2 - sin u / u^3) / 2 -> u^2/5
    height_m, frequency_hz = 0.5e-3, 2.44e9
    u = 2.0 * (2.0 * math.pi * frequency_hz / constants.c) * height_m
    ratio = image_impedance_ohm(height_m, frequency_hz).real / HALF_WAVE_RESISTANCE_OHM
    assert ratio == pytest.approx(u**2 / 5.0, rel=0.03)


# --- openings ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("frequency_hz", "length_m", "shielding_db"),
    [(100e6, 0.1, 23.52), (300e6, 0.05, 19.99), (1e9, 0.015, 19.99), (2.45e9, 0.01, 15.73)],
)
def test_slot_against_values_worked_by_hand(frequency_hz, length_m, shielding_db):
    # 20 log10(299792458 / f / 2 L), pocket calculator
    assert slot_shielding_db(length_m, frequency_hz) == pytest.approx(shielding_db, abs=0.005)


@pytest.mark.parametrize("shape", ["rectangle", "round"])
def test_below_cutoff_against_the_wave_equation(shape):
    # gamma = sqrt(kc^2 - k^2); the root of J1' is taken from scipy
    from scipy.special import jnp_zeros

    width_m, depth_m, frequency_hz = 0.02, 0.03, 4e9
    kc = math.pi / width_m if shape == "rectangle" else 2.0 * jnp_zeros(1, 1)[0] / width_m
    gamma = math.sqrt(kc**2 - (2.0 * math.pi * frequency_hz / constants.c) ** 2)
    expected = 20.0 * math.log10(math.exp(gamma * depth_m))
    assert below_cutoff_db(shape, width_m, depth_m, frequency_hz) == pytest.approx(
        expected, rel=1e-6
    )
    assert cutoff_hz(shape, width_m) == pytest.approx(kc * constants.c / 2 / math.pi, rel=1e-6)
