"""Pictures of a planned job as SVG: days as bars, what drives the price, drops of mat on an elevation.

Colours are those of Okabe and Ito, "Color Universal Design" (2008); no meaning hangs on colour alone: steps are
lettered and hatched, drivers are written, drops are numbered.
"""

from __future__ import annotations

from datetime import date, datetime
from itertools import pairwise
from xml.sax.saxutils import escape, quoteattr

import shapely

from takeoff.estimate.days.works import DayPlan, PlannedWork
from takeoff.estimate.simulate import PriceRange
from takeoff.model.cutting import CutPlan, Drop, MatLayout
from takeoff.model.figures import Elevation
from takeoff.report.drawing import PALETTE
from takeoff.report.planning_tables import driver_words, moment_words
from takeoff.units import Display, format_money

LETTER = 7.0
"""Height of the writing in points."""
ADVANCE = 0.602 * LETTER
"""Width of one letter of the fixed-pitch face in points."""
ROW = 14.0
"""Height of a bar's row in points."""
GROUND, INK, QUIET = "#FFFFFF", "#000000", "#666666"
HATCHES = ("", "M0 4 L4 0", "M0 0 L4 4", "M2 0 V4", "M0 2 H4")
"""Strokes of a tile of 4 by 4 points laid over a colour that comes again."""
LIGHT = ("#E69F00", "#56B4E9", "#CC79A7")
"""Colours on which black is read; white is on the others."""


