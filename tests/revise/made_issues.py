"""Made-up buildings and their revisions as sheets: what is built, what is printed, where it lies on the paper.

A building of `tests.trace.plans` is drawn once as it was and once with one thing changed, everything else by the same
pens. Truth is exact: each room's outline and openings in the building's metres, and the map from them to the sheet.
"""

from __future__ import annotations

import copy
import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

import cv2
import numpy as np
import pymupdf
import shapely
from shapely import LineString, Polygon

from takeoff.sheet.files import read_sheets
from takeoff.sheet.frame import sheet_to_displayed
from takeoff.sheet.render import render_array
from tests.trace import fittings, plans
from tests.trace.ink import Ink, Pens
from tests.trace.made_scans import _worn
from tests.trace.plans import Building, Hole, Wall

WAYS = ("layered", "poché", "poché-plain", "outline", "outline-open", "outline-through", "hatched", "finish-lines",
        "mixed", "one-pen")  # fmt: skip
FOOT = 0.3048
SCAN_DPI = 150.0


class Steady(random.Random):
    """Chooses the same every time, so that what did not change is drawn alike however much is drawn before it."""

    def __init__(self, part: float = 0.0) -> None:
        super().__init__(0)
        self.part = part

    def random(self) -> float:
        return 0.37 + 0.6 * self.part

    def choice(self, seq):  # type: ignore[no-untyped-def]
        return seq[int(self.part * len(seq))]

    def uniform(self, a: float, b: float) -> float:
        return a + (0.37 + 0.6 * self.part) * (b - a)


@dataclass(frozen=True, kw_only=True)
class Printed:
    """What is printed in a room."""

    name: str
    number: str
    ceiling: float
    finish: str


@dataclass(kw_only=True)
class Issue:
    """One revision: the building, texts by room (in the order of its rooms), heights of openings by mark."""

    building: Building
    printed: list[Printed]
    marks: dict[int, str]
    """Marks by the identity of a hole's place: its index in ``building.holes``."""
    heights: dict[str, float]
    scheduled: dict[str, float] = field(default_factory=dict)
    """Heights that the schedule gives otherwise."""
    has_texts: bool = True

    def copy(self) -> Issue:
        return copy.deepcopy(self)


@dataclass(frozen=True, kw_only=True)
class Paper:
    """How an issue is put on paper: its scale, where, its title block, and what was done to the sheet afterwards."""

    m_per_pt: float
    note: str
    off: tuple[float, float] = (150.0, 150.0)
    more: tuple[float, float] = (0.0, 0.0)
    printed_at: float = 1.0
    rotate: int = 0
    scan: float | None = None
    """Degrees that the sheet lies askew on the scanner's glass; ``None`` for a vector sheet."""
    number: str = "A-101"
    title: str = "FIRST FLOOR PLAN"
    revision: str = "1"
    has_schedule: bool = True
    keeps_left_of: float | None = None
    """Metres: only what lies left of it is drawn."""
    office: int = 0
    """Whose pens, symbols, hatching and texts; even ones write heights in feet."""
    dpi: float = SCAN_DPI
    furniture: str = "furniture"
    """What moves with it: other words put other furniture there."""


@dataclass(frozen=True, kw_only=True)
class Made:
    """A drawn sheet, and the map from the building's metres to its points: x' = a x + b y + c, y' = d x + e y + f."""

    name: str
    data: bytes
    matrix: tuple[float, float, float, float, float, float]
    m_per_pt: float

    def at(self, p: Sequence[float]) -> tuple[float, float]:
        a, b, c, d, e, f = self.matrix
        return (a * p[0] + b * p[1] + c, d * p[0] + e * p[1] + f)


def first_issue(seed: int) -> Issue:
    """A building with names, numbers, ceilings and finishes printed, and a mark at every opening."""
    rng = random.Random(f"issue {seed}")
    b = plans._building(rng, single=False)
    printed = [
        Printed(name=name, number=number, ceiling=rng.choice([9, 10, 12]) * FOOT, finish=rng.choice(["WP-1", "WP-2"]))
        for name, number in b.names
    ]
    marks, heights = {}, {}
    for i, hole in enumerate(b.holes):
        marks[i] = f"{'W' if hole.kind == 'window' else 'D'}{i + 1}"
        heights[marks[i]] = {"window": 1.2, "door": 2.1}.get(hole.kind, 1.0)
    return Issue(building=b, printed=printed, marks=marks, heights=heights)


