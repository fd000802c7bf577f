"""Pictures as SVG: marks over a plan, and developed elevations to scale.

Colours are those of Okabe and Ito, "Color Universal Design" (2008), which stay apart in the common forms of colour
vision; no meaning hangs on colour alone: systems also differ by dash, corners by shape and letter.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape
from itertools import pairwise

import shapely
from shapely.geometry.base import BaseGeometry

from takeoff.model.cut_lists import Drop
from takeoff.model.figures import Elevation, PlacedOpening
from takeoff.report.content import Mark, SheetPicture, Shown
from takeoff.report.plan_names import SIZE, PlacedRoom, place_names, unit_of
from takeoff.report.typesetting import svg_head, svg_text
from takeoff.report.wall_names import Stretch
from takeoff.units import Display

PALETTE = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#E69F00", "#56B4E9", "#000000")
DASHES = ("", "8 3", "2 3", "10 3 2 3", "5 5", "12 4 4 4", "18 3 2 3 2 3")
LETTER = 6.5
"""Height of the writing on an elevation in points."""
ADVANCE = 0.602 * LETTER
"""Width of one letter of the fixed-pitch face in points."""
MARGIN = 15.0
"""Points left and right of an elevation, for its heights."""
ABOVE, BELOW = 20.0, 20.0
"""Points above the top and below the floor of an elevation, for corner letters, peaks and lengths."""
WIDEST = 700.0
"""Points that an elevation drawn on its own is wide at the most."""
LARGEST = 48.0
"""Points per metre that an elevation drawn on its own is not enlarged beyond."""


def style_of(system: str, systems: Sequence[str]) -> tuple[str, str]:
    """Colour and dash of a system."""
    i = list(systems).index(system)
    turn, place = divmod(i, len(PALETTE))
    return PALETTE[place], DASHES[(place + turn) % len(DASHES)]


def marked_plan_svg(shown: Shown, picture: SheetPicture, rooms: Sequence[PlacedRoom]) -> str:
    """Draw the marks of a sheet on nothing, in points of the page as displayed, with names of rooms and walls."""
    width, height = picture.size_pt
    unit = unit_of(picture)
    out = [svg_head(width, height, 'font-family="Libertinus Serif"')]
    for mark in picture.marks:
        out += _mark(mark, style_of(mark.system, shown.system_order), unit)
    for room in rooms:
        x0, y0, x1, y1 = room.box
        out.append(
            f'<rect x="{x0:.2f}" y="{y0:.2f}" width="{x1 - x0:.2f}" height="{y1 - y0:.2f}" fill="#FFFFFF" '
            'opacity="0.85"/>'
        )
        for n, (x, y, words) in enumerate(room.bases):
            weight = ' font-weight="bold"' if n == 0 else ""
            out.append(
                f'<text x="{x:.2f}" y="{y:.2f}" text-anchor="middle" font-size="{room.size:.2f}"{weight}>'
                f"{escape(words, quote=False)}</text>"
            )
    for name in place_names(picture, shown.tags(picture), rooms):
        look = f'text-anchor="middle" font-size="{SIZE * unit:.2f}"'
        out.append(svg_text(name.text, name.x, name.y, look, edge=2.4 * unit))
    return "".join((*out, "</svg>"))


def scaled(dash: str, unit: float) -> str:
    """Write the steps of a dash in points, ``unit`` points each."""
    return " ".join(f"{float(step) * unit:.2f}" for step in dash.split())


def ticks(mark: Mark, unit: float) -> str:
    """Path of the ticks that show a face's coated side, one on each piece that is long enough for it."""
    pieces = zip(mark.line_pt, mark.line_pt[1:], mark.hand, strict=False)
    return "".join(
        f"M{(x0 + x1) / 2:.2f} {(y0 + y1) / 2:.2f}l{hx * 7 * unit:.2f} {hy * 7 * unit:.2f}"
        for (x0, y0), (x1, y1), (hx, hy) in pieces
        if math.dist((x0, y0), (x1, y1)) > 12 * unit
    )


