"""The sheets: plan A-101, interior elevations A-201 and finish schedule A-601, laid out on their pages."""

from __future__ import annotations

from collections.abc import Sequence

import pymupdf

from sample_plans.floorplan import Wording, draw_plan
from sample_plans.ink import BLACK, GREY, LIGHT, Frame, Ink, Point, add_layers
from sample_plans.scenario import COVE, FOOT, INCH, OPENINGS, ROOMS, STORE_HIGH, STORE_LOW, XS_NORTH, Opening, Room, ft
from sample_plans.titleblock import (
    DATE,
    PROJECT,
    SheetTitle,
    draw_border,
    draw_north,
    draw_notes,
    draw_scale_bar,
    draw_table,
    draw_title,
)

POINTS_PER_METRE = 72 / INCH
ANSI_D = (2448.0, 1584.0)
A1 = (841 / 25.4 * 72, 594 / 25.4 * 72)
PLAN_IMPERIAL = Frame(x0=198.0, y0=318.0, scale=POINTS_PER_METRE / 48)
VIEWPORT = (84.0, 180.0, 1600.0, 1380.0)
"""Left, top, right and bottom of the metric plan's own area in sheet points."""
PLAN_METRIC = Frame(x0=190.0, y0=360.0, scale=POINTS_PER_METRE / 50)


def feet_and_inches(metres: float) -> str:
    """Write a length that is whole in inches as the imperial sheets do."""
    inches = round(metres / INCH)
    feet, rest = divmod(inches, 12)
    return f"{feet}'-{rest}\"" if feet else f'{rest}"'


def millimetres(metres: float) -> str:
    """Write a length in whole millimetres."""
    return str(round(metres * 1000))


IMPERIAL = Wording(length=feet_and_inches, size=lambda w, h: f"{feet_and_inches(w)} x {feet_and_inches(h)}")
METRIC = Wording(length=millimetres, size=lambda w, h: f"{millimetres(w)} x {millimetres(h)}")

CODES: tuple[tuple[str, str], ...] = (
    ("F1", "Urethane mortar floor, falls to drains"),
    ("F2", "Flake broadcast floor, clear sealed"),
    ("F3", "Concrete, hardened and sealed"),
    ("B0", "No integral base"),
    ("B1", 'Integral cove base, 4" high, 1" radius'),
    ("W1", "Mat-reinforced hygienic wall coating"),
    ("W2", "Mat-reinforced urethane wall coating"),
    ("W3", "Mat-reinforced polyaspartic wall coating"),
    ("W4", "Thin-film wall coating"),
    ("W5", "Flake broadcast wall coating"),
    ("W6", "Block filler and two finish coats"),
    ("W7", "Wall as found; cove base only"),
    ("W8", "Bonded sheet panel"),
    ("C1", "Lay-in ceiling, washable"),
    ("C2", "Insulated panel ceiling"),
    ("C3", "Cold room panel ceiling"),
    ("C4", "Exposed deck, painted"),
)

_NOTES = (
    "Dimensions are to finished faces of walls.",
    "Coated walls run from the floor to the height in the finish|schedule on A-601 unless a note here says otherwise.",
    "Frames of doors and windows are not coated.",
    "Low splash wall in 103 is coated on both faces and both ends.",
    "Pillars in 104 are coated on all sides.",
    "Drain symbols mark low points of the floor.",
)


def plan_sheet(
    page: pymupdf.Page, layers: dict[str, int], frame: Frame, wording: Wording, scale: str, *, is_of_set: bool = False
) -> None:
    """Draw A-101; in a set the heights of ceilings and the opening schedule stand on sheets of their own."""
    ink = Ink(page, layers)
    left = draw_border(ink, SheetTitle(number="A-101", title="FLOOR PLAN", scale=scale))
    draw_plan(ink, frame, wording, has_heights=not is_of_set)
    foot = frame.pt((0.0, ft(52)))[1] + 168
    draw_title(ink, (frame.x0, foot), "1", "FLOOR PLAN", scale, 430)
    if wording is IMPERIAL:
        draw_scale_bar(ink, (frame.x0 + 560, foot), [(v, f"{v}'") for v in (0, 4, 8, 16, 32)], frame.scale * FOOT)
        _elevation_mark(ink, frame.pt((ft(21, 6), ft(17))), "1")
        _elevation_mark(ink, frame.pt((ft(71, 6), ft(17, 6))), "2")
    else:
        draw_scale_bar(ink, (frame.x0 + 560, foot), [(v, f"{v} m") for v in (0, 1, 2, 5, 10)], frame.scale)
    draw_north(ink, (frame.x0 + 1320, foot - 4))
    column = left - 446
    y = 120.0 if is_of_set else opening_table(ink, (column, 120.0), wording)
    y = draw_notes(ink, (column, y + 60), "GENERAL NOTES", _NOTES)
    _symbols(ink, (column, y + 50))
    ink.dry()


