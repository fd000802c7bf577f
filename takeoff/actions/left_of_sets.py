"""What a new set holds and nobody took into the job: it stays an open point, and so does what an addendum says."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from statistics import median

from takeoff.job.changes import Change
from takeoff.job.edits import AddSheets, Batch, Edit, PutFindings
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.model.plan import Finding, Sheet, Source
from takeoff.revise.text_changes import speaks
from takeoff.sheet.text import TextLine
from takeoff.sheet.uses import use_of

NEW_SHEET = "the job has no such sheet; add it to the job to trace it"
FEW_PATHS = 20
"""Paths that a page of text has at the most, its rules and marks among them (judgement, no source)."""
PROSE = 4.0
"""Words that half of the lines of a text have at the least; those of a drawing have one or two (judgement)."""
MOST_SAID = 40
"""Lines of a text that are kept as open points at the most (our choice)."""


def new_note(page: Sheet, gone: Sequence[Sheet]) -> str:
    """Say what a page of a set is that no sheet of the job was matched with; ``gone`` are those the set lacks."""
    titled = [s.number or f"sheet {s.id}" for s in gone if s.title and s.title.casefold() == page.title.casefold()]
    if titled:
        of, which = " and ".join(titled), "that" if len(titled) == 1 else "each of them"
        return f"it has the title of {of}, which the set lacks: compare it with {which} by itself, or add it to the job"
    if not page.number and gone:
        return "no number was read on it: compare it by itself if it is a revision, or add it to the job"
    return NEW_SHEET


def said_on(page: Sheet, lines: Sequence[TextLine], names: Collection[str]) -> tuple[Finding, ...]:
    """Lines of a page of text, such as an addendum, that speak of walls; none where it is a drawing."""
    words = [len(re.findall(r"[^\W\d_]{2,}", line.text)) for line in lines]
    is_drawn = (page.paths or 0) > FEW_PATHS and median(words or [0]) < PROSE
    if is_drawn or use_of(page)[0] not in ("unknown", "other"):
        return ()
    told = (line for line in lines if speaks(line.text, names))
    found = [Finding(about="said", text=f"it says “{line.text.strip()}”", at_pt=line.middle_pt) for line in told]
    return tuple(found[:MOST_SAID])


def keep_left(
    store: JobStore,
    refused: Mapping[int, str],
    new: Sequence[tuple[Sheet, tuple[Finding, ...]]],
    file: tuple[Source, bytes],
) -> Change | None:
    """Keep what was not taken of a set as open points, as one edit; nothing where all was taken.

    ``refused`` says why of sheets of the job whose newer revision was not taken, by id; ``new`` are sheets that the job
    has not, with what is open of each; ``file`` is where they come from.
    """
    source, data = file
    job = store.job
    edits: list[Edit] = [edit for id, text in refused.items() if (edit := _refused(job, id, text))]
    known = {(sheet.source, sheet.page) for sheet in job.sheets.values()}
    fresh = [(sheet, found) for sheet, found in new if found and (sheet.source, sheet.page) not in known]
    first = max(job.sheets, default=0) + 1
    sheets = tuple(
        replace(sheet, id=first + n, findings=(*sheet.findings, *found)) for n, (sheet, found) in enumerate(fresh)
    )
    if sheets:
        sources = () if source.sha256 in job.sources else (source,)
        edits.append(AddSheets(sources=sources, sheets=sheets))
    if not edits:
        return None
    title = f"Keep what was not taken of {source.name}"
    return store.do(Batch(title=title, edits=tuple(edits)), sources={source.sha256: data} if sheets else {})


def _refused(job: Job, id: int, text: str) -> Edit | None:
    written = tuple(found for found in job.sheets[id].findings if found.about == "written")
    if any(found.text == text for found in written):
        return None
    return PutFindings(sheet=id, about=("written",), findings=(*written, Finding(about="written", text=text)))
