"""What is drawn in the band of a gap between two jambs: glass, leaves, thresholds, dashed lines.

Leaves that no swing tells of are drawn partly open by common drafting practice (no published source): a bi-fold as one
or two pairs of legs that meet in a point beside the gap, a pocket door as a leaf across a jamb, the part inside the
wall often dashed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Geometry

from takeoff.geometry.intervals import total, united
from takeoff.trace.drawing.linework import Floats, Ints
from takeoff.trace.lines.gaps import Gap
from takeoff.trace.lines.scene import Scene

FRAME = 0.13
"""Metres; how far from a jamb a frame may hold back the lines and the hinge of an opening."""
_BESIDE = 0.8
_TWICE = 0.002
"""Metres by which a line that was drawn twice may miss itself."""
_ROW = 0.01
"""Metres by which the dashes of one row may lie aside of one another."""
_PANE = 0.2
"""Share of a gap from which what runs along it is a pane or a leaf, and no dash or part of a frame (judgement)."""
_OPEN = 0.6
"""Share of a gap that leaves which slide cover together, drawn partly open too (measured: 0.74; panes on one half of it
cover 0.5)."""
_MEETS = 0.07
"""Metres; how far apart the ends of two folded leaves may be drawn where they meet."""
_SLANT = (0.17, 0.985)
"""Sine of the angle between a folded leaf and the wall: 10° to 80°."""
_HUNG, _LEAF = (0.003, 0.15), (0.02, 0.07)
"""Metres from a wall's face to a leaf that slides along it, and how thick that is (common practice, no source)."""
_FACE, _SILL = 0.8, 0.2
"""Share of half a wall's thickness from which a line lies along its face, and metres before the face that a sill ends
at the most (common practice, no source)."""
_OFF_WALL = 0.01
"""Metres; what lies nearer to a wall along a cross wall's face is that face, and no leaf that stands open beside it."""
_AS_WIDE = (0.72, 1.2)
"""Length of all leaves together over the width of their gap."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """What is drawn in a gap's band. Offsets are from the band's middle, over half the thickness: 1 is a face.

    ``spanning`` are the offsets of solid lines from jamb to jamb, ``partial`` of solid lines that reach over a good
    part of it (``reaches``: together over more than half of it), ``dashed`` of dashed ones from jamb to
    jamb; ``hoods`` counts dashed lines that run beside the gap, on either side; ``folds`` says whether leaves that fold
    stand in it, ``pockets`` whether a leaf runs into the wall, ``hangs`` whether one hangs beside the wall in front
    of it, ``leaves`` the rows of those that stand open in it, ``sill`` whether a line runs along a face or before
    it; ``roles`` are what the layers of the lines in the band say.
    """

    spanning: Floats
    partial: Floats
    reaches: bool
    dashed: Floats
    hoods: tuple[int, int]
    folds: bool
    pockets: bool
    hangs: bool
    leaves: tuple[Ints, ...]
    sill: bool
    roles: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Placed:
    """Lines in a gap's own frame, in sheet points: along from its middle, aside from its middle line."""

    rows: Ints
    low: Floats
    high: Floats
    offset: Floats
    is_dashed: np.ndarray[tuple[int], np.dtype[np.bool_]]


