"""A whole new set beside the job: a line a sheet, the review of one of them, and taking in what is sure."""

from __future__ import annotations

from dataclasses import replace

import pytest

from takeoff import actions
from takeoff.gui.dialogs.revision_dialogs import NewSetDialog
from takeoff.gui.review import NewSet


def page(hand):
    return next(child for child in hand.window.winfo_children() if isinstance(child, NewSetDialog))


@pytest.fixture(scope="module")
def known():
    """What the first test that compares the set finds; the others have their page shown with it."""
    return NewSet(name="")


@pytest.fixture
def compared(hand, traced_job, known):
    """The page of the second revision of the sample set, which holds one of its sheets."""
    hand.open(traced_job)
    window, path = hand.window, actions.sample_plans() / "facility-rev-b.pdf"
    if known.sheets:
        window.issue.new_set = NewSet(name=path.name, sheets=known.sheets)
        dialog = NewSetDialog(window, window.issue.new_set, b"", window.issue.review_of)
    else:
        window.compare_set(path)
        dialog = page(hand)
        hand.wait(lambda: dialog.new_set.sheets, 120)
        known.sheets = dialog.new_set.sheets
    hand.settle()
    return dialog


def rows(dialog):
    return [dialog.table.tree.item(id, "values") for id in dialog.table.tree.get_children()]


def test_every_sheet_has_a_line_and_what_is_sure_is_taken_as_one_step_a_sheet(hand, compared):
    session = hand.window.session
    before = session.job
    states = {row[0].split()[0]: row[1] for row in rows(compared)}
    assert states.pop("A-101") == "changed"
    assert set(states.values()) <= {"gone", "same"}
    assert str(compared.review_button.cget("state")) == "disabled"
    compared.sure_button.invoke()
    hand.settle()
    assert "taken in" in rows(compared)[0][3]
    assert str(compared.sure_button.cget("state")) == "disabled"
    moved = [id for id, run in session.job.runs.items() if run.sheet != before.runs[id].sheet]
    assert f"{len(moved)} walls taken in" == rows(compared)[0][3]
    compared.destroy()
    hand.chord("Control-z")
    assert session.job.runs == before.runs


def test_a_changed_sheet_is_reviewed_on_the_plan_and_the_page_comes_back(hand, compared):
    compared.table.tree.selection_set("0")
    hand.settle()
    compared.review_button.invoke()
    hand.wait(lambda: hand.window.review is not None, 120)
    hand.window.issue.put_aside()
    hand.settle(0.1)
    again = page(hand)
    assert rows(again)[0][3] == ""
    again.destroy()


def test_a_sheet_that_shows_only_some_of_the_walls_is_said_to_be_issued_in_part(hand, compared):
    sheet = compared.new_set.sheets[0]
    first, *rest = sheet.revision.runs
    runs = (replace(first, verdict="not on this sheet"), *rest)
    part = replace(sheet, revision=replace(sheet.revision, runs=runs))
    compared.new_set.sheets = (part,)
    compared._show()
    assert rows(compared)[0][1] == "issued in part"
    assert rows(compared)[0][2].endswith("1 not on this sheet")
    compared.destroy()
