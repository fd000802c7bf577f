"""The floor plan: walls in poché, doors, windows, rooms, equipment and dimensions, drawn from the scenario."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from shapely.geometry import MultiPolygon, Polygon, box
from shapely.ops import unary_union

from sample_plans.ink import LIGHT, POCHE, Frame, Ink
from sample_plans.scenario import (
    BOW_CENTRE,
    BOW_RADIUS,
    DEPTH,
    OPENINGS,
    OUTER,
    PILLAR_DIAMETER,
    PILLAR_ROUND,
    PILLAR_SIDE,
    PILLAR_SQUARE,
    ROOMS,
    SPLASH,
    SPLASH_HEIGHT,
    SPLASH_THICKNESS,
    WIDTH,
    XS_NORTH,
    XS_SOUTH,
    YS,
    Opening,
    Point,
    Room,
    arc_points,
    ft,
    room_outline,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wording:
    """How lengths are written on one sheet: a length, a door's size, a radius."""

    length: Callable[[float], str]
    size: Callable[[float, float], str]


def shell() -> Polygon:
    """Give the outline of the building, its curved wall in short chords."""
    outer_radius = BOW_RADIUS + OUTER
    bow = [*arc_points(outer_radius, math.acos(BOW_CENTRE[1] / outer_radius))]
    return unary_union([box(0.0, 0.0, WIDTH, DEPTH), Polygon([*bow, BOW_CENTRE])])


def wall_areas(building: Polygon, rooms: Sequence[Room], openings: Sequence[Opening]) -> list[Polygon]:
    """Cut rooms and openings out of a building and give the walls that are left, west to east."""
    inner = [Polygon(room_outline(room)) for room in rooms]
    walls = building.difference(unary_union([*inner, *(_opening_box(o) for o in openings)]))
    parts = list(walls.geoms) if isinstance(walls, MultiPolygon) else [walls]
    return sorted(parts, key=lambda p: (round(p.bounds[0], 6), round(p.bounds[1], 6)))


def _opening_box(o: Opening) -> Polygon:
    a, b = o.at - o.width / 2, o.at + o.width / 2
    return box(a, o.lo, b, o.hi) if o.axis == "x" else box(o.lo, a, o.hi, b)


def draw_plan(ink: Ink, frame: Frame, wording: Wording, *, has_heights: bool = True) -> None:
    """Draw the whole plan on its layers; heights of ceilings may be left to a ceiling plan."""
    draw_walls(ink, frame, wall_areas(shell(), ROOMS, OPENINGS))
    draw_openings(ink, frame, wording, OPENINGS)
    _pillars(ink, frame, wording)
    draw_room_tags(ink, frame, wording, ROOMS, has_heights=has_heights)
    _equipment(ink, frame)
    _dimensions(ink, frame, wording)


def draw_openings(ink: Ink, frame: Frame, wording: Wording, openings: Sequence[Opening]) -> None:
    """Draw doors, windows and pass-throughs with their marks."""
    for o in openings:
        {"window": _window, "pass": _pass}.get(o.style, _door)(ink, frame, o, wording)


def draw_walls(ink: Ink, frame: Frame, areas: Sequence[Polygon]) -> None:
    """Fill and outline walls; those along the curved wall with true arcs."""
    centre = frame.pt(BOW_CENTRE)
    circles = [(centre, BOW_RADIUS * frame.scale), (centre, (BOW_RADIUS + OUTER) * frame.scale)]
    for area in areas:
        rings = [[frame.pt(p) for p in ring.coords[:-1]] for ring in (area.exterior, *area.interiors)]
        ink.rings("A-WALL", rings, circles, 0.9, POCHE)


def _along(o: Opening, frame: Frame) -> Callable[[float, float], Point]:
    """Give sheet points from (metres from the opening's centre along the wall, coordinate across the wall)."""

    def place(along: float, across: float) -> Point:
        return frame.pt((o.at + along, across) if o.axis == "x" else (across, o.at + along))

    return place


