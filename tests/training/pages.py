"""Pages to train the network on: made-up buildings drawn in many hands, with what every spot of the picture is.

The drawing here is wider than that of `tests.trace.plans`, which judges the result: other pens, fills, hatches, symbols
and clutter, chosen anew for each page, and buildings that were altered (`tests.training.alterations`).
`make_page(seed)` gives the same page for the same seed.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import pymupdf
import shapely
from numpy.typing import NDArray
from shapely import LineString, Polygon
from shapely.affinity import rotate, translate

from tests.trace import fittings
from tests.trace.ink import Ink, Pen, Pens
from tests.trace.plans import Building, Hole, _building
from tests.training import cut_plans
from tests.training.alterations import altered
from tests.training.cut_plans import Cut
from tests.training.furnishings import doubled_strings, eaves, furnishings, headings
from tests.training.grounds import beside, clipped, even_lines, over_walls, under_walls
from tests.training.layouts import laid_out
from tests.training.marks import marks, steps
from tests.training.outfits import outfits, sheet_frame, site_lines
from tests.training.pictures import altered_picture

M_PER_PX = 0.0125
"""Metres per pixel of what the network sees and says."""
CUT = 0.35
"""Share of the pages that look like a building model that was cut."""
HALLS = 0.25
"""Share of the pages with rooms up to 220 m², whose walls run on far beyond what the network sees at once."""
COARSEST = 0.034
"""Metres per pixel of the coarsest scan."""
CLASSES = ("wall", "swing", "passage", "window", "pass-through")
"""What a spot may be besides nothing: wall; a door with leaves that swing; any other door or way; a window; a way
over a low wall."""


_WORDS = (
    "SEE NOTE 4",
    "EXISTING",
    "NEW FINISH TO MATCH",
    "TYP.",
    "FD",
    "A.F.F.",
    "UP",
    "DN",
    "CLG 2.70",
    "EQ",
    "VERIFY",
)


@dataclass(frozen=True, kw_only=True)
class Page:
    """A page: grey pixels at ``dpi``, metres per pixel there, and the cover of each class at `M_PER_PX`, all 0..255."""

    pixels: NDArray[np.uint8]
    m_per_px: float
    cover: NDArray[np.uint8]


@dataclass(frozen=True, kw_only=True)
class Hand:
    """How one page is drawn: pens, the way of its walls, how much else there is; openings as bare boxes, or as cut."""

    pens: Pens
    wall: Pen
    style: str
    fill: float
    overrun: float
    clutter: float
    is_boxed: bool = False
    cut: Cut | None = None


STYLES = (
    *("fill", "fill-bare", "outline", "outline", "outline-open", "hatch", "cross-hatch", "stipple", "insulation"),
    *("cavity", "finish", "mixed", "mixed-hatch", "two-fills", "one-pen", "part-hatch", "joints", "two-pens"),
    *("layers", "layers", "uneven", "outline"),
)

HOLLOW = ("outline", "outline-open", "one-pen", "joints", "finish", "uneven")
"""The ways that leave the inside of walls empty."""


def make_page(seed: int) -> Page:
    """Draw a page; every choice follows from the seed."""
    rng = random.Random(f"page {seed}")
    is_single = rng.random() < 0.07
    size = rng.uniform(1.3, 2.2) if not is_single and rng.random() < HALLS else 1.0
    b = _building(rng, single=is_single, size=size)
    if not is_single:
        b = altered(laid_out(b, rng), rng)
    is_bare = rng.random() < 0.06
    is_boxed = not is_bare and rng.random() < 0.07
    is_cut = not (is_single or is_bare or is_boxed) and rng.random() < CUT
    if is_bare:
        b = without_symbols(b, rng)
    elif is_boxed:  # a box tells an opening, and nothing of a door
        b = replace(b, holes=[replace(h, form="cased") if h.kind == "door" else h for h in b.holes])
    scaled = rng.choice([1.0, 1.0, rng.uniform(0.75, 1.4)])  # thicknesses and openings of other sizes
    ratio = rng.choice([24, 32, 48, 48, 50, 64, 75, 96, 96, 100, 128]) * rng.uniform(0.97, 1.03)
    drawn = ratio * 0.0254 / 72  # metres of the building as it was made up, per point
    m_per_pt = drawn * scaled
    angle = rng.choice([0, 0, 90, 180, rng.uniform(-45, 45)])
    turned = rotate(b.area, angle, origin=(0, 0))
    x0, y0, x1, y1 = turned.bounds
    margin = rng.uniform(40, 110) if size > 1.0 or rng.random() < 0.8 else rng.uniform(110, 300)
    sheet = ((x1 - x0) / drawn + 2 * margin + 150, (y1 - y0) / drawn + 2 * margin)
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))

    def place(p: tuple[float, float]) -> tuple[float, float]:
        x, y = p[0] * c - p[1] * s, p[0] * s + p[1] * c
        return ((x - x0) / drawn + margin, (y - y0) / drawn + margin)

    ink = Ink(sheet, place, layered=False)
    hand = _hand(rng, single=is_single)
    if any(w.thickness > 0.43 for w in b.walls) and rng.random() < 0.5:  # thick walls are hardest to see where hollow
        hand = replace(hand, style=rng.choice(HOLLOW))
    if is_cut:
        hand = _cut_hand(hand, rng)
        b = cut_plans.told_apart(b, hand.cut, rng)
        _draw_cut(ink, hand, b, rng, drawn)
    else:
        _draw(ink, replace(hand, is_boxed=is_boxed), b, rng, drawn, single=is_single, bare=is_bare)
    wanted = rng.choice([72, 85, 100, 110, 130, 150, 150, 200, 200, 200, 240, 300]) / size
    dpi = next(d for d in (wanted, 150, 110, 75, 50, 36) if m_per_pt * 72 / d > M_PER_PX / 3.2)
    dpi = max(dpi, m_per_pt * 72 / COARSEST)
    pixels = _rendered(ink, dpi / 72, pymupdf.csGRAY)[:, :, 0]
    pixels = altered_picture(pixels, m_per_pt * 72 / dpi, rng)
    return Page(pixels=pixels, m_per_px=m_per_pt * 72 / dpi, cover=_cover(b, sheet, place, m_per_pt / M_PER_PX))


def without_symbols(b: Building, rng: random.Random) -> Building:
    """Return the building with bare gaps for openings, some of them wide: no one can tell a window there."""
    holes = []
    for hole in b.holes:
        reach = min(hole.at, hole.wall.line.length - hole.at) - 0.3
        wide = max(hole.width, rng.uniform(0.8, 2 * reach)) if rng.random() < 0.4 and reach > 0.6 else hole.width
        if any(h is not hole and h.wall is hole.wall for h in b.holes):
            wide = hole.width
        holes.append(replace(hole, kind="door", form="cased", width=wide))
    return replace(b, holes=holes)


def _rendered(ink: Ink, zoom: float, space: pymupdf.Colorspace) -> NDArray[np.uint8]:
    with pymupdf.open("pdf", ink.data(rotate=0)) as document:
        shown = document[0].get_pixmap(matrix=pymupdf.Matrix(zoom, zoom), colorspace=space, alpha=False)
        return np.frombuffer(shown.samples, np.uint8).reshape(shown.height, shown.width, shown.n).copy()


def _cover(b: Building, size: tuple[float, float], place, zoom: float) -> NDArray[np.uint8]:
    """Return how much of each pixel each class covers: drawn in black for each, so that edges are even."""
    boxes = [(h, h.box(more=0.0)) for h in b.holes]
    cut = shapely.union_all([box for _, box in boxes]) if boxes else Polygon()
    solid = shapely.union_all([shapely.difference(b.area, cut), *b.columns])
    kinds: dict[str, list[Polygon]] = {name: [] for name in CLASSES}
    kinds["wall"] = [p for p in shapely.get_parts(solid).tolist() if isinstance(p, Polygon)]
    for hole, box in boxes:
        name = hole.kind
        if hole.kind == "door":
            name = "swing" if hole.form in ("swing", "double") else "passage"
        kinds[name].append(box)
    layers = []
    for name in CLASSES:
        page = Ink(size, place, layered=False)
        for shape in kinds[name]:
            page.shape(shape, "", fill=0.0)
        layers.append(255 - _rendered(page, zoom, pymupdf.csGRAY)[:, :, 0])
    return np.stack(layers)


def _hand(rng: random.Random, *, single: bool) -> Hand:
    style = "heavy" if single else rng.choice(STYLES)
    heavy = rng.choice([0.06, 0.12, 0.25, 0.35, 0.5, 0.5, 0.7, 0.7, 1.0, 1.4])
    light = rng.choice([0.1, 0.13, 0.18, 0.25, 0.35])
    if style == "one-pen" or rng.random() < 0.1:
        heavy = light = rng.choice([0.18, 0.25, 0.4, 0.6])
    pale = rng.choice([0.0, 0.0, 0.0, 0.3, 0.5, 0.65])
    ink = rng.choice([0.0, 0.0, 0.0, 0.2, 0.35])
    if rng.random() < 0.12:  # colours made grey: green, cyan and blue pens come out pale
        ink, pale = rng.uniform(0.3, 0.75), rng.uniform(0.1, 0.75)
    wall = Pen(heavy, ink)
    pens = Pens(
        wall=wall,
        door=Pen(rng.choice([light, light, heavy, (light + heavy) / 2]), rng.choice([0.0, 0.0, ink, 0.3])),
        glass=Pen(rng.choice([light, light, heavy]), rng.choice([0.0, ink, 0.3])),
        thin=Pen(light, rng.choice([0.0, 0.0, pale])),
        furniture=Pen(rng.choice([light, light, heavy]), pale),
        dashed=Pen(light, 0.0, rng.choice(["[3 2] 0", "[6 3] 0", "[2 2] 0"])),
        fill=rng.choice([0.0, 0.0, 0.2, 0.4, 0.55, 0.7, 0.8]),
    )
    overrun = rng.choice([0.0, 0.0, 0.0, 0.06, 0.12])
    return Hand(pens=pens, wall=wall, style=style, fill=pens.fill, overrun=overrun, clutter=rng.uniform(0.2, 1.6))


def _draw(ink: Ink, hand: Hand, b: Building, rng: random.Random, m_per_pt: float, *, single: bool, bare: bool) -> None:
    if bare:
        _walls(ink, hand, b, rng, single=single)
        return
    if rng.random() < 0.2:  # rooms shaded
        tones = [rng.uniform(0.6, 0.95) for _ in range(rng.choice([1, 1, 3]))]
        for room in rng.sample(b.rooms, k=max(1, len(b.rooms) * rng.choice([1, 1, 2]) // 2)):
            ink.shape(room, "", fill=rng.choice(tones))
    _outside(ink, hand, b, rng)
    beside(ink, hand.pens, hand.wall, b, rng)
    if rng.random() < 0.2:
        site_lines(ink, hand.pens, hand.wall, b, rng)
    if rng.random() < 0.12:
        eaves(ink, hand.pens, hand.wall, b, rng)
    if rng.random() < 0.2:
        doubled_strings(ink, hand.pens, b, rng)
    under_walls(ink, hand.pens, b, rng)
    fittings.floors(ink, hand.pens, b, rng)
    _floor_hatches(ink, hand, b, rng)
    steps(ink, hand.pens, b, rng)
    if rng.random() < 0.6:
        furnishings(ink, hand.pens, hand.wall, b, rng)
    else:
        fittings.furniture(ink, hand.pens, b, rng)
        for _ in range(int(hand.clutter * len(b.rooms) * 2)):
            _thing(ink, hand, b, rng)
    if rng.random() < 0.5:
        outfits(ink, hand.pens, hand.wall, b, rng)
    _walls(ink, hand, b, rng, single=single)
    _columns(ink, hand, b, rng)
    habit = rng.random()
    for hole in b.holes:
        if hand.is_boxed and hole.kind != "pass-through":
            _boxed(ink, hand, hole, rng)
        elif hole.kind == "pass-through":
            _pass_through(ink, hand, hole, rng)
        elif rng.random() < habit:
            fittings.opening(ink, hand.pens, hole, rng, through=False)
        else:
            _opening(ink, hand, hole, rng)
    fittings.labels(ink, hand.pens, b, rng, m_per_pt)
    fittings.dimensions(ink, hand.pens, b, rng, m_per_pt)
    fittings.grid(ink, hand.pens, b, rng)
    marks(ink, hand.pens, hand.wall, b, rng, m_per_pt)
    over_walls(ink, hand.pens, hand.wall, b, rng, m_per_pt)
    _notes(ink, hand, b, rng, m_per_pt)
    if rng.random() < 0.2:
        headings(ink, b, rng, m_per_pt)
    if rng.random() < 0.25:
        sheet_frame(ink, rng)
    elif rng.random() < 0.6:
        fittings.title_block(ink, hand.pens, rng)


def _cut_hand(hand: Hand, rng: random.Random) -> Hand:
    """Return a hand that draws what is cut in one way: walls in a pen of their own, heavier than most others."""
    style = rng.choice(cut_plans.STYLES) if hand.style not in HOLLOW else hand.style
    wall = Pen(rng.choice([0.5, 0.7, 0.7, 1.0, 1.0, 1.4]), rng.choice([0.0, 0.0, 0.0, 0.2]))
    light = rng.choice([0.13, 0.25, 0.35, 0.5])
    door, thin = Pen(light, rng.choice([0.0, 0.13, 0.3])), Pen(light, rng.choice([0.0, 0.3, 0.5]))
    fill = rng.choice([0.0, 0.27, 0.27, 0.5, 0.73, 0.73, 0.85])
    pens = replace(hand.pens, wall=wall, door=door, thin=thin, fill=fill)
    is_filled = style in ("fill", "fill-bare", "mixed")
    cut = cut_plans.cut_of(pens, wall, fill if is_filled else None, rng)
    return replace(hand, style=style, wall=wall, pens=pens, fill=fill, cut=cut)


def _draw_cut(ink: Ink, hand: Hand, b: Building, rng: random.Random, m_per_pt: float) -> None:
    """Draw a building as a model of it that was cut: walls, openings and names, and not much else."""
    cut = hand.cut
    if rng.random() < 0.4:
        cut_plans.slab_edges(ink, hand.pens.thin, b, rng)
    if rng.random() < 0.5:
        if rng.random() < 0.5:
            furnishings(ink, hand.pens, hand.wall, b, rng)
        else:
            fittings.furniture(ink, hand.pens, b, rng)
    if rng.random() < 0.35:
        for _ in range(int(hand.clutter * len(b.rooms))):
            _thing(ink, hand, b, rng)
    if rng.random() < 0.3:
        outfits(ink, hand.pens, hand.wall, b, rng)
    if rng.random() < 0.3:
        steps(ink, hand.pens, b, rng)
    if rng.random() < 0.35:
        cut_plans.cubicles(ink, cut, b, rng)
    _walls(ink, replace(hand, style="outline") if hand.style == "mitred" else hand, b, rng, single=False)
    if hand.style == "mitred" or rng.random() < 0.15:
        cut_plans.mitres(ink, rng.choice([hand.wall, hand.pens.thin]), b)
    _columns(ink, hand, b, rng)
    for hole in b.holes:
        if hole.kind == "pass-through":
            _pass_through(ink, hand, hole, rng)
        else:
            cut_plans.opening(ink, cut, hole, rng)
    if rng.random() < 0.4:
        cut_plans.stray_swings(ink, cut, b, rng)
    fittings.labels(ink, hand.pens, b, rng, m_per_pt)
    if rng.random() < 0.35:
        fittings.dimensions(ink, hand.pens, b, rng, m_per_pt)
    if rng.random() < 0.2:
        fittings.grid(ink, hand.pens, b, rng)
    if rng.random() < 0.15:
        _notes(ink, hand, b, rng, m_per_pt)


def _columns(ink: Ink, hand: Hand, b: Building, rng: random.Random) -> None:
    """Draw the columns of a building, all in one way: bare, filled, crossed, or a steel section in a box."""
    way = rng.choice(["bare", "bare", "fill", "fill", "dark", "cross", "steel", "hatch", "double"])
    pen = rng.choice([hand.wall, hand.wall, hand.pens.thin])
    is_masked = rng.random() < 0.5  # what lies beneath is seen through the others
    for column in b.columns:
        fill = {"fill": hand.fill, "dark": 0.0}.get(way, 1.0 if is_masked else None)
        ink.shape(column, "", stroke=pen, fill=fill)
        x0, y0, x1, y1 = column.bounds
        if way == "cross":
            ink.line((x0, y0), (x1, y1), "", hand.pens.thin)
            ink.line((x0, y1), (x1, y0), "", hand.pens.thin)
        elif way == "steel":
            k = 0.2 * min(x1 - x0, y1 - y0)
            for a, c in (
                ((x0 + k, y0 + k), (x1 - k, y0 + k)),
                ((x0 + k, y1 - k), (x1 - k, y1 - k)),
                (((x0 + x1) / 2, y0 + k), ((x0 + x1) / 2, y1 - k)),
            ):
                ink.line(a, c, "", Pen(max(0.5, hand.wall.width)))
        elif way == "hatch":
            clipped(ink, even_lines(column, rng.uniform(0.03, 0.08), 45), column, hand.pens.thin)
        elif way == "double":
            for inner in _parts(column.buffer(-0.03)):
                ink.shape(inner, "", stroke=hand.pens.thin)


def _placed(hole: Hole) -> Callable[[float, float], tuple[float, float]]:
    """Return what places a spot of an opening: metres along it from its middle, metres aside of its wall's axis."""
    m, u, n = hole.frame()
    return lambda along, aside: tuple((m + u * along + n * aside).tolist())


