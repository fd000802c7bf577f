"""Which of the numbers that steer tracing are noticed when they change.

Usage: python -m tests.bench.steering_numbers [--count N] [--seed N] [--only NAME ...]
Draws named numbers of ``takeoff/trace`` by chance, changes each by × 1.25 and × 0.8, one at a time, in a process of its
own, and traces the same plans again where it steers these; then it runs the tests of its package, those of its module
first. A number is noticed where a test fails or where either change alters what is right of a plan: rooms found,
openings, columns or names right, false ones, sure ones, or the length of wall that lies within 10 mm.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import importlib
import json
import os
import pkgutil
import random
import sys
import time
from pathlib import Path
from typing import Any

import pytest

import takeoff.trace
from tests.trace import scoring
from tests.trace.known_plans import sample_plans_known
from tests.trace.plans import Plan
from tests.trace.site_plans import make_any

CHANGES = (1.25, 0.8)
PLANS = ("outline-through", "hatched", "mixed", "closets", "wide-openings", "details", "shaded", "stairs")
"""Kinds of made plans that between them draw walls, openings and clutter in every way."""
STEERS_PLANS = ("drawing", "lines")
"""Packages whose numbers steer what is read of a vector plan."""
TESTS = Path(__file__).parents[1]


def numbers() -> list[tuple[str, str, Any]]:
    """Return module, name and value of each number with a name that a module of ``takeoff/trace`` defines itself."""
    found: list[tuple[str, str, Any]] = []
    for info in pkgutil.walk_packages(takeoff.trace.__path__, "takeoff.trace."):
        module = importlib.import_module(info.name)
        tree = ast.parse(Path(str(module.__file__)).read_text(encoding="utf-8"))
        for node in tree.body:
            for target in node.targets if isinstance(node, ast.Assign) else ():
                names = target.elts if isinstance(target, ast.Tuple) else [target]
                found += [
                    (info.name, name.id, getattr(module, name.id))
                    for name in names
                    if isinstance(name, ast.Name) and isinstance(getattr(module, name.id), int | float)
                ]
    return found


def change(module: str, name: str, by: float) -> None:
    """Change a number wherever it was imported to."""
    value = getattr(sys.modules[module], name)
    new = type(value)(round(value * by)) if isinstance(value, int) else value * by
    if new == value:
        new = value + (1 if by > 1 else -1)
    for other in list(sys.modules.values()):
        has_it = getattr(other, "__name__", "").startswith("takeoff.") and other.__dict__.get(name) is value
        if has_it and (other.__name__ == module or not name.startswith("_")):
            setattr(other, name, new)


def outcome(plans: list[Plan]) -> list[Any]:
    """Return what counts of the plans as traced now."""
    scoring._read.cache_clear()
    rows: list[Any] = []
    for plan in plans:
        s = scoring.score(scoring.read(plan).rooms, plan.rooms, plan.m_per_pt)
        rows.append([s.found, s.right, s.columns_found, s.named, s.sure, -s.false_rooms, -s.sure_wrong, -s.proposed,
                     round(s.traced, 1)])  # fmt: skip
    return rows


def files_of(module: str) -> list[str]:
    """Return a module, for its examples, and the test files of its package, those of its name and of limits first."""
    package, name = module.removeprefix("takeoff.trace.").rpartition(".")[::2]
    first = [f"test_{name}", "test_limits"]
    files = sorted((TESTS / "trace" / package).glob("test_*.py"), key=lambda p: (p.stem not in first, p.name))
    return [str(sys.modules[module].__file__), *map(str, files)]


class First:
    """Remembers the first test that failed."""

    failed = ""

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed and not self.failed:
            self.failed = report.nodeid.rpartition("/")[2]


def told_by(plans: list[Plan], base: list[Any], module: str, name: str, by: float) -> str:
    """Change a number in this process; return what notices it, empty where nothing does."""
    change(module, name, by)
    if plans and module.split(".")[2] in STEERS_PLANS:
        try:
            if outcome(plans) != base:
                return "plans"
        except Exception as error:
            return repr(error)
    scoring._read.cache_clear()
    first = First()
    with open(os.devnull, "w") as nowhere, contextlib.redirect_stdout(nowhere), contextlib.redirect_stderr(nowhere):
        code = pytest.main(
            ["-x", "-q", "-p", "no:cacheprovider", "-p", "no:randomly", "--no-xvfb", *files_of(module)], [first]
        )
    return first.failed or ("" if code in (0, 5) else f"pytest ended with {code}")


def in_child(plans: list[Plan], base: list[Any], module: str, name: str, by: float) -> str:
    """Return what notices a change that is made in a child of this process."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        told = told_by(plans, base, module, name, by)
        with os.fdopen(writing, "w") as out:
            json.dump(told, out)
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading) as back:
        told = back.read()
    os.waitpid(child, 0)
    return json.loads(told) if told else "the process ended"


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--count", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", nargs="+", help="these numbers, as the script prints them")
    wanted = parser.parse_args()
    plans = [make_any(0, kind) for kind in PLANS] + sample_plans_known()[:1]
    every = numbers()
    chosen = random.Random(wanted.seed).sample(every, wanted.count)
    if wanted.only:
        chosen = [row for row in every if f"{row[0].removeprefix('takeoff.trace.')}.{row[1]}" in wanted.only]
    base, noticed = outcome(plans), 0
    for module, name, value in chosen:
        start = time.monotonic()
        told = next(filter(None, (in_child(plans, base, module, name, by) for by in CHANGES)), "")
        noticed += bool(told)
        what = f"noticed by {told}" if told else "NOT noticed"
        print(
            f"{module.removeprefix('takeoff.trace.')}.{name} = {value}: {what} {time.monotonic() - start:.0f}",
            flush=True,
        )
    print(f"{noticed} of {len(chosen)} are noticed; {len(every)} numbers have a name")


if __name__ == "__main__":
    main()
