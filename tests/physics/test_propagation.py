"""Free space: round trips, monotony, and the edge of validity."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.core.errors import InputError, OutOfRange
from linkbudget.physics.propagation import (
    eirp_dbm_from_field_dbuv_per_m,
    far_field_distance_m,
    field_dbuv_per_m_from_eirp_dbm,
    free_space_distance_m,
    free_space_loss_db,
    near_field_boundary_m,
    wavelength_m,
)

frequencies = st.floats(1e5, 1e11)
distances_in_wavelengths = st.floats(0.16, 1e9)
levels = st.floats(-150.0, 150.0)


@given(frequencies, distances_in_wavelengths)
def test_distance_comes_back(frequency_hz, distance):
    distance_m = distance * wavelength_m(frequency_hz)
    loss_db = free_space_loss_db(frequency_hz, distance_m)
    assert free_space_distance_m(frequency_hz, loss_db) == pytest.approx(distance_m, rel=1e-9)


@given(frequencies, distances_in_wavelengths, st.floats(1.001, 1e3))
def test_loss_grows_with_distance_and_with_frequency(frequency_hz, distance, factor):
    distance_m = distance * wavelength_m(frequency_hz)
    loss_db = free_space_loss_db(frequency_hz, distance_m)
    assert free_space_loss_db(frequency_hz, distance_m * factor) > loss_db
    assert free_space_loss_db(frequency_hz * factor, distance_m) > loss_db


@given(levels, st.floats(0.01, 1e6))
def test_field_and_power_come_back(eirp_dbm, distance_m):
    field = field_dbuv_per_m_from_eirp_dbm(eirp_dbm, distance_m)
    assert eirp_dbm_from_field_dbuv_per_m(field, distance_m) == pytest.approx(eirp_dbm, abs=1e-9)


def test_an_array_gives_what_its_points_give():
    distance_m = np.array([[1.0, 2.0], [50.0, 1e4]])
    loss_db = free_space_loss_db(2.44e9, distance_m)
    assert loss_db.shape == (2, 2)
    assert [free_space_loss_db(2.44e9, float(d)) for d in distance_m.flat] == list(loss_db.flat)


def test_boundary_itself_is_taken_and_comes_back():
    boundary_m = near_field_boundary_m(13.56e6)
    loss_db = free_space_loss_db(13.56e6, boundary_m)
    assert free_space_distance_m(13.56e6, loss_db) == pytest.approx(boundary_m)


@pytest.mark.parametrize("distance_m", [0.0, -1.0, 0.019, float("nan")])
def test_nearer_than_the_far_field_is_refused(distance_m):
    with pytest.raises(OutOfRange, match="wavelength/2 pi") as caught:
        free_space_loss_db(2.44e9, distance_m)
    assert caught.value.low == pytest.approx(0.01955, abs=1e-5)


def test_one_near_point_of_an_array_is_refused():
    with pytest.raises(OutOfRange, match=r"distance \(m\) 0.001"):
        free_space_loss_db(2.44e9, np.array([1.0, 0.001]))


def test_a_loss_below_6_db_has_no_distance():
    with pytest.raises(OutOfRange, match="far-field formula does not hold"):
        free_space_distance_m(2.44e9, 5.9)


@pytest.mark.parametrize("frequency_hz", [0.0, -1e9, float("nan"), float("inf")])
def test_a_frequency_must_be_positive(frequency_hz):
    with pytest.raises(InputError, match=r"frequency \(Hz\).*greater than zero"):
        wavelength_m(frequency_hz)


def test_field_needs_a_distance():
    with pytest.raises(InputError, match="distance"):
        field_dbuv_per_m_from_eirp_dbm(0.0, 0.0)


def test_far_field_of_a_small_antenna_is_the_near_field_boundary():
    assert far_field_distance_m(0.001, 2.44e9) == near_field_boundary_m(2.44e9)
    # 2 x 0.3^2 / 0.12287
    assert far_field_distance_m(0.3, 2.44e9) == pytest.approx(1.465, abs=0.001)
