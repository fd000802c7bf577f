"""The scale of a scan, read in a process beside the window; of a drawing the command says what to do instead."""

from __future__ import annotations

import pymupdf
import pytest

from takeoff import actions
from takeoff.gui.dialogs.job_dialogs import ScanScaleDialog
from takeoff.job.job import JobSettings


@pytest.fixture
def scanned_job(tmp_path, sample_plan):
    """Some dimensions and the note of the sample plan as a scan at 150 dpi; it is drawn at 1/4 in to the foot, 1:48."""
    with pymupdf.open(sample_plan) as plan, pymupdf.open() as scan:
        page = plan[0]
        across, down = page.rect.width, page.rect.height
        part = pymupdf.Rect(0.05 * across, 0.78 * down, 0.3 * across, 0.96 * down)
        new = scan.new_page(width=part.width, height=part.height)
        new.insert_image(new.rect, stream=page.get_pixmap(dpi=150, clip=part).tobytes("png"))
        data = scan.tobytes()
    path = tmp_path / "scan.takeoff"
    settings = JobSettings(name="Scan")
    actions.new_job(path, [("scan.pdf", data)], settings, sign=lambda: ("tester", "2026-03-02T08:00:00+00:00"))[
        0
    ].close()
    return path


@pytest.mark.long
def test_the_scale_of_a_scan_is_read_while_the_window_lives(hand, scanned_job):
    hand.open(scanned_job)
    hand.key("s")
    hand.settle(0.2)
    hand.window.scale_panel.read.invoke()
    dialog = next(child for child in hand.window.winfo_children() if isinstance(child, ScanScaleDialog))
    dialog.run()
    assert dialog.leave_button.cget("text") == "Stop"
    hand.wait(lambda: dialog.leave_button.cget("text") == "Close", 300)
    assert "The scale is set from the scan" in dialog.said.cget("text")
    # a point of paper is 1/72 in; 1:48
    assert hand.window.session.scale.mx == pytest.approx(0.0254 / 72 * 48, rel=0.01)
    dialog.destroy()
