"""Changing what is in a job: its settings, and walls and rooms taken out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from takeoff.actions.editing import do_edit
from takeoff.errors import EditError
from takeoff.exchange.edits_changes import changed_settings
from takeoff.job.edits import Batch, Change, Edit, SetSettings
from takeoff.job.store import JobStore
from takeoff.job.wall_edits import RemoveRoomWithWalls, RemoveWalls
from takeoff.model.walls import Room


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
