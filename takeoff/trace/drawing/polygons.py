"""Polygons of plans: thin or not, joined where they abut, filled by rings; all in sheet points."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Geometry, Polygon

from takeoff.trace.drawing.linework import Flags, Floats, Ints, Linework

Lines = NDArray[np.object_]
_FEW = 200


def polygons_of(shape: Geometry) -> list[Polygon]:
    """Return the polygons of any shape.

    Examples
    --------
    >>> [p.area for p in polygons_of(shapely.union_all([shapely.box(0, 0, 1, 1), shapely.box(5, 0, 7, 1)]))]
    [1.0, 2.0]
    """
    parts = shapely.get_parts(shape)
    return [part for part in parts.tolist() if isinstance(part, Polygon) and part.area > 0]


def joined(shapes: Iterable[Geometry], gap: float) -> Geometry:
    """Unite shapes, with slits narrower than ``gap`` between them closed; corners stay where they are."""
    united = shapely.union_all(shapely.buffer(np.array(list(shapes), object), gap / 2, join_style="mitre"))
    back = shapely.buffer(united, -gap / 2, join_style="mitre")
    if not shapely.is_valid(back):  # the engine's narrowing makes rings that touch themselves
        back = shapely.make_valid(back, method="structure")
    return shapely.simplify(back, gap / 50)


def as_wide(shapes: Sequence[Polygon], width: float) -> Flags:
    """Tell into which polygons a circle of a diameter fits.

    Examples
    --------
    >>> as_wide([shapely.box(0, 0, 9, 1), shapely.box(0, 0, 9, 2)], 1.1).tolist()
    [False, True]
    """
    polygons = np.array(shapes, object)
    area = shapely.area(polygons)
    # no polygon's largest circle is narrower than twice its area over its edge
    flags: Flags = 2 * area >= width * shapely.length(polygons)
    low, high = shapely.bounds(polygons).reshape(-1, 2, 2).transpose(1, 0, 2)
    left = np.flatnonzero(~flags & ((high - low).min(1) >= width) & (area >= math.pi / 4 * width**2))
    flags[left] = ~shapely.is_empty(shapely.buffer(polygons[left], -width / 2, quad_segs=2))
    return flags


def shared(one: Polygon, other: Polygon) -> float:
    """Return what two polygons have in common over what both cover together.

    Examples
    --------
    >>> shared(shapely.box(0, 0, 2, 1), shapely.box(1, 0, 4, 1))
    0.25
    """
    common = one.intersection(other).area if one.intersects(other) else 0.0
    return float(common / (one.area + other.area - common))


def box_sides(box: Geometry) -> Floats:
    """Return the lengths of two sides that meet, of a box that may be turned."""
    lengths: Floats = np.hypot(*np.diff(shapely.get_coordinates(box)[:3], axis=0).T)
    return lengths


def mean_width(shape: Polygon) -> float:
    """Return twice area over perimeter: the width of a long strip.

    Examples
    --------
    >>> round(mean_width(shapely.box(0, 0, 100, 1)), 2)
    0.99
    """
    return float(2 * shape.area / shape.length)


def lengths_inside(lines: Lines, area: Geometry) -> Floats:
    """Return how much of each line lies inside an area of any number of corners.

    The area is taken in tiles of few corners each, so that no line is held against all of it.

    Examples
    --------
    >>> lengths_inside(shapely.linestrings([[[-1, 0.5], [3, 0.5]], [[0, 5], [1, 5]]]), shapely.box(0, 0, 2, 1)).tolist()
    [2.0, 0.0]
    """
    total = np.zeros(len(lines))
    if len(lines) and (tiles := tiles_of(area)):
        which, row = shapely.STRtree(lines).query(tiles, predicate="intersects")
        part = shapely.length(shapely.intersection(lines[row], np.array(tiles, object)[which]))
        np.add.at(total, row, part)
    return total


def tiles_of(area: Geometry) -> list[Polygon]:
    """Part an area into polygons of at most `_FEW` corners, or so small that they are not worth parting."""
    tiles: list[Polygon] = []
    left = [(part, 0) for part in polygons_of(area)]
    while left:
        part, depth = left.pop()
        if shapely.get_num_coordinates(part) <= _FEW or depth > 16:
            tiles.append(part)
            continue
        x0, y0, x1, y1 = part.bounds
        # nothing drawn is likely to run along so odd a cut, where it would count twice
        x, y = x0 + 0.48713 * (x1 - x0), y0 + 0.48713 * (y1 - y0)
        halves = (
            [shapely.box(x0, y0, x, y1), shapely.box(x, y0, x1, y1)]
            if x1 - x0 > y1 - y0
            else [shapely.box(x0, y0, x1, y), shapely.box(x0, y, x1, y1)]
        )
        left.extend((p, depth + 1) for half in halves for p in polygons_of(shapely.intersection(part, half)))
    return tiles


def filled_rings(work: Linework, rows: Ints) -> Lines:
    """Return what each of some rings encloses."""
    start, stop = work.ring_start[rows], work.ring_start[rows + 1]
    points = np.concatenate([np.arange(a, b) for a, b in zip(start, stop, strict=True)])
    owners = np.repeat(np.arange(len(rows)), stop - start)
    shapes: Lines = np.asarray(shapely.polygons(shapely.linearrings(work.ring_points[points], indices=owners)))
    crossed = ~shapely.is_valid(shapes)
    shapes[crossed] = shapely.buffer(shapes[crossed], 0)
    return shapes


def even_odd(shapes: Sequence[Geometry]) -> Geometry:
    """Return what shapes cover an odd number of times."""
    shapes = sorted(shapes, key=lambda s: -s.area)
    tree = shapely.STRtree(shapes)
    inner, outer = tree.query(shapes, predicate="within")
    depth = np.bincount(inner[inner != outer], minlength=len(shapes))
    solid = shapely.union_all([s for s, d in zip(shapes, depth, strict=True) if d % 2 == 0])
    holes = [s for s, d in zip(shapes, depth, strict=True) if d % 2]
    return shapely.difference(solid, shapely.union_all(holes)) if holes else solid


def spans(segments: Floats) -> tuple[Floats, Floats]:
    """Return the unit vectors of rows x0, y0, x1, y1, from one end to the other, and their lengths."""
    d = segments[:, 2:] - segments[:, :2]
    lengths = np.hypot(d[:, 0], d[:, 1])
    return d / np.maximum(lengths, 1e-9)[:, None], lengths


def square_to(u: Floats) -> Floats:
    """Return the vectors square to others."""
    return np.column_stack([-u[:, 1], u[:, 0]])


def edges_of(shape: Geometry) -> tuple[Floats, Ints]:
    """Return the edges of polygons as rows x0, y0, x1, y1, and for each the row of the edge that follows it.

    All are walked with the inside on one hand: where the edge goes by (dx, dy), outside is towards (dy, −dx).
    """
    rows: list[Floats] = []
    following: list[Ints] = []
    count = 0
    for polygon in polygons_of(shape):
        turned = shapely.orient_polygons(polygon)
        for ring in [turned.exterior, *turned.interiors]:
            points = shapely.get_coordinates(ring)
            rows.append(np.column_stack([points[:-1], points[1:]]))
            here = np.arange(count, count + len(points) - 1)
            following.append(np.roll(here, -1))
            count += len(here)
    if not rows:
        return np.zeros((0, 4)), np.zeros(0, np.int64)
    return np.concatenate(rows), np.concatenate(following)