def _elevation_mark(ink: Ink, at: Point, number: str) -> None:
    layer, (x, y) = "A-ANNO-SYMB", at
    ink.line(layer, [(x - 15, y), (x, y - 21), (x + 15, y)], 0.5, closed=True, fill=BLACK)
    ink.circle(layer, at, 14, 0.7, fill=1.0)
    ink.line(layer, [(x - 14, y), (x + 14, y)], 0.5)
    ink.text(layer, (x, y - 3), number, 8, bold=True, align="centre")
    ink.text(layer, (x, y + 8), "A-201", 7, align="centre")


_STYLES = {
    "single": "Single leaf",
    "double": "Pair of leaves",
    "rollup": "Roll-up",
    "window": "Fixed window",
    "pass": "Pass-through",
}


def opening_table(ink: Ink, at: Point, wording: Wording, openings: Sequence[Opening] | None = None) -> float:
    """Rule the opening schedule and give the y of its foot."""
    openings = OPENINGS if openings is None else openings
    rows: list[tuple[str, ...]] = [("MARK", "TYPE", "WIDTH x HEIGHT", "SILL", "COUNT")]
    for mark in dict.fromkeys(o.mark for o in openings):
        same = [o for o in openings if o.mark == mark]
        o = same[0]
        sill = wording.length(o.sill) if o.sill else "-"
        rows.append((mark, _STYLES[o.style], wording.size(o.width, o.height), sill, str(len(same))))
    return draw_table(
        ink, at, "OPENING SCHEDULE", (56, 110, 118, 70, 60), rows, size=8.5, row_height=17, centred=(0, 2, 3, 4)
    )


def _symbols(ink: Ink, at: Point) -> None:
    layer, (x, y) = "A-ANNO-TEXT", at
    ink.text(layer, at, "SYMBOLS", 11, bold=True)
    ink.box(layer, (x, y + 14), (x + 44, y + 24), 0.9, fill=0.72)
    ink.circle(layer, (x + 22, y + 46), 10.5, 0.5)
    ink.text(layer, (x + 22, y + 48.3), "000A", 6.5, align="centre")
    ink.line(layer, [(x + 13.5, y + 74), (x + 17.7, y + 66.7), (x + 26.3, y + 66.7), (x + 30.5, y + 74),
                     (x + 26.3, y + 81.3), (x + 17.7, y + 81.3)], 0.5, closed=True)  # fmt: skip
    ink.text(layer, (x + 22, y + 76.3), "A", 6.5, align="centre")
    ink.box(layer, (x + 13, y + 93), (x + 31, y + 111), 0.35)
    ink.circle(layer, (x + 22, y + 102), 9, 0.35)
    ink.line(layer, [(x + 13, y + 102), (x + 31, y + 102)], 0.25)
    ink.line(layer, [(x + 22, y + 93), (x + 22, y + 111)], 0.25)
    ink.line(layer, [(x, y + 128), (x + 44, y + 128)], 0.35, tone=LIGHT)
    for k, words in enumerate(
        ("Wall or pillar", "Door", "Window or pass-through", "Floor drain", "Equipment by others")
    ):
        ink.text(layer, (x + 58, y + (22, 49, 77, 105, 131)[k]), words, 8.5)


def elevation_sheet(page: pymupdf.Page, layers: dict[str, int]) -> None:
    """Draw A-201."""
    ink = Ink(page, layers)
    scale = '3/8" = 1\'-0"'
    draw_border(ink, SheetTitle(number="A-201", title="INTERIOR ELEVATIONS", scale=scale))
    unit = POINTS_PER_METRE / 32
    floor = 720.0
    _elevation(ink, (170.0, floor), unit, (XS_NORTH[0], XS_NORTH[1]), (ft(12), ft(12)), "104", "W1")
    draw_title(ink, (170.0, floor + 190), "1", "PROCESS 104, NORTH WALL", scale, 430)
    _elevation(ink, (1440.0, floor), unit, (XS_NORTH[4], XS_NORTH[5]), (STORE_HIGH, STORE_LOW), "107", "W6")
    draw_title(ink, (1440.0, floor + 190), "2", "STORE 107, NORTH WALL", scale, 430)
    draw_scale_bar(ink, (170.0, floor + 300), [(v, f"{v}'") for v in (0, 2, 4, 8, 16)], unit * FOOT)
    notes = (
        "Heights are above the finished floor.",
        "B1 is a cove base made with the wall coating; see A-601.",
        'Reveals of windows A are coated 4" deep at jambs, head and sill.',
    )
    draw_notes(ink, (170.0, floor + 380), "NOTES", notes)
    ink.dry()


