"""Sets of closed intervals on a line, as lists of disjoint (low, high) pairs in their order."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

Interval = tuple[float, float]


def united(intervals: Iterable[Interval], gap: float = 0.0) -> list[Interval]:
    """Join intervals that overlap or lie within a gap of one another; they may come in any order.

    Examples
    --------
    >>> united([(2.0, 3.0), (0.0, 1.0), (0.5, 1.5)])
    [(0.0, 1.5), (2.0, 3.0)]
    """
    out: list[Interval] = []
    for a, b in sorted(intervals):
        if out and a <= out[-1][1] + gap:
            out[-1] = (out[-1][0], max(out[-1][1], b))
        else:
            out.append((a, b))
    return out


def without(first: Sequence[Interval], second: Iterable[Interval]) -> list[Interval]:
    """Return what lies in the first set and not in the second.

    Examples
    --------
    >>> without([(0.0, 10.0)], [(2.0, 3.0), (5.0, 6.0)])
    [(0.0, 2.0), (3.0, 5.0), (6.0, 10.0)]
    """
    left = list(first)
    for low, high in second:
        pieces = [piece for a, b in left for piece in ((a, min(b, low)), (max(a, high), b))]
        left = [(a, b) for a, b in pieces if b > a]
    return left


def overlap(first: Sequence[Interval], second: Sequence[Interval]) -> list[Interval]:
    """Return what two sets share.

    Examples
    --------
    >>> overlap([(0.0, 2.0)], [(1.0, 3.0)])
    [(1.0, 2.0)]
    """
    return [(max(a, c), min(b, d)) for a, b in first for c, d in second if min(b, d) > max(a, c)]


def total(intervals: Iterable[Interval]) -> float:
    """Sum of the lengths."""
    return sum(b - a for a, b in intervals)
