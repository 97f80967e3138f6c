"""Find the rows of numbers in a text file from its head: encoding, delimiter, decimal mark.

The head is the first megabyte, and the rows must begin within its first 2000 lines. Nothing here
reads further, so that a hostile file costs no more than its head.
"""

from __future__ import annotations

import codecs
import csv
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path

from linkbudget.core.errors import InputError

LARGEST_FILE_BYTES = 2 * 10**9
HEAD_BYTES = 1 << 20
LONGEST_LINE = 1 << 16  # characters
LONGEST_PREAMBLE = 2000  # lines
BLANKS = " "  # stands for any run of blanks and tabs between columns

_SAMPLE_ROWS = 8
_LOOKS = (40, 400, LONGEST_PREAMBLE)  # lines; the first is enough for almost every file
_GRIDS = (
    *((";", "."), (";", ","), ("\t", "."), ("\t", ","), (",", "."), (BLANKS, "."), (BLANKS, ",")),
    (",", ","),  # decimal commas inside quotation marks
)
_NUMBER = {
    mark: re.compile(rf"[+-]?(?:[0-9]+(?:[{mark}][0-9]*)?|[{mark}][0-9]+)(?:[eE][+-]?[0-9]+)?")
    for mark in (".", ",")
}
_MISSING = re.compile(r"[-–—]*|[+-]?nan|n/?a|#n/a|null|none|-?1\.#(?:qnan|ind)", re.IGNORECASE)
_COMMENT = re.compile(r"\s*(?:#(?!n/a)|!|%|//)+\s*", re.IGNORECASE)
_LINE = re.compile(rb"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+")
_CONTROL_BYTES = bytes(set(range(1, 32)) - set(b"\t\n\v\f\r\x1a\x1b")) + b"\x7f"


@dataclass(frozen=True, slots=True)
class Grid:
    """The first rows of numbers, as one pair of delimiter and decimal mark cuts them.

    Parameters
    ----------
    delimiter, decimal : str
        Between columns (``BLANKS`` for runs of blanks), and inside numbers.
    first : int
        Index of the first row in the lines of the head.
    rows : tuple of tuple of str
        Cells of up to eight rows, all of the same width.
    mark_seen : bool
        False where all numbers are whole, and the decimal mark is a guess.
    """

    delimiter: str
    decimal: str
    first: int
    rows: tuple[tuple[str, ...], ...]
    mark_seen: bool = True

    @property
    def width(self) -> int:
        """Cells in a row, with the empty ones after a trailing delimiter."""
        return len(self.rows[0])

    @property
    def filled_width(self) -> int:
        """Cells in a row up to the last that is filled in any row."""
        return max(filled_width(row) for row in self.rows)

    @property
    def share(self) -> float:
        """Part of the filled cells that are numbers."""
        filled = [cell for row in self.rows for cell in row if cell]
        return sum(to_number(cell, self.decimal) is not None for cell in filled) / len(filled)


def split(line: str, delimiter: str) -> list[str]:
    """Cut a line into cells, without the blanks and quotation marks around them.

    Examples
    --------
    >>> split('"30,5" ; 40,1;', ";"), split("  30.5   40.1", BLANKS)
    (['30,5', '40,1', ''], ['30.5', '40.1'])
    """
    if delimiter == BLANKS:
        return [cell.strip('"') for cell in line.split()]
    if '"' in line:
        try:
            return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter))]
        except (csv.Error, StopIteration):
            return [line]
    return [cell.strip() for cell in line.split(delimiter)]


def to_number(cell: str, decimal: str) -> float | None:
    """Read one plain number, or None; no thousands marks, no words such as inf.

    Examples
    --------
    >>> to_number("30,5", ","), to_number("1.00.0", "."), to_number("1,234.5", ".")
    (30.5, None, None)
    """
    if "−" in cell:
        cell = cell.replace("−", "-")
    if _NUMBER[decimal].fullmatch(cell) is None:
        return None
    return float(cell if decimal == "." else cell.replace(",", "."))


def is_missing(cell: str) -> bool:
    """Say whether a cell states that there is no value: empty, NaN, ---.

    Examples
    --------
    >>> is_missing("---"), is_missing(""), is_missing("overload")
    (True, True, False)
    """
    return _MISSING.fullmatch(cell) is not None


def is_blank(line: str) -> bool:
    """Say whether a line holds nothing but blanks, or the end mark of old text files."""
    return not line.strip(" \t\r\n\v\f\x1a\ufeff")


def is_comment(line: str) -> bool:
    """Say whether a line begins with a comment mark."""
    return _COMMENT.match(line) is not None


def uncomment(line: str) -> str:
    """Return the text behind a comment mark, or the line as it is."""
    return _COMMENT.sub("", line, count=1) if is_comment(line) else line


def filled_width(cells: Sequence[str]) -> int:
    """Count the cells up to the last that is filled."""
    return max((number for number, cell in enumerate(cells, 1) if cell), default=0)


