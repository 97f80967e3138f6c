"""What the user has not told, whose numbers were used, and what to beware of."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from linkbudget.core.quantity import Quantity
from linkbudget.emissions.limits import standard_of
from linkbudget.emissions.scan import ScanRecord
from linkbudget.enclosure.bands import metal_bands
from linkbudget.enclosure.geometry import Box, Plate
from linkbudget.link.budget import PLASTIC
from linkbudget.link.terms import cited_terms
from linkbudget.physics.materials import metal
from linkbudget.physics.plastics import plastics
from linkbudget.results import (
    BookingFacts,
    Cited,
    EmissionsResult,
    ScanResult,
    Unstated,
    VariantLink,
)
from linkbudget.scenario import Booking, Scenario, enclosure_of
from linkbudget.study.prescans import allocated_band
from linkbudget.study.told_rooms import sources_of_rooms, unstated_of_rooms

_FM_BROADCAST_HZ = (87.5e6, 108e6)  # ITU Radio Regulations, region 1 (from memory)

_KEY_OF_LINE = {
    "cable loss (product)": "antenna.cable_loss",
    "mismatch loss (product)": "antenna.return_loss",
    "antenna gain (product)": "antenna.efficiency",
    PLASTIC: "antenna.touchstone, measured with its plastic, instead of plastics",
    "body loss": "far_end.body_loss",
    "polarisation loss": "far_end.polarisation_angle, with antenna.polarisation",
    "antenna gain (far end)": "far_end.efficiency",
    "mismatch loss (far end)": "far_end.return_loss",
    "cable loss (far end)": "far_end.cable_loss",
}

_OPTION_OF_KEY = {
    "product.highest_internal_frequency": "--highest-internal-frequency",
    "scans.uncertainty": "--uncertainty",
    "scans.bandwidth": "--bandwidth",
    "scans.polarisation": "--polarisation",
    "scans.conductor": "--conductor",
}

SAFETY = (
    "A line-impedance network leaks current to earth, enough to hurt: bond it to earth before"
    " anything is plugged in, use an isolating transformer where your laboratory does, and let"
    " somebody who is licensed for mains work set it up.",
    "Transmit only where you are licensed, on a cable, or inside a screened room; a test mode that"
    " holds one channel is a transmitter.",
    "Keep the exposure limits of your country near a transmitting antenna, and keep people away"
    " from antennas that are fed by an amplifier.",
    "Electrostatic discharge kills receivers and boards: discharge cables before you connect them,"
    " and keep discharge tests away from the pre-scan.",
    "Local electrical codes and licensed practice come before anything written here.",
)


def unstated(
    scenario: Scenario, links: Sequence[VariantLink], emissions: EmissionsResult | None
) -> tuple[Unstated, ...]:
    """Return every stand-in value, the one that moves the answer most first."""
    rows = [*_of_links(scenario, links)]
    if emissions is not None:
        rows += _of_emissions(emissions, len(scenario.variants) > 1)
        if scenario.booking is None:
            rows.append(
                Unstated(
                    "price of a slot, wait, ship date",
                    "not weighed",
                    "assumed",
                    "booking",
                    None,
                    "the advice looks at emission lines alone",
                )
            )
    return _ranked(rows)


def unstated_of_scans(emissions: EmissionsResult) -> tuple[Unstated, ...]:
    """Return the stand-ins of a bare pre-scan; their keys are options of the command line."""
    rows = _ranked(_of_emissions(emissions, several_variants=False))
    return tuple(
        replace(
            row, key=_OPTION_OF_KEY.get(row.key, "a scenario, as " + row.key if row.key else "")
        )
        for row in rows
    )


def _ranked(rows: Iterable[Unstated]) -> tuple[Unstated, ...]:
    unique = {(row.what, row.used): row for row in rows}
    return tuple(sorted(unique.values(), key=lambda row: -(row.moves_db or 0.0)))


def _half_band_db(quantity: Quantity) -> float | None:
    if quantity.low is None or quantity.high is None:
        return None
    return max(quantity.value - quantity.low, quantity.high - quantity.value)


def _of_links(scenario: Scenario, links: Sequence[VariantLink]) -> Iterator[Unstated]:
    for one in links:
        if one.comparison is None:
            continue
        told = one.room is not None and one.room.holds_everything  # by the measured series
        for line in one.comparison.without.lines:
            if line.value.kind in ("assumed", "typical") and not told:
                is_loss = line.name == PLASTIC or line.name.partition(" (")[0].endswith("loss")
                shown = line.value.negated() if is_loss else line.value
                yield Unstated(
                    line.name,
                    str(shown),
                    line.value.kind,
                    _KEY_OF_LINE.get(line.name, ""),
                    _half_band_db(line.value),
                    line.value.source,
                )
        if one.scene is not None and scenario.antenna and scenario.antenna.kind is None:
            size = "short" if isinstance(one.scene, Box) else "half-wave"
            yield Unstated(
                "what the product's antenna is, and how it lies",
                f"{size} dipole along the length",
                "assumed",
                "antenna.kind, antenna.along",
                None,
                "it stands in where the metal's effect on the antenna is computed",
            )
        if one.metal is not None and scenario.far_end and scenario.far_end.where is None:
            yield Unstated(
                "where the far end is, seen from the metal",
                "anywhere",
                "assumed",
                "far_end.where",
                _half_band_db(one.metal.in_one_direction),
                "the scatter of single directions spans the lit and the shadow side",
            )
    for key, radio in scenario.radios.items():
        if radio.allocated_band is None:
            low, high = allocated_band(radio)
            yield Unstated(
                f"band that the rules allot to radio {key}",
                f"{low / 1e6:g} MHz to {high / 1e6:g} MHz",
                "assumed",
                f"radios.{key}.allocated_band",
                None,
                "taken as the radio's own in every scan",
            )
    if any(one.comparison for one in links) and scenario.plastics is None:
        yield Unstated(
            "plastic parts near the product's antenna",
            "none that were not there when it was tuned",
            "assumed",
            "plastics",
            None,
            "plastic within 2 mm may lower a 2.4 GHz resonance by 80 to 200 MHz",
        )
    yield from unstated_of_rooms(scenario, links)


def _of_emissions(emissions: EmissionsResult, several_variants: bool) -> Iterator[Unstated]:
    highest = emissions.highest_measured
    if highest is not None and highest.kind == "assumed":
        yield Unstated(
            "the highest frequency inside the product",
            f"measured up to {highest.value / 1e9:g} GHz",
            "assumed",
            "product.highest_internal_frequency",
            None,
            highest.source,
        )
    for scan in emissions.scans:
        yield from _of_scan(scan, several_variants)
        for found in scan.against:
            if found.uncertainty.kind == "assumed":
                yield Unstated(
                    f"measurement uncertainty, {found.line.port} port",
                    f"{found.uncertainty.value:.1f} dB (k = 2)",
                    "assumed",
                    "scans.uncertainty",
                    found.uncertainty.value,
                    found.uncertainty.source,
                )


_RECORD_FACTS: tuple[tuple[str, str, str, str], ...] = (
    # attribute, port it matters at, what was used, what it may hide
    ("bandwidth_hz", "", "the line's own bandwidth", "another bandwidth shifts broadband levels"),
    ("polarisation", "enclosure", "neither is settled", "the other one may read higher"),
    ("antenna_height_m", "enclosure", "not corrected", "a fixed height may sit in a null"),
    ("turntable", "enclosure", "not corrected", "one side of the product may read higher"),
    ("site", "enclosure", "not corrected", "an unvalidated room may be many dB off"),
    ("conductor", "AC mains", "neither is settled", "the other one may read higher"),
    ("mode", "", "nothing", "another mode may read higher"),
    ("cables", "", "nothing", "cables and their ends decide below 300 MHz"),
    ("firmware", "", "nothing", "another firmware may read higher"),
)


def _of_scan(scan: ScanResult, several_variants: bool) -> Iterator[Unstated]:
    for attribute, port, used, why in _RECORD_FACTS:
        if port in ("", scan.record.port) and _is_blank(scan.record, attribute):
            name = attribute.removesuffix("_hz").removesuffix("_m")
            what = f"{name.replace('_', ' ')} of scan “{scan.name}”"
            yield Unstated(what, used, "assumed", f"scans.{name}", None, why)
    if several_variants and not scan.record.variant:
        yield Unstated(
            f"variant of scan “{scan.name}”",
            "counts for every variant",
            "assumed",
            "scans.variant",
            None,
            "another variant may read higher",
        )
    for reading in scan.readings:
        if reading.assumed:
            yield Unstated(
                f"{reading.what} of file {scan.file}",
                reading.found,
                "assumed",
                "",
                None,
                "inferred by the reader; the file does not say",
            )


def _is_blank(record: ScanRecord, attribute: str) -> bool:
    return getattr(record, attribute) in (None, "")


def sources(
    scenario: Scenario | None, links: Sequence[VariantLink], emissions: EmissionsResult | None
) -> tuple[Cited, ...]:
    """Return every document whose numbers were used, each once."""
    cited: list[Cited] = []
    terms = [line.value for one in links if one.comparison for line in one.comparison.without.lines]
    cited += [Cited(row.cells["term"], row.source) for row in cited_terms(terms)]
    enclosure = enclosure_of(scenario) if scenario else None
    if links and isinstance(enclosure, Plate | Box) and enclosure.metal.kind == "typical":
        row = metal(enclosure.metal.name)
        cited.append(Cited(f"conductivity of {row.name}", row.source))
    if links and scenario:
        named = dict.fromkeys(part.material for part in scenario.plastics or () if part.material)
        cited += [Cited(f"permittivity of {name}", plastics()[name].source) for name in named]
    if any(one.metal is not None and one.metal.paths for one in links):
        prefix = "box_" if isinstance(enclosure, Box) else "plate_"
        cited += [
            Cited("how metal redirects and leaks", band.source)
            for name, band in metal_bands().items()
            if name.startswith((prefix, "detuning_", "scatter_"))
        ]
    cited += sources_of_rooms(scenario, links)
    if emissions is not None:
        cited += _limit_sources(scenario, emissions)
    return tuple({(one.what, str(one.source)): one for one in cited}.values())


def _limit_sources(scenario: Scenario | None, emissions: EmissionsResult) -> Iterator[Cited]:
    if scenario is not None:
        family = standard_of(scenario.product.family)
        yield Cited(f"emission standard of the family {family.family}", family.source)
    for line in emissions.lines:
        for segment in line.segments:
            yield Cited(line.label, segment.source)


def cautions(
    scenario: Scenario | None, links: Sequence[VariantLink], emissions: EmissionsResult | None
) -> tuple[str, ...]:
    """Return what to beware of: where the estimates end first, then safety."""
    told: list[str] = []
    for one in links:
        told += one.notes
        if one.metal is not None:
            told += one.metal.cautions
    if emissions is not None:
        if emissions.no_line_because:
            told.append(emissions.no_line_because)
        told += _broadcast(emissions)
        for scan in emissions.scans:
            told += [f"{scan.name}: {note}" for found in scan.against for note in found.notes]
            told += [f"{scan.name}: {scan.refused}"] if scan.refused else []
    return tuple(dict.fromkeys((*told, *_standard_asked(scenario, emissions), *SAFETY)))


def _broadcast(emissions: EmissionsResult) -> list[str]:
    """Warn where peaks stand in the band of broadcast stations on an unscreened site."""
    low, high = _FM_BROADCAST_HZ
    names = [
        scan.name
        for scan in emissions.scans
        if scan.record.port == "enclosure"
        and "screened" not in scan.record.site.lower().replace("unscreened", "")
        and any(low <= peak.frequency_hz <= high for one in scan.against for peak in one.peaks)
    ]
    if not names:
        return []
    return [
        f"Peaks from {low / 1e6:g} MHz to {high / 1e6:g} MHz may be broadcast stations, not the"
        f" product ({', '.join(names)}): scan once more with the product switched off."
    ]


def _standard_asked(
    scenario: Scenario | None, emissions: EmissionsResult | None
) -> tuple[str, ...]:
    if scenario is None or emissions is None or emissions.no_line_because:
        return ()
    family = standard_of(scenario.product.family)
    if family.standard == emissions.standard:
        return ()
    return (
        f"The family “{family.family}” falls under {family.standard}, whose lines are not held"
        f" here. The lines drawn are those of {emissions.standard}, because the scans ask for"
        " them: they show an order of size and decide nothing.",
    )


def booking_facts(booking: Booking | None) -> BookingFacts:
    """Return what the user said about slots, and what a missed slot costs by these figures."""
    if booking is None:
        return BookingFacts()
    stated = (
        ("price of a slot", booking.slot_price),
        ("price of a retest", booking.retest_price),
        ("wait for a slot", _weeks(booking.slot_wait)),
        ("wait for a retest", _weeks(booking.retest_wait)),
        ("cost of a week's delay", booking.week_of_delay),
        ("ship date", booking.ship_date.isoformat() if booking.ship_date else None),
    )
    facts = tuple((name, str(value)) for name, value in stated if value is not None)
    return BookingFacts(facts, _miss_costs(booking))


def _weeks(days: float | None) -> str | None:
    return None if days is None else f"{days / 7.0:g} weeks"


def _miss_costs(booking: Booking) -> str:
    retest, wait_days, week = booking.retest_price, booking.retest_wait, booking.week_of_delay
    if retest is None or wait_days is None or week is None:
        return ""
    cost = retest.amount + wait_days / 7.0 * week.amount
    return (
        f"By your figures a slot that ends over a line costs {cost:,.0f} {retest.currency} and"
        f" {wait_days / 7.0:g} weeks: the retest and the delay, before any fix."
    )
