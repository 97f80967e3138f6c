"""The shape of the house: arrows point down, heavy libraries have one door each."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "linkbudget"

# Each room and the rooms it may lean on. A room's own modules may use each other.
# Read from the ground up: every name on the right stands further up in this table.
ROOMS: dict[str, set[str]] = {
    "version": set(),
    "core": set(),
    "physics": {"core"},
    "enclosure": {"core", "physics"},
    "link": {"core", "physics", "enclosure"},
    "emissions": {"core", "physics", "enclosure"},
    "decision": {"core", "physics", "enclosure", "link", "emissions"},
    "results": {"core", "enclosure", "link", "emissions", "decision"},
    "scenario": {"core", "physics", "enclosure", "emissions", "results"},
    "study": {
        "version",
        "core",
        "physics",
        "enclosure",
        "link",
        "emissions",
        "decision",
        "results",
        "scenario",
    },
    "report": {"core", "enclosure", "link", "emissions", "decision", "results"},
    "cli": {"version", "core", "results", "scenario", "study", "report"},
    "main": {"cli"},
}

# Library -> the only modules (prefixes) that may import it.
DOORS: dict[str, tuple[str, ...]] = {
    "skrf": ("linkbudget.physics.touchstone",),
    "scipy": (
        "linkbudget.physics.coherence",
        "linkbudget.physics.diffraction",
        "linkbudget.physics.exponent",
        "linkbudget.physics.ground",
        "linkbudget.physics.rice",
        "linkbudget.physics.shadowed_fading",
        "linkbudget.enclosure.measured",
        "linkbudget.emissions.peaks",
    ),
    "pandas": ("linkbudget.emissions.reader",),
    "pydantic": ("linkbudget.scenario",),
    "pydantic_core": ("linkbudget.scenario",),
    "tree_sitter": ("linkbudget.scenario",),
    "tree_sitter_toml": ("linkbudget.scenario",),
    "plotly": ("linkbudget.report.figures",),
    "jinja2": ("linkbudget.report.page",),
    "markupsafe": ("linkbudget.report.page",),
    "typer": ("linkbudget.cli",),
    "platformdirs": ("linkbudget.enclosure.fullwave.cache",),
    "PyNEC": ("linkbudget.enclosure.fullwave",),
}
EVERYWHERE = {"numpy"}  # but not on the way to --help, see below

MODULES = sorted(
    ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts)
    for path in PACKAGE.rglob("*.py")
)


def _room(module: str) -> str:
    parts = module.removesuffix(".__init__").split(".")
    if parts == ["linkbudget"]:
        return "version"
    return {"__main__": "main"}.get(parts[1], parts[1])


def _imports(module: str, *, for_types_too: bool = True) -> set[str]:
    """Every module named by an import statement, inside functions too."""
    path = PACKAGE.parent / (module.replace(".", "/") + ".py")
    package = module.removesuffix(".__init__").split(".")
    if not module.endswith("__init__"):
        package = package[:-1]
    found: set[str] = set()
    tree = ast.parse(path.read_text(encoding="utf-8"))
    skipped = set() if for_types_too else _for_types_only(tree)
    for node in ast.walk(tree):
        if node in skipped:
            continue
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else []
            head = ".".join([*base, *([node.module] if node.module else [])])
            names = {f"{head}.{alias.name}" for alias in node.names}
            found |= names if head == "linkbudget" else {head}
    return found


def _for_types_only(tree: ast.Module) -> set[ast.AST]:
    """Every node below ``if TYPE_CHECKING:``, which no interpreter runs."""
    return {
        inner
        for node in tree.body
        if isinstance(node, ast.If)
        and isinstance(node.test, ast.Name)
        and node.test.id == "TYPE_CHECKING"
        for inner in ast.walk(node)
    }


def test_the_table_itself_points_down():
    order = list(ROOMS)
    for room, below in ROOMS.items():
        for other in below:
            assert order.index(other) < order.index(room), f"{room} leans on {other} above it"


def test_every_module_has_a_room():
    assert {_room(module) for module in MODULES} == set(ROOMS)


@pytest.mark.parametrize("module", MODULES)
def test_a_module_leans_only_on_what_its_room_allows(module):
    room = _room(module)
    for name in _imports(module):
        if name == "linkbudget.__version__":
            assert "version" in ROOMS[room], f"{module} reads the version"
        elif name.startswith("linkbudget."):
            other = _room(name)
            assert other == room or other in ROOMS[room], f"{module} imports {name}"


@pytest.mark.parametrize("module", MODULES)
def test_heavy_libraries_have_one_door(module):
    known = set(sys.stdlib_module_names) | {"linkbudget"} | set(DOORS) | EVERYWHERE
    for name in _imports(module, for_types_too=False):
        library = name.split(".")[0]
        assert library in known, f"{module} imports {library}, which has no door in the table"
        doors = DOORS.get(library)
        if doors:
            through = any(module == door or module.startswith(f"{door}.") for door in doors)
            assert through, f"{module} imports {library}"


def test_every_door_is_used():
    for library, doors in DOORS.items():
        for door in doors:
            users = [m for m in MODULES if m == door or m.startswith(f"{door}.")]
            used = {name.split(".")[0] for m in users for name in _imports(m, for_types_too=False)}
            assert library in used, f"nothing in {door} imports {library}"


def test_no_room_leans_on_itself_in_a_circle():
    graph = {
        module.removesuffix(".__init__"): {
            name
            for name in _imports(module, for_types_too=False)
            if name.startswith("linkbudget.") and f"{name}.__init__" not in MODULES
        }
        for module in MODULES
    }
    done: set[str] = set()

    def visit(module: str, path: tuple[str, ...]) -> None:
        assert module not in path, " -> ".join((*path, module))
        if module not in done:
            for other in graph.get(module, ()):
                visit(other, (*path, module))
            done.add(module)

    for module in graph:
        visit(module, ())


@pytest.mark.parametrize("module", [m for m in MODULES if not m.endswith("__main__")])
def test_a_module_imports_alone(module):
    name = module.removesuffix(".__init__")
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", f"import {name}"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr


def test_help_loads_no_heavy_library():
    probe = (
        "import sys; from linkbudget.cli import main; "
        "print([m for m in ('numpy', 'scipy', 'pandas', 'skrf', 'pydantic', 'plotly', 'jinja2')"
        " if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
