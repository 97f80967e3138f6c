"""Plastic beside an antenna: limits that any right form has, and what is refused."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from linkbudget.core.errors import InputError, OutOfRange
from linkbudget.physics.plastics import (
    detuned_loss_db,
    effective_permittivity,
    lowered_resonance,
    most_quality_factor,
    plastics,
)

HZ = 2.44e9
STRIP_M = 0.25e-3

permittivity = st.floats(1.0, 12.0)
thickness = st.floats(0.0, 0.010)
gap = st.floats(0.0, 0.010)


def felt(er, thickness_m, gap_m):
    return effective_permittivity(er, thickness_m, gap_m, HZ, STRIP_M)


@pytest.mark.parametrize(("er", "thickness_m"), [(1.0, 0.002), (2.8, 0.0), (12.0, 0.0)])
def test_no_wall_and_a_wall_of_air_do_nothing(er, thickness_m):
    assert felt(er, thickness_m, 0.001) == pytest.approx(1.0, abs=1e-9)


@given(permittivity, thickness, gap)
def test_never_more_than_half_embedded(er, thickness_m, gap_m):
    assert 1.0 <= felt(er, thickness_m, gap_m) <= (er + 1.0) / 2.0 + 1e-9


@given(permittivity, thickness, gap, st.floats(1.0, 1.5))
def test_a_thicker_or_denser_wall_does_more_and_a_further_one_less(er, thickness_m, gap_m, more):
    now = felt(er, thickness_m, gap_m)
    assert felt(er, thickness_m * more, gap_m) >= now - 1e-9
    assert felt(er, thickness_m, gap_m * more) <= now + 1e-9
    assume(er * more <= 12.0)
    assert felt(er * more, thickness_m, gap_m) >= now - 1e-9


@pytest.mark.parametrize("er", [2.25, 4.0, 9.0])
def test_full_embedding_divides_the_resonance_by_the_root_of_the_permittivity(er):
    # both sides thick against a strip of 20 um; at 100 MHz the fields reach 0.7 m
    half = effective_permittivity(er, 0.7, 0.0, 100e6, 5e-6)
    assert lowered_resonance([half, half]) == pytest.approx(1.0 / math.sqrt(er), rel=0.01)


@pytest.mark.parametrize(
    ("case", "said"),
    [
        ((13.0, 0.002, 0.001), "relative permittivity 13"),
        ((2.8, 0.040, 0.0), "thickness"),
        ((2.8, 0.002, 0.030), "gap to the antenna"),
        ((2.8, 0.002, -0.001), "gap to the antenna"),
    ],
)
def test_nothing_is_extrapolated(case, said):
    with pytest.raises(OutOfRange, match=said):
        felt(*case)


def test_an_antenna_that_keeps_its_resonance_loses_nothing():
    assert detuned_loss_db(2.40e9, 2.48e9, 1.0, 20.0) == 0.0


@given(st.floats(1.0, 60.0), st.floats(0.7, 1.0), st.floats(0.95, 1.0))
def test_more_shift_loses_more(quality_factor, lowered, further):
    one = detuned_loss_db(2.40e9, 2.48e9, lowered, quality_factor)
    assert detuned_loss_db(2.40e9, 2.48e9, lowered * further, quality_factor) >= one - 1e-6


def test_a_single_frequency_bounds_no_quality_factor():
    assert most_quality_factor(10.0, HZ, HZ) == math.inf
    with pytest.raises(InputError, match="return loss"):
        most_quality_factor(0.0, HZ, HZ)


def test_every_plastic_lies_between_foam_and_glass():
    assert len(plastics()) > 8
    for row in plastics().values():
        assert 2.0 < row.low <= row.permittivity <= row.high < 5.0, row.name
        assert row.source.obtained == "from memory"
