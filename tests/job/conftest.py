"""A job of two sheets to start from, and its plan file's bytes."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from takeoff.job.edits import PutRun, apply_change
from takeoff.job.job import Job, JobSettings
from takeoff.job.store import JobStore
from takeoff.model.plan import Calibration, ScaleRegion, Sheet, Source
from takeoff.model.walls import HeightProfile, Opening, Room, Run

PLAN = b"the bytes of a plan file"
SHA = hashlib.sha256(PLAN).hexdigest()


def by_ann() -> tuple[str, str]:
    return "ann", "2026-01-05T08:00:00Z"


@pytest.fixture(scope="session")
def plans() -> dict[str, bytes]:
    return {SHA: PLAN}


@pytest.fixture(scope="session")
def empty() -> Job:
    """Two sheets, nothing on them."""
    sheets = {i: Sheet(id=i, source=SHA, page=i, width_pt=612.0, height_pt=792.0) for i in (1, 2)}
    return Job(
        settings=JobSettings(name="Cold store"),
        sources={SHA: Source(sha256=SHA, name="plan.pdf", size=len(PLAN))},
        sheets=sheets,
    )


@pytest.fixture(scope="session")
def job(empty: Job) -> Job:
    """A room with a run of two walls and a door, a detail at a scale of its own, and the scales of both."""
    run = Run(
        id="a",
        sheet=1,
        room="R1",
        points_pt=((100.0, 100.0), (300.0, 100.0), (300.0, 250.0)),
        openings=(Opening(at=1.0, width=0.9, height=2.1, mark="D1"),),
    )
    return Job(
        settings=empty.settings,
        sources=empty.sources,
        sheets=empty.sheets,
        regions={
            "detail": ScaleRegion(
                id="detail", sheet=1, outline_pt=((400.0, 400.0), (600.0, 400.0), (600.0, 600.0), (400.0, 600.0))
            )
        },
        calibrations={
            "1": Calibration(sheet=1, mx=0.017, my=0.017),
            "1/detail": Calibration(sheet=1, region="detail", mx=0.0035, my=0.0035),
        },
        rooms={"R1": Room(id="R1", name="Process", height=HeightProfile.constant(3.0))},
        runs={"a": run},
    )


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "cold store #1.takeoff"


@pytest.fixture
def store(path: Path, job: Job, plans: dict[str, bytes]) -> Iterator[JobStore]:
    """The job in a new file, open."""
    with JobStore.create(path, job, plans, sign=by_ann) as made:
        yield made


@pytest.fixture
def reopened(path: Path) -> Iterator[Callable[[], JobStore]]:
    """Open the file once more."""
    opened: list[JobStore] = []

    def call() -> JobStore:
        opened.append(JobStore.open(path, by_ann))
        return opened[-1]

    yield call
    for one in opened:
        one.close()


@pytest.fixture
def two(job):
    """The job with a second wall that begins where the first ends."""
    second = Run(id="b", sheet=1, room="R1", points_pt=((300.0, 250.0), (100.0, 250.0)))
    return apply_change(job, PutRun(run=second).apply(job))
