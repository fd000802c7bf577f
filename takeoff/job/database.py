"""The database under a job file: opened so that the file runs nothing of its own, and its errors in plain words."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from itertools import count
from pathlib import Path

from takeoff.errors import StoreError

STEPS_AT_A_TIME, MOST_STEPS = 100_000, 20_000_000_000
"""Steps of the database between two looks at how many there were, and how many an open job may take: about an hour."""
DEFENSIVE = 1010
"""SQLITE_DBCONFIG_DEFENSIVE of sqlite.org/c3ref/c_dbconfig_defensive.html."""

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
def store_errors(path: Path) -> Iterator[None]:
    """Turn what the database and the disk refuse into a `StoreError` about a job file."""
    try:
        yield
    except sqlite3.Error as error:
        what, remedy = _FAULTS.get(_code(error), (str(error), "Nothing was changed."))
        raise StoreError(f"{path.name}: {what}", remedy=remedy) from error
    except OSError as error:
        raise StoreError(f"{path.name}: {error.strerror}", remedy="Check the permissions of the file.") from error
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
    """Tell whether a file could not be opened for want of room for those that the database makes beside it."""
    return _code(error) in (sqlite3.SQLITE_IOERR, sqlite3.SQLITE_FULL, sqlite3.SQLITE_CANTOPEN)


def remove_file(path: Path) -> None:
    """Remove a job file and what the database keeps beside it."""
    for suffix in ("", "-wal", "-shm", "-journal"):
        path.with_name(path.name + suffix).unlink(missing_ok=True)


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
