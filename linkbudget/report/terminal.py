"""Plain-text summaries for the terminal: no colour, no control characters, 80 columns."""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING

from linkbudget.report import wording
from linkbudget.results import DEFERENCE

if TYPE_CHECKING:
    from linkbudget.core.quantity import Quantity
    from linkbudget.emissions.conformity import LineStanding
    from linkbudget.emissions.limits import LimitLine
    from linkbudget.results import ScanResult, StudyResult, VariantLink

COLUMNS = 80
FIRST_UNSTATED = 3
_MARKS = {"over": "!", "inside": "~", "not measured": "?", "clear": "+", "does not apply": "-"}


def summary(study: StudyResult) -> str:
    """Return the answer in brief: link, metal, emissions, decision, and what is not known."""
    return _text(
        _title(study),
        *(_link_answer(link) for link in study.links),
        _emissions_answer(study, _brief),
        _decision(study),
        _unstated(study, FIRST_UNSTATED),
        _cautions(study),
        _wrapped(study.deference),
    )


def link_summary(study: StudyResult) -> str:
    """Return budget, margin and reach of every variant, with and without the metal."""
    return _text(
        _title(study),
        *(part for link in study.links for part in (_link_answer(link), _budget(link))),
        _unstated(study, None),
        _wrapped(study.deference),
    )


def enclosure_summary(study: StudyResult) -> str:
    """Return what the metal does, path by path: low, typical, high."""
    return _text(
        _title(study),
        *(_metal(link) for link in study.links),
        _wrapped(study.deference),
    )


def emissions_summary(study: StudyResult) -> str:
    """Return where the scans stand against every line, and how the scans were read."""
    emissions = study.emissions
    scans = emissions.scans if emissions is not None else ()
    return _text(
        _title(study),
        _emissions_answer(study, _reasons),
        *(_scan(scan) for scan in scans),
        _unstated(study, None),
        _cautions(study),
        _wrapped(study.deference),
    )


def decide_summary(study: StudyResult) -> str:
    """Return the advice, its reason, and the lines that it rests on."""
    return _text(
        _title(study),
        _decision(study),
        _emissions_answer(study, _states),
        _unstated(study, FIRST_UNSTATED),
        _wrapped(study.deference),
    )


def check_summary(study: StudyResult) -> str:
    """Return what the scenario holds, how its scans were read, and what it does not state."""
    product = study.product
    scans = study.emissions.scans if study.emissions is not None else ()
    held = [
        f"Product family: {product.family}",
        f"Variants: {', '.join(product.variants) or 'none'}",
        f"Radio links: {sum(link.comparison is not None for link in study.links)}",
        f"Scans: {len(scans)}",
    ]
    return _text(
        _title(study),
        "\n".join(_wrapped(line) for line in held),
        *(_scan(scan) for scan in scans),
        _unstated(study, None),
    )


def limits_summary(lines: Sequence[LimitLine]) -> str:
    """Return every limit line, each value with its source and status."""
    return _text(*(_limit_line(line) for line in lines), _wrapped(DEFERENCE))


def _text(*parts: str) -> str:
    return "\n\n".join(part for part in parts if part)


def _wrapped(text: str, indent: int = 0, hanging: int = 0) -> str:
    filled = textwrap.fill(
        wording.unbroken(wording.plain(text)),
        COLUMNS,
        initial_indent=" " * indent,
        subsequent_indent=" " * (indent + hanging),
        break_on_hyphens=False,
    )
    return filled.replace("\u00a0", " ")


def _headed(heading: str, lines: Iterable[str]) -> str:
    return "\n".join([_wrapped(heading), *lines])


def _title(study: StudyResult) -> str:
    return _wrapped(f"{study.product.name} ({study.scenario_file})")


def _link_answer(link: VariantLink) -> str:
    radio = f", {link.radio}" if link.radio else ""
    lines = [f"{wording.range_headline(link)}.", *wording.range_sentences(link)]
    return _headed(f"Link, {link.variant}{radio}", (_wrapped(line, 2) for line in lines))


def _budget(link: VariantLink) -> str:
    found = link.comparison
    if found is None:
        return ""
    shown = found.with_metal or found.without
    rows = [_row(line.name, line.value) for line in shown.lines]
    rows += [
        _row("received level", shown.received),
        _row("sensitivity", shown.sensitivity),
        _row("fade margin needed", shown.fade_allowance),
        _row("margin", shown.margin),
    ]
    if found.with_metal is not None:
        rows.append(_row("margin without metal", found.without.margin))
    rows.append(_row("reach without metal", found.reach_without.distance))
    cautions = found.reach_without.cautions
    if found.reach_with is not None:
        rows.append(_row("reach with metal", found.reach_with.distance))
        cautions += found.reach_with.cautions
    rows += [
        _row(name, value)
        for name, value in (("lost to the metal", found.lost_db), ("reach lost", found.lost_m))
        if value is not None
    ]
    told = dict.fromkeys((*cautions, *link.notes))
    case = "with metal" if found.with_metal is not None else "no metal described"
    heading = f"Budget at {wording.metres(link.wanted_distance_m)}, {case}"
    return _headed(heading, [*rows, *(_wrapped(f"- {note}", 2, 2) for note in told)])


def _row(name: str, quantity: Quantity) -> str:
    spread = wording.band(quantity)
    return f"  {name:<30}{wording.amount(quantity):>11}  {quantity.kind:<9} {spread}".rstrip()


