"""Boxes by key, found by place, of which some may be replaced at any time."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from typing import Generic, TypeVar

import numpy as np
import shapely
from numpy.typing import NDArray

Box = tuple[float, float, float, float]
Key = TypeVar("Key", bound=Hashable)

LOOSE = 64
"""Boxes put or removed since the tree was built from which it is worth building anew."""


class BoxIndex(Generic[Key]):
    """A packed tree of boxes (x0, y0, x1, y1); boxes put since it was built are looked at one by one."""

    def __init__(self, boxes: Mapping[Key, Box]) -> None:
        """Index boxes by key."""
        self._boxes: dict[Key, Box] = dict(boxes)
        self._build()

    def _build(self) -> None:
        self._keys = list(self._boxes)
        self._tree = shapely.STRtree(_shapes(self._boxes.values()))
        self._loose: dict[Key, None] = {}
        self._stale: set[Key] = set()

    def __contains__(self, key: Key) -> bool:
        """Tell whether there is a box of a key."""
        return key in self._boxes

    def put(self, key: Key, box: Box) -> None:
        """Put a box in, in place of the key's former one."""
        self._boxes[key] = box
        self._loose[key] = None
        self._stale.add(key)

    def remove(self, key: Key) -> None:
        """Take a box out."""
        del self._boxes[key]
        self._loose.pop(key, None)
        self._stale.add(key)

    def near(self, boxes: Iterable[Box]) -> set[Key]:
        """Keys of the boxes that touch any of some boxes."""
        if len(self._stale) > LOOSE:
            self._build()
        wanted = list(boxes)
        if not wanted:
            return set()
        hits = np.unique(self._tree.query(_shapes(wanted))[1]).tolist()
        found = {key for key in (self._keys[i] for i in hits) if key not in self._stale}
        for key in self._loose:
            x0, y0, x1, y1 = self._boxes[key]
            if any(x0 <= b[2] and b[0] <= x1 and y0 <= b[3] and b[1] <= y1 for b in wanted):
                found.add(key)
        return found


def _shapes(boxes: Iterable[Box]) -> NDArray[np.object_]:
    table = np.array(list(boxes), dtype=float).reshape(-1, 4)
    return np.asarray(shapely.box(table[:, 0], table[:, 1], table[:, 2], table[:, 3]), dtype=object)
