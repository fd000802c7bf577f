"""Sets of closed intervals on a line, as sorted lists of disjoint (low, high) pairs."""

from __future__ import annotations

from collections.abc import Iterable

Interval = tuple[float, float]


def subtract(low: float, high: float, cuts: Iterable[Interval]) -> list[Interval]:
    """Return what is left of [low, high] after the cuts.

    Examples
    --------
    >>> subtract(0.0, 3.0, [(0.0, 2.1), (2.5, 2.6)])
    [(2.1, 2.5), (2.6, 3.0)]
    """
    out: list[Interval] = []
    at = low
    for a, b in sorted(cuts):
        if a > at:
            out.append((at, min(a, high)))
        at = max(at, b)
        if at >= high:
            break
    if at < high:
        out.append((at, high))
    return [(a, b) for a, b in out if b > a]


def overlap(first: list[Interval], second: list[Interval]) -> list[Interval]:
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
