"""Every piece of the boundary of a net elevation is exactly one of base, top, end, jamb, head or sill."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from takeoff.geometry.intervals import overlap, total
from takeoff.measure.develop import Face
from takeoff.measure.elevation import Geometries, section
from takeoff.measure.settings import ROUNDING

EDGE_CLASSES = ("base", "top", "start", "finish", "jamb", "head", "sill")


def boundary_segments(nets: Geometries) -> tuple[NDArray[np.intp], NDArray[np.float64], NDArray[np.float64]]:
    """Boundary segments of net elevations: owner index (n), starts (n, 2) and ends (n, 2); N lies to their left."""
    parts, owner = shapely.get_parts(nets, return_index=True)
    rings, ring_part = shapely.get_rings(parts, return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    keep = ring[1:] == ring[:-1]
    return owner[ring_part[ring[:-1][keep]]], points[:-1][keep], points[1:][keep]


def edge_lengths(faces: Sequence[Face], nets: Geometries) -> dict[str, NDArray[np.float64]]:
    """Lengths of each edge class per face in metres; "start" and "finish" are the verticals at its two ends.

    Returns
    -------
    dict
        Class to array (len(faces),). The classes sum to the perimeter of each net elevation. At a closed face's first
        vertex only what is coated on both sides is "start" and "finish"; the rest is jamb or, at a step, top.
    """
    n = len(faces)
    owner, a, b = boundary_segments(nets)
    lengths = np.hypot(*(b - a).T)
    length = np.array([f.length for f in faces])[owner]
    base = np.array([f.run.base for f in faces])[owner]
    level = np.array([f.profile[0][1] if len(f.profile) == 1 else np.nan for f in faces])[owner]
    eps = ROUNDING

    def both(values: NDArray[np.float64], target: NDArray[np.float64] | float) -> NDArray[np.bool_]:
        return np.asarray((np.abs(values[0] - target) < eps) & (np.abs(values[1] - target) < eps))

    xs, zs = np.array([a[:, 0], b[:, 0]]), np.array([a[:, 1], b[:, 1]])
    dx = xs[1] - xs[0]
    upright = np.abs(dx) < eps
    is_base = both(zs, base) & (dx > 0)
    is_start, is_finish = both(xs, 0.0) & upright, both(xs, length) & upright
    is_top = both(zs, level) & (dx < 0)
    sloped = np.flatnonzero(np.isnan(level) & ~is_base & ~is_start & ~is_finish)
    for i in sloped:
        is_top[i] = _lies_on_top(faces[owner[i]], xs[:, i], zs[:, i])
    taken = is_base | is_start | is_finish | is_top
    masks = {
        "base": is_base,
        "top": is_top & ~is_base,
        "start": is_start & ~is_top,
        "finish": is_finish & ~is_top & ~is_start,
        "jamb": upright & ~taken,
        "head": (dx > 0) & ~upright & ~taken,
        "sill": (dx < 0) & ~upright & ~taken,
    }
    out = {k: np.bincount(owner[m], weights=lengths[m], minlength=n).astype(np.float64) for k, m in masks.items()}
    for k, face in enumerate(faces):
        if face.run.closed and (face.openings or len(face.profile) > 1):
            shared, riser = _seam(face)
            rest = out["start"][k] + out["finish"][k] - 2.0 * shared - riser
            out["start"][k] = out["finish"][k] = shared
            out["top"][k] += riser
            out["jamb"][k] += max(float(rest), 0.0)
    return out


def _seam(face: Face) -> tuple[float, float]:
    """Length coated on both sides of a closed face's first vertex, and of the step in its top there."""
    first, last = section(face, 0.0, +1), section(face, face.length, -1)
    low, high = sorted((face.heights_at(0.0)[1], face.heights_at(face.length)[0]))
    return total(overlap(first, last)), total(overlap(first + last, [(low, high)]))


def _lies_on_top(face: Face, x: NDArray[np.float64], z: NDArray[np.float64]) -> bool:
    """Tell whether both ends of a segment lie on a face's top line, a step's riser included."""
    eps = ROUNDING * 10.0
    if abs(x[1] - x[0]) < ROUNDING:
        steps = [face.heights_at(s) for s, _ in face.profile if abs(s - x[0]) < eps]
        return any(min(h) - eps <= min(z) and max(z) <= max(h) + eps and h[0] != h[1] for h in steps)
    if x[1] > x[0]:
        return False
    middle = face.heights_at(float(x.mean()))[0]
    return bool(abs(middle - z.mean()) < eps)
