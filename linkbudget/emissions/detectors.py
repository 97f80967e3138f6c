"""What a reading with one detector says about a limit for another.

On one signal an average detector never reads more than a quasi-peak detector, and that never more
than a peak detector. So a quick peak scan can settle a slower limit, but only in one direction.
"""

from __future__ import annotations

from typing import Literal

from linkbudget.emissions.scan import Detector

Meaning = Literal["settled", "over", "says nothing"]

_RANK: dict[Detector, int] = {"average": 0, "quasi-peak": 1, "peak": 2}


def reads_at_least(scan: Detector, limit: Detector) -> bool:
    """Return whether the scan's detector never reads less than the limit's detector.

    Examples
    --------
    >>> reads_at_least("peak", "average"), reads_at_least("average", "quasi-peak")
    (True, False)
    """
    return _RANK[scan] >= _RANK[limit]


def meaning(scan: Detector, limit: Detector, *, below: bool) -> Meaning:
    """Return what a reading below (or above) a limit says about that limit.

    Parameters
    ----------
    scan, limit : {"peak", "quasi-peak", "average"}
        Detector of the reading, and detector that the limit is written for.
    below : bool
        Whether the reading lies on or below the limit.

    Returns
    -------
    {"settled", "over", "says nothing"}
        "settled": the limit's own detector would read below it too.

    Notes
    -----
    The mains average line lies below the quasi-peak line, so a peak or quasi-peak reading below
    the average line settles both, by this rule applied twice; below the quasi-peak line alone it
    settles that one. A peak reading above a quasi-peak limit counts as over: the line of a steady
    clock reads the same in both, and nothing is taken off without a quasi-peak reading. A peak or
    quasi-peak reading above an average limit says nothing: the average may lie far lower.

    References
    ----------
    CISPR 16-1-1, detector weighting, and the decision tree for detectors in CISPR 32, annex C
    (both from memory).

    Examples
    --------
    >>> meaning("peak", "average", below=True), meaning("peak", "average", below=False)
    ('settled', 'says nothing')
    """
    if below:
        return "settled" if reads_at_least(scan, limit) else "says nothing"
    if limit == "average" and scan != "average":
        return "says nothing"
    return "over"


def explanation(scan: Detector, limit: Detector, *, below: bool) -> str:
    """Return the reason for ``meaning`` in one clause; empty where the detectors are the same."""
    if scan == limit:
        return ""
    verdict = meaning(scan, limit, below=below)
    if verdict == "settled":
        return f"the {limit} never reads more than the {scan}"
    if below:
        return f"the {limit} may read more than the {scan}"
    if verdict == "says nothing":
        return f"the average may lie far below the {scan}"
    if scan == "average":
        return f"the {limit} never reads less than the average"
    return (
        "a steady clock line reads the same in peak and quasi-peak, so nothing is taken off"
        " without a quasi-peak reading"
    )
