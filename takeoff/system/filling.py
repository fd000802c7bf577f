"""Packings made one piece or one stock length at a time: first-fit decreasing, fullest first, and fullest by chance.

Lengths are whole numbers of one unit; sizes are distinct and longest first, demand says how many of each.
"""

from __future__ import annotations

import random
from collections.abc import Sequence

from takeoff.system.patterns import Pattern, doublings

LEFT_OUT = 0.2
"""Chance by which a size is left out of a fill."""


def first_fit(distinct: Sequence[int], demand: Sequence[int], capacity: int) -> list[Pattern]:
    """Pack longest first, each piece into the first stock length that still holds it."""
    rows: list[list[int]] = []
    left: list[int] = []
    for i, size in enumerate(distinct):
        start = 0
        for _ in range(demand[i]):
            while start < len(left) and left[start] < size:
                start += 1
            if start == len(left):
                rows.append([0] * len(distinct))
                left.append(capacity)
            rows[start][i] += 1
            left[start] -= size
    return [tuple(row) for row in rows]


def fullest_first(distinct: Sequence[int], demand: Sequence[int], capacity: int) -> list[Pattern]:
    """Pack one stock length at a time: the longest piece left and what fills the rest best, long pieces preferred."""
    rest = list(demand)
    rows: list[Pattern] = []
    while any(rest):
        head = next(i for i, n in enumerate(rest) if n)
        rest[head] -= 1
        row = _fill(distinct, rest, capacity - distinct[head])
        row[head] += 1
        for i, n in enumerate(row):
            rest[i] -= n - (i == head)
        rows.append(tuple(row))
    return rows


def chance_first(distinct: Sequence[int], demand: Sequence[int], capacity: int, draw: random.Random) -> list[Pattern]:
    """Pack as `fullest_first`, but fill each stock length from pieces of which some are left out by chance.

    The best fill of every length leaves pieces that go together badly for the last ones.
    """
    rest = list(demand)
    rows: list[Pattern] = []
    while any(rest):
        row = [0] * len(distinct)
        room = capacity
        head = next(i for i, n in enumerate(rest) if n)
        rest[head] -= 1
        row[head] += 1
        room -= distinct[head]
        for offered in ([n if draw.random() > LEFT_OUT else 0 for n in rest], rest):
            for i, n in enumerate(_fill(distinct, [min(a, b) for a, b in zip(offered, rest, strict=True)], room)):
                row[i] += n
                rest[i] -= n
                room -= n * distinct[i]
        rows.append(tuple(row))
    return rows


def _fill(distinct: Sequence[int], rest: Sequence[int], capacity: int) -> list[int]:
    """Return the pieces that fill a length fullest."""
    reach = 1
    mask = (1 << (capacity + 1)) - 1
    steps: list[tuple[int, int, int]] = []
    for i, size in enumerate(distinct):
        for k in doublings(min(rest[i], capacity // size)):
            steps.append((i, k, reach))
            reach |= (reach << (k * size)) & mask
            if reach >> capacity:
                break
        if reach >> capacity:
            break
    sum_ = reach.bit_length() - 1
    row = [0] * len(distinct)
    for i, k, before in reversed(steps):
        if not before >> sum_ & 1:
            row[i] += k
            sum_ -= k * distinct[i]
    return row
