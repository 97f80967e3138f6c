"""The page as a browser and a reader meet it."""

import itertools
import json
import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from linkbudget.core.quantity import KIND_MEANING
from linkbudget.report.page import render_page
from linkbudget.report.wording import STANDING_WORDS
from linkbudget.results import BookingFacts, VariantLink

PLOTLY_MARK = "* plotly.js v"  # first line of its licence comment
VERDICT = re.compile(r"\b(pass(es|ed)?|fail(s|ed|ure)?|complian(t|ce)|complies|certified)\b", re.I)


class Page(HTMLParser):
    """Elements with their attributes, visible text, and the scripts apart."""

    def __init__(self, text):
        super().__init__()
        self.elements, self.scripts, self.styles, self.words = [], [], [], []
        self.by_tag, self.flow = {}, []
        self._open = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        self._open.append(tag)

    def handle_endtag(self, tag):
        while self._open and self._open.pop() != tag:
            pass

    def handle_data(self, data):
        inside = self._open[-1] if self._open else ""
        if inside == "script":
            self.scripts.append(data)
        elif inside == "style":
            self.styles.append(data)
        else:
            self.words.append(data)
            self.flow += [(inside, data.strip())] if data.strip() else []
            self.by_tag.setdefault(inside, []).append(data.strip())

    @property
    def text(self):
        return " ".join(" ".join(self.words).split())


def _empty_headings(page):
    """Headings after which another of the same or a higher level follows at once."""
    return [
        text
        for (tag, text), (after, _) in itertools.pairwise(page.flow)
        if re.fullmatch("h[2-6]", tag) and re.fullmatch("h[2-6]", after) and after <= tag
    ]


@pytest.fixture(scope="module")
def html(study):
    return render_page(study)


@pytest.fixture(scope="module")
def page(html):
    return Page(html)


@pytest.fixture(scope="module")
def hostile_page(hostile_study):
    return Page(render_page(hostile_study))


def _figure_data(page):
    def refuse(constant):
        raise AssertionError(f"{constant} in the figure data")

    data = next(script for script in page.scripts if script.lstrip().startswith("{"))
    return json.loads(data, parse_constant=refuse)


def test_sections_stand_in_their_order(page):
    ids = [a["id"] for tag, a in page.elements if tag == "section" and "id" in a]
    assert ids == ["answers", "figures", "tables", "unstated", "sources", "cautions"]
    assert ("html", {"lang": "en"}) in page.elements
    assert page.by_tag["title"] == ["Desktop label printer: range and emissions"]
    assert [tag for tag, _ in page.elements if tag in ("header", "main", "footer", "nav")] == [
        "header",
        "nav",
        "main",
        "footer",
    ]


def test_the_three_questions_are_answered_in_words(page):
    for text in (
        "Does the metal cost the range?",
        "Not the metal alone: 15 m is too close to call without it and out of reach with it",
        "Where do the scans stand?",
        "1.8 dB over the line",
        "Book the lab?",
        "Measure more",
        "read it again with quasi-peak",
        "This speaks of emissions only.",
        "A missed slot costs EUR 1800 and 6 weeks",
    ):
        assert text in page.text.replace("\u00a0", " ")


def test_the_deference_line_stands_at_the_top_and_at_the_end(study, page):
    told = [a for tag, a in page.elements if a.get("class") == "deference"]
    assert len(told) == 2
    assert page.text.count(study.deference) == 2


