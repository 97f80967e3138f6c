"""One pre-scan of 1,000,000 points, from file to standing, against reading the file alone.

Run on demand: ``python tests/benchmarks/bench_whole.py``. The two are timed in turn, so that a
machine whose speed drifts does not favour either; the ratio is taken pair by pair.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd

from linkbudget.study import study_bare_scan

POINTS = 1_000_000
PAIRS = 21
FACTS = {
    "limit": "CISPR 32 class B",
    "port": "enclosure",
    "transducer": "antenna",
    "detector": "peak",
    "distance": "3 m",
    "bandwidth": "120 kHz",
    "preamplifier gain": "28 dB",
}


def seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def write_scan(folder: Path) -> tuple[Path, Path]:
    rng = np.random.default_rng(11)
    frequency_hz = np.linspace(30e6, 1e9, POINTS).round(1)
    level_dbuv = rng.normal(28.0, 2.0, POINTS)
    for clock_hz in np.arange(48e6, 1e9, 48e6):
        level_dbuv[np.abs(frequency_hz - clock_hz) < 60e3] += 18.0
    scan = folder / "scan.csv"
    table = pd.DataFrame({"Frequency (Hz)": frequency_hz, "Level (dBuV)": level_dbuv.round(2)})
    table.to_csv(scan, index=False)
    factor = folder / "factor.csv"
    factor.write_text("frequency (MHz),antenna factor (dB/m)\n30,18\n100,9\n300,14\n1000,24\n")
    return scan, factor


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        scan, factor = write_scan(Path(name))
        facts = {**FACTS, "antenna factor": str(factor)}
        works = (lambda: pd.read_csv(scan), lambda: study_bare_scan(scan, facts))
        for work in works:
            work()
        pairs = [(seconds(works[0]), seconds(works[1])) for _ in range(PAIRS)]
    read_s = statistics.median(read for read, _ in pairs)
    ratios = sorted(whole / read for read, whole in pairs)
    print(
        f"{POINTS} points: pandas.read_csv {read_s * 1e3:.1f} ms; read, corrected, compared and"
        f" peaks found in {statistics.median(ratios):.2f} times that"
        f" ({ratios[0]:.2f} to {ratios[-1]:.2f} over {PAIRS} pairs)"
    )


if __name__ == "__main__":
    main()