def read_head(path: Path) -> bytes:
    """Return the first megabyte of a scan file, cut at an end of line.

    Raises
    ------
    InputError
        Not a regular file, too large, or one line without end.
    """
    if path.is_dir():
        raise InputError("a folder", "a scan file", "Name the file inside it.")
    if not path.exists():
        raise InputError("no such file", "a scan file", "Check the name and the folder.")
    if not path.is_file():
        raise InputError("a device or a pipe", "a regular file", "Save the scan to a file first.")
    size = path.stat().st_size
    if size > LARGEST_FILE_BYTES:
        raise InputError(
            f"a file of {size / 1e9:.1f} GB",
            f"at most {LARGEST_FILE_BYTES / 1e9:g} GB",
            "Split the scan by frequency.",
        )
    with path.open("rb") as file:
        head = file.read(HEAD_BYTES)
    if size <= HEAD_BYTES:
        return head
    end = max(head.rfind(b"\n"), head.rfind(b"\r"))
    if end < 0:
        raise InputError("no end of line in the first megabyte", "one row of the scan on each line")
    # A line end of UTF-16 may be cut in half here; its decoder ignores the odd byte.
    return head[: end + 1]


def decode_head(head: bytes) -> tuple[str, list[bytes]]:
    """Find the encoding, and return it with the first lines as bytes of UTF-8 or Latin-1.

    Raises
    ------
    InputError
        Empty, binary, or a line longer than any row of a scan.
    """
    encoding = "utf-8-sig" if head.startswith(codecs.BOM_UTF8) else "utf-8"
    if head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        encoding = "utf-16"
        head = head.decode(encoding, "ignore").encode("utf-8", "replace")
    else:
        try:
            head.decode("utf-8")
        except UnicodeDecodeError:
            encoding = "latin-1"
    probe = head[:LONGEST_LINE]
    controls = len(probe) - len(probe.translate(None, _CONTROL_BYTES))
    if b"\0" in head or controls > 0.01 * len(probe):
        raise InputError(
            "bytes that are not text",
            "a text file of rows and columns",
            "Export the scan as CSV; UTF-16 needs its byte order mark.",
        )
    lines = [match[0] for match in islice(_LINE.finditer(head), LONGEST_PREAMBLE)]
    for number, line in enumerate(lines, 1):
        if len(line) > LONGEST_LINE:
            raise line_too_long(number)
    return encoding, lines


def line_too_long(number: int) -> InputError:
    """Return the error for a line that cannot be a row of a scan."""
    return InputError(
        f"a line of more than {LONGEST_LINE} characters",
        "one row of the scan on each line",
        line=number,
    )


def find_grid(lines: Sequence[str]) -> Grid:
    """Try each pair of delimiter and decimal mark; take the longest run, then the fullest.

    Raises
    ------
    InputError
        No row with two numbers.
    """
    for window in _LOOKS:
        runs = (_longest_run(lines[:window], *pair) for pair in _GRIDS)
        found = [run for run in runs if run is not None]
        best = max(found, key=lambda grid: (len(grid.rows), grid.share), default=None)
        if best is not None and (len(best.rows) == _SAMPLE_ROWS or len(lines) <= window):
            return _with_settled_mark(best, lines)
    filled = [(number, line) for number, line in enumerate(lines, 1) if not is_blank(line)]
    if not filled:
        raise InputError("an empty file" if not lines else "blank lines", "rows of numbers")
    number, line = next(
        ((number, line) for number, line in filled if re.match(r"\s*[+-]?[0-9]", line)), filled[-1]
    )
    raise InputError(
        f"{line.strip()[:60]!r}, and no row of two numbers in the first {len(lines)} lines",
        "rows of a frequency and a level",
        "Part the columns by comma, semicolon, tab or blanks, and write no thousands marks.",
        line=number,
    )


def _longest_run(lines: Sequence[str], delimiter: str, decimal: str) -> Grid | None:
    runs = _runs_of_rows(lines, delimiter, decimal)
    return max(runs, key=lambda grid: len(grid.rows), default=None)


def _runs_of_rows(lines: Sequence[str], delimiter: str, decimal: str) -> Iterator[Grid]:
    """Yield consecutive rows of two numbers or more, equally wide; a gap does not end a run."""
    first, rows = 0, list[tuple[str, ...]]()
    for index, line in enumerate(lines):
        if is_blank(line) or is_comment(line):
            continue
        cells = tuple(split(line, delimiter))
        numbers = sum(to_number(cell, decimal) is not None for cell in cells)
        as_wide = not rows or len(cells) == len(rows[0])
        if numbers >= 2 and as_wide:
            first = first if rows else index
            rows.append(cells)
            if len(rows) == _SAMPLE_ROWS:
                break
        elif rows and not (numbers == 1 and as_wide and any(map(is_missing, cells))):
            yield Grid(delimiter, decimal, first, tuple(rows))
            first, rows = index, [cells] if numbers >= 2 else []
    if rows:
        yield Grid(delimiter, decimal, first, tuple(rows))


def _with_settled_mark(grid: Grid, lines: Sequence[str]) -> Grid:
    """Look further for a decimal comma where the first rows hold whole numbers only."""
    marks = "." if grid.delimiter == "," and grid.decimal == "." else ".,"
    for line in (*map(grid.delimiter.join, grid.rows), *lines[grid.first :]):
        for cell in split(line, grid.delimiter):
            for mark in marks:
                if mark in cell and to_number(cell, mark) is not None:
                    return replace(grid, decimal=mark)
    return replace(grid, mark_seen=False)
