"""What stands on plans besides walls: openings' symbols, furniture, floors, text, dimensions, grids, title blocks."""

from __future__ import annotations

import math
import random
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString, Point, Polygon
from shapely.affinity import translate

from tests.trace.ink import Ink, Pen, Pens

if TYPE_CHECKING:
    from tests.trace.plans import Building, Hole


def opening(ink: Ink, pens: Pens, hole: Hole, rng: random.Random, *, through: bool) -> None:
    """Draw the symbol of an opening."""
    m, u, n = hole.frame()
    w, t = hole.width / 2, hole.wall.thickness / 2

    def at(along: float, aside: float) -> tuple[float, float]:
        p = m + u * along + n * aside
        return (float(p[0]), float(p[1]))

    if hole.kind == "window":
        offsets = rng.choice([[-1, 0, 1], [-1, -0.2, 0.2, 1], [-1, 0.1, 1], [-1, -0.5, 0.5, 1]])
        for k in offsets:
            if not (through and abs(k) == 1):
                ink.line(at(-w, k * t), at(w, k * t), "A-GLAZ", pens.glass)
        if through:
            for end in (-w, w):
                ink.line(at(end, -t), at(end, t), "A-GLAZ", rng.choice([pens.glass, pens.wall]))
        if rng.random() < 0.2:
            ink.line(at(-w - 0.05, 1.3 * t), at(w + 0.05, 1.3 * t), "A-GLAZ", pens.thin)
        return
    if hole.form == "pass-through":
        for k in (-1, 1):
            ink.line(at(-w, k * t), at(w, k * t), "A-WALL-PRHT", pens.glass)
        if rng.random() < 0.5:
            k = hole.side * (t + rng.uniform(0.08, 0.2))
            ink.line(at(-w, k), at(w, k), "A-WALL-PRHT", pens.dashed)
        return
    if hole.form == "sliding":
        for end, k in ((-w, 0.3), (w, -0.3)):
            reach = 0.1 * w
            box = Polygon([at(end, k * t - 0.02), at(math.copysign(reach, -end), k * t - 0.02),
                           at(math.copysign(reach, -end), k * t + 0.02), at(end, k * t + 0.02)])  # fmt: skip
            ink.shape(box, "A-DOOR", stroke=pens.door)
        return
    if hole.form == "cased":
        if rng.random() < 0.3:
            for k in (-1, 1):
                ink.line(at(-w, k * t), at(w, k * t), "A-DOOR", pens.dashed)
        return
    frame = rng.choice([0.0, 0.0, 0.04]) if hole.width > 0.75 else 0.0
    if frame:
        for end in (-w, w):
            inner = end - math.copysign(frame, end)
            box = Polygon([at(end, -t), at(inner, -t), at(inner, t), at(end, t)])
            ink.shape(box, "A-DOOR", stroke=pens.door)
    leaves = [hole.hand] if hole.form == "swing" else [-1, 1]
    radius = (2 * w - 2 * frame) / len(leaves)
    chords = rng.choice([0, 0, 12, 24])
    swing = math.radians(rng.choice([90, 90, 90, 45]))
    has_leaf_box = rng.random() < 0.4
    if rng.random() < 0.2:
        ink.line(at(-w, t * hole.side), at(w, t * hole.side), "A-DOOR", pens.thin)
    for hand in leaves:
        hinge = at(hand * (w - frame), hole.side * t)
        shut, out = -hand * u, hole.side * n
        tip = shut * math.cos(swing) + out * math.sin(swing)
        end = (hinge[0] + radius * tip[0], hinge[1] + radius * tip[1])
        if has_leaf_box:
            back = np.array([-tip[1], tip[0]]) * 0.04
            back = back if back @ shut < 0 else -back
            corners = [hinge, end, (end[0] - back[0], end[1] - back[1]), (hinge[0] - back[0], hinge[1] - back[1])]
            ink.shape(Polygon(corners), "A-DOOR", stroke=pens.door)
        else:
            ink.line(hinge, end, "A-DOOR", pens.door)
        start, stop = math.atan2(shut[1], shut[0]), math.atan2(tip[1], tip[0])
        sweep = (stop - start + math.pi) % (2 * math.pi) - math.pi
        ink.arc(hinge, radius, start, sweep, "A-DOOR", pens.door, chords=chords)


