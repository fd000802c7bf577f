"""A small bid set of the sample building, as such sets come: ``python -m sample_plans.bidset [FOLDER]``.

G-001 cover, A-101 floor plan without heights, A-102 plan of the upper level, printed at half size although its note
says 1/4" to the foot, A-121 ceiling plan with the heights, A-201 elevations, A-501 details, A-601 finish schedule,
A-602 opening schedule. ``facility-set-truth.json`` says what a draft of it must come to, by room.
"""

from __future__ import annotations

import math
import sys
from pathlib import Path
from typing import Any

import pymupdf
from shapely.geometry import box

from sample_plans import tracing
from sample_plans.draw import document_bytes, json_bytes
from sample_plans.floorplan import draw_openings, draw_room_tags, draw_walls, shell, wall_areas
from sample_plans.ink import LIGHT, Frame, Ink, add_layers
from sample_plans.scenario import DEPTH, INNER, OPENINGS, OUTER, ROOMS, SINGLE, Opening, Room, ft
from sample_plans.sheets import (
    ANSI_D,
    IMPERIAL,
    PLAN_IMPERIAL,
    elevation_sheet,
    new_set,
    opening_table,
    plan_sheet,
    schedule_sheet,
)
from sample_plans.titleblock import PROJECT, SheetTitle, draw_border, draw_notes, draw_table, draw_title

SCALE = '1/4" = 1\'-0"'
INDEX = (
    ("G-001", "COVER SHEET"),
    ("A-101", "FLOOR PLAN"),
    ("A-102", "UPPER LEVEL PLAN"),
    ("A-121", "REFLECTED CEILING PLAN"),
    ("A-201", "INTERIOR ELEVATIONS"),
    ("A-501", "DETAILS"),
    ("A-601", "FINISH SCHEDULE"),
    ("A-602", "OPENING SCHEDULE"),
)
CODES = {
    "W1": "mat-hygienic", "W2": "mat-urethane", "W3": "mat-polyaspartic", "W4": "thin-film", "W5": "flake-wall",
    "W6": "block-filled", "W7": "cove-only", "W8": "sheet-panel",
}  # fmt: skip
"""Systems that the codes of the finish schedule stand for, as the person who keeps the job knows them."""

_XS = (OUTER, ft(19, 8), ft(19, 8) + INNER, ft(39, 4), ft(40))
_YS = (OUTER, ft(23, 4), ft(24))


def _upper(number: str, name: str, x: tuple[float, float], top: float, system: str, wall: str) -> Room:
    return Room(
        number=number,
        name=name,
        points=((x[0], _YS[0]), (x[1], _YS[0]), (x[1], _YS[1]), (x[0], _YS[1])),
        top=top,
        ceiling=top,
        system=system,
        codes=("F2", "B1", wall, "C1"),
        remark="Upper level",
        tag=((x[0] + x[1]) / 2, ft(11)),
    )


UPPER_ROOMS = (
    _upper("201", "Lockers", (_XS[0], _XS[1]), ft(9), "thin-film", "W4"),
    _upper("202", "Laboratory", (_XS[2], _XS[3]), ft(10), "mat-hygienic", "W1"),
)


def _door(mark: str, style: str, at: float, width: float, room: str) -> Opening:
    return Opening(
        mark=mark,
        style=style,
        axis="x",
        at=at,
        lo=_YS[1],
        hi=_YS[2],
        width=width,
        height=ft(7),
        rooms=(room,),
        swing=-1,
    )


UPPER_OPENINGS = (
    _door("201A", "single", ft(10), SINGLE[0], "201"),
    _door("202A", "double", ft(30), ft(6), "202"),
    Opening(mark="E", style="window", axis="x", at=ft(30), lo=0.0, hi=OUTER, width=ft(5), height=ft(4), rooms=("202",),
            sill=ft(3)),
)  # fmt: skip


