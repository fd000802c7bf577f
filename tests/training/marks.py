"""Marks that pages to train on carry besides the building: strings of dimensions, stairs, ramps, legends, bars, tables.

All of it is nothing in the eyes of the network, however much it may look like a wall.
"""

from __future__ import annotations

import math
import random
from itertools import pairwise

import numpy as np
import shapely
from shapely import LineString, Polygon

from tests.trace.ink import Ink, Pen, Pens
from tests.trace.plans import Building
from tests.training.grounds import clipped

_WORDS = ("LEVEL", "FINISH", "BASE", "EXISTING TO REMAIN", "SEE SCHEDULE", "TYPICAL", "MORTAR", "PRIMER", "BY OTHERS")


def marks(ink: Ink, pens: Pens, wall: Pen, b: Building, rng: random.Random, m_per_pt: float) -> None:
    """Put a choice of marks on a page."""
    for way, share in (
        (_strings, 0.5),
        (_inner_strings, 0.25),
        (_grid, 0.3),
        (_north, 0.4),
        (_scale_bar, 0.35),
        (_legend, 0.25),
        (_paragraph, 0.4),
        (_section_marks, 0.25),
        (_level_marks, 0.25),
    ):
        if rng.random() < share:
            way(ink, pens, wall, b, rng, m_per_pt)


def _string(ink: Ink, pen: Pen, points: list[np.ndarray], rng: random.Random, m_per_pt: float, sign: float) -> None:
    """Draw one string of dimensions through points in a line."""
    p, q = points[0], points[-1]
    length = float(np.hypot(*(q - p)))
    if length < 0.3:
        return
    u = (q - p) / length
    n = np.array([-u[1], u[0]]) * sign
    size = rng.choice([4.0, 5.0, 6.0])
    over = rng.choice([0.0, 4.0]) * m_per_pt
    ink.line(tuple(p - u * over), tuple(q + u * over), "", pen)
    end = rng.choice(["tick", "arrow", "dot", "bar"])
    for x in points:
        t = rng.choice([2.0, 3.0]) * m_per_pt
        if end == "tick":
            ink.line(tuple(x - (u + n) * t), tuple(x + (u + n) * t), "", Pen(max(0.4, pen.width)))
        elif end == "arrow":
            ink.shape(Polygon([x, x + u * 2 * t + n * 0.5 * t, x + u * 2 * t - n * 0.5 * t]), "", fill=0.0)
        elif end == "dot":
            ink.arc(tuple(x), 0.4 * t, 0, 2 * math.pi, "", pen)
        else:
            ink.line(tuple(x - n * t), tuple(x + n * t), "", pen)
    for a, c in pairwise(points):
        ink.text(tuple((a + c) / 2 + n * 0.8 * size * m_per_pt), f"{math.dist(a, c):.2f}", size, "")


def _strings(ink: Ink, pens: Pens, wall: Pen, b: Building, rng: random.Random, m_per_pt: float) -> None:
    """Draw strings round the building, close to its walls, with lines that run out to them."""
    x0, y0, x1, y1 = b.area.bounds
    xs = sorted({round(p[0], 2) for w in b.walls for p in w.line.coords})
    ys = sorted({round(p[1], 2) for w in b.walls for p in w.line.coords})
    for side in rng.sample(range(4), k=rng.randint(1, 4)):
        first, step = rng.uniform(0.08, 0.8), rng.uniform(0.25, 0.6)
        for row in range(rng.randint(1, 3)):
            far = first + row * step
            stops = xs if side < 2 else ys
            stops = [stops[0], stops[-1]] if row == 2 or len(stops) < 3 else stops
            at = (y0 - far, y1 + far, x0 - far, x1 + far)[side]
            points = [np.array((s, at) if side < 2 else (at, s)) for s in stops]
            _string(ink, pens.thin, points, rng, m_per_pt, rng.choice([-1.0, 1.0]))
            if row == 0:
                base = (y0, y1, x0, x1)[side]
                for s in stops:
                    a, c = base + math.copysign(0.02, at - base), at + math.copysign(0.1, at - base)
                    ink.line((s, a) if side < 2 else (a, s), (s, c) if side < 2 else (c, s), "", pens.thin)