# -- what changes --------------------------------------------------------------------------------------------------


def rebuilt(issue: Issue, walls: list[Wall], holes: list[Hole], marks: dict[int, str]) -> Issue | None:
    """The issue with other walls; ``None`` where an opening would be lost or a room left without a way round."""
    b = issue.building
    before = shapely.union_all([plans._strip(w, False) for w in b.walls])
    pads = [p.buffer(0.001) for p in shapely.get_parts(shapely.difference(b.area, before)) if p.area > 1e-3]
    solid = shapely.union_all([*(plans._strip(w, False) for w in walls), *pads])
    if not isinstance(solid, Polygon):
        return None
    rooms = [Polygon(r) for r in solid.interiors]
    if any(r.area < 2.0 or r.buffer(-0.4).is_empty for r in rooms):
        return None
    for hole in holes:
        others = [w for w in walls if w is not hole.wall and plans._strip(w, False).intersects(hole.box(more=0.05))]
        if others or not hole.wall.line.buffer(hole.wall.thickness / 2, cap_style="flat").covers(hole.box(more=-0.01)):
            return None
    if any(b_.intersects(c.buffer(0.05)) for b_ in (plans._strip(w, False) for w in walls) for c in b.columns):
        return None
    printed = []
    for room in rooms:
        like = max(range(len(b.rooms)), key=lambda k: b.rooms[k].intersection(room).area)
        printed.append(issue.printed[like])
    used: set[str] = set()
    for k, one in enumerate(printed):
        if one.number in used:
            printed[k] = replace(one, number=f"{one.number}A", name="CLOSET")
        used.add(printed[k].number)
    made = replace(b, walls=walls, holes=holes, area=solid, rooms=rooms, names=[(p.name, p.number) for p in printed])
    return replace(issue, building=made, printed=printed, marks=marks)


def with_hole(issue: Issue, i: int, hole: Hole | None) -> Issue | None:
    """The issue with one opening changed or taken out; ``None`` where it does not fit."""
    b = issue.building
    if hole is not None and not _fits(b, i, hole):
        return None
    holes = [h for k, h in enumerate(b.holes) if k != i]
    marks = [issue.marks[k] for k in range(len(b.holes)) if k != i]
    if hole is not None:
        holes.append(hole)
        marks.append(issue.marks.get(i, f"D{len(b.holes) + 1}"))
    return replace(issue, building=replace(b, holes=holes), marks=dict(enumerate(marks)))


def _fits(b: Building, i: int, hole: Hole) -> bool:
    box = hole.box(more=0.05).buffer(0.1)
    if any(box.intersects(h.box()) for k, h in enumerate(b.holes) if k != i):
        return False
    if any(box.intersects(c) for c in b.columns):
        return False
    edges = [r.exterior.buffer(0.004) for r in b.rooms]
    sides = sum(e.contains(hole.side_line(s)) for e in edges for s in (1, -1))
    return sides == (1 if hole.wall.is_outer else 2)


def kind_changed(issue: Issue, rng: random.Random, before: str, after: str) -> Issue | None:
    """An opening of one form made one of another between the same jambs."""
    b = issue.building
    for i in rng.sample(range(len(b.holes)), len(b.holes)):
        hole = b.holes[i]
        if hole.form != before or hole.at_corner or (after == "double" and hole.width < 0.9):
            continue
        kind = {"window": "window", "pass-through": "pass-through", "filled": "filled"}.get(after, "door")
        return with_hole(issue, i, replace(hole, form=after, kind=kind))
    return None


def opening_moved(issue: Issue, rng: random.Random, by: float, more: float = 0.0) -> Issue | None:
    """An opening moved along its wall, or made wider about one jamb."""
    b = issue.building
    for i in rng.sample(range(len(b.holes)), len(b.holes)):
        hole = b.holes[i]
        if hole.at_corner:
            continue
        for sign in (1, -1):
            made = with_hole(issue, i, replace(hole, at=hole.at + sign * (by + more / 2), width=hole.width + more))
            if made is not None:
                return made
    return None


