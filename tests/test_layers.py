"""What may import what, beyond what import-linter holds: the toolkit, the database, print, slow libraries."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "takeoff"
MODULES = sorted(PACKAGE.rglob("*.py"))

TOOLKIT = ("tkinter", "customtkinter")
HEADLESS = (
    "session", "tools", "job_shapes", "entries",
    "preferences", "canvas.view", "review", "reading_process",
)  # fmt: skip
"""Parts of the window that know no toolkit, so that they run and are tested without a display."""

SLOW = (
    "pymupdf", "fitz", "cv2", "shapely", "openpyxl", "python_calamine", "xlsxwriter", "typst", "ortools",
    "tkinter", "customtkinter", "numpy", "PIL", "pypdfium2", "ezdxf", "ifcopenshell", "pikepdf",
)  # fmt: skip


def name_of(path: Path) -> str:
    """Dotted name of a module of the package."""
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@cache
def nodes(path: Path) -> tuple[ast.AST, ...]:
    return tuple(ast.walk(ast.parse(path.read_text(encoding="utf-8"))))


@cache
def imports(path: Path) -> tuple[tuple[str, int], ...]:
    """Every module that a file imports, wherever it does, and the number of dots before a relative one."""
    found: list[tuple[str, int]] = []
    for node in nodes(path):
        if isinstance(node, ast.Import):
            found += ((alias.name, 0) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            found.append((node.module or "", node.level))
            if node.level == 0:
                found += ((f"{node.module}.{alias.name}", 0) for alias in node.names)
    return tuple(found)


def importers(*roots: str) -> set[str]:
    """Modules of the package that import one of these libraries."""
    return {name_of(path) for path in MODULES if any(name.partition(".")[0] in roots for name, _ in imports(path))}


def is_in(module: str, package: str) -> bool:
    return module == package or module.startswith(f"{package}.")


def test_the_package_was_found():
    assert len(MODULES) > 100
    assert importers(*TOOLKIT), "no module imports the toolkit: the search is at fault"


def test_the_toolkit_is_met_in_the_window_alone():
    # the command that opens the window asks whether Tk is there, to say how it is installed
    assert {m for m in importers(*TOOLKIT) if not is_in(m, "takeoff.gui")} <= {"takeoff.cli.jobs"}


@pytest.mark.parametrize("part", HEADLESS)
def test_parts_of_the_window_without_a_toolkit_stay_so(part):
    package = f"takeoff.gui.{part}"
    assert any(is_in(name_of(path), package) for path in MODULES), f"there is no {package}"
    assert {m for m in importers(*TOOLKIT) if is_in(m, package)} == set()


def test_parts_of_the_window_without_a_toolkit_run_without_it():
    names = [name_of(p) for p in MODULES if any(is_in(name_of(p), f"takeoff.gui.{part}") for part in HEADLESS)]
    code = "import sys\n" + "".join(f"import {name}\n" for name in names) + "print('tkinter' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (0, "False\n"), done.stderr


def test_the_database_is_met_in_the_job_alone():
    assert {m for m in importers("sqlite3") if not is_in(m, "takeoff.job")} == set()


def test_nothing_below_the_command_line_prints():
    found = []
    for path in MODULES:
        if is_in(name_of(path), "takeoff.cli"):
            continue
        for node in nodes(path):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "print":
                found.append(f"{name_of(path)}:{node.lineno}")
    assert found == []


def test_no_import_is_relative():
    assert [name_of(path) for path in MODULES if any(level for _, level in imports(path))] == []


LOWER = ("units", "errors", "geometry", "model", "sheet", "trace", "measure", "system", "estimate", "revise", "audit")
SURROUNDINGS = {"now", "today", "utcnow", "environ", "getenv", "setlocale", "getlocale", "getuser", "cwd", "home"}
"""Attributes by which a program asks for the time, the environment, the language or the person."""


def lower_modules() -> list[Path]:
    return [path for path in MODULES if any(is_in(name_of(path), f"takeoff.{layer}") for layer in LOWER)]


def test_lower_layers_ask_for_neither_time_nor_surroundings():
    found = {
        (name_of(path), node.attr)
        for path in lower_modules()
        for node in nodes(path)
        if isinstance(node, ast.Attribute) and node.attr in SURROUNDINGS
    }
    assert found == set()


def test_lower_layers_leave_nothing_to_chance():
    # random.Random(seed) gives the same numbers every time; the module's own functions do not
    used = {
        node.attr
        for path in lower_modules()
        for node in nodes(path)
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "random"
    }
    taken = {name for path in lower_modules() for name, _ in imports(path) if name.startswith("random.")}
    assert used | {name.removeprefix("random.") for name in taken} <= {"Random"}


def loaded_by(*words: str) -> set[str]:
    """Top-level modules that a command line of the program has loaded when it ends."""
    code = (
        "import sys, json\nfrom takeoff.cli.main import run\n"
        f"run({list(words)!r})\n"
        "print(json.dumps(sorted({m.partition('.')[0] for m in sys.modules})))"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    return set(json.loads(done.stdout.splitlines()[-1]))


@pytest.mark.parametrize("words", [("--help",), ("measure", "--help"), ("--version",)], ids=" ".join)
def test_help_loads_no_slow_library(words):
    assert loaded_by(*words) & set(SLOW) == set()


def test_a_command_that_reads_a_plan_loads_what_reads_it(tmp_path):
    plan = ROOT / "sample_plans" / "facility-metric.pdf"
    assert "pymupdf" in loaded_by("new", str(tmp_path / "bid.takeoff"), "--plan", str(plan))


def test_no_modules_import_one_another_in_a_circle():
    """Wherever the import stands: at the head of a module, in a function, or for types alone."""
    files = [path for path in MODULES if path.name != "__init__.py"]
    known = {name_of(path) for path in files}
    graph = {name_of(path): {module for module, _ in imports(path)} & known for path in files}
    assert graph["takeoff.report.workbook"] > {"takeoff.report.book", "takeoff.report.workbook_price"}
    TopologicalSorter(graph).prepare()