def _window(ink: Ink, frame: Frame, o: Opening, wording: Wording) -> None:
    at, half = _along(o, frame), o.width / 2
    for across in (o.lo, o.hi):
        ink.line("A-GLAZ", [at(-half, across), at(half, across)], 0.5)
    middle = (o.lo + o.hi) / 2
    for across in (middle - 0.015, middle + 0.015):
        ink.line("A-GLAZ", [at(-half, across), at(half, across)], 0.35)
    outside = o.hi == DEPTH or o.mark == "B"
    _tag(
        ink,
        at(ft(1, 6) if o.mark != "B" else half + 0.45, o.hi + 0.32 if outside else o.lo - 0.32),
        o.mark,
        is_door=False,
    )


def _pass(ink: Ink, frame: Frame, o: Opening, wording: Wording) -> None:
    at, half = _along(o, frame), o.width / 2
    for across in (o.lo, o.hi):
        ink.line("A-WALL-PRHT", [at(-half, across), at(half, across)], 0.5)
    for across in (o.lo - ft(0, 4), o.hi + ft(0, 4)):
        ink.line("A-WALL-PRHT", [at(-half, across), at(half, across)], 0.35, dashes="[3 2] 0")
    _tag(ink, at(0.0, o.lo - 0.55), o.mark, is_door=False)


def _tag(ink: Ink, at: Point, mark: str, *, is_door: bool) -> None:
    if is_door:
        ink.circle("A-FLOR-IDEN", at, 10.5, 0.5)
    else:
        points = [(at[0] + 8.5 * math.cos(a), at[1] + 8.5 * math.sin(a)) for a in (math.pi / 3 * k for k in range(6))]
        ink.line("A-FLOR-IDEN", points, 0.5, closed=True)
    ink.text("A-FLOR-IDEN", (at[0], at[1] + 2.3), mark, 6.5, align="centre")


def _door(ink: Ink, frame: Frame, o: Opening, wording: Wording) -> None:
    at, half = _along(o, frame), o.width / 2
    face = o.lo if o.swing < 0 else o.hi
    if o.style == "rollup":
        depth = face + o.swing * ft(1)
        ink.line("A-DOOR", [at(-half, face), at(-half, depth), at(half, depth), at(half, face)], 0.5, dashes="[4 2] 0")
        ink.line("A-DOOR", [at(-half, face), at(half, face)], 0.5)
        _tag(ink, at(0.0, face + o.swing * ft(2, 2)), o.mark, is_door=True)
        return
    for hinge in (-1, 1) if o.style == "double" else (o.hinge,):
        leaf = half if o.style == "double" else o.width
        _leaf(ink, at, face, hinge, half, leaf, o)
    other = o.hi if o.swing < 0 else o.lo
    _tag(ink, at(0.0, other - o.swing * ft(1)), o.mark, is_door=True)


def _leaf(
    ink: Ink, at: Callable[[float, float], Point], face: float, hinge: int, half: float, leaf: float, o: Opening
) -> None:
    pin, tip, shut = at(hinge * half, face), at(hinge * half, face + o.swing * leaf), at(hinge * (half - leaf), face)
    thick = hinge * ft(0, 1.75)
    corners = [(hinge * half, 0.0), (hinge * half, leaf), (hinge * half - thick, leaf), (hinge * half - thick, 0.0)]
    ink.line("A-DOOR", [at(u, face + o.swing * v) for u, v in corners], 0.6, closed=True, fill=1.0)
    start, end = (math.atan2(p[1] - pin[1], p[0] - pin[0]) for p in (tip, shut))
    turn = (end - start + math.pi) % (2 * math.pi) - math.pi
    ink.arc("A-DOOR", pin, math.dist(pin, tip), start, start + turn, 0.35)


def _pillars(ink: Ink, frame: Frame, wording: Wording) -> None:
    (x, y), half = PILLAR_SQUARE, PILLAR_SIDE / 2
    ink.box("A-COLS", frame.pt((x - half, y - half)), frame.pt((x + half, y + half)), 0.9, fill=POCHE)
    ink.circle("A-COLS", frame.pt(PILLAR_ROUND), PILLAR_DIAMETER / 2 * frame.scale, 0.9, fill=POCHE)
    (x0, y), (x1, _) = SPLASH
    half = SPLASH_THICKNESS / 2
    ink.box("A-WALL-PRHT", frame.pt((x0, y - half)), frame.pt((x1, y + half)), 0.9, fill=POCHE)
    below = frame.pt(((x0 + x1) / 2, y + half))
    ink.text("A-ANNO-TEXT", (below[0], below[1] + 40), "SPLASH WALL", 7, align="centre")
    ink.text("A-ANNO-TEXT", (below[0], below[1] + 49), f"{wording.length(SPLASH_HEIGHT)} HIGH", 7, align="centre")


