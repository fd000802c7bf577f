"""Ends of walls that are drawn as two lines: closed where nothing closes them."""

from __future__ import annotations

import numpy as np
import shapely

from takeoff.trace.drawing.linework import Floats, Ints
from takeoff.trace.drawing.polygons import polygons_of, spans, square_to

_OPEN_END = 0.6
"""Share of the greatest thickness up to which a wall is closed of which only one side ends: 0.4 m (judgement)."""


def drawn_caps(segments: Floats, others: Floats, *, thin: float, thick: float, reach: float) -> Floats:
    """Return the lines of other pens that close open ends of walls: jambs drawn with the door or the window.

    Such a line is as long as a wall is thick and runs square from the end of one line to that of another, on which
    nothing else ends.

    ``segments`` and ``others`` are rows x0, y0, x1, y1 in sheet points, of what may be walls and of everything else;
    ``thin`` and ``thick`` are the least and greatest thickness of a wall, ``reach`` is how far an end may lie from
    another one that it meets, all in sheet points.
    """
    u, lengths = spans(others)
    fits = (lengths > 0.9 * thin) & (lengths < thick)
    others, u = others[fits], u[fits]
    if not len(others) or not len(segments):
        return others[:0]
    own, _ = spans(segments)
    tree = shapely.STRtree(shapely.points(segments.reshape(-1, 2)))
    closes = np.ones(len(others), bool)
    for end in (slice(0, 2), slice(2, 4)):
        row, met = tree.query(shapely.points(others[:, end]), predicate="dwithin", distance=reach)
        square = np.abs((u[row] * own[met // 2]).sum(1)) < 0.05
        alone = np.bincount(row, minlength=len(others)) == 1
        closes &= alone & (np.bincount(row[square], minlength=len(others)) == 1)
    found: Floats = others[closes]
    return found


def drawn_posts(segments: Floats, others: Floats, *, small: float, large: float, reach: float) -> Floats:
    """Return the sides of boxes in other pens on which lines of walls end: columns, which interrupt a wall's face.

    ``segments`` and ``others`` are rows x0, y0, x1, y1 in sheet points, of what may be walls and of everything else;
    ``small`` and ``large`` are the least and greatest side of a column, ``reach`` is how far a line's end may lie from
    a side, all in sheet points.
    """
    _, lengths = spans(others)
    others = others[(lengths >= small) & (lengths <= large)]
    if not len(others) or not len(segments):
        return others[:0]
    ends = shapely.points(segments.reshape(-1, 2))
    alone = shapely.STRtree(shapely.linestrings(segments.reshape(-1, 2, 2))).query(ends, "dwithin", reach)[0]
    ends = ends[np.bincount(alone, minlength=len(ends)) == 1]
    lines = shapely.linestrings(others.reshape(-1, 2, 2))
    near = np.unique(shapely.STRtree(lines).query(ends, "dwithin", 1.5 * large)[1])
    faces = np.array(polygons_of(shapely.polygonize([shapely.union_all(lines[near], grid_size=reach / 20)])), object)
    boxes = shapely.minimum_rotated_rectangle(faces)
    corners = shapely.get_coordinates(boxes).reshape(-1, 5, 2)
    least = np.hypot(*np.diff(corners[:, :3], axis=1).T).min(0)
    faces = faces[(shapely.area(faces) > 0.98 * shapely.area(boxes)) & (least >= small)]
    held = np.unique(shapely.STRtree(shapely.boundary(faces)).query(ends, "dwithin", reach)[1])
    rings = [shapely.get_coordinates(shapely.simplify(face.exterior, reach / 10)) for face in faces[held].tolist()]
    found: Floats = np.concatenate([others[:0], *(np.concatenate([r[:-1], r[1:]], axis=1) for r in rings)])
    return found


def _closed_onto(
    segments: Floats, ends: Ints, outward: Floats, *, thin: float, thick: float
) -> tuple[Ints, list[Floats]]:
    """Close walls of which one side ends and the other runs on: return the ends, and the lines from them across.

    Each goes to the nearest line on one side, if that runs along the one that ends, a wall's thickness away; one that
    has such a line on both sides stands in a row, as boards and treads do.
    """
    if not len(ends):
        return ends, []
    lines = shapely.linestrings(segments.reshape(-1, 2, 2))
    tree = shapely.STRtree(lines)
    at = segments.reshape(-1, 2)[ends]
    normal = square_to(outward)
    foot = at - 0.05 * thin * outward  # a line that begins where this one ends is not in the way
    away = np.full((2, len(ends)), np.inf)
    for side, sign in enumerate((1.0, -1.0)):
        rays = shapely.linestrings(np.stack([foot, foot + sign * thick * normal], axis=1))
        ray, line = tree.query(rays, predicate="intersects")
        other = line != ends[ray] // 2
        ray, line = ray[other], line[other]
        off = shapely.distance(shapely.intersection(rays[ray], lines[line]), shapely.points(foot[ray]))
        order = np.lexsort((off, ray))
        first = order[np.unique(ray[order], return_index=True)[1]]  # the nearest line of each ray
        ray, line = ray[first], line[first]
        d = segments[line, 2:] - segments[line, :2]
        along = np.abs((d * outward[ray]).sum(1)) > 0.999 * np.hypot(d[:, 0], d[:, 1])
        inward = (at[ray, None] - segments[line].reshape(-1, 2, 2)) @ outward[ray][:, :, None]
        fits = along & (inward.max((1, 2)) > thin) & (off[first] > 0.9 * thin)
        away[side, ray[fits]] = off[first][fits]
    alone = np.isfinite(away).sum(0) == 1
    step = np.where(np.isfinite(away[0]), away[0], -away[1])[alone]
    across = at[alone] + step[:, None] * normal[alone]
    return ends[alone], list(np.concatenate([at[alone], across], axis=1))


def capped(segments: Floats, *, thin: float, thick: float, reach: float) -> Floats:
    """Close the open ends of walls: join two parallel lines that end side by side, a wall's thickness apart.

    Lines that then end on nothing at both ends, and near the end of no other line, bound no wall and are left out.

    Segments are rows x0, y0, x1, y1; ``thin`` and ``thick`` are the least and greatest thickness of a wall, ``reach``
    is how far an end may lie from a line that it ends on, all in sheet points.
    """
    if not len(segments):
        return segments
    ends = segments.reshape(-1, 2)
    lines = shapely.STRtree(shapely.linestrings(segments.reshape(-1, 2, 2)))
    touches = lines.query(shapely.points(ends), predicate="dwithin", distance=0.02 * thin + 0.02)[0]
    is_loose = np.bincount(touches, minlength=len(ends)) == 1
    u, lengths = spans(segments)
    outward = np.stack([-u, u], axis=1).reshape(-1, 2)
    is_lost = is_loose.reshape(-1, 2).all(1)
    is_loose &= np.repeat(lengths > thin, 2)
    loose = np.flatnonzero(is_loose)
    places = shapely.points(ends[loose])
    first, second = loose[shapely.STRtree(places).query(places, predicate="dwithin", distance=1.02 * thick)]
    first, second = first[first < second], second[first < second]
    across = ends[second] - ends[first]
    distance = np.hypot(across[:, 0], across[:, 1])
    same_way = (outward[first] * outward[second]).sum(1) > 0.999
    square = np.abs((across * outward[first]).sum(1)) < 0.05 * distance
    fits = same_way & square & (distance > 0.9 * thin)
    caps: list[Floats] = []
    used: set[int] = set()
    for i in np.flatnonzero(fits)[np.argsort(distance[fits], kind="stable")]:
        pair = {int(first[i]), int(second[i])}
        if not pair & used:
            used |= pair
            caps.append(np.concatenate([ends[first[i]], ends[second[i]]]))
    left = np.setdiff1d(loose, np.fromiter(used, np.int64, len(used)))
    closed, more = _closed_onto(segments, left, outward[left], thin=thin, thick=_OPEN_END * thick)
    caps.extend(more)
    used.update(closed.tolist())
    is_lost[np.array([end // 2 for end in used], np.int64)] = False
    own = np.flatnonzero(np.repeat(is_lost, 2))
    at = shapely.points(ends[own])
    which, near = shapely.STRtree(shapely.points(ends)).query(at, predicate="dwithin", distance=thin)
    meets = np.bincount(lines.query(at, predicate="dwithin", distance=reach)[0], minlength=len(own)) > 1
    meets[which[near // 2 != own[which] // 2]] = True
    is_lost[own[meets] // 2] = False
    return np.concatenate([segments[~is_lost], np.array(caps).reshape(-1, 4)])
