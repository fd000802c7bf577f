"""What lies under and round the walls on pages to train on: shadows, fills, floors, soil, cladding, footings, lines.

All of it is nothing in the eyes of the network. Lengths are metres in the building frame.
"""

from __future__ import annotations

import math
import random

import numpy as np
import shapely
from shapely import LineString, MultiLineString, Polygon
from shapely.affinity import rotate, translate

from tests.trace.ink import Ink, Pen, Pens
from tests.trace.plans import Building

MOST_LINES = 700
"""Lines of one floor or hatch: more only take time."""


def under_walls(ink: Ink, pens: Pens, b: Building, rng: random.Random) -> None:
    """Draw what the walls are drawn over."""
    ways = (_toned, _soil, _boards, _stippled_floor, _shadows, _beside_walls, _terrain)
    for way, share in zip(ways, (0.15, 0.12, 0.15, 0.12, 0.18, 0.15, 0.12), strict=True):
        if rng.random() < share:
            way(ink, pens, b, rng)


def over_walls(ink: Ink, pens: Pens, wall: Pen, b: Building, rng: random.Random, m_per_pt: float) -> None:
    """Draw what goes over the walls: long strings through them, lines overhead, and gaps where ink was taken away."""
    x0, y0, x1, y1 = b.area.bounds
    if rng.random() < 0.15:
        for _ in range(rng.randint(1, 4)):
            pen = rng.choice([pens.thin, pens.thin, wall])
            _long_string(ink, pen, b, rng, m_per_pt)
    if rng.random() < 0.15:  # beams, eaves and the floor above, in dashes
        for _ in range(rng.randint(1, 5)):
            x, y = rng.uniform(x0, x1), rng.uniform(y0, y1)
            wide = rng.choice([0.08, 0.15, 0.2, 0.3])
            for k in (0.0, wide):
                ends = ((x0, y + k), (x1, y + k)) if rng.random() < 0.5 else ((x + k, y0), (x + k, y1))
                ink.line(*ends, "", pens.dashed)
    if rng.random() < 0.12:
        _gaps(ink, b, rng)


def beside(ink: Ink, pens: Pens, wall: Pen, b: Building, rng: random.Random) -> None:
    """Draw what stands round a building and looks like walls, first: walls hide what of it lies beneath them."""
    if rng.random() < 0.25:
        for _ in range(rng.randint(1, 3)):
            _boundary(ink, rng.choice([pens.thin, wall]), b, rng)
    if rng.random() < 0.2:
        _hatched_edge(ink, pens, b, rng)
    if rng.random() < 0.2:
        for _ in range(rng.randint(1, 4)):
            _stones(ink, pens.thin, b, rng)
    if rng.random() < 0.15:
        for _ in range(rng.randint(1, 4)):
            _bed(ink, pens.thin, b, rng)


def _spot(b: Building, rng: random.Random, far: float) -> tuple[float, float]:
    """Return a place outside a building, or in it now and then."""
    x0, y0, x1, y1 = b.area.bounds
    beyond = [(rng.uniform(x0 - far, x1 + far), y) for y in (y0 - rng.uniform(0.3, far), y1 + rng.uniform(0.3, far))]
    beyond += [(x, rng.uniform(y0 - far, y1 + far)) for x in (x0 - rng.uniform(0.3, far), x1 + rng.uniform(0.3, far))]
    return rng.choice(beyond)


def _boundary(ink: Ink, pen: Pen, b: Building, rng: random.Random) -> None:
    """Draw the line of a plot or a zone, in dashes and dots or in one, past the building or right through it."""
    a, turn = _spot(b, rng, 2.5), rng.choice([0.0, math.pi / 2, rng.uniform(0, math.pi)])
    dash = rng.choice(["[20 3 3 3] 0", "[14 3 2 3 2 3] 0", "[12 6] 0", "[30 4 4 4 4 4] 0", "[2 2] 0", ""])
    reach = (60 * math.cos(turn), 60 * math.sin(turn))
    for k in rng.choice([(0.0,), (0.0,), (0.0, rng.uniform(0.06, 0.4))]):
        x, y = a[0] - k * math.sin(turn), a[1] + k * math.cos(turn)
        ink.line((x - reach[0], y - reach[1]), (x + reach[0], y + reach[1]), "", Pen(pen.width, pen.grey, dash))


