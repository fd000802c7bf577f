"""A whole new set at once: which sheets are the same, changed, new or gone, and the changed ones compared."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from takeoff.actions.comparing import Progress, compare_revision
from takeoff.actions.revising import NOT_SHOWN, Accept, Revision, accept_revision
from takeoff.errors import InputError, TakeoffError
from takeoff.job.changes import Change
from takeoff.job.job import Job, calibration_key
from takeoff.job.store import JobStore
from takeoff.model.plan import Sheet
from takeoff.sheet.files import plan_contents, read_sheets, source_of
from takeoff.sheet.render import render_array
from takeoff.sheet.text import read_lines

SheetState = Literal["same", "changed", "new", "gone"]

DPI = 48.0
"""Resolution at which pages are compared: a line of a fine pen still darkens its pixel."""
DARKER = 24
"""Levels of grey by which one pixel must differ for a page to be changed."""
ALIKE = 0.6
"""Part of the words of two sheets without a number that are the same from which they are one sheet (judgement)."""
WORDS = 20
"""Words below which a sheet is not told by its words."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetOfSet:
    """One sheet of a new set beside the job's: ``old`` is the job's sheet, ``new`` the page of the set.

    ``revision`` is the comparison where the sheet changed and walls are traced on it; ``note`` says in words what is
    to be known otherwise.
    """

    state: SheetState
    old: Sheet | None = None
    new: Sheet | None = None
    revision: Revision | None = None
    note: str = ""

    @property
    def label(self) -> str:
        """Number and title of the sheet."""
        sheet = self.new or self.old
        assert sheet is not None
        return " ".join(t for t in (sheet.number, sheet.title) if t) or f"page {sheet.page}"

    @property
    def found(self) -> str:
        """What was found on it, in words: the walls that were compared, else the note."""
        if self.revision is None:
            return self.note
        runs = self.revision.runs
        sure, off = sum(run.sure for run in runs), sum(run.verdict == NOT_SHOWN for run in runs)
        left = f", {off} not on this sheet" if off else ""
        return f"{len(runs)} walls: {sure} sure, {len(runs) - sure - off} to look at{left}"

    @property
    def state_words(self) -> str:
        """Its state; of a sheet that shows only some of the walls of the old one, that it is issued in part."""
        is_part = self.revision is not None and any(run.verdict == NOT_SHOWN for run in self.revision.runs)
        return "issued in part" if is_part else self.state


def compare_set(store: JobStore, name: str, data: bytes, *, progress: Progress | None = None) -> tuple[SheetOfSet, ...]:
    """Compare a whole new set with the sheets of a job; the job is not changed.

    Sheets are matched by number, else by title, else by their words. Of sheets that changed, those with walls on them
    are compared wall by wall, as `compare_revision` does.

    Parameters
    ----------
    store
        The open job.
    name, data
        The new set: its file's name and its bytes.
    progress
        Is told the fraction done, 0 to 1.

    Returns
    -------
    tuple
        The pages of the set in their order, then sheets of the job that the set lacks.

    Raises
    ------
    InputError
        When it is a file of the job.
    SheetError
        When the set cannot be read.
    """
    tell = progress or (lambda fraction: None)
    job = store.job
    data, _ = plan_contents(data, name)
    if source_of(data, name).sha256 in job.sources:
        raise InputError(f"{name} is in the job already", remedy="Name the file of the new set.")
    pages, _ = read_sheets(data, name)
    standing = standing_sheets(job)
    old_texts = {s.id: _texts(store.source(s.source), s) for s in standing}
    new_texts = [_texts(data, p) for p in pages]
    words = {id: _words(texts) for id, texts in old_texts.items()}
    pairs = _matched(standing, pages, words, [_words(texts) for texts in new_texts])
    out: list[SheetOfSet] = []
    next_id = max(job.sheets, default=0) + 1
    for i, (page, old) in enumerate(zip(pages, pairs, strict=True)):
        tell(i / len(pages))
        is_same = old is not None and old_texts[old.id] == new_texts[i] and _looks_same(store, old, data, page)
        found = _compared(store, old, page, name, data, is_same=is_same, id=next_id)
        next_id += found.revision is not None and found.revision.sheet.id == next_id
        out.append(found)
    found_ids = {old.id for old in pairs if old is not None}
    out.extend(
        SheetOfSet(state="gone", old=s, note="the new set does not hold it; it stays in the job")
        for s in standing
        if s.id not in found_ids
    )
    tell(1.0)
    return tuple(out)


