"""The journal: who did what when, and the edits that can be taken back or done again."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from takeoff.errors import StoreError
from takeoff.job.changes import Change

Verb = Literal["do", "undo", "redo"]


@dataclass(frozen=True, slots=True, kw_only=True)
class JournalLine:
    """One line of the history: what was done (verb do, undo or redo), by whom and when."""

    seq: int
    at: str
    who: str
    verb: Verb
    label: str


def replay(lines: Iterable[tuple[str, Change]]) -> tuple[list[Change], list[Change]]:
    """Walk a journal of (verb, change) from the first line on.

    Returns
    -------
    list of Change
        What is done, the last one last: the next to take back.
    list of Change
        What was taken back, the last one last: the next to do again.

    Raises
    ------
    StoreError
        If a line takes back or repeats what is not there.
    """
    done: list[Change] = []
    undone: list[Change] = []
    for verb, change in lines:
        if verb == "do":
            done.append(change)
            undone.clear()
            continue
        origin, target = (done, undone) if verb == "undo" else (undone, done)
        if not origin:
            raise StoreError(f"the journal has an {verb} of nothing", remedy="Restore the file from a copy.")
        target.append(origin.pop())
    return done, undone
