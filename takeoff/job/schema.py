"""Tables of the job file, their migrations, one transaction each, and the seals of their rows."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Callable, Iterable, Sequence
from contextlib import closing
from typing import Any

from takeoff.errors import StoreError

LINE = "journal"
"""Kind under which the seal of a journal line is kept; its id is the line's number."""
_BYTES = 16
"""Length of a checksum: 128 bits, so that no two values of a job have the same by chance."""

Row = tuple[str, str, str]
"""Kind, id and body of an item."""
Line = tuple[int, str, str, str, str, str]
"""Number, time, name, verb, label and changes of a journal line."""


def item_seal(kind: str, id: str, body: str) -> str:
    """Checksum of an item, in hexadecimal (BLAKE2, RFC 7693)."""
    return _digest((kind, id, body))


def state_of(seals: Iterable[str]) -> str:
    """State of items with these checksums; the order does not count.

    Examples
    --------
    >>> state_of(["0f", "f0", "0f"])
    'f0'
    """
    state = 0
    for seal in seals:
        state ^= int(seal, 16)
    return f"{state:x}"


def line_seal(before: str, line: Line, state: str) -> str:
    """Seal of a journal line after the one with the seal ``before``, and the items' state, empty where not kept."""
    return f"{_digest((before.partition(':')[0], *map(str, line), state))}:{state}"


def state_in(seal: str) -> str:
    """State of the items that a line's seal tells; empty where it tells none."""
    return seal.partition(":")[2]


def reseal(db: sqlite3.Connection) -> None:
    """Seal all items and lines as they stand: after a migration, which changes items outside the journal."""
    db.execute("DELETE FROM seal")
    items = [(kind, id, item_seal(kind, id, body)) for kind, id, body in db.execute("SELECT kind, id, body FROM item")]
    lines = db.execute("SELECT seq, at, who, verb, label, changes FROM journal ORDER BY seq").fetchall()
    state, before, sealed = state_of(seal for _, _, seal in items), "", []
    for line in lines:
        before = line_seal(before, line, state if line is lines[-1] else "")
        sealed.append((LINE, str(line[0]), before))
    db.executemany("INSERT INTO seal VALUES (?, ?, ?)", [*items, *sealed])


def _digest(parts: Iterable[str]) -> str:
    whole = hashlib.blake2b(digest_size=_BYTES)
    for part in parts:
        data = part.encode("utf-8", "surrogatepass")
        whole.update(len(data).to_bytes(8, "big") + data)
    return whole.hexdigest()


APPLICATION_ID = 0x544B4F46
"""Marks an SQLite file as a job file ("TKOF")."""


def _first(db: sqlite3.Connection) -> None:
    db.execute("CREATE TABLE item (kind TEXT NOT NULL, id TEXT NOT NULL, body TEXT NOT NULL, PRIMARY KEY (kind, id))")
    db.execute(
        "CREATE TABLE journal (seq INTEGER PRIMARY KEY, at TEXT NOT NULL, who TEXT NOT NULL, "
        "verb TEXT NOT NULL CHECK (verb IN ('do', 'undo', 'redo')), label TEXT NOT NULL, changes TEXT NOT NULL)"
    )
    db.execute("CREATE TABLE source (sha256 TEXT PRIMARY KEY, name TEXT NOT NULL, bytes BLOB NOT NULL)")
    for verb in ("UPDATE", "DELETE"):
        db.execute(
            f"CREATE TRIGGER journal_keeps_{verb.lower()} BEFORE {verb} ON journal "
            "BEGIN SELECT RAISE(ABORT, 'the journal is append-only'); END"
        )


def _no_table(db: sqlite3.Connection) -> None:
    """Change nothing: items hold something new, and the version keeps out who would not know it or lose it."""


