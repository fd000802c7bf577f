"""What stands on a sheet beyond the plan on pages to train on: title strips, boxed notes, views of fronts, porches.

All of it is nothing in the eyes of the network, however much its double lines look like walls. On the sheet lengths are
points, on the plan metres in the building frame.
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
from tests.training.alterations import side_of
from tests.training.grounds import clipped, even_lines

_WORDS = (
    "REVISION",
    "DATE",
    "PROJECT",
    "SHEET",
    "DRAWN",
    "CHECKED",
    "SCALE",
    "GENERAL NOTES",
    "1. SEE DETAIL",
    "A-101",
)


def _framed(ink: Ink, box: tuple[float, float, float, float], pen: float, gap: float, grey: float = 0.0) -> None:
    """Draw a frame on the sheet, in one line or in two that are so far apart."""
    for k in (0.0, gap) if gap else (0.0,):
        x0, y0, x1, y1 = box[0] + k, box[1] + k, box[2] - k, box[3] - k
        if x1 - x0 > 2 and y1 - y0 > 2:
            ink.raw(f"q {pen:.2f} w {grey:.2f} G {x0:.1f} {y0:.1f} {x1 - x0:.1f} {y1 - y0:.1f} re S Q", "")


def title_strip(ink: Ink, rng: random.Random) -> None:
    """Draw a strip of boxes along the sheet's right edge, which is free: names, tables, a seal, a key plan."""
    w, h = ink.size
    off, pen = rng.uniform(4, 16), rng.choice([0.25, 0.5, 0.8, 1.2, 2.0])
    gap, grey = rng.choice([0.0, 0.0, 1.5, 3.0, 5.0]), rng.choice([0.0, 0.0, 0.4])
    deep = rng.uniform(70, 130)
    at, end = off, h - off
    while at < end - 14:
        long = min(end - at, rng.choice([16, 24, 40, 80, 160]) * rng.uniform(0.8, 1.3))
        box = (w - off - deep, at, w - off, at + long)
        _framed(ink, box, pen, gap, grey)
        x0, y0, x1, y1 = box
        kind = rng.choice(["words", "words", "table", "empty", "seal", "key"])
        if kind == "table":
            step = rng.uniform(6, 14)
            for y in np.arange(y0 + step, y1 - 2, step).tolist():
                ink.raw(f"q {min(pen, 0.5):.2f} w {x0:.1f} {y:.1f} m {x1:.1f} {y:.1f} l S Q", "")
            for share in rng.sample((0.15, 0.3, 0.7, 0.85), k=2):
                x = x0 + share * (x1 - x0)
                ink.raw(f"q {min(pen, 0.5):.2f} w {x:.1f} {y0:.1f} m {x:.1f} {y1:.1f} l S Q", "")
        elif kind == "key":
            for k in range(3):
                _framed(ink, (x0 + 6 + 8 * k, y0 + 6, x0 + 22 + 8 * k, max(y0 + 12, y1 - 6)), pen, 0.0)
        if kind in ("words", "table"):
            for y in np.arange(y0 + 8, y1 - 4, rng.choice([9, 14, 22])).tolist():
                ink.text(((x0 + x1) / 2, y), rng.choice(_WORDS), rng.choice([4, 5, 6, 9]), "", raw=True)
        elif kind == "seal":
            round_ = shapely.Point((x0 + x1) / 2, (y0 + y1) / 2).buffer(0.4 * min(x1 - x0, y1 - y0))
            path = " l ".join(f"{x:.1f} {y:.1f}" for x, y in round_.exterior.coords).replace(" l ", " m ", 1)
            ink.raw(f"q {pen:.2f} w {path} l S Q", "")
        at += long + rng.choice([0.0, 0.0, 2.0, 4.0])


def boxed_notes(ink: Ink, rng: random.Random) -> None:
    """Write a column of notes or a schedule on the sheet, in a frame of one line or two."""
    w, h = ink.size
    wide, high = rng.uniform(60, 140), rng.uniform(40, 160)
    x0, y0 = w - wide - rng.uniform(2, 20), rng.uniform(2, max(3.0, h - high - 2))
    pen, gap = rng.choice([0.25, 0.5, 1.0, 1.5]), rng.choice([0.0, 2.0, 4.0])
    if rng.random() < 0.8:
        ink.raw(f"q 1 g {x0:.1f} {y0:.1f} {wide:.1f} {high:.1f} re f Q", "")  # nothing of the plan is seen there
        _framed(ink, (x0, y0, x0 + wide, y0 + high), pen, gap)
    step = rng.uniform(6, 12)
    for y in np.arange(y0 + step, y0 + high - 3, step).tolist():
        ink.text((x0 + 0.5 * wide, y), " ".join(rng.choice(_WORDS) for _ in range(rng.randint(1, 2))), 5, "", raw=True)