def _elevation(
    ink: Ink,
    origin: Point,
    unit: float,
    span: tuple[float, float],
    heights: tuple[float, float],
    number: str,
    code: str,
) -> None:
    layer = "A-ELEV"
    frame = Frame(x0=origin[0], y0=origin[1], scale=unit)
    width = span[1] - span[0]
    ink.line(
        layer, [frame.pt(p) for p in ((0, 0), (0, -heights[0]), (width, -heights[1]), (width, 0))], 1.2, closed=True
    )
    ink.line(layer, [frame.pt((-0.5, 0)), frame.pt((width + 0.5, 0))], 2.2)
    room = next(r for r in ROOMS if r.number == number)
    if room.has_cove:
        ink.line(layer, [frame.pt((0, -COVE["height"])), frame.pt((width, -COVE["height"]))], 0.35)
    found = [o for o in OPENINGS if number in o.rooms and o.axis == "x" and o.hi == room.points[0][1]]
    for o in found:
        _elevation_window(ink, frame, o, o.at - span[0])
    left, right, below = origin[0], frame.pt((width, 0))[0], origin[1]
    edges = [e - span[0] for o in found for e in (o.at - o.width / 2, o.at + o.width / 2)]
    say = feet_and_inches
    ink.dimensions(frame, [0.0, *edges, width], "x", below + 44, below + 6, say)
    ink.dimensions(frame, [0.0, width], "x", below + 74, below + 48, say)
    ink.dimensions(frame, [-heights[0], 0.0], "y", left - 58, left, say)
    sill, head = found[0].sill, found[0].sill + found[0].height
    ink.dimensions(frame, [-heights[1], -head, -sill, 0.0], "y", right + 44, right, say)
    ink.dimensions(frame, [-heights[1], 0.0], "y", right + 74, right + 48, say)
    middle = frame.pt((edges[1] + 0.45 * (width - edges[1]) if len(edges) == 2 else width / 2, -heights[1] * 0.62))
    ink.box("A-ANNO-TEXT", (middle[0] - 18, middle[1] - 13), (middle[0] + 18, middle[1] + 6), 0.7)
    ink.text("A-ANNO-TEXT", (middle[0], middle[1] + 1.5), code, 12, bold=True, align="centre")
    if room.has_cove:
        at = frame.pt((width / 2, -COVE["height"]))
        ink.text("A-ANNO-TEXT", (at[0] + 40, at[1] - 24), "B1 COVE BASE", 8)
        ink.line("A-ANNO-TEXT", [(at[0] + 37, at[1] - 26.5), (at[0] + 22, at[1] - 26.5), (at[0] + 10, at[1] + 4)], 0.35)
    else:
        at = frame.pt((width / 2, -(heights[0] + heights[1]) / 2))
        ink.text("A-ANNO-TEXT", (at[0] + 40, at[1] - 34), "CEILING FALLS TO EAST", 8)
        ink.line("A-ANNO-TEXT", [(at[0] + 37, at[1] - 36.5), (at[0] + 22, at[1] - 36.5), (at[0], at[1])], 0.35)


def _elevation_window(ink: Ink, frame: Frame, o: Opening, at: float) -> None:
    layer, half = "A-ELEV", o.width / 2
    a, b = (at - half, -o.sill - o.height), (at + half, -o.sill)
    ink.box(layer, frame.pt(a), frame.pt(b), 0.9)
    inset = ft(0, 2)
    ink.box(layer, frame.pt((a[0] + inset, a[1] + inset)), frame.pt((b[0] - inset, b[1] - inset)), 0.35)
    ink.line(layer, [frame.pt((at, a[1] + inset)), frame.pt((at, b[1] - inset))], 0.35)
    for run in (((-0.55, -0.35), (-0.25, -0.65)), ((-0.45, -0.55), (-0.1, -0.9))):
        ends = [frame.pt((at + u * half, b[1] + v * o.height)) for u, v in run]
        ink.line(layer, ends, 0.25, tone=GREY)
    x, y = frame.pt((at, a[1]))
    ink.text("A-ANNO-TEXT", (x, y - 8), f"WINDOW {o.mark}", 8, align="centre")