def read_drawn(
    gap: Gap, material: Geometry, closed: Geometry, scene: Scene, rows: Ints, tree: shapely.STRtree
) -> Drawn:
    """Read what is drawn in and beside a gap.

    ``material`` is the area of the walls in sheet points, ``closed`` that with all gaps between wall ends; ``rows``
    are those of the scene's pieces that may tell of openings, ``tree`` is over them in this order.
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
    parts: list[Ints] = []
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
            cover, long = _covered(low, high), high - low > _PANE * gap.width_pt
            in_pieces = is_dashed or (len(chosen) > 3 and cover < 0.9 * gap.width_pt and not long.any())
            is_whole = low.min() < -edge + slack and high.max() > edge - slack
            # leaves that slide lie over one another; panes stand between the bars of a frame
            is_one = in_pieces or float((high - low)[long].sum()) < 1.04 * cover
            if is_dashed and _passes(placed, placed.offset[chosen].mean(), edge, scene):
                continue
            if is_whole and is_one and cover > (0.4 if in_pieces else 0.8) * float(high.max() - low.min()):
                (dashed if in_pieces else spanning).append(level)
            elif not in_pieces and cover > 0.3 * gap.width_pt:
                partial.append(level)
                parts.append(chosen)
    own = np.concatenate(parts) if parts else inside[:0]
    roles = frozenset(scene.roles[scene.pieces.path[placed.rows[inside]]].tolist())
    return Drawn(
        spanning=np.array(spanning),
        partial=np.array(partial),
        reaches=_covered(placed.low[own], placed.high[own]) > _OPEN * gap.width_pt,
        dashed=np.array(dashed),
        hoods=_hoods(placed, half, edge, scene),
        folds=folds_into(gap, scene, hit),
        pockets=runs_into_wall(gap, material, scene, hit),
        hangs=_hangs(placed, half, edge, scene),
        leaves=_open_leaves(gap, closed, scene, hit),
        sill=_has_sill(placed, half, edge, scene),
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
    runs = (np.abs(d[:, 1]) < 0.05 * lengths) & ((lengths > 0.02 * gap.width_pt) | scene.is_dashed[hit])
    return _Placed(
        rows=hit[runs],
        low=ends[runs, :, 0].min(1),
        high=ends[runs, :, 0].max(1),
        offset=ends[runs, :, 1].mean(1),
        is_dashed=scene.is_dashed[hit[runs]],
    )


def _passes(placed: _Placed, offset: float, edge: float, scene: Scene) -> bool:
    """Tell whether a row of dashes goes on past both jambs: an axis or a line above, which no opening draws."""
    row = placed.is_dashed & (np.abs(placed.offset - offset) < scene.pt(_ROW))
    past = edge + 2 * scene.pt(FRAME)
    return bool((placed.high[row] > past).any() and (placed.low[row] < -past).any())


def _hoods(placed: _Placed, half: float, edge: float, scene: Scene) -> tuple[int, int]:
    """Count the dashed lines beside a gap on either side: about as wide as it, within 0.8 m."""
    reach = scene.pt(0.6)
    beside = np.abs(placed.offset)
    fits = placed.is_dashed & (beside > half + scene.pt(0.03)) & (beside < half + scene.pt(_BESIDE))
    fits &= (placed.low > -edge - reach) & (placed.high < edge + reach)
    fits &= np.minimum(placed.high, edge) - np.maximum(placed.low, -edge) > 1.2 * edge
    return int((fits & (placed.offset > 0)).sum()), int((fits & (placed.offset < 0)).sum())


def _hangs(placed: _Placed, half: float, edge: float, scene: Scene) -> bool:
    """Tell whether both sides of a leaf run in front of a gap, beside the wall: a door that slides along it."""
    beside = np.abs(placed.offset) - half
    fits = ~placed.is_dashed & (beside > scene.pt(_HUNG[0])) & (beside < scene.pt(_HUNG[1]))
    fits &= (
        (placed.low < -0.9 * edge) & (placed.high > 0.9 * edge) & (placed.high - placed.low < 2 * _AS_WIDE[1] * edge)
    )
    sides = np.sort(placed.offset[fits])
    return bool(len(sides) == 2 and scene.pt(_LEAF[0]) < sides[1] - sides[0] < scene.pt(_LEAF[1]))


def _open_leaves(gap: Gap, closed: Geometry, scene: Scene, hit: Ints) -> tuple[Ints, ...]:
    """Return the rows of each leaf that stands open at a gap's jambs, square to it; none where they do not fill it."""
    ends = gap.placed(scene.pieces.segments[hit])
    half, slack = gap.thickness_pt / 2, scene.pt(FRAME)
    d, middles = ends[:, 1] - ends[:, 0], ends.mean(1)
    side = np.sign(middles[:, 1])
    out = np.sort(ends[:, :, 1] * side[:, None], axis=1) - half  # before its face, from the wall's end or the hinge
    from_jamb = np.abs(middles[:, 0]) - gap.width_pt / 2
    fits = (np.abs(d[:, 0]) < 0.03 * np.abs(d[:, 1])) & (np.abs(from_jamb) < slack)
    fits &= (out[:, 0] < slack) & (out[:, 0] > -2 * half - slack) & (out[:, 1] > 0.4 * gap.width_pt)
    fits &= out[:, 1] < gap.width_pt + slack
    across = np.array([-gap.along[1], gap.along[0]])
    at = middles[:, :1] * gap.along + (side * (half + out[:, 1] / 2))[:, None] * across + np.array(gap.middle_pt)
    fits[fits] = ~shapely.dwithin(closed, shapely.points(at[fits]), scene.pt(_OFF_WALL))
    leaves = [rows for jamb in (-1, 1) if len(rows := np.flatnonzero(fits & (jamb * middles[:, 0] > 0)))]
    fill = sum(float(out[rows, 1].max()) for rows in leaves)
    return tuple(hit[rows] for rows in leaves) if abs(fill - gap.width_pt) < slack else ()


def _has_sill(placed: _Placed, half: float, edge: float, scene: Scene) -> bool:
    """Tell whether lines run from jamb to jamb along a face of the wall or before it, as those of a sill do."""
    off, slack = np.abs(placed.offset), scene.pt(FRAME)
    fits = ~placed.is_dashed & (off > _FACE * half) & (off < half + scene.pt(_SILL))
    fits &= (placed.low > -edge - slack) & (placed.high < edge + slack)
    sides = [fits & (placed.offset * side > 0) for side in (1, -1)]
    return any(_covered(placed.low[own], placed.high[own]) > 2 * (edge - slack) for own in sides if own.any())


def _levels(values: Floats, apart: float) -> list[float]:
    """Return the distinct values of a list, those closer than ``apart`` as one."""
    levels: list[float] = []
    for value in np.sort(values).tolist():
        if not levels or value - levels[-1] > apart:
            levels.append(value)
    return levels


def _covered(low: Floats, high: Floats) -> float:
    """Return the length that intervals cover together."""
    return total(united(zip(low.tolist(), high.tolist(), strict=True)))


def folds_into(gap: Gap, scene: Scene, hit: Ints) -> bool:
    """Tell whether pairs of leaves that fold stand at a gap's jambs and fill it once they are drawn out.

    ``hit`` are the rows of the scene's pieces in and near the gap.
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

    ``material`` is the area of the walls in sheet points, ``hit`` are the rows of the scene's pieces in and near the
    gap.
    """
    hit = hit[~scene.is_hatch[hit]]
    ends = gap.placed(scene.pieces.segments[hit])
    d = ends[:, 1] - ends[:, 0]
    half, edge, width = gap.thickness_pt / 2, gap.width_pt / 2, gap.width_pt
    offset = ends[:, :, 1].mean(1)
    fits = (np.abs(d[:, 1]) < 0.05 * np.abs(d[:, 0])) & (np.abs(offset) < 0.75 * half)
    fits &= np.abs(d[:, 0]) < _AS_WIDE[1] * width
    is_dashed = scene.is_dashed[hit]
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
