"""Cutting counted in a coarser unit, where cutting patterns are quick to price.

What fits into a stock length still fits when pieces and stock length are rounded down, so that a bound for those is a
bound; pieces rounded up that fit, fit. Pieces rounded up are packed by diving: the patterns that the linear relaxation
cuts most are cut, and patterns for the rest are priced anew (as in Wäscher and Gau 1996, from memory).
"""

from __future__ import annotations

import math
import time
from collections import Counter
from collections.abc import Sequence

import numpy as np

from takeoff.system.filling import first_fit, fullest_first
from takeoff.system.patterns import Pattern, price_patterns

COARSE = 1_000
"""Units of a stock length that are counted in."""

ALMOST = 0.7
"""How often the relaxation must cut a pattern for it to be cut at once with the one cut most."""

FEW_ROUNDS = 3
"""Rounds of pricing for the rest after each dive."""


def coarse_bound(sizes: Sequence[int], demand: Sequence[int], capacity: int, *, deadline: float) -> int:
    """Return a number of stock lengths that every packing needs, by patterns of pieces rounded down."""
    unit = -(-capacity // COARSE)
    counts: Counter[int] = Counter()
    for size, n in zip(sizes, demand, strict=True):
        counts[size // unit] += n
    counts.pop(0, None)
    coarse = sorted(counts, reverse=True)
    need = [counts[size] for size in coarse]
    whole = capacity // unit
    _, values, _ = price_patterns(coarse, need, whole, first_fit(coarse, need, whole), deadline=deadline)
    return math.ceil(float(values @ np.asarray(need, dtype=float)) - 1e-6)


def coarse_packing(
    sizes: Sequence[int], demand: Sequence[int], capacity: int, *, units: int = COARSE, deadline: float
) -> list[Pattern]:
    """Return a packing by diving with pieces rounded up to so many units of a stock length.

    What is left at the deadline is packed fullest first.
    """
    unit = -(-capacity // units)
    whole = capacity // unit
    members: dict[int, list[int]] = {}
    for i, (size, n) in enumerate(zip(sizes, demand, strict=True)):
        members.setdefault(-(-size // unit), []).extend([i] * n)
    coarse = sorted(members, reverse=True)
    if coarse[0] > whole:
        return first_fit(sizes, demand, capacity)
    rows = []
    for pattern in dive(coarse, [len(members[size]) for size in coarse], whole, deadline=deadline):
        row = [0] * len(sizes)
        for size, n in zip(coarse, pattern, strict=True):
            for _ in range(n):
                row[members[size].pop()] += 1
        rows.append(tuple(row))
    return rows


def dive(sizes: list[int], demand: list[int], capacity: int, *, deadline: float) -> list[Pattern]:
    """Cut the patterns that the linear relaxation cuts most, price patterns for the rest, and so on."""
    rest = list(demand)
    rows: list[Pattern] = []
    patterns = list(dict.fromkeys((*first_fit(sizes, demand, capacity), *fullest_first(sizes, demand, capacity))))
    while any(rest) and time.monotonic() < deadline:
        left = [i for i, n in enumerate(rest) if n]
        known = (tuple(min(pattern[i], rest[i]) for i in left) for pattern in patterns)
        some, _, times = price_patterns(
            [sizes[i] for i in left],
            [rest[i] for i in left],
            capacity,
            [pattern for pattern in dict.fromkeys(known) if any(pattern)],
            deadline=deadline,
            rounds=FEW_ROUNDS if rows else None,
        )
        patterns = [_spread(pattern, left, len(sizes)) for pattern in some]
        order = sorted(range(len(times)), key=lambda n: -times[n])
        cut = len(rows)
        for n in order:
            if len(rows) > cut and times[n] < ALMOST:
                break
            for _ in range(max(1, math.floor(times[n] + 1e-6))):
                if all(a <= b for a, b in zip(patterns[n], rest, strict=True)):
                    rows.append(patterns[n])
                    rest = [b - a for a, b in zip(patterns[n], rest, strict=True)]
    return rows + (fullest_first(sizes, rest, capacity) if any(rest) else [])


def _spread(pattern: Pattern, places: Sequence[int], count: int) -> Pattern:
    """Write a pattern of some sizes as one of all."""
    row = [0] * count
    for i, n in zip(places, pattern, strict=True):
        row[i] = n
    return tuple(row)
