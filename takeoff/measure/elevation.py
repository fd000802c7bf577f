"""Polygons of developed faces: the wall W, the net N = W − ∪ openings, what is left of N on a vertical, its edges.

Every piece of the boundary of N is exactly one of base, top, end, jamb, head or sill.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from takeoff.geometry.intervals import Interval, overlap, total, without
from takeoff.measure.develop import Face
from takeoff.measure.rules import ROUNDING
from takeoff.model.figures import PlacedOpening

Geometries = NDArray[np.object_]


def _wall(face: Face) -> shapely.Geometry:
    """Polygon of a face whose top is not level, or is level over one height pair only."""
    length, base = face.length, face.run.base
    inner = [p for p in face.profile if 0.0 < p[0] < length]
    top = [(0.0, face.heights_at(0.0)[1]), *inner, (length, face.heights_at(length)[0])]
    if min(h for _, h in top) > base:
        return shapely.Polygon([(0.0, base), *top, (length, base)])
    floor = min(h for _, h in top) - 1.0
    whole = shapely.Polygon([(0.0, floor), *top, (length, floor)])
    return shapely.intersection(whole, shapely.box(0.0, base, length, max(h for _, h in top) + 1.0))


def opening_polygon(opening: PlacedOpening) -> shapely.Geometry:
    """Polygon of a placed opening; an outlined one is stretched to its placed width."""
    outline = opening.source.outline
    if outline is None:
        return shapely.box(opening.x0, opening.z0, opening.x1, opening.z1)
    x0, x1, z0, z1 = opening.x0, opening.x1, opening.z0, opening.z1
    half, high = opening.source.width / 2.0, opening.source.height
    middle, stretch = (x0 + x1) / 2.0, (x1 - x0) / opening.source.width

    def across(u: float) -> float:
        return (x1 if u > 0 else x0) if half - abs(u) < ROUNDING else middle + u * stretch

    def up(v: float) -> float:
        return z0 if v < ROUNDING else z1 if high - v < ROUNDING else z0 + v

    return shapely.Polygon([(across(u), up(v)) for u, v in outline])


def elevations(faces: Sequence[Face]) -> tuple[Geometries, Geometries]:
    """Walls and net areas of faces, built for all of them at once.

    Gives W and N per face, in (station, height) metres; rings run counter-clockwise.
    """
    n = len(faces)
    walls: Geometries = np.empty(n, dtype=object)
    level = [len(f.profile) == 1 for f in faces]
    plain = [i for i in range(n) if level[i]]
    if plain:
        walls[plain] = shapely.box(
            np.zeros(len(plain)),
            np.array([faces[i].run.base for i in plain]),
            np.array([faces[i].length for i in plain]),
            np.array([faces[i].profile[0][1] for i in plain]),
        )
    for i in range(n):
        if not level[i]:
            walls[i] = _wall(faces[i])
    nets = walls.copy()
    cut = [i for i in range(n) if faces[i].openings]
    if cut:
        flat = [o for i in cut for o in faces[i].openings]
        shapes = shapely.box([o.x0 for o in flat], [o.z0 for o in flat], [o.x1 for o in flat], [o.z1 for o in flat])
        for k, o in enumerate(flat):
            if o.source.outline is not None:
                shapes[k] = opening_polygon(o)
        counts = np.array([len(faces[i].openings) for i in cut])
        table: Geometries = np.full((len(cut), counts.max()), None, dtype=object)
        rows = np.repeat(np.arange(len(cut)), counts)
        columns = np.arange(len(flat)) - np.repeat(np.cumsum(counts) - counts, counts)
        table[rows, columns] = shapes
        nets[cut] = shapely.difference(walls[cut], shapely.union_all(table, axis=1))
    return walls, shapely.orient_polygons(nets)


def section(face: Face, station: float, side: int) -> list[Interval]:
    """What is coated on the vertical just before (``side`` −1) or just after (+1) a station, as height intervals."""
    before, after = face.heights_at(station)
    top = before if side < 0 else after
    cuts: list[Interval] = []
    for o in face.openings:
        if (o.x0 < station <= o.x1) if side < 0 else (o.x0 <= station < o.x1):
            if o.source.outline is None:
                cuts.append((o.z0, o.z1))
            else:
                shape = opening_polygon(o)
                x = station + side * 1e-9 * max(1.0, face.length)
                line = shapely.intersection(shape, shapely.LineString([(x, o.z0 - 1.0), (x, o.z1 + 1.0)]))
                for part in shapely.get_parts(line):
                    _, low, _, high = shapely.bounds(part)
                    cuts.append((float(low), float(high)))
    return [] if top <= face.run.base else without([(face.run.base, top)], cuts)


def shared_section(face: Face, index: int) -> list[Interval]:
    """What is coated on both sides of the vertical at a vertex (a closed face's first vertex meets its last)."""
    if index == 0:
        return overlap(section(face, face.length, -1), section(face, 0.0, +1))
    return overlap(section(face, face.stations[index], -1), section(face, face.stations[index], +1))


def boundary_segments(nets: Geometries) -> tuple[NDArray[np.intp], NDArray[np.float64], NDArray[np.float64]]:
    """Boundary segments of net elevations: owner index (n), starts (n, 2) and ends (n, 2); N lies to their left."""
    parts, owner = shapely.get_parts(nets, return_index=True)
    rings, ring_part = shapely.get_rings(parts, return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    keep = ring[1:] == ring[:-1]
    return owner[ring_part[ring[:-1][keep]]], points[:-1][keep], points[1:][keep]


def edge_lengths(faces: Sequence[Face], nets: Geometries) -> dict[str, NDArray[np.float64]]:
    """Lengths of each edge class per face in metres; "start" and "finish" are the verticals at its two ends.

    Gives an array (len(faces),) by class. The classes sum to the perimeter of each net elevation. At a closed face's
    first vertex only what is coated on both sides is "start" and "finish"; the rest is jamb or, at a step, top.
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
