"""A field of a scenario and the values that it shall take; the file itself is never changed."""

from __future__ import annotations

import copy
import itertools
import math
import re
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from linkbudget.core.errors import InputError, InputErrors
from linkbudget.scenario.fields import nearest, shown
from linkbudget.scenario.lines import KeyPath, dotted
from linkbudget.scenario.loading import (
    checked,
    fields_checked,
    read_data,
    require_agreement,
)
from linkbudget.scenario.models import Scenario

MOST_FIELDS = 2
MOST_POINTS = 400
_MOST_REASONS = 2

_PART = re.compile(
    r'(?:"(?P<quoted>[^"]+)"|(?P<plain>[^."\[\]]+))(?P<places>(?:\[\d{1,4}\])*)(?:\.|$)'
)
_PIECE = re.compile(r'(?:"[^"]*"|\[[^\[\]{}]*\]|\{[^{}]*\}|[^,"\[\]{}])+')
_NUMBER = r"[+−-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?"
_RANGE = re.compile(
    rf"\s*(?P<first>{_NUMBER})\s*(?P<unit>\S*)\s+to\s+(?P<last>{_NUMBER})\s*(?P<same>\S*)"
    r"\s+in\s+(?P<steps>\d{1,6})\s+steps\s*"
)
_LIKE_A_RANGE = re.compile(rf"\s*{_NUMBER}[^,]*\sto\s+{_NUMBER}[^,]*")
_WANTS_TABLES = ("a table [", "a list of tables")  # as ``explaining`` tells it
_HOW = '"5 mm, 8 mm, 12 mm" or "5 mm to 20 mm in 6 steps"'


@dataclass(frozen=True, slots=True)
class Variation:
    """One field and its values.

    Parameters
    ----------
    path : tuple of str or int
        Keys and list positions from the root of the scenario.
    texts : tuple of str
        The values as a user writes them.
    """

    path: KeyPath
    texts: tuple[str, ...]

    @property
    def key(self) -> str:
        """The field as messages name it."""
        return dotted(self.path)


@dataclass(frozen=True, slots=True)
class Varied:
    """A scenario in which the fields have one set of their values.

    Parameters
    ----------
    labels : tuple of str
        Value of each field, as it is printed.
    scenario : Scenario or None
    refused : str
        Why there is no scenario: what contradicts these values.
    """

    labels: tuple[str, ...]
    scenario: Scenario | None
    refused: str = ""


def variation(field: str, values: str) -> Variation:
    """Read a field and its values.

    Parameters
    ----------
    field : str
        Keys joined by dots, positions in lists counted from 1, keys with dots in quotation marks.
    values : str
        Values with commas between them, each as it would stand in the file (quotation marks may be
        left out), or a range with both ends in one unit and the number of values, ends included.

    Raises
    ------
    InputError

    Examples
    --------
    >>> variation("metal.openings[1].length", "5 mm to 20 mm in 4 steps")
    Variation(path=('metal', 'openings', 0, 'length'), texts=('5 mm', '10 mm', '15 mm', '20 mm'))
    >>> variation("goal.fading", "none, rayleigh").texts
    ('none', 'rayleigh')
    """
    path = _path(field)
    return Variation(path, _texts(values, dotted(path)))


def load_varied(path: str | Path, variations: Sequence[Variation]) -> tuple[Varied, ...]:
    """Read a scenario once for every set of values.

    Parameters
    ----------
    path : str or Path
        A TOML file that is right as it stands.
    variations : sequence of Variation
        One field or two; the last one runs fastest.

    Returns
    -------
    tuple of Varied
        Every set of values; one that contradicts the rest of the scenario says so.

    Raises
    ------
    InputError, InputErrors
        Where the file itself is wrong, a field is no field of it, or a field refuses a value.
    """
    _require_sensible(variations)
    data, lines = read_data(path)
    checked(data, lines, path)
    for one in variations:
        _require_place(data, one.path)
    faults: dict[str, InputError] = {}
    found = []
    for texts in itertools.product(*(one.texts for one in variations)):
        values = [_value(text) for text in texts]
        labels = tuple(map(_written, values))
        changed = _replaced(data, variations, values)
        try:
            scenario = fields_checked(changed, lines, path)
        except InputErrors as errors:
            faults |= {str(one): one for one in _own(data, variations, errors)}
            found.append(Varied(labels, None, _because(errors)))
            continue
        try:
            require_agreement(scenario)
        except InputErrors as errors:
            found.append(Varied(labels, None, _because(errors)))
        else:
            found.append(Varied(labels, scenario))
    if faults:
        raise InputErrors(list(faults.values()))
    return tuple(found)


