"""What comes of varying a scenario, for the terminal and for a spreadsheet."""

from __future__ import annotations

import csv
import io
import itertools
import math
import textwrap
from collections.abc import Iterator
from typing import TYPE_CHECKING

from linkbudget.report.bounds import AT_LEAST, AT_MOST
from linkbudget.report.terminal import COLUMNS
from linkbudget.report.varied import column, heading, headline, sentences, stated, variant_names
from linkbudget.report.wording import metres, number, percent, plain

if TYPE_CHECKING:
    from linkbudget.core.quantity import Quantity
    from linkbudget.results import VariedLink, VaryResult

_LONGEST_VALUE = 18
_BOUNDS = {AT_MOST: "<", AT_LEAST: ">"}
_READING = (
    "low to high holds 95 % of the draws; chance: that the wanted distance works at the wanted"
    " reliability; < and >: where the law of the room ends."
)
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def vary_summary(varied: VaryResult) -> str:
    """Return a table of every point for each variant, in 80 columns."""
    head = [f"{varied.product} ({varied.scenario_file})", f"Varied: {heading(varied)}."]
    parts = [[*map(_wrapped, head), *(_wrapped(f"{one}.") for one in stated(varied))]]
    for at, name in enumerate(variant_names(varied)):
        told = [f"{headline(varied, at)}.", *sentences(varied, at)]
        lines = [_wrapped(f"Link, {name}"), *(_wrapped(one, 2) for one in told)]
        parts += [[*lines, "", *_table(varied, at)]]
    parts.append([_wrapped(_READING), "", _wrapped(varied.deference)])
    return "\n\n".join("\n".join(lines) for lines in parts)


def _wrapped(text: str, indent: int = 0) -> str:
    blank = " " * indent
    clean = plain(text)
    return textwrap.fill(clean, COLUMNS, initial_indent=blank, subsequent_indent=blank)


def _table(varied: VaryResult, at: int) -> Iterator[str]:
    *outer, inner = varied.fields
    width = min(_LONGEST_VALUE, max(len(plain(value)) for value in (*inner.values, "value")))
    upper = f"  {'':<{width}}{'lost':>8}{'level':>8}{'margin, dB':>21}{'reach, m':>21}{'chance':>9}"
    ends = f"{'low':>7}{'typ.':>7}{'high':>7}"
    yield _wrapped(inner.key, 2)
    yield upper
    yield f"  {'':<{width}}{'dB':>8}{'dBm':>8}{ends}{ends}"
    rows = itertools.groupby(column(varied, at), key=lambda row: row[0][:-1])
    for values, inside in rows:
        if outer:
            yield _wrapped(f"{outer[0].key} {values[0]}", 2)
        for each, link in inside:
            yield _row(plain(each[-1]), width, link)


def _row(value: str, width: int, link: VariedLink) -> str:
    name = value if len(value) <= width else value[: width - 1] + "…"
    if link.margin is None or link.reach is None or link.received is None:
        told = f"  {name:<{width}}  refused: {plain(link.refused)}"
        return textwrap.fill(told, COLUMNS, subsequent_indent=" " * (width + 4))
    lost = "" if link.lost is None else number(link.lost.value)
    margins = "".join(f"{number(each):>7}" for each in _three(link.margin))
    low_m, typical_m, high_m = (_short(each) for each in _three(link.reach))
    bound = _BOUNDS.get(link.reach.coverage, "")
    reaches = f"{low_m:>7}{bound + typical_m:>7}{high_m:>7}"
    chance = "" if link.chance is None else percent(link.chance.value).replace("under ", "<")
    level = number(link.received.value)
    return f"  {name:<{width}}{lost:>8}{level:>8}{margins}{reaches}{chance:>9}".rstrip()


def _three(quantity: Quantity) -> tuple[float, float, float]:
    low, high = quantity.band
    return low, quantity.value, high


def _short(distance_m: float) -> str:
    text = metres(distance_m)
    return text.removesuffix(" m").replace(" km", "k")


def vary_csv(varied: VaryResult) -> str:
    r"""Return every point of every variant as one row of a CSV file with commas.

    Parameters
    ----------
    varied : VaryResult

    Returns
    -------
    str
        A heading with units, then the rows. A cell without an answer is empty, and `refused` says
        why; `reach is` says "at most" or "at least" where the law of the room ends. No text
        starts a formula in a spreadsheet.
    """
    text = io.StringIO()
    write = csv.writer(text, lineterminator="\n")
    fields = [f"{one.key} [{one.unit}]" if one.unit else one.key for one in varied.fields]
    write.writerow([safe_cell(each) for each in (*fields, "variant", *_COLUMNS)])
    for point in varied.points:
        values = [_value(varied, at, value) for at, value in enumerate(point.values)]
        for link in point.links:
            write.writerow([*values, safe_cell(link.variant), *_cells(link)])
    return text.getvalue()


_COLUMNS = (
    "loss by the metal [dB]",
    "received level [dBm]",
    "margin low [dB]",
    "margin [dB]",
    "margin high [dB]",
    "reach low [m]",
    "reach [m]",
    "reach high [m]",
    "reach is",
    "chance [%]",
    "refused",
)


def safe_cell(text: object) -> str:
    """Return a text that no spreadsheet takes for a formula: one that looks so gets a quote.

    Examples
    --------
    >>> safe_cell("=1+1"), safe_cell("tray")
    ("'=1+1", 'tray')
    """
    clean = plain(text)
    return f"'{clean}" if clean.startswith(_FORMULA) else clean


def _value(varied: VaryResult, at: int, value: str) -> str:
    """Return a number where all values of the field are numbers in the unit of the heading."""
    field = varied.fields[at]
    if field.numbers:
        return _digits(field.numbers[field.values.index(value)])
    return safe_cell(value)


def _cells(link: VariedLink) -> list[str]:
    if link.margin is None or link.reach is None or link.received is None:
        return [*[""] * (len(_COLUMNS) - 1), safe_cell(link.refused)]
    lost = None if link.lost is None else link.lost.value
    chance = None if link.chance is None else 100.0 * link.chance.value
    ends = (*_three(link.margin), *_three(link.reach))
    bound = link.reach.coverage if link.reach.coverage in _BOUNDS else ""
    numbers = [_digits(each) for each in (lost, link.received.value, *ends)]
    return [*numbers, bound, _digits(chance), ""]


def _digits(value: float | None) -> str:
    return "" if value is None or not math.isfinite(value) else f"{value:.7g}"
