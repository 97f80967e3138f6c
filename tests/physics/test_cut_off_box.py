"""Fields of a short dipole on the wall of a box that holds no wave, against images and guides."""

import math

import numpy as np
import pytest

from linkbudget.physics.cavity_places import SmallSource, Spot
from linkbudget.physics.cut_off_box import reaching_field

LIGHT_M_PER_S = 299_792_458.0


def _near_field(axis, away, k_per_m):
    """Electric over 377 ohm and magnetic field of 1 A m along an axis in free space.

    Balanis, Antenna Theory, infinitesimal dipole (from memory), in vectors.
    """
    distance = np.linalg.norm(away)
    ray, along = away / distance, np.eye(3)[axis]
    wave = np.exp(-1j * k_per_m * distance) / (4.0 * math.pi)
    magnetic = np.cross(along, ray) * (1j * k_per_m / distance + 1.0 / distance**2) * wave
    far = k_per_m**2 * np.cross(np.cross(ray, along), ray) / distance
    near = (3.0 * ray * (ray @ along) - along) * (1.0 / distance**3 + 1j * k_per_m / distance**2)
    return (far + near) * wave / (1j * k_per_m), magnetic


@pytest.mark.parametrize("axis", [0, 1, 2])
@pytest.mark.parametrize("along", [0, 1])
def test_close_to_one_wall_of_a_large_box_the_image_doubles_the_near_field(axis, along):
    source = SmallSource((0.5, 0.5, 0.01), axis)
    found = reaching_field((1.0, 1.0, 1.0), 1e6, 1e3, source, Spot((0.506, 0.497, 0.0), 2, along))
    k_per_m = 2.0 * math.pi * 1e6 / LIGHT_M_PER_S
    electric, magnetic = _near_field(axis, np.array([0.006, -0.003, -0.01]), k_per_m)
    # tangential magnetic and normal electric field double at a conductor
    assert found.along == pytest.approx(4.0 * abs(magnetic[along]) ** 2, rel=1e-3)
    assert found.aside == pytest.approx(4.0 * abs(magnetic[1 - along]) ** 2, rel=1e-3)
    assert found.normal == pytest.approx(4.0 * abs(electric[2]) ** 2, rel=1e-3)


def test_field_dies_away_by_27_3_db_for_each_width_of_the_guide():
    # rectangular waveguide far below cut-off, 54.6 dB times length over width over two in field
    levels = [
        10.0
        * math.log10(
            reaching_field(
                (0.1, 0.05, 1.0),
                1e6,
                1e6,
                SmallSource((0.05, 0.025, away_m), 1),
                Spot((0.05, 0.025, 0.0), 2, 1),
            ).aside
        )
        for away_m in (0.1, 0.2, 0.3)
    ]
    assert np.diff(levels) == pytest.approx([-27.3, -27.3], abs=0.05)


def test_mirrored_place_of_both_leaves_the_field():
    sides = (0.1, 0.06, 0.025)
    one = reaching_field(
        sides, 868e6, 100.0, SmallSource((0.03, 0.02, 0.01), 0), Spot((0.07, 0.04, 0.025), 2, 1)
    )
    other = reaching_field(
        sides, 868e6, 100.0, SmallSource((0.07, 0.04, 0.015), 0), Spot((0.03, 0.02, 0.0), 2, 1)
    )
    assert (one.along, one.normal) == pytest.approx((other.along, other.normal))


def test_a_slot_gathers_the_mean_of_the_field_along_it_weighted_by_a_half_wave():
    sides, source = (0.1, 0.06, 0.025), SmallSource((0.045, 0.028, 0.012), 1)

    def magnetic(x_m):
        # of a dipole along the width, as a real field: far below resonance its phase is one
        return math.sqrt(
            reaching_field(sides, 1e6, 1e6, source, Spot((x_m, 0.03, 0.025), 2, 0)).along
        )

    s = np.linspace(-0.01, 0.01, 41)
    weight = np.cos(math.pi * s / 0.02)
    mean = np.sum(weight * [magnetic(0.05 + one) for one in s]) / np.sum(weight)
    slot = reaching_field(sides, 1e6, 1e6, source, Spot((0.05, 0.03, 0.025), 2, 0, 0.02))
    assert math.sqrt(slot.along) == pytest.approx(mean, rel=2e-3)
