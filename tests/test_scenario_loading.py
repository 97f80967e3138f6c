"""A scenario that is right, and files that no scenario can be."""

import datetime
import tomllib
import tracemalloc

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from linkbudget.core.errors import InputError, InputErrors
from linkbudget.core.stated import Stated
from linkbudget.scenario import Money, Scenario, load_scenario, starter

SMALLEST = """
[product]
name = "Clock"
family = "household"
equipment_class = "B"
mains = "none"
[[variants]]
name = "only"
radio = "none"
"""


def _load(tmp_path, text):
    path = tmp_path / "scenario.toml"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return load_scenario(path)


def _refused(tmp_path, text):
    with pytest.raises(InputError) as caught:
        _load(tmp_path, text)
    return str(caught.value)


def test_smallest_scenario_says_nothing_that_it_was_not_told(tmp_path):
    scenario = _load(tmp_path, SMALLEST)
    assert scenario.product.name == "Clock"
    assert scenario.product.highest_internal_frequency is None
    assert scenario.antenna is scenario.far_end is scenario.metal is scenario.goal is None
    assert scenario.scans == ()
    assert scenario.folder == tmp_path
    assert scenario.source_file == tmp_path / "scenario.toml"


def test_starter_is_read_in_base_units(tmp_path):
    scenario = _load(tmp_path, starter())
    radio = scenario.radios["short_range"]
    assert radio.band == (2.405e9, 2.480e9)
    assert radio.phy_rate == 250e3
    assert radio.conducted_power == Stated(4.0)
    assert radio.sensitivity == Stated(-100.0)
    assert scenario.antenna.efficiency.value == pytest.approx(0.6)
    assert scenario.metal.thickness == pytest.approx(0.002)
    assert scenario.goal.reliability == pytest.approx(0.99)
    assert scenario.scans == ()


def test_starter_needs_no_other_file(tmp_path):
    _load(tmp_path, starter())
    assert [path.name for path in tmp_path.iterdir()] == ["scenario.toml"]


def test_every_commented_key_of_the_starter_is_a_key(tmp_path):
    """Taking the # away must never give an unknown key; scans then lack only their files."""
    live = "\n".join(
        line.removeprefix("# ") if _is_commented_key(line) else line
        for line in starter().splitlines()
    )
    live = live.replace("mains_adapter", "# mains_adapter")
    with pytest.raises(InputErrors) as caught:
        _load(tmp_path, live)
    found = {error.field for error in caught.value.errors}
    assert found == {"scans[1].file", "scans[1].corrections[1].table"}


def _is_commented_key(line):
    """Tell a key behind # from prose: only the key is TOML."""
    try:
        return line.startswith("# ") and bool(tomllib.loads(line.removeprefix("# ")))
    except tomllib.TOMLDecodeError:
        return False


def test_quantities_of_the_optional_tables(tmp_path):
    scenario = _load(
        tmp_path,
        SMALLEST
        + """
[metal]
kind = "tray"
conductivity = "35 MS/m"
relative_permeability = 2
length = "20 cm"
width = "120 mm"
thickness = "60 mil"
skirt = "8 mm"
antenna_depth = "12 mm"
antenna_to_edge = "-10 mm"
[booking]
slot_price = "4500.50 EUR"
slot_wait = "3 weeks"
ship_date = 2027-03-01
""",
    )
    assert scenario.metal.antenna_to_edge == pytest.approx(-0.010)
    assert scenario.metal.conductivity == 35e6
    assert scenario.metal.thickness == pytest.approx(1.524e-3)  # 1 mil is 25.4 um exactly
    assert scenario.booking.slot_price == Money(4500.5, "EUR")
    assert scenario.booking.slot_wait == 21.0
    assert scenario.booking.ship_date == datetime.date(2027, 3, 1)


def test_a_scenario_cannot_be_changed(tmp_path):
    scenario = _load(tmp_path, SMALLEST)
    with pytest.raises(ValueError, match="frozen"):
        scenario.product.name = "Other"


def test_paths_are_relative_to_the_scenario_or_absolute(tmp_path):
    scan = tmp_path / "a.csv"
    scan.write_text("1,2\n")
    scans = '[[scans]]\nfile = "{}"\nport = "enclosure"\ntransducer = "near-field probe"\n'
    for name in ("a.csv", scan.as_posix()):
        scenario = _load(tmp_path, SMALLEST + scans.format(name))
        assert scenario.path_to(scenario.scans[0].file) == scan
        assert scenario.scans[0].title == "a"


def test_a_later_error_is_told_its_place(tmp_path):
    scenario = _load(tmp_path, SMALLEST)
    error = scenario.located(InputError("this", "that"), "product", "family")
    place = f"{tmp_path / 'scenario.toml'}:4: product.family"
    assert str(error) == f"{place}: found this; expected that"


def test_byte_order_mark_and_foreign_line_ends_are_fine(tmp_path):
    text = SMALLEST.replace("\n", "\r\n").encode("utf-8-sig")
    assert _load(tmp_path, text).product.name == "Clock"


def test_white_space_in_a_name_is_one_blank(tmp_path):
    text = SMALLEST.replace('"Clock"', '"""\n  Wall\n  clock """')
    assert _load(tmp_path, text).product.name == "Wall clock"


# ---------------------------------------------------------------- hostile files


@pytest.mark.parametrize("text", ["", "   \n\n", "\ufeff"])
def test_empty_file(tmp_path, text):
    assert "found an empty file; expected a scenario. `linkbudget init" in _refused(tmp_path, text)


