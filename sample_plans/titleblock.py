"""What every sheet carries: border, title block, drawing titles, scale bar, north arrow, notes and ruled tables."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from sample_plans.ink import Ink, Point, text_width

PROJECT = "SAMPLE DAIRY, PACKING WING"
DATE = "2026-03-02"
REVISION = "A"
STRIP = 216.0
MARGIN = 36.0
INSET = 54.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetTitle:
    """What the title block says: sheet number, title, and the scale as written."""

    number: str
    title: str
    scale: str


def draw_border(ink: Ink, sheet: SheetTitle) -> float:
    """Draw border and title block and give the x at which the title block begins."""
    layer = "A-ANNO-TTLB"
    width, height = ink.page.rect.width, ink.page.rect.height
    right, bottom, left = width - MARGIN, height - MARGIN, width - MARGIN - STRIP
    ink.box(layer, (INSET, MARGIN), (right, bottom), 1.6)
    ink.line(layer, [(left, MARGIN), (left, bottom)], 1.2)
    x, middle = left + 12, left + STRIP / 2
    ink.text(layer, (middle, MARGIN + 34), "SAMPLE DRAWING", 15, bold=True, align="centre")
    ink.text(layer, (middle, MARGIN + 50), "An invented building; not for construction", 8, align="centre")
    ink.line(layer, [(left, MARGIN + 68), (right, MARGIN + 68)], 0.8)
    _revisions(ink, left, right, MARGIN + 68)
    rules = [bottom - 96, bottom - 140, bottom - 184, bottom - 228, bottom - 290, bottom - 352]
    for y in rules:
        ink.line(layer, [(left, y), (right, y)], 0.8)
    ink.line(layer, [(middle, rules[2]), (middle, rules[0])], 0.8)
    cells: list[tuple[Point, str, str, float]] = [
        ((x, rules[5]), "PROJECT", PROJECT, 11),
        ((x, rules[4]), "SHEET TITLE", sheet.title, 14),
        ((x, rules[3]), "SCALE", sheet.scale, 10),
        ((x, rules[2]), "DATE", DATE, 10),
        ((middle + 12, rules[2]), "REVISION", REVISION, 12),
        ((x, rules[1]), "ISSUED FOR", "PRICING", 10),
        ((middle + 12, rules[1]), "SHEET SIZE", _size(width, height), 10),
    ]
    for (cx, cy), label, words, size in cells:
        ink.text(layer, (cx, cy + 12), label, 6.5)
        ink.text(layer, (cx, cy + 32 if size < 14 else cy + 36), words, size, bold=True)
    ink.text(layer, (x, rules[0] + 12), "SHEET", 6.5)
    ink.text(layer, (middle, bottom - 26), sheet.number, 44, bold=True, align="centre")
    return left


def _size(width: float, height: float) -> str:
    return "ANSI D" if (width, height) == (2448.0, 1584.0) else "A1"


def _revisions(ink: Ink, left: float, right: float, top: float) -> None:
    layer = "A-ANNO-TTLB"
    ink.text(layer, (left + 12, top + 14), "REVISIONS", 6.5)
    for k in range(6):
        y = top + 20 + 18 * k
        ink.line(layer, [(left, y), (right, y)], 0.4)
    for x in (left + 40, left + 116):
        ink.line(layer, [(x, top + 20), (x, top + 110)], 0.4)
    for x, words in ((left + 12, "NO."), (left + 48, "DATE"), (left + 124, "DESCRIPTION")):
        ink.text(layer, (x, top + 32), words, 7)
    for x, words in ((left + 15, REVISION), (left + 48, DATE), (left + 124, "Issued for pricing")):
        ink.text(layer, (x, top + 50), words, 8)
    ink.line(layer, [(left, top + 110), (right, top + 110)], 0.8)


def draw_title(ink: Ink, at: Point, number: str, title: str, scale: str, length: float) -> None:
    """Write a drawing's title under it: bubble with its number, name over a rule, scale below."""
    layer = "A-ANNO-TEXT"
    ink.circle(layer, (at[0] + 16, at[1]), 16, 0.9)
    ink.text(layer, (at[0] + 16, at[1] + 5.5), number, 15, bold=True, align="centre")
    ink.line(layer, [(at[0] + 32, at[1]), (at[0] + length, at[1])], 1.2)
    ink.text(layer, (at[0] + 40, at[1] - 6), title, 14, bold=True)
    ink.text(layer, (at[0] + 40, at[1] + 13), f"SCALE: {scale}", 9)


