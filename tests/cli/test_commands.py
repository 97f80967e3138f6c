"""The command line as a user meets it: what it prints, where, and its exit code."""

import json
import os
import sys
from pathlib import Path

import pytest

from linkbudget.cli.main import run
from linkbudget.cli.output import write_whole
from linkbudget.core.errors import InputError

ROOT = Path(__file__).parent.parent.parent
PRINTER = str(ROOT / "scenarios" / "label-printer.toml")
CUE_LIGHT = str(ROOT / "scenarios" / "cue-light.toml")


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


def test_version_and_help(call):
    assert call("--version")[1].startswith("linkbudget 0.")
    code, out, _ = call("--help")
    assert code == 0
    for command in [
        "init",
        "check",
        "link",
        "enclosure",
        "emissions",
        "limits",
        "decide",
        "vary",
        "report",
    ]:
        assert f"  {command} " in out


def test_a_wrong_command_line_is_exit_code_2(call):
    assert call("no-such-command")[0] == 2
    assert call("link")[0] == 2


def test_init_writes_a_scenario_that_every_command_accepts(call, tmp_path):
    path = tmp_path / "mine.toml"
    assert call("init", path)[0] == 0
    for command in ("check", "link", "enclosure", "emissions", "decide"):
        code, out, err = call(command, path)
        assert (code, err) == (0, ""), command
        assert out.strip()
    code, _, err = call("init", path)
    assert code == 1
    assert "--force" in err
    assert call("init", path, "--force")[0] == 0


@pytest.mark.parametrize("command", ["check", "link", "enclosure", "emissions", "decide"])
@pytest.mark.parametrize("scenario", [PRINTER, CUE_LIGHT])
def test_json_is_alone_on_standard_output(call, command, scenario):
    code, out, _ = call(command, scenario, "--json")
    assert code == 0
    found = json.loads(out)
    assert found["schema"] == "linkbudget/result/1"


def test_limits_lists_every_value_with_its_source(call):
    code, out, _ = call("limits")
    assert code == 0
    assert "check against the standard" in out
    found = json.loads(call("limits", "--class", "B", "--json")[1])
    assert {line["equipment_class"] for line in found["lines"]} == {"B"}


def test_report_writes_one_file_and_says_where(call, tmp_path):
    code, out, _ = call("report", PRINTER, "--output", tmp_path / "out")
    assert code == 0
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["report.html"]
    assert "report.html" in out
    code, out, err = call("report", PRINTER, "--output", tmp_path / "out", "--json")
    assert json.loads(out)["schema"] == "linkbudget/result/1"
    assert "report.html" in err


def test_a_threshold_that_is_missed_is_exit_code_3(call):
    code, _, err = call("link", PRINTER, "--require-margin", "3")
    assert code == 3
    assert "asks for 3 dB" in err
    assert call("link", PRINTER, "--require-margin", "-50")[0] == 0
    code, _, err = call("decide", CUE_LIGHT, "--require-margin", "0")
    assert code == 3
    assert "is not known" in err  # one range is not measured at all


@pytest.mark.parametrize("margin", ["nan", "inf", "much"])
def test_a_threshold_must_be_a_number(call, margin):
    assert call("link", PRINTER, "--require-margin", margin)[0] == 2


def test_a_box_whose_openings_nobody_stated_refuses_the_link_and_keeps_the_rest(call, tmp_path):
    text = Path(CUE_LIGHT).read_text(encoding="utf-8")
    closed = text[: text.index("[[metal.openings]]")] + text[text.index("[room]") :]
    closed = closed.replace('"cue-light/', f'"{ROOT / "scenarios" / "cue-light"}/')
    path = tmp_path / "closed.toml"
    path.write_text(closed, encoding="utf-8")
    code, _, err = call("link", path)
    assert code == 1
    assert f"{path}:" in err
    assert "metal" in err
    code, out, err = call("check", path)
    assert code == 1
    assert "Link of wireless, not judged" in out
    assert "without any opening" in err
    assert call("report", path, "--output", tmp_path / "out")[0] == 0
    assert "without any opening" in (tmp_path / "out" / "report.html").read_text("utf-8")


