"""From a scenario's pre-scans to where each variant stands against each line."""

from __future__ import annotations

from collections.abc import Sequence

from linkbudget.core.errors import InputError, InputErrors, MissingData
from linkbudget.core.quantity import Quantity
from linkbudget.emissions.conformity import (
    RequiredLine,
    ScanAgainstLine,
    required_lines,
    standings,
)
from linkbudget.emissions.corrections import Correction, correct, read_correction_table
from linkbudget.emissions.limits import (
    FamilyStandard,
    all_lines,
    highest_measured_frequency,
    lines,
    standard_of,
)
from linkbudget.emissions.scan import Scan, ScanRecord
from linkbudget.emissions.transmitter import OwnTransmitter, set_apart
from linkbudget.results import EmissionsResult, ScanResult, VariantEmissions, thinned
from linkbudget.scenario import NO_RADIO, Radio, Scenario, record_of
from linkbudget.scenario import Correction as StatedStep
from linkbudget.scenario import Scan as StatedScan

ONE_GIGAHERTZ = 1e9  # above it CISPR 32 knows one distance only
_ISM_BAND_HZ = (2.4e9, 2.4835e9)  # where data radios at 2.4 GHz are allotted, EN 300 328


def emission_results(scenario: Scenario) -> EmissionsResult:
    """Read, correct and compare every scan of a scenario.

    Raises
    ------
    InputError, InputErrors
        Every scan that cannot be read or corrected, all told at once.
    """
    family = standard_of(scenario.product.family)
    standard, why_none = _standard(scenario, family)
    scans = _scans(scenario)
    radios = own_transmitters(scenario)
    if why_none:
        results = tuple(scan_result(scan, (), list(radios.values())) for scan in scans)
        return EmissionsResult(
            standard, scenario.product.equipment_class, why_none, None, (), results, ()
        )
    held = lines(standard, scenario.product.equipment_class)
    variants, highest = [], None
    for variant in scenario.variants:
        found = highest_measured(scenario, variant.radio)
        highest = found if highest is None or found.value > highest.value else highest
        rows = _required(scenario, standard, found, scans)
        variants.append(
            VariantEmissions(
                variant.name,
                standings(
                    scans,
                    rows,
                    [radios[variant.radio]] if variant.radio in radios else [],
                    variant=variant.name,
                    perhaps_on_air=list(radios.values()),
                ),
            )
        )
    compared = [found for v in variants for row in v.standings for found in row.compared]
    results = tuple(scan_result(scan, compared, list(radios.values())) for scan in scans)
    return EmissionsResult(
        standard, scenario.product.equipment_class, "", highest, held, results, tuple(variants)
    )


def _standard(scenario: Scenario, family: FamilyStandard) -> tuple[str, str]:
    """Return the standard whose lines are drawn, and why none can be."""
    held = {line.standard for line in all_lines()}
    ending = f" class {scenario.product.equipment_class}"
    stated = [None if s.limit is None else s.limit.removesuffix(ending) for s in scenario.scans]
    wanted = {limit for limit in stated if limit is not None}
    for index, limit in enumerate(stated):
        if limit is not None and limit not in held:
            raise scenario.located(
                MissingData(repr(limit), "one of the standards held: " + ", ".join(held)),
                "scans",
                index,
                "limit",
            )
    asked = next(iter(wanted)) if len(wanted) == 1 else family.standard
    if family.held or asked in held:
        return (family.standard if family.held else asked), ""
    return family.standard, (
        f"The emission standard of the family “{family.family}” is {family.standard}, and its"
        " lines are not among those held here, so none is drawn. Ask the laboratory for the"
        " lines that apply."
    )


def highest_measured(scenario: Scenario, radio_key: str) -> Quantity:
    """Return up to where a variant must be measured; its radio is an internal frequency too."""
    stated = scenario.product.highest_internal_frequency
    if stated is None or radio_key == NO_RADIO:
        return highest_measured_frequency(stated)
    return highest_measured_frequency(max(stated, scenario.radios[radio_key].band[1]))


def own_transmitters(scenario: Scenario) -> dict[str, OwnTransmitter]:
    """Return what each radio puts on the air, by its key."""
    return {key: _transmitter(key, radio) for key, radio in scenario.radios.items()}