def draw_scale_bar(ink: Ink, at: Point, marks: Sequence[tuple[float, str]], unit_pt: float) -> None:
    """Draw a bar from (value, label) marks; ``unit_pt`` is the length of 1 in sheet points."""
    layer = "A-ANNO-SYMB"
    for k, ((a, _), (b, _)) in enumerate(pairwise(marks)):
        start, end = (at[0] + a * unit_pt, at[1]), (at[0] + b * unit_pt, at[1] + 7)
        ink.box(layer, start, end, 0.5, fill=0.0 if k % 2 == 0 else 1.0)
    for value, label in marks:
        x = at[0] + value * unit_pt
        ink.line(layer, [(x, at[1]), (x, at[1] - 4)], 0.5)
        ink.text(layer, (x, at[1] - 7), label, 8, align="centre")


def draw_north(ink: Ink, centre: Point) -> None:
    """Draw a north arrow; north is up the sheet."""
    layer, (x, y) = "A-ANNO-SYMB", centre
    ink.circle(layer, centre, 24, 0.7)
    ink.line(layer, [(x, y - 34), (x - 11, y + 18), (x, y + 10)], 0.7, closed=True, fill=0.0)
    ink.line(layer, [(x, y - 34), (x + 11, y + 18), (x, y + 10)], 0.7, closed=True, fill=1.0)
    ink.text(layer, (x, y - 39), "N", 14, bold=True, align="centre")


def draw_notes(ink: Ink, at: Point, title: str, notes: Sequence[str], lead: float = 14.0) -> float:
    """Write numbered notes under a heading and give the y of the last line; "|" breaks a line."""
    layer, y = "A-ANNO-TEXT", at[1]
    ink.text(layer, at, title, 11, bold=True)
    ink.line(layer, [(at[0], y + 4), (at[0] + text_width(title, 11, True), y + 4)], 0.8)
    y += 6
    for number, note in enumerate(notes, 1):
        for part, words in enumerate(note.split("|")):
            y += lead if part == 0 else lead - 3
            if part == 0:
                ink.text(layer, (at[0], y), f"{number}.", 8.5)
            ink.text(layer, (at[0] + 18, y), words, 8.5)
    return y


def draw_table(
    ink: Ink,
    at: Point,
    title: str,
    widths: Sequence[float],
    rows: Sequence[Sequence[str]],
    *,
    size: float = 9.0,
    row_height: float = 20.0,
    centred: Sequence[int] = (),
) -> float:
    """Rule a table with its heading row and give the y of its foot; widths are in sheet points."""
    layer, (x0, y0) = "A-ANNO-SCHD", at
    total = sum(widths)
    ink.text(layer, (x0 + 4, y0 - 7), title, 13, bold=True)
    foot = y0 + row_height * len(rows)
    for k in range(len(rows) + 1):
        ink.line(layer, [(x0, y0 + row_height * k), (x0 + total, y0 + row_height * k)], 1.0 if k < 2 else 0.4)
    edges = [x0 + sum(widths[:k]) for k in range(len(widths) + 1)]
    for k, x in enumerate(edges):
        ink.line(layer, [(x, y0), (x, foot)], 1.0 if k in (0, len(widths)) else 0.4)
    for r, row in enumerate(rows):
        base = y0 + row_height * r + row_height / 2 + size * 0.35
        for c, words in enumerate(row):
            middle = c in centred or r == 0
            x = (edges[c] + edges[c + 1]) / 2 if middle else edges[c] + 6
            ink.text(layer, (x, base), words, size, bold=r == 0, align="centre" if middle else "left")
    ink.box(layer, (x0, y0), (x0 + total, foot), 1.2)
    return foot
