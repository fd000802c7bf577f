"""The sample job, measured and priced once."""

from __future__ import annotations

from pathlib import Path

import pytest

from takeoff import actions
from tests.jobs import DONE, sample_on


def make_sample(path: Path) -> actions.Priced:
    """Make the sample job at this path."""
    with sample_on(path, name="Sample dairy") as store:
        return actions.make_estimate(store.job)


@pytest.fixture(scope="session")
def sample(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, actions.Priced]:
    """The file of the sample job, which tests only read, and its figures."""
    path = tmp_path_factory.mktemp("sample") / "job.takeoff"
    return path, make_sample(path)


@pytest.fixture
def priced(sample: tuple[Path, actions.Priced]) -> actions.Priced:
    return sample[1]


@pytest.fixture
def job(sample: tuple[Path, actions.Priced]):
    with actions.open_job(sample[0], **DONE) as store:
        return store.job


@pytest.fixture
def store(sample: tuple[Path, actions.Priced], tmp_path: Path):
    """A copy of the sample job, open to be changed."""
    path = tmp_path / "job.takeoff"
    path.write_bytes(sample[0].read_bytes())
    with actions.open_job(path, **DONE) as opened:
        yield opened


@pytest.fixture(scope="session", autouse=True)
def _sheets_are_read_once(sheets_read_once: None) -> None: ...
