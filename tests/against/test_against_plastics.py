"""Plastic beside an antenna, against finite differences, a spectral integral and closed forms."""

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve
from scipy.special import k0

from linkbudget.physics.plastics import (
    bessel_k0,
    detuned_loss_db,
    effective_permittivity,
    most_quality_factor,
)

HZ = 2.44e9
K_PER_M = 2.0 * math.pi * HZ / 299_792_458.0
WIDTH_M = 1.0e-3
FAR_M, FINEST_M = 0.09, 0.05e-3


def _axis(fine_to_m):
    """Points from 0, evenly fine at first, then each step 12 % longer."""
    points, step = [0.0], FINEST_M
    while points[-1] < FAR_M:
        step *= 1.12 if points[-1] >= fine_to_m else 1.0
        points.append(points[-1] + step)
    return np.array(points)


def _dual(steps):
    return np.concatenate([[steps[0] / 2], (steps[1:] + steps[:-1]) / 2, [steps[-1] / 2]])


def _capacitance(er, thickness_m, gap_m):
    """Of a strip beside a wall, charge varying as cos(k z): div(e grad p) = e k^2 p."""
    x = _axis(WIDTH_M / 2 + 4 * FINEST_M)
    up, down = _axis(gap_m + thickness_m + 4 * FINEST_M), _axis(1e-3)
    y = np.concatenate([-down[:0:-1], up])
    hx, hy = np.diff(x), np.diff(y)
    middle = (y[1:] + y[:-1]) / 2
    e = np.where((middle > gap_m) & (middle < gap_m + thickness_m), er, 1.0)
    held = np.concatenate([e * hy / 2, [0.0]]) + np.concatenate([[0.0], e * hy / 2])
    node = np.arange(len(x) * len(y)).reshape(len(y), len(x))
    one = np.concatenate([node[:, :-1].ravel(), node[:-1].ravel()])
    other = np.concatenate([node[:, 1:].ravel(), node[1:].ravel()])
    between = np.concatenate([np.outer(held, 1 / hx).ravel(), np.outer(e / hy, _dual(hx)).ravel()])
    own = K_PER_M**2 * np.outer(held, _dual(hx)).ravel()
    values = np.concatenate([between, between, -between, -between, own])
    rows = np.concatenate([one, other, one, other, node.ravel()])
    columns = np.concatenate([one, other, other, one, node.ravel()])
    matrix = coo_matrix((values, (rows, columns)), shape=(node.size, node.size)).tocsr()
    strip = np.zeros(node.size, dtype=bool)
    strip[node[len(down) - 1, x <= WIDTH_M / 2 + 1e-9]] = True
    potential = strip.astype(float)
    potential[~strip] = spsolve(
        matrix[~strip][:, ~strip].tocsc(), -(matrix[~strip][:, strip] @ potential[strip])
    )
    return float(potential @ (matrix @ potential))


@pytest.fixture(scope="module")
def alone():
    return _capacitance(1.0, 0.002, 0.001)


@pytest.mark.parametrize(
    ("er", "thickness_mm", "gap_mm"),
    [(2.8, 2, 0), (2.8, 2, 0.5), (2.8, 2, 1), (2.8, 2, 2), (2.8, 2, 5), (3.7, 3, 1), (6, 10, 1)],
)
def test_a_strip_beside_a_wall_in_finite_differences(er, thickness_mm, gap_mm, alone):
    wall = er, thickness_mm / 1e3, gap_mm / 1e3
    wanted = _capacitance(*wall) / alone
    # a round wire stands for the flat strip: a tenth of what the wall adds
    found = effective_permittivity(*wall, HZ, WIDTH_M / 4.0)
    assert found - 1.0 == pytest.approx(wanted - 1.0, rel=0.1)


@pytest.mark.parametrize("er", [2.2, 4.0, 12.0])
@pytest.mark.parametrize("gap_m", [0.0, 0.001, 0.008])
def test_images_are_the_reflection_of_the_wall_summed_over_its_spectrum(er, gap_m):
    thickness_m, radius_m = 0.004, 0.3e-3
    p = (er - 1.0) / (er + 1.0)

    def potential(distance_m, reflected):
        def density(t):  # kx = k sinh t turns exp(-q d) / q dkx into exp(-q d) dt
            q = K_PER_M * math.cosh(t)
            through = math.exp(-2.0 * q * thickness_m)
            wall = p * (1.0 - through) / (1.0 - p * p * through) if reflected else 1.0
            return wall * math.exp(-q * distance_m)

        return quad(density, 0.0, 12.0, epsabs=1e-10, limit=200)[0]

    alone = potential(radius_m, False)
    wanted = alone / (alone - potential(2.0 * gap_m + radius_m, True))
    found = effective_permittivity(er, thickness_m, gap_m, HZ, radius_m)
    assert found == pytest.approx(wanted, rel=1e-6)


def test_the_bessel_function_against_a_library():
    x = np.logspace(-6, 1.3, 60)
    assert bessel_k0(x) == pytest.approx(k0(x), rel=1e-9)


@pytest.mark.parametrize("quality_factor", [3.0, 12.0, 40.0])
def test_mean_over_the_band_against_the_integral_of_a_lorentz_line(quality_factor):
    low_hz, high_hz, lowered = 2.40e9, 2.48e9, 0.98
    tuned_hz = math.sqrt(low_hz * high_hz)

    def accepted(resonance_hz):  # near resonance: the integral of 1 / (1 + u^2) is atan u
        u = [quality_factor * (f / resonance_hz - 1.0) for f in (low_hz, high_hz)]
        return (math.atan(u[1]) - math.atan(u[0])) * resonance_hz

    wanted_db = 10.0 * math.log10(accepted(tuned_hz) / accepted(tuned_hz * lowered))
    found_db = detuned_loss_db(low_hz, high_hz, lowered, quality_factor)
    assert found_db == pytest.approx(wanted_db, rel=0.05)


@pytest.mark.parametrize("return_loss_db", [6.0, 10.0, 20.0])
def test_bound_of_the_quality_factor_against_a_series_circuit(return_loss_db):
    low_hz, high_hz = 2.40e9, 2.50e9
    quality_factor = most_quality_factor(return_loss_db, low_hz, high_hz)
    tuned_hz = math.sqrt(low_hz * high_hz)
    for f in (low_hz, high_hz):
        ohm = 50.0 + 50.0j * quality_factor * (f / tuned_hz - tuned_hz / f)
        at_end_db = -20.0 * math.log10(abs((ohm - 50.0) / (ohm + 50.0)))
        assert at_end_db == pytest.approx(return_loss_db, abs=1e-6)
