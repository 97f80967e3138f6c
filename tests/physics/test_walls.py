"""Walls and their materials: order, limits, and what is refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.core.errors import InputError, OutOfRange
from linkbudget.physics.dielectrics import (
    Dielectric,
    building_material,
    building_material_names,
)
from linkbudget.physics.sheets import SHEET_LOSS_FLOOR_DB, sheet_loss_db
from linkbudget.physics.walls import thick_wall_loss, wall_layer, wall_loss_db

F = 2.44e9
materials = st.sampled_from(building_material_names()).map(building_material)


@given(materials, st.floats(0.03, 1.0), st.floats(1e9, 10e9))
def test_the_exact_loss_lies_within_the_ripple(material, thickness_m, frequency_hz):
    loss = thick_wall_loss(material, thickness_m + 0.025, frequency_hz)
    exact_db = wall_loss_db(material, thickness_m + 0.025, frequency_hz)
    slack = 0.3  # the second order of the losses in the phase of the reflection
    assert loss.low_db - slack <= exact_db <= loss.high_db + slack
    assert loss.low_db <= loss.mean_db <= loss.high_db


@given(materials, st.floats(0.06, 0.5), st.floats(1.01, 2.0), st.floats(1e9, 10e9))
def test_a_thicker_wall_loses_more_on_the_mean(material, thickness_m, factor, frequency_hz):
    thin = thick_wall_loss(material, thickness_m, frequency_hz).mean_db
    thick = thick_wall_loss(material, thickness_m * factor, frequency_hz).mean_db
    assert thick > thin or thick == SHEET_LOSS_FLOOR_DB


@given(materials, st.floats(0.1, 1.0), st.floats(1e9, 10e9))
def test_the_ripple_dies_out_in_a_thicker_wall(material, thickness_m, frequency_hz):
    thin = thick_wall_loss(material, thickness_m, frequency_hz)
    thick = thick_wall_loss(material, 2.0 * thickness_m, frequency_hz)
    assert thick.high_db - thick.low_db <= thin.high_db - thin.low_db + 1e-9


def test_walls_stand_in_the_order_that_everyone_knows():
    def at(name, thickness_m):
        return thick_wall_loss(building_material(name), thickness_m, F).mean_db

    assert at("wood", 0.1) < at("brick", 0.1) < at("concrete", 0.2) < at("concrete", 0.4)
    assert wall_loss_db(building_material("plasterboard"), 0.0125, F) < 2.0


def test_a_layer_may_be_stacked_with_others():
    board = wall_layer(building_material("plasterboard"), 0.0125, F)
    both_db = sheet_loss_db(F, [board, board])
    assert both_db == pytest.approx(
        wall_loss_db(building_material("plasterboard"), 0.025, F), abs=1e-9
    )


def test_a_very_thick_wall_reads_at_least():
    loss = thick_wall_loss(building_material("wet ground"), 10.0, 10e9)
    assert (loss.low_db, loss.mean_db, loss.high_db) == (SHEET_LOSS_FLOOR_DB,) * 3


def test_a_thin_wall_is_sent_to_the_exact_form():
    # wavelength 122.9 mm over sqrt(2.73) over 4
    with pytest.raises(OutOfRange, match=r"wall thickness \(m\) 0\.0125.*known well") as caught:
        thick_wall_loss(building_material("plasterboard"), 0.0125, F)
    assert caught.value.low == pytest.approx(0.0186, abs=0.0001)


@pytest.mark.parametrize(("name", "frequency_hz"), [("brick", 41e9), ("concrete", 868e6)])
def test_a_frequency_outside_the_table_is_refused(name, frequency_hz):
    with pytest.raises(OutOfRange, match=f"{name} is tabled against frequency.*State the loss"):
        wall_loss_db(building_material(name), 0.1, frequency_hz)


def test_an_unknown_material_is_told_the_nearest():
    with pytest.raises(
        InputError, match=r"'concreet'.*Did you mean \"concrete\"\?.*the loss itself"
    ):
        building_material("concreet")
    assert building_material("  Concrete ").name == "concrete"


def test_a_wall_without_thickness_is_refused():
    with pytest.raises(InputError, match=r"layer thickness \(m\) 0"):
        wall_loss_db(building_material("glass"), 0.0, F)


@pytest.mark.parametrize(
    ("permittivity", "conductivity", "found"),
    [(0.5, 0.0, "relative permittivity 0.5"), (3.0, -1.0, "conductivity")],
)
def test_a_material_that_none_is_is_refused(permittivity, conductivity, found):
    with pytest.raises(OutOfRange, match=found):
        Dielectric(permittivity, conductivity)


def test_every_row_names_its_edition():
    sources = [building_material(name).source for name in building_material_names()]
    assert {source.edition for source in sources} == {"P.2040-2"}
    assert building_material("brick").source.obtained == "secondary source"
