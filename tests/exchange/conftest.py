"""Jobs to hand over: the sample plan with its runs, and blank sheets of any page geometry."""

from __future__ import annotations

import io
import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from takeoff import actions
from takeoff.job.store import JobStore
from tests.jobs import DONE, PLANS, job_on


@pytest.fixture(scope="session")
def plan() -> bytes:
    """The imperial sample plan."""
    return (PLANS / "facility-imperial.pdf").read_bytes()


def started(path: Path, plan_name: str, data: bytes, *, units="imperial", ratio="1:48", name="Sample") -> JobStore:
    """Start a job on a plan at a scale."""
    store = job_on(path, (plan_name, data), name=name, units=units)
    for sheet in store.job.sheets.values():
        actions.set_scale_ratio(store, sheet, ratio)
    return store


@pytest.fixture
def fresh(tmp_path: Path) -> Iterator[Callable[..., JobStore]]:
    """Start a job on a plan at a scale; all jobs are closed at the end."""
    made: list[JobStore] = []

    def start(data: bytes, **how: Any) -> JobStore:
        made.append(started(tmp_path / f"job{len(made)}.takeoff", f"plan{len(made)}.pdf", data, **how))
        return made[-1]

    yield start
    for store in made:
        store.close()


@pytest.fixture(scope="session")
def sample_made(plan: bytes, tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The file of the job that `sample` is a copy of."""
    path = tmp_path_factory.mktemp("sample") / "job.takeoff"
    with started(path, "plan0.pdf", plan) as store:
        actions.apply_edits(store, (PLANS / "facility-edits.json").read_bytes())
    return path.read_bytes()


@pytest.fixture
def sample(sample_made: bytes, tmp_path: Path) -> Iterator[JobStore]:
    """The sample plan with its 11 runs, arcs among them."""
    path = tmp_path / "sample.takeoff"
    path.write_bytes(sample_made)
    with actions.open_job(path, **DONE) as store:
        yield store


@pytest.fixture
def put_runs() -> Callable[..., None]:
    """Apply runs and rooms to a job."""

    def put(store: JobStore, *runs: dict[str, Any], rooms: tuple[dict[str, Any], ...] = ()) -> None:
        edits = {"schema": "takeoff.edits/1", "length_unit": "m", "rooms": list(rooms), "runs": list(runs)}
        actions.apply_edits(store, json.dumps(edits).encode())

    return put


def blank_pdf(*, rotate: int = 0, crop: tuple[float, ...] | None = None, user_unit: float = 1.0) -> bytes:
    """A page of 800 × 600 units with one stroke on it."""
    with pikepdf.new() as document:
        document.add_blank_page(page_size=(800, 600))
        page = document.pages[0]
        page.Contents = document.make_stream(b"0 0 m 800 600 l S")
        page.Rotate = rotate
        if crop is not None:
            page.CropBox = pikepdf.Array(crop)
        if user_unit != 1.0:
            page.UserUnit = user_unit
        out = io.BytesIO()
        document.save(out)
        return out.getvalue()


@pytest.fixture(scope="session")
def blank() -> Callable[..., bytes]:
    return blank_pdf
