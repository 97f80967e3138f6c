"""Plain words for results, the same on the page, in the figures and in the terminal."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal

from linkbudget.core.quantity import Quantity
from linkbudget.core.units import format_frequency
from linkbudget.report.bounds import AT_LEAST, AT_MOST

if TYPE_CHECKING:
    from linkbudget.emissions.limits import LimitLine

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

Wanted = Literal["reached", "too close to call", "missed", "beyond belief"]


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


def sentence(text: str) -> str:
    """Return a text with a capital in front and a full stop behind.

    Examples
    --------
    >>> sentence("this variant has no radio"), sentence("Why?")
    ('This variant has no radio.', 'Why?')
    """
    told = upper_first(text.strip())
    return told if not told or told[-1] in ".?!" else f"{told}."


def upper_first(text: str) -> str:
    """Return a text with a capital in front, the rest as it is."""
    return text[:1].upper() + text[1:]


def listed(parts: Sequence[str]) -> str:
    """Join parts as a sentence does: "a", "a and b", "a, b and c"."""
    *most, last = parts
    return f"{', '.join(most)} and {last}" if most else last


def with_detector(name: str, detector: str | None) -> str:
    """Return a scan's name with its detector, which stands once even where the name holds it.

    Examples
    --------
    >>> with_detector("mains, line", "peak"), with_detector("mains, line, peak", "peak")
    ('mains, line, peak', 'mains, line, peak')
    >>> with_detector("mains, quasi-peak", "peak")
    'mains, quasi-peak, peak'
    """
    if not detector or re.search(rf"(?<![\w-]){re.escape(detector)}(?![\w-])", name, re.I):
        return name
    return f"{name}, {detector}"


def typeset(text: str) -> str:
    r"""Set a text for paper: true minus and micro signs, and no break between number and unit.

    Examples
    --------
    >>> typeset("quasi-peak, -3.2 to -1 dBuV").replace("\u00a0", "_")
    'quasi-peak, −3.2 to −1_dBµV'
    """
    text = re.sub(r"(?<![\w.)])-(?=[\d.])", "−", text)
    text = re.sub(r"\bdBu(?=[VA])", "dBµ", text)
    text = re.sub(r"(?<=\d )u(?=V/m)", "µ", text)
    text = re.sub(r"(?<=\d )([cm]m)2\b", r"\1²", text)
    text = re.sub(r"(?<=\d )ohm\b", "Ω", text)
    return unbroken(text)


def unbroken(text: str) -> str:
    """Bind numbers to their units with a space at which no line breaks."""
    return re.sub(r"(?<=\d) (?=dB|%|Ω|[cm]m²|(?:[kMG]?Hz|[km]?m|m?s|ohm)\b)", "\u00a0", text)


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
    """Print value and unit without the band; a bound says that it is one.

    Examples
    --------
    >>> amount(Quantity(200.0, "dB", "computed", coverage="at least"))
    '> 200 dB'
    >>> amount(Quantity(427.0, "m", "computed", coverage="at most"))
    'at most 427 m'
    """
    if is_floor(quantity):
        return f"> {number(quantity.value, 0)} {quantity.unit}"
    bound = f"{quantity.coverage} " if quantity.coverage in (AT_LEAST, AT_MOST) else ""
    return bound + _with_unit(quantity.value, quantity.unit)


def is_floor(quantity: Quantity) -> bool:
    """Return whether it is a loss of which no more is known than that it is as large."""
    return quantity.coverage == AT_LEAST and quantity.unit != "m"


def band(quantity: Quantity) -> str:
    """Print the band, "9.0 to 14.2 dB"; empty where none is known, and beside a floor."""
    if quantity.low is None or quantity.high is None or is_floor(quantity):
        return ""
    low, high = (_with_unit(edge, quantity.unit) for edge in (quantity.low, quantity.high))
    return between(low, high)


def between(low: str, high: str) -> str:
    """Join two printed values, the unit once where both share it.

    Examples
    --------
    >>> between("2.0 m", "27 m"), between("800 m", "1.2 km")
    ('2.0 to 27 m', '800 m to 1.2 km')
    """
    return f"{_without_shared_unit(low, high)} to {high}"


def _without_shared_unit(low: str, high: str) -> str:
    bare, _, unit = low.rpartition(" ")
    return bare if bare and unit == high.rpartition(" ")[2] else low


def _with_unit(value: float, unit: str) -> str:
    if unit == "m":
        return metres(value)
    if unit == "Hz" and math.isfinite(value):
        return format_frequency(value)
    if unit == "1":
        return count(value)
    return f"{number(value)} {unit}".rstrip()


def count(value: float) -> str:
    """Print a number without a unit, such as a quality factor, to three figures.

    Examples
    --------
    >>> count(12345.6), count(87.23), count(0.4), count(3.2e15)
    ('12 300', '87.2', '0.4', 'over 10^9')
    """
    if not math.isfinite(value) or value == 0.0:
        return number(value)
    if abs(value) > 1e9:
        return "over 10^9"
    digits = 2 - math.floor(math.log10(abs(value)))
    if digits <= 0:
        return f"{round(value, digits):,.0f}".replace(",", " ")
    return f"{value:.{digits}f}".rstrip("0").rstrip(".")


def area(area_m2: float) -> str:
    """Print a small area to two figures.

    Examples
    --------
    >>> area(4.2e-4), area(3.14e-7), area(2e-12)
    ('4.2 cm2', '0.31 mm2', 'under 0.001 mm2')
    """
    if area_m2 < 1e-9:
        return "under 0.001 mm2"
    value, unit = (area_m2 * 1e4, "cm2") if area_m2 >= 1e-4 else (area_m2 * 1e6, "mm2")
    return f"{count(float(f'{value:.2g}'))} {unit}"


def percent(share: float) -> str:
    """Print a share of one in percent.

    Examples
    --------
    >>> percent(0.5), percent(0.00012), percent(1.0)
    ('50 %', 'under 0.1 %', '100 %')
    """
    in_percent = 100.0 * share
    if 0.0 < in_percent < 0.1:
        return "under 0.1 %"
    return f"{in_percent:.1f} %" if in_percent < 10.0 else f"{in_percent:.0f} %"


def line_name(line: LimitLine) -> str:
    """Name a line inside a table that has its standard and class in the heading."""
    way = "AC mains" if line.distance_m is None else f"radiated, {line.distance_m:g} m"
    return f"{way}, {line.detector}, {span(line.low_hz, line.high_hz)}"


def span(low_hz: float, high_hz: float, figures: int = 5) -> str:
    """Print a range of frequencies, the unit once where both share it.

    Examples
    --------
    >>> span(30e6, 230e6), span(30e6, 1e9), span(253_720.0, 527_671.0, figures=3)
    ('30 to 230 MHz', '30 MHz to 1 GHz', '254 to 528 kHz')
    """
    return between(frequency(low_hz, figures), frequency(high_hz, figures))


def frequency(frequency_hz: float, figures: int = 5) -> str:
    """Print a frequency to five figures, or as many as asked for.

    Examples
    --------
    >>> frequency(48_006_750.0), frequency(2.4835e9)
    ('48.007 MHz', '2.4835 GHz')
    """
    return format_frequency(float(f"{frequency_hz:.{figures}g}"))


def beside_line(margin_db: float) -> str:
    """Say on which side of its line a level stands.

    Examples
    --------
    >>> beside_line(2.34), beside_line(-0.8)
    ('2.3 dB below the line', '0.8 dB over the line')
    """
    side = "over" if margin_db < 0.0 else "below"
    return f"{number(abs(margin_db))} dB {side} the line"