def opening_removed(issue: Issue, rng: random.Random) -> Issue | None:
    b = issue.building
    return with_hole(issue, rng.choice([i for i, h in enumerate(b.holes) if not h.at_corner]), None)


def opening_added(issue: Issue, rng: random.Random, kind: str) -> Issue | None:
    b = issue.building
    for _ in range(60):
        wall = rng.choice([w for w in b.walls if w.line.length > 2.0])
        width = 0.9 if kind == "door" else 1.2
        hole = Hole(wall=wall, at=rng.uniform(0.8, wall.line.length - 0.8), width=width, kind=kind,
                    form="swing" if kind == "door" else "window")  # fmt: skip
        made = with_hole(issue, len(b.holes), hole)
        if made is not None:
            mark = f"{'D' if kind == 'door' else 'W'}{len(b.holes) + 1}"
            marks = {**made.marks, len(b.holes): mark}
            return replace(made, marks=marks, heights={**issue.heights, mark: 2.1 if kind == "door" else 1.2})
    return None


def wall_moved(issue: Issue, rng: random.Random, by: float) -> Issue | None:
    """An inner wall moved square to itself with everything that ends on it."""
    b = issue.building
    inner = [w for w in b.walls if not w.is_outer and w.line.length > 1.5 and _is_square(w)]
    for wall in rng.sample(inner, len(inner)):
        (x0, y0), (x1, y1) = wall.line.coords
        is_level = abs(y1 - y0) < abs(x1 - x0)
        same = [w for w in b.walls if not w.is_outer and _is_square(w) and w.line.distance(wall.line) < 1e-6
                and wall.line.union(w.line).envelope.area < 1e-9]  # fmt: skip
        whole = shapely.union_all([w.line for w in same]).envelope.buffer(1e-6)
        for sign in rng.sample([1, -1], 2):
            step = (0.0, sign * by) if is_level else (sign * by, 0.0)
            fresh: dict[int, Wall] = {}
            for w in b.walls:
                ends = [(x + step[0], y + step[1]) if whole.contains(shapely.Point(x, y)) else (x, y)
                        for x, y in w.line.coords]  # fmt: skip
                fresh[id(w)] = replace(w, line=LineString(ends))
            if any(f.line.length < 0.7 for f in fresh.values()):
                continue
            holes = []
            for h in b.holes:
                new = fresh[id(h.wall)]
                at = h.at
                if not any(h.wall is s for s in same):
                    middle = h.frame()[0]
                    at = float(np.hypot(*(middle - np.array(new.line.coords[0]))))
                holes.append(replace(h, wall=new, at=at))
            made = rebuilt(issue, list(fresh.values()), holes, dict(issue.marks))
            if made is not None and len(made.building.rooms) == len(b.rooms):
                return made
    return None


def _is_square(wall: Wall) -> bool:
    (x0, y0), (x1, y1) = wall.line.coords
    return min(abs(x1 - x0), abs(y1 - y0)) < 1e-6


def room_parted(issue: Issue, rng: random.Random, reach: float = 1.0) -> Issue | None:
    """A new wall across a room; with ``reach`` under 1 it stops on its way, and the room stays one."""
    b = issue.building
    big = [r for r in b.rooms if r.area > 9.0]
    for room in rng.sample(big, len(big)):
        x0, y0, x1, y1 = room.bounds
        for share in (0.5, 0.4, 0.62):
            if x1 - x0 > y1 - y0:
                x = x0 + share * (x1 - x0)
                line = LineString([(x, y0 - 1), (x, y1 + 1)])
            else:
                y = y0 + share * (y1 - y0)
                line = LineString([(x0 - 1, y), (x1 + 1, y)])
            cut = shapely.intersection(line, room)
            if not isinstance(cut, LineString) or cut.length < 1.5:
                continue
            p, q = (np.array(c) for c in cut.coords)
            u = (q - p) / np.hypot(*(q - p))
            end = q + 0.05 * u if reach >= 1.0 else p + reach * (q - p)
            wall = Wall(line=LineString([p - 0.05 * u, end]), thickness=0.12, is_outer=False)
            made = rebuilt(issue, [*b.walls, wall], list(b.holes), dict(issue.marks))
            if made is not None and len(made.building.rooms) == len(b.rooms) + (reach >= 1.0):
                return made
    return None


