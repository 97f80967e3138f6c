"""The record: strict JSON, fixed keys, nothing lost."""

import json
from dataclasses import replace

import numpy as np
import pytest

from linkbudget.core.quantity import Quantity
from linkbudget.emissions.limits import lines
from linkbudget.enclosure.box_report import box_report
from linkbudget.enclosure.geometry import Opening, StatedAttenuation
from linkbudget.enclosure.paths import metal_effect
from linkbudget.report import terminal
from linkbudget.report.record import limits_json, record, to_json

QUANTITY_KEYS = ["value", "unit", "low", "high", "kind", "coverage", "shape", "method"]


def _load(text):
    def refuse(constant):
        raise AssertionError(f"{constant} is no JSON")

    return json.loads(text, parse_constant=refuse)


def _walk(data):
    yield data
    if isinstance(data, dict):
        for item in data.values():
            yield from _walk(item)
    elif isinstance(data, list):
        for item in data:
            yield from _walk(item)


@pytest.fixture(scope="module")
def data(study):
    return _load(to_json(study))


def test_round_trip_gives_the_record_back(study, data):
    assert data == record(study)


def test_the_record_says_what_it_is(data):
    assert list(data)[:2] == ["schema", "tool"]
    assert data["schema"] == "linkbudget/result/1"
    assert list(data)[2:] == [
        "scenario_file",
        "tool_version",
        "product",
        "links",
        "emissions",
        "advice",
        "booking",
        "unstated",
        "sources",
        "cautions",
        "deference",
    ]


def test_a_loss_at_the_port_that_nobody_knows_apart_is_null_with_its_reason(study):
    stated = metal_effect(StatedAttenuation(9.0, 2.0), 2.44e9, "above")
    link = replace(study.links[0], metal=stated)
    metal = record(replace(study, links=(link,)))["links"][0]["metal"]
    assert metal["at_antenna_port"] is None
    assert metal["at_antenna_port_reason"] == "contained in the total"


def test_every_quantity_has_all_its_keys(data):
    quantities = [d for d in _walk(data) if isinstance(d, dict) and {"unit", "kind"} <= set(d)]
    assert len(quantities) > 40
    assert all(list(d) == QUANTITY_KEYS for d in quantities)


def test_a_stated_value_comes_back_as_written(data):
    power = data["links"][0]["comparison"]["with_metal"]["lines"][0]
    assert power == {
        "name": "conducted power",
        "value": {
            "value": 4.0,
            "unit": "dBm",
            "low": 3.0,
            "high": 5.0,
            "kind": "stated",
            "coverage": "",
            "shape": "",
            "method": "radio.conducted_power",
        },
    }


def test_a_limit_line_stands_once_and_is_named_elsewhere(data):
    held = [line["line_id"] for line in data["emissions"]["lines"]]
    assert len(held) == len(set(held))
    named = {s["line"] for v in data["emissions"]["variants"] for s in v["standings"]}
    named |= {f["line"] for scan in data["emissions"]["scans"] for f in scan["against"]}
    assert named <= set(held)
    assert data["emissions"]["lines"][0]["segments"][0]["source"]["status"]


def test_every_peak_of_every_comparison_is_kept(study, data):
    for scan, kept in zip(study.emissions.scans, data["emissions"]["scans"], strict=True):
        assert [len(f.peaks) for f in scan.against] == [len(f["peaks"]) for f in kept["against"]]
        assert len(kept["trace"]["level_db"]) == scan.trace.level_db.size


def test_numbers_that_are_not_finite_are_null_with_a_reason(study):
    link = study.links[0]
    endless = Quantity(float("inf"), "m", "computed", 10.0, float("inf"))
    reach = replace(link.comparison.reach_with, distance=endless)
    odd = replace(
        link,
        frequency_hz=float("nan"),
        comparison=replace(link.comparison, reach_with=reach),
        curve=replace(link.curve, with_dbm=np.array([1.0, np.nan, -np.inf])),
    )
    kept = _load(to_json(replace(study, links=(odd,))))["links"][0]
    distance = kept["comparison"]["reach_with"]["distance"]
    assert (distance["value"], distance["low"], distance["high"]) == (None, 10.0, None)
    assert distance["reason"] == "value: grows without end; high: grows without end"
    assert (kept["frequency_hz"], kept["frequency_hz_reason"]) == (None, "not a number")
    assert kept["curve"]["with_dbm"] == [1.0, None, None]
    assert kept["curve"]["with_dbm_reason"] == "2 of 3 values are not finite"


def test_a_variant_without_a_radio_has_no_zeros_but_a_reason(data):
    wired = data["links"][2]
    for name in ("frequency_hz", "wanted_distance_m", "reliability"):
        assert (wired[name], wired[f"{name}_reason"]) == (None, "This variant has no radio.")
    assert "frequency_hz_reason" not in data["links"][0]
    assert data["links"][0]["wanted_distance_m"] == 15.0


def test_a_law_that_is_believed_everywhere_has_no_number_but_a_reason(study, data):
    room = data["links"][0]["room"]
    assert (room["believed_to_m"], room["believed_to_m_reason"]) == (None, "grows without end")
    known = replace(study.links[0], room=replace(study.links[0].room, believed_to_m=16.0))
    kept = _load(to_json(replace(study, links=(known,))))["links"][0]
    assert kept["room"]["believed_to_m"] == 16.0


