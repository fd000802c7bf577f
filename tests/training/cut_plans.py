"""Pages as building models give them when they are cut and drawn: to train the network on.

Doors stand in frames, their leaf drawn shut and once more open; windows are cut through their frames and panes; walls
are filled, toned or hollow and joined by mitres; swings of doors on another storey shine through; cubicles and the
edges of slabs stand about. All of that is nothing in the eyes of the network. Walls of another storey are left out:
shown as nothing, paler than the others, they cost the network the bare hollow walls. Lengths are metres in the building
frame.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import shapely
from shapely import Polygon

from tests.trace.ink import Ink, Pen, Pens
from tests.trace.plans import Building, Hole
from tests.training.alterations import side_of

STYLES = ("fill", "fill", "fill", "outline", "outline", "outline", "fill-bare", "joints", "mitred", "mixed", "hatch")
"""Ways to draw walls that are cut."""


@dataclass(frozen=True, kw_only=True)
class Cut:
    """How the frames, leaves, swings and panes of one page are drawn: every page has one way.

    ``fill`` is the tone of what is cut, nothing where it is hollow. Of doors: ``frame`` and ``proud`` say how wide a
    frame is and how far it stands out of the wall, ``stop`` whether it is rebated; ``leaf`` is how thick the shut leaf
    is, nothing where it is not drawn, ``hangs`` where it lies, from the axis (0) to the face (1); ``over`` the share of
    the frame that the swing covers. Of windows: ``post`` and ``deep`` are the size of frames, ``panes`` how many lines
    of glass there are, ``shift`` how far they are off the axis, from face (-1) to face (1).
    """

    pen: Pen
    swing: Pen
    thin: Pen
    fill: float | None
    frame: float
    proud: float
    stop: bool
    leaf: float
    hangs: float
    over: float
    has_swings: bool
    open_leaf: float
    threshold: float
    post: float
    deep: float
    panes: int
    pane: float
    shift: float
    sill: float


def cut_of(pens: Pens, wall: Pen, fill: float | None, rng: random.Random) -> Cut:
    """Choose a way to draw what is cut."""
    return Cut(
        pen=rng.choice([wall, wall, pens.door, Pen(0.6 * wall.width, wall.grey)]),
        swing=rng.choice([pens.door, pens.door, pens.thin, wall]),
        thin=pens.thin,
        fill=rng.choice([fill, fill, None, 0.0, 0.7]),
        frame=rng.choice([0.0, *(rng.uniform(0.03, 0.09) for _ in range(5))]),
        proud=rng.choice([0.0, 0.01, 0.02, 0.04, -0.02]),
        stop=rng.random() < 0.4,
        leaf=rng.choice([0.0, *(rng.uniform(0.03, 0.06) for _ in range(5))]),
        hangs=rng.choice([0.0, 0.5, 0.9, 0.9, 1.0]),
        over=rng.choice([0.0, 0.5, 1.0, 1.0]),
        has_swings=rng.random() < 0.85,
        open_leaf=rng.choice([0.0, 0.0, 0.04, 0.05]),
        threshold=rng.choice([0.0, 0.0, 0.5, 1.0]),
        post=rng.uniform(0.03, 0.1),
        deep=rng.choice([1.0, rng.uniform(0.03, 0.1), rng.uniform(0.03, 0.1), rng.uniform(0.2, 0.8)]),
        panes=rng.choice([1, 1, 2, 2, 3]),
        pane=rng.choice([0.0, 0.0, rng.uniform(0.01, 0.04)]),
        shift=rng.choice([0.0, 0.0, -0.6, 0.6, 0.9]),
        sill=rng.choice([0.0, 0.0, 0.0, rng.uniform(0.01, 0.15)]),
    )


def told_apart(b: Building, cut: Cut, rng: random.Random) -> Building:
    """Return a building whose doors without a drawn swing are no swinging ones; some double doors have none."""

    def seen(hole: Hole) -> Hole:
        is_bare = not cut.has_swings or (hole.form == "double" and rng.random() < 0.3)
        return replace(hole, form="sliding") if hole.form in ("swing", "double") and is_bare else hole

    return replace(b, holes=[seen(hole) for hole in b.holes])


def opening(ink: Ink, cut: Cut, hole: Hole, rng: random.Random) -> None:
    """Draw a door or a window that is cut; a way over a low wall is not drawn here."""
    m, u, n = hole.frame()
    w, t = hole.width / 2, hole.wall.thickness / 2

    def at(along: float, aside: float) -> tuple[float, float]:
        return tuple((m + u * along + n * aside).tolist())

    def box(a0: float, a1: float, s0: float, s1: float, *, fill: float | None = cut.fill, pen: Pen = cut.pen) -> None:
        ink.shape(Polygon([at(a0, s0), at(a1, s0), at(a1, s1), at(a0, s1)]), "", stroke=pen, fill=fill)

    if hole.kind == "window":
        _window(ink, cut, hole, at, box, rng)
        return
    if hole.form == "cased":
        if rng.random() < 0.4 and cut.frame:
            for k in (-1, 1):
                box(k * w, k * (w - cut.frame), -t - cut.proud, t + cut.proud)
        return
    frame = min(cut.frame, 0.15 * w)
    if frame:
        for k in (-1, 1):
            box(k * w, k * (w - frame), -t - cut.proud, t + cut.proud)
            if cut.stop:
                box(k * (w - frame), k * (w - frame - 0.015), -0.3 * t, 0.3 * t)
    lines = {0.5: (rng.choice([-1, 1]),), 1.0: (-1, 1)}.get(cut.threshold, ())
    for k in lines:
        ink.line(at(-w + frame, k * t), at(w - frame, k * t), "", cut.thin)
    leaf = hole.side * cut.hangs * max(0.0, t - cut.leaf / 2)
    edges = [-w + frame, w - frame]
    if hole.form == "double" or (hole.form == "sliding" and hole.width > 1.3):
        edges = [-w + frame, 0.0, w - frame]
    for a, c in pairwise(edges):
        if cut.leaf:
            box(a + 0.003, c - 0.003, leaf - cut.leaf / 2, leaf + cut.leaf / 2, fill=rng.choice([cut.fill, None]))
    if hole.form in ("swing", "double"):
        hands = [hole.hand] if hole.form == "swing" else [-1, 1]
        reach = w - (1 - cut.over) * frame
        for k in hands:
            _swing(ink, cut, at, k * reach, leaf if cut.leaf else hole.side * t, 2 * reach / len(hands), k, hole.side)


def _swing(ink: Ink, cut: Cut, at, along: float, aside: float, radius: float, k: int, side: int) -> None:
    """Draw a leaf that stands open by a right angle, and the arc of its end."""
    hinge, tip, shut = at(along, aside), at(along, aside + side * radius), at(along - k * radius, aside)
    if cut.open_leaf:
        corners = [
            hinge,
            tip,
            at(along - k * cut.open_leaf, aside + side * radius),
            at(along - k * cut.open_leaf, aside),
        ]
        ink.shape(Polygon(corners), "", stroke=cut.swing)
    else:
        ink.line(hinge, tip, "", cut.swing)
    start = math.atan2(tip[1] - hinge[1], tip[0] - hinge[0])
    stop = math.atan2(shut[1] - hinge[1], shut[0] - hinge[0])
    sweep = (stop - start + math.pi) % (2 * math.pi) - math.pi
    if cut.swing.dash:
        turns = np.linspace(start, start + sweep, 16).tolist()
        arc = [(hinge[0] + radius * math.cos(a), hinge[1] + radius * math.sin(a)) for a in turns]
        ink.polyline(arc, "", cut.swing)
    else:
        ink.arc(hinge, radius, start, sweep, "", cut.swing)


def _window(ink: Ink, cut: Cut, hole: Hole, at, box, rng: random.Random) -> None:
    """Draw a window cut through its frame: posts at its ends, sometimes between, panes, faces and sills."""
    w, t = hole.width / 2, hole.wall.thickness / 2
    deep = t * cut.deep if cut.deep >= 0.2 else min(t, cut.deep / 2)
    shift = max(-1.0, min(1.0, cut.shift)) * (t - deep)
    post = min(cut.post, 0.2 * w)
    pitch = rng.choice([99.0, 99.0, 0.7, 1.0, 1.5])
    for s in [-w, *np.arange(-w + pitch, w - 0.3, pitch).tolist(), w - post]:
        box(s, s + post, shift - deep, shift + deep)
    apart = min(deep, 0.03)
    for k in np.linspace(-apart, apart, cut.panes).tolist() if cut.panes > 1 else [0.0]:
        if cut.pane:
            box(-w + post, w - post, shift + k - cut.pane / 2, shift + k + cut.pane / 2)
        else:
            ink.line(at(-w + post, shift + k), at(w - post, shift + k), "", cut.pen)
    for k in rng.choice([(-1, 1), (-1, 1), (-1, 1), (1,), (-1,), ()]):
        ink.line(at(-w, k * t), at(w, k * t), "", cut.thin)
    for k in rng.choice([(-1, 1), (-1,), (1,)]) if cut.sill else ():
        more = rng.choice([0.0, 0.05])
        sill = [at(-w - more, k * t), at(-w - more, k * (t + cut.sill)), at(w + more, k * (t + cut.sill)),
                at(w + more, k * t)]  # fmt: skip
        ink.polyline(sill, "", cut.thin)


def mitres(ink: Ink, pen: Pen, b: Building) -> None:
    """Draw the joints of outer walls at their square corners, from the outer corner to the inner one."""
    ring = np.array(b.area.exterior.coords)[:-1]
    thick = max((w.thickness for w in b.walls if w.is_outer), default=0.2)
    for i in range(len(ring)):
        p, a, c = ring[i], ring[i - 1], ring[(i + 1) % len(ring)]
        u, v = (a - p) / max(np.hypot(*(a - p)), 1e-9), (c - p) / max(np.hypot(*(c - p)), 1e-9)
        inner = p + thick * (u + v)
        if abs(float(u @ v)) < 0.05 and b.area.buffer(0.01).contains(shapely.LineString([p, inner])):
            ink.line(tuple(p), tuple(inner), "", pen)


def stray_swings(ink: Ink, cut: Cut, b: Building, rng: random.Random) -> None:
    """Draw swings of doors that stand on another storey: over walls and rooms alike, where there is no opening."""
    kept = shapely.union_all([h.box(more=0.6) for h in b.holes])
    for _ in range(rng.randint(1, 8)):
        wall = rng.choice(b.walls)
        hole = Hole(
            wall=wall, at=rng.uniform(0.0, wall.line.length), width=rng.choice([0.7, 0.9, 0.9, 1.0, 1.8]), kind="door",
            form=rng.choice(["swing", "swing", "double"]), hand=rng.choice([-1, 1]), side=rng.choice([-1, 1]),
        )  # fmt: skip
        off = rng.choice([0.0, rng.uniform(-4, 4)])
        _, u, n = hole.frame()
        line = shapely.affinity.translate(wall.line, *(n * off + u * rng.uniform(-0.5, 0.5)).tolist())
        hole = replace(hole, wall=replace(wall, line=line))
        reach = shapely.buffer(hole.box(), hole.width)
        if not kept.intersects(reach):
            opening(ink, replace(cut, frame=0.0, leaf=0.0, threshold=0.0), hole, rng)


def cubicles(ink: Ink, cut: Cut, b: Building, rng: random.Random) -> None:
    """Stand cubicles of thin panels along a wall of some rooms, each with a small door."""
    kept = shapely.union_all([h.box(more=0.9 if h.kind == "door" else 0.05) for h in b.holes])
    for room in rng.sample(b.rooms, k=min(len(b.rooms), rng.choice([1, 1, 2]))):
        p, u, n, length = side_of(room, rng.randrange(len(room.exterior.coords) - 1))
        wide, deep, count = rng.uniform(0.8, 1.1), rng.uniform(1.2, 1.7), rng.randint(1, 5)
        start = rng.choice([0.0, rng.uniform(0.0, max(0.0, length - count * wide))])
        corners = [p + u * (start + a) + n * s for a, s in ((0, 0.0), (0, deep + 0.6), (count * wide, deep + 0.6),
                                                            (count * wide, 0.0))]  # fmt: skip
        block = Polygon(corners)
        if count * wide > length or not room.buffer(0.01).contains(block) or block.intersects(kept):
            continue
        thick, pen = rng.choice([0.0, 0.02, 0.03, 0.04]), rng.choice([cut.thin, cut.pen, cut.swing])

        def panel(a0: float, s0: float, a1: float, s1: float, p=p + u * start, u=u, n=n, thick=thick, pen=pen) -> None:
            a, c = p + u * a0 + n * s0, p + u * a1 + n * s1
            if thick:
                line = shapely.LineString([a, c]).buffer(thick / 2, cap_style="flat")
                ink.shape(line, "", stroke=pen)
            else:
                ink.line(tuple(a), tuple(c), "", pen)

        swing, door = replace(cut, swing=pen, open_leaf=0.0), rng.uniform(0.55, 0.65)
        for i in range(count):
            panel((i + 1) * wide, 0.0, (i + 1) * wide, deep)
            panel(i * wide, deep, (i + 1) * wide - door, deep)

            def at(along: float, aside: float, p=p + u * start, u=u, n=n) -> tuple[float, float]:
                return tuple((p + u * along + n * aside).tolist())

            _swing(ink, swing, at, (i + 1) * wide, deep, door, 1, rng.choice([-1, 1]))


def slab_edges(ink: Ink, pen: Pen, b: Building, rng: random.Random) -> None:
    """Draw the edges of slabs, roofs and footings close round a building."""
    for _ in range(rng.choice([1, 1, 2])):
        far = rng.uniform(0.03, 0.5)
        edge = Polygon(b.area.exterior).buffer(far, join_style="mitre")
        x0, y0, x1, y1 = edge.bounds
        if rng.random() < 0.5:  # along a part of it alone
            edge = shapely.intersection(edge, shapely.box(x0, y0, rng.uniform(x0 + 1, x1), rng.uniform(y0 + 1, y1)))
        for part in shapely.get_parts(edge).tolist():
            if isinstance(part, Polygon) and not part.is_empty:
                ink.shape(part, "", stroke=pen)