def _transmitter(key: str, radio: Radio) -> OwnTransmitter:
    low, high = allocated_band(radio)
    return OwnTransmitter(radio.technology or key, low, high, radio.bandwidth)


def allocated_band(radio: Radio) -> tuple[float, float]:
    """Return the band that the rules allot: as stated, else that at 2.4 GHz, else the channels'."""
    if radio.allocated_band is not None:
        return radio.allocated_band
    low, high = radio.band
    inside = _ISM_BAND_HZ[0] <= low and high <= _ISM_BAND_HZ[1]
    return _ISM_BAND_HZ if inside else (low, high)


def _required(
    scenario: Scenario, standard: str, highest: Quantity, scans: Sequence[Scan]
) -> tuple[RequiredLine, ...]:
    product = scenario.product
    return required_lines(
        standard,
        product.equipment_class,
        product.mains,
        highest.value,
        scanned_distances_m=_distances_best_covered_first(scans),
        adapter=product.mains_adapter or "",
    )


def _distances_best_covered_first(scans: Sequence[Scan]) -> list[float]:
    """Return the distances of radiated scans below 1 GHz, that with the most points first."""
    points: dict[float, int] = {}
    for scan in scans:
        distance_m, f = scan.record.distance_m, scan.trace.frequency_hz
        if scan.record.transducer != "antenna" or distance_m is None:
            continue
        below = int(f.searchsorted(ONE_GIGAHERTZ))
        if below:
            points[distance_m] = points.get(distance_m, 0) + below
    return sorted(points, key=lambda distance_m: -points[distance_m])


def _scans(scenario: Scenario) -> tuple[Scan, ...]:
    scans: list[Scan] = []
    mistakes: list[InputError] = []
    for index, stated in enumerate(scenario.scans):
        try:
            scans.append(_scan(scenario, stated))
        except InputErrors as several:
            mistakes += several.errors
        except InputError as error:
            spot = ("scans", index, "detector" if error.field == "detector" else "file")
            bare = InputError(error.found, error.expected, error.mend)
            mistakes.append(error if error.file else scenario.located(bare, *spot))
    if mistakes:
        raise mistakes[0] if len(mistakes) == 1 else InputErrors(mistakes)
    return tuple(scans)


def _scan(scenario: Scenario, stated: StatedScan) -> Scan:
    from linkbudget.emissions.reader import read_scan  # a link needs no reader of files

    trace = read_scan(
        scenario.path_to(stated.file),
        shown_as=stated.file,
        frequency_unit=stated.frequency_unit,
        level_unit=stated.level_unit,
        level_column=stated.level_column,
    )
    record = record_of(stated)
    require_detector(record)
    steps = [_correction(scenario, step) for step in stated.corrections]
    return correct(stated.title, trace, record, steps)


def require_detector(record: ScanRecord) -> None:
    """Refuse a scan that nobody can weigh against a line; a probe needs no detector."""
    if record.detector is None and record.transducer in ("antenna", "line-impedance network"):
        raise MissingData(
            "a scan without its detector", "peak, quasi-peak or average", field="detector"
        )


def _correction(scenario: Scenario, step: StatedStep) -> Correction:
    if step.table is not None:
        return read_correction_table(scenario.path_to(step.table), step.role)
    if step.value is None:
        raise ValueError("a checked correction has a table or a value")
    return Correction(step.role, step.value.value, step.role)


def scan_result(
    scan: Scan, compared: Sequence[ScanAgainstLine], radios: Sequence[OwnTransmitter]
) -> ScanResult:
    """Return a scan as it is printed, with every line that it was held against."""
    against = {found.line.line_id: found for found in compared if found.scan == scan.name}
    record = scan.record
    refused = ""
    if record.transducer in ("near-field probe", "current probe"):
        refused = (
            f"A {record.transducer} has no limit line: its readings serve to compare before and"
            " after a change."
        )
    return ScanResult(
        name=scan.name,
        file=scan.trace.file,
        unit=scan.trace.unit,
        record=record,
        readings=scan.trace.readings,
        chain=scan.chain,
        trace=thinned(scan.trace.frequency_hz, scan.trace.level_db),
        against=tuple(against.values()),
        set_apart=set_apart(scan, radios) if record.port == "enclosure" and not refused else (),
        refused=refused,
    )
