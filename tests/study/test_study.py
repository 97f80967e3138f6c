"""From a scenario to results: the demos, and scenarios that bend them."""

from pathlib import Path

import pytest

from linkbudget.core.errors import InputError, MissingData
from linkbudget.scenario import load_scenario, starter
from linkbudget.study import (
    held_lines,
    study,
    study_bare_scan,
    worst_emission_margin_db,
    worst_link_margin_db,
)

SCENARIOS = Path(__file__).parent.parent.parent / "scenarios"


@pytest.fixture(scope="module")
def printer():
    return study(load_scenario(SCENARIOS / "label-printer.toml"))


@pytest.fixture(scope="module")
def cue_light():
    return study(load_scenario(SCENARIOS / "cue-light.toml"))


@pytest.fixture
def bent(tmp_path):
    """The starter scenario with one piece of its text replaced."""

    def make(*swaps):
        text = starter()
        for old, new in swaps:
            assert old in text
            text = text.replace(old, new)
        path = tmp_path / "bent.toml"
        path.write_text(text, encoding="utf-8")
        return load_scenario(path)

    return make


def test_a_variant_without_a_radio_has_no_link_and_says_why(printer):
    wired = printer.links[0]
    assert wired.comparison is None
    assert wired.absent_because == "this variant has no radio"


def test_the_lid_costs_level_and_range_and_both_agree(printer):
    for link in printer.links[1:]:
        found = link.comparison
        assert found.lost_db.value > 5.0
        fell = found.without.received.value - found.with_metal.received.value
        assert fell == pytest.approx(found.lost_db.value)
        # free space: 20 dB for each factor of ten in distance
        ratio = found.reach_with.distance.value / found.reach_without.distance.value
        assert ratio == pytest.approx(10 ** (-found.lost_db.value / 20))


def test_the_curve_passes_through_the_budget(printer):
    link = printer.links[2]
    at = abs(link.curve.distance_m - link.wanted_distance_m).argmin()
    assert link.curve.without_dbm[at] == pytest.approx(
        link.comparison.without.received.value, abs=0.5
    )


def test_the_radio_is_an_internal_frequency_of_its_own_variant(printer):
    by_name = {one.variant: one for one in printer.emissions.variants}
    top = {
        name: max((hi for row in one.standings for _, hi in row.gaps), default=0.0)
        for name, one in by_name.items()
    }
    assert top["wired"] == pytest.approx(2e9)  # 480 MHz inside: up to 2 GHz
    assert top["2.4 GHz"] == pytest.approx(6e9)


def test_own_transmitter_is_set_apart_and_still_shown(printer):
    above = next(s for s in printer.emissions.scans if s.name.startswith("above 1 GHz"))
    parts = {one.why.split(": ")[1] for one in above.set_apart}
    assert parts == {"band and out-of-band domain", "harmonic 2"}
    for found in above.against:
        assert not 2.396e9 <= found.worst_at_hz <= 2.4875e9


def test_a_battery_product_has_no_mains_line(cue_light):
    mains = [r for r in cue_light.emissions.variants[0].standings if r.line.port == "AC mains"]
    assert {row.standing for row in mains} == {"does not apply"}
    assert all("no AC mains port" in row.reason for row in mains)


def test_an_unmeasured_range_asks_for_more_measuring(cue_light):
    assert cue_light.advice.action == "measure more"
    assert "1 GHz to 6 GHz" in cue_light.advice.reason
    assert worst_emission_margin_db(cue_light) is None


def test_a_family_without_held_lines_draws_none(bent):
    result = study(bent(('family = "multimedia and IT equipment"', 'family = "railway"')))
    assert result.emissions.lines == ()
    assert "IEC 62236-3-2" in result.emissions.no_line_because
    assert result.advice.action is None


def test_what_nobody_said_is_listed_and_ranked(printer):
    moves = [row.moves_db or 0.0 for row in printer.unstated]
    assert moves == sorted(moves, reverse=True)
    assert {"polarisation loss", "mismatch loss (far end)"} <= {r.what for r in printer.unstated}


def test_safety_and_sources_are_always_told(printer, cue_light):
    for result in (printer, cue_light):
        told = " ".join(result.cautions)
        assert "bond it to earth before" in told
        assert "Transmit only where you are licensed" in told
        assert any(one.source.document == "CISPR 32" for one in result.sources)
        assert all(one.source.document for one in result.sources)
    assert "accredited laboratory" in printer.deference


def test_a_link_alone_reads_no_scan():
    result = study(load_scenario(SCENARIOS / "label-printer.toml"), emissions=False)
    assert result.emissions is None
    assert result.advice is None
    assert worst_link_margin_db(result) < 0.0


def _scan(tmp_path, text):
    path = tmp_path / "scan.csv"
    path.write_text(text, encoding="utf-8")
    return path


RADIATED = {
    "limit": "CISPR 32 class B",
    "port": "enclosure",
    "transducer": "antenna",
    "detector": "peak",
    "distance": "3 m",
}


def test_a_bare_scan_names_every_fact_that_it_lacks(tmp_path):
    path = _scan(tmp_path, "Frequency (MHz),Level (dBuV/m)\n30,20\n40,20\n")
    with pytest.raises(MissingData) as caught:
        study_bare_scan(path, {"port": "enclosure"})
    for name in ("--limit", "--transducer", "--detector", "--distance"):
        assert name in str(caught.value)


def test_a_bare_scan_is_corrected_and_compared(tmp_path):
    path = _scan(tmp_path, "Frequency (MHz),Level (dBuV)\n100,30\n100.05,52.5\n100.1,30\n")
    facts = {**RADIATED, "antenna factor": "7.4 dB/m", "preamplifier gain": "27.9 dB"}
    result = study_bare_scan(path, facts)
    below_1_ghz = result.emissions.variants[0].standings[0]
    # 52.5 dBuV + 7.4 dB/m - 27.9 dB = 32.0 dBuV/m, 8.0 dB under the 40 dBuV/m line
    assert below_1_ghz.worst.worst_margin.value == pytest.approx(8.0)
    assert below_1_ghz.gaps
    assert worst_emission_margin_db(result) == pytest.approx(8.0)


def test_a_near_field_probe_has_no_limit_line(tmp_path):
    path = _scan(tmp_path, "Frequency (MHz),Level (dBuV)\n30,20\n40,20\n50,20\n")
    result = study_bare_scan(path, {**RADIATED, "transducer": "near-field probe"})
    assert "has no limit line" in result.emissions.scans[0].refused
    assert result.emissions.scans[0].against == ()
    assert worst_emission_margin_db(result) is None


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        ({"limit": "CISPR 99 class B"}, '"CISPR 32 class A", "CISPR 32 class B"'),
        ({"port": "antenna port"}, "enclosure, AC mains"),
        ({"distance": "3"}, "--distance"),
        ({"antenna factor": "missing.csv"}, "no file and no value"),
        ({"transmitter band": "2.4 GHz"}, '"2.4 GHz..2.4835 GHz"'),
    ],
)
def test_a_wrong_option_is_told_by_its_name(tmp_path, facts, said):
    path = _scan(tmp_path, "Frequency (MHz),Level (dBuV/m)\n30,20\n40,20\n")
    with pytest.raises(InputError) as caught:
        study_bare_scan(path, {**RADIATED, **facts})
    assert said in str(caught.value)


def test_held_lines_by_class():
    assert {line.equipment_class for line in held_lines("a")} == {"A"}
    with pytest.raises(InputError, match="--class"):
        held_lines("C")
