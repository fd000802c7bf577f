"""Signs on a drawing that a room has an opening which was not read."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import Geometry, Polygon

from takeoff.geometry.intervals import united, without
from takeoff.trace.drawing.linework import Floats, Ints
from takeoff.trace.drawing.polygons import Lines, lengths_inside, polygons_of, spans, square_to
from takeoff.trace.lines.gap_contents import FRAME
from takeoff.trace.lines.gaps import Gap
from takeoff.trace.lines.opening_forms import SLOT, FoundOpening
from takeoff.trace.lines.scene import Scene
from takeoff.trace.lines.wall_material import THICK
from takeoff.trace.lines.wall_openings import LEAST_AREA

_FACE_M, _THINNER = 0.04, 0.6
"""Metres from an outline within which a line draws it, and the share of the pen of its walls that a thinner one has
(judgement)."""
_NECK_M = 3.0
"""Metres between two ends of walls up to which a room that goes on there may be two (judgement)."""


def faint_side(shape: Polygon, rows: Ints, openings: Sequence[FoundOpening], inside: Geometry, scene: Scene) -> float:
    """Return the longest part of a side that is drawn in a thinner pen than both its ends, in sheet points.

    A whole side counts where nothing of the building is behind it: partitions are often drawn thinner than other
    walls, outer walls are not. ``rows`` are the pieces of lines near it that may draw its walls; a fill has its edge
    for a face. ``inside`` is what lies within the building.
    """
    reach, face = scene.pt(_FACE_M), shape.exterior
    shapely.prepare(face)
    rows = rows[shapely.dwithin(face, shapely.linestrings(scene.pieces.segments[rows].reshape(-1, 2, 2)), reach)]
    path = scene.pieces.path[rows]
    widths = np.where(scene.linework.filled[path], np.inf, scene.linework.width[path])
    if not len(rows) or np.isinf(widths.min()) or widths.min() > _THINNER * widths.max():
        return 0.0
    ring = shapely.get_coordinates(face)
    sides = np.column_stack([ring[:-1], ring[1:]])
    sides = sides[spans(sides)[1] > 4 * reach]
    reaches = shapely.STRtree(shapely.linestrings(scene.pieces.segments[rows].reshape(-1, 2, 2)))
    pairs = reaches.query(shapely.linestrings(sides.reshape(-1, 2, 2)), "dwithin", 1.01 * reach)
    side, own, low, high = _along(sides, scene.pieces.segments[rows].reshape(-1, 2, 2), pairs, reach)
    pens, number = np.unique(widths, return_inverse=True)
    is_heavy = widths > _THINNER * pens[np.bincount(number[own], high - low, len(pens)).argmax()]
    bands = np.array([shapely.get_coordinates(o.gap.band)[:4] for o in openings]).reshape(-1, 4, 2)
    every = np.indices((len(sides), len(bands))).reshape(2, -1)
    beside, _, start, end = _along(sides, bands, every, reach, is_whole=False)
    filled = np.column_stack([start - scene.pt(FRAME), end + scene.pt(FRAME)])
    longest = 0.0
    for i in np.unique(side[~is_heavy[own]]).tolist():
        thin, heavy = (np.column_stack([low, high])[(side == i) & (is_heavy[own] == is_so)] for is_so in (False, True))
        end_pt = float(np.hypot(*(sides[i, 2:] - sides[i, :2]))) - 2 * reach
        rest = np.concatenate([heavy, filled[beside == i]])
        parts = without(united(thin.tolist(), reach), united(rest.tolist(), reach))
        whole = not _is_inner(sides[i], inside, scene)
        told = [(a, b) for a, b in parts if (a > 2 * reach and b < end_pt) or (whole and b - a > end_pt)]
        longest = max([longest, *(b - a for a, b in told)])
    return longest


def _is_inner(side: Floats, inside: Geometry, scene: Scene) -> bool:
    """Tell whether the building goes on behind the wall of a side."""
    (u,), middle = spans(side[None])[0], (side[:2] + side[2:]) / 2
    off = np.array([-u[1], u[0]]) * scene.pt(THICK + _FACE_M)
    return bool(shapely.contains_xy(inside, np.array([middle + off, middle - off])).all())


def _along(
    sides: Floats, shapes: Floats, pairs: Ints, reach: float, *, is_whole: bool = True
) -> tuple[Ints, Ints, Floats, Floats]:
    """Return the pairs of a side and a shape (n, corners, 2) on it, and from where to where on the side the shape lies.

    All of a shape is on the side, or a corner at least. ``pairs`` are those that are asked about.
    """
    (side, own), (u, length) = pairs, spans(sides)
    away = shapes[own] - sides[side, None, :2]
    off = np.abs((away * square_to(u)[side, None]).sum(2)) <= reach
    along = np.clip((away * u[side, None]).sum(2), 0.0, length[side, None])
    low, high = along.min(1), along.max(1)
    fits = (off.all(1) if is_whole else off.any(1)) & (high > low)
    return side[fits], own[fits], low[fits], high[fits]


def untold_length(lines: Lines, walls: Geometry, openings: Sequence[FoundOpening], scene: Scene) -> float:
    """Return how long lines on layers for doors or glass run inside walls and in no opening, in sheet points."""
    bands = [shapely.buffer(o.gap.band, scene.pt(FRAME)) for o in openings if o.gap.band.intersects(walls)]
    core = shapely.difference(shapely.buffer(walls, -scene.pt(0.02)), shapely.union_all(bands))
    return float(lengths_inside(lines, core).sum())


def has_necks(shape: Polygon, gaps: Sequence[Gap], scene: Scene) -> bool:
    """Tell whether a room goes on through a gap between two ends of walls, with as much as a room behind it."""
    least, metre = LEAST_AREA * scene.pt(1.0) ** 2, scene.pt(1.0)
    doors = [gap for gap in gaps if SLOT * metre <= gap.width_pt <= _NECK_M * metre]
    inside = shapely.contains_xy(shape, np.array([gap.middle_pt for gap in doors]).reshape(-1, 2))
    for gap, is_inside in zip(doors, inside.tolist(), strict=True):
        parts = polygons_of(shapely.difference(shape, gap.band)) if is_inside else []
        if sum(part.area > least for part in parts) > 1:
            return True
    return False