def rooms_joined(issue: Issue, rng: random.Random) -> Issue | None:
    """The wall between two rooms taken out with its openings."""
    b = issue.building
    inner = [w for w in b.walls if not w.is_outer and w.line.length > 1.5]
    for wall in rng.sample(inner, len(inner)):
        kept = [i for i, h in enumerate(b.holes) if h.wall is not wall]
        marks = {k: issue.marks[i] for k, i in enumerate(kept)}
        made = rebuilt(issue, [w for w in b.walls if w is not wall], [b.holes[i] for i in kept], marks)
        if made is not None and len(made.building.rooms) == len(b.rooms) - 1:
            return made
    return None


def print_changed(issue: Issue, rng: random.Random, what: str) -> Issue:
    """A ceiling height, a finish, a name or a number printed otherwise, or a row of the schedule changed."""
    made = issue.copy()
    k = rng.randrange(len(made.printed))
    one = made.printed[k]
    if what == "schedule":
        mark = made.marks[rng.randrange(len(made.building.holes))]
        made.scheduled[mark] = made.heights[mark] + 0.3
    else:
        made.printed[k] = {
            "ceiling": replace(one, ceiling=one.ceiling - FOOT),
            "finish": replace(one, finish="WP-3"),
            "name": replace(one, name="PUMP ROOM"),
            "number": replace(one, number="199B"),
        }[what]
    return made


def other_floor(issue: Issue, seed: int) -> Issue:
    """Another floor in the same outer walls: some inner walls elsewhere, rooms numbered and named anew."""
    rng = random.Random(f"floor {seed}")
    made = issue
    for change in (wall_moved, room_parted, rooms_joined, wall_moved, room_parted, opening_moved):
        by = {wall_moved: (0.9,), opening_moved: (0.4,)}.get(change, ())
        made = change(made, rng, *by) or made  # type: ignore[operator]
    names = rng.sample(plans.NAMES, len(plans.NAMES))
    printed = [
        replace(p, number=str(200 + k), name=names[k % len(names)], ceiling=9 * FOOT)
        for k, p in enumerate(made.printed)
    ]
    return replace(made, printed=printed)


# -- the sheet -----------------------------------------------------------------------------------------------------


def draw(issue: Issue, first: Issue, paper: Paper, way: str) -> Made:
    """Draw an issue; furniture and dimensions are those of the first issue."""
    b, m = issue.building, paper.m_per_pt
    x0, y0, x1, y1 = first.building.area.bounds
    ox, oy = paper.off
    size = ((x1 - x0) / m + 640 + paper.more[0], max((y1 - y0) / m + 320, 640.0) + paper.more[1])

    def place(p: Sequence[float]) -> tuple[float, float]:
        return ((p[0] - x0) / m + ox, (p[1] - y0) / m + oy)

    ink = Ink(size, place, layered=way == "layered")
    own = f" {paper.office}" if paper.office else ""
    pens = Pens.of(random.Random(f"pens {way}{own}"), way)
    steady = Steady((paper.office * 0.618) % 1.0)
    if paper.keeps_left_of is not None:
        half = shapely.box(x0 - 5, y0 - 5, paper.keeps_left_of, y1 + 5)
        b = replace(b, area=shapely.intersection(b.area, half), holes=[h for h in b.holes if half.contains(h.box())])
    if paper.keeps_left_of is None:
        fittings.furniture(ink, pens, first.building, random.Random(paper.furniture))
    if isinstance(b.area, Polygon):
        parts = [b]
    else:
        parts = [replace(b, area=p, holes=[h for h in b.holes if p.intersects(h.box())]) for p in b.area.geoms]
    for part in parts:
        plans._walls(ink, pens, part, way, steady)
    for column in b.columns:
        ink.shape(column, "A-COLS", stroke=pens.wall)
    marks = {_place_of(h): issue.marks[i] for i, h in enumerate(issue.building.holes)}
    for hole in b.holes:
        _opening(ink, pens, hole, way, marks[_place_of(hole)] + own)
    if paper.keeps_left_of is None:
        fittings.dimensions(ink, pens, first.building, random.Random("sizes"), 50 * 0.0254 / 72)
    if issue.has_texts:
        _print(ink, pens, issue, paper)
    _sheet(ink, issue, paper)
    data = ink.data(rotate=paper.rotate)
    s = 1.0 / m
    made = Made(name=f"{paper.revision}.pdf", data=data, matrix=(s, 0.0, ox - x0 * s, 0.0, s, oy - y0 * s), m_per_pt=m)
    if paper.printed_at != 1.0:
        made = _printed(made, paper.printed_at)
    return made if paper.scan is None else _scanned(made, paper.scan, paper.dpi)