def _mark(mark: Mark, style: tuple[str, str], unit: float) -> list[str]:
    colour, dash = style
    path = " ".join(f"{x:.2f},{y:.2f}" for x, y in mark.line_pt)
    dashed = f' stroke-dasharray="{scaled(dash, unit)}"' if dash else ""
    out = [f'<polyline points="{path}" fill="none" stroke="{colour}" stroke-width="{2.4 * unit:.2f}"{dashed}/>']
    out.append(f'<path d="{ticks(mark, unit)}" stroke="{colour}" stroke-width="{unit:.2f}"/>')
    for (x0, y0), (x1, y1) in mark.openings_pt:
        out.append(
            f'<path d="M{x0:.2f} {y0:.2f} L{x1:.2f} {y1:.2f}" stroke="#FFFFFF" stroke-width="{4.2 * unit:.2f}"/>'
            f'<path d="M{x0:.2f} {y0:.2f} L{x1:.2f} {y1:.2f}" stroke="#000000" stroke-width="{unit:.2f}" '
            f'stroke-dasharray="{1.5 * unit:.2f} {1.5 * unit:.2f}"/>'
        )
    for x, y, inside in mark.corners:
        r = 3.6 * unit
        shape = (
            f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{r:.2f}"'
            if inside
            else f'<rect x="{x - r:.2f}" y="{y - r:.2f}" width="{2 * r:.2f}" height="{2 * r:.2f}"'
        )
        out.append(
            f'{shape} fill="#FFFFFF" stroke="#000000" stroke-width="{0.6 * unit:.2f}"/>'
            f'<text x="{x:.2f}" y="{y + 2.0 * unit:.2f}" font-size="{6.0 * unit:.2f}" text-anchor="middle">'
            f"{'I' if inside else 'O'}</text>"
        )
    return out


def elevation_svg(
    elevation: Elevation,
    display: Display,
    *,
    scale: float | None = None,
    span: tuple[float, float] | None = None,
    drops: Sequence[Drop] = (),
    walls: Sequence[Stretch] = (),
) -> str:
    """Draw a developed elevation: net area filled, openings crossed, corners lettered, lengths and heights written.

    Without a ``scale`` in points per metre it has its own, is `WIDEST` points wide at the most, and has a line of
    words below. ``span`` are stations in metres of the part to draw, all where ``None``; a cut end is dash-dotted and
    says its station. ``drops`` are outlined and numbered; numbers of ``walls`` stand before their lengths.
    """
    high = max(h for _, h in elevation.profile)
    start, end = span or (0.0, elevation.length)
    has_words = scale is None
    if scale is None:
        scale = min(WIDEST / elevation.length, 220.0 / max(high, 0.1), LARGEST)
    frame = _Frame(scale=scale, start=start, end=end, high=high, low=elevation.base)
    label = (
        f"{display.length(elevation.length)} long, top {display.length(high)}, base {display.length(elevation.base)}"
    )
    is_cut = start > 0.0 or end < elevation.length
    total = drawn_width(end - start, scale)
    if has_words:
        total = max(total, 2 * MARGIN + ADVANCE * len(label))
    height = frame.y(0.0) + BELOW + (10.0 if is_cut or has_words else 0.0)
    out = [svg_head(total, height, f'font-family="DejaVu Sans Mono" font-size="{LETTER}"')]
    net = shapely.intersection(elevation.net, shapely.box(start, -1.0, end, high + 1.0)) if is_cut else elevation.net
    out += _net(net, frame)
    out += [text for drop in drops for text in _drop(drop, elevation.length, frame)]
    out += [text for o in elevation.openings if o.x1 > start and o.x0 < end for text in _opening(o, frame, display)]
    out += _corners(elevation, frame)
    out += _heights(elevation, frame, display)
    out += _lengths(elevation, frame, display, walls)
    out += _cut_ends(elevation, frame, display)
    if has_words:
        out.append(_text(label, MARGIN, height - 3.0, anchor="start"))
    return "".join((*out, "</svg>"))


def drawn_width(length: float, scale: float) -> float:
    """Return how wide an elevation of ``length`` metres is drawn at ``scale`` points per metre, in points."""
    return length * scale + 2 * MARGIN


def _drop(drop: Drop, length: float, frame: _Frame) -> list[str]:
    """Outline and number a piece of mat; past the end of a closed face it goes on at its start."""
    out = []
    for turn in (0.0, length):
        a, b = max(drop.x0 - turn, frame.start), min(drop.x1 - turn, frame.end)
        if b - a < 1e-6:
            continue
        x, y = frame.x(a), frame.y(drop.z1)
        wide, high = (b - a) * frame.scale, (drop.z1 - drop.z0) * frame.scale
        out.append(
            f'<rect x="{x:.2f}" y="{y:.2f}" width="{wide:.2f}" height="{high:.2f}" fill="none" stroke="#0072B2" '
            'stroke-width="0.7" stroke-dasharray="3 1.5"/>'
        )
        if wide >= ADVANCE * len(str(drop.number)) and (turn == 0.0 or drop.x0 >= length):
            out.append(_text(str(drop.number), x + wide / 2, y + LETTER + 2.0 + (drop.number % 2) * (LETTER + 2.0)))
    return out


