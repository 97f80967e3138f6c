"""Plastic parts and impossible geometry: what a scenario says of them, and what is told."""

import math

import pytest

from linkbudget.core.errors import InputError, InputErrors
from linkbudget.link.budget import PLASTIC
from linkbudget.scenario import load_scenario, plastics_of, starter
from linkbudget.study import metal, study

EDGE = 'antenna_to_edge = "30 mm"'
MONOPOLE = ("[antenna]", '[antenna]\nkind = "quarter-wave monopole"\nalong = "upright"')
ABS = '[[plastics]]\nmaterial = "ABS"\nthickness = "2 mm"\ngap = "1 mm"\n\n[room]'


def _board(depth):
    return f'[board]\nlength = "60 mm"\nwidth = "40 mm"\ndepth = "{depth}"\n\n[room]'


@pytest.fixture
def bent(tmp_path):
    def make(*swaps):
        text = starter()
        for old, new in swaps:
            assert old in text, old
            text = text.replace(old, new, 1)
        path = tmp_path / "bent.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return make


@pytest.fixture
def told(bent):
    """Messages of a scenario that does not load, each as (line of the file, message)."""

    def messages(*swaps):
        path = bent(*swaps)
        with pytest.raises(InputErrors) as caught:
            load_scenario(path)
        lines = path.read_text("utf-8").splitlines()
        return [(lines[one.line - 1], str(one)) for one in caught.value.errors]

    return messages


def test_a_part_is_a_name_or_a_permittivity(bent):
    stated = ABS.replace('material = "ABS"', "permittivity = 3.2")
    named, number = plastics_of(load_scenario(bent(("[room]", ABS), ("[room]", stated))))
    assert (named.name, named.thickness_m, named.gap_m) == ("ABS", 0.002, 0.001)
    assert named.permittivity.kind == "typical"
    assert (number.permittivity.value, number.permittivity.kind) == (3.2, "stated")
    assert plastics_of(load_scenario(bent())) == ()


@pytest.mark.parametrize(
    ("part", "key", "said"),
    [
        (ABS.replace('material = "ABS"\n', ""), "[[plastics]]", "neither material nor perm"),
        (ABS.replace("[room]", "") + "permittivity = 3.0\n\n[room]", "[[plastics]]", "both"),
        (ABS.replace("1 mm", "60 mm"), "gap", "a quarter wavelength at 2.44"),
        (ABS.replace("ABS", "abs"), "material", 'Did you mean "ABS"?'),
        (ABS.replace('material = "ABS"', "permittivity = 40.0"), "permittivity", "12"),
    ],
)
def test_a_part_that_cannot_be_is_told_with_its_line(told, part, key, said):
    ((line, message),) = told(("[room]", part))
    assert line.startswith(key)
    assert said in message


def _study(path, monkeypatch):
    monkeypatch.setattr(metal, "available", lambda: False)
    return study(load_scenario(path), emissions=False, refuse=True)


def test_plastic_costs_the_link_with_and_without_the_metal(bent, monkeypatch):
    bare, beside = (_study(bent(*swaps), monkeypatch) for swaps in ((), (("[room]", ABS),)))
    for budget in ("without", "with_metal"):
        free, plastic = (getattr(one.links[0].comparison, budget) for one in (bare, beside))
        line = next(one.value for one in plastic.lines if one.name == PLASTIC)
        assert line.value < -0.5
        sums = [
            math.fsum(each.value.value for each in drawn.lines if each.name != "lopsided bands")
            for drawn in (free, plastic)
        ]
        assert sums[1] == pytest.approx(sums[0] + line.value)
        assert plastic.margin.value < free.margin.value
    assert "permittivity of ABS" in [cited.what for cited in beside.sources]
    row = next(row for row in beside.unstated if row.what == PLASTIC)
    assert row.used.startswith(f"{-line.value:.1f} dB (")