def _open_points(db: sqlite3.Connection) -> None:
    """Mark heights and sills of openings that still are as tracing put them as unknown: most were assumed in silence.

    Every other value of an older file counts as given by a person. What was traced is known by the journal's labels.
    """
    put: dict[str, set[tuple[float, float]]] = {}
    for (changes,) in db.execute("SELECT changes FROM journal WHERE verb = 'do' AND label LIKE 'Trace %'").fetchall():
        for kind, id, _, after in json.loads(changes):
            if kind == "run" and after is not None:
                put.setdefault(id, set()).update(_sizes(opening) for opening in after.get("openings", []))
    for id, sizes in put.items():
        for (body,) in db.execute("SELECT body FROM item WHERE kind = 'run' AND id = ?", (id,)).fetchall():
            run = json.loads(body)
            for opening in run.get("openings", []):
                if (size := _sizes(opening)) in sizes:
                    fields = ("height",) if opening.get("kind", "door") == "door" else ("height", "sill")
                    opening["basis"] = [
                        {"of": of, "taken": value, "how": "unknown"} for of, value in zip(fields, size, strict=False)
                    ]
            db.execute("UPDATE item SET body = ? WHERE kind = 'run' AND id = ?", (json.dumps(run), id))


def _sizes(opening: dict[str, Any]) -> tuple[float, float]:
    return opening["height"], opening.get("sill", 0.0)


def _seals(db: sqlite3.Connection) -> None:
    """Add the table of checksums; they are made after every step from here on."""
    db.execute("CREATE TABLE seal (kind TEXT NOT NULL, id TEXT NOT NULL, sum TEXT NOT NULL, PRIMARY KEY (kind, id))")


MIGRATIONS: tuple[Callable[[sqlite3.Connection], None], ...] = (
    _first,
    _no_table,  # records from site
    _no_table,  # the catalogue's notes
    _open_points,
    _seals,
)
"""Step n takes a file from schema version n to n + 1."""

VERSION = len(MIGRATIONS)
SEALED = MIGRATIONS.index(_seals) + 1
"""Schema version from which on a file has checksums."""


def schema_of(version: int) -> dict[str, tuple[str, str]]:
    """Return what the schema of a version holds: by name the kind of thing and the text that makes it."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as db:
        migrate(db, MIGRATIONS[:version])
        return things_of(db)


def things_of(db: sqlite3.Connection) -> dict[str, tuple[str, str]]:
    """Return what a database holds: by name the kind of thing and the text that makes it."""
    return {name: (kind, text or "") for kind, name, text in db.execute("SELECT type, name, sql FROM sqlite_schema")}


def version_of(db: sqlite3.Connection, name: str) -> int:
    """Return the version of a job file's schema; refuse what is no job file, or holds more than one, which would run.

    Raises `StoreError`, naming the file by ``name``: it is no job file, a newer program's, or something in it is too
    much or other.
    """
    if db.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
        raise StoreError(f"{name} is not a job file", remedy="Name a file made by takeoff new.")
    version: int = db.execute("PRAGMA user_version").fetchone()[0]
    if version > VERSION:
        raise StoreError(
            f"{name} has schema version {version}, this program knows up to {VERSION}",
            remedy="Open it with a newer version of the program; it was left as it is.",
        )
    right, found = schema_of(version), things_of(db)
    for thing in sorted(found.keys() | right.keys()):
        if found.get(thing) == right.get(thing):
            continue
        if thing not in found:
            fault = f'it lacks its {right[thing][0]} "{thing}"'
        elif thing not in right:
            fault = f'it holds the {found[thing][0]} "{thing}", which no job file has'
        else:
            fault = f'its {found[thing][0]} "{thing}" is not that of a job file'
        remedy = "Another program changed it. Ask who sent it to export the job as JSON."
        raise StoreError(f"{name}: {fault}", remedy=remedy)
    return version


def migrate(db: sqlite3.Connection, steps: Sequence[Callable[[sqlite3.Connection], None]] = MIGRATIONS) -> None:
    """Bring a file to the newest schema, each step in a transaction with the record that it ran."""
    version = db.execute("PRAGMA user_version").fetchone()[0]
    for number, step in enumerate(steps[version:], start=version + 1):
        db.execute("BEGIN IMMEDIATE")
        try:
            step(db)
            if number >= SEALED:
                reseal(db)
            db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            db.execute(f"PRAGMA user_version = {number}")
            db.execute("COMMIT")
        except BaseException:
            if db.in_transaction:
                db.execute("ROLLBACK")
            raise
