"""How long `read_scan` takes against `pandas.read_csv(path)` alone.

Run on demand: ``python tests/benchmarks/bench_reader.py [rows]``. Prints ratios of medians.
"""

import statistics
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pandas as pd

from linkbudget.emissions.reader import read_scan

RUNS = 15


def _write(path, rows, header, line):
    rng = np.random.default_rng(2)
    frequency = np.linspace(30e6, 1e9, rows) / (1e6 if "MHz" in header else 1.0)
    level = rng.normal(30.0, 3.0, rows)
    pairs = zip(frequency.tolist(), level.tolist(), strict=True)
    body = "\n".join(line.format(f, v) for f, v in pairs)
    path.write_text(f"{header}\n{body}\n")


def _medians(first, second):
    """Medians of two actions, taken in turn so that the machine's moods hit both."""
    times = ([], [])
    for _ in range(RUNS):
        for action, record in zip((first, second), times, strict=True):
            start = time.perf_counter()
            action()
            record.append(time.perf_counter() - start)
    return [statistics.median(record) for record in times]


FILES = {
    "0.1 Hz, 0.01 dB": ("Frequency [Hz],Level [dBuV]", "{:.1f},{:.2f}"),
    "all digits": ("Frequency [Hz],Level [dBuV]", "{!r},{!r}"),
    "MHz": ("Frequency [MHz],Level [dBuV]", "{:.6f},{:.2f}"),
    "four columns": ("Frequency [Hz],Level [dBuV],Height [cm],Polarisation", "{:.1f},{:.2f},100,V"),
    "trailing delimiter": ("Frequency [Hz],Level [dBuV],", "{:.1f},{:.2f},"),
}


def main():
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    with tempfile.TemporaryDirectory() as folder:
        for name, (header, line) in FILES.items():
            path = Path(folder) / "scan.csv"
            _write(path, rows, header, line)
            alone, ours = _medians(lambda p=path: pd.read_csv(p), lambda p=path: read_scan(p))
            print(
                f"{name:20} {rows} rows: read_csv {alone * 1e3:6.1f} ms, "
                f"read_scan {ours * 1e3:6.1f} ms, ratio {ours / alone:.2f}"
            )


if __name__ == "__main__":
    main()
