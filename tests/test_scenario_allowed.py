"""How far the product may be changed: what is read, what is ruled out, what contradicts itself."""

import json
import math
from importlib import resources

import jsonschema
import pytest

from linkbudget.core.errors import InputErrors
from linkbudget.enclosure.sweeps import Allowed
from linkbudget.scenario import allowed_of, load_scenario, starter
from linkbudget.study import study

BOX = (
    ('kind = "plate"', 'kind = "box"\nheight = "30 mm"'),
    ('antenna_depth = "15 mm"', 'quality_factor = 80\n# antenna_depth = "15 mm"'),
    ('antenna_to_edge = "30 mm"', '# antenna_to_edge = "30 mm"'),
)
SLOT = ("[room]", '[[metal.openings]]\nshape = "slot"\nlength = "40 mm"\nwidth = "2 mm"\n\n[room]')
HOLE = ("[room]", '[[metal.openings]]\nshape = "round"\ndiameter = "9 mm"\n\n[room]')
TRAY = (('kind = "plate"', 'kind = "tray"\nskirt = "8 mm"'),)
BOARD = ("[room]", '[board]\nlength = "60 mm"\nwidth = "40 mm"\ndepth = "20 mm"\n\n[room]')
AROUND = (BOARD[0], BOARD[1].replace("[board]", '[board]\nat = ["0 mm", "85 mm"]'))
FOOT = ("[antenna]", '[antenna]\nkind = "inverted-F"')


@pytest.fixture
def load(tmp_path):
    """The starter scenario with pieces of its text replaced and a table [allowed]."""

    def make(table, *swaps):
        text = starter()
        for old, new in (*swaps, ("[goal]", f"[allowed]\n{table}\n\n[goal]")):
            assert old in text, old
            text = text.replace(old, new, 1)
        path = tmp_path / "bent.toml"
        path.write_text(text, encoding="utf-8")
        return load_scenario(path)

    return make


def test_what_nobody_said_is_left_to_what_is_usual(load, tmp_path):
    path = tmp_path / "plain.toml"
    path.write_text(starter(), encoding="utf-8")
    assert allowed_of(load_scenario(path)) == Allowed()
    assert allowed_of(load("")) == Allowed()


def test_stated_limits_of_a_sheet(load):
    table = 'deeper = "7 mm"\nto_edge = "-12 mm"\nwindow = "6 cm"\nground_clearance = "5 mm"'
    found = allowed_of(load(table, BOARD))
    assert (found.deeper_m, found.to_edge_m) == pytest.approx((0.007, -0.012))
    assert (found.window_m, found.clearance_m) == pytest.approx((0.06, 0.005))
    assert allowed_of(load('lower_skirt = true\nto_edge = "0 mm"', *TRAY)) == Allowed(
        to_edge_m=0.0, lower_skirt=True
    )


def test_stated_limits_of_a_box(load):
    table = 'new_slot = "40 mm"\nhalf_wave_slot = true\nquality_factor = 200'
    found = allowed_of(load(table, *BOX, SLOT))
    assert found == Allowed(
        new_slot_m=pytest.approx(0.04), half_wave_slot=True, quality_factor=200.0
    )


@pytest.mark.parametrize("never", ["false", '"0 mm"'])
def test_false_or_nothing_rules_a_change_out_whatever_the_metal(load, never):
    keys = ("deeper", "window", "ground_clearance", "new_slot")
    table = "\n".join(f"{key} = {never}" for key in keys)
    table += "\nlower_skirt = false\nhalf_wave_slot = false\nto_edge = false\nquality_factor = 0"
    found = allowed_of(load(table))
    assert found == Allowed(0.0, math.inf, 0.0, 0.0, False, False, 0.0, 0.0)
    assert allowed_of(load(table, *BOX, SLOT)) == found


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ('window = "60"', 'number and a unit, such as "60 mm", or false'),
        ("window = true", 'number and a unit, such as "60 mm", or false'),
        ('to_edge = "-4 dB"', 'such as "-10 mm", or false'),
        ("quality_factor = 0.5", "from 1 to 1000000, such as 100, or false"),
        ("quality_factor = true", "from 1 to 1000000, such as 100, or false"),
        ('quality_factor = "90"', "without quotation marks"),
        ('lower_skirt = "no"', "true or false"),
        ('deper = "3 mm"', 'Did you mean "deeper"'),
    ],
)
def test_a_wrong_value_is_told_with_its_line(load, line, said):
    with pytest.raises(InputErrors) as caught:
        load(line)
    assert said in str(caught.value)
    (error,) = caught.value.errors
    assert error.field.startswith("allowed.")
    assert starter().split("[goal]")[0].count("\n") + 2 == error.line


