"""1,000,000 draws of a link with 12 inputs, against numpy drawing the same random numbers.

Run on demand: ``python tests/benchmarks/bench_uncertainty.py``. Prints medians of paired runs; the
clock counts processor time of this process, so that a busy machine does not blur the ratio.
"""

from __future__ import annotations

import statistics
import time
import tracemalloc
from collections.abc import Callable

import numpy as np

from linkbudget.core.distributions import (
    Arcsine,
    Distribution,
    Exact,
    Normal,
    OneSided,
    SplitNormal,
    Triangular,
    Uniform,
)
from linkbudget.core.empirical import Empirical
from linkbudget.core.uncertainty import Draws, quantiles_with_error, share_with_error, simulate

DRAWS = 1_000_000
PAIRS = 15
BLOCK = 8_192  # the baseline fills one block again and again, the quickest that numpy can do
NORMAL = (Normal, SplitNormal, OneSided)

LINK: dict[str, Distribution] = {
    "conducted power": Normal(4.0, 0.5),
    "cable": Uniform(0.3, 0.7),
    "mismatch": Triangular(0.1, 0.5, 1.5),
    "antenna gain": Empirical.of_sample(np.random.default_rng(3).normal(-2.0, 5.0, 5_000)),
    "detuning": SplitNormal(3.0, 0.5, 1.5),
    "metal": SplitNormal(12.0, 3.0, 4.0),
    "body": Uniform(0.0, 6.0),
    "polarisation": Triangular(0.0, 3.0, 10.0),
    "far gain": Normal(0.0, 1.5),
    "far mismatch": Arcsine(-0.8, 0.8),
    "shadowing": Normal(0.0, 4.0),
    "noise rise": OneSided(0.0, 2.0),
}
LEVEL_AT_1_M_DBM = -40.2
SENSITIVITY_DBM = -90.0
LOSSES = ("cable", "mismatch", "detuning", "metal", "body", "polarisation", "far mismatch")
GAINS = ("antenna gain", "far gain", "shadowing", "noise rise")


def link(drawn: Draws) -> dict[str, np.ndarray]:
    margin = drawn["conducted power"] + (LEVEL_AT_1_M_DBM - SENSITIVITY_DBM)
    for name in GAINS:
        margin += drawn[name]
    for name in LOSSES:
        margin -= drawn[name]
    return {"margin": margin}


def link_and_range(drawn: Draws) -> dict[str, np.ndarray]:
    margin = link(drawn)["margin"]
    return {"margin": margin, "range": np.exp(margin * (np.log(10.0) / 20.0))}


def plain(inputs: dict[str, Distribution]) -> Callable[[], object]:
    rng = np.random.default_rng(7)
    block = np.empty(BLOCK)
    fills = [
        rng.standard_normal if isinstance(shape, NORMAL) else rng.random
        for shape in inputs.values()
        if not isinstance(shape, Exact)
    ]

    def draw() -> None:
        for start in range(0, DRAWS, BLOCK):
            part = block[: min(BLOCK, DRAWS - start)]
            for fill in fills:
                fill(out=part)

    return draw


def whole(inputs: dict[str, Distribution], model: Callable[..., object]) -> Callable[[], object]:
    def run() -> None:
        done = simulate(inputs, model, DRAWS, seed=7)
        for values in done.outputs.values():
            quantiles_with_error(values, [0.025, 0.5, 0.975])
        share_with_error(done.outputs["margin"] >= 0.0)

    return run


def paired(baseline: Callable[[], object], work: Callable[[], object]) -> list[tuple[float, float]]:
    pairs = []
    for _ in range(PAIRS):
        times = []
        for run in (baseline, work):
            start = time.process_time()
            run()
            times.append(time.process_time() - start)
        pairs.append((times[0], times[1]))
    return pairs


def main() -> None:
    flat: dict[str, Distribution] = {name: Uniform(0.0, 1.0) for name in LINK}
    bell: dict[str, Distribution] = {name: Normal(0.0, 1.0) for name in LINK}
    cases = {
        "mixed shapes, margin": (LINK, link),
        "mixed shapes, margin and range": (LINK, link_and_range),
        "all Gaussian, margin": (bell, link),
        "all rectangular, margin": (flat, link),
    }
    for label, (inputs, model) in cases.items():
        baseline, work = plain(inputs), whole(inputs, model)
        pairs = paired(baseline, work)
        ratios = sorted(took / alone for alone, took in pairs)
        print(
            f"{label}: numpy draws in {statistics.median(p[0] for p in pairs) * 1e3:.0f} ms;"
            f" drawn, modelled, quantiles and share in {statistics.median(ratios):.2f} times that"
            f" ({ratios[0]:.2f} to {ratios[-1]:.2f} over {PAIRS} pairs)"
        )
    tracemalloc.start()
    whole(LINK, link_and_range)()
    print(f"most memory at once: {tracemalloc.get_traced_memory()[1] / 1e6:.0f} MB")


if __name__ == "__main__":
    main()
