"""First answer to "book the lab?": from where each required line stands, and from nothing else."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from linkbudget.core.units import format_frequency
from linkbudget.emissions.conformity import LineStanding, Standing

Action = Literal["book", "fix first", "measure more"]

NOT_ESTIMATED = (
    "immunity (discharge, radio-frequency fields, bursts, surge, dips)",
    "radio tests (power, spectrum, receiver)",
    "electrical safety and radio-frequency exposure",
    "wired network ports",
)


@dataclass(frozen=True, slots=True)
class VariantAdvice:
    """What the emission lines say about one variant.

    Parameters
    ----------
    variant : str
    action : {"book", "fix first", "measure more"}
    reason : str
        One sentence.
    standings : tuple of LineStanding
        Every required line and where the scans stand against it.
    """

    variant: str
    action: Action
    reason: str
    standings: tuple[LineStanding, ...]


@dataclass(frozen=True, slots=True)
class Advice:
    """What the emission lines say about the whole product.

    Parameters
    ----------
    action : {"book", "fix first", "measure more"} or None
        None where no emission line is held for the product's family.
    reason : str
        One sentence, for a reader without radio knowledge.
    variants : tuple of VariantAdvice
    not_estimated : tuple of str
        Tests on which this advice is silent.
    """

    action: Action | None
    reason: str
    variants: tuple[VariantAdvice, ...]
    not_estimated: tuple[str, ...] = NOT_ESTIMATED


def advise_variant(variant: str, standings: Sequence[LineStanding]) -> VariantAdvice:
    """Weigh the lines of one variant.

    Parameters
    ----------
    variant : str
    standings : sequence of LineStanding
        Every line that the family's standard holds, those that do not apply included.

    Returns
    -------
    VariantAdvice
        "fix first" if any line is exceeded; else "measure more" if any is unmeasured or closer
        than the uncertainty; else "book". A peak reading that exceeds a quasi-peak line by less
        than its uncertainty asks for a quasi-peak reading, not for a fix. A line that does not
        apply weighs nothing; one that was compared beyond need (a second distance) weighs only
        where it is exceeded.
    """
    action, reason = _weigh({variant: _weighty(standings)}, name_variants=False)
    return VariantAdvice(variant, action, reason, tuple(standings))


def advise(variants: Sequence[VariantAdvice], *, no_line_because: str = "") -> Advice:
    """Weigh all variants; the product is as ready as its least ready variant.

    Parameters
    ----------
    variants : sequence of VariantAdvice
    no_line_because : str
        Why no line could be drawn at all; the advice is then None.
    """
    if no_line_because or not variants:
        return Advice(None, no_line_because or "The scenario names no variant.", ())
    rows = {one.variant: _weighty(one.standings) for one in variants}
    action, reason = _weigh(rows, name_variants=len(variants) > 1)
    return Advice(action, reason, tuple(variants))


def _weighty(standings: Iterable[LineStanding]) -> list[LineStanding]:
    return [
        one
        for one in standings
        if one.standing == "over" or (one.required and one.standing != "does not apply")
    ]


def _weigh(
    rows: Mapping[str, Sequence[LineStanding]], *, name_variants: bool
) -> tuple[Action, str]:
    """Return the action and its reason in one sentence."""
    over = _clause(rows, "over", name_variants)
    open_ = _clause(rows, "not measured", name_variants)
    inside = _clause(rows, "inside", name_variants)
    every = [one for standings in rows.values() for one in standings]
    exceeded = [one for one in every if one.standing == "over"]
    if over and all(_peak_within_uncertainty(one) for one in exceeded):
        tail = "within the uncertainty of a peak reading: read it again with quasi-peak"
        return "measure more", _sentence(f"{over}, {tail}")
    if over:
        tail = "booked now, the slot may well be lost to a retest"
        if all(_by_peak(one) for one in exceeded):
            tail += ", unless a quasi-peak reading there is lower"
        also = f" ({open_})" if open_ else ""
        return "fix first", _sentence(f"{over}; {tail}{also}")
    if open_:
        return "measure more", _sentence("; ".join(part for part in (open_, inside) if part))
    if inside:
        return "measure more", _sentence(
            f"{inside}: measure again with less uncertainty, or gain the missing margin"
        )
    if not every:
        return "measure more", "No emission line has been measured."
    nearest = min(every, key=_room_left)
    return "book", _sentence(
        "every required line is measured, and even the nearest margin,"
        f" {_margin(nearest):.1f} dB at {_where(nearest)}, is larger than its uncertainty of"
        f" {nearest.uncertainty.value:.1f} dB"
    )


def _clause(
    rows: Mapping[str, Sequence[LineStanding]], state: Standing, name_variants: bool
) -> str:
    """Tell one state: which lines, how far, and for which variants."""
    found = {
        variant: [one for one in standings if one.standing == state]
        for variant, standings in rows.items()
    }
    lines = [one for standings in found.values() for one in standings]
    if not lines:
        return ""
    named, whose = _subject(found, name_variants)
    subject = f"{_listed(named)} {'is' if len(named) == 1 else 'are'}"
    if state == "not measured":
        in_full = " in full" if any(one.compared for one in lines) else ""
        return f"{subject} not measured{in_full}{whose}"
    worst = min(lines, key=_room_left)
    if state == "over":
        return f"{subject} exceeded{whose}, by {-_margin(worst):.1f} dB at {_where(worst)}"
    return (
        f"{subject} nearer than the uncertainty{whose}: {_margin(worst):.1f} dB below at"
        f" {_where(worst)}, {worst.uncertainty.value:.1f} dB wanted"
    )


def _subject(
    found: Mapping[str, Sequence[LineStanding]], name_variants: bool
) -> tuple[list[str], str]:
    """Return the lines by name, and on which variants; told line by line where these differ."""
    concerned = {
        name: [variant for variant, rows in found.items() if name in map(_line, rows)]
        for name in dict.fromkeys(_line(one) for rows in found.values() for one in rows)
    }
    first = next(iter(concerned.values()))
    if not name_variants or (len(first) == len(found) and _alike(concerned)):
        return list(concerned), ""
    if _alike(concerned):
        return list(concerned), f" on {_listed(first)}"
    return [f"{name} on {_listed(variants)}" for name, variants in concerned.items()], ""


def _alike(concerned: Mapping[str, Sequence[str]]) -> bool:
    return len({tuple(variants) for variants in concerned.values()}) == 1


def _line(standing: LineStanding) -> str:
    line = standing.line
    low_hz, high_hz = standing.within or (line.low_hz, line.high_hz)
    way = "AC mains" if line.distance_m is None else "radiated"
    return f"the {way} line from {format_frequency(low_hz)} to {format_frequency(high_hz)}"


def _listed(names: Sequence[str]) -> str:
    """Join names as a sentence does."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def _by_peak(standing: LineStanding) -> bool:
    worst = standing.worst
    return worst is not None and worst.detector == "peak" and standing.line.detector != "peak"


def _peak_within_uncertainty(standing: LineStanding) -> bool:
    return _by_peak(standing) and -_margin(standing) <= standing.uncertainty.value


def _margin(standing: LineStanding) -> float:
    return standing.worst.worst_margin.value if standing.worst else math.inf


def _room_left(standing: LineStanding) -> float:
    return _margin(standing) - standing.uncertainty.value


def _where(standing: LineStanding) -> str:
    return format_frequency(standing.worst.worst_at_hz) if standing.worst else "an unknown place"


def _sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}."