def _pass_through(ink: Ink, hand: Hand, hole: Hole, rng: random.Random) -> None:
    """Draw a way over a low wall: its faces go on in a lighter pen, nothing between; a shelf or more beside it."""
    at, w, t = _placed(hole), hole.width / 2, hole.wall.thickness / 2
    pen = rng.choice([hand.pens.thin, hand.pens.thin, hand.pens.glass, Pen(0.5 * hand.wall.width, hand.wall.grey)])
    for k in (-1, 1):
        ink.line(at(-w, k * t), at(w, k * t), "", pen)
    style = rng.choice(["bare", "bare", "shelf", "shelves", "counter", "shutter"])
    over = rng.uniform(0.05, 0.35)
    for k in {"shelf": [hole.side], "shelves": [-1, 1]}.get(style, []):
        more = rng.choice([0.0, 0.0, 0.05])
        ink.line(at(-w - more, k * (t + over)), at(w + more, k * (t + over)), "", rng.choice([hand.pens.dashed, pen]))
        if rng.random() < 0.4:
            for end in (-w - more, w + more):
                ink.line(at(end, k * t), at(end, k * (t + over)), "", pen)
    if style == "counter":
        reach = hole.side * (t + rng.uniform(0.3, 0.65))
        counter = [at(-w, hole.side * t), at(-w, reach), at(w, reach), at(w, hole.side * t)]
        ink.polyline(counter, "", hand.pens.furniture)
    elif style == "shutter":
        for k in (0.7, 1.0):
            ink.line(at(-w, hole.side * (t + k * over)), at(w, hole.side * (t + k * over)), "", hand.pens.dashed)
    if rng.random() < 0.5:
        for end in (-w, w):
            ink.line(at(end, -t), at(end, t), "", rng.choice([pen, hand.wall]))