def _inner_strings(ink: Ink, pens: Pens, wall: Pen, b: Building, rng: random.Random, m_per_pt: float) -> None:
    """Draw strings inside rooms, close to a wall and along it."""
    for room in rng.sample(b.rooms, k=max(1, len(b.rooms) // 2)):
        x0, y0, x1, y1 = room.bounds
        near = rng.uniform(0.08, 0.5)
        if rng.random() < 0.5:
            y = rng.choice([y0 + near, y1 - near])
            line = LineString([(x0 - 1, y), (x1 + 1, y)])
        else:
            x = rng.choice([x0 + near, x1 - near])
            line = LineString([(x, y0 - 1), (x, y1 + 1)])
        for part in shapely.get_parts(shapely.intersection(line, room)).tolist()[:1]:
            if isinstance(part, LineString) and part.length > 0.6:
                share = sorted(rng.uniform(0.15, 0.85) for _ in range(rng.choice([0, 0, 1, 2])))
                ends = [np.array(part.interpolate(s, normalized=True).coords[0]) for s in (0.0, *share, 1.0)]
                _string(ink, pens.thin, ends, rng, m_per_pt, 1.0)


def _grid(ink: Ink, pens: Pens, wall: Pen, b: Building, rng: random.Random, m_per_pt: float) -> None:
    """Draw grid lines both ways with bubbles at one end or both."""
    x0, y0, x1, y1 = b.area.bounds
    pen = Pen(rng.choice([0.13, 0.25, 0.5]), rng.choice([0.0, 0.0, 0.5]), rng.choice(["[14 3 2 3] 0", "[8 4] 0", ""]))
    radius = rng.uniform(6, 10) * m_per_pt
    far = rng.uniform(0.5, 2.0)
    for i in range(2):
        low, high, near, off = (x0, x1, y0, y1) if i == 0 else (y0, y1, x0, x1)
        axes = [w.line.coords[0][i] for w in b.walls] if rng.random() < 0.5 else []
        stops = rng.sample(axes, k=min(3, len(axes))) or np.arange(low, high, rng.uniform(2.5, 6.0)).tolist()
        for k, s in enumerate(stops):
            ink.line(*(((s, near - far), (s, off + far)) if i == 0 else ((near - far, s), (off + far, s))), "", pen)
            for end in (near - far - radius, off + far + radius)[: rng.choice([1, 2])]:
                centre = (s, end) if i == 0 else (end, s)
                ink.arc(centre, radius, 0, 2 * math.pi, "", pens.thin)
                ink.text(centre, "ABCDEFGH"[k % 8] if i == 0 else str(k + 1), 8, "")


def _corner(b: Building, rng: random.Random) -> tuple[float, float]:
    """Return a place beside the building."""
    x0, y0, x1, y1 = b.area.bounds
    below = (rng.uniform(x0, x1), y1 + rng.uniform(1.0, 2.0))
    beside = (x1 + rng.uniform(1.0, 2.5), rng.uniform(y0, y1))
    return rng.choice([below, beside])


def _north(ink: Ink, pens: Pens, wall: Pen, b: Building, rng: random.Random, m_per_pt: float) -> None:
    x, y = _corner(b, rng)
    r, turn = rng.uniform(10, 24) * m_per_pt, rng.uniform(0, 2 * math.pi)

    def at(angle: float, k: float) -> tuple[float, float]:
        return (x + k * r * math.cos(turn + angle), y + k * r * math.sin(turn + angle))

    ink.arc((x, y), r, 0, 2 * math.pi, "", pens.thin)
    ink.shape(Polygon([at(0, 1.2), at(2.6, 0.9), at(math.pi, 0.3)]), "", stroke=pens.thin, fill=rng.choice([0.0, None]))
    ink.shape(Polygon([at(0, 1.2), at(-2.6, 0.9), at(math.pi, 0.3)]), "", stroke=pens.thin)
    ink.text(at(0, 1.6), "N", 9, "")


def _scale_bar(ink: Ink, pens: Pens, wall: Pen, b: Building, rng: random.Random, m_per_pt: float) -> None:
    """Draw a bar of fields, filled by turns: it looks like walls with windows."""
    x, y = _corner(b, rng)
    step, high = rng.choice([0.5, 1.0, 1.5]), rng.uniform(2, 7) * m_per_pt
    for i in range(rng.randint(2, 6)):
        box = shapely.box(x + i * step, y, x + (i + 1) * step, y + high)
        ink.shape(box, "", stroke=pens.thin, fill=0.0 if i % 2 == 0 else None)
        ink.text((x + i * step, y - 4 * m_per_pt), str(i), 5, "")


def _legend(ink: Ink, pens: Pens, wall: Pen, b: Building, rng: random.Random, m_per_pt: float) -> None:
    """Draw a key with samples in boxes, and a table."""
    x, y = _corner(b, rng)
    high, wide = 12 * m_per_pt, 24 * m_per_pt
    for i in range(rng.randint(3, 8)):
        box = shapely.box(x, y + i * 1.5 * high, x + wide, y + i * 1.5 * high + high * rng.uniform(0.5, 1.0))
        ink.shape(box, "", stroke=rng.choice([pens.thin, wall]), fill=rng.choice([None, None, 0.5, 0.8]))
        ink.text((x + wide + 30 * m_per_pt, y + i * 1.5 * high + 0.4 * high), rng.choice(_WORDS), 6, "")
    if rng.random() < 0.5:
        top = y - 60 * m_per_pt
        for i in range(5):
            ink.line((x, top + i * high), (x + 8 * high, top + i * high), "", pens.thin)
            ink.line((x + 2 * i * high, top), (x + 2 * i * high, top + 4 * high), "", pens.thin)


def _paragraph(ink: Ink, pens: Pens, wall: Pen, b: Building, rng: random.Random, m_per_pt: float) -> None:
    """Write lines of notes beside the building or, small, in a room."""
    size = rng.choice([4, 5, 6, 8])
    is_inside = rng.random() < 0.4
    x, y = b.rooms[0].centroid.coords[0] if is_inside else _corner(b, rng)
    for i in range(rng.randint(2, 4 if is_inside else 10)):
        words = " ".join(rng.choice(_WORDS) for _ in range(1 if is_inside else rng.randint(1, 3)))
        ink.text((x, y + 1.4 * i * size * m_per_pt), words, size, "", mask=is_inside and rng.random() < 0.2)


def _section_marks(ink: Ink, pens: Pens, wall: Pen, b: Building, rng: random.Random, m_per_pt: float) -> None:
    """Draw where sections are cut: a bubble with a filled arrow, and a heavy line in dashes."""
    x0, y0, x1, y1 = b.area.bounds
    for _ in range(rng.randint(1, 3)):
        x, y = rng.uniform(x0, x1), rng.choice([y0 - 0.8, y1 + 0.8, rng.uniform(y0, y1)])
        r = 8 * m_per_pt
        ink.shape(Polygon([(x - 1.4 * r, y), (x, y - 1.4 * r), (x + 1.4 * r, y)]), "", fill=0.0)
        ink.shape(shapely.Point(x, y).buffer(r), "", stroke=pens.thin, fill=1.0)
        ink.line((x - r, y), (x + r, y), "", pens.thin)
        ink.text((x, y - 0.4 * r), "3", 5, "")
        ink.line((x + r, y), (x + r + rng.uniform(0.5, 3.0), y), "", Pen(rng.choice([0.5, 1.0]), 0.0, "[8 3] 0"))


def _level_marks(ink: Ink, pens: Pens, wall: Pen, b: Building, rng: random.Random, m_per_pt: float) -> None:
    """Draw marks of levels: a cross in a circle, two quarters of it filled, and the level."""
    for room in rng.sample(b.rooms, k=max(1, len(b.rooms) // 3)):
        x, y = room.representative_point().coords[0]
        x, y, r = x + rng.uniform(-0.5, 0.5), y + rng.uniform(-0.5, 0.5), 4 * m_per_pt
        ink.arc((x, y), r, 0, 2 * math.pi, "", pens.thin)
        ink.shape(Polygon([(x, y), (x + r, y), (x + 0.7 * r, y + 0.7 * r), (x, y + r)]), "", fill=0.0)
        ink.shape(Polygon([(x, y), (x - r, y), (x - 0.7 * r, y - 0.7 * r), (x, y - r)]), "", fill=0.0)
        ink.text((x, y - 2 * r), "+0.15", 5, "")


def steps(ink: Ink, pens: Pens, b: Building, rng: random.Random) -> None:
    """Draw stairs and ramps that reach from wall to wall, with the arrow that goes up them."""
    for room in b.rooms:
        if rng.random() > 0.12:
            continue
        x0, y0, x1, y1 = room.bounds
        wide = rng.uniform(0.9, 1.6)
        is_across = rng.random() < 0.5
        length = rng.uniform(1.5, 4.5)
        low = rng.uniform(0.0, max(0.0, (x1 - x0 if is_across else y1 - y0) - length))
        if is_across:
            flight = shapely.box(x0 + low, y0, x0 + low + length, y0 + wide)
        else:
            flight = shapely.box(x0, y0 + low, x0 + wide, y0 + low + length)
        if any(h.box(more=0.9 if h.kind == "door" else 0.0).intersects(flight) for h in b.holes):
            continue
        fx0, fy0, fx1, fy1 = flight.bounds
        is_ramp = rng.random() < 0.3
        tread = rng.uniform(0.24, 0.32)
        stops = np.arange(tread, length - 0.05, tread).tolist() if not is_ramp else []
        lines = [((fx0 + s, fy0), (fx0 + s, fy1)) if is_across else ((fx0, fy0 + s), (fx1, fy0 + s)) for s in stops]
        lines += [((fx0, fy1), (fx1, fy1)) if is_across else ((fx1, fy0), (fx1, fy1))]
        if is_ramp:
            lines += [((fx0, fy0), (fx1, fy1)), ((fx0, fy1), (fx1, fy0))]
        lines += [((fx0, fy0), (fx0, fy1)), ((fx1, fy0), (fx1, fy1)), ((fx0, fy0), (fx1, fy0))]
        pen = rng.choice([pens.thin, pens.furniture])
        clipped(ink, shapely.MultiLineString(lines), room.buffer(-0.003), pen)
        if rng.random() < 0.4:  # a rail or string beside it, in two lines
            edge = LineString([(fx0, fy1), (fx1, fy1)] if is_across else [(fx1, fy0), (fx1, fy1)])
            for part in shapely.get_parts(shapely.intersection(edge.buffer(0.025, cap_style="flat"), room)).tolist():
                if isinstance(part, Polygon) and part.area > 1e-6:
                    ink.shape(part, "", stroke=pen)
        mx, my = (fx0 + fx1) / 2, (fy0 + fy1) / 2
        if room.contains(shapely.Point(mx, my)):
            half = 0.4 * length
            a, c = ((mx - half, my), (mx + half, my)) if is_across else ((mx, my - half), (mx, my + half))
            ink.line(a, c, "", pens.thin)
            ink.arc(a, 0.05, 0, 2 * math.pi, "", pens.thin)
            ink.text((mx, my + 0.15), rng.choice(["UP", "DN", "RAMP"]), 5, "")
