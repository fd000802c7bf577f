"""What is drawn in the band of a gap between two jambs: glass, leaves, thresholds, dashed lines."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Geometry

from takeoff.trace.drawing.linework import Floats, Ints
from takeoff.trace.lines.gaps import Gap
from takeoff.trace.lines.leaves import folds_into, runs_into_wall
from takeoff.trace.lines.scene import Scene

FRAME = 0.13
"""Metres; how far from a jamb a frame may hold back the lines and the hinge of an opening."""
_BESIDE = 0.8
_TWICE = 0.002
"""Metres by which a line that was drawn twice may miss itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """What is drawn in a gap's band. Offsets are from the band's middle, over half the thickness: 1 is a face.

    ``spanning`` are the offsets of solid lines from jamb to jamb, ``partial`` of solid lines that reach over a good
    part of it, ``dashed`` of dashed ones from jamb to jamb; ``hoods`` counts dashed lines that run beside the gap, on
    either side; ``folds`` says whether leaves that fold stand in it, ``pockets`` whether a leaf runs into the wall;
    ``roles`` are what the layers of the lines in the band say.
    """

    spanning: Floats
    partial: Floats
    dashed: Floats
    hoods: tuple[int, int]
    folds: bool
    pockets: bool
    roles: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Placed:
    """Lines in a gap's own frame, in sheet points: along from its middle, aside from its middle line."""

    rows: Ints
    low: Floats
    high: Floats
    offset: Floats
    is_dashed: np.ndarray[tuple[int], np.dtype[np.bool_]]


def read_drawn(gap: Gap, material: Geometry, scene: Scene, rows: Ints, tree: shapely.STRtree) -> Drawn:
    """Read what is drawn in and beside a gap.

    Parameters
    ----------
    gap
        The gap.
    material
        The area of the walls in sheet points.
    scene
        The sheet's linework.
    rows, tree
        The rows of the scene's pieces that may tell of openings, and a tree over them in this order.
    """
    hit = rows[tree.query(gap.band.buffer(scene.pt(_BESIDE)), predicate="intersects")]
    if not gap.is_capped or _is_tiled(gap, scene, hit):
        hit = hit[~scene.is_hatch[hit]]
    hit = _of_openings(gap, scene, hit)
    placed = _placed(gap, scene, hit)
    half, edge, slack = gap.thickness_pt / 2, gap.width_pt / 2, scene.pt(FRAME)
    ends_in = (placed.low > -edge - slack) & (placed.high < edge + slack)
    inside = np.flatnonzero(ends_in & (np.abs(placed.offset) <= half + scene.pt(0.05)))
    share = placed.offset[inside] / max(half, 1e-9)
    spanning: list[float] = []
    partial: list[float] = []
    dashed: list[float] = []
    for level in _levels(share, 0.06):
        here = inside[np.abs(share - level) <= 0.07]
        for is_dashed in (False, True):
            chosen = here[placed.is_dashed[here] == is_dashed]
            ends = np.round(np.column_stack([placed.low, placed.high, placed.offset])[chosen] / scene.pt(_TWICE))
            chosen = chosen[np.unique(ends, axis=0, return_index=True)[1]]
            if not len(chosen):
                continue
            low, high = placed.low[chosen], placed.high[chosen]
            cover = _covered(low, high)
            in_pieces = is_dashed or (len(chosen) > 3 and cover < 0.9 * gap.width_pt)
            is_whole = low.min() < -edge + slack and high.max() > edge - slack
            is_one = in_pieces or float((high - low).sum()) < 1.04 * cover  # leaves that slide lie over one another
            if is_whole and is_one and cover > (0.4 if in_pieces else 0.8) * gap.width_pt:
                (dashed if in_pieces else spanning).append(level)
            elif not in_pieces and cover > 0.3 * gap.width_pt:
                partial.append(level)
    roles = frozenset(scene.roles[scene.pieces.path[placed.rows[inside]]].tolist())
    return Drawn(
        spanning=np.array(spanning),
        partial=np.array(partial),
        dashed=np.array(dashed),
        hoods=_hoods(placed, half, edge, scene),
        folds=folds_into(gap, scene, hit),
        pockets=runs_into_wall(gap, material, scene, hit),
        roles=roles - {""},
    )


def _of_openings(gap: Gap, scene: Scene, hit: Ints) -> Ints:
    """Return the lines on layers for doors, glass and walls where a gap has one for doors or glass, else all."""
    own = scene.roles[scene.pieces.path[hit]]
    tells = hit[np.isin(own, ("door", "glazing"))]
    lines = shapely.linestrings(scene.pieces.segments[tells].reshape(-1, 2, 2))
    if not shapely.intersects(gap.band.buffer(-0.1 * gap.thickness_pt), lines).any():
        return hit
    return hit[np.isin(own, ("door", "glazing", "wall"))]


def _is_tiled(gap: Gap, scene: Scene, hit: Ints) -> bool:
    """Tell whether lines of a hatch run across the gap: then those along it are its hatch too, and no glass."""
    rows = hit[scene.is_hatch[hit]]
    d = scene.pieces.segments[rows, 2:] - scene.pieces.segments[rows, :2]
    across = np.abs(d @ gap.along) < 0.5 * np.hypot(d[:, 0], d[:, 1])
    lines = shapely.linestrings(scene.pieces.segments[rows[across]].reshape(-1, 2, 2))
    return int(shapely.intersects(gap.band.buffer(-0.1 * gap.thickness_pt), lines).sum()) > 1


def _placed(gap: Gap, scene: Scene, hit: Ints) -> _Placed:
    """Return the lines that run along a gap, in its frame."""
    ends = gap.placed(scene.pieces.segments[hit])
    d = ends[:, 1] - ends[:, 0]
    lengths = np.hypot(d[:, 0], d[:, 1])
    runs = (np.abs(d[:, 1]) < 0.05 * lengths) & (lengths > 0.02 * gap.width_pt)
    return _Placed(
        rows=hit[runs],
        low=ends[runs, :, 0].min(1),
        high=ends[runs, :, 0].max(1),
        offset=ends[runs, :, 1].mean(1),
        is_dashed=scene.linework.dashed[scene.pieces.path[hit[runs]]],
    )


def _hoods(placed: _Placed, half: float, edge: float, scene: Scene) -> tuple[int, int]:
    """Count the dashed lines beside a gap on either side: about as wide as it, within 0.8 m."""
    reach = scene.pt(0.6)
    beside = np.abs(placed.offset)
    fits = placed.is_dashed & (beside > half + scene.pt(0.03)) & (beside < half + scene.pt(_BESIDE))
    fits &= (placed.low > -edge - reach) & (placed.high < edge + reach)
    fits &= np.minimum(placed.high, edge) - np.maximum(placed.low, -edge) > 1.2 * edge
    return int((fits & (placed.offset > 0)).sum()), int((fits & (placed.offset < 0)).sum())


def _levels(values: Floats, apart: float) -> list[float]:
    """Return the distinct values of a list, those closer than ``apart`` as one."""
    levels: list[float] = []
    for value in np.sort(values).tolist():
        if not levels or value - levels[-1] > apart:
            levels.append(value)
    return levels


def _covered(low: Floats, high: Floats) -> float:
    """Return the length that intervals cover together."""
    total, reached = 0.0, -math.inf
    for a, b in sorted(zip(low.tolist(), high.tolist(), strict=True)):
        total += max(0.0, b - max(a, reached))
        reached = max(reached, b)
    return total
