"""Which of many points and lines lie near one another. Same frame as ``arcs``."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

FEW = 50
"""Points that moved since the last search up to which only theirs is done again."""


class NearPairs:
    """Which points lie near one another, found again after some of them moved."""

    def __init__(self) -> None:
        self._at = np.empty((0, 2))
        self._reach = 0.0
        self._pairs = np.empty((0, 2), dtype=np.intp)

    def of(self, at: NDArray[np.float64], reach: float) -> NDArray[np.intp]:
        """Find the pairs of points (n, 2) within reach: (m, 2) indices, nearest pair first, then in order.

        Examples
        --------
        >>> near = NearPairs()
        >>> at = np.array([(0.0, 0.0), (9.0, 0.0), (0.0, 0.3), (0.1, 0.0)])
        >>> near.of(at, 0.4).tolist()
        [[0, 3], [0, 2], [2, 3]]
        """
        both = min(len(at), len(self._at))
        moved = np.append(np.flatnonzero((at[:both] != self._at[:both]).any(axis=1)), np.arange(both, len(at)))
        if reach == self._reach and len(moved) <= FEW:
            stay = (self._pairs < len(at)).all(axis=1) & ~np.isin(self._pairs, moved).any(axis=1)
            near = [np.flatnonzero(np.hypot(*(at - at[i]).T) <= reach) for i in moved]
            first, second = np.repeat(moved, [len(k) for k in near]), np.concatenate([*near, moved[:0]])
            found = np.unique(np.sort(np.stack([first, second], axis=1)[first != second], axis=1), axis=0)
            pairs = np.concatenate([self._pairs[stay], found])
        else:
            points = shapely.points(at)
            first, second = shapely.STRtree(points).query(points, predicate="dwithin", distance=reach)
            pairs = np.stack([first, second], axis=1)[first < second]
        distance = np.hypot(*(at[pairs[:, 0]] - at[pairs[:, 1]]).T)
        order = np.lexsort((pairs[:, 1], pairs[:, 0], distance))
        self._at, self._reach, self._pairs = at, reach, pairs[order[distance[order] <= reach]]
        return self._pairs


def cut_slanted(chords: NDArray[np.float64], longest: float) -> NDArray[np.float64]:
    """Cut chords (n, 2, 2) into pieces whose bounds are no wider than ``longest`` one way or the other.

    A slanted line fills bounds that many others lie in; upright and level ones stay whole. The pieces are (m, 2, 2).

    Examples
    --------
    >>> cut_slanted(np.array([[(0.0, 0.0), (9.0, 0.0)], [(0.0, 0.0), (3.0, 4.0)]]), 1.5).tolist()
    [[[0.0, 0.0], [9.0, 0.0]], [[0.0, 0.0], [1.5, 2.0]], [[1.5, 2.0], [3.0, 4.0]]]
    """
    start, way = chords[:, 0], chords[:, 1] - chords[:, 0]
    count = np.maximum(np.ceil(np.abs(way).min(axis=1) / longest), 1.0).astype(np.intp)
    of = np.repeat(np.arange(len(chords)), count)
    rank = np.arange(len(of)) - np.repeat(np.cumsum(count) - count, count)
    low, high = rank / count[of], (rank + 1) / count[of]
    ends = [start[of] + low[:, None] * way[of], start[of] + high[:, None] * way[of]]
    ends[1][high == 1.0] = chords[of[high == 1.0], 1]
    return np.stack(ends, axis=1)
