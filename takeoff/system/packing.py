"""The fewest stock lengths for a set of pieces: instant answers, lower bounds, and a solver that closes the gap.

Lengths are whole numbers of one unit (tenths of a millimetre from `takeoff.system.cutting`). The instant answers are
first-fit decreasing and a filler that empties the pile one fullest length at a time. The bounds are the one of
Martello and Toth (1990, from memory: L2) and the linear relaxation over cutting patterns (Gilmore and Gomory 1961)
made safe by Farley's argument (1990, both from memory), in a coarser unit first. Where they do not meet, the relaxation
is dived into (`takeoff.system.coarse`) and CP-SAT chooses among the patterns.
"""

from __future__ import annotations

import math
import random
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from takeoff.errors import InputError
from takeoff.system.coarse import COARSE, coarse_bound, coarse_packing
from takeoff.system.filling import chance_first, first_fit, fullest_first
from takeoff.system.patterns import Pattern, choose, patterns_worth, price_patterns

PRICING_CELLS = 5_000_000
"""Cells of the pricing table above which pieces are too many or too fine for exact patterns; coarse ones then."""

FINER = 3
"""Times as many units that the second dive counts in."""

FIRST_SHARE = 0.08
"""Part of the time for packing by chance before patterns are tried."""

INSTANT_CELLS = 50_000_000
"""Stock lengths times sizes times units above which an instant answer is first-fit decreasing alone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Packing:
    """Stock lengths as the pieces (indices into what was given) cut from each, with what is known of the best.

    ``lower_bound`` is a number of stock lengths that no packing can do without; ``first_fit`` is what first-fit
    decreasing takes.
    """

    bins: tuple[tuple[int, ...], ...]
    lower_bound: int
    first_fit: int

    @property
    def is_proven(self) -> bool:
        """True where no packing can take fewer."""
        return len(self.bins) == self.lower_bound


def pack(sizes: Sequence[int], capacity: int, *, time_limit: float = 5.0) -> Packing:
    """Pack pieces into the fewest stock lengths found within a time limit, never more than first-fit decreasing.

    Parameters
    ----------
    sizes
        Length of each piece, above zero, in whole units.
    capacity
        Length of one stock length in the same unit.
    time_limit
        Seconds for the solver; 0 gives the instant answer and its bound.

    Raises
    ------
    InputError
        When a piece has no length or is longer than the stock length.

    Examples
    --------
    First-fit decreasing takes three lengths of 10 for these six pieces, and two are enough:

    >>> found = pack([5, 4, 3, 3, 3, 2], 10)
    >>> len(found.bins), found.first_fit, found.lower_bound, found.is_proven
    (2, 3, 2, True)
    """
    if any(size <= 0 for size in sizes):
        raise InputError("a piece to cut has no length", remedy="Leave it out.")
    if any(size > capacity for size in sizes):
        raise InputError(
            f"a piece of {max(sizes)} is longer than the stock length of {capacity}", remedy="Choose a longer stock."
        )
    if not sizes:
        return Packing(bins=(), lower_bound=0, first_fit=0)
    deadline = time.monotonic() + time_limit
    scale = math.gcd(capacity, *sizes)
    counts = Counter(size // scale for size in sizes)
    capacity //= scale
    distinct = sorted(counts, reverse=True)
    demand = [counts[size] for size in distinct]
    first = first_fit(distinct, demand, capacity)
    bound = lower_bound([size // scale for size in sizes], capacity)
    best = first
    if len(best) > bound and (time_limit > 0.0 or len(best) * len(distinct) * capacity <= INSTANT_CELLS):
        best = min(best, fullest_first(distinct, demand, capacity), key=len)
    if len(best) > bound and time_limit > 0.0:
        best, bound = _improve(distinct, demand, capacity, best, bound, deadline=deadline)
    bins = _bins(sizes, [size * scale for size in distinct], best)
    return Packing(bins=bins, lower_bound=bound, first_fit=len(first))


def lower_bound(sizes: Sequence[int], capacity: int) -> int:
    """Return a number of stock lengths that every packing needs: L2 of Martello and Toth, at least total length."""
    ordered = np.sort(np.asarray(sizes, dtype=np.int64))[::-1]
    total = np.concatenate(([0], np.cumsum(ordered)))
    best = -(-int(total[-1]) // capacity)
    for small in {0, *(int(s) for s in ordered if 2 * s <= capacity)}:
        whole = int(np.searchsorted(-ordered, -(capacity - small), side="left"))  # longer than capacity − small
        half = int(np.searchsorted(-ordered, -(capacity / 2), side="left"))  # longer than half
        last = int(np.searchsorted(-ordered, -small, side="right"))  # at least small
        room = (half - whole) * capacity - int(total[half] - total[whole])
        spill = int(total[last] - total[half]) - room
        best = max(best, half + max(0, -(-spill // capacity)))
    return best


def _improve(
    sizes: list[int], demand: list[int], capacity: int, best: list[Pattern], bound: int, *, deadline: float
) -> tuple[list[Pattern], int]:
    """Close the gap: by chance, by a bound in a coarser unit, by choosing among cutting patterns, by chance again."""
    draw = random.Random(0)

    def part(share: float) -> float:
        return time.monotonic() + share * (deadline - time.monotonic())

    best = _by_chance(sizes, demand, capacity, best, bound, draw, deadline=part(FIRST_SHARE))
    is_fine = capacity > COARSE
    if bound < len(best) and is_fine:
        bound = max(bound, coarse_bound(sizes, demand, capacity, deadline=part(0.3)))
    for units, share in ((COARSE, 0.7), (FINER * COARSE, 0.85)):
        if bound < len(best) and is_fine:
            best = min(best, coarse_packing(sizes, demand, capacity, units=units, deadline=part(share)), key=len)
    if bound < len(best) and len(sizes) * capacity <= PRICING_CELLS:
        best, bound = _by_patterns(sizes, demand, capacity, best, bound, deadline=part(0.9))
    if bound < len(best) and not is_fine:
        best = min(best, coarse_packing(sizes, demand, capacity, units=COARSE, deadline=part(0.7)), key=len)
    return _by_chance(sizes, demand, capacity, best, bound, draw, deadline=deadline), bound


def _by_chance(
    sizes: list[int],
    demand: list[int],
    capacity: int,
    best: list[Pattern],
    bound: int,
    draw: random.Random,
    *,
    deadline: float,
) -> list[Pattern]:
    while bound < len(best) and time.monotonic() < deadline:
        best = min(best, chance_first(sizes, demand, capacity, draw), key=len)
    return best


def _by_patterns(
    sizes: list[int], demand: list[int], capacity: int, best: list[Pattern], bound: int, *, deadline: float
) -> tuple[list[Pattern], int]:
    """Raise the bound by cutting patterns, and choose among the patterns for fewer stock lengths."""
    pricing = time.monotonic() + 0.6 * (deadline - time.monotonic())
    known = list(dict.fromkeys((*best, *first_fit(sizes, demand, capacity))))
    patterns, values, _ = price_patterns(sizes, demand, capacity, known, deadline=pricing)
    least = float(values @ np.asarray(demand, dtype=float))
    bound = max(bound, math.ceil(least - 1e-6))
    while bound < len(best):
        every = patterns_worth(sizes, demand, values, capacity, 1.0 - (bound - least) - 1e-6, deadline=deadline)
        if every is None:
            return choose(demand, patterns, bound, len(best) - 1, deadline=deadline)[0] or best, bound
        found, is_ruled_out = choose(demand, every, bound, bound, deadline=deadline)
        if found:
            return found, bound
        if not is_ruled_out:
            break
        bound += 1
    return best, bound


def _bins(sizes: Sequence[int], distinct: list[int], rows: list[Pattern]) -> tuple[tuple[int, ...], ...]:
    """Turn patterns into the pieces themselves, longest first in each stock length."""
    waiting: dict[int, list[int]] = {size: [] for size in distinct}
    for index in reversed(range(len(sizes))):
        waiting[sizes[index]].append(index)
    return tuple(tuple(waiting[distinct[i]].pop() for i, n in enumerate(row) for _ in range(n)) for row in rows)
