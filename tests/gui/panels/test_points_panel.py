"""The list of open points: most money first, a click goes to the place, several are confirmed or given at once."""

from __future__ import annotations

from dataclasses import replace

import pytest

from takeoff import actions
from takeoff.gui.job_shapes import job_shapes
from takeoff.gui.session import Selection
from takeoff.job.edits import Batch, PutRoom, PutRun
from takeoff.model.open_points import Basis
from takeoff.model.walls import HeightProfile, Opening, Room, Run
from takeoff.signing import signed


@pytest.fixture
def panel(hand, job_file):
    """The page of open points of a wall with a door and two windows of assumed sizes, once it is worked out."""
    height = {"how": "assumed", "text": "a usual size, as the plan shows none", "of": "height"}
    sill = Basis(**height | {"of": "sill"}, taken=0.9144, low=0.6, high=1.2)
    window = Opening(at=6.0, width=1.2, height=1.2192, sill=0.9144, kind="window")
    window = replace(window, basis=(Basis(**height, taken=1.2192, low=0.9, high=1.8), sill))
    door = Opening(at=2.0, width=0.9, height=2.1336, basis=(Basis(**height, taken=2.1336, low=2.0, high=2.4),))
    line = ((300.0, 400.0), (1200.0, 400.0))
    room = Room(id="R104", number="104", height=HeightProfile.constant(3.0), system="mat-hygienic")
    run = Run(id="R104-walls", sheet=1, room="R104", points_pt=line, openings=(door, window, replace(window, at=9.0)))
    with actions.open_job(job_file, signed) as store:
        actions.set_scale_read(store, store.job.sheets[1])
        store.do(Batch(title="A wall", edits=(PutRoom(room=room), PutRun(run=run))))
    hand.open(job_file)
    hand.key("F12")
    return worked_out(hand)


def worked_out(hand):
    """Wait for the list."""
    panel = hand.window.figures.panels["Open points"]
    hand.wait(lambda: panel.result is not None)
    return panel


def row_of(panel, group: str) -> str:
    return str(next(i for i, g in enumerate(panel.groups) if g.points[0].group == group))


def test_the_count_stands_in_the_status_line_and_the_list_has_most_money_first(hand, panel):
    assert hand.window.desk._checks.cget("text") == f"{len(panel.result.open)} open points"
    money = [group.money for group in panel.groups if group.is_priced]
    assert money == sorted(money, reverse=True)


def test_a_click_goes_to_the_place_with_the_opening_selected_and_says_why(hand, panel):
    panel.table.tree.selection_set(row_of(panel, "Window sills taken at 3'-0\""))
    hand.settle()
    run, index = hand.window.session.selection.opening
    assert hand.window.session.job.runs[run].openings[index].kind == "window"
    assert hand.window.tool.id == "pick"
    assert "the plan shows none" in hand.window.figures.working.get("1.0", "end")


def test_lines_that_are_chosen_together_are_confirmed_at_once_and_one_undo_takes_it_back(hand, panel):
    before = len(panel.result.open)
    rows = [row_of(panel, f"Window {what}") for what in ("sills taken at 3'-0\"", "heights taken at 4'-0\"")]
    panel.table.tree.selection_set(rows)
    hand.settle()
    panel.confirm.invoke()
    hand.settle()
    assert len(worked_out(hand).result.open) < before
    assert not [p for p in worked_out(hand).result.open if p.group.startswith("Window")]
    hand.window.session.undo()
    hand.settle()
    assert len(worked_out(hand).result.open) == before


def test_a_typed_value_is_given_to_every_opening_of_the_line(hand, panel):
    panel.table.tree.selection_set(row_of(panel, "Window sills taken at 3'-0\""))
    hand.settle()
    panel.value.insert(0, "3'-6\"")
    panel.give.invoke()
    hand.settle()
    sills = [o.sill for o in hand.window.session.job.runs["R104-walls"].openings if o.kind == "window"]
    assert sills == [pytest.approx(1.0668)] * len(sills)
    assert not [p for p in worked_out(hand).result.open if p.group.startswith("Window sills")]


