"""Small bid sets drawn for tests: a plan of two rooms, a cover with a list of sheets, a finish schedule."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace

import pymupdf
from shapely.geometry import box

from sample_plans import titleblock
from sample_plans.floorplan import draw_openings, draw_room_tags, draw_walls, wall_areas
from sample_plans.ink import Frame, Ink, Point, add_layers
from sample_plans.scenario import INNER, OUTER, ROOMS, Opening, Room, ft
from sample_plans.sheets import ANSI_D, IMPERIAL, PLAN_IMPERIAL, new_set
from sample_plans.titleblock import SheetTitle, draw_border, draw_table, draw_title
from takeoff.actions.draft.sheet_reads import SheetRead, SheetTask, read_here

SCALE = '1/4" = 1\'-0"'
FRAME = Frame(x0=420.0, y0=380.0, scale=PLAN_IMPERIAL.scale)
DEPTH, HIGH = ft(12), ft(9)
HEAD = ("ROOM NO.", "ROOM NAME", "FLOOR", "BASE", "WALL N", "WALL E", "WALL S", "WALL W", "HEIGHT", "REMARKS")
LEGEND = (("W1", "Mat-reinforced hygienic wall coating"), ("W2", "Thin-film wall coating"), ("P1", "Paint, two coats"))
Draw = Callable[[Ink], None]


def rooms(first: float = ft(14), second: float = ft(10)) -> tuple[Room, Room]:
    """Two rooms of these widths from west to east, 101 and 102, each 12 ft from north to south."""
    x = (OUTER, OUTER + first, OUTER + first + INNER, OUTER + first + INNER + second)
    made = []
    for number, name, left, right in (("101", "Wash", x[0], x[1]), ("102", "Store", x[2], x[3])):
        points = ((left, OUTER), (right, OUTER), (right, OUTER + DEPTH), (left, OUTER + DEPTH))
        tag = ((left + right) / 2, ft(6))
        made.append(replace(ROOMS[0], number=number, name=name, points=points, ceiling=HIGH, top=HIGH, tag=tag))
    return made[0], made[1]


def door(room: Room) -> Opening:
    """A door of 3 by 7 ft in the middle of the south wall of a room."""
    at, low = room.tag[0], OUTER + DEPTH
    return Opening(
        mark=room.number, style="single", axis="x", at=at, lo=low, hi=low + OUTER, width=ft(3), height=ft(7),
        rooms=(room.number,), swing=-1,
    )  # fmt: skip


def plan(own: Sequence[Room], more: Draw = lambda ink: None) -> Draw:
    """Draw a plan of rooms, with their ceilings, and what else is given."""

    def draw(ink: Ink) -> None:
        width = own[-1].points[1][0] + OUTER
        openings = [door(room) for room in own]
        draw_walls(ink, FRAME, wall_areas(box(0.0, 0.0, width, DEPTH + 2 * OUTER), own, openings))
        draw_openings(ink, FRAME, IMPERIAL, openings)
        draw_room_tags(ink, FRAME, IMPERIAL, own)
        left, top = FRAME.pt((0.0, 0.0))
        stations = [0.0, *(x for room in own for x in (room.points[0][0], room.points[1][0])), width]
        ink.dimensions(FRAME, stations, "x", top - 60, top - 20, IMPERIAL.length)
        draw_title(ink, (left, FRAME.pt((0.0, DEPTH))[1] + 150), "1", "FLOOR PLAN", SCALE, 430)
        more(ink)

    return draw


def north_arrow(degrees: float, *, has_circle: bool = True, at: Point = (1400.0, 900.0)) -> Draw:
    """Draw a north arrow; ``degrees`` is how far north is turned clockwise from up."""

    def draw(ink: Ink) -> None:
        turn = math.radians(degrees)

        def place(across: float, up: float) -> Point:
            return (
                at[0] + across * math.cos(turn) + up * math.sin(turn),
                at[1] + across * math.sin(turn) - up * math.cos(turn),
            )

        if has_circle:
            ink.circle("A-ANNO-SYMB", at, 22.0, 0.7)
            for side in (-10, 10):
                half = [place(0, 30), place(side, -16), place(0, -9)]
                ink.line("A-ANNO-SYMB", half, 0.7, closed=True, fill=float(side > 0))
        else:
            ink.line("A-ANNO-SYMB", [place(0, -30), place(0, 22)], 1.0)
            ink.line("A-ANNO-SYMB", [place(0, 34), place(-8, 18), place(8, 18)], 0.7, closed=True, fill=0.0)
        x, y = place(0, 46)
        ink.text("A-ANNO-SYMB", (x, y + 4.5), "N", 13, bold=True, align="centre")

    return draw


def finishes(*rows: Sequence[str], head: Sequence[str] = HEAD) -> Draw:
    """Draw a finish schedule of these rows with its legend."""

    def draw(ink: Ink) -> None:
        widths = [160] * (len(head) - 1) + [420]
        foot = draw_table(ink, (120, 150), "ROOM FINISH SCHEDULE", widths, [head, *rows], size=12, row_height=34)
        draw_table(ink, (120, foot + 90), "CODES", (100, 440), [("CODE", "FINISH"), *LEGEND], size=12, row_height=30)

    return draw


def sheet_list(*entries: tuple[str, str]) -> Draw:
    """Draw a list of sheets by number and title."""
    return lambda ink: void(
        draw_table(ink, (160, 420), "SHEETS", (120, 420), [("NO.", "TITLE"), *entries], size=13, row_height=32)
    )


def void(_: object) -> None:
    """Give nothing."""


Drawn = tuple[str, str, str, Draw]
"""A sheet to draw: number, title, revision and what stands on it."""


def drawn_set(*sheets: Drawn) -> bytes:
    """Draw sheets into one file; the same sheets give the same bytes."""
    document: pymupdf.Document = new_set([number for number, *_ in sheets], ANSI_D)
    layers = add_layers(document)
    for page, (number, title, revision, draw) in zip(document, sheets, strict=True):
        ink = Ink(page, layers)
        before, titleblock.REVISION = titleblock.REVISION, revision
        draw_border(ink, SheetTitle(number=number, title=title, scale=SCALE))
        titleblock.REVISION = before
        draw(ink)
        ink.dry()
    return bytes(document.tobytes(no_new_id=True))


def drawn_files(*sheets: Drawn) -> list[tuple[str, bytes]]:
    """Draw sheets into a file each, so that one which stands in several sets is read once (`read_once`)."""
    return [(f"{place}.pdf", drawn_set(sheet)) for place, sheet in enumerate(sheets, start=1)]


_READ: dict[str, SheetRead] = {}


def read_once(tasks: Iterable[SheetTask], contents: Callable[[str], bytes]) -> Iterator[SheetRead]:
    """Read sheets as a draft does, each once for all tests."""
    for task in tasks:
        if (key := repr(task)) not in _READ:
            (_READ[key],) = read_here([task], contents)
        yield _READ[key]