def _sheet(page: pymupdf.Page, layers: dict[str, int], number: str, scale: str) -> Ink:
    ink = Ink(page, layers)
    draw_border(ink, SheetTitle(number=number, title=dict(INDEX)[number], scale=scale))
    return ink


def _cover(page: pymupdf.Page, layers: dict[str, int]) -> None:
    ink = _sheet(page, layers, "G-001", "NONE")
    ink.text("A-ANNO-TEXT", (160.0, 240.0), PROJECT, 40, bold=True)
    ink.text("A-ANNO-TEXT", (160.0, 280.0), "DRAWINGS FOR PRICING", 18)
    y = draw_table(ink, (160.0, 420.0), "DRAWINGS", (120, 420), [("SHEET", "TITLE"), *INDEX], size=13, row_height=32,
                   centred=(0,))  # fmt: skip
    notes = ("Sheets are read together.", "Where two of them differ, ask before pricing.")
    draw_notes(ink, (160.0, y + 70), "NOTES", notes)
    ink.dry()


def _ceilings(page: pymupdf.Page, layers: dict[str, int]) -> None:
    ink, frame = _sheet(page, layers, "A-121", SCALE), PLAN_IMPERIAL
    draw_walls(ink, frame, wall_areas(shell(), ROOMS, ()))
    for room in ROOMS:
        if room.codes[3] == "C1":
            x0, x1 = min(p[0] for p in room.points), max(p[0] for p in room.points)
            y0, y1 = min(p[1] for p in room.points), max(p[1] for p in room.points)
            ends = [((x, y0), (x, y1)) for x in _steps(x0, x1)] + [((x0, y), (x1, y)) for y in _steps(y0, y1)]
            for a, b in ends if not room.has_cove else ():
                ink.line("A-ANNO-SYMB", [frame.pt(a), frame.pt(b)], 0.2, tone=LIGHT)
    draw_room_tags(ink, frame, IMPERIAL, ROOMS)
    foot = frame.pt((0.0, DEPTH))[1] + 168
    draw_title(ink, (frame.x0, foot), "1", "REFLECTED CEILING PLAN", SCALE, 430)
    ink.dry()


def _steps(low: float, high: float) -> list[float]:
    return [low + k * ft(2) for k in range(1, math.ceil((high - low) / ft(2)))]


def _upper_plan(page: pymupdf.Page, layers: dict[str, int]) -> None:
    """Draw the upper level at 1/4" to the foot and print the whole sheet at half its size."""
    ink, frame = _sheet(page, layers, "A-102", SCALE), Frame(x0=420.0, y0=380.0, scale=PLAN_IMPERIAL.scale)
    draw_walls(ink, frame, wall_areas(box(0.0, 0.0, _XS[4], _YS[2]), UPPER_ROOMS, UPPER_OPENINGS))
    draw_openings(ink, frame, IMPERIAL, UPPER_OPENINGS)
    draw_room_tags(ink, frame, IMPERIAL, UPPER_ROOMS)
    (left, top), (right, bottom) = frame.pt((0.0, 0.0)), frame.pt((_XS[4], _YS[2]))
    say = IMPERIAL.length
    ink.dimensions(frame, [0.0, *_XS], "x", top - 60, top - 20, say)
    ink.dimensions(frame, [0.0, _XS[4]], "x", top - 92, top - 64, say)
    ink.dimensions(frame, [0.0, *_YS], "y", left - 60, left - 20, say)
    ink.dimensions(frame, [0.0, _YS[2]], "y", left - 92, left - 64, say)
    ink.dimensions(frame, [0.0, ft(10), ft(30), _XS[4]], "x", bottom + 60, bottom + 20, say)
    draw_title(ink, (left, bottom + 150), "1", "UPPER LEVEL PLAN", SCALE, right - left)
    ink.dry()
    page.clean_contents()
    document, xref = page.parent, page.get_contents()[0]
    document.update_stream(xref, b"q 0.5 0 0 0.5 0 0 cm\n" + document.xref_stream(xref) + b"\nQ\n")
    page.set_mediabox(pymupdf.Rect(0.0, 0.0, ANSI_D[0] / 2, ANSI_D[1] / 2))