def stated_text(path: str | Path, field: Variation) -> str:
    """Return what stands in the file for a field, as it would be written; "" for nothing."""
    value: Any = read_data(path)[0]
    try:
        for step in field.path:
            value = value[step]
    except (KeyError, IndexError):
        return ""
    return _written(value)


def _written(value: object) -> str:
    """Print a value of a TOML file on one line, without the quotation marks of a plain text."""
    if isinstance(value, list):
        return f"[{', '.join(_written(one) for one in value)}]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {_written(one)}" for key, one in value.items()) + "}"
    return str(value).lower() if isinstance(value, bool) else str(value)


def _path(field: str) -> KeyPath:
    """Split a field as ``lines.dotted`` prints it."""
    parts = list(_PART.finditer(field))
    path: list[str | int] = []
    for part in parts:
        places = (int(place) for place in re.findall(r"\d+", part["places"]))
        path += [part["quoted"] or part["plain"].strip(), *(place - 1 for place in places)]
    whole = "".join(part[0] for part in parts) == field and not field.endswith(".")
    if not whole or not path or -1 in path or "" in path:
        mend = "Join keys by dots; a position in a list stands in brackets and counts from 1."
        expected = 'a field, such as "metal.antenna_depth" or "variants[1].radio"'
        raise InputError(shown(field), expected, mend, field="--field")
    return tuple(path)


def _texts(values: str, key: str) -> tuple[str, ...]:
    match = _RANGE.fullmatch(values)
    if match is not None:
        return _steps(match, key)
    pieces = tuple(dict.fromkeys(piece.strip() for piece in _PIECE.findall(values)))
    # whatever the pieces leave out but commas is a bracket or a quotation mark that stands alone
    if not pieces or not all(pieces) or _PIECE.sub("", values).strip(", \t"):
        raise InputError(shown(values), _HOW, field=f"values of {key}")
    if _LIKE_A_RANGE.fullmatch(values):
        mend = "Both ends carry the unit, and the number of steps counts both ends."
        raise InputError(shown(values), _HOW, mend, field=f"values of {key}")
    return pieces


def _steps(match: re.Match[str], key: str) -> tuple[str, ...]:
    """Spell out a range, the ends as they were written."""
    count, unit = int(match["steps"]), match["unit"]
    first, last = (float(match[end].replace("−", "-")) for end in ("first", "last"))
    wrong = ""
    if unit != match["same"]:
        wrong = f"both ends in one unit, such as {_HOW.split(' or ')[1]}"
    elif not 2 <= count <= MOST_POINTS:
        wrong = f"2 to {MOST_POINTS} steps, both ends among them"
    elif first == last or not math.isfinite(last - first):
        wrong = "two ends that differ"
    if wrong:
        raise InputError(shown(match.string.strip()), wrong, field=f"values of {key}")
    step = (last - first) / (count - 1)
    digits = max(0, 3 - math.floor(math.log10(abs(step))))  # a thousandth of a step
    between = [_decimal(first + step * at, digits) for at in range(1, count - 1)]
    return tuple(f"{each} {unit}".strip() for each in (match["first"], *between, match["last"]))


def _decimal(value: float, digits: int) -> str:
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _require_sensible(variations: Sequence[Variation]) -> None:
    keys = [one.key for one in variations]
    if not 1 <= len(keys) <= MOST_FIELDS:
        raise InputError(f"{len(keys)} fields", "one field, or two", field="--field")
    if len(set(keys)) < len(keys):
        raise InputError(f"{keys[0]} twice", "two different fields", field="--field")
    points = math.prod(len(one.texts) for one in variations)
    if points > MOST_POINTS:
        found = f"{points} sets of values"
        raise InputError(found, f"at most {MOST_POINTS}", "Take fewer steps.", field="--values")


