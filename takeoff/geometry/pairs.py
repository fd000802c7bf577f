"""Which of many points and lines lie near one another, and what hangs together. Same frame as ``arcs``."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
AT_ONCE = 500
"""Rows whose neighbours are looked for at once: where tens of thousands of short lines lie together, a tree finds
thousands for each, and all of them at once would not fit in memory."""


def pairs_within(first: Floats, second: Floats, reach: float) -> tuple[Ints, Ints, Floats]:
    """Find every pair of points, one of each set, that lie within ``reach`` of one another.

    ``first`` and ``second``: points in one frame, shapes (n, d) and (m, d) with d of 2 or more. The first two
    coordinates are looked up in a tree; the others only narrow what it finds, so put first what tells the points apart
    best. Gives the rows of ``first``, those of ``second`` and the distances, one for each pair, in the order of the
    rows.

    Examples
    --------
    >>> here, there = np.array([[0.0, 0.0], [9.0, 0.0]]), np.array([[0.0, 1.0], [0.0, 5.0]])
    >>> [part.tolist() for part in pairs_within(here, there, 2.0)]
    [[0], [0], [1.0]]
    """
    found = list(_pairs(first, second, reach))
    a, b, distance = (np.concatenate(part) for part in zip(*found, strict=True))
    return a, b, distance


def are_within(first: Floats, second: Floats, reach: float) -> NDArray[np.bool_]:
    """Tell of each point whether one of another set lies near it; parameters as for `pairs_within`."""
    are_near = np.zeros(len(first), bool)
    for a, _, _ in _pairs(first, second, reach):
        are_near[a] = True
    return are_near


def _pairs(first: Floats, second: Floats, reach: float) -> Iterator[tuple[Ints, Ints, Floats]]:
    """Yield the pairs of `AT_ONCE` rows after another; one part at the least."""
    tree = shapely.STRtree(shapely.points(second[:, :2]))
    for begin in range(0, max(len(first), 1), AT_ONCE):
        a, b = tree.query(shapely.points(first[begin : begin + AT_ONCE, :2]), predicate="dwithin", distance=reach)
        distance = np.sqrt(((first[a + begin] - second[b]) ** 2).sum(axis=1))
        near = distance <= reach
        order = np.lexsort((b[near], a[near]))
        yield a[near][order] + begin, b[near][order], distance[near][order]


def nearest_within(first: Floats, second: Floats, reach: float) -> tuple[Floats, Ints]:
    """Find for each point the nearest one of another set.

    ``first``, ``second`` and ``reach``: as for `pairs_within`. Gives the distance (infinite where none lies within
    ``reach``) and row of ``second`` (-1 there), one for each of ``first``; of two equally near the earlier row.
    """
    a, b, distance = pairs_within(first, second, reach)
    off, row = np.full(len(first), np.inf), np.full(len(first), -1, np.int64)
    order = np.lexsort((b, distance, a))
    who, start = np.unique(a[order], return_index=True)
    off[who], row[who] = distance[order][start], b[order][start]
    return off, row


def linked_groups(count: int, a: Ints, b: Ints) -> Ints:
    """Number the groups of things that hang together by links, in the order of their first members.

    Examples
    --------
    >>> linked_groups(5, np.array([0, 3]), np.array([2, 4])).tolist()
    [0, 1, 0, 2, 2]
    """
    group = np.arange(count)
    while True:
        least = np.minimum(group[a], group[b])
        merged = group.copy()
        np.minimum.at(merged, group[a], least)
        np.minimum.at(merged, group[b], least)
        merged = merged[merged]
        if np.array_equal(merged, group):
            return np.unique(group, return_inverse=True)[1].astype(np.int64)
        group = merged


def near_pairs(at: NDArray[np.float64], reach: float) -> NDArray[np.intp]:
    """Find the pairs of points (n, 2) within reach: (m, 2) indices, nearest pair first, then in order.

    Examples
    --------
    >>> near_pairs(np.array([(0.0, 0.0), (9.0, 0.0), (0.0, 0.3), (0.1, 0.0)]), 0.4).tolist()
    [[0, 3], [0, 2], [2, 3]]
    """
    points = shapely.points(at)
    first, second = shapely.STRtree(points).query(points, predicate="dwithin", distance=reach)
    pairs = np.stack([first, second], axis=1)[first < second]
    distance = np.hypot(*(at[pairs[:, 0]] - at[pairs[:, 1]]).T)
    order = np.lexsort((pairs[:, 1], pairs[:, 0], distance))
    return np.asarray(pairs[order[distance[order] <= reach]])
