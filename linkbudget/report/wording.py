"""Plain words for results, the same on the page, in the figures and in the terminal."""

from __future__ import annotations

import math
import re
import unicodedata
from collections import Counter
from collections.abc import Iterable
from typing import TYPE_CHECKING, Literal

from linkbudget.core.units import format_frequency

if TYPE_CHECKING:
    from linkbudget.core.quantity import Quantity
    from linkbudget.emissions.conformity import LineStanding
    from linkbudget.emissions.limits import LimitLine
    from linkbudget.link.budget import LinkBudget
    from linkbudget.results import VariantLink

STANDING_WORDS = {
    "over": "over the line",
    "inside": "inside the uncertainty",
    "not measured": "not measured",
    "clear": "clear of the line",
    "does not apply": "does not apply",
}
EMISSIONS_ONLY = "This speaks of emissions only."
_NO_DIRECTION = dict.fromkeys(
    map(ord, "\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
)
NO_ACTION = "no advice"

Wanted = Literal["reached", "too close to call", "missed"]


def plain(text: object) -> str:
    r"""Return text on one line, without what could command a terminal or turn its direction.

    Examples
    --------
    >>> plain("lid\x1b[31m\u202e red\nline")
    'lid�[31m red line'
    """
    spaced = " ".join(str(text).split()).translate(_NO_DIRECTION)
    return "".join("�" if unicodedata.category(c) in {"Cc", "Cs"} else c for c in spaced)


def number(value: float, digits: int = 1) -> str:
    """Print a number, never as minus zero, and in words where it is not finite.

    Examples
    --------
    >>> number(-0.04), number(3.25, 2), number(float("inf")), number(float("nan"))
    ('0.0', '3.25', 'without end', 'not known')
    """
    if not math.isfinite(value):
        return "not known" if math.isnan(value) else "without end"
    return f"{round(value, digits) + 0.0:.{digits}f}"


def typeset(text: str) -> str:
    r"""Set a text for paper: true minus and micro signs, and no break between number and unit.

    Examples
    --------
    >>> typeset("quasi-peak, -3.2 to -1 dBuV").replace("\u00a0", "_")
    'quasi-peak, −3.2 to −1_dBµV'
    """
    text = re.sub(r"(?<![\w.)])-(?=[\d.])", "−", text)
    text = re.sub(r"\bdBu(?=[VA])", "dBµ", text)
    return unbroken(text)


def unbroken(text: str) -> str:
    """Bind numbers to their units with a space at which no line breaks."""
    return re.sub(r"(?<=\d) (?=dB|%|(?:[kMG]?Hz|k?m)\b)", "\u00a0", text)


def metres(distance_m: float) -> str:
    """Print a distance with as many digits as an estimate deserves.

    Examples
    --------
    >>> metres(0.352), metres(4.04), metres(59.3), metres(1234.0), metres(-4.04)
    ('0.35 m', '4.0 m', '59 m', '1.2 km', '-4.0 m')
    """
    size = abs(distance_m)
    if not math.isfinite(size):
        return number(distance_m)
    if size >= 1000.0:
        return f"{number(distance_m / 1000.0, 1 if size < 10_000.0 else 0)} km"
    return f"{number(distance_m, 2 if size < 1.0 else 1 if size < 10.0 else 0)} m"


def amount(quantity: Quantity) -> str:
    """Print value and unit without the band."""
    return _with_unit(quantity.value, quantity.unit)


def band(quantity: Quantity) -> str:
    """Print the band, "9.0 to 14.2 dB"; empty where none is known."""
    if quantity.low is None or quantity.high is None:
        return ""
    low, high = (_with_unit(edge, quantity.unit) for edge in (quantity.low, quantity.high))
    return f"{_without_shared_unit(low, high)} to {high}"


def _without_shared_unit(low: str, high: str) -> str:
    bare, _, unit = low.rpartition(" ")
    return bare if bare and unit == high.rpartition(" ")[2] else low


def _with_unit(value: float, unit: str) -> str:
    if unit == "m":
        return metres(value)
    if unit == "Hz" and math.isfinite(value):
        return format_frequency(value)
    return f"{number(value)} {unit}".rstrip()


def wanted(budget: LinkBudget) -> Wanted:
    """Say whether the wanted distance is reached, by the band of the margin there."""
    low, high = budget.margin.band
    if low >= 0.0:
        return "reached"
    return "missed" if high < 0.0 else "too close to call"


def range_headline(link: VariantLink) -> str:
    """Answer "does the metal cost the range?" in one line."""
    if link.comparison is None:
        return "No radio link to judge"
    distance = metres(link.wanted_distance_m)
    without, with_metal = link.comparison.without, link.comparison.with_metal
    if with_metal is None:
        return f"No metal is described; {distance} is {wanted(without)}"
    text = {
        "reached": "No: {} still works under the metal",
        "too close to call": "Too close to call at {}",
        "missed": "{} is doubtful without the metal and out of reach with it",
    }[wanted(with_metal)]
    if wanted(with_metal) == "missed" and without.margin.value >= 0.0:
        text = "Yes: the metal costs the {} that you want"
    elif wanted(with_metal) == wanted(without) == "missed":
        text = "{} is out of reach, with the metal or without it"
    return text.format(distance)


def range_sentences(link: VariantLink) -> tuple[str, ...]:
    """Say how far it reaches, what the metal takes, what is left, and which way the signal goes."""
    found = link.comparison
    if found is None:
        return (link.absent_because or "The scenario describes no radio for this variant.",)
    reach = metres(found.reach_without.distance.value)
    if found.with_metal is None or found.reach_with is None or found.lost_db is None:
        return (f"It reaches about {reach}.", _left_at(link, found.without))
    with_reach = metres(found.reach_with.distance.value)
    sentences = [
        f"It reaches about {with_reach} with the metal and {reach} without it:"
        f" {_taken(found.lost_db)}.",
        _left_at(link, found.with_metal),
    ]
    if link.metal is not None and link.metal.paths:
        sentences.append(f"Most of what still gets through goes {link.metal.dominant}.")
    return tuple(sentences)


def _taken(lost_db: Quantity) -> str:
    if lost_db.value < 0.0:
        return f"in this direction the metal adds {number(-lost_db.value)} dB"
    return f"the metal takes {amount(lost_db)} of signal"


def _left_at(link: VariantLink, budget: LinkBudget) -> str:
    margin = budget.margin
    place = f"At {metres(link.wanted_distance_m)}"
    if link.reliability:
        place += f", in {link.reliability * 100.0:.4g} % of cases"
    spread = f" (band {band(margin)})" if band(margin) else ""
    if margin.value >= 0.0:
        return f"{place}, {amount(margin)} is left over{spread}."
    return f"{place}, {number(-margin.value)} {margin.unit} is missing{spread}."


def line_name(line: LimitLine) -> str:
    """Name a line inside a table that has its standard and class in the heading."""
    way = "AC mains" if line.distance_m is None else f"radiated, {line.distance_m:g} m"
    return f"{way}, {line.detector}, {span(line.low_hz, line.high_hz)}"


def span(low_hz: float, high_hz: float) -> str:
    """Print a range of frequencies, the unit once where both share it.

    Examples
    --------
    >>> span(30e6, 230e6), span(30e6, 1e9)
    ('30 to 230 MHz', '30 MHz to 1 GHz')
    """
    low, high = frequency(low_hz), frequency(high_hz)
    return f"{_without_shared_unit(low, high)} to {high}"


def frequency(frequency_hz: float) -> str:
    """Print a frequency to five figures.

    Examples
    --------
    >>> frequency(48_006_750.0), frequency(2.4835e9)
    ('48.007 MHz', '2.4835 GHz')
    """
    return format_frequency(float(f"{frequency_hz:.5g}"))


def beside_line(margin_db: float) -> str:
    """Say on which side of its line a level stands.

    Examples
    --------
    >>> beside_line(2.34), beside_line(-0.8)
    ('2.3 dB below the line', '0.8 dB over the line')
    """
    side = "over" if margin_db < 0.0 else "below"
    return f"{number(abs(margin_db))} dB {side} the line"


def nearest(standings: Iterable[LineStanding]) -> LineStanding | None:
    """Return the standing with the least margin; None where no scan says anything.

    A peak reading above an average line leaves that line "not measured" and decides nothing, so
    such a line counts only while it is below.
    """
    margins = [
        (s.worst.worst_margin.value, at, s)
        for at, s in enumerate(standings)
        if s.worst is not None
        and (s.standing != "not measured" or s.worst.worst_margin.value >= 0.0)
    ]
    return min(margins)[2] if margins else None


def counted(standings: Iterable[LineStanding]) -> str:
    """Count lines by where the scans stand, gravest first.

    Examples
    --------
    >>> counted(())
    'no line'
    """
    counts = Counter[str](s.standing for s in standings)
    return (
        ", ".join(f"{counts[k]} {w}" for k, w in STANDING_WORDS.items() if counts[k]) or "no line"
    )
