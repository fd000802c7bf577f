"""The page with the cut list: made in the background, led to the plan and back, dropped by an edit."""

from __future__ import annotations

import pytest

from takeoff import actions
from takeoff.gui.session import Selection


@pytest.fixture
def cutting(hand, opened):
    """The page after a press on Cut."""
    hand.window.figures.chooser._chosen("Cutting")
    hand.settle()
    cutting = hand.window.figures.panels["Cutting"]
    assert cutting.table.tree.get_children() == ()
    hand.click(cutting.cut._canvas)
    assert cutting.state.cget("text") == "cutting …"
    hand.wait(lambda: cutting.result is not None)
    assert cutting.result is not None, cutting.state.cget("text")
    return cutting


def test_cuts_are_those_of_the_command_and_each_line_shows_its_wall_on_the_plan(hand, cutting):
    session, tree = hand.window.session, cutting.table.tree
    expected = actions.cut_plans(actions.make_estimate(session.job))
    rolls = cutting.result[0].rolls
    assert len(rolls.rolls) <= len(expected[0].rolls.rolls)
    # The mat that is cut is what hangs, and it covers the wall with what laps twice and the trims.
    assert rolls.mat_area - rolls.free_area >= rolls.net_area + rolls.lap_area
    assert f"{len(rolls.rolls)} rolls, no plan takes fewer than" in cutting.state.cget("text")
    assert "laps" in cutting.state.cget("text")
    rows = [tree.item(id, "values") for id in tree.get_children()]
    drops = [row for row in rows if row[0].startswith("Chopped strand")]
    assert len(drops) == sum(1 for roll in rolls.rolls for _ in roll.cuts) + len(rolls.reused)
    for row in (0, next(i for i, values in enumerate(rows) if values[5].startswith("106 Cold room, "))):
        tree.selection_set(str(row))
        hand.settle()
        room = session.job.rooms[session.job.runs[session.selection.runs[0]].room]
        assert rows[row][5].startswith(f"{room.number} {room.name}, ")
        assert tree.selection() == (str(row),)


def test_a_wall_marks_its_first_cut_and_a_strip_of_a_room_shows_the_room(hand, cutting):
    session, tree = hand.window.session, cutting.table.tree
    session.select(Selection(runs=("106-walls",)))
    hand.settle()
    (row,) = tree.selection()
    assert tree.item(row, "values")[5].startswith("106 Cold room, ")
    room = next(id for id in tree.get_children() if tree.item(id, "values")[5] == "106 Cold room")
    tree.selection_set(room)
    hand.settle()
    assert {session.job.runs[id].room for id in session.selection.runs} == {"R106"}


def test_an_edit_drops_the_cuts_that_are_true_no_more(hand, cutting):
    hand.window.session.select(Selection(runs=("104-walls",)))
    hand.type(hand.window.details.room["height"].entry, "9'-0\"")
    hand.settle()
    assert cutting.result is None
    assert cutting.table.tree.get_children() == ()
    assert cutting.state.cget("text").startswith("The job has changed since it was cut.")