def furniture(ink: Ink, pens: Pens, b: Building, rng: random.Random) -> None:
    """Put furniture into rooms: tables, counters along walls, racks, round things, a bed."""
    kept = [h.box(more=1.1) for h in b.holes if h.kind == "door"]
    for room in b.rooms:
        free = shapely.difference(room.buffer(-0.02), shapely.union_all([*kept, *(c.buffer(0.2) for c in b.columns)]))
        for _ in range(rng.choice([0, 1, 2, 3])):
            x0, y0, x1, y1 = room.bounds
            wide, deep = rng.choice([(1.6, 0.8), (0.6, 0.6), (2.4, 0.6), (2.0, 1.6), (1.2, 0.45), (0.45, 0.45)])
            box = shapely.box(0, 0, wide, deep)
            if rng.random() < 0.5:
                box = shapely.box(0, 0, deep, wide)
            place = translate(box, rng.uniform(x0, x1), rng.uniform(y0, y1))
            if not free.contains(place):
                continue
            free = shapely.difference(free, place.buffer(0.1))
            ink.shape(place, "A-FURN", stroke=pens.furniture)
            style = rng.choice(["plain", "stripes", "round", "cross"])
            (px0, py0, px1, py1) = place.bounds
            if style == "stripes":
                for i in range(1, 6):
                    x = px0 + (px1 - px0) * i / 6
                    ink.line((x, py0), (x, py1), "A-FURN", pens.furniture)
            elif style == "round":
                r = min(px1 - px0, py1 - py0) * 0.4
                ink.arc(((px0 + px1) / 2, (py0 + py1) / 2), r, 0, 2 * math.pi, "A-FURN", pens.furniture)
            elif style == "cross":
                ink.line((px0, py0), (px1, py1), "A-FURN", pens.furniture)
                ink.line((px0, py1), (px1, py0), "A-FURN", pens.furniture)
        if rng.random() < 0.25:
            _counter(ink, pens, room, free, rng)


def _counter(ink: Ink, pens: Pens, room: Polygon, free: Polygon, rng: random.Random) -> None:
    """Draw a counter 0.6 m deep along a side of a room: its front and its ends."""
    coords = list(room.exterior.coords)
    a, c = max(pairwise(coords), key=lambda e: math.dist(*e))
    p, q = np.array(a), np.array(c)
    u = (q - p) / np.hypot(*(q - p))
    n = np.array([-u[1], u[0]])
    if not room.contains(Point((p + q) / 2 + n * 0.3)):
        n = -n
    low, high = 0.4, min(math.dist(a, c) - 0.4, 3.2)
    if high - low < 1.0:
        return
    box = Polygon([p + u * low + n * 0.03, p + u * high + n * 0.03, p + u * high + n * 0.6, p + u * low + n * 0.6])
    if free.contains(box):
        points = [p + u * low, p + u * low + n * 0.6, p + u * high + n * 0.6, p + u * high]
        ink.polyline([tuple(x) for x in points], "A-FURN", pens.furniture)


def floors(ink: Ink, pens: Pens, b: Building, rng: random.Random) -> None:
    """Tile the floors of some rooms."""
    for room in b.rooms:
        if rng.random() > 0.15:
            continue
        step = rng.choice([0.2, 0.3, 0.45, 0.6])
        x0, y0, x1, y1 = room.bounds
        xs = np.arange(x0 + step / 2, x1, step)
        ys = np.arange(y0 + step / 3, y1, step)
        lines = [LineString([(x, y0), (x, y1)]) for x in xs] + [LineString([(x0, y), (x1, y)]) for y in ys]
        cut = shapely.intersection(shapely.MultiLineString(lines), room)
        for piece in shapely.get_parts(cut).tolist():
            if isinstance(piece, LineString) and piece.length > 0.05:
                ink.line(piece.coords[0], piece.coords[-1], "A-FLOR-PATT", pens.thin)


def labels(ink: Ink, pens: Pens, b: Building, rng: random.Random, m_per_pt: float) -> None:
    """Write names and numbers into the rooms, some over a white mask, and marks at some doors."""
    size = rng.choice([7, 8, 9])
    mask = rng.random() < 0.3
    for room, (name, number) in zip(b.rooms, b.names, strict=True):
        columns = shapely.union_all([c.buffer(0.3) for c in b.columns])
        free = shapely.difference(room, columns)
        spot = shapely.maximum_inscribed_circle(max(shapely.get_parts(free), key=lambda p: p.area)).coords[0]
        x, y = ink.place(spot)
        ink.text((x, y - 0.6 * size), name, size, "A-AREA-IDEN", mask=mask, raw=True)
        ink.text((x, y + 0.7 * size), number, size, "A-AREA-IDEN", mask=mask, raw=True)
    for hole in b.holes:
        if hole.kind == "door" and rng.random() < 0.3:
            m, _, n = hole.frame()
            spot = m - n * hole.side * (hole.wall.thickness / 2 + 9 * m_per_pt)
            x, y = ink.place((float(spot[0]), float(spot[1])))
            ink.text((x, y), str(rng.randint(1, 99)), 4, "A-DOOR-IDEN", raw=True)
            ink.arc(spot, 5 * m_per_pt, 0, 2 * math.pi, "A-DOOR-IDEN", pens.thin)


