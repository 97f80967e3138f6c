"""The budget's line for plastic near the product's antenna."""

import pytest

from linkbudget.core.errors import InputError, OutOfRange
from linkbudget.core.quantity import Quantity
from linkbudget.link import terms
from linkbudget.link.budget import PLASTIC, LinkInputs, MetalLoss, budget, no_loss
from linkbudget.link.laws import open_air
from linkbudget.physics.plastics import PlasticPart

LOW_HZ, HIGH_HZ = 2.402e9, 2.480e9
ABS = Quantity(2.8, "1", "typical", 2.4, 3.0)
NEAR = PlasticPart("ABS", ABS, 0.002, 0.001)
FAR = PlasticPart("ABS", ABS, 0.002, 0.006)
ONE = Quantity(1.0, "dB", "stated")


def loss(*parts, return_loss_db=None):
    return terms.plastic(parts, LOW_HZ, HIGH_HZ, return_loss_db)


def inputs(plastic=None):
    return LinkInputs(
        frequency_hz=2.44e9,
        conducted_power=ONE,
        antenna_gain=ONE,
        far_gain=ONE,
        sensitivity=ONE,
        plastic=plastic,
    )


def test_nearer_plastic_and_more_of_it_cost_more():
    assert 0.0 <= loss(FAR).low < loss(FAR).value < loss(NEAR).value
    assert loss(NEAR).value < loss(NEAR, FAR).value
    assert loss(NEAR).high < loss(NEAR, FAR).high


def test_a_stated_permittivity_has_no_band_of_its_own():
    stated = PlasticPart("plastic", Quantity(2.8, "1", "stated"), 0.002, 0.001)
    assert loss(stated).value == loss(NEAR).value
    assert loss(stated).high < loss(NEAR).high


def test_a_good_return_loss_over_the_band_shows_a_broad_antenna():
    # 20 dB at both ends of 78 MHz: 2 * 0.1 / 0.995 * 2440 / 78 = 6.3 at most, not 12
    assert loss(NEAR, return_loss_db=20.0).value < loss(NEAR).value
    assert "quality factor 6 to 6.29" in loss(NEAR, return_loss_db=20.0).source
    assert loss(NEAR, return_loss_db=6.0) == loss(NEAR)


def test_it_is_typical_and_names_its_practice():
    assert loss(NEAR).kind == "typical"
    assert "2 mm of ABS at 1 mm" in loss(NEAR).source
    cited = {row.cells["term"] for row in terms.cited_terms([loss(NEAR)])}
    assert cited == {"plastic near an antenna", "quality factor of an antenna"}


def test_the_line_stands_with_and_without_metal():
    metal = MetalLoss(ONE, ONE)
    for with_metal in (None, metal):
        room = open_air(2.44e9)
        free = budget(inputs(), room, 10.0, no_loss(), with_metal)
        beside = budget(inputs(loss(NEAR)), room, 10.0, no_loss(), with_metal)
        line = next(one for one in beside.lines if one.name == PLASTIC)
        assert line.value.value == -loss(NEAR).value
        assert beside.received.value == pytest.approx(free.received.value + line.value.value)
        assert PLASTIC not in [one.name for one in free.lines]


def test_a_loss_below_zero_and_a_part_too_far_are_refused():
    with pytest.raises(InputError, match="plastic: found a loss of -1 dB"):
        inputs(Quantity(-1.0, "dB", "stated"))
    with pytest.raises(OutOfRange, match="gap to the antenna"):
        loss(PlasticPart("ABS", ABS, 0.002, 0.040))
