"""The JSON Schema that editors use: shipped as generated, and it knows the same files as good."""

import datetime
import json
import tomllib
from importlib import resources
from pathlib import Path

import jsonschema
import pytest

from linkbudget.emissions.limits import families
from linkbudget.physics.materials import metal_names
from linkbudget.scenario import json_schema, json_schema_text, starter

SCENARIOS = Path(__file__).parent.parent / "scenarios"
DEMOS = sorted(SCENARIOS.glob("*.toml"))


def _as_json(value):
    """Dates become text, as an editor hands them to a validator."""
    if isinstance(value, dict):
        return {key: _as_json(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_as_json(item) for item in value]
    return value.isoformat() if isinstance(value, datetime.date) else value


def _faults(text):
    validator = jsonschema.Draft202012Validator(json_schema())
    return [error.json_path for error in validator.iter_errors(_as_json(tomllib.loads(text)))]


def _nodes(node):
    if isinstance(node, dict):
        yield node
    for child in node.values() if isinstance(node, dict) else node:
        if isinstance(child, dict | list):
            yield from _nodes(child)


def test_shipped_schema_is_the_generated_one():
    shipped = resources.files("linkbudget").joinpath("data", "scenario.schema.json")
    assert shipped.read_text(encoding="utf-8") == json_schema_text()


def test_schema_is_a_schema():
    jsonschema.Draft202012Validator.check_schema(json_schema())


def test_there_are_demos():
    assert [path.name for path in DEMOS] == ["cue-light.toml", "label-printer.toml"]


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_demos_fit_the_schema(path):
    assert _faults(path.read_text(encoding="utf-8")) == []


def test_starter_fits_the_schema():
    assert _faults(starter()) == []


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ('"4 dBm"', '"4 dBi"', "$.radios.short_range.conducted_power"),
        ('"4 dBm"', "4", "$.radios.short_range.conducted_power"),
        ('"2.405 GHz"', '"2,405 GHz"', "$.radios.short_range.band[0]"),
        ('"stainless steel"', '"rubber"', "$.metal"),
        ('family = "multi', 'family = "multy', "$.product.family"),
        ('equipment_class = "B"', "", "$.product"),
        ("[goal]", '[goal]\ndistanse = "1 m"', "$.goal"),
        ('"open air"', '"office"', "$.room"),
        ('"60 %"', '["60 %"]', "$.antenna.efficiency"),
        ('"60 %"', '{ value = "60 %", within = "6 dB" }', "$.antenna.efficiency"),
    ],
)
def test_schema_finds_mistakes(old, new, fault):
    assert _faults(starter().replace(old, new, 1)) == [fault]


def test_every_key_has_a_description_for_the_editor():
    tables = [node for node in _nodes(json_schema()) if "properties" in node]
    assert len(tables) >= 15
    for table in tables:
        for key, value in table["properties"].items():
            named = value.get("$ref", "").removeprefix("#/$defs/")
            node = {**json_schema()["$defs"].get(named, {}), **value}
            assert node.get("description", "").endswith("."), (table.get("title"), key)


def test_quantities_are_text_and_nothing_is_null():
    assert '"null"' not in json.dumps(json_schema())
    bandwidth = json_schema()["$defs"]["Radio"]["properties"]["bandwidth"]
    assert bandwidth["type"] == "string"
    assert bandwidth["examples"] == ["2 MHz"]


def test_an_uncertain_quantity_is_text_two_texts_or_one_of_three_tables():
    power = json_schema()["$defs"]["Radio"]["properties"]["conducted_power"]
    assert power["examples"] == ["4 dBm"]
    assert power["$ref"] == "#/$defs/UncertainPowerLevel"
    plain, ends, *tables = json_schema()["$defs"]["UncertainPowerLevel"]["anyOf"]
    assert plain["type"] == "string"
    assert (ends["minItems"], ends["maxItems"]) == (2, 2)
    assert [table["required"] for table in tables] == [
        ["value", "standard_deviation"],
        ["value", "within"],
        ["low", "value", "high"],
    ]


def test_words_come_from_the_data():
    product = json_schema()["$defs"]["Product"]["properties"]
    assert product["family"]["enum"] == [known.family for known in families()]
    plate = json_schema()["$defs"]["PlateMetal"]["properties"]
    assert plate["material"]["enum"] == list(metal_names())
