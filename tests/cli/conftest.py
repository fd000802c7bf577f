"""Command lines run in this process: what they return, and what they wrote."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from takeoff.cli.main import run
from tests.conftest import MadeOnce


@dataclass(frozen=True)
class Outcome:
    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


@pytest.fixture
def takeoff(capsys: pytest.CaptureFixture[str]) -> Callable[..., Outcome]:
    """Run ``takeoff`` with these words."""

    def call(*words: object) -> Outcome:
        capsys.readouterr()
        code = run([str(word) for word in words])
        written = capsys.readouterr()
        return Outcome(code, written.out, written.err)

    return call


@pytest.fixture
def done(takeoff: Callable[..., Outcome]) -> Callable[..., Outcome]:
    """Run ``takeoff`` and expect it to be done."""

    def call(*words: object) -> Outcome:
        outcome = takeoff(*words)
        assert outcome.code == 0, outcome.err
        return outcome

    return call


@pytest.fixture
def refused(takeoff: Callable[..., Outcome]) -> Callable[..., str]:
    """Run ``takeoff``, expect one line of refusal and exit code 2, and give the line."""

    def call(*words: object) -> str:
        outcome = takeoff(*words)
        assert (outcome.code, outcome.out) == (2, ""), outcome
        assert outcome.err.startswith("error: ")
        assert outcome.err.count("\n") == 1
        return outcome.err

    return call


@pytest.fixture(scope="session")
def plans() -> Path:
    return Path(__file__).parents[2] / "sample_plans"


@pytest.fixture(scope="session")
def jobs_made(made_once: MadeOnce, plans: Path) -> Path:
    """A folder with the jobs that `job` and `traced` are copies of, made by commands once."""

    def fill(folder: Path) -> None:
        job, traced = folder / "job.takeoff", folder / "traced.takeoff"
        _run("new", job, "--name", "sample", "--plan", plans / "facility-imperial.pdf")
        shutil.copy(job, traced)
        _run("scale", traced, "A-101", "--note", '1/4" = 1\'-0"')
        _run("apply", traced, plans / "facility-edits.json")

    return made_once("jobs", fill)


def _run(*words: object) -> None:
    assert run([str(word) for word in words]) == 0


@pytest.fixture
def job(tmp_path: Path, jobs_made: Path) -> Path:
    """A job of the imperial sample plan, without scale and runs."""
    return Path(shutil.copy(jobs_made / "job.takeoff", tmp_path / "sample.takeoff"))


@pytest.fixture
def traced(tmp_path: Path, jobs_made: Path) -> Path:
    """The same with its scale and its runs."""
    return Path(shutil.copy(jobs_made / "traced.takeoff", tmp_path / "sample.takeoff"))


@pytest.fixture
def edits_file(tmp_path: Path) -> Callable[..., Path]:
    """Write an edits file with one run of 100 points along x, and changes to that run."""

    def write(**changes: Any) -> Path:
        run_entry = {"id": "a", "sheet": 1, "points": [[100, 100], [200, 100]], "height": 3.0, **changes}
        path = tmp_path / "edits.json"
        file = {"schema": "takeoff.edits/1", "length_unit": "m", "runs": [run_entry]}
        path.write_text(json.dumps(file), encoding="utf-8")
        return path

    return write


@pytest.fixture(scope="session", autouse=True)
def _sheets_are_read_once(sheets_read_once: None) -> None: ...
