"""Polygons of developed faces: the wall W, the net N = W − ∪ openings, and what is left of N on a vertical."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from takeoff.geometry.intervals import Interval, overlap, subtract
from takeoff.measure.develop import Face
from takeoff.measure.settings import ROUNDING
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

    Returns
    -------
    tuple of arrays
        W and N per face, in (station, height) metres; rings run counter-clockwise.
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
    if top <= face.run.base:
        return []
    return subtract(face.run.base, top, cuts) if cuts else [(face.run.base, top)]


def shared_section(face: Face, index: int) -> list[Interval]:
    """What is coated on both sides of the vertical at a vertex (a closed face's first vertex meets its last)."""
    if index == 0:
        return overlap(section(face, face.length, -1), section(face, 0.0, +1))
    return overlap(section(face, face.stations[index], -1), section(face, face.stations[index], +1))
