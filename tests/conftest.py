"""What every test file shares."""

from __future__ import annotations

import contextlib
import gc
import hashlib
import io
import itertools
import os
import pickle
import sqlite3
from collections.abc import Callable, Generator, Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings

from takeoff.limits import quiet_libraries

MadeOnce = Callable[[str, Callable[[Path], None]], Path]
"""Makes a folder once for all workers: takes its name and what fills it."""

quiet_libraries()  # as every command does
settings.register_profile("takeoff", deadline=None, derandomize=True)
settings.load_profile("takeoff")

LONGEST = 600
"""Seconds that a worker waits for what another one makes."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put what takes long first."""
    items.sort(key=lambda item: item.get_closest_marker("long") is None)


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Generator[None, object, object]:
    """Leave the thousands of tests and their modules out of what the collector of reference cycles walks over."""
    gc.disable()
    gathered = yield
    gc.freeze()
    gc.set_threshold(10_000, 20, 20)
    gc.enable()
    return gathered


@pytest.fixture(scope="session")
def made_once(tmp_path_factory: pytest.TempPathFactory) -> MadeOnce:
    """Make a folder once for all workers, under its name: whoever asks first fills it, tests only read or copy it."""
    root = tmp_path_factory.getbasetemp()
    shared = root.parent if "PYTEST_XDIST_WORKER" in os.environ else root

    def once(name: str, fill: Callable[[Path], None]) -> Path:
        folder = shared / f"{name}-once"
        with contextlib.closing(sqlite3.connect(shared / f"{name}.lock", LONGEST, isolation_level=None)) as lock:
            lock.execute("BEGIN EXCLUSIVE")  # held until it is closed
            if not folder.exists():
                half = tmp_path_factory.mktemp(name)
                fill(half)
                half.rename(folder)
        return folder

    return once


@pytest.fixture(scope="session")
def demo_made(made_once: MadeOnce) -> Path:
    """A folder with what the line ``takeoff demo --out demo`` makes in it, and what it prints in ``printed.txt``."""

    def fill(folder: Path) -> None:
        from takeoff.cli.main import run

        printed = io.StringIO()
        with contextlib.chdir(folder), contextlib.redirect_stdout(printed), contextlib.redirect_stderr(io.StringIO()):
            assert run(["demo", "--out", "demo"]) == 0
        (folder / "printed.txt").write_text(printed.getvalue(), encoding="utf-8")

    return made_once("demo", fill)


@pytest.fixture
def begin(tmp_path: Path) -> Iterator[Callable[..., Any]]:
    """Start jobs as `tests.jobs.job_on` does, each in a file of its own; all are closed at the end."""
    from tests.jobs import job_on

    with contextlib.ExitStack() as opened:
        numbers = itertools.count()
        yield lambda *plans, **how: opened.enter_context(job_on(tmp_path / f"{next(numbers)}.takeoff", *plans, **how))


@pytest.fixture(scope="session")
def wing_made(made_once: MadeOnce) -> Path:
    """The job of the tutorial at its end, only to be read or copied: the sample set, its first sheet traced whole."""

    def fill(folder: Path) -> None:
        from tests.jobs import sample_on

        sample_on(folder / "wing.takeoff", name="Packing wing").close()

    return made_once("wing", fill) / "wing.takeoff"


KEPT_SHEETS = 24
"""Sheets read for tracing that a worker keeps."""


@pytest.fixture(scope="session")
def sheets_read_once() -> Iterator[None]:
    """Have each sheet read once for tracing at the same scales: many tests begin with a sample plan, as it is read.

    It is made of values alone, and is one.
    """
    from takeoff.actions import rooms_anew, scale_basis, traced_sheets
    from takeoff.actions.draft import sheet_reads

    read = traced_sheets.read_drawn_sheet
    known: dict[bytes, Any] = {}

    def once(data: bytes, sheet: Any, scales: Any, regions: Any, styles: Any = ()) -> Any:
        own = {c.region: regions[c.region] for c in scales if c.region is not None}
        key = hashlib.sha256(pickle.dumps((data, sheet, tuple(scales), own, tuple(styles)))).digest()
        if key not in known:
            known[key] = read(data, sheet, scales, regions, styles)
            while len(known) > KEPT_SHEETS:
                del known[next(iter(known))]
        return known[key]

    with pytest.MonkeyPatch.context() as patched:
        for module in (traced_sheets, sheet_reads, scale_basis, rooms_anew):
            patched.setattr(module, "read_drawn_sheet", once)
        yield
