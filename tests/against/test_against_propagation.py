"""Propagation against other methods: exact integrals, simulation, scipy, other closed forms."""

import math

import numpy as np
import pytest
from scipy import constants, integrate, special, stats

from linkbudget.physics.dielectrics import (
    VACUUM_PERMITTIVITY_F_PER_M,
    Dielectric,
    building_material,
)
from linkbudget.physics.diffraction import (
    diffraction_parameter,
    knife_edge_exact_loss_db,
    knife_edge_loss_db,
)
from linkbudget.physics.exponent import fit_exponent
from linkbudget.physics.ground import OverGround, reflection_coefficient, two_ray_loss_db
from linkbudget.physics.walls import thick_wall_loss, wall_loss_db

F = 2.44e9
K = 2.0 * math.pi * F / constants.c
METAL = Dielectric(1.0, 1e7)


def _eta(name, frequency_hz=F):
    return building_material(name).at(frequency_hz).complex_permittivity(frequency_hz)


def _n(eta):
    return np.sqrt(complex(eta))


def test_vacuum_permittivity_against_scipy():
    assert pytest.approx(constants.epsilon_0, rel=1e-9) == VACUUM_PERMITTIVITY_F_PER_M


# --- over a flat ground --------------------------------------------------------------------


def _sommerfeld_loss_db(distance_m, height_m, far_height_m, eta, polarisation, count=60_001):
    """Exact loss over a half-space, by Sommerfeld's integral over all plane waves.

    Vertical: the vertical field of a vertical dipole. Horizontal: the potential of a horizontal
    dipole seen from its broad side, which is its field there from a wavelength on. Both over what
    an isotropic antenna of the same power along the ray would give.
    """
    total_m = height_m + far_height_m

    def kernel(transverse, upright):  # of the reflected waves
        inside = np.sqrt(transverse**2 - eta * K**2 + 0j)
        inside = np.where(inside.real < 0.0, -inside, inside)
        waves = special.j0(transverse * distance_m) * np.exp(-upright * total_m)
        if polarisation == "vertical":
            mirror = (eta * upright - inside) / (eta * upright + inside)
            return mirror * transverse**3 / K**2 * waves
        return (upright - inside) / (upright + inside) * transverse * waves

    angle = np.linspace(0.0, math.pi / 2.0, count)
    travelling = integrate.simpson(kernel(K * np.sin(angle), 1j * K * np.cos(angle)) / 1j, x=angle)
    rise = np.linspace(0.0, math.asinh(40.0 / (K * total_m)), count)
    clinging = integrate.simpson(kernel(K * np.cosh(rise), K * np.sinh(rise)), x=rise)
    drop_m = height_m - far_height_m
    ray_m = math.hypot(distance_m, drop_m)
    direct, slant = np.exp(-1j * K * ray_m) / ray_m, (drop_m / ray_m) ** 2
    pattern = 1.0
    if polarisation == "vertical":
        pattern = 1.0 - slant
        near = 1j / (K * ray_m) + 1.0 / (K * ray_m) ** 2
        direct *= pattern - near * (1.0 - 3.0 * slant)
    return -20.0 * math.log10(abs(direct + travelling + clinging) / pattern / (2.0 * K))


@pytest.mark.parametrize("polarisation", ["vertical", "horizontal"])
@pytest.mark.parametrize("name", ["wood", "chipboard", "concrete", "wet ground"])
@pytest.mark.parametrize(
    ("height_m", "far_height_m"),
    [(0.005, 0.005), (0.01, 0.1), (0.02, 0.02), (0.03, 0.05), (0.1, 0.1), (0.3, 0.5)],
)
@pytest.mark.parametrize(("distance_m", "within_db"), [(1.0, 1.1), (10.0, 0.05)])
def test_flat_ground_against_sommerfeld_integrals(
    height_m, far_height_m, name, polarisation, distance_m, within_db
):
    ground = building_material(name).at(F)
    over = OverGround(height_m, far_height_m, ground, polarisation)
    exact_db = _sommerfeld_loss_db(distance_m, height_m, far_height_m, _eta(name), polarisation)
    assert two_ray_loss_db(F, distance_m, over) == pytest.approx(exact_db, abs=within_db)


