"""A new issue that the program cannot lay on the sheet: its page is asked for, or two points of both issues."""

from __future__ import annotations

import json
import time

import pymupdf
import pytest

from takeoff import actions
from takeoff.gui.dialogs.revision_dialogs import IssueDialog
from takeoff.gui.review import sheets_of


def wait_for(hand, condition):
    deadline = time.monotonic() + 120
    while not condition():
        assert time.monotonic() < deadline, "it never came"
        hand.settle(0.05)


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
    wait_for(hand, lambda: any(isinstance(w, IssueDialog) for w in window.winfo_children()))
    (dialog,) = [w for w in window.winfo_children() if isinstance(w, IssueDialog)]
    dialog.page._chosen(dialog.page.menu.cget("values")[1])
    compare = next(b for b in dialog.foot.winfo_children() if "Compare" in b.cget("text"))
    compare.invoke()
    wait_for(hand, lambda: window.review is not None)
    assert window.review.revision.sheet.page == 2
    assert window.review.revision.sheet.revision == "C"
    hand.settle(0.2)
    panel, item = window.desk.review_panel, window.review.item
    below = panel._parent_canvas.winfo_rooty() + panel._parent_canvas.winfo_height()
    assert panel.found.cget("text") == f"{item.said}\n{item.figures}"
    assert panel.found.winfo_rooty() + panel.found.winfo_height() <= below
    assert item.found[:30] in window.tool.prompt()


def test_two_points_pressed_on_both_issues_lay_one_on_the_other(hand, traced_job):
    path = actions.sample_plans() / "facility-rev-b.pdf"
    hand.open(traced_job)
    window = hand.window
    window.compare_issue(path)
    (sheet,) = sheets_of(path.name, path.read_bytes())
    window.issue._comparing.stop()
    window.issue.begin_pairing(sheet)
    old, new = (corners_of(f"facility{part}-edits.json", "101-walls") for part in ("", "-rev-b"))
    for number, corner in enumerate((old[0], old[2]), 1):
        assert f"Old revision: click point {number}" in window.tool.prompt()
        hand.press(*corner)
    hand.settle(0.1)
    assert window.canvas.sheet.source == sheet.source
    assert window.canvas.find_withtag("104-walls") == ()
    for number, corner in enumerate((new[0], new[2]), 1):
        assert f"New revision: click the same point {number}" in window.tool.prompt()
        hand.press(*corner)
    wait_for(hand, lambda: window.review is not None)
    carried = window.review.revision.registration.carry(corners_of("facility-edits.json", "107-walls")[0])
    truth = corners_of("facility-rev-b-edits.json", "107-walls")[0]
    assert carried == pytest.approx(truth, abs=3.0)  # a pixel of the whole sheet on the screen is about 3 points


def test_escape_ends_showing_points_and_the_sheet_of_the_job_comes_back(hand, traced_job):
    path = actions.sample_plans() / "facility-rev-b.pdf"
    hand.open(traced_job)
    window = hand.window
    window.compare_issue(path)
    window.issue._comparing.stop()
    (sheet,) = sheets_of(path.name, path.read_bytes())
    window.issue.begin_pairing(sheet)
    for corner in corners_of("facility-edits.json", "101-walls")[:2]:
        hand.press(*corner)
    hand.settle(0.1)
    assert window.canvas.sheet.source == sheet.source
    hand.key("Escape")
    hand.settle(0.1)
    assert window.canvas.sheet == window.session.sheet
    assert window.tool.id == "pick"
    assert window.canvas.find_withtag("104-walls") != ()
