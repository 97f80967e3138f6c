"""The kinds of value that a scenario may hold; text with a unit becomes a float in base units."""

from __future__ import annotations

import datetime
import difflib
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field
from pydantic_core import PydanticCustomError

from linkbudget.core.errors import InputError
from linkbudget.core.units import KINDS, parse
from linkbudget.emissions.limits import families
from linkbudget.physics.dielectrics import building_material_names
from linkbudget.physics.materials import metal_names
from linkbudget.physics.plastics import LARGEST_PERMITTIVITY, plastic_names

MISTAKE = "input"  # type of the errors below, told from those that pydantic makes itself

NUMBER = r"[+−-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?"
_MONEY = re.compile(r"(?P<amount>\d{1,12}(?:\.\d{1,2})?)\s+(?P<currency>[A-Z]{3})")


@dataclass(frozen=True, slots=True)
class Money:
    """An amount in one currency.

    Parameters
    ----------
    amount : float
        Not negative [currency].
    currency : str
        Three letters, such as EUR.

    Examples
    --------
    >>> str(Money(4500.0, "EUR"))
    '4500 EUR'
    """

    amount: float
    currency: str

    def __str__(self) -> str:
        return f"{self.amount:.10g} {self.currency}"


@dataclass(frozen=True, slots=True)
class StatedCorrection:
    """One correction value for all frequencies, with the unit that it was written in.

    Parameters
    ----------
    value : float
        In `unit`.
    unit : {"dB", "dB/m"}
    """

    value: float
    unit: Literal["dB", "dB/m"]


def mistake(found: str, expected: str, mend: str = "") -> PydanticCustomError:
    """Return the error of one field: what was found, what was expected, how to mend it."""
    return PydanticCustomError(
        MISTAKE, "{found}; {expected}", {"found": found, "expected": expected, "mend": mend}
    )


def shown(value: object) -> str:
    """Quote what the user wrote, cut to a length that fits a message."""
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    text = repr(value) if isinstance(value, str | bool | int | float) else repr(str(value))
    return text if len(text) <= 60 else text[:59] + "…"


def _text_schema(pattern: str, *examples: str) -> object:
    return Annotated[str, Field(pattern=pattern, examples=list(examples) or None)]


def _quantity(
    kind: str,
    *,
    example: str = "",
    above_zero: bool = False,
    within: str = "",
    signed: bool = False,
    or_false: bool = False,
) -> BeforeValidator:
    """Build the reader of one kind of quantity.

    Parameters
    ----------
    kind : str
        A key of ``core.units.KINDS``.
    example : str
        For messages and for the editor; the example of the kind where none is given.
    above_zero : bool
        Refuse zero and less.
    within : str
        A narrower range than that of the kind, as "50 % to 99.999 %".
    signed : bool
        Allow a minus sign where the kind itself begins at zero.
    or_false : bool
        Let false stand, for what shall not be.
    """
    wanted = KINDS[kind]
    example = example or wanted.example
    low, high = (parse(end, kind) for end in within.split(" to ")) if within else (None, None)

    narrower = f'{within}, such as "{example}"' if within else ""
    if above_zero:
        narrower = f'a {kind} greater than zero, such as "{example}"'

    def read(text: object) -> float:
        if or_false and text is False:
            return False
        negative = signed and isinstance(text, str) and text.lstrip()[:1] in ("-", "−")
        try:
            value = parse(text.lstrip()[1:] if negative and isinstance(text, str) else text, kind)
        except InputError as error:
            out_of_range = error.expected.startswith(f"a {kind} from ")
            expected = narrower if out_of_range and narrower else error.expected
            expected = expected.replace(wanted.example, example)
            expected += ", or false" if or_false else ""
            raise mistake(shown(text), expected, error.mend) from None
        if above_zero and value <= 0:
            raise mistake(shown(text), narrower)
        if low is not None and high is not None and not low <= value <= high:
            raise mistake(shown(text), narrower)
        return -value if negative else value

    units = "|".join(re.escape(unit) for unit in wanted.units)
    written: Any = _text_schema(rf"^\s*{NUMBER}\s*({units})\s*$", example)
    return BeforeValidator(
        read, json_schema_input_type=written | Literal[False] if or_false else written
    )


