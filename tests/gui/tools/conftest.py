"""A session on a plain sheet of one metre to 100 points, upright or turned, without a window."""

from __future__ import annotations

import pymupdf
import pytest

from takeoff.gui.session import Session
from tests.jobs import job_on

PER_METRE = 100.0


def plan_bytes(rotation: int) -> bytes:
    """A page of 600 × 400 points with one line on it, shown turned."""
    with pymupdf.open() as file:
        page = file.new_page(width=600, height=400)
        page.draw_line((50, 50), (550, 50))
        page.set_rotation(rotation)
        return file.tobytes()


@pytest.fixture
def session_at(tmp_path):
    """Make a session whose sheet is shown turned by so many degrees."""
    opened = []

    def make(rotation: int = 0) -> Session:
        store = job_on(
            tmp_path / f"{rotation}.takeoff", ("plan.pdf", plan_bytes(rotation)), name="Plain", units="metric"
        )
        from takeoff.job.edits import SetCalibration
        from takeoff.model.plan import Calibration

        store.do(SetCalibration(calibration=Calibration(sheet=1, mx=1 / PER_METRE, my=1 / PER_METRE)))
        session = Session(store)
        opened.append(session)
        return session

    yield make
    for session in opened:
        session.close()


@pytest.fixture
def session(session_at):
    return session_at()
