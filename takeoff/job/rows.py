"""Rows of a job file: read with their checksums compared, and written all or nothing."""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Collection, Mapping, Sequence
from pathlib import Path

from takeoff.errors import OvertakenError, StoreError
from takeoff.job.changes import (
    SETTINGS,
    Change,
    ChangeEntry,
    JournalLine,
    apply_change,
    decode,
    decode_change,
    encode,
    encode_change,
    replay,
)
from takeoff.job.job import Job
from takeoff.job.rescue import MOST_ROWS, broken_seals, salvage
from takeoff.job.schema import LINE, item_seal, line_seal, state_in, state_of

LARGEST_VALUE = 200_000_000
"""Bytes of the largest item or journal entry; an edit of a million points has some 50 MB."""


def read_rows(db: sqlite3.Connection, path: Path) -> tuple[Job, tuple[list[Change], list[Change]], tuple[str, ...]]:
    """Read a job and its journal; where a checksum does not fit, what can be trusted.

    Gives the job, what can be taken back and done again (`replay`), and what is damaged, a sentence each.
    """
    _refuse_too_large(db, path)
    rows = db.execute("SELECT kind, id, body FROM item ORDER BY rowid").fetchall()
    lines = db.execute("SELECT seq, at, who, verb, label, changes FROM journal ORDER BY seq").fetchall()
    seals = {(kind, id): sum for kind, id, sum in db.execute("SELECT kind, id, sum FROM seal")}
    if broken_seals(rows, lines, seals):
        found = salvage(rows, lines, seals)
        return found.job, ([], []), found.faults or ("a checksum is missing or too much",)
    values = [(kind, id, decode(kind, body)) for kind, id, body in rows]
    settings = next((value for kind, _, value in values if kind == SETTINGS), None)
    if settings is None:
        raise StoreError(f"{path.name} holds no job", remedy="Restore the file from a copy.")
    entries = tuple(ChangeEntry(kind, id, None, value) for kind, id, value in values if kind != SETTINGS)
    job = apply_change(Job(settings=settings), Change("", entries))
    return job, replay((verb, decode_change(label, changes)) for _, _, _, verb, label, changes in lines), ()


def _refuse_too_large(db: sqlite3.Connection, path: Path) -> None:
    """Refuse a file with more items, or larger ones, than any job has, before they are read."""
    for table, column in (("item", "body"), ("journal", "changes")):
        rows, most = db.execute(f"SELECT count(*), coalesce(max(length({column})), 0) FROM {table}").fetchone()
        if rows > MOST_ROWS or most > LARGEST_VALUE:
            raise StoreError(
                f"{path.name} holds {rows:,} rows of {table}, the largest of {most / 1e6:,.1f} MB",
                remedy=f"A job has at most {MOST_ROWS:,} of at most {LARGEST_VALUE / 1e6:,.0f} MB.",
            )


def _put_items(db: sqlite3.Connection, change: Change, bodies: Sequence[str | None], state: str) -> str:
    """Write the items of a change with their checksums; gives the state of all items after it."""
    seals = [state] if state else []
    for e, body in zip(change.entries, bodies, strict=True):
        key = (e.kind, e.id)
        seals += [old for (old,) in db.execute("SELECT sum FROM seal WHERE kind = ? AND id = ?", key)]
        if body is None:
            db.execute("DELETE FROM item WHERE kind = ? AND id = ?", key)
            db.execute("DELETE FROM seal WHERE kind = ? AND id = ?", key)
            continue
        seals.append(item_seal(*key, body))
        db.execute(
            "INSERT INTO item VALUES (?, ?, ?) ON CONFLICT (kind, id) DO UPDATE SET body = excluded.body", (*key, body)
        )
        db.execute(
            "INSERT INTO seal VALUES (?, ?, ?) ON CONFLICT (kind, id) DO UPDATE SET sum = excluded.sum",
            (*key, seals[-1]),
        )
    return state_of(seals)


def write_change(
    db: sqlite3.Connection,
    change: Change,
    lines: Sequence[tuple[JournalLine, Change]],
    sources: Mapping[str, bytes],
    lost: Collection[str] = (),
) -> None:
    """Write the items that a change touches and the journal lines of it, in one transaction."""
    bodies = [None if e.after is None else encode(e.after).decode() for e in change.entries]
    names = {e.id: e.after.name for e in change.entries if e.kind == "source" and e.after is not None}
    for sha, content in sources.items():
        if hashlib.sha256(content).hexdigest() != sha:
            raise StoreError("a plan file does not match its SHA-256", remedy="Read the file again.")
    db.execute("BEGIN IMMEDIATE")
    try:
        if db.execute("SELECT coalesce(max(seq), 0) FROM journal").fetchone()[0] != lines[0][0].seq - 1:
            raise OvertakenError(
                "another window or command has changed the job meanwhile",
                remedy="Open it again and repeat the edit; nothing was changed.",
            )
        for sha, content in sources.items():
            db.execute("INSERT OR IGNORE INTO source VALUES (?, ?, ?)", (sha, names.get(sha, ""), content))
        for sha, name in names.items():
            if sha not in lost and not db.execute("SELECT 1 FROM source WHERE sha256 = ?", (sha,)).fetchone():
                raise StoreError(f"the bytes of {name} are missing", remedy="Give the plan file with the edit.")
        seal = db.execute(
            "SELECT coalesce(max(sum), '') FROM seal WHERE kind = ? AND id = ?", (LINE, str(lines[0][0].seq - 1))
        ).fetchone()[0]
        state = _put_items(db, change, bodies, state_in(seal))
        for line, step in lines:
            row = (line.seq, line.at, line.who, line.verb, line.label, encode_change(step).decode())
            seal = line_seal(seal, row, state if line is lines[-1][0] else "")
            db.execute("INSERT INTO journal VALUES (?, ?, ?, ?, ?, ?)", row)
            db.execute("INSERT INTO seal VALUES (?, ?, ?)", (LINE, str(line.seq), seal))
        db.execute("COMMIT")
    except BaseException:
        if db.in_transaction:
            db.execute("ROLLBACK")
        raise
