"""The product's own transmitter in a scan: set apart, shown, and left to the radio's own lines."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from linkbudget.core.errors import InputError
from linkbudget.emissions.coverage import Range, merged
from linkbudget.emissions.scan import Scan

OUT_OF_BAND_WIDTHS = 2.0  # out-of-band domain, in occupied bandwidths beyond the band edge
MOST_HARMONICS = 10  # 47 CFR 15.33(a) measures a transmitter up to its tenth harmonic


@dataclass(frozen=True, slots=True)
class OwnTransmitter:
    """A radio that the product carries.

    Parameters
    ----------
    name : str
        As the report shall call it.
    band_low_hz, band_high_hz : float
        Edges of its band [Hz].
    occupied_bandwidth_hz : float
        Of one channel [Hz].

    Raises
    ------
    InputError
        Where the edges do not rise or the bandwidth is not positive.
    """

    name: str
    band_low_hz: float
    band_high_hz: float
    occupied_bandwidth_hz: float

    def __post_init__(self) -> None:
        """Refuse a band that cannot be."""
        if not 0.0 < self.band_low_hz <= self.band_high_hz or self.occupied_bandwidth_hz <= 0.0:
            raise InputError(
                f"band {self.band_low_hz:g} to {self.band_high_hz:g} Hz, occupied bandwidth"
                f" {self.occupied_bandwidth_hz:g} Hz",
                "rising band edges and a positive bandwidth",
                field=self.name,
            )

    def ranges(self, up_to_hz: float) -> tuple[tuple[Range, str], ...]:
        """Return what the transmitter owns, each range with its name.

        Parameters
        ----------
        up_to_hz : float
            Harmonics that begin above this are left out [Hz].

        Notes
        -----
        The band with its out-of-band domain, which reaches 2 occupied bandwidths beyond each
        edge, and each harmonic of the band up to the tenth, half its widened channel beyond each
        edge: a harmonic is as many times wider as its order.

        References
        ----------
        ETSI EN 300 328, transmitter unwanted emissions in the out-of-band domain: two bandwidths
        beyond the band edge (from memory); 47 CFR 15.33(a), rev. 2008 (secondary source).

        Examples
        --------
        >>> radio = OwnTransmitter("radio", 2.4e9, 2.4835e9, 2e6)
        >>> [(low / 1e6, high / 1e6, why) for (low, high), why in radio.ranges(6e9)]
        [(2396.0, 2487.5, 'band and out-of-band domain'), (4798.0, 4969.0, 'harmonic 2')]
        """
        skirt_hz = OUT_OF_BAND_WIDTHS * self.occupied_bandwidth_hz
        band = (self.band_low_hz - skirt_hz, self.band_high_hz + skirt_hz)
        highest = min(MOST_HARMONICS, int(up_to_hz / self.band_low_hz))
        return (
            (band, "band and out-of-band domain"),
            *((self._harmonic(n), f"harmonic {n}") for n in range(2, highest + 1)),
        )

    def _harmonic(self, n: int) -> Range:
        reach_hz = n * self.occupied_bandwidth_hz / 2.0
        return n * self.band_low_hz - reach_hz, n * self.band_high_hz + reach_hz


@dataclass(frozen=True, slots=True)
class SetApart:
    """A range of one scan that the radio lines judge.

    Parameters
    ----------
    scan : str
        Name of the scan.
    low_hz, high_hz : float
        The range [Hz].
    why : str
        Transmitter and part, as in "radio: harmonic 2".
    highest_level_db : float
        Highest reading there [`unit`].
    at_hz : float
        Where it stands [Hz].
    unit : str
    """

    scan: str
    low_hz: float
    high_hz: float
    why: str
    highest_level_db: float
    at_hz: float
    unit: str


def taken_ranges(transmitters: Iterable[OwnTransmitter], up_to_hz: float) -> tuple[Range, ...]:
    """Return all ranges that own transmitters take out of the comparison."""
    return merged(span for radio in transmitters for span, _ in radio.ranges(up_to_hz))


def set_apart(scan: Scan, transmitters: Sequence[OwnTransmitter]) -> tuple[SetApart, ...]:
    """Return the highest reading in each range that belongs to an own transmitter.

    Parameters
    ----------
    scan : Scan
        A range without points gives no row, and a scan of the AC mains none at all.
    transmitters : sequence of OwnTransmitter

    Returns
    -------
    tuple of SetApart
        In the order of transmitters and harmonics.
    """
    f, level = scan.trace.frequency_hz, scan.trace.level_db
    rows: list[SetApart] = []
    if scan.record.port != "enclosure":  # by wire the radio has no line of its own
        return ()
    for radio in transmitters:
        for (low, high), why in radio.ranges(float(f[-1]) if f.size else 0.0):
            first = int(np.searchsorted(f, low, side="left"))
            end = int(np.searchsorted(f, high, side="right"))
            if first == end:
                continue
            at = first + int(np.argmax(level[first:end]))
            why_text = f"{radio.name}: {why}"
            rows.append(
                SetApart(
                    scan.name, low, high, why_text, float(level[at]), float(f[at]), scan.trace.unit
                )
            )
    return tuple(rows)
