"""The one place where text becomes a number: a closed list of units for each kind of quantity.

Unit libraries guess, and a guess costs a lab day ("2,4 GHz" read as 24 GHz). Here the text is
one number and one unit from the list below, or an error that says what is expected.
"""

from __future__ import annotations

import difflib
import math
import re
from dataclasses import dataclass

from linkbudget.core.decibels import DBI_PER_DBD_DB, FREE_SPACE_IMPEDANCE_OHM
from linkbudget.core.errors import InputError

_NUMBER_AND_UNIT = re.compile(
    r"\s*(?P<number>[+\-−]?(?:[0-9]{1,18}(?:\.[0-9]{0,18})?|\.[0-9]{1,18})(?:[eE][+\-]?[0-9]{1,3})?)"
    r"\s*(?P<unit>[^\d\s].*?)?\s*"
)
_LONGEST_TEXT = 60


@dataclass(frozen=True, slots=True)
class _Unit:
    """How a unit reaches the base unit of its kind: linear, shifted (decibels), or 10/20 log10."""

    factor: float = 1.0
    shift_db: float = 0.0
    log_factor: float | None = None  # 10 for power, 20 for voltage and field

    def to_base(self, number: float) -> float:
        if self.log_factor is not None:
            if number <= 0:
                raise ValueError("a linear level must be greater than zero")
            return self.log_factor * math.log10(number * self.factor)
        return number * self.factor + self.shift_db


@dataclass(frozen=True, slots=True)
class QuantityKind:
    """A kind of quantity: its base unit, the units that may be written, and its sane range."""

    name: str
    base: str
    units: dict[str, _Unit]
    low: float
    high: float
    example: str


def _linear(**factors: float) -> dict[str, _Unit]:
    return {unit: _Unit(factor) for unit, factor in factors.items()}


_DB_PER_FIELD_OF_H = 20.0 * math.log10(FREE_SPACE_IMPEDANCE_OHM)

KINDS: dict[str, QuantityKind] = {
    kind.name: kind
    for kind in (
        QuantityKind(
            "frequency", "Hz", _linear(Hz=1.0, kHz=1e3, MHz=1e6, GHz=1e9), 1.0, 1e12, "2.44 GHz"
        ),
        QuantityKind(
            "length",
            "m",
            _linear(um=1e-6, mm=1e-3, cm=1e-2, m=1.0, km=1e3, inch=0.0254, ft=0.3048, mil=25.4e-6)
            | {"in": _Unit(0.0254), "µm": _Unit(1e-6), "μm": _Unit(1e-6)},
            0.0,
            1e6,
            "1.5 mm",
        ),
        QuantityKind(
            "time",
            "s",
            _linear(ns=1e-9, us=1e-6, ms=1e-3, s=1.0, min=60.0, h=3600.0),
            0.0,
            1e6,
            "10 ms",
        ),
        QuantityKind(
            "duration",
            "d",
            _linear(days=1.0, day=1.0, d=1.0, weeks=7.0, week=7.0),
            0.0,
            10_000.0,
            "3 weeks",
        ),
        QuantityKind(
            "power level",
            "dBm",
            {
                "dBm": _Unit(),
                "dBW": _Unit(shift_db=30.0),
                "uW": _Unit(1e-3, log_factor=10.0),
                "mW": _Unit(1.0, log_factor=10.0),
                "W": _Unit(1e3, log_factor=10.0),
            },
            -250.0,
            100.0,
            "4 dBm",
        ),
        QuantityKind(
            "voltage level",
            "dBuV",
            {
                "dBuV": _Unit(),
                "dBµV": _Unit(),
                "dBμV": _Unit(),
                "dBmV": _Unit(shift_db=60.0),
                "dBV": _Unit(shift_db=120.0),
                "uV": _Unit(1.0, log_factor=20.0),
                "mV": _Unit(1e3, log_factor=20.0),
                "V": _Unit(1e6, log_factor=20.0),
            },
            -200.0,
            200.0,
            "56 dBuV",
        ),
        QuantityKind(
            "current level",
            "dBuA",
            {
                "dBuA": _Unit(),
                "dBµA": _Unit(),
                "dBμA": _Unit(),
                "uA": _Unit(1.0, log_factor=20.0),
                "mA": _Unit(1e3, log_factor=20.0),
            },
            -200.0,
            200.0,
            "30 dBuA",
        ),
        QuantityKind(
            "field level",
            "dBuV/m",
            {
                "dBuV/m": _Unit(),
                "dBµV/m": _Unit(),
                "dBμV/m": _Unit(),
                "dBuA/m": _Unit(shift_db=_DB_PER_FIELD_OF_H),
                "uV/m": _Unit(1.0, log_factor=20.0),
                "mV/m": _Unit(1e3, log_factor=20.0),
                "V/m": _Unit(1e6, log_factor=20.0),
            },
            -200.0,
            250.0,
            "40 dBuV/m",
        ),
        QuantityKind(
            "gain",
            "dBi",
            {"dBi": _Unit(), "dBd": _Unit(shift_db=DBI_PER_DBD_DB)},
            -80.0,
            80.0,
            "2 dBi",
        ),
        QuantityKind("ratio", "dB", {"dB": _Unit()}, -400.0, 400.0, "6 dB"),
        QuantityKind("loss", "dB", {"dB": _Unit()}, 0.0, 400.0, "1.5 dB"),
        QuantityKind(
            "antenna factor",
            "dB/m",
            {"dB/m": _Unit(), "dB(1/m)": _Unit()},
            -100.0,
            150.0,
            "12.5 dB/m",
        ),
        QuantityKind(
            "resistance",
            "ohm",
            _linear(mohm=1e-3, ohm=1.0, kohm=1e3) | {"Ω": _Unit()},
            0.0,
            1e9,
            "50 ohm",
        ),
        QuantityKind(
            "conductivity", "S/m", {"S/m": _Unit(), "MS/m": _Unit(1e6)}, 0.0, 1e9, "35 MS/m"
        ),
        QuantityKind(
            "bit rate",
            "bit/s",
            {
                "bit/s": _Unit(),
                "kbit/s": _Unit(1e3),
                "Mbit/s": _Unit(1e6),
                "Gbit/s": _Unit(1e9),
            },
            1.0,
            1e12,
            "1 Mbit/s",
        ),
        QuantityKind("share", "1", {"%": _Unit(0.01)}, 0.0, 1.0, "99 %"),
        QuantityKind("tolerance", "ppm", {"ppm": _Unit(), "%": _Unit(1e4)}, 0.0, 1e5, "50 ppm"),
        QuantityKind("angle", "deg", {"deg": _Unit(), "°": _Unit()}, -360.0, 360.0, "45 deg"),
        QuantityKind(
            "temperature", "K", {"K": _Unit(), "degC": _Unit(shift_db=273.15)}, 1.0, 2000.0, "290 K"
        ),
    )
}