class _Frame:
    """Where stations and heights in metres lie on an elevation's drawing, in points."""

    def __init__(self, *, scale: float, start: float, end: float, high: float, low: float) -> None:
        self.scale, self.start, self.end, self.high, self.low = scale, start, end, high, low

    def x(self, station: float) -> float:
        return MARGIN + (station - self.start) * self.scale

    def y(self, level: float) -> float:
        return ABOVE + (self.high - level) * self.scale


def _text(words: str, x: float, y: float, *, anchor: str = "middle", turned: bool = False) -> str:
    turn = f' transform="rotate(-90 {x:.2f} {y:.2f})"' if turned else ""
    return svg_text(words, x, y, f'text-anchor="{anchor}"{turn}')


def _corners(elevation: Elevation, frame: _Frame) -> list[str]:
    out = []
    for station, is_inside in dict.fromkeys((round(c.station, 4), c.is_inside) for c in elevation.corners):
        if frame.start - 1e-4 <= station <= frame.end + 1e-4:
            dash = ' stroke-dasharray="4 2"' if is_inside else ""
            at, top = frame.x(station), frame.y(frame.high)
            out.append(
                f'<path d="M{at:.2f} {frame.y(frame.low):.2f} V{top - 2:.2f}" stroke="#D55E00" '
                f'stroke-width="0.9"{dash}/>'
            )
            out.append(_text("I" if is_inside else "O", at, top - 3.5))
    return out


def _cut_ends(elevation: Elevation, frame: _Frame, display: Display) -> list[str]:
    out = []
    for station, anchor in ((frame.start, "start"), (frame.end, "end")):
        if 0.0 < station < elevation.length:
            line = f"M{frame.x(station):.2f} {frame.y(0.0) + 5:.2f} V{frame.y(frame.high) - 1.5:.2f}"
            out.append(
                f'<path d="{line}" stroke="#FFFFFF" stroke-width="1.6"/>'
                f'<path d="{line}" stroke="#000000" stroke-width="0.6" stroke-dasharray="7 2 1 2"/>'
            )
            words = f"at {display.length(station)}"
            out.append(_text(words, frame.x(station), frame.y(0.0) + BELOW + 6.0, anchor=anchor))
    return out


def _net(net: BaseGeometry, frame: _Frame) -> list[str]:
    out = []
    for part in shapely.get_parts(net):
        if part.geom_type != "Polygon":
            continue
        rings = [part.exterior, *part.interiors]
        data = " ".join(
            "M" + " L".join(f"{frame.x(a):.2f} {frame.y(b):.2f}" for a, b in ring.coords) + " Z" for ring in rings
        )
        out.append(f'<path d="{data}" fill="#DCEBF5" stroke="#000000" stroke-width="0.8" fill-rule="evenodd"/>')
    return out


def _opening(o: PlacedOpening, frame: _Frame, display: Display) -> list[str]:
    ax, bx = frame.x(max(o.x0, frame.start)), frame.x(min(o.x1, frame.end))
    ay, by = frame.y(min(o.z1, frame.high)), frame.y(max(o.z0, 0.0))
    if by <= ay:
        return []
    out = [
        f'<path d="M{ax:.2f} {ay:.2f} L{bx:.2f} {by:.2f} M{ax:.2f} {by:.2f} L{bx:.2f} {ay:.2f}" '
        'stroke="#999999" stroke-width="0.4"/>'
    ]
    wide, high = display.length(o.x1 - o.x0), display.length(o.z1 - o.z0)
    sill = [f"sill {display.length(o.z0)}"] if o.z0 > 0.0 else []
    kind, mark = str(o.source.kind), o.source.mark
    full = " ".join(t for t in (kind, mark) if t)
    for lines in (
        [full, f"{wide} × {high}", *sill],
        [mark or kind, wide, f"× {high}", *sill],
        [mark or kind, f"{wide} × {high}", *sill],
        [mark or kind, wide, f"× {high}"],
        [mark or kind],
        [wide, f"× {high}"],
    ):
        along, across = ADVANCE * max(len(t) for t in lines) + 2.0, (LETTER + 1.0) * len(lines) + 1.0
        for turned in (False, True):
            room = (bx - ax, by - ay) if not turned else (by - ay, bx - ax)
            if along <= room[0] and across <= room[1]:
                return out + _label(lines, (ax + bx) / 2, (ay + by) / 2, along, across, turned=turned)
    return out