def draw_room_tags(
    ink: Ink, frame: Frame, wording: Wording, rooms: Sequence[Room], *, has_heights: bool = True
) -> None:
    """Write name and number of each room, and the height of its ceiling."""
    for room in rooms:
        x, y = frame.pt(room.tag)
        ink.text("A-FLOR-IDEN", (x, y), room.name.upper(), 11, bold=True, align="centre")
        ink.box("A-FLOR-IDEN", (x - 17, y + 4), (x + 17, y + 19), 0.6)
        ink.text("A-FLOR-IDEN", (x, y + 15.2), room.number, 10, align="centre")
        if not has_heights:
            continue
        height = wording.length(room.ceiling)
        words = f"CLG {height}" if not room.corners else f"CLG {height} W TO {wording.length(room.corners[1])} E"
        ink.text("A-FLOR-IDEN", (x, y + 30), words, 7, align="centre")


def _equipment(ink: Ink, frame: Frame) -> None:
    def tank(x: float, y: float, radius: float) -> None:
        c = frame.pt((x, y))
        for r in (radius, radius * 0.9, radius * 0.18):
            ink.circle("A-EQPM", c, r * frame.scale, 0.35, tone=LIGHT)

    def bench(x0: float, y0: float, x1: float, y1: float, parts: int = 0, *, upright: bool = False) -> None:
        ink.box("A-EQPM", frame.pt((x0, y0)), frame.pt((x1, y1)), 0.35, tone=LIGHT)
        for i in range(1, parts):
            f = i / parts
            ends = (
                [(x0, y0 + f * (y1 - y0)), (x1, y0 + f * (y1 - y0))]
                if upright
                else [(x0 + f * (x1 - x0), y0), (x0 + f * (x1 - x0), y1)]
            )
            ink.line("A-EQPM", [frame.pt(p) for p in ends], 0.25, tone=LIGHT)

    for k in range(3):
        tank(ft(5) + k * ft(6), ft(5, 6), ft(2, 3))
    tank(ft(5, 6), ft(17, 6), ft(3))
    bench(ft(27), ft(16), ft(34), ft(18, 6), 0)
    bench(ft(27, 3), ft(16, 3), ft(33, 9), ft(18, 3), 0)
    bench(ft(39), ft(12), ft(59), ft(14), 40)
    bench(ft(59), ft(10), ft(61), ft(16), 12, upright=True)
    for k in range(3):
        if k < 2:
            bench(ft(64, 6), ft(2) + k * ft(6, 4), ft(67), ft(7, 6) + k * ft(6, 4) - ft(0, 2), 2, upright=True)
        bench(ft(76, 8), ft(2) + k * ft(6, 4), ft(79), ft(7, 6) + k * ft(6, 4) - ft(0, 2), 2, upright=True)
    for x in (ft(18), ft(34)):
        bench(x, ft(34, 8), x + ft(2, 6), ft(50, 6), 4, upright=True)
    bench(ft(1), ft(48, 6), ft(9), ft(51), 3)
    bench(ft(41), ft(46, 6), ft(48, 6), ft(48), 5)
    bench(ft(49, 10), ft(33, 6), ft(51, 4), ft(45), 8, upright=True)
    for x, y in (
        (ft(54, 2), ft(37)),
        (ft(54, 2), ft(42)),
        (ft(54, 2), ft(47)),
        (ft(73, 6), ft(34)),
        (ft(73, 6), ft(39)),
    ):
        bench(x, y, x + ft(4), y + ft(4), 6)
    for x, y in (
        (ft(13, 8), ft(17, 3)),
        (ft(8, 8), ft(40, 8)),
        (ft(27, 2), ft(38)),
        (ft(50, 2), ft(17, 2)),
        (ft(68), ft(45)),
    ):
        c, r = frame.pt((x, y)), ft(0, 5) * frame.scale
        ink.box("P-DRAN", (c[0] - r, c[1] - r), (c[0] + r, c[1] + r), 0.35)
        ink.circle("P-DRAN", c, r, 0.35)
        ink.line("P-DRAN", [(c[0] - r, c[1]), (c[0] + r, c[1])], 0.25)
        ink.line("P-DRAN", [(c[0], c[1] - r), (c[0], c[1] + r)], 0.25)
        ink.text("P-DRAN", (c[0] + r + 3, c[1] + 2.3), "FD", 6.5)


