"""Shapes, sampling errors and rank correlations against scipy, closed forms and repetition."""

import itertools
import math

import numpy as np
import pytest
from scipy import optimize, stats

from linkbudget.core.distributions import (
    Arcsine,
    Normal,
    OneSided,
    SplitNormal,
    Triangular,
    Uniform,
)
from linkbudget.core.empirical import Empirical
from linkbudget.core.uncertainty import (
    interval_with_error,
    quantile_with_error,
    quantiles_with_error,
    share_with_error,
    simulate,
)

DRAWS = 200_000
SHAPES = {
    "Gaussian": (Normal(3.0, 2.0), stats.norm(3.0, 2.0)),
    "half-normal": (OneSided(3.0, 2.0), None),  # scipy has the upper half, so mirrored below
    "rectangular": (Uniform(-1.0, 4.0), stats.uniform(-1.0, 5.0)),
    "triangular": (Triangular(-1.0, 0.5, 4.0), stats.triang(0.3, -1.0, 5.0)),
    "triangular, mode at the low end": (Triangular(0.0, 0.0, 2.0), stats.triang(0.0, 0.0, 2.0)),
    "triangular, mode at the high end": (Triangular(0.0, 2.0, 2.0), stats.triang(1.0, 0.0, 2.0)),
    "arcsine": (Arcsine(-1.0, 3.0), stats.arcsine(-1.0, 4.0)),
}


class _Mirrored:
    """Three less scipy's half-normal."""

    def __init__(self):
        self.half = stats.halfnorm(0.0, 2.0)

    def cdf(self, x):
        return self.half.sf(3.0 - np.asarray(x))

    def ppf(self, p):
        return 3.0 - self.half.isf(p)

    def mean(self):
        return 3.0 - self.half.mean()

    def std(self):
        return self.half.std()

    def interval(self, coverage):
        return self.ppf(0.5 - coverage / 2.0), self.ppf(0.5 + coverage / 2.0)


@pytest.fixture(params=SHAPES)
def pair(request):
    ours, theirs = SHAPES[request.param]
    return ours, theirs or _Mirrored()


def test_moments_are_those_of_scipy(pair):
    ours, theirs = pair
    assert ours.mean == pytest.approx(theirs.mean(), rel=1e-9)
    assert ours.standard_deviation == pytest.approx(theirs.std(), rel=1e-9)


@pytest.mark.parametrize("coverage", [0.01, 0.5, 0.95, 0.999])
def test_intervals_are_those_of_scipy(pair, coverage):
    ours, theirs = pair
    assert ours.interval(coverage) == pytest.approx(theirs.interval(coverage), rel=1e-9, abs=1e-9)


def test_draws_follow_the_distribution_of_scipy(pair):
    ours, theirs = pair
    drawn = ours.draw(np.random.default_rng(5), DRAWS)
    assert stats.kstest(drawn, theirs.cdf).pvalue > 0.01


def test_the_test_of_draws_tells_a_spread_that_is_two_percent_off():
    drawn = Normal(3.0, 2.04).draw(np.random.default_rng(5), DRAWS)
    assert stats.kstest(drawn, stats.norm(3.0, 2.0).cdf).pvalue < 1e-3


@pytest.mark.parametrize(("below", "above"), [(1.0, 3.0), (3.0, 1.0), (2.0, 2.0), (0.0, 1.0)])
def test_each_side_of_a_split_gaussian_is_half_a_gaussian(below, above):
    shape = SplitNormal(10.0, below, above)
    drawn = shape.draw(np.random.default_rng(6), DRAWS)
    upper = drawn[drawn > 10.0] - 10.0
    assert upper.size / DRAWS == pytest.approx(0.5, abs=4.0 * 0.5 / math.sqrt(DRAWS))
    assert stats.kstest(upper, stats.halfnorm(0.0, above).cdf).pvalue > 0.01
    if below:
        lower = 10.0 - drawn[drawn < 10.0]
        assert stats.kstest(lower, stats.halfnorm(0.0, below).cdf).pvalue > 0.01
    # the moments by integration of the two halves
    nodes = stats.norm.ppf((np.arange(1_000_000) + 0.5) / 1e6)
    whole = np.where(nodes < 0.0, 10.0 + nodes * below, 10.0 + nodes * above)
    assert shape.mean == pytest.approx(whole.mean(), abs=1e-5)
    assert shape.standard_deviation == pytest.approx(whole.std(), rel=1e-4)


def test_a_sample_keeps_the_shares_of_its_weights():
    shape = Empirical.of_sample([5.0, -2.0, 1.0], weights=[1.0, 2.0, 5.0])
    drawn = shape.draw(np.random.default_rng(7), DRAWS)
    counts = [np.count_nonzero(drawn == value) for value in (-2.0, 1.0, 5.0)]
    assert sum(counts) == DRAWS
    # shares of eighths are whole in a table of 4096, so the test of fit is exact
    assert stats.chisquare(counts, np.array([0.25, 0.625, 0.125]) * DRAWS).pvalue > 0.01


def test_values_of_a_sample_are_alike_likely():
    drawn = Empirical.of_sample([5.0, -2.0, 1.0]).draw(np.random.default_rng(7), DRAWS)
    counts = [np.count_nonzero(drawn == value) for value in (-2.0, 1.0, 5.0)]
    assert stats.chisquare(counts, np.full(3, DRAWS / 3.0)).pvalue > 0.01


