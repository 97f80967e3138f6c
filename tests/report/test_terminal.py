"""Terminal summaries: short lines, all parts, nothing that commands a terminal."""

import re
import unicodedata
from dataclasses import replace

import pytest

from linkbudget.emissions.limits import lines
from linkbudget.enclosure.geometry import StatedAttenuation
from linkbudget.enclosure.paths import metal_effect
from linkbudget.report import terminal
from linkbudget.results import VariantLink

SUMMARIES = (
    terminal.summary,
    terminal.link_summary,
    terminal.enclosure_summary,
    terminal.emissions_summary,
    terminal.decide_summary,
    terminal.check_summary,
)
VERDICT = re.compile(r"\b(pass(es|ed)?|fail(s|ed|ure)?|complian(t|ce)|complies|certified)\b", re.I)


def _flat(text):
    return " ".join(text.split())


@pytest.mark.parametrize("make", SUMMARIES, ids=lambda make: make.__name__)
def test_lines_are_no_wider_than_80_columns(study, hostile_study, make):
    for one in (study, hostile_study):
        assert max(map(len, make(one).splitlines())) <= 80


@pytest.mark.parametrize("make", SUMMARIES, ids=lambda make: make.__name__)
def test_no_control_character_gets_out(hostile_study, make):
    text = make(hostile_study)
    odd = {c for c in text if c != "\n" and unicodedata.category(c) in {"Cc", "Cf", "Cs"}}
    assert odd == set()


@pytest.mark.parametrize("make", SUMMARIES, ids=lambda make: make.__name__)
def test_no_word_of_a_verdict(study, make):
    assert VERDICT.search(make(study)) is None


def test_the_summary_holds_every_part(study):
    text = _flat(terminal.summary(study))
    for part in (
        "Desktop label printer (label-printer.toml)",
        "Link, aluminium lid, 2.4 GHz radio, 1 Mbit/s",
        "Does the metal cost the range? Not the metal alone: 15 m is too close to call",
        "CISPR 32 class B, plastic lid",
        "1.8 dB over the line. Nearest at 48.007 MHz, on the line radiated, 3 m",
        "5.2 to 6 GHz and AC mains (average, 254 to 528 kHz) are not measured in full.",
        "1 to 6 GHz is not measured",
        "Book the lab? Measure more",
        "This speaks of emissions only.",
        "Not stated: 2 assumed, 1 typical",
        "bond it to earth",
        study.deference,
    ):
        assert part in text


def test_the_budget_lists_every_line_with_its_kind(study):
    text = terminal.link_summary(study)
    assert re.search(r"^  conducted power +4\.0 dBm  stated +3\.0 to 5\.0 dBm$", text, re.M)
    assert re.search(r"^  polarisation loss +-3\.0 dB  assumed +-10\.0 to 0\.0 dB$", text, re.M)
    for line in study.links[0].comparison.with_metal.lines:
        assert f"  {line.name}" in text
    assert "This variant has no radio." in text


def test_the_link_tells_how_sure_it_is_what_it_may_send_and_what_disturbs_it(study):
    text = terminal.link_summary(study)
    assert re.search(r"^  noise rise at the receiver +0\.0 dB  assumed$", text, re.M)
    assert re.search(r"^  margin, with metal +-[\d.]+ dB  -[\d.]+ to -?[\d.]+ dB$", text, re.M)
    assert re.search(
        r"^  chance that 15 m works, with metal +[\w. ]+ %  sampling error 0\.\d+ %$", text, re.M
    )
    assert re.search(r"^  polarisation loss +\d+ %  assumed +[\d.]+ dB if known$", text, re.M)
    flat = _flat(text)
    assert "reports within 30 ms 95.0 % 90.2 to 99.7 %" in flat
    assert "display, harmonic 50: 2.4 GHz, in the channel at 2.402 GHz at some tolerances" in flat
    for row in study.links[0].power:
        assert f"{row.rule} ({row.edition}, {row.clause})" in flat
    assert "cannot tell; cannot tell" not in flat


def test_more_clocks_than_fit_are_counted(study):
    link = replace(study.links[0], clocks=study.links[0].clocks * 8)
    assert "and 2 more" in terminal.link_summary(replace(study, links=(link,)))


def test_a_long_name_stands_on_a_line_of_its_own(study):
    link = study.links[1]
    line = replace(link.comparison.without.lines[0], name="transmission loss, " + "indoors, " * 9)
    budget = replace(link.comparison.without, lines=(line,))
    link = replace(link, comparison=replace(link.comparison, without=budget))
    text = terminal.link_summary(replace(study, links=(link,)))
    assert re.search(r"^ {32} +4\.0 dBm  stated +3\.0 to 5\.0 dBm$", text, re.M)
    assert max(map(len, text.splitlines())) <= 80


def test_the_metal_is_shown_path_by_path(study):
    text = terminal.enclosure_summary(study)
    for row in ("round the edge", "at the antenna's port", "total, far end above", "scatter of"):
        assert re.search(rf"^  {row}[a-z ]*? +[\d.-]+ +[\d.-]+ +[\d.-]+  \w+$", text, re.M)
    assert re.search(r"^  through the sheet +> 200 +computed$", text, re.M)
    assert re.search(r"^  Largest rise of peak gain: [\d.]+ dB", text, re.M)
    assert "Most of what still gets through goes round the edge." in text
    assert "No metal is described." in text


