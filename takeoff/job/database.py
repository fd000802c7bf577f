"""The database under a job file: opened so that the file runs nothing of its own; its errors in words; its log."""

from __future__ import annotations

import errno
import os
import sqlite3
import struct
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from itertools import count
from pathlib import Path

from takeoff.errors import StoreError

STEPS_AT_A_TIME, MOST_STEPS = 100_000, 20_000_000_000
"""Steps of the database between two looks at how many there were, and how many an open job may take: about an hour."""
DEFENSIVE = 1010
"""SQLITE_DBCONFIG_DEFENSIVE of sqlite.org/c3ref/c_dbconfig_defensive.html."""

_NO_LOCKS = (
    "its folder keeps no locks, as some network folders do not",
    "Copy it to a disk of this machine and work there; nothing was changed.",
)
_FAULTS: Mapping[int, tuple[str, str]] = {
    sqlite3.SQLITE_PROTOCOL: _NO_LOCKS,
    sqlite3.SQLITE_NOLFS: ("its folder takes no file of this size", "Copy it to another disk; nothing was changed."),
    **dict.fromkeys((sqlite3.SQLITE_IOERR_LOCK, sqlite3.SQLITE_IOERR_RDLOCK, sqlite3.SQLITE_IOERR_UNLOCK), _NO_LOCKS),
    **dict.fromkeys((sqlite3.SQLITE_IOERR_SHMLOCK, sqlite3.SQLITE_IOERR_SHMMAP), _NO_LOCKS),
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
    sqlite3.SQLITE_NOTADB: (
        "it is not a job file, or it is damaged",
        "Name a file made by takeoff new, or restore it from a copy.",
    ),
    sqlite3.SQLITE_CORRUPT: ("it is damaged", "Restore the file from a copy."),
}
"""What is wrong with a job file and what to do, by the result code, whole or primary (sqlite.org/rescode)."""


def _code(error: sqlite3.Error) -> int:
    """Primary result code of a database error; 0 where the error is not the database's own."""
    return getattr(error, "sqlite_errorcode", 0) & 0xFF


@contextmanager
def store_errors(path: Path) -> Iterator[None]:
    """Turn what the database and the disk refuse into a `StoreError` about a job file."""
    try:
        yield
    except sqlite3.Error as error:
        code, unknown = getattr(error, "sqlite_errorcode", 0), (str(error), "Nothing was changed.")
        what, remedy = _FAULTS.get(code) or _FAULTS.get(_code(error), unknown)
        raise StoreError(f"{path.name}: {what}", remedy=remedy) from error
    except OSError as error:
        is_long = error.errno == errno.ENAMETOOLONG
        remedy = "Give it a shorter name." if is_long else "Check the permissions of the file."
        raise StoreError(f"{path.name}: {error.strerror}", remedy=remedy) from error
    except UnicodeError as error:
        raise StoreError(f"a text cannot be stored: {error}", remedy="Correct it; nothing was changed.") from error


def is_writable(path: Path) -> bool:
    """Tell whether a file can be written to and other files made beside it, as the database does."""
    by_effective = os.access in os.supports_effective_ids
    return all(os.access(place, os.W_OK, effective_ids=by_effective) for place in (path, path.absolute().parent))


def readable(path: Path) -> str:
    """Return how a file is opened that cannot be written to: as it stands, or with the edits that lie beside it."""
    beside = path.with_name(path.name + "-wal")
    return "mode=ro" if beside.is_file() and beside.stat().st_size else "mode=ro&immutable=1"


def has_no_room(error: sqlite3.OperationalError) -> bool:
    """Tell whether a file could not be opened because there is no room for those that the database makes beside it."""
    return _code(error) in (sqlite3.SQLITE_IOERR, sqlite3.SQLITE_FULL, sqlite3.SQLITE_CANTOPEN)


