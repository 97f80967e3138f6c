"""The demo scenarios: they load, their invented scans come out byte for byte, and look real."""

import importlib.util
import re
import sys
from pathlib import Path

import numpy as np
import pytest

from linkbudget.emissions.corrections import Correction, correct, read_correction_table
from linkbudget.emissions.reader import read_scan
from linkbudget.scenario import enclosure_of, load_scenario, record_of

SCENARIOS = Path(__file__).parent.parent / "scenarios"
PRINTER = SCENARIOS / "label-printer.toml"
CUE_LIGHT = SCENARIOS / "cue-light.toml"


@pytest.fixture(scope="module")
def generator():
    spec = importlib.util.spec_from_file_location("invent_scans", SCENARIOS / "invent_scans.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    yield module
    del sys.modules[spec.name]


def _scan(path, name):
    scenario = load_scenario(path)
    stated = next(scan for scan in scenario.scans if scan.title == name)
    trace = read_scan(
        scenario.path_to(stated.file),
        frequency_unit=stated.frequency_unit,
        level_unit=stated.level_unit,
        level_column=stated.level_column,
    )
    chain = [
        read_correction_table(scenario.path_to(step.table), step.role)
        if step.table
        else Correction(step.role, step.value.value)
        for step in stated.corrections
    ]
    return correct(name, trace, record_of(stated), chain).trace


def _level_near(trace, frequency_hz, width_hz):
    near = np.abs(trace.frequency_hz - frequency_hz) <= width_hz
    return float(np.max(trace.level_db[near]))


def test_committed_scans_are_what_the_generator_writes(tmp_path, generator):
    generator.main(tmp_path)
    written = {p.relative_to(tmp_path): p.read_bytes() for p in tmp_path.rglob("*.*")}
    committed = {
        p.relative_to(SCENARIOS): p.read_bytes()
        for p in SCENARIOS.rglob("*.*")
        if p.parent.name in ("label-printer", "cue-light")
    }
    assert len(written) == 16
    assert written.keys() == committed.keys()
    for name, text in written.items():
        new, old = _words_and_numbers(text), _words_and_numbers(committed[name])
        assert new[0] == old[0], name
        # another machine may round the last digit of a level otherwise
        assert new[1] == pytest.approx(old[1], abs=0.0101), name


def _words_and_numbers(text):
    """Return the text without its numbers, and the numbers; a decimal comma counts as a point."""
    numbers = re.compile(rb"-?\d+(?:[.,]\d+)?(?=[;,\t\r\n]|$)")
    values = [float(n.replace(b",", b".")) for n in numbers.findall(text)]
    return numbers.sub(b"#", text), np.array(values)


def test_demos_are_small_and_say_that_they_are_invented(generator):
    texts = generator.files()
    assert sum(map(len, texts.values())) < 2_000_000
    assert all("Invented" in text[:80] for text in texts.values())
    for path in (PRINTER, CUE_LIGHT):
        assert "invented; nothing was measured" in path.read_text(encoding="utf-8")[:120]


def test_label_printer():
    scenario = load_scenario(PRINTER)
    assert [variant.name for variant in scenario.variants] == ["wired", "2.4 GHz", "Bluetooth"]
    assert scenario.product.mains == "adapter"
    assert enclosure_of(scenario).skirt_m == pytest.approx(0.008)
    assert {scan.port for scan in scenario.scans} == {"enclosure", "AC mains"}
    assert {scan.polarisation for scan in scenario.scans} == {"horizontal", "vertical", None}


def test_cue_light():
    scenario = load_scenario(CUE_LIGHT)
    assert scenario.product.mains == "none"
    assert enclosure_of(scenario).openings[0].length_m == pytest.approx(0.06)
    assert {scan.port for scan in scenario.scans} == {"enclosure"}


def test_one_clock_harmonic_of_the_printer_comes_near_the_line():
    """Class B at 3 m, 230 to 1000 MHz: 47 dBuV/m quasi-peak (CISPR 32, table A.4)."""
    trace = _scan(PRINTER, "radiated, vertical")
    assert trace.unit == "dBuV/m"
    assert 45.0 < _level_near(trace, 240e6, 100e3) < 47.0
    rest = np.abs(trace.frequency_hz - 240e6) > 1e6
    line = np.where(trace.frequency_hz < 230e6, 40.0, 47.0)
    assert np.min((line - trace.level_db)[rest]) > 7.0  # clear of the stated uncertainty
    assert 8.0 < np.median(line - trace.level_db) < 25.0


def test_broadcast_is_seen_in_the_meeting_room():
    trace = _scan(PRINTER, "radiated, horizontal")
    assert _level_near(trace, 98e6, 10e6) > _level_near(trace, 113e6, 4e6) + 6.0


def test_horizontal_and_vertical_differ():
    horizontal = _scan(PRINTER, "radiated, horizontal")
    vertical = _scan(PRINTER, "radiated, vertical")
    assert _level_near(vertical, 240e6, 1e5) - _level_near(horizontal, 240e6, 1e5) > 5.0
    assert _level_near(horizontal, 480e6, 1e5) > _level_near(vertical, 480e6, 1e5)


@pytest.mark.parametrize("polarisation", ["horizontal", "vertical"])
def test_own_transmitter_and_its_second_harmonic_are_in_the_scan(polarisation):
    peak = _scan(PRINTER, f"above 1 GHz, {polarisation}, peak")
    average = _scan(PRINTER, f"above 1 GHz, {polarisation}, average")
    for frequency_hz in (2.44e9, 4.88e9):
        at = _level_near(peak, frequency_hz, 2e6)
        assert at > _level_near(peak, frequency_hz - 60e6, 20e6) + 5.0
        assert at > _level_near(average, frequency_hz, 2e6) + 10.0
    assert np.all(average.level_db <= peak.level_db + 1e-9)


@pytest.mark.parametrize("conductor", ["line", "neutral"])
def test_mains_scans_show_the_switching_supply(conductor):
    """Class B average line: 56 to 46 dBuV from 0.15 to 0.5 MHz (CISPR 32, table A.10)."""
    trace = _scan(PRINTER, f"mains, {conductor}, average")
    third = _level_near(trace, 3 * 65.2e3, 9e3)
    assert third > _level_near(trace, 2.5 * 65.2e3, 9e3) + 6.0
    line = 56.0 - 10.0 * np.log10(195.6 / 150.0) / np.log10(500.0 / 150.0)
    assert 4.0 < line - third < 10.0


@pytest.mark.parametrize("polarisation", ["horizontal", "vertical"])
def test_cue_light_is_far_below_class_a(polarisation):
    """Class A at 3 m: 50 dBuV/m to 230 MHz, then 57 dBuV/m (CISPR 32, table A.2)."""
    trace = _scan(CUE_LIGHT, f"radiated, {polarisation}")
    line = np.where(trace.frequency_hz < 230e6, 50.0, 57.0)
    assert np.min(line - trace.level_db) > 8.0
    assert trace.frequency_hz[0] == 30e6
    assert trace.frequency_hz[-1] == 1e9