def _hatched_edge(ink: Ink, pens: Pens, b: Building, rng: random.Random) -> None:
    """Draw a line that goes on from a side of the building, with a strip of strokes: ground, or the neighbour's."""
    x0, y0, x1, y1 = b.area.bounds
    wide, far = rng.uniform(0.15, 0.8), rng.uniform(1.0, 4.0)
    strip = rng.choice(
        [
            shapely.box(x1, y0 - far, x1 + wide, y1 + far),
            shapely.box(x0 - wide, y0 - far, x0, y1 + far),
            shapely.box(x0 - far, y1 + rng.uniform(0, 1), x1 + far, y1 + 1 + wide),
            shapely.box(x0 - far, y0 - 1 - wide, x1 + far, y0 - rng.uniform(0, 1)),
        ]
    )
    clipped(ink, even_lines(strip, rng.uniform(0.08, 0.35), rng.choice([45.0, 135.0, 30.0])), strip, pens.thin)
    sx0, sy0, sx1, sy1 = strip.bounds
    sides = [((sx0, sy0), (sx1, sy0)), ((sx0, sy1), (sx1, sy1)), ((sx0, sy0), (sx0, sy1)), ((sx1, sy0), (sx1, sy1))]
    long = sides[:2] if sx1 - sx0 > sy1 - sy0 else sides[2:]
    for side in rng.choice([long[:1], long[1:], []]):
        ink.line(*side, "", rng.choice([pens.thin, pens.wall]))


def _stones(ink: Ink, pen: Pen, b: Building, rng: random.Random) -> None:
    """Lay a patch or a course of rough stones of many sizes, as terraces and garden walls have them."""
    x, y = _spot(b, rng, 2.0)
    wide, high = rng.choice([(rng.uniform(1, 6), rng.uniform(0.3, 0.7)), (rng.uniform(1, 3), rng.uniform(1, 3))])
    if rng.random() < 0.5:
        wide, high = high, wide
    patch = shapely.difference(shapely.box(x, y, x + wide, y + high), Polygon(b.area.exterior))
    size = rng.uniform(0.2, 0.5)
    count = max(4, min(200, int(wide * high / size**2)))
    seeds = shapely.MultiPoint([(x + rng.random() * wide, y + rng.random() * high) for _ in range(count)])
    joint = rng.uniform(0.0, 0.03)
    for cell in shapely.get_parts(shapely.voronoi_polygons(seeds)).tolist():
        for stone in shapely.get_parts(shapely.intersection(cell, patch).buffer(-joint)).tolist():
            if isinstance(stone, Polygon) and stone.area > 1e-3:
                ink.shape(stone, "", stroke=pen)


def _bed(ink: Ink, pen: Pen, b: Building, rng: random.Random) -> None:
    """Draw a bed of plants: a box, and a wavy line inside it."""
    x, y = _spot(b, rng, 2.5)
    wide, high = rng.uniform(0.6, 4.0), rng.uniform(0.4, 1.2)
    if shapely.box(x, y, x + wide, y + high).intersects(b.area):
        return
    for off in rng.choice([(0.0,), (0.0, 0.08), (0.0, 0.15)]):
        ink.shape(shapely.box(x - off, y - off, x + wide + off, y + high + off), "", stroke=pen)
    inner = shapely.box(x + 0.1, y + 0.1, x + wide - 0.1, y + high - 0.1).exterior
    points = [inner.interpolate(s).coords[0] for s in np.arange(0, inner.length, rng.uniform(0.06, 0.15)).tolist()]
    ink.polyline([(px + rng.uniform(-0.05, 0.05), py + rng.uniform(-0.05, 0.05)) for px, py in points], "", pen)


def _toned(ink: Ink, pens: Pens, b: Building, rng: random.Random) -> None:
    """Fill floors, the ground round the building and what stands beside it with even tones, as zones are shown."""
    tone = rng.uniform(0.55, 0.95)
    x0, y0, x1, y1 = b.area.bounds
    far = rng.uniform(1.0, 4.0)
    if rng.random() < 0.5:
        ground = shapely.box(x0 - far, y0 - far, x1 + far, y1 + far)
        ink.shape(ground, "", fill=rng.uniform(0.6, 0.95))
        ink.shape(Polygon(b.area.exterior), "", fill=1.0)
    for room in b.rooms:
        if rng.random() < 0.8:
            ink.shape(room, "", fill=tone if rng.random() < 0.7 else rng.uniform(0.55, 1.0))
    if rng.random() < 0.4:  # the neighbour's building, up to the wall
        at = rng.choice([(x1, y0, x1 + far, y1), (x0 - far, y0, x0, y1), (x0, y1, x1, y1 + far)])
        ink.shape(shapely.box(*at), "", fill=rng.uniform(0.3, 0.8))


