"""The answer to "where do the scans stand?" in words, the same wherever it is told."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from typing import TYPE_CHECKING

from linkbudget.report.wording import (
    STANDING_WORDS,
    beside_line,
    frequency,
    line_name,
    listed,
    span,
)

if TYPE_CHECKING:
    from linkbudget.emissions.conformity import LineStanding, Standing

_FIGURES = 3  # of a frequency in a headline; the tables have the edges in full


def nearest(standings: Iterable[LineStanding]) -> LineStanding | None:
    """Return the standing with the least margin; None where no scan says anything.

    A peak reading above an average line leaves that line "not measured" and decides nothing, so
    such a line counts only while it is below.
    """
    margins = [
        (s.worst.worst_margin.value, at, s)
        for at, s in enumerate(standings)
        if s.worst is not None
        and (s.standing != "not measured" or s.worst.worst_margin.value >= 0.0)
    ]
    return min(margins)[2] if margins else None


def counted(standings: Iterable[LineStanding]) -> str:
    """Count lines by where the scans stand, gravest first.

    Examples
    --------
    >>> counted(())
    'no line'
    """
    counts = Counter[str](s.standing for s in standings)
    words = {
        k: w.replace("does", "do" if counts[k] > 1 else "does") for k, w in STANDING_WORDS.items()
    }
    return ", ".join(f"{counts[k]} {w}" for k, w in words.items() if counts[k]) or "no line"


def scans_headline(standings: Sequence[LineStanding]) -> tuple[Standing, str]:
    """Answer "where do the scans stand?": what is over first, then what nobody measured.

    Parameters
    ----------
    standings : sequence of LineStanding
        Of one variant.

    Returns
    -------
    standing : Standing
        For mark and colour.
    text : str
    """
    near, open_part = nearest(standings), unmeasured(standings)
    if near is not None and near.worst is not None:
        if near.standing == "over" or not open_part:
            return near.standing, beside_line(near.worst.worst_margin.value)
        return "not measured", open_part
    if any(s.standing != "does not apply" for s in standings):
        return "not measured", "No line is measured yet"
    return "does not apply", "No line applies"


def scans_sentences(standings: Sequence[LineStanding]) -> tuple[str, ...]:
    """Name the nearest line after the headline, and what else nobody measured."""
    near, open_part = nearest(standings), unmeasured(standings)
    if near is None or near.worst is None:
        return ()
    place = f"at {frequency(near.worst.worst_at_hz)}, on the line {line_name(near.line)}"
    if not open_part:
        return (f"Nearest {place}.",)
    if near.standing == "over":
        return (f"Nearest {place}.", f"{open_part}.")
    margin = beside_line(near.worst.worst_margin.value)
    return (f"Nearest measured: {margin} {place}.",)


def state(standing: LineStanding) -> str:
    """Say in words where the scan of a line stands."""
    part = " in full" if standing.standing == "not measured" else ""
    return STANDING_WORDS[standing.standing] + part


def unmeasured(standings: Iterable[LineStanding]) -> str:
    """Say what of the required lines is not measured; "" where all of it is."""
    required = [s for s in standings if s.required]
    left = [s for s in required if s.standing == "not measured"]
    if not left:
        return ""
    settled = {(s.line.port, s.line.low_hz) for s in required if s.standing != "not measured"}
    whole = list(dict.fromkeys(_place(s, settled) for s in left if not s.compared))
    partly = list(dict.fromkeys(_place(s, settled) for s in left if s.compared))
    if not whole:
        return f"{listed(partly)} {_verb(partly)} not measured in full"
    told = f"{listed(whole)} {_verb(whole)} not measured"
    return f"{told}, {listed(partly)} not in full" if partly else told


def _verb(places: Sequence[str]) -> str:
    return "is" if len(places) == 1 else "are"


def _place(standing: LineStanding, settled: Collection[tuple[str, float]]) -> str:
    """Name the part of a line that is left; its detector only where another one is settled."""
    line = standing.line
    edges = [edge for gap in standing.gaps for edge in gap] or [line.low_hz, line.high_hz]
    low_hz, high_hz = min(edges), max(edges)
    told: list[str] = [line.detector] if (line.port, line.low_hz) in settled else []
    if line.port == "enclosure":
        return ", ".join([span(low_hz, high_hz, _FIGURES), *told])
    if (low_hz, high_hz) != (line.low_hz, line.high_hz):
        told.append(span(low_hz, high_hz, _FIGURES))
    return f"{line.port} ({', '.join(told)})" if told else line.port
