"""Net elevations of rectangles whose rectangular openings stand side by side, built from their corners.

This is what the set operation gives, at a fraction of its time: an opening on the base is a notch in the outline, any
other a hole. Faces with openings that touch or overlap each other, an end or the top are left to the set operation.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from takeoff.measure.develop import Face
from takeoff.measure.settings import ROUNDING


def side_by_side_nets(faces: Sequence[Face]) -> NDArray[np.object_]:
    """Net elevations of faces with openings, ``None`` for those that need the set operation.

    Outlines run counter-clockwise and holes clockwise.
    """
    n = len(faces)
    nets: NDArray[np.object_] = np.full(n, None, dtype=object)
    flat = [o for f in faces for o in f.openings]
    if not flat:
        return nets
    owner = np.repeat(np.arange(n), [len(f.openings) for f in faces])
    x0, x1, z0, z1 = np.array([(o.x0, o.x1, o.z0, o.z1) for o in flat]).T
    length = np.array([f.length for f in faces])
    base = np.array([f.run.base for f in faces])
    top = np.array([f.profile[0][1] for f in faces])
    order = np.lexsort((x0, owner))
    owner, x0, x1, z0, z1 = owner[order], x0[order], x1[order], z0[order], z1[order]
    is_first = np.append(True, owner[1:] != owner[:-1])
    before = np.where(is_first, 0.0, np.roll(x1, 1))
    is_notch = z0 == base[owner]
    is_apart = (x0 > before + ROUNDING) & (x1 < length[owner] - ROUNDING)
    is_apart &= (z1 < top[owner] - ROUNDING) & (is_notch | (z0 > base[owner] + ROUNDING))
    fits = np.array([len(f.profile) == 1 and bool(f.openings) for f in faces])
    fits[owner[~is_apart]] = False
    fits[[i for i, f in enumerate(faces) if any(o.source.outline is not None for o in f.openings)]] = False
    chosen = np.flatnonzero(fits)
    if not len(chosen):
        return nets
    place = np.full(n, -1)
    place[chosen] = np.arange(len(chosen))
    keep = fits[owner]
    owner, x0, x1, z0, z1, is_notch = place[owner[keep]], x0[keep], x1[keep], z0[keep], z1[keep], is_notch[keep]
    outlines = _outlines(
        length[chosen], base[chosen], top[chosen], owner[is_notch], x0[is_notch], x1[is_notch], z1[is_notch]
    )
    a0, a1, c0, c1 = x0[~is_notch], x1[~is_notch], z0[~is_notch], z1[~is_notch]
    holes = shapely.linearrings(np.stack([a0, c0, a0, c1, a1, c1, a1, c0, a0, c0], axis=1).reshape(-1, 5, 2))
    rings = np.concatenate([outlines, holes])
    of = np.concatenate([np.arange(len(chosen)), owner[~is_notch]])
    order = np.argsort(of, kind="stable")  # an outline first, then its holes
    nets[chosen] = shapely.polygons(rings[order], indices=of[order])
    return nets


def _outlines(
    length: NDArray[np.float64],
    base: NDArray[np.float64],
    top: NDArray[np.float64],
    owner: NDArray[np.intp],
    x0: NDArray[np.float64],
    x1: NDArray[np.float64],
    z1: NDArray[np.float64],
) -> NDArray[np.object_]:
    """Rectangles with notches in their lower side; notches in order of owner and place."""
    n = len(length)
    notches = np.bincount(owner, minlength=n)
    size = 5 + 4 * notches
    start = np.cumsum(size) - size
    points = np.empty((int(size.sum()), 2))
    points[start] = np.stack([np.zeros(n), base], axis=1)
    rank = np.arange(len(owner)) - np.repeat(np.cumsum(notches) - notches, notches)
    at = start[owner] + 1 + 4 * rank
    low = base[owner]
    for step, (x, z) in enumerate(((x0, low), (x0, z1), (x1, z1), (x1, low))):
        points[at + step] = np.stack([x, z], axis=1)
    end = start + 1 + 4 * notches
    zero = np.zeros(n)
    for step, (x, z) in enumerate(((length, base), (length, top), (zero, top), (zero, base))):
        points[end + step] = np.stack([x, z], axis=1)
    return np.asarray(shapely.linearrings(points, indices=np.repeat(np.arange(n), size)), dtype=object)
