"""What rooms, sites and sheets are fitted out with on pages to train on, and what looks like a wall without being one.

Cupboards along walls, rows of tables, cars, shafts; kerbs and garden walls in two lines; borders of the sheet in two
lines. All of it is nothing in the eyes of the network. Lengths are metres in the building frame.
"""

from __future__ import annotations

import math
import random

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.affinity import rotate, translate

from tests.trace.ink import Ink, Pen, Pens
from tests.trace.plans import Building
from tests.training.alterations import side_of


def outfits(ink: Ink, pens: Pens, wall: Pen, b: Building, rng: random.Random) -> None:
    """Put things into rooms, most of them along walls."""
    kept = shapely.union_all([*(h.box(more=0.9 if h.kind == "door" else 0.05) for h in b.holes), *b.columns])
    for room in b.rooms:
        for _ in range(rng.choice([0, 0, 1, 2, 4])):
            pen = rng.choice([pens.furniture, pens.furniture, pens.thin, wall])
            if rng.random() < 0.65:
                _along(ink, pen, room, kept, rng)
            else:
                _rows(ink, pen, room, kept, rng)
        if rng.random() < 0.08:
            _crossed(ink, pens.thin, room, kept, rng)


def _along(ink: Ink, pen: Pen, room: Polygon, kept: shapely.Geometry, rng: random.Random) -> None:
    """Stand a cupboard, a bench, shelves or a radiator against a wall: its back may be drawn, or be the wall's face."""
    p, u, n, length = side_of(room, rng.randrange(len(room.exterior.coords) - 1))
    if length < 0.8:
        return
    kind = rng.choice(["cupboard", "cupboard", "bench", "shelf", "radiator", "lining"])
    deep = {"cupboard": rng.uniform(0.35, 0.7), "bench": rng.uniform(0.5, 0.8), "shelf": rng.uniform(0.2, 0.45)}.get(
        kind, rng.uniform(0.04, 0.14)
    )
    wide = length if rng.random() < 0.3 else rng.uniform(0.5, length)
    at = rng.choice([0.0, length - wide, rng.uniform(0.0, length - wide)])
    off = rng.choice([0.0, 0.0, 0.01, 0.03])

    def place(along: float, out: float) -> tuple[float, float]:
        q = p + u * (at + along) + n * (off + out)
        return (float(q[0]), float(q[1]))

    box = Polygon([place(0, 0), place(wide, 0), place(wide, deep), place(0, deep)])
    if box.intersects(kept) or not room.buffer(0.01).contains(box):
        return
    if rng.random() < 0.3:
        ink.shape(box, "", stroke=pen, fill=rng.choice([0.6, 0.8, 0.9]))
    elif off or rng.random() < 0.5:
        ink.shape(box, "", stroke=pen)
    else:
        ink.polyline([place(0, 0), place(0, deep), place(wide, deep), place(wide, 0)], "", pen)
    if kind == "cupboard" and rng.random() < 0.7:  # its rail, or its doors
        ink.line(place(0, deep * rng.choice([0.5, 0.9])), place(wide, deep * rng.choice([0.5, 0.9])), "", pen)
    if kind in ("cupboard", "shelf", "bench"):
        pitch = rng.choice([0.3, 0.45, 0.6, 0.9, 1.2])
        for s in np.arange(pitch, wide - 0.05, pitch).tolist():
            if rng.random() < 0.6:
                ink.line(place(s, 0), place(s, deep), "", pen)
            elif rng.random() < 0.5:
                ink.line(place(s - pitch, 0), place(s, deep), "", pen)
    elif kind == "radiator":
        for s in np.arange(0.06, wide, rng.choice([0.06, 0.1])).tolist()[:60]:
            ink.line(place(s, 0), place(s, deep), "", pen)


def _rows(ink: Ink, pen: Pen, room: Polygon, kept: shapely.Geometry, rng: random.Random) -> None:
    """Set out rows of things alike: tables, benches, beds, cars, racks, with lines inside them."""
    x0, y0, x1, y1 = room.bounds
    wide, deep = rng.choice([(1.4, 0.7), (1.6, 0.8), (0.9, 2.0), (2.0, 1.6), (1.8, 4.5), (2.7, 1.0), (1.2, 0.3)])
    gap, turn = rng.uniform(0.05, 1.2), rng.choice([0, 0, 90, 90, rng.uniform(0, 180)])
    fill, inside = rng.choice([None, None, 0.7, 0.9]), rng.choice(["", "", "cross", "grid", "round", "double"])
    first = (rng.uniform(x0, x1), rng.uniform(y0, y1))
    down, across = rng.choice([(1, 1), (1, 3), (2, 3), (3, 3), (1, 6)])
    for i in range(down):
        for k in range(across):
            box = shapely.box(0, 0, wide, deep)
            corner = (k * (wide + gap), i * (deep + gap))

            def put(shape: shapely.Geometry, corner: tuple[float, float] = corner) -> shapely.Geometry:
                return translate(rotate(translate(shape, *corner), turn, origin=(0, 0)), *first)

            moved = put(box)
            if not room.contains(moved) or moved.intersects(kept):
                continue
            ink.shape(moved, "", stroke=pen, fill=fill)
            lines: list[LineString] = []
            if inside == "cross":
                lines = [LineString([(0, 0), (wide, deep)]), LineString([(0, deep), (wide, 0)])]
            elif inside == "grid":
                lines = [LineString([(s, 0), (s, deep)]) for s in np.arange(0.15, wide, 0.15).tolist()]
                lines += [LineString([(0, s), (wide, s)]) for s in np.arange(0.15, deep, 0.15).tolist()]
            elif inside == "double":
                ink.shape(put(box.buffer(-0.06, join_style="mitre")), "", stroke=pen)
            elif inside == "round":
                ink.shape(put(shapely.Point(wide / 2, deep + 0.1).buffer(0.22)), "", stroke=pen)
            for line in lines:
                ink.line(*put(line).coords, "", pen)


