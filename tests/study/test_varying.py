"""Varying a field: the same answers as the link gives, and nothing dropped."""

import math
import tomllib

import pytest

from linkbudget.core.errors import InputError
from linkbudget.scenario import load_scenario, starter
from linkbudget.scenario.lines import dotted
from linkbudget.study import study
from linkbudget.study.varying import vary


def _without_sheet():
    """The starter scenario with a stated loss instead of a sheet, which needs no field solver."""
    head, tail = starter().split("[metal]\n")
    rest = "\n[" + tail.split("\n[", 1)[1]
    return f'{head}[metal]\nkind = "attenuation"\nattenuation = "6 dB"\nspread = "3 dB"\n{rest}'


@pytest.fixture(scope="module")
def file(tmp_path_factory):
    path = tmp_path_factory.mktemp("vary") / "scale.toml"
    path.write_text(_without_sheet(), encoding="utf-8")
    return path


def _texts():
    """Every field of the scenario that holds one text or number, with its own value."""

    def walk(node, path=()):
        for key, value in node.items() if isinstance(node, dict) else enumerate(node):
            if isinstance(value, dict | list):
                yield from walk(value, (*path, key))
            else:
                yield dotted((*path, key)), str(value)

    return list(walk(tomllib.loads(_without_sheet())))


@pytest.mark.parametrize(("field", "value"), _texts())
def test_its_own_value_gives_what_link_gives(file, field, value):
    (link,) = study(load_scenario(file), emissions=False).links
    varied = vary(file, [field], [f'"{value}"' if not value.isdigit() else value])
    ((found,),) = (point.links for point in varied.points)
    budget, reach, forecast = link.comparison.as_built
    assert found.margin == budget.margin
    assert found.received == budget.received
    assert found.reach == reach.distance
    assert found.chance == forecast.chance
    assert found.lost == link.comparison.lost_db
    assert (found.wanted_distance_m, found.reliability) == (10.0, 0.99)
    assert varied.fields[0].stated == value


def test_the_margin_falls_by_20_db_for_each_decade_of_open_air(file):
    varied = vary(file, ["goal.distance"], ["1 m, 10 m"])
    near, far = (point.links[0].margin.value for point in varied.points)
    assert near - far == pytest.approx(20.0, abs=1e-9)  # ITU-R P.525
    assert varied.points[0].links[0].reach == varied.points[1].links[0].reach


def test_two_fields_move_the_margin_as_the_sum_of_their_decibels(file):
    fields = ["radios.short_range.conducted_power", "metal.attenuation"]
    varied = vary(file, fields, ["0 dBm to 8 dBm in 3 steps", "6 dB, 16 dB"])
    margins = {point.values: point.links[0].margin.value for point in varied.points}
    assert len(margins) == 6
    for (power, loss), margin in margins.items():
        moved = float(power.split()[0]) - float(loss.split()[0]) + 6.0
        assert margin - margins["0 dBm", "6 dB"] == pytest.approx(moved, abs=1e-9)


def test_units_do_not_matter(file):
    metres = vary(file, ["goal.distance"], ["3 m to 9 m in 3 steps"])
    mm = vary(file, ["goal.distance"], ["3000 mm to 9000 mm in 3 steps"])
    for one, other in zip(metres.points, mm.points, strict=True):
        assert one.links[0].margin.value == pytest.approx(other.links[0].margin.value, rel=1e-9)
    assert (metres.fields[0].unit, metres.fields[0].numbers) == ("m", (3.0, 6.0, 9.0))
    assert (mm.fields[0].unit, mm.fields[0].numbers) == ("mm", (3000.0, 6000.0, 9000.0))


@pytest.mark.parametrize("values", ["3 m, 900 mm", "3 m"])
def test_values_are_numbers_only_in_one_unit(file, values):
    field = vary(file, ["goal.distance"], [values]).fields[0]
    assert field.numbers == ((3.0,) if values == "3 m" else ())


def test_a_refused_point_stays_with_its_reason(file):
    varied = vary(file, ["goal.fading"], ["none, rice, rayleigh"])
    first, refused, last = (point.links[0] for point in varied.points)
    assert first.margin.value > last.margin.value  # Rayleigh fading takes level, none does not
    assert "rice_factor" in refused.refused
    assert (refused.margin, refused.reach, refused.lost, refused.chance) == (None,) * 4


def test_what_the_models_refuse_stays_with_its_reason(file):
    """A distance inside the near field, where free space does not hold."""
    varied = vary(file, ["goal.distance"], ["1 mm, 10 m"])
    near, far = (point.links[0] for point in varied.points)
    assert near.margin is None
    assert near.refused
    assert math.isfinite(far.margin.value)


def test_a_radio_taken_away_is_a_point_too(file):
    varied = vary(file, ["variants[1].radio"], ["short_range, none"])
    assert varied.points[0].links[0].margin is not None
    assert varied.points[1].links[0].refused == "this variant has no radio"


def test_without_any_radio_there_is_nothing_to_vary(tmp_path):
    path = tmp_path / "wired.toml"
    text = _without_sheet().replace('radio = "short_range"', 'radio = "none"')
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match="no variant with a radio"):
        vary(path, ["goal.distance"], ["1 m"])


def test_each_field_needs_its_values(file):
    with pytest.raises(InputError, match="2 fields and 1 lists of values"):
        vary(file, ["goal.distance", "goal.fading"], ["1 m"])


def test_progress_names_every_point(file):
    told = []
    vary(file, ["goal.distance"], ["1 m, 2 m"], progress=told.append)
    assert told == ["point 1 of 2: 1 m", "point 2 of 2: 2 m"]


def test_nobody_looks_for_what_would_help(file, monkeypatch):
    monkeypatch.setattr("linkbudget.study.metal.what_would_help", None)  # a call would raise
    assert vary(file, ["goal.distance"], ["1 m"]).points[0].links[0].margin is not None
