"""How sure the answer is, in words: intervals, chances, and what matters more than the metal."""

from dataclasses import replace

import numpy as np
import pytest

from linkbudget.core.quantity import Quantity
from linkbudget.core.uncertainty import Estimate
from linkbudget.link.drivers import Driver
from linkbudget.link.forecast import Outcome
from linkbudget.link.laws import indoor, open_air
from linkbudget.report import certainty
from linkbudget.report.forecast_rows import (
    beside_power_line,
    compared_links,
    driver_rows,
    forecast_rows,
    same_power,
)


class _Told:
    """A forecast with drivers and a chance of our own."""

    def __init__(self, forecast, drivers, works=0.31):
        self.drivers = drivers
        self.chance = Estimate(works, 0.002)
        self.known = {
            **forecast.known,
            **{each.name: Quantity(0.0, "dB", each.kind, -1.0, 1.0) for each in drivers},
        }
        self.level, self.margin, self.reach = forecast.level, forecast.margin, forecast.reach
        self.draws = forecast.draws


def _driver(name, kind, share, spread_if_known, now=5.0):
    return Driver(name, kind, -0.5, share, spread_if_known, now - spread_if_known)


def _link(study, drivers, *, lost_db=12.0, works=0.31):
    link = study.links[0]
    found = link.comparison
    reach = Quantity(12.0, "m", "computed", 8.0, 17.0)
    return replace(
        link,
        comparison=replace(
            found,
            reach_with=replace(found.reach_with, distance=reach),
            forecast_with=_Told(found.forecast_with, drivers, works),
            lost_db=Quantity(lost_db, "dB", "computed"),
        ),
    )


TURN = _driver("polarisation loss", "assumed", 0.6, 3.0)  # alone 4 dB: 16 dB from end to end
GAIN = _driver("antenna gain (product)", "stated", 0.1, 4.9)  # alone 1 dB: 4 dB from end to end
LID = _driver("metal: toward the far end", "computed", 0.3, 4.0)  # alone 3 dB: 12 dB


def test_an_unstated_input_that_moves_more_than_the_metal_takes_leads(study):
    assert certainty.leading(_link(study, (TURN, LID, GAIN))) == (
        "12 m (8.0 m to 17 m) at 99 %, and how the antennas are turned to each other, which nobody"
        " stated, matters more than the metal"
    )


def test_a_stated_input_leads_without_that_word(study):
    link = _link(study, (replace(GAIN, spread_if_known=3.0, fall=2.0),))
    assert certainty.leading(link).endswith(
        "%, and the gain of the product's antenna matters more than the metal"
    )


def test_the_metal_leads_where_it_takes_more_than_any_doubt_moves(study):
    # 2 x 1.96 x 4 dB = 15.7 dB, from end to end of a 95 % interval
    assert "and the metal matters more than how the antennas" in certainty.leading(
        _link(study, (TURN,), lost_db=15.8)
    )
    assert "matters more than the metal" in certainty.leading(_link(study, (TURN,), lost_db=15.6))


def test_what_is_not_known_of_the_metal_counts_for_it(study):
    doubtful = replace(LID, spread_if_known=2.9, fall=2.1)  # alone 4.07 dB, a little above TURN
    told = certainty.leading(_link(study, (doubtful, TURN), lost_db=1.0))
    assert "and the metal matters more than how the antennas" in told
    assert certainty.leading(_link(study, (LID,))) == "12 m (8.0 m to 17 m) at 99 %"


def test_without_metal_the_largest_doubt_is_named(study):
    link = study.links[1]
    told = _Told(link.comparison.forecast_without, (TURN,))
    bare = replace(link, comparison=replace(link.comparison, forecast_without=told))
    assert certainty.leading(bare).endswith(
        "at 99 %; of what is not known, how the antennas are turned to each other matters most"
    )
    assert certainty.chance_sentence(bare) == (
        "15 m works in 99 % of places with a chance of 31 %."
    )


def test_the_chance_is_told_with_the_metal_and_without(study):
    link = _link(study, (TURN,))
    calm = _Told(link.comparison.forecast_without, (TURN,), works=0.9999)
    link = replace(link, comparison=replace(link.comparison, forecast_without=calm))
    assert certainty.chance_sentence(link) == (
        "15 m works in 99 % of places with a chance of 31 %, and of over 99 % without the metal."
    )


@pytest.mark.parametrize(
    ("share", "words"),
    [("time", "of the time"), ("time or places", "of the time or of places")],
)
def test_the_percentage_says_what_it_counts(study, share, words):
    link = replace(study.links[0], fading=replace(study.links[0].fading, share=share))
    assert f"works in 99 % {words} with a chance" in certainty.chance_sentence(link)


def test_the_strongest_driver_and_the_strongest_unstated_one_are_told(study):
    first, second = certainty.driver_sentences(
        _link(study, (replace(LID, share=0.7), replace(TURN, share=0.2)))
    )
    assert first == (
        "What the metal takes toward the far end (computed) makes 70 % of the spread: known"
        " exactly, 4.0 dB of 5.0 dB would remain."
    )
    assert second == (
        "Of what nobody stated, how the antennas are turned to each other drives it most (20 %)."
    )
    assert len(certainty.driver_sentences(_link(study, (TURN, LID)))) == 1


