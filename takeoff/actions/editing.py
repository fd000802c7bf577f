"""Edits made by hand, one at a time, on a job that need not be complete yet: walls, finishes, settings, removals."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

from takeoff.errors import EditError
from takeoff.exchange.edits_entries import changed_settings
from takeoff.job.changes import needed
from takeoff.job.edits import Batch, Change, Edit, PutRoom, PutRun, SetSettings, apply_change
from takeoff.job.job import Job, calibration_key
from takeoff.job.store import JobStore
from takeoff.job.wall_edits import RemoveRoomWithWalls, RemoveWalls
from takeoff.measure.develop import develop
from takeoff.model.systems import Substrate
from takeoff.model.walls import Room, Run


def do_edit(store: JobStore, edit: Edit, *, who: str, at: str) -> Change:
    """Do an edit after trying what it makes of the runs it touches; it is on disk when this returns.

    A run may still lack its scale or its height. An opening off its wall, a height below the base or faces that cannot
    be offset are refused, and nothing is changed.

    Raises
    ------
    EditError, GeometryError
        When the edit does not fit the job or makes a run that no wall can be.
    StoreError
        When it cannot be written.
    """
    change = edit.apply(store.job)
    after = apply_change(store.job, change)
    for entry in change.entries:
        if entry.kind == "run" and entry.after is not None:
            _try(after, entry.after)
        elif entry.kind == "room" and entry.after is not None:
            for run in after.runs.values():
                if run.room == entry.id:
                    _try(after, run)
    return store.do(edit, who=who, at=at)


def set_finish(
    store: JobStore,
    *,
    rooms: Iterable[str] = (),
    runs: Iterable[str] = (),
    colour: str | None = None,
    substrate: Substrate | None = None,
    who: str,
    at: str,
) -> Change:
    """Say the colour and the substrate of rooms or of single walls; one edit that can be undone.

    Parameters
    ----------
    store
        The open job.
    rooms, runs
        Ids.
    colour, substrate
        ``None`` leaves one as it is, an empty colour takes it out.
    who, at
        For the journal.

    Raises
    ------
    EditError
        When there is no such room or wall.
    """
    given = {name: value for name, value in (("colour", colour), ("substrate", substrate)) if value is not None}
    edits: list[Edit] = [PutRoom(room=replace(needed(store.job, "room", id), **given)) for id in rooms]
    edits += [PutRun(run=replace(needed(store.job, "run", id), **given)) for id in runs]
    return store.do(Batch(title="Set colour and substrate", edits=tuple(edits)), who=who, at=at)


def change_settings(store: JobStore, *, who: str, at: str, **named: Any) -> Change:
    """Change some of the settings: name, units, precision, currency, rule.

    Raises
    ------
    InputError
        When one is not known.
    """
    return do_edit(store, SetSettings(settings=changed_settings(store.job.settings, **named)), who=who, at=at)


def remove_from_job(
    store: JobStore, *, runs: Sequence[str] = (), rooms: Sequence[str] = (), who: str, at: str
) -> Change:
    """Remove walls by their ids, and rooms with their walls by id, number or name, as one edit.

    Raises
    ------
    EditError
        When one is not there, or something recorded on site needs it.
    """
    ids = [room_named(store, text).id for text in rooms]
    gone = [run for run in runs if store.job.runs.get(run) is None or store.job.runs[run].room not in ids]
    edits: list[Edit] = [RemoveWalls(runs=tuple(gone))] if gone or not ids else []
    edits += [RemoveRoomWithWalls(room=id) for id in dict.fromkeys(ids)]
    title = edits[0].label if len(edits) == 1 else f"Remove {len(gone)} walls and {len(set(ids))} rooms"
    return do_edit(store, Batch(title=title, edits=tuple(edits)), who=who, at=at)


def room_named(store: JobStore, text: str) -> Room:
    """Return the room whose id is a text, else the only one whose number or name it is.

    Raises
    ------
    EditError
        When there is none, or more than one.
    """
    rooms = store.job.rooms
    if text in rooms:
        return rooms[text]
    plain = text.strip().casefold()
    for way in (lambda r: r.number, lambda r: r.name, lambda r: f"{r.number} {r.name}"):
        found = [room for room in rooms.values() if plain and way(room).strip().casefold() == plain]
        if len(found) == 1:
            return found[0]
        if found:
            raise EditError(
                f'"{text}" is the name of {len(found)} rooms',
                remedy=f"Name one by its id: {', '.join(room.id for room in found)}.",
                where="room",
            )
    known = ", ".join(f"{room.id} ({room.number or room.name})" for room in rooms.values()) or "none yet"
    raise EditError(f'there is no room "{text}"', remedy=f"Rooms: {known}.", where="room")


def _try(job: Job, run: Run) -> None:
    scale = job.calibrations.get(calibration_key(run.sheet, job.region_for(run)))
    room = job.rooms.get(run.room or "")
    if scale is None or (run.height is None and (room is None or room.height is None)):
        return
    develop(run, room, scale, corner_threshold=job.settings.corner_threshold)
