"""Reading a damaged job file as far as it can be read: nothing is given up without being listed."""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass
from functools import reduce
from pathlib import Path

from takeoff.errors import EditError, StoreError
from takeoff.job.changes import Change, JournalLine, apply_change, replay
from takeoff.job.database import distrust, log_fault, store_errors
from takeoff.job.job import Job
from takeoff.job.salvage import Salvaged, rows_of, salvage
from takeoff.job.schema import SEALED, VERSION, schema_of, things_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Rescued:
    """A job, its plan files and, where it leads to the job, its journal; and what was lost, a sentence each."""

    job: Job
    sources: Mapping[str, bytes]
    history: tuple[tuple[JournalLine, Change], ...]
    faults: tuple[str, ...]


def rescue(path: Path) -> Rescued:
    """Read a job file that is damaged, or that another program changed; the file is left as it is.

    Raises
    ------
    StoreError
        When it is no database, or not even the settings of the job are left.
    """
    faults = [f"the edits in {path.name}-wal: {fault}"] if (fault := log_fault(path)) else []
    with store_errors(path):
        if not path.is_file():
            raise StoreError(f"there is no file {path.name}", remedy="Name the damaged job file.")
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True, isolation_level=None)) as db:
            distrust(db)
            is_sealed = _refuse_others(db, path)
            items = rows_of(db, "item", "kind, id, body", faults)
            lines = rows_of(db, "journal", "seq, at, who, verb, label, changes", faults)
            if not is_sealed and db.execute("PRAGMA user_version").fetchone()[0] >= SEALED:
                faults.append("its checksums are gone: nothing tells whether a value is the one that was written")
            seals = {(k, i): s for k, i, s in rows_of(db, "seal", "kind, id, sum", faults)} if is_sealed else None
            plans = rows_of(db, "source", "sha256, bytes", faults)
    found = salvage(_texts(items, faults), _texts(lines, faults), seals)
    sources = {sha: bytes(data) for sha, data in plans if hashlib.sha256(data).hexdigest() == sha}
    faults += found.faults
    for sha, source in found.job.sources.items():
        if sha not in sources:
            faults.append(f"the plan file {source.name} is damaged or missing: its sheets cannot be shown")
    return Rescued(job=found.job, sources=sources, history=_leading_there(found, faults), faults=tuple(faults))


def _refuse_others(db: sqlite3.Connection, path: Path) -> bool:
    """Refuse a file whose tables are something else: reading them would run what somebody wrote.

    Tells whether there are checksums.
    """
    right, found = schema_of(VERSION), things_of(db)
    for name in ("item", "journal", "source"):
        if found.get(name) != right[name]:
            raise StoreError(f"{path.name} has no table {name} of a job file", remedy="Restore the file from a copy.")
    return found.get("seal") == right["seal"]


def _texts(rows: list[tuple[object, ...]], faults: list[str]) -> list[tuple]:  # type: ignore[type-arg]
    """Leave out rows in which something stands that is no text or number."""
    good = [row for row in rows if all(isinstance(value, str | int) for value in row)]
    if len(good) < len(rows):
        faults.append(f"{len(rows) - len(good)} rows hold no text")
    return good


def _leading_there(found: Salvaged, faults: list[str]) -> tuple[tuple[JournalLine, Change], ...]:
    """The journal where its lines lead to the job, or nothing."""
    try:
        replay((line.verb, change) for line, change in found.history)
        reached = reduce(apply_change, (change for _, change in found.history), Job(settings=found.job.settings))
    except (StoreError, EditError):
        reached = None
    if found.history and reached == found.job:
        return found.history
    faults.append("the journal does not lead to what is there: the new file begins a journal of its own")
    return ()
