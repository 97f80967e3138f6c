"""The metals' table, skin depth and sheets: order of things and refusals."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linkbudget.core.errors import InputError, OutOfRange
from linkbudget.physics.materials import absorption_loss_db, metal, metal_names, skin_depth_m
from linkbudget.physics.sheets import SHEET_LOSS_FLOOR_DB, Layer, sheet_loss_db


@pytest.mark.parametrize("name", metal_names())
def test_every_metal_conducts_and_has_a_source(name):
    row = metal(name)
    assert 1e6 <= row.conductivity_s_per_m <= 6.4e7
    assert row.relative_permeability >= 1.0
    assert row.source.document
    assert row.source.obtained == "from memory"
    assert not row.source.checked


def test_the_metals_of_the_trade_are_there():
    wanted = {"aluminium", "aluminium alloy sheet", "copper", "steel", "stainless steel", "brass"}
    assert wanted | {"zinc die-cast", "nickel silver", "tinplate"} <= set(metal_names())


def test_capitals_and_blanks_do_not_matter():
    assert metal("  Stainless   STEEL ") is metal("stainless steel")


@pytest.mark.parametrize(("written", "meant"), [("aluminum", "aluminium"), ("coper", "copper")])
def test_a_misspelt_metal_is_told_its_nearest(written, meant):
    with pytest.raises(InputError, match=f'Did you mean "{meant}"'):
        metal(written)


def test_an_unknown_metal_lists_them_all():
    with pytest.raises(InputError, match=r"nickel silver.*state its conductivity"):
        metal("unobtainium")


@given(st.floats(1e3, 1e11), st.floats(1e5, 1e8), st.floats(1.0, 1e4))
def test_skin_depth_falls_with_the_root_of_frequency(frequency_hz, conductivity, permeability):
    depth_m = skin_depth_m(frequency_hz, conductivity, permeability)
    assert skin_depth_m(4 * frequency_hz, conductivity, permeability) == pytest.approx(depth_m / 2)
    assert skin_depth_m(frequency_hz, 4 * conductivity, permeability) == pytest.approx(depth_m / 2)
    assert skin_depth_m(frequency_hz, conductivity, 4 * permeability) == pytest.approx(depth_m / 2)


def test_one_skin_depth_absorbs_8_7_db():
    depth_m = skin_depth_m(1e9, 2e7)
    assert absorption_loss_db(1e9, depth_m, 2e7) == pytest.approx(20.0 * math.log10(math.e))
    assert absorption_loss_db(1e9, 0.0, 2e7) == 0.0


@pytest.mark.parametrize(
    ("frequency_hz", "conductivity", "permeability"), [(0, 1e7, 1), (1e9, 0, 1), (1e9, 1e7, -1)]
)
def test_skin_depth_needs_positive_inputs(frequency_hz, conductivity, permeability):
    with pytest.raises(InputError, match="greater than zero"):
        skin_depth_m(frequency_hz, conductivity, permeability)


def test_a_negative_thickness_is_refused():
    with pytest.raises(OutOfRange, match="thickness"):
        absorption_loss_db(1e9, -1e-3, 1e7)


metal_layers = st.builds(Layer, st.floats(1e-8, 5e-6), st.floats(1e6, 6e7))
plastic_layers = st.builds(Layer, st.floats(1e-4, 1e-2), relative_permittivity=st.floats(1.0, 10.0))


@settings(max_examples=40, deadline=None)
@given(st.lists(metal_layers | plastic_layers, min_size=1, max_size=4), st.floats(1e8, 1e10))
def test_a_stack_loses_the_same_from_both_sides(layers, frequency_hz):
    forward_db = sheet_loss_db(frequency_hz, layers)
    assert sheet_loss_db(frequency_hz, layers[::-1]) == pytest.approx(forward_db, abs=1e-6)
    assert 0.0 <= forward_db <= SHEET_LOSS_FLOOR_DB


@settings(max_examples=40, deadline=None)
@given(metal_layers, st.floats(1.01, 3.0))
def test_more_metal_loses_more(layer, factor):
    thicker = Layer(layer.thickness_m * factor, layer.conductivity_s_per_m)
    assert sheet_loss_db(2.44e9, [thicker]) > sheet_loss_db(2.44e9, [layer])


@settings(max_examples=40, deadline=None)
@given(plastic_layers, st.floats(1e8, 1e10))
def test_a_layer_in_two_halves_is_one_layer(layer, frequency_hz):
    half = Layer(layer.thickness_m / 2, relative_permittivity=layer.relative_permittivity)
    whole_db = sheet_loss_db(frequency_hz, [layer])
    assert sheet_loss_db(frequency_hz, [half, half]) == pytest.approx(whole_db, abs=1e-6)


@pytest.mark.parametrize("thickness_m", [0.1e-3, 1.5e-3, 1.0])
def test_a_thick_sheet_stops_at_the_stated_ceiling(thickness_m):
    assert sheet_loss_db(2.44e9, [Layer(thickness_m, 3.5e7)]) == SHEET_LOSS_FLOOR_DB


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"thickness_m": 0.0}, "thickness"),
        ({"thickness_m": 1e-3, "conductivity_s_per_m": -1.0}, "conductivity"),
        ({"thickness_m": 1e-3, "relative_permeability": 0.0}, "permeability"),
        ({"thickness_m": 1e-3, "relative_permittivity": 0.0}, "permittivity"),
        ({"thickness_m": 1e-3, "relative_permittivity": 3.0 + 0.1j}, "negative for a lossy"),
    ],
)
def test_an_impossible_layer_is_refused(fields, told):
    with pytest.raises(InputError, match=told):
        Layer(**fields)


def test_a_sheet_needs_a_layer_and_a_frequency():
    with pytest.raises(InputError, match="at least one layer"):
        sheet_loss_db(1e9, [])
    with pytest.raises(InputError, match="frequency"):
        sheet_loss_db(0.0, [Layer(1e-3)])
