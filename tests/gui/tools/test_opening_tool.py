"""Openings placed by hand: what nobody gave of their sizes is an open point, what is drawn is taken as drawn."""

from __future__ import annotations

from dataclasses import replace

import pytest

from takeoff import actions
from takeoff.gui.panels.details_panel import DetailsPanel
from takeoff.gui.session import Selection
from takeoff.gui.tools.opening_tool import OpeningTool
from takeoff.gui.tools.tool import Pick
from takeoff.model.walls import HeightProfile, Run
from takeoff.trace.lines.traced_rooms import TracedOpening

WALL = Run(id="a", sheet=1, points_pt=((50.0, 50.0), (550.0, 50.0)), face="left", height=HeightProfile.constant(3.0))


class NothingRead:
    """Reads no drawing."""

    def trace_of(self, _sheet):
        return None


def placed(session, *typed: str, keys: str = ""):
    """The opening that a click on a wall of 5 m makes, after keys and typed sizes; and the fields that are open."""
    session.put_runs([WALL], "Put a wall")
    tool = OpeningTool(session, NothingRead())
    for key in keys:
        tool.key(key)
    for text in typed:
        tool.typed(text)
    tool.press(Pick(pt=(300.0, 50.0), raw_pt=(300.0, 50.0)))
    (opening,) = session.job.runs["a"].openings
    return opening, open_fields(session)


def open_fields(session) -> set[str]:
    points = actions.open_points(session.job, has_stakes=False).open
    return {point.key.partition(":")[0] for point in points if point.where.opening is not None}


def test_a_door_placed_before_a_size_is_given_has_its_sizes_open(session):
    opening, are_open = placed(session)
    assert (opening.width, opening.height) == (0.9, 2.1)  # the decimetres next to 3 and 7 ft, for the job is metric
    assert {"width", "height"} <= are_open


def test_a_windows_sill_that_nobody_gave_is_open_too(session):
    opening, are_open = placed(session, keys="w")
    assert opening.kind == "window"
    assert {"width", "height", "sill"} <= are_open


def test_a_typed_size_is_a_persons(session):
    opening, are_open = placed(session, "1200 x 900 sill 1000")
    assert (opening.width, opening.height, opening.sill) == pytest.approx((1.2, 0.9, 1.0))
    assert not are_open & {"width", "height", "sill"}


def test_what_the_panel_was_told_of_one_opening_is_assumed_of_the_next(session, window):
    placed(session, "900 x 2000")
    session.select(Selection(runs=("a",), opening=("a", 0)))
    panel = DetailsPanel(window, pytest.fail)
    panel.show(session)
    panel.opening["height"].entry.delete(0, "end")
    panel.opening["height"].entry.insert(0, "2200")
    panel.opening["height"]._take()
    assert session.job.runs["a"].openings[0].height == pytest.approx(2.2)
    assert "height" not in open_fields(session)
    tool = OpeningTool(session, NothingRead())
    tool.press(Pick(pt=(100.0, 50.0), raw_pt=(100.0, 50.0)))
    after = next(o for o in session.job.runs["a"].openings if o.at < 2.0)
    assert after.height == pytest.approx(2.2)
    assert "height" in open_fields(session)
    session.select(Selection(runs=("a",), opening=("a", session.job.runs["a"].openings.index(after))))
    panel.show(session)
    names = {key: panel.opening[key].label.cget("text") for key in ("height", "reveal")}
    assert names == {"height": "Height ?", "reveal": "Reveal"}  # what nobody gave has a question mark


DRAWN = TracedOpening(at=2.5, width=0.83, form="swing", kind="door", confidence=0.99, reason="a swing", height=2.0)


def test_an_opening_as_drawn_has_the_drawings_sizes_and_says_where_they_are_from():
    made = actions.opening_as_drawn(DRAWN, actions.usual_opening("door", "metric"), 1, "metric")
    how = {basis.of: basis.how for basis in made.basis}
    assert (made.width, made.height) == (0.83, 2.0)
    assert (how["width"], how["height"]) == ("measured", "schedule")


@pytest.mark.parametrize(("kind", "height"), [("door", 2.5), ("window", 1.2)])
def test_what_a_drawing_does_not_give_is_as_of_the_opening_before_where_that_is_alike(kind, height):
    before = replace(actions.usual_opening("door", "metric"), height=2.5, basis=(), reveal=0.1)
    made = actions.opening_as_drawn(replace(DRAWN, kind=kind, height=None), before, 1, "metric")
    is_open = {basis.of for basis in made.basis if basis.is_open}
    assert made.height == pytest.approx(height)
    assert ("height" in is_open) is (kind == "window")  # of the door a person gave it
