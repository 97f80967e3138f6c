"""Answers of the field solver on disk, known by all that went into them."""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from pathlib import Path
from typing import Any

import numpy as np

from linkbudget.enclosure.fullwave.directions import PHI_STEPS, THETA_STEPS

_VERSION = 1  # of what the child does with a request; raise it when that changes


def folder() -> Path:
    """Return where the answers lie: ``LINKBUDGET_CACHE``, or the user's cache folder."""
    chosen = os.environ.get("LINKBUDGET_CACHE")
    if chosen:
        return Path(chosen) / "fullwave"
    from platformdirs import user_cache_path

    return user_cache_path("linkbudget", appauthor=False) / "fullwave"


def read(request: dict[str, Any]) -> dict[str, Any] | None:
    """Return the answer to a request; None where none stands there, or it is damaged."""
    try:
        return checked(_path(request).read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError):
        return None


def write(request: dict[str, Any], answer: dict[str, Any]) -> None:
    """Keep an answer, whole or not at all.

    Two processes may do so at once: each writes its own file, and the last to rename it wins. A
    folder that cannot be written costs time at the next run, and nothing else.
    """
    path = _path(request)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")
    except OSError:
        return
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            json.dump(answer, file)
        os.replace(name, path)
    except OSError:
        Path(name).unlink(missing_ok=True)


def checked(text: str) -> dict[str, Any] | None:
    """Return an answer read from text; None where it is not one."""
    try:
        answer = json.loads(text)
        impedance = np.array(answer["impedance_ohm"], dtype=float)
        gain = np.array(answer["gain_db"], dtype=float)
    except (ValueError, KeyError, TypeError, OverflowError):
        return None
    whole = impedance.shape[1:] == (2,) and gain.shape == (THETA_STEPS, PHI_STEPS)
    return answer if whole and np.isfinite(impedance).all() and np.isfinite(gain).all() else None


def _path(request: dict[str, Any]) -> Path:
    text = json.dumps([_VERSION, request], sort_keys=True)
    return folder() / f"{hashlib.sha256(text.encode()).hexdigest()}.json"
