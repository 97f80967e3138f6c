"""A field and its values as a user writes them, and the scenarios that come of it."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.core.errors import InputError, InputErrors
from linkbudget.scenario import load_scenario, load_varied, starter, stated_text, variation
from linkbudget.scenario.lines import dotted


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "scale.toml"
    path.write_text(starter(), encoding="utf-8")
    return path


def _told(file, *pairs):
    """What a user reads when the fields or their values are wrong."""
    with pytest.raises((InputError, InputErrors)) as caught:
        load_varied(file, [variation(*pair) for pair in pairs])
    return str(caught.value)


@pytest.mark.parametrize(
    ("values", "texts"),
    [
        ("5 mm, 8 mm,12 mm", ("5 mm", "8 mm", "12 mm")),
        ("5 mm to 20 mm in 6 steps", ("5 mm", "8 mm", "11 mm", "14 mm", "17 mm", "20 mm")),
        ("0 dB to 1 dB in 4 steps", ("0 dB", "0.3333 dB", "0.6667 dB", "1 dB")),
        ("8 dBm to -4 dBm in 3 steps", ("8 dBm", "2 dBm", "-4 dBm")),
        ("2.4 GHz to 2.4002 GHz in 3 steps", ("2.4 GHz", "2.4001 GHz", "2.4002 GHz")),
        ("1 to 3 in 3 steps", ("1", "2", "3")),
        ("1e3 S/m to 1e5 S/m in 2 steps", ("1e3 S/m", "1e5 S/m")),
        ("none, rayleigh", ("none", "rayleigh")),
        ('"2 m, indoors", lab', ('"2 m, indoors"', "lab")),
        ('["-3 dBi", "3 dBi"], 0 dBi', ('["-3 dBi", "3 dBi"]', "0 dBi")),
        ("3 m, 3 m", ("3 m",)),
    ],
)
def test_values_are_a_list_or_a_range_with_its_unit(values, texts):
    assert variation("goal.distance", values).texts == texts


@pytest.mark.parametrize(
    "values",
    ["", " ", ",", '"3 m', "3 m]", "5 mm to 20 mm", "5 to 20 mm in 6 steps", "1 m to 1 m in"
     " 3 steps", "1 m to 2 m in 1 steps", "1 m to 2 m in 401 steps", "1 m to 2 dB in 3 steps",
     "[[1]]", "{a = {b = 1}}"],
)  # fmt: skip
def test_values_that_say_nothing_clear_are_refused_by_name(values):
    with pytest.raises(InputError, match=r"values of goal\.distance: found"):
        variation("goal.distance", values)


@given(
    st.integers(-10_000, 10_000), st.integers(-10_000, 10_000), st.integers(2, 40)
)  # plain numbers, so that their own arithmetic is the other side of the comparison
def test_a_range_runs_evenly_from_end_to_end(first, last, count):
    if first == last:
        return
    texts = variation("x", f"{first} mm to {last} mm in {count} steps").texts
    numbers = [float(text.removesuffix(" mm")) for text in texts]
    assert (numbers[0], numbers[-1], len(numbers)) == (first, last, count)
    step = (last - first) / (count - 1)
    for at, number in enumerate(numbers):
        assert number == pytest.approx(first + at * step, abs=1e-3 * abs(step))


@given(st.lists(st.sampled_from(["goal", "a_b", "2", "r d", 0, 3]), min_size=1, max_size=6))
def test_a_field_is_read_as_messages_print_it(parts):
    path = ("top", *parts)
    assert variation(dotted(path), "1").path == path


def test_a_key_with_a_dot_stands_in_quotation_marks():
    assert variation('radios."2.4 GHz".band[2]', "1").path == ("radios", "2.4 GHz", "band", 1)


@pytest.mark.parametrize("field", ["", ".", "goal.", ".goal", "goal..x", "scans[0]", "a[x]", "a]b"])
def test_what_is_no_field_is_refused(field):
    with pytest.raises(InputError, match="--field: found"):
        variation(field, "1")


@pytest.mark.parametrize(
    ("field", "told"),
    [
        ("metal.antenna_deph", "unknown key 'antenna_deph'; expected one of.*\"antenna_depth\""),
        ("metl.length", "no 'metl' in the scenario; expected one of.*Did you mean \"metal\"?"),
        ("board.length", "no 'board' in the scenario.*Write its table into the scenario first"),
        ("radios.short_rang.band", "no 'short_rang'.*Did you mean \"short_range\"?"),
        ("metal", "a whole table; expected one of its fields: metal.kind, metal.material"),
        ("variants", r"a whole table; expected one of its fields: variants\[1\]"),
        ("variants[2].radio", r"no entry 2 in variants; expected variants\[1\] to variants\[1\]"),
        ("variants.radio", r"a key of a whole list; expected .* variants\[1\].radio"),
        ("goal[1].distance", "position 1 of what is no list; expected goal alone"),
        ("goal.distance.low", "a key below a value, goal.distance = '10 m'"),
    ],
)
def test_a_field_that_the_scenario_does_not_have_is_told_with_the_right_one(file, field, told):
    found = _told(file, (field, "1 mm"))
    assert found.startswith(field.split(".")[0].split("[")[0])
    assert re.search(told, found), found


def test_every_value_that_the_field_refuses_is_told_and_none_twice(file):
    found = _told(file, ("metal.antenna_depth", "5 kg, 6 mm, 7"), ("goal.distance", "1 m, 2 m"))
    assert found.count("metal.antenna_depth: found") == 2
    assert "'5 kg'; expected a number and a unit" in found
    assert "found 7; expected a number and a unit" in found
    assert str(file) not in found  # the value stands on the command line, not in the file


def test_a_value_that_contradicts_the_rest_stays_and_says_why(file):
    found = load_varied(file, [variation("goal.fading", "rayleigh, rice")])
    assert [one.labels for one in found] == [("rayleigh",), ("rice",)]
    assert found[0].scenario.goal.fading == "rayleigh"
    assert found[1].scenario is None
    assert found[1].refused.startswith("goal.")
    assert "rice_factor" in found[1].refused


def test_another_kind_of_table_may_lack_keys_and_says_so_briefly(file):
    found = load_varied(file, [variation("metal.kind", "plate, none")])
    assert found[1].refused.count("metal.") == 2
    assert found[1].refused.endswith("more mistakes")


def test_two_fields_give_every_pair_and_the_last_runs_fastest(file):
    pairs = [variation("goal.distance", "1 m, 2 m"), variation("antenna.gain", "0 dBi, 3 dBi")]
    found = load_varied(file, pairs)
    assert [one.labels for one in found] == [
        ("1 m", "0 dBi"), ("1 m", "3 dBi"), ("2 m", "0 dBi"), ("2 m", "3 dBi"),
    ]  # fmt: skip
    assert [one.scenario.goal.distance for one in found] == [1.0, 1.0, 2.0, 2.0]


def test_the_file_is_not_changed_and_a_field_may_be_new_in_it(file):
    before = file.read_bytes()
    field = variation("far_end.cable_loss", "1 dB")
    assert stated_text(file, field) == ""
    (found,) = load_varied(file, [field])
    assert found.scenario.far_end.cable_loss is not None
    assert file.read_bytes() == before
    assert load_scenario(file).far_end.cable_loss is None


def test_what_the_scenario_states_is_printed_as_it_is_written(file):
    assert stated_text(file, variation("goal.distance", "1 m")) == "10 m"
    band = variation("radios.short_range.band", "1")
    assert stated_text(file, band) == "[2.405 GHz, 2.480 GHz]"


@pytest.mark.parametrize(
    ("pairs", "told"),
    [
        ([], "0 fields; expected one field, or two"),
        ([("a", "1"), ("b", "1"), ("c", "1")], "3 fields"),
        ([("goal.distance", "1 m"), ("goal.distance", "2 m")], "goal.distance twice"),
        ([("a", "1 to 30 in 30 steps"), ("b", "1 to 30 in 30 steps")], "900 sets of values"),
    ],
)
def test_more_than_can_be_shown_is_refused(file, pairs, told):
    assert told in _told(file, *pairs)


def test_a_wrong_scenario_is_told_as_ever(tmp_path):
    path = tmp_path / "wrong.toml"
    path.write_text(starter().replace('"10 m"', '"10 kg"'), encoding="utf-8")
    assert f"{path}:" in _told(path, ("goal.distance", "1 m"))
