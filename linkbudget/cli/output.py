"""Files written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from linkbudget.core.errors import InputError

if TYPE_CHECKING:
    from linkbudget.results import VaryResult


def write_whole(path: Path, text: str) -> None:
    """Write a text file so that a reader never sees half of it.

    Parameters
    ----------
    path : Path
        Where the file shall stand; its folder is made.
    text : str
        Written as UTF-8.

    Raises
    ------
    InputError
        Where the folder cannot be made or written to; nothing is left behind.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    except OSError as error:
        raise _unwritable(path, error) from error
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)
        os.chmod(name, 0o644)
        os.replace(name, path)
    except OSError as error:
        Path(name).unlink(missing_ok=True)
        raise _unwritable(path, error) from error


def vary_writer(path: Path) -> Callable[[VaryResult], str]:
    """Return what turns a varied scenario into the text of a file, by the file's suffix.

    Raises
    ------
    InputError
        Where the suffix is none of .csv, .json and .html.
    """
    from linkbudget.report.record import vary_json
    from linkbudget.report.varied_page import render_varied
    from linkbudget.report.varied_text import vary_csv

    writers = {".csv": vary_csv, ".json": vary_json, ".html": render_varied}
    suffix = path.suffix.lower()
    if suffix not in writers:
        raise InputError(
            f"{path} with the ending {suffix!r}" if suffix else f"{path} without an ending",
            "a file that ends in .csv, .json or .html",
            "The ending decides what is written.",
            field="--output",
        )
    return writers[suffix]


def _unwritable(path: Path, error: OSError) -> InputError:
    return InputError(
        f"{path}: {error.strerror or error}",
        "a place that can be written to",
        "Choose another place, or mend its permissions.",
    )
