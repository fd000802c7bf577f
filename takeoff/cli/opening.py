"""Opening a job for a command: what is damaged in it is told, and the command does not end as if all were well."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from takeoff import actions
from takeoff.cli.rim import tell_damage

if TYPE_CHECKING:
    from takeoff.job.store import JobStore


@contextmanager
def opened(path: Path) -> Iterator[JobStore]:
    """Open a job file for a with block."""
    with actions.open_job(path) as store:
        tell_damage(path, store.faults)
        yield store