def test_two_rays_alone_would_lose_12_db_too_much_close_above_a_desk():
    # the wave along the surface is no ornament: the phasor sum without it, against the same
    eta, height_m, distance_m = _eta("chipboard"), 0.005, 3.0
    exact_db = _sommerfeld_loss_db(distance_m, height_m, height_m, eta, "vertical")
    two_db = _phasor_loss_db(distance_m, height_m, height_m, eta, "vertical")
    assert two_db - exact_db == pytest.approx(12.2, abs=0.3)


def _phasor_loss_db(d, h1, h2, eta, polarisation):
    """Both rays alone, the reflection from the impedances of transmission lines across the face."""
    direct, mirrored = math.hypot(d, h1 - h2), math.hypot(d, h1 + h2)
    up_air, up_ground = (h1 + h2) / mirrored, np.sqrt(eta - (d / mirrored) ** 2)
    if polarisation == "horizontal":  # E across the plane of incidence
        air_ohm, ground_ohm = 1.0 / up_air, 1.0 / up_ground
        share = (ground_ohm - air_ohm) / (ground_ohm + air_ohm)
    else:  # H across it; the upright part of E goes with H
        air_ohm, ground_ohm = up_air, up_ground / eta
        share = -(ground_ohm - air_ohm) / (ground_ohm + air_ohm)
    field = np.exp(-1j * K * direct) / direct + share * np.exp(-1j * K * mirrored) / mirrored
    return -20.0 * math.log10(abs(field) / (2.0 * K))


@pytest.mark.parametrize("polarisation", ["vertical", "horizontal"])
@pytest.mark.parametrize("distance_m", [5.0, 20.0, 60.0, 250.0])
def test_high_antennas_against_the_phasor_sum_of_two_rays(distance_m, polarisation):
    # 3 and 4 m are 24 and 33 wavelengths: the wave along the surface is left with 0.05 dB
    ground = Dielectric(15.0, 0.1)
    eta = ground.complex_permittivity(F)
    over = OverGround(3.0, 4.0, ground, polarisation)
    assert two_ray_loss_db(F, distance_m, over) == pytest.approx(
        _phasor_loss_db(distance_m, 3.0, 4.0, eta, polarisation), abs=0.05
    )


@pytest.mark.parametrize(("polarisation", "sign"), [("vertical", 1.0), ("horizontal", -1.0)])
def test_over_metal_against_image_theory(polarisation, sign):
    d = np.array([0.3, 1.0, 2.2, 5.0, 20.0])
    direct, image = np.hypot(d, 0.15), np.hypot(d, 0.25)
    field = np.exp(-1j * K * direct) / direct + sign * np.exp(-1j * K * image) / image
    expected = -20.0 * np.log10(np.abs(field) / (2.0 * K))
    over = OverGround(0.2, 0.05, METAL, polarisation)
    assert two_ray_loss_db(F, d, over) == pytest.approx(expected, abs=0.02)


@pytest.mark.parametrize("polarisation", ["vertical", "horizontal"])
def test_reflection_face_on_and_at_brewsters_angle(polarisation):
    glass = Dielectric(6.31)
    n = math.sqrt(6.31)
    upright = reflection_coefficient(F, math.pi / 2.0, glass, polarisation)
    assert abs(upright) == pytest.approx((n - 1.0) / (n + 1.0), rel=1e-12)
    assert reflection_coefficient(F, 0.0, glass, polarisation) == pytest.approx(-1.0)
    brewster = reflection_coefficient(F, math.pi / 2.0 - math.atan(n), glass, polarisation)
    # horizontal at Brewster's angle: (n^2 - 1) / (n^2 + 1)
    expected = 0.0 if polarisation == "vertical" else 5.31 / 7.31
    assert abs(brewster) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("distance_m", [2.0, 15.0, 60.0, 300.0])
def test_unsure_heights_against_drawn_heights(distance_m):
    rng = np.random.default_rng(20)
    spread, ground = 0.2, Dielectric(15.0, 0.1)
    scale = 1.0 + spread * rng.standard_normal(200_000)
    scale = scale[scale > 0.0]
    # heights drawn, angles kept: the reflection turns with the longer way alone
    direct, reflected = distance_m, math.hypot(distance_m, 2.0)
    psi = math.atan2(2.0, distance_m)
    share = complex(reflection_coefficient(F, psi, ground, "vertical")) * direct / reflected
    power = np.abs(1.0 + share * np.exp(-1j * K * (reflected - direct) * scale)) ** 2
    expected = 20.0 * math.log10(2.0 * K * direct) - 10.0 * math.log10(power.mean())
    over = OverGround(1.0, 1.0, ground, "vertical")
    assert two_ray_loss_db(F, distance_m, over, spread) == pytest.approx(expected, abs=0.5)


