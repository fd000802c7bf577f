"""Tracing under the hand: right angles at snaps, angles and places as they are seen, and no line lost."""

from __future__ import annotations

import math

import pytest

from takeoff.errors import InputError
from takeoff.gui.tools.points_tools import BoxTool
from takeoff.gui.tools.tool import Pick
from takeoff.gui.tools.trace_tool import MeasureTool, TraceTool
from takeoff.sheet.frame import displayed_to_sheet, sheet_to_displayed


def at(x, y, **more):
    return Pick(pt=(x, y), raw_pt=(x, y), **more)


def traced(session, *points):
    tool = TraceTool(session)
    for point in points:
        tool.press(at(*point))
    return tool


def test_with_shift_a_snap_gives_the_distance_and_shift_the_direction(session):
    tool = traced(session, (100.0, 100.0), (200.0, 100.0))
    tool.press(at(203.0, 180.0, snap="end", is_shift=True))
    assert tool.points[-1] == pytest.approx((200.0, 180.0))
    tool.press(at(303.0, 185.0, snap="end"))
    assert tool.points[-1] == (303.0, 185.0)


@pytest.mark.parametrize("rotation", [0, 90, 180, 270])
def test_a_level_line_reads_zero_degrees_and_a_typed_angle_turns_as_it_is_seen(session_at, rotation):
    """Counter-clockwise from the right, as in plane geometry: 90° up, 270° down on the screen."""
    session = session_at(rotation)
    middle = sheet_to_displayed(session.sheet, 300.0, 200.0)
    right = displayed_to_sheet(session.sheet, middle[0] + 80.0, middle[1])
    tool = traced(session, (300.0, 200.0))
    tool.move(at(*right))
    assert " 0.0°" in tool.readout()
    tool.typed("1 m 270°")
    shown = sheet_to_displayed(session.sheet, *tool.points[-1])
    assert shown == pytest.approx((middle[0], middle[1] + 100.0))


@pytest.mark.parametrize("rotation", [0, 90, 180, 270])
def test_a_typed_place_is_right_and_down_of_the_corner_as_it_is_seen(session_at, rotation):
    session = session_at(rotation)
    tool = TraceTool(session)
    tool.typed("1 m, 2.5 m")
    assert sheet_to_displayed(session.sheet, *tool.points[0]) == pytest.approx((100.0, 250.0))


def test_a_box_typed_on_a_turned_page_is_as_wide_as_it_is_seen(session_at):
    session = session_at(90)
    tool = BoxTool(session)
    tool.press(at(300.0, 200.0))
    tool.move(at(*displayed_to_sheet(session.sheet, 400.0, 500.0)))
    tool.typed("1 m x 0.5 m")
    (run,) = session.job.runs.values()
    shown = [sheet_to_displayed(session.sheet, *p) for p in run.points_pt]
    across, down = ([p[i] for p in shown] for i in (0, 1))
    assert (max(across) - min(across), max(down) - min(down)) == pytest.approx((100.0, 50.0))


def test_a_text_that_is_no_angle_is_refused(session):
    tool = traced(session, (300.0, 200.0))
    with pytest.raises(InputError, match="not an angle"):
        tool.typed("1 m x°")


def test_escape_asks_before_it_drops_a_line_and_a_single_point_goes_at_once(session):
    tool = traced(session, (100.0, 100.0))
    assert tool.cancel()
    assert not tool.points
    tool = traced(session, (100.0, 100.0), (200.0, 100.0))
    assert tool.cancel()
    assert len(tool.points) == 2
    assert session.is_refusal
    assert tool.cancel()
    assert not tool.points
    assert session.job.runs == {}


def test_a_line_that_is_not_finished_is_kept_when_another_tool_is_taken(session):
    tool = traced(session, (100.0, 100.0), (200.0, 100.0))
    tool.put_down()
    (run,) = session.job.runs.values()
    assert run.points_pt == ((100.0, 100.0), (200.0, 100.0))
    assert "kept as a wall" in session.message
    assert session.undo()
    assert session.job.runs == {}


def test_going_back_takes_points_and_then_says_that_there_is_none(session):
    tool = traced(session, (100.0, 100.0), (200.0, 100.0))
    assert tool.has_steps
    assert [tool.back() for _ in range(3)] == [True, True, False]
    assert not tool.has_steps


def test_a_line_of_two_points_makes_a_wall_as_long_as_they_are_apart(session):
    tool = traced(session, (100.0, 100.0), (160.0, 180.0))
    tool.finish()
    measured, _ = session.measured("run")
    (run,) = session.job.runs.values()
    assert math.dist(*run.points_pt) == 100.0
    assert measured.measurement.items == ()  # it has no height yet


def measured(session, *points):
    tool = MeasureTool(session)
    for x, y in points:
        tool.press(Pick(pt=(x, y), raw_pt=(x, y)))
    return tool


def test_a_line_is_as_long_as_its_pieces(session):
    """The hypotenuse of a right triangle of 3 and 4 is 5 (Euclid, Elements, I.47)."""
    tool = measured(session, (100.0, 100.0), (400.0, 100.0), (400.0, 300.0))
    tool.finish()
    assert "5.000 m" in session.message
    assert session.job.runs == {}
    assert not tool.points


def test_a_closed_outline_tells_its_area_and_its_length(session):
    """The triangle of 3, 4 and 5 holds 6 (half of 3 × 4)."""
    tool = measured(session, (100.0, 50.0), (400.0, 50.0), (400.0, 350.0), (100.0, 350.0))
    tool.key("c")
    assert "9.00 m²" in session.message
    assert "12.000 m" in session.message
    assert session.job.runs == {}


def test_putting_the_tool_down_keeps_nothing(session):
    tool = measured(session, (100.0, 50.0), (400.0, 50.0))
    tool.put_down()
    assert session.job.runs == {}
