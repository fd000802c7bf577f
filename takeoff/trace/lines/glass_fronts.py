"""Fronts of glass: two thin lines side by side, with posts or without, that close a room where no wall does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
from shapely import Geometry, Polygon

from takeoff.trace.drawing.linework import Floats
from takeoff.trace.drawing.polygons import edges_of, polygons_of, spans, square_to
from takeoff.trace.lines.gaps import gap_between, jambs_of
from takeoff.trace.lines.opening_forms import FoundOpening
from takeoff.trace.lines.scene import Scene
from takeoff.trace.lines.swings import Swing
from takeoff.trace.lines.wall_material import THICK, THIN
from takeoff.trace.texts.printed_sizes import PrintedArea

_PAIR, _FRAME = 0.008, 0.09
"""Metres between the two lines of a pane: from a single pane to a frame (common practice, no source)."""
_PANE = 0.3
"""Metres; the shortest pane that is looked for."""
_POST = 0.16
"""Metres; the widest post between panes, and the furthest that a front may end from what holds it (judgement)."""
_BESIDE = 2.0
"""Times that by which a door may stand off a wall: a piece of its partition stands between (judgement)."""
_BOTH = 0.85
"""Share of the longer line of a pane beside which the other runs at the least: a partition that ends on it parts one of
them (measured: 0.91)."""
_ONE_PEN = 0.95
"""Share of a sheet's lines from which what is shown as walls is its one pen, and draws the glass too (judgement)."""
_MOST = 300
"""Panes on a sheet at the most; more are boards or tiles (judgement)."""
_SURE, _DOOR = 0.85, 0.8
"""The confidence of a front of glass, and of a door in it."""


@dataclass(slots=True, eq=False)
class _Front:
    """A straight row of panes: both ends of its middle line, its thickness in sheet points, and how many there are."""

    a: Floats
    b: Floats
    thick: float
    panes: int = 1
    swing: Swing | None = None

    @property
    def line(self) -> Geometry:
        return shapely.LineString([self.a, self.b])


def glass_fronts(
    material: Geometry,
    scene: Scene,
    swings: Sequence[Swing],
    rooms: Sequence[Polygon],
    sure: Sequence[bool],
    printed: Sequence[PrintedArea],
) -> tuple[FoundOpening, ...]:
    """Find the fronts of glass from wall to wall, to another front, or to a door among them.

    None parts a sure room, and one of one pane only what has names or printed areas on both its sides: the shelf and
    the rod of a closet are drawn so too, as are thin partitions.

    ``material`` is the area of the walls in sheet points, the openings in them included, ``swings`` are the door swings
    that fit no opening, ``rooms`` those that walls close, in sheet points, ``sure`` tells which of them are sure, and
    ``printed`` are the sheet's areas.
    """
    panes = _panes(material, scene)
    fronts = _uncrossed(_in_rows(panes, scene), scene) if len(panes) <= _MOST else []
    if not fronts:
        return ()
    doors = [
        _Front(a=np.array(s.hinge_pt), b=np.array(s.shut_pt), thick=scene.pt(_FRAME) / 2, panes=2, swing=s)
        for s in swings
    ]
    beside = shapely.STRtree([door.line for door in doors]).query(
        [front.line for front in fronts], predicate="dwithin", distance=scene.pt(_POST)
    )
    for i in beside[0].tolist():
        fronts[i].panes += 1
    fronts += doors
    middles = shapely.points([(f.a + f.b) / 2 for f in fronts])
    front, room = shapely.STRtree(rooms).query(middles, predicate="within")
    written = [line.middle_pt for line in scene.names] + [one.at_pt for one in printed]
    own = [np.array([at for at in written if room.contains(shapely.Point(at))]).reshape(-1, 2) for room in rooms]
    parts = {
        f
        for f, r in zip(front.tolist(), room.tolist(), strict=True)
        if sure[r] or (fronts[f].panes == 1 and not _is_between(own[r], fronts[f]))
    }
    left = _held([f for i, f in enumerate(fronts) if i not in parts], material, scene)
    return tuple(_opening(front, material, scene) for front in left)


def _is_between(written: Floats, front: _Front) -> bool:
    """Tell whether some of what is written in a room stands on either side of a front, its line drawn on."""
    (ux, uy), off = front.b - front.a, written - front.a
    aside = off[:, 0] * uy - off[:, 1] * ux
    return bool((aside > 0).any() and (aside < 0).any())


