"""The lines that radio rules draw for a transmitter's power, and how far a power lies from one."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

from linkbudget.core.decibels import db_from_power_ratio
from linkbudget.core.quantity import Quantity
from linkbudget.core.sources import Source
from linkbudget.core.tables import SourcedRow, load_sourced_rows
from linkbudget.core.units import format_frequency, parse

RowState = Literal["judged", "cannot tell", "not asked", "route not open", "no line held"]

_LEVEL_KINDS = {
    "dBm": ("power level", "dBm"),
    "mW": ("power level", "dBm"),
    "W": ("power level", "dBm"),
    "mV/m": ("field level", "dBuV/m"),
    "uV/m": ("field level", "dBuV/m"),
    "dBi": ("gain", "dBi"),
    "dB": ("ratio", "dB"),
}


@dataclass(frozen=True, slots=True)
class PowerRow:
    """One line of one rule, and how far the transmitter is from it.

    Parameters
    ----------
    rule : str
        Document and what it limits.
    route : str
        Region or way through the rules for which the line counts.
    counts : str
        Which quantity the rule judges: peak or average, with the duty cycle or without.
    state : {"judged", "cannot tell", "not asked", "route not open", "no line held"}
    judged : Quantity or None
        That quantity [`unit`]; None where it is not known.
    limit : float or None
        The line [`unit`].
    unit : str
    written : str
        The line as the rule writes it.
    margin : Quantity or None
        Line less judged quantity [dB], positive on the good side. A line is met by the high end of
        a power, so the low end of the margin counts.
    note : str
        Which duty starts at the line, what was taken for what is not stated, or why nobody can
        tell.
    source : Source or None
        Document, edition and clause; None where no line is held.
    """

    rule: str
    route: str
    counts: str
    state: RowState
    judged: Quantity | None
    limit: float | None
    unit: str
    written: str
    margin: Quantity | None
    note: str
    source: Source | None

    @property
    def clause(self) -> str:
        """Clause of the rule."""
        return self.source.clause if self.source else ""

    @property
    def edition(self) -> str:
        """Edition of the rule."""
        return self.source.edition if self.source else ""

    @property
    def standing(self) -> str:
        """How far the number itself may be trusted: "check against the standard"."""
        return self.source.status if self.source else "no line held: look up the rules of this band"

    @property
    def counted_margin_db(self) -> float | None:
        """Margin at the high end of the power, which is the one that counts [dB]."""
        return self.margin.band[0] if self.margin else None


@dataclass(frozen=True, slots=True)
class PowerLine:
    """One line of one rule, from ``data/limits/transmit_power.csv``.

    Parameters
    ----------
    rule, route, counts : str
        As in ``PowerRow``.
    level : float
        The line in decibels [`unit`; for a share in percent, dB over 1 %].
    unit : str
        "dBm", "dBuV/m", "dBi", "dB" or "%".
    written : str
        The line as the rule writes it.
    per_hz : float
        Bandwidth in which a density is counted [Hz]; 0 where the line is no density.
    opens_at : float
        Least bandwidth [Hz] or number of channels with which the line may be used; 0 for any.
    starts_at_line : bool
        Whether `duty` starts at the line itself, not only above it.
    duty : str
        What is owed from the line on; "" where the line must not be exceeded.
    low_hz, high_hz : float
        Band for which the line is held [Hz].
    source : Source
    """

    rule: str
    route: str
    counts: str
    level: float
    unit: str
    written: str
    per_hz: float
    opens_at: float
    starts_at_line: bool
    duty: str
    low_hz: float
    high_hz: float
    source: Source

    def open_row(self, state: RowState, note: str) -> PowerRow:
        """Return the row of a line to which nothing can be compared, and why."""
        told = f"cannot tell: {note}" if state == "cannot tell" else note
        return self._row(state, None, None, told)

    def judge(self, level: Quantity, *notes: str) -> PowerRow:
        """Compare a level [the unit of `level`] with the line."""
        low, high = level.band
        has_band = level.low is not None
        margin = Quantity(
            self.level - level.value,
            "dB",
            "computed",
            self.level - high if has_band else None,
            self.level - low if has_band else None,
            f"the line less: {level.source}",
            level.coverage,
        )
        note = "; ".join(part for part in (self._duty_note(level), *notes) if part)
        return self._row("judged", level, margin, note)

    def judge_average(
        self, level: Quantity, duty_cycle: float | None, *notes: str, factor: float = 10.0
    ) -> PowerRow:
        """Compare an average over sending and silence with the line.

        Parameters
        ----------
        level : Quantity
            Level while it sends.
        duty_cycle : float or None
            Share of time that it sends [1].
        notes : str
            What else to say.
        factor : float
            10 where powers are averaged, 20 where fields are.

        Returns
        -------
        PowerRow
            Where the duty cycle is not stated: judged as sending all the time, which is the worst
            case, if even that keeps the line; else it cannot be told, and the row names the duty
            cycle that just meets the line.
        """
        if duty_cycle is not None:
            by_db = factor / 10.0 * db_from_power_ratio(duty_cycle)
            averaged = shifted(level, by_db, f"{level.source}; times the duty cycle")
            return self.judge(averaged, *notes)
        over_db = level.band[1] - self.level
        if over_db <= 0.0:
            silent = "the duty cycle is not stated: counted as sending all the time"
            return self.judge(level, silent, *notes)
        share = 100.0 * 10.0 ** (-over_db / factor)
        why = f"the duty cycle is not stated; the line is met up to {share:.3g} % of the time"
        return self.open_row("cannot tell", "; ".join((why, *notes)))

    def judge_density(self, level: Quantity, bandwidth_hz: float, *notes: str) -> PowerRow:
        """Compare a power density with the line, from power [dBm] and occupied bandwidth [Hz].

        The shape of the spectrum is not known: the value is power spread evenly, the high end all
        power in one place. Where the line lies between the two, it cannot be told.
        """
        even_db = db_from_power_ratio(max(1.0, bandwidth_hz / self.per_hz))
        if even_db == 0.0:
            return self.judge(shifted(level, 0.0, level.source, self.unit), *notes)
        low, high = level.band
        density = Quantity(
            level.value - even_db,
            self.unit,
            "computed",
            low - even_db,
            high,
            f"{level.source}, over {format_frequency(bandwidth_hz)}",
            "value: spread evenly; high: all in one place",
        )
        row = self.judge(density, "the shape of the spectrum is not stated", *notes)
        if density.value <= self.level < high:
            row = replace(row, state="cannot tell", note=f"cannot tell: {row.note}")
        return row

    def _row(
        self, state: RowState, judged: Quantity | None, margin: Quantity | None, note: str
    ) -> PowerRow:
        limit = 10.0 ** (self.level / 10.0) if self.unit == "%" else self.level
        return PowerRow(
            f"{self.source.document}: {self.rule}",
            self.route,
            self.counts,
            state,
            judged,
            limit,
            self.unit,
            self.written,
            margin,
            note,
            self.source,
        )

    def _duty_note(self, level: Quantity) -> str:
        if not self.duty:
            return ""
        low, high = level.band
        if self._starts(low):
            return f"{self.duty}: asked, the line is reached"
        if self._starts(high):
            return f"{self.duty}: the line lies inside the band, and the high end counts"
        return f"{self.duty}: not asked, the line is not reached"

    def _starts(self, level: float) -> bool:
        return level >= self.level if self.starts_at_line else level > self.level

    def reached_by(self, level: Quantity) -> bool:
        """Whether the high end of a level starts the duty of this line."""
        return self._starts(level.band[1])


def shifted(level: Quantity, by_db: float, source: str, unit: str = "") -> Quantity:
    """Return a level with its band, moved by an exact amount [dB].

    Examples
    --------
    >>> print(shifted(Quantity(10.0, "dBm", "stated", 9.0, 11.0), -2.0, "less 2 dB"))
    8.0 dBm (7.0 to 9.0)
    """
    has_band = level.low is not None
    low, high = level.band
    return replace(
        level,
        value=level.value + by_db,
        unit=unit or level.unit,
        kind="computed",
        low=low + by_db if has_band else None,
        high=high + by_db if has_band else None,
        source=source,
    )


@lru_cache(maxsize=1)
def _lines() -> dict[str, PowerLine]:
    rows = load_sourced_rows("limits/transmit_power.csv")
    return {row.cells["rule_id"]: _line_from_row(row) for row in rows}


def power_line(rule_id: str) -> PowerLine:
    """Return one line by its key in ``data/limits/transmit_power.csv``.

    Examples
    --------
    >>> power_line("en300328-power").written
    '20 dBm'
    """
    return _lines()[rule_id]


def held_bands_hz() -> tuple[tuple[float, float], ...]:
    """Return the bands [Hz] for which lines are held."""
    return tuple(sorted({(line.low_hz, line.high_hz) for line in _lines().values()}))


def _line_from_row(row: SourcedRow) -> PowerLine:
    cells = row.cells
    written = f"{cells['limit']} {cells['unit']}"
    if cells["unit"] == "%":
        level, unit = db_from_power_ratio(row.number("limit")), "%"
    else:
        kind, unit = _LEVEL_KINDS[cells["unit"]]
        level = parse(written, kind)
    per_hz = float(cells["per_hz"] or 0.0)
    if per_hz:
        per = format_frequency(per_hz)
        written, unit = f"{written} in {per}", f"{unit} in {per}"
    return PowerLine(
        rule=cells["rule"],
        route=cells["route"],
        counts=cells["counts"],
        level=level,
        unit=unit,
        written=written,
        per_hz=per_hz,
        opens_at=float(cells["opens_at"] or 0.0),
        starts_at_line=cells["starts_at_line"] == "yes",
        duty=cells["duty"],
        low_hz=row.number("low_hz"),
        high_hz=row.number("high_hz"),
        source=row.source,
    )