def test_a_few_quantiles_of_a_gaussian_give_the_gaussian_back():
    shares = np.concatenate([[0.0], np.linspace(0.001, 0.999, 999), [1.0]])
    values = stats.norm.ppf(np.clip(shares, 1e-4, 1.0 - 1e-4))
    shape = Empirical.of_quantiles(shares, values)
    drawn = shape.draw(np.random.default_rng(8), 50_000)
    assert stats.kstest(drawn, stats.norm.cdf).pvalue > 0.01


def _exact_share_below(x, half_widths):
    """Return the distribution of a sum of rectangular terms, by inclusion and exclusion.

    F(x) = sum over signs s of prod(s) (x + s . a)_+^n / (n! prod(2 a)), the convolution of steps.
    """
    total = 0.0
    for signs in itertools.product((1, -1), repeat=len(half_widths)):
        reach = x + sum(sign * half for sign, half in zip(signs, half_widths, strict=True))
        total += math.prod(signs) * max(reach, 0.0) ** len(half_widths)
    scale = math.factorial(len(half_widths)) * math.prod(2.0 * half for half in half_widths)
    return total / scale


@pytest.mark.parametrize("half_widths", [(1.0, 1.0), (0.5, 2.0, 3.0), (1.0, 1.0, 1.0, 6.0)])
@pytest.mark.parametrize("share", [0.025, 0.1, 0.5, 0.9, 0.999])
def test_quantiles_of_a_sum_lie_within_their_sampling_error(half_widths, share):
    inputs = {str(number): Uniform(-half, half) for number, half in enumerate(half_widths)}
    done = simulate(inputs, lambda x: {"sum": sum(x.values())}, DRAWS, seed=11)
    found = quantile_with_error(done.outputs["sum"], share)
    widest = sum(half_widths)
    exact = optimize.brentq(
        lambda x: _exact_share_below(x, half_widths) - share, -widest, widest, xtol=1e-12
    )
    assert abs(found.value - exact) < 4.0 * found.standard_error
    assert found.standard_error < 0.02 * widest


@pytest.mark.parametrize("share", [0.05, 0.5, 0.95])
def test_the_stated_error_of_a_quantile_is_what_repetition_shows(share):
    rng = np.random.default_rng(12)
    found = [quantile_with_error(rng.standard_exponential(4_000), share) for _ in range(400)]
    shown = np.std([each.value for each in found])
    # spread of 400 repetitions: known to 1/sqrt(800) = 3.5 %; ranks are rounded outward
    stated = np.mean([each.standard_error for each in found])
    assert stated == pytest.approx(shown, rel=0.12)
    # closed form: sqrt(p (1 - p)/n) over the density, which is 1 - p for the exponential law
    assert stated == pytest.approx(math.sqrt(share / (1.0 - share) / 4_000), rel=0.06)


def test_the_stated_error_of_a_share_is_what_repetition_shows():
    rng = np.random.default_rng(13)
    found = [share_with_error(rng.random(2_000) < 0.02) for _ in range(400)]
    assert np.mean([each.standard_error for each in found]) == pytest.approx(
        np.std([each.value for each in found]), rel=0.12
    )


@pytest.mark.parametrize(("found", "draws"), [(0, 50), (3, 50), (50, 50), (700, 1_000)])
def test_the_stated_error_of_a_share_is_the_spread_of_the_beta_law(found, draws):
    holds = np.arange(draws) < found
    law = stats.beta(found + 1, draws - found + 1)
    assert share_with_error(holds).standard_error == pytest.approx(law.std(), rel=1e-12)


@pytest.mark.parametrize("draws", [2, 3, 100, 16_384, 16_385, 300_000])
def test_quantiles_are_those_of_numpy(draws):
    values = np.random.default_rng(14).standard_normal(draws)
    shares = [0.001, 0.025, 0.3, 0.5, 0.975]
    found = [each.value for each in quantiles_with_error(values, shares)]
    assert found == pytest.approx(np.quantile(values, shares), rel=1e-12)
    many = np.linspace(0.01, 0.99, 99)
    assert [each.value for each in quantiles_with_error(values, many)] == pytest.approx(
        np.quantile(values, many), rel=1e-12
    )


@pytest.mark.parametrize("order", ["rising", "falling", "half of it one value"])
def test_quantiles_are_those_of_numpy_where_the_first_draws_mislead(order):
    values = np.sort(np.random.default_rng(15).standard_normal(100_000))
    if order == "falling":
        values = values[::-1].copy()
    if order == "half of it one value":
        values[20_000:70_000] = values[20_000]
    shares = [0.025, 0.5, 0.975]
    found = [each.value for each in quantiles_with_error(values, shares)]
    assert found == pytest.approx(np.quantile(values, shares), rel=1e-12)


@pytest.mark.parametrize("coverage", [0.5, 0.8, 0.95])
def test_intervals_cover_as_often_as_they_say(coverage):
    """20,000 links, each truth drawn from the stated spreads; self-consistent, not accurate."""
    inputs = {"power": Normal(4.0, 1.0), "loss": Triangular(2.0, 4.0, 9.0), "body": Uniform(0, 6)}

    def level(x):
        return {"level": x["power"] - x["loss"] - x["body"]}

    low, high = interval_with_error(
        simulate(inputs, level, 400_000, seed=16).outputs["level"], coverage
    )
    truths = simulate(inputs, level, 20_000, seed=17).outputs["level"]
    covered = np.mean((truths >= low.value) & (truths <= high.value))
    assert covered == pytest.approx(
        coverage, abs=3.0 * math.sqrt(coverage * (1 - coverage) / 20_000)
    )