# --- exponent ------------------------------------------------------------------------------


def _series(rng, count=25):
    distance_m = rng.uniform(1.0, 40.0, count)
    return distance_m, -45.0 - 27.0 * np.log10(distance_m) + rng.normal(0.0, 4.0, count)


@pytest.mark.parametrize("seed", range(5))
def test_fit_against_linregress(seed):
    distance_m, level_db = _series(np.random.default_rng(seed))
    fit, line = fit_exponent(distance_m, level_db), stats.linregress(np.log10(distance_m), level_db)
    assert fit.exponent == pytest.approx(-line.slope / 10.0, rel=1e-12)
    assert fit.level_at_1_m_db == pytest.approx(line.intercept, rel=1e-12)
    assert fit.exponent_error == pytest.approx(line.stderr / 10.0, rel=1e-10)
    assert fit.level_error_db == pytest.approx(line.intercept_stderr, rel=1e-10)


def test_fit_against_least_squares_by_matrices():
    distance_m, level_db = _series(np.random.default_rng(9))
    design = np.column_stack([np.ones_like(distance_m), -10.0 * np.log10(distance_m)])
    (level, exponent), (square,), *_ = np.linalg.lstsq(design, level_db)
    variance = square / (distance_m.size - 2)
    covariance = variance * np.linalg.inv(design.T @ design)
    fit = fit_exponent(distance_m, level_db)
    assert (fit.level_at_1_m_db, fit.exponent) == pytest.approx((level, exponent), rel=1e-10)
    assert fit.residual_deviation_db == pytest.approx(math.sqrt(variance), rel=1e-10)
    assert fit.covariance_db == pytest.approx(covariance[0, 1], rel=1e-9)
    row = np.array([1.0, -10.0 * math.log10(90.0)])
    deviation = math.sqrt(variance + row @ covariance @ row)
    expected = stats.t.interval(0.9, distance_m.size - 2, scale=deviation)[1]
    assert fit.half_interval_db(90.0, 0.9) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("coverage", [0.5, 0.8, 0.95])
def test_prediction_interval_covers_what_it_says(coverage):
    rng, trials = np.random.default_rng(31), 4000
    held = 0
    for _ in range(trials):
        distance_m, level_db = _series(rng, 6)
        fit = fit_exponent(distance_m, level_db)
        further_db = -45.0 - 27.0 * math.log10(60.0) + rng.normal(0.0, 4.0)
        line_db, half_db = fit.level_db(60.0), fit.half_interval_db(60.0, coverage)
        held += abs(further_db - line_db) <= half_db
    error = math.sqrt(coverage * (1.0 - coverage) / trials)
    assert held / trials == pytest.approx(coverage, abs=3.0 * error)


# --- knife edge ----------------------------------------------------------------------------


@pytest.mark.parametrize("parameter", [-2.3, -0.5, 0.0, 0.7, 1.0, 2.0, 5.0])
def test_exact_edge_against_numerical_integration(parameter):
    # (1 + j) / 2 times the integral of exp(-j pi t^2 / 2) from v on; its path is turned by 45
    # degrees into the lower half-plane, where the integrand dies out
    def ray(s, part):
        t = parameter + s * np.exp(-0.25j * math.pi)
        value = np.exp(-0.5j * math.pi * t**2 - 0.25j * math.pi)
        return value.real if part == "real" else value.imag

    parts = [integrate.quad(ray, 0.0, 20.0, args=(part,))[0] for part in ("real", "imag")]
    share = abs(complex(*parts)) / math.sqrt(2.0)
    assert knife_edge_exact_loss_db(parameter) == pytest.approx(-20.0 * math.log10(share), abs=1e-6)


def test_approximation_against_the_exact_form():
    v = np.linspace(-0.7, 20.0, 2000)
    assert knife_edge_loss_db(v) == pytest.approx(knife_edge_exact_loss_db(v), abs=0.13)


@pytest.mark.parametrize(("height_m", "one_m", "other_m"), [(0.1, 2.0, 3.0), (-0.2, 4.0, 9.0)])
def test_parameter_against_the_form_for_small_angles(height_m, one_m, other_m):
    expected = height_m * math.sqrt(2.0 * F / constants.c * (1.0 / one_m + 1.0 / other_m))
    assert diffraction_parameter(F, height_m, one_m, other_m) == pytest.approx(expected, rel=2e-3)


