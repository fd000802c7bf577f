"""What a white patch hides: lines and fills that are drawn under it, wholly, are none (ISO 32000-1:2008 §8.5.3.3)."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from takeoff.geometry.arcs import flatten_segment

if TYPE_CHECKING:
    from takeoff.trace.drawing.linework import Flags, Linework

WHITE = 0.99
"""Of 0 to 1: the darkest white that a patch has (judgement)."""
EDGE_PT = 0.5
"""Points within the edge of a patch from which it hides what is under it: lines along its edge are its outline
(judgement)."""
LEAST_PT = 6.0
"""Points that a patch is wide at the least: less hides no part of a plan (judgement)."""


def is_patch(drawing: dict[str, Any], *, is_plain: bool) -> bool:
    """Tell whether a drawing of the PDF engine hides what is under it; ``is_plain``: its paint is no mix."""
    fill = drawing.get("fill")
    x0, y0, x1, y1 = drawing["rect"]
    return bool(
        is_plain
        and fill is not None
        and min(fill) >= WHITE
        and drawing.get("fill_opacity") == 1.0
        and min(x1 - x0, y1 - y0) >= LEAST_PT
    )


def without_covered(linework: Linework, patches: Collection[int]) -> Linework:
    """Return linework without what lies wholly under later white patches; ``patches`` are their paths."""
    rows = np.flatnonzero(np.isin(linework.ring_path, list(patches)))
    if not len(rows):
        return linework
    shapes = shapely.buffer(
        [shapely.make_valid(shapely.Polygon(linework.ring(row)), method="structure") for row in rows], -EDGE_PT
    )
    tree, over = shapely.STRtree(shapes), linework.ring_path[rows]

    def shows(found: np.ndarray[Any, Any], path: np.ndarray[Any, Any]) -> Flags:
        flags: Flags = np.ones(len(found), bool)
        under, by = tree.query(found, predicate="covered_by")
        flags[under[path[under] < over[by]]] = False
        return flags

    lines = shows(shapely.linestrings(linework.lines.reshape(-1, 2, 2)), linework.line_path)
    bows = [shapely.LineString(flatten_segment((a, b), (c, d), e, EDGE_PT)) for a, b, c, d, e in linework.arcs.tolist()]
    arcs = shows(np.array(bows, object), linework.arc_path)
    rings = shows(
        np.array([shapely.linestrings(linework.ring(row)) for row in range(len(linework.ring_path))], object),
        linework.ring_path,
    )
    points = np.repeat(rings, np.diff(linework.ring_start))
    return replace(
        linework, lines=linework.lines[lines], line_path=linework.line_path[lines], arcs=linework.arcs[arcs],
        arc_path=linework.arc_path[arcs], ring_points=linework.ring_points[points], ring_path=linework.ring_path[rings],
        ring_start=np.concatenate([[0], np.cumsum(np.diff(linework.ring_start)[rings])]).astype(np.int64),
    )  # fmt: skip