def parse(text: object, kind: str, *, field: str = "") -> float:
    """Turn "2.44 GHz" into 2.44e9.

    Parameters
    ----------
    text : object
        What the user wrote; anything but a string of one number and one unit is refused.
    kind : str
        A key of ``KINDS``: "frequency", "length", "power level", "field level", "gain", ...
    field : str
        The user's name for the value, for the message.

    Returns
    -------
    float
        The value in the kind's base unit.

    Raises
    ------
    InputError
        A bare number, a comma, an unknown unit, a unit of another kind, a value out of range.

    Examples
    --------
    >>> parse("2.44 GHz", "frequency")
    2440000000.0
    >>> parse("1 mW", "power level")
    0.0
    >>> parse("2,4 GHz", "frequency", field="radio.band.from")
    Traceback (most recent call last):
    ...
    linkbudget.core.errors.InputError: radio.band.from: found '2,4 GHz'; expected a number and a \
unit, such as "2.44 GHz". Write the decimal mark as a point, and no thousands marks
    """
    wanted = KINDS[kind]
    expected = f'a number and a unit, such as "{wanted.example}"'
    if not isinstance(text, str):
        raise InputError(
            repr(text)[:_LONGEST_TEXT],
            expected,
            "Write it as text with its unit, in quotation marks.",
            field=field,
        )
    shown = repr(text if len(text) <= _LONGEST_TEXT else text[:_LONGEST_TEXT] + "…")
    if len(text) > _LONGEST_TEXT:
        raise InputError(shown, expected, field=field)
    match = _NUMBER_AND_UNIT.fullmatch(text)
    if match is None or "," in text:
        hint = "Write the decimal mark as a point, and no thousands marks" if "," in text else ""
        raise InputError(shown, expected, hint, field=field)
    unit_text = match["unit"] or ""
    unit = wanted.units.get(unit_text)
    if unit is None:
        raise InputError(shown, expected, _unit_hint(unit_text, wanted), field=field)
    try:
        value = unit.to_base(float(match["number"].replace("−", "-")))
    except ValueError as error:
        raise InputError(shown, str(error), field=field) from None
    if not math.isfinite(value) or not wanted.low <= value <= wanted.high:
        raise InputError(
            shown, f"a {kind} from {wanted.low:g} to {wanted.high:g} {wanted.base}", field=field
        )
    return value


def _unit_hint(unit_text: str, wanted: QuantityKind) -> str:
    allowed = ", ".join(wanted.units)
    if not unit_text:
        return f"The unit is missing; one of: {allowed}."
    by_case = {unit.lower(): unit for unit in wanted.units}
    near = by_case.get(unit_text.lower()) or next(
        iter(difflib.get_close_matches(unit_text, wanted.units, n=1, cutoff=0.75)), None
    )
    others = [kind.name for kind in KINDS.values() if unit_text in kind.units]
    parts = []
    if others:
        parts.append(f"{unit_text} is a unit of {' or '.join(others)}, not of {wanted.name}.")
    if near:
        parts.append(f'Did you mean "{near}"?')
    parts.append(f"Units of {wanted.name}: {allowed}.")
    return " ".join(parts)


def format_frequency(frequency_hz: float) -> str:
    """Print a frequency in the unit an engineer would choose.

    Examples
    --------
    >>> format_frequency(48e6), format_frequency(2.4835e9), format_frequency(150e3)
    ('48 MHz', '2.4835 GHz', '150 kHz')
    """
    for factor, unit in ((1e9, "GHz"), (1e6, "MHz"), (1e3, "kHz")):
        if abs(frequency_hz) >= factor:
            return f"{frequency_hz / factor:.6g} {unit}"
    return f"{frequency_hz:.6g} Hz"


def format_length(length_m: float) -> str:
    """Print a length in the unit an engineer would choose.

    Examples
    --------
    >>> format_length(0.0015), format_length(12.345), format_length(1e4)
    ('1.5 mm', '12.3 m', '10 km')
    """
    if abs(length_m) < 1.0:
        return f"{length_m * 1e3:.4g} mm"
    return f"{length_m:.3g} m" if abs(length_m) < 1e3 else f"{length_m / 1e3:.3g} km"