def test_missing_file_and_folder(tmp_path):
    with pytest.raises(InputError, match="no such file; expected a scenario file"):
        load_scenario(tmp_path / "nowhere.toml")
    with pytest.raises(InputError, match="found a folder; expected a scenario file"):
        load_scenario(tmp_path)


@pytest.mark.parametrize("name", ["a\0b", "x" * 5000])
def test_impossible_file_names(name):
    with pytest.raises(InputError):
        load_scenario(name)


def test_binary_file(tmp_path):
    assert "a byte that is not UTF-8 (0x89)" in _refused(tmp_path, b"\x89PNG\r\n\x1a\n\0\0")
    assert "found a binary file" in _refused(tmp_path, b"a = 1\0\0")


def test_other_encoding_names_its_line(tmp_path):
    message = _refused(tmp_path, 'a = 1\nb = "Prüfling"\n'.encode("latin-1"))
    assert ":2: found a byte that is not UTF-8 (0xfc); expected a text file in UTF-8" in message


def test_huge_file_is_not_read(tmp_path):
    path = tmp_path / "huge.toml"
    with path.open("wb") as stream:
        stream.truncate(200_000_000)
    tracemalloc.start()
    with pytest.raises(InputError, match="more than 1 MB; expected a scenario of some kilobytes"):
        load_scenario(path)
    assert tracemalloc.get_traced_memory()[1] < 10_000_000
    tracemalloc.stop()


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 100_000,
        "a = " + "[" * 50_000 + "]" * 50_000,
        "a = " + "{b = " * 30_000,
        ".".join("a" * 50_000) + " = 1",
        "[" + ".".join("a" * 50_000) + "]",
        "]]]=\n" + ".".join("a" * 50_000) + " = 1\n",
    ],
)
def test_deep_nesting(tmp_path, text):
    assert "very deep nesting" in _refused(tmp_path, text)


def test_endless_number(tmp_path):
    assert "Exceeds the limit" in _refused(tmp_path, "a = " + "9" * 100_000)


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("[product]\nname = Clock\n", 2, "Invalid value at column 8"),
        ('[product]\nname = "a"\nname = "b"\n', 3, "Cannot overwrite a value at column 11"),
        ("[product]\n[product]\n", 2, "Cannot declare ('product',) twice at column 9"),
        ("[goal]\ndistance = 10 m\n", 2, "Expected newline or end of document after a statement"),
        ('[goal]\ndistance = "10 m\n', 2, "Illegal character '\\n' at column 17"),
        ("[goal", 1, "Expected ']' at the end of a table declaration"),
    ],
)
def test_syntax_error_names_its_line(tmp_path, text, line, said):
    message = _refused(tmp_path, text)
    assert f"scenario.toml:{line}: found {said}" in message
    assert "expected valid TOML. Quantities stand in quotation marks" in message


_VALUES = st.one_of(
    st.text(max_size=20).map(lambda text: "'" + text.replace("'", "") + "'"),
    st.sampled_from(
        (
            *('"10 m"', '"4 dBm"', '"9**9**9 m"', "1e400", "nan", "-inf", "[]", "[[]]", "{}"),
            *("true", '"50 %"', "2027-03-01", "07:30:00", "[{kind = 'box'}]", "{kind = 'tray'}"),
        )
    ),
)
_KEYS = st.sampled_from(
    (
        *("schema", "product", "variants", "radios", "antenna", "far_end", "metal", "room"),
        *("goal", "scans", "booking", "name", "kind", "radio", "band", "openings", "shape"),
        *("corrections", "value", "role", "'a b'", '"\\u001b[31m"', "radios.x", "metal.kind"),
    )
)
_LINES = st.one_of(
    st.tuples(_KEYS, _VALUES).map(" = ".join),
    _KEYS.map("[{}]".format),
    _KEYS.map("[[{}]]".format),
    _KEYS.map("[[scans.{}]]".format),
)
_FREELY = settings(
    deadline=None, max_examples=200, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


def _outcome(tmp_path, text):
    """Scenario, or the errors that it raised; anything else that is raised fails the test."""
    try:
        return _load(tmp_path, text.encode("utf-8", "surrogatepass"))
    except InputErrors as error:
        return error.errors
    except InputError as error:
        return (error,)


@_FREELY
@given(st.lists(_LINES, max_size=12).map("\n".join) | st.text(max_size=200))
def test_any_text_gives_a_scenario_or_a_clear_error(tmp_path, text):
    outcome = _outcome(tmp_path, text)
    if not isinstance(outcome, Scenario):
        assert outcome
        for error in outcome:
            assert error.file.endswith("scenario.toml")
            assert str(error).isprintable()
            assert error.found
            assert error.expected


@_FREELY
@given(position=st.integers(0, 60), value=_VALUES)
def test_damage_to_a_good_file_is_found_where_it_is_or_above(tmp_path, position, value):
    lines = starter().splitlines()
    keyed = [number for number, line in enumerate(lines) if " = " in line and line[0] != "#"]
    spot = keyed[position % len(keyed)]
    lines[spot] = lines[spot].split(" = ")[0] + " = " + value
    outcome = _outcome(tmp_path, "\n".join(lines))
    if isinstance(outcome, Scenario):
        assert outcome.goal.distance == 10.0
    else:
        assert len(outcome) >= 1
        assert str(outcome[0]).isprintable()
