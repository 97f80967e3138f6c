"""Plain words: every headline, and text that cannot harm a terminal."""

import math
from dataclasses import replace

import pytest

from linkbudget.core.quantity import Quantity
from linkbudget.report import wording


def _with_margins(study, without, with_metal):
    """The lidded variant's link with other margins (value, low, high) [dB]."""
    link = study.links[0]
    found = link.comparison

    def margin(budget, triple):
        value, low, high = triple
        return replace(budget, margin=Quantity(value, "dB", "computed", low, high))

    return replace(
        link,
        comparison=replace(
            found,
            without=margin(found.without, without),
            with_metal=margin(found.with_metal, with_metal),
        ),
    )


REACHED, OPEN, DOUBTFUL, MISSED = (9, 2, 15), (3, -4, 9), (-3, -9, 4), (-8, -14, -1)


@pytest.mark.parametrize(
    ("without", "with_metal", "headline"),
    [
        (REACHED, REACHED, "No: 15 m still works under the metal"),
        (REACHED, OPEN, "Too close to call at 15 m"),
        (REACHED, MISSED, "Yes: the metal costs the 15 m that you want"),
        (OPEN, MISSED, "Yes: the metal costs the 15 m that you want"),
        (DOUBTFUL, MISSED, "15 m is doubtful without the metal and out of reach with it"),
        (MISSED, MISSED, "15 m is out of reach, with the metal or without it"),
        (MISSED, REACHED, "No: 15 m still works under the metal"),  # it adds gain on its lit side
        (MISSED, OPEN, "Too close to call at 15 m"),
    ],
)
def test_headline_follows_the_bands_of_the_margins(study, without, with_metal, headline):
    assert wording.range_headline(_with_margins(study, without, with_metal)) == headline


def test_metal_that_adds_gain_is_told_so(study):
    link = study.links[0]
    gain = Quantity(-2.5, "dB", "computed", -4.0, 0.5)
    better = replace(link, comparison=replace(link.comparison, lost_db=gain))
    assert "in this direction the metal adds 2.5 dB" in wording.range_sentences(better)[0]


def test_no_radio_gives_the_stated_reason(study):
    assert wording.range_headline(study.links[2]) == "No radio link to judge"
    assert wording.range_sentences(study.links[2]) == ("This variant has no radio.",)


def test_missing_decibels_are_not_called_left_over(study):
    short = wording.range_sentences(_with_margins(study, REACHED, MISSED))[1]
    assert short == "At 15 m, in 99 % of cases, 8.0 dB is missing (band -14.0 to -1.0 dB)."


def test_an_unread_average_line_is_not_the_nearest(study):
    standings = study.emissions.variants[0].standings
    unread = [
        s
        for s in standings
        if s.standing == "not measured" and s.worst and s.worst.worst_margin.value < 0
    ]
    assert unread, "the sample holds a peak scan over an average line"
    assert wording.nearest(unread) is None
    assert wording.nearest(standings).standing == "over"


@pytest.mark.parametrize(
    ("value", "text"), [(math.nan, "not known"), (math.inf, "without end"), (-0.01, "0.0")]
)
def test_odd_numbers_are_words(value, text):
    assert wording.number(value) == text


def test_control_characters_and_directions_are_taken_out():
    assert wording.plain("a\x1b[2Jb\u202ec\u200f\x07\r\nd") == "a�[2Jbc� d"


def test_typesetting_leaves_words_alone():
    assert wording.typeset("quasi-peak 3-1 class-B") == "quasi-peak 3-1 class-B"
    assert wording.typeset("(-3.5 dBuV/m)") == "(−3.5\u00a0dBµV/m)"