def _boxed(ink: Ink, hand: Hand, hole: Hole, rng: random.Random) -> None:
    """Draw an opening as a box in the walls' pen, as plans of masonry do; a window has its line or none."""
    at, w = _placed(hole), hole.width / 2
    ink.shape(hole.box(more=0.0), "", stroke=hand.wall)
    if hole.kind == "window":
        k = rng.choice([0.0, 0.0, 0.2, -0.2]) * hole.wall.thickness
        for off in rng.choice([(), (k,), (k,), (k - 0.02, k + 0.02)]):
            ink.line(at(-w, off), at(w, off), "", rng.choice([hand.wall, hand.pens.glass]))


def _parts(shape: object, kind: type = Polygon) -> list:
    return [p for p in shapely.get_parts(shape).tolist() if isinstance(p, kind) and (p.area > 1e-6 or p.length > 0.01)]


def _walls(ink: Ink, hand: Hand, b: Building, rng: random.Random, *, single: bool) -> None:
    holes = shapely.union_all([h.box() for h in b.holes])
    if single:
        for wall in b.walls:
            for part in _parts(shapely.difference(wall.line, holes), LineString):
                ink.thick_line(list(part.coords), wall.thickness, wall.line, b.walls)
        return
    runs_through = rng.random() < 0.08
    cut = shapely.union_all([h.box() for h in b.holes if not (runs_through and h.kind == "window")] or [Polygon()])
    parts = _parts(shapely.difference(b.area, cut))
    style = hand.style
    if style in ("mixed", "mixed-hatch", "two-fills", "part-hatch", "two-pens"):
        if style == "part-hatch":
            chosen = shapely.union_all(
                [w.line.buffer(w.thickness / 2, cap_style="flat") for w in b.walls if rng.random() < 0.5] or [Polygon()]
            )
        else:
            chosen = shapely.union_all(
                [w.line.buffer(w.thickness / 2, cap_style="square") for w in b.walls if w.is_outer]
            )
        first, second = {
            "mixed": ("fill", "outline"),
            "mixed-hatch": ("hatch", "outline"),
            "two-fills": ("fill", "fill-pale"),
            "part-hatch": ("hatch", "outline"),
            "two-pens": ("outline", "outline-thin"),
        }[style]
        if rng.random() < 0.3:
            first, second = second, first
        for part in parts:
            for piece in _parts(shapely.intersection(part, chosen)):
                _wall(ink, hand, piece, b, first, rng)
            for piece in _parts(shapely.difference(part, chosen)):
                _wall(ink, hand, piece, b, second, rng)
        return
    for part in parts:
        _wall(ink, hand, part, b, style, rng)


