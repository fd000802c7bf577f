"""A whole new set at once: which sheets are the same, changed, new or gone, and the changed ones compared."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from takeoff.actions.comparing import Progress, compare_revision
from takeoff.actions.deltas import worth_of_walls
from takeoff.actions.left_of_sets import keep_left, new_note, said_on
from takeoff.actions.quantities import catalogue_of
from takeoff.actions.revising import NOT_SHOWN, NOT_TAKEN, Accept, Revision, accept_revision, names_of, numbered
from takeoff.actions.schedule_revisions import changes_of_texts, read_rows, schedule_revision, told_of
from takeoff.errors import InputError, TakeoffError
from takeoff.job.changes import Change
from takeoff.job.job import Job, calibration_key
from takeoff.job.newer_sheets import is_newer
from takeoff.job.store import JobStore
from takeoff.model.plan import Finding, Sheet, Source
from takeoff.revise.governing import ScheduleRows
from takeoff.revise.sheet_texts import SheetTexts, shows_schedule
from takeoff.sheet.files import plan_contents, read_sheets, source_of
from takeoff.sheet.render import render_array
from takeoff.sheet.text import TextLine, read_lines
from takeoff.sheet.uses import use_of
from takeoff.units import format_money

SheetState = Literal["same", "changed", "new", "gone"]

DPI = 48.0
"""Resolution at which pages are compared: a line of a fine pen still darkens its pixel."""
DARKER = 24
"""Levels of grey by which one pixel must differ for a page to be changed."""
ALIKE = 0.6
"""Part of the words of two sheets without a number that are the same from which they are one sheet (judgement)."""
SAME_NUMBER = "the set holds another sheet with this number: compare the one that counts by itself"
PART = r"[-. ]?[A-Z]"
"""What follows a sheet's number on the sheets that it is split into."""
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
    said: tuple[Finding, ...] = ()
    file: tuple[Source, bytes] | None = None

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
        if self.revision.is_only_beside:
            return told_of(self.revision.changes)
        runs = self.revision.runs
        sure, off = sum(run.sure for run in runs), sum(run.verdict == NOT_SHOWN for run in runs)
        left = f", {off} not on this sheet" if off else ""
        return f"{len(runs)} wall{'s' * (len(runs) != 1)}: {sure} sure, {len(runs) - sure - off} to look at{left}"

    @property
    def state_words(self) -> str:
        """Its state; whether it shows only some of the walls of the old one, or changed beside the plan alone."""
        if self.revision is None or not self.revision.runs:
            return self.state
        is_part = any(run.verdict == NOT_SHOWN for run in self.revision.runs)
        return "issued in part" if is_part else "same plan" if self.revision.is_only_beside else self.state


def compare_set(store: JobStore, name: str, data: bytes, *, progress: Progress | None = None) -> tuple[SheetOfSet, ...]:
    """Compare a whole new set with the sheets of a job; the job is not changed.

    Sheets are matched by number, else by title, else by their words. Of sheets that changed, those with walls on them
    are compared wall by wall, as `compare_revision` does. Gives the pages of the set in their order, then sheets of the
    job that the set lacks. Raises `InputError` when it is a file of the job.
    """
    tell = progress or (lambda fraction: None)
    job = store.job
    data, _ = plan_contents(data, name)
    if source_of(data, name).sha256 in job.sources:
        raise InputError(f"{name} is in the job already", remedy="Name the file of the new set.")
    pages, _ = read_sheets(data, name)
    standing = standing_sheets(job)
    old_texts = {s.id: read_lines(store.source(s.source), s) for s in standing}
    new_texts = [read_lines(data, p) for p in pages]
    words = {id: _words(texts) for id, texts in old_texts.items()}
    pairs = _matched(standing, pages, words, [_words(texts) for texts in new_texts])
    out, rows = _sorted_out(store, data, pages, pairs, old_texts, new_texts)
    next_id = max(job.sheets, default=0) + 1
    compared = {s.old.id for s in out if s.old is not None and s.state == "changed" and not s.note}
    for i, one in enumerate(out):
        tell(i / len(pages))
        if one.state == "changed" and not one.note:
            beside = [read for k, (_, read) in rows.items() if k != i]
            out[i] = _compared(store, one, name, data, next_id, beside, compared)
            next_id += _takes(out[i], next_id)
    for i, (texts, read) in rows.items():
        if texts.old.id in compared:
            continue
        texts.new = numbered(job, texts.new, next_id)
        revision = schedule_revision(job, texts, source_of(data, name), read, without=compared)
        out[i] = replace(out[i], revision=revision)
        next_id += _takes(out[i], next_id)
    file = (source_of(data, name), data)
    out = [replace(one, file=file) for one in out]
    found = {old.id for old in pairs if old is not None}
    out.extend(SheetOfSet(state="gone", old=s, note=_gone(job, s)) for s in standing if s.id not in found)
    tell(1.0)
    return tuple(out)