def test_a_forecast_is_kept_with_its_errors_and_drivers_but_without_its_draws(study, data):
    forecast = study.links[0].comparison.forecast_with
    kept = data["links"][0]["comparison"]["forecast_with"]
    assert [each["coverage"] for each in kept["reach"]["intervals"]] == [0.5, 0.8, 0.95]
    assert kept["reach"]["intervals"][2]["low"]["value"] == forecast.reach.intervals[2][0].value
    assert kept["margin"]["median"]["standard_error"] > 0.0
    assert kept["chance"]["value"] == forecast.chance.value
    assert len(kept["reach"]["distribution"]["value"]) == forecast.reach.values.size
    assert [each["name"] for each in kept["drivers"]] == [each.name for each in forecast.drivers]
    assert sum(each["share"] for each in kept["drivers"]) == pytest.approx(1.0)
    assert list(kept["known"]["body loss"]) == QUANTITY_KEYS
    assert "kept" not in kept


def test_power_lines_keep_the_margin_that_counts_or_the_reason_why_not(study, data):
    for row, kept in zip(study.links[0].power, data["links"][0]["power"], strict=True):
        assert kept["standing"] == row.standing
        if row.margin is None:
            assert kept["counted_margin_db"] is None
            assert kept["counted_margin_db_reason"]
        else:
            assert kept["counted_margin_db"] == row.margin.band[0]
    assert {row["state"] for row in data["links"][0]["power"]} >= {"judged", "cannot tell"}


def test_a_latency_that_is_never_enough_is_null_with_its_reason(study, data):
    kept = data["links"][0]["delivery"]
    assert (kept["latency_s"], kept["tries"], kept["needed_s"]) == (0.03, 3, 0.05)
    never = replace(study.links[0].delivery, needed_s=np.inf)
    link = replace(study.links[0], delivery=never)
    kept = _load(to_json(replace(study, links=(link,))))["links"][0]["delivery"]
    assert (kept["needed_s"], kept["needed_s_reason"]) == (None, "not within 10 s")


def test_a_floor_says_that_it_is_one(data):
    paths = {path["name"]: path["loss"] for path in data["links"][0]["metal"]["paths"]}
    assert paths["through the sheet"]["coverage"] == "at least"
    assert paths["round the edge"]["coverage"] != "at least"


def test_keys_keep_their_order(study):
    assert to_json(study) == to_json(study)
    assert list(record(study)["links"][0])[:3] == ["variant", "radio", "absent_because"]


def test_parts_that_were_not_asked_for_are_null_or_empty(study):
    kept = record(replace(study, links=(), emissions=None, advice=None))
    assert (kept["links"], kept["emissions"], kept["advice"]) == ([], None, None)


def test_hostile_labels_are_kept_but_cannot_reach_a_terminal(hostile_study):
    text = to_json(hostile_study)
    assert text.isascii()
    assert not any(ord(character) < 32 for character in text)
    assert _load(text)["product"]["name"] == hostile_study.product.name


def test_limit_lines_alone():
    kept = _load(limits_json(lines("CISPR 32", "B")))
    assert kept["schema"] == "linkbudget/result/1"
    first = kept["lines"][0]
    assert first["label"].startswith("CISPR 32 class B")
    assert all(segment["source"]["document"] for segment in first["segments"])
    assert "accredited laboratory" in kept["deference"]


def test_solved_fields_are_kept_thin(solved_study):
    bare = replace(solved_study, links=(replace(solved_study.links[0], fields=None),))
    text = to_json(replace(solved_study, links=solved_study.links[:1]))
    assert len(text) - len(to_json(bare)) < 200_000
    kept = _load(text)["links"][0]
    fields = kept["fields"]
    assert list(fields["as_is"]["total_radiated"]) == QUANTITY_KEYS
    assert set(fields["as_is"]["sides"]) == {"above", "beside", "below", "anywhere"}
    pattern = fields["pattern"]
    assert (pattern["theta_deg"][:2], pattern["phi_deg"][:2]) == ([0.0, 6.0], [0.0, 15.0])
    assert (len(pattern["with_metal_dbi"]), len(pattern["with_metal_dbi"][0])) == (31, 24)
    assert pattern["with_metal_dbi"][0][0] == -6.99  # 10 log10(0.2), straight up
    assert fields["with_metal"] == {
        "resistance_ohm": [20.0, 20.0, 20.0],
        "reactance_ohm": [30.0, 30.0, 30.0],
    }
    assert fields["port"][0]["without_metal"]["value"] == 70.0
    assert kept["scene"]["plate"]["length_m"] == 0.2
    assert kept["changes"][0]["values"] == [12.0, 22.0, 32.0]
    assert kept["measured"]["off_by_db"] == pytest.approx(3.0)


def test_a_box_is_kept_with_its_report(box_study):
    kept = _load(to_json(box_study))["links"][0]
    assert kept["scene"]["openings"][0]["length_m"] == 0.061
    assert kept["box"]["feared"]["name"]
    assert list(kept["box"]["quality_factor"]) == QUANTITY_KEYS
    assert kept["fields"] is None


def test_a_box_below_its_first_resonance_has_no_quality_factor_and_says_why(box_study, box):
    small = replace(box, length_m=0.1, width_m=0.06, openings=(Opening("slot", 0.04, 0.001),))
    report = box_report(small, 868.0e6, 868.6e6)
    link = replace(box_study.links[0], scene=small, box=report)
    found = record(replace(box_study, links=(link,)))["links"][0]["box"]
    assert found["quality_factor"] is None
    assert "holds no wave" in found["quality_factor_reason"]
    text = terminal.enclosure_summary(replace(box_study, links=(link,)))
    assert "Box below its first resonance" in text
    assert "quality factor  " not in text
