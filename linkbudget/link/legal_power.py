"""How much power the radio rules permit, and how far a transmitter with its metal is from it."""

from __future__ import annotations

from dataclasses import replace

from linkbudget.core.quantity import Quantity
from linkbudget.core.units import format_frequency
from linkbudget.link.budget import combine
from linkbudget.link.exposure import exposure_rows
from linkbudget.link.power_lines import (
    PowerLine,
    PowerRow,
    held_bands_hz,
    power_line,
    shifted,
)
from linkbudget.link.transmission import Technology, Transmission, eirp, largest_gain
from linkbudget.physics.propagation import field_dbuv_per_m_from_eirp_dbm

__all__ = ["PowerRow", "Technology", "Transmission", "eirp", "power_rows"]

_FIELD_DISTANCE_M = 3.0  # 47 CFR 15.249(a)
_HOPPING_LINES = ("fcc15247-hopping-75", "fcc15247-hopping-15")
_OTHER_ROUTE = "the field-strength route, 15.249, stays open"
_ONE_ROUTE = "one of the routes 15.247 and 15.249 is enough"
_NO_CREST = "peak over mean is not stated: counted as a constant envelope, each dB of it costs one"
_NOT_TOLD = "whether it hops or how it modulates is not stated"


def power_rows(transmission: Transmission) -> tuple[PowerRow, ...]:
    """Return every line held for a transmitter's band, and how far the transmitter is from it.

    Parameters
    ----------
    transmission : Transmission
        What is not known of it becomes a row that says so.

    Returns
    -------
    tuple of PowerRow
        Europe, United States, exposure; a single row where no line is held for the band. The
        largest gain counts, with the metal in place, and of each band the high end.

    Notes
    -----
    Not in it: emissions outside the channel, hopping and sensing themselves, restricted bands.

    References
    ----------
    ETSI EN 300 328, 47 CFR 15.247, 15.249, 15.35 and 1.1307, EN 62479: see
    ``data/limits/transmit_power.csv``, row by row.

    Examples
    --------
    >>> radio = Transmission(
    ...     band_hz=(868.0e6, 868.6e6), conducted_power=Quantity(14.0, "dBm", "stated"),
    ...     peak_gain=Quantity(0.0, "dBi", "stated"), metal_gain=None,
    ...     cable_loss=Quantity(0.0, "dB", "stated"), channel_bandwidth_hz=125e3)
    >>> [row.state for row in power_rows(radio)]
    ['no line held']
    """
    low_hz, high_hz = transmission.band_hz
    if not any(low <= low_hz and high_hz <= high for low, high in held_bands_hz()):
        return (_no_line(low_hz, high_hz),)
    return (
        *_european_rows(transmission),
        *_conducted_rows(transmission),
        *_field_rows(transmission),
        *exposure_rows(transmission),
    )


def _no_line(low_hz: float, high_hz: float) -> PowerRow:
    held = "; ".join(_span(*band) for band in held_bands_hz())
    note = f"no line held for {_span(low_hz, high_hz)}; lines are held for {held}"
    rule = "no line held for this band"
    return PowerRow(rule, "", "", "no line held", None, None, "", "", None, note, None)


def _span(low_hz: float, high_hz: float) -> str:
    return f"{format_frequency(low_hz)} to {format_frequency(high_hz)}"


def _european_rows(transmission: Transmission) -> tuple[PowerRow, ...]:
    radiated = eirp(transmission)
    sharing = power_line("en300328-sharing")
    density = power_line("en300328-density")
    if transmission.technology == "frequency hopping":
        density_row = density.open_row("not asked", "it hops")
    elif transmission.technology == "digital modulation":
        density_row = density.judge_density(radiated, transmission.channel_bandwidth_hz)
    else:
        density_row = density.open_row(
            "cannot tell", f"{_NOT_TOLD}; the line counts only without hopping"
        )
    return (
        power_line("en300328-power").judge(radiated),
        sharing.judge(radiated),
        _medium_use(radiated, sharing, transmission.duty_cycle),
        density_row,
    )


def _medium_use(radiated: Quantity, sharing: PowerLine, duty_cycle: float | None) -> PowerRow:
    line = power_line("en300328-medium-use")
    if not sharing.reached_by(radiated):
        return line.open_row("not asked", f"e.i.r.p. lies below {sharing.written}")
    # P/100 mW in dB over 1 %: dBm less 20 dB, and 20 dB for percent
    row = line.judge_average(shifted(radiated, 0.0, radiated.source, "%"), duty_cycle)
    return replace(row, judged=_percent(row.judged) if row.judged else None)


