"""Whether a file that a scenario names is there."""

from __future__ import annotations

import os
from collections.abc import Iterator

from linkbudget.scenario.fields import shown
from linkbudget.scenario.lines import KeyPath
from linkbudget.scenario.mistakes import Mistake
from linkbudget.scenario.models import Scenario


def file_mistakes(scenario: Scenario, name: str, at: KeyPath) -> Iterator[Mistake]:
    """Yield a mistake where the file is not there, or is a folder."""
    path = os.path.normpath(scenario.path_to(name))
    if os.path.isdir(path):
        yield Mistake(at, f"a folder, {path}", "a file")
    elif not os.path.isfile(path):
        mend = "Paths are relative to the folder of the scenario."
        yield Mistake(at, shown(name), f"a file that exists; there is none at {path}", mend)
