"""The first answer to "book?", worked by hand from where the lines stand."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.core.quantity import Quantity
from linkbudget.decision.booking import advise, advise_variant
from linkbudget.emissions.conformity import LineStanding, ScanAgainstLine
from linkbudget.emissions.limits import line

RADIATED = line("cispr32-b-radiated-3m-quasi-peak")
U = Quantity(10.2, "dB", "assumed", coverage="k = 2")


def standing(state, margin_db=None, required=True, at_hz=240e6, detector="quasi-peak"):
    worst = None
    if margin_db is not None:
        worst = ScanAgainstLine(
            scan="bench",
            detector=detector,
            line=RADIATED,
            worst_margin=Quantity(margin_db, "dB", "measured"),
            worst_at_hz=at_hz,
            worst_level_db=47.0 - margin_db,
            worst_limit_db=47.0,
            covered=(),
            gaps=(),
            above=(),
            peaks=(),
            uncertainty=U,
            notes=(),
        )
    return LineStanding(RADIATED, state, required, "because", U, worst)


@pytest.mark.parametrize(
    ("standings", "action", "said"),
    [
        (
            [standing("clear", 12.0)],
            "book",
            "12.0 dB at 240 MHz, is larger than its uncertainty of 10.2 dB",
        ),
        ([standing("clear", 12.0), standing("does not apply")], "book", "Every required line"),
        (
            [standing("clear", 12.0), standing("inside", 4.0)],
            "measure more",
            "4.0 dB below at 240 MHz, 10.2 dB wanted",
        ),
        ([standing("clear", 12.0), standing("not measured")], "measure more", "not measured"),
        (
            [standing("over", -3.0), standing("not measured")],
            "fix first",
            "exceeded, by 3.0 dB at 240 MHz",
        ),
        ([standing("over", -3.0), standing("over", -7.5)], "fix first", "by 7.5 dB"),
        ([standing("does not apply")], "measure more", "No emission line has been measured"),
    ],
)
def test_one_variant(standings, action, said):
    advice = advise_variant("wired", standings)
    assert advice.action == action
    assert said in advice.reason


def test_a_peak_reading_within_its_uncertainty_over_the_line_asks_for_quasi_peak():
    advice = advise_variant("x", [standing("over", -1.0, detector="peak")])
    assert advice.action == "measure more"
    assert "read it again with quasi-peak" in advice.reason


def test_a_peak_reading_far_over_the_line_is_to_be_fixed_unless_quasi_peak_is_lower():
    advice = advise_variant("x", [standing("over", -14.0, detector="peak")])
    assert advice.action == "fix first"
    assert "unless a quasi-peak reading there is lower" in advice.reason


def test_a_line_that_is_only_compared_as_well_weighs_nothing():
    advice = advise_variant(
        "x", [standing("clear", 12.0), standing("not measured", required=False)]
    )
    assert advice.action == "book"


def test_the_least_ready_variant_decides_and_is_named():
    good = advise_variant("wired", [standing("clear", 12.0)])
    bad = advise_variant("Bluetooth", [standing("over", -2.0)])
    advice = advise([good, bad])
    assert advice.action == "fix first"
    assert "exceeded on Bluetooth, by 2.0 dB" in advice.reason
    assert "wired" not in advice.reason
    assert advice.reason.count(".") == 2  # one sentence: the decimal point and the full stop


ABOVE_1_GHZ = line("cispr32-b-radiated-3m-peak")


def test_each_variant_names_the_range_that_it_needs():
    def unmeasured(high_hz):
        within = (1e9, high_hz)
        return LineStanding(ABOVE_1_GHZ, "not measured", True, "because", U, within=within)

    wired, radio = (advise_variant(n, [unmeasured(f)]) for n, f in (("wired", 2e9), ("BLE", 6e9)))
    assert "from 1 GHz to 2 GHz is not measured" in wired.reason
    assert "from 1 GHz to 6 GHz is not measured" in radio.reason
    assert (
        "from 1 GHz to 2 GHz on wired and the radiated line from 1 GHz to 6 GHz on BLE are not"
        in (advise([wired, radio]).reason)
    )
    # where both need the same, it is said once, and of no variant
    assert "1 GHz to 6 GHz is not measured." in advise([radio, replace(radio, variant="x")]).reason


def test_without_lines_there_is_no_advice():
    advice = advise([], no_line_because="No lines are held for railways.")
    assert advice.action is None
    assert "railways" in advice.reason


def test_the_advice_names_what_it_does_not_estimate():
    advice = advise([advise_variant("wired", [standing("clear", 12.0)])])
    assert any("immunity" in name for name in advice.not_estimated)
    assert any("radio tests" in name for name in advice.not_estimated)


STATES = st.sampled_from(["clear", "inside", "over", "not measured", "does not apply"])


@given(st.lists(STATES, min_size=1, max_size=6), st.integers(0, 5))
def test_a_line_that_gets_worse_never_brings_the_slot_nearer(states, position):
    readiness = {"book": 2, "measure more": 1, "fix first": 0}
    better = ["clear", "inside", "not measured", "over"]
    index = position % len(states)
    if states[index] in ("over", "does not apply"):
        return
    worse = list(states)
    worse[index] = better[better.index(states[index]) + 1]
    margins = {"clear": 12.0, "inside": 4.0, "over": -3.0}

    def ready(names):
        rows = [standing(name, margins.get(name)) for name in names]
        return readiness[advise_variant("x", rows).action]

    assert ready(worse) <= ready(states)