def _crossed(ink: Ink, pen: Pen, room: Polygon, kept: shapely.Geometry, rng: random.Random) -> None:
    """Cross a part of a room from corner to corner, as shafts, stairs' holes and what is overhead are."""
    x0, y0, x1, y1 = room.bounds
    box = shapely.box(x0, y0, x0 + rng.uniform(0.3, 1.0) * (x1 - x0), y0 + rng.uniform(0.3, 1.0) * (y1 - y0))
    if room.buffer(0.01).contains(box):
        bx0, by0, bx1, by1 = box.bounds
        ink.line((bx0, by0), (bx1, by1), "", pen)
        ink.line((bx0, by1), (bx1, by0), "", pen)
        if not box.intersects(kept):
            ink.shape(box, "", stroke=pen)


def site_lines(ink: Ink, pens: Pens, wall: Pen, b: Building, rng: random.Random) -> None:
    """Draw kerbs, garden walls, railings and outer stairs: pairs of lines that bend and go on beyond the building."""
    x0, y0, x1, y1 = b.area.bounds
    ground = Polygon(b.area.exterior).buffer(0.25)
    for _ in range(rng.randint(1, 3)):
        side = rng.choice(["left", "right", "above", "below"])
        far = rng.uniform(0.5, 3.5)
        start = {"left": (x0 - far, y0 - 3), "right": (x1 + far, y0 - 3), "above": (x0 - 3, y0 - far)}.get(
            side, (x0 - 3, y1 + far)
        )
        heading = math.pi / 2 if side in ("left", "right") else 0.0
        heading += rng.choice([0.0, 0.0, rng.uniform(-0.3, 0.3)])
        path = [start]
        for _ in range(rng.randint(1, 4)):
            long = rng.uniform(2.0, 9.0)
            path.append((path[-1][0] + long * math.cos(heading), path[-1][1] + long * math.sin(heading)))
            heading += rng.choice([0.0, 0.0, math.pi / 4, -math.pi / 4, math.pi / 2, -math.pi / 2, rng.uniform(-1, 1)])
        wide = rng.choice([0.06, 0.1, 0.15, 0.2, 0.3, 0.5])
        # two bare lines in the walls' pen, as far apart as a hollow wall's, are one
        pen = rng.choice([pens.thin, pens.thin, wall]) if wide < 0.2 else pens.thin
        for off in rng.choice([(0.0, wide), (0.0, wide), (0.0, wide, 2 * wide), (0.0,)]):
            line = LineString(path).offset_curve(off) if off else LineString(path)
            for piece in shapely.get_parts(shapely.difference(line, ground)).tolist():
                if isinstance(piece, LineString) and len(piece.coords) > 1:
                    ink.polyline(list(piece.coords), "", pen)
    if rng.random() < 0.4:  # steps up to the building
        wide, tread, count = rng.uniform(1.0, 3.0), rng.uniform(0.28, 0.4), rng.randint(3, 8)
        x, y = rng.uniform(x0, max(x0, x1 - wide)), y1 + 0.05
        for i in range(1, count):
            ink.line((x, y + i * tread), (x + wide, y + i * tread), "", pens.thin)
        for k in (0.0, wide):
            ink.line((x + k, y), (x + k, y + count * tread), "", pens.thin)


def sheet_frame(ink: Ink, rng: random.Random) -> None:
    """Draw the border of the sheet in two or three lines, with the marks of its fields between them."""
    w, h = ink.size
    outer, wide = rng.uniform(3, 20), rng.uniform(3, 22)
    pens = [rng.choice([0.25, 0.5, 1.0, 1.6]) for _ in range(2)]
    rings = [(outer, pens[0]), (outer + wide, pens[1])]
    if rng.random() < 0.2:
        rings.append((outer + 1.5 * wide, pens[0]))
    for off, pen in rings:
        ink.raw(f"q {pen:.2f} w {off:.1f} {off:.1f} {w - 2 * off:.1f} {h - 2 * off:.1f} re S Q", "")
    if rng.random() < 0.6:
        pitch, near, far = rng.uniform(60, 200), outer, outer + wide
        for x in np.arange(pitch, w - pitch / 2, pitch).tolist():
            for a, c in ((near, far), (h - near, h - far)):
                ink.raw(f"q {pens[0]:.2f} w {x:.1f} {a:.1f} m {x:.1f} {c:.1f} l S Q", "")
        for y in np.arange(pitch, h - pitch / 2, pitch).tolist():
            for a, c in ((near, far), (w - near, w - far)):
                ink.raw(f"q {pens[0]:.2f} w {a:.1f} {y:.1f} m {c:.1f} {y:.1f} l S Q", "")
