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
        typical = [
            sum(line.value.value for line in budget.lines if line.name != "lopsided bands")
            for budget, _, _ in found.cases
        ]
        assert typical[0] - typical[1] == pytest.approx(found.lost_db.value)
        levels = [budget.received.value for budget, _, _ in found.cases]
        assert found.lost_db.low < levels[0] - levels[1] < found.lost_db.high
        for budget, _, _ in found.cases:  # it adds up, line by line
            received = sum(line.value.value for line in budget.lines)
            assert received == pytest.approx(budget.received.value, abs=0.05)
            needed = budget.sensitivity.value + budget.desensitisation.value
            left = received - needed - budget.fade_allowance.value + budget.lopsided.value
            assert left == pytest.approx(budget.margin.value, abs=0.05)
        assert found.reach_with.distance.value < found.reach_without.distance.value
        assert found.forecast_with.chance.value < found.forecast_without.chance.value


def test_the_demo_tells_what_spreads_the_answer_more_than_the_lid(printer):
    for link in printer.links[1:]:
        _, _, forecast = link.comparison.as_built
        names = [driver.name for driver in forecast.drivers]
        lid = names.index("metal: toward the far end")
        assert names.index("polarisation loss") < lid
        assert link.room.name == "indoors, office, line of sight"
        assert link.delivery.tries >= 6
        assert any(hit.clock == "processor" and hit.harmonic == 51 for hit in link.clocks)
        # 8 dBm, 1.5 dBi, and some dB by the lid: over the 10 dBm of the spectrum-sharing duties
        sharing = next(row for row in link.power if "sharing" in row.rule)
        assert sharing.margin.value < 0.0


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


def test_the_advice_asks_of_each_variant_what_it_needs(printer):
    assert "1 GHz to 2 GHz on wired" in printer.advice.reason
    assert "1 GHz to 6 GHz on 2.4 GHz" in printer.advice.reason


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
    assert {"cable loss (product)", "mismatch loss (far end)"} <= {r.what for r in printer.unstated}


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
    assert worst_emission_margin_db(result) is None  # most of the line is not measured


def test_a_bare_scan_that_covers_its_line_has_a_margin(tmp_path):
    _sweep(tmp_path, "mains.csv", 0.15, 30, 0.0045, level=30.0)
    facts = {"limit": "CISPR 32 class B", "port": "AC mains", "detector": "peak"}
    facts |= {"transducer": "line-impedance network", "level unit": "dBuV", "conductor": "both"}
    text = (tmp_path / "mains.csv").read_text().replace("dBuV/m", "dBuV")
    result = study_bare_scan(_scan(tmp_path, text), facts)
    assert worst_emission_margin_db(result) == pytest.approx(16.0)  # 46 dBuV average, 0.5 to 5 MHz


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


def _sweep(tmp_path, name, low_mhz, high_mhz, step_mhz, level=20.0):
    rows = round((high_mhz - low_mhz) / step_mhz)
    lines = ["Frequency (MHz),Level (dBuV/m)"]
    lines += [f"{low_mhz + k * step_mhz:.4f},{level}" for k in range(rows + 1)]
    (tmp_path / name).write_text("\n".join(lines) + "\n", encoding="utf-8")


def _scan_table(file, **facts):
    stated = {
        "port": "enclosure",
        "transducer": "antenna",
        "detector": "peak",
        "polarisation": "both",
        **facts,
    }
    return f'\n[[scans]]\nfile = "{file}"\n' + "".join(f'{k} = "{v}"\n' for k, v in stated.items())


@pytest.fixture
def measured(tmp_path):
    """The starter scenario with the given scan tables behind it."""

    def make(*tables):
        path = tmp_path / "measured.toml"
        path.write_text(starter() + "".join(tables), encoding="utf-8")
        return study(load_scenario(path), link=False)

    return make


def test_ten_metres_below_1_ghz_and_three_above_is_a_complete_set(tmp_path, measured):
    _sweep(tmp_path, "low.csv", 30, 1000, 0.1, level=10.0)
    _sweep(tmp_path, "high.csv", 1000, 6000, 1.0)
    result = measured(
        _scan_table("low.csv", distance="10 m", bandwidth="120 kHz"),
        _scan_table("high.csv", distance="3 m", bandwidth="1 MHz"),
    )
    rows = {row.line.line_id: row for row in result.emissions.variants[0].standings}
    assert rows["cispr32-b-radiated-10m-quasi-peak"].standing == "clear"
    assert rows["cispr32-b-radiated-3m-quasi-peak"].standing == "does not apply"
    assert result.advice.action == "book"


def test_an_unlabelled_scan_hides_nothing_on_a_variant_without_that_radio(printer):
    # the scans below 1 GHz name no variant; those above belong to Bluetooth alone
    wired = printer.emissions.variants[0]
    above = next(r for r in wired.standings if r.line.line_id == "cispr32-b-radiated-3m-peak")
    assert above.standing == "not measured"


def test_a_scan_without_polarisation_settles_nothing(tmp_path, measured):
    _sweep(tmp_path, "low.csv", 30, 1000, 0.1, level=10.0)
    result = measured(
        _scan_table("low.csv", distance="3 m", bandwidth="120 kHz").replace(
            'polarisation = "both"\n', ""
        )
    )
    row = result.emissions.variants[0].standings[0]
    assert row.standing == "not measured"
    assert row.worst.worst_margin.value == pytest.approx(30.0)  # 40 dBuV/m less 10 dBuV/m


def test_a_quasi_peak_reading_beside_the_summit_does_not_clear_a_hump(tmp_path, measured):
    lines = ["Frequency (MHz),Level (dBuV/m)"]
    for k in range(9701):
        mhz = 30 + 0.1 * k
        lines.append(
            f"{mhz:.1f},{60.0 if abs(mhz - 99.5) < 0.06 else 45.0 if 99 <= mhz <= 100 else 10.0}"
        )
    (tmp_path / "low.csv").write_text("\n".join(lines) + "\n")
    facts = {"distance": "3 m", "bandwidth": "120 kHz"}
    for at_mhz, standing in ((99.1, "over"), (99.5, "clear")):
        spot = f"Frequency (MHz),Level (dBuV/m)\n{at_mhz},20\n{at_mhz + 0.01},20\n"
        (tmp_path / "spot.csv").write_text(spot)
        result = measured(
            _scan_table("low.csv", **facts),
            _scan_table("spot.csv", **{**facts, "detector": "quasi-peak"}),
        )
        assert result.emissions.variants[0].standings[0].standing == standing, at_mhz
