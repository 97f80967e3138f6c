"""``linkbudget vary`` as a user meets it."""

import csv
import json
import sys

import pytest

from linkbudget.cli.main import run
from linkbudget.scenario import starter

DISTANCES = ("--field", "goal.distance", "--values", "2 m to 8 m in 3 steps")


@pytest.fixture
def call(monkeypatch, capsys):
    """Run one command; return exit code, standard output and standard error."""

    def invoke(*words):
        monkeypatch.setattr(sys, "argv", ["linkbudget", *map(str, words)])
        with pytest.raises(SystemExit) as ended:
            run()
        said = capsys.readouterr()
        return ended.value.code or 0, said.out, said.err

    return invoke


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "scale.toml"
    path.write_text(starter(), encoding="utf-8")
    return path


def test_a_table_of_every_point(call, file):
    code, out, err = call("vary", file, *DISTANCES)
    assert (code, err) == (0, "")
    for value in ("2 m", "5 m", "8 m"):
        assert f"\n  {value}  " in out
    assert "goal.distance is 10 m in the scenario" in out


def test_json_stands_alone_on_standard_output(call, file, tmp_path):
    target = tmp_path / "out" / "points.csv"
    code, out, err = call("vary", file, *DISTANCES, "--json", "--output", target)
    assert code == 0
    assert [point["values"] for point in json.loads(out)["points"]] == [["2 m"], ["5 m"], ["8 m"]]
    assert err == f"Wrote {target}\n"


@pytest.mark.parametrize("suffix", ["csv", "json", "html", "HTML"])
def test_the_ending_decides_what_is_written(call, file, tmp_path, suffix):
    target = tmp_path / f"points.{suffix}"
    code, out, _ = call("vary", file, *DISTANCES, "--output", target)
    assert code == 0
    assert out.endswith(f"Wrote {target}\n")
    text = target.read_text(encoding="utf-8")
    if suffix == "csv":
        assert [row[0] for row in csv.reader(text.splitlines())][1:] == ["2", "5", "8"]
    elif suffix == "json":
        assert len(json.loads(text)["points"]) == 3
    else:
        assert text.startswith("<!DOCTYPE html>")
    assert {each.name for each in tmp_path.iterdir()} == {file.name, target.name}


@pytest.mark.parametrize("name", ["points.pdf", "points"])
def test_another_ending_is_refused_before_anything_is_computed(call, file, tmp_path, name):
    code, out, err = call("vary", file, *DISTANCES, "--output", tmp_path / name)
    assert (code, out) == (1, "")
    assert "expected a file that ends in .csv, .json or .html" in err
    assert not (tmp_path / name).exists()


def test_two_fields_are_given_twice(call, file):
    second = ("--field", "goal.reliability", "--values", "90 %, 99 %")
    code, out, _ = call("vary", file, *DISTANCES, *second, "--json")
    assert code == 0
    found = json.loads(out)
    assert [field["key"] for field in found["fields"]] == ["goal.distance", "goal.reliability"]
    assert len(found["points"]) == 6


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--field", "goal.distanse", "--values", "1 m"), 'Did you mean "distance"?'),
        (("--field", "goal.distance", "--values", "1 m, 2 kg"), "goal.distance: found '2 kg'"),
        (("--field", "goal.distance", "--values", "1 m to 2 m"), "in 6 steps"),
        (("--field", "goal.distance", "--values", "1 m", "--values", "2 m"), "1 fields and 2"),
    ],
)
def test_a_mistake_is_one_readable_message(call, file, words, told):
    code, out, err = call("vary", file, *words)
    assert (code, out) == (1, "")
    assert err.startswith("linkbudget: ")
    assert told in err
    assert "Traceback" not in err


def test_values_may_begin_with_a_minus(call, file):
    words = (
        "--field",
        "radios.short_range.conducted_power",
        "--values",
        "-8 dBm to 4 dBm in 4 steps",
    )
    code, out, _ = call("vary", file, *words, "--json")
    assert code == 0
    assert json.loads(out)["fields"][0]["numbers"] == [-8.0, -4.0, 0.0, 4.0]


def test_field_and_values_must_stand(call, file):
    assert call("vary", file)[0] == 2
    assert call("vary", file, "--field", "goal.distance")[0] == 2


def test_a_refused_point_is_shown_and_is_no_error(call, file):
    words = ("--field", "goal.fading", "--values", "rayleigh, rice")
    code, out, _ = call("vary", file, *words)
    assert code == 0
    assert "rice      refused: goal." in out


def test_the_scenario_stays_as_it_is(call, file):
    before = file.read_bytes()
    assert call("vary", file, *DISTANCES, "--output", file.with_suffix(".csv"))[0] == 0
    assert file.read_bytes() == before
