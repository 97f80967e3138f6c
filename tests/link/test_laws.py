"""Every law gives the loss that its formula gives, and says where it ends."""

import math

import numpy as np
import pytest

from linkbudget.core.errors import InputError, OutOfRange
from linkbudget.core.quantity import Quantity
from linkbudget.link.laws import (
    Edge,
    as_measured,
    behind_edges,
    by_exponent,
    indoor,
    indoor_by_floors,
    open_air,
    over_ground,
    with_barriers,
)
from linkbudget.link.rooms import Barrier
from linkbudget.physics.dielectrics import Dielectric
from linkbudget.physics.exponent import fit_exponent
from linkbudget.physics.ground import OverGround, two_ray_loss_db

BAND_HZ = 2.44e9
WAVELENGTH_M = 299_792_458.0 / BAND_HZ
FLAT_GROUND = OverGround(1.5, 1.5, Dielectric(15.0, 0.1), "vertical")


def stated(value, low=None, high=None, unit="dB"):
    return Quantity(value, unit, "stated", low, high)


@pytest.mark.parametrize("distance_m", [0.02, 1.0, 3.7, 10.0, 9_999.0])
def test_open_air_is_free_space(distance_m):
    free_db = 20.0 * math.log10(4.0 * math.pi * distance_m / WAVELENGTH_M)
    found = open_air(BAND_HZ).loss_at(distance_m)
    assert found.value == pytest.approx(free_db, abs=1e-9)
    assert found.low is None


def test_open_air_holds_from_the_far_field_on_at_any_frequency():
    for frequency_hz in (13.56e6, 433e6, 5.8e9):
        room = open_air(frequency_hz)
        assert room.holds_m[0] == pytest.approx(299_792_458.0 / frequency_hz / (2.0 * math.pi))
        # 4 pi / 2 pi = 2: 6.02 dB
        assert room.loss_at(room.holds_m[0]).value == pytest.approx(6.02, abs=0.005)


def test_over_ground_is_two_rays_between_the_points_of_its_table():
    distance_m = np.array([0.2, 0.77, 3.3, 13.0, 41.7, 300.0, 2_500.0])
    room = over_ground(BAND_HZ, FLAT_GROUND)
    expected_db = two_ray_loss_db(BAND_HZ, distance_m, FLAT_GROUND, 0.1)
    assert room.typical_loss_db(distance_m) == pytest.approx(expected_db, abs=0.05)


def test_far_over_ground_the_level_falls_by_40_db_in_a_decade():
    # 40 log10(3000) - 20 log10(1.5 x 1.5) = 132.04 dB, whatever the ground
    room = over_ground(BAND_HZ, FLAT_GROUND)
    assert room.loss_at(3000.0).value == pytest.approx(132.04, abs=0.3)


def test_the_newer_indoor_law():
    # ITU-R P.1238-11, office, line of sight: 14.6 + 34.62 + 20.3 log10(2.44) = 57.08 dB
    room = indoor(BAND_HZ, "office", "line of sight")
    assert room.loss_at(10.0).value == pytest.approx(57.08, abs=0.005)
    assert room.shadowing_db == 3.76
    assert room.holds_m == pytest.approx((2.0, 27.0))
    assert room.loss_at(10.0).band == pytest.approx((53.08, 61.08), abs=0.005)


@pytest.mark.parametrize(("floors", "floor_db"), [(0, 0.0), (1, 14.0)])
def test_the_older_indoor_law_knows_floors(floors, floor_db):
    # 20 log10(2440) + 30 log10(10) - 28 = 69.75 dB
    room = indoor_by_floors(BAND_HZ, "office", floors)
    assert room.loss_at(10.0).value == pytest.approx(69.75 + floor_db, abs=0.005)
    assert room.shadowing_db == 10.0


def test_an_exponent_turns_about_the_reference_distance():
    # 40.20 dB at 1 m; 30 dB in a decade, 25 to 35
    room = by_exponent(BAND_HZ, stated(3.0, 2.5, 3.5, ""), 1.0)
    assert room.loss_at(10.0).value == pytest.approx(70.20, abs=0.005)
    assert room.loss_at(10.0).band == pytest.approx((65.20, 75.20), abs=0.005)
    assert room.loss_at(1.0).band == pytest.approx((40.20, 40.20), abs=0.005)


def test_an_offset_lifts_the_law_and_its_doubt_adds_as_squares():
    offset = stated(4.0, 1.0, 8.0)
    room = by_exponent(BAND_HZ, stated(3.0, 2.6, 3.3, ""), 1.0, offset)
    found = room.loss_at(10.0)
    assert found.value == pytest.approx(74.20, abs=0.005)
    # below: 3 and 4 dB; above: 4 and 3 dB
    assert found.band == pytest.approx((69.20, 79.20), abs=0.005)


