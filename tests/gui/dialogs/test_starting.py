"""Files dropped on the window: what choosing them does, through the toolkit's own way of handing drops on."""

from __future__ import annotations

import builtins
import shutil
import tkinter

import pytest

from takeoff import actions
from takeoff.gui.dialogs.starting import DroppedPlans, NewJobDialog, accept_files


def drop(hand, *paths):
    """Drag files over the middle of the window and let go, as the library is told of it by the display."""
    window = hand.window
    hand.settle()
    x, y = window.winfo_rootx() + window.winfo_width() // 2, window.winfo_rooty() + window.winfo_height() // 2
    over = str(window.winfo_containing(x, y))
    call = window.tk.call
    call("tkdnd::generic::SetDroppedData", [str(path) for path in paths])
    call("tkdnd::generic::HandleEnter", over, "source", ("text/uri-list",), (), ("copy",), ())
    assert call("tkdnd::generic::HandlePosition", over, "source", (), x, y) == "copy"
    assert call("tkdnd::generic::HandleDrop", over, "source", (), x, y, 0) == "copy"
    hand.settle()


def texts_of(widget):
    own = [widget.cget("text")] if "ctklabel" in str(widget).rsplit(".", 1)[-1] else []
    return own + [text for child in widget.winfo_children() for text in texts_of(child)]


@pytest.fixture
def place(tmp_path):
    """Where the person keeps a new job."""
    return tmp_path / "dropped.takeoff"


def start(hand, place):
    """Fill in the place in the dialog that starts a job, and press Enter."""
    (dialog,) = hand.dialogs(NewJobDialog)
    dialog.form["place"].show(str(place))
    dialog.run()
    hand.settle()


def test_plans_dropped_on_the_start_screen_start_a_job(hand, place, sample_plan, tmp_path):
    plan = shutil.copy(sample_plan, tmp_path / "plan of a building.pdf")
    scan = actions.sample_plans() / "facility-scan.png"
    drop(hand, plan, scan)
    start(hand, place)
    assert hand.window.session.path == place
    kinds = [sheet.kind for sheet in hand.window.session.job.sheets.values()]
    assert (kinds[0], kinds[-1]) == ("vector", "image")


def test_a_job_file_dropped_on_the_start_screen_or_on_another_job_is_opened(hand, traced_job, job_file):
    drop(hand, job_file)
    assert hand.window.session.path == job_file
    drop(hand, traced_job)
    assert hand.window.session.path == traced_job
    assert len(hand.window.session.job.runs) == 11


def test_a_plan_dropped_while_a_job_is_open_is_compared_as_a_new_issue_where_it_is_one(hand, opened, monkeypatch):
    compared = []
    monkeypatch.setattr(hand.window, "compare_issue", compared.append)
    issue = actions.sample_plans() / "facility-rev-b.pdf"
    drop(hand, issue)
    (dialog,) = hand.dialogs()
    assert isinstance(dialog, DroppedPlans)
    said = " ".join(texts_of(dialog))
    assert "facility-rev-b.pdf" in said
    assert "A-101" in said
    dialog.issue.invoke()
    hand.settle()
    assert compared == [issue]
    assert hand.dialogs() == []


def test_a_plan_dropped_while_a_job_is_open_starts_another_job_where_it_is_that(hand, opened, place, sample_plan):
    drop(hand, sample_plan)
    (dialog,) = hand.dialogs()
    dialog.new.invoke()
    hand.settle()
    start(hand, place)
    assert hand.window.session.path == place


def test_anything_else_is_refused_with_what_can_be_dropped(hand, traced_job, sample_plan, tmp_path):
    letter = tmp_path / "letter.txt"
    letter.write_text("no plan")
    for paths in ((letter,), (traced_job, sample_plan), (traced_job, traced_job)):
        drop(hand, *paths)
        (dialog,) = hand.dialogs()
        said = " ".join(texts_of(dialog))
        assert paths[0].name in said
        assert ".pdf" in said
        dialog.destroy()
    assert hand.window.session is None


def test_without_the_library_the_window_offers_no_dropping(monkeypatch):
    found = builtins.__import__

    def without(name, *rest, **more):
        if name == "tkinterdnd2":
            raise ImportError(name)
        return found(name, *rest, **more)

    root = tkinter.Tk()
    monkeypatch.setattr(builtins, "__import__", without)
    assert accept_files(root, print) is False
    monkeypatch.undo()
    assert accept_files(root, print) is True
    root.destroy()


def test_where_the_library_does_not_load_the_window_offers_no_dropping(monkeypatch):
    root = tkinter.Tk()
    monkeypatch.setattr("platform.system", lambda: "Another")
    assert accept_files(root, print) is False
    root.destroy()


def test_the_start_screen_says_that_files_can_be_dropped(hand):
    assert any("dropped" in text for text in texts_of(hand.window.start))
