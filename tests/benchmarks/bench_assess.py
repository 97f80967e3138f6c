"""Correction, margin, coverage and peaks of 1,000,000 points, against reading the file alone.

Run on demand: ``python tests/benchmarks/bench_assess.py``. Prints ratios of medians.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd

from linkbudget.core.tables import LogFrequencyTable
from linkbudget.emissions.conformity import required_lines, standings
from linkbudget.emissions.corrections import Correction, correct
from linkbudget.emissions.limits import line
from linkbudget.emissions.margins import assess
from linkbudget.emissions.reader import read_scan
from linkbudget.emissions.scan import ScanRecord, Trace

POINTS = 1_000_000
REPEATS = 15


def seconds(work: Callable[[], object]) -> float:
    work()
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def frequencies_and_levels(low_hz: float, high_hz: float) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(7)
    f = np.linspace(low_hz, high_hz, POINTS)
    level = rng.normal(20.0, 2.0, POINTS)
    clock_hz = (high_hz - low_hz) / 40.0
    for n in range(1, 40):
        level[np.abs(f - low_hz - n * clock_hz) < clock_hz / 500.0] = 30.0 - 0.2 * n
    return f, level


def table(low_hz: float, high_hz: float, nodes: int, level: float, name: str) -> LogFrequencyTable:
    return LogFrequencyTable(
        np.geomspace(low_hz, high_hz, nodes), np.linspace(0.3, 1.0, nodes) * level, name
    )


def main() -> None:
    radiated = ScanRecord("enclosure", "antenna", "peak", 120e3, distance_m=3.0)
    mains = ScanRecord("AC mains", "line-impedance network", "peak", 9e3)
    cases = {
        "radiated, 3 m, quasi-peak": (radiated, 30e6, 1e9, "cispr32-b-radiated-3m-quasi-peak"),
        "AC mains, quasi-peak (slope)": (mains, 150e3, 30e6, "cispr32-b-mains-quasi-peak"),
        "AC mains, average (over)": (mains, 150e3, 30e6, "cispr32-b-mains-average"),
    }
    for label, (record, low_hz, high_hz, line_id) in cases.items():
        f, level = frequencies_and_levels(low_hz, high_hz)
        level = level + (20.0 if "over" in label else 0.0)
        cable = Correction("cable loss", table(low_hz, high_hz, 40, 4.0, "cable"))
        factor = Correction("antenna factor", table(low_hz, high_hz, 60, 20.0, "antenna"))
        gain = Correction("preamplifier gain", 25.0)
        chain = [factor, cable, gain] if record.port == "enclosure" else [cable]
        trace = Trace(f, level, "dBuV", "bench.csv")
        limit = line(line_id)

        def work(trace=trace, record=record, chain=chain, limit=limit):
            return assess(correct("bench", trace, record, chain), limit)

        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "bench.csv"
            frame = pd.DataFrame({"Frequency (Hz)": f, "Level (dBuV)": level.round(2)})
            frame.to_csv(path, index=False)
            read = seconds(lambda path=path: pd.read_csv(path))

            def from_file(path=path, record=record, chain=chain, limit=limit):
                return assess(correct("bench", read_scan(path), record, chain), limit)

            whole_way = seconds(from_file)
        corrected = seconds(lambda t=trace, r=record, c=chain: correct("bench", t, r, c))
        whole = seconds(work)
        print(
            f"{label}: pandas reads in {read * 1e3:.1f} ms; correction {corrected / read:.2f},"
            f" correction and assessment {whole / read:.2f}, reading and all"
            f" {whole_way / read:.2f} times that; {len(work().peaks)} peaks"
        )
        scan = correct("bench", trace, record, chain)
        rows = required_lines("CISPR 32", "B", "built-in", 6e9)
        all_lines = seconds(lambda s=scan, r=rows: standings([s], r))
        print(f"    standings on all lines of class B {all_lines / read:.2f} times the read")


if __name__ == "__main__":
    main()
