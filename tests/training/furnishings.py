"""Furniture, fixtures and fitted kitchens of dwellings and offices, most of it along walls, on pages to train on.

Its edges are as straight, as long and as near to walls as walls' own faces are; all of it is nothing in the eyes of the
network. Lengths are metres in the building frame.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable

import numpy as np
import shapely
from shapely import LineString, Polygon

from tests.trace.ink import Ink, Pen, Pens
from tests.trace.plans import Building
from tests.training.alterations import side_of
from tests.training.grounds import clipped, even_lines

Put = Callable[[float, float], tuple[float, float]]
Draw = Callable[["Stand", random.Random], None]


class Stand:
    """A place along a side of a room, ``wide`` along it and ``deep`` from it; draws what stands there."""

    def __init__(self, ink: Ink, pen: Pen, put: Put, wide: float, deep: float) -> None:
        self.ink, self.pen, self.put, self.wide, self.deep = ink, pen, put, wide, deep

    def shape(self, a0: float, a1: float, s0: float, s1: float, *, rim: float = 0.0, fill: float | None = None) -> None:
        """Draw a box from shares of the width and the depth, its corners rounded by so many metres."""
        box = shapely.box(a0 * self.wide, s0 * self.deep, a1 * self.wide, s1 * self.deep)
        if rim:
            box = box.buffer(-rim).buffer(rim, quad_segs=4)
        for part in shapely.get_parts(box).tolist():
            if part.area > 1e-4:
                self.ink.shape(Polygon([self.put(*p) for p in part.exterior.coords]), "", stroke=self.pen, fill=fill)

    def line(self, a0: float, s0: float, a1: float, s1: float) -> None:
        """Draw a line between two spots in shares of the width and the depth."""
        ends = (self.put(a * self.wide, s * self.deep) for a, s in ((a0, s0), (a1, s1)))
        self.ink.line(*ends, "", self.pen)

    def round(self, a: float, s: float, radius: float) -> None:
        """Draw a circle of so many metres."""
        self.ink.arc(self.put(a * self.wide, s * self.deep), radius, 0, 2 * math.pi, "", self.pen)


def _bed(stand: Stand, rng: random.Random) -> None:
    stand.shape(0, 1, 0, 1, rim=rng.choice([0.0, 0.04]))
    count = 2 if stand.wide > 1.3 else 1
    for i in range(count):
        stand.shape((i + 0.12) / count, (i + 0.88) / count, 0.05, 0.22, rim=rng.choice([0.0, 0.05]))
    stand.line(0, rng.uniform(0.3, 0.5), 1, rng.uniform(0.3, 0.5))
    if rng.random() < 0.4:
        stand.line(0.6, 0.4, 1, 0.65)


def _sofa(stand: Stand, rng: random.Random) -> None:
    stand.shape(0, 1, 0, 1, rim=0.03)
    stand.line(0, 0.25, 1, 0.25)
    for a in (0.1, 0.9):
        stand.line(a, 0.25, a, 1)
    for a in np.linspace(0.1, 0.9, rng.choice([2, 3, 4])).tolist()[1:-1]:
        stand.line(a, 0.25, a, 1)


def _tub(stand: Stand, rng: random.Random) -> None:
    stand.shape(0, 1, 0, 1)
    stand.shape(0.05, 0.95, 0.1, 0.9, rim=rng.choice([0.05, 0.15, 0.25]))
    stand.round(rng.choice([0.12, 0.88]), 0.5, 0.03)


def _shower(stand: Stand, rng: random.Random) -> None:
    stand.shape(0, 1, 0, 1)
    if rng.random() < 0.6:
        stand.line(0, 0, 1, 1)
        stand.line(0, 1, 1, 0)
    stand.round(0.5, 0.5, 0.05)
    if rng.random() < 0.5:
        stand.shape(0.0, 1.0, 0.96, 1.0)


def _kitchen(stand: Stand, rng: random.Random) -> None:
    stand.shape(0, 1, 0, 1, fill=rng.choice([None, None, 0.85, 0.95]))
    if rng.random() < 0.4:
        stand.line(0, 0.6, 1, 0.6)
    k = rng.uniform(0.1, 0.3)
    stand.shape(k, k + 0.5 / stand.wide, 0.15, 0.85, rim=0.04)
    hob = rng.uniform(0.55, 0.75)
    stand.shape(hob, hob + 0.55 / stand.wide, 0.08, 0.92)
    for a in (0.14, 0.41):
        for s in (0.3, 0.7):
            stand.round(hob + a / stand.wide, s, 0.07)
    for a in np.arange(0.6, stand.wide - 0.1, 0.6).tolist() if rng.random() < 0.4 else []:
        stand.line(a / stand.wide, 0, a / stand.wide, 1)


def _wardrobe(stand: Stand, rng: random.Random) -> None:
    stand.shape(0, 1, 0, 1)
    if rng.random() < 0.6:
        stand.line(0, 0.5, 1, 0.5)
        for a in np.arange(0.06, stand.wide, 0.09).tolist():
            lean = rng.uniform(-0.04, 0.04)
            stand.line(a / stand.wide, 0.12, (a + lean) / stand.wide, 0.88)
    if rng.random() < 0.5:  # sliding fronts
        stand.shape(0, 0.52, 0.92, 0.96)
        stand.shape(0.48, 1, 0.96, 1.0)


def _toilet(stand: Stand, rng: random.Random) -> None:
    stand.shape(0.05, 0.95, 0, 0.28, rim=rng.choice([0.0, 0.03]))
    stand.shape(0.1, 0.9, 0.28, 1, rim=0.12)


def _basin(stand: Stand, rng: random.Random) -> None:
    stand.shape(0, 1, 0, 1, rim=rng.choice([0.0, 0.05]))
    stand.shape(0.2, 0.8, 0.2, 0.85, rim=0.09)
    stand.round(0.5, 0.18, 0.02)


def _table(stand: Stand, rng: random.Random) -> None:
    stand.shape(0, 1, 0.25, 0.75, rim=rng.choice([0.0, 0.0, 0.1]))
    for a in np.arange(0.1, 0.8, 0.6 / stand.wide).tolist():
        for s in (0.02, 0.78):
            stand.shape(a, a + 0.42 / stand.wide, s, s + 0.2, rim=0.05)


def _island(stand: Stand, rng: random.Random) -> None:
    way = rng.choice(["bare", "toned", "hatched", "double"])
    stand.shape(0, 1, 0, 1, fill={"toned": rng.uniform(0.6, 0.95)}.get(way))
    if way == "double":
        stand.shape(0.03, 0.97, 0.06, 0.94)
    elif way == "hatched":
        box = Polygon(
            [stand.put(a, s) for a, s in ((0, 0), (stand.wide, 0), (stand.wide, stand.deep), (0, stand.deep))]
        )
        clipped(stand.ink, even_lines(box, rng.uniform(0.05, 0.2), rng.choice([0, 45, 90])), box, stand.pen)


def _fireplace(stand: Stand, rng: random.Random) -> None:
    stand.shape(0, 1, 0, 1)
    stand.line(0.15, 1, 0.3, 0.3)
    stand.line(0.3, 0.3, 0.7, 0.3)
    stand.line(0.7, 0.3, 0.85, 1)


def _desk(stand: Stand, rng: random.Random) -> None:
    stand.shape(0, 1, 0, 0.6)
    stand.shape(0.35, 0.35 + 0.5 / stand.wide, 0.66, 1.0, rim=0.08)
    if rng.random() < 0.5:
        stand.shape(0, 0.3, 0, 0.6)


_KINDS: dict[str, tuple[Draw, tuple[float, float], tuple[float, float], float]] = {
    "bed": (_bed, (0.9, 2.0), (1.9, 2.1), 0.0),
    "sofa": (_sofa, (1.2, 2.6), (0.75, 1.0), 0.2),
    "tub": (_tub, (1.5, 1.8), (0.7, 0.85), 0.0),
    "shower": (_shower, (0.8, 1.2), (0.8, 1.2), 0.0),
    "kitchen": (_kitchen, (1.8, 4.2), (0.58, 0.68), 0.0),
    "wardrobe": (_wardrobe, (0.9, 3.5), (0.5, 0.65), 0.0),
    "toilet": (_toilet, (0.36, 0.42), (0.6, 0.72), 0.0),
    "basin": (_basin, (0.45, 0.7), (0.38, 0.5), 0.0),
    "table": (_table, (1.2, 2.4), (1.5, 1.8), 1.5),
    "island": (_island, (1.0, 3.0), (0.5, 1.1), 2.0),
    "fireplace": (_fireplace, (1.0, 1.8), (0.4, 0.7), 0.0),
    "desk": (_desk, (1.2, 1.8), (1.1, 1.4), 0.0),
}
"""What stands about: how it is drawn, its width, its depth, and how far from the wall it may stand, in metres."""

_ROOMS = (
    ("bed", "wardrobe", "desk", "wardrobe"),
    ("tub", "toilet", "basin", "shower", "basin"),
    ("toilet", "toilet", "basin", "basin"),
    ("kitchen", "kitchen", "table", "island"),
    ("sofa", "sofa", "fireplace", "table", "island"),
    ("desk", "desk", "desk", "wardrobe", "table"),
)
"""What stands in one room together."""


_NOTES = ("TILE FLOOR", "13'-2\" x 11'-0\"", "3.40 x 2.75", "SEE DETAIL 4/A6", "H 2700", "16.4 m2")


def furnishings(ink: Ink, pens: Pens, wall: Pen, b: Building, rng: random.Random) -> None:
    """Furnish most rooms, all in one pen."""
    kept = shapely.union_all([*(h.box(more=0.85 if h.kind == "door" else 0.0) for h in b.holes), *b.columns])
    pen = rng.choice([pens.furniture, pens.furniture, pens.thin, wall])
    for room in b.rooms:
        if rng.random() < 0.15:
            continue
        free = shapely.difference(room.buffer(0.012), kept)
        own = _ROOMS[1 + rng.randrange(2)] if room.area < 7 else rng.choice(_ROOMS)
        for name in rng.sample(own, k=rng.randint(1, len(own))):
            taken = _stood(ink, pen, room, free, name, rng)
            if taken is not None:
                free = shapely.difference(free, taken)


def _stood(ink: Ink, pen: Pen, room: Polygon, free: shapely.Geometry, name: str, rng: random.Random) -> Polygon | None:
    """Stand a thing where there is room for it; return its place."""
    draw, widths, depths, away = _KINDS[name]
    for _ in range(6):
        wide, deep = rng.uniform(*widths), rng.uniform(*depths)
        p, u, n, length = side_of(room, rng.randrange(len(room.exterior.coords) - 1))
        if length < wide:
            continue
        at = rng.choice([0.0, length - wide, rng.uniform(0.0, length - wide)])
        off = rng.choice([0.0, 0.0, 0.02]) + (rng.uniform(0.5, 1.0) * away if rng.random() < 0.7 else 0.0)

        def put(along: float, out: float, p=p, u=u, n=n, at=at, off=off) -> tuple[float, float]:
            q = p + u * (at + along) + n * (off + out)
            return (float(q[0]), float(q[1]))

        place = Polygon([put(0, 0), put(wide, 0), put(wide, deep), put(0, deep)])
        if free.contains(place):
            draw(Stand(ink, pen, put, wide, deep), rng)
            return place
    return None


def doubled_strings(ink: Ink, pens: Pens, b: Building, rng: random.Random) -> None:
    """Draw what runs out from both faces of walls to a string of dimensions: lines as far apart as the faces are."""
    x0, y0, x1, y1 = b.area.bounds
    for wall in rng.sample(b.walls, k=min(len(b.walls), rng.randint(1, 6))):
        (ax, ay), (cx, cy) = wall.line.coords
        t, far = wall.thickness / 2, rng.uniform(0.8, 4.5)
        start = rng.choice([0.0, 0.03, 0.1])
        if abs(ax - cx) < 1e-6:
            sides = ((y0 - start, y0 - far), (y1 + start, y1 + far))
            for a, c in rng.sample(sides, k=rng.choice([1, 1, 2])):
                for k in (-t, t):
                    ink.line((ax + k, a), (ax + k, c), "", pens.thin)
        elif abs(ay - cy) < 1e-6:
            sides = ((x0 - start, x0 - far), (x1 + start, x1 + far))
            for a, c in rng.sample(sides, k=rng.choice([1, 1, 2])):
                for k in (-t, t):
                    ink.line((a, ay + k), (c, ay + k), "", pens.thin)


def eaves(ink: Ink, pens: Pens, wall: Pen, b: Building, rng: random.Random) -> None:
    """Draw the edges of roofs, decks and floors beyond the walls in whole lines, as wide bands that are no walls."""
    pen = rng.choice([pens.thin, pens.thin, pens.furniture, wall])
    ring = Polygon(b.area.exterior)
    far = rng.uniform(0.3, 1.3)
    edge = ring.buffer(far, join_style="mitre")
    bx0, by0, bx1, by1 = edge.bounds
    if rng.random() < 0.6:
        edge = shapely.intersection(edge, shapely.box(bx0, by0, bx1, rng.uniform(by0 + far + 0.5, by1)))
    for off in rng.choice([(0.0,), (0.0,), (0.0, 0.12), (0.0, 0.05)]):
        for part in shapely.get_parts(edge.buffer(-off, join_style="mitre")).tolist():
            line = shapely.difference(part.exterior, ring)
            for piece in shapely.get_parts(line).tolist():
                if isinstance(piece, LineString):
                    ink.polyline(list(piece.coords), "", pen)
    if rng.random() < 0.3:
        band = shapely.difference(edge, ring)
        for part in shapely.get_parts(band).tolist():
            if isinstance(part, Polygon):
                clipped(ink, even_lines(part, rng.uniform(0.1, 0.3), rng.choice([0, 90])), part, pens.thin)


def headings(ink: Ink, b: Building, rng: random.Random, m_per_pt: float) -> None:
    """Write large words beside the plan, and notes of several lines in some rooms."""
    x0, _, x1, y1 = b.area.bounds
    if rng.random() < 0.5:
        words = rng.choice(["PLAN", "LEVEL 1", "GROUND FLOOR", "UNIT A", "NORTH WING"])
        ink.text((rng.uniform(x0, x1), y1 + rng.uniform(0.8, 2.5)), words, rng.choice([14, 20, 36, 60]), "")
    size = rng.choice([4, 5, 6, 7])
    for room in rng.sample(b.rooms, k=max(1, len(b.rooms) // 3)):
        x, y = room.representative_point().coords[0]
        for i in range(rng.randint(2, 6)):
            words = rng.choice(
                ["TILE FLOOR", "13'-2\" x 11'-0\"", "3.40 x 2.75", "SEE DETAIL 4/A6", "H 2700", "16.4 m2"]
            )
            ink.text((x, y + 1.4 * i * size * m_per_pt), words, size, "")
