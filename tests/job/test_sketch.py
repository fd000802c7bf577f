"""A line under the hand: steps, arcs, the side that is coated, and the run that it makes."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from takeoff.errors import GeometryError
from takeoff.job.sketch import Sketch, box_run, run_around
from takeoff.model.walls import Run

EMPTY = Sketch(sheet=1)
SQUARE = ((0.0, 0.0), (100.0, 0.0), (100.0, 80.0), (0.0, 80.0))
steps = st.lists(
    st.one_of(st.tuples(st.floats(0, 500), st.floats(0, 500)), st.sampled_from(["arc", "flip"])), max_size=12
)


def drawn(*points, **fields):
    sketch = Sketch(sheet=1, **fields)
    for point in points:
        sketch = sketch.placed(point)
    return sketch


@given(steps)
def test_whatever_is_done_there_is_a_bulge_for_every_piece_and_going_back_ends_at_nothing(done):
    sketch = EMPTY
    for step in done:
        sketch = (
            sketch.turned_to_arc() if step == "arc" else sketch.flipped() if step == "flip" else sketch.placed(step)
        )
        assert len(sketch.bulges) == max(len(sketch.points) - 1, 0)
    for _ in range(40):
        sketch = sketch.back()
    assert (sketch.points, sketch.bulges, sketch.arc) == ((), (), "")


def test_a_point_on_the_last_one_is_not_taken_twice():
    assert drawn((5.0, 5.0), (5.0, 5.0)).points == ((5.0, 5.0),)


def test_an_arc_is_its_end_and_then_a_point_on_it():
    """A half circle has bulge 1: tan of a quarter of 180 degrees (the DXF convention, from memory)."""
    arc = drawn((0.0, 0.0)).turned_to_arc().placed((20.0, 0.0)).placed((10.0, 10.0))
    assert arc.points == ((0.0, 0.0), (20.0, 0.0))
    assert abs(arc.bulges[0]) == pytest.approx(math.tan(math.pi / 4))
    assert max(math.dist(p, (10.0, 0.0)) for p in arc.flat()) == pytest.approx(10.0)
    assert arc.run(is_closed=False).bulges == arc.bulges


@pytest.mark.parametrize("points", [SQUARE, SQUARE[::-1]])
def test_a_closed_line_is_coated_inside_whichever_way_it_was_traced(points):
    """Of someone walking along y = 0 towards larger x on a page with y down, the room below is at the right hand."""
    run = drawn(*points).run(is_closed=True)
    assert run.face == ("right" if points == SQUARE else "left")
    assert drawn(*points, is_flipped=True).run(is_closed=True).face != run.face


def test_a_pillar_inside_a_room_is_coated_outside_and_belongs_to_the_room():
    room = Run(id="a", sheet=1, room="R1", points_pt=SQUARE, closed=True, face="right")
    pillar = ((40.0, 40.0), (50.0, 40.0), (50.0, 50.0), (40.0, 50.0))
    around = run_around(pillar, [room])
    assert around is room
    run = drawn(*pillar).run(is_closed=True, around=around)
    assert (run.face, run.room) == ("left", "R1")
    assert run_around([(200.0, 0.0)], [room]) is None


def test_a_box_is_coated_inside_from_any_two_corners():
    for a, b in ((SQUARE[0], SQUARE[2]), (SQUARE[2], SQUARE[0]), (SQUARE[1], SQUARE[3])):
        assert box_run(1, a, b) == Run(
            id="new", sheet=1, closed=True, face="left", points_pt=(SQUARE[3], SQUARE[2], SQUARE[1], SQUARE[0])
        )


def test_one_point_makes_no_wall():
    with pytest.raises(GeometryError):
        drawn((5.0, 5.0)).run(is_closed=False)


@pytest.mark.parametrize("points", [SQUARE[:3], SQUARE[2::-1]])
def test_an_open_line_that_turns_is_coated_on_its_inside_whichever_way_it_was_traced(points):
    run = drawn(*points).run(is_closed=False)
    assert run.face == ("right" if points == SQUARE[:3] else "left")
    assert drawn(*points, is_flipped=True).run(is_closed=False).face != run.face


def test_a_straight_open_line_is_coated_on_the_left_hand():
    """A turn of 0.23 degrees, 0.1 in 50 on either side, is the hand's and has no inside."""
    assert drawn((0.0, 0.0), (50.0, 0.1), (100.0, 0.0)).run(is_closed=False).face == "left"
    assert drawn((100.0, 0.0), (50.0, 0.1), (0.0, 0.0)).run(is_closed=False).face == "left"
