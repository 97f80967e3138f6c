"""A study as plain data and as JSON, for programs: schema ``linkbudget/result/1``."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Sequence
from dataclasses import fields, is_dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from linkbudget.core.quantity import Quantity
from linkbudget.core.sources import Source
from linkbudget.emissions.conformity import LineStanding
from linkbudget.emissions.limits import LimitLine
from linkbudget.emissions.peaks import Peak
from linkbudget.enclosure.box_report import NO_WAVE, BoxReport
from linkbudget.enclosure.effect import CONTAINED, MetalEffect, PathLoss
from linkbudget.enclosure.fullwave import FieldComparison
from linkbudget.link.delivery import Delivery
from linkbudget.link.forecast import Forecast, Outcome
from linkbudget.link.legal_power import PowerRow
from linkbudget.report import bounds
from linkbudget.report.field_record import field_record
from linkbudget.report.link_record import (
    delivery_record,
    forecast_record,
    outcome_record,
    power_record,
)
from linkbudget.results import DEFERENCE, SCHEMA, BookingFacts, VariantLink

if TYPE_CHECKING:
    from linkbudget.core.decibels import FloatArray
    from linkbudget.results import StudyResult, VaryResult

Data = dict[str, Any]

_WORST = (
    "scan",
    "detector",
    "worst_margin",
    "worst_at_hz",
    "worst_level_db",
    "worst_limit_db",
)
_TRACE_DIGITS = 3  # a thousandth of a decibel, and of a hertz


def record(study: StudyResult) -> Data:
    """Return a study as dicts, lists, texts, numbers, true, false and null.

    Parameters
    ----------
    study : StudyResult
        Whole or partial; a part that was not asked for is null or empty.

    Returns
    -------
    dict
        Keys in a fixed order. A quantity is ``{value, unit, low, high, kind, coverage, shape,
        method}``. A number that is not finite is null, with its reason in ``reason`` or
        ``<key>_reason``.

    Notes
    -----
    A limit line stands once, in ``emissions.lines``; elsewhere its ``line_id`` names it. A
    comparison stands once, below its scan. A loss whose coverage is "at least" is a floor; a reach
    with "at least" or "at most" lies where the law of the room ends. Solved fields are thinned,
    and of a forecast the distributions are kept, not the draws.
    """
    data = _fields(study)
    lines = study.emissions.lines if study.emissions is not None else ()
    if study.emissions is not None:
        data["emissions"]["lines"] = [_whole_line(line) for line in lines]
    return {"schema": data.pop("schema"), "tool": "linkbudget", **data}


def to_json(study: StudyResult) -> str:
    """Return a study as JSON text, strict: no NaN, no infinity, ASCII only."""
    return _text(record(study))


def vary_json(varied: VaryResult) -> str:
    """Return what came of varying a scenario as JSON text, every point with its band."""
    data = _fields(varied)
    return _text({"schema": data.pop("schema"), "tool": "linkbudget", **data})


def limits_json(lines: Sequence[LimitLine]) -> str:
    """Return limit lines as JSON text, every value with its source."""
    whole = [_whole_line(line) for line in lines]
    return _text({"schema": SCHEMA, "tool": "linkbudget", "lines": whole, "deference": DEFERENCE})


def _text(data: Data) -> str:
    return json.dumps(data, allow_nan=False)


def _plain(value: object) -> Any:  # noqa: ANN401 -- JSON has no narrower type
    """Return plain data for any part of a result."""
    convert = next((way for kind, way in _SPECIAL.items() if isinstance(value, kind)), None)
    if convert is None and is_dataclass(value):
        convert = _fields
    return value if convert is None else convert(value)


def _fields(value: Any) -> Data:  # noqa: ANN401 -- any dataclass
    """Return the fields of a dataclass, each number that is not finite with its reason."""
    data: Data = {}
    for field in fields(value):
        item = getattr(value, field.name)
        data[field.name] = _plain(item)
        reason = _reason(item)
        if reason:
            data[f"{field.name}_reason"] = reason
    return data


def _reason(value: object) -> str:
    """Say why a number, or some number of a list, became null; "" where none did."""
    if isinstance(value, np.ndarray):
        lost = int(np.count_nonzero(~np.isfinite(value)))
        return f"{lost} of {value.size} values are not finite" if lost else ""
    if isinstance(value, (float, np.floating)) and not math.isfinite(value):
        return "not a number" if math.isnan(value) else "grows without end"
    return ""


def _quantity(quantity: Quantity) -> Data:
    data: Data = {
        "value": _number(quantity.value),
        "unit": quantity.unit,
        "low": _plain(quantity.low),
        "high": _plain(quantity.high),
        "kind": quantity.kind,
        "coverage": quantity.coverage,
        "shape": "tabled" if quantity.table else quantity.shape,
        "method": quantity.source,
    }
    reasons = {name: _reason(getattr(quantity, name)) for name in ("value", "low", "high")}
    told = [f"{name}: {reason}" for name, reason in reasons.items() if reason]
    return data | ({"reason": "; ".join(told)} if told else {})


def _source(source: Source) -> Data:
    return _fields(source) | {"status": source.status}


def _whole_line(line: LimitLine) -> Data:
    return {"label": line.label} | _fields(line)


def _standing(standing: LineStanding) -> Data:
    worst = standing.worst
    shown = {name: _plain(getattr(worst, name)) for name in _WORST} if worst is not None else None
    compared = [found.scan for found in standing.compared]
    return _fields(replace(standing, worst=None, compared=())) | {
        "worst": shown,
        "compared": compared,
    }


def _path(path: PathLoss) -> Data:
    return _fields(replace(path, loss=bounds.path_loss(path)))


def _metal(effect: MetalEffect) -> Data:
    reason = {"at_antenna_port_reason": CONTAINED} if effect.detuning is None else {}
    data = _fields(effect)
    # detuning, in a split of the loss, is the mismatch alone
    return {"at_antenna_port" if key == "detuning" else key: data[key] for key in data} | reason


def _box(box: BoxReport) -> Data:
    reason = {"quality_factor_reason": NO_WAVE} if box.quality_factor is None else {}
    return _fields(box) | reason


def _link(link: VariantLink) -> Data:
    """Return a link; what has no value there is null, not zero, and says why."""
    data = _fields(link)
    reading = link.room.one_reading(link.wanted_distance_m) if link.room is not None else None
    if reading is not None:
        data["one_reading"] = _quantity(reading)
    if link.comparison is None:
        why = link.absent_because or "no radio link"
        for name in ("frequency_hz", "wanted_distance_m", "reliability"):
            if getattr(link, name) == 0.0:
                data |= {name: None, f"{name}_reason": why}
    return data


def _peak(peak: Peak) -> Data:
    return _fields(peak) | {"margin_db": _number(peak.margin_db)}


def _booking(booking: BookingFacts) -> Data:
    stated = [{"name": name, "value": text, "kind": "stated"} for name, text in booking.facts]
    return {"facts": stated, "miss_costs": booking.miss_costs}


def _list(items: Sequence[object]) -> list[Any]:
    return [_plain(item) for item in items]


def _array(values: FloatArray) -> list[float | None]:
    return [_number(value) for value in np.round(values, _TRACE_DIGITS).tolist()]


def _number(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


_SPECIAL: dict[type, Callable[[Any], Any]] = {
    Quantity: _quantity,
    Source: _source,
    LimitLine: lambda line: line.line_id,
    LineStanding: _standing,
    PathLoss: _path,
    MetalEffect: _metal,
    BoxReport: _box,
    VariantLink: _link,
    Peak: _peak,
    BookingFacts: _booking,
    np.ndarray: _array,
    FieldComparison: lambda fields: _plain(field_record(fields)),
    Forecast: lambda forecast: _plain(forecast_record(forecast)),
    Outcome: lambda outcome: _plain(outcome_record(outcome)),
    Delivery: lambda delivery: _plain(delivery_record(delivery)),
    PowerRow: lambda row: _fields(row) | _plain(power_record(row)),
    dict: lambda parts: {name: _plain(part) for name, part in parts.items()},
    list: _list,
    tuple: _list,
    float: _number,
    np.generic: lambda scalar: _plain(scalar.item()),
}
