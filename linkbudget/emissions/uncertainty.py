"""Expanded uncertainty of a pre-scan against a limit line."""

from __future__ import annotations

import math
from functools import lru_cache

from linkbudget.core.decibels import root_sum_square_db
from linkbudget.core.errors import InputError
from linkbudget.core.quantity import Quantity
from linkbudget.core.tables import SourcedRow, load_sourced_rows
from linkbudget.emissions.limits import LimitLine


@lru_cache(maxsize=1)
def _uncertainty_rows() -> tuple[SourcedRow, ...]:
    return load_sourced_rows("practice/uncertainty.csv")


def _uncertainty_row(term: str, line: LimitLine) -> SourcedRow:
    return next(
        row
        for row in _uncertainty_rows()
        if row.cells["term"] == term
        and row.cells["port"] == line.port
        and row.number("low_hz") <= line.low_hz
        and row.number("high_hz") >= line.high_hz
    )


def measurement_uncertainty(line: LimitLine, stated_db: float | None = None) -> Quantity:
    """Return the expanded uncertainty of a pre-scan against a line.

    Parameters
    ----------
    line : LimitLine
    stated_db : float or None
        What the record of the scan states, k = 2 [dB].

    Returns
    -------
    Quantity
        k = 2 [dB]; kind "stated", or "assumed" where nobody stated it.

    Raises
    ------
    InputError
        Where the stated value is not greater than zero.

    Notes
    -----
    Assumed: root sum of squares of the laboratory's instrumentation uncertainty (CISPR 16-4-2)
    and of a term for the pre-scan, both in ``data/practice/uncertainty.csv``.
    """
    if stated_db is not None:
        if not 0.0 < stated_db < math.inf:
            raise InputError(
                f"{stated_db:g} dB",
                "more than 0 dB",
                "No measurement is exact; leave it out, and a typical value stands in.",
                field="uncertainty",
            )
        return Quantity(stated_db, "dB", "stated", source="record of the scan", coverage="k = 2")
    rows = [_uncertainty_row(term, line) for term in ("instrumentation", "pre-scan")]
    source = "root sum of squares of " + " and ".join(
        f"{row.number('expanded_db'):g} dB {row.cells['term']} ({row.source})" for row in rows
    )
    total = root_sum_square_db([row.number("expanded_db") for row in rows])
    return Quantity(total, "dB", "assumed", source=source, coverage="k = 2")
