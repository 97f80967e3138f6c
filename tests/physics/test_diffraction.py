"""Knife edge: monotony, reciprocity, and the edge of validity."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.core.errors import OutOfRange
from linkbudget.physics.diffraction import (
    LEAST_PARAMETER,
    diffraction_parameter,
    knife_edge_exact_loss_db,
    knife_edge_loss_db,
)

F = 2.44e9
distances = st.floats(2.0, 1e3)


@given(st.floats(-0.3, 0.3), distances, distances)
def test_both_ends_may_be_exchanged(height_m, one_m, other_m):
    assert diffraction_parameter(F, height_m, one_m, other_m) == diffraction_parameter(
        F, height_m, other_m, one_m
    )


@given(st.floats(1e-6, 0.3), distances, distances)
def test_below_the_line_the_parameter_turns_its_sign(height_m, one_m, other_m):
    above = diffraction_parameter(F, height_m, one_m, other_m)
    assert above > 0.0
    assert diffraction_parameter(F, -height_m, one_m, other_m) == -above


@given(st.floats(-0.78, 50.0), st.floats(1e-3, 5.0))
def test_loss_grows_with_the_parameter(parameter, step):
    assert knife_edge_loss_db(parameter + step) > knife_edge_loss_db(parameter)


@given(st.floats(-0.7, 50.0), st.floats(1e-3, 5.0))
def test_exact_loss_grows_with_the_parameter(parameter, step):
    assert knife_edge_exact_loss_db(parameter + step) > knife_edge_exact_loss_db(parameter)


def test_the_approximation_ends_where_it_costs_nothing():
    assert knife_edge_loss_db(LEAST_PARAMETER) == pytest.approx(0.0, abs=0.01)


def test_an_edge_far_below_the_path_costs_nothing():
    assert knife_edge_exact_loss_db(-500.0) == pytest.approx(0.0, abs=0.01)
    assert knife_edge_exact_loss_db(np.linspace(-5.0, 0.0, 5001)).min() == pytest.approx(
        -1.37, abs=0.01
    )  # first and highest crest of Fresnel's fringes: intensity 1.370


def test_arrays_give_what_their_points_give():
    v = np.array([[-0.5, 0.0], [1.0, 2.4]])
    for loss in (knife_edge_loss_db, knife_edge_exact_loss_db):
        assert loss(v).shape == (2, 2)
        assert list(loss(v).flat) == [loss(float(x)) for x in v.flat]


@pytest.mark.parametrize("parameter", [-0.79, float("nan")])
def test_the_approximation_below_its_range_is_refused(parameter):
    with pytest.raises(OutOfRange, match=r"diffraction parameter.*-0\.78.*clear of the path"):
        knife_edge_loss_db(parameter)


def test_the_exact_form_beyond_its_digits_is_refused():
    with pytest.raises(OutOfRange, match="diffraction parameter 1001"):
        knife_edge_exact_loss_db(1001.0)


@pytest.mark.parametrize(
    ("height_m", "one_m", "other_m", "found"),
    [
        (0.1, 0.1, 2.0, r"edge to antenna \(m\) 0\.1"),
        (0.1, 2.0, 0.1, r"edge to far antenna \(m\) 0\.1"),
        (1.0, 1.0, 2.0, r"bend of the way round the edge \(rad\) 1\.2"),
        (float("nan"), 1.0, 2.0, "bend of the way"),
    ],
)
def test_an_edge_that_no_formula_takes_is_refused(height_m, one_m, other_m, found):
    with pytest.raises(OutOfRange, match=found):
        diffraction_parameter(F, height_m, one_m, other_m)
