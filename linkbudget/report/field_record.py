"""Solved fields as plain data: every quantity of the report, and the pattern thinned."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from linkbudget.enclosure.fullwave.sides import SIDES, THETA_DEG
from linkbudget.report.field_rows import mesh_rows, port_rows

if TYPE_CHECKING:
    from linkbudget.core.decibels import FloatArray
    from linkbudget.enclosure.fullwave import FieldComparison, FieldSolution
    from linkbudget.enclosure.fullwave.comparison import Match

_EVERY = 2  # of the directions: every 6 degrees from the pole, every 15 round it
_PATTERN_DIGITS = 2


def field_record(fields: FieldComparison) -> dict[str, Any]:
    """Return what the record keeps of solved fields.

    Parameters
    ----------
    fields : FieldComparison

    Returns
    -------
    dict
        Of quantities, texts, numbers, and arrays of real numbers. A change is a gain, negative
        where the metal weakens; a loss is positive. The pattern is gain over accepted power in the
        middle of the band, over angle from straight up and round the upright axis.
    """
    swept = fields.with_metal.frequencies_hz
    around = fields.with_metal.gain_dbi.shape[1]
    return {
        "frequency_hz": swept,
        "with_metal": _solution(fields.with_metal),
        "without_metal": _solution(fields.without_metal),
        "network": fields.network,
        "port": [
            {
                "name": row.name,
                "without_metal": row.free,
                "as_is": row.as_is,
                "rematched": row.rematched,
            }
            for row in port_rows(fields)
        ],
        "as_is": _changes(fields, "as is"),
        "rematched": _changes(fields, "re-matched"),
        "accepted": {
            "frequency_hz": fields.frequencies_hz,
            "as_is": fields.accepted_share("as is"),
            "rematched": fields.accepted_share("re-matched"),
        },
        "meshes": mesh_rows(fields),
        "pattern": {
            "theta_deg": THETA_DEG[::_EVERY],
            "phi_deg": np.arange(0, around, _EVERY) * 360.0 / around,
            "with_metal_dbi": _thinned(fields.with_metal),
            "without_metal_dbi": _thinned(fields.without_metal),
        },
        "cautions": fields.cautions,
    }


def _solution(solution: FieldSolution) -> dict[str, FloatArray]:
    impedance = solution.port_impedance_ohm
    return {"resistance_ohm": impedance.real, "reactance_ohm": impedance.imag}


def _thinned(solution: FieldSolution) -> list[FloatArray]:
    thin = np.round(solution.gain_dbi[::_EVERY, ::_EVERY], _PATTERN_DIGITS)
    return list(thin)


def _changes(fields: FieldComparison, match: Match) -> dict[str, Any]:
    return {
        "total_radiated": fields.total_radiated(match),
        "straight_up": fields.gain_above(match),
        "sides": {
            side: {
                "mean_gain": fields.mean_gain(side, match),
                "spread": fields.spread(side, match),
                "loss": fields.split(side, match),
            }
            for side in SIDES
        },
    }
