"""Where do the scans stand? What leads, what is nearest, and what nobody measured."""

from dataclasses import replace

import pytest

from linkbudget.report.scans_answer import (
    counted,
    nearest,
    scans_headline,
    scans_sentences,
    state,
    unmeasured,
)


@pytest.fixture
def by_line(study):
    """Standings of the lidded variant by the short key of their line."""
    return {s.line.line_id: s for s in study.emissions.variants[0].standings}


def _as(standing, word, **changes):
    return replace(standing, standing=word, **changes)


def test_an_unread_average_line_is_not_the_nearest(study):
    standings = study.emissions.variants[0].standings
    unread = [
        s
        for s in standings
        if s.standing == "not measured" and s.worst and s.worst.worst_margin.value < 0
    ]
    assert unread, "the sample holds a peak scan over an average line"
    assert nearest(unread) is None
    assert nearest(standings).standing == "over"


def test_what_is_over_leads_and_what_is_not_measured_follows(study):
    standings = study.emissions.variants[0].standings
    assert scans_headline(standings) == ("over", "1.8 dB over the line")
    told = scans_sentences(standings)
    assert told[0].startswith("Nearest at 48.007 MHz, on the line radiated, 3 m, quasi-peak")
    assert "not measured" in told[1]


def test_an_unmeasured_line_leads_over_one_that_is_clear(by_line):
    clear = _as(by_line["cispr32-b-mains-quasi-peak"], "clear")
    open_one = _as(
        by_line["cispr32-b-radiated-3m-peak"], "not measured", worst=None, compared=(),
        gaps=((1e9, 6e9),),
    )  # fmt: skip
    assert scans_headline((clear, open_one)) == ("not measured", "1 to 6 GHz is not measured")
    (told,) = scans_sentences((clear, open_one))
    assert told.startswith("Nearest measured: ")
    assert "below the line at" in told
    assert scans_headline((clear,))[0] == "clear"


def test_a_line_that_is_not_required_does_not_lead(by_line):
    extra = _as(by_line["cispr32-b-radiated-3m-peak"], "not measured", required=False)
    assert unmeasured((extra,)) == ""


def test_places_are_named_by_port_range_and_open_detector(by_line):
    settled = _as(by_line["cispr32-b-mains-quasi-peak"], "clear")
    part = _as(by_line["cispr32-b-mains-average"], "not measured", gaps=((195e3, 2e5), (5e5, 6e5)))
    told = unmeasured((settled, part))
    assert told == "AC mains (average, 195 to 600 kHz) is not measured in full"
    peak = _as(
        by_line["cispr32-b-radiated-3m-peak"], "not measured", gaps=((1e9, 6e9),), compared=()
    )
    assert unmeasured((settled, part, peak)) == (
        "1 to 6 GHz is not measured, AC mains (average, 195 to 600 kHz) not in full"
    )
    whole = replace(part, gaps=((150e3, 30e6),), compared=(), worst=None)
    radiated = _as(
        by_line["cispr32-b-radiated-3m-average"], "not measured", gaps=((1e9, 6e9),),
        compared=(), worst=None,
    )  # fmt: skip
    assert unmeasured((radiated, whole)) == "1 to 6 GHz and AC mains are not measured"


def test_nothing_measured_and_nothing_to_measure_are_told_apart(by_line):
    line = by_line["cispr32-b-mains-average"]
    bare = _as(line, "not measured", worst=None, compared=())
    assert scans_headline((bare,)) == ("not measured", "No line is measured yet")
    assert scans_sentences((bare,)) == ()
    assert scans_headline((_as(bare, "does not apply", required=False),)) == (
        "does not apply",
        "No line applies",
    )


def test_counts_and_states_read_as_words(by_line):
    line = by_line["cispr32-b-mains-average"]
    away = _as(line, "does not apply")
    assert counted((away, _as(line, "clear"))) == "1 clear of the line, 1 does not apply"
    assert counted((away, away)) == "2 do not apply"
    assert state(_as(line, "not measured")) == "not measured in full"
    assert state(_as(line, "inside")) == "inside the uncertainty"