def _soil(ink: Ink, pens: Pens, b: Building, rng: random.Random) -> None:
    """Draw earth round a building: a weave of short strokes, or dense dots."""
    x0, y0, x1, y1 = b.area.bounds
    far = rng.uniform(0.8, 2.5)
    ring = shapely.difference(shapely.box(x0 - far, y0 - far, x1 + far, y1 + far), Polygon(b.area.exterior))
    cell = rng.uniform(0.25, 0.6)
    count = rng.choice([3, 4])
    strokes = []
    for i, x in enumerate(np.arange(x0 - far, x1 + far, cell).tolist()):
        for j, y in enumerate(np.arange(y0 - far, y1 + far, cell).tolist()):
            for k in range(count):
                s = (k + 0.5) / count * cell
                ends = [(x, y + s), (x + cell, y + s)] if (i + j) % 2 else [(x + s, y), (x + s, y + cell)]
                strokes.append(LineString(ends))
    pen = Pen(pens.thin.width, rng.choice([0.0, 0.2, 0.5]))
    clipped(ink, MultiLineString(strokes[: 6 * MOST_LINES]), ring, pen)


def _boards(ink: Ink, pens: Pens, b: Building, rng: random.Random) -> None:
    """Lay boards through most rooms, all one way, or one room's each way."""
    step, tilt = rng.uniform(0.06, 0.25), rng.choice([0.0, 0.0, 90.0, 90.0, 45.0])
    pen = Pen(pens.thin.width, rng.choice([0.0, 0.3, 0.5, 0.7]))
    for room in b.rooms:
        if rng.random() < 0.75:
            clipped(ink, even_lines(room, step, tilt), room, pen)


def even_lines(area: Polygon, step: float, tilt: float) -> MultiLineString:
    """Return even lines over an area's box, turned by degrees."""
    x0, y0, x1, y1 = area.bounds
    size = math.hypot(x1 - x0, y1 - y0)
    step = max(step, size / MOST_LINES)
    lines = [LineString([(-size, i * step - size / 2), (size, i * step - size / 2)]) for i in range(int(size / step))]
    return translate(rotate(MultiLineString(lines), tilt, origin=(0, 0)), (x0 + x1) / 2, (y0 + y1) / 2)


def clipped(ink: Ink, lines: MultiLineString, area: Polygon, pen: Pen) -> None:
    """Draw the parts of lines that lie in an area."""
    for piece in shapely.get_parts(shapely.intersection(lines, area)).tolist():
        if isinstance(piece, LineString) and piece.length > 0.02:
            ink.line(piece.coords[0], piece.coords[-1], "", pen)


def _stippled_floor(ink: Ink, pens: Pens, b: Building, rng: random.Random) -> None:
    """Dot floors of concrete, with small strokes among the dots."""
    per_m2 = rng.uniform(30, 160)
    pen = Pen(max(0.25, pens.thin.width), rng.choice([0.0, 0.0, 0.4]))
    for room in b.rooms:
        if rng.random() < 0.4:
            continue
        x0, y0, x1, y1 = room.bounds
        for _ in range(min(4000, int((x1 - x0) * (y1 - y0) * per_m2))):
            x, y = rng.uniform(x0, x1), rng.uniform(y0, y1)
            if shapely.contains_xy(room, x, y):
                long, turn = rng.choice([0.01, 0.01, 0.03]), rng.uniform(0, math.pi)
                ink.line((x, y), (x + long * math.cos(turn), y + long * math.sin(turn)), "", pen)


def swept(shape: Polygon, by: tuple[float, float]) -> Polygon:
    """Return what a shape covers while it moves along a vector."""
    quads = [shape, translate(shape, *by)]
    for ring in (shape.exterior, *shape.interiors):
        for a, c in zip(ring.coords, ring.coords[1:], strict=False):
            quad = Polygon([a, c, (c[0] + by[0], c[1] + by[1]), (a[0] + by[0], a[1] + by[1])])
            if quad.is_valid and quad.area > 1e-9:
                quads.append(quad)
    return shapely.union_all(quads, grid_size=1e-6)  # without a grid such slivers fail once in some ten thousand pages


def _shadows(ink: Ink, pens: Pens, b: Building, rng: random.Random) -> None:
    """Cast the walls' shadow one way, through the openings or not; furniture has none."""
    long, turn = rng.uniform(0.15, 0.9), math.radians(rng.choice([45, 135, 225, 315, rng.uniform(0, 360)]))
    by = (long * math.cos(turn), long * math.sin(turn))
    solid = b.area
    if rng.random() < 0.7 and b.holes:
        solid = shapely.difference(b.area, shapely.union_all([h.box() for h in b.holes]))
    parts = [p for p in shapely.get_parts(solid).tolist() if isinstance(p, Polygon)] + list(b.columns)
    shade = shapely.union_all([swept(p, by) for p in parts])
    tone = rng.uniform(0.5, 0.85)
    for part in shapely.get_parts(shapely.difference(shade, solid)).tolist():
        if isinstance(part, Polygon) and part.area > 1e-4:
            ink.shape(part, "", fill=tone)


