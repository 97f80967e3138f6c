"""Does the metal cost the range? Every headline, what is left, and where belief in a law ends."""

from dataclasses import replace

import pytest

from linkbudget.core.quantity import Quantity
from linkbudget.report.range_answer import is_refused, range_headline, range_sentences
from linkbudget.results import VariantLink

REACHED, OPEN, DOUBTFUL, MISSED = (9, 2, 15), (3, -4, 9), (-3, -9, 4), (-8, -14, -1)


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


def _with_reaches(link, without_m, with_m):
    found = link.comparison

    def reach(one, value_m):
        return replace(one, distance=Quantity(value_m, "m", "computed"))

    return replace(
        link,
        comparison=replace(
            found,
            reach_without=reach(found.reach_without, without_m),
            reach_with=reach(found.reach_with, with_m),
        ),
    )


@pytest.mark.parametrize(
    ("without", "with_metal", "headline"),
    [
        (REACHED, OPEN, "Perhaps: 15 m works without the metal and is too close to call with it"),
        (REACHED, MISSED, "Yes: the metal costs the 15 m that you want"),
        (OPEN, REACHED, "No: 15 m works with the metal and is too close to call without it"),
        (OPEN, OPEN, "Too close to call at 15 m, with the metal and without it"),
        (OPEN, DOUBTFUL, "Too close to call at 15 m, with the metal and without it"),
        (
            OPEN,
            MISSED,
            "Not the metal alone: 15 m is too close to call without it and out of reach with it",
        ),
        (
            DOUBTFUL,
            MISSED,
            "Not the metal alone: 15 m is too close to call without it and out of reach with it",
        ),
        (MISSED, MISSED, "Not the metal: 15 m is out of reach without it and with it"),
        (MISSED, REACHED, "No: 15 m works with the metal and is out of reach without it"),
        (
            MISSED,
            OPEN,
            "No: 15 m is out of reach without the metal and too close to call with it",
        ),
    ],
)
def test_headline_follows_the_bands_of_the_margins(study, without, with_metal, headline):
    assert range_headline(_with_margins(study, without, with_metal)) == headline


@pytest.mark.parametrize(
    ("without_m", "with_m", "change"),
    [
        (84.0, 42.0, "but the reach falls from 84 m to 42 m"),
        (42.0, 84.0, "and the reach grows from 42 m to 84 m"),
        (42.0, 42.2, "and the reach stays 42 m"),
    ],
)
def test_a_distance_that_still_works_tells_what_becomes_of_the_reach(
    study, without_m, with_m, change
):
    link = _with_reaches(_with_margins(study, REACHED, REACHED), without_m, with_m)
    assert range_headline(link) == f"No: 15 m still works, {change}"


@pytest.mark.parametrize(
    ("without", "words"), [(REACHED, "works"), (OPEN, "is too close to call"), (MISSED, "is out")]
)
def test_without_metal_nothing_is_blamed_on_it(study, without, words):
    link = _with_margins(study, without, without)
    bare = replace(link, comparison=replace(link.comparison, with_metal=None))
    assert range_headline(bare).startswith(f"No metal is described; 15 m {words}")


def test_metal_that_adds_gain_is_told_so(study):
    link = study.links[0]
    gain = Quantity(-2.5, "dB", "computed", -4.0, 0.5)
    better = replace(link, comparison=replace(link.comparison, lost_db=gain))
    assert "in this direction the metal adds 2.5 dB" in range_sentences(better)[0]


def test_no_radio_gives_the_stated_reason(study):
    assert range_headline(study.links[2]) == "No radio link to judge"
    assert range_sentences(study.links[2]) == ("This variant has no radio.",)
    assert not is_refused(study.links[2])


def test_a_refused_link_says_so_and_how_to_mend_it():
    closed = VariantLink("boxed", "2.4 GHz radio", "a closed box; state [[metal.openings]]")
    assert is_refused(closed)
    assert range_headline(closed) == "Refused: this link cannot be judged as it stands"
    assert range_sentences(closed) == ("A closed box; state [[metal.openings]].",)


@pytest.mark.parametrize(
    ("margin", "told"),
    [
        (MISSED, "To work at 15 m it lacks 8.0 dB (14.0 to 1.0)."),
        (REACHED, "At 15 m it has 9.0 dB to spare (2.0 to 15.0)."),
        (
            DOUBTFUL,
            "To work at 15 m it lacks 3.0 dB (from 9.0 lacking to 4.0 to spare).",
        ),
        (
            (0.04, -2, 3),
            "At 15 m nothing is left and nothing is missing (from 2.0 lacking to 3.0 to spare).",
        ),
        ((-2, None, None), "To work at 15 m it lacks 2.0 dB."),
    ],
)
def test_what_is_left_stands_on_the_side_that_it_means(study, margin, told):
    assert range_sentences(_with_margins(study, REACHED, margin))[2] == told


def _believed_to(link, distance_m):
    said = f"Free space promises too much from {distance_m:g} m on."
    return replace(link, room=replace(link.room, believed_to_m=distance_m, beyond_belief=said))


@pytest.mark.parametrize("margins", [REACHED, OPEN, MISSED])
def test_beyond_belief_nothing_is_called_reached(study, margins):
    link = _believed_to(_with_margins(study, margins, margins), 14.9)
    assert range_headline(link) == "Free space alone cannot say at 15 m"
    told = range_sentences(link)
    assert told[1].startswith("By free space alone, 15 m works in 99 % of places")
    assert told[2].startswith("By free space alone, ")
    assert "Free space promises too much from 14.9 m on." in told


def test_a_reach_that_is_a_bound_is_told_as_one(study):
    link = _with_reaches(_with_margins(study, REACHED, REACHED), 427.0, 30.0)
    found = link.comparison
    bound = replace(found.reach_without.distance, coverage="at most")
    found = replace(found, reach_without=replace(found.reach_without, distance=bound))
    link = _believed_to(replace(link, comparison=found), 33.0)
    told = range_sentences(link)
    assert told[0].startswith("It reaches 30 m with the metal and at most 427 m without it, by")
    assert "Free space promises too much from 33 m on." in told
    headline = range_headline(link)
    assert headline == "No: 15 m still works, but the reach falls from at most 427 m to 30 m"


def test_within_belief_nothing_is_said_of_its_end(study):
    link = _with_reaches(_with_margins(study, REACHED, REACHED), 32.0, 16.0)
    assert range_sentences(_believed_to(link, 33.0)) == range_sentences(link)


def test_the_room_is_named(study):
    assert "by the law of the room (free space)" in range_sentences(study.links[0])[0]
    elsewhere = replace(study.links[1], room=replace(study.links[1].room, name="indoors, office"))
    told = " ".join(range_sentences(elsewhere))
    assert "by the law of the room (indoors, office)" in told
    assert "free space" not in told


def test_the_answer_names_its_method_once(study, solved_study):
    told = range_sentences(study.links[0])
    assert told[-1] == "What the metal takes was estimated by closed forms."
    link = solved_study.links[0]
    assert range_sentences(link)[-1] == "What the metal takes was measured."
    solved = replace(link, measured=None, metal=study.links[0].metal)
    assert range_sentences(solved)[-1] == "What the metal takes was computed by a field solver."
    mismatch = Quantity(2.0, "dB", "measured")
    part = replace(solved, measured=replace(link.measured, detuning=mismatch, sees_shadow=False))
    assert range_sentences(part)[-1] == (
        "The mismatch was measured, the rest of what the metal takes was computed by a field"
        " solver."
    )
    assert not any("takes was" in sentence for sentence in range_sentences(study.links[1]))
