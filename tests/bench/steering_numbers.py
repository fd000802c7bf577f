"""Which of the numbers that steer tracing are noticed when they change.

Usage: python -m tests.bench.steering_numbers [--count N] [--seeds N]
Takes named numbers of ``takeoff/trace/lines`` and ``takeoff/trace/drawing``, evenly over the modules, changes each by
× 1.25 and × 0.8, one at a time, in a process of its own, and traces the same plans again. A number is noticed where
either change alters what is right of a plan: rooms found, openings, columns or names right, false ones, sure ones, or
the length of wall that lies within 10 mm.
"""

from __future__ import annotations

import argparse
import ast
import importlib
import json
import os
import pkgutil
import sys
from pathlib import Path
from typing import Any

import takeoff.trace.drawing
import takeoff.trace.lines
from tests.trace.known_plans import sample_plans_known
from tests.trace.plans import Plan
from tests.trace.scoring import read, score
from tests.trace.site_plans import make_any

CHANGES = (1.25, 0.8)
PLANS = ("outline-through", "hatched", "mixed", "closets", "wide-openings", "details", "shaded", "stairs")
"""Kinds of made plans that between them draw walls, openings and clutter in every way."""


def numbers() -> list[tuple[str, str, Any]]:
    """Return module, name and value of each named number, or tuple of numbers, that a module defines itself."""
    found: list[tuple[str, str, Any]] = []
    for package in (takeoff.trace.lines, takeoff.trace.drawing):
        for info in pkgutil.iter_modules(package.__path__, f"{package.__name__}."):
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
        if getattr(other, "__name__", "").startswith("takeoff.trace") and other.__dict__.get(name) is value:
            setattr(other, name, new)


def outcome(plans: list[Plan]) -> list[Any]:
    """Return what counts of the plans as traced now."""
    rows: list[Any] = []
    for plan in plans:
        s = score(read(plan).rooms, plan.rooms, plan.m_per_pt)
        rows.append([s.found, s.right, s.columns_found, s.named, s.sure, -s.false_rooms, -s.sure_wrong, -s.proposed,
                     round(s.traced, 1)])  # fmt: skip
    return rows


def in_child(plans: list[Plan], module: str, name: str, by: float) -> Any:
    """Return the outcome of a change, made in a child of this process; its fault where it ends by one."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        try:
            change(module, name, by)
            told: Any = outcome(plans)
        except Exception as error:
            told = repr(error)
        with os.fdopen(writing, "w") as out:
            json.dump(told, out)
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading) as back:
        told = json.load(back)
    os.waitpid(child, 0)
    return told


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--count", type=int, default=40)
    parser.add_argument("--seeds", type=int, default=1)
    wanted = parser.parse_args()
    plans = [make_any(seed, kind) for kind in PLANS for seed in range(wanted.seeds)] + sample_plans_known()[:1]
    every = numbers()
    chosen = [every[i * len(every) // wanted.count] for i in range(min(wanted.count, len(every)))]
    base, noticed = outcome(plans), 0
    for module, name, value in chosen:
        told = [in_child(plans, module, name, by) != base for by in CHANGES]
        noticed += any(told)
        what = "noticed" if any(told) else "NOT noticed"
        print(f"{module.removeprefix('takeoff.trace.')}.{name} = {value}: {what}", flush=True)
    print(f"{noticed} of {len(chosen)} are noticed; {len(every)} numbers have a name")


if __name__ == "__main__":
    main()
