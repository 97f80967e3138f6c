"""Read a scenario file, and tell everything that is wrong with it at once."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from linkbudget.core.errors import InputError, InputErrors
from linkbudget.scenario.checks import mistakes_between_fields
from linkbudget.scenario.explaining import explained
from linkbudget.scenario.lines import LineMap, line_map, syntax_tree, too_deep
from linkbudget.scenario.models import Scenario

LARGEST_FILE_BYTES = 1_000_000
MOST_ERRORS_TOLD = 100
_MOST_DOTS_IN_A_LINE = 500  # a key of thousands of parts would fill the memory of any parser
_AT_LINE = re.compile(r"\s*\(at (?:line (?P<line>\d+), column (?P<column>\d+)|end of document)\)")


def load_scenario(path: str | Path) -> Scenario:
    """Read and check a scenario.

    Parameters
    ----------
    path : str or Path
        A TOML file.

    Returns
    -------
    Scenario
        Every quantity a float in its base unit.

    Raises
    ------
    InputError
        Where the file cannot be read as TOML.
    InputErrors
        All mistakes of single fields, in the order of the file; only when there are none, all
        mistakes between fields.
    """
    data, lines = read_data(path)
    return checked(data, lines, path)


def read_data(path: str | Path) -> tuple[dict[str, Any], LineMap]:
    """Read a scenario file as TOML, unchecked, with the line of each key.

    Raises
    ------
    InputError
        Where the file cannot be read as TOML.
    """
    file = str(path)
    return _parse(_read_text(Path(path), file), file)


def checked(data: dict[str, Any], lines: LineMap, path: str | Path) -> Scenario:
    """Check what was read from a file: its fields, then what they say together.

    Raises
    ------
    InputErrors
        As ``load_scenario``.
    """
    scenario = fields_checked(data, lines, path)
    require_agreement(scenario)
    return scenario


def fields_checked(data: dict[str, Any], lines: LineMap, path: str | Path) -> Scenario:
    """Check every field by itself.

    Raises
    ------
    InputErrors
        All mistakes of single fields, in the order of the file.
    """
    file = str(path)
    try:
        scenario = Scenario.model_validate(data)
    except ValidationError as error:
        details = error.errors(include_url=False)
        raise _together([explained(one, file, lines) for one in details], file) from None
    scenario.remember_place(Path(path), lines)
    return scenario


def require_agreement(scenario: Scenario) -> None:
    """Hold the fields of a scenario against each other.

    Raises
    ------
    InputErrors
        All mistakes between fields.
    """
    between = [
        scenario.located(InputError(one.found, one.expected, one.mend), *one.path)
        for one in mistakes_between_fields(scenario)
    ]
    if between:
        raise _together(between, str(scenario.source_file))


def _read_text(path: Path, file: str) -> str:
    try:
        if path.is_dir():
            mend = "Name the .toml file in it."
            raise InputError("a folder", "a scenario file", mend, file=file)
        with path.open("rb") as stream:
            raw = stream.read(LARGEST_FILE_BYTES + 1)
    except FileNotFoundError:
        mend = f"`linkbudget init {file}` writes one to start from."
        raise InputError("no such file", "a scenario file", mend, file=file) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError(reason, "a scenario file that can be read", file=file) from None
    if len(raw) > LARGEST_FILE_BYTES:
        mend = "Scans are files of their own; the scenario only names them."
        raise InputError("more than 1 MB", "a scenario of some kilobytes", mend, file=file)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        mend = "Save it as UTF-8."
        found = f"a byte that is not UTF-8 (0x{raw[error.start]:02x})"
        raise InputError(found, "a text file in UTF-8", mend, file=file, line=line) from None
    if "\0" in text:
        raise InputError("a binary file", "a TOML text file", file=file)
    if not text.strip():
        mend = "`linkbudget init PATH` writes one to start from."
        raise InputError("an empty file", "a scenario", mend, file=file)
    return text


def _parse(text: str, file: str) -> tuple[dict[str, Any], LineMap]:
    tree = syntax_tree(text)
    deep = too_deep(tree) or next(
        (
            number
            for number, line in enumerate(text.split("\n"), start=1)
            if line.count(".") > _MOST_DOTS_IN_A_LINE
        ),
        None,
    )
    if deep:
        raise InputError("very deep nesting", "at most three levels", file=file, line=deep)
    try:
        return tomllib.loads(text), line_map(tree)
    except RecursionError:
        raise InputError("very deep nesting", "at most three levels", file=file) from None
    except ValueError as error:
        raise _syntax_error(str(error), file, text) from None


def _syntax_error(message: str, file: str, text: str) -> InputError:
    at = _AT_LINE.search(message)
    line = int(at["line"]) if at and at["line"] else text.count("\n") + 1 if at else None
    said = _AT_LINE.sub("", message)
    column = f" at column {at['column']}" if at and at["column"] else ""
    mend = 'Quantities stand in quotation marks, as in "2.44 GHz"; a key stands once in its table.'
    return InputError(f"{said[:200]}{column}", "valid TOML", mend, file=file, line=line)


def _together(errors: list[InputError], file: str) -> InputErrors:
    """Sort mistakes as they stand in the file, missing tables first; cut a flood short."""
    errors.sort(key=lambda error: error.line or 0)
    more = len(errors) - MOST_ERRORS_TOLD
    if more > 0:
        rest = InputError(f"{more} more mistakes", "none", file=file)
        errors = [*errors[:MOST_ERRORS_TOLD], rest]
    return InputErrors(errors)