def _label(lines: list[str], x: float, y: float, along: float, across: float, *, turned: bool) -> list[str]:
    """Lines of writing about a middle on white, upright or turned to be read from the right."""
    w, h = (across, along) if turned else (along, across)
    out = [f'<rect x="{x - w / 2:.2f}" y="{y - h / 2:.2f}" width="{w:.2f}" height="{h:.2f}" fill="#FFFFFF"/>']
    for i, line in enumerate(lines):
        step = (i + 0.5) * (LETTER + 1.0) + 0.5 - across / 2 + 0.35 * LETTER
        out.append(_text(line, x + step, y, turned=True) if turned else _text(line, x, y + step))
    return out


def _height_at(elevation: Elevation, station: float, *, is_end: bool) -> float:
    """Top of the profile at an end of the drawing; at a step the side within the drawing counts."""
    for (s0, h0), (s1, h1) in pairwise(elevation.profile):
        if s0 < station <= s1 if is_end else s0 <= station < s1:
            return h0 + (station - s0) / (s1 - s0) * (h1 - h0)
    return elevation.profile[-1 if is_end else 0][1]


def _heights(elevation: Elevation, frame: _Frame, display: Display) -> list[str]:
    out = []
    first = _height_at(elevation, frame.start, is_end=False)
    last = _height_at(elevation, frame.end, is_end=True)
    ends = [(frame.x(frame.start) - 5.0, first, -1.5)]
    if abs(last - first) > 5e-4:
        ends.append((frame.x(frame.end) + 5.0, last, LETTER))
    for at, top, beside in ends:
        spans = [(frame.low, top)] if frame.low <= 0.0 else [(0.0, frame.low), (frame.low, top)]
        for low, high in spans:
            words = display.length(high - low)
            if ADVANCE * len(words) <= (high - low) * frame.scale:
                middle = (frame.y(low) + frame.y(high)) / 2
                out.append(_dimension(at, frame.y(low), at, frame.y(high)))
                out.append(_text(words, at + beside, middle, turned=True))
    for station, top in elevation.profile[1:-1]:
        if frame.start + 1e-3 < station < frame.end - 1e-3:
            near = any(abs(c.station - station) * frame.scale < 3 * ADVANCE for c in elevation.corners)
            is_met = near and frame.y(top) < ABOVE + LETTER + 3.5
            out.append(_text(display.length(top), frame.x(station), frame.y(top) - (LETTER + 5.0 if is_met else 2.5)))
    return out


def _lengths(elevation: Elevation, frame: _Frame, display: Display, walls: Sequence[Stretch]) -> list[str]:
    """Lengths from corner to corner, each with the number of its wall; the number alone where there is no room."""
    y = frame.y(0.0) + 8.0
    corners = {c.station for c in elevation.corners if frame.start < c.station < frame.end}
    stations = [frame.start, *sorted(corners), frame.end]
    out = []
    for a, b in pairwise(stations):
        out.append(_dimension(frame.x(a), y, frame.x(b), y))
        number = next((f"{wall.number}" for wall in walls if wall.is_main and wall.start <= (a + b) / 2 < wall.end), "")
        length = display.length(b - a)
        said = (f"wall {number}: {length}", f"{number}: {length}", number) if number else (length,)
        words = next((words for words in said if ADVANCE * len(words) + 2.0 <= (b - a) * frame.scale), "")
        if words:
            out.append(_text(words, (frame.x(a) + frame.x(b)) / 2, y + LETTER + 1.5))
    return out


def _dimension(x0: float, y0: float, x1: float, y1: float) -> str:
    ticks = " ".join(f"M{x - 1.5:.2f} {y + 1.5:.2f} l3 -3" for x, y in ((x0, y0), (x1, y1)))
    return f'<path d="M{x0:.2f} {y0:.2f} L{x1:.2f} {y1:.2f} {ticks}" fill="none" stroke="#444444" stroke-width="0.4"/>'
