"""Every name that a user meets stands in the glossary; the names are taken from the code."""

import re
from itertools import pairwise
from pathlib import Path
from typing import get_args

import pytest
import typer

from linkbudget.cli import main as command_line
from linkbudget.core.quantity import Kind, Quantity, Shape
from linkbudget.core.sources import Obtained
from linkbudget.core.units import KINDS
from linkbudget.decision.booking import Action
from linkbudget.emissions.conformity import Mains, Standing
from linkbudget.emissions.corrections import Role
from linkbudget.emissions.limits import EquipmentClass, all_lines, families
from linkbudget.emissions.scan import Detector, LevelUnit, Port, ScanRecord, Transducer
from linkbudget.enclosure import effect, paths
from linkbudget.enclosure.geometry import FarEnd, OpeningShape
from linkbudget.link.budget import LinkInputs, MetalLoss
from linkbudget.link.fades import FadeLaw, FadingModel
from linkbudget.link.laws import open_air
from linkbudget.link.reach import difference
from linkbudget.link.terms import Polarisation
from linkbudget.physics.materials import metal_names
from linkbudget.report.rows import budget_rows, metal_rows, record_rows
from linkbudget.report.wording import NO_ACTION, STANDING_WORDS, Wanted
from linkbudget.results import VariantLink
from linkbudget.scenario import json_schema, uncertain

ROOT = Path(__file__).parent.parent
GLOSSARY = (ROOT / "docs" / "glossary.md").read_text(encoding="utf-8")
LITERALS = (
    *(Action, Detector, EquipmentClass, FadingModel, FarEnd, Kind, LevelUnit, Mains, Obtained),
    *(OpeningShape, Polarisation, Port, Role, Shape, Standing, Transducer, Wanted),
)


def _sections():
    """Rows of cells under each second heading, the head of the table left out."""
    found = {}
    for part in GLOSSARY.split("\n## ")[1:]:
        title, _, body = part.partition("\n")
        rows = [re.split(r"(?<!\\)\|", line)[1:-1] for line in body.splitlines() if line[:1] == "|"]
        found[title] = [[cell.strip() for cell in row] for row in rows[2:]]
    return found


SECTIONS = _sections()
LABELS = "States, words and labels"


def _missing(names, section):
    """Names for which the section has no row of their own."""
    explained = {row[0].strip("`") for row in SECTIONS[section]}
    return sorted(set(names) - explained)


def _resolved(node):
    named = node.get("$ref", "").removeprefix("#/$defs/")
    return {**json_schema()["$defs"].get(named, {}), **node}


def _keys(node, path=()):
    """Every key of the scenario at every level: path, schema node, whether it must stand."""
    node = _resolved(node)
    for kind in node.get("oneOf", ()):
        yield from _keys(kind, path)
    if "items" in node:
        yield from _keys(node["items"], path)
    if isinstance(node.get("additionalProperties"), dict):
        yield from _keys(node["additionalProperties"], (*path, "KEY"))
    for key, inner in node.get("properties", {}).items():
        yield ".".join((*path, key)), _resolved(inner), key in node.get("required", ())
        yield from _keys(inner, (*path, key))


def _words(node):
    return node.get("enum") or ([node["const"]] if "const" in node else [])


def _kinds_of_quantity(node):
    """Kinds whose units are those that the pattern of a key accepts; several share their units."""
    node = node.get("prefixItems", [node])[0]
    node = node.get("anyOf", [node])[0]  # an uncertain value: its plain form
    units = {kind: "|".join(map(re.escape, KINDS[kind].units)) for kind in KINDS}
    return {
        k for k, listed in units.items() if node.get("pattern", "").endswith(rf"({listed})\s*$")
    }


def _options():
    """Every option, and the commands that take it."""
    group = typer.main.get_command(command_line.app)
    found = {}
    for name, command in group.commands.items():
        for parameter in command.params:
            if parameter.param_type_name == "option":
                for option in parameter.opts:
                    found.setdefault(option, []).append(name)
    return found


def _link():
    one = Quantity(1.0, "dB", "stated", 0.5, 2.0)
    inputs = LinkInputs(frequency_hz=2.44e9, conducted_power=one, antenna_gain=one, far_gain=one,
                        sensitivity=one)  # fmt: skip
    room, fade = open_air(2.44e9), FadeLaw("none", 0.99)
    comparison = difference(inputs, room, fade, 10.0, MetalLoss(one, one))
    metal = effect.MetalEffect("above", one, (), "", one, one, ())
    return VariantLink("", "", comparison=comparison, wanted_distance_m=10.0, metal=metal)


def _in_code(pattern):
    """What a pattern finds anywhere in the package."""
    texts = (path.read_text(encoding="utf-8") for path in (ROOT / "linkbudget").rglob("*.py"))
    return {name for text in texts for name in re.findall(pattern, text)}


def test_every_command_is_explained():
    names = typer.main.get_command(command_line.app).commands
    assert len(names) >= 8
    assert _missing((f"linkbudget {name}" for name in names), "Commands") == []


