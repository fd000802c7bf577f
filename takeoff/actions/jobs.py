"""Starting a job, changing it, its history, and taking it out and in as JSON."""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from takeoff.errors import EditError, InputError, OvertakenError
from takeoff.exchange.edits_file import read_edits
from takeoff.job.edits import AddSheets, Batch, Change, Edit, PutProduct, PutSystem, SetSettings, apply_change
from takeoff.job.job import Job, JobSettings
from takeoff.job.rescue import rescue
from takeoff.job.store import JobStore, JournalLine, Sign
from takeoff.model.plan import Sheet, Source
from takeoff.model.systems import Catalogue
from takeoff.sheet.files import plan_contents, read_sheets, source_of
from takeoff.sheet.text import read_lines
from takeoff.sheet.uses import units_of

PATIENCE_S = 10.0
"""Seconds for which an edits file is applied again where others write to the job too (our choice)."""
MOST_READ = 40
"""Sheets whose text is read for the units of a set without scale notes."""


def new_job(
    path: Path, plans: Sequence[tuple[str, bytes]], settings: JobSettings, *, sign: Sign, tells_units: bool = False
) -> tuple[JobStore, tuple[str, ...]]:
    """Start a job file from plan files.

    Raises `InputError` when no plan file, or the same one twice, is given.

    Parameters
    ----------
    path
        Where to write; there must be no file yet.
    plans
        Name and bytes of each plan file, in the order of the register.
    tells_units
        Whether the units are those that the sheets tell, in place of those of the settings.

    Returns
    -------
    JobStore
        The open job file; close it.
    tuple of str
        What was repaired or assumed while reading the plans.
    """
    if not plans:
        raise InputError("there is no plan file", remedy="Name one or more behind the job.")
    sources, contents, sheets, doubts = _read_plans(plans)
    empty = Job(settings=_with_units(settings, sheets, contents) if tells_units else settings)
    job = apply_change(empty, AddSheets(sources=tuple(sources.values()), sheets=tuple(sheets)).apply(empty))
    return JobStore.create(path, job, contents, sign=sign), tuple(doubts)


def add_plans(store: JobStore, plans: Sequence[tuple[str, bytes]]) -> tuple[Change, tuple[str, ...]]:
    """Take further plan files into a job, as one edit: every sheet of them that the job does not have.

    A sheet whose number the job has is left out: it is a revision of that one, and comparing takes it in. Raises
    `InputError` when the same file is given twice, or none has a sheet that the job lacks.

    Returns
    -------
    Change
        What was done.
    tuple of str
        What was left out, repaired or assumed.
    """
    sources, contents, sheets, doubts = _read_plans(plans)
    known = store.job.sheets.values()
    pages = {(sheet.source, sheet.page) for sheet in known}
    numbers = {sheet.number.casefold() for sheet in known if sheet.number}
    fresh = [s for s in sheets if (s.source, s.page) not in pages and s.number.casefold() not in numbers]
    left = [s.number or f"page {s.page}" for s in sheets if s not in fresh]
    if not fresh:
        raise InputError(
            "the job has every sheet of it by number" if sheets else "there is no plan file",
            remedy="Compare it as a new revision or a new set." if sheets else "Name one or more behind the job.",
        )
    if left:
        doubts.append(f"left out, as the job has sheets of that number: {', '.join(left)}; compare them as revisions")
    first = max(store.job.sheets, default=0) + 1
    added = AddSheets(
        sources=tuple(s for sha, s in sources.items() if any(f.source == sha for f in fresh)),
        sheets=tuple(replace(sheet, id=first + n) for n, sheet in enumerate(fresh)),
    )
    return store.do(added, sources=contents), tuple(doubts)


def _read_plans(
    plans: Sequence[tuple[str, bytes]],
) -> tuple[dict[str, Source], dict[str, bytes], list[Sheet], list[str]]:
    """Read plan files: sources and bytes by checksum, sheets in order, and what was repaired or assumed."""
    sources: dict[str, Source] = {}
    contents: dict[str, bytes] = {}
    sheets: list[Sheet] = []
    doubts: list[str] = []
    for name, given in plans:
        data, drawn = plan_contents(given, name)
        doubts.extend(drawn)
        source = source_of(data, name)
        if source.sha256 in sources:
            raise InputError(
                f"{name} is the same file as {sources[source.sha256].name}", remedy="Name each plan file once."
            )
        found, doubted = read_sheets(data, name)
        sources[source.sha256] = source
        contents[source.sha256] = data
        sheets += [replace(sheet, id=len(sheets) + i) for i, sheet in enumerate(found, start=1)]
        doubts.extend(doubted)
    return sources, contents, sheets, doubts


