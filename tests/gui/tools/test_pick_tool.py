"""What the arrow keys do to what is selected."""

from __future__ import annotations

import pytest

from takeoff.gui.session import Selection
from takeoff.gui.tools.pick_tool import PickTool
from takeoff.job.edits import PutRun
from takeoff.model.walls import HeightProfile, Opening, Run

WALL = Run(
    id="a",
    sheet=1,
    points_pt=((100.0, 100.0), (400.0, 100.0)),
    height=HeightProfile.constant(3.0),
    openings=(Opening(at=1.5, width=0.9, height=2.1),),
)


@pytest.mark.parametrize(
    ("rotation", "moved"), [(0, (101.0, 100.0)), (90, (100.0, 99.0)), (180, (99.0, 100.0)), (270, (100.0, 101.0))]
)
def test_an_arrow_key_moves_a_point_a_centimetre_to_where_it_points_on_the_screen(session_at, rotation, moved):
    session = session_at(rotation)
    session.do(PutRun(run=WALL))
    session.select(Selection(runs=("a",), vertex=("a", 0)))
    assert PickTool(session).key("right")
    assert session.job.runs["a"].points_pt[0] == pytest.approx(moved)


def test_with_shift_it_goes_ten_times_as_far_and_walls_go_whole(session):
    session.do(PutRun(run=WALL))
    session.select(Selection(runs=("a",)))
    assert PickTool(session).key("shift-down")
    assert session.job.runs["a"].points_pt == ((100.0, 110.0), (400.0, 110.0))


def test_an_opening_goes_along_its_wall(session):
    session.do(PutRun(run=WALL))
    session.select(Selection(runs=("a",), opening=("a", 0)))
    tool = PickTool(session)
    tool.key("right")
    tool.key("shift-left")
    assert session.job.runs["a"].openings[0].at == pytest.approx(1.41)


def test_with_nothing_selected_the_arrow_keys_are_left_to_others(session):
    assert not PickTool(session).key("left")
