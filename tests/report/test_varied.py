"""What comes of varying a scenario: terminal, spreadsheet, JSON and page."""

import csv
import io
import itertools
import json
import math
import re
from dataclasses import replace

import pytest

from linkbudget.core.quantity import Quantity
from linkbudget.core.uncertainty import Estimate
from linkbudget.report.record import vary_json
from linkbudget.report.varied import answered, depth, heading, headline, sentences
from linkbudget.report.varied_figures import margin_figure, reach_figure, varied_drawings
from linkbudget.report.varied_page import render_varied
from linkbudget.report.varied_text import safe_cell, vary_csv, vary_summary
from linkbudget.results import VariedField, VariedLink, VariedPoint, VaryResult

HOSTILE = "=cmd|' /C calc'!A0<script>alert(1)</script>\x1b[31m"


def _link(margin_db, variant="lid", **changes):
    """A link in open air that has so much margin at 10 m, give or take 4 dB."""
    ends = [10.0 * 10 ** ((margin_db + off) / 20.0) for off in (-4.0, 0.0, 4.0)]
    link = VariedLink(
        variant,
        "",
        10.0,
        0.99,
        Quantity(12.0, "dB", "computed", 9.0, 15.0),
        Quantity(margin_db - 80.0, "dBm", "computed"),
        Quantity(margin_db, "dB", "computed", margin_db - 4.0, margin_db + 4.0),
        Quantity(ends[1], "m", "computed", ends[0], ends[2]),
        Estimate(0.5, 0.002),
    )
    return replace(link, **changes)


def _refused(reason="metal.length: found no length", variant="lid"):
    return VariedLink(variant, reason)


def _result(fields, links):
    points = itertools.product(*(field.values for field in fields))
    paired = zip(points, links, strict=True)
    return VaryResult("lid.toml", "0.0", "Printer", tuple(fields),
                      tuple(VariedPoint(values, (link,)) for values, link in paired))  # fmt: skip


DEPTH = VariedField("metal.antenna_depth", "8 mm", ("5 mm", "8 mm", "12 mm"), (5, 8, 12), "mm")
FADING = VariedField("goal.fading", "rayleigh", ("none", "rayleigh"))


@pytest.fixture
def one_field():
    return _result([DEPTH], [_link(-6.0), _refused(), _link(6.0)])


@pytest.fixture
def two_fields():
    links = [_link(9.0), _link(1.0), _refused(), _link(-9.0), _link(5.0), _link(0.0)]
    return _result([DEPTH, FADING], links)


def test_the_answer_counts_and_names_best_and_worst(one_field, two_fields):
    assert heading(one_field) == "metal.antenna_depth (5 mm, 8 mm, 12 mm)"
    assert headline(one_field, 0) == "Of 3 values: 1 works, 1 out of reach and 1 refused"
    assert sentences(one_field, 0) == (
        "Best at 12 mm: margin 6.0 dB (2.0 to 10.0 dB) at 10 m, reach 20 m (13 to 32 m).",
        "Worst at 5 mm: margin -6.0 dB (-10.0 to -2.0 dB) at 10 m, reach 5.0 m (3.2 to 7.9 m).",
        "The table says why a value is refused.",
    )
    assert headline(two_fields, 0).startswith("Of 6 pairs of values: 2 works, 2 too close to call")
    assert "metal.antenna_depth 5 mm and goal.fading none" in sentences(two_fields, 0)[0]


def test_a_field_that_moves_nothing_says_so():
    flat = _result([FADING], [_link(3.0), _link(3.01)])
    assert sentences(flat, 0)[0].startswith("No value moves the margin: margin 3.0 dB")
    assert headline(_result([FADING], [_refused()] * 2), 0) == "Of 2 values: 2 refused"


