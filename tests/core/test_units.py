"""Text becomes a number, or an error that an engineer can act on."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkbudget.core.errors import InputError
from linkbudget.core.units import KINDS, format_frequency, format_length, parse


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        ("2.44 GHz", "frequency", 2.44e9),
        ("2440MHz", "frequency", 2.44e9),
        ("  150 kHz ", "frequency", 150e3),
        ("4.8e8 Hz", "frequency", 4.8e8),
        ("1.5 mm", "length", 0.0015),
        ("3 mil", "length", 76.2e-6),
        ("0.5 in", "length", 0.0127),
        ("4 dBm", "power level", 4.0),
        ("-30 dBW", "power level", 0.0),
        ("100 mW", "power level", 20.0),
        ("−94 dBm", "power level", -94.0),
        ("2 dBd", "gain", 4.15),
        ("3 dBi", "gain", 3.0),
        ("40 dBµV/m", "field level", 40.0),
        ("100 uV/m", "field level", 40.0),
        ("60 dBuV", "voltage level", 60.0),
        ("1 mV", "voltage level", 60.0),
        ("12.5 dB(1/m)", "antenna factor", 12.5),
        ("99 %", "share", 0.99),
        ("3 weeks", "duration", 21.0),
        ("35 MS/m", "conductivity", 35e6),
        ("1 Mbit/s", "bit rate", 1e6),
        ("0 mm", "length", 0.0),
    ],
)
def test_reads_a_number_and_its_unit(text, kind, expected):
    assert parse(text, kind) == pytest.approx(expected, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "said"),
    [
        ("2,4 GHz", "frequency", "decimal mark as a point"),
        ("1,000 MHz", "frequency", "no thousands marks"),
        ("2.44", "frequency", "The unit is missing"),
        (2.44, "frequency", "Write it as text with its unit"),
        (True, "frequency", "in quotation marks"),
        (None, "length", "in quotation marks"),
        ("2.44 Ghz", "frequency", 'Did you mean "GHz"?'),
        ("3 dBu", "voltage level", "dBuV"),
        ("4 dBm", "gain", "dBm is a unit of power level, not of gain"),
        ("3 dBuV", "field level", "dBuV is a unit of voltage level, not of field level"),
        ("9**9**9 m", "length", "Units of length"),
        ("1.00.0 MHz", "frequency", "a number and a unit"),
        ("nan GHz", "frequency", "a number and a unit"),
        ("inf m", "length", "a number and a unit"),
        ("1e999 m", "length", "a length from 0 to 1e+06 m"),
        ("-3 mm", "length", "a length from 0"),
        ("-2 dB", "loss", "a loss from 0 to 400 dB"),
        ("0 mW", "power level", "greater than zero"),
        ("120 %", "share", "a share from 0 to 1"),
        ("", "length", "a number and a unit"),
        ("m", "length", "a number and a unit"),
        ("1 m 2 m", "length", "a number and a unit"),
        ("1 m\n2", "length", "a number and a unit"),
        ("9" * 5000 + " m", "length", "…"),
        ("١ m", "length", "a number and a unit"),
    ],
)
def test_refuses_and_says_what_is_expected(text, kind, said):
    with pytest.raises(InputError) as caught:
        parse(text, kind, field="radio.something")
    assert said in str(caught.value)
    assert caught.value.field == "radio.something"


@given(st.text(max_size=80), st.sampled_from(sorted(KINDS)))
def test_any_text_is_a_finite_number_in_range_or_an_input_error(text, kind):
    try:
        value = parse(text, kind)
    except InputError:
        return
    assert math.isfinite(value)
    assert KINDS[kind].low <= value <= KINDS[kind].high


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_the_example_of_each_kind_is_readable(kind):
    assert math.isfinite(parse(KINDS[kind].example, kind))


def test_frequencies_and_lengths_are_printed_as_an_engineer_would():
    assert format_frequency(2.4835e9) == "2.4835 GHz"
    assert format_frequency(87.5e6) == "87.5 MHz"
    assert format_frequency(50.0) == "50 Hz"
    assert format_length(0.012) == "12 mm"
    assert format_length(17.94) == "17.9 m"