def reached(material: Geometry, fronts: Sequence[FoundOpening], scene: Scene) -> list[Geometry]:
    """Return what lies between the ends of walls and the fronts of glass that they all but reach.

    Likewise what lies between two fronts side by side: leaves that slide stand in front of one another.
    """
    edges, following = edges_of(material)
    jambs = edges[jambs_of(edges, following, scene.pt(THIN), scene.pt(THICK))]
    lines = np.asarray(shapely.linestrings(jambs.reshape(-1, 2, 2)))
    filled = []
    post = scene.pt(_POST)
    for one, other in combinations([front.gap.band for front in fronts], 2):
        if one.distance(other) < post:
            met = shapely.union(one.intersection(other.buffer(post)), other.intersection(one.buffer(post)))
            filled.append(shapely.convex_hull(met))
    for front in fronts:
        for line in lines[shapely.dwithin(lines, front.gap.band, scene.pt(_POST / 2))]:
            met = shapely.intersection(front.gap.band, shapely.buffer(line, scene.pt(_POST / 2), cap_style="flat"))
            filled.append(shapely.convex_hull(shapely.union(line, met)))
    return filled


def _panes(material: Geometry, scene: Scene) -> Floats:
    """Return the middle lines of pairs of thin lines, x0, y0, x1, y1, and the distance of the two."""
    pieces, work = scene.pieces, scene.linework
    usable = pieces.is_whole & ~scene.is_hatch & ~scene.is_note & ~scene.is_symbol
    usable &= work.stroked[pieces.path] & ~scene.is_dashed
    is_glass = np.isin(scene.roles, ("glazing", "opening"))[pieces.path]
    if scene.is_shown and is_glass.any():
        usable &= is_glass  # whoever shows a window has said what glass is drawn with
    is_wall = np.isin(scene.roles, ("wall", "column"))[pieces.path]
    if is_wall.sum() < _ONE_PEN * len(is_wall):
        usable &= ~is_wall
    lengths = np.hypot(*(pieces.segments[:, 2:] - pieces.segments[:, :2]).T)
    rows = np.flatnonzero(usable & (lengths >= scene.pt(_PANE)))
    lines = shapely.linestrings(pieces.segments[rows].reshape(-1, 2, 2))
    shapely.prepare(material)
    stands = ~shapely.intersects(material, shapely.line_interpolate_point(lines, 0.5, normalized=True))
    rows, lines, lengths = rows[stands], lines[stands], lengths[rows[stands]]
    middles = (pieces.segments[rows, :2] + pieces.segments[rows, 2:]) / 2
    tree = shapely.STRtree(lines)
    one, other = tree.query(shapely.points(middles), predicate="dwithin", distance=scene.pt(_FRAME))
    is_longer = (lengths[one] > lengths[other]) | ((lengths[one] == lengths[other]) & (one < other))
    one, other = one[is_longer], other[is_longer]
    u, _ = spans(pieces.segments[rows])
    normal, between = square_to(u), middles[other] - middles[one]
    aside = (between * normal[one]).sum(1)
    common = (lengths[one] + lengths[other]) / 2 - np.abs((between * u[one]).sum(1))
    fits = (np.abs((u[one] * u[other]).sum(1)) > 0.9995) & (common > _BOTH * lengths[one])
    fits &= (np.abs(aside) >= scene.pt(_PAIR)) & (np.abs(aside) <= scene.pt(_FRAME))
    one, aside = one[fits], aside[fits]
    middle = pieces.segments[rows[one]] + np.tile(normal[one] * aside[:, None] / 2, 2)
    panes = np.column_stack([middle, np.abs(aside)])
    once: Floats = panes[np.unique(np.round(panes, 1), axis=0, return_index=True)[1]]  # what was drawn twice
    return once


def _in_rows(panes: Floats, scene: Scene) -> list[_Front]:
    """Join panes that follow one another, posts between them."""
    fronts: list[_Front] = []
    left = [_Front(a=p[:2], b=p[2:4], thick=float(p[4])) for p in panes]
    while left:
        front = left.pop()
        grew = True
        while grew:
            grew = False
            for other in left:
                whole = _joined(front, other, scene.pt(_POST), scene.pt(_PAIR))
                if whole is not None:
                    left.remove(other)
                    front, grew = whole, True
                    break
        fronts.append(front)
    return fronts


