"""Which source answers for the metal: impossible geometry, no solver, a measured pair."""

import pytest

from linkbudget.core.errors import InputError, InputErrors
from linkbudget.enclosure.fullwave import SolverFailed, available
from linkbudget.scenario import load_scenario, starter
from linkbudget.study import metal, study

needs_solver = pytest.mark.skipif(
    not available(), reason="the optional extra 'fullwave' is not installed"
)


@pytest.fixture
def link(tmp_path):
    """The link of the starter scenario with pieces of its text replaced."""

    def make(*swaps):
        text = starter()
        for old, new in swaps:
            assert old in text, old
            text = text.replace(old, new, 1)
        path = tmp_path / "bent.toml"
        path.write_text(text, encoding="utf-8")
        return study(load_scenario(path), emissions=False, refuse=True).links[0]

    return make


def test_an_antenna_that_pierces_the_sheet_is_refused_with_its_line(link):
    with pytest.raises(InputErrors) as caught:
        link(("[antenna]", '[antenna]\nkind = "half-wave dipole"\nalong = "upright"'))
    assert "bent.toml:" in str(caught.value)
    assert "metal" in str(caught.value)


def test_without_the_solver_closed_forms_answer_and_say_what_would_sharpen(link, monkeypatch):
    monkeypatch.setattr(metal, "available", lambda: False)
    found = link()
    assert found.fields is None
    assert "fullwave" in found.fields_absent
    assert found.metal is not None


def test_a_solver_that_fails_is_not_the_end_of_the_run(link, monkeypatch):
    def fails(*_args, **_kwargs):
        raise SolverFailed("it crashed", "Try again.")

    monkeypatch.setattr(metal, "available", lambda: True)
    monkeypatch.setattr(metal, "compare", fails)
    found = link()
    assert "it crashed" in found.fields_absent
    assert found.comparison.with_metal is not None


def test_closed_forms_open_their_band_for_an_antenna_that_they_do_not_describe(link, monkeypatch):
    monkeypatch.setattr(metal, "available", lambda: False)
    above = ('where = "anywhere"', 'where = "above"')
    deep = ('antenna_depth = "15 mm"', 'antenna_depth = "40 mm"')
    upright = ("[antenna]", '[antenna]\nkind = "short dipole"\nalong = "upright"\nlength = "20 mm"')
    assert link(above, deep).metal.total.low > 0.0
    assert link(above, deep, upright).metal.total.low <= 0.0


def test_a_measured_pair_replaces_the_estimate_and_says_how_far_it_was_off(link, monkeypatch):
    monkeypatch.setattr(metal, "available", lambda: False)
    pair = (
        "[room]",
        '[measured]\nlevels_with = ["-70 dBm", "-72 dBm", "-71 dBm", "-69 dBm"]\n'
        'levels_without = ["-60 dBm", "-62 dBm", "-61 dBm", "-59 dBm"]\n\n[room]',
    )
    found = link(pair)
    assert found.metal.total.kind == "measured"
    assert found.comparison.lost_db.value == pytest.approx(10.0)
    assert found.measured.off_by_db is not None


LEVELS = (
    '[measured]\nlevels_with = ["-70 dBm", "-72 dBm", "-71 dBm", "-69 dBm"]\n'
    'levels_without = ["-60 dBm", "-62 dBm", "-61 dBm", "-59 dBm"]\n'
)


def test_nothing_of_the_estimate_stands_under_a_measured_loss(link):
    found = link(("[room]", LEVELS + "\n[room]"))
    assert found.metal.detuning is None
    text = " ".join(found.metal.cautions)
    for words in ("perfect conductor", "the band allows", "Closed forms", "plastic"):
        assert words not in text
    names = [line.name for line in found.comparison.with_metal.lines]
    assert "metal: at the antenna's port" not in names
    assert "metal: toward the far end" in names


