"""1,000,000 draws of a whole link, with metal and without, against numpy drawing the numbers.

Run on demand: ``python tests/benchmarks/bench_link.py``. Level, margin and reach of both cases,
their 50, 80 and 95 % intervals and the chance, in times of what numpy alone takes to draw the same
random numbers. Medians of paired runs; the clock counts processor time of this process, so that a
busy machine does not blur the ratio. Then what one comparison of the tool takes, and its drivers.
"""

from __future__ import annotations

import statistics
import time
import tracemalloc
from collections.abc import Callable

import numpy as np

from linkbudget.core.quantity import Quantity, Shape
from linkbudget.link.budget import LinkInputs, MetalLoss
from linkbudget.link.fades import FadeLaw
from linkbudget.link.forecast import forecasts
from linkbudget.link.laws import by_exponent, indoor, open_air, over_ground
from linkbudget.link.reach import difference
from linkbudget.link.rooms import Room
from linkbudget.physics.dielectrics import Dielectric
from linkbudget.physics.ground import OverGround

DRAWS = 1_000_000
PAIRS = 11
BLOCK = 8_192  # the baseline fills one block again and again, the quickest that numpy can do
BAND_HZ = 2.44e9
DISTANCE_M = 10.0


def stated(value: float, half: float, unit: str = "dB", shape: Shape | None = None) -> Quantity:
    return Quantity(value, unit, "stated", value - half, value + half, shape=shape or "")


INPUTS = LinkInputs(
    frequency_hz=BAND_HZ,
    conducted_power=stated(4.0, 1.0, "dBm"),
    mismatch=stated(0.6, 0.5),
    antenna_gain=stated(-3.0, 4.0, "dBi"),
    body=stated(3.0, 3.0, shape="rectangular"),
    polarisation=Quantity(3.0, "dB", "assumed", 0.0, 10.0),
    far_gain=stated(-1.0, 3.0, "dBi"),
    sensitivity=stated(-94.0, 2.0, "dBm"),
    desensitisation=stated(2.0, 1.5),
)
METAL = MetalLoss(stated(2.0, 1.0), stated(9.0, 5.0))
FIXED = FadeLaw("rayleigh", 0.99)
DOUBTFUL = FadeLaw("rice and log-normal", 0.99, "places", stated(6.0, 3.0), stated(5.0, 2.0))
ROOMS: dict[str, Room] = {
    "free space": open_air(BAND_HZ),
    "indoors": indoor(BAND_HZ, "office", "line of sight"),
    "over a desk": over_ground(BAND_HZ, OverGround(0.3, 1.0, Dielectric(4.0, 0.02), "horizontal")),
    "exponent in doubt": by_exponent(BAND_HZ, stated(2.5, 0.5, ""), 1.0),
}


def plain(known: dict[str, Quantity]) -> Callable[[], object]:
    rng, block = np.random.default_rng(7), np.empty(BLOCK)
    fills = [
        rng.random if each.shape == "rectangular" else rng.standard_normal
        for each in known.values()
    ]

    def draw() -> None:
        for start in range(0, DRAWS, BLOCK):
            part = block[: min(BLOCK, DRAWS - start)]
            for fill in fills:
                fill(out=part)

    return draw


def seconds(run: Callable[[], object]) -> float:
    start = time.process_time()
    run()
    return time.process_time() - start


def ratio(room: Room, fade: FadeLaw) -> str:
    def whole() -> object:
        return forecasts(INPUTS, room, fade, DISTANCE_M, METAL, draws=DRAWS)

    known = dict(forecasts(INPUTS, room, fade, DISTANCE_M, METAL, draws=1_000)[1].known)
    baseline = plain(known)
    pairs = [(seconds(baseline), seconds(whole)) for _ in range(PAIRS)]
    ratios = sorted(took / alone for alone, took in pairs)
    alone_ms = statistics.median(alone for alone, _ in pairs) * 1e3
    return (
        f"{len(known)} inputs; numpy draws in {alone_ms:.0f} ms;"
        f" the link in {statistics.median(ratios):.2f} times that"
        f" ({ratios[0]:.2f} to {ratios[-1]:.2f} over {PAIRS} pairs)"
    )


def main() -> None:
    for name, room in ROOMS.items():
        for fade in (FIXED, DOUBTFUL):
            print(f"{name}, {fade.model}: {ratio(room, fade)}")
    room = ROOMS["indoors"]
    took = [
        seconds(lambda: difference(INPUTS, room, DOUBTFUL, DISTANCE_M, METAL, 0.2))
        for _ in range(PAIRS)
    ]
    found = difference(INPUTS, room, DOUBTFUL, DISTANCE_M, METAL, 0.2).as_built[2]
    print(f"one comparison, {found.draws} draws: {statistics.median(took) * 1e3:.0f} ms")
    print(f"what drives it: {seconds(lambda: found.drivers) * 1e3:.0f} ms more")
    tracemalloc.start()
    forecasts(INPUTS, room, DOUBTFUL, DISTANCE_M, METAL, draws=DRAWS)
    print(f"most memory at once, {DRAWS} draws: {tracemalloc.get_traced_memory()[1] / 1e6:.0f} MB")


if __name__ == "__main__":
    main()
