"""The job file: one SQLite file that holds the job, its plans and an append-only journal.

Every edit is one transaction, on disk before ``do`` returns (WAL, synchronous FULL). Undo and redo are journal lines
too, so they survive a restart and the history says who did what when.
"""

from __future__ import annotations

import hashlib
import os
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from functools import reduce
from pathlib import Path
from types import TracebackType
from typing import Self

from takeoff.errors import StoreError
from takeoff.job.changes import FIELDS, SETTINGS, Change, ChangeEntry, apply_change
from takeoff.job.codec import decode, decode_change, encode, encode_change
from takeoff.job.edits import Edit
from takeoff.job.history import JournalLine as JournalLine
from takeoff.job.history import Verb, replay
from takeoff.job.job import Job
from takeoff.job.schema import APPLICATION_ID, VERSION, migrate

UNWRITABLE = ("it or its folder cannot be written to", "Copy it to a folder of your own to change it.")
NO_ROOM = ("the disk is full or failing", "Make room on the disk and open it again to change it.")
"""Why a job is opened to be read alone, and what to do about it."""


_FAULTS: Mapping[int, tuple[str, str]] = {
    sqlite3.SQLITE_IOERR: (
        "the disk cannot be read or written",
        "The disk is full or failing: make room on it and try again; nothing was changed.",
    ),
    sqlite3.SQLITE_FULL: ("the disk is full", "Make room on the disk and try again; nothing was changed."),
    sqlite3.SQLITE_READONLY: (
        "it cannot be written to",
        "Check the permissions of the file and its folder; nothing was changed.",
    ),
    sqlite3.SQLITE_CANTOPEN: ("it cannot be opened", "Check that the folder exists and can be written to."),
    sqlite3.SQLITE_BUSY: ("another program has it open", "Close the other program and try again."),
    sqlite3.SQLITE_LOCKED: ("another program has it open", "Close the other program and try again."),
    sqlite3.SQLITE_NOTADB: ("it is not a job file of this program, or it is damaged", "Restore the file from a copy."),
    sqlite3.SQLITE_CORRUPT: ("it is damaged", "Restore the file from a copy."),
}
"""What is wrong with a job file and what to do, by the database's primary result code (sqlite.org/rescode.html)."""


def _code(error: sqlite3.Error) -> int:
    """Primary result code of a database error; 0 where the error is not the database's own."""
    return getattr(error, "sqlite_errorcode", 0) & 0xFF


@contextmanager
def _store_errors(path: Path) -> Iterator[None]:
    try:
        yield
    except sqlite3.Error as error:
        what, remedy = _FAULTS.get(_code(error), (str(error), "Nothing was changed."))
        raise StoreError(f"{path.name}: {what}", remedy=remedy) from error
    except OSError as error:
        raise StoreError(f"{path.name}: {error.strerror}", remedy="Check the permissions of the file.") from error
    except UnicodeError as error:
        raise StoreError(f"a text cannot be stored: {error}", remedy="Correct it; nothing was changed.") from error


def _is_writable(path: Path) -> bool:
    """Tell whether a file can be written to and other files made beside it, as the database does."""
    by_effective = os.access in os.supports_effective_ids
    return all(os.access(place, os.W_OK, effective_ids=by_effective) for place in (path, path.absolute().parent))


def _readable(path: Path) -> str:
    """Return how a file is opened that cannot be written to: as it stands, or with the edits that lie beside it."""
    beside = path.with_name(path.name + "-wal")
    return "mode=ro" if beside.is_file() and beside.stat().st_size else "mode=ro&immutable=1"


def _has_no_room(error: sqlite3.OperationalError) -> bool:
    """Tell whether a file could not be opened for want of room for those that the database makes beside it."""
    return _code(error) in (sqlite3.SQLITE_IOERR, sqlite3.SQLITE_FULL, sqlite3.SQLITE_CANTOPEN)


def _remove(path: Path) -> None:
    for suffix in ("", "-wal", "-shm", "-journal"):
        path.with_name(path.name + suffix).unlink(missing_ok=True)