def _uncrossed(fronts: list[_Front], scene: Scene) -> list[_Front]:
    """Leave out rows that cross others: the joints of tiles and boards, each drawn as two lines."""
    lines = np.array([front.line for front in fronts], object)
    inner = (
        shapely.line_interpolate_point(lines, scene.pt(_POST)),
        shapely.line_interpolate_point(lines, -scene.pt(_POST)),
    )
    shorter = shapely.linestrings(np.stack([shapely.get_coordinates(end) for end in inner], axis=1))
    one, other = shapely.STRtree(shorter).query(lines, predicate="crosses")
    crosses = one != other  # what slants may cross what was cut from it, by rounding
    crossed = set(one[crosses].tolist()) | set(other[crosses].tolist())
    return [front for i, front in enumerate(fronts) if i not in crossed]


def _joined(one: _Front, other: _Front, post: float, step: float) -> _Front | None:
    """Return two rows as one where they lie on one line with no more than a post between them."""
    length = float(np.hypot(*(one.b - one.a)))
    u = (one.b - one.a) / length
    places = np.array([other.a, other.b]) - one.a
    along, aside = places @ u, places[:, 0] * u[1] - places[:, 1] * u[0]
    if np.abs(aside).max() > step or along.max() < -post or along.min() > length + post:
        return None
    low, high = min(0.0, float(along.min())), max(length, float(along.max()))
    return _Front(
        a=one.a + u * low, b=one.a + u * high, thick=max(one.thick, other.thick), panes=one.panes + other.panes
    )


def _held(fronts: list[_Front], material: Geometry, scene: Scene) -> list[_Front]:
    """Return the fronts of which both ends are held, and of those that hold one another the ones that walls hold twice.

    A frame round a sheet or a table holds itself and is held by no wall.
    """
    reach = scene.pt(_POST)
    while fronts:
        lines = [front.line for front in fronts]
        ends = shapely.points([[front.a, front.b] for front in fronts])
        far = np.where([front.swing is not None for front in fronts], _BESIDE * reach, reach)
        on_wall = shapely.dwithin(ends, material, far[:, None])
        end, line = shapely.STRtree(lines).query(ends.ravel(), predicate="dwithin", distance=reach)
        on_other = np.isin(np.arange(2 * len(lines)), end[line != end // 2]).reshape(-1, 2)
        held = (on_wall | on_other).all(1)
        if not held.all():
            fronts = [front for front, is_held in zip(fronts, held, strict=True) if is_held]
            continue
        groups = polygons_of(shapely.union_all(shapely.buffer(lines, reach)))
        group = [next(k for k, g in enumerate(groups) if g.intersects(line)) for line in lines]
        walls = np.bincount(group, on_wall.sum(1), minlength=len(groups))
        kept = [front for front, k in zip(fronts, group, strict=True) if walls[k] >= 2]
        return [f for f in kept if f.swing is not None or np.hypot(*(f.b - f.a)) > 2 * scene.pt(_PANE)]
    return []


def _opening(front: _Front, material: Geometry, scene: Scene) -> FoundOpening:
    """Make an opening of a front, drawn out to the walls that hold it."""
    u = (front.b - front.a) / np.hypot(*(front.b - front.a))
    aside = np.array([-u[1], u[0]]) * front.thick / 2
    ends = []
    for end, out in ((front.a, -u), (front.b, u)):
        ray = shapely.LineString([end, end + out * scene.pt(_POST if front.swing is None else _BESIDE * _POST)])
        met = shapely.intersection(ray, material)
        ends.append(end + out * (met.distance(shapely.Point(end)) if not met.is_empty else scene.pt(_POST)))
    gap = gap_between((ends[0] + aside, ends[1] + aside), (ends[0] - aside, ends[1] - aside), is_capped=False)
    if front.swing is not None:
        return FoundOpening(gap=gap, form="swing", confidence=_DOOR, reason="a door swing stands in a front of glass")
    reason = "two thin lines run from wall to wall where no wall stands: a front of glass"
    return FoundOpening(gap=gap, form="window", confidence=_SURE, reason=reason)