@pytest.mark.parametrize("bend_rad", [-0.3, -0.1, 0.05, 0.1, 0.2, 0.35, 0.49])
@pytest.mark.parametrize("beyond_m", [1.0, 4.0])
def test_edge_against_sommerfelds_exact_half_plane(bend_rad, beyond_m):
    # a plane wave meets a half-plane face on; the receiver stands `bend` into the shadow
    slant_m = beyond_m / math.cos(bend_rad)
    parameter = diffraction_parameter(F, beyond_m * math.tan(bend_rad), 1e6, beyond_m)

    def fresnel_share(bound):
        s, c = special.fresnel(bound * math.sqrt(2.0 / math.pi))
        return np.exp(0.25j * math.pi) / math.sqrt(2.0) * ((0.5 - c) - 1j * (0.5 - s))

    root = math.sqrt(2.0 * K * slant_m)
    front = fresnel_share(root * math.sin(bend_rad / 2.0))
    front *= np.exp(-1j * K * slant_m * math.cos(bend_rad))
    back = fresnel_share(root * math.cos(bend_rad / 2.0))
    back *= np.exp(1j * K * slant_m * math.cos(bend_rad))
    losses = [-20.0 * math.log10(abs(front + sign * back)) for sign in (1.0, -1.0)]
    exact_db = knife_edge_exact_loss_db(parameter)
    assert min(losses) - 0.05 <= exact_db <= max(losses) + 0.05
    # the second term is tan(bend / 2) of the first in the deep shadow
    assert losses == pytest.approx([exact_db, exact_db], abs=2.6)


# --- walls ---------------------------------------------------------------------------------


def _slab_loss_db(eta, thickness_m, frequency_hz):
    """Closed form of a slab between two half-spaces of air: rays back and forth, summed up."""
    n = _n(eta)
    delta = 2.0 * math.pi * frequency_hz / constants.c * n * thickness_m
    share = 1.0 / (np.cos(delta) + 0.5j * (n + 1.0 / n) * np.sin(delta))
    return -20.0 * np.log10(np.abs(share))


@pytest.mark.parametrize("name", ["concrete", "brick", "plasterboard", "wood", "glass"])
@pytest.mark.parametrize("thickness_m", [0.004, 0.0125, 0.05, 0.115, 0.24])
@pytest.mark.parametrize("frequency_hz", [1e9, 2.44e9, 5.5e9])
def test_wall_against_the_closed_form_of_a_slab(name, thickness_m, frequency_hz):
    loss_db = wall_loss_db(building_material(name), thickness_m, frequency_hz)
    expected = _slab_loss_db(_eta(name, frequency_hz), thickness_m, frequency_hz)
    assert loss_db == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(
    ("name", "thickness_m"), [("concrete", 0.2), ("brick", 0.115), ("glass", 0.03), ("wood", 0.1)]
)
def test_thick_wall_against_slabs_of_all_thicknesses(name, thickness_m):
    eta = _eta(name)
    quarter_m = constants.c / F / _n(eta).real / 4.0
    losses = _slab_loss_db(
        eta, thickness_m + np.linspace(-quarter_m, quarter_m, 4000, endpoint=False), F
    )
    loss = thick_wall_loss(building_material(name), thickness_m, F)
    mean_db = -10.0 * math.log10(np.mean(10.0 ** (-losses / 10.0)))
    # a thicker slab also absorbs more, which the ripple at one absorption leaves out
    absorbed_db = 8.686 * K * quarter_m * abs(_n(eta).imag)
    assert loss.mean_db == pytest.approx(mean_db, abs=0.1 + 0.1 * absorbed_db)
    assert loss.low_db == pytest.approx(losses.min(), abs=0.1 + absorbed_db)
    assert loss.high_db == pytest.approx(losses.max(), abs=0.1 + absorbed_db)


def test_lossless_pane_reaches_the_ends_of_its_ripple():
    # half a wavelength within is transparent, a quarter loses (1 + n^2) / 2 n
    glass = building_material("glass")
    n = math.sqrt(6.31)
    half_m = constants.c / 1e8 / n / 2.0
    loss = thick_wall_loss(glass, half_m, 1e8)
    assert loss.high_db == pytest.approx(20.0 * math.log10((1.0 + 6.31) / 2.0 / n), abs=0.1)
    assert loss.low_db == pytest.approx(wall_loss_db(glass, half_m, 1e8), abs=0.02)
