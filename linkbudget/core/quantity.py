"""A value that knows its unit, its band, what kind of knowledge it is, and where it came from."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

Kind = Literal["measured", "stated", "computed", "typical", "assumed"]

Shape = Literal["gaussian", "rectangular", "triangular", "arcsine"]

KIND_MEANING: dict[Kind, str] = {
    "measured": "measured by you: read from your file, or stated as measured",
    "stated": "written in your scenario",
    "computed": "worked out by the named method",
    "typical": "common practice, from the named source",
    "assumed": "a default of this tool; nobody stated it",
}


@dataclass(frozen=True, slots=True)
class Quantity:
    """One number of a result.

    Parameters
    ----------
    value : float
        Best or typical value, in `unit`.
    unit : str
        Unit as printed ("dB", "dBm", "m", "MHz", ...).
    kind : {"measured", "stated", "computed", "typical", "assumed"}
        What sort of knowledge it is.
    low, high : float, optional
        Band around the value in `unit`; both or none, ``low <= value <= high``.
    source : str
        Method, document or field it came from.
    coverage : str
        What the band means ("k = 2", "low to high estimate").
    shape : {"", "gaussian", "rectangular", "triangular", "arcsine"}
        How likely the values of the band are; JCGM 101, table 1. Gaussian, and where nothing is
        said, the band is a 95 % interval; with the other shapes its ends are hard.
    table : tuple of float
        Rising values, alike likely each, where no shape fits; the band then holds 95 % of them.

    Examples
    --------
    >>> str(Quantity(12.3, "dB", "computed", 10.0, 15.0))
    '12.3 dB (10.0 to 15.0)'
    """

    value: float
    unit: str
    kind: Kind
    low: float | None = None
    high: float | None = None
    source: str = ""
    coverage: str = ""
    shape: Shape | Literal[""] = ""
    table: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        """Refuse half a band or a band that does not hold the value."""
        if (self.low is None) != (self.high is None):
            raise ValueError("a band needs both ends")
        if self.low is not None and self.high is not None:
            slack = 1e-9 * max(1.0, abs(self.low), abs(self.high))
            if not self.low - slack <= self.value <= self.high + slack:
                raise ValueError(f"{self.value} lies outside its band {self.low} to {self.high}")

    @property
    def band(self) -> tuple[float, float]:
        """Low and high; both the value itself where no band is known."""
        if self.low is None or self.high is None:
            return self.value, self.value
        return self.low, self.high

    def negated(self) -> Quantity:
        """Return the quantity with its sign turned, as a loss enters a signed budget."""
        low, high = self.band
        has_band = self.low is not None
        return replace(
            self,
            value=0.0 - self.value,  # a loss of zero stays +0.0
            low=0.0 - high if has_band else None,
            high=0.0 - low if has_band else None,
            table=tuple(0.0 - each for each in reversed(self.table)),
        )

    def scaled(self, by: float, unit: str) -> Quantity:
        """Return the quantity times a factor greater than zero, in another unit."""
        return self._moved(lambda end: end * by, unit)

    def less(self, taken: float) -> Quantity:
        """Return the quantity with a number taken from its value and from its band."""
        return self._moved(lambda end: end - taken, self.unit)

    def _moved(self, change: Callable[[float], float], unit: str) -> Quantity:
        low, high = (None if end is None else change(end) for end in (self.low, self.high))
        table = tuple(change(each) for each in self.table)
        return replace(self, value=change(self.value), unit=unit, low=low, high=high, table=table)

    def without_band(self) -> Quantity:
        """Return its value alone, as of what is known from elsewhere."""
        return replace(self, low=None, high=None, coverage="", shape="", table=())

    def __str__(self) -> str:
        text = f"{self.value:.1f} {self.unit}"
        if self.low is not None and self.high is not None:
            text += f" ({self.low:.1f} to {self.high:.1f})"
        return text
