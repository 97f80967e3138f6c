"""The table of bands and constants for metal, each with its source."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from linkbudget.core.sources import Source
from linkbudget.core.tables import load_sourced_rows


@dataclass(frozen=True, slots=True)
class Band:
    """One row of ``data/practice/metal_bands.csv``.

    Parameters
    ----------
    value, low, high : float
        Typical value and its range, all in `unit`; the value itself where the row has no range.
    unit : str
    source : Source
    """

    value: float
    low: float
    high: float
    unit: str
    source: Source

    def holds(self, value: float) -> bool:
        """Tell whether a value lies in the range, rounding allowed for."""
        slack = 1e-6 * max(abs(self.low), abs(self.high))
        return self.low - slack <= value <= self.high + slack


@cache
def metal_bands() -> dict[str, Band]:
    """Return all bands by name.

    Examples
    --------
    >>> metal_bands()["plate_peak_gain"].value
    6.0
    """
    bands = {}
    for row in load_sourced_rows("practice/metal_bands.csv"):
        value = row.number("value")
        low, high = row.cells["low"] or value, row.cells["high"] or value
        bands[row.cells["name"]] = Band(
            value, float(low), float(high), row.cells["unit"], row.source
        )
    return bands
