"""The scenario to start from."""

from __future__ import annotations

from importlib import resources


def starter() -> str:
    """Return a commented scenario that can be read as it stands and needs no scan files."""
    place = resources.files("linkbudget").joinpath("data", "starter.toml")
    return place.read_text(encoding="utf-8")