def test_a_pair_toward_one_side_is_held_against_the_estimate_of_that_side(link, monkeypatch):
    monkeypatch.setattr(metal, "available", lambda: False)
    anywhere = link()
    above = link(('where = "anywhere"', 'where = "above"'))
    found = link(("[room]", LEVELS + 'toward = "above"\n\n[room]'))
    assert found.measured.estimated.value == pytest.approx(above.metal.total.value)
    assert found.metal.total == anywhere.metal.total
    assert "the estimate stands" in found.metal.cautions[0]


def test_a_sheet_too_large_for_the_solver_is_answered_by_closed_forms(link, monkeypatch):
    monkeypatch.setattr(metal, "available", lambda: True)
    found = link(('length = "300 mm"', 'length = "1000 mm"'), ('"250 mm"', '"900 mm"'))
    assert found.fields is None
    assert "segments in cells of" in found.fields_absent
    assert found.metal.total.value > 0.0


# length, width and depth of a sheet in mm with the antenna under its middle, and GHz: all beyond
# the closed forms, none beyond the field solver
BEYOND = [(60, 40, 50, 0.868), (20, 8, 5, 0.868), (180, 120, 130, 2.44)]


def _sheet(length_mm, width_mm, depth_mm, ghz=2.44):
    return (
        ('length = "300 mm"', f'length = "{length_mm} mm"'),
        ('width = "250 mm"', f'width = "{width_mm} mm"'),
        ('antenna_depth = "15 mm"', f'antenna_depth = "{depth_mm} mm"'),
        ('antenna_to_edge = "30 mm"', f'antenna_to_edge = "{min(length_mm, width_mm) / 2} mm"'),
        (
            'band = ["2.405 GHz", "2.480 GHz"]',
            f'band = ["{ghz - 0.001} GHz", "{ghz + 0.001} GHz"]',
        ),
    )


@needs_solver
@pytest.mark.parametrize("sheet", BEYOND)
def test_where_closed_forms_end_the_solver_answers(link, sheet):
    found = link(*_sheet(*sheet))
    assert found.fields is not None
    assert "method of moments" in found.metal.total.source
    assert found.changes


def test_a_huge_sheet_says_why_neither_answers(link, monkeypatch):
    monkeypatch.setattr(metal, "available", lambda: True)
    with pytest.raises(InputError) as caught:
        link(*_sheet(3000, 2000, 15))
    text = str(caught.value)
    for words in (
        "segments in cells of",
        "Give only the metal within two wavelengths",
        "Closed forms end there too (length of the sheet (mm) 3000",
        "measure with and without the metal",
    ):
        assert words in text


def test_without_the_solver_a_sheet_beyond_the_closed_forms_says_what_would_answer(
    link, monkeypatch
):
    monkeypatch.setattr(metal, "available", lambda: False)
    with pytest.raises(InputError) as caught:
        link(*_sheet(180, 120, 130))
    assert "depth of the antenna (mm) 130" in str(caught.value)
    assert "install the optional extra fullwave" in str(caught.value)


def test_a_solver_that_fails_beyond_the_closed_forms_says_both(link, monkeypatch):
    def fails(*_args, **_kwargs):
        raise SolverFailed("stopped", "Try again.")

    monkeypatch.setattr(metal, "available", lambda: True)
    monkeypatch.setattr(metal, "compare", fails)
    with pytest.raises(InputError) as caught:
        link(*_sheet(180, 120, 130))
    assert "the field solver stopped" in str(caught.value)
    assert "Closed forms end there too" in str(caught.value)


@pytest.mark.parametrize("solver", [True, False])
def test_a_radio_over_a_wide_band_is_answered(link, monkeypatch, solver):
    monkeypatch.setattr(metal, "available", lambda: solver and available())
    wide = ('band = ["2.405 GHz", "2.480 GHz"]', 'band = ["2.4 GHz", "5.8 GHz"]')
    found = link(*_sheet(90, 60, 8)[:4], wide)
    assert found.metal.total.band[0] <= found.metal.total.value
    if solver and available():
        assert any("2.4 to 5.8 GHz, is wide" in caution for caution in found.metal.cautions)
