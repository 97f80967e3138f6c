"""The simulation: the same draws for the same seed, whatever else changes."""

import math
import tracemalloc

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linkbudget.core.distributions import (
    Arcsine,
    Exact,
    Normal,
    SplitNormal,
    Triangular,
    Uniform,
)
from linkbudget.core.empirical import Empirical
from linkbudget.core.errors import InputError
from linkbudget.core.uncertainty import (
    Estimate,
    interval_with_error,
    quantile_with_error,
    share_with_error,
    simulate,
    simulate_until,
)

INPUTS = {
    "power": Normal(4.0, 1.0),
    "gain": Empirical.of_sample([-3.0, 0.0, 1.0, 2.0]),
    "metal": SplitNormal(10.0, 2.0, 4.0),
    "cable": Uniform(0.5, 1.0),
    "mismatch": Arcsine(-0.5, 0.5),
    "body": Triangular(0.0, 2.0, 6.0),
    "sensitivity": Exact(-20.0),
}


def link(x):
    level = x["power"] + x["gain"] - x["metal"] - x["cable"] - x["mismatch"] - x["body"]
    return {"level": level, "margin": level - x["sensitivity"]}


def assert_alike(found, expected):
    """But for the last bit, which may depend on how a library splits an array."""
    assert np.allclose(found, expected, rtol=1e-12, atol=1e-12)
    assert found.shape == expected.shape


@pytest.mark.parametrize("chunk", [1, 97, 1_000, 50_000])
def test_the_chunk_changes_nothing(chunk):
    draws = 2_000 if chunk == 1 else 30_000
    usual = simulate(INPUTS, link, draws, seed=3)
    other = simulate(INPUTS, link, draws, seed=3, chunk=chunk)
    for name, values in usual.outputs.items():
        assert_alike(other.outputs[name], values)
    for name, values in usual.inputs.items():
        assert_alike(other.inputs[name], values)


def test_a_longer_run_begins_as_the_shorter():
    short = simulate(INPUTS, link, 10_000, seed=3)
    long = simulate(INPUTS, link, 25_000, seed=3)
    assert_alike(long.outputs["margin"][:10_000], short.outputs["margin"])
    assert (short.draws, long.draws) == (10_000, 25_000)


def test_an_input_is_drawn_alike_beside_others():
    alone = simulate({"metal": INPUTS["metal"]}, lambda x: {"loss": x["metal"]}, 9_000, seed=3)
    among = simulate(INPUTS, link, 9_000, seed=3)
    turned = simulate(dict(reversed(INPUTS.items())), link, 9_000, seed=3)
    assert np.array_equal(alone.inputs["metal"], among.inputs["metal"])
    assert np.array_equal(turned.inputs["metal"], among.inputs["metal"])


def test_seeds_and_names_make_draws_of_their_own():
    inputs = {"a": Normal(0.0, 1.0), "b": Normal(0.0, 1.0)}
    runs = [simulate(inputs, lambda x: {"sum": x["a"] + x["b"]}, 16_000, seed=s) for s in (1, 2)]
    columns = [run.inputs[name] for run in runs for name in inputs]
    off_diagonal = np.corrcoef(columns) - np.eye(4)
    # independent: correlations of 16,000 pairs scatter by 1/sqrt(16,000) = 0.008
    assert np.abs(off_diagonal).max() < 4.0 / math.sqrt(16_000)


def test_kept_inputs_belong_to_the_first_outputs():
    done = simulate(INPUTS, link, 20_000, seed=3, kept=12_345)
    assert {len(values) for values in done.inputs.values()} == {12_345}
    assert_alike(link(done.inputs)["margin"], done.outputs["margin"][:12_345])


def test_inputs_that_the_model_spoils_are_kept_as_drawn():
    def spoil(x):
        x["a"] *= 0.0
        return {"b": x["a"]}

    done = simulate({"a": Uniform(1.0, 2.0)}, spoil, 20_000, seed=3)
    assert done.inputs["a"].min() >= 1.0
    assert done.outputs["b"].max() == 0.0


def test_an_output_that_is_an_input_keeps_every_chunk():
    done = simulate({"a": Normal(0.0, 1.0)}, lambda x: {"same": x["a"]}, 16_000, seed=3)
    assert np.array_equal(done.outputs["same"], done.inputs["a"])


def test_a_link_without_doubt_gives_one_value():
    done = simulate({}, lambda _: {"margin": 3.0}, 100, seed=1)
    assert quantile_with_error(done.outputs["margin"], 0.5) == Estimate(3.0, 0.0)


def test_memory_is_bounded_by_the_outputs():
    inputs = {str(number): Normal(0.0, 1.0) for number in range(12)}
    draws = 500_000
    tracemalloc.start()
    done = simulate(inputs, lambda x: {"sum": sum(x.values())}, draws, seed=1)
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    # one output of 8 bytes a draw, 12 inputs of a chunk and kept; all inputs would take 48 MB
    assert done.outputs["sum"].nbytes == 8 * draws
    assert most < 8 * draws + 5e6


