"""The fewest stock lengths for a set of pieces: longest first, a bound, and one exact call where they do not meet.

Lengths are whole numbers of one unit (tenths of a millimetre from `takeoff.system.cutting`). Longest first is first-fit
decreasing; the bound is that of Martello and Toth (1990, from memory: L2). The exact call chooses among all the ways to
cut one length full (Gilmore and Gomory 1961, from memory); it is cut off by the solver's own count of its steps, on one
worker and with a fixed seed, so that every machine makes the same cut list.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

Pattern = tuple[int, ...]
"""What one stock length gives: the number of each piece's size in the row of distinct sizes, longest first."""

EFFORT = 1.0
"""Effort that prices and cut lists take: up to about a second of processor time where longest first is not proven."""

STEPS_OF_EFFORT = 0.5
"""Deterministic time of the solver that one unit of effort buys: about 1 s of processor time, measured on 60 to 120
pieces, 2026."""

MOST_PATTERNS = 25_000
"""Ways to cut one length full beyond which the exact call is left out: listing them takes about half a second."""

SEED = 1
"""Seed of the solver's search."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Packing:
    """Stock lengths as the pieces (indices into what was given) cut from each, with what is known of the best.

    ``lower_bound`` is a number of stock lengths that no packing can do without; ``first_fit`` is what first-fit
    decreasing takes.
    """

    bins: tuple[tuple[int, ...], ...]
    lower_bound: int
    first_fit: int


def pack(sizes: Sequence[int], capacity: int, *, effort: float = EFFORT) -> Packing:
    """Pack pieces into the fewest stock lengths found, never more than first-fit decreasing.

    ``sizes`` are lengths of the pieces, above zero, and ``capacity`` that of one stock length, in whole units, no less.
    ``effort`` is how long to look for fewer than first-fit decreasing takes; 1 is about a second of processor time,
    counted in steps, 0 leaves it at that and its bound.

    Examples
    --------
    First-fit decreasing takes three lengths of 10 for these six pieces, and two are enough:

    >>> found = pack([5, 4, 3, 3, 3, 2], 10)
    >>> len(found.bins), found.first_fit, found.lower_bound
    (2, 3, 2)
    """
    if not sizes:
        return Packing(bins=(), lower_bound=0, first_fit=0)
    scale = math.gcd(capacity, *sizes)
    counts = Counter(size // scale for size in sizes)
    capacity //= scale
    distinct = sorted(counts, reverse=True)
    demand = [counts[size] for size in distinct]
    first = best = first_fit(distinct, demand, capacity)
    bound = lower_bound([size // scale for size in sizes], capacity)
    if len(best) > bound and effort > 0.0:
        found, bound = fewest(tuple(distinct), tuple(demand), capacity, bound, len(best), effort)
        best = list(found) or best
    bins = _bins(sizes, [size * scale for size in distinct], best)
    return Packing(bins=bins, lower_bound=bound, first_fit=len(first))


def first_fit(distinct: Sequence[int], demand: Sequence[int], capacity: int) -> list[Pattern]:
    """Pack longest first, each piece into the first stock length that still holds it.

    ``distinct`` are sizes, longest first, and ``demand`` says how many of each. The first length gets every piece that
    it still holds when its turn comes, the next one of those left, and so on.
    """
    rows: list[Pattern] = []
    left = [(-size, i, n) for i, (size, n) in enumerate(zip(distinct, demand, strict=True))]
    while left:
        row: Pattern = ()
        room, at = capacity, 0
        while (at := bisect_left(left, (-room,), lo=at)) < len(left):
            size, i, need = left[at]
            count = min(need, room // -size)
            row, room = row + (i,) * count, room + count * size
            left[at : at + 1] = [(size, i, need - count)] if count < need else []
            at += count < need
        rows.append(row)
    return rows


def lower_bound(sizes: Sequence[int], capacity: int) -> int:
    """Return a number of stock lengths that every packing needs: L2 of Martello and Toth, at least total length."""
    ordered = np.sort(np.asarray(sizes, dtype=np.int64))[::-1]
    down = -ordered
    total = np.concatenate(([0], np.cumsum(ordered)))
    half = int(np.searchsorted(down, -(capacity / 2), side="left"))  # longer than half
    best = -(-int(total[-1]) // capacity)
    for small in {0, *(int(s) for s in ordered if 2 * s <= capacity)}:
        whole = int(np.searchsorted(down, -(capacity - small), side="left"))  # longer than capacity − small
        last = int(np.searchsorted(down, -small, side="right"))  # at least small
        room = (half - whole) * capacity - int(total[half] - total[whole])
        spill = int(total[last] - total[half]) - room
        best = max(best, half + max(0, -(-spill // capacity)))
    return best


@lru_cache(maxsize=256)
def fewest(
    distinct: tuple[int, ...], demand: tuple[int, ...], capacity: int, bound: int, known: int, effort: float
) -> tuple[tuple[Pattern, ...], int]:
    """Look for a packing into fewer stock lengths than are known to be enough; the exact call.

    ``bound`` and ``known``: a number that every packing needs, and one that is enough. Gives what is cut from each
    stock length, empty where nothing better was found, and a number that every packing needs.
    """
    from ortools.sat.python import cp_model

    patterns = full_patterns(distinct, demand, capacity)
    if patterns is None:
        return (), bound
    model = cp_model.CpModel()
    times = [model.new_int_var(0, known - 1, f"p{p}") for p in range(len(patterns))]
    gives = [Counter(row) for row in patterns]
    for i, need in enumerate(demand):
        model.add(sum(given[i] * times[p] for p, given in enumerate(gives) if i in given) >= need)
    model.add_linear_constraint(sum(times), bound, known - 1)
    model.minimize(sum(times))
    solver = steady_solver(effort * STEPS_OF_EFFORT)
    solver.parameters.linearization_level = 2
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return (), known
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return (), bound
    rows = [row for p, row in enumerate(patterns) for _ in range(solver.value(times[p]))]
    return _without_surplus(rows, demand), max(bound, math.ceil(solver.best_objective_bound - 1e-6))


def steady_solver(steps: float) -> cp_model.CpSolver:
    """Make a solver that is cut off by its own count of steps, so that every machine finds the same."""
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.max_deterministic_time = steps
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = SEED
    return solver


def full_patterns(distinct: Sequence[int], demand: Sequence[int], capacity: int) -> list[Pattern] | None:
    """List every way to cut one stock length that leaves no room for a further piece; None where they are too many.

    Examples
    --------
    >>> full_patterns([6, 4, 3], [1, 2, 2], 10)
    [(0, 1), (0, 2), (1, 1), (1, 2, 2)]
    """
    after = [0, *accumulate(size * n for size, n in zip(reversed(distinct), reversed(demand), strict=True))][::-1]
    shorter = [-size for size in distinct]
    rows: list[Pattern] = []
    stack: list[tuple[int, int, int, Pattern]] = [(capacity, capacity + 1, 0, ())]
    while stack:
        room, least_left_out, at, row = stack.pop()
        if room - after[at] >= least_left_out:
            continue
        fits = bisect_left(shorter, -room, lo=at)
        if fits == len(distinct):
            rows.append(row)
            if len(rows) > MOST_PATTERNS:
                return None
            continue
        least_left_out = distinct[fits - 1] if fits > at else least_left_out
        size, need = distinct[fits], demand[fits]
        for n in range(min(need, room // size) + 1):
            stack.append((room - n * size, least_left_out if n == need else size, fits + 1, row + (fits,) * n))
    return rows


def _without_surplus(rows: Sequence[Pattern], demand: Sequence[int]) -> tuple[Pattern, ...]:
    rest = list(demand)
    kept = []
    for row in rows:
        take = []
        for i in row:
            if rest[i]:
                rest[i] -= 1
                take.append(i)
        if take:
            kept.append(tuple(take))
    return tuple(kept)


def _bins(sizes: Sequence[int], distinct: list[int], rows: Sequence[Pattern]) -> tuple[tuple[int, ...], ...]:
    """Turn patterns into the pieces themselves, longest first in each stock length."""
    waiting: dict[int, list[int]] = {size: [] for size in distinct}
    for index in reversed(range(len(sizes))):
        waiting[sizes[index]].append(index)
    return tuple(tuple(waiting[distinct[i]].pop() for i in row) for row in rows)
