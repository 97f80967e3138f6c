"""Our closed table of units against pint and scipy, which convert multiplicative units safely."""

import math

import pint
import pytest
from scipy import constants

from linkbudget.core.units import KINDS, parse

# our name of the unit -> pint's, where they differ ("inch" and "in" are one unit there)
PINT_NAME = {
    "in": "inch",
    "Ω": "ohm",
    "µm": "um",
    "μm": "um",
    "mil": "thou",
    "mohm": "milliohm",
    "kohm": "kiloohm",
    "%": "percent",
    "°": "degree",
    "deg": "degree",
    "weeks": "week",
    "days": "day",
    "d": "day",
    "h": "hour",
    "min": "minute",
    "K": "kelvin",
}
LINEAR_KINDS = {
    "frequency": "Hz",
    "length": "m",
    "time": "s",
    "duration": "day",
    "resistance": "ohm",
    "conductivity": "S/m",
    "bit rate": "bit/s",
    "share": "dimensionless",
    "angle": "degree",
}
LINEAR_UNITS = [(kind, unit) for kind in LINEAR_KINDS for unit in KINDS[kind].units]
# kind, its linear units, the reference of its decibel unit, and 10 or 20 log10
LEVELS = [
    ("power level", ("uW", "mW", "W"), "mW", 10.0),
    ("voltage level", ("uV", "mV", "V"), "uV", 20.0),
    ("current level", ("uA", "mA"), "uA", 20.0),
    ("field level", ("uV/m", "mV/m", "V/m"), "uV/m", 20.0),
]
LEVEL_UNITS = [(kind, unit, base, factor) for kind, units, base, factor in LEVELS for unit in units]


@pytest.fixture(scope="module")
def registry():
    return pint.UnitRegistry()


@pytest.mark.parametrize(("kind", "unit"), LINEAR_UNITS)
def test_linear_units_against_pint(kind, unit, registry):
    number = 0.5 if kind == "share" else 20.5
    expected = registry.Quantity(number, PINT_NAME.get(unit, unit)).to(LINEAR_KINDS[kind])
    assert parse(f"{number} {unit}", kind) == pytest.approx(expected.magnitude, rel=1e-12)


@pytest.mark.parametrize(("kind", "unit", "base", "factor"), LEVEL_UNITS)
def test_linear_levels_against_pint(kind, unit, base, factor, registry):
    ratio = registry.Quantity(2.5, unit).to(base).magnitude
    assert parse(f"2.5 {unit}", kind) == pytest.approx(factor * math.log10(ratio), abs=1e-9)


@pytest.mark.parametrize(
    ("text", "kind", "ratio", "factor"),
    [
        ("3 dBW", "power level", 1e3, 10.0),  # W over mW
        ("3 dBmV", "voltage level", 1e3, 20.0),  # mV over uV
        ("3 dBV", "voltage level", 1e6, 20.0),  # V over uV
        # plane wave: 1 uA/m is 376.73 uV/m
        ("3 dBuA/m", "field level", math.sqrt(constants.mu_0 / constants.epsilon_0), 20.0),
    ],
)
def test_decibel_units_shift_by_their_references(text, kind, ratio, factor):
    assert parse(text, kind) == pytest.approx(3.0 + factor * math.log10(ratio), abs=1e-6)


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("1 inch", constants.inch),
        ("1 in", constants.inch),
        ("1 ft", constants.foot),
        ("1 mil", constants.mil),
        ("1 um", constants.micron),
    ],
)
def test_lengths_against_scipy(text, metres):
    assert parse(text, "length") == pytest.approx(metres, rel=1e-12)


def test_temperature_against_scipy():
    celsius = parse("25 degC", "temperature")
    assert celsius == pytest.approx(constants.convert_temperature(25.0, "C", "K"))


def test_every_unit_is_covered_here():
    # a new unit must be added to one of the tables above, or to the list of plain decibel units
    checked = {unit for _, unit in LINEAR_UNITS} | {unit for _, unit, _, _ in LEVEL_UNITS}
    checked |= {"dBW", "dBmV", "dBV", "dBuA/m", "degC", "K", "dBd"}
    base = {kind.base for kind in KINDS.values()} | {"dB(1/m)"}
    every = {unit for kind in KINDS.values() for unit in kind.units}
    with_micro = {unit for unit in every if unit[:3] in ("dBµ", "dBμ")}
    assert every <= checked | base | with_micro


@pytest.mark.parametrize(
    ("kind", "unit"),
    [(k.name, unit) for k in KINDS.values() for unit in k.units if unit[:3] in ("dBµ", "dBμ")],
)
def test_both_signs_for_micro_read_like_the_letter_u(kind, unit):
    assert parse(f"12.5 {unit}", kind) == parse(f"12.5 dBu{unit[3:]}", kind) == 12.5