def test_infinite_reach_is_an_answer_and_not_a_number_is_none():
    def reach(x):
        return {"m": np.where(x["a"] < 0.4, x["a"], np.inf)}

    done = simulate({"a": Uniform(0.0, 1.0)}, reach, 10_000, seed=1)
    assert quantile_with_error(done.outputs["m"], 0.3).value == pytest.approx(0.3, abs=0.02)
    assert quantile_with_error(done.outputs["m"], 0.5) == Estimate(math.inf, 0.0)
    with pytest.raises(InputError, match="an output 'root' that is not a number"):
        simulate(
            {"a": Normal(0.0, 1.0)},
            lambda x: {"root": np.where(x["a"] > 0.0, x["a"], np.nan)},
            100,
            seed=1,
        )


@pytest.mark.parametrize(("draws", "chunk"), [(0, 10), (10, 0)])
def test_no_draws_are_refused(draws, chunk):
    with pytest.raises(InputError, match="at least 1 of each"):
        simulate(INPUTS, link, draws, seed=1, chunk=chunk)


def test_draws_are_doubled_until_the_figure_is_sure_enough():
    seen = []

    def chance(done):
        seen.append(done.draws)
        return share_with_error(done.outputs["margin"] >= 10.0)

    done, found = simulate_until(INPUTS, link, chance, 0.001, seed=3, first=10_000)
    assert seen == [10_000 * 2**step for step in range(len(seen))]
    assert found.standard_error <= 0.001
    # a probability near one half needs p (1 - p)/0.001^2 draws, at most 250,000
    assert 0.5 * done.draws < found.value * (1.0 - found.value) / 0.001**2 <= done.draws
    again = simulate(INPUTS, link, done.draws, seed=3)
    assert_alike(again.outputs["margin"], done.outputs["margin"])
    assert np.array_equal(again.inputs["gain"], done.inputs["gain"])


def test_the_ceiling_stops_a_run_that_does_not_settle():
    done, found = simulate_until(
        INPUTS,
        link,
        lambda done: quantile_with_error(done.outputs["margin"], 0.5),
        1e-9,
        seed=3,
        first=1_000,
        ceiling=5_000,
    )
    assert done.draws == 5_000
    assert found.standard_error > 1e-9
    with pytest.raises(InputError, match="a tolerance of 0"):
        simulate_until(INPUTS, link, lambda _: found, 0.0, seed=3)


@settings(max_examples=25)
@given(
    st.lists(
        st.one_of(
            st.builds(Normal, st.floats(-50.0, 50.0), st.floats(0.1, 9.0)),
            st.builds(
                SplitNormal, st.floats(-50.0, 50.0), st.floats(0.1, 9.0), st.floats(0.1, 9.0)
            ),
            st.floats(0.1, 9.0).map(lambda half: Uniform(-half, half)),
            st.floats(0.1, 9.0).map(lambda half: Arcsine(-half, half)),
            st.floats(0.1, 9.0).map(lambda high: Triangular(-1.0, 0.0, high)),
        ),
        min_size=1,
        max_size=6,
    ),
    st.integers(0, 100_000),
)
def test_means_and_variances_of_independent_terms_add(shapes, seed):
    inputs = {str(number): shape for number, shape in enumerate(shapes)}
    total = simulate(inputs, lambda x: {"sum": sum(x.values())}, 20_000, seed=seed).outputs["sum"]
    mean = math.fsum(shape.mean for shape in shapes)
    spread = math.sqrt(math.fsum(shape.standard_deviation**2 for shape in shapes))
    # five standard errors; that of the spread with a kurtosis of up to 6 (split Gaussian)
    assert abs(total.mean() - mean) < 5.0 * spread / math.sqrt(20_000)
    assert total.std() == pytest.approx(spread, rel=5.0 * math.sqrt((6.0 - 1.0) / 4.0 / 20_000))


@given(
    st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=60),
    st.floats(0.001, 0.999),
    st.floats(-1e3, 1e3),
)
def test_a_quantile_moves_with_its_values(values, share, step):
    found = quantile_with_error(np.array(values), share)
    moved = quantile_with_error(np.array(values) + step, share)
    assert min(values) <= found.value <= max(values)
    assert found.standard_error >= 0.0
    assert moved.value == pytest.approx(found.value + step, abs=1e-6)


def test_too_few_draws_do_not_tell_a_rare_quantile():
    values = np.random.default_rng(1).standard_normal(1_000)
    assert quantile_with_error(values, 0.9999).standard_error == math.inf
    assert quantile_with_error(values, 0.9).standard_error < 0.2


@pytest.mark.parametrize(
    ("low", "high", "middle"), [(-math.inf, 0.0, -math.inf), (0.0, math.inf, math.inf)]
)
def test_there_is_no_middle_on_the_way_to_infinity(low, high, middle):
    assert quantile_with_error(np.array([low, high]), 0.5) == Estimate(middle, math.inf)


def test_an_interval_is_its_two_quantiles():
    values = np.random.default_rng(1).standard_normal(1_000)
    ends = [end.value for end in interval_with_error(values, 0.8)]
    assert ends == pytest.approx(np.quantile(values, [0.1, 0.9]), rel=1e-12)


@pytest.mark.parametrize("probability", [0.0, 1.0, -0.1, math.nan])
def test_a_share_outside_0_to_1_has_no_quantile(probability):
    with pytest.raises(InputError, match="expected between 0 and 1"):
        quantile_with_error(np.arange(5.0), probability)