def _read_money(text: object) -> Money:
    match = _MONEY.fullmatch(text.strip()) if isinstance(text, str) else None
    if match is None:
        raise mistake(
            shown(text),
            'an amount and a currency of three letters, such as "4500 EUR"',
            "Write it in quotation marks, without thousands marks, with a point for decimals.",
        )
    return Money(float(match["amount"]), match["currency"])


def _read_correction(text: object) -> StatedCorrection:
    per_metre = isinstance(text, str) and "/m" in text
    kind, unit = ("antenna factor", "dB/m") if per_metre else ("ratio", "dB")
    try:
        return StatedCorrection(parse(text, kind), "dB/m" if unit == "dB/m" else "dB")
    except InputError as error:
        expected = 'a number in dB, or in dB/m for an antenna factor, such as "28 dB"'
        raise mistake(shown(text), expected, error.mend) from None


def _read_quality(value: object) -> float:
    if value is False or value == 0:
        return False
    if not isinstance(value, int | float) or value is True or not 1.0 <= value <= 1e6:
        mend = "Write it without quotation marks." if isinstance(value, str) else ""
        raise mistake(shown(value), "a number from 1 to 1000000, such as 100, or false", mend)
    return float(value)


def _read_date(value: object) -> datetime.date:
    if isinstance(value, datetime.date) and not isinstance(value, datetime.datetime):
        return value
    try:
        return datetime.date.fromisoformat(value if isinstance(value, str) else "")
    except ValueError:
        expected = "a date as year-month-day, such as 2027-03-01"
        raise mistake(shown(value), expected, "Write it without a time of day.") from None


def _read_text(value: object) -> str:
    if not isinstance(value, str):
        raise mistake(shown(value), "text in quotation marks")
    text = " ".join(value.split())
    if not text:
        raise mistake(
            "an empty text",
            "at least one letter",
            "Fill it in; a key that need not stand may be left out.",
        )
    if not text.isprintable():
        raise mistake(shown(text), "text without control characters")
    if len(text) > 1000:
        raise mistake(f"{len(text)} letters", "at most 1000 letters")
    return text


def _validator(read: Callable[[object], object], pattern: str, *examples: str) -> BeforeValidator:
    return BeforeValidator(read, json_schema_input_type=_text_schema(pattern, *examples))


def _families() -> tuple[str, ...]:
    return tuple(known.family for known in families())


def _one_of(what: str, names: Callable[[], Sequence[str]]) -> BeforeValidator:
    """Build the reader of a word from a table of the package, for message and editor alike."""

    def read(value: object) -> str:
        if isinstance(value, str) and value in names():
            return value
        raise mistake(shown(value), *choice_of(value, names(), what))

    def add_words(schema: dict[str, Any]) -> None:
        schema["enum"] = list(names())

    words = Annotated[str, Field(json_schema_extra=add_words)]
    return BeforeValidator(read, json_schema_input_type=words)


def choice_of(value: object, words: Sequence[str], what: str = "") -> tuple[str, str]:
    """Tell what was expected of a word from a closed list, and the nearest right one.

    Parameters
    ----------
    value : object
        What the user wrote.
    words : sequence of str
        All words allowed.
    what : str
        What they name, such as "a metal".

    Returns
    -------
    tuple of str
        Expected and mend.

    Examples
    --------
    >>> choice_of("aluminum", ["aluminium", "copper"], "a metal")
    ('a metal: "aluminium" or "copper"', 'Did you mean "aluminium"?')
    """
    quoted = [f'"{word}"' for word in words]
    listed = " or ".join([", ".join(quoted[:-1]), quoted[-1]] if len(quoted) > 1 else quoted)
    near = nearest(value, words)
    return f"{what}: {listed}" if what else listed, f'Did you mean "{near}"?' if near else ""


