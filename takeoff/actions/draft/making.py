"""A draft of a job: from the plans as they came to figures and a price, as far as the drawings say it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from takeoff.actions.draft.reading import TRACED, Readers, SheetRead, SheetTask, read_here
from takeoff.actions.draft.taking import Taking
from takeoff.actions.draft.telling import DraftedRoom, DraftedSheet, drafted_room, drafted_sheet
from takeoff.actions.points.deriving import open_points
from takeoff.actions.quantities import Priced, measure_ready, price_measured
from takeoff.job.job import Job
from takeoff.job.store import JobStore
from takeoff.model.point_register import Register
from takeoff.sheet.uses import use_of
from takeoff.trace.schedules.finish_matching import CodeMeaning


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """Everything that a draft ends with: sheets, finish codes, rooms, figures and open points.

    ``priced`` is what can be measured; ``not_read`` how many sheets were left where a person stopped the work.
    """

    sheets: tuple[DraftedSheet, ...]
    codes: tuple[CodeMeaning, ...]
    rooms: tuple[DraftedRoom, ...]
    priced: Priced
    points: Register
    not_read: int = 0


def make_draft(
    store: JobStore,
    *,
    who: str,
    at: str,
    readers: Readers = read_here,
    progress: Callable[[float], None] | None = None,
) -> Draft:
    """Take from the sheets of a job all that they say: scales, rooms, openings, heights, systems, coves.

    What is in the job already stays as it is: scales that are set, rooms that are traced, values of rooms that a person
    gave. Running it again after answers adds what is still missing, and renews what a schedule gave. All of it is one
    step to undo. A sheet that fails is told and is an open point; the others go on. Where the person stops it, what was
    read by then is taken.

    Parameters
    ----------
    store
        The open job.
    who, at
        Who does it and at what time, for the journal.
    readers
        What reads the sheets: here one after another, or side by side (`Lanes`).
    progress
        Is told the fraction done, 0 to 1.

    Raises
    ------
    CatalogueError
        When the job's catalogue cannot price it.
    InputError
        When the readers cannot work at all.
    """
    tasks = sheet_tasks(store.job)
    read: dict[int, SheetRead] = {}
    try:
        for found in readers(tasks, store.source):
            read[found.sheet] = found
            if progress is not None:
                progress(len(read) / len(tasks))
    except KeyboardInterrupt:
        pass
    taking = Taking(store, read, who=who, at=at)
    with store.together("Draft the job from its sheets", who=who, at=at):
        taking.take()
    return summed_up(store.job, read, taking.done, taking.codes, not_read=len(tasks) - len(read))


def sheet_tasks(job: Job) -> list[SheetTask]:
    """Return the sheets of a job to be read; first what takes longest: rooms are looked for, and much is drawn.

    A sheet that a newer revision replaces is not read.
    """
    tasks = [
        SheetTask(
            sheet=sheet,
            scales=tuple(c for c in job.calibrations.values() if c.sheet == sheet.id),
            regions=tuple(r for r in job.regions.values() if r.sheet == sheet.id),
            styles=tuple(job.styles.values()),
        )
        for sheet in job.sheets.values()
        if sheet.replaced_by is None
    ]
    return sorted(tasks, key=lambda task: (use_of(task.sheet)[0] not in TRACED, -(task.sheet.paths or 0)))


def summed_up(
    job: Job,
    read: Mapping[int, SheetRead],
    done: Mapping[int, str],
    codes: tuple[CodeMeaning, ...],
    *,
    not_read: int,
) -> Draft:
    """Measure and price a drafted job, and tell what was taken with its sources and what is open."""
    ready = measure_ready(job)
    priced = price_measured(job, ready[0])
    points = open_points(job, priced=priced, ready=ready)
    return Draft(
        sheets=tuple(drafted_sheet(job, read[id], done.get(id, "")) for id in sorted(read)),
        codes=codes,
        rooms=tuple(drafted_room(job, room, points) for room in job.rooms.values()),
        priced=priced,
        points=points,
        not_read=not_read,
    )
