"""What can be trusted of a job file that is damaged or whose checksums do not all fit, and a list of what cannot."""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass
from functools import reduce
from pathlib import Path
from typing import Any

from takeoff.errors import EditError, StoreError
from takeoff.job import schema
from takeoff.job.changes import SETTINGS, Change, ChangeEntry, JournalLine, apply_change, decode, decode_change, replay
from takeoff.job.database import distrust, log_fault, store_errors
from takeoff.job.job import Job

Key = tuple[str, str]

MOST_MISSED = 2_000
"""Rows one after another that cannot be read before the rest is given up: some 20 pages of a damaged file."""
MOST_ROWS = 1_000_000
"""Rows of a table that a job file may have; a job of a whole hospital has some 20,000."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Salvaged:
    """A job as far as it can be trusted, its journal where that is whole, and what is wrong, a sentence each."""

    job: Job
    history: tuple[tuple[JournalLine, Change], ...]
    faults: tuple[str, ...]


def broken_seals(items: Sequence[schema.Row], lines: Sequence[schema.Line], seals: Mapping[Key, str]) -> bool:
    """Tell whether an item, a line of the journal or the state of the items does not fit its seal."""
    if any(seals.get((kind, id)) != schema.item_seal(kind, id, body) for kind, id, body in items):
        return True
    before = ""
    for line in lines:
        seal = seals.get((schema.LINE, str(line[0])), "")
        if seal != schema.line_seal(before, line, schema.state_in(seal)):
            return True
        before = seal
    return len(seals) != len(items) + len(lines) or (
        bool(lines) and schema.state_in(before) != schema.state_of(seals[kind, id] for kind, id, _ in items)
    )


def salvage(items: Sequence[schema.Row], lines: Sequence[schema.Line], seals: Mapping[Key, str] | None) -> Salvaged:
    """Take what fits its seal; for what does not, what the journal says of it.

    ``items``, ``lines`` and ``seals``: what could be read; ``None`` for seals of a file from before there were any,
    of which all is taken.
    """
    faults: list[str] = []
    history = _lines(lines, seals, faults)
    by_journal: dict[Key, Any] = {}
    for _, change in history:
        for entry in change.entries:
            by_journal[entry.kind, entry.id] = entry.after
    taken = _items(items, seals, by_journal, faults)
    last = "" if seals is None or not lines else schema.state_in(seals.get((schema.LINE, str(lines[-1][0])), ""))
    if last and not faults and schema.state_of(schema.item_seal(*row) for row in items) != last:
        _follow_journal(taken, by_journal, faults)
    for (kind, id), value in by_journal.items():
        if value is not None and (kind, id) not in taken:
            taken[kind, id] = value
            faults.append(f"{kind} {id}".strip() + " was missing: it is as the journal says")
    settings = taken.pop((SETTINGS, ""), None)
    if settings is None:
        raise StoreError("nothing of the job is left to be trusted", remedy="Restore the file from a copy.")
    entries = tuple(ChangeEntry(kind, id, None, value) for (kind, id), value in taken.items())
    job = apply_change(Job(settings=settings), Change("", entries))
    return Salvaged(job=job, history=tuple(history), faults=tuple(faults))


def _lines(
    lines: Sequence[schema.Line], seals: Mapping[Key, str] | None, faults: list[str]
) -> list[tuple[JournalLine, Change]]:
    good: list[tuple[JournalLine, Change]] = []
    before = ""
    for number, line in enumerate(lines, start=1):
        seq, at, who, verb, label, changes = line
        seal = "" if seals is None else seals.get((schema.LINE, str(seq)), "")
        is_sealed = seals is None or (seal == schema.line_seal(before, line, schema.state_in(seal)) and seq == number)
        before = seal
        try:
            change = decode_change(label, changes)
        except StoreError:
            is_sealed = False
        if is_sealed and verb in ("do", "undo", "redo"):
            good.append((JournalLine(seq=seq, at=at, who=who, verb=verb, label=label), change))  # type: ignore[arg-type]
        else:
            faults.append(f'line {seq} of the journal, "{label}" by {who}, is damaged: what it did is not repeated')
    return good


def _items(
    items: Sequence[schema.Row], seals: Mapping[Key, str] | None, by_journal: Mapping[Key, Any], faults: list[str]
) -> dict[Key, Any]:
    """Items that fit their seals, and what the journal says of the others."""
    taken: dict[Key, Any] = {}
    for kind, id, body in items:
        name = f"{kind} {id}".strip()
        try:
            value = decode(kind, body)
        except StoreError:
            value = None
        if value is not None and (seals is None or seals.get((kind, id)) == schema.item_seal(kind, id, body)):
            taken[kind, id] = value
        elif by_journal.get((kind, id)) is not None:
            taken[kind, id] = by_journal[kind, id]
            faults.append(f"{name} is damaged: it is as the journal says")
        else:
            faults.append(f"{name} is damaged and in no line of the journal that can be trusted: it is left out")
    return taken


def _follow_journal(taken: dict[Key, Any], by_journal: Mapping[Key, Any], faults: list[str]) -> None:
    """Put the journal's value where an item has another, since one of the items is not the last that was written."""
    for key, value in by_journal.items():
        if key in taken and taken[key] != value:
            faults.append(f"{' '.join(key).strip()} is not what was written last: it is as the journal says")
            if value is None:
                del taken[key]
            else:
                taken[key] = value


def rows_of(db: sqlite3.Connection, table: str, columns: str, faults: list[str]) -> list[Any]:
    """Read the rows of a table of a damaged file, one by one where it cannot be read whole."""
    try:
        return db.execute(f"SELECT {columns} FROM {table} ORDER BY rowid").fetchall()
    except sqlite3.DatabaseError:
        faults.append(f"the table {table} is damaged: its rows were read one by one")
    try:
        last = db.execute(f"SELECT max(rowid) FROM {table}").fetchone()[0] or 0
    except sqlite3.DatabaseError:
        last = MOST_ROWS
    rows: list[Any] = []
    missed = 0
    for number in range(1, min(last, MOST_ROWS) + 1):
        try:
            found = db.execute(f"SELECT {columns} FROM {table} WHERE rowid = ?", (number,)).fetchall()
        except sqlite3.DatabaseError:
            found = []
        rows += found
        missed = 0 if found else missed + 1
        if missed > MOST_MISSED:
            break
    return rows


@dataclass(frozen=True, slots=True, kw_only=True)
class Rescued(Salvaged):
    """A job as far as it could be read, its plan files by SHA-256, its journal where it leads there, what was lost."""

    sources: Mapping[str, bytes]


def rescue(path: Path) -> Rescued:
    """Read a job file that is damaged, or that another program changed; the file is left as it is.

    Raises `StoreError` when it is no database, or not even the settings of the job are left.
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
            if not is_sealed and db.execute("PRAGMA user_version").fetchone()[0] >= schema.SEALED:
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
    right, found = schema.schema_of(schema.VERSION), schema.things_of(db)
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