def _wall(ink: Ink, hand: Hand, part: Polygon, b: Building, style: str, rng: random.Random) -> None:
    """Draw one piece of wall in a style."""
    if style == "fill-bare":
        ink.shape(part, "", fill=hand.fill)
        return
    if style in ("fill", "fill-pale"):
        ink.shape(part, "", stroke=hand.wall, fill=hand.fill if style == "fill" else min(0.85, hand.fill + 0.3))
        return
    ends = shapely.union_all([h.box(more=0.01).boundary.buffer(0.004) for h in b.holes if not h.at_corner])
    if style == "joints":  # each wall has its own outline, lines between them and all
        left = part
        for wall in rng.sample(b.walls, k=len(b.walls)):
            strip = wall.line.buffer(wall.thickness / 2, cap_style="flat")
            for piece in _parts(shapely.intersection(left, strip)):
                ink.shape(piece, "", stroke=hand.wall)
            left = shapely.difference(left, strip)
        for piece in _parts(left):
            ink.shape(piece, "", stroke=hand.wall)
        return
    for ring in [part.exterior, *part.interiors]:
        for a, c in zip(ring.coords, ring.coords[1:], strict=False):
            if style == "outline-open" and ends.contains(LineString([a, c])) and math.dist(a, c) < 0.7:
                continue
            if hand.overrun and rng.random() < 0.5:
                d = math.dist(a, c)
                k = hand.overrun * rng.random() / max(d, 0.2)
                a, c = (
                    (a[0] - k * (c[0] - a[0]), a[1] - k * (c[1] - a[1])),
                    (c[0] + k * (c[0] - a[0]), c[1] + k * (c[1] - a[1])),
                )
            is_thin = style == "outline-thin" or (style == "uneven" and ring is not part.exterior)
            ink.line(a, c, "", hand.pens.thin if is_thin else hand.wall)
    if style in ("hatch", "cross-hatch"):
        step, tilt = rng.uniform(0.03, 0.14), rng.uniform(0, 180)
        clipped(ink, even_lines(part, step, tilt), part, hand.pens.thin)
        if style == "cross-hatch":
            clipped(ink, even_lines(part, step, tilt + 90), part, hand.pens.thin)
    elif style == "stipple":
        _stippled(ink, part, rng.uniform(120, 500), rng, hand.pens.thin)
    elif style == "finish":
        for inner in _parts(part.buffer(-rng.uniform(0.012, 0.03), join_style="mitre")):
            ink.shape(inner, "", stroke=hand.pens.thin)
    elif style == "layers":
        _layers(ink, hand, part, b, rng)
    elif style == "cavity":
        for inner in _parts(part.buffer(-rng.uniform(0.03, 0.05), join_style="mitre")):
            ink.shape(inner, "", stroke=rng.choice([hand.pens.thin, hand.wall]))
        if rng.random() < 0.4:
            for inner in _parts(part.buffer(-rng.uniform(0.03, 0.05), join_style="mitre")):
                clipped(ink, even_lines(inner, rng.uniform(0.05, 0.12), rng.choice([45, 135])), inner, hand.pens.thin)
    elif style == "insulation":
        for wall in b.walls:
            a, c = (np.array(p) for p in wall.line.coords)
            u = (c - a) / np.hypot(*(c - a))
            n = np.array([-u[1], u[0]]) * wall.thickness * 0.3
            count = int(wall.line.length / (wall.thickness * 0.5))
            points = [a + u * (wall.line.length * i / max(count, 1)) + n * (1 if i % 2 else -1) for i in range(count)]
            if count > 1:
                for line in _parts(shapely.intersection(LineString(points), part), LineString):
                    ink.polyline(list(line.coords), "", hand.pens.thin)