class JobStore:
    """An open job file. Use ``create`` or ``open``, and ``close`` (or a with block).

    ``is_read_only`` is true where the file or its folder cannot be written to, or the disk is full: every edit is
    refused then.
    """

    def __init__(self, path: Path, db: sqlite3.Connection, *, closed_for: tuple[str, str] | None = None) -> None:
        self.path = path
        self.is_read_only = closed_for is not None
        self._closed_for = closed_for or UNWRITABLE
        self._db = db
        with _store_errors(path):
            if (found := db.execute("PRAGMA quick_check(1)").fetchone()[0]) != "ok":
                raise StoreError(
                    f"{path.name} is damaged: {found.splitlines()[-1]}", remedy="Restore the file from a copy."
                )
            self.job, self._done, self._undone = self._load()

    @classmethod
    def create(
        cls,
        path: Path,
        job: Job,
        sources: Mapping[str, bytes],
        *,
        who: str,
        at: str,
        history: Sequence[tuple[JournalLine, Change]] = (),
    ) -> JobStore:
        """Make a new job file; it is made under another name, so that there is all of it or none.

        Parameters
        ----------
        path
            Where; there must be no file yet.
        job
            First state of the job.
        sources
            Bytes of its plan files by SHA-256.
        who, at
            Name and time for the journal's first line, "New job".
        history
            Journal that led to the job, where it has one already; it stands in place of that line.

        Raises
        ------
        StoreError
            If the file exists or cannot be written, or if the history leads to another job.
        """
        if path.exists():
            raise StoreError(f"{path.name} exists already", remedy="Choose another name, or remove it first.")
        entries = [ChangeEntry(SETTINGS, "", None, job.settings)]
        for kind, name in FIELDS.items():
            entries.extend(ChangeEntry(kind, str(k), None, v) for k, v in getattr(job, name).items())
        made = Change("New job", tuple(entries))
        lines = history or [(JournalLine(seq=1, at=at, who=who, verb="do", label=made.label), made)]
        replay((line.verb, change) for line, change in lines)
        if reduce(apply_change, (change for _, change in lines), Job(settings=job.settings)) != job:
            raise StoreError("the history leads to another job", remedy="Export the job again.")
        part = path.with_name(path.name + ".part")
        with _store_errors(path):
            _remove(part)
            try:
                with closing(sqlite3.connect(part, isolation_level=None)) as db:
                    cls._pragmas(db)
                    migrate(db)
                    cls._write(db, made, lines, sources)
                part.rename(path)
            except BaseException:
                _remove(part)
                raise
        return cls.open(path)

    @classmethod
    def open(cls, path: Path) -> JobStore:
        """Open a job file; to be read alone where it or its folder cannot be written to, or the disk is full.

        Raises
        ------
        StoreError
            If there is none, if it is no job file or damaged, or if a newer version of the program wrote it.
        """
        with _store_errors(path):
            if not path.is_file():
                if path.is_dir():
                    raise StoreError(f"{path.name} is a folder", remedy="Name the job file in it.")
                raise StoreError(f"there is no file {path.name}", remedy="Make it: takeoff new JOB --plan FILE.")
            with path.open("rb") as file:
                if file.read(16) != b"SQLite format 3\x00":
                    raise StoreError(f"{path.name} is not a job file", remedy="Name a file made by takeoff new.")
            if not _is_writable(path):
                return cls._open_at(path, _readable(path), UNWRITABLE)
            try:
                return cls._open_at(path, "mode=rw")
            except sqlite3.OperationalError as error:
                if not _has_no_room(error):
                    raise
                return cls._open_at(path, _readable(path), NO_ROOM)

    @classmethod
    def _open_at(cls, path: Path, how: str, closed_for: tuple[str, str] | None = None) -> Self:
        """Open a job file as told; to be read alone where it is said what it is closed for."""
        db = sqlite3.connect(f"{path.absolute().as_uri()}?{how}", uri=True, isolation_level=None)
        try:
            if db.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
                raise StoreError(f"{path.name} is not a job file", remedy="Name a file made by takeoff new.")
            version = db.execute("PRAGMA user_version").fetchone()[0]
            if version > VERSION:
                raise StoreError(
                    f"{path.name} has schema version {version}, this program knows up to {VERSION}",
                    remedy="Open it with a newer version of the program; it was left as it is.",
                )
            if closed_for is None:
                cls._pragmas(db)
                migrate(db)
            elif version < VERSION:
                raise StoreError(
                    f"{path.name} has schema version {version} and cannot be brought to {VERSION}, for {closed_for[0]}",
                    remedy=closed_for[1],
                )
            return cls(path, db, closed_for=closed_for)
        except BaseException:
            db.close()
            raise

    @staticmethod
    def _pragmas(db: sqlite3.Connection) -> None:
        db.execute("PRAGMA journal_mode = WAL")
        db.execute("PRAGMA synchronous = FULL")
        db.execute("PRAGMA foreign_keys = ON")

    def _load(self) -> tuple[Job, list[Change], list[Change]]:
        rows = self._db.execute("SELECT kind, id, body FROM item ORDER BY rowid").fetchall()
        values = [(kind, id, decode(kind, body)) for kind, id, body in rows]
        settings = next((value for kind, _, value in values if kind == SETTINGS), None)
        if settings is None:
            raise StoreError(f"{self.path.name} holds no job", remedy="Restore the file from a copy.")
        entries = tuple(ChangeEntry(kind, id, None, value) for kind, id, value in values if kind != SETTINGS)
        job = apply_change(Job(settings=settings), Change("", entries))
        lines = self._db.execute("SELECT verb, label, changes, seq FROM journal ORDER BY seq").fetchall()
        self._seq = lines[-1][3] if lines else 0
        return job, *replay((verb, decode_change(label, changes)) for verb, label, changes, _ in lines)

    @staticmethod
    def _write(
        db: sqlite3.Connection,
        change: Change,
        lines: Sequence[tuple[JournalLine, Change]],
        sources: Mapping[str, bytes],
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
                raise StoreError(
                    "another window or command has changed the job meanwhile",
                    remedy="Open it again and repeat the edit; nothing was changed.",
                )
            for sha, content in sources.items():
                db.execute("INSERT OR IGNORE INTO source VALUES (?, ?, ?)", (sha, names.get(sha, ""), content))
            for sha, name in names.items():
                if not db.execute("SELECT 1 FROM source WHERE sha256 = ?", (sha,)).fetchone():
                    raise StoreError(f"the bytes of {name} are missing", remedy="Give the plan file with the edit.")
            for e, body in zip(change.entries, bodies, strict=True):
                if body is None:
                    db.execute("DELETE FROM item WHERE kind = ? AND id = ?", (e.kind, e.id))
                else:
                    db.execute(
                        "INSERT INTO item VALUES (?, ?, ?) ON CONFLICT (kind, id) DO UPDATE SET body = excluded.body",
                        (e.kind, e.id, body),
                    )
            for line, step in lines:
                db.execute(
                    "INSERT INTO journal VALUES (?, ?, ?, ?, ?, ?)",
                    (line.seq, line.at, line.who, line.verb, line.label, encode_change(step).decode()),
                )
            db.execute("COMMIT")
        except BaseException:
            if db.in_transaction:
                db.execute("ROLLBACK")
            raise

    def _record(self, change: Change, verb: Verb, who: str, at: str, sources: Mapping[str, bytes]) -> None:
        if self.is_read_only:
            why, remedy = self._closed_for
            raise StoreError(f"{self.path.name} was opened to be read: {why}", remedy=remedy)
        after = apply_change(self.job, change)
        line = JournalLine(seq=self._seq + 1, at=at, who=who, verb=verb, label=change.label)
        with _store_errors(self.path):
            self._write(self._db, change, [(line, change)], sources)
        self.job, self._seq = after, line.seq

    def do(self, edit: Edit, *, who: str, at: str, sources: Mapping[str, bytes] | None = None) -> Change:
        """Do an edit: it is on disk when this returns.

        Raises
        ------
        EditError
            If it does not fit the job; nothing is changed.
        StoreError
            If it cannot be written; nothing is changed.
        """
        change = edit.apply(self.job)
        self._record(change, "do", who, at, sources or {})
        self._done.append(change)
        self._undone.clear()
        return change

    @property
    def can_undo(self) -> bool:
        """True where there is an edit to take back; the making of the job is not one."""
        return len(self._done) > 1

    @property
    def can_redo(self) -> bool:
        """True where an edit was taken back and nothing else done since."""
        return bool(self._undone)

    def undo(self, *, who: str, at: str) -> Change | None:
        """Take the last edit back; ``None`` where there is none."""
        if not self.can_undo:
            return None
        change = self._done[-1].reversed()
        self._record(change, "undo", who, at, {})
        self._undone.append(self._done.pop())
        return change

    def redo(self, *, who: str, at: str) -> Change | None:
        """Do again what was last taken back; ``None`` where there is nothing."""
        if not self.can_redo:
            return None
        change = self._undone[-1]
        self._record(change, "redo", who, at, {})
        self._done.append(self._undone.pop())
        return change

    def history(self) -> list[JournalLine]:
        """Return the journal from the first line to the last."""
        with _store_errors(self.path):
            rows = self._db.execute("SELECT seq, at, who, verb, label FROM journal ORDER BY seq").fetchall()
        return [JournalLine(seq=s, at=a, who=w, verb=v, label=t) for s, a, w, v, t in rows]

    def changes(self) -> list[Change]:
        """Return what each line of the journal changed, from the first to the last."""
        with _store_errors(self.path):
            rows = self._db.execute("SELECT label, changes FROM journal ORDER BY seq").fetchall()
        return [decode_change(label, body) for label, body in rows]

    def source(self, sha256: str) -> bytes:
        """Return the bytes of a plan file."""
        with _store_errors(self.path):
            row = self._db.execute("SELECT bytes FROM source WHERE sha256 = ?", (sha256,)).fetchone()
        if row is None:
            raise StoreError("a plan file is missing from the job", remedy="Restore the file from a copy.")
        if hashlib.sha256(row[0]).hexdigest() != sha256:
            raise StoreError("a plan file in the job is damaged", remedy="Restore the file from a copy.")
        return bytes(row[0])

    def close(self) -> None:
        """Close the file."""
        self._db.close()

    def __enter__(self) -> Self:
        """Use the store in a with block."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close the file."""
        self.close()
