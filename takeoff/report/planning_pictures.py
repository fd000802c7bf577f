"""Pictures of a planned job as SVG: each week's days with the steps in them, and what drives the price.

Colours are those of Okabe and Ito, "Color Universal Design" (2008); no meaning hangs on colour alone: steps, drivers
and times are written.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from html import escape
from itertools import groupby

from takeoff.estimate.days.calendar import day_words
from takeoff.estimate.days.works import DayPlan
from takeoff.estimate.simulate import PriceRange
from takeoff.report.drawing import PALETTE
from takeoff.report.typesetting import svg_head, svg_text
from takeoff.units import format_money

LETTER = 8.0
"""Height of the writing in points."""
ADVANCE = 0.5 * LETTER
"""Width of one letter of the face of books in points, a little more than it takes on average (measured on steps)."""
ROW = 14.0
"""Height of a driver's row in points."""
LINE = 10.0
"""Height of a line of writing in a week."""
WIDE, DRIVERS = 620.0, 10
"""Points from side to side of the picture of drivers, and how many it has at the most."""
SIDE = 90.0
"""Width of the names of rooms in a week."""
GROUND, INK, QUIET = "#FFFFFF", "#000000", "#999999"
BAR = "#BBDDF2"
"""A light blue on which black is read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shift:
    """What is done of a step in one shift: its hours of the day, and its words in lines."""

    day: date
    start: float
    end: float
    lines: tuple[str, ...]
    is_abrading: bool


def week_pictures(plan: DayPlan, *, width: float, height: float) -> tuple[tuple[str, str], ...]:
    """Draw a plan of days, a page for each week: days across, rooms down, each step named on or beside its bar.

    A page is ``width`` by ``height`` points; a week with more rooms than that goes on on another. Gives titles and
    pictures.
    """
    shifts: dict[str, list[_Shift]] = {}
    days = sorted({begin.date() for work in plan.works for begin, _ in work.bars})
    weeks = [list(found) for _, found in groupby(days, key=lambda day: day.isocalendar()[:2])]
    most = max((max(day.weekday() for day in week) for week in weeks), default=4)
    columns = max(5, most + 1)
    letters = int(((width - SIDE) / columns - 6.0) / ADVANCE)
    for work in plan.works:
        for begin, end in work.bars:
            last = 24.0 if end.date() > begin.date() else _hour(end)
            words = tuple(textwrap.wrap(f"{begin:%H:%M} {work.name}", letters))
            one = _Shift(day=begin.date(), start=_hour(begin), end=last, lines=words, is_abrading=work.kind == "abrade")
            shifts.setdefault(work.room, []).append(one)
    named = (*(room.room for room in plan.rooms), *(work.room for work in plan.works))
    rooms = [room for room in dict.fromkeys(named) if room in shifts]
    every = [shift for found in shifts.values() for shift in found]
    span = (min((s.start for s in every), default=7.0), max((s.end for s in every), default=15.0))
    made = []
    for week in weeks:
        monday = week[0] - timedelta(days=week[0].weekday())
        rows = [(room, [s for s in shifts[room] if s.day in week]) for room in rooms]
        pages = _pages([row for row in rows if row[1]], height - 2 * LINE)
        for n, page in enumerate(pages, start=1):
            title = f"Week from {day_words(monday)}" + (f", page {n} of {len(pages)}" if len(pages) > 1 else "")
            made.append((title, _week(page, monday, columns, span, width, title)))
    return tuple(made)


_Row = tuple[str, list[_Shift]]


def _lines_of(shifts: Sequence[_Shift]) -> int:
    """Lines that a room takes in a week: those of its fullest day."""
    by_day: dict[date, int] = {}
    for shift in shifts:
        by_day[shift.day] = by_day.get(shift.day, 0) + len(shift.lines)
    return max(2, *by_day.values())


def _pages(rows: Sequence[_Row], height: float) -> list[list[_Row]]:
    pages: list[list[_Row]] = [[]]
    left = height
    for row in rows:
        high = _lines_of(row[1]) * LINE + 3.0
        if high > left and pages[-1]:
            pages.append([])
            left = height
        pages[-1].append(row)
        left -= high
    return pages


def _week(rows: Sequence[_Row], monday: date, columns: int, span: tuple[float, float], width: float, title: str) -> str:
    wide = (width - SIDE) / columns
    tops = [2 * LINE]
    for _, shifts in rows:
        tops.append(tops[-1] + _lines_of(shifts) * LINE + 3.0)
    out = [_head(width, tops[-1] + 1.0, title)]
    for n in range(columns):
        day, at = monday + timedelta(days=n), SIDE + n * wide
        out.append(_line(at, 0.0, at, tops[-1]))
        out.append(_text(day_words(day), at + 3.0, 1.2 * LINE, weight="bold"))
    for (room, shifts), top in zip(rows, tops, strict=False):
        out.append(_line(0.0, top, width, top))
        for n, words in enumerate(textwrap.wrap(room, int(SIDE / ADVANCE) - 1)[:3]):
            out.append(_text(words, 2.0, top + (n + 0.9) * LINE, weight="bold"))
        filled: dict[date, float] = {}
        for shift in sorted(shifts, key=lambda s: (s.day, s.start, s.end)):
            y = filled.get(shift.day, top + 1.5)
            filled[shift.day] = y + len(shift.lines) * LINE
            out += _bar(shift, SIDE + (shift.day - monday).days * wide, y, wide, span)
    return "".join((*out, _line(0.0, tops[-1], width, tops[-1]), "</svg>"))


def _bar(shift: _Shift, left: float, y: float, wide: float, span: tuple[float, float]) -> list[str]:
    """A bar over its hours within the column of its day, and its words beside it, or on it where there is no room."""
    scale = (wide - 4.0) / max(1e-9, span[1] - span[0])
    a, b = left + 2.0 + (shift.start - span[0]) * scale, left + 2.0 + (shift.end - span[0]) * scale
    look = f'fill="{GROUND}" stroke="{INK}" stroke-dasharray="1.5 1"' if shift.is_abrading else f'fill="{BAR}"'
    high = len(shift.lines) * LINE - 1.5
    long = ADVANCE * max(len(line) for line in shift.lines)
    at = b + 2.0 if b + 2.0 + long <= left + wide else a - 2.0 - long if a - 2.0 - long >= left + 2.0 else left + 3.0
    return [
        f'<rect x="{a:.2f}" y="{y:.2f}" width="{max(1.0, b - a):.2f}" height="{high:.2f}" {look} stroke-width="0.5"/>',
        *(_text(line, at, y + (n + 0.72) * LINE) for n, line in enumerate(shift.lines)),
    ]


def _line(x0: float, y0: float, x1: float, y1: float) -> str:
    return f'<path d="M{x0:.2f} {y0:.2f} L{x1:.2f} {y1:.2f}" stroke="{QUIET}" stroke-width="0.4"/>'


def tornado_svg(result: PriceRange, currency: str) -> str:
    """Draw the widest drivers of the spread of a price: a bar from low to high price each."""
    width, drivers = WIDE, result.drivers[:DRIVERS]
    names = [f"{driver.label} ({driver.share * 100:.0f} %)" for driver in drivers]
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
    look = f'font-family="Libertinus Serif" font-size="{LETTER}" role="img" aria-label="{escape(title)}"'
    return svg_head(width, height, look) + f'<rect width="{width:.2f}" height="{height:.2f}" fill="{GROUND}"/>'


def _text(words: str, x: float, y: float, *, anchor: str = "start", weight: str = "normal") -> str:
    return svg_text(words, x, y, f'text-anchor="{anchor}" font-weight="{weight}"', edge=1.4)


def _hour(moment: datetime) -> float:
    return moment.hour + moment.minute / 60.0