@pytest.mark.parametrize(
    ("line", "swaps", "key", "said"),
    [
        ('new_slot = "40 mm"', (), "new_slot", 'with metal of kind = "plate"'),
        ("half_wave_slot = true", TRAY, "half_wave_slot", 'with metal of kind = "tray"'),
        ("lower_skirt = true", (), "lower_skirt", "deeper, to_edge, window, ground_clearance"),
        ('deeper = "5 mm"', (*BOX, SLOT), "deeper", "new_slot, half_wave_slot, quality_factor"),
        ('to_edge = "30 mm"', (), "to_edge", "less than 30 mm"),
        ('window = "250 mm"', (), "window", "less than the width, 250 mm"),
        (
            'window = "50 mm"',
            (('antenna_to_edge = "30 mm"', 'antenna_to_edge = "-5 mm"'),),
            "window",
            "stands outside the edge",
        ),
        ('ground_clearance = "5 mm"', (), "ground_clearance", "no table [board]"),
        (
            'ground_clearance = "5 mm"',
            (AROUND, FOOT),
            "ground_clearance",
            'kind = "inverted-F", which stands on it',
        ),
        ('new_slot = "300 mm"', (*BOX, SLOT), "new_slot", "the longest side, 300 mm"),
        ("half_wave_slot = true", (*BOX, HOLE), "half_wave_slot", "no slot in the box"),
        ("quality_factor = 80", (*BOX, SLOT), "quality_factor", "of the box today, 80"),
    ],
)
def test_a_change_that_the_product_cannot_take_is_told_with_its_line(load, line, swaps, key, said):
    with pytest.raises(InputErrors) as caught:
        load(line, *swaps)
    (error,) = caught.value.errors
    assert error.field == f"allowed.{key}"
    assert error.line
    assert said in str(error)


def test_nothing_can_be_allowed_of_metal_whose_geometry_is_not_known(load):
    metal = starter().split("[metal]\n")[1].split("\n\n")[0]
    stated = 'kind = "attenuation"\nattenuation = "6 dB"\nspread = "3 dB"'
    with pytest.raises(InputErrors, match="no key here, for such metal"):
        load('deeper = "5 mm"', (metal, stated))
    assert allowed_of(load("deeper = false", (metal, stated))) == Allowed(deeper_m=0.0)


def test_an_editor_knows_the_same_values():
    text = resources.files("linkbudget").joinpath("data", "scenario.schema.json").read_text("utf-8")
    schema = json.loads(text)
    check = jsonschema.Draft202012Validator(
        {"$ref": "#/$defs/AllowedChanges", "$defs": schema["$defs"]}
    )
    good = {"deeper": "3 mm", "to_edge": False, "quality_factor": 90, "lower_skirt": False}
    assert check.is_valid(good)
    for bad in ({"deeper": 3}, {"window": True}, {"quality_factor": "90"}, {"depth": "3 mm"}):
        assert not check.is_valid(bad)


def test_what_is_ruled_out_and_what_is_stated_reaches_the_result(load, monkeypatch):
    monkeypatch.setattr("linkbudget.study.metal.available", lambda: False)
    scenario = load('deeper = "5 mm"\nwindow = false')
    found = study(scenario, emissions=False).links[0].changes
    limits = {change.dimension: (change.limit, change.limit_kind) for change in found}
    assert limits["antenna depth"] == (pytest.approx(20.0), "stated")  # 15 mm today
    assert limits["distance inside the edge"] == (pytest.approx(-10.0), "assumed")
    assert [change.dimension for change in found if change.ruled_out] == ["side of the window"]


def test_ground_clearance_without_the_solver_is_told_as_not_answered(load, monkeypatch):
    monkeypatch.setattr("linkbudget.study.metal.available", lambda: False)
    scenario = load('ground_clearance = "5 mm"', BOARD)
    found = study(scenario, emissions=False).links[0].changes
    (clearance,) = (change for change in found if "ground" in change.name)
    assert clearance.untold
    assert clearance.limit_kind == "stated"