def test_reports_in_time_are_told_with_their_interval(study):
    # alike likely between 90 % and 99.99 %: median 94.995 %, 95 % from 90.25 % to 99.74 %
    assert certainty.delivery_sentence(study.links[0]) == (
        "95.0 % of reports (90.2 % to 99.7 %) arrive within 30 ms (3 tries); 99 % arrive within"
        " 50 ms."
    )
    never = replace(study.links[0].delivery, needed_s=np.inf)
    told = certainty.delivery_sentence(replace(study.links[0], delivery=never))
    assert told.endswith("99 % do not arrive within 10 s either.")
    assert certainty.delivery_sentence(study.links[1]) == ""


def test_a_link_that_is_not_judged_has_no_words_on_certainty(study):
    wired = study.links[2]
    assert (certainty.leading(wired), certainty.chance_sentence(wired)) == ("", "")
    assert certainty.driver_sentences(wired) == ()
    assert (forecast_rows(wired), driver_rows(wired)) == ([], [])


def test_rows_of_the_forecast_name_the_case_and_the_sampling_error(study):
    reach = Outcome.of_draws(np.linspace(2.0, 10.0, 10_001), "m")
    link = _link(study, (TURN,))
    told = link.comparison.forecast_with
    told.reach = reach
    rows = {row.name: row for row in forecast_rows(link)}
    assert rows["reach, with metal"].median == "6.0 m"
    # of 2 m to 10 m alike likely: 50 % between 4 m and 8 m, 80 % 2.8 m to 9.2 m, 95 % 2.2 to 9.8 m
    assert rows["reach, with metal"].intervals == ("4.0 to 8.0 m", "2.8 to 9.2 m", "2.2 to 9.8 m")
    assert rows["chance that 15 m works, with metal"].median == "31.0 %"
    assert rows["chance that 15 m works, with metal"].sampled == "0.20 %"
    assert rows["reports within 30 ms"].median == "95.0 %"
    assert {"margin, without metal", "received level, with metal"} <= set(rows)


def test_a_draw_that_a_law_holds_at_its_end_is_no_distance(study):
    link = _link(study, (TURN,))
    low_m, high_m = 2.0, 10.0
    link = replace(link, room=replace(link.room, distance_m=np.array([low_m, high_m])))
    held = np.clip(np.linspace(0.0, 12.0, 10_001), low_m, high_m)
    link.comparison.forecast_with.reach = Outcome.of_draws(held, "m")
    row = next(row for row in forecast_rows(link) if row.name == "reach, with metal")
    assert row.intervals == ("3.0 to 9.0 m", "under 2.0 to over 10 m", "under 2.0 to over 10 m")


def test_drivers_are_ranked_with_bars_relative_to_the_strongest(study):
    rows = driver_rows(_link(study, (TURN, LID, GAIN, _driver("cable", "stated", 0.001, 5.0))))
    assert [(row.name, row.share, row.length) for row in rows] == [
        ("polarisation loss", 60.0, 100.0),
        ("metal: toward the far end", 30.0, 50.0),
        ("antenna gain (product)", 10.0, 16.7),
    ]
    assert [row.unstated for row in rows] == [True, False, False]
    assert [row.is_metal for row in rows] == [False, True, False]
    assert rows[0].left == "3.0 dB"


def test_a_power_line_is_told_by_the_end_that_counts(study):
    row = next(one for one in study.links[0].power if one.state == "judged")
    close = replace(row, margin=Quantity(2.0, "dB", "computed", -0.5, 4.0))
    assert beside_power_line(close) == "0.5 dB over the line"
    silent = replace(row, state="cannot tell", margin=None)
    assert beside_power_line(silent) == "cannot tell"


def test_equal_power_is_told_once(study):
    lid, plastic = study.links[:2]
    assert same_power(study.links, lid) == ""
    assert same_power(study.links, plastic) == "aluminium lid"
    other = replace(plastic, power=plastic.power[1:])
    assert same_power((lid, other), other) == ""


def test_one_link_alone_stands_beside_nothing(study):
    assert [one.variant for one in compared_links(study.links)] == ["aluminium lid", "plastic lid"]
    assert compared_links(study.links[1:]) == []


@pytest.mark.parametrize(
    ("reach", "told"),
    [
        ((12.0, 2.0, 27.0, ""), "12 m (under 2.0 m to over 27 m)"),
        ((12.0, 3.0, 20.0, ""), "12 m (3.0 m to 20 m)"),
        ((2.0, 2.0, 27.0, "at most"), "at most 2.0 m (at best over 27 m)"),
        ((27.0, 2.0, 27.0, "at least"), "at least 27 m (at worst under 2.0 m)"),
    ],
)
def test_a_band_that_ends_with_the_law_is_open(reach, told):
    value, low, high, coverage = reach
    distance = Quantity(value, "m", "computed", low, high, coverage=coverage)
    # ITU-R P.1238-11 holds an office in sight from 2 m to 27 m
    room = indoor(2.44e9, "office", "line of sight")
    assert certainty.reach_words(distance, room) == told


def test_a_bound_by_belief_does_not_contradict_its_band():
    room = open_air(2.44e9)  # believed to 4 h1 h2 / wavelength, 33 m at 1 m
    distance = Quantity(40.0, "m", "computed", 8.2, 99.0, coverage="at most")
    assert certainty.reach_words(distance, room) == "at most 40 m (8.2 m to at most 99 m)"
    assert certainty.band_of_reach(room, distance) == "8.2 to at most 99 m"
