"""Rooms that are open to one another, parted where the areas that are printed in them say that one ends.

No wall stands there, so the line is an opening that stays in doubt. It goes on from a face of a wall, or from one
corner of walls to another, the shortest first; what lies on either side is as large as is printed in it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.ops import split

from takeoff.trace.drawing.linework import Floats
from takeoff.trace.drawing.polygons import polygons_of, spans
from takeoff.trace.lines.gaps import gap_between
from takeoff.trace.lines.scene import Scene
from takeoff.trace.lines.wall_openings import PARTING, FoundOpening
from takeoff.trace.texts.printed_areas import PrintedArea

FITS = 0.02
"""Share by which a part may differ from the area printed in it: less than an outline between walls may, as one line of
many fits by chance (judgement)."""
_MOST = 60
"""Corners that stand out into a room up to which lines between them are tried (judgement)."""
_OUT = 0.17
"""Sine of the least angle of such a corner: 10°."""
_LEAST = 0.3
"""Metres; the shortest line that parts rooms (judgement)."""
_SLACK = 1e-6
_REASON = "no wall stands there: the areas that are printed on both sides of it are those up to this line"

Shapes = list[tuple[Polygon, list[Polygon]]]


def parted_by_areas(
    shapes: Shapes, openings: Sequence[FoundOpening], printed: Sequence[PrintedArea], scene: Scene
) -> tuple[Shapes, tuple[FoundOpening, ...]]:
    """Part the rooms in which several areas are printed; return all, and the openings with those between the parts.

    ``shapes`` are the rooms with what stands in each, in sheet points.
    """
    found: Shapes = []
    lines: list[LineString] = []
    for shape, inside in shapes:
        own = [p for p in printed if shape.contains(shapely.Point(p.at_pt))] if printed else []
        parts = _parts(shape, own, scene) if len(own) > 1 else None
        if parts is None:
            found.append((shape, inside))
            continue
        found += [(part, [i for i in inside if part.contains(i.representative_point())]) for part, _ in parts]
        lines += [line for _, line in parts if line is not None]
    return found, (*openings, *(_opening(line) for line in lines))


def _parts(
    shape: Polygon, printed: Sequence[PrintedArea], scene: Scene
) -> list[tuple[Polygon, LineString | None]] | None:
    """Return the parts of a room and the line before each but the last; nothing where they do not fit."""
    area = shape.area * scene.m_per_pt**2
    if abs(sum(p.area for p in printed) / area - 1.0) > FITS:
        return None
    if len(printed) == 1:
        return [(shape, None)]
    for line in sorted(_lines(shape), key=lambda line: line.length):
        pieces = polygons_of(split(shape, line)) if line.length > scene.pt(_LEAST) else []
        if len(pieces) != 2:
            continue
        own = [[p for p in printed if piece.contains(shapely.Point(p.at_pt))] for piece in pieces]
        if not all(own):  # each corner cut off would be tried with each other one
            continue
        first, second = (_parts(piece, p, scene) for piece, p in zip(pieces, own, strict=True))
        if first is not None and second is not None:
            return [*first[:-1], (first[-1][0], line), *second]
    return None


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
    return FoundOpening(gap=gap, form="cased", confidence=PARTING, reason=_REASON)