def test_every_option_is_explained_with_the_commands_that_take_it():
    assert "--require-margin" in _options()
    assert _missing(_options(), "Options") == []
    told = {row[0].strip("`"): re.findall(r"`([^`]+)`", row[1]) for row in SECTIONS["Options"]}
    told = {option: commands for option, commands in told.items() if option in _options()}
    assert told == _options()


def test_every_key_of_the_scenario_is_explained():
    names = [path for path, _, _ in _keys(json_schema())]
    assert "radios.KEY.band" in names
    assert "scans.corrections.role" in names
    assert "metal.openings.diameter" in names
    assert _missing(names, "Keys of the scenario") == []


def test_keys_say_rightly_what_must_stand_and_which_kind_of_quantity():
    rows = {row[0].strip("`"): row for row in SECTIONS["Keys of the scenario"]}
    quantities = 0
    musts = {}  # a key may be owed by one kind of metal and left to another
    for path, _node, required in _keys(json_schema()):
        musts.setdefault(path, set()).add(required)
    for path, either in musts.items():
        assert (rows[path][2] == "yes") in either, path
    for path, node, _required in _keys(json_schema()):
        possible = _kinds_of_quantity(node)
        quantities += bool(possible)
        assert not possible or _kind(rows[path]) in possible, path
    assert quantities > 30


def _kind(row):
    return row[1].removeprefix("two of ").removesuffix(", or false")


def test_every_key_of_an_uncertain_value_is_explained():
    assert _missing(uncertain.MEANINGS, "Keys of an uncertain value") == []
    assert _missing(uncertain.SHAPES, LABELS) == []


def test_every_kind_of_quantity_is_explained_with_its_units():
    told = {row[0].strip("`"): re.findall(r"`([^`]+)`", row[1]) for row in
            SECTIONS["Kinds of quantity"]}  # fmt: skip
    assert told == {name: list(kind.units) for name, kind in KINDS.items()}


@pytest.mark.parametrize("literal", LITERALS, ids=lambda literal: get_args(literal)[0])
def test_every_word_of_the_results_is_explained(literal):
    assert _missing(get_args(literal), LABELS) == []


def test_every_word_of_the_scenario_is_explained():
    words = {word for path, node, _ in _keys(json_schema()) if path != "schema"
             for word in _words(node)}  # fmt: skip
    kinds = {"plate", "tray", "box", "attenuation", "none"}
    assert kinds | {"rayleigh", "aluminium", "round", "open air"} <= words
    assert _missing(words, LABELS) == []


def test_every_printed_label_is_explained():
    link = _link()
    # what stands behind a comma names the room, or what a wall is made of
    lines = [line.name.partition(",")[0] for line in link.comparison.with_metal.lines]
    assert "metal: at the antenna's port" in lines
    results = [name.partition(",")[0] for name, _, _ in budget_rows(link)]
    assert {"margin", "reach"} <= set(results)
    results += [name for name, _, _ in metal_rows(link)]
    assert "total toward the far end" in results
    record = [name for port in get_args(Port) for name, _ in record_rows(ScanRecord(port, ""))]
    assert {"turntable", "conductor"} <= set(record)
    ways = [effect.THROUGH_SHEET, effect.THROUGH_OPENINGS, effect.ROUND_EDGE, effect.OPEN_SIDE]
    words = [*STANDING_WORDS.values(), NO_ACTION, paths.AS_STATED]
    assert _missing([*lines, *results, *record, *ways, *words], LABELS) == []


def test_every_metal_family_and_line_is_explained():
    names = [*metal_names(), *(known.family for known in families())]
    assert _missing(names, LABELS) == []
    assert _missing((line.line_id for line in all_lines()), "Limit lines") == []


def test_every_name_for_scripts_is_explained():
    schemas = _in_code(r'"(linkbudget/[a-z]+/\d+)"')
    assert {"linkbudget/result/1", "linkbudget/scenario/1"} <= schemas
    variables = _in_code(r'environ(?:\.get\(|\[)"(\w+)"')
    assert "LINKBUDGET_TRACEBACK" in variables
    codes = [command_line.DONE, command_line.AT_FAULT, 2, command_line.THRESHOLD_MISSED]
    names = {*schemas, *variables, *map(str, codes)}
    assert _missing(names, "Codes and names for scripts") == []


def test_an_invented_name_is_reported_missing():
    assert _missing(["peak", "hocus-pocus", "reach"], LABELS) == ["hocus-pocus"]
    assert _missing(["--force", "--abracadabra"], "Options") == ["--abracadabra"]


@pytest.mark.parametrize("section", SECTIONS)
def test_tables_are_sorted_full_and_say_where_each_name_comes_from(section):
    rows = SECTIONS[section]
    assert rows
    assert len({len(row) for row in rows}) == 1
    ordered = [re.sub(r"[`“”\"-]", "", row[0]).casefold().strip() for row in rows]
    assert [pair for pair in pairwise(ordered) if pair[0] > pair[1]] == []
    origin = r"trade|standard: |our own|SI|JSON Schema|convention of command lines"
    assert [row[0] for row in rows if not re.match(origin, row[-1])] == []
