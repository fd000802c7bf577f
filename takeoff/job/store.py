"""The job file: one SQLite file that holds the job, its plans and an append-only journal.

Every edit is one transaction, on disk before ``do`` returns (WAL, synchronous FULL). Undo and redo are journal lines
too, so they survive a restart and the history says who did what when.
"""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from functools import reduce
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from takeoff.errors import StoreError
from takeoff.job import database
from takeoff.job.changes import FIELDS, SETTINGS, Change, ChangeEntry, Verb, apply_change, decode_change, merged, replay
from takeoff.job.changes import JournalLine as JournalLine
from takeoff.job.edits import Edit
from takeoff.job.job import Job
from takeoff.job.rows import read_rows, write_change
from takeoff.job.schema import VERSION, migrate, version_of

Sign = Callable[[], tuple[str, str]]
"""Says who is at work, by name, and when it is, in UTC to the second, ISO 8601."""
UNWRITABLE = ("it or its folder cannot be written to", "Copy it to a folder of your own to change it.")
NO_ROOM = ("the disk is full or failing", "Make room on the disk and open it again to change it.")
"""Why a job is opened to be read alone, and what to do about it."""
_RESCUE = "Save what can be trusted into a new file: takeoff rescue JOB NEW."


class JobStore:
    """An open job file. Use ``create`` or ``open``, and ``close`` (or a with block).

    ``is_read_only`` is true where the file or its folder cannot be written to, the disk is full, or the file is
    damaged: every edit is refused then. ``faults`` say what is damaged, a sentence each; the job is then what can be
    trusted.
    """

    def __init__(
        self,
        path: Path,
        db: sqlite3.Connection,
        *,
        sign: Sign | None,
        closed_for: tuple[str, str] | None = None,
        faults: tuple[str, ...] = (),
    ) -> None:
        self.path = path
        self.sign = sign
        self.is_read_only = closed_for is not None
        self._closed_for = closed_for or UNWRITABLE
        self._together: list[Change] | None = None
        self._db = db
        self._file = database.identity(path)
        with database.store_errors(path):
            if (found := db.execute("PRAGMA quick_check(1)").fetchone()[0]) != "ok":
                raise StoreError(f"{path.name} is damaged: {found.splitlines()[-1]}", remedy=_RESCUE)
            self.faults = faults
            self._seq = -1
            with self.one_moment():
                pass

    @classmethod
    def create(
        cls,
        path: Path,
        job: Job,
        sources: Mapping[str, bytes],
        *,
        sign: Sign,
        history: Sequence[tuple[JournalLine, Change]] = (),
        label: str = "New job",
        lost: Collection[str] = (),
    ) -> JobStore:
        """Make a new job file; it is made under another name, so that there is all of it or none.

        Parameters
        ----------
        history
            Journal that led to the job, where it has one already; it stands in place of that line.
        lost
            SHA-256 of plan files whose bytes are lost.
        """
        entries = [ChangeEntry(SETTINGS, "", None, job.settings)]
        for kind, name in FIELDS.items():
            entries.extend(ChangeEntry(kind, str(k), None, v) for k, v in getattr(job, name).items())
        made = Change(label, tuple(entries))
        who, at = sign()
        lines = history or [(JournalLine(seq=1, at=at, who=who, verb="do", label=made.label), made)]
        replay((line.verb, change) for line, change in lines)
        if reduce(apply_change, (change for _, change in lines), Job(settings=job.settings)) != job:
            raise StoreError("the history leads to another job", remedy="Export the job again.")
        with database.made_anew(path) as db:
            database.keep_safe(db)
            migrate(db)
            write_change(db, made, lines, sources, lost)
        return cls.open(path, sign)

    @classmethod
    def open(cls, path: Path, sign: Sign | None = None) -> JobStore:
        """Open a job file; to be read alone without ``sign``, where it cannot be written to, or the disk is full.

        The database alone opens it: any other reader in this program would drop, on closing it, the locks of one that
        has it open here already, and another program would take its log away (sqlite.org/howtocorrupt.html, 2.2).
        """
        with database.store_errors(path):
            if not path.is_file():
                if path.is_dir():
                    raise StoreError(f"{path.name} is a folder", remedy="Name the job file in it.")
                raise StoreError(f"there is no file {path.name}", remedy="Make it: takeoff new JOB FILE.")
            if fault := database.log_fault(path):
                lost = f"the file {path.name}-wal with the last edits: {fault}, and edits in it are lost"
                return cls._open_at(path, sign, "mode=ro", (f"it is damaged: {lost}", _RESCUE), faults=(lost,))
            if not database.is_writable(path):
                return cls._open_at(path, sign, database.readable(path), UNWRITABLE)
            try:
                return cls._open_at(path, sign, "mode=rw")
            except sqlite3.OperationalError as error:
                if not database.has_no_room(error):
                    raise
                return cls._open_at(path, sign, database.readable(path), NO_ROOM)

    @classmethod
    def _open_at(
        cls,
        path: Path,
        sign: Sign | None,
        how: str,
        closed_for: tuple[str, str] | None = None,
        faults: tuple[str, ...] = (),
    ) -> Self:
        """Open a job file as told; to be read alone where it is said what it is closed for."""
        db = sqlite3.connect(f"{path.absolute().as_uri()}?{how}", uri=True, isolation_level=None)
        try:
            database.distrust(db)
            version = version_of(db, path.name)
            if closed_for is None:
                database.keep_safe(db)
                migrate(db)
            elif version < VERSION:
                raise StoreError(
                    f"{path.name} has schema version {version} and cannot be brought to {VERSION}, for {closed_for[0]}",
                    remedy=closed_for[1],
                )
            return cls(path, db, sign=sign, closed_for=closed_for, faults=faults)
        except BaseException:
            db.close()
            raise

    @contextmanager
    def one_moment(self) -> Iterator[None]:
        """Have the job, its journal and its plans as they are together in the file, whatever others write meanwhile.

        Nothing can be done within.
        """
        with database.store_errors(self.path):
            self._db.execute("BEGIN")
        try:
            with database.store_errors(self.path):
                self._take()
            yield
        finally:
            self._db.execute("COMMIT")

    def _take(self) -> None:
        """Take the job as it is in the file where it is another than was read."""
        last = self._db.execute("SELECT coalesce(max(seq), 0) FROM journal").fetchone()[0]
        if last == self._seq or self._together is not None:
            return
        self.job, (self._done, self._undone), faults = read_rows(self._db, self.path)
        self._seq = last
        self.faults += faults
        if self.faults:
            self.is_read_only = True
            self._closed_for = (f"it is damaged: {'; '.join(self.faults)}", _RESCUE)

    def catch_up(self) -> JournalLine | None:
        """Take up what another window or command has written since; return the last line of it, if there is any."""
        before = self._seq
        with self.one_moment():
            return self.history()[-1] if self._seq != before else None

    def signed(self) -> tuple[str, str]:
        """Say who is at work and when it is; refused where the file was opened without that, to be read."""
        if self.sign is None:
            raise StoreError(f"{self.path.name} was opened to be read", remedy="Open it to be changed.")
        return self.sign()

    def _record(self, change: Change, verb: Verb, sources: Mapping[str, bytes]) -> None:
        if self.is_read_only:
            why, remedy = self._closed_for
            raise StoreError(f"{self.path.name} was opened to be read: {why}", remedy=remedy)
        if database.identity(self.path) != self._file:
            raise StoreError(
                f"{self.path.name} was moved, removed or replaced while it was open: nothing was changed",
                remedy="Save a copy of what is open under another name, or open the file again.",
            )
        after = apply_change(self.job, change)
        who, at = self.signed()
        line = JournalLine(seq=self._seq + 1, at=at, who=who, verb=verb, label=change.label)
        with database.store_errors(self.path):
            write_change(self._db, change, [(line, change)], sources)
        self.job, self._seq = after, line.seq

    def do(self, edit: Edit, *, sources: Mapping[str, bytes] | None = None) -> Change:
        """Do an edit: it is on disk when this returns."""
        change = edit.apply(self.job)
        if self._together is not None:
            self._together.append(change)
            self.job = apply_change(self.job, change)
            return change
        self._do(change, sources or {})
        return change

    def _do(self, change: Change, sources: Mapping[str, bytes]) -> None:
        """Write an edit that fits; what was undone before it cannot be done again."""
        self._record(change, "do", sources)
        self._done.append(change)
        self._undone.clear()

    @contextmanager
    def together(self, label: str) -> Iterator[None]:
        """Take the edits of a ``with`` block as one, written at its end; where it ends in an error none is done.

        Edits that bring plan files with them are no part of such a block.
        """
        before, self._together = self.job, []
        try:
            yield
            change = merged(label, self._together)
        finally:
            self.job, self._together = before, None
        if change.entries:
            self._do(change, {})

    @property
    def can_undo(self) -> bool:
        """True where there is an edit to take back; the making of the job is not one."""
        return len(self._done) > 1

    @property
    def can_redo(self) -> bool:
        """True where an edit was taken back and nothing else done since."""
        return bool(self._undone)

    def undo(self) -> Change | None:
        """Take the last edit back; ``None`` where there is none."""
        return self._turn("undo", self._done, self._undone) if self.can_undo else None

    def redo(self) -> Change | None:
        """Do again what was last taken back; ``None`` where there is nothing."""
        return self._turn("redo", self._undone, self._done) if self.can_redo else None

    def _turn(self, verb: Verb, origin: list[Change], target: list[Change]) -> Change:
        """Take back, or do again, the last of one list, and put it on the other."""
        change = origin[-1].reversed() if verb == "undo" else origin[-1]
        self._record(change, verb, {})
        target.append(origin.pop())
        return change

    def history(self) -> list[JournalLine]:
        """Return the journal from the first line to the last."""
        rows = self._lines("seq, at, who, verb, label")
        return [JournalLine(seq=s, at=a, who=w, verb=v, label=t) for s, a, w, v, t in rows]

    def changes(self) -> list[Change]:
        """Return what each line of the journal changed, from the first to the last."""
        return [decode_change(label, body) for label, body in self._lines("label, changes")]

    def _lines(self, columns: str) -> list[tuple[Any, ...]]:
        with database.store_errors(self.path):
            return self._db.execute(f"SELECT {columns} FROM journal ORDER BY seq").fetchall()

    def source(self, sha256: str) -> bytes:
        """Return the bytes of a plan file."""
        with database.store_errors(self.path):
            row = self._db.execute("SELECT bytes FROM source WHERE sha256 = ?", (sha256,)).fetchone()
        if row is None:
            raise StoreError("a plan file is missing from the job", remedy="Restore the file from a copy.")
        if hashlib.sha256(row[0]).hexdigest() != sha256:
            raise StoreError("a plan file in the job is damaged", remedy="Restore the file from a copy.")
        return bytes(row[0])

    def copy_to(self, path: Path) -> None:
        """Make a copy of the job file with every edit that is done, also while others have it open."""
        with database.made_anew(path) as copy:
            self._db.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")

    def close(self) -> None:
        """Close the file; edits that lie beside it are folded in where nobody else has it open."""
        if not self.is_read_only:
            with suppress(sqlite3.Error):
                self._db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        self._db.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
