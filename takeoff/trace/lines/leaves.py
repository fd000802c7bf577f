"""Leaves of doors that no swing tells of: folded ones that stand out of the gap, and one that runs into the wall.

Both are drawn partly open by common drafting practice (no published source): a bi-fold as one or two pairs of legs
that meet in a point beside the gap, a pocket door as a leaf across a jamb, the part inside the wall often dashed.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely import Geometry

from takeoff.trace.drawing.linework import Floats, Ints
from takeoff.trace.lines.gaps import Gap
from takeoff.trace.lines.scene import Scene

_MEETS = 0.07
"""Metres; how far apart the ends of two folded leaves may be drawn where they meet."""
_SLANT = (0.17, 0.985)
"""Sine of the angle between a folded leaf and the wall: 10° to 80°."""
_AS_WIDE = (0.72, 1.2)
"""Length of all leaves together over the width of their gap."""


def folds_into(gap: Gap, scene: Scene, hit: Ints) -> bool:
    """Tell whether pairs of leaves that fold stand at a gap's jambs and fill it once they are drawn out.

    Parameters
    ----------
    gap
        The gap.
    scene
        The sheet's linework.
    hit
        The rows of the scene's pieces in and near the gap.
    """
    ends = gap.placed(scene.pieces.segments[hit])
    d = ends[:, 1] - ends[:, 0]
    lengths = np.hypot(d[:, 0], d[:, 1])
    slant = np.abs(d[:, 1]) / np.maximum(lengths, 1e-9)
    fits = (lengths > 0.15 * gap.width_pt) & (lengths < 0.65 * gap.width_pt)
    fits &= (slant > _SLANT[0]) & (slant < _SLANT[1])
    legs, lengths = ends[fits], lengths[fits]
    swapped = np.abs(legs[:, 0, 1]) > np.abs(legs[:, 1, 1])
    legs[swapped] = legs[swapped, ::-1]  # from the gap outward
    half, edge, meets = gap.thickness_pt / 2, gap.width_pt / 2, scene.pt(_MEETS)
    stands = (np.abs(legs[:, 0, 1]) < half + meets) & (np.abs(legs[:, 0, 0]) < edge + meets)
    legs, lengths = legs[stands], lengths[stands]
    total = 0.0
    for jamb in (-1.0, 1.0):
        pivots = np.flatnonzero(np.abs(legs[:, 0, 0] - jamb * edge) < 2 * meets).tolist()
        pairs = [lengths[i] for i in pivots for j in range(len(legs)) if _pair(legs, lengths, i, j, jamb, meets)]
        total += 2 * float(max(pairs, default=0.0))
    return _AS_WIDE[0] * gap.width_pt < total < _AS_WIDE[1] * gap.width_pt


def _pair(legs: Floats, lengths: Floats, first: int, second: int, jamb: float, meets: float) -> bool:
    """Tell whether a leg hung at a jamb and another one meet in a point and come back to the gap further in."""
    foot, apex = legs[first]
    end, tip = legs[second]
    return bool(
        math.dist(apex, tip) < meets
        and abs(lengths[first] - lengths[second]) < 0.2 * lengths[first]
        and (foot[0] - apex[0]) * jamb > 0
        and (tip[0] - end[0]) * jamb > 0
    )


def runs_into_wall(gap: Gap, material: Geometry, scene: Scene, hit: Ints) -> bool:
    """Tell whether a leaf as wide as a gap lies across one of its jambs, or hidden (dashed) in the wall beside it.

    Parameters
    ----------
    gap
        The gap.
    material
        The area of the walls in sheet points.
    scene
        The sheet's linework.
    hit
        The rows of the scene's pieces in and near the gap.
    """
    hit = hit[~scene.is_hatch[hit]]
    ends = gap.placed(scene.pieces.segments[hit])
    d = ends[:, 1] - ends[:, 0]
    half, edge, width = gap.thickness_pt / 2, gap.width_pt / 2, gap.width_pt
    offset = ends[:, :, 1].mean(1)
    fits = (np.abs(d[:, 1]) < 0.05 * np.abs(d[:, 0])) & (np.abs(offset) < 0.75 * half)
    fits &= np.abs(d[:, 0]) < _AS_WIDE[1] * width
    is_dashed = scene.linework.dashed[scene.pieces.path[hit]]
    for jamb in (-1.0, 1.0):
        inward = np.sort(ends[:, :, 0] * jamb, axis=1) - edge  # how far inside the wall beyond the jamb
        for row in np.flatnonzero(fits & (inward[:, 1] > 0.2 * width) & (inward[:, 0] < 0.05 * width)):
            leaf = np.array([row])
            if is_dashed[row]:  # its part in the gap may be drawn in a full line
                beside = fits & (np.abs(offset - offset[row]) < scene.pt(0.01))
                leaf = np.flatnonzero(beside & (inward[:, 1] > -width) & (inward[:, 0] < _AS_WIDE[1] * width))
            low, high = float(inward[leaf, 0].min()), float(inward[leaf, 1].max())
            is_leaf = _AS_WIDE[0] * width < high - low < _AS_WIDE[1] * width
            is_hidden = low > -0.1 * width and bool(is_dashed[leaf].all())
            if is_leaf and (low <= -0.1 * width or is_hidden) and _is_inside(gap, material, jamb, high, offset[row]):
                return True
    return False


def _is_inside(gap: Gap, material: Geometry, jamb: float, reach: float, offset: float) -> bool:
    """Tell whether a leaf's part beyond a jamb lies in the wall's run, walls that are drawn hollow included."""
    along = gap.along * jamb
    aside = np.array([-gap.along[1], gap.along[0]])
    start = np.array(gap.middle_pt) + along * gap.width_pt / 2
    asides = [offset, 0.45 * gap.thickness_pt, -0.45 * gap.thickness_pt]
    runs = shapely.linestrings([[start + aside * k, start + along * reach + aside * k] for k in asides])
    leaf, left, right = shapely.length(shapely.intersection(runs, material)) > 0.8 * reach
    return bool(leaf or (left and right))
