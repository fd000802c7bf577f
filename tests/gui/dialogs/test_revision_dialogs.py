"""New revisions: one that does not fit its sheet by itself, and a whole set, a line for each sheet."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pymupdf
import pytest

from takeoff import actions
from takeoff.gui.dialogs.revision_dialogs import IssueDialog, NewSetDialog
from takeoff.gui.review import NewSet, sheets_of


def corners_of(name, run):
    """Corners of a run in one of the sample's tracings, which are worked out from the building's sizes."""
    file = json.loads((actions.sample_plans() / name).read_text(encoding="utf-8"))
    return [tuple(p) for p in next(r for r in file["runs"] if r["id"] == run)["points"]]


def test_a_file_with_two_pages_of_the_same_number_asks_for_the_page(hand, traced_job, tmp_path):
    both = pymupdf.open()
    for name in ("facility-rev-b.pdf", "facility-rev-c.pdf"):
        both.insert_pdf(pymupdf.open(actions.sample_plans() / name), to_page=0)
    path = tmp_path / "both.pdf"
    both.save(path)
    hand.open(traced_job)
    window = hand.window
    window.compare_issue(path)
    hand.wait(lambda: hand.dialogs(IssueDialog))
    (dialog,) = hand.dialogs(IssueDialog)
    dialog.page._chosen(dialog.page.menu.cget("values")[1])
    compare = next(b for b in dialog.foot.winfo_children() if "Compare" in b.cget("text"))
    compare.invoke()
    hand.wait(lambda: window.review is not None)
    assert window.review.revision.sheet.page == 2
    assert window.review.revision.sheet.revision == "C"
    hand.settle()
    panel, item = window.desk.review_panel, window.review.item
    below = panel._parent_canvas.winfo_rooty() + panel._parent_canvas.winfo_height()
    assert panel.found.cget("text") == f"{item.said}\n{item.figures}"
    assert panel.found.winfo_rooty() + panel.found.winfo_height() <= below
    assert item.found[:30] in window.tool.prompt()


def test_two_points_pressed_on_both_issues_lay_one_on_the_other(hand, opened):
    path, window = actions.sample_plans() / "facility-rev-b.pdf", opened
    window.compare_issue(path)
    (sheet,) = sheets_of(path.name, path.read_bytes())
    window.issue._comparing.stop()
    window.issue.begin_pairing(sheet)
    old, new = (corners_of(f"facility{part}-edits.json", "101-walls") for part in ("", "-rev-b"))
    for number, corner in enumerate((old[0], old[2]), 1):
        assert f"Old revision: click point {number}" in window.tool.prompt()
        hand.press(*corner)
    hand.settle()
    assert window.canvas.sheet.source == sheet.source
    assert window.canvas.find_withtag("104-walls") == ()
    for number, corner in enumerate((new[0], new[2]), 1):
        assert f"New revision: click the same point {number}" in window.tool.prompt()
        hand.press(*corner)
    hand.wait(lambda: window.review is not None)
    carried = window.review.revision.registration.carry(corners_of("facility-edits.json", "107-walls")[0])
    truth = corners_of("facility-rev-b-edits.json", "107-walls")[0]
    assert carried == pytest.approx(truth, abs=3.0)  # a pixel of the whole sheet on the screen is about 3 points


def test_escape_ends_showing_points_and_the_sheet_of_the_job_comes_back(hand, opened):
    path, window = actions.sample_plans() / "facility-rev-b.pdf", opened
    window.compare_issue(path)
    window.issue._comparing.stop()
    (sheet,) = sheets_of(path.name, path.read_bytes())
    window.issue.begin_pairing(sheet)
    for corner in corners_of("facility-edits.json", "101-walls")[:2]:
        hand.press(*corner)
    hand.settle()
    assert window.canvas.sheet.source == sheet.source
    hand.key("Escape")
    hand.settle()
    assert window.canvas.sheet == window.session.sheet
    assert window.tool.id == "pick"
    assert window.canvas.find_withtag("104-walls") != ()


def page(hand):
    return hand.dialogs(NewSetDialog)[0]


@pytest.fixture(scope="module")
def known():
    """What the first test that compares the set finds; the others have their page shown with it."""
    return NewSet(name="")


@pytest.fixture
def compared(hand, opened, known):
    """The page of the second revision of the sample set, which holds one of its sheets."""
    window, path = hand.window, actions.sample_plans() / "facility-rev-b.pdf"
    if known.sheets:
        window.issue.new_set = NewSet(name=path.name, sheets=known.sheets)
        dialog = NewSetDialog(window, window.issue.new_set, b"", window.issue.review_of)
    else:
        window.compare_set(path)
        dialog = page(hand)
        hand.wait(lambda: dialog.new_set.sheets)
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
    assert re.fullmatch(rf"{len(moved)} walls taken in, \d to be looked at", rows(compared)[0][3])
    compared.destroy()
    hand.chord("Control-z")
    assert session.job.runs == before.runs


def test_a_changed_sheet_is_reviewed_on_the_plan_and_the_page_comes_back(hand, compared):
    compared.table.tree.selection_set("0")
    hand.settle()
    compared.review_button.invoke()
    hand.wait(lambda: hand.window.review is not None)
    hand.window.issue.put_aside()
    hand.settle()
    again = page(hand)
    assert rows(again)[0][3] == ""


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
