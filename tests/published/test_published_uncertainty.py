"""The additive examples that JCGM 101 works through, by this project's simulation."""

import math

import numpy as np
import pytest

from linkbudget.core.distributions import Arcsine, Normal, Triangular, Uniform
from linkbudget.core.uncertainty import interval_with_error, simulate

SOURCE = "JCGM 101:2008"
DRAWS = 4_000_000  # a standard error of 0.003 at the ends, of 0.002 at half the width
BELL = Normal(0.0, 1.0)
RECTANGLE = Uniform(-math.sqrt(3.0), math.sqrt(3.0))  # standard uncertainty 1
WIDE = Uniform(-10.0 * math.sqrt(3.0), 10.0 * math.sqrt(3.0))  # standard uncertainty 10


def summed(*shapes):
    inputs = {f"X{number}": shape for number, shape in enumerate(shapes, 1)}
    done = simulate(inputs, lambda x: {"Y": sum(x.values())}, DRAWS, seed=101)
    low, high = interval_with_error(done.outputs["Y"], 0.95)
    return float(np.std(done.outputs["Y"])), (high.value - low.value) / 2.0


@pytest.mark.published(source=SOURCE, where="9.2.2, four Gaussian inputs", from_memory=True)
def test_four_gaussian_inputs(printed):
    uncertainty, half_width = summed(BELL, BELL, BELL, BELL)
    assert uncertainty == printed("2.00")
    assert half_width == printed("3.92")


@pytest.mark.published(source=SOURCE, where="9.2.3, four rectangular inputs", from_memory=True)
def test_four_rectangular_inputs_of_one_width(printed):
    uncertainty, half_width = summed(RECTANGLE, RECTANGLE, RECTANGLE, RECTANGLE)
    assert uncertainty == printed("2.00")
    assert half_width == printed("3.88")


@pytest.mark.published(
    source=SOURCE, where="9.2.4, one rectangle ten times as wide", from_memory=True
)
def test_one_dominant_rectangular_input(printed):
    uncertainty, half_width = summed(RECTANGLE, RECTANGLE, RECTANGLE, WIDE)
    assert uncertainty == printed("10.1")
    assert half_width == printed("17.0")


@pytest.mark.published(source=SOURCE, where="table 1, standard uncertainties", from_memory=True)
def test_divisors_of_hard_ends(printed):
    # half-width over root 3, root 6 and root 2: 0.577, 0.408 and 0.707
    assert Uniform(-1.0, 1.0).standard_deviation == printed("0.577")
    assert Triangular(-1.0, 0.0, 1.0).standard_deviation == printed("0.408")
    assert Arcsine(-1.0, 1.0).standard_deviation == printed("0.707")
