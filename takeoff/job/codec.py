"""Model values to JSON and back: wrong types and values that no model value can have are refused."""

from __future__ import annotations

from typing import Any

import msgspec

from takeoff.errors import EditError, StoreError
from takeoff.job.changes import KINDS, Change, ChangeEntry


def fault_of(said: str) -> tuple[str, str]:
    """Split what the JSON reader says into the fault and its JSON path.

    Examples
    --------
    >>> fault_of("Expected `int`, got `str` - at `$.runs[0].sheet`")
    ('Expected `int`, got `str`', '$.runs[0].sheet')
    >>> fault_of("Input data was truncated")
    ('Input data was truncated', '$')
    """
    text, mark, path = said.rpartition(" - at `")
    return (text, path.rstrip("`")) if mark else (path, "$")


def encode(value: Any) -> bytes:
    """Encode a model value as JSON.

    Raises `EditError` if it would not read back as it is: JSON has no infinite or undefined number and no broken
    character.
    """
    try:
        body = msgspec.json.encode(value)
        back = msgspec.json.decode(body, type=type(value))
    except ValueError as error:
        text, path = fault_of(str(error))
        raise EditError(
            f"a value cannot be stored: {text}", remedy="Correct it; nothing was changed.", where=path
        ) from error
    if back != value:
        raise EditError(
            "a value cannot be stored: it would not read back as it is", remedy="Correct it; nothing was changed."
        )
    return body


def decode(kind: str, body: bytes | str) -> Any:
    """Decode the body of an item of this kind."""
    if kind not in KINDS:
        raise StoreError(f'unknown kind of item "{kind}"', remedy="The job file was written by another program.")
    try:
        return msgspec.json.decode(body, type=KINDS[kind])
    except ValueError as error:
        raise StoreError(f"a stored {kind} is damaged: {error}", remedy="Restore the file from a copy.") from error


def encode_change(change: Change) -> bytes:
    """Encode the entries of a change: [kind, id, before, after] each."""
    return msgspec.json.encode([[e.kind, e.id, e.before, e.after] for e in change.entries])


def decode_change(label: str, body: bytes | str) -> Change:
    """Decode a change from the journal."""
    try:
        rows = msgspec.json.decode(body, type=list[tuple[str, str, msgspec.Raw, msgspec.Raw]])
    except ValueError as error:
        raise StoreError(f"the journal is damaged: {error}", remedy="Restore the file from a copy.") from error
    entries = []
    for kind, id, before, after in rows:
        values = [None if bytes(raw) == b"null" else decode(kind, bytes(raw)) for raw in (before, after)]
        entries.append(ChangeEntry(kind, id, *values))
    return Change(label, tuple(entries))