def schedule_sheet(
    page: pymupdf.Page, layers: dict[str, int], more: Sequence[Room] = (), first: Sequence[Room] = ROOMS
) -> None:
    """Draw A-601; with rooms of a further level it shows no opening schedule: the set has it on a sheet of its own.

    A room's wall code is of all its walls, or it is four for north, east, south and west with strokes between.
    """
    ink = Ink(page, layers)
    draw_border(ink, SheetTitle(number="A-601", title="FINISH SCHEDULE", scale="NONE"))
    head = (
        "ROOM NO.",
        "ROOM NAME",
        "FLOOR",
        "BASE",
        "WALL N",
        "WALL E",
        "WALL S",
        "WALL W",
        "CEILING",
        "HEIGHT",
        "REMARKS",
    )
    rows = [head]
    for room in (*first, *more):
        floor, base, wall, ceiling = room.codes
        walls = (wall.split("/") * 4)[:4]
        height = feet_and_inches(room.top)
        if room.corners:
            height = f"{height} TO {feet_and_inches(room.corners[1])}"
        rows.append((room.number, room.name.upper(), floor, base, *walls, ceiling, height, room.remark))
    widths = (120, 210, 100, 100, 108, 108, 108, 108, 114, 200, 500)
    y = draw_table(ink, (120.0, 150.0), "ROOM FINISH SCHEDULE", widths, rows, size=14, row_height=38,
                   centred=(0, 2, 3, 4, 5, 6, 7, 8, 9))  # fmt: skip
    ink.text("A-ANNO-TEXT", (124.0, y + 22), "HEIGHT is the top of the wall finish above the floor.", 11)
    legend = [("CODE", "FINISH"), *CODES]
    draw_table(ink, (120.0, y + 90), "FINISH CODES", (100, 440), legend, size=13, row_height=32, centred=(0,))
    if not more:
        opening_table(ink, (800.0, y + 90), IMPERIAL)
    ink.dry()


def new_set(pages: Sequence[str], size: Point) -> pymupdf.Document:
    """Make a document of empty pages of one size, named by their sheet numbers."""
    doc = pymupdf.open()
    for _ in pages:
        doc.new_page(width=size[0], height=size[1])
    stamp = "D:" + DATE.replace("-", "") + "090000Z"
    doc.set_metadata(
        {"title": f"{PROJECT}: {', '.join(pages)}", "subject": "Invented sample drawing", "creator": "sample_plans",
         "producer": "PyMuPDF", "creationDate": stamp, "modDate": stamp}
    )  # fmt: skip
    return doc


def imperial_set() -> pymupdf.Document:
    """Draw the imperial set: A-101 at 1/4" to the foot, A-201 and A-601."""
    doc = new_set(["A-101", "A-201", "A-601"], ANSI_D)
    layers = add_layers(doc)
    plan_sheet(doc[0], layers, PLAN_IMPERIAL, IMPERIAL, '1/4" = 1\'-0"')
    elevation_sheet(doc[1], layers)
    schedule_sheet(doc[2], layers)
    return doc


def metric_set() -> pymupdf.Document:
    """Draw the plan at 1:50 in millimetres, with its scale embedded as a rectilinear measure (ISO 32000-2, 12.9)."""
    doc = new_set(["A-101"], A1)
    plan_sheet(doc[0], add_layers(doc), PLAN_METRIC, METRIC, "1:50")
    x0, y0, x1, y1 = VIEWPORT
    height = doc[0].rect.height
    factor = 1000 / PLAN_METRIC.scale
    measure = doc.get_new_xref()
    doc.update_object(
        measure,
        "<< /Type /Measure /Subtype /RL /R (1:50)"
        f" /X [ << /Type /NumberFormat /U (mm) /C {factor:.10f} /D 1 >> ]"
        " /D [ << /Type /NumberFormat /U (mm) /C 1 /D 1 >> ]"
        " /A [ << /Type /NumberFormat /U (sq m) /C 0.000001 /D 100 >> ] >>",
    )
    view = f"[ << /Type /Viewport /Name (FLOOR PLAN) /BBox [ {x0} {height - y1:.4f} {x1} {height - y0:.4f} ]"
    doc.xref_set_key(doc[0].xref, "VP", f"{view} /Measure {measure} 0 R >> ]")
    return doc
