"""What would stand on the page several times, gathered so that it stands there once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from linkbudget.report import wording
from linkbudget.report.rows import record_rows

if TYPE_CHECKING:
    from linkbudget.emissions.transmitter import SetApart
    from linkbudget.results import Cited, ScanResult, Unstated


@dataclass(frozen=True, slots=True)
class Fact:
    """One line of a scan's record: its name, what is known, and whether that was assumed."""

    name: str
    text: str
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class RecordGroup:
    """Scans of one set-up: what they share, and in what each differs.

    Parameters
    ----------
    scans : tuple of ScanResult
    shared : tuple of Fact
        The same for all of them.
    own : tuple of (str, tuple of Fact)
        Name of a fact that differs, and one fact per scan, in their order.
    """

    scans: tuple[ScanResult, ...]
    shared: tuple[Fact, ...]
    own: tuple[tuple[str, tuple[Fact, ...]], ...]

    @property
    def title(self) -> str:
        """Name of the scan, or of the set-up where several share it."""
        if len(self.scans) == 1:
            return self.scans[0].name
        record = self.scans[0].record
        parts = [f"{record.port} port".replace("AC mains port", "AC mains"), record.transducer]
        if record.distance_m is not None:
            parts.append(f"at {record.distance_m:g} m")
        if record.bandwidth_hz is not None:
            parts.append(f"bandwidth {wording.frequency(record.bandwidth_hz)}")
        return f"{wording.upper_first(', '.join(parts))}: {len(self.scans)} scans"


def record_groups(scans: Iterable[ScanResult]) -> tuple[RecordGroup, ...]:
    """Gather scans of the same port, transducer, distance, bandwidth and variant."""
    by_set_up: dict[object, list[ScanResult]] = {}
    for scan in scans:
        r = scan.record
        key = (r.port, r.transducer, r.distance_m, r.bandwidth_hz, r.variant, scan.refused)
        by_set_up.setdefault(key, []).append(scan)
    return tuple(_record_group(group) for group in by_set_up.values())


def _record_group(scans: Sequence[ScanResult]) -> RecordGroup:
    facts = [_facts(scan) for scan in scans]
    names = list(dict.fromkeys(name for of_scan in facts for name in of_scan))
    shared: list[Fact] = []
    own: list[tuple[str, tuple[Fact, ...]]] = []
    for name in names:
        found = tuple(of_scan.get(name, Fact(name, "")) for of_scan in facts)
        if len(set(found)) == 1:
            shared.append(found[0])
        else:
            own.append((name, found))
    return RecordGroup(tuple(scans), tuple(shared), tuple(own))


def _facts(scan: ScanResult) -> dict[str, Fact]:
    """Return everything that is known of a scan, by name; names of readings may come twice."""
    facts = {
        "file": Fact("file", scan.file),
        "points": Fact("points", f"{scan.trace.points:,}".replace(",", " ")),
        "unit": Fact("unit", scan.unit),
    }
    facts |= {name: Fact(name, text) for name, text in record_rows(scan.record)}
    facts["corrections"] = Fact("corrections", "; ".join(scan.chain) or "none")
    for reading in scan.readings:
        before = facts.get(f"file: {reading.what}")
        text = f"{before.text}; {reading.found}" if before else reading.found
        assumed = reading.assumed or (before is not None and before.assumed)
        facts[f"file: {reading.what}"] = Fact(f"file: {reading.what}", text, assumed)
    return facts


def apart_rows(scans: Iterable[ScanResult]) -> tuple[SetApart, ...]:
    """Return each range that is set apart once for each radio, with its highest reading."""
    highest: dict[tuple[float, float, str, str], SetApart] = {}
    for scan in scans:
        for owned in scan.set_apart:
            key = (owned.low_hz, owned.high_hz, owned.why, owned.unit)
            if key not in highest or owned.highest_level_db > highest[key].highest_level_db:
                highest[key] = owned
    return tuple(highest.values())


def unstated_rows(unstated: Iterable[Unstated]) -> tuple[Unstated, ...]:
    """Return what was not told, facts that differ in their name alone in one row."""
    rows: dict[Unstated, list[str]] = {}
    for missing in unstated:
        rows.setdefault(replace(missing, what=""), []).append(missing.what)
    return tuple(replace(row, what="; ".join(whats)) for row, whats in rows.items())


@dataclass(frozen=True, slots=True)
class CitedDocument:
    """A document and what was taken from it.

    Parameters
    ----------
    title : str
        The document, with its edition and status where all uses share them.
    uses : tuple of (str, str)
        What was taken, and from which place.
    """

    title: str
    uses: tuple[tuple[str, str], ...]


def cited_documents(sources: Iterable[Cited]) -> tuple[CitedDocument, ...]:
    """Return every document once, in the order of first use."""
    by_document: dict[str, list[Cited]] = {}
    for cited in sources:
        by_document.setdefault(cited.source.document, []).append(cited)
    return tuple(_document(name, cited) for name, cited in by_document.items())


def _document(name: str, cited: Sequence[Cited]) -> CitedDocument:
    editions = {one.source.edition for one in cited}
    statuses = {one.source.status for one in cited}
    title = ", ".join([name, *(editions if len(editions) == 1 and "" not in editions else ())])
    if len(statuses) == 1:
        title += f" ({statuses.pop()})"
        statuses = set()
    places: dict[str, list[str]] = {}
    for one in cited:
        source = one.source
        parts = [source.edition] if len(editions) > 1 else []
        place = ", ".join(part for part in (*parts, source.clause) if part)
        place += f" ({source.status})" if statuses else ""
        place = ". ".join(part for part in (place, wording.upper_first(source.note)) if part)
        places.setdefault(place, []).append(one.what)
    uses: dict[str, list[str]] = {}
    for place, whats in places.items():
        uses.setdefault("; ".join(dict.fromkeys(whats)), []).append(place)
    return CitedDocument(title, tuple((what, "; ".join(at)) for what, at in uses.items()))
