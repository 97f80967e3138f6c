"""The independent method behind ``plate_cases.csv``: method of moments on a wire grid.

Run as a script, so that a crash of the solver is not the end of the tests:
``python wire_grid.py LENGTH WIDTH SKIRT DEPTH ACROSS``, all in millimetres, at 2.44 GHz.
Prints the loss above, below and in all directions, in dB, as JSON.

Equal-area rule: wire radius = cell / 2 pi. Dipole of 56.73 mm and 0.5 mm radius, 21 segments,
resonant in free space at 72.19 ohm, which is also the source. Against the finite-difference cases
of the table: within 0.3 dB on total power and on the mean over either side.
"""

import json
import math
import sys
from itertools import pairwise

import numpy as np

FREQUENCY_MHZ = 2440.0
DIPOLE_MM, DIPOLE_RADIUS_MM, DIPOLE_SEGMENTS = 56.73, 0.5, 21
SOURCE_OHM = 72.19
THETA_STEPS, PHI_STEPS = 61, 48


def grid(length, width, skirt, cell):
    """Return the wires of a plate with a rim turned down, as pairs of points in mm."""
    x = np.linspace(-length / 2, length / 2, max(2, round(length / cell)) + 1)
    y = np.linspace(-width / 2, width / 2, max(2, round(width / cell)) + 1)
    wires = [((a, c, 0.0), (b, c, 0.0)) for c in y for a, b in pairwise(x)]
    wires += [((c, a, 0.0), (c, b, 0.0)) for c in x for a, b in pairwise(y)]
    rim = [(a, y[0]) for a in x[:-1]] + [(x[-1], b) for b in y[:-1]]
    rim += [(a, y[-1]) for a in x[:0:-1]] + [(x[0], b) for b in y[:0:-1]]
    z = -np.linspace(0.0, skirt, max(1, round(skirt / cell)) + 1) if skirt else [0.0]
    for upper, lower in pairwise(z):
        wires += [((*p, upper), (*p, lower)) for p in rim]
        wires += [((*p, lower), (*q, lower)) for p, q in zip(rim, rim[1:] + rim[:1], strict=True)]
    return wires


def solve(length, width, skirt, depth, across, *, cell=8.0):
    from PyNEC import nec_context

    radius = cell / (2.0 * math.pi)
    if depth <= radius + DIPOLE_RADIUS_MM:
        raise SystemExit("the antenna must clear the grid by more than a wire radius")
    context = nec_context()
    geometry = context.get_geometry()

    def add(tag, segments, start, stop, radius_mm):
        ends = [round(value / 1e3, 7) for value in (*start, *stop)]
        geometry.wire(tag, segments, *ends, radius_mm / 1e3, 1, 1)

    half = DIPOLE_MM / 2
    ends = (-half, across, -depth), (half, across, -depth)
    add(1, DIPOLE_SEGMENTS, *ends, DIPOLE_RADIUS_MM)
    for start, stop in grid(length, width, skirt, cell):
        add(2, 1, start, stop, radius)
    context.geometry_complete(0)
    context.gn_card(-1, 0, 0, 0, 0, 0, 0, 0)
    context.fr_card(0, 1, FREQUENCY_MHZ, 0)
    context.ex_card(0, 1, (DIPOLE_SEGMENTS + 1) // 2, 0, 1.0, 0, 0, 0, 0, 0)
    steps = 180.0 / (THETA_STEPS - 1), 360.0 / PHI_STEPS
    context.rp_card(0, THETA_STEPS, PHI_STEPS, 0, 0, 0, 0, 0.0, 0.0, *steps, 0, 0)
    impedance = complex(context.get_input_parameters(0).get_impedance()[0])
    gain_db = np.asarray(context.get_radiation_pattern(0).get_gain(), dtype=float)
    return losses_db(impedance, 10.0 ** (gain_db.reshape(THETA_STEPS, PHI_STEPS) / 10.0))


def losses_db(impedance, gain):
    taken = 4.0 * impedance.real * SOURCE_OHM / abs(impedance + SOURCE_OHM) ** 2
    weight = np.sin(np.linspace(0.0, math.pi, THETA_STEPS))
    weight /= weight.sum()
    middle = THETA_STEPS // 2
    ring = taken * weight * gain.mean(axis=1)
    above = ring[:middle].sum() + ring[middle] / 2
    below = ring[middle + 1 :].sum() + ring[middle] / 2
    named = {"above": 2 * above, "below": 2 * below, "total": above + below}
    return {name: -10.0 * math.log10(power) for name, power in named.items()}


if __name__ == "__main__":
    print(json.dumps(solve(*map(float, sys.argv[1:]))))
