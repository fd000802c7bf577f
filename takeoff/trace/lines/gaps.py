"""Gaps in walls: where one wall end faces another, or a wall's face, and the wall would go on between them.

Words of this module: a *jamb* is an edge of the material that caps a wall's end; the *band* is the strip that the wall
would fill between two jambs; *along* is the direction across the gap from jamb to jamb, *aside* is square to it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Geometry, Polygon

from takeoff.model.plan import Point
from takeoff.trace.drawing.linework import Floats, Ints
from takeoff.trace.drawing.polygons import edges_of, spans

LEAST = 0.25
"""Metres; the narrowest gap that may be an opening (judgement)."""
MOST = 8.0
"""Metres; the widest gap that an opening may have."""


@dataclass(frozen=True, kw_only=True)
class Gap:
    """The place of a possible opening, in sheet points.

    ``left_pt`` and ``right_pt`` are its two sides, each from the one jamb to the other, in line with the wall's faces.
    ``width_pt`` is the distance between the jambs, ``thickness_pt`` that between the sides. ``is_capped`` says whether
    both ends are wall ends; if not, the far one is the face of another wall. ``between_stubs`` says that what ends
    there stands out less than it is wide, as pilasters do, on every side that has an end; ``loose`` says how
    many of its ends may be no end of a wall: sides of a box that stands free, or of a wall that ends beside, or faces;
    3 that the end is no edge of its own.
    """

    left_pt: tuple[Point, Point]
    right_pt: tuple[Point, Point]
    width_pt: float
    thickness_pt: float
    is_capped: bool
    between_stubs: bool = False
    loose: int = 0

    @cached_property
    def band(self) -> Polygon:
        """The area of the gap."""
        return Polygon([*self.left_pt, *reversed(self.right_pt)])

    @property
    def middle_pt(self) -> Point:
        """The middle of the gap."""
        corners = [*self.left_pt, *self.right_pt]
        return (sum(p[0] for p in corners) / 4, sum(p[1] for p in corners) / 4)

    @property
    def along(self) -> NDArray[np.float64]:
        """Unit vector from the first jamb to the other."""
        near, far = np.add(self.left_pt, self.right_pt)
        return np.asarray((far - near) / np.hypot(*(far - near)))

    def placed(self, segments: Floats) -> Floats:
        """Return both ends of lines in the gap's own frame: n × 2 ends × (along from its middle, aside from that).

        Where the jambs lean to one another the wall goes on in a curve, and aside is measured from that.
        """
        u = self.along
        ends = segments.reshape(-1, 2, 2) - np.array(self.middle_pt)
        along, aside = ends @ u, ends @ np.array([-u[1], u[0]])
        near, far = np.subtract(self.right_pt, self.left_pt)
        turn = np.arctan2(near[0] * far[1] - near[1] * far[0], near @ far)
        bow = turn / (2 * self.width_pt)
        return np.stack([along, aside + bow * (self.width_pt**2 / 4 - along**2)], axis=2)


def find_gaps(material: Geometry, m_per_pt: float, *, thin: float, thick: float, least: float = LEAST) -> list[Gap]:
    """Find the gaps between wall ends, and between a wall end and a face that it looks at.

    ``material`` is the area of the walls in sheet points, ``m_per_pt`` is metres per sheet point; ``thin`` and
    ``thick`` are the least and greatest thickness of a wall and ``least`` the width of the narrowest gap, in metres.
    There is at most one gap from each jamb, the nearest; a pair of jambs comes once.
    """
    edges, following = edges_of(material)
    if not len(edges):
        return []
    jambs = jambs_of(edges, following, thin / m_per_pt, thick / m_per_pt)
    stubby, doubtful = _doubtful(edges, following, jambs)
    tree = shapely.STRtree(shapely.linestrings(edges.reshape(-1, 2, 2)))
    found: dict[frozenset[int], Gap] = {}
    for jamb in jambs.tolist():
        seen = _facing(edges, tree, edges[jamb], MOST / m_per_pt)
        if seen is None:
            continue
        other, is_jamb = seen, seen in jambs
        gap = _between(edges[jamb], edges[other], 0.02 / m_per_pt) if is_jamb else None
        if gap is None:
            gap = _onto(edges[jamb], edges[other])
        if gap is not None and gap.width_pt >= least / m_per_pt:
            stubs = jamb in stubby and (other in stubby or not is_jamb)
            loose = sum(i in doubtful for i in (jamb, other))
            if loose and (not is_jamb or jamb in stubby or other in stubby):
                loose = 2
            found.setdefault(frozenset((jamb, other)), replace(gap, between_stubs=stubs, loose=loose))
    gaps = list(found.values())
    for end in _flush(edges, following, tree, 0.9 * thin / m_per_pt, thick / m_per_pt):
        seen = _facing(edges, tree, end, MOST / m_per_pt)
        gap = None if seen is None else _onto(end, edges[seen])
        if gap is not None and gap.width_pt >= LEAST / m_per_pt:
            gaps.append(replace(gap, loose=3))
    return gaps


def _flush(edges: Floats, following: Ints, tree: shapely.STRtree, thin: float, thick: float) -> list[Floats]:
    """Return the ends of walls that are no edge of their own: the face of a wall that runs off there goes on in it."""
    u, length = spans(edges)
    turn = u[:, 0] * u[following, 1] - u[:, 1] * u[following, 0]  # at the end of each edge; a corner of 50° and more
    is_corner = (turn > 0.76) & (np.maximum(length, length[following]) > thin)
    ends: list[Floats] = []
    for first in np.flatnonzero(is_corner).tolist():
        second = int(following[first])
        corner = edges[first, 2:]
        for edge, side, back in ((first, second, -u[first]), (second, first, u[second])):
            foot = (edges[side, :2] + edges[side, 2:]) / 2
            inward = np.array([-u[side, 1], u[side, 0]])
            ray = shapely.LineString([foot + inward * 1e-3 * thin, foot + inward * thick])
            met = [_met(foot, inward, edges[row]) for row in tree.query(ray, predicate="intersects")]
            wide = min((at for at in met if at is not None and at > 0), default=0.0)
            if thin < wide < min(length[side], 0.95 * length[edge]):
                far = corner + back * wide
                ends.append(np.concatenate([far, corner] if edge == first else [corner, far]))
    return ends


def jambs_of(edges: Floats, following: Ints, thin: float, thick: float) -> Ints:
    """Return the edges that cap a wall: as long as a wall is thick, a convex corner at both ends, and longer sides."""
    u, length = spans(edges)
    before = np.argsort(following)

    def turn(a: Ints, b: Ints) -> Floats:
        return np.asarray(np.degrees(np.arctan2(u[a, 0] * u[b, 1] - u[a, 1] * u[b, 0], (u[a] * u[b]).sum(1))))

    here = np.arange(len(edges))
    first, second = turn(before, here), turn(here, following)
    is_cap = (first > 50) & (first < 130) & (second > 50) & (second < 130) & (np.abs(first + second - 180) < 30)
    fits = (length > 0.9 * thin) & (length < thick)
    return np.flatnonzero(is_cap & fits)


def _doubtful(edges: Floats, following: Ints, jambs: Ints) -> tuple[set[int], set[int]]:
    """Return the jambs that may be no end of a wall: those of stubs, and those of boxes and of faces.

    A stub stands out of a face on both its sides, less than it is wide. A box stands free and is less than three times
    as long as wide. A face lies next to a shorter jamb: its wall ends there, short as it runs on to a corner.
    """
    u, length = spans(edges)
    before = np.argsort(following)

    def turns(a: Ints, b: Ints) -> Floats:
        return np.asarray(u[a, 0] * u[b, 1] - u[a, 1] * u[b, 0])

    first, second, own = before[jambs], following[jambs], length[jambs]
    is_stub = np.maximum(length[first], length[second]) < own
    is_stub &= (turns(before[first], first) < 0) & (turns(second, following[second]) < 0)
    is_box = following[following[following[second]]] == jambs
    is_box &= np.maximum(own, length[second]) < 3 * np.minimum(own, length[second])
    is_face = np.any([np.isin(side, jambs) & (length[side] < 0.9 * own) for side in (first, second)], axis=0)
    return set(jambs[is_stub].tolist()), set(jambs[is_box | is_face].tolist())


def _facing(edges: Floats, tree: shapely.STRtree, jamb: Floats, most: float) -> int | None:
    """Return the edge that a jamb looks at along its middle and near both its corners, the nearest; none: open."""
    x0, y0, x1, y1 = jamb.tolist()
    length = float(np.hypot(x1 - x0, y1 - y0))
    out = np.array([y1 - y0, x0 - x1]) / length
    hits: list[tuple[float, int]] = []
    for share in (0.1, 0.5, 0.9):
        foot = np.array([x0 + share * (x1 - x0), y0 + share * (y1 - y0)])
        ray = shapely.LineString([foot + out * 1e-3 * length, foot + out * most])
        for row in tree.query(ray, predicate="intersects"):
            at = _met(foot, out, edges[row])
            if at is not None and at > 1e-3 * length:
                hits.append((at, int(row)))
    return min(hits)[1] if hits else None


def _met(foot: Floats, out: Floats, edge: Floats) -> float | None:
    """Return how far along a ray it meets an edge."""
    d = edge[2:] - edge[:2]
    cross = out[0] * d[1] - out[1] * d[0]
    if abs(cross) < 1e-9 * float(np.hypot(*d)):
        return None
    between = edge[:2] - foot
    return float((between[0] * d[1] - between[1] * d[0]) / cross)


def _between(first: Floats, second: Floats, step: float) -> Gap | None:
    """Return the gap between two jambs; nothing where they do not stand opposite and square to the wall's run.

    Faces that miss each other by up to ``step``, or by what a wall in a curve turns from jamb to jamb, are joined;
    where they miss by more the gap is as wide as both share.
    """
    a0, a1, b0, b1 = first[:2], first[2:], second[2:], second[:2]
    u = (a1 - a0) / np.hypot(*(a1 - a0))
    v = (b1 - b0) / np.hypot(*(b1 - b0))
    if float(u @ v) < 0.94:
        return None
    low, high = max(0.0, float((b0 - a0) @ u)), min(float(np.hypot(*(a1 - a0))), float((b1 - a0) @ u))
    if high - low < 0.5 * min(np.hypot(*(a1 - a0)), np.hypot(*(b1 - b0))):
        return None
    out = np.array([u[1], -u[0]])
    step += 0.6 * abs(u[0] * v[1] - u[1] * v[0]) * float(np.hypot(*(b0 - a0)))
    if abs((b0 - a0) @ u) > step or abs((b1 - a1) @ u) > step:  # the thicker wall's end stands out beside the gap
        starts = [a0 + u * low, a0 + u * high]
        reach = [_met(start, out, second) for start in starts]
        if reach[0] is None or reach[1] is None or min(reach[0], reach[1]) <= 0:
            return None
        return gap_between(
            (starts[0], starts[0] + out * reach[0]), (starts[1], starts[1] + out * reach[1]), is_capped=True
        )
    return gap_between((a0, b0), (a1, b1), is_capped=True)


def _onto(jamb: Floats, face: Floats) -> Gap | None:
    """Return the gap between a jamb and a face that lies square to its wall."""
    a0, a1 = jamb[:2], jamb[2:]
    u = (a1 - a0) / np.hypot(*(a1 - a0))
    w = (face[2:] - face[:2]) / np.hypot(*(face[2:] - face[:2]))
    if float(u @ w) > -0.94:
        return None
    out = np.array([u[1], -u[0]])
    left, right = _met(a0, out, face), _met(a1, out, face)
    if left is None or right is None or min(left, right) <= 0:
        return None
    return gap_between((a0, a0 + out * left), (a1, a1 + out * right), is_capped=False)


def gap_between(left: tuple[Floats, Floats], right: tuple[Floats, Floats], *, is_capped: bool) -> Gap:
    """Return the gap between two sides, each from the one jamb to the other."""
    near, far = (left[0] + right[0]) / 2, (left[1] + right[1]) / 2
    along = (far - near) / np.hypot(*(far - near))
    aside = np.array([-along[1], along[0]])
    (a, b), (c, d) = np.array([left, right], float).tolist()
    return Gap(
        left_pt=((a[0], a[1]), (b[0], b[1])),
        right_pt=((c[0], c[1]), (d[0], d[1])),
        width_pt=float(np.hypot(*(far - near))),
        thickness_pt=float(min(abs((right[i] - left[i]) @ aside) for i in (0, 1))),
        is_capped=is_capped,
    )