def _layers(ink: Ink, hand: Hand, part: Polygon, b: Building, rng: random.Random) -> None:
    """Draw layers of unequal depth along the outer side of a wall: cladding, air, studs, with tones or hatches."""
    outer = Polygon(b.area.exterior)
    deep = sorted(rng.uniform(0.03, 0.3) for _ in range(rng.choice([1, 2, 3])))
    before = outer
    for far in deep:
        inner = outer.buffer(-far, join_style="mitre")
        for band in _parts(shapely.intersection(shapely.difference(before, inner), part)):
            filling = rng.choice(["", "", "tone", "hatch"])
            tone = rng.uniform(0.4, 0.9) if filling == "tone" else None
            ink.shape(band, "", stroke=rng.choice([hand.pens.thin, hand.pens.thin, hand.wall]), fill=tone)
            if filling == "hatch":
                clipped(ink, even_lines(band, rng.uniform(0.05, 0.12), rng.choice([45, 135, 90])), band, hand.pens.thin)
        before = inner
    if rng.random() < 0.3:  # linings inside
        for room in b.rooms:
            lining = shapely.intersection(room.buffer(rng.choice([0.015, 0.03]), join_style="mitre").exterior, part)
            for line in _parts(lining, LineString):
                ink.polyline(list(line.coords), "", hand.pens.thin)


def _stippled(ink: Ink, part: Polygon, per_m2: float, rng: random.Random, pen: Pen) -> None:
    x0, y0, x1, y1 = part.bounds
    count = min(6000, int((x1 - x0) * (y1 - y0) * per_m2))
    dots = np.column_stack([[rng.uniform(x0, x1) for _ in range(count)], [rng.uniform(y0, y1) for _ in range(count)]])
    inside = shapely.contains_xy(part, dots)
    for x, y in dots[inside].tolist():
        ink.line((x, y), (x + 0.012, y), "", Pen(max(0.3, pen.width), pen.grey))


