"""Thin ink of a picture as chains of pixels: thinned to one pixel, and cut where strokes meet.

Coordinates are pixels, the middle of the first at 0.
"""

from __future__ import annotations

from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray

from takeoff.trace.drawing.linework import Floats, Ints

Mask = NDArray[np.uint8]

_AROUND = np.array([[1, 2, 4], [128, 0, 8], [64, 32, 16]], np.float32)
_PASSES = 12
"""Pixels; half the width of the widest stroke that is thinned to its middle."""


@cache
def _tables() -> tuple[Mask, Mask, Mask]:
    """Return by the code of a pixel's neighbours whether either half of a pass takes it, and how often ink begins.

    Z. Guo and R. W. Hall, Parallel thinning with two-subiteration algorithms, Communications of the ACM 32 (1989).
    """
    taken = np.zeros((2, 256), np.uint8)
    begins = np.zeros(256, np.uint8)
    for code in range(256):
        p2, p3, p4, p5, p6, p7, p8, p9 = ((code >> k) & 1 for k in (1, 2, 3, 4, 5, 6, 7, 0))
        ring = (p2, p3, p4, p5, p6, p7, p8, p9)
        begins[code] = sum(not ring[i - 1] and ring[i] for i in range(8))
        parts = sum(not a and (b or c) for a, b, c in ((p2, p3, p4), (p4, p5, p6), (p6, p7, p8), (p8, p9, p2)))
        near = min(
            (p9 | p2) + (p3 | p4) + (p5 | p6) + (p7 | p8),
            (p2 | p3) + (p4 | p5) + (p6 | p7) + (p8 | p9),
        )
        for half, holds in enumerate(((p6 | p7 | (1 - p9)) & p8, (p2 | p3 | (1 - p5)) & p4)):
            taken[half, code] = parts == 1 and 2 <= near <= 3 and not holds
    return taken[0], taken[1], begins


def _codes(mask: Mask) -> Mask:
    return np.asarray(cv2.filter2D(mask, cv2.CV_8U, _AROUND, borderType=cv2.BORDER_CONSTANT), np.uint8)


def thinned(mask: Mask) -> Mask:
    """Return the middles of the strokes of a mask of 0 and 1."""
    kept = mask.copy()
    first, second, _ = _tables()
    for _ in range(_PASSES):
        before = cv2.countNonZero(kept)
        for table in (first, second):
            kept -= np.asarray(cv2.LUT(_codes(kept), table) & kept, np.uint8)
        if cv2.countNonZero(kept) == before:
            break
    return kept


def chains_of(middles: Mask) -> list[tuple[Floats, bool]]:
    """Return the chains between ends and meetings of what is one pixel wide, each with whether it is a closed ring.

    A chain that ends at a meeting ends at its middle.
    """
    nodes = np.asarray((cv2.LUT(_codes(middles), _tables()[2]) >= 3) & (middles > 0), np.uint8)
    grown = cv2.dilate(nodes, np.ones((3, 3), np.uint8))
    count, labels = cv2.connectedComponents(grown, connectivity=8)
    ys, xs = np.nonzero(nodes)
    owner = labels[ys, xs]
    size = np.maximum(np.bincount(owner, minlength=count), 1)
    places = np.column_stack([np.bincount(owner, at, count) / size for at in (xs, ys)])
    found, tree = cv2.findContours(middles & (1 - grown), cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    chains: list[tuple[Floats, bool]] = []
    for contour, row in zip(found, [] if tree is None else tree[0], strict=True):
        if row[3] >= 0:  # the inner side of a ring
            continue
        walk = np.asarray(contour[:, 0, :], np.int64)
        if len(walk) > 8 and len(np.unique(walk, axis=0)) > 0.8 * len(walk):
            chains.append((walk.astype(np.float64), True))
            continue
        chain = _one_way(walk)
        ends = [_meetings(labels, chain[k]) for k in (0, -1)]
        if len(chain) == 1 and len(ends[0]) > 1:
            ends = [ends[0][:1], ends[0][1:]]
        first, last = (places[end[:1]] for end in ends)
        whole = np.concatenate([first, chain, last])
        if len(whole) > 1:
            chains.append((whole, False))
    return chains


def _one_way(walk: Ints) -> Ints:
    """Return a line that a contour goes along there and back, once from end to end."""
    turns = np.flatnonzero((np.roll(walk, 1, 0) == np.roll(walk, -1, 0)).all(1))
    start = int(turns[0]) if len(turns) else int(np.argmax(((walk - walk.mean(0)) ** 2).sum(1)))
    walk = np.roll(walk, -start, axis=0)
    back = (turns[1:] - start) % len(walk)
    if len(back):
        stop = int(back[np.argmin(np.abs(back - len(walk) // 2))])
    else:
        stop = int(np.argmax(((walk - walk[0]) ** 2).sum(1)))
    return walk[: stop + 1]


def _meetings(labels: Ints, at: Ints) -> Ints:
    """Return the numbers of the meetings beside a pixel."""
    x, y = int(at[0]), int(at[1])
    near = np.unique(labels[max(0, y - 1) : y + 2, max(0, x - 1) : x + 2])
    return np.asarray(near[near > 0], np.int64)
