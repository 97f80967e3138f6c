"""Exposure of people: below which power the rules ask for no assessment."""

from __future__ import annotations

import math
from dataclasses import replace

from linkbudget.core.decibels import db_from_power_ratio, erp_dbm_from_eirp_dbm
from linkbudget.core.quantity import Quantity
from linkbudget.core.units import format_frequency, format_length
from linkbudget.link.power_lines import PowerLine, PowerRow, power_line, shifted
from linkbudget.link.transmission import Transmission, eirp
from linkbudget.physics.validity import require_within

NEAREST_M, FARTHEST_M = 0.005, 0.40  # 1.1307(b)(3)(i)(B): 0.5 cm to 40 cm
_FLAT_FROM_M = 0.20
_ALTERNATIVES = "any one of the exemptions is enough"


def near_threshold_mw(frequency_hz: float, separation_m: float, erp_20cm_mw: float) -> float:
    """Return the power below which a transmitter near the body is exempt in the United States.

    Parameters
    ----------
    frequency_hz : float
        Frequency [Hz], 1.5 to 6 GHz.
    separation_m : float
        Between antenna and body [m], 0.005 to 0.4.
    erp_20cm_mw : float
        Threshold at 20 cm [mW].

    Returns
    -------
    float
        Time-averaged conducted power or effective radiated power, the larger of the two [mW].

    Raises
    ------
    OutOfRange
        Outside the frequencies or distances of the rule.

    Notes
    -----
    ``P = ERP20 (d/20 cm)^x`` with ``x = -log10(60 / (ERP20 sqrt(f in GHz)))``; the same at every
    distance from 20 to 40 cm.

    References
    ----------
    47 CFR 1.1307(b)(3)(i)(B), rule of 2020 (from memory; the form was read in an exposure exhibit).

    Examples
    --------
    >>> round(near_threshold_mw(2.48e9, 0.005, 3060.0), 2)
    2.72
    """
    require_within("frequency (Hz)", frequency_hz, 1.5e9, 6e9)
    require_within("separation (m)", separation_m, NEAREST_M, FARTHEST_M)
    x = -math.log10(60.0 / (erp_20cm_mw * math.sqrt(frequency_hz / 1e9)))
    return float(erp_20cm_mw * (min(separation_m, _FLAT_FROM_M) / _FLAT_FROM_M) ** x)


def exposure_rows(transmission: Transmission) -> tuple[PowerRow, ...]:
    """Return how far a transmitter is from the powers at which exposure has to be assessed.

    Parameters
    ----------
    transmission : Transmission
        Without a duty cycle it counts as sending all the time; without a separation the lines that
        depend on it cannot be told.

    Returns
    -------
    tuple of PowerRow
        Europe, then the United States.
    """
    conducted = transmission.conducted_power
    conducted = shifted(conducted, 0.0, f"conducted power ({conducted.kind})")
    duty = transmission.duty_cycle
    return (
        power_line("en62479-low-power").judge_average(conducted, duty),
        power_line("fcc-exposure-blanket").judge_average(conducted, duty, _ALTERNATIVES),
        _by_distance(transmission, conducted),
    )


def _by_distance(transmission: Transmission, conducted: Quantity) -> PowerRow:
    distance_m, duty = transmission.separation_m, transmission.duty_cycle
    near = power_line("fcc-exposure-near")
    if distance_m is None:
        return near.open_row("cannot tell", "the distance to the body is not stated")
    if distance_m < NEAREST_M:
        why = f"the rule holds from {format_length(NEAREST_M)} on"
        return near.open_row("cannot tell", f"{why}, {format_length(distance_m)} is stated")
    radiated = eirp(transmission)
    erp = shifted(radiated, erp_dbm_from_eirp_dbm(0.0), f"e.r.p.: {radiated.source}")
    if distance_m > FARTHEST_M:
        # 1.1307(b)(3)(i)(C): 19.2 R^2
        far = power_line("fcc-exposure-far")
        at_distance = far.level + 2.0 * db_from_power_ratio(distance_m)
        line = _at(far, at_distance, format_length(distance_m))
        return line.judge_average(erp, duty, _ALTERNATIVES)
    highest_hz = transmission.band_hz[1]  # the threshold falls with frequency
    threshold_mw = near_threshold_mw(highest_hz, distance_m, 10.0 ** (near.level / 10.0))
    where = f"{format_length(distance_m)} and {format_frequency(highest_hz)}"
    line = _at(near, db_from_power_ratio(threshold_mw), where)
    return line.judge_average(_larger(conducted, erp), duty, _ALTERNATIVES)


def _at(line: PowerLine, level_dbm: float, where: str) -> PowerLine:
    milliwatts = 10.0 ** (level_dbm / 10.0)
    return replace(line, level=level_dbm, written=f"{milliwatts:.4g} mW at {where}")


def _larger(one: Quantity, other: Quantity) -> Quantity:
    """Return the larger of two powers, end by end of their bands."""
    source = f"the larger of {one.source} and {other.source}"
    value = max(one.value, other.value)
    if one.low is None and other.low is None:
        return Quantity(value, one.unit, "computed", source=source)
    low, high = (max(ends) for ends in zip(one.band, other.band, strict=True))
    coverage = one.coverage or other.coverage
    return Quantity(value, one.unit, "computed", low, high, source, coverage)
