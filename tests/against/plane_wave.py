"""A mesh as a receiving antenna: plane waves instead of a source, for the check of reciprocity.

Reads ``{"request": as the child of the package reads it, "directions_deg": [[theta, phi], ...]}``
from standard input. Prints the receiving gain in dBi at each direction, from the current that each
of two polarisations drives through the shorted feed: ``A = sum |I Z|^2 / (8 R S)``, and
``G = 4 pi A / wavelength^2``.
"""

import json
import math
import sys

WAVE_V_PER_M, SPACE_OHM, LIGHT_M_PER_S = 1.0, 376.730313, 299_792_458.0


def context_of(request):
    from PyNEC import nec_context

    context = nec_context()
    geometry = context.get_geometry()
    for number, (*ends, radius, segments) in enumerate(request["wires"]):
        geometry.wire(min(number, 1) + 1, segments, *ends, radius, 1.0, 1.0)
    context.geometry_complete(0)
    context.gn_card(-1, 0, 0, 0, 0, 0, 0, 0)
    context.fr_card(0, 1, request["pattern_hz"] / 1e6, 0)
    return context


def feed_impedance(request):
    context = context_of(request)
    context.ex_card(0, 1, request["feed_segment"], 0, 1.0, 0, 0, 0, 0, 0)
    context.xq_card(0)
    return complex(context.get_input_parameters(0).get_impedance()[0])


def feed_current(request, theta, phi, polarisation):
    context = context_of(request)
    context.ex_card(1, 1, 1, 0, theta, phi, polarisation, 0, 0, 0)
    context.xq_card(0)
    currents = context.get_structure_currents(0).get_current()
    return complex(currents[request["feed_segment"] - 1])


def receiving_gain_dbi(request, impedance, theta, phi):
    volts2 = sum(abs(feed_current(request, theta, phi, p) * impedance) ** 2 for p in (0.0, 90.0))
    flow = WAVE_V_PER_M**2 / (2.0 * SPACE_OHM)
    area = volts2 / (8.0 * impedance.real * flow)
    wavelength = LIGHT_M_PER_S / request["pattern_hz"]
    return 10.0 * math.log10(4.0 * math.pi * area / wavelength**2)


if __name__ == "__main__":
    asked = json.load(sys.stdin)
    impedance = feed_impedance(asked["request"])
    gains = [receiving_gain_dbi(asked["request"], impedance, *d) for d in asked["directions_deg"]]
    print(json.dumps(gains))