def test_a_measured_series_becomes_its_line():
    # level -39 dBm at 1 m, exponent 2.4, 2.449 dB about the line; t(0.975) with one degree: 12.706
    fit = fit_exponent([1.0, 10.0, 100.0], [-40.0, -61.0, -88.0])
    room = as_measured(fit, stated(39.0), holds_everything=True)
    assert room.loss_at(10.0).value == pytest.approx(63.0)
    assert room.loss_at(100.0).value == pytest.approx(87.0)
    assert room.shadowing_db == pytest.approx(2.449, abs=0.001)
    assert room.holds_m == pytest.approx((0.1, 1000.0))
    # 12.706 x 2.449 / sqrt(200) = 2.2006 a decade of tens; 12.706 x 2.449 / sqrt(3) = 17.97 dB
    assert room.slope.band == pytest.approx((24.0 - 22.0, 24.0 + 22.0), abs=0.01)
    assert room.doubt.band == pytest.approx((-17.97, 17.97), abs=0.01)
    assert room.loss_at(10.0).band == pytest.approx((63.0 - 17.97, 63.0 + 17.97), abs=0.01)
    # the two together at 100 m: hypot(17.97, 22.0) = 28.41
    assert room.loss_at(100.0).band[1] == pytest.approx(87.0 + 28.41, abs=0.02)


def test_what_was_radiated_in_the_series_adds_its_doubt():
    fit = fit_exponent([1.0, 10.0, 100.0], [-40.0, -61.0, -88.0])
    room = as_measured(fit, stated(39.0, 29.0, 49.0), holds_everything=False)
    # hypot(17.97, 10) = 20.57
    assert room.doubt.band == pytest.approx((-20.57, 20.57), abs=0.01)
    assert room.doubt.value == 0.0


def test_an_edge_on_the_line_costs_six_db_and_behind_it_only():
    # J(0) = 6.9 + 20 log10(sqrt(1.01) - 0.1) = 6.03 dB
    room = behind_edges(open_air(BAND_HZ), BAND_HZ, [Edge(0.0, 1.0)])
    for distance_m in (1.2, 5.0, 200.0):
        free_db = open_air(BAND_HZ).loss_at(distance_m).value
        assert room.loss_at(distance_m).value - free_db == pytest.approx(6.03, abs=0.01)
    with pytest.raises(
        OutOfRange, match="it begins at the distance from which on the way over the edge"
    ):
        room.loss_at(1.1)


def test_a_cabinet_in_the_way():
    # 0.3 m above the line, 2 and 3 m away: v = 1.1, J = 6.9 + 20 log10(sqrt(2) + 1) = 14.56 dB
    room = behind_edges(open_air(BAND_HZ), BAND_HZ, [Edge(0.3, 2.0)])
    assert room.loss_at(5.0).value - open_air(BAND_HZ).loss_at(5.0).value == pytest.approx(
        14.56, abs=0.05
    )
    twice = behind_edges(open_air(BAND_HZ), BAND_HZ, [Edge(0.3, 2.0), Edge(0.0, 3.0)])
    assert twice.loss_at(5.0).value - room.loss_at(5.0).value == pytest.approx(6.03, abs=0.01)


def test_an_edge_begins_where_it_bends_the_path_by_half_a_radian():
    # atan(0.3/2) = 0.1489; 0.3 / tan(0.5 - 0.1489) = 0.8189 m behind an edge 2 m away
    room = behind_edges(open_air(BAND_HZ), BAND_HZ, [Edge(0.3, 2.0)])
    assert room.holds_m[0] == pytest.approx(2.8189, abs=1e-3)


def test_an_edge_far_below_the_line_is_not_in_the_way():
    air = open_air(BAND_HZ)
    assert behind_edges(air, BAND_HZ, [Edge(-2.0, 1.0)]) is air
    assert behind_edges(air, BAND_HZ, []) is air
    low = behind_edges(air, BAND_HZ, [Edge(-0.4, 1.0)])
    assert low.loss_at(10.0).value == pytest.approx(air.loss_at(10.0).value, abs=0.01)


def test_an_edge_that_is_none_is_refused():
    air = open_air(BAND_HZ)
    with pytest.raises(OutOfRange, match="so near and high is no knife edge"):
        behind_edges(air, BAND_HZ, [Edge(1.0, 1.0)])
    with pytest.raises(OutOfRange, match="edge to antenna"):
        behind_edges(air, BAND_HZ, [Edge(0.0, 0.05)])
    doubtful = by_exponent(BAND_HZ, stated(3.0, 2.5, 3.5, ""), 1.0)
    with pytest.raises(InputError, match="exponent as one number"):
        behind_edges(doubtful, BAND_HZ, [Edge(0.1, 1.0)])
    sure = by_exponent(BAND_HZ, stated(3.0, unit=""), 1.0)
    # the law of the exponent with J(0)
    assert behind_edges(sure, BAND_HZ, [Edge(0.0, 1.0)]).loss_at(10.0).value == pytest.approx(
        70.20 + 6.03, abs=0.01
    )


def test_walls_are_added_up_and_each_keeps_its_own_name():
    room = with_barriers(open_air(BAND_HZ), [Barrier("wall", stated(3.0))])
    room = with_barriers(room, [Barrier("wall", stated(4.0)), Barrier("wall", stated(5.0))])
    assert [each.name for each in room.barriers] == ["wall", "wall no. 2", "wall no. 3"]
    assert room.barrier_loss_db == 12.0
    assert room.loss_at(10.0).value == open_air(BAND_HZ).loss_at(10.0).value
