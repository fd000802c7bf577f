"""Reading off the plan: what is measured is said and nothing is put into the job."""

from __future__ import annotations

from takeoff.gui.tools.measure_tool import MeasureTool
from takeoff.gui.tools.tool import Pick


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
