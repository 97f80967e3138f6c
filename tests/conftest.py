"""Printed values, and the validation table that is made from the checks against them."""

from __future__ import annotations

from collections import defaultdict
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import settings

# the first example pays for the heavy imports; speed lives in the benchmarks
settings.register_profile("house", deadline=None)
settings.load_profile("house")

TABLE = Path(__file__).parent.parent / "docs" / "validation.md"


@pytest.fixture(scope="session", autouse=True)
def _own_cache(tmp_path_factory):
    """Keep the field solver's answers of one run together, and out of the user's cache."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("LINKBUDGET_CACHE", str(tmp_path_factory.mktemp("cache")))
        yield


class Printed:
    """A number as somebody printed it: equal to whatever rounds to it."""

    def __init__(self, text: str, record: list[tuple[str, object]]) -> None:
        self.text = text
        self.value = float(text)
        self.tolerance = 0.5 * 10.0 ** Decimal(text).as_tuple().exponent * (1 + 1e-9)
        self._record = record

    def __eq__(self, other: object) -> bool:
        found = float(other)
        self._record.append(("printed", (self.text, found)))
        return abs(found - self.value) <= self.tolerance

    __hash__ = None

    def __repr__(self) -> str:
        return f"{self.text} as printed (within {self.tolerance:.2g})"


@pytest.fixture
def printed(request):
    """A printed number, true within half of its last printed digit."""
    return lambda text: Printed(text, request.node.user_properties)


def pytest_addoption(parser):
    parser.addoption(
        "--write-validation",
        action="store_true",
        help="write docs/validation.md from the checks against published values",
    )


@pytest.fixture(autouse=True)
def _noted(request):
    """Carry a published mark into the report, where the table is made from it."""
    mark = request.node.get_closest_marker("published")
    if mark is not None:
        request.node.user_properties.append(("published", dict(mark.kwargs)))


_rows: dict[tuple[str, str], list[tuple[str, str, list]]] = defaultdict(list)


def pytest_runtest_logreport(report):
    if report.when != "call" or not report.passed:
        return
    facts = dict(report.user_properties)
    if "published" not in facts:
        return
    mark = facts["published"]
    standing = ", ".join(
        words
        for flag, words in (("from_memory", "from memory"), ("practice", "common practice"))
        if mark.get(flag)
    )
    pairs = [value for name, value in report.user_properties if name == "printed"]
    _rows[(mark["source"], mark.get("where", ""))].append((report.nodeid, standing, pairs))


def pytest_sessionfinish(session):
    if session.config.getoption("--write-validation") and _rows:
        TABLE.write_text(_table(), encoding="utf-8")


def _table() -> str:
    lines = [
        "# Checks against published values",
        "",
        "Made by `pytest --write-validation` from the checks themselves. *Printed* is what the",
        "source prints or the trade recalls; *deviation* is our value minus that. A check from",
        "memory is weaker than one read in a text: compare it with the document before you lean on",
        "it. A dash: the check compares exactly, or with a bound that its own text states.",
        "",
        "| source | where | standing | check | printed | deviation |",
        "|---|---|---|---|---|---|",
    ]
    for (source, where), checks in sorted(_rows.items()):
        for nodeid, standing, pairs in sorted(checks):
            name = nodeid.rpartition("::")[2].replace("|", "\\|")
            shown = ", ".join(text for text, _ in pairs) or "—"
            off = ", ".join(f"{found - float(text):+.2g}" for text, found in pairs) or "—"
            lines.append(
                f"| {source.replace('|', '/')} | {where.replace('|', '/')} | {standing or 'read'}"
                f" | {name} | {shown} | {off} |"
            )
    return "\n".join(lines) + "\n"
