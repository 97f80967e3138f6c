"""Over a flat ground: limits, reciprocity, and the edge of validity."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.core.errors import InputError, OutOfRange
from linkbudget.physics.dielectrics import Dielectric, building_material
from linkbudget.physics.ground import (
    OverGround,
    break_distance_m,
    reflection_coefficient,
    two_ray_far_loss_db,
    two_ray_loss_db,
)
from linkbudget.physics.propagation import free_space_loss_db

F = 2.44e9
DESK = building_material("chipboard").at(F)
SOIL = Dielectric(15.0, 0.1)
heights = st.floats(0.005, 5.0)
polarisations = st.sampled_from(["horizontal", "vertical"])


@given(heights, heights, st.floats(0.5, 1e3), polarisations, st.floats(0.0, 0.5))
def test_both_ends_may_be_exchanged(one_m, other_m, distance_m, polarisation, spread):
    there = OverGround(one_m, other_m, DESK, polarisation)
    back = OverGround(other_m, one_m, DESK, polarisation)
    assert two_ray_loss_db(F, distance_m, there, spread) == pytest.approx(
        two_ray_loss_db(F, distance_m, back, spread), abs=1e-6
    )


@given(heights, heights, st.floats(0.5, 1e3), polarisations)
def test_a_ground_that_reflects_less_than_all_adds_6_db_at_most(one_m, other_m, d, polarisation):
    # the wave along the surface replaces what the low antenna loses, so no sum exceeds twice
    over = OverGround(one_m, other_m, SOIL, polarisation)
    direct_db = free_space_loss_db(F, math.hypot(d, one_m - other_m))
    assert two_ray_loss_db(F, d, over) > direct_db - 6.1


@given(st.floats(1.0, 100.0), polarisations)
def test_loss_beyond_the_break_grows_without_ripple(beyond, polarisation):
    over = OverGround(1.5, 1.2, SOIL, polarisation)
    distance_m = beyond * break_distance_m(F, 1.5, 1.2)
    assert two_ray_loss_db(F, distance_m * 1.01, over) > two_ray_loss_db(F, distance_m, over)


@given(st.floats(5.0, 200.0), st.floats(0.01, 2.0), polarisations)
def test_no_jump_with_distance_or_height(distance_m, height_m, polarisation):
    at = OverGround(height_m, 1.0, DESK, polarisation)
    near_by = OverGround(height_m * (1 + 1e-9), 1.0, DESK, polarisation)
    loss_db = two_ray_loss_db(F, distance_m, at, 0.1)
    assert two_ray_loss_db(F, distance_m * (1 + 1e-9), at, 0.1) == pytest.approx(loss_db, abs=1e-4)
    assert two_ray_loss_db(F, distance_m, near_by, 0.1) == pytest.approx(loss_db, abs=1e-4)


@pytest.mark.parametrize("polarisation", ["horizontal", "vertical"])
def test_far_law_is_met_far_away_by_high_antennas(polarisation):
    # heights of 80 wavelengths: neither ground nor surface wave counts any more
    far_m = 20.0 * break_distance_m(F, 10.0, 10.0)
    over = OverGround(10.0, 10.0, SOIL, polarisation)
    assert two_ray_loss_db(F, far_m, over) == pytest.approx(
        two_ray_far_loss_db(F, far_m, 10.0, 10.0), abs=0.1
    )


@pytest.mark.parametrize(("times", "lacking_db"), [(1.0, 3.92), (3.0, 0.40)])
def test_far_law_lacks_what_its_text_says(times, lacking_db):
    # 2 sin(pi / 2 / times) against pi / times, by hand: 20 log10(pi / 2), 20 log10(pi / 3)
    metal = Dielectric(1.0, 1e7)
    distance_m = times * break_distance_m(F, 10.0, 10.0)
    both_db = two_ray_loss_db(F, distance_m, OverGround(10.0, 10.0, metal, "horizontal"))
    far_db = two_ray_far_loss_db(F, distance_m, 10.0, 10.0)
    assert both_db - far_db == pytest.approx(lacking_db, abs=0.01)


def test_unsure_heights_leave_the_power_sum_near_by_and_both_rays_far_away():
    over = OverGround(2.0, 2.0, SOIL, "horizontal")
    near_m = np.linspace(5.0, 15.0, 200)  # many turns of phase
    psi = np.arctan2(4.0, near_m)
    share = (
        np.abs(reflection_coefficient(F, psi, SOIL, "horizontal")) * near_m / np.hypot(near_m, 4)
    )
    expected = free_space_loss_db(F, near_m) - 10.0 * np.log10(1.0 + share**2)
    # the wave along the surface, 16 wavelengths below, is worth a hundredth of a decibel
    assert two_ray_loss_db(F, near_m, over, 0.3) == pytest.approx(expected, abs=0.02)
    far_m = 30.0 * break_distance_m(F, 2.0, 2.0)
    assert two_ray_loss_db(F, far_m, over, 0.3) == pytest.approx(
        two_ray_loss_db(F, far_m, over) - 10.0 * math.log10(1.09), abs=0.02
    )


def test_no_digit_is_lost_where_the_rays_nearly_cancel():
    over = OverGround(0.5, 0.5, SOIL, "horizontal")
    d = np.array([1e4, 1e5, 1e6])
    assert np.diff(two_ray_loss_db(F, d, over)) == pytest.approx([40.0, 40.0], abs=1e-3)


def test_arrays_give_what_their_points_give():
    over = OverGround(1.5, 0.1, SOIL, "vertical")
    d = np.array([[2.0, 3.0], [50.0, 400.0]])
    loss_db = two_ray_loss_db(F, d, over)
    assert loss_db.shape == (2, 2)
    assert list(loss_db.flat) == pytest.approx(
        [two_ray_loss_db(F, float(x), over) for x in d.flat], abs=1e-9
    )
    assert type(two_ray_loss_db(F, 3.0, over)) is float
    assert two_ray_far_loss_db(F, np.array([100.0, 200.0]), 1.5, 1.5).shape == (2,)


def test_nearer_than_a_wavelength_is_refused():
    with pytest.raises(OutOfRange, match=r"direct ray \(m\) 0\.1;.*rays do not describe"):
        two_ray_loss_db(F, 0.1, OverGround(0.05, 0.05, DESK, "vertical"))


def test_a_negative_distance_is_refused():
    with pytest.raises(OutOfRange, match="distance along the ground"):
        two_ray_loss_db(F, -5.0, OverGround(1.0, 1.0, DESK, "vertical"))


def test_a_ground_like_air_is_refused():
    with pytest.raises(OutOfRange, match="use free space"):
        two_ray_loss_db(F, 5.0, OverGround(1.0, 1.0, Dielectric(1.1), "vertical"))


def test_a_spread_beyond_a_half_is_refused():
    with pytest.raises(OutOfRange, match=r"relative spread of the heights 0\.6"):
        two_ray_loss_db(F, 5.0, OverGround(1.0, 1.0, DESK, "vertical"), 0.6)


@pytest.mark.parametrize("height_m", [0.0, -1.0, float("nan")])
def test_a_height_must_be_positive(height_m):
    with pytest.raises(InputError, match=r"antenna height \(m\)"):
        OverGround(height_m, 1.0, DESK, "vertical")
    with pytest.raises(InputError, match=r"far antenna height \(m\)"):
        break_distance_m(F, 1.0, height_m)


def test_far_law_is_refused_near_by_and_for_low_antennas():
    with pytest.raises(OutOfRange, match="both rays must be added"):
        two_ray_far_loss_db(F, 50.0, 1.5, 1.5)
    with pytest.raises(OutOfRange, match=r"far antenna height \(m\) 0\.05"):
        two_ray_far_loss_db(F, 50.0, 1.5, 0.05)
