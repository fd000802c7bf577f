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


def scaled(store: JobStore, ratio: str = "1:48") -> JobStore:
    """Give every sheet of a job a scale."""
    for sheet in store.job.sheets.values():
        actions.set_scale_ratio(store, sheet, ratio)
    return store


@pytest.fixture
def fresh(begin) -> Callable[..., JobStore]:
    """Start a job on a plan at a scale."""
    return lambda data, ratio="1:48", **how: scaled(begin(("plan.pdf", data), **how), ratio)


@pytest.fixture(scope="session")
def sample_made(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The file of the job that `sample` is a copy of."""
    path = tmp_path_factory.mktemp("sample") / "job.takeoff"
    with scaled(job_on(path, PLANS / "facility-imperial.pdf")) as store:
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