def front(ink: Ink, pens: Pens, wall: Pen, b: Building, rng: random.Random) -> None:
    """Draw a view of a front beside the plan: its outline, roof and ground, windows in frames, doors, cladding."""
    x0, y0, x1, _ = b.area.bounds
    wide, high = rng.uniform(4, max(5.0, min(12.0, x1 - x0))), rng.uniform(2.4, 5.5)
    left, base = rng.uniform(x0 - 1, max(x0, x1 - wide)), y0 - rng.uniform(1.0, 2.5)
    pen = rng.choice([pens.thin, pens.thin, wall])
    ink.shape(shapely.box(left, base - high, left + wide, base), "", stroke=pen)
    ink.line((left - 1.5, base), (left + wide + 1.5, base), "", Pen(rng.choice([0.35, 0.7, 1.4])))
    if rng.random() < 0.6:
        eaves, ridge = rng.uniform(0.2, 0.6), rng.uniform(0.8, 2.5)
        roof = [
            (left - eaves, base - high),
            (left + 0.5 * wide, base - high - ridge),
            (left + wide + eaves, base - high),
        ]
        for k in (0.0, rng.choice([0.1, 0.2])):
            ink.polyline([(x, y - k) for x, y in roof], "", pen)
    if rng.random() < 0.4:
        area = shapely.box(left, base - high, left + wide, base)
        clipped(ink, even_lines(area, rng.uniform(0.1, 0.3), 0), area, pens.thin)
    at = left + 0.4
    while at < left + wide - 1.0:
        is_door = rng.random() < 0.25
        size = (rng.uniform(0.7, 1.0), 2.1) if is_door else (rng.uniform(0.5, 2.2), rng.uniform(0.6, 1.6))
        foot = base if is_door else base - rng.uniform(0.6, 1.0)
        box = shapely.box(at, foot - size[1], min(at + size[0], left + wide - 0.2), foot)
        for k in (0.0, *rng.sample((0.04, 0.08, 0.12), k=rng.randint(0, 2))):
            inner = box.buffer(-k, join_style="mitre")
            if isinstance(inner, Polygon) and not inner.is_empty:
                ink.shape(inner, "", stroke=pen, fill=1.0 if k == 0.0 else None)
        if not is_door:
            middle = (box.bounds[0] + box.bounds[2]) / 2
            ink.line((middle, box.bounds[1]), (middle, box.bounds[3]), "", pens.thin)
        at += size[0] + rng.uniform(0.3, 1.5)


def porch(ink: Ink, pens: Pens, wall: Pen, b: Building, rng: random.Random) -> None:
    """Draw a porch, a deck or a balcony against an outer wall: its edge or railing, boards, chairs, a step down."""
    outer = Polygon(b.area.exterior)
    p, u, n, length = side_of(outer, rng.randrange(len(outer.exterior.coords) - 1))
    if length < 2.0:
        return
    deep, wide = rng.uniform(1.2, 4.0), rng.uniform(2.0, length)
    at = rng.choice([0.0, length - wide, rng.uniform(0.0, length - wide)])

    def place(along: float, out: float) -> tuple[float, float]:
        q = p + u * (at + along) - n * out
        return (float(q[0]), float(q[1]))

    area = Polygon([place(0, 0), place(wide, 0), place(wide, deep), place(0, deep)]).difference(outer.buffer(0.001))
    if not isinstance(area, Polygon) or area.area < 1.5 or area.intersects(outer.buffer(-0.02)):
        return
    if rng.random() < 0.6:
        clipped(ink, even_lines(area, rng.uniform(0.08, 0.4), rng.choice([0, 90, 45])), area, pens.thin)
    pen = rng.choice([pens.thin, pens.thin, pens.dashed, pens.furniture])
    for k in rng.choice([(0.0,), (0.0, 0.05), (0.0, 0.04, 0.08), (0.0, 0.2)]):
        ink.polyline([place(k, 0), place(k, deep - k), place(wide - k, deep - k), place(wide - k, 0)], "", pen)
    for _ in range(rng.choice([0, 0, 2, 4])):
        seat = shapely.box(-0.35, -0.35, 0.35, 0.35).buffer(0.05)
        x, y = place(rng.uniform(0.5, wide - 0.5), rng.uniform(0.5, max(0.6, deep - 0.5)))
        turned = shapely.affinity.translate(shapely.affinity.rotate(seat, rng.uniform(0, 90)), x, y)
        if area.contains(turned):
            ink.shape(turned, "", stroke=pens.furniture)


def chains(ink: Ink, pens: Pens, b: Building, rng: random.Random, m_per_pt: float) -> None:
    """Draw dimension strings in two to four rows outside, as near to one another as a wall's faces may be."""
    x0, y0, x1, y1 = b.area.bounds
    step = rng.uniform(6, 14) * m_per_pt
    is_slash = rng.random() < 0.6
    for row in range(rng.randint(2, 4)):
        far = rng.uniform(8, 14) * m_per_pt + row * step
        count = rng.randint(1, 8) if row < 2 else 1
        stops = [0.0, *sorted(rng.random() for _ in range(count - 1)), 1.0]
        for a, c, out in (((x0, y0), (x1, y0), (0, -far)), ((x1, y0), (x1, y1), (far, 0))):
            spots = [(a[0] + (c[0] - a[0]) * s + out[0], a[1] + (c[1] - a[1]) * s + out[1]) for s in stops]
            ink.line(spots[0], spots[-1], "", pens.thin)
            for x, y in spots:
                k = 2.5 * m_per_pt
                ink.line((x - k, y - k), (x + k, y + k), "", pens.thin) if is_slash else ink.arc(
                    (x, y), 0.5 * k, 0, 2 * math.pi, "", pens.thin
                )
                ends = ((x - out[0] * 0.9, y - out[1] * 0.9), (x + math.copysign(k, out[0]) * (out[0] != 0), y))
                ink.line(*ends, "", pens.thin)
            for (x, y), (v, z) in pairwise(spots):
                ink.text(((x + v) / 2, (y + z) / 2 - 4 * m_per_pt), f"{LineString([(x, y), (v, z)]).length:.2f}", 5, "")


def beyond(ink: Ink, pens: Pens, wall: Pen, b: Building, rng: random.Random, m_per_pt: float) -> None:
    """Draw some of these, before the walls."""
    if rng.random() < 0.15:
        front(ink, pens, wall, b, rng)
    for _ in range(rng.choice([0, 0, 0, 1, 2])):
        porch(ink, pens, wall, b, rng)
    if rng.random() < 0.2:
        chains(ink, pens, b, rng, m_per_pt)
