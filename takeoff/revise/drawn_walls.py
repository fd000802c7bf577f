"""Walls that only the new issue shows: linework in the pens that walls are drawn with, and no run along it."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from takeoff.geometry.pairs import pairs_within
from takeoff.measure.develop import traced_path
from takeoff.model.plan import Calibration
from takeoff.model.walls import Run
from takeoff.revise.carry import CarriedRun
from takeoff.revise.changes import Differences, SheetChange
from takeoff.revise.linework_along import PARALLEL, Length, groups, in_metres, ordered, unit, unmatched
from takeoff.revise.registration import Box, Floats, Registration, middles_in
from takeoff.revise.sides import THICKEST
from takeoff.trace.drawing.linework import Linework

SHORTEST = 0.6
"""Metres of a line that makes a new wall (judgement, no source)."""
PIER = 0.15
"""Metres that a filled pier has both ways at the least: an arrow's head is slimmer (judgement, no source)."""
OUTLINED = 0.3
"""Metres that a pier drawn as an outline has both ways at the least (judgement, no source)."""
SOLID = 0.7
"""Part of its box that a filled pier fills in a picture: letters and arrows fill less (judgement, no source)."""
LONG = 0.9
"""Metres of straight ink in a picture that may be a wall's (judgement, no source)."""
AT_WALL = 0.4
"""Metres from a room's walls to which a new wall comes: pale ends of lines are lost in scans (judgement)."""
NEAR = 0.3
"""Metres between lines of one wall."""
LEAST_PT = 6.0
"""Points of a line whose colour is compared: hatches, letters and furniture have shorter ones (judgement)."""
USUAL = 0.5
"""Part of the lines of one look that are drawn in another one for it to be what became of that look (judgement)."""
Pen = tuple[float, bool, bool, str]
Look = tuple[Pen | tuple[float, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NewWall:
    """New linework like a wall's: its box on the new sheet in points, its longest line in metres, the runs round it.

    One that ``stands_free`` is not filled and comes near to no wall of a run: drawn in a pen that draws furniture too,
    it may be a piece of it. What is filled as walls are, or drawn in a pen of walls alone, is one wherever it stands.
    """

    box_pt: Box
    length: float
    runs: tuple[str, ...]
    stands_free: bool = False

    def words(self, length: Length = in_metres) -> str:
        """Say what was found in a few words; ``length`` writes a length in metres."""
        place = f" within {', '.join(self.runs)}" if self.runs else ""
        return f"a new wall of {length(self.length)}{place}: nothing is traced along it yet"


def find_new_walls(
    old: Linework,
    new: Linework,
    registration: Registration,
    carried: Sequence[CarriedRun],
    *,
    scale: Calibration,
    tolerance_pt: float,
    focus_pt: Box,
) -> tuple[NewWall, ...]:
    """Find linework of the new issue that is drawn as the walls along the runs are, and is new.

    ``focus_pt``: box on the new sheet that holds the plan: a border beside it in the walls' pen is no wall.
    """
    metres = np.array([scale.mx, scale.my, scale.mx, scale.my])
    size = math.sqrt(scale.mx * scale.my)
    old_pieces, new_pieces = old.pieces, new.pieces
    before, after = registration.carry_segments(old_pieces.segments) * metres, new_pieces.segments * metres
    ways = [_without_openings(c.before, registration, scale) for c in carried]
    pens = _pens_along(ways, before, old, old_pieces.path, reach=max(scale.join_tolerance, tolerance_pt * size))
    drawn_old, drawn_new = (np.array([_pen(of, p) in pens for p in range(of.path_count)], bool) for of in (old, new))
    rooms = _rooms(carried, scale)
    is_pure = not _draws_in_rooms(before[drawn_old[old_pieces.path]], rooms)
    is_filled = new.filled[new_pieces.path]
    long = np.hypot(after[:, 2] - after[:, 0], after[:, 3] - after[:, 1]) >= np.where(is_filled, PIER, 0.3)
    on_plan = middles_in(new_pieces.segments, focus_pt)
    rows = np.flatnonzero(drawn_new[new_pieces.path] & long & on_plan) if len(after) else np.zeros(0, np.int64)
    rows = rows[unmatched(after[rows], before, tolerance_pt * size)]
    rows = rows[~_explained(after[rows], carried, scale)]
    return tuple(_gathered(after[rows], rooms, scale, is_filled[rows], is_pure=is_pure))


def lines_of_other_looks(old: Linework, new: Linework, registration: Registration, tolerance_pt: float) -> Floats:
    """Return the lines of the new issue, in its points, that the old one draws there in another pen or colour.

    A change of looks that holds for half of what was drawn so is the office's, and tells nothing.
    """
    before, after = registration.carry_segments(old.pieces.segments), new.pieces.segments
    long = np.hypot(before[:, 2] - before[:, 0], before[:, 3] - before[:, 1])
    rows = np.flatnonzero(long >= LEAST_PT)
    then, now, _ = pairs_within(ordered(before[rows]), ordered(after), 2.0 * tolerance_pt)
    looks = [[_look(of, path) for path in range(of.path_count)] for of in (old, new)]
    pairs = [
        (i, j, looks[0][old.pieces.path[i]], looks[1][new.pieces.path[j]]) for i, j in zip(rows[then], now, strict=True)
    ]
    whole = Counter(a for _, a in {(i, a) for i, _, a, _ in pairs})
    shared = Counter((a, b) for _, a, b in {(i, a, b) for i, _, a, b in pairs})
    usual = {j for _, j, a, b in pairs if shared[a, b] >= USUAL * whole[a]}
    return after[sorted({j for _, j, _, _ in pairs} - usual)]


def _look(linework: Linework, path: int) -> Look:
    """The pen of a path, and what it is stroked and filled with."""
    kinds = ((linework.stroked, linework.colour), (linework.filled, linework.fill))
    colours = (tuple(np.round(colour[path], 1).tolist()) if is_so[path] else () for is_so, colour in kinds)
    return (_pen(linework, path), *colours)


def _draws_in_rooms(lines: Floats, rooms: Sequence[tuple[str, shapely.Polygon]]) -> bool:
    """Tell whether lines that are drawn as walls stand in rooms away from their walls, as furniture does."""
    inside = shapely.union_all([room.buffer(-AT_WALL) for _, room in rooms])
    shapely.prepare(inside)
    middles = (lines[:, :2] + lines[:, 2:]) / 2.0
    within = lines[shapely.contains_xy(inside, middles[:, 0], middles[:, 1])]
    return float(np.hypot(within[:, 2] - within[:, 0], within[:, 3] - within[:, 1]).sum()) >= SHORTEST


def new_lines_in_rooms(
    differences: Differences, carried: Sequence[CarriedRun], scale: Calibration
) -> tuple[NewWall, ...]:
    """Find what may be a new wall in a picture: long ink in a room, near its walls or from wall to wall."""
    lines = differences.added * np.array([scale.mx, scale.my, scale.mx, scale.my])
    lines = lines[np.hypot(lines[:, 2] - lines[:, 0], lines[:, 3] - lines[:, 1]) >= LONG]
    lines = lines[~_explained(lines, carried, scale)]
    rooms = _rooms(carried, scale)
    faces = shapely.union_all([room.exterior for _, room in rooms])
    near = shapely.distance(shapely.linestrings(lines.reshape(-1, 2, 2)), faces) <= AT_WALL
    walls = [wall for wall in _gathered(lines[near], rooms, scale) if wall.runs]
    for more in (_across(differences.changes, rooms, scale), _solid(differences, rooms, scale)):
        known = {id for wall in walls for id in wall.runs}
        walls += [wall for wall in more if not known & set(wall.runs)]
    return tuple(walls)


def _solid(
    differences: Differences, rooms: Sequence[tuple[str, shapely.Polygon]], scale: Calibration
) -> Iterator[NewWall]:
    """New ink that fills its box, as large as a pier, in a room."""
    for change in differences.changes:
        left, top, right, bottom = change.box_pt
        wide, high = (right - left) * scale.mx, (bottom - top) * scale.my
        pixels = (right - left) * (bottom - top) / differences.pixel_pt**2
        middle = shapely.Point((left + right) / 2.0 * scale.mx, (top + bottom) / 2.0 * scale.my)
        runs = tuple(id for id, room in rooms if room.contains(middle))
        if runs and min(wide, high) >= PIER and change.added >= SOLID * pixels and change.removed < change.added:
            yield NewWall(box_pt=change.box_pt, length=change.size, runs=runs)


def _across(
    changes: Sequence[SheetChange], rooms: Sequence[tuple[str, shapely.Polygon]], scale: Calibration
) -> Iterator[NewWall]:
    """New ink that goes through a room from wall to wall: hatched, or with openings in it, it is no straight line."""
    for change in changes:
        if change.size < LONG or change.added <= change.removed:
            continue
        (left, top), (right, bottom) = (scale.to_metres(p) for p in (change.box_pt[:2], change.box_pt[2:]))
        x, y = (left + right) / 2.0, (top + bottom) / 2.0
        ends = ((left, y), (right, y)) if right - left >= bottom - top else ((x, top), (x, bottom))
        for id, room in rooms:
            is_through = all(room.exterior.distance(shapely.Point(end)) <= AT_WALL for end in ends)
            middle = shapely.Point(x, y)  # along a wall lies one that moved
            if is_through and room.contains(middle) and room.exterior.distance(middle) > THICKEST:
                yield NewWall(box_pt=change.box_pt, length=change.size, runs=(id,))


def _rooms(carried: Sequence[CarriedRun], scale: Calibration) -> list[tuple[str, shapely.Polygon]]:
    return [
        (c.before.id, shapely.Polygon(_way(c.after, scale).coords))
        for c in carried
        if c.after is not None and c.after.closed
    ]


def _gathered(
    lines: Floats,
    rooms: Sequence[tuple[str, shapely.Polygon]],
    scale: Calibration,
    is_filled: np.ndarray[tuple[int], np.dtype[np.bool_]] | None = None,
    *,
    is_pure: bool = False,
) -> Iterator[NewWall]:
    group = groups(lines, NEAR)
    for label in range(int(group.max()) + 1 if len(group) else 0):
        own = lines[group == label]
        longest = float(np.hypot(own[:, 2] - own[:, 0], own[:, 3] - own[:, 1]).max())
        drawn = shapely.linestrings(own.reshape(-1, 2, 2))
        left, top, right, bottom = (float(side) for side in shapely.total_bounds(drawn))
        is_solid = is_filled is not None and is_filled[group == label].all()
        least = PIER if is_solid else OUTLINED if is_pure else math.inf
        is_pier = min(right - left, bottom - top) >= least
        if longest < SHORTEST and not is_pier:
            continue
        middle = shapely.Point((left + right) / 2, (top + bottom) / 2)
        around = [(id, room) for id, room in rooms if shapely.contains(room, middle)]
        yield NewWall(
            box_pt=(left / scale.mx, top / scale.my, right / scale.mx, bottom / scale.my),
            length=longest,
            runs=tuple(id for id, _ in around),
            stands_free=not (is_pier or is_pure)
            and all(shapely.distance(drawn, room.exterior).min() > AT_WALL for _, room in around),
        )


def _way(run: Run, scale: Calibration) -> shapely.LineString:
    return shapely.LineString(traced_path(run, scale).flattened(0.005))


def _without_openings(run: Run, registration: Registration, scale: Calibration) -> shapely.Geometry:
    """The line of a run on the new sheet where it has a wall: glass and leaves have a pen of their own."""
    way = _way(replace(run, points_pt=tuple(registration.carry(p) for p in run.points_pt)), scale)
    holes = [way.interpolate(o.at).buffer(o.width / 2.0) for o in run.openings]
    return shapely.difference(way, shapely.union_all(holes))


def _pen(linework: Linework, path: int) -> Pen:
    return (
        round(float(linework.width[path]), 1),
        bool(linework.filled[path]),
        bool(linework.dashed[path]),
        linework.layer_name(path),
    )


def _pens_along(
    ways: Sequence[shapely.Geometry],
    before: Floats,
    old: Linework,
    path: np.ndarray[tuple[int], np.dtype[np.int64]],
    *,
    reach: float,
) -> set[Pen]:
    """Pens of the lines that runs were traced along, each with a fifth of their length or more."""
    tree = shapely.STRtree(shapely.linestrings(before.reshape(-1, 2, 2)))
    lengths: dict[Pen, float] = defaultdict(float)
    for way in ways:
        band = shapely.buffer(way, reach)
        for row in tree.query(way, predicate="dwithin", distance=reach):
            line = before[row]
            inside = shapely.length(shapely.intersection(shapely.LineString(line.reshape(2, 2)), band))
            if inside > 0.5 * math.dist(line[:2], line[2:]):
                lengths[_pen(old, int(path[row]))] += float(inside)
    whole = sum(lengths.values())
    return {pen for pen, length in lengths.items() if length >= 0.2 * whole}


def _explained(
    lines: Floats, carried: Sequence[CarriedRun], scale: Calibration
) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Tell which lines belong to walls that runs lie along: on a run, or beside one that changed."""
    out = np.zeros(len(lines), bool)
    if not len(lines):
        return out
    shapes = shapely.linestrings(lines.reshape(-1, 2, 2))
    for c in carried:
        if c.after is None:
            continue
        way = _way(c.after, scale)
        reach = THICKEST if c.moved or c.verdict != "unchanged" else scale.join_tolerance
        near = shapely.buffer(way, reach)
        out |= np.asarray(shapely.covers(near, shapes), bool) & _runs_along(lines, way, reach)
        for found in c.openings:  # its leaves
            if found.after is not None and found.verdict != "unchanged":
                place = way.interpolate(found.after.at).buffer(found.after.width * 1.2 + THICKEST)
                out |= np.asarray(shapely.covers(place, shapes), bool)
    return out


def _runs_along(lines: Floats, way: shapely.LineString, reach: float) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Tell which lines go the way of some piece of a run near by."""
    points = np.asarray(way.coords)
    along, units = unit(lines), unit(np.hstack([points[:-1], points[1:]]))
    parallel = np.abs(along[:, None, 0] * units[None, :, 1] - along[:, None, 1] * units[None, :, 0]) <= 2.0 * PARALLEL
    pieces = shapely.linestrings(np.stack([points[:-1], points[1:]], 1))
    middles = shapely.points((lines[:, :2] + lines[:, 2:]) / 2.0)
    near = shapely.distance(middles[:, None], pieces[None, :]) <= reach
    return np.asarray((parallel & near).any(1), bool)