def dimensions(ink: Ink, pens: Pens, b: Building, rng: random.Random, m_per_pt: float) -> None:
    """Draw dimension strings: two outside, and some through rooms."""
    x0, y0, x1, y1 = b.area.bounds
    far = 24 * m_per_pt
    _dimension(ink, pens, (x0, y0 - far), (x1, y0 - far), m_per_pt)
    _dimension(ink, pens, (x0 - far, y0), (x0 - far, y1), m_per_pt)
    for room in b.rooms:
        if rng.random() < 0.25:
            px0, _, px1, _ = room.bounds
            y = room.centroid.y + rng.uniform(0.2, 0.6)
            cut = shapely.intersection(LineString([(px0 - 1, y), (px1 + 1, y)]), room)
            for piece in shapely.get_parts(cut).tolist()[:1]:
                if isinstance(piece, LineString) and piece.length > 1:
                    _dimension(ink, pens, piece.coords[0], piece.coords[-1], m_per_pt)


def _dimension(ink: Ink, pens: Pens, a: tuple[float, float], c: tuple[float, float], m_per_pt: float) -> None:
    ink.line(a, c, "A-ANNO-DIMS", pens.thin)
    p, q = np.array(a), np.array(c)
    u = (q - p) / np.hypot(*(q - p))
    n = np.array([-u[1], u[0]])
    tick = 3 * m_per_pt
    for end in (p, q):
        ink.line(tuple(end - (u + n) * tick), tuple(end + (u + n) * tick), "A-ANNO-DIMS", pens.thin)
    ink.text(tuple((p + q) / 2 - n * 4 * m_per_pt), f"{math.dist(a, c):.2f}", 5, "A-ANNO-DIMS")


def grid(ink: Ink, pens: Pens, b: Building, rng: random.Random) -> None:
    """Draw grid lines through the building, on the axes of some walls too, with bubbles."""
    if rng.random() < 0.5:
        return
    x0, y0, x1, y1 = b.area.bounds
    dash = Pen(pens.thin.width, 0.0, "[12 2 2 2] 0") if rng.random() < 0.7 else pens.thin
    for x in {x0 + 0.5 * (x1 - x0), *(w.line.coords[0][0] for w in b.walls[:2])}:
        ink.line((x, y0 - 1.6), (x, y1 + 1.0), "S-GRID", dash)
        ink.arc((x, y0 - 1.9), 0.3, 0, 2 * math.pi, "S-GRID-IDEN", pens.thin)
        ink.text((x, y0 - 1.9), "A", 5, "S-GRID-IDEN")


def title_block(ink: Ink, pens: Pens, rng: random.Random) -> None:
    """Draw a border, a title block and a small table on the sheet's right."""
    w, h = ink.size
    pen = f"q {rng.choice([0.7, 1.0, pens.wall.width]):.2f} w"
    ink.raw(f"{pen} 14 14 {w - 28:.1f} {h - 28:.1f} re S Q", "G-ANNO-TTLB")
    if rng.random() < 0.5:
        ink.raw(f"{pen} 18 18 {w - 36:.1f} {h - 36:.1f} re S Q", "G-ANNO-TTLB")
    left = w - 130
    ink.raw(f"{pen} {left:.1f} 18 m {left:.1f} {h - 18:.1f} l S Q", "G-ANNO-TTLB")
    for i in range(6):
        y = h - 40 - 24 * i
        ink.raw(f"{pen} {left:.1f} {y:.1f} m {w - 18:.1f} {y:.1f} l S Q", "G-ANNO-TTLB")
        ink.text(
            (left + 50, y - 8),
            rng.choice(["PROJECT", "DATE", "SHEET A-1", "SCALE", "ISSUED"]),
            6,
            "G-ANNO-TTLB",
            raw=True,
        )
    top = 40.0
    for i in range(8):
        y = top + 10 * i
        ink.raw(f"{pen} {left + 8:.1f} {y:.1f} m {w - 26:.1f} {y:.1f} l S Q", "G-ANNO-SCHD")
        if i < 7:
            ink.text((left + 28, y + 5), f"D{i}", 5, "G-ANNO-SCHD", raw=True)
            ink.text((left + 70, y + 5), "900 x 2100", 5, "G-ANNO-SCHD", raw=True)
    for x in (left + 8, left + 46, w - 26):
        ink.raw(f"{pen} {x:.1f} {top:.1f} m {x:.1f} {top + 70:.1f} l S Q", "G-ANNO-SCHD")
