"""Boxes that no workshop could make, and antennas that stand where none can."""

from dataclasses import replace

import pytest

from linkbudget.core.errors import InputError
from linkbudget.enclosure.box_fit import require_antenna_fits, require_sound
from linkbudget.enclosure.geometry import Box, Metal, Opening, PlacedAntenna

LID = Opening("slot", 0.06, 0.001, wall="lid", along="length", place_m=(0.0, 0.0))
DIPOLE = PlacedAntenna("half-wave dipole", "length", 0.0, 0.0, 0.012)
FREQUENCY_HZ = 2.44e9  # half a wavelength 61.4 mm, the resonant dipole 0.4619 of 122.9: 56.8 mm


def box(*openings, antenna=None):
    metal = Metal("aluminium", 3.5e7)
    return Box(0.2, 0.12, 0.025, 0.001, metal, openings or (LID,), None, antenna)


@pytest.mark.parametrize(
    ("antenna", "words"),
    [
        (replace(DIPOLE, x_m=0.095), "23.4 mm outside the box"),
        (replace(DIPOLE, along="upright"), "half-wave dipole 56.8 mm long"),
        (replace(DIPOLE, along="width", y_m=-0.05), "18.4 mm outside"),
        (replace(DIPOLE, kind="chip", length_m=0.02, x_m=0.095), "5.0 mm outside"),
        (
            replace(DIPOLE, kind="quarter-wave monopole", along="upright", length_m=0.03),
            "30.0 mm long; expected at most the 25 mm",
        ),
        (replace(DIPOLE, kind="inverted-F", length_m=0.3), "300.0 mm long"),
    ],
)
def test_an_antenna_that_reaches_out_of_its_box(antenna, words):
    with pytest.raises(InputError, match=words):
        require_antenna_fits(box(antenna=antenna), FREQUENCY_HZ)


@pytest.mark.parametrize(
    "antenna",
    [
        DIPOLE,
        replace(DIPOLE, x_m=0.071),
        replace(DIPOLE, kind="chip", x_m=0.095),
        replace(DIPOLE, kind="short dipole", along="upright", length_m=0.02, depth_m=0.0125),
        replace(DIPOLE, kind="inverted-F", along="upright", depth_m=0.016),
        replace(DIPOLE, kind="quarter-wave monopole", x_m=-0.09),
        # 28 mm in 25 mm of height: bent or loaded, as nobody stated
        replace(DIPOLE, kind="quarter-wave monopole", along="upright"),
    ],
)
def test_an_antenna_that_fits(antenna):
    require_antenna_fits(box(antenna=antenna), FREQUENCY_HZ)
    require_sound(box(antenna=antenna))


@pytest.mark.parametrize(
    ("openings", "field", "words"),
    [
        ((replace(LID, place_m=(0.09, 0.0)),), "openings.0.at", "20.0 mm over the edge"),
        ((LID, LID), "openings.1.at", "entries 1 and 2"),
        ((LID, replace(LID, along="width")), "openings.1.at", "overlaps"),
        ((Opening("slot", 0.06, 0.001, 300),), "openings.0.count", "366 cm2.*at most the 243 cm2"),
        ((Opening("round", 0.03, 0.03, wall="front"),), "openings.0", "fits into the front"),
        (
            (LID, Opening("slot", 0.06, 0.001, wall="left", along="upright")),
            "openings.1",
            "fits into the left",
        ),
        (
            (replace(LID, count=150), Opening("round", 0.03, 0.03, 10, "lid")),
            "openings.1.count",
            "with those before it",
        ),
    ],
)
def test_openings_that_no_wall_has_room_for(openings, field, words):
    with pytest.raises(InputError, match=words) as caught:
        require_sound(box(*openings))
    assert caught.value.field == field


@pytest.mark.parametrize(
    "openings",
    [
        (replace(LID, place_m=(0.07, 0.0)),),  # ends at the wall
        (LID, replace(LID, place_m=(0.0, 0.002))),
        (LID, replace(LID, wall="floor")),
        # circles whose squares overlap, and do not: 20 mm apart by 14.2 and 14.2
        (
            Opening("round", 0.02, 0.02, wall="lid", place_m=(0.0, 0.0)),
            Opening("round", 0.02, 0.02, wall="lid", place_m=(0.0142, 0.0142)),
        ),
        (replace(LID, count=2), replace(LID, place_m=(0.0, 0.0005))),  # in the web of the two
        (Opening("slot", 0.06, 0.001, 190),),
    ],
)
def test_openings_that_have_room(openings):
    require_sound(box(*openings))
