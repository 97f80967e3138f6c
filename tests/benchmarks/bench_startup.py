"""Start of the command line against ``import typer`` alone; whole processes, in turn.

Run on demand: ``python tests/benchmarks/bench_startup.py``.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time
from pathlib import Path

PAIRS = 21
BASELINE = [sys.executable, "-c", "import typer"]
PROGRAM = str(Path(sys.executable).with_name("linkbudget"))


def seconds(words: list[str]) -> float:
    start = time.perf_counter()
    subprocess.run(words, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def main() -> None:
    for option in ("--version", "--help"):
        seconds([PROGRAM, option])
        ratios = sorted(seconds([PROGRAM, option]) / seconds(BASELINE) for _ in range(PAIRS))
        print(
            f"linkbudget {option}: {statistics.median(ratios):.2f} times import typer"
            f" ({ratios[0]:.2f} to {ratios[-1]:.2f} over {PAIRS} pairs)"
        )


if __name__ == "__main__":
    main()
