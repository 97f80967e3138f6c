"""One pre-scan without a scenario: the few facts that it needs come as options."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import cast, get_args

from linkbudget import __version__
from linkbudget.core.errors import InputError, MissingData
from linkbudget.core.units import format_frequency, parse
from linkbudget.emissions.conformity import Mains, required_lines, standings
from linkbudget.emissions.corrections import ROLES, Correction, Role, correct, read_correction_table
from linkbudget.emissions.limits import (
    EquipmentClass,
    all_lines,
    highest_measured_frequency,
    lines,
)
from linkbudget.emissions.margins import SIDES
from linkbudget.emissions.scan import Detector, Port, ScanRecord, Transducer
from linkbudget.emissions.transmitter import OwnTransmitter
from linkbudget.results import (
    BookingFacts,
    EmissionsResult,
    Product,
    StudyResult,
    Unstated,
    VariantEmissions,
)
from linkbudget.study.prescans import scan_result
from linkbudget.study.told import cautions, sources, unstated_of_scans

_LIMIT = re.compile(r"\s*(?P<standard>.*?)\s+class\s+(?P<letter>[ABab])\s*")
_NEEDED = {
    "limit": 'which lines, such as --limit "CISPR 32 class B"',
    "port": '--port enclosure, or --port "AC mains"',
    "transducer": '--transducer antenna, or --transducer "line-impedance network"',
    "detector": "--detector peak, quasi-peak or average",
}
_DISTANCE = 'antenna to product, such as --distance "3 m"'
_CHANNEL_HZ = 2e6  # presumed for a radio of which only the band is given, and told as assumed


def study_bare_scan(file: Path, facts: Mapping[str, str]) -> StudyResult:
    """Hold one pre-scan against the limit lines.

    Parameters
    ----------
    file : Path
        A pre-scan in CSV.
    facts : mapping
        What the options say, by name; options that were not used are absent.

    Returns
    -------
    StudyResult
        Emissions alone: no link, no advice.

    Raises
    ------
    MissingData
        Naming every fact that is needed and was not given.
    InputError
        Where a fact, the file or a table is at fault.
    """
    from linkbudget.emissions.reader import read_scan  # a link needs no reader of files

    _require(facts)
    standard, letter = _limit(facts["limit"])
    record = _record(facts)
    trace = read_scan(
        file,
        frequency_unit=facts.get("frequency unit"),
        level_unit=facts.get("level unit"),
        level_column=facts.get("level column"),
    )
    scan = correct(file.stem, trace, record, _corrections(facts))
    highest = highest_measured_frequency(
        _optional(facts, "highest internal frequency", "frequency")
    )
    mains: Mains = "built-in" if record.port == "AC mains" else "none"
    distances = [] if record.distance_m is None else [record.distance_m]
    rows = tuple(
        row
        for row in required_lines(
            standard, letter, mains, highest.value, scanned_distances_m=distances
        )
        if row.line.port == record.port
    )
    radios = _radios(facts)
    found = standings([scan], rows, radios)
    compared = [one for standing in found for one in standing.compared]
    emissions = EmissionsResult(
        standard=standard,
        equipment_class=letter,
        no_line_because="",
        highest_measured=highest if record.port == "enclosure" else None,
        lines=lines(standard, letter),
        scans=(scan_result(scan, compared, radios),),
        variants=(VariantEmissions(file.name, found),),
    )
    return StudyResult(
        scenario_file=str(file),
        tool_version=__version__,
        product=Product(file.name, "one pre-scan without a scenario", "", (file.name,)),
        links=(),
        emissions=emissions,
        advice=None,
        booking=BookingFacts(),
        unstated=(*_presumed_channel(radios), *unstated_of_scans(emissions)),
        sources=sources(None, (), emissions),
        cautions=cautions(None, (), emissions),
    )


def _require(facts: Mapping[str, str]) -> None:
    missing = [mend for name, mend in _NEEDED.items() if name not in facts]
    is_probe = "probe" in facts.get("transducer", "")
    if facts.get("port") == "enclosure" and "distance" not in facts and not is_probe:
        missing.append(_DISTANCE)
    if missing:
        raise MissingData(
            "a pre-scan without the facts that make it usable",
            "; ".join(missing),
            "Give them as options, or describe the scan in a scenario.",
        )


def _limit(text: str) -> tuple[str, EquipmentClass]:
    match = _LIMIT.fullmatch(text)
    held = sorted({(line.standard, line.equipment_class) for line in all_lines()})
    wanted = (match["standard"].upper(), match["letter"].upper()) if match else None
    for standard, letter in held:
        if wanted == (standard.upper(), letter):
            return standard, letter
    raise InputError(
        repr(text), "one of " + ", ".join(f'"{s} class {c}"' for s, c in held), field="--limit"
    )


def _word(facts: Mapping[str, str], name: str, words: tuple[str, ...]) -> str:
    text = facts.get(name, "")
    if text and text not in words:
        raise InputError(repr(text), "one of " + ", ".join(words), field=_option(name))
    return text


def _optional(facts: Mapping[str, str], name: str, kind: str) -> float | None:
    text = facts.get(name)
    return None if text is None else parse(text, kind, field=_option(name))


def _option(name: str) -> str:
    return "--" + name.replace(" ", "-")


def _record(facts: Mapping[str, str]) -> ScanRecord:
    return ScanRecord(
        port=cast(Port, _word(facts, "port", get_args(Port))),
        transducer=cast(Transducer, _word(facts, "transducer", get_args(Transducer))),
        detector=cast(Detector, _word(facts, "detector", get_args(Detector))),
        bandwidth_hz=_optional(facts, "bandwidth", "frequency"),
        distance_m=_optional(facts, "distance", "length"),
        uncertainty_db=_optional(facts, "uncertainty", "loss"),
        swept="swept" in facts,
        polarisation=_word(facts, "polarisation", (*SIDES["enclosure"], "both")),
        conductor=_word(facts, "conductor", (*SIDES["AC mains"], "both")),
    )


def _corrections(facts: Mapping[str, str]) -> list[Correction]:
    return [_correction(role, facts[role]) for role in ROLES if role in facts]


def _correction(role: Role, text: str) -> Correction:
    """Read a value with its unit; any other text names a table."""
    if Path(text).is_file():
        return read_correction_table(text, role)
    kind = "antenna factor" if role == "antenna factor" else "loss"
    try:
        return Correction(role, parse(text, kind, field=_option(role)), role)
    except InputError as error:
        raise InputError(
            f"{text!r}, which is no file and no value",
            error.expected + ", or the path of a table",
            error.mend,
            field=_option(role),
        ) from None


def _presumed_channel(radios: Sequence[OwnTransmitter]) -> list[Unstated]:
    return [
        Unstated(
            "channel bandwidth of the own transmitter",
            format_frequency(radio.occupied_bandwidth_hz),
            "assumed",
            "",
            None,
            "it widens what is set apart round the band and its harmonics; a scenario states it",
        )
        for radio in radios
    ]


def _radios(facts: Mapping[str, str]) -> list[OwnTransmitter]:
    text = facts.get("transmitter band")
    if text is None:
        return []
    low, mark, high = text.partition("..")
    field = _option("transmitter band")
    if not mark:
        raise InputError(repr(text), 'two frequencies, such as "2.4 GHz..2.4835 GHz"', field=field)
    return [
        OwnTransmitter(
            "own radio",
            parse(low, "frequency", field=field),
            parse(high, "frequency", field=field),
            _CHANNEL_HZ,
        )
    ]
