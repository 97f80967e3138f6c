"""Turn pydantic's errors into messages to an engineer: found, expected, how to mend."""

from __future__ import annotations

from collections.abc import Callable

from pydantic_core import ErrorDetails

from linkbudget.core.errors import InputError
from linkbudget.scenario.fields import MISTAKE, choice_of, nearest, shown
from linkbudget.scenario.lines import KeyPath, LineMap, dotted, line_of
from linkbudget.scenario.schema import Spot, spot_at, tables_with


def explained(error: ErrorDetails, file: str, lines: LineMap) -> InputError:
    """Return what is wrong with one field.

    Parameters
    ----------
    error : ErrorDetails
        From pydantic.
    file : str
        As the user named it.
    lines : dict
        From ``lines.line_map``.
    """
    spot = spot_at(error["loc"])
    explain = _EXPLAIN.get(error["type"], _plainly)
    found, expected, mend = explain(error, spot)
    path = _path_of(error, spot)
    return InputError(
        found, expected, mend, file=file, line=line_of(lines, path), field=dotted(path)
    )


def _path_of(error: ErrorDetails, spot: Spot) -> KeyPath:
    """Name the key at fault; for a wrong kind of table that is the key that picks the kind."""
    if error["type"] == "union_tag_invalid":
        return (*spot.path, spot.node["discriminator"]["propertyName"])
    return spot.path


def _own(error: ErrorDetails, spot: Spot) -> tuple[str, str, str]:
    told = error["ctx"]
    return told["found"], told["expected"], told["mend"]


def _unknown_key(error: ErrorDetails, spot: Spot) -> tuple[str, str, str]:
    key = str(spot.path[-1])
    near = nearest(key, spot.keys)
    if near:
        mend = f'Did you mean "{near}"?'
    elif spot.kind and key in spot.keys_of_other_kinds:
        mend = f"{spot.kind} has no such key; remove it, or write another {spot.kind.split()[0]}."
    elif homes := tables_with(key):
        *most, last = (f"[{home}]" for home in homes)
        mend = "It belongs to " + " or ".join([", ".join(most), last] if most else [last]) + "."
    else:
        mend = "Remove it, or put # before it."
    return f"the unknown key {shown(key)}", "one of " + ", ".join(spot.keys), mend


def _missing(error: ErrorDetails, spot: Spot) -> tuple[str, str, str]:
    if isinstance(spot.path[-1], int):
        return "a list that ends too early", f"{spot.path[-1] + 1} entries or more", ""
    key = str(spot.path[-1])
    meaning = spot.description.rstrip(".")
    if spot.is_table:
        is_list = "items" in spot.node
        heading = f"[[{dotted(spot.path)}]]" if is_list else f"[{dotted(spot.path)}]"
        return f"no table {heading}", f"{heading}: {meaning}", ""
    if len(spot.words) > 1:
        expected, _ = choice_of(None, spot.words)
        return f'no key "{key}"', f"{key} = {expected} ({meaning})", ""
    return f'no key "{key}"', f"{key} = {spot.example} ({meaning})", ""


def _no_tag(error: ErrorDetails, spot: Spot) -> tuple[str, str, str]:
    tag = spot.node["discriminator"]["propertyName"]
    expected, _ = choice_of(None, spot.words)
    return f'no key "{tag}"', f"{tag} = {expected}", ""


def _wrong_tag(error: ErrorDetails, spot: Spot) -> tuple[str, str, str]:
    tag = error["input"][spot.node["discriminator"]["propertyName"]]
    return shown(tag), *choice_of(tag, spot.words)


def _wrong_word(error: ErrorDetails, spot: Spot) -> tuple[str, str, str]:
    return shown(error["input"]), *choice_of(error["input"], spot.words)


def _not_a_table(error: ErrorDetails, spot: Spot) -> tuple[str, str, str]:
    name = dotted(spot.path[:-1] if isinstance(spot.path[-1], int) else spot.path)
    in_list = isinstance(spot.path[-1], int)
    heading = f"[[{name}]]" if in_list else f"[{name}]"
    mend = ""
    if isinstance(error["input"], list):
        mend = "Single brackets make a table, double brackets a list of tables."
    elif spot.path[0] == "radios":
        mend = "Each radio has a key of its own, as in [radios.bluetooth]."
    return shown(error["input"]), f"a table {heading}", mend


def _not_a_list(error: ErrorDetails, spot: Spot) -> tuple[str, str, str]:
    name = dotted(spot.path)
    if spot.is_table:
        mend = "Double brackets make a list of tables, single brackets only one."
        return shown(error["input"]), f"a list of tables, each [[{name}]]", mend
    return shown(error["input"]), f"a list, such as {spot.example}", ""


def _wrong_count(error: ErrorDetails, spot: Spot) -> tuple[str, str, str]:
    found = f"{len(error['input'])} entries" if isinstance(error["input"], list) else "a list"
    low, high = spot.node.get("minItems", 0), spot.node.get("maxItems")
    expected = f"{low} entries" if low == high else f"{low} to {high} entries"
    return found, expected, ""


def _not_a_number(error: ErrorDetails, spot: Spot) -> tuple[str, str, str]:
    low, high = spot.node.get("minimum"), spot.node.get("maximum")
    whole = "a whole number" if spot.node.get("type") == "integer" else "a number"
    mend = "Write it without quotation marks." if isinstance(error["input"], str) else ""
    return shown(error["input"]), f"{whole} from {low:g} to {high:g}", mend


def _not_a_flag(error: ErrorDetails, spot: Spot) -> tuple[str, str, str]:
    return shown(error["input"]), "true or false, without quotation marks", ""


def _plainly(error: ErrorDetails, spot: Spot) -> tuple[str, str, str]:
    return shown(error["input"]), error["msg"], ""


_EXPLAIN: dict[str, Callable[[ErrorDetails, Spot], tuple[str, str, str]]] = {
    MISTAKE: _own,
    "extra_forbidden": _unknown_key,
    "missing": _missing,
    "union_tag_not_found": _no_tag,
    "union_tag_invalid": _wrong_tag,
    "literal_error": _wrong_word,
    "model_type": _not_a_table,
    "model_attributes_type": _not_a_table,
    "dict_type": _not_a_table,
    "tuple_type": _not_a_list,
    "too_short": _wrong_count,
    "too_long": _wrong_count,
    "bool_type": _not_a_flag,
} | dict.fromkeys(
    (
        "int_type",
        "float_type",
        "greater_than_equal",
        "less_than_equal",
        "finite_number",
        "int_parsing_size",
    ),
    _not_a_number,
)
