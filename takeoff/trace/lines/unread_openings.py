"""Signs on a drawing that a room has an opening which was not read."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import Geometry, Polygon

from takeoff.trace.drawing.linework import Ints
from takeoff.trace.drawing.polygons import lengths_inside, polygons_of
from takeoff.trace.lines.gap_contents import FRAME
from takeoff.trace.lines.gaps import Gap
from takeoff.trace.lines.opening_forms import SLOT, FoundOpening
from takeoff.trace.lines.scene import Scene
from takeoff.trace.lines.wall_openings import LEAST_AREA

_FACE_M, _THINNER = 0.04, 0.6
"""Metres from an outline within which a line draws it, and the share of the pen of its walls that a thinner one has
(judgement)."""
_NECK_M = 3.0
"""Metres between two ends of walls up to which a room that goes on there may be two (judgement)."""


def faint_side(shape: Polygon, rows: Ints, openings: Sequence[FoundOpening], scene: Scene) -> float:
    """Return the longest part of a side that is drawn in a thinner pen than both its ends, in sheet points.

    ``rows`` are the pieces of lines near it that may draw its walls; a fill has its edge for a face.
    """
    reach = scene.pt(_FACE_M)
    strokes = shapely.linestrings(scene.pieces.segments[rows].reshape(-1, 2, 2))
    at_face = shapely.dwithin(strokes, shape.exterior, reach)
    strokes, path = strokes[at_face], scene.pieces.path[rows[at_face]]
    widths = np.where(scene.linework.filled[path], np.inf, scene.linework.width[path])
    if not len(strokes) or np.isinf(widths.min()) or widths.min() > _THINNER * widths.max():
        return 0.0
    bands = [shapely.buffer(o.gap.band, scene.pt(FRAME)) for o in openings if o.gap.band.dwithin(shape, reach)]
    seen = shapely.difference(shape.exterior, shapely.union_all(bands))
    covers = {pen: shapely.buffer(shapely.multilinestrings(strokes[widths == pen]), reach) for pen in set(widths)}
    pen = max(covers, key=lambda pen: shapely.length(shapely.intersection(seen, covers[pen])))
    heavy, thin = (
        shapely.union_all([c for w, c in covers.items() if (w > _THINNER * pen) == is_so]) for is_so in (True, False)
    )
    parts = shapely.get_parts(shapely.line_merge(shapely.intersection(shapely.difference(seen, heavy), thin)))
    corners = shapely.multipoints(shapely.get_coordinates(shape.exterior))
    inner = shapely.distance(shapely.boundary(parts), corners) > 2 * reach
    return float((shapely.length(parts[inner]) + 2 * reach).max(initial=0.0))  # what is heavy reaches over both ends


def untold_lines(walls: Geometry, openings: Sequence[FoundOpening], scene: Scene) -> float:
    """Return how long lines on layers for doors or glass run inside walls and in no opening, in sheet points."""
    is_told = np.isin(scene.roles[scene.pieces.path], ("door", "glazing")) & ~(scene.is_leaf | scene.is_symbol)
    if not is_told.any():
        return 0.0
    bands = [shapely.buffer(o.gap.band, scene.pt(FRAME)) for o in openings if o.gap.band.intersects(walls)]
    core = shapely.difference(shapely.buffer(walls, -scene.pt(0.02)), shapely.union_all(bands))
    return float(lengths_inside(shapely.linestrings(scene.pieces.segments[is_told].reshape(-1, 2, 2)), core).sum())


def has_necks(shape: Polygon, gaps: Sequence[Gap], scene: Scene) -> bool:
    """Tell whether a room goes on through a gap between two ends of walls, with as much as a room behind it."""
    least = LEAST_AREA * scene.pt(1.0) ** 2
    for gap in gaps:
        if SLOT <= gap.width_pt * scene.m_per_pt <= _NECK_M and shape.contains(gap.band.centroid):
            parts = polygons_of(shapely.difference(shape, gap.band))
            if sum(part.area > least for part in parts) > 1:
                return True
    return False
