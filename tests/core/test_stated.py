"""A value as stated: exact, or with a band that a function may bend."""

import math

import numpy as np
import pytest
from scipy import stats

from linkbudget.core.distributions import Exact, Uniform, of_quantity
from linkbudget.core.empirical import Empirical
from linkbudget.core.stated import Stated, tabled


def test_an_exact_value_stays_exact_on_any_way():
    assert of_quantity(Stated(3.0).quantity("dB", "here")) == Exact(3.0)
    assert of_quantity(Stated(100.0).through(math.log10, "1", "here")) == Exact(2.0)


def test_a_range_is_alike_likely_between_hard_ends():
    quantity = Stated.between(-3.0, 5.0).quantity("dB", "here")
    assert of_quantity(quantity) == Uniform(-3.0, 5.0)
    assert quantity.value == 1.0
    assert quantity.coverage == "nothing beyond"


def test_a_gaussian_has_its_95_percent_band():
    low, high = Stated.spread(10.0, 2.0).band
    assert (low, high) == pytest.approx(stats.norm(10.0, 2.0).interval(0.95))


@pytest.mark.parametrize(
    ("stated", "law"),
    [
        (Stated.between(0.2, 0.8), stats.uniform(0.2, 0.6)),
        (Stated.spread(0.5, 0.05), stats.norm(0.5, 0.05)),
        (Stated(0.5, 0.2, 0.8, "triangular"), stats.triang(0.5, 0.2, 0.6)),
        (Stated(0.5, 0.2, 0.8, "arcsine"), stats.arcsine(0.2, 0.6)),
    ],
)
def test_a_function_bends_the_whole_shape(stated, law):
    bent = stated.through(lambda share: 10.0 * math.log10(share), "dB", "here")
    for probability in (0.025, 0.1, 0.5, 0.9, 0.975):
        expected = 10.0 * np.log10(law.ppf(probability))
        found = np.quantile(bent.table, probability)
        assert found == pytest.approx(expected, abs=0.02), probability
    assert (bent.low, bent.high) == pytest.approx(10.0 * np.log10(law.interval(0.95)), abs=0.03)
    assert isinstance(of_quantity(bent), Empirical)


def test_a_table_turns_and_shifts_with_its_quantity():
    quantity = tabled([1.0, 2.0, 4.0], "dB", "three readings", "measured")
    assert quantity.negated().table == (-4.0, -2.0, -1.0)
    assert quantity.less(1.0).table == (0.0, 1.0, 3.0)
    assert of_quantity(quantity.negated()).mean == pytest.approx(-7.0 / 3.0)
    assert of_quantity(quantity.without_band()) == Exact(2.0)
