"""Walls of which nothing but a line is drawn: the faces between the lines are the rooms, and none of them is sure."""

from __future__ import annotations

import pytest
import shapely

from takeoff.model.drafting import DraftingStyle, Look
from takeoff.model.plan import Calibration
from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.sheet_reading import read_vector_plan
from tests.trace.ink import Ink, Pen
from tests.trace.lines.test_plan_rooms import M_PER_PT, place

OUTER, INNER, OTHER = Pen(0.7), Pen(0.35), Pen(0.18)
SHOWN = DraftingStyle(
    name="office", walls=(Look(pen_pt=0.7, ink=(0, 0, 0)), Look(pen_pt=0.35, ink=(0, 0, 0)))
)  # fmt: skip


def traced(*steps, style=None):
    ink = Ink((720, 400), place, layered=False)
    for step in steps:
        step(ink)
    data = ink.data(rotate=0)
    sheet = read_sheets(data, "plan.pdf")[0][0]
    scale = Calibration(sheet=1, mx=M_PER_PT, my=M_PER_PT)
    return read_vector_plan(data, read_linework(data, sheet), read_lines(data, sheet), sheet, scale, style)


def house(ink):
    """Draw 9 × 4 m in single lines, parted at 5 m, with a door of 0.9 m in that wall, and at 7 m to half its depth."""
    ink.shape(shapely.box(0.0, 0.0, 9.0, 4.0), "0", stroke=OUTER)
    ink.line((5.0, 0.0), (5.0, 1.0), "0", INNER)
    ink.line((5.0, 1.9), (5.0, 4.0), "0", INNER)
    ink.line((5.0, 2.5), (9.0, 2.5), "0", INNER)
    ink.line((5.0, 1.0), (4.1, 1.0), "0", OTHER)
    ink.arc((5.0, 1.0), 0.9, 1.5708, 1.5708, "0", OTHER)


def names(ink):
    for at, name in (((2.0, 3.0), "STORE"), ((7.5, 1.0), "OFFICE"), ((7.0, 3.2), "KITCHEN")):
        ink.text(at, name, 8, "0")


@pytest.mark.parametrize("style", [None, SHOWN])
def test_the_faces_between_single_lines_are_rooms_that_are_not_sure(style):
    """By hand, a line taken as 10 mm: 4.99 × 3.99, 3.99 × 2.49 and 3.99 × 1.49 m; the door is one on both its sides."""
    plan = traced(house, names, style=style)
    rooms = {room.name: room for room in plan.rooms}
    areas = {"STORE": 19.91, "OFFICE": 9.935, "KITCHEN": 5.945}
    assert {name: room.area for name, room in rooms.items()} == pytest.approx(areas, abs=0.01)
    assert all(not room.sure and "single lines" in room.reasons[0] for room in plan.rooms)
    assert [round(o.width, 2) for o in rooms["STORE"].openings] == [round(o.width, 2) for o in rooms["OFFICE"].openings]
    assert [o.kind for o in rooms["STORE"].openings] == ["door"]


def test_single_lines_by_themselves_are_no_walls_without_names():
    assert not traced(house).rooms


def test_what_is_shown_in_vain_makes_a_sheet_no_worse_and_is_told():
    """What is shown is the leaf of a door: it closes nothing, so the sheet is read as if nothing were shown."""
    leaf = DraftingStyle(name="office", walls=(Look(pen_pt=0.18, ink=(0, 0, 0)),))
    plan = traced(house, names, style=leaf)
    assert {room.name for room in plan.rooms} == {"STORE", "OFFICE", "KITCHEN"}
    assert all("was shown" in room.reasons[-1] for room in plan.rooms)


@pytest.mark.parametrize(("walls", "rooms"), [(2, 3), (4, 0)])
def test_single_lines_whose_cells_mostly_have_no_opening_are_a_grid_and_part_no_rooms(walls, rooms):
    """A door in the first of some lines leads into two cells: of three they are most, of five they are not."""

    def row(ink):
        ink.shape(shapely.box(0.0, 0.0, 10.0, 4.0), "0", stroke=OUTER)
        step = 10.0 / (walls + 1)
        for i in range(1, walls + 1):
            low = 1.9 if i == 1 else 0.0
            ink.line((i * step, low), (i * step, 4.0), "0", OUTER)
        ink.line((step, 0.0), (step, 1.0), "0", OUTER)
        ink.line((step, 1.0), (step - 0.9, 1.0), "0", OTHER)
        ink.arc((step, 1.0), 0.9, 1.5708, 1.5708, "0", OTHER)
        for i, name in enumerate(("STORE", "OFFICE", "KITCHEN")):
            ink.text(((i + 0.5) * step, 3.0), name, 8, "0")

    assert len(traced(row, style=SHOWN).rooms) == rooms