def _with_units(settings: JobSettings, sheets: Sequence[Sheet], contents: Mapping[str, bytes]) -> JobSettings:
    """Take the units that the sheets tell; where they do not tell them plainly, that is an open point."""
    drawn = [sheet for sheet in sheets if sheet.kind == "vector"][:MOST_READ]
    lines = (line.text for sheet in drawn for line in read_lines(contents[sheet.source], sheet))
    units, basis = units_of(sheets, lines)
    return replace(settings, units=units, basis=(basis,))


def open_job(path: Path, sign: Sign | None = None) -> JobStore:
    """Open a job file; close it afterwards. ``sign`` says who changes it and when; without it, it is to be read."""
    return JobStore.open(path, sign)


def copy_job(path: Path, copy: Path) -> None:
    """Copy a job file with every edit that is done, also while it is open elsewhere.

    Raises `StoreError` when it cannot be opened, or the copy exists already or cannot be written.
    """
    with open_job(path) as store:
        store.copy_to(copy)


def rescue_job(path: Path, new: Path, *, sign: Sign) -> tuple[str, ...]:
    """Save what can be trusted of a damaged job file into a new one; the damaged one is left as it is.

    Gives what was lost or repaired, a sentence each. Raises `StoreError` when nothing of it can be read, or the new
    file exists already or cannot be written.
    """
    found = rescue(path)
    lost = found.job.sources.keys() - found.sources.keys()
    JobStore.create(
        new,
        found.job,
        {sha: data for sha, data in found.sources.items() if sha in found.job.sources},
        sign=sign,
        history=found.history,
        label=f"Rescue of {path.name}",
        lost=lost,
    ).close()
    return found.faults


def apply_edits(store: JobStore, data: bytes) -> Change:
    """Apply an edits file: all of it or, where anything in it does not fit, nothing.

    Where another writes to the job at the same time, it is applied to what that one left. Raises `EditError` naming the
    place of the fault in the file, `OvertakenError` when others go on writing for `PATIENCE_S`.
    """
    from takeoff.actions.quantities import catalogue_of  # what prices takes half as long to load as a small command

    end = time.monotonic() + PATIENCE_S
    while True:
        known = frozenset(system.id for system in catalogue_of(store.job).systems)
        try:
            return store.do(read_edits(data, store.job, known_systems=known))
        except OvertakenError:
            if time.monotonic() > end:
                raise
            store.catch_up()


def use_catalogue(store: JobStore, catalogue: Catalogue) -> Change:
    """Take a catalogue's systems, products, rates, currency and notes into the job, as one edit.

    Systems that the job had and the catalogue lacks stay; `systems_left` tells which of them walls take. Raises
    `InputError` when some stay whose prices are in another currency: nothing would tell.
    """
    job = store.job
    known = {system.id for system in catalogue.systems}
    stay = [id for id in job.systems if id not in known] if catalogue.currency != job.settings.currency else []
    if stay:
        raise InputError(
            f"{', '.join(stay)} would stay with prices in {job.settings.currency}, and the catalogue is in"
            f" {catalogue.currency}",
            remedy="Put them into the catalogue with prices in its currency.",
        )
    settings = replace(
        job.settings, rates=catalogue.rates, currency=catalogue.currency, catalogue_notes=catalogue.notes
    )
    edits: list[Edit] = [PutProduct(product=product) for product in catalogue.products]
    edits.extend(PutSystem(system=system) for system in catalogue.systems)
    edits.append(SetSettings(settings=settings, has_prices=True))
    return store.do(Batch(title=f"Use the catalogue {catalogue.name}", edits=tuple(edits)))


def systems_left(job: Job, catalogue: Catalogue) -> tuple[str, ...]:
    """List the systems that walls of a job take and a catalogue lacks."""
    from takeoff.actions.quantities import systems_taken

    known = {system.id for system in catalogue.systems}
    return tuple(id for id in systems_taken(job) if id not in known)


def undo(store: JobStore) -> Change:
    """Take the last edit back."""
    change = store.undo()
    if change is None:
        raise EditError("there is nothing to undo", remedy="See what was done: takeoff history JOB.")
    return change


def redo(store: JobStore) -> Change:
    """Redo what was last undone."""
    change = store.redo()
    if change is None:
        raise EditError("there is nothing to redo", remedy="See what was done: takeoff history JOB.")
    return change


def history(store: JobStore) -> list[JournalLine]:
    """Return who did what when, oldest first."""
    return store.history()
