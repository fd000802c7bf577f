"""Pictures of a planned job as SVG: days as bars, what drives the price, drops of mat on an elevation.

Colours are those of Okabe and Ito, "Color Universal Design" (2008); no meaning hangs on colour alone: steps are
lettered and hatched, drivers are written, drops are numbered.
"""

from __future__ import annotations

from datetime import date, datetime
from xml.sax.saxutils import escape, quoteattr

from takeoff.estimate.days.works import DayPlan, PlannedWork
from takeoff.estimate.simulate import PriceRange
from takeoff.report.drawing import PALETTE
from takeoff.report.planning_tables import driver_words, moment_words
from takeoff.units import format_money

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
