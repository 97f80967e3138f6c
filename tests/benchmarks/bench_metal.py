"""The demo's metal comparison, cold and from the cache, and the command against its libraries.

Run on demand: ``python tests/benchmarks/bench_metal.py``. "Metal" is all that is told of the metal
of every radio: fields, paths, what would help. Cached is the first run of a process whose libraries
are loaded; the command is a process of its own, against one that only imports the libraries.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from linkbudget.scenario import load_scenario
from linkbudget.study import study

DEMO = Path(__file__).parents[2] / "scenarios" / "label-printer.toml"
PROGRAM = [str(Path(sys.executable).with_name("linkbudget")), "enclosure", str(DEMO)]
LIBRARIES = [sys.executable, "-c", "import typer, numpy, pydantic, tree_sitter_toml"]
FIRST_IN_PROCESS = (
    "import sys, time\n"
    "from linkbudget.scenario import load_scenario\n"
    "from linkbudget.study import study\n"
    "scenario = load_scenario(sys.argv[1])\n"
    "start = time.perf_counter()\n"
    "study(scenario, emissions=False)\n"
    "print(time.perf_counter() - start)\n"
)
RUNS = 11


def seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def first_in_process() -> float:
    command = [sys.executable, "-c", FIRST_IN_PROCESS, str(DEMO)]
    return float(subprocess.run(command, check=True, capture_output=True, text=True).stdout)


def process(words: list[str]) -> float:
    return seconds(lambda: subprocess.run(words, check=True, stdout=subprocess.DEVNULL))


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        os.environ["LINKBUDGET_CACHE"] = folder
        scenario = load_scenario(DEMO)
        cold = seconds(lambda: study(scenario, emissions=False))
        cached = statistics.median(first_in_process() for _ in range(RUNS))
        again = statistics.median(
            seconds(lambda: study(scenario, emissions=False)) for _ in range(RUNS)
        )
        ratios = sorted(process(PROGRAM) / process(LIBRARIES) for _ in range(RUNS))
        whole = statistics.median(process(PROGRAM) for _ in range(RUNS))
    print(
        f"metal of the demo: cold {cold:.2f} s, cached {cached:.3f} s, again in one process"
        f" {again:.3f} s; whole command {whole:.2f} s,"
        f" {statistics.median(ratios):.2f} times its libraries alone"
        f" ({ratios[0]:.2f} to {ratios[-1]:.2f} over {RUNS} pairs)"
    )


if __name__ == "__main__":
    main()
