"""The sample plan and its revisions, read once."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from takeoff.actions import apply_edits, find_sheet, open_job, set_scale_note
from takeoff.actions.comparing import compare_revision
from takeoff.actions.revising import Revision
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.model.plan import Sheet
from takeoff.revise.registration import Floats
from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import TextLine, read_lines
from takeoff.trace.drawing.linework import Linework, read_linework
from tests.jobs import DONE, PLANS, job_on

FILES = {"A": "facility-imperial", "B": "facility-rev-b", "C": "facility-rev-c"}
EDITS = {"A": "facility-edits", "B": "facility-rev-b-edits", "C": "facility-rev-c-edits"}


@dataclass(frozen=True)
class Drawing:
    sheet: Sheet
    data: bytes
    linework: Linework
    text: list[TextLine]

    @property
    def lines(self) -> Floats:
        return self.linework.pieces.segments


@pytest.fixture(scope="session")
def drawings() -> dict[str, Drawing]:
    out = {}
    for key, name in FILES.items():
        data = (PLANS / f"{name}.pdf").read_bytes()
        sheet = read_sheets(data, name)[0][0]
        out[key] = Drawing(sheet, data, read_linework(data, sheet), read_lines(data, sheet))
    return out


@cache
def job_file(issue: str) -> bytes:
    """The file of a job of one issue, traced exactly."""
    plan = f"{FILES[issue]}.pdf"
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "made.takeoff"
        with job_on(path, (plan, (PLANS / plan).read_bytes())) as store:
            set_scale_note(store, find_sheet(store.job, "A-101"), '1/4" = 1\'-0"')
            apply_edits(store, (PLANS / f"{EDITS[issue]}.json").read_bytes())
        return path.read_bytes()


def job_of(folder: Path, issue: str) -> JobStore:
    """A job of one issue, traced exactly."""
    path = folder / f"{issue}.takeoff"
    path.write_bytes(job_file(issue))
    return open_job(path, **DONE)


_COMPARED: list[tuple[Job, Sheet, str, Revision]] = []


def compared(store: JobStore, plan: str, sheet: Sheet | None = None) -> Revision:
    """Compare a sheet, A-101 where none is named, with a sample plan; the same sheet of the same job is compared once.

    A comparison is a value, and changes nothing in the job.
    """
    old = sheet or find_sheet(store.job, "A-101")
    for job, of, name, known in _COMPARED:
        if (of, name) == (old, plan) and job == store.job:
            return known
    found = compare_revision(store, old, plan, (PLANS / plan).read_bytes())
    _COMPARED.append((store.job, old, plan, found))
    return found


@pytest.fixture(scope="session")
def traced(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Job]:
    """The jobs of all issues, traced exactly."""
    out = {}
    for issue in FILES:
        with job_of(tmp_path_factory.mktemp(issue), issue) as store:
            out[issue] = store.job
    return out


@pytest.fixture
def store(tmp_path: Path) -> Callable[[str], JobStore]:
    return lambda issue: job_of(tmp_path, issue)


@pytest.fixture
def turned() -> Callable[..., tuple[Floats, Floats]]:
    """A map as (2 × 2, shift): turned by degrees clockwise as displayed, scaled, y stretched, shifted."""

    def make(degrees: float, scale: float, stretch: float, shift: tuple[float, float]) -> tuple[Floats, Floats]:
        a = np.radians(degrees)
        turn = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]]) * scale
        return np.diag([1.0, stretch]) @ turn, np.array(shift)

    return make
