"""Small sourced tables that ship with the package, and interpolation on log frequency."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from importlib import resources

import numpy as np

from linkbudget.core.decibels import FloatArray
from linkbudget.core.errors import InputError, OutOfRange
from linkbudget.core.sources import Source, source_from_row


@dataclass(frozen=True, slots=True)
class SourcedRow:
    """One row of a shipped table: its cells, its source, and the line it stands on."""

    cells: dict[str, str]
    source: Source
    line: int

    def number(self, column: str) -> float:
        """Return a cell as a float."""
        return float(self.cells[column])


def load_sourced_rows(name: str) -> tuple[SourcedRow, ...]:
    """Read a CSV file below the package's ``data`` folder.

    Parameters
    ----------
    name : str
        Path below ``linkbudget/data``, such as ``"limits/cispr32.csv"``.

    Returns
    -------
    tuple of SourcedRow
        All rows, in the order of the file.

    Raises
    ------
    InputError
        Where a row names no source.
    """
    text = resources.files("linkbudget").joinpath("data", name).read_text(encoding="utf-8")
    reader = csv.DictReader(text.splitlines())
    return tuple(
        SourcedRow(row, source_from_row(row, file=name, line=line), line)
        for line, row in enumerate(reader, start=2)
    )


@dataclass(frozen=True, slots=True)
class LogFrequencyTable:
    """A level against frequency, linear in dB over the logarithm of frequency between points.

    Parameters
    ----------
    frequency_hz : array, shape (n,)
        Rising, positive, at least one point [Hz].
    level_db : array, shape (n,)
        Level at each point [the unit of the table].
    name : str
        What the table is, for messages.
    """

    frequency_hz: FloatArray
    level_db: FloatArray
    name: str

    def __post_init__(self) -> None:
        """Refuse a table that cannot be interpolated."""
        f = self.frequency_hz
        if f.ndim != 1 or f.shape != self.level_db.shape or f.size == 0:
            raise InputError(
                f"{f.size} frequencies and {self.level_db.size} levels",
                "one level for each frequency, and at least one",
                field=self.name,
            )
        rising = np.isfinite(f[-1]) and f[0] > 0 and bool(np.all(np.diff(f) > 0))
        if not rising or not np.all(np.isfinite(self.level_db)):
            raise InputError(
                "frequencies that do not rise, or a level that is not a number",
                "positive, strictly rising frequencies, each with a finite level",
                "Sort the table and remove double rows.",
                field=self.name,
            )

    def at(self, frequency_hz: FloatArray) -> FloatArray:
        """Interpolate; never extrapolate.

        Parameters
        ----------
        frequency_hz : array, shape (m,)
            Where the level is wanted [Hz].

        Returns
        -------
        array, shape (m,)
            Level in the table's unit.

        Raises
        ------
        OutOfRange
            Where a frequency lies outside the table.
        """
        f = np.asarray(frequency_hz, dtype=float)
        if f.size:
            low, high = float(self.frequency_hz[0]), float(self.frequency_hz[-1])
            slack = 1e-9
            for edge in (float(f.min()), float(f.max())):
                if not low * (1 - slack) <= edge <= high * (1 + slack):
                    raise OutOfRange(
                        f"{self.name} is needed at frequency (Hz)",
                        edge,
                        low,
                        high,
                        "The table is not extrapolated: add the missing points from the"
                        " calibration sheet, or cut the scan.",
                    )
        level: FloatArray = np.interp(np.log10(f), np.log10(self.frequency_hz), self.level_db)
        return level