def _percent(share_db: Quantity) -> Quantity:
    """Return a share of dB over 1 % as percent."""
    value, low, high = (10.0 ** (one / 10.0) for one in (share_db.value, *share_db.band))
    if share_db.low is None:
        return Quantity(value, "%", "computed", source=share_db.source)
    return Quantity(value, "%", "computed", low, high, share_db.source, share_db.coverage)


def _conducted_rows(transmission: Transmission) -> tuple[PowerRow, ...]:
    """Return the rows of 47 CFR 15.247, by the route that the technology opens."""
    if transmission.technology == "digital modulation":
        return _digital_rows(transmission)
    if transmission.technology == "frequency hopping":
        return (_hopping_row(transmission),)
    return (power_line("fcc15247-digital").open_row("cannot tell", _NOT_TOLD),)


def _digital_rows(transmission: Transmission) -> tuple[PowerRow, ...]:
    line = power_line("fcc15247-digital")
    bandwidth_hz = transmission.channel_bandwidth_hz
    width = format_frequency(bandwidth_hz)
    if bandwidth_hz < line.opens_at:
        why = f"a channel of {width} is narrower than {format_frequency(line.opens_at)}"
        return (line.open_row("route not open", f"{why}; {_OTHER_ROUTE}"),)
    needed = format_frequency(line.opens_at)
    taken = (
        f"open from a 6 dB bandwidth of {needed} on: measure it, the channel's {width} may be more"
    )
    power = _conducted(transmission)
    density = power_line("fcc15247-density")
    return (
        line.judge(_with_gain_excess(power, transmission), taken, _ONE_ROUTE),
        density.judge_density(power, bandwidth_hz),
    )


def _hopping_row(transmission: Transmission) -> PowerRow:
    many, few = (power_line(rule_id) for rule_id in _HOPPING_LINES)
    channels = transmission.channels
    if channels is None:
        return few.open_row("cannot tell", "the number of channels is not stated")
    if channels < few.opens_at:
        why = f"{channels} channels are fewer than {few.opens_at:.0f}"
        return few.open_row("route not open", f"{why}; {_OTHER_ROUTE}")
    line = many if channels >= many.opens_at else few
    power, crest_note = _at_peak(_conducted(transmission), transmission)
    return line.judge(_with_gain_excess(power, transmission), crest_note, _ONE_ROUTE)


def _conducted(transmission: Transmission) -> Quantity:
    power = transmission.conducted_power
    return shifted(power, 0.0, f"conducted power ({power.kind})")


def _with_gain_excess(power: Quantity, transmission: Transmission) -> Quantity:
    """Add what the antenna has above 6 dBi, by which the permitted power falls, 15.247(b)(4)."""
    free_dbi = power_line("fcc15247-gain").level
    gain = largest_gain(transmission)
    value, low, high = (max(0.0, one - free_dbi) for one in (gain.value, *gain.band))
    if high == 0.0:
        return power
    excess = Quantity(value, "dB", "computed", low, high)
    source = f"{power.source} with up to {high:.1f} dB that the antenna has above {free_dbi:g} dBi"
    return combine((power, excess), "dBm", source)


def _at_peak(level: Quantity, transmission: Transmission) -> tuple[Quantity, str]:
    """Return the level at the peak of the envelope, and what to say where that is not stated."""
    crest = transmission.peak_over_mean
    if crest is None:
        return level, _NO_CREST
    return combine((level, crest), level.unit, f"{level.source}, at the peak of the envelope"), ""


def _field_rows(transmission: Transmission) -> tuple[PowerRow, ...]:
    """Return the rows of 47 CFR 15.249, fields in free space."""
    radiated = eirp(transmission)
    per_eirp_db = field_dbuv_per_m_from_eirp_dbm(0.0, _FIELD_DISTANCE_M)
    source = f"field in free space at {_FIELD_DISTANCE_M:g} m: {radiated.source}"
    field = shifted(radiated, per_eirp_db, source, "dBuV/m")
    average, above = power_line("fcc15249-average"), power_line("fcc15249-peak")
    peak_dbuv_per_m = average.level + above.level
    peak = replace(
        above, level=peak_dbuv_per_m, unit="dBuV/m", written=f"{above.written} over the average"
    )
    at_peak, crest_note = _at_peak(field, transmission)
    return (
        average.judge_average(field, transmission.duty_cycle, _ONE_ROUTE, factor=20.0),
        peak.judge(at_peak, crest_note),
        _harmonics_row(field),
    )


def _harmonics_row(field: Quantity) -> PowerRow:
    line = power_line("fcc15249-harmonics")
    needed_db = field.band[1] - line.level
    why = "the level of the harmonics is not stated"
    if needed_db > 0.0:
        why += f"; each has to lie {needed_db:.1f} dB or more below the carrier's field"
    return line.open_row("cannot tell", why)