def _details(page: pymupdf.Page, layers: dict[str, int]) -> None:
    ink = _sheet(page, layers, "A-501", "AS NOTED")
    x, y, foot = 300.0, 900.0, 72.0 / 0.0254 / 4.0  # points to the metre at 3" to the foot
    ink.box("A-ELEV", (x - ft(0, 8) * foot, y - ft(2) * foot), (x, y), 1.2, fill=0.85)
    ink.box("A-ELEV", (x - ft(0, 8) * foot, y), (x + ft(2) * foot, y + ft(0, 6) * foot), 1.2, fill=0.85)
    height, toe = ft(0, 4) * foot, ft(0, 1) * foot
    ink.line("A-ELEV", [(x, y - height), (x + 4, y - height), (x + 5, y - toe), (x + toe, y - 4), (x + toe, y)], 1.0)
    ink.text("A-ANNO-TEXT", (x + 120, y - height), 'INTEGRAL COVE, 4" HIGH', 9)
    ink.text("A-ANNO-TEXT", (x + 120, y - 20), "FLOOR FINISH BY OTHERS", 9)
    draw_title(ink, (x - 60, y + 180), "1", "COVE BASE", '3" = 1\'-0"', 360)
    ink.dry()


def _openings(page: pymupdf.Page, layers: dict[str, int]) -> None:
    ink = _sheet(page, layers, "A-602", "NONE")
    opening_table(ink, (160.0, 200.0), IMPERIAL, (*OPENINGS, *UPPER_OPENINGS))
    ink.dry()


def bid_set() -> pymupdf.Document:
    """Draw the set."""
    document = new_set([number for number, _ in INDEX], ANSI_D)
    layers = add_layers(document)
    _cover(document[0], layers)
    plan_sheet(document[1], layers, PLAN_IMPERIAL, IMPERIAL, SCALE, is_of_set=True)
    _upper_plan(document[2], layers)
    _ceilings(document[3], layers)
    elevation_sheet(document[4], layers)
    _details(document[5], layers)
    schedule_sheet(document[6], layers, UPPER_ROOMS)
    _openings(document[7], layers)
    return document


def set_truth() -> dict[str, Any]:
    """Say what a draft must come to, by the number of each room: metres, and m² of its walls all round."""
    walls = tracing.truth()["runs"]
    rooms = {}
    for room in (*ROOMS, *UPPER_ROOMS):
        seen = [o for o in (*OPENINGS, *UPPER_OPENINGS) if room.number in o.rooms]
        gone = sum(o.width * max(0.0, min(o.height + o.sill, room.top) - o.sill) for o in seen)
        gross = walls[f"{room.number}-walls"]["gross_area"] if room in ROOMS else _around(room) * room.top
        rooms[room.number] = {
            "name": room.name,
            "system": room.system,
            "height": None if room.corners else round(room.top, 6),
            "net_area": round(gross - gone, 6),
            "openings": sorted([round(v, 6) for v in (o.width, o.height, o.sill)] for o in seen),
        }
    about = "Metres and m2, walls of the room without pillars; heights are tops of the coating, null where not level."
    return {"about": about, "codes": CODES, "rooms": rooms}


def _around(room: Room) -> float:
    return sum(math.dist(a, b) for a, b in zip(room.points, room.points[1:] + room.points[:1], strict=True))


def write_set(folder: Path) -> None:
    """Write the set and its truth into a folder."""
    (folder / "facility-set.pdf").write_bytes(document_bytes(bid_set()))
    (folder / "facility-set-truth.json").write_bytes(json_bytes(set_truth()))


if __name__ == "__main__":
    write_set(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
