"""Where the pre-scans stand against every line that a product must meet.

States, strongest first: over, not measured, inside (the uncertainty), clear (of it). A line that
the product does not face "does not apply", with the reason.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from linkbudget.core.quantity import Quantity
from linkbudget.core.units import format_frequency
from linkbudget.emissions.coverage import Range, in_words, without
from linkbudget.emissions.detectors import explanation, meaning
from linkbudget.emissions.limits import EquipmentClass, LimitLine, lines
from linkbudget.emissions.margins import (
    ScanAgainstLine,
    assess,
    reads_low,
    why_not_compared,
)
from linkbudget.emissions.scan import Scan
from linkbudget.emissions.settling import compare_all, unsettled
from linkbudget.emissions.transmitter import OwnTransmitter, SetApart, set_apart, taken_ranges
from linkbudget.emissions.uncertainty import measurement_uncertainty

__all__ = [
    "LineStanding",
    "OwnTransmitter",
    "RequiredLine",
    "ScanAgainstLine",
    "SetApart",
    "Standing",
    "assess",
    "required_lines",
    "set_apart",
    "standings",
]

Standing = Literal["clear", "inside", "over", "not measured", "does not apply"]
Mains = Literal["none", "built-in", "adapter"]

_FIRST_CHOICE_DISTANCE_M = 3.0


@dataclass(frozen=True, slots=True)
class RequiredLine:
    """A line of the standard, and whether this product faces it.

    Parameters
    ----------
    line : LimitLine
    applies : bool
        False: `reason` says why not.
    required : bool
        Whether the answer needs it; a second distance that was scanned too is compared beyond need.
    low_hz, high_hz : float
        Part of the line that must be measured [Hz].
    reason : str
    """

    line: LimitLine
    applies: bool
    required: bool
    low_hz: float
    high_hz: float
    reason: str


@dataclass(frozen=True, slots=True)
class LineStanding:
    """Where the scans stand against one line.

    Parameters
    ----------
    line : LimitLine
    standing : {"clear", "inside", "over", "not measured", "does not apply"}
    required : bool
        Whether the answer needs this line.
    reason : str
        In one sentence.
    uncertainty : Quantity
        That of the worst scan; the assumed one where no scan was compared [dB].
    worst : ScanAgainstLine or None
        The scan that decides.
    gaps : tuple of (low, high)
        Ranges that are not measured, or not in both polarisations or conductors [Hz].
    compared : tuple of ScanAgainstLine
        Every scan that was compared, worst margin first.
    not_compared : tuple of str
        Scans of this port that were not, and why.
    within : (low, high) or None
        Part of the line that must be measured on this product [Hz]; None: all of it.
    """

    line: LimitLine
    standing: Standing
    required: bool
    reason: str
    uncertainty: Quantity
    worst: ScanAgainstLine | None = None
    gaps: tuple[Range, ...] = ()
    compared: tuple[ScanAgainstLine, ...] = ()
    not_compared: tuple[str, ...] = ()
    within: Range | None = None


def required_lines(
    standard: str,
    equipment_class: EquipmentClass,
    mains: Mains,
    highest_measured_hz: float,
    *,
    scanned_distances_m: Sequence[float] = (),
    adapter: str = "",
) -> tuple[RequiredLine, ...]:
    """Return every line of a standard and class, and whether the product faces it.

    Parameters
    ----------
    standard, equipment_class : str
        "CISPR 32" and "A" or "B".
    mains : {"none", "built-in", "adapter"}
        How the product meets the AC mains.
    highest_measured_hz : float
        Up to where radiated emissions must be measured [Hz].
    scanned_distances_m : sequence of float
        Distances at which radiated scans below 1 GHz exist, the best covered first [m]; one
        distance is enough there.
    adapter : str
        Name of the mains adapter.

    Returns
    -------
    tuple of RequiredLine
        In the order of the data.
    """
    held = lines(standard, equipment_class)
    choices = {one.distance_m for one in held if one.distance_m is not None}
    scanned = [d for s in scanned_distances_m for d in sorted(choices) if abs(d - s) <= 0.01 * d]
    chosen_m = scanned[0] if scanned else _FIRST_CHOICE_DISTANCE_M
    rows: list[RequiredLine] = []
    for line in held:
        if line.port == "AC mains":
            applies, required, reason = _mains_port(mains, adapter)
        else:
            applies, required, reason = _enclosure_port(
                line, held, highest_measured_hz, chosen_m, scanned
            )
        high_hz = line.high_hz
        if line.port == "enclosure" and applies:
            high_hz = min(high_hz, highest_measured_hz)
        rows.append(RequiredLine(line, applies, required, line.low_hz, high_hz, reason))
    return tuple(rows)


def _mains_port(mains: Mains, adapter: str) -> tuple[bool, bool, str]:
    if mains == "none":
        return False, False, "does not apply, because the product has no AC mains port"
    if mains == "built-in":
        return True, True, "the product has an AC mains port"
    named = adapter or "that the product is used with"
    return True, True, f"at the mains side of the adapter {named}, with the product as its load"


def _enclosure_port(
    line: LimitLine,
    held: Sequence[LimitLine],
    highest_measured_hz: float,
    chosen_m: float,
    scanned: Sequence[float],
) -> tuple[bool, bool, str]:
    if highest_measured_hz <= line.low_hz:
        highest = format_frequency(highest_measured_hz)
        return False, False, f"does not apply, because nothing above {highest} has to be measured"
    has_choice = any(
        one.port == line.port
        and (one.detector, one.low_hz) == (line.detector, line.low_hz)
        and one.distance_m != line.distance_m
        for one in held
    )
    if not has_choice or line.distance_m == chosen_m:
        return True, True, "radiated emissions are judged on every product"
    if line.distance_m in scanned:
        return True, False, f"compared as well; one distance is enough, here {chosen_m:g} m"
    return (
        False,
        False,
        f"does not apply, because one distance is enough and {chosen_m:g} m is taken",
    )


def standings(
    scans: Sequence[Scan],
    required: Sequence[RequiredLine],
    transmitters: Sequence[OwnTransmitter] = (),
    *,
    variant: str = "",
    perhaps_on_air: Sequence[OwnTransmitter] = (),
) -> tuple[LineStanding, ...]:
    """Return where the scans stand against each line.

    Parameters
    ----------
    scans : sequence of Scan
        All of them; each line picks those that may be compared.
    required : sequence of RequiredLine
    transmitters : sequence of OwnTransmitter
        Their bands, out-of-band domains and harmonics are set apart: radio lines judge them.
    variant : str
        Scans of other variants are left out; "" takes all.
    perhaps_on_air : sequence of OwnTransmitter
        Radios of other variants: set apart in a scan that does not say whose it is, so that such a
        scan settles nothing there.

    Returns
    -------
    tuple of LineStanding
        One for each required line, in that order.

    Raises
    ------
    MissingData
        Where a scan's detector, or the distance of a radiated scan, is not stated.
    """
    own = [scan for scan in scans if not variant or scan.record.variant in ("", variant)]
    return tuple(_standing(own, row, transmitters, perhaps_on_air) for row in required)


def _standing(
    scans: Sequence[Scan],
    row: RequiredLine,
    transmitters: Sequence[OwnTransmitter],
    perhaps_on_air: Sequence[OwnTransmitter],
) -> LineStanding:
    line = row.line
    default = measurement_uncertainty(line)
    if not row.applies:
        return LineStanding(line, "does not apply", False, row.reason, default)
    of_port = [scan for scan in scans if scan.record.port == line.port]
    whys = [why_not_compared(scan, line) for scan in of_port]
    usable = [scan for scan, why in zip(of_port, whys, strict=True) if not why]
    refused = tuple(f"{s.name}: {why}" for s, why in zip(of_port, whys, strict=True) if why)
    within = (row.low_hz, row.high_hz)
    # by wire the radio has no line of its own, so nothing is taken out there
    apart = taken_ranges(transmitters, line.high_hz) if line.port == "enclosure" else ()
    perhaps = taken_ranges(perhaps_on_air, line.high_hz) if line.port == "enclosure" else ()

    def set_apart_in(scan: Scan) -> tuple[Range, ...]:
        return apart if scan.record.variant else (*apart, *perhaps)

    results = compare_all(usable, line, within, set_apart_in)
    missing = unsettled(results, line, without([within], apart), set_apart_in)
    narrow = tuple(scan.name for scan, _ in results if reads_low(scan, line))
    judged = [found for _, found in results if _says(found) != "says nothing" or found.above]
    judged.sort(key=lambda found: found.worst_margin.value)
    standing, worst = _decide(judged, missing)
    gaps = tuple(gap for ranges in missing.values() for gap in ranges)
    return LineStanding(
        line=line,
        standing=standing,
        required=row.required,
        reason=_reason(standing, worst, missing, refused, narrow),
        uncertainty=worst.uncertainty if worst else default,
        worst=worst,
        gaps=without(gaps, ()),
        compared=tuple(sorted((f for _, f in results), key=lambda f: f.worst_margin.value)),
        not_compared=refused,
        within=within,
    )


def _says(found: ScanAgainstLine) -> str:
    below = found.worst_margin.value >= 0
    return meaning(found.detector, found.line.detector, below=below)


def _decide(
    judged: Sequence[ScanAgainstLine], missing: dict[str, tuple[Range, ...]]
) -> tuple[Standing, ScanAgainstLine | None]:
    """Return the strongest state and the scan that decides; `judged` is worst margin first."""
    over = next((found for found in judged if _says(found) == "over"), None)
    if over is not None:
        return "over", over
    if missing or not judged:
        return "not measured", judged[0] if judged else None
    # the uncertainty differs between scans: the nearest to the line in terms of its own decides
    nearest = min(judged, key=lambda found: found.worst_margin.value - found.uncertainty.value)
    is_clear = nearest.worst_margin.value > nearest.uncertainty.value
    return "clear" if is_clear else "inside", nearest


def _reason(
    standing: Standing,
    worst: ScanAgainstLine | None,
    missing: dict[str, tuple[Range, ...]],
    refused: tuple[str, ...],
    narrow: tuple[str, ...],
) -> str:
    is_open = worst is not None and _says(worst) == "says nothing"
    word = "not settled" if is_open else "not measured"
    missed = f"{word}: {_missing_in_words(missing)}" if missing else ""
    if missing and narrow:
        names = ", ".join(narrow)
        missed += f"; {names} cannot settle it: bandwidth is too narrow for broadband levels"
    if worst is None:
        return "; ".join((missed or "no scan says anything of this line", *refused))
    margin_db, u_db = worst.worst_margin.value, worst.uncertainty.value
    named = "" if worst.detector in worst.scan else f", {worst.detector}"
    place = f"at {format_frequency(worst.worst_at_hz)} ({worst.scan}{named})"
    text = f"{abs(margin_db):.1f} dB {'below' if margin_db >= 0 else 'above'} the line {place}"
    if standing == "clear":
        text += f", more than the uncertainty of {u_db:.1f} dB"
    elif standing == "inside":
        text += f", within the uncertainty of {u_db:.1f} dB"
    why = explanation(worst.detector, worst.line.detector, below=margin_db >= 0)
    if is_open:
        why += f": read it again with the {worst.line.detector} detector"
    return "; ".join(part for part in (text, why, missed) if part)


def _missing_in_words(missing: dict[str, tuple[Range, ...]]) -> str:
    if len(missing) == 2 and len(set(missing.values())) == 1:
        return in_words(next(iter(missing.values())))
    return "; ".join(f"{side} {in_words(ranges)}" for side, ranges in missing.items())