def test_check_stops_a_script_where_link_would(call, tmp_path):
    path = tmp_path / "mine.toml"
    call("init", path)
    text = path.read_text(encoding="utf-8")
    office = 'kind = "indoor"\nsurroundings = "office"\nsight = "clear"'
    text = text.replace('kind = "open air"', office).replace('"10 m"', '"60 m"')
    path.write_text(text, encoding="utf-8")
    code, out, _ = call("check", path)
    assert code == call("link", path)[0] == 1
    assert "not judged" in out
    assert "goal.distance" in out


def test_every_mistake_of_a_scenario_is_told_with_its_line(call, tmp_path):
    path = tmp_path / "mine.toml"
    call("init", path)
    text = path.read_text(encoding="utf-8")
    wrong = text.replace("[goal]", '[goal]\ndistanze = "3 m"\n', 1).replace("dBm", "dB")
    path.write_text(wrong, encoding="utf-8")
    code, out, err = call("check", path)
    assert (code, out) == (1, "")
    assert err.count("linkbudget: ") >= 2
    assert "distance" in err
    assert "Traceback" not in err


def test_a_fault_of_the_tool_is_told_as_one(call, monkeypatch):
    import linkbudget.study

    def broken(*_args, **_kwargs):
        raise ZeroDivisionError("oops")

    monkeypatch.setattr(linkbudget.study, "study", broken)
    code, _, err = call("link", PRINTER)
    assert code == 1
    assert "a fault of this tool" in err
    assert "LINKBUDGET_TRACEBACK=1" in err


def test_a_bare_scan_takes_its_facts_as_options(call, tmp_path):
    path = tmp_path / "=scan.csv"
    path.write_text("Frequency (MHz),Level (dBuV/m)\n100,30\n100.05,38\n100.1,30\n")
    words = ["--limit", "CISPR 32 class B", "--port", "enclosure", "--transducer", "antenna"]
    words += ["--detector", "peak", "--distance", "3 m"]
    code, out, err = call("emissions", path, *words)
    assert (code, err) == (0, "")
    assert "2.0 dB" in out
    code, _, err = call("emissions", path, *words, "--require-margin", "-6")
    assert code == 3  # one stretch of the line is all that was measured
    assert "not all of it is measured" in err
    code, _, err = call("emissions", path)
    assert code == 1
    assert "--detector" in err


def test_options_of_a_bare_scan_do_not_go_with_a_scenario(call):
    code, _, err = call("emissions", PRINTER, "--detector", "peak")
    assert code == 1
    assert "inside the scenario's [[scans]]" in err


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("empty.csv", b""),
        ("binary.csv", bytes(range(256)) * 40),
        ("one-column.csv", b"Level (dBuV/m)\n1\n2\n3\n"),
        ("text.csv", b"Frequency (MHz),Level (dBuV/m)\n30,20\n31,high\n32,20\n"),
        ("wrong-unit.csv", b"Frequency (MHz),Level (furlong)\n30,20\n31,20\n"),
    ],
)
def test_a_hostile_scan_is_one_message_and_no_traceback(call, tmp_path, name, content):
    path = tmp_path / name
    path.write_bytes(content)
    words = ["--limit", "CISPR 32 class B", "--port", "enclosure", "--transducer", "antenna"]
    code, out, err = call("emissions", path, *words, "--detector", "peak", "--distance", "3 m")
    assert (code, out) == (1, "")
    assert err.startswith("linkbudget: ")
    assert name in err
    assert "Traceback" not in err


def test_no_partial_file_is_left(tmp_path, monkeypatch):
    def full_disk(*_args):
        raise OSError(28, "No space left on device")

    target = tmp_path / "report.html"
    target.write_text("the old report")
    monkeypatch.setattr(os, "replace", full_disk)
    with pytest.raises(InputError, match="No space left on device"):
        write_whole(target, "the new report")
    assert [path.name for path in tmp_path.iterdir()] == ["report.html"]
    assert target.read_text() == "the old report"


def test_a_pin_hole_in_a_thick_box_is_no_fault_of_the_tool(call, tmp_path):
    text = Path(CUE_LIGHT).read_text(encoding="utf-8")
    text = text.replace('"cue-light/', f'"{ROOT / "scenarios" / "cue-light"}/')
    for old, new in (
        ("60 mm", "0.1 mm"),
        ("2.5 mm", "20 mm"),
        ('width = "2 mm"', 'width = "0.1 mm"'),
    ):
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "pin.toml"
    path.write_text(text, encoding="utf-8")
    code, out, err = call("enclosure", path)
    assert (code, err) == (0, "")
    assert "through the sheet" in out
