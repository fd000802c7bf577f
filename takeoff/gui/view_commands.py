"""Commands of the menu View."""

from __future__ import annotations

from dataclasses import replace

from takeoff.gui.host import Host
from takeoff.gui.job_shapes import polyline
from takeoff.gui.session import MARKS

MARK_WORDS = {
    "all": "all",
    "no-names": "all but the names of rooms",
    "lines": "the lines of the walls alone",
    "none": "none",
}
ZOOM = 1.25
"""What one press of a key makes larger or smaller."""
TEXT_STEP, TEXT_MOST = 0.25, 2.0
"""Steps of the size of text, and its largest."""


def fit_selection(host: Host) -> None:
    """See what is selected on the sheet, large."""
    session = host.session
    if session is not None:
        points = [p for run in session.selected_runs() if run.sheet == session.sheet_id for p in polyline(run)]
        if points:
            host.canvas.fit_points(tuple(points))


def step_sheet(host: Host, by: int) -> None:
    """Show the sheet so many places further on in the register, where there is one."""
    session = host.session
    if session is not None:
        ids = sorted(session.job.sheets)
        at = ids.index(session.sheet_id) + by
        if 0 <= at < len(ids):
            host.choose_sheet(ids[at])


def step_snaps(host: Host) -> None:
    """Snap to everything, to ends and crossings alone, or to nothing."""
    if host.session is not None and host.snapper is not None:
        host.session.tell(f"Snap to: {host.snapper.step()}.")


def step_marks(host: Host) -> None:
    """Hide more of what is drawn over the sheet, or show all of it again."""
    if host.session is not None:
        at = MARKS.index(host.session.marks)
        host.session.marks = MARKS[(at + 1) % len(MARKS)]
        host.repaint()
        host.session.tell(f"Marks over the plan: {MARK_WORDS[host.session.marks]}.")


def step_dim(host: Host) -> None:
    """Show the drawing paler, or as it is again."""
    share = host.canvas.step_paleness()
    if host.session is not None:
        host.session.tell(f"The drawing is shown {'as it is' if share == 0 else f'{share:.0%} paler'}.")


def change_dark(host: Host) -> None:
    """Change between light and dark."""
    host.remember(replace(host.preferences, is_dark=not host.preferences.is_dark))
    host.take_look()


def change_text(host: Host, steps: int) -> None:
    """Make all text larger or smaller."""
    size = min(max(host.preferences.text_size + steps * TEXT_STEP, 1.0), TEXT_MOST)
    host.remember(replace(host.preferences, text_size=size))
    host.take_look()
