"""Quantities, sources, tables and errors."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.core.errors import InputError, InputErrors, OutOfRange
from linkbudget.core.quantity import Quantity
from linkbudget.core.sources import source_from_row
from linkbudget.core.tables import LogFrequencyTable, load_sourced_rows


def test_a_band_must_hold_its_value():
    with pytest.raises(ValueError, match="outside its band"):
        Quantity(5.0, "dB", "computed", 6.0, 7.0)
    with pytest.raises(ValueError, match="both ends"):
        Quantity(5.0, "dB", "computed", low=4.0)


def test_a_loss_enters_a_budget_with_its_band_turned():
    turned = Quantity(3.0, "dB", "typical", 1.0, 7.0).negated()
    assert (turned.value, turned.low, turned.high) == (-3.0, -7.0, -1.0)
    assert Quantity(3.0, "dB", "stated").negated().low is None


def test_a_row_without_a_source_does_not_load():
    row = {"document": " ", "obtained": "from memory"}
    with pytest.raises(InputError, match="a data row without a source"):
        source_from_row(row, file="limits.csv", line=7)


def test_how_a_value_was_obtained_is_a_closed_list():
    row = {"document": "CISPR 32", "obtained": "hearsay"}
    with pytest.raises(InputError, match="'hearsay'") as caught:
        source_from_row(row, file="limits.csv", line=7)
    assert caught.value.place == "limits.csv:7: obtained"


def test_an_unchecked_source_says_check_against_the_standard():
    row = {"document": "CISPR 32", "edition": "2015", "clause": "A.4", "obtained": "from memory"}
    assert "check against the standard" in str(source_from_row(row, file="", line=1))


def test_every_shipped_table_loads_with_a_source_on_every_row():
    from importlib import resources

    data = resources.files("linkbudget").joinpath("data")
    names = [
        f"{folder.name}/{file.name}"
        for folder in data.iterdir()
        if folder.is_dir()
        for file in folder.iterdir()
        if file.name.endswith(".csv")
    ]
    assert len(names) >= 5
    for name in names:
        assert load_sourced_rows(name), name


def test_interpolation_is_linear_over_log_frequency():
    table = LogFrequencyTable(np.array([1e6, 100e6]), np.array([10.0, 30.0]), "antenna factor")
    assert table.at(np.array([1e6, 10e6, 100e6])) == pytest.approx([10.0, 20.0, 30.0])


def test_a_table_is_never_extrapolated():
    table = LogFrequencyTable(np.array([30e6, 1e9]), np.array([10.0, 30.0]), "antenna factor")
    with pytest.raises(OutOfRange, match="antenna factor is needed") as caught:
        table.at(np.array([29e6, 100e6]))
    assert (caught.value.low, caught.value.high) == (30e6, 1e9)


@pytest.mark.parametrize("frequencies", [[2.0, 1.0], [1.0, 1.0], [0.0, 1.0], [1.0, float("nan")]])
def test_a_table_that_does_not_rise_is_refused(frequencies):
    with pytest.raises(InputError, match="strictly rising"):
        LogFrequencyTable(np.array(frequencies), np.array([1.0, 2.0]), "cable")


def test_an_error_names_file_line_field_and_cure():
    error = InputError("'5 dB'", "a length", "Write mm.").located(file="a.toml", line=3, field="x")
    assert str(error) == "a.toml:3: x: found '5 dB'; expected a length. Write mm."
    assert error.located(file="b.toml").file == "a.toml"
    both = InputErrors([error, InputError("1", "2")])
    assert str(both).count("\n") == 1


def test_an_out_of_range_error_keeps_its_range_when_located():
    error = OutOfRange("frequency (Hz)", 1.0, 2.0, 3.0).located(file="scan.csv", line=4)
    assert isinstance(error, OutOfRange)
    assert (error.value, error.low, error.high, error.line) == (1.0, 2.0, 3.0, 4)


@given(st.lists(st.floats(-100, 100), min_size=2, max_size=6))
def test_root_sum_square_lies_between_the_largest_and_the_plain_sum(parts):
    from linkbudget.core.decibels import root_sum_square_db

    total = root_sum_square_db(parts)
    sizes = [abs(part) for part in parts]
    assert max(sizes) - 1e-9 <= total <= sum(sizes) + 1e-9
