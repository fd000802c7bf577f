"""Where a name has no room, the wall to show next is told with its place and how it is drawn."""

from __future__ import annotations

import pytest
import shapely

from takeoff.model.drafting import Look
from takeoff.sheet.files import read_sheets
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.lines.lost_rooms import BY_CLICK, BY_PARTING, BY_WALL, LostRoom
from takeoff.trace.lines.walls_to_show import with_walls_to_show
from tests.trace.ink import Ink, Pen
from tests.trace.lines.test_plan_rooms import M_PER_PT, place

HEAVY, LIGHT = Pen(0.7), Pen(0.35)
KNOWN = [Look(pen_pt=0.7, ink=(0, 0, 0))]


def told(*shapes, mend=BY_WALL, pen=LIGHT, yellow=False, at=(2.0, 2.0)):
    """Return what is told of a name where boxes stand; the room of 4 × 4 m round it has heavy walls on two sides."""
    ink = Ink((720, 400), place, layered=False)
    ink.shape(shapely.box(0, 0, 4, 0.2), "0", stroke=HEAVY)
    for box in shapes:
        ink.shape(box, "0", stroke=pen, fill=(1.0, 1.0, 0.6) if yellow else None)
    data = ink.data(rotate=0)
    work = read_linework(data, read_sheets(data, "plan.pdf")[0][0])
    lost = LostRoom(name="OFFICE", at_pt=place(at), reason="it is open to the outside", mend=mend)
    return with_walls_to_show([lost], work, [], KNOWN, M_PER_PT)[0].mend


def partition(thick):
    return shapely.box(4.0, 0.0, 4.0 + thick, 4.0)


def test_lines_that_stand_as_walls_do_round_a_name_are_asked_for_with_place_and_look():
    words = told(partition(0.1))
    x, y = place((4.0, 2.0))
    assert words.startswith(f"If what is drawn at {x:.0f},")
    assert words.endswith("(black pen of 0.35 pt), show it; or trace it by hand")
    assert abs(float(words.split(",")[1].split()[0]) - y) < 0.5 / M_PER_PT
    assert told(partition(0.1), mend=BY_PARTING).endswith(
        "; or draw what parts them, or take them as one by a click in it"
    )


@pytest.mark.parametrize("boxes", [[], [partition(0.03)], [partition(0.9)], [shapely.box(4.0, 1.9, 4.1, 2.1)]])
def test_nothing_is_asked_for_where_no_two_lines_stand_as_the_faces_of_a_wall_do(boxes):
    assert told(*boxes) == BY_WALL


def test_what_is_read_already_is_pulled_down_or_is_closed_by_a_click_is_not_asked_for():
    assert told(partition(0.1), pen=HEAVY) == BY_WALL
    assert told(partition(0.1), mend=BY_CLICK) == BY_CLICK
    assert told(partition(0.1), pen=None, yellow=True) == BY_WALL


@pytest.mark.parametrize(("away", "is_asked"), [(7.5, True), (8.5, False)])
def test_walls_are_looked_for_as_far_as_rooms_go_on(away, is_asked):
    assert (told(shapely.box(2 + away, -9, 2.1 + away, 13)) != BY_WALL) == is_asked


@pytest.mark.parametrize(("long", "is_asked"), [(0.9, True), (0.6, False)])
def test_it_takes_three_directions_out_of_36_in_which_a_wall_is_seen(long, is_asked):
    """By hand: at 2 m three directions 10° apart, 5° and 15° off the square: 0.17 and 0.54 m beside it."""
    assert (told(shapely.box(4.0, 1.7, 4.1, 1.7 + long)) != BY_WALL) == is_asked
