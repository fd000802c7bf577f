"""What a white patch hides: lines and fills that are drawn under it, wholly, are none (ISO 32000-1:2008 §8.5.3.3)."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from takeoff.geometry.arcs import flatten_segment
from takeoff.geometry.pairs import Floats, Ints
from takeoff.model.plan import Point

Flags = NDArray[np.bool_]

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


def shown_of(
    patches: Collection[int],
    lines: tuple[Floats, Ints],
    arcs: tuple[Floats, Ints],
    rings: tuple[Sequence[Sequence[Point]], Ints],
) -> tuple[Flags, Flags, Flags]:
    """Tell which lines, arcs and rings, each with its path, do not lie wholly under a later one of the patches."""
    (segments, line_path), (bows, arc_path), (outlines, ring_path) = lines, arcs, rings
    rows = np.flatnonzero(np.isin(ring_path, list(patches))).tolist()
    if not rows:
        return np.ones(len(segments), bool), np.ones(len(bows), bool), np.ones(len(outlines), bool)
    patch = shapely.make_valid([shapely.Polygon(outlines[row]) for row in rows], method="structure")
    tree, over = shapely.STRtree(shapely.buffer(patch, -EDGE_PT)), ring_path[rows]

    def shown(found: Any, path: Ints) -> Flags:
        flags: Flags = np.ones(len(path), bool)
        under, by = tree.query(found, predicate="covered_by")
        flags[under[path[under] < over[by]]] = False
        return flags

    bent = [shapely.LineString(flatten_segment((a, b), (c, d), e, EDGE_PT)) for a, b, c, d, e in bows.tolist()]
    return (
        shown(shapely.linestrings(segments.reshape(-1, 2, 2)), line_path),
        shown(np.array(bent, object), arc_path),
        shown(np.array([shapely.LineString(ring) for ring in outlines], object), ring_path),
    )
