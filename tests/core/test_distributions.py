"""Every shape stays within its ends, continues its series, and refuses what makes no sense."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.core.distributions import (
    Arcsine,
    Exact,
    Normal,
    OneSided,
    SplitNormal,
    Triangular,
    Uniform,
    of_quantity,
)
from linkbudget.core.empirical import Empirical
from linkbudget.core.errors import InputError
from linkbudget.core.quantity import Quantity

values = st.floats(-200.0, 200.0)
spreads = st.floats(0.0, 50.0)
ends = st.tuples(values, st.floats(0.01, 100.0)).map(lambda pair: (pair[0], sum(pair)))
hard = st.one_of(
    ends.map(lambda pair: Uniform(*pair)),
    ends.map(lambda pair: Arcsine(*pair)),
    st.tuples(ends, st.floats(0.0, 1.0)).map(
        lambda given: Triangular(
            given[0][0],
            min(given[0][0] + given[1] * (given[0][1] - given[0][0]), given[0][1]),
            given[0][1],
        )
    ),
)
samples = st.lists(values, min_size=1, max_size=30)
shapes = st.one_of(
    hard,
    values.map(Exact),
    st.builds(Normal, values, spreads),
    st.builds(SplitNormal, values, spreads, spreads),
    st.builds(OneSided, values, spreads),
    samples.map(Empirical.of_sample),
)
words = st.sampled_from(["", "gaussian", "rectangular", "triangular", "arcsine"])


@st.composite
def quantities(draw):
    value = draw(values)
    low, high = value - draw(st.floats(0.0, 30.0)), value + draw(st.floats(0.0, 30.0))
    return Quantity(value, "dB", "stated", low, high, shape=draw(words))


@given(hard, st.integers(0, 1000))
def test_draws_stay_between_hard_ends(shape, seed):
    drawn = shape.draw(np.random.default_rng(seed), 500)
    slack = 1e-12 * max(1.0, abs(shape.low), abs(shape.high))
    assert shape.low - slack <= drawn.min()
    assert drawn.max() <= shape.high + slack


@given(values, spreads, st.integers(0, 1000))
def test_a_one_sided_reading_never_lies_above(value, below, seed):
    drawn = OneSided(value, below).draw(np.random.default_rng(seed), 500)
    assert drawn.max() <= value


@given(shapes, st.floats(0.01, 0.98))
def test_a_wider_coverage_holds_the_narrower(shape, coverage):
    low, high = shape.interval(coverage)
    wider_low, wider_high = shape.interval(coverage + 0.01)
    slack = 1e-9 * max(1.0, abs(low), abs(high))
    assert wider_low - slack <= low <= high + slack
    assert high <= wider_high + slack


@given(shapes, st.integers(0, 1000))
def test_two_draws_in_a_row_continue_one_series(shape, seed):
    whole = shape.draw(np.random.default_rng(seed), 100)
    rng = np.random.default_rng(seed)
    parts = [shape.draw(rng, 37), shape.draw(rng, 63, np.empty(63))]
    assert np.concatenate(parts) == pytest.approx(whole, rel=1e-12, abs=1e-12)


@given(shapes)
def test_draws_go_where_they_are_sent(shape):
    out = np.full(10, np.nan)
    assert shape.draw(np.random.default_rng(1), 10, out) is out
    assert np.all(np.isfinite(out))


@given(samples, st.data())
def test_the_mean_of_a_weighted_sample_is_that_of_numpy(sample, data):
    weights = data.draw(st.lists(st.floats(0.1, 10.0), min_size=len(sample), max_size=len(sample)))
    shape = Empirical.of_sample(sample, weights)
    resolution = (max(sample) - min(sample)) / 4096  # of its table
    assert shape.mean == pytest.approx(np.average(sample, weights=weights), abs=resolution + 1e-9)


@given(quantities())
def test_a_band_comes_back_from_its_shape(quantity):
    shape = of_quantity(quantity)
    soft = quantity.shape in ("", "gaussian")
    if quantity.low == quantity.high:
        assert shape == Exact(quantity.value)
    elif soft:
        assert shape.interval(0.95) == pytest.approx(quantity.band, abs=1e-9)
    else:
        assert (shape.low, shape.high) == quantity.band


@given(quantities(), st.floats(0.1, 0.99))
def test_a_quantity_turned_round_has_its_shape_turned_round(quantity, coverage):
    low, high = of_quantity(quantity).interval(coverage)
    turned = of_quantity(quantity.negated()).interval(coverage)
    assert turned == pytest.approx((-high, -low), abs=1e-6)


def test_a_value_without_a_band_has_no_spread():
    assert of_quantity(Quantity(3.0, "dB", "stated", shape="arcsine")) == Exact(3.0)


def test_each_word_for_a_shape_gives_that_shape():
    def shaped(word):
        return of_quantity(Quantity(1.0, "dB", "stated", 0.0, 4.0, shape=word))

    assert shaped("rectangular") == Uniform(0.0, 4.0)
    assert shaped("triangular") == Triangular(0.0, 1.0, 4.0)
    assert shaped("arcsine") == Arcsine(0.0, 4.0)
    # 1.959964: ends of a 95 % interval in standard deviations, from tables of the normal law
    assert shaped("gaussian") == shaped("")
    assert shaped("").below == pytest.approx(1.0 / 1.959964, rel=1e-6)
    assert shaped("").above == pytest.approx(3.0 / 1.959964, rel=1e-6)


@pytest.mark.parametrize(
    ("build", "words"),
    [
        (lambda: Normal(0.0, -1.0), "found a spread of -1; expected zero or more"),
        (lambda: Normal(0.0, math.nan), "a spread of nan"),
        (lambda: SplitNormal(0.0, 1.0, math.inf), "a spread of inf"),
        (lambda: OneSided(0.0, -0.1), "a spread of -0.1"),
        (lambda: Uniform(2.0, 2.0), "found 2 to 2; expected a low end below the high end"),
        (lambda: Arcsine(3.0, -3.0), "found 3 to -3"),
        (lambda: Triangular(0.0, 5.0, 4.0), "a most likely value of 5; expected 0 to 4"),
        (lambda: Normal(0.0, 1.0).interval(1.0), "a coverage of 1; expected between 0 and 1"),
        (lambda: Empirical.of_sample([]), "an empty table"),
        (lambda: Empirical.of_sample([1.0, math.nan]), "a value that is not finite"),
        (lambda: Empirical.of_sample([1.0, 2.0], [1.0]), "weights that do not fit"),
        (lambda: Empirical.of_sample([1.0, 2.0], [0.0, 0.0]), "weights that do not fit"),
        (lambda: Empirical(np.array([2.0, 1.0])), "a table that falls"),
        (lambda: Empirical.of_quantiles([0.1, 1.0], [1.0, 2.0]), "do not rise from 0 to 1"),
        (lambda: Empirical.of_quantiles([0.0, 1.0], [2.0, 1.0]), "a table that falls"),
    ],
)
def test_what_makes_no_sense_is_refused(build, words):
    with pytest.raises(InputError, match=words):
        build()
