"""Rows of the tables and places on the small pictures of the page; only shares are computed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from linkbudget.emissions.peaks import prominent_points
from linkbudget.enclosure.effect import AT_PORT, CONTAINED
from linkbudget.report import bounds, wording
from linkbudget.report.palette import Role

if TYPE_CHECKING:
    from linkbudget.core.quantity import Quantity
    from linkbudget.emissions.conformity import LineStanding
    from linkbudget.emissions.limits import LimitLine
    from linkbudget.emissions.margins import ScanAgainstLine
    from linkbudget.emissions.peaks import Peak
    from linkbudget.emissions.scan import ScanRecord
    from linkbudget.link.reach import LinkComparison
    from linkbudget.results import EmissionsResult, ScanResult, VariantLink

PEAKS_PER_TABLE = 6
LOPSIDED = "lopsided bands of the receiver"
STRIP_DB = (-15.0, 25.0)  # ends of the small margin strip in the table of standings

_SHOWN_DB = 0.05  # what prints as more than zero


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar of the small range picture, lengths in percent of its track.

    Up to `believed` the law of the room may be trusted; the rest of `length` is drawn thinner.
    """

    name: str
    role: Role
    distance: Quantity
    length: float
    believed: float
    low: float
    high: float


def reach_bars(link: VariantLink) -> tuple[float, tuple[Bar, ...]]:
    """Return where the wanted distance lies, and the bars of the reach [% of the track].

    Parameters
    ----------
    link : VariantLink
        With a comparison.

    Returns
    -------
    wanted : float
    bars : tuple of Bar
        Without metal first.
    """
    found = link.comparison
    if found is None:
        return 0.0, ()
    reaches: list[tuple[str, Role, Quantity]] = [
        ("without metal", "lake", found.reach_without.distance)
    ]
    if found.reach_with is not None:
        reaches.append(("with metal", "copper", found.reach_with.distance))
    values = [link.wanted_distance_m, *(q.value for _, _, q in reaches)]
    longest_m = min(1.08 * max(*values, *(q.band[1] for _, _, q in reaches)), 2.2 * max(values))

    def share(distance_m: float) -> float:
        return round(100.0 * min(max(distance_m / longest_m, 0.0), 1.0), 2)

    def bar(name: str, role: Role, reach: Quantity) -> Bar:
        believed_to_m = link.room.believed_to_m if link.room is not None else reach.value
        believed = share(min(believed_to_m, reach.value))
        low, high = reach.band
        return Bar(name, role, reach, share(reach.value), believed, share(low), share(high))

    return share(link.wanted_distance_m), tuple(bar(*one) for one in reaches)


def shows_lopsided(found: LinkComparison) -> bool:
    """Return whether lopsided bands of what the receiver needs move any margin visibly."""
    return any(abs(budget.lopsided.value) >= _SHOWN_DB for budget, _, _ in found.cases)


def budget_rows(link: VariantLink) -> list[tuple[str, Quantity | None, Quantity | None]]:
    """Return the rows of the budget table: name, without metal, with metal."""
    found = link.comparison
    if found is None:
        return []
    columns = [
        {line.name: line.value for line in budget.lines}
        | {
            "received level": budget.received,
            "sensitivity": budget.sensitivity,
            "noise rise at the receiver": budget.desensitisation,
            "fade margin (level above sensitivity)": budget.above_sensitivity,
            "fade margin needed": budget.fade_allowance,
            **({LOPSIDED: budget.lopsided} if shows_lopsided(found) else {}),
            "margin": budget.margin,
            "reach": reach.distance,
        }
        for budget, reach, _ in found.cases
    ]
    with_metal = columns[-1] if found.with_metal else {}
    return [(name, columns[0].get(name), with_metal.get(name)) for name in columns[-1]]


def metal_rows(link: VariantLink) -> list[tuple[str, Quantity, str]]:
    """Return the rows of the metal table: name, loss, note."""
    metal = link.metal
    if metal is None:
        return []
    rows = [(path.name, bounds.path_loss(path), path.note) for path in metal.paths]
    far_end = f"far end: {metal.toward}"
    if metal.detuning is not None:
        rows.append((AT_PORT, metal.detuning, ""))
    else:
        far_end += f"; {AT_PORT} {CONTAINED}"
    rows.append(("total toward the far end", metal.total, far_end))
    if metal.scatter.band != (0.0, 0.0):
        rows.append(("scatter of single directions", metal.scatter, "on top of the total"))
    return rows


