"""Checksums of a job file: one for each item, and a chain through the journal, so that a value gone bad is noticed.

A line of the journal is sealed with the line before it and with the state of all items after it. The state is the sum
without carry of the checksums of all items, so that an edit changes it by what it touches alone.
"""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Iterable

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