def _beside_walls(ink: Ink, pens: Pens, b: Building, rng: random.Random) -> None:
    """Draw lines along walls that are no wall: cladding close by, footings further off, linings inside."""
    outer = Polygon(b.area.exterior)
    for off in {"cladding": [0.02, 0.06], "footing": [0.15, 0.3, 0.45]}[rng.choice(["cladding", "footing"])]:
        if rng.random() < 0.6:
            line = outer.buffer(off * rng.uniform(0.7, 1.3), join_style="mitre")
            ink.shape(Polygon(line.exterior), "", stroke=rng.choice([pens.thin, pens.dashed]))
    if rng.random() < 0.5:
        off = rng.choice([0.015, 0.05, 0.2])
        for room in b.rooms:
            if rng.random() < 0.5:
                inner = room.buffer(-off, join_style="mitre")
                for part in [] if inner.is_empty else shapely.get_parts(inner).tolist():
                    ink.shape(Polygon(part.exterior), "", stroke=rng.choice([pens.thin, pens.dashed]))


def _terrain(ink: Ink, pens: Pens, b: Building, rng: random.Random) -> None:
    """Draw trees and contours round a building."""
    x0, y0, x1, y1 = b.area.bounds
    for _ in range(rng.randint(1, 6)):
        x = rng.choice([rng.uniform(x0 - 3, x0 - 0.8), rng.uniform(x1 + 0.8, x1 + 3), rng.uniform(x0, x1)])
        y = rng.choice([y0 - 1.5, y1 + 1.5, rng.uniform(y0, y1)]) if x0 < x < x1 else rng.uniform(y0, y1)
        if not x0 < x < x1 or not y0 < y < y1:
            r = rng.uniform(0.4, 1.3)
            turns = np.linspace(0, 2 * math.pi, 40)
            ring = [(x + r * k * math.cos(t), y + r * k * math.sin(t)) for t in turns for k in [rng.uniform(0.8, 1.1)]]
            ink.polyline([*ring, ring[0]], "", pens.thin)
    for _ in range(rng.choice([0, 1, 2])):
        y, line = rng.choice([y0 - 1.0, y1 + 1.0]), []
        for x in np.arange(x0 - 3, x1 + 3, rng.uniform(0.5, 2)).tolist():
            y += rng.uniform(-0.3, 0.3)
            line.append((x, y))
        ink.polyline(line, "", pens.thin)


def _long_string(ink: Ink, pen: Pen, b: Building, rng: random.Random, m_per_pt: float) -> None:
    """Draw a string of dimensions right through a building, from face to face, with arrows or strokes."""
    x0, y0, x1, y1 = b.area.bounds
    is_across = rng.random() < 0.5
    at = rng.uniform(y0, y1) if is_across else rng.uniform(x0, x1)
    line = LineString([(x0, at), (x1, at)] if is_across else [(at, y0), (at, y1)])
    is_filled = rng.random() < 0.5
    for part in shapely.get_parts(shapely.difference(line, b.area)).tolist():
        if not isinstance(part, LineString) or part.length < 0.6:
            continue
        a, c = (np.array(p) for p in part.coords)
        u = (c - a) / part.length
        n = np.array([-u[1], u[0]])
        ink.line(tuple(a), tuple(c), "", pen)
        for end, way in ((a, 1), (c, -1)):
            t = 3 * m_per_pt
            if is_filled:
                ink.shape(
                    Polygon([end, end + u * way * 2 * t + n * 0.5 * t, end + u * way * 2 * t - n * 0.5 * t]),
                    "",
                    fill=0.0,
                )
            else:
                ink.line(tuple(end - n * t), tuple(end + n * t), "", pen)
        ink.text(tuple((a + c) / 2 + n * 5 * m_per_pt), f"{1000 * part.length:.0f}", rng.choice([5, 6, 8]), "")


def _gaps(ink: Ink, b: Building, rng: random.Random) -> None:
    """Take short pieces out of walls' lines with white, as masks of words and bad copies do."""
    for _ in range(rng.randint(1, 6)):
        wall = rng.choice(b.walls)
        if wall.line.length < 1.0:
            continue
        p, q = (np.array(c) for c in wall.line.coords)
        u = (q - p) / wall.line.length
        n = np.array([-u[1], u[0]])
        half = rng.uniform(0.03, 0.18)
        m = p + u * rng.uniform(0.3, wall.line.length - 0.3)
        t = wall.thickness / 2
        low, high = rng.choice([(-t - 0.03, t + 0.03), (t - 0.04, t + 0.04), (-t - 0.04, -t + 0.04)])
        if any(h.box(more=0.1).distance(shapely.Point(m)) < half + 0.15 for h in b.holes):
            continue
        corners = [m - u * half + n * low, m + u * half + n * low, m + u * half + n * high, m - u * half + n * high]
        ink.shape(Polygon(corners), "", fill=1.0)
