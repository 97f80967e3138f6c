"""The input that spreads the answer most comes first, by as much as theory says."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from linkbudget.core.distributions import Arcsine, Exact, Normal, Uniform
from linkbudget.core.empirical import Empirical
from linkbudget.core.errors import InputError
from linkbudget.core.quantity import Quantity
from linkbudget.core.uncertainty import simulate
from linkbudget.link.drivers import drivers, unstated

KEPT = 16_384
CHANCE = 1.0 / math.sqrt(KEPT)  # standard error of a rank correlation near zero, most there is


def known(**kinds):
    return {name: Quantity(0.0, "dB", kind) for name, kind in kinds.items()}


def added(inputs, seed=1, draws=50_000):
    return simulate(inputs, lambda x: {"sum": sum(x.values())}, draws, seed)


def stated(inputs):
    return known(**dict.fromkeys(inputs, "stated"))


@settings(max_examples=25)
@given(st.lists(st.floats(0.1, 10.0), min_size=2, max_size=8), st.integers(0, 1000))
def test_gaussian_terms_share_as_the_closed_form_says(spreads, seed):
    inputs = {str(number): Normal(5.0, spread) for number, spread in enumerate(spreads)}
    total = math.sqrt(math.fsum(spread**2 for spread in spreads))
    found = {each.name: each for each in drivers(added(inputs, seed), "sum", stated(inputs))}
    # rank correlation of a pair of Gaussians with linear correlation r: (6/pi) arcsin(r/2)
    # (K. Pearson, 1907)
    expected = [6.0 / math.pi * math.asin(spread / total / 2.0) for spread in spreads]
    for number, (spread, r) in enumerate(zip(spreads, expected, strict=True)):
        driver = found[str(number)]
        assert driver.correlation == pytest.approx(r, abs=5.0 * CHANCE)
        share = spread**2 / total**2
        # ranks understate a variance share by up to 0.03, and chance adds 5 standard errors
        assert driver.share == pytest.approx(share, abs=0.03 + 5.0 * 2.0 * abs(r) * CHANCE)
        known_db = math.sqrt(max(0.0, total**2 - spread**2))
        # a standard deviation of n draws is good to 1/sqrt(2 n)
        assert driver.spread_if_known == pytest.approx(known_db, rel=5.0 * CHANCE)
        assert driver.fall == pytest.approx(total - known_db, abs=5.0 * CHANCE * total)


@pytest.mark.parametrize("shape", [Uniform(-6.0, 6.0), Arcsine(-5.0, 5.0), Normal(0.0, 4.0)])
def test_the_fall_is_the_variance_of_the_known_term(shape):
    inputs = {"wide": shape, "a": Normal(0.0, 1.0), "b": Uniform(-1.0, 1.0)}
    first = drivers(added(inputs), "sum", stated(inputs))[0]
    left = math.sqrt(1.0 + 1.0 / 3.0)  # variances of the two others
    assert first.name == "wide"
    assert first.spread_if_known == pytest.approx(left, rel=5.0 * CHANCE)
    assert first.fall == pytest.approx(
        math.hypot(shape.standard_deviation, left) - left, rel=5.0 * CHANCE * 2.0
    )


def test_correlations_are_those_of_scipy_with_ties_too():
    inputs = {
        "few values": Empirical.of_sample([0.0, 1.0, 5.0], [5.0, 2.0, 1.0]),
        "loss": Uniform(0.0, 3.0),
    }
    done = simulate(
        inputs, lambda x: {"rounded": np.round(x["few values"] - x["loss"])}, 20_000, seed=4
    )
    for driver in drivers(done, "rounded", stated(inputs)):
        values = done.inputs[driver.name]
        expected = stats.spearmanr(values, done.outputs["rounded"][: len(values)])
        assert driver.correlation == pytest.approx(expected.statistic, abs=1e-12)


def test_shares_add_up_to_one_and_stand_in_order():
    inputs = {"a": Normal(0.0, 1.0), "b": Normal(0.0, 3.0), "c": Uniform(0.0, 6.0)}
    found = drivers(added(inputs), "sum", stated(inputs))
    assert math.fsum(driver.share for driver in found) == pytest.approx(1.0)
    assert [driver.name for driver in found] == ["b", "c", "a"]  # spreads 3, 1.73 and 1


def test_a_loss_pulls_the_other_way():
    done = simulate(
        {"loss": Normal(0.0, 2.0), "gain": Normal(0.0, 1.0)},
        lambda x: {"level": x["gain"] - x["loss"]},
        20_000,
        seed=1,
    )
    loss, gain = drivers(done, "level", known(loss="stated", gain="stated"))
    assert loss.correlation < -0.8
    assert gain.correlation > 0.4


def test_a_bent_dependence_that_rises_counts_in_full():
    done = simulate(
        {"margin": Normal(0.0, 10.0), "idle": Normal(0.0, 10.0)},
        lambda x: {"range": 10.0 ** (x["margin"] / 20.0)},
        20_000,
        seed=1,
    )
    first, second = drivers(done, "range", known(margin="stated", idle="stated"))
    assert first.correlation == pytest.approx(1.0, abs=1e-12)
    assert first.share > 0.999
    assert second.fall < 0.01 * (first.fall + first.spread_if_known)


def test_the_one_and_only_input_leaves_no_spread():
    inputs = {"a": Uniform(0.0, 6.0)}
    (only,) = drivers(added(inputs), "sum", stated(inputs))
    assert only.share == pytest.approx(1.0)
    assert only.spread_if_known == pytest.approx(0.0, abs=1e-6)
    assert only.fall == pytest.approx(6.0 / math.sqrt(12.0), rel=5.0 * CHANCE)


def test_what_is_exact_drives_nothing():
    inputs = {"fixed": Exact(3.0), "loose": Normal(0.0, 1.0)}
    loose, fixed = drivers(added(inputs), "sum", stated(inputs))
    assert (fixed.name, fixed.share, fixed.correlation) == ("fixed", 0.0, 0.0)
    assert fixed.fall == pytest.approx(0.0, abs=5.0 * CHANCE)
    assert loose.share == 1.0


def test_an_answer_without_spread_has_no_driver():
    done = simulate({"a": Normal(0.0, 1.0)}, lambda _: {"flat": 2.0}, 1_000, seed=1)
    (found,) = drivers(done, "flat", known(a="assumed"))
    assert (found.share, found.fall) == (0.0, 0.0)
    assert drivers(done, "flat", {}) == ()


def test_what_nobody_stated_is_told_apart():
    inputs = {
        "clutter": Normal(0.0, 6.0),
        "metal": Normal(0.0, 4.0),
        "power": Normal(0.0, 2.0),
        "body": Normal(0.0, 1.0),
    }
    kinds = known(clutter="computed", metal="typical", power="stated", body="assumed")
    found = drivers(added(inputs), "sum", kinds)
    assert [driver.kind for driver in found] == ["computed", "typical", "stated", "assumed"]
    assert [driver.name for driver in unstated(found)] == ["metal", "body"]


def test_inputs_that_do_not_count_are_left_out():
    inputs = {"a": Normal(0.0, 1.0), "b": Normal(0.0, 1.0)}
    (found,) = drivers(added(inputs), "sum", known(a="stated"))
    assert (found.name, found.share) == ("a", 1.0)


def test_an_endless_answer_and_a_short_run_are_refused():
    done = simulate({"a": Normal(0.0, 1.0)}, lambda _: {"range": np.inf}, 1_000, seed=1)
    with pytest.raises(InputError, match="'range' that grows without end"):
        drivers(done, "range", known(a="stated"))
    few = simulate({"a": Normal(0.0, 1.0)}, lambda x: {"sum": x["a"]}, 100, seed=1)
    with pytest.raises(InputError, match="found 100 kept draws; expected 128 or more"):
        drivers(few, "sum", known(a="stated"))