def _require_place(data: dict[str, Any], path: KeyPath) -> None:
    """Refuse a field whose table or list does not stand in the file."""
    at: Any = data
    for depth, step in enumerate(path):
        here = path[: depth + 1]
        if isinstance(step, int):
            _require_position(at, here)
        elif not isinstance(at, dict):
            raise _no_table(at, here)
        elif step not in at:
            if depth == len(path) - 1:
                return
            near = nearest(step, at)
            guess = (
                f'Did you mean "{near}"?' if near else "Write its table into the scenario first."
            )
            expected = "one of " + ", ".join(at)
            raise InputError(
                f"no {shown(step)} in the scenario", expected, guess, field=dotted(path)
            )
        at = at[step]


def _require_position(at: object, here: KeyPath) -> None:
    name, place = dotted(here[:-1]), int(here[-1]) + 1
    if not isinstance(at, list):
        raise InputError(
            f"position {place} of what is no list", f"{name} alone", field=dotted(here)
        )
    if place > len(at):
        expected = f"{name}[1] to {name}[{len(at)}]" if at else "a list with entries"
        raise InputError(f"no entry {place} in {name}", expected, field=dotted(here))


def _no_table(at: object, here: KeyPath) -> InputError:
    name = dotted(here[:-1])
    if isinstance(at, list):
        expected = f"a position before the key, such as {name}[1].{here[-1]}"
        return InputError("a key of a whole list", expected, field=dotted(here))
    return InputError(f"a key below a value, {name} = {shown(at)}", name, field=dotted(here))


def _replaced(
    data: dict[str, Any], variations: Sequence[Variation], values: Sequence[object]
) -> dict[str, Any]:
    """Return a copy of the data with other values in it."""
    changed = copy.deepcopy(data)
    for one, value in zip(variations, values, strict=True):
        at: Any = changed
        for step in one.path[:-1]:
            at = at[step]
        at[one.path[-1]] = value
    return changed


def _value(text: str) -> object:
    """Read a value as TOML does; what TOML does not know is text without its quotation marks."""
    try:
        return tomllib.loads(f"value = {text}")["value"]
    except (ValueError, RecursionError):
        return text


def _bare(error: InputError) -> InputError:
    """Return a mistake without file and line, since another value stands there."""
    return InputError(error.found, error.expected, error.mend, field=error.field)


def _because(errors: InputErrors) -> str:
    """Tell the first mistakes; of many that follow from one another the first ones say enough."""
    told = [str(_bare(error)) for error in errors.errors[:_MOST_REASONS]]
    more = len(errors.errors) - len(told)
    return "; ".join([*told, *([f"and {more} more mistakes"] if more else [])])


def _own(
    data: dict[str, Any], variations: Sequence[Variation], errors: InputErrors
) -> Iterator[InputError]:
    """Pick the mistakes of the varied fields themselves; any other is a contradiction."""
    for one in variations:
        for error in errors.errors:
            if _lies_in(error.field, one.key) or _lies_in(one.key, error.field):
                keys = [dotted((*one.path, key)) for key in _keys_at(data, one.path)]
                if keys and error.expected.startswith(_WANTS_TABLES):
                    expected = "one of its fields: " + ", ".join(keys)
                    yield InputError("a whole table", expected, field=one.key)
                else:
                    yield _bare(error)


def _lies_in(inner: str, outer: str) -> bool:
    return inner == outer or (inner.startswith(outer) and inner[len(outer)] in ".[")


def _keys_at(data: dict[str, Any], path: KeyPath) -> tuple[str | int, ...]:
    """Return the keys of the table, or the places of the list of tables, that a path leads to."""
    at: Any = data
    for step in path:
        if isinstance(at, dict) and step not in at:
            return ()
        at = at[step]
    if isinstance(at, list):
        return tuple(range(len(at))) if at and isinstance(at[0], dict) else ()
    return tuple(at) if isinstance(at, dict) else ()
