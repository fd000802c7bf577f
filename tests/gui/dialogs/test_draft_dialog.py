"""Drafting a set in the window: read beside it, taken as one step, shown with what is open."""

from __future__ import annotations

from takeoff.gui.commands import command
from takeoff.gui.dialogs.working import draft_set


def test_the_set_is_drafted_as_one_step_and_the_page_shows_rooms_totals_and_what_is_open(hand, job_file):
    window = hand.window
    window.open_path(job_file)
    dialog = draft_set(window)
    dialog.run()
    hand.wait(lambda: dialog.draft is not None)
    job = window.session.job
    assert {room.number for room in job.rooms.values()} == {f"10{n}" for n in range(1, 9)}
    assert len(dialog.table.tree.get_children()) == 8
    said = dialog.text.cget("text")
    assert "Net area" in said
    assert "At stake: " in said
    assert "Next: settle the open points" in said
    dialog.other_button.invoke()
    rows = [dialog.table.tree.item(row, "values") for row in dialog.table.tree.get_children()]
    assert [row[2] for row in rows] == ["floor plan", "elevation", "schedule"]
    assert "its title says FLOOR PLAN" in rows[0][3]
    assert "8 rooms traced" in rows[0][4]
    dialog.other_button.invoke()
    assert len(dialog.table.tree.get_children()) == 8
    dialog.close()
    window.session.undo()
    assert not window.session.job.rooms


def test_stopping_half_way_keeps_what_was_read_and_says_how_many_sheets_are_left(hand, job_file):
    window = hand.window
    window.open_path(job_file)
    dialog = draft_set(window)
    dialog.run()
    dialog.close()  # its button says Stop while it reads
    hand.wait(lambda: dialog.draft is not None)
    assert dialog.draft.not_read > 0
    assert "were not read; draft it again to go on" in dialog.said.cget("text")
    dialog.close()


def test_the_window_lives_while_what_was_read_is_taken_and_stopping_leaves_the_job_as_it_was(hand, job_file):
    window = hand.window
    window.open_path(job_file)
    before = window.session.job
    dialog = draft_set(window)
    dialog.run()
    hand.wait(lambda: dialog._taking.is_waiting)
    window.do("dark")  # it takes commands meanwhile
    window.update()
    assert window.preferences.is_dark
    dialog.close()  # its button says Stop
    hand.wait(lambda: not dialog._taking.is_waiting)
    assert "stopped" in dialog.said.cget("text")
    assert window.session.job == before
    assert dialog.act_button.cget("state") == "normal"
    dialog.close()


def test_drafting_stands_in_the_menu_of_the_job_also_while_none_is_open():
    found = command("draft")
    assert (found.menu, found.label) == ("Plans", "Draft the set…")
    assert found.is_enabled(None)
