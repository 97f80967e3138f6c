"""Values that may be stated with how far they may be off; they become ``core.stated.Stated``."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BeforeValidator, WithJsonSchema

from linkbudget.core.errors import InputError
from linkbudget.core.stated import Stated
from linkbudget.core.units import KINDS, parse
from linkbudget.scenario.fields import NUMBER, mistake, shown

SHAPES = ("rectangular", "triangular", "arcsine")  # of hard ends

# kind of a value -> kind of a difference between two
_DIFFERENCES = {
    "power level": "loss",
    "gain": "loss",
    "ratio": "loss",
    "loss": "loss",
    "share": "share",
    "angle": "angle",
}
_FORMS = (
    "{ value, standard_deviation }, { value, within } with or without shape,"
    " or { low, value, high }"
)
MEANINGS = {
    "value": "Likeliest value; as many lie above as below.",
    "standard_deviation": "Of a Gaussian round the value.",
    "within": "Farthest that it may lie off to either side.",
    "shape": "How likely the values within are; rectangular where it is left out.",
    "low": "Only 2.5 % lie below.",
    "high": "Only 2.5 % lie above.",
}

Reader = Callable[[object], float]


@dataclass(frozen=True, slots=True)
class _Kind:
    """How one kind of value is read, in which range it may lie, and how an editor checks it."""

    read: Reader
    difference: Reader
    low: float
    high: float
    written: str  # the range, as a message prints it
    schema: dict[str, Any]
    difference_schema: dict[str, Any]
    example: str
    name: str  # of its schema


def uncertain(
    kind: str, *, example: str = "", low: str = "", high: str = "", above_zero: bool = False
) -> BeforeValidator:
    """Build the reader of one kind of quantity that may be uncertain.

    Parameters
    ----------
    kind : str
        A key of ``core.units.KINDS`` that has differences.
    example : str
        For messages and for the editor; the example of the kind where none is given.
    low, high : str
        Ends of a narrower range than that of the kind, such as "0.001 %".
    above_zero : bool
        Refuse zero and less.
    """
    known, difference = KINDS[kind], KINDS[_DIFFERENCES[kind]]
    least = parse(low, kind) if low else known.low
    most = parse(high, kind) if high else known.high
    wanted = example or known.example
    written = f"{low or f'{least:g} {known.base}'} to {high or f'{most:g} {known.base}'}"
    if above_zero:
        at_most = f", at most {high}" if high else ""
        least, written = 5e-324, f"a {kind} greater than zero{at_most}"

    def read(text: object) -> float:
        try:
            return parse(text, kind)
        except InputError as error:
            expected = error.expected.replace(known.example, wanted)
            if error.expected.startswith(f"a {kind} from "):
                expected = f'{written}, such as "{wanted}"'
            raise mistake(shown(text), expected, error.mend) from None

    def read_difference(text: object) -> float:
        try:
            return abs(parse(text, difference.name))
        except InputError as error:
            raise mistake(shown(text), error.expected, error.mend) from None

    return _reader(
        _Kind(
            read,
            read_difference,
            least,
            most,
            f'{written}, such as "{wanted}"',
            _text_schema(kind),
            _text_schema(difference.name),
            wanted,
            "".join(word.title() for word in kind.split()),
        )
    )


def uncertain_number(low: float, high: float) -> BeforeValidator:
    """Build the reader of a plain number that may be uncertain."""
    written = f"a number from {low:g} to {high:g}"

    def read(value: object) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            mend = "Write it without quotation marks." if isinstance(value, str) else ""
            raise mistake(shown(value), written, mend)
        return float(value)

    number = {"type": "number"}
    return _reader(_Kind(read, read, low, high, written, number, number, f"{low:g}", "Number"))


def _text_schema(kind: str) -> dict[str, Any]:
    units = "|".join(re.escape(unit) for unit in KINDS[kind].units)
    return {"type": "string", "pattern": rf"^\s*{NUMBER}\s*({units})\s*$"}


def _reader(kind: _Kind) -> BeforeValidator:
    def read(value: object) -> Stated:
        if isinstance(value, list):
            stated = _range(value, kind)
        elif isinstance(value, Mapping):
            stated = _table(value, kind)
        else:
            stated = Stated(kind.read(value))
        for end in (stated.value, *stated.band):
            if not kind.low <= end <= kind.high:
                raise _beyond(value, stated, kind)
        return stated

    written = Annotated[Any, WithJsonSchema(_schema(kind))]
    return BeforeValidator(read, json_schema_input_type=written)


def _schema(kind: _Kind) -> dict[str, Any]:
    """Return what an editor may offer: a value, two ends, or a table of one of three forms."""
    parts = dict.fromkeys(("value", "low", "high"), kind.schema)
    parts |= dict.fromkeys(("standard_deviation", "within"), kind.difference_schema)
    parts |= {"shape": {"type": "string", "enum": list(SHAPES)}}
    forms = (
        ("value", "standard_deviation"),
        ("value", "within", "shape"),
        ("low", "value", "high"),
    )
    tables = [
        {
            "type": "object",
            "properties": {key: parts[key] | {"description": MEANINGS[key]} for key in form},
            "required": [key for key in form if key != "shape"],
            "additionalProperties": False,
        }
        for form in forms
    ]
    ends = {"type": "array", "items": kind.schema, "minItems": 2, "maxItems": 2}
    ways = [kind.schema, ends, *tables]
    return {"title": f"Uncertain{kind.name}", "anyOf": ways, "examples": [kind.example]}


def _beyond(value: object, stated: Stated, kind: _Kind) -> Exception:
    if stated.low is None:
        return mistake(shown(value), kind.written)
    found = f"a value that reaches from {stated.low:.4g} to {stated.high:.4g}"
    mend = "Where it cannot lie as far to one side, write { low, value, high }."
    return mistake(found, kind.written, mend)


def _range(value: list[object], kind: _Kind) -> Stated:
    if len(value) != 2:
        raise mistake(f"a list of {len(value)}", "two ends, the lower first")
    low, high = (kind.read(end) for end in value)
    if low >= high:
        raise mistake(f"{shown(value[0])} and {shown(value[1])}", "two ends, the lower first")
    return Stated.between(low, high)


def _table(value: Mapping[str, object], kind: _Kind) -> Stated:
    keys = set(value)
    unknown = sorted(keys - set(MEANINGS))
    if unknown:
        raise mistake(f"the unknown key {shown(unknown[0])}", f"a table {_FORMS}")
    if keys == {"value", "standard_deviation"}:
        spread = _positive(value["standard_deviation"], kind)
        return Stated.spread(kind.read(value["value"]), spread)
    if keys in ({"value", "within"}, {"value", "within", "shape"}):
        return _within(value, kind)
    if keys == {"low", "value", "high"}:
        low, middle, high = (kind.read(value[key]) for key in ("low", "value", "high"))
        if not (low <= middle <= high and low < high):
            found = f"{shown(value['low'])}, {shown(value['value'])}, {shown(value['high'])}"
            raise mistake(found, "low, value and high in rising order")
        return Stated(middle, low, high, "gaussian")
    found = "a table with " + (", ".join(key for key in MEANINGS if key in keys) or "nothing")
    raise mistake(found, f"a table {_FORMS}", "Each of the three says it whole: mix no two.")


def _within(value: Mapping[str, object], kind: _Kind) -> Stated:
    shape = value.get("shape", "rectangular")
    middle, half = kind.read(value["value"]), _positive(value["within"], kind)
    for known in ("rectangular", "triangular", "arcsine"):
        if shape == known:
            return Stated(middle, middle - half, middle + half, known)
    mend = "A Gaussian has a standard_deviation." if "gauss" in str(shape).lower() else ""
    raise mistake(shown(shape), "shape = " + " or ".join(f'"{each}"' for each in SHAPES), mend)


def _positive(value: object, kind: _Kind) -> float:
    found = kind.difference(value)
    if not found > 0.0:
        raise mistake(shown(value), "more than zero", "Write an exact value without a table.")
    return found


PowerLevel = Annotated[Stated, uncertain("power level")]
Sensitivity = Annotated[Stated, uncertain("power level", example="-94 dBm")]
Gain = Annotated[Stated, uncertain("gain")]
Loss = Annotated[Stated, uncertain("loss")]
ReturnLoss = Annotated[Stated, uncertain("loss", example="9 dB", above_zero=True)]
Ratio = Annotated[Stated, uncertain("ratio", example="12 dB")]
RiceFactor = Annotated[Stated, uncertain("ratio", example="6 dB", low="-30 dB", high="30 dB")]
Sigma = Annotated[Stated, uncertain("loss", example="6 dB", high="20 dB", above_zero=True)]
Efficiency = Annotated[Stated, uncertain("share", example="55 %", low="0.001 %", high="100 %")]
Angle = Annotated[Stated, uncertain("angle", low="0 deg", high="90 deg")]
Exponent = Annotated[Stated, uncertain_number(1.0, 8.0)]