def _place_of(hole: Hole) -> tuple[float, float]:
    x, y = hole.frame()[0]
    return (round(float(x), 6), round(float(y), 6))


def _opening(ink: Ink, pens: Pens, hole: Hole, way: str, mark: str) -> None:
    if hole.form == "filled":
        for sign in (1, -1):
            a, c = hole.side_line(sign).coords
            ink.line(a, c, "A-WALL", pens.wall)
        return
    fittings.opening(ink, pens, hole, random.Random(f"{mark} {hole.form}"), through=way == "outline-through")


def _print(ink: Ink, pens: Pens, issue: Issue, paper: Paper) -> None:
    b = issue.building
    for room, one in zip(b.rooms, issue.printed, strict=True):
        free = shapely.difference(room, shapely.union_all([c.buffer(0.3) for c in b.columns]))
        spot = shapely.maximum_inscribed_circle(max(shapely.get_parts(free), key=lambda p: p.area)).coords[0]
        if paper.keeps_left_of is not None and spot[0] > paper.keeps_left_of:
            continue
        x, y = ink.place(spot)
        for k, text in enumerate((one.name, one.number, f"CLG {ceiling_words(one.ceiling, paper)}", one.finish)):
            ink.text((x, y - 12 + 8 * k), text, 6 if k else 7, "A-AREA-IDEN", raw=True)
    for i, hole in enumerate(b.holes):
        m, _, n = hole.frame()
        if paper.keeps_left_of is not None and m[0] > paper.keeps_left_of:
            continue
        x, y = ink.place(tuple(m + n * hole.side * (hole.wall.thickness / 2 + 9 * paper.m_per_pt)))
        if hole.form != "filled":
            ink.text((x, y), issue.marks[i], 4, "A-DOOR-IDEN", raw=True)


def ceiling_words(height: float, paper: Paper) -> str:
    """A ceiling's height as the office writes it."""
    return f"{height * 1000:.0f}" if paper.office % 2 else f"{round(height / FOOT)}'-0\""


