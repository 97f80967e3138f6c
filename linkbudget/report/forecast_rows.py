"""Rows of the tables that say how sure a link is, which power it may send, and what disturbs it."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from linkbudget.link.forecast import COVERAGES
from linkbudget.report import bounds, certainty, wording

if TYPE_CHECKING:
    from linkbudget.core.quantity import Kind, Quantity
    from linkbudget.core.uncertainty import Estimate
    from linkbudget.link.forecast import Forecast, Outcome
    from linkbudget.link.legal_power import PowerRow
    from linkbudget.link.rooms import Room
    from linkbudget.results import VariantLink

MOST_DRIVERS = 8
_SMALLEST_SHARE = 0.005  # prints as no per cent
_CASES = ("without metal", "with metal")
COVERAGE_HEADS = tuple(f"{100.0 * coverage:.0f} %" for coverage in COVERAGES)


@dataclass(frozen=True, slots=True)
class OutcomeRow:
    """One figure of the forecast as it is printed.

    Parameters
    ----------
    name : str
    median, sampled : str
        Median of the draws, and how far chance may have moved it.
    intervals : tuple of str
        One for each coverage; empty for a chance, which has none.
    """

    name: str
    median: str
    sampled: str
    intervals: tuple[str, ...] = ()


def forecast_rows(link: VariantLink) -> list[OutcomeRow]:
    """Return level, margin, reach and chance, without the metal and with it, then the rest.

    The level is that of the median; one further reading of a measured series scatters about it.
    """
    found = link.comparison
    if found is None:
        return []
    metal = found.with_metal is not None
    rows: list[OutcomeRow] = []
    for case, (_, _, forecast) in zip(_CASES, found.cases, strict=False):
        rows += _of_case(forecast, f", {case}" if metal else "", link)
    rows += _of_one_reading(link)
    if link.delivery is not None:
        latency = certainty.milliseconds(link.delivery.latency_s)
        rows.append(_row(f"reports within {latency}", link.delivery.chance))
    return rows


def _of_case(forecast: Forecast, case: str, link: VariantLink) -> list[OutcomeRow]:
    works = forecast.chance
    place = wording.metres(link.wanted_distance_m)
    return [
        _row(f"received level{case}", forecast.level),
        _row(f"margin{case}", forecast.margin),
        _row(f"reach{case}", forecast.reach, link.room),
        OutcomeRow(
            f"chance that {place} works{case}",
            certainty.chance(works.value, 1),
            certainty.sampled(works, "1"),
        ),
    ]


def _of_one_reading(link: VariantLink) -> list[OutcomeRow]:
    """Return what one further reading of a measured series would show; nothing without a series."""
    place_m = link.wanted_distance_m
    found = [link.room.one_reading(place_m, share) for share in COVERAGES] if link.room else []
    told = [reading for reading in found if reading is not None]
    if not told:
        return []
    return [
        OutcomeRow(
            f"one reading at {wording.metres(place_m)}, as in the series",
            _printed(told[0].value, "dBm"),
            "not drawn",
            tuple(
                wording.between(*(_printed(end, "dBm") for end in reading.band)) for reading in told
            ),
        )
    ]


def _row(name: str, outcome: Outcome, room: Room | None = None) -> OutcomeRow:
    def told(figure: Estimate) -> str:
        printed = _printed(figure.value, outcome.unit)
        return f"{bounds.at_end(room, figure.value)} {printed}".lstrip()

    return OutcomeRow(
        name,
        told(outcome.median),
        certainty.sampled(outcome.median, outcome.unit),
        tuple(wording.between(told(low), told(high)) for low, high in outcome.intervals),
    )


def _printed(value: float, unit: str) -> str:
    if unit == "1":
        return certainty.chance(value, 1)
    if unit == "m":
        return wording.metres(value)
    return f"{wording.number(value)} {unit}"


@dataclass(frozen=True, slots=True)
class DriverRow:
    """One input that spreads the margin, and the length of its bar [%].

    Parameters
    ----------
    name : str
    kind : Kind
    share, length : float
        Share of the spread, and length of its bar, the strongest being the longest [%].
    known : Quantity
        What is known of it.
    left : str
        Standard deviation that would remain if it were known exactly.
    unstated, is_metal : bool
        Whether nobody stated it, and whether it is of the metal.
    """

    name: str
    kind: Kind
    share: float
    length: float
    known: Quantity
    left: str
    unstated: bool
    is_metal: bool


def driver_rows(link: VariantLink) -> list[DriverRow]:
    """Return what spreads the margin of the link as it is built, strongest first."""
    found = link.comparison
    if found is None:
        return []
    forecast = found.as_built[2]
    of_metal = set(forecast.known) - set(found.forecast_without.known)
    shown = [one for one in forecast.drivers if one.share >= _SMALLEST_SHARE][:MOST_DRIVERS]
    return [
        DriverRow(
            one.name,
            one.kind,
            round(100.0 * one.share, 1),
            round(100.0 * one.share / shown[0].share, 1),
            forecast.known[one.name],
            f"{wording.number(one.spread_if_known)} dB",
            one.kind in ("assumed", "typical"),
            one.name in of_metal,
        )
        for one in shown
    ]


def margin_spread(link: VariantLink) -> str:
    """Return the standard deviation of the margin as it is now; "" where nothing spreads it."""
    found = link.comparison
    ranked = found.as_built[2].drivers if found is not None else ()
    if not ranked:
        return ""
    return f"{wording.number(ranked[0].spread_if_known + ranked[0].fall)} dB"


def beside_power_line(row: PowerRow) -> str:
    """Say how far a power lies from its line by the end that counts, or why nobody can tell."""
    if row.state != "judged" or row.counted_margin_db is None:
        return row.state
    return wording.beside_line(row.counted_margin_db)


def compared_links(links: Sequence[VariantLink]) -> list[VariantLink]:
    """Return the links that stand side by side; none where there are fewer than two."""
    found = [link for link in links if link.comparison is not None]
    return found if len(found) > 1 else []


def same_power(links: Sequence[VariantLink], link: VariantLink) -> str:
    """Return the earlier variant whose power stands the same to every line; "" where none does."""
    before = itertools.takewhile(lambda one: one is not link, links)
    return next((one.variant for one in before if link.power and one.power == link.power), "")
