"""Plain-text summaries for the terminal: no colour, no control characters, 80 columns."""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from linkbudget.enclosure.effect import AT_PORT, CONTAINED
from linkbudget.report import bounds, certainty, range_answer, rows, scans_answer, wording
from linkbudget.report.field_facts import metal_facts
from linkbudget.report.link_facts import LinkFacts, link_facts
from linkbudget.results import DEFERENCE

if TYPE_CHECKING:
    from linkbudget.core.quantity import Quantity
    from linkbudget.emissions.conformity import LineStanding
    from linkbudget.emissions.limits import LimitLine
    from linkbudget.results import ScanResult, StudyResult, VariantLink

COLUMNS = 80
FIRST_UNSTATED = 3
_NAME_COLUMNS = 29
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
        *(
            part
            for link in study.links
            for part in (_link_answer(link), _budget(link), *map(_facts, link_facts(link)))
        ),
        _unstated(study, None),
        _wrapped(study.deference),
    )


def enclosure_summary(study: StudyResult) -> str:
    """Return what the metal does, path by path, and what stands behind it."""
    return _text(
        _title(study),
        *(part for link in study.links for part in (_metal(link), *_metal_facts(link))),
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
        *(
            f"Link of {link.variant}, not judged: {link.absent_because}"
            for link in study.links
            if link.comparison is None and link.radio != "none"
        ),
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
    lines = [f"{range_answer.range_headline(link)}."]
    lines += [wording.sentence(certainty.leading(link))] if link.comparison is not None else []
    lines += range_answer.range_sentences(link)
    if link.comparison is not None and link.comparison.with_metal is not None:
        lines.insert(0, range_answer.RANGE_QUESTION)
    return _headed(f"Link, {link.variant}{radio}", (_wrapped(line, 2) for line in lines))


def _budget(link: VariantLink) -> str:
    found = link.comparison
    if found is None:
        return ""
    shown = found.as_built[0]
    told = [_row(line.name, line.value) for line in shown.lines]
    told += [
        _row("received level", shown.received),
        _row("sensitivity", shown.sensitivity),
        _row("noise rise at the receiver", shown.desensitisation),
        _row("fade margin needed", shown.fade_allowance),
        *([_row(rows.LOPSIDED, shown.lopsided)] if rows.shows_lopsided(found) else []),
        _row("margin", shown.margin),
    ]
    if found.with_metal is not None:
        told.append(_row("margin without metal", found.without.margin))
    for case, (_, reach, _) in zip(("without", "with"), found.cases, strict=False):
        ends = certainty.band_of_reach(link.room, reach.distance)
        told.append(_row(f"reach {case} metal", reach.distance, ends))
    lost = (("lost to the metal", found.lost_db), ("reach lost", found.lost_m))
    told += [_row(name, value) for name, value in lost if value is not None]
    cautions = (caution for _, reach, _ in found.cases for caution in reach.cautions)
    notes = dict.fromkeys((*cautions, *link.notes))
    case = "with metal" if found.with_metal is not None else "no metal described"
    heading = f"Budget at {wording.metres(link.wanted_distance_m)}, {case}"
    return _headed(heading, [*told, *(_wrapped(f"- {note}", 2, 2) for note in notes)])


def _facts(facts: LinkFacts) -> str:
    told = (_wrapped(one, 2, 4) for one in facts.sentences)
    return _headed(facts.heading, [*(f"  {row}".rstrip() for row in facts.rows), *told])


def _row(name: str, quantity: Quantity, spread: str | None = None) -> str:
    spread = wording.band(quantity) if spread is None else spread
    lead = f"  {name:<30}" if len(name) <= _NAME_COLUMNS else f"{_wrapped(name, 2, 2)}\n{'':<32}"
    return f"{lead}{wording.amount(quantity):>13}  {quantity.kind:<9} {spread}".rstrip()


def _metal(link: VariantLink) -> str:
    metal = link.metal
    heading = f"Metal, {link.variant}"
    if metal is None:
        refused = range_answer.range_headline(link) if range_answer.is_refused(link) else ""
        told = [refused, link.absent_because or "No metal is described"]
        return _headed(heading, (_wrapped(wording.sentence(one), 2) for one in told if one))
    lines = [f"  {'loss in dB':<30}{'low':>9}{'typical':>9}{'high':>9}"]
    lines += [_three(path.name, bounds.path_loss(path)) for path in metal.paths]
    if metal.detuning is not None:
        lines.append(_three(AT_PORT, metal.detuning))
    else:
        lines.append(f"  {AT_PORT:<30}{CONTAINED:>27}")
    lines.append(_three(f"total, far end {metal.toward}", metal.total))
    if metal.scatter.band != (0.0, 0.0):
        lines.append(_three("scatter of single directions", metal.scatter))
    if metal.paths:
        lines.append(f"  Most of what still gets through goes {metal.dominant}.")
    lines += [_wrapped(told, 2) for told in rows.gain_sentence(link)]
    return _headed(heading, [*lines, *(_wrapped(f"- {note}", 2, 2) for note in metal.cautions)])


def _metal_facts(link: VariantLink) -> Iterator[str]:
    for facts in metal_facts(link):
        told = (_wrapped(f"- {one}", 2, 2) for one in facts.sentences)
        heading = f"{facts.heading}, {link.variant}"
        yield _headed(heading, [*(_row(*row) for row in facts.rows), *told])


def _three(name: str, loss: Quantity) -> str:
    low, high = loss.band
    numbers = "".join(f"{wording.number(value):>9}" for value in (low, loss.value, high))
    if loss.coverage == bounds.AT_LEAST:
        numbers = f"{'':>9}{wording.amount(loss).removesuffix(f' {loss.unit}'):>9}{'':>9}"
    return f"  {name:<30}{numbers}  {loss.kind}"


def _emissions_answer(
    study: StudyResult, told: Callable[[Sequence[LineStanding]], list[str]]
) -> str:
    emissions = study.emissions
    if emissions is None:
        return ""
    if emissions.no_line_because:
        lines = [emissions.no_line_because]
        if told is _brief:
            lines += ["Highest corrected levels:"] if emissions.scans else []
            lines += [f"- {scan.name}: {_highest(scan, 3)}" for scan in emissions.scans]
        return _headed("Emissions", (_wrapped(line, 2, 2) for line in lines))
    scope = f"{emissions.standard} class {emissions.equipment_class}"
    return _text(
        *(
            _headed(f"{scope}, {one.variant}" if one.variant else scope, told(one.standings))
            for one in emissions.variants
        )
    )


def _brief(standings: Sequence[LineStanding]) -> list[str]:
    """Return the headline, the nearest line with its uncertainty, and the counts."""
    lines = [
        f"{scans_answer.scans_headline(standings)[1]}.",
        *scans_answer.scans_sentences(standings),
    ]
    near = scans_answer.nearest(standings)
    if near is not None:
        off = f"{wording.amount(near.uncertainty)} ({near.uncertainty.kind})"
        told = f"The measurement may be off by {off}: that scan is {scans_answer.state(near)}."
        lines.append(told)
    lines.append(f"Of {len(standings)} lines: {scans_answer.counted(standings)}.")
    return [_wrapped(line, 2) for line in lines]


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
    if not scan.against:
        lines.append(f"highest, corrected: {_highest(scan)}")
    return _headed(f"Scan, {scan.name}", (_wrapped(line, 2, 2) for line in lines))


def _highest(scan: ScanResult, most: int | None = None) -> str:
    points = [
        f"{wording.number(level_db)} {scan.unit} at {wording.frequency(at_hz)}"
        for at_hz, level_db in rows.highest_points(scan)[:most]
    ]
    return "; ".join(points) or "no level"


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
        + (f"); say it in {missing.key}" if missing.key else ")")
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
    told = []
    for segment in line.segments:
        level = wording.number(segment.level_at_low_db)
        if not segment.is_flat:
            level += f" to {wording.number(segment.level_at_high_db)}"
        place = wording.span(segment.low_hz, segment.high_hz)
        told.append(_wrapped(f"{place}: {level} {line.unit}; {segment.source}", 2, 2))
    return _headed(line.label, told)