def _opening(ink: Ink, hand: Hand, hole: Hole, rng: random.Random) -> None:
    """Draw an opening in a way that the other plans do not use."""
    at, (_, u, n), pens = _placed(hole), hole.frame(), hand.pens
    w, t = hole.width / 2, hole.wall.thickness / 2

    def box(a0: float, a1: float, s0: float, s1: float) -> Polygon:
        return Polygon([at(a0, s0), at(a1, s0), at(a1, s1), at(a0, s1)])

    if hole.kind == "window":
        depth = t * rng.uniform(0.3, 0.8)
        shift = rng.choice([0.0, t - depth, depth - t])
        style = rng.choice(["box", "lines", "one", "frames", "mullions", "leaf", "dark", "sill", "front"])
        if style == "front" or (hole.width > 3 and rng.random() < 0.5):
            _front(ink, hand, at, box, hole, rng)
            return
        if style == "dark":
            ink.shape(box(-w, w, shift - 0.02, shift + 0.02), "", fill=0.0)
        elif style == "one":
            ink.line(at(-w, shift), at(w, shift), "", pens.glass)
        else:
            ink.shape(box(-w, w, shift - depth, shift + depth), "", stroke=pens.glass)
        if style in ("lines", "sill", "leaf"):
            for _ in range(rng.choice([1, 2])):
                k = shift + depth * rng.uniform(-0.8, 0.8)
                ink.line(at(-w, k), at(w, k), "", pens.glass)
        if style in ("frames", "mullions"):
            ink.line(at(-w, shift), at(w, shift), "", pens.glass)
            edges = [-w, w - 0.06] if style == "frames" else np.linspace(-w, w - 0.05, rng.choice([3, 4])).tolist()
            for k in edges:
                ink.shape(box(k, k + 0.05, shift - depth, shift + depth), "", stroke=pens.glass)
        if style == "sill":
            k = rng.choice([-1, 1]) * (t + rng.uniform(0.03, 0.12))
            ink.line(at(-w - 0.06, k), at(w + 0.06, k), "", pens.thin)
        if style == "leaf":
            k, side = rng.choice([-1, 1]), rng.choice([-1, 1])
            tip = at(k * (w - 0.5 * w), side * (t + 0.8 * w))
            ink.line(at(k * w, side * t), tip, "", pens.thin)
        if rng.random() < 0.6:
            for k in rng.choice([(-1, 1), (-1, 1), (-1,), (1,)]):
                ink.line(at(-w, k * t), at(w, k * t), "", rng.choice([pens.glass, hand.wall]))
        return
    if hole.form == "sliding":
        style = rng.choice(["leaves", "pocket", "bi-fold", "barn", "roll-up"])
        thick = rng.uniform(0.015, 0.03)
        if style == "leaves":
            k = rng.uniform(0.02, 0.06)
            fill = rng.choice([None, 0.0, 0.5])
            ink.shape(box(-w, 0.08 * w, k - thick, k + thick), "", stroke=pens.door, fill=fill)
            ink.shape(box(-0.08 * w, w, -k - thick, -k + thick), "", stroke=pens.door, fill=fill)
        elif style == "pocket":
            ink.shape(box(-w * rng.uniform(0.6, 1.0), w, -thick, thick), "", stroke=pens.door)
        elif style == "bi-fold":
            for k in (-1, 1):
                hinge, knee, end = at(k * w, hole.side * t), at(k * w * 0.75, hole.side * (t + 0.45 * w)), None
                end = at(k * w * 0.5, hole.side * t)
                ink.polyline([hinge, knee, end], "", pens.door)
        elif style == "barn":
            k = hole.side * (t + 0.05)
            ink.shape(box(-w * 1.1, w * 0.4, k - thick, k + thick), "", stroke=pens.door)
        else:
            for k in rng.choice([[0.0], [-0.5 * t, 0.5 * t], [hole.side * 1.3 * t]]):
                ink.line(at(-w, k), at(w, k), "", pens.dashed)
            if rng.random() < 0.6:  # its curtain in a line on one face, its hood in dashes beside that
                ink.line(at(-w, hole.side * t), at(w, hole.side * t), "", rng.choice([pens.door, pens.thin]))
                reach = hole.side * (t + rng.uniform(0.15, 1.2))
                hood = [at(-w, hole.side * t), at(-w, reach), at(w, reach), at(w, hole.side * t)]
                ink.polyline(hood, "", pens.dashed)
        return
    if hole.form == "cased":
        lined = rng.choice([[], [-1, 1], [0], [1]])
        for k in lined:  # both faces in whole lines are a low wall's
            pen = pens.dashed if len(lined) > 1 else rng.choice([pens.dashed, pens.dashed, pens.thin])
            ink.line(at(-w, k * t), at(w, k * t), "", pen)
        return
    frame = rng.choice([0.0, 0.03, 0.05])
    if frame:
        for end in (-w, w - frame):
            ink.shape(box(end, end + frame, -t - 0.01, t + 0.01), "", stroke=pens.door, fill=rng.choice([None, 0.0]))
    leaves = [hole.hand] if hole.form == "swing" else [-1, 1]
    radius = (2 * w - 2 * frame) / len(leaves)
    swing = math.radians(rng.choice([90, 90, 90, 75, 60, 45, 30, 120]))
    both = rng.random() < 0.05
    hang = rng.choice([1.0, 1.0, 0.0, 0.6])
    arc_pen = rng.choice([pens.door, pens.thin, pens.dashed, None]) if rng.random() < 0.8 else pens.door
    thick, dark, has_chord = rng.choice([0.0, 0.03, 0.045]), rng.random() < 0.3, rng.random() < 0.12
    if rng.random() < 0.25:
        for k in rng.choice([[-1, 1], [1], [-1]]):
            ink.line(at(-w, k * t), at(w, k * t), "", rng.choice([pens.thin, pens.dashed]))
    for hand_ in leaves:
        for side in (hole.side, -hole.side) if both else (hole.side,):
            hinge = at(hand_ * (w - frame), side * t * hang)
            shut, out = -hand_ * u, side * n
            tip = shut * math.cos(swing) + out * math.sin(swing)
            end = (hinge[0] + radius * tip[0], hinge[1] + radius * tip[1])
            if thick:
                back = np.array([-tip[1], tip[0]]) * thick
                corners = [hinge, end, (end[0] - back[0], end[1] - back[1]), (hinge[0] - back[0], hinge[1] - back[1])]
                ink.shape(Polygon(corners), "", stroke=pens.door, fill=0.0 if dark else None)
            else:
                ink.line(hinge, end, "", pens.door)
            if arc_pen is None:
                continue
            if has_chord:
                shut_end = (hinge[0] + radius * shut[0], hinge[1] + radius * shut[1])
                ink.line(end, shut_end, "", arc_pen)
                continue
            start, stop = math.atan2(shut[1], shut[0]), math.atan2(tip[1], tip[0])
            sweep = (stop - start + math.pi) % (2 * math.pi) - math.pi
            if arc_pen.dash:
                angles = np.linspace(start, start + sweep, 16)
                ink.polyline(
                    [(hinge[0] + radius * math.cos(a), hinge[1] + radius * math.sin(a)) for a in angles], "", arc_pen
                )
            else:
                ink.arc(hinge, radius, start, sweep, "", arc_pen)


