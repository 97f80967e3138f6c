"""What comes of varying a scenario, in words and rows; the same on the page and in the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from linkbudget.report.wording import Wanted, amount, band, listed, metres, plain

if TYPE_CHECKING:
    from linkbudget.core.quantity import Quantity
    from linkbudget.results import VariedField, VariedLink, VaryResult

_MOST_LISTED = 4
_UNMOVED_DB = 0.05  # prints as zero
STATE_WORDS: dict[Wanted, str] = {
    "reached": "works",
    "too close to call": "too close to call",
    "missed": "out of reach",
}


@dataclass(frozen=True, slots=True)
class Answered:
    """A link that has an answer, with the values that led to it.

    Parameters
    ----------
    values : tuple of str
        Value of each field.
    wanted_m : float
        The distance that it shall cover [m].
    margin : Quantity
        At that distance [dB].
    reach : Quantity
        Distance at which the margin is zero [m].
    """

    values: tuple[str, ...]
    wanted_m: float
    margin: Quantity
    reach: Quantity

    @property
    def state(self) -> Wanted:
        """Whether the wanted distance is reached, by the band of the margin."""
        low, high = self.margin.band
        if low >= 0.0:
            return "reached"
        return "missed" if high < 0.0 else "too close to call"


def variant_names(varied: VaryResult) -> tuple[str, ...]:
    """Return the variants in their order."""
    return tuple(link.variant for link in varied.points[0].links)


def answered(values: tuple[str, ...], link: VariedLink) -> Answered | None:
    """Return a link with its values; None where it is refused."""
    if link.margin is None or link.reach is None or link.wanted_distance_m is None:
        return None
    return Answered(values, link.wanted_distance_m, link.margin, link.reach)


def column(varied: VaryResult, at: int) -> list[tuple[tuple[str, ...], VariedLink]]:
    """Return values and link at every point of the variant at one place."""
    return [(point.values, point.links[at]) for point in varied.points]


def heading(varied: VaryResult) -> str:
    """Say what was varied, and over which values."""
    return listed([f"{one.key} ({_span(one)})" for one in varied.fields])


def _span(field: VariedField) -> str:
    count = len(field.values)
    if field.numbers and count > _MOST_LISTED:
        return f"{count} values, {field.values[0]} to {field.values[-1]}"
    return ", ".join(plain(value) for value in field.values)


def stated(varied: VaryResult) -> tuple[str, ...]:
    """Say what the scenario itself has for each field."""
    return tuple(
        f"{one.key} is {plain(one.stated)} in the scenario"
        if one.stated
        else f"{one.key} does not stand in the scenario"
        for one in varied.fields
    )


def sentences(varied: VaryResult, at: int) -> tuple[str, ...]:
    """Say where the margin of one variant is best and worst.

    Parameters
    ----------
    varied : VaryResult
    at : int
        Place of the variant.
    """
    found = points(varied, at)
    told = []
    if found:
        best = max(found, key=lambda each: each.margin.value)
        worst = min(found, key=lambda each: each.margin.value)
        if len(found) == 1:
            told.append(f"{_at(varied, best)}: {_margin(best)}.")
        elif best.margin.value - worst.margin.value < _UNMOVED_DB:
            told.append(f"No value moves the margin: {_margin(best)}.")
        else:
            told += [f"Best at {_at(varied, best)}: {_margin(best)}."]
            told += [f"Worst at {_at(varied, worst)}: {_margin(worst)}."]
    if len(found) < len(varied.points):
        told.append("The table says why a value is refused.")
    return tuple(told)


def headline(varied: VaryResult, at: int) -> str:
    """Count in one line at how many values one variant reaches what is wanted."""
    points = [answered(*each) for each in column(varied, at)]
    states = ["refused" if each is None else STATE_WORDS[each.state] for each in points]
    told = [f"{states.count(word)} {word}" for word in (*STATE_WORDS.values(), "refused")]
    of_what = "pairs of values" if len(varied.fields) > 1 else "values"
    return f"Of {len(points)} {of_what}: " + listed([one for one in told if one[:2] != "0 "])


def _at(varied: VaryResult, point: Answered) -> str:
    if len(point.values) == 1:
        return plain(point.values[0])
    return listed(
        [f"{one.key} {plain(v)}" for one, v in zip(varied.fields, point.values, strict=True)]
    )


def _margin(point: Answered) -> str:
    """Print margin and reach with their bands."""
    return (
        f"margin {_banded(point.margin)} at {metres(point.wanted_m)}, reach {_banded(point.reach)}"
    )


def _banded(quantity: Quantity) -> str:
    spread = band(quantity)
    return f"{amount(quantity)} ({spread})" if spread else amount(quantity)


def grid(varied: VaryResult, at: int) -> list[tuple[str, list[VariedLink]]]:
    """Return the links of one variant by the values of the first field, then of the second."""
    by_values = dict(column(varied, at))
    first, second = varied.fields
    return [(one, [by_values[one, other] for other in second.values]) for one in first.values]


def points(varied: VaryResult, at: int) -> list[Answered]:
    """Return every point of one variant that has an answer."""
    found = (answered(*each) for each in column(varied, at))
    return [each for each in found if each is not None]


def depth(points: Sequence[Answered], point: Answered) -> int:
    """Return how strongly a cell is shaded [% of its colour]: by the size of its margin."""
    largest_db = max(abs(each.margin.value) for each in points)
    return round(6.0 + 40.0 * abs(point.margin.value) / max(largest_db, 1.0))