def identity(path: Path) -> tuple[int, int] | None:
    """Return what tells a file from another that stands in its place later; nothing where there is none."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def remove_file(path: Path) -> None:
    """Remove a job file and what the database keeps beside it."""
    for suffix in ("", "-wal", "-shm", "-journal"):
        path.with_name(path.name + suffix).unlink(missing_ok=True)


@contextmanager
def made_anew(path: Path) -> Iterator[sqlite3.Connection]:
    """Make a job file under another name, which it has until all of it is there; there must be no file yet."""
    part = path.with_name(path.name + ".part")
    with store_errors(path):
        if path.exists():
            raise StoreError(f"{path.name} exists already", remedy="Choose another name, or remove it first.")
        remove_file(part)
        try:
            with closing(sqlite3.connect(part, isolation_level=None)) as db:
                yield db
            part.rename(path)
        except BaseException:
            remove_file(part)
            raise


def keep_safe(db: sqlite3.Connection) -> None:
    """Have every edit on disk, and in the file itself, before it is told as done: a copy of that alone has them all."""
    db.execute("PRAGMA journal_mode = WAL")
    db.execute("PRAGMA synchronous = FULL")
    db.execute("PRAGMA wal_autocheckpoint = 1")
    db.execute("PRAGMA foreign_keys = ON")


def distrust(db: sqlite3.Connection) -> None:
    """Let a file that may come from anybody run nothing of its own, and take no more than so many steps to open.

    Defensive mode needs Python 3.12; where it is missing the fixed schema does its work.
    """
    db.execute("PRAGMA trusted_schema = OFF")
    db.execute("PRAGMA cell_size_check = ON")
    if hasattr(db, "setconfig"):
        db.setconfig(DEFENSIVE, True)
    steps = count(STEPS_AT_A_TIME, STEPS_AT_A_TIME)
    db.set_progress_handler(lambda: next(steps) > MOST_STEPS, STEPS_AT_A_TIME)


# -- the log beside a job file: the database drops what is not whole of it, and says nothing (sqlite.org/walformat.html)

_HEADER, _FRAME = 32, 24
_MAGIC = {0x377F0682: "<", 0x377F0683: ">"}
"""First word of a log to the order of bytes that its checksums are made in."""


def log_fault(path: Path) -> str:
    """Say what is wrong with the log beside a job file; empty where it is whole, or there is none.

    A frame cut short at the end is no fault: it was being written when its program was killed, and no edit of it was
    said to be done.
    """
    beside = path.with_name(path.name + "-wal")
    found = ""
    for _ in range(2):  # another program may be writing: a fault is one that stays
        try:
            data = beside.read_bytes()
        except OSError:
            return ""
        found = _fault_in(data)
        if not found:
            return ""
    return found


def _fault_in(data: bytes) -> str:
    if len(data) < _HEADER + _FRAME:
        return ""
    magic, _, page, _, salt1, salt2, sum1, sum2 = struct.unpack(">8I", data[:_HEADER])
    order = _MAGIC.get(magic)
    if order is None or page not in {1 << n for n in range(9, 17)}:
        return "its head is damaged"
    sums = _sums(data[:24], order, (0, 0))
    if sums != (sum1, sum2):
        return "its head is damaged"
    bad = 0
    for number, start in enumerate(range(_HEADER, len(data) - _FRAME - page + 1, _FRAME + page), start=1):
        head = data[start : start + _FRAME]
        is_of_now = struct.unpack(">2I", head[8:16]) == (salt1, salt2)
        if not bad:
            if is_of_now:
                sums = _sums(head[:8] + data[start + _FRAME : start + _FRAME + page], order, sums)
            if not is_of_now or sums != struct.unpack(">2I", head[16:24]):
                bad = number  # what is left of an earlier log, or of an edit whose program was killed,
        if bad and is_of_now and any(head[4:8]):  # unless an edit ended there or later
            break
    else:
        return ""
    return f"page {bad} of it is damaged"


def _sums(data: bytes, order: str, start: tuple[int, int]) -> tuple[int, int]:
    a, b = start
    words = struct.unpack(f"{order}{len(data) // 4}I", data)
    for x, y in zip(words[::2], words[1::2], strict=True):
        a = (a + x + b) & 0xFFFFFFFF
        b = (b + y + a) & 0xFFFFFFFF
    return a, b
