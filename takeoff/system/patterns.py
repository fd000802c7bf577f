"""Cutting patterns: what one stock length gives of each size, priced, listed and chosen.

Lengths are whole numbers of one unit; sizes are distinct and longest first, demand says how many of each.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Pattern = tuple[int, ...]
"""How many pieces of each distinct size one stock length gives."""

ROUND = 25
"""Patterns priced with different pieces before the values are worked out anew."""

MOST_CELLS = 5_000_000
"""Sizes times units up to which what is left to take is weighed exactly while patterns are listed."""

MOST_PATTERNS = 20_000
"""Patterns beyond which the proof by listing them all is given up."""


def price_patterns(
    sizes: list[int],
    demand: list[int],
    capacity: int,
    patterns: list[Pattern],
    *,
    deadline: float,
    rounds: int | None = None,
) -> tuple[list[Pattern], NDArray[np.float64], list[float]]:
    """Add patterns until none lowers the linear relaxation, or for so many rounds.

    Returns the patterns, a value for each size at which no pattern is worth more than one stock length, so that the
    values of all pieces together bound every packing from below, and how often the relaxation cuts each pattern.
    """
    from ortools.linear_solver import pywraplp

    need = np.asarray(demand, dtype=float)
    solver = pywraplp.Solver.CreateSolver("GLOP")
    rows = [solver.Constraint(float(n), solver.infinity()) for n in demand]
    solver.Objective().SetMinimization()
    known: set[Pattern] = set()
    amounts: list[pywraplp.Variable] = []

    def add(pattern: Pattern) -> None:
        times = solver.NumVar(0.0, solver.infinity(), "")
        solver.Objective().SetCoefficient(times, 1.0)
        for row, n in zip(rows, pattern, strict=True):
            if n:
                row.SetCoefficient(times, float(n))
        known.add(pattern)
        amounts.append(times)

    for pattern in patterns:
        add(pattern)
    best = np.asarray(sizes, dtype=float) / capacity
    is_solved = solver.Solve() == pywraplp.Solver.OPTIMAL
    done = 0
    while is_solved and time.monotonic() < deadline and done != rounds:
        done += 1
        values = np.maximum(0.0, np.asarray([row.dual_value() for row in rows]))
        worth, pattern = _best_pattern(sizes, demand, values, capacity)
        safe = values / max(1.0, worth)
        if safe @ need > best @ need:
            best = safe
        rest = list(demand)
        fresh: list[Pattern] = []
        while worth > 1.0 + 1e-7 and pattern not in known and len(fresh) < ROUND and time.monotonic() < deadline:
            fresh.append(pattern)
            rest = [r - n for r, n in zip(rest, pattern, strict=True)]
            worth, pattern = _best_pattern(sizes, rest, values, capacity)
        if not fresh:
            break
        for pattern in fresh:
            add(pattern)
        patterns.extend(fresh)
        is_solved = solver.Solve() == pywraplp.Solver.OPTIMAL
    return patterns, best, [amount.solution_value() if is_solved else 0.0 for amount in amounts]


def patterns_worth(
    sizes: list[int],
    demand: list[int],
    values: NDArray[np.float64],
    capacity: int,
    least: float,
    *,
    deadline: float,
) -> list[Pattern] | None:
    """List every pattern worth at least so much that takes no further piece; None where they are too many.

    A packing into k stock lengths uses only patterns worth 1 − (k − least) or more, least being what all the pieces
    are worth: so a choice among these that fails proves that k is too few.
    """
    order = sorted(range(len(sizes)), key=lambda i: -values[i] / sizes[i])
    most = _most_worth([sizes[i] for i in order], [demand[i] for i in order], values[order], capacity)
    rows: list[Pattern] = []
    stack: list[tuple[int, int, float, tuple[tuple[int, int], ...]]] = [(0, capacity, 0.0, ())]
    steps = 0
    while stack:
        at, room, worth, taken = stack.pop()
        steps += 1
        if len(rows) > MOST_PATTERNS or (steps % 4096 == 0 and time.monotonic() > deadline):
            return None
        if worth + most(at, room) < least:
            continue
        if at == len(order):
            counts = dict(taken)
            if all(sizes[i] > room or counts.get(i, 0) == demand[i] for i in order):
                rows.append(tuple(counts.get(i, 0) for i in range(len(sizes))))
            continue
        i = order[at]
        for n in range(min(demand[i], room // sizes[i]) + 1):
            more = (*taken, (i, n)) if n else taken
            stack.append((at + 1, room - n * sizes[i], worth + n * float(values[i]), more))
    return rows


def _most_worth(
    sizes: list[int], demand: list[int], values: NDArray[np.float64], capacity: int
) -> Callable[[int, int], float]:
    """Return what pieces from one size on are worth at most in a room: exact, or by density where that is too large."""
    if len(sizes) * (capacity + 1) > MOST_CELLS:
        density = [float(value) / size for value, size in zip(values, sizes, strict=True)] + [0.0]
        return lambda at, room: room * density[at]
    table = np.zeros((len(sizes) + 1, capacity + 1))
    for i in reversed(range(len(sizes))):
        row = table[i + 1].copy()
        for k in doublings(min(demand[i], capacity // sizes[i])):
            cut = k * sizes[i]
            row[cut:] = np.maximum(row[cut:], row[: len(row) - cut] + k * values[i])
        table[i] = row
    return lambda at, room: float(table[at, room]) + 1e-9


def _best_pattern(
    sizes: list[int], demand: list[int], values: NDArray[np.float64], capacity: int
) -> tuple[float, Pattern]:
    """Return the pattern worth most at these values: a bounded knapsack, exact."""
    table = np.zeros(capacity + 1)
    taken: list[tuple[int, int, NDArray[np.bool_]]] = []
    for i, size in enumerate(sizes):
        if values[i] <= 1e-12:
            continue
        for k in doublings(min(demand[i], capacity // size)):
            cut = k * size
            offer = table[:-cut] + k * values[i]
            better = offer > table[cut:] + 1e-12
            taken.append((i, k, better))
            table[cut:] = np.where(better, offer, table[cut:])
    row = [0] * len(sizes)
    at = capacity
    for i, k, better in reversed(taken):
        cut = k * sizes[i]
        if at >= cut and better[at - cut]:
            row[i] += k
            at -= cut
    return float(table[capacity]), tuple(row)


def choose(
    demand: list[int], patterns: list[Pattern], fewest: int, most: int, *, deadline: float
) -> tuple[list[Pattern] | None, bool]:
    """Choose how often each pattern is cut, so that every piece is there, in the fewest stock lengths within bounds.

    Returns the choice, or None and whether it was proven that these patterns allow none.
    """
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    limits = [max(-(-n // took) for n, took in zip(demand, row, strict=True) if took) for row in patterns]
    times = [model.new_int_var(0, min(most, limit), "") for limit in limits]
    for i, n in enumerate(demand):
        model.add(sum(row[i] * times[p] for p, row in enumerate(patterns) if row[i]) >= n)
    model.add_linear_constraint(sum(times), fewest, most)
    if fewest < most:
        model.minimize(sum(times))
    solver = cp_model.CpSolver()
    seconds = deadline - time.monotonic()
    if seconds <= 0.0:
        return None, False
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 1
    solver.parameters.linearization_level = 2
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None, status == cp_model.INFEASIBLE
    chosen = [row for p, row in enumerate(patterns) for _ in range(solver.value(times[p]))]
    return _without_surplus(chosen, demand), False


def _without_surplus(rows: list[Pattern], demand: list[int]) -> list[Pattern]:
    """Leave out pieces cut beyond what is asked for."""
    rest = list(demand)
    kept = []
    for row in rows:
        take = tuple(min(n, rest[i]) for i, n in enumerate(row))
        rest = [r - n for r, n in zip(rest, take, strict=True)]
        if any(take):
            kept.append(take)
    return kept


def doublings(count: int) -> list[int]:
    """Split a count into parts that make every number up to it: 1, 2, 4 … and the rest."""
    parts = []
    part = 1
    while count > 0:
        parts.append(min(part, count))
        count -= parts[-1]
        part *= 2
    return parts