def days_svg(plan: DayPlan, *, width: float = 720.0) -> str:
    """Draw a plan of days: a row a room, a bar a step, lettered; abrading is framed.

    Only working hours are drawn, day beside day. Each bar's title says its step, time, crew and why it starts then.

    Parameters
    ----------
    plan
        The plan.
    width
        Points from side to side.
    """
    steps = list(dict.fromkeys(work.name for work in plan.works if work.kind == "work"))
    bars = [bar for work in plan.works for bar in work.bars]
    days = sorted({bar[0].date() for bar in bars})
    first = min((_hour(start) for start, _ in bars), default=0.0)
    last = max((_hour_of_end(*bar) for bar in bars), default=24.0)
    rooms = list(dict.fromkeys((*(room.room for room in plan.rooms), *(work.room for work in plan.works))))
    lanes = {room: _lanes([work for work in plan.works if work.room == room]) for room in rooms}
    side = 8.0 + ADVANCE * max((len(room) for room in rooms), default=0)
    day_width = (width - side - 4.0) / max(1, len(days))
    legend = [f"{_letters(n)} {step}" for n, step in enumerate(steps)]
    if plan.abraded:
        legend.append("x Abrade")
    columns = max(1, int(width // (ADVANCE * (max((len(text) for text in legend), default=1) + 4))))
    top = 24.0
    rows = sum(1 + max(lanes[room].values(), default=0) for room in rooms)
    high = top + rows * ROW
    height = high + 12.0 + -(-len(legend) // columns) * 12.0 + 4.0

    def x(moment: datetime, day: date) -> float:
        hour = _hour(moment) if moment.date() == day else 24.0
        share = (hour - first) / max(1e-9, last - first)
        return side + (days.index(day) + 0.02 + 0.96 * min(1.0, max(0.0, share))) * day_width

    out = [_head(width, height, f"Crew days: {plan.days} working days"), _hatches()]
    for n, day in enumerate(days):
        at = side + n * day_width
        out.append(f'<path d="M{at:.2f} 14 V{high:.2f}" stroke="{QUIET}" stroke-width="0.4"/>')
        label = f"{day:%d}.{day:%m}." if day_width < 11 * ADVANCE else day.isoformat()
        if day_width >= (len(label) + 1) * ADVANCE or n % max(1, round(7 * ADVANCE / day_width)) == 0:
            out.append(_text(label, at + 2.0, 20.0))
    row = 0
    for room in rooms:
        y = top + row * ROW
        out.append(f'<path d="M0 {y:.2f} H{width:.2f}" stroke="{QUIET}" stroke-width="0.3"/>')
        out.append(_text(room, 2.0, y + 0.72 * ROW))
        for work in plan.works:
            if work.room != room:
                continue
            lane = y + lanes[room][_key(work)] * ROW
            number = steps.index(work.name) if work.kind == "work" else -1
            for start, end in work.bars:
                a, b = x(start, start.date()), x(end, start.date())
                out.append(_bar(work, number, a, lane, b))
        row += 1 + max(lanes[room].values(), default=0)
    for n, text in enumerate(legend):
        left, line = 4.0 + (n % columns) * width / columns, high + 16.0 + (n // columns) * 12.0
        number = n if n < len(steps) else -1
        out += [*_fill(number, left, line - 7.0, 9.0, 8.0), _text(text, left + 12.0, line)]
    return "".join((*out, "</svg>"))


def tornado_svg(result: PriceRange, currency: str, *, width: float = 620.0, most: int = 10) -> str:
    """Draw what drives the spread of a price: a bar a driver from its low to its high price, widest on top.

    Parameters
    ----------
    result
        The range.
    currency
        What prices are in.
    width
        Points from side to side.
    most
        Drivers drawn.
    """
    drivers = result.drivers[:most]
    names = [f"{driver_words(driver)} ({driver.share * 100:.0f} %)" for driver in drivers]
    side = min(0.5 * width, 8.0 + ADVANCE * max((len(name) for name in names), default=0))
    low = min((d.low_price for d in drivers), default=result.likely)
    high = max((d.high_price for d in drivers), default=result.likely)
    room = ADVANCE * (len(format_money(high, currency)) + 1)
    scale = (width - side - 2 * room - 8.0) / max(1e-9, high - low)
    height = 30.0 + len(drivers) * ROW

    def x(price: float) -> float:
        return side + room + (price - low) * scale

    out = [_head(width, height, "What drives the spread of the price")]
    out.append(_text(f"likely {format_money(result.likely, currency)}", x(result.likely), 10.0, anchor="middle"))
    for n, (driver, name) in enumerate(zip(drivers, names, strict=True)):
        y = 16.0 + n * ROW
        limit = int((side - 6.0) / ADVANCE)
        out.append(_text(name if len(name) <= limit else f"{name[: limit - 1]}…", 2.0, y + 0.72 * ROW))
        for a, b, colour in (
            (driver.low_price, result.likely, PALETTE[0]),
            (result.likely, driver.high_price, PALETTE[1]),
        ):
            left, right = sorted((x(a), x(b)))
            out.append(
                f'<rect x="{left:.2f}" y="{y + 2:.2f}" width="{right - left:.2f}" height="{ROW - 4:.2f}" '
                f'fill="{colour}"/>'
            )
        ends = (format_money(driver.low_price, currency), format_money(driver.high_price, currency))
        out.append(_text(ends[0], x(driver.low_price) - 3.0, y + 0.72 * ROW, anchor="end"))
        out.append(_text(ends[1], x(driver.high_price) + 3.0, y + 0.72 * ROW))
    at = x(result.likely)
    out.append(f'<path d="M{at:.2f} 13 V{height - 12:.2f}" stroke="{INK}" stroke-width="0.8"/>')
    points = f"P10 {result.p10:,.0f}   P50 {result.p50:,.0f}   P80 {result.p80:,.0f} {currency}"
    out.append(_text(points, 2.0, height - 3.0))
    return "".join((*out, "</svg>"))


def drops_svg(
    elevation: Elevation, layout: MatLayout, display: Display, *, plan: CutPlan | None = None, width: float = 700.0
) -> str:
    """Draw the drops of a mat on an elevation: numbered, laps hatched, openings crossed, short pieces framed.

    Parameters
    ----------
    elevation
        The face.
    layout
        Its drops.
    display
        How lengths are shown.
    plan
        The cutting plan: its rolls are written under the numbers, ``R2``, or ``re`` for a piece that is reused.
    width
        Points from side to side.
    """
    x0, low, x1, high = (float(value) for value in elevation.wall.bounds)
    scale = min((width - 20.0) / (x1 - x0), 240.0 / max(0.1, high - low))
    total, height = (x1 - x0) * scale + 20.0, (high - low) * scale + 36.0
    rolls = _rolls_of(plan)

    def x(station: float) -> float:
        return 10.0 + (station - x0) * scale

    def y(level: float) -> float:
        return 12.0 + (high - level) * scale

    def box(a: float, b: float, bottom: float, top: float, look: str) -> str:
        return (
            f'<rect x="{x(a):.2f}" y="{y(top):.2f}" width="{(b - a) * scale:.2f}" '
            f'height="{(top - bottom) * scale:.2f}" {look}/>'
        )

    out = [_head(total, height, f"Mat on {elevation.key}: {len(layout.drops)} drops"), _hatches()]
    for n, drop in enumerate(layout.drops):
        said = f"{drop.label}: {display.length(drop.length)} × {display.length(drop.width)}{_roll_words(rolls, drop)}"
        edge = 'stroke-dasharray="3 1.5"' if drop.is_short else ""
        look = f'fill="{("#DCEBF5", "#F4E3CF")[n % 2]}" stroke="{INK}" stroke-width="0.6" {edge}'
        out.append(f"<g><title>{escape(said)}</title>")
        out += [box(a, b, max(drop.z0, low), min(drop.z1, high), look) for a, b in _on_face(drop, x0, x1)]
        out.append("</g>")
    for one, other in pairwise((*layout.drops, *layout.drops[:1])):
        for a, b in _on_face(one, x0, x1):
            for c, d in _on_face(other, x0, x1):
                left, right = max(a, c), min(b, d)
                bottom, top = max(one.z0, other.z0, low), min(one.z1, other.z1, high)
                if one is not other and right - left > 1e-6 and top - bottom > 1e-6:
                    out.append(box(left, right, bottom, top, 'fill="url(#h1)"'))
    missing = shapely.difference(elevation.wall, elevation.net)
    for part in shapely.get_parts(missing):
        if part.geom_type == "Polygon" and part.area > 1e-6:
            ring = " L".join(f"{x(a):.2f} {y(b):.2f}" for a, b in part.exterior.coords)
            a, bottom, b, top = shapely.bounds(part)
            out.append(f'<path d="M{ring} Z" fill="{GROUND}" stroke="{INK}" stroke-width="0.8"/>')
            out.append(
                f'<path d="M{x(a):.2f} {y(top):.2f} L{x(b):.2f} {y(bottom):.2f} M{x(a):.2f} {y(bottom):.2f} '
                f'L{x(b):.2f} {y(top):.2f}" stroke="{QUIET}" stroke-width="0.4"/>'
            )
    for drop in layout.drops:
        spans = _on_face(drop, x0, x1)
        a, b = max(spans, key=lambda span: span[1] - span[0], default=(x0, x0))
        if (b - a) * scale >= ADVANCE * len(str(drop.number)):
            middle, level = x((a + b) / 2), y(max(drop.z0, low)) - 3.0
            if rolls.get(drop.label) and (b - a) * scale >= ADVANCE * len(rolls[drop.label]):
                out.append(_text(rolls[drop.label], middle, level, anchor="middle"))
                level -= LETTER + 1.5
            out.append(_text(str(drop.number), middle, level, anchor="middle"))
    foot = (
        f"{len(layout.drops)} drops, {display.area(layout.hung_area)} of mat for {display.area(layout.net_area)};"
        f" joints {display.length(layout.seam_length)}, laps {display.area(layout.lap_area)}"
    )
    out.append(_text(foot, 4.0, height - 4.0))
    return "".join((*out, "</svg>"))


def _head(width: float, height: float, title: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.2f}pt" height="{height:.2f}pt" '
        f'viewBox="0 0 {width:.2f} {height:.2f}" font-family="DejaVu Sans Mono" font-size="{LETTER}" role="img" '
        f'aria-label={quoteattr(title)}><rect width="{width:.2f}" height="{height:.2f}" fill="{GROUND}"/>'
    )


def _hatches() -> str:
    tiles = "".join(
        f'<pattern id="h{n}" width="4" height="4" patternUnits="userSpaceOnUse">'
        f'<path d="{stroke}" stroke="{INK}" stroke-width="0.5" fill="none"/></pattern>'
        for n, stroke in enumerate(HATCHES)
        if stroke
    )
    return f"<defs>{tiles}</defs>"


def _text(words: str, x: float, y: float, *, anchor: str = "start", fill: str = INK) -> str:
    edge = ""
    if fill == INK:
        edge = ' stroke="#FFFFFF" stroke-width="1.4" stroke-linejoin="round" paint-order="stroke"'
    return f'<text x="{x:.2f}" y="{y:.2f}" text-anchor="{anchor}" fill="{fill}"{edge}>{escape(words)}</text>'


def _bar(work: PlannedWork, number: int, a: float, y: float, b: float) -> str:
    """Draw one shift of a step, with its letter where there is room."""
    said = f"{work.name}, {work.room}: {moment_words(work.start)} to {moment_words(work.end)}"
    crew = f", {', '.join(work.crews)}" if work.crews else ""
    letter = _letters(number) if number >= 0 else "x"
    shapes = _fill(number, a, y + 1.5, max(0.8, b - a), ROW - 3.0)
    if b - a >= ADVANCE * len(letter) + 1.0:
        dark = number >= 0 and PALETTE[number % len(PALETTE)] not in LIGHT and number < len(PALETTE)
        shapes.append(_text(letter, (a + b) / 2, y + 0.72 * ROW, anchor="middle", fill=GROUND if dark else INK))
    return f"<g><title>{escape(f'{said}{crew}; {work.reason}')}</title>{''.join(shapes)}</g>"


def _fill(number: int, x: float, y: float, width: float, height: float) -> list[str]:
    """Return a rectangle in the colour and hatch of a step; −1 is abrading."""
    place = f'x="{x:.2f}" y="{y:.2f}" width="{width:.2f}" height="{height:.2f}"'
    if number < 0:
        return [f'<rect {place} fill="{GROUND}" stroke="{INK}" stroke-width="0.9" stroke-dasharray="1.5 1"/>']
    colour, turn = PALETTE[number % len(PALETTE)], number // len(PALETTE) % len(HATCHES)
    plain = f'<rect {place} fill="{colour}" stroke="{INK}" stroke-width="0.3"/>'
    return [plain, f'<rect {place} fill="url(#h{turn})"/>'] if turn else [plain]


def _letters(number: int) -> str:
    """A, B … Z, AA."""
    text = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(65 + rest) + text
    return text


def _hour(moment: datetime) -> float:
    return moment.hour + moment.minute / 60.0


def _hour_of_end(start: datetime, end: datetime) -> float:
    return _hour(end) if end.date() == start.date() else 24.0


def _key(work: PlannedWork) -> tuple[str, str]:
    return (work.work, work.kind)


def _lanes(works: list[PlannedWork]) -> dict[tuple[str, str], int]:
    """Put works that go on at once in lanes of their own."""
    lanes: dict[tuple[str, str], int] = {}
    ends: list[datetime] = []
    for work in sorted(works, key=lambda work: (work.start, work.end)):
        lane = next((n for n, end in enumerate(ends) if end <= work.start), len(ends))
        if lane == len(ends):
            ends.append(work.end)
        ends[lane] = work.end
        lanes[_key(work)] = lane
    return lanes


def _on_face(drop: Drop, x0: float, x1: float) -> list[tuple[float, float]]:
    """Return a drop's stations on the face; what goes past a closed face's end is at its start."""
    spans = [(drop.x0, drop.x1), (drop.x0 - (x1 - x0), drop.x1 - (x1 - x0))]
    cut = [(max(a, x0), min(b, x1)) for a, b in spans]
    return [(a, b) for a, b in cut if b - a > 1e-6]


def _rolls_of(plan: CutPlan | None) -> dict[str, str]:
    """Return the roll that each drop is cut from, by its label."""
    if plan is None:
        return {}
    cuts = [(roll.number, cut) for roll in plan.rolls for cut in roll.cuts]
    found = {drop.label: f"R{number}" for number, cut in cuts for drop in (cut.drop, *cut.beside)}
    return {**found, **{reuse.drop.label: "re" for reuse in plan.reused}}


def _roll_words(rolls: dict[str, str], drop: Drop) -> str:
    roll = rolls.get(drop.label, "")
    if not roll:
        return ""
    return ", from an opening cut out" if roll == "re" else f", from roll {roll[1:]}"