def _sorted_out(
    store: JobStore,
    data: bytes,
    pages: Sequence[Sheet],
    pairs: Sequence[Sheet | None],
    old_texts: Mapping[int, Sequence[TextLine]],
    new_texts: Sequence[Sequence[TextLine]],
) -> tuple[list[SheetOfSet], dict[int, tuple[SheetTexts, ScheduleRows]]]:
    """What became of each page before walls are compared, and what schedules and sheets without walls say, by page."""
    job = store.job
    with_walls = {run.sheet for run in job.runs.values()}
    out: list[SheetOfSet] = []
    rows: dict[int, tuple[SheetTexts, ScheduleRows]] = {}
    for i, (page, old) in enumerate(zip(pages, pairs, strict=True)):
        if old is None:
            is_one = not page.number or sum(p.number.casefold() == page.number.casefold() for p in pages) == 1
            gone = [sheet for sheet in standing_sheets(job) if sheet not in pairs]
            out.append(_new(page, new_note(page, gone) if is_one else SAME_NUMBER, new_texts[i], names_of(job)))
            continue
        lines = (old_texts[old.id], new_texts[i])
        if [t.text for t in lines[0]] == [t.text for t in lines[1]] and _looks_same(store, old, data, page):
            out.append(SheetOfSet(state="same", old=old, new=page))
            continue
        note = ""
        if old.id not in with_walls:
            note = f"no walls are traced on it; {told_of(changes_of_texts(*lines))}"
        if old.id not in with_walls or shows_schedule(lines[0]):
            texts = SheetTexts(old_data=store.source(old.source), new_data=data, old=old, new=page)
            rows[i] = (texts, read_rows(texts, lines, job.settings.display.length))
        out.append(SheetOfSet(state="changed", old=old, new=page, note=note))
    return out, rows


def _new(page: Sheet, note: str, lines: Sequence[TextLine], names: Collection[str]) -> SheetOfSet:
    """A page that the job has no sheet for, with what stays open of it; of details and other trades nothing does."""
    said = said_on(page, lines, names)
    if said:
        note = f"it is text, and {len(said)} line{'s' * (len(said) != 1)} of it speak of walls: read them"
    elif use_of(page)[0] not in ("detail", "other"):
        said = (Finding(about="draft", text="it came with a set, and no figure follows it"),)
    return SheetOfSet(state="new", new=page, note=note, said=said)


def accept_set(store: JobStore, sheets: Sequence[SheetOfSet], accept: Accept) -> tuple[tuple[Revision, Change], ...]:
    """Take the changed sheets of a set into the job, each as one edit that can be undone; as `accept_revision`.

    What of the set was not taken is kept as open points, with "none" too little to keep anything.
    """
    out = []
    for sheet in sheets:
        if sheet.revision is not None and sheet.revision.is_taken(accept):
            change = accept_revision(store, sheet.revision, accept)
            if change is not None:
                out.append((sheet.revision, change))
    if accept != "none":
        keep_what_is_left(store, sheets)
    return tuple(out)