def nearest(value: object, words: Iterable[str]) -> str:
    """Return the right word nearest to what stands there; "" where none is near."""
    by_case = {word.lower(): word for word in words}
    wanted = str(value)[:60].lower()
    near = difflib.get_close_matches(wanted, by_case, n=1, cutoff=0.66)
    if not near and len(wanted) > 3:
        near = [word for word in by_case if wanted in word]
    return by_case[near[0]] if near else ""


Text = Annotated[str, _validator(_read_text, r"\S")]
Family = Annotated[str, _one_of("a product family", _families)]
MetalName = Annotated[str, _one_of("a metal", metal_names)]
BuildingMaterial = Annotated[str, _one_of("a building material or ground", building_material_names)]
PlasticName = Annotated[str, _one_of("a plastic", plastic_names)]
Cash = Annotated[
    Money, _validator(_read_money, r"^\s*\d{1,12}(\.\d{1,2})?\s+[A-Z]{3}\s*$", "4500 EUR")
]
CorrectionValue = Annotated[
    StatedCorrection,
    _validator(_read_correction, rf"^\s*{NUMBER}\s*dB(/m|\(1/m\))?\s*$", "28 dB", "12 dB/m"),
]
Day = Annotated[
    datetime.date,
    BeforeValidator(
        _read_date,
        json_schema_input_type=Annotated[
            str, Field(json_schema_extra={"format": "date"}, examples=["2027-03-01"])
        ],
    ),
]

Frequency = Annotated[float, _quantity("frequency")]
ClockFrequency = Annotated[float, _quantity("frequency", example="480 MHz")]
Bandwidth = Annotated[float, _quantity("frequency", example="120 kHz")]
Distance = Annotated[float, _quantity("length", example="3 m", above_zero=True)]
Length = Annotated[float, _quantity("length", example="120 mm", above_zero=True)]
Gap = Annotated[float, _quantity("length", example="1 mm")]
Offset = Annotated[float, _quantity("length", example="25 mm", signed=True)]
Thickness = Annotated[float, _quantity("length", above_zero=True)]
PowerLevel = Annotated[float, _quantity("power level")]
Loss = Annotated[float, _quantity("loss")]
Reliability = Annotated[float, _quantity("share", within="50 % to 99.999 %")]
Conductivity = Annotated[float, _quantity("conductivity", above_zero=True)]
BitRate = Annotated[float, _quantity("bit rate")]
Duration = Annotated[float, _quantity("duration")]
Time = Annotated[float, _quantity("time", above_zero=True)]
DelaySpread = Annotated[float, _quantity("time", example="30 ns", within="0 s to 1 ms")]
Activity = Annotated[float, _quantity("share", example="30 %", within="0.001 % to 100 %")]
Tolerance = Annotated[float, _quantity("tolerance")]
Permeability = Annotated[
    float, Field(strict=True, ge=1.0, le=1e6, allow_inf_nan=False, examples=[1.0])
]
Permittivity = Annotated[
    float,
    Field(strict=True, ge=1.0, le=LARGEST_PERMITTIVITY, allow_inf_nan=False, examples=[2.8]),
]
GroundPermittivity = Annotated[
    float, Field(strict=True, ge=2.0, le=100.0, allow_inf_nan=False, examples=[15.0])
]
GroundConductivity = Annotated[float, _quantity("conductivity", example="0.05 S/m")]
LengthOrFalse = Annotated[
    float | Literal[False], _quantity("length", example="60 mm", or_false=True)
]
OffsetOrFalse = Annotated[
    float | Literal[False], _quantity("length", example="-10 mm", signed=True, or_false=True)
]
QualityOrFalse = Annotated[
    float | Literal[False],
    BeforeValidator(
        _read_quality,
        json_schema_input_type=Annotated[float, Field(ge=0.0, le=1e6, examples=[100])]
        | Literal[False],
    ),
]
Count = Annotated[int, Field(strict=True, ge=1, le=100_000, examples=[1])]
Flag = Annotated[bool, Field(strict=True)]