def test_the_terminal_shows_every_point_in_80_columns(one_field, two_fields):
    for varied in (one_field, two_fields):
        text = vary_summary(varied)
        assert max(map(len, text.splitlines())) <= 80
        assert "refused: metal.length: found no length" in text
        assert varied.deference.split(":")[0] in " ".join(text.split())
    row = next(line for line in vary_summary(one_field).splitlines() if line.startswith("  12 mm"))
    told = ["12.0", "-74.0", "2.0", "6.0", "10.0", "13", "20", "32", "50 %"]
    assert row.split()[2:] == " ".join(told).split()


def test_a_bound_is_never_printed_as_if_it_were_known():
    reach = Quantity(2.0, "m", "computed", 2.0, 3.0, coverage="at most")
    varied = _result([FADING], [_link(-9.0, reach=reach), _link(1.0)])
    assert "<2.0" in vary_summary(varied)
    rows = list(csv.DictReader(io.StringIO(vary_csv(varied))))
    assert [row["reach is"] for row in rows] == ["at most", ""]
    assert "at most 2.0 m" in render_varied(varied).replace("\u00a0", " ")


def test_the_spreadsheet_has_a_number_in_each_cell_and_its_unit_above(two_fields):
    rows = list(csv.DictReader(io.StringIO(vary_csv(two_fields))))
    assert len(rows) == 6
    first, refused = rows[0], rows[2]
    assert (first["metal.antenna_depth [mm]"], first["goal.fading"]) == ("5", "none")
    assert (first["margin low [dB]"], first["margin [dB]"]) == ("5", "9")
    assert float(first["reach [m]"]) == pytest.approx(10 * 10 ** (9 / 20), rel=1e-6)
    assert first["chance [%]"] == "50"
    assert (refused["margin [dB]"], refused["refused"]) == ("", "metal.length: found no length")


def test_no_cell_starts_a_formula():
    values = ("=1+1", "@x", "-2+3", "+4")
    field = VariedField("=HYPERLINK(1)", "", values)
    links = [_link(1.0, variant=HOSTILE), *[_refused(HOSTILE, variant=HOSTILE)] * 3]
    rows = list(csv.reader(io.StringIO(vary_csv(_result([field], links)))))
    assert [row[0] for row in rows] == ["'=HYPERLINK(1)", "'=1+1", "'@x", "'-2+3", "'+4"]
    for cell in itertools.chain(*rows):
        assert not cell.startswith(("=", "@", "+", "\t", "\r")), cell
        assert not cell.startswith("-") or float(cell) < 0
    assert safe_cell("\t=1+1") == "'=1+1"


def test_json_is_strict_and_whole(two_fields):
    lost = Quantity(math.inf, "dB", "computed")
    odd = replace(two_fields.points[0], links=(_link(1.0, lost=lost),))
    data = json.loads(vary_json(replace(two_fields, points=(odd, *two_fields.points[1:]))))
    assert data["schema"] == "linkbudget/result/1"
    assert [field["key"] for field in data["fields"]] == ["metal.antenna_depth", "goal.fading"]
    assert data["fields"][0]["numbers"] == [5, 8, 12]
    assert len(data["points"]) == 6
    assert data["points"][2]["links"][0]["refused"].startswith("metal.length")
    assert data["points"][0]["links"][0]["lost"]["value"] is None
    assert data["points"][3]["links"][0]["margin"]["value"] == -9.0


def _traces(figure, name):
    return [trace for trace in figure.data if trace.name == name]


def test_the_figures_stand_at_the_numbers_and_do_not_cross_what_is_refused(one_field):
    found = [answered(point.values, point.links[0]) for point in one_field.points]
    figure = margin_figure(DEPTH, found)
    (marks,) = _traces(figure, "each value")
    assert (list(marks.x), list(marks.y)) == ([5.0, 12.0], [-6.0, 6.0])
    assert list(marks.error_y.array) == [4.0, 4.0]
    assert [len(trace.x) for trace in _traces(figure, "typical")] == [1, 1]
    told = {note.text: note.x for note in figure.layout.annotations}
    assert told == {"refused": 8.0, "in the scenario": 8.0}
    (wanted,) = _traces(reach_figure(DEPTH, found), "wanted")
    assert (list(wanted.x), list(wanted.y)) == ([5.0, 12.0], [10.0, 10.0])