def gain_sentence(link: VariantLink) -> tuple[str, ...]:
    """Say how far the metal may raise the peak gain: positive is more, unlike in a loss."""
    gain = link.metal.largest_gain if link.metal is not None else None
    if gain is None:
        return ()
    spread = f" ({wording.band(gain)})" if wording.band(gain) else ""
    return (
        f"Largest rise of peak gain: {wording.amount(gain)}{spread}; the metal may add it in one"
        " direction, and it counts for the permitted power.",
    )


def with_repeats(links: Sequence[VariantLink]) -> list[tuple[VariantLink, str]]:
    """Return each link with the earlier variant whose metal prints alike; "" where none does."""
    first: dict[str, str] = {}
    found = []
    for link in links:
        printed = [
            (name, note, wording.amount(loss), wording.band(loss))
            for name, loss, note in metal_rows(link)
        ]
        earlier = first.get(str(printed), "") if printed else ""
        first.setdefault(str(printed), link.variant)
        found.append((link, earlier))
    return found


def record_rows(record: ScanRecord) -> list[tuple[str, str]]:
    """Return the record of a scan in words, as far as its port asks for it; "" if not stated."""

    def text(show: Callable[[float], str], value: float | None) -> str:
        return "" if value is None else show(value)

    radiated = record.port == "enclosure"
    own = {
        "distance": text(wording.metres, record.distance_m),
        "polarisation": record.polarisation,
        "antenna height": text(wording.metres, record.antenna_height_m),
        "turntable": record.turntable,
    }
    rows = {
        "port": record.port,
        "transducer": record.transducer,
        "variant": record.variant or "all",
        "detector": record.detector or "",
        "bandwidth": text(wording.frequency, record.bandwidth_hz),
        "step": text(wording.frequency, record.step_hz),
        **({"sweep": "each point holds the highest of its step"} if record.swept else {}),
        **(own if radiated else {"conductor": record.conductor}),
        "site": record.site,
        "operating mode": record.mode,
        "channel": record.channel,
        "supply": record.supply,
        "cables": record.cables,
        "firmware": record.firmware,
        "uncertainty (k = 2)": text(lambda u: f"{wording.number(u)} dB", record.uncertainty_db),
    }
    return list(rows.items())


def matrix_rows(
    emissions: EmissionsResult,
) -> list[tuple[LimitLine, list[LineStanding | None]]]:
    """Return every line with its standing in each variant, in the order of the variants."""
    lines = {s.line.line_id: s.line for v in emissions.variants for s in v.standings}
    by_variant = [{s.line.line_id: s for s in v.standings} for v in emissions.variants]
    return [(line, [found.get(line_id) for found in by_variant]) for line_id, line in lines.items()]


def strip(margin: Quantity, uncertainty: Quantity) -> dict[str, float]:
    """Return where a margin and its uncertainty lie on the small strip [% of its length]."""
    low, high = STRIP_DB

    def share(level_db: float) -> float:
        return round(100.0 * min(max((level_db - low) / (high - low), 0.0), 1.0), 1)

    value = margin.value
    return {
        "line": share(0.0),
        "at": share(value),
        "low": share(value - uncertainty.value),
        "high": share(value + uncertainty.value),
    }


def highest_points(scan: ScanResult) -> list[tuple[float, float]]:
    """Return frequency [Hz] and level of the highest peaks, for a scan that meets no line.

    Parameters
    ----------
    scan : ScanResult

    Returns
    -------
    list of (frequency_hz, level_db)
        Highest first; the highest point of all stands in it, peak or not.
    """
    known = np.isfinite(scan.trace.level_db)
    f, level = scan.trace.frequency_hz[known], scan.trace.level_db[known]
    if not f.size:
        return []
    at = {
        int(level.argmax()),
        *prominent_points(f, level, scan.record.bandwidth_hz or 0.0).tolist(),
    }
    chosen = sorted(at, key=lambda row: -level[row])[:PEAKS_PER_TABLE]
    return [(float(f[row]), float(level[row])) for row in chosen]


def worst_rows(
    against: Iterable[ScanAgainstLine],
) -> list[tuple[ScanAgainstLine, Sequence[Peak], int]]:
    """Return each comparison with its foremost peaks and how many more there are."""
    return [
        (found, found.peaks[:PEAKS_PER_TABLE], max(0, len(found.peaks) - PEAKS_PER_TABLE))
        for found in against
    ]


def lines_in_use(emissions: EmissionsResult) -> list[LimitLine]:
    """Return the lines that at least one variant faces."""
    faced = {
        s.line.line_id: s.line
        for v in emissions.variants
        for s in v.standings
        if s.standing != "does not apply"
    }
    return list(faced.values())