def test_headings_never_jump_a_level(page):
    levels = [int(tag[1]) for tag, _ in page.elements if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(b - a <= 1 for a, b in itertools.pairwise(levels))


def test_nothing_is_loaded_from_anywhere(page):
    for tag, attributes in page.elements:
        for name in ("src", "href", "srcset", "action", "data", "poster", "xlink:href"):
            value = attributes.get(name) or ""
            assert re.match(r"(#|data:|$)", value), f"<{tag} {name}={value}>"
    assert not re.search(r"url\(|@import", "".join(page.styles))
    policies = [a["content"] for tag, a in page.elements if "http-equiv" in a]
    assert policies
    assert policies[0].startswith("default-src 'none';")
    own = [s for s in page.scripts if PLOTLY_MARK not in s]
    assert not any("http" in script for script in own)


def test_plotly_stands_in_the_page_once_and_the_page_is_not_too_big(html):
    assert html.count(PLOTLY_MARK) == 1
    assert len(html.encode()) <= 6_000_000


def test_every_figure_has_words_beside_it_and_data_behind_it(page):
    plots = [a for _, a in page.elements if "data-drawing" in a]
    drawings = _figure_data(page)["drawings"]
    assert {a["data-drawing"] for a in plots} == set(drawings)
    # side by side; of two links the reach, the level and the budget; three groups of scans
    assert len(plots) == 1 + 2 * 3 + 3
    assert all(a["role"] == "img" and len(a["aria-label"]) > 30 for a in plots)
    assert sum(tag == "figcaption" for tag, _ in page.elements) == len(plots) + 2  # and the drivers


def test_legends_are_buttons_that_name_a_trace(page):
    drawings = _figure_data(page)["drawings"]
    buttons = [a for tag, a in page.elements if tag == "button"]
    assert buttons
    for button in buttons:
        assert button["type"] == "button"
        assert button["aria-pressed"] == "true"
        assert int(button["data-trace"]) < len(drawings[button["data-figure"]]["data"])


def test_every_colour_of_the_figures_has_a_dark_partner(page):
    data = _figure_data(page)
    used = set(re.findall(r"#[0-9a-f]{6}|rgba\([^)]*\)", json.dumps(data["drawings"])))
    assert used - set(data["swap"]) == {"rgba(0,0,0,0)"}


def test_kinds_are_explained_and_shown(page):
    tags = [a["class"].split()[1] for tag, a in page.elements if "kind " in a.get("class", "")]
    for kind, meaning in KIND_MEANING.items():
        assert meaning in page.text
        assert f"kind-{kind}" in tags


def test_each_standing_has_word_mark_and_colour(study, page):
    states = [a["class"] for _, a in page.elements if a.get("class", "").startswith("state state-")]
    marks = [a["href"] for tag, a in page.elements if tag == "use"]
    drawn = [a["id"] for tag, a in page.elements if tag == "symbol"]
    for standing in {s.standing for v in study.emissions.variants for s in v.standings}:
        name = standing.replace(" ", "-")
        assert f"state state-{name}" in states
        assert f"#mark-{name}" in marks
        assert STANDING_WORDS[standing] in page.text
    assert {mark.lstrip("#") for mark in marks} <= set(drawn)


def test_no_word_of_a_verdict(page):
    assert VERDICT.search(page.text) is None


def test_tables_can_be_reached_and_scrolled_without_a_mouse(page):
    regions = [a for _, a in page.elements if a.get("class") == "scroll"]
    ids = {a["id"] for _, a in page.elements if "id" in a}
    assert regions
    assert all(a["tabindex"] == "0" and a["aria-labelledby"] in ids for a in regions)


def test_ids_are_unique(page):
    ids = [a["id"] for _, a in page.elements if "id" in a]
    assert len(ids) == len(set(ids))


def test_unstated_facts_are_listed_in_their_order(study, page):
    section = page.text.index("What you have not told us")
    places = [page.text.index(missing.what, section) for missing in study.unstated]
    assert places == sorted(places)
    assert "scans. uncertainty" in page.text  # a place to break between the two
    assert "not known" in page.text


def test_sources_and_cautions_stand_at_the_end(page):
    assert "CISPR 32, ed. 2.1 (secondary source; check against the standard)" in page.text
    assert "limits of class B: table A.4" in page.text
    assert "bond it to earth before you plug it in" in page.text


def test_worst_points_and_records_stand_in_tables(page):
    text = page.text.replace("\u00a0", " ")
    for part in ("41.8 dBµV/m", "printing, radio connected", "not stated", "points 16 000"):
        assert part in text
    assert "EUR 1800" in text


def test_hostile_labels_are_words_not_markup(hostile_page):
    assert hostile_page.by_tag["h1"] == ['<script>alert("lid")</script>']
    assert sum(tag == "script" for tag, _ in hostile_page.elements) == 3
    own = [s for s in hostile_page.scripts if PLOTLY_MARK not in s]
    assert not any('<script>alert("lid")' in script for script in own)
    assert "=cmd|' /C calc'!A0" in hostile_page.text
    assert "\x1b" not in hostile_page.text
    assert "\u202e" not in hostile_page.text


def test_hostile_labels_in_figures_stay_escaped(hostile_page):
    drawings = _figure_data(hostile_page)["drawings"]
    names = [t["name"] for d in drawings.values() for t in d["data"]]
    assert any(name.startswith("&lt;script&gt;") for name in names)
    assert not any("<" in name for name in names)


def test_hostile_page_keeps_ids_and_headings(hostile_page):
    ids = [a["id"] for _, a in hostile_page.elements if "id" in a]
    assert len(ids) == len(set(ids))


def test_a_link_alone_needs_no_emissions(study):
    page = Page(render_page(replace(study, emissions=None, advice=None)))
    assert "Does the metal cost the range?" in page.text
    assert "Where do the scans stand?" not in page.text
    assert "Book the lab?" not in page.text


def test_emissions_alone_need_no_link(study):
    page = Page(render_page(replace(study, links=())))
    assert "Does the metal cost the range?" not in page.text
    assert "Where do the scans stand?" in page.text


def test_no_figure_means_no_script(study):
    bare = replace(study, links=(), emissions=None, advice=None, unstated=(), sources=())
    html = render_page(bare)
    assert "<script" not in html
    assert "Nothing: every value that this answer needs was stated or measured." in html
    assert "No outside source was used." in html


def test_a_family_without_lines_is_told(study):
    silent = replace(
        study.emissions,
        no_line_because="The lines of CISPR 14-1 are not held.",
        lines=(),
        variants=(),
        scans=tuple(replace(s, against=()) for s in study.emissions.scans),
    )
    advice = replace(study.advice, action=None, reason="No line.", variants=())
    page = Page(render_page(replace(study, emissions=silent, advice=advice)))
    assert "No line is drawn" in page.text
    assert "The lines of CISPR 14-1 are not held." in page.text
    assert "No advice" in page.text
    assert "The scans over their lines" not in page.text
    assert "The scans" in page.by_tag["h3"]
    text = page.text.replace("\u00a0", " ")
    assert "Highest corrected level of each scan:" in text
    assert "above 1 GHz, H, peak : 91.6 dBµV/m at 2.4398 GHz" in text  # made as 92 dB at 2.44 GHz
    assert _empty_headings(page) == []


def test_a_study_without_scans_or_lines_has_no_empty_heading(study):
    nothing = replace(
        study.emissions, no_line_because="None held.", lines=(), variants=(), scans=()
    )
    bare = replace(
        study, links=(), emissions=nothing, advice=None, booking=BookingFacts(), sources=()
    )
    page = Page(render_page(bare))
    assert _empty_headings(page) == []
    assert "Highest" not in page.text
    assert not any(a.get("href") in ("#tables", "#figures") for _, a in page.elements)


def test_a_refused_link_is_shown_with_its_reason_in_answer_and_tables(study):
    why = "nobody stated the openings of the box: state [[metal.openings]]"
    refused = VariantLink("boxed", "2.4 GHz radio", why)
    page = Page(render_page(replace(study, links=(refused, study.links[2]), emissions=None)))
    assert page.text.count("Refused: this link cannot be judged as it stands") == 2
    assert page.text.count(why[1:]) == 2
    assert "Link: boxed" in page.text
    assert "Link: wired only" not in page.text


def test_beyond_belief_the_bar_is_thinner(study):
    said = "Free space promises too much from 16 m on."
    room = replace(study.links[0].room, believed_to_m=16.0, beyond_belief=said)
    link = replace(study.links[0], room=room)
    page = Page(render_page(replace(study, links=(link,), emissions=None)))
    assert sum(a.get("class") == "beyond" for _, a in page.elements) == 1
    assert said in _spaced(page)
    plain = Page(render_page(replace(study, emissions=None)))
    assert not any(a.get("class") == "beyond" for _, a in plain.elements)


def test_how_sure_the_answer_is_stands_in_words_figures_and_tables(page):
    text = _spaced(page)
    for told in (
        "15 m works in 99 % of places with a chance of",
        "95.0 % of reports (90.2 % to 99.7 %) arrive within 30 ms (3 tries)",
        "What spreads the margin, aluminium lid",
        "polarisation loss assumed",
        "spread if known",
        "How sure that is: intervals with as much left on each side",
        "chance that 15 m works, with metal",
        "The variants side by side",
        "noise rise at the receiver",
        "rayleigh (used)",
        "room: free space",
        "display 50 2.4 GHz 2.402 GHz at some tolerances",
    ):
        assert told in text, told
    sections = page.text.index("Figures"), page.text.index("Each link at its wanted distance")
    assert sections[0] < page.text.index("How sure the reach is, aluminium lid") < sections[1]


def test_every_power_line_is_told_with_clause_edition_and_how_far_to_trust_it(study, page):
    text = _spaced(page)
    for row in study.links[0].power:
        assert row.rule in text
        assert row.clause in text
        assert row.edition in text
    assert text.count("Permitted power: the high end of the power counts") == 1
    assert "Permitted power: as for aluminium lid." in text
    assert text.count("check against the standard") > len(study.links[0].power)


def test_a_hatched_bar_is_of_what_nobody_stated(page):
    bars = [a["class"].split() for _, a in page.elements if "driver-bar" in a.get("class", "")]
    names = {"driver-bar", "unstated", "of-metal"}
    assert bars
    assert all(set(one) <= names for one in bars)
    assert any("unstated" in one for one in bars)
    assert any("of-metal" in one for one in bars)


def test_a_floor_is_printed_as_more_than(page):
    text = page.text.replace("\u00a0", " ")
    assert "through the sheet – > 200 dB computed –" in text
    assert "Largest rise of peak gain:" in text


def test_option_names_are_printed_as_they_are(study):
    missing = replace(study.unstated[0], what="the side", key="--polarisation")
    page = Page(render_page(replace(study, unstated=(missing,))))
    assert page.by_tag["code"] == ["--polarisation"]


def test_cells_carry_their_head_for_narrow_screens(page):
    labels = {a["data-label"] for tag, a in page.elements if tag == "td" and "data-label" in a}
    assert {"without metal", "with metal", "low to high", "worst margin", "plastic lid"} <= labels
    layouts = {a.get("class", "").split()[0] for tag, a in page.elements if tag == "table"}
    assert layouts == {"stack", "flow"}  # no table that a narrow screen would cut off


@pytest.fixture(scope="module")
def solved_page(solved_study):
    return Page(render_page(solved_study))


def test_the_geometry_stands_in_three_drawings(solved_page):
    drawings = [a for tag, a in solved_page.elements if tag == "svg" and a.get("role") == "img"]
    assert len(drawings) == 3 + 1  # three views, the change that gains
    assert all(len(a["aria-label"]) > 30 for a in drawings)
    assert "The metal: aluminium lid" in solved_page.by_tag["h3"]
    assert "tray 200 x 120 x 1.5 mm, aluminium, its rim 8 mm down" in _spaced(solved_page)


def _spaced(page):
    return page.text.replace("\u00a0", " ")


def test_solved_fields_stand_in_figures_and_tables(solved_page):
    anchors = {a["data-drawing"] for _, a in solved_page.elements if "data-drawing" in a}
    assert {"metal-0-cut-0", "metal-0-cut-1", "metal-0-match"} <= anchors
    text = _spaced(solved_page)
    for told in (
        "feed resistance 70.0 Ω computed",
        "power into the antenna 100.0 % computed 62.2 % computed",
        "mean gain above −4.3 dB",
        "Where the power is lost, mean above: loss",
        "with metal, fine 7.0 mm 1400 0.0 dB",
        "No plastic.",
        "The estimate was 3.0 dB too high",
        "measured loss 11.0 dB measured",
        "antenna depth 12 to 32 mm 5.0 dB computed 4.5 to 5.5 dB",
        "Tried, gains nothing: skirt lower, or none (8 to 0 mm).",
        "32 mm assumed solved. For a dipole.",
        "What the metal takes was measured.",
    ):
        assert told in text, told
    assert VERDICT.search(text) is None


def test_page_with_fields_keeps_the_rules_of_the_page(solved_page, box_study):
    for page in (solved_page, Page(render_page(box_study))):
        levels = [int(tag[1]) for tag, _ in page.elements if re.fullmatch(r"h[1-6]", tag)]
        assert all(b - a <= 1 for a, b in itertools.pairwise(levels))
        ids = [a["id"] for _, a in page.elements if "id" in a]
        assert len(ids) == len(set(ids))
        assert _empty_headings(page) == []
        data = _figure_data(page)
        used = set(re.findall(r"#[0-9a-f]{6}|rgba\([^)]*\)", json.dumps(data["drawings"])))
        assert used - set(data["swap"]) == {"rgba(0,0,0,0)"}


def test_a_box_is_reported_with_its_openings_and_resonances(box_study):
    text = _spaced(Page(render_page(box_study)))
    report = box_study.links[0].box
    assert f"{report.dominant} carries most" in text
    assert text.count("resonance to fear") == 1
    assert "board and contents alone" in text
    assert "Loss of the box, mean over the band" in text
    assert "What the metal takes was estimated by closed forms." in text


def test_without_fields_the_page_says_what_would_sharpen_it(solved_study):
    told = "Installing the extra would sharpen this."
    link = replace(solved_study.links[0], fields=None, fields_absent=told, measured=None)
    page = Page(render_page(replace(solved_study, links=(link,))))
    assert page.text.count(told) == 1
    assert "What the field solver found" not in page.text
    anchors = {a["data-drawing"] for _, a in page.elements if "data-drawing" in a}
    assert not any(anchor.startswith("metal") for anchor in anchors)


def test_variants_with_one_geometry_share_its_pictures(solved_study):
    link = solved_study.links[0]
    pair = (link, replace(link, variant="second lid"))
    page = Page(render_page(replace(solved_study, links=pair)))
    assert "The metal: aluminium lid and second lid" in page.by_tag["h3"]
    assert page.text.count("What the field solver found: at the antenna's port") == 1


def test_names_in_the_drawings_are_escaped(solved_study):
    link, script = solved_study.links[0], '<script>alert("tray")</script>'
    plate = link.scene.plate
    scene = replace(link.scene, plate=replace(plate, metal=replace(plate.metal, name=script)))
    change = replace(link.changes[0], name=script, dimension=script, unit=script)
    hostile = replace(link, scene=scene, changes=(change,), fields_absent=script)
    html = render_page(replace(solved_study, links=(hostile,)))
    assert script not in html
    assert script in Page(html).text