def test_numbers_in_any_order_are_drawn_in_theirs():
    field = replace(
        DEPTH, values=("12 mm", "5 mm", "8 mm"), numbers=(12.0, 5.0, 8.0), stated="9 mm"
    )
    found = [
        answered((value,), _link(margin))
        for value, margin in zip(field.values, (3, 1, 2), strict=True)
    ]
    figure = margin_figure(field, found)
    (line,) = _traces(figure, "typical")
    assert (list(line.x), list(line.y)) == ([5.0, 8.0, 12.0], [1.0, 2.0, 3.0])
    assert [note.x for note in figure.layout.annotations] == [9.0]


def test_words_stand_beside_each_other_without_a_line():
    varied = _result([FADING], [_link(3.0), _link(-3.0)])
    margin, reach = varied_drawings(varied)
    assert margin.spec["layout"]["xaxis"]["ticktext"] == ["none", "rayleigh"]
    assert [key.name for key in margin.keys] == ["nothing to spare"]
    assert [key.name for key in reach.keys] == ["wanted"]


def test_the_page_of_one_field_has_its_figures_and_needs_no_network(one_field):
    page = render_varied(one_field)
    assert page.count("data-drawing=") == 2
    assert "default-src 'none'" in page
    own = page.split("plotly.js v")[0]
    assert not re.search(r"(src|href)=\"(?!#|data:)", own)
    assert "Refused:" in page


def _cells(page):
    found = re.findall(r'<td class="heat-([^"]+)"[^>]*>(.*?)</td>', page, re.S)
    return [(look, " ".join(re.sub(r"<[^>]+>", " ", text).split())) for look, text in found]


def test_the_map_of_two_fields_says_each_cell_in_numbers_and_words(two_fields):
    page = render_varied(two_fields).replace("\u00a0", " ")
    cells = _cells(page)
    assert [look for look, _ in cells] == [
        "left", "left", "refused", "lacking here", "left", "left",
    ]  # fmt: skip
    assert cells[0][1] == "works: 9.0 dB 5.0 to 13.0 dB 28 m"
    assert cells[1][1].startswith("too close to call: 1.0 dB")
    assert cells[2][1] == "refused"
    assert cells[3][1].startswith("out of reach: −9.0 dB")
    assert "<script" not in page  # a table needs none
    assert len(page) < 60_000


def test_a_deeper_colour_is_a_larger_margin_and_never_hides_the_text(two_fields):
    points = [answered(point.values, point.links[0]) for point in two_fields.points]
    found = [each for each in points if each]
    shades = {each.margin.value: depth(found, each) for each in found}
    assert shades[9.0] == shades[-9.0] == max(shades.values()) <= 50
    assert shades[0.0] < shades[1.0] < shades[5.0] < shades[9.0]


def test_what_a_user_wrote_is_escaped_everywhere():
    field = VariedField(HOSTILE, HOSTILE, (HOSTILE, "<b>b</b>"))
    hostile = _result([field], [_link(1.0, variant=HOSTILE), _refused(HOSTILE, HOSTILE)])
    other = replace(FADING, values=(HOSTILE, "x"))
    links = [_link(1.0, variant=HOSTILE), *[_refused(HOSTILE, HOSTILE)] * 3]
    for made in (hostile, _result([field, other], links)):
        varied = replace(made, product=HOSTILE, scenario_file=HOSTILE)
        page = render_varied(varied)
        assert "<script>alert" not in page
        assert "<b>b" not in page
        assert "\x1b" not in page + vary_summary(varied) + vary_csv(varied)


def test_without_any_answer_the_page_still_says_why():
    page = render_varied(_result([FADING], [_refused(), _refused()]))
    assert "No value gives a link that can be drawn" in page
    assert page.count("metal.length: found no length") == 2
