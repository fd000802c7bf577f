"""Where walls do not close, the outline that they would have is told, and where it goes on without a wall."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest
import shapely

from takeoff.model.plan import Calibration
from takeoff.sheet.text import TextLine, Word
from takeoff.trace.lines.lost_rooms import BY_CLICK, BY_WALL, lost_fields, lost_rooms
from takeoff.trace.lines.open_rooms import OpenRooms, open_room_at
from takeoff.trace.lines.plan_rooms import TracedPlan, room_round, trace_open_room
from takeoff.trace.texts.room_names import other_labels, stacked
from takeoff.units.showing import Display, in_units
from tests.trace.lines.test_plan_rooms import DOOR, M_PER_PT, PEN, THIN, WINDOW, drawn, filled, names, place

GAP = shapely.box(-0.01, 1.0, 0.21, 3.0)
"""A gap of 2 m in the outer wall of the room of 5 × 4 m: wider than any bare gap that is taken for an opening."""
WALLS = shapely.box(0, 0, 5.4, 4.4).difference(shapely.box(0.2, 0.2, 5.2, 4.2)).difference(GAP)


def test_a_room_with_a_wide_gap_is_its_inner_face_and_the_gap_is_told():
    """By hand: 5 × 4 = 20 m², the gap from y = 1 to y = 3 on the inner face, x = 0.2."""
    room = open_room_at(WALLS, (2.0, 2.0), 1.0)
    assert room is not None
    assert room.shape.area == pytest.approx(20.0, rel=0.005)
    ((a, b),) = room.leaks_pt
    assert sorted((a[1], b[1])) == pytest.approx([1.0, 3.0], abs=0.05)
    assert (a[0], b[0]) == pytest.approx((0.2, 0.2), abs=0.03)


def test_a_place_in_the_open_or_in_a_wall_is_in_no_room():
    finder = OpenRooms(WALLS, 1.0)
    assert finder.at((9.0, 2.0)) is None
    assert finder.at((0.1, 0.1)) is None


def test_a_click_in_a_room_with_an_open_side_gives_it_and_tells_the_side():
    """By hand: 5.2 × 4 m up to the ends of two walls; the open side is 4 m long."""
    plan = TracedPlan(rooms=(), shapes=(), walls=WALLS.difference(shapely.box(-1, 0.2, 0.2, 4.2)))
    room = room_round(plan, (2.0, 2.0), [], Calibration(sheet=1, mx=1.0, my=1.0))
    assert room is not None
    assert room.area == pytest.approx(5.2 * 4.0, rel=0.02)
    assert [math.dist(*leak) for leak in room.leaks_pt] == [pytest.approx(4.0, abs=0.1)]
    assert not room.sure


def test_a_click_in_a_room_that_does_not_close_gives_it_with_a_bare_opening_and_never_as_sure():
    plan = drawn(filled(WINDOW, DOOR, GAP), names)
    at = place((1.0, 2.0))
    room = trace_open_room(plan, at, [], Calibration(sheet=1, mx=M_PER_PT, my=M_PER_PT))
    assert room is not None
    assert not room.sure
    assert not room.outline_sure
    assert 2.0 in [pytest.approx(o.width, abs=0.06) for o in room.openings]


def test_a_name_in_a_room_that_was_not_read_is_listed_with_the_reason():
    plan = drawn(filled(GAP, WINDOW, DOOR), names)
    assert "STORE" in [lost.name for lost in plan.lost]
    reason = next(lost.reason for lost in plan.lost if lost.name == "STORE")
    assert re.search(r"no wall closes it at \d+,\d+ for \d\.\d\d m\b", reason)
    assert re.search(r"at \d+,\d+ for \d'-\d", in_units(reason, Display(system="imperial")))


def test_a_name_in_a_room_that_was_read_is_not_lost():
    found = [shapely.box(0, 0, 100, 100)]
    assert lost_rooms([], found, shapely.box(0, 0, 100, 100), WALLS, 1.0) == ((), ())
    assert drawn(filled(), names).lost == ()


def test_every_name_number_and_area_without_a_room_is_lost_once_with_what_mends_it():
    def texts(ink):
        for text, x, y in [
            ("COLD", 2.0, 2.0), ("STORE", 2.0, 2.25), ("107", 2.0, 2.5), ("20.0 m²", 2.0, 2.75),
            ("12.0 m²", 4.8, 3.9), ("OFFICE", 7.0, 2.0), ("NORTH ELEVATION", 5.0, 5.6), ("31 m²", 9.0, 6.0),
        ]:  # fmt: skip
            ink.text((x, y), text, 8.0, "A-ANNO")

    plan = drawn(filled(GAP, DOOR), texts, size=(720, 480))
    assert [(lost.name, lost.mend) for lost in plan.lost] == [("COLD STORE", BY_CLICK), ("12.0 m²", BY_CLICK)]


def test_a_number_like_those_of_rooms_is_lost_where_no_room_is():
    def line(text, x, y):
        return TextLine(words=(Word(text=text, box_pt=(x, y, x + 9, y + 5)),), box_pt=(x, y, x + 9, y + 5))

    lines = [line("101", 0, 0), line("102", 20, 0), line("103", 40, 0), line("7", 60, 0), line("2100", 80, 0)]
    others = other_labels(lines, ["101", "102"], ())
    assert [one.text for one in others] == ["101", "102", "103"]
    (lost,), _ = lost_rooms([], [shapely.box(0, 0, 38, 9)], shapely.box(0, 0, 99, 9), shapely.Polygon(), 1.0, others)
    assert (lost.name, lost.mend) == ("103", BY_WALL)


@pytest.mark.parametrize("is_turned", [False, True])
def test_lines_of_one_name_are_one_lost_room_on_a_turned_page_too(is_turned):
    def line(text, at):
        box = (at, 10.0, at + 5.0, 40.0) if is_turned else (10.0, at, 40.0, at + 5.0)
        return TextLine(words=(Word(text=text, box_pt=box),), box_pt=box)

    lines = [line("COLD", 20.0), line("STORE", 27.0), line("OFFICE", 60.0)]
    lost, _ = lost_rooms(lines, [], shapely.box(0, 0, 99, 99), shapely.Polygon(), 1.0)
    assert [one.name for one in lost] == ["COLD STORE", "OFFICE"]


def _line(text, x, y):
    return TextLine(words=(Word(text=text, box_pt=(x, y, x + 30, y + 5)),), box_pt=(x, y, x + 30, y + 5))


def test_lines_of_one_name_are_one_though_the_middle_one_is_no_name():
    lines = [_line("OFFICE", 10, 20), _line("NO. 2", 10, 27), _line("ANNEXE", 10, 34)]
    assert [[one.text for one in stack] for stack in stacked([lines[0], lines[2]], lines)] == [["OFFICE", "ANNEXE"]]
    numbered = [_line("OFFICE", 10, 20), _line("102", 10, 27), _line("STORE", 10, 34)]
    assert len(stacked([numbered[0], numbered[2]], numbered)) == 2


def test_a_name_beside_all_walls_is_a_note_unless_a_number_of_rooms_stands_at_it():
    names = [_line("PANTRY", 210, 20), _line("REMOVE DEBRIS", 310, 20)]
    number = _line("103", 210, 27)
    found, ground = [shapely.box(0, 0, 99, 99)], shapely.box(0, 0, 99, 99)
    lost, _ = lost_rooms(names, found, ground, shapely.Polygon(), 1.0, [number], [*names, number])
    assert [one.name for one in lost] == ["PANTRY"]


def test_a_place_in_the_open_is_no_room_though_walls_all_but_enclose_it():
    def texts(ink):
        ink.text((2.0, 2.0), "FRONT PATIO", 8.0, "A-ANNO")

    plan = drawn(filled(GAP, DOOR), texts)
    assert [lost.name for lost in plan.lost] == ["FRONT PATIO"]
    assert not any(room.name == "FRONT PATIO" for room in plan.rooms)


def test_a_field_between_rooms_as_large_as_these_is_told_of_unless_a_name_in_it_is():
    """Four cells of 4 × 4 m in walls of 0.2 m, one open to the outside by 2 m: three are rooms, the fourth is told."""
    cells = [shapely.box(x, y, x + 4, y + 4) for x in (0.0, 4.2) for y in (0.0, 4.2)]
    walls = shapely.box(-0.2, -0.2, 8.4, 8.4).difference(shapely.union_all([*cells, shapely.box(8.1, 5.2, 8.5, 7.2)]))
    (field,) = lost_fields(cells[:3], walls, (), 1.0)
    assert field.name == ""
    assert cells[3].contains(shapely.Point(field.at_pt))
    assert "about 16 m²" in field.reason
    assert lost_fields(cells[:3], walls, (replace(field, name="OFFICE"),), 1.0) == ()
    assert lost_fields(cells, walls, (), 1.0) == ()
    assert lost_fields(cells[:1], walls, (), 1.0) == ()


def test_a_closed_field_without_a_name_is_not_sure_where_most_names_stand_in_no_room():
    """Both names stand where walls do not close; what closes has 2 × 2 m, a door and no name."""

    def closet(ink):
        walls = shapely.box(10, 0, 12.4, 2.4).difference(shapely.box(10.2, 0.2, 12.2, 2.2))
        ink.shape(walls.difference(shapely.box(10.6, -0.01, 11.5, 0.21)), "A-WALL", stroke=PEN, fill=0.3)
        ink.line((10.6, 0.2), (10.6, 1.1), "A-DOOR", THIN)
        ink.arc((10.6, 0.2), 0.9, 0.0, math.pi / 2, "A-DOOR", THIN)

    wide = shapely.box(9.19, 0.5, 9.41, 4.0)
    for gaps, is_lost in (((GAP, wide), True), ((), False)):
        plan = drawn(filled(DOOR, *gaps), closet, names, size=(900, 400))
        (room,) = [room for room in plan.rooms if room.area == pytest.approx(4.0, abs=1e-3)]
        assert room.outline_sure != is_lost
        assert any("Most names" in reason for reason in room.reasons) == is_lost


@pytest.mark.parametrize(("wide", "is_gate"), [(4.9, True), (6.2, True), (6.8, False)])
def test_an_empty_gap_between_two_ends_of_walls_is_a_gate_up_to_the_width_of_two(wide, is_gate):
    walls = shapely.box(0, 0, 9.4, 6.2).difference(shapely.box(0.2, 0.2, 9.2, 6.0))

    def garage(ink):
        ink.shape(walls.difference(shapely.box(1.0, -0.01, 1.0 + wide, 0.21)), "A-WALL", stroke=PEN, fill=0.3)

    gates = drawn(garage).gates
    assert gates.area * M_PER_PT**2 == pytest.approx(0.2 * wide if is_gate else 0.0, abs=0.05)
