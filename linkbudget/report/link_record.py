"""The forecast of a link and its power lines as plain data: draws thinned to what they say."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from linkbudget.link.delivery import LONGEST_S
from linkbudget.link.forecast import COVERAGES

if TYPE_CHECKING:
    from linkbudget.link.delivery import Delivery
    from linkbudget.link.forecast import Forecast, Outcome
    from linkbudget.link.legal_power import PowerRow


def forecast_record(forecast: Forecast) -> dict[str, Any]:
    """Return what the record keeps of a forecast: no draws, but what drives their spread."""
    return {
        "level": forecast.level,
        "above": forecast.above,
        "margin": forecast.margin,
        "reach": forecast.reach,
        "chance": forecast.chance,
        "draws": forecast.draws,
        "known": forecast.known,
        "drivers": forecast.drivers,
    }


def outcome_record(outcome: Outcome) -> dict[str, Any]:
    """Return one figure with its intervals, each with its coverage, and its distribution."""
    pairs = zip(COVERAGES, outcome.intervals, strict=True)
    return {
        "unit": outcome.unit,
        "median": outcome.median,
        "intervals": [{"coverage": c, "low": low, "high": high} for c, (low, high) in pairs],
        "distribution": {"share_below": outcome.shares, "value": outcome.values},
    }


def delivery_record(delivery: Delivery) -> dict[str, Any]:
    """Return how reports arrive; a latency that is not found is null with its reason."""
    data: dict[str, Any] = {
        "latency_s": delivery.latency_s,
        "tries": delivery.tries,
        "chance": delivery.chance,
        "needed_s": delivery.needed_s,
    }
    if not math.isfinite(delivery.needed_s):
        data |= {"needed_s": None, "needed_s_reason": f"not within {LONGEST_S:g} s"}
    return data


def power_record(row: PowerRow) -> dict[str, Any]:
    """Return what is told of a power line beyond its own fields."""
    counted = {"counted_margin_db": row.counted_margin_db, "standing": row.standing}
    missing = {
        f"{name}_reason": row.note or row.state
        for name in ("judged", "limit", "margin")
        if getattr(row, name) is None
    }
    if row.counted_margin_db is None:
        missing["counted_margin_db_reason"] = row.note or row.state
    return counted | missing
