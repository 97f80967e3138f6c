"""Plain words: numbers, bounds, and text that cannot harm a terminal."""

import math

import pytest

from linkbudget.core.quantity import Quantity
from linkbudget.report import wording


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


def test_a_bound_is_printed_as_one():
    floor = Quantity(200.0, "dB", "computed", 200.0, 200.0, coverage="at least")
    assert wording.amount(floor) == "> 200 dB"
    assert wording.band(floor) == ""
    ceiling = Quantity(427.0, "m", "computed", 193.0, 606.0, coverage="at most")
    assert wording.amount(ceiling) == "at most 427 m"
    assert wording.band(ceiling) == "193 to 606 m"


@pytest.mark.parametrize(
    ("name", "detector", "text"),
    [
        ("mains, line", "average", "mains, line, average"),
        ("mains, line, peak", "peak", "mains, line, peak"),
        ("Peak of the lid", "peak", "Peak of the lid"),
        ("mains, quasi-peak", "peak", "mains, quasi-peak, peak"),
        ("own room", None, "own room"),
    ],
)
def test_a_detector_is_named_once(name, detector, text):
    assert wording.with_detector(name, detector) == text


@pytest.mark.parametrize(
    ("parts", "text"), [(["a"], "a"), (["a", "b"], "a and b"), (["a", "b", "c"], "a, b and c")]
)
def test_parts_are_listed_as_in_a_sentence(parts, text):
    assert wording.listed(parts) == text
