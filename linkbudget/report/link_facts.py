"""How sure a link is and what it may send, in short, for the terminal: rows and sentences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from linkbudget.report import certainty, wording
from linkbudget.report.forecast_rows import (
    COVERAGE_HEADS,
    OutcomeRow,
    beside_power_line,
    driver_rows,
    forecast_rows,
    margin_spread,
)

if TYPE_CHECKING:
    from linkbudget.link.legal_power import PowerRow
    from linkbudget.results import ClockInChannel, VariantLink

_FIRST_CLOCKS = 6


@dataclass(frozen=True, slots=True)
class LinkFacts:
    """One paragraph: a heading, rows that are set in columns, and sentences below them."""

    heading: str
    rows: tuple[str, ...] = ()
    sentences: tuple[str, ...] = ()


def link_facts(link: VariantLink) -> Iterator[LinkFacts]:
    """Yield what is known of a link beyond its budget."""
    if link.comparison is None:
        return
    yield LinkFacts(
        f"How sure that is: median, and where {COVERAGE_HEADS[-1]} of the draws lie",
        tuple(_outcome(row) for row in forecast_rows(link)),
        (wording.sentence(f"Reports: {certainty.needed(link)}"),) if link.delivery else (),
    )
    drivers = driver_rows(link)
    if drivers:
        yield LinkFacts(
            f"What spreads the margin, standard deviation now {margin_spread(link)}",
            tuple(
                f"{row.name:<38}{row.share:>4.0f} %  {row.kind:<9} {row.left:>8} if known"
                for row in drivers
            ),
        )
    if link.power:
        yield LinkFacts(
            "Permitted power, by the high end of the power",
            sentences=tuple(_power(row) for row in link.power),
        )
    if link.clocks:
        yield LinkFacts(
            "Harmonics of the product's clocks in channels of its radio",
            sentences=_clocks(link.clocks),
        )


def _outcome(row: OutcomeRow) -> str:
    beside = row.intervals[-1] if row.intervals else f"sampling error {row.sampled}"
    return f"{row.name:<39}{row.median:>11}  {beside}"


def _power(row: PowerRow) -> str:
    stands = beside_power_line(row)
    line = f"line {row.written}" if row.written else ""
    judged = wording.amount(row.judged) if row.judged is not None else ""
    parts = [stands if not row.note.startswith(stands) else "", judged, line, row.note]
    place = ", ".join(part for part in (row.edition, row.clause) if part)
    rule = f"{row.rule} ({place})" if place else row.rule
    return f"{rule}: {'; '.join(part for part in (*parts, row.standing) if part)}"


def _clocks(clocks: Sequence[ClockInChannel]) -> tuple[str, ...]:
    told = [
        f"{hit.clock}, harmonic {hit.harmonic}: {wording.frequency(hit.frequency_hz)}, in the"
        f" channel at {wording.frequency(hit.channel_hz)}"
        f" {'at every tolerance' if hit.always else 'at some tolerances'}"
        for hit in clocks[:_FIRST_CLOCKS]
    ]
    left = len(clocks) - len(told)
    return (*told, *((f"and {left} more",) if left else ()))