def keep_what_is_left(store: JobStore, sheets: Sequence[SheetOfSet]) -> Change | None:
    """Keep as open points what of a compared set is not in the job: sheets that were refused, left, or are new."""
    known = {(sheet.source, sheet.page) for sheet in store.job.sheets.values()}
    refused: dict[int, str] = {}
    new: list[tuple[Sheet, tuple[Finding, ...]]] = []
    file = next((sheet.file for sheet in sheets if sheet.file is not None), None)
    numbers = {sheet.number: sheet for sheet in standing_sheets(store.job) if sheet.number}
    taken = {s.new.number for s in sheets if s.new is not None and (s.new.source, s.new.page) in known}
    for sheet in sheets:
        page = sheet.new
        if page is None or file is None or sheet.state == "same" or (page.source, page.page) in known:
            continue
        old = sheet.old if sheet.state == "changed" else numbers.get(page.number)
        if old is not None and not (page.number and page.number in taken):
            refused[old.id] = f"{NOT_TAKEN}, page {page.page} of {file[0].name}: {sheet.found}"
        elif old is None:
            new.append((page, sheet.said))
    return None if file is None else keep_left(store, refused, new, file)


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
        if number and _is_newest(page, new):
            pair(i, [s for s in free if s.number.casefold() == number])
        # a title names a sheet only where no number contradicts it
        if title and not number and sum(p.title.casefold() == title for p in new) == 1:
            pair(i, [s for s in free if not s.number and s.title.casefold() == title])
    for i, page in enumerate(new):
        parts = [s for s in free if s.number and re.fullmatch(re.escape(s.number) + PART, page.number, re.I)]
        if out[i] is None and len(parts) == 1:
            out[i] = parts[0]  # and so do its other parts
        if out[i] is None and not page.number:
            best = max(free, key=lambda s: _likeness(old_words[s.id], new_words[i]), default=None)
            if best is not None and not best.number and _likeness(old_words[best.id], new_words[i]) >= ALIKE:
                out[i] = best
                free.remove(best)
    return out


def _is_newest(page: Sheet, pages: Sequence[Sheet]) -> bool:
    """Tell whether no other page of a set has its number, or all of them are older by revision or date."""
    same = [p for p in pages if p.number.casefold() == page.number.casefold() and p is not page]
    return all((p.revision, p.date) != (page.revision, page.date) and is_newer(page, p) for p in same)


def _gone(job: Job, sheet: Sheet) -> str:
    """What is to be known of a sheet that a new set lacks: the walls on it, and what they are in the price."""
    walls = [id for id, run in job.runs.items() if run.sheet == sheet.id]
    if not walls:
        return "the new set does not hold it; it stays in the job"
    worth = worth_of_walls(job, walls)
    of = "" if worth is None else f", {format_money(worth, catalogue_of(job).currency)} of the price"
    stay = f"{len(walls)} walls{of}, stay in the job: ask whether they are still built"
    if len(walls) == 1:
        stay = f"1 wall{of}, stays in the job: ask whether it is still built"
    return f"the new set does not hold it; {stay}"


def _takes(sheet: SheetOfSet, id: int) -> bool:
    return sheet.revision is not None and sheet.revision.sheet.id == id


def _words(lines: Sequence[TextLine]) -> Counter[str]:
    return Counter(w for line in lines for w in re.findall(r"\w+", line.text.casefold()))


def _likeness(a: Counter[str], b: Counter[str]) -> float:
    either = (a | b).total()
    return (a & b).total() / either if min(a.total(), b.total()) >= WORDS else 0.0


def _compared(
    store: JobStore,
    sheet: SheetOfSet,
    name: str,
    data: bytes,
    id: int,
    beside: Sequence[ScheduleRows],
    compared: Collection[int],
) -> SheetOfSet:
    """A changed sheet with walls, compared where that is possible."""
    assert sheet.old is not None
    assert sheet.new is not None
    if calibration_key(sheet.old.id) not in store.job.calibrations:
        return replace(sheet, note="the sheet in the job has no scale")
    try:
        revision = compare_revision(
            store, sheet.old, name, data, page=sheet.new.page, new_id=id, beside=beside, compared=compared
        )
        return replace(sheet, revision=revision)
    except TakeoffError as error:
        return replace(sheet, note=f"not compared: {error}")


def _looks_same(store: JobStore, old: Sheet, new_data: bytes, new: Sheet) -> bool:
    """Tell whether two pages look the same, drawn at `DPI`."""
    if (round(old.width_pt), round(old.height_pt)) != (round(new.width_pt), round(new.height_pt)):
        return False
    pages = ((store.source(old.source), old), (new_data, new))
    a, b = (render_array(data, sheet, dpi=DPI).astype(np.int16) for data, sheet in pages)
    return a.shape == b.shape and int(np.abs(a - b).max()) <= DARKER
