"""Rooms that are open to one another, parted where the areas that are printed in them say that one ends.

No wall stands there, so the line is an opening that stays in doubt. It goes on from a face of a wall, or from one
corner of walls to another, the shortest first; what lies on either side is as large as is printed in it, or on one side
where nothing is printed on the other: stairs, a yard. Offices count the floor in doorways or leave it out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np
import shapely
from shapely import Geometry, LineString, Polygon
from shapely.ops import split

from takeoff.trace.drawing.linework import Floats
from takeoff.trace.drawing.polygons import polygons_of, spans
from takeoff.trace.lines.gaps import gap_between
from takeoff.trace.lines.opening_forms import FoundOpening
from takeoff.trace.lines.scene import Scene
from takeoff.trace.lines.wall_openings import PARTING
from takeoff.trace.texts.printed_sizes import PrintedArea, areas_inside, printed_inside

FITS, ALONE = 0.03, 0.01
"""Shares by which parts may differ from the areas printed in them: all parts of a room, and one beside which nothing is
printed, as one line of many fits by chance (judgement)."""
_MOST = 60
"""Corners that stand out into a room up to which lines between them are tried (judgement)."""
_ROOMS = 6
"""Areas in a room up to which it is parted; more stand on a floor whose walls were not read (judgement)."""
_OUT = 0.17
"""Sine of the least angle of such a corner: 10°."""
_LEAST = 0.3
"""Metres; the shortest line that parts rooms (judgement)."""
_LONGEST = 5.5
"""Metres; the longest line that parts a room from what nothing is printed in (judgement)."""
_ALIKE = 0.05
"""Metres by which lines may differ that are of one length: those from both faces of a wall (judgement)."""
_SLACK = 1e-6
BY_AREA = "no wall stands there: the areas that are printed on both sides of it are those up to this line"

Shapes = list[tuple[Polygon, list[Polygon]]]
Parts = list[tuple[Polygon, LineString | None]]


def parted_by_areas(
    shapes: Shapes, openings: Sequence[FoundOpening], printed: Sequence[PrintedArea], scene: Scene
) -> tuple[Shapes, tuple[FoundOpening, ...]]:
    """Part the rooms in which areas are printed; return all, and the openings with those between the parts.

    ``shapes`` are the rooms with what stands in each, in sheet points.
    """
    found: Shapes = []
    lines: list[LineString] = []
    for shape, inside in shapes:
        own = printed_inside(shape, printed)
        parts: Parts = [(shape, None)]
        if own and len(own) <= _ROOMS:
            parting = _Parting(scene=scene, doors=doorways(shape, openings, scene))
            parts = (parting.all_of(shape, own) if len(own) > 1 else None) or parting.some_of(shape, own)
        found += [
            (part, [i for i in inside if len(parts) == 1 or part.contains(i.representative_point())])
            for part, _ in parts
        ]
        lines += [line for _, line in parts if line is not None]
    return found, (*openings, *(_opening(line) for line in lines))


def filled_out(shapes: Shapes, printed: Sequence[PrintedArea], scene: Scene) -> Shapes:
    """Return the rooms; one smaller than is printed in it with the niches between things that stand along its walls.

    Cupboards, beds and baths are often drawn as walls are. They are filled in where the hull of the room or the
    rectangle round it, which nothing reaches into that has a name or an area, is as large as is printed.
    """
    if not printed:
        return shapes
    written = shapely.points([line.middle_pt for line in scene.names] + [p.at_pt for p in printed])
    rooms = shapely.STRtree([s for s, _ in shapes if shapely.contains(s, written).any()])
    filled: dict[int, Polygon] = {}
    for i, (shape, _) in enumerate(shapes):
        own = [area / scene.m_per_pt**2 for area in areas_inside(shape, printed)]
        if len(own) != 1 or shape.area >= (1 - FITS) * own[0]:
            continue
        wholes = (shapely.convex_hull(shape), shapely.minimum_rotated_rectangle(shape))
        for whole in sorted(wholes, key=lambda one: abs(one.area - own[0])):
            beside = shapely.intersection(rooms.geometries[rooms.query(whole, predicate="intersects")], whole)
            if abs(whole.area / own[0] - 1.0) <= FITS and shapely.area(beside).sum() < shape.area + ALONE * whole.area:
                filled[i] = whole
                break
    gone = shapely.union_all(list(filled.values()))
    kept = [(i, own) for i, own in enumerate(shapes) if i in filled or not gone.contains(own[0].representative_point())]
    return [(filled.get(i, shape), inside) for i, (shape, inside) in kept]


def doorways(shape: Polygon, openings: Sequence[FoundOpening], scene: Scene) -> Geometry:
    """Return the floor in the doorways of a room."""
    near = shapely.buffer(shape, scene.pt(0.02))
    return shapely.union_all([o.gap.band for o in openings if o.kind == "door" and near.intersects(o.gap.band)])


@dataclass(frozen=True, slots=True, kw_only=True)
class _Parting:
    """Parts one room, with the floor in its doorways."""

    scene: Scene
    doors: Geometry

    def all_of(self, shape: Polygon, printed: Sequence[PrintedArea]) -> Parts | None:
        """Return the parts of a room and the line before each but the last; nothing where they do not fit."""
        if not self._fits(shape, printed, FITS):
            return None
        if len(printed) == 1:
            return [(shape, None)]
        for line, pieces, own in self._cuts(shape, printed):
            if not all(p and self._fits(piece, p, FITS) for piece, p in zip(pieces, own, strict=True)):
                continue
            first = self.all_of(pieces[0], own[0])
            second = self.all_of(pieces[1], own[1]) if first is not None else None
            if first is not None and second is not None:
                return [*first[:-1], (first[-1][0], line), *second]
        return None

    def some_of(self, shape: Polygon, printed: Sequence[PrintedArea]) -> Parts:
        """Return the parts of a room that are as large as is printed in them, and what is left of it."""
        if not self._fits(shape, printed, FITS):
            for line, pieces, own in self._cuts(shape, printed, _LONGEST):
                one = 0 if own[0] else 1
                if own[1 - one] or not self._fits(pieces[one], printed, ALONE):
                    continue
                parts = self.all_of(pieces[one], printed)
                if parts is not None:
                    return [*parts[:-1], (parts[-1][0], line), (pieces[1 - one], None)]
        return [(shape, None)]

    def _cuts(
        self, shape: Polygon, printed: Sequence[PrintedArea], longest: float = math.inf
    ) -> Iterator[tuple[LineString, list[Polygon], list[list[PrintedArea]]]]:
        """Yield the lines that part a room in two, with both parts and what is printed in each.

        The shortest come first, of lines of one length that which fits best.
        """
        lines = [line for line in _lines(shape) if self.scene.pt(_LEAST) < line.length < self.scene.pt(longest)]
        for _, alike in groupby(sorted(lines, key=self._length), key=self._length):
            cuts = []
            for line in alike:
                pieces = polygons_of(split(shape, line))
                own = [printed_inside(q, printed) for q in pieces]
                off = [abs(self._told(p) / q.area - 1.0) for q, p in zip(pieces, own, strict=True) if p]
                if len(pieces) == 2:
                    cuts.append((max(off), line, pieces, own))
            yield from (cut[1:] for cut in sorted(cuts, key=lambda cut: cut[0]))

    def _length(self, line: LineString) -> int:
        return int(np.round(line.length / self.scene.pt(_ALIKE)))

    def _told(self, printed: Sequence[PrintedArea]) -> float:
        return sum(p.area for p in printed) / self.scene.m_per_pt**2

    def _fits(self, shape: Polygon, printed: Sequence[PrintedArea], slack: float) -> bool:
        """Tell whether a part is as large as is printed in it, with the floor in its doorways or without."""
        near = shapely.buffer(shape, self.scene.pt(0.02))
        doors = sum(part.area for part in polygons_of(self.doors) if near.intersects(part))
        return bool((1 - slack) * shape.area <= self._told(printed) <= (1 + slack) * (shape.area + doors))


def _lines(shape: Polygon) -> Iterator[LineString]:
    """Yield the lines that may part a room, from the corners that stand out into it."""
    ring = shapely.get_coordinates(shapely.simplify(shape, 0.05).normalize().exterior)
    edges: Floats = np.concatenate([ring[:-1], ring[1:]], axis=1)
    u, _ = spans(edges)
    before = np.roll(u, 1, axis=0)
    turn = before[:, 0] * u[:, 1] - before[:, 1] * u[:, 0]
    corners = np.flatnonzero(turn > _OUT)  # normalized rings run clockwise
    if len(corners) > _MOST:
        return
    reach = float(shape.length)
    for i in corners.tolist():
        at = edges[i, :2]
        for way in (before[i], -u[i]):
            yield from _within(shape, at, at + way * reach)
        for j in corners[corners > i].tolist():
            yield from _within(shape, at, edges[j, :2])


def _within(shape: Polygon, start: Floats, end: Floats) -> Iterator[LineString]:
    """Yield the piece of a line in a shape that begins where the line does."""
    for piece in shapely.get_parts(shapely.intersection(shape, LineString([start, end]))).tolist():
        if isinstance(piece, LineString) and piece.distance(shapely.Point(start)) < 1e-3:
            points = shapely.get_coordinates(piece)
            along = (points[-1] - points[0]) * _SLACK  # beyond the outline, so that it cuts
            yield LineString([points[0] - along, points[-1] + along])


def _opening(line: LineString) -> FoundOpening:
    ends = shapely.get_coordinates(line)
    side = (ends[0], ends[-1])
    gap = gap_between(side, side, is_capped=False)
    return FoundOpening(gap=gap, form="cased", confidence=PARTING, reason=BY_AREA)
