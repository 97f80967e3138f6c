"""A room turns a loss into a distance and back, for many losses at once."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.core.errors import OutOfRange
from linkbudget.core.quantity import Quantity
from linkbudget.link.laws import (
    Edge,
    behind_edges,
    by_exponent,
    indoor,
    indoor_by_floors,
    open_air,
    over_ground,
)
from linkbudget.physics.dielectrics import Dielectric
from linkbudget.physics.ground import OverGround

BAND_HZ = 2.44e9
EXPONENT = Quantity(3.0, "", "stated", 2.0, 4.0)
DESK = OverGround(0.3, 1.0, Dielectric(4.0, 0.02), "horizontal")
ROOMS = [
    open_air(BAND_HZ),
    open_air(433e6),
    over_ground(BAND_HZ, DESK),
    indoor(BAND_HZ, "office", "no line of sight"),
    indoor_by_floors(5.2e9, "office", 1),
    by_exponent(BAND_HZ, EXPONENT, 1.0),
    behind_edges(open_air(BAND_HZ), BAND_HZ, [Edge(0.2, 1.0)]),
]


@pytest.mark.parametrize("room", ROOMS, ids=lambda room: room.name)
def test_the_loss_at_the_reach_is_what_was_allowed(room):
    low_db, high_db = room.loss_db[0], room.loss_db[-1]
    allowed_db = np.linspace(low_db, high_db, 1001)[1:-1]
    reached_m = room.reach_m(allowed_db)
    assert room.typical_loss_db(reached_m) == pytest.approx(allowed_db, abs=1e-6)
    assert [float(room.reach_m(np.array(each))) for each in allowed_db[::100]] == pytest.approx(
        reached_m[::100].tolist()
    )


@pytest.mark.parametrize("room", ROOMS, ids=lambda room: room.name)
def test_a_reach_is_held_at_the_ends_of_the_law(room):
    low_m, high_m = room.holds_m
    least_db, most_db = room.loss_db.min(), room.loss_db.max()
    found = room.reach_m(np.array([-1e3, least_db - 0.1, most_db + 0.1, 1e3]))
    assert found == pytest.approx([low_m, low_m, high_m, high_m])
    assert found.min() >= low_m
    assert found.max() <= high_m


def bisected(room, allowed_db):
    """First crossing of a rising loss, by halving."""
    low_m, high_m = room.holds_m
    for _ in range(80):
        middle_m = (low_m * high_m) ** 0.5
        if float(room.typical_loss_db(middle_m)) <= allowed_db:
            low_m = middle_m
        else:
            high_m = middle_m
    return low_m


@pytest.mark.parametrize("room", [ROOMS[0], ROOMS[3], ROOMS[6]], ids=lambda room: room.name)
def test_the_vectorised_solution_is_that_of_bisection(room):
    rng = np.random.default_rng(5)
    allowed_db = rng.uniform(room.loss_db[0], room.loss_db[-1], 50)
    expected_m = [bisected(room, each) for each in allowed_db.tolist()]
    assert room.reach_m(allowed_db) == pytest.approx(expected_m, rel=1e-9)


def test_over_a_rippling_ground_every_nearer_place_is_reached():
    room = over_ground(BAND_HZ, OverGround(1.5, 1.5, Dielectric(15.0, 0.1), "horizontal"))
    assert np.any(np.diff(room.loss_db) < -0.02)  # it does ripple
    for allowed_db in np.linspace(45.0, 75.0, 61).tolist():
        reached_m = float(room.reach_m(np.array(allowed_db)))
        nearer = room.distance_m < reached_m * (1.0 - 1e-9)
        assert np.all(room.loss_db[nearer] <= allowed_db + 1e-9)
        beyond = room.distance_m > reached_m
        assert room.loss_db[beyond][0] > allowed_db


@given(st.floats(20.0, 45.0), st.floats(45.0, 140.0))
def test_a_slope_that_is_drawn_turns_the_law_about_its_reference(slope_db, allowed_db):
    # L = 40.20 dB + slope x log10(d / 1 m)
    room = by_exponent(BAND_HZ, EXPONENT, 1.0)
    found_m = float(room.reach_m(np.array([allowed_db]), np.array([slope_db]))[0])
    at_1_m_db = 20.0 * np.log10(4.0 * np.pi * BAND_HZ / 299_792_458.0)
    assert found_m == pytest.approx(min(10.0 ** ((allowed_db - at_1_m_db) / slope_db), 1e4))


def test_a_slope_that_does_not_fall_reaches_to_an_end_of_the_law():
    room = by_exponent(BAND_HZ, EXPONENT, 1.0)
    found_m = room.reach_m(np.array([30.0, 60.0]), np.array([-5.0, -5.0]))
    assert found_m == pytest.approx([1.0, 1e4])


@pytest.mark.parametrize("distance_m", [1.9, 27.1, float("nan"), -1.0, 0.0])
def test_a_distance_outside_the_law_is_refused(distance_m):
    with pytest.raises(OutOfRange, match="expected 2 to 27") as caught:
        indoor(BAND_HZ, "office", "line of sight").typical_loss_db(distance_m)
    assert caught.value.field == "distance"


def test_many_distances_are_refused_for_the_sake_of_one():
    with pytest.raises(OutOfRange, match="found distance"):
        ROOMS[0].typical_loss_db(np.array([1.0, 2.0, 20_000.0]))
