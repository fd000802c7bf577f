"""The scale of a scan, read in a process beside the window; of a drawing the command says what to do instead."""

from __future__ import annotations

import pymupdf
import pytest

from takeoff.gui.dialogs.job_dialogs import ScanScaleDialog
from tests.jobs import job_on


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
    job_on(path, ("scan.pdf", data)).close()
    return path


@pytest.mark.long
def test_the_scale_of_a_scan_is_read_while_the_window_lives(hand, scanned_job):
    hand.open(scanned_job)
    hand.key("s")
    hand.settle()
    hand.window.scale_panel.read.invoke()
    dialog = hand.dialogs(ScanScaleDialog)[0]
    dialog.run()
    assert dialog.leave_button.cget("text") == "Stop"
    hand.wait(lambda: dialog.leave_button.cget("text") == "Close")
    assert "The scale is set from the scan" in dialog.said.cget("text")
    # a point of paper is 1/72 in; 1:48
    assert hand.window.session.scale.mx == pytest.approx(0.0254 / 72 * 48, rel=0.01)
