"""The field solver's own process: ``python -m linkbudget.enclosure.fullwave.child``.

Standard input holds ``{"memory_bytes": ..., "jobs": [...]}``, standard output one JSON object a
line and job, in order: ``{"impedance_ohm": [[re, im], ...], "gain_db": [[...], ...]}`` or
``{"error": "..."}``. The C++ library may crash, hang or write what it likes: it does so here.
"""

from __future__ import annotations

import json
import os
import sys
from typing import Any, TextIO

from linkbudget.enclosure.fullwave.directions import PHI_STEPS, THETA_STEPS

_BASE_BYTES = 1 << 30  # Python, NumPy and the library, as address space
_NOTHING_DB = -300.0  # the library writes -999.99 for no field at all


def solve_job(job: dict[str, Any]) -> dict[str, Any]:
    """Solve one mesh at its frequencies.

    Parameters
    ----------
    job : dict
        "wires": list of [x, y, z, x, y, z, radius, segments], in m; "feed_segment" of the first;
        "frequencies_hz"; "pattern_hz".

    Returns
    -------
    dict
        "impedance_ohm" at each frequency, "gain_db" over theta and phi at "pattern_hz": power gain
        over isotropic, both polarisations together.
    """
    from PyNEC import nec_context

    context = nec_context()
    geometry = context.get_geometry()
    for number, (*ends, radius_m, segments) in enumerate(job["wires"]):
        tag = 1 if number == 0 else 2
        geometry.wire(tag, int(segments), *ends, radius_m, 1.0, 1.0)
    context.geometry_complete(0)
    context.gn_card(-1, 0, 0, 0, 0, 0, 0, 0)  # free space
    impedance = []
    for number, frequency_hz in enumerate(job["frequencies_hz"]):
        context.fr_card(0, 1, frequency_hz / 1e6, 0)
        context.ex_card(0, 1, job["feed_segment"], 0, 1.0, 0, 0, 0, 0, 0)  # 1 V across the segment
        if frequency_hz == job["pattern_hz"]:
            steps_deg = 180.0 / (THETA_STEPS - 1), 360.0 / PHI_STEPS
            context.rp_card(0, THETA_STEPS, PHI_STEPS, 0, 0, 0, 0, 0.0, 0.0, *steps_deg, 0, 0)
            gain_db = context.get_radiation_pattern(0).get_gain().reshape(-1, PHI_STEPS)
        else:
            context.xq_card(0)
        value = complex(context.get_input_parameters(number).get_impedance()[0])
        impedance.append([value.real, value.imag])
    rounded = [[round(max(float(g), _NOTHING_DB), 4) for g in ring] for ring in gain_db]
    return {"impedance_ohm": impedance, "gain_db": rounded}


def main(reading: TextIO, writing: TextIO) -> None:
    """Answer one request."""
    request = json.load(reading)
    _limit_memory(int(request["memory_bytes"]))
    for job in request["jobs"]:
        try:
            answer = solve_job(job)
        except MemoryError:
            answer = {"error": "out of memory"}
        except Exception as error:  # the library raises what it likes
            answer = {"error": f"{type(error).__name__}: {error}"}
        writing.write(json.dumps(answer) + "\n")
        writing.flush()


def _limit_memory(most_bytes: int) -> None:
    try:
        import resource
    except ImportError:  # not POSIX
        return
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    wanted = _BASE_BYTES + most_bytes
    limit = wanted if hard == resource.RLIM_INFINITY else min(wanted, hard)
    resource.setrlimit(resource.RLIMIT_AS, (limit, hard))


def _own_output() -> TextIO:
    """Return the real standard output; what the library prints goes to standard error."""
    kept = os.dup(1)
    os.dup2(2, 1)
    return os.fdopen(kept, "w", encoding="utf-8")


if __name__ == "__main__":
    with _own_output() as output:
        main(sys.stdin, output)
