"""Which column of a scan is what, and in which unit, read from the words that stand over it.

A frequency and one level are wanted. A phase, an angle or a linear magnitude is never taken for
a level; a limit, a margin or a correction only where the user picks it by name.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from linkbudget.core.errors import InputError, MissingData
from linkbudget.emissions.scan import LevelUnit

FREQUENCY_UNITS: dict[str, float] = {"Hz": 1.0, "kHz": 1e3, "MHz": 1e6, "GHz": 1e9}
LEVEL_UNITS: tuple[LevelUnit, ...] = get_args(LevelUnit)

Role = Literal["frequency", "level", "phase", "linear", "aside", "unnamed"]

_FREQUENCY_UNIT = re.compile(r"(?<![A-Za-z])[kMG]?Hz(?![A-Za-z])", re.IGNORECASE)
# dB, then a body such as uV, then what it is divided by: dBuV/m, dB(µV/m), dBuV_per_m, dBm/Hz.
_LEVEL_UNIT = re.compile(
    r"""(?<![A-Za-z])dB
    (?:[\s(]{0,2}(?P<body>1(?=/m)|mW|[numpk]?[VAW]|[midc](?![A-Za-z]))(?![A-Za-z])|(?P<odd>[^\W\d_]+))?
    (?P<per>\s?/\s?[A-Za-z]+|[\s_]per[\s_]?[A-Za-z]+|_m(?![A-Za-z])|\s?m\^?[-−]1)?""",
    re.IGNORECASE | re.VERBOSE,
)
_KNOWN_LEVELS: dict[str, LevelUnit] = {
    "dbm": "dBm",
    "dbmw": "dBm",
    "dbuv": "dBuV",
    "dbuv/m": "dBuV/m",
    "dbua": "dBuA",
}
_PER_METRE = {"m", "meter", "metre", "m-1", "m^-1"}
_LINEAR_UNIT = re.compile(
    r"""[\[(/]\s*(?:[numpk]?[VAW](?:\s?/\s?m)?|%|lin(?:ear)?\.?)\s*[\])]?\s*$
    |(?<![A-Za-z])(?:[nump][VAW]|[numpk]?[VA]\s?/\s?m)\s*$
    |\bin\s+[numpk]?[VAW](?:/m)?\s*$
    |\blin(?:ear)?\b""",
    re.IGNORECASE | re.VERBOSE,
)
_PHASE = re.compile(r"phase|angle|winkel|azimuth|\barg\b|\bdeg(?:rees?)?\b|°|\brad\b", re.I)
_FREQUENCY = re.compile(r"freq|fréq|frec|\bf\b", re.IGNORECASE)
_WIDTH = re.compile(r"bandwidth|\bbw\b|\brbw\b|\bvbw\b|span|step|resolution|offset", re.IGNORECASE)
_ASIDE = re.compile(
    r"limit|margin|delta|deviation|factor|correction|loss|gain|attenuation|uncertainty"
    r"|grenzwert|abstand",
    re.IGNORECASE,
)
_RECORD = re.compile(
    r"time|date|height|distance|turntable|index|number|count|points?\b|\bn[or]\b|#|\breal\b|\bimag",
    re.IGNORECASE,
)
_LEVEL = re.compile(
    r"level|ampl|magnitude|power|peak|\bpk\b|max|\bav|\bqp\b|quasi|\brms\b|value|trace|reading"
    r"|pegel|field|voltage|spectrum|emission",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its number counted from 1, its heading, what it holds, and the unit over it.

    Parameters
    ----------
    unit : str or None
        A key of ``FREQUENCY_UNITS``, a level unit (also one that is refused), or None.
    numeric : bool
        True where the first rows hold numbers in it.
    """

    number: int
    name: str
    role: Role
    unit: str | None
    numeric: bool

    def __str__(self) -> str:
        return f"column {self.number} {shown(self.name)}" if self.name else f"column {self.number}"


def shown(text: str, longest: int = 60) -> str:
    r"""Quote text from a file so that it can neither flood nor steer a terminal.

    Examples
    --------
    >>> print(shown("Level\x1b[2J"))
    'Level\x1b[2J'
    """
    return repr(text if len(text) <= longest else text[: longest - 1] + "…")


def frequency_unit_in(text: str) -> str | None:
    """Find a unit of frequency in a heading.

    Examples
    --------
    >>> frequency_unit_in("f/MHz"), frequency_unit_in("dBuV/MHz")
    ('MHz', None)
    """
    match = _FREQUENCY_UNIT.search(_LEVEL_UNIT.sub("", text))
    by_case = {unit.lower(): unit for unit in FREQUENCY_UNITS}
    return by_case[match[0].lower()] if match else None


def level_unit_in(text: str) -> str | None:
    """Find a unit in decibels in a heading, whether this package takes it or not.

    Examples
    --------
    >>> level_unit_in("Level dB(µV/m)"), level_unit_in("level_dbuv_per_m"), level_unit_in("[dBm]")
    ('dBuV/m', 'dBuV/m', 'dBm')
    >>> level_unit_in("Level [dBmV]"), level_unit_in("Level in dB"), level_unit_in("Level [V]")
    ('dBmV', 'dB', None)
    """
    match = _LEVEL_UNIT.search(text.replace("µ", "u").replace("μ", "u"))
    if match is None:
        return None
    unit = "dB" + (match["body"] or match["odd"] or "")
    if match["per"]:
        per = re.sub(r"^[\s_/]*(?:per[\s_]?)?", "", match["per"]).replace("−", "-")
        unit += "/m" if per.lower() in _PER_METRE else f"/{per}"
    return _KNOWN_LEVELS.get(unit.lower(), unit)


def is_unit(text: str) -> bool:
    """Say whether a cell holds a unit of frequency or level and nothing else.

    Examples
    --------
    >>> is_unit("MHz"), is_unit("[dBµV/m]"), is_unit("Level dBuV")
    (True, True, False)
    """
    bare = text.strip("[]() ")
    return (frequency_unit_in(bare) or "").lower() == bare.lower() != "" or (
        bare.lower().startswith("db") and " " not in bare and level_unit_in(bare) is not None
    )


def describe(number: int, name: str, *, numeric: bool) -> Column:
    """Say what a column holds, from its heading alone.

    Examples
    --------
    >>> [describe(1, name, numeric=True).role for name in ("f / MHz", "Phase [deg]", "QP [dBuV]")]
    ['frequency', 'phase', 'level']
    >>> [describe(1, name, numeric=True).role for name in ("Amplitude [V]", "Limit [dBuV]", "X")]
    ['linear', 'aside', 'unnamed']
    """
    words = name.replace("_", " ")
    level_unit, frequency_unit = level_unit_in(name), frequency_unit_in(words)
    role: Role = "unnamed"
    if level_unit is None and _PHASE.search(words):  # "Phase L1 [dBuV]" is a mains conductor
        role = "phase"
    elif level_unit is None and _LINEAR_UNIT.search(words.replace("µ", "u").replace("μ", "u")):
        role = "linear"
    elif level_unit is not None:
        role = "aside" if _ASIDE.search(words) else "level"
    elif frequency_unit or _FREQUENCY.search(words):
        role = "aside" if _WIDTH.search(words) else "frequency"
    elif _ASIDE.search(words) or _RECORD.search(words):
        role = "aside"
    elif _LEVEL.search(words) and numeric:
        role = "level"
    return Column(number, name, role, level_unit or frequency_unit, numeric)


def pick_frequency(columns: Sequence[Column], *, level_is_chosen: bool) -> Column:
    """Return the one frequency column.

    Notes
    -----
    Without a heading the first of two columns of numbers is taken; the caller says so, and
    checks that it rises or falls.
    """
    named = [column for column in columns if column.role == "frequency"]
    if len(named) > 1:
        raise InputError(
            f"{len(named)} frequency columns: {listed(named)}",
            "one frequency column",
            "Export the scan with a single frequency column.",
        )
    if named:
        return named[0]
    numeric = [column for column in columns if column.numeric]
    free = [column for column in numeric if column.role == "unnamed"]
    if free and (len(numeric) == 2 or level_is_chosen):
        return free[0]
    raise InputError(
        f"{listed(columns)}, and none that names a frequency",
        "a heading such as 'Frequency [MHz]' over one column",
        "Add a header line above the numbers. Where the comma is the decimal mark, export with ;"
        " or a tab between the columns.",
    )


def pick_level(columns: Sequence[Column], frequency: Column, chosen: str | None) -> Column:
    """Return the one level column, or refuse and list what there is."""
    others = [column for column in columns if column.number != frequency.number]
    if chosen is not None:
        return _checked(_chosen_level(others, chosen))
    candidates = [column for column in others if column.role == "level"]
    if not candidates:
        candidates = [column for column in others if column.role == "unnamed" and column.numeric]
    if len(candidates) > 1:
        raise InputError(
            f"{len(candidates)} columns that may hold the level: {listed(candidates)}",
            "one level column, or a choice",
            f'Choose with level_column = "{candidates[0].name or candidates[0].number}".',
        )
    if candidates:
        return candidates[0]
    for column in others:
        if column.numeric:
            _checked(column)
    raise InputError(
        f"no level column among {listed(columns)}",
        "a column of levels in dB, with a heading such as 'Level [dBuV]'",
        'Name it in the header line, or choose with level_column = "…".',
    )


def _chosen_level(columns: Sequence[Column], chosen: str) -> Column:
    wanted = chosen.strip().casefold()
    found = [column for column in columns if column.name.casefold() == wanted]
    if not found:
        found = [column for column in columns if str(column.number) == wanted]
    if len(found) == 1:
        return found[0]
    raise InputError(
        f"level_column = {shown(chosen)}, which names {len(found) or 'no'} columns",
        f"one of {listed(columns)}",
        "Give the heading as it stands in the file, or the column's number counted from 1.",
    )


def _checked(column: Column) -> Column:
    """Refuse what cannot be a level, also where the user picks it."""
    if column.role == "phase":
        raise InputError(
            f"{column}, which is a phase or an angle",
            "a level in dB",
            "Export the level trace of the scan.",
        )
    if column.role == "linear":
        raise InputError(
            f"{column}, which is a linear magnitude",
            f"a level in one of {', '.join(LEVEL_UNITS)}",
            "Export the trace on a decibel scale.",
        )
    return column


def settle_level_unit(column: Column, stated: Sequence[str], option: str | None) -> LevelUnit:
    """Return the unit of the level from heading, preamble and option, which may not disagree.

    Parameters
    ----------
    column : Column
        The level column.
    stated : sequence of str
        Level units that the preamble states.
    option : str or None
        What the user says.
    """
    heard = column.unit if column.unit not in (None, "dB", *FREQUENCY_UNITS) else None
    unit = heard or _only(stated, "level unit") or None
    said = level_unit_in(option) if option is not None else None
    allowed = f"one of {', '.join(LEVEL_UNITS)}"
    if option is not None and said not in LEVEL_UNITS:
        raise InputError(f"level_unit = {shown(option)}", allowed)
    if unit is None and said is None:
        raise MissingData(
            f"no unit of the level, neither in the heading of {column} nor above it",
            allowed,
            'Say which it is: level_unit = "dBuV", for instance.',
        )
    if unit is not None and said is not None and unit != said:
        raise InputError(
            f"level_unit = {shown(said)}, but {shown(unit)} in the file",
            "one unit for the level",
            "Leave level_unit out, or correct the file.",
        )
    for known in LEVEL_UNITS:
        if known == (unit or said):
            return known
    raise InputError(
        f"levels in {shown(str(unit))} ({column})",
        allowed,
        "Export the scan in one of these units, or convert it and correct the heading.",
    )


def settle_frequency_unit(column: Column, stated: Sequence[str], option: str | None) -> str | None:
    """Return the unit of the frequency from heading, preamble and option; None if nobody says."""
    said = frequency_unit_in(option) if option is not None else None
    if option is not None and (said is None or said.lower() != option.strip().lower()):
        raise InputError(
            f"frequency_unit = {shown(option)}", f"one of {', '.join(FREQUENCY_UNITS)}"
        )
    unit = column.unit if column.unit in FREQUENCY_UNITS else _only(stated, "frequency unit")
    if unit is not None and said is not None and unit != said:
        raise InputError(
            f"frequency_unit = {shown(said)}, but {shown(unit)} in the file",
            "one unit for the frequency",
            "Leave frequency_unit out, or correct the file.",
        )
    return unit or said


def _only(stated: Sequence[str], what: str) -> str | None:
    units = sorted(set(stated))
    if len(units) > 1:
        raise InputError(
            f"more than one {what} above the numbers: {', '.join(units)}",
            "the unit in the heading of the column, such as 'Level [dBuV]'",
        )
    return units[0] if units else None


def listed(items: Sequence[object]) -> str:
    """Join names for a message, and stop before it gets long."""
    most = 12
    tail = f" and {len(items) - most} more" if len(items) > most else ""
    return ", ".join(str(item) for item in items[:most]) + tail