def accept_set(
    store: JobStore, sheets: Sequence[SheetOfSet], accept: Accept, *, who: str, at: str
) -> tuple[tuple[Revision, Change], ...]:
    """Take the changed sheets of a set into the job, each as one edit that can be undone; as `accept_revision`."""
    out = []
    for sheet in sheets:
        if sheet.revision is not None and sheet.revision.chosen(accept):
            change = accept_revision(store, sheet.revision, accept, who=who, at=at)
            if change is not None:
                out.append((sheet.revision, change))
    return tuple(out)


def standing_sheets(job: Job) -> list[Sheet]:
    """The sheets of a job that no later revision replaced, in the order of the register."""
    numbers = {s.number for s in job.sheets.values() if s.number}
    # in a job of before the register kept it, a replaced sheet has its revision behind its successor's number
    return [
        s
        for s in job.sheets.values()
        if s.replaced_by is None and not (s.number.endswith(")") and s.number.rpartition(" (")[0] in numbers)
    ]


def _matched(
    old: Sequence[Sheet], new: Sequence[Sheet], old_words: dict[int, Counter[str]], new_words: Sequence[Counter[str]]
) -> list[Sheet | None]:
    """The job's sheet of each page of a set."""
    out: list[Sheet | None] = [None] * len(new)
    free = list(old)

    def pair(i: int, same: Sequence[Sheet]) -> None:
        if out[i] is None and len(same) == 1:
            out[i] = same[0]
            free.remove(same[0])

    for i, page in enumerate(new):
        number, title = page.number.casefold(), page.title.casefold()
        if number and sum(p.number.casefold() == number for p in new) == 1:
            pair(i, [s for s in free if s.number.casefold() == number])
        # a title names a sheet only where no number contradicts it
        if title and not number and sum(p.title.casefold() == title for p in new) == 1:
            pair(i, [s for s in free if not s.number and s.title.casefold() == title])
    for i, page in enumerate(new):
        if out[i] is None and not page.number:
            best = max(free, key=lambda s: _likeness(old_words[s.id], new_words[i]), default=None)
            if best is not None and not best.number and _likeness(old_words[best.id], new_words[i]) >= ALIKE:
                out[i] = best
                free.remove(best)
    return out


def _texts(data: bytes, sheet: Sheet) -> list[str]:
    return [line.text for line in read_lines(data, sheet)]


def _words(texts: Sequence[str]) -> Counter[str]:
    return Counter(w for text in texts for w in re.findall(r"\w+", text.casefold()))


def _likeness(a: Counter[str], b: Counter[str]) -> float:
    either = (a | b).total()
    return (a & b).total() / either if min(a.total(), b.total()) >= WORDS else 0.0


def _compared(
    store: JobStore, old: Sheet | None, new: Sheet, name: str, data: bytes, *, is_same: bool, id: int
) -> SheetOfSet:
    if old is None:
        return SheetOfSet(state="new", new=new, note="the job has no such sheet; add it to the job to trace it")
    if is_same:
        return SheetOfSet(state="same", old=old, new=new)
    job = store.job
    runs = sum(run.sheet == old.id for run in job.runs.values())
    if not runs:
        return SheetOfSet(state="changed", old=old, new=new, note="no walls are traced on it")
    if calibration_key(old.id) not in job.calibrations:
        return SheetOfSet(state="changed", old=old, new=new, note="the sheet in the job has no scale")
    try:
        revision = compare_revision(store, old, name, data, page=new.page, new_id=id)
    except TakeoffError as error:
        return SheetOfSet(state="changed", old=old, new=new, note=f"not compared: {error}")
    return SheetOfSet(state="changed", old=old, new=new, revision=revision)


def _looks_same(store: JobStore, old: Sheet, new_data: bytes, new: Sheet) -> bool:
    """Tell whether two pages look the same, drawn at `DPI`."""
    if (round(old.width_pt), round(old.height_pt)) != (round(new.width_pt), round(new.height_pt)):
        return False
    pages = ((store.source(old.source), old), (new_data, new))
    a, b = (render_array(data, sheet, dpi=DPI).astype(np.int16) for data, sheet in pages)
    return a.shape == b.shape and int(np.abs(a - b).max()) <= DARKER
