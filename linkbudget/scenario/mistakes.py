"""What a check between fields finds."""

from __future__ import annotations

from dataclasses import dataclass

from linkbudget.scenario.lines import KeyPath


@dataclass(frozen=True, slots=True)
class Mistake:
    """A contradiction, at the key where a user would mend it.

    Parameters
    ----------
    path : tuple of str or int
        Keys and list positions from the root of the scenario.
    found, expected, mend : str
        As in ``core.errors.InputError``.
    """

    path: KeyPath
    found: str
    expected: str
    mend: str = ""