def test_silence_on_plastic_is_told_and_changes_nothing(bent, monkeypatch):
    silent = _study(bent(), monkeypatch)
    none = _study(bent(("[product]", "plastics = []\n\n[product]")), monkeypatch)
    assert "plastics" in [row.key for row in silent.unstated]
    assert "plastics" not in [row.key for row in none.unstated]
    for budget in ("without", "with_metal", "reach_with", "lost_m"):
        one, other = (getattr(each.links[0].comparison, budget) for each in (silent, none))
        assert one == other, budget


@pytest.mark.parametrize(
    ("swaps", "key", "said"),
    [
        (
            [("[antenna]", '[antenna]\nkind = "half-wave dipole"\nalong = "upright"')],
            "antenna_depth",
            "the antenna inside or across the sheet",
        ),
        (
            [("[room]", _board("15 mm")), (EDGE, 'antenna_at = ["0 mm", "0 mm"]')],
            "[board]",
            "the antenna inside or across the board",
        ),
        (
            [("[room]", _board("30 mm")), MONOPOLE],
            "antenna_to_edge",
            "foot 0.0 mm along the length and 95.0 mm along the width from the middle of the sheet",
        ),
        ([MONOPOLE], "[antenna]", "a quarter-wave monopole without a board"),
    ],
)
def test_impossible_geometry_is_told_on_its_line(told, swaps, key, said):
    ((line, message),) = told(*swaps)
    assert line.startswith(key)
    assert said in message


def test_a_board_in_the_sheet_is_a_mistake_of_the_board(told):
    ((line, message),) = told(("[room]", _board("0 mm").replace('"0 mm"', '"0.00005 um"')))
    assert line == "[board]"
    assert "the board inside or across the sheet" in message


BOX = (
    ('kind = "plate"', 'kind = "box"\nheight = "25 mm"'),
    (EDGE, 'antenna_at = ["0 mm", "140 mm"]'),
)


def test_an_antenna_outside_its_box_is_told_on_its_line(told):
    ((line, message),) = told(*BOX)
    assert line.startswith("antenna_at")
    assert "a place inside the box" in message


def test_geometry_is_told_together_with_every_other_mistake(told):
    upright = ("[antenna]", '[antenna]\nkind = "half-wave dipole"\nalong = "upright"')
    crossed = ('gain = "2 dBi"\nefficiency = "60 %"', 'gain = "-20 dBi"\nefficiency = "60 %"')
    lines = [line for line, _ in told(upright, crossed)]
    assert [line.split(" = ")[0] for line in lines] == ["gain", "antenna_depth"]


def test_a_depth_beyond_the_closed_forms_is_told_in_mm_on_its_own_key(bent, monkeypatch):
    path = bent(('antenna_depth = "15 mm"', 'antenna_depth = "200 mm"'))
    with pytest.raises(InputError, match=r"depth of the antenna \(mm\) 200; expected 1\.1 to 110"):
        _study(path, monkeypatch)
    study_of_all = study(load_scenario(path), emissions=False)
    assert "metal.antenna_depth" in study_of_all.links[0].absent_because


def test_a_faulty_touchstone_file_is_told_by_the_line_that_names_it(bent, tmp_path, monkeypatch):
    for name in ("with.s1p", "without.s1p"):
        (tmp_path / name).write_text("no sweep\n", encoding="utf-8")
    pair = '[measured]\nwith_metal = "with.s1p"\nwithout_metal = "without.s1p"\n\n[room]'
    path = bent(("[room]", pair))
    with pytest.raises(InputError) as caught:
        _study(path, monkeypatch)
    assert path.read_text("utf-8").splitlines()[caught.value.line - 1].startswith("with_metal")
    assert str(caught.value).startswith(f"{path}:")
    assert "measured.with_metal: found no option line, in with.s1p" in str(caught.value)


def test_one_level_is_no_plural(told):
    pair = '[measured]\nlevels_with = ["-70 dBm"]\nlevels_without = ["-60 dBm", "-61 dBm"]\n\n'
    ((_, message),) = told(("[room]", pair + "[room]"))
    assert "found 1 level with and 2 without the metal" in message
