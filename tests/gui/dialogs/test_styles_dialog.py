"""Drafting styles: proposed, kept under a name, shown further on the plan, taken from another job, removed."""

from __future__ import annotations

import shutil

import pytest

from takeoff.gui.dialogs.drawing_dialogs import StylesDialog


@pytest.fixture
def styles(hand, opened):
    dialog = StylesDialog(hand.window)
    hand.settle()
    return dialog


def press(dialog, text):
    next(part for part in dialog.foot.winfo_children() if part.cget("text") == text).invoke()


def test_a_style_is_proposed_kept_shown_removed_and_taken_by_another_job(hand, styles, job_file, tmp_path, monkeypatch):
    session = hand.window.session
    press(styles, "Keep the proposal")
    assert "Nothing is proposed yet" in styles.said.cget("text")
    press(styles, "Propose")
    hand.wait(lambda: styles.proposal is not None)
    walls = styles.proposal[0].walls
    assert walls
    styles.form.show(name="north office")
    press(styles, "Keep the proposal")
    assert session.job.styles["north office"].walls == walls
    styles.run()
    assert (hand.window.tool.id, hand.window.tool.style.name) == ("style", "north office")
    other = tmp_path / "other.takeoff"
    shutil.copy(job_file, other)
    kept = session.path
    hand.open(other)
    again = StylesDialog(hand.window)
    monkeypatch.setattr("takeoff.gui.dialogs.common.filedialog.askopenfilename", lambda **_: str(kept))
    press(again, "From another job…")
    assert hand.window.session.job.styles["north office"].walls == walls
    again.table.tree.selection_set("0")
    hand.settle()
    press(again, "Remove")
    assert not hand.window.session.job.styles