def _front(ink: Ink, hand: Hand, at, box, hole: Hole, rng: random.Random) -> None:
    """Draw a front of glass: slim lines near one face, posts at an even pitch, a sill or a step along the other."""
    w, t = hole.width / 2, hole.wall.thickness / 2
    slim = min(t, rng.uniform(0.01, 0.06))
    shift = rng.choice([0.0, t - slim, slim - t, t + slim])
    pen = hand.pens.glass
    for off in rng.choice([(-slim, slim), (-slim, slim), (-slim, 0.0, slim), (0.0,)]):
        ink.line(at(-w, shift + off), at(w, shift + off), "", pen)
    pitch = rng.choice([0.6, 0.9, 1.2, 1.5, 2.4, 99.0])
    post, deep = rng.uniform(0.04, 0.09), max(slim, rng.uniform(0.3, 1.0) * t)
    fill = rng.choice([None, None, 0.0, 0.6])
    for s in np.arange(-w, w - 0.02, max(pitch, 2 * w / 40)).tolist():
        ink.shape(box(s, min(w, s + post), shift - deep, shift + deep), "", stroke=pen, fill=fill)
    for k in rng.choice([(), (), (-1,), (1,), (-1, 1)]):
        ink.line(at(-w, k * t), at(w, k * t), "", rng.choice([hand.pens.thin, pen, hand.wall]))


def _thing(ink: Ink, hand: Hand, b: Building, rng: random.Random) -> None:
    """Put one thing into a room: what may look like a wall, and what does not."""
    room = rng.choice(b.rooms)
    x0, y0, x1, y1 = room.bounds
    kept = shapely.union_all([h.box(more=0.5) for h in b.holes])
    place = (rng.uniform(x0, x1), rng.uniform(y0, y1))
    pen = rng.choice([hand.pens.furniture, hand.pens.furniture, hand.pens.thin, hand.wall])
    kind = rng.choice(
        ["shelf", "desk", "circle", "stairs", "toilet", "sink", "machine", "dark", "bench", "pipe", "seat"]
    )
    tilt = rng.choice([0, 0, 90, 90, rng.uniform(0, 180)])

    def put(shape: Polygon, fill: float | None = None, of: Pen | None = pen) -> Polygon | None:
        moved = translate(rotate(shape, tilt, origin=(0, 0)), *place)
        if not room.buffer(-0.05).contains(moved) or moved.intersects(kept):
            return None
        ink.shape(moved, "", stroke=of, fill=fill)
        return moved

    if kind in ("shelf", "bench"):
        put(shapely.box(0, 0, rng.uniform(0.8, 3.0), rng.uniform(0.25, 0.6)))
        if kind == "shelf" and rng.random() < 0.5:
            put(shapely.box(0.03, 0.03, rng.uniform(0.6, 1.2), 0.2))
    elif kind == "desk":
        put(shapely.box(0, 0, rng.uniform(1.0, 2.0), rng.uniform(0.6, 0.9)))
        put(translate(shapely.Point(0, 0).buffer(0.25), 0.6, -0.35))
    elif kind == "circle":
        put(shapely.Point(0, 0).buffer(rng.uniform(0.15, 0.9)), rng.choice([None, None, 0.85]))
    elif kind == "stairs":
        wide, step = rng.uniform(0.9, 1.4), rng.uniform(0.24, 0.3)
        count = rng.randint(6, 14)
        if put(shapely.box(0, 0, count * step, wide)) is not None:
            for i in range(1, count):
                put(shapely.box(i * step, 0.001, i * step + 0.001, wide - 0.001))
    elif kind == "toilet":
        put(shapely.box(0, 0, 0.18, 0.45))
        put(shapely.affinity.scale(translate(shapely.Point(0, 0).buffer(0.19), 0.4, 0.22), 1.3, 1.0))
    elif kind == "sink":
        put(shapely.box(0, 0, 0.6, 0.5))
        put(translate(shapely.Point(0, 0).buffer(0.18), 0.3, 0.25))
    elif kind == "machine":
        put(shapely.box(0, 0, rng.uniform(0.6, 2.2), rng.uniform(0.6, 1.4)), rng.choice([None, 0.6, 0.85]))
    elif kind == "dark":
        put(shapely.box(0, 0, rng.uniform(0.1, 0.9), rng.uniform(0.02, 0.5)), rng.choice([0.0, 0.3, 0.6]))
    elif kind == "pipe":
        gap = rng.uniform(0.05, 0.25)
        put(shapely.box(0, 0, rng.uniform(0.8, 4.0), 0.001))
        put(shapely.box(0, gap, rng.uniform(0.8, 4.0), gap + 0.001))
    else:
        put(shapely.box(0, 0, 0.5, 0.5).buffer(-0.05).buffer(0.05))