def _sheet(ink: Ink, issue: Issue, paper: Paper) -> None:
    """Border, title block and the schedule of openings."""
    w, h = ink.size
    ink.raw(f"q 1 w 14 14 {w - 28:.1f} {h - 28:.1f} re S Q", "G-ANNO-TTLB")
    left = w - 170
    ink.raw(f"q 1 w {left:.1f} 14 m {left:.1f} {h - 14:.1f} l S Q", "G-ANNO-TTLB")
    lines = [("SCALE: " + paper.note, 8), (f"DATE: 2026-0{paper.revision if paper.revision.isdigit() else 9}-01", 8),
             (f"REV: {paper.revision}", 8), (paper.title, 10), (paper.number, 18)]  # fmt: skip
    for k, (text, size) in enumerate(lines):
        if text:
            ink.text((left + 78, h - 110 + 20 * k), text, size, "G-ANNO-TTLB", raw=True)
    if not paper.has_schedule:
        return
    holes = issue.building.holes
    rows = [(issue.marks[i], holes[i].width, issue.marks[i]) for i in range(len(holes)) if holes[i].form != "filled"]
    table = [("MARK", "WIDTH", "HEIGHT")]
    for mark, width, key in sorted(rows, key=lambda r: (r[0][0], int(r[0][1:]))):
        height = issue.scheduled.get(key, issue.heights[key])
        table.append((mark, f"{width * 1000:.0f}", f"{height * 1000:.0f}"))
    edges, top, step = [w - 380, w - 320, w - 260, w - 200], 60.0, 11.0
    ink.text((w - 290, top - 10), "DOOR AND WINDOW SCHEDULE", 8, "G-ANNO-SCHD", raw=True)
    for k, row in enumerate(table):
        y = top + step * k
        ink.raw(f"q .4 w {edges[0]:.1f} {y:.1f} m {edges[-1]:.1f} {y:.1f} l S Q", "G-ANNO-SCHD")
        for (a, b), text in zip(pairwise(edges), row, strict=True):
            ink.text(((a + b) / 2, y + 6), text, 6, "G-ANNO-SCHD", raw=True)
    bottom = top + step * len(table)
    ink.raw(f"q .4 w {edges[0]:.1f} {bottom:.1f} m {edges[-1]:.1f} {bottom:.1f} l S Q", "G-ANNO-SCHD")
    for x in edges:
        ink.raw(f"q .4 w {x:.1f} {top:.1f} m {x:.1f} {bottom:.1f} l S Q", "G-ANNO-SCHD")


def _printed(made: Made, at: float) -> Made:
    """The sheet printed at another size."""
    with pymupdf.open(stream=made.data) as source, pymupdf.open() as target:
        rotation = source[0].rotation
        source[0].set_rotation(0)
        rect = source[0].rect
        page = target.new_page(width=rect.width * at, height=rect.height * at)
        page.show_pdf_page(page.rect, source, 0)
        page.set_rotation(rotation)
        data = bytes(target.tobytes(deflate=True))
    a, b, c, d, e, f = (v * at for v in made.matrix)
    return replace(made, data=data, matrix=(a, b, c, d, e, f), m_per_pt=made.m_per_pt / at)


def _scanned(made: Made, degrees: float, dpi: float) -> Made:
    """The sheet as a scanner sees it, askew; the picture in a PDF page of its size."""
    sheet = read_sheets(made.data, made.name)[0][0]
    page = cv2.cvtColor(render_array(made.data, sheet, dpi=dpi)[..., :3], cv2.COLOR_RGB2GRAY)
    turn, k = math.radians(degrees), dpi / 72.0
    matrix = np.array([[math.cos(turn), -math.sin(turn), 0.0], [math.sin(turn), math.cos(turn), 0.0]])
    height, width = page.shape
    corners = np.array([(0, 0), (width, 0), (0, height), (width, height)]) @ matrix[:, :2].T
    matrix[:, 2] = -corners.min(0)
    size = tuple(int(v) for v in np.ceil(corners.max(0) - corners.min(0)))
    middles = matrix.copy()
    middles[:, 2] += matrix[:, :2] @ (0.5, 0.5) - 0.5
    pixels = _worn(cv2.warpAffine(page, middles, size, flags=cv2.INTER_LINEAR, borderValue=255), "good",
                   np.random.default_rng(7))  # fmt: skip
    (a, b, c), (d, e, f) = made.matrix[:3], made.matrix[3:]
    ends = np.array([sheet_to_displayed(sheet, x, y) for x, y in ((0, 0), (1, 0), (0, 1))])
    shown = np.array([*np.column_stack([ends[1] - ends[0], ends[2] - ends[0], ends[0]]), (0, 0, 1)])
    whole = matrix @ np.diag([k, k, 1.0]) @ shown @ np.array([[a, b, c], [d, e, f], [0, 0, 1]]) / k
    data = cv2.imencode(".png", pixels)[1].tobytes()
    with pymupdf.open() as target:
        sheet_page = target.new_page(width=size[0] / k, height=size[1] / k)
        sheet_page.insert_image(sheet_page.rect, stream=data)
        out = bytes(target.tobytes())
    return replace(made, data=out, matrix=tuple(float(v) for v in whole.ravel()))  # type: ignore[arg-type]