def test_nothing_chosen_is_told_and_changes_nothing(hand, panel):
    job = hand.window.session.job
    hand.window.session.select(Selection())
    panel.table.tree.selection_set(())
    panel.confirm.invoke()
    assert panel.state.cget("text") == "Press N, or choose one or more lines first."
    assert hand.window.session.job is job


def test_a_given_value_gives_the_keys_back_to_the_plan_and_function_keys_work_in_a_field(hand, panel):
    window = hand.window
    panel.table.tree.selection_set(row_of(panel, "Window sills taken at 3'-0\""))
    hand.settle()
    inner = panel.value._entry
    hand.give_keys(inner)
    assert window.keyboard.is_typing()
    inner.event_generate("<KeyPress-F9>")
    window.update()
    assert not window.desk._shows("figures")
    inner.event_generate("<KeyPress-F9>")
    inner.insert(0, "3'-6\"")
    inner.event_generate("<Return>")
    window.update()
    assert window.focus_get() is window.canvas


def test_a_system_is_given_by_the_name_that_is_shown(hand, panel):
    session = hand.window.session
    room = replace(session.job.rooms["R104"], basis=(Basis(of="system", taken="mat-hygienic", how="assumed"),))
    session.put_rooms([room], "A system that nobody chose")
    panel = worked_out(hand)
    row = next(i for i, g in enumerate(panel.groups) if g.points[0].key == "system:R104")
    assert panel.groups[row].points[0].taken == "Reinforced hygienic wall, epoxy glaze"
    panel.table.tree.selection_set(str(row))
    panel.value.insert(0, "thin-film epoxy WALL")
    panel.give.invoke()
    assert session.job.rooms["R104"].system == "thin-film"


def test_points_are_looked_at_and_confirmed_one_after_another_by_keys(hand, panel):
    """The two windows have one line for their sills: each is gone to by itself, and confirmed by itself."""
    session = hand.window.session
    before = {point.key for point in panel.result.open}
    panel.table.tree.selection_set(row_of(panel, "Window sills taken at 3'-0\""))
    hand.settle()
    assert panel.confirm.cget("text") == "Confirm all 2"
    hand.key("n")
    hand.settle()
    assert session.selection.opening == ("R104-walls", 1)
    assert "1 of 2 on this line" in hand.window.figures.working.get("1.0", "end")
    assert session.looked_at == panel.shown.where.at_pt
    assert any(shape.points_pt == (session.looked_at,) for shape in job_shapes(session, 1.0))
    hand.key("k")
    hand.settle()
    assert session.selection.opening == ("R104-walls", 2)
    open_now = {point.key for point in worked_out(hand).result.open}
    assert len(before - open_now) == 1
    (sill,) = (key for key in before - open_now)
    assert sill.startswith("sill:")
    hand.key("p")
    assert panel.shown.key in open_now


def test_the_first_point_is_gone_to_as_soon_as_the_list_is_there(hand, panel):
    hand.window.figures.open_page("Rooms")
    hand.window.session.put_rooms([replace(hand.window.session.job.rooms["R104"], name="LAB")], "Name it")
    hand.key("n")
    hand.wait(lambda: panel.result is not None)
    hand.settle()
    assert panel.shown.key == panel.groups[0].points[0].key


def test_lines_stay_chosen_by_what_they_are_about_when_the_list_is_made_anew(hand, panel):
    """Else a second press of Confirm would settle whatever stands in the same row by then."""
    panel.table.tree.selection_set(row_of(panel, "Window heights taken at 4'-0\""))
    hand.settle()
    panel.confirm.invoke()
    hand.settle()
    worked_out(hand)
    assert panel._points() == []


def test_confirming_before_a_point_is_looked_at_is_refused(hand, panel):
    job = hand.window.session.job
    hand.key("k")
    assert "press N first" in hand.window.session.message
    assert hand.window.session.job is job