def _metal(link: VariantLink) -> str:
    metal = link.metal
    heading = f"Metal, {link.variant}"
    if metal is None:
        return _headed(heading, [_wrapped(link.absent_because or "No metal is described.", 2)])
    rows = [f"  {'loss in dB':<30}{'low':>9}{'typical':>9}{'high':>9}"]
    rows += [_three(path.name, path.loss) for path in metal.paths]
    rows.append(_three("detuning of the antenna", metal.detuning))
    rows.append(_three(f"total, far end {metal.toward}", metal.total))
    if metal.largest_gain is not None:
        rows.append(_three("largest rise of peak gain", metal.largest_gain))
    if metal.paths:
        rows.append(f"  Most of what still gets through goes {metal.dominant}.")
    return _headed(heading, [*rows, *(_wrapped(f"- {note}", 2, 2) for note in metal.cautions)])


def _three(name: str, loss: Quantity) -> str:
    low, high = loss.band
    numbers = "".join(f"{wording.number(value):>9}" for value in (low, loss.value, high))
    return f"  {name:<30}{numbers}  {loss.kind}"


def _emissions_answer(
    study: StudyResult, told: Callable[[Sequence[LineStanding]], list[str]]
) -> str:
    emissions = study.emissions
    if emissions is None:
        return ""
    if emissions.no_line_because:
        return _headed("Emissions", [_wrapped(emissions.no_line_because, 2)])
    scope = f"{emissions.standard} class {emissions.equipment_class}"
    return _text(
        *(
            _headed(f"{scope}, {one.variant}" if one.variant else scope, told(one.standings))
            for one in emissions.variants
        )
    )


def _brief(standings: Sequence[LineStanding]) -> list[str]:
    """Return the counts, and the line that is nearest."""
    lines = [_wrapped(f"{wording.counted(standings)}.".capitalize(), 2)]
    near = wording.nearest(standings)
    if near is not None and near.worst is not None:
        margin = near.worst.worst_margin.value
        lines.append(
            _wrapped(
                f"Nearest: {wording.beside_line(margin)} at"
                f" {wording.frequency(near.worst.worst_at_hz)}, uncertainty"
                f" {wording.amount(near.uncertainty)} ({near.uncertainty.kind});"
                f" {wording.line_name(near.line)}.",
                2,
            )
        )
    return lines


def _states(standings: Sequence[LineStanding]) -> list[str]:
    """Return one line of text for each limit line."""
    return [
        _wrapped(f"{wording.STANDING_WORDS[s.standing]:<24}{wording.line_name(s.line)}", 2, 24)
        for s in standings
    ]


def _reasons(standings: Sequence[LineStanding]) -> list[str]:
    """Return every limit line with its state and the reason for it."""
    return [part for standing in standings for part in _reason(standing)]


def _reason(standing: LineStanding) -> list[str]:
    words, reason = wording.STANDING_WORDS[standing.standing], standing.reason
    told = reason if reason.startswith(words) else f"{words}; {reason}"
    if standing.worst is not None:
        uncertainty = standing.uncertainty
        told += f" (uncertainty {wording.amount(uncertainty)}, {uncertainty.kind})"
    mark = _MARKS[standing.standing]
    name = wording.line_name(standing.line)
    return [_wrapped(f"{mark} {name}", 2, 2), _wrapped(told, 6)]


def _scan(scan: ScanResult) -> str:
    lines = [f"{scan.file}: {scan.trace.points} points in {scan.unit}"]
    if scan.refused:
        lines.append(f"No line may be drawn over it: {scan.refused}")
    lines += [
        f"{reading.what}: {reading.found}{' (assumed)' if reading.assumed else ''}"
        for reading in scan.readings
    ]
    lines += [f"correction: {step}" for step in scan.chain]
    lines += [
        f"set apart, {owned.why}: highest {wording.number(owned.highest_level_db)} {owned.unit}"
        f" at {wording.frequency(owned.at_hz)}"
        for owned in scan.set_apart
    ]
    return _headed(f"Scan, {scan.name}", (_wrapped(line, 2, 2) for line in lines))


def _decision(study: StudyResult) -> str:
    advice = study.advice
    if advice is None:
        return ""
    lines = [advice.reason]
    if len({advised.action for advised in advice.variants}) > 1:
        lines += [f"{advised.variant}: {advised.action}" for advised in advice.variants]
    if study.booking.miss_costs:
        lines.append(study.booking.miss_costs)
    lines.append(f"{wording.EMISSIONS_ONLY} Not estimated: {'; '.join(advice.not_estimated)}.")
    heading = f"Book the lab? {(advice.action or wording.NO_ACTION).capitalize()}"
    return _headed(heading, (_wrapped(line, 2, 2) for line in lines))


def _unstated(study: StudyResult, most: int | None) -> str:
    if not study.unstated:
        return "Nothing was left unstated."
    kinds = Counter(missing.kind for missing in study.unstated)
    counts = ", ".join(f"{count} {kind}" for kind, count in sorted(kinds.items()))
    lines = [
        f"- {missing.what}: {missing.used} ({missing.kind}"
        + ("" if missing.moves_db is None else f", may move it by {missing.moves_db:.1f} dB")
        + f"); say it in {missing.key}"
        for missing in study.unstated[:most]
    ]
    left = len(study.unstated) - len(lines)
    if left:
        lines.append(f"- and {left} more")
    return _headed(f"Not stated: {counts}", (_wrapped(line, 2, 2) for line in lines))


def _cautions(study: StudyResult) -> str:
    if not study.cautions:
        return ""
    return _headed("Cautions", (_wrapped(f"- {caution}", 2, 2) for caution in study.cautions))


def _limit_line(line: LimitLine) -> str:
    rows = []
    for segment in line.segments:
        level = wording.number(segment.level_at_low_db)
        if not segment.is_flat:
            level += f" to {wording.number(segment.level_at_high_db)}"
        place = wording.span(segment.low_hz, segment.high_hz)
        rows.append(_wrapped(f"{place}: {level} {line.unit}; {segment.source}", 2, 2))
    return _headed(line.label, rows)