def test_what_stands_behind_the_metal_is_told_in_short(solved_study, box_study):
    text = _flat(terminal.enclosure_summary(solved_study))
    for part in (
        "tray: 200 x 120 x 1.5 mm, aluminium, its rim 8 mm down",
        "measured loss 11.0 dB measured",
        "The estimate was 3.0 dB too high",
        "feed resistance, metal 20.0 ohm computed",
        "mean gain above -4.3 dB computed",
        "shadow 2.2 dB computed",
        "5.0 dB (4.5 to 5.5 dB), computed, solved: antenna further from the sheet",
    ):
        assert part in text, part
    boxed = terminal.enclosure_summary(box_study)
    for part in ("Resonance to fear: ", "cross-section ", "board and contents alone", "loss, mean"):
        assert part in boxed, part
    for one in (solved_study, box_study):
        assert max(map(len, terminal.enclosure_summary(one).splitlines())) <= 80


def test_what_would_sharpen_the_answer_is_told(solved_study):
    link = replace(solved_study.links[0], fields=None, fields_absent="Install the extra \x1b[31m.")
    text = terminal.enclosure_summary(replace(solved_study, links=(link,)))
    assert "Install the extra" in text
    assert "\x1b" not in text


def test_emissions_name_state_reason_and_uncertainty(study):
    text = _flat(terminal.emissions_summary(study))
    assert "! radiated, 3 m, quasi-peak, 30 MHz to 1 GHz over the line; 1.8 dB above" in text
    assert "does not apply, because one distance is enough" in text
    assert "(uncertainty 3.4 dB, stated)" in text
    assert "decimal mark: point (assumed)" in text
    assert "set apart, 2.4 GHz radio: harmonic 2" in text


def test_a_family_without_lines_is_told(study):
    silent = replace(study.emissions, no_line_because="The lines of CISPR 14-1 are not held.")
    text = terminal.emissions_summary(replace(study, emissions=silent))
    assert "The lines of CISPR 14-1 are not held." in text


def test_scans_without_a_line_tell_their_highest_levels(study):
    bare = tuple(replace(scan, against=()) for scan in study.emissions.scans)
    silent = replace(study.emissions, no_line_because="None held.", variants=(), scans=bare)
    brief = _flat(terminal.summary(replace(study, emissions=silent)))
    assert "- above 1 GHz, H: 91.6 dBuV/m at 2.4398 GHz; 57.7 dBuV/m at 4.8798 GHz" in brief
    full = _flat(terminal.emissions_summary(replace(study, emissions=silent)))
    assert "highest, corrected: 91.6 dBuV/m at 2.4398 GHz" in full


def test_a_refused_link_is_told_with_its_reason(study):
    refused = VariantLink("boxed", "2.4 GHz radio", "the box is closed; state its openings")
    for make in (terminal.summary, terminal.link_summary, terminal.enclosure_summary):
        text = _flat(make(replace(study, links=(refused,))))
        assert "Refused: this link cannot be judged as it stands." in text
        assert "The box is closed; state its openings." in text


def test_option_names_are_printed_and_an_absent_key_is_not_asked_for(study):
    option = replace(study.unstated[0], key="--polarisation")
    nameless = replace(study.unstated[1], key="")
    text = _flat(terminal.summary(replace(study, unstated=(option, nameless))))
    assert "say it in --polarisation" in text
    assert text.count("say it in") == 1


def test_every_limit_value_comes_with_its_source():
    held = lines("CISPR 32", "B")
    text = _flat(terminal.limits_summary(held))
    assert text.count("check against the standard") == sum(len(line.segments) for line in held)
    assert "230 MHz to 1 GHz: 47.0 dBuV/m" in text  # CISPR 32 class B, 3 m (secondary source)


def test_more_unstated_facts_than_fit_are_counted(study):
    many = replace(study, unstated=study.unstated * 2)
    assert "- and 3 more" in terminal.summary(many)
    assert "Nothing was left unstated." in terminal.summary(replace(study, unstated=()))


def test_partial_results_leave_their_parts_out(study):
    text = terminal.summary(replace(study, links=(), emissions=None, advice=None))
    assert "Link," not in text
    assert "Book the lab?" not in text
    assert study.deference in _flat(text)


def test_a_loss_at_the_port_that_is_not_apart_is_no_0_db(study):
    stated = metal_effect(StatedAttenuation(9.0, 2.0, measured=True), 2.44e9, "above")
    link = replace(study.links[0], metal=stated)
    text = terminal.enclosure_summary(replace(study, links=(link,)))
    assert re.search(r"at the antenna's port +contained in the total", text)


def test_what_limits_the_estimate_is_marked_beside_a_measured_loss(solved_study):
    text = " ".join(terminal.enclosure_summary(solved_study).split())
    cautions = solved_study.links[0].fields.cautions
    assert cautions
    for caution in cautions:
        assert f"Of the estimate, not of what was measured: {caution}" in text
