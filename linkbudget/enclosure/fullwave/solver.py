"""Meshes to impedances and patterns, in child processes with a limit on time and memory."""

from __future__ import annotations

import importlib.util
import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from linkbudget.core.errors import LinkbudgetError, MissingData
from linkbudget.enclosure.fullwave import cache
from linkbudget.enclosure.fullwave.mesh import Mesh, bytes_to_solve, seconds_to_solve

_CHILD = "linkbudget.enclosure.fullwave.child"
_LEAST_SECONDS, _PATIENCE = 60.0, 20.0  # a busy machine is no hang
_MEMORY_SHARE = 3.0  # matrix, its copy, and room

_CLOSED_FORMS = "The closed forms answer without the field solver, in their range."


class SolverFailed(LinkbudgetError):
    """The field solver crashed, hung or answered nonsense.

    Parameters
    ----------
    what : str
        What happened.
    mend : str
        What the user may do.
    """

    def __init__(self, what: str, mend: str) -> None:
        self.what = what
        self.mend = mend
        super().__init__(what, mend)

    def __str__(self) -> str:
        return f"the field solver {self.what}. {self.mend}"


@dataclass(frozen=True, slots=True)
class Job:
    """One mesh, to be solved at some frequencies.

    Parameters
    ----------
    mesh : Mesh
    frequencies_hz : tuple of float
        For the impedance [Hz].
    pattern_hz : float
        One of them, for the pattern [Hz].
    """

    mesh: Mesh
    frequencies_hz: tuple[float, ...]
    pattern_hz: float

    @property
    def seconds(self) -> float:
        """Roughly how long it takes."""
        return len(self.frequencies_hz) * seconds_to_solve(self.mesh.segments)

    def request(self) -> dict[str, Any]:
        """Return it as the child reads it; also what the cache knows it by."""
        wires = [
            [*wire.start, *wire.stop, round(wire.radius_m, 9), wire.segments]
            for wire in self.mesh.wires
        ]
        return {
            "wires": wires,
            "feed_segment": self.mesh.feed_segment,
            "frequencies_hz": list(self.frequencies_hz),
            "pattern_hz": self.pattern_hz,
        }


def available() -> bool:
    """Tell whether the field solver, the optional extra ``fullwave``, is installed."""
    return importlib.util.find_spec("PyNEC") is not None


def solve_jobs(
    jobs: Sequence[Job], progress: Callable[[str], None] | None = None
) -> list[dict[str, Any]]:
    """Solve all jobs, from the cache where they stand there, side by side where cores allow.

    Parameters
    ----------
    jobs : sequence of Job
    progress : callable, optional
        Is told in words what starts.

    Returns
    -------
    list of dict
        In the order of the jobs: "impedance_ohm" and "gain_db" as the child writes them.

    Raises
    ------
    MissingData
        Where the solver is not installed, and the cache does not know the answer.
    SolverFailed
        Where it crashed, hung or answered nonsense.
    """
    requests = [job.request() for job in jobs]
    answers = {number: cache.read(request) for number, request in enumerate(requests)}
    open_numbers = [number for number, answer in answers.items() if answer is None]
    if open_numbers:
        if not available():
            raise MissingData(
                "no field solver on this machine",
                "the optional extra 'fullwave' (PyNEC)",
                'Install it with: pip install "linkbudget[fullwave]". ' + _CLOSED_FORMS,
            )
        shares = _shares(jobs, open_numbers, os.cpu_count() or 1)
        with ThreadPoolExecutor(len(shares)) as pool:
            done = list(pool.map(lambda share: _run([jobs[n] for n in share], progress), shares))
        for share, found in zip(shares, done, strict=True):
            for number, answer in zip(share, found, strict=True):
                cache.write(requests[number], answer)
                answers[number] = answer
    return [answer for answer in answers.values() if answer is not None]


def _shares(jobs: Sequence[Job], numbers: Sequence[int], cores: int) -> list[list[int]]:
    """Deal the jobs to at most as many children as there are cores, longest first."""
    shares: list[list[int]] = [[] for _ in range(min(cores, len(numbers), 4))]
    for number in sorted(numbers, key=lambda n: -jobs[n].seconds):
        min(shares, key=lambda share: sum(jobs[n].seconds for n in share)).append(number)
    return [share for share in shares if share]


def _run(jobs: Sequence[Job], progress: Callable[[str], None] | None) -> list[dict[str, Any]]:
    """Solve some jobs in one child."""
    largest = max(job.mesh.segments for job in jobs)
    seconds = sum(job.seconds for job in jobs)
    if progress is not None:
        progress(f"field solver: {largest} segments, about {seconds:.0f} s")
    text = json.dumps(
        {
            "memory_bytes": int(_MEMORY_SHARE * bytes_to_solve(largest)),
            "jobs": [job.request() for job in jobs],
        }
    )
    limit = max(_LEAST_SECONDS, _PATIENCE * seconds)
    try:
        # own interpreter, own module, no shell; -P: nothing from the folder we happen to stand in
        done = subprocess.run(  # noqa: S603
            [sys.executable, "-P", "-m", _CHILD],
            input=text,
            capture_output=True,
            text=True,
            timeout=limit,
            check=False,
            env=_environment(),
        )
    except subprocess.TimeoutExpired:
        raise SolverFailed(
            f"gave no answer within {limit:.0f} s",
            f"Try again on an idle machine, or with less metal. {_CLOSED_FORMS}",
        ) from None
    return _answers(done, len(jobs))


def _environment() -> dict[str, str]:
    here = str(Path(__file__).parents[3])
    paths = [here, *filter(None, [os.getenv("PYTHONPATH")])]
    # threads of a linear algebra library that the solver does not use would only take memory
    return {**os.environ, "PYTHONPATH": os.pathsep.join(paths), "OPENBLAS_NUM_THREADS": "1"}


def _answers(done: subprocess.CompletedProcess[str], count: int) -> list[dict[str, Any]]:
    answers = []
    for line in done.stdout.splitlines():
        answer = cache.checked(line)
        if answer is None:
            raise _failed(line)
        answers.append(answer)
    if done.returncode != 0 or len(answers) != count:
        last = (done.stderr.strip().splitlines() or ["no message"])[-1]
        raise SolverFailed(
            f"stopped ({_ended(done.returncode)}: {last[:200]})",
            f"Simplify the geometry, or give it more memory. {_CLOSED_FORMS}",
        )
    return answers


def _ended(status: int) -> str:
    """Name how a process ended; below zero it is the signal that ended it."""
    try:
        return signal.Signals(-status).name
    except ValueError:
        return f"exit status {status}"


def _failed(line: str) -> SolverFailed:
    try:
        said = str(json.loads(line)["error"])
    except (ValueError, KeyError, TypeError):
        said = "an answer that is no result"
    if "memory" in said:
        return SolverFailed("ran out of memory", f"Give it less metal. {_CLOSED_FORMS}")
    if said.startswith(("ImportError", "ModuleNotFoundError")):
        return SolverFailed(
            f"is installed but does not start ({said[:200]})",
            "Install the extra anew: pip install --force-reinstall --no-cache-dir"
            f' "linkbudget[fullwave]". {_CLOSED_FORMS}',
        )
    return SolverFailed(
        f"refused the geometry ({said[:200]})",
        "Move the antenna or the board by a millimetre, and look for parts that almost touch. "
        + _CLOSED_FORMS,
    )