def _dimensions(ink: Ink, frame: Frame, wording: Wording) -> None:
    (left, top), bottom = frame.pt((0.0, 0.0)), frame.pt((WIDTH, DEPTH))[1]
    crown = frame.pt((0.0, BOW_CENTRE[1] - BOW_RADIUS - OUTER))[1]
    say = wording.length
    windows = [XS_NORTH[0], *(o.at for o in OPENINGS if o.mark == "A"), XS_NORTH[1]]
    ink.dimensions(frame, windows, "x", top - 42, top - 4, say)
    ink.dimensions(frame, [0.0, *XS_NORTH, WIDTH], "x", crown - 34, top - 46, say)
    ink.dimensions(frame, [0.0, WIDTH], "x", crown - 62, crown - 38, say)
    door = next(o.at for o in OPENINGS if o.mark == "108B")
    ink.dimensions(frame, [XS_SOUTH[6], door, XS_SOUTH[7]], "x", bottom + 30, bottom, say)
    ink.dimensions(frame, [0.0, *XS_SOUTH, WIDTH], "x", bottom + 60, bottom + 34, say)
    ink.dimensions(frame, [0.0, WIDTH], "x", bottom + 88, bottom + 64, say)
    ink.dimensions(frame, [0.0, *YS, DEPTH], "y", left - 66, left - 20, say)
    ink.dimensions(frame, [0.0, DEPTH], "y", left - 94, left - 70, say)
    ink.dimensions(frame, [BOW_CENTRE[1] - BOW_RADIUS, YS[0]], "y", frame.pt((XS_NORTH[3] + ft(3, 6), 0))[0], None, say)
    _inner_dimensions(ink, frame, wording)


def _inner_dimensions(ink: Ink, frame: Frame, wording: Wording) -> None:
    say = wording.length
    row = frame.pt((0.0, ft(14)))[1]
    ink.dimensions(frame, [XS_NORTH[0], PILLAR_SQUARE[0], PILLAR_ROUND[0], XS_NORTH[1]], "x", row, None, say)
    for x, y in (PILLAR_SQUARE, PILLAR_ROUND):
        ink.line("A-ANNO-DIMS", [frame.pt((x, y + ft(1, 3))), frame.pt((x, ft(14, 3)))], 0.25, dashes="[8 2 2 2] 0")
    column = frame.pt((ft(31, 2), 0.0))[0]
    ink.dimensions(frame, [YS[0], PILLAR_ROUND[1]], "y", column, None, say)
    ink.line("A-ANNO-DIMS", [frame.pt((PILLAR_ROUND[0] + ft(1, 6), PILLAR_ROUND[1])),
                             frame.pt((ft(31, 5), PILLAR_ROUND[1]))], 0.25, dashes="[8 2 2 2] 0")  # fmt: skip
    (x0, y), (x1, _) = SPLASH
    half = SPLASH_THICKNESS / 2
    below = frame.pt((0.0, y + half))[1]
    ink.dimensions(frame, [x0, x1], "x", below + 24, below, say)
    ink.dimensions(frame, [y - half, y + half], "y", frame.pt((x1 + ft(1, 4), 0.0))[0], frame.pt((x1, 0.0))[0], say)
    ink.dimensions(frame, [XS_SOUTH[0], x0], "x", frame.pt((0.0, y))[1], None, say)
    tip = frame.pt((BOW_CENTRE[0] + BOW_RADIUS * math.sin(0.18), BOW_CENTRE[1] - BOW_RADIUS * math.cos(0.18)))
    knee = (tip[0] + 14, tip[1] + 44)
    ink.line("A-ANNO-DIMS", [tip, knee, (knee[0] + 10, knee[1])], 0.35)
    ink.line(
        "A-ANNO-DIMS", [tip, (tip[0] + 4.3, tip[1] + 7.2), (tip[0] + 0.4, tip[1] + 8.4)], 0.35, fill=0.0, closed=True
    )
    ink.text("A-ANNO-DIMS", (knee[0] + 13, knee[1] + 2.6), f"R {say(BOW_RADIUS)}", 7.5)