def _floor_hatches(ink: Ink, hand: Hand, b: Building, rng: random.Random) -> None:
    for room in b.rooms:
        if rng.random() < 0.07:
            area = room if rng.random() < 0.5 else shapely.box(*room.bounds).buffer(-rng.uniform(0.3, 0.8))
            area = shapely.intersection(room, area)
            for part in _parts(area):
                if rng.random() < 0.7:
                    clipped(ink, even_lines(part, rng.uniform(0.1, 0.5), rng.uniform(0, 180)), part, hand.pens.thin)
                else:
                    _stippled(ink, part, rng.uniform(5, 60), rng, hand.pens.thin)


def _outside(ink: Ink, hand: Hand, b: Building, rng: random.Random) -> None:
    """Draw what lies round a building: paving, a terrace, bushes, lines of the plot."""
    x0, y0, x1, y1 = b.area.bounds
    if rng.random() < 0.2:
        ring = shapely.difference(shapely.box(x0 - 1.5, y0 - 1.5, x1 + 1.5, y1 + 1.5), b.area)
        for part in _parts(ring)[:1]:
            if rng.random() < 0.5:
                _stippled(ink, part, rng.uniform(4, 30), rng, hand.pens.thin)
            else:
                clipped(ink, even_lines(part, rng.uniform(0.2, 0.8), rng.uniform(0, 180)), part, hand.pens.thin)
    for _ in range(rng.choice([0, 0, 1, 3])):
        at = (rng.uniform(x0 - 2, x1 + 2), rng.choice([y0 - 1.2, y1 + 1.2]))
        for k in (1.0, 0.6):
            ink.arc(at, k * rng.uniform(0.4, 1.0), 0, 2 * math.pi, "", hand.pens.thin)
    if rng.random() < 0.3:
        far = rng.uniform(0.4, 1.8)
        ink.shape(
            shapely.box(x0 - far, y0 - far, x1 + far, y1 + far), "", stroke=rng.choice([hand.pens.dashed, hand.wall])
        )
    if rng.random() < 0.2:  # a terrace with a double edge
        wide = rng.uniform(0.05, 0.2)
        ink.shape(shapely.box(x0 + 1, y1, x0 + 4, y1 + 1.4), "", stroke=hand.pens.thin)
        ink.shape(shapely.box(x0 + 1 + wide, y1, x0 + 4 - wide, y1 + 1.4 - wide), "", stroke=hand.pens.thin)


def _notes(ink: Ink, hand: Hand, b: Building, rng: random.Random, m_per_pt: float) -> None:
    """Write and draw what is neither building nor furniture: words, leaders, section lines, tags, clouds."""
    x0, y0, x1, y1 = b.area.bounds

    def spot() -> tuple[float, float]:
        return (rng.uniform(x0 - 0.5, x1 + 0.5), rng.uniform(y0 - 0.5, y1 + 0.5))

    for _ in range(int(rng.choice([0, 3, 8, 16]) * hand.clutter)):
        ink.text(spot(), rng.choice(_WORDS), rng.choice([4, 5, 6, 7, 9, 14]), "", mask=rng.random() < 0.2)
    for _ in range(int(rng.choice([0, 2, 5]) * hand.clutter)):
        a, c = spot(), spot()
        c = (a[0] + (c[0] - a[0]) * 0.2, a[1] + (c[1] - a[1]) * 0.2)
        ink.line(a, c, "", hand.pens.thin)
        ink.text(c, rng.choice(_WORDS), 5, "")
    for _ in range(rng.choice([0, 0, 1, 2])):  # section lines and grid lines, right through walls
        dash = rng.choice(["[20 3 3 3] 0", "[10 4] 0", "[] 0"])
        pen = Pen(rng.choice([0.2, 0.5, 1.0]), 0.0, dash)
        if rng.random() < 0.5:
            x = rng.uniform(x0, x1)
            ink.line((x, y0 - 1), (x, y1 + 1), "", pen)
        else:
            y = rng.uniform(y0, y1)
            ink.line((x0 - 1, y), (x1 + 1, y), "", pen)
    for _ in range(rng.choice([0, 2, 6])):
        a = spot()
        ink.arc(a, 6 * m_per_pt, 0, 2 * math.pi, "", hand.pens.thin)
        ink.text(a, str(rng.randint(1, 30)), 6, "")
    if rng.random() < 0.1:
        a = spot()
        for i in range(12):
            angle = i / 12 * 2 * math.pi
            centre = (a[0] + 1.2 * math.cos(angle), a[1] + 0.8 * math.sin(angle))
            ink.arc(centre, 0.32, angle - 1.4, 2.8, "", Pen(0.5))
