"""Edits of a job that need not be complete yet: walls, finishes, settings, removals, and settling of open points."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

from takeoff.actions.quantities import catalogue_of
from takeoff.errors import EditError, InputError
from takeoff.exchange.edits_entries import changed_settings
from takeoff.job.changes import Change, needed
from takeoff.job.edits import BasisAt, Batch, Confirm, Edit, PutRoom, PutRun, SetCalibration, SetSettings, apply_change
from takeoff.job.job import Job, calibration_key
from takeoff.job.store import JobStore
from takeoff.job.wall_edits import RemoveRoomWithWalls, RemoveWalls
from takeoff.measure.develop import develop
from takeoff.model.open_points import Basis, Confirmed, OpenPoint, Settled, Where
from takeoff.model.point_register import Register, can_confirm, group_key
from takeoff.model.systems import Substrate
from takeoff.model.walls import HeightProfile, Room, Run
from takeoff.sheet.calibrate import calibration_from_note
from takeoff.units import parse_count, parse_height, parse_length


def do_edit(store: JobStore, edit: Edit) -> Change:
    """Do an edit after trying what it makes of the runs it touches; it is on disk when this returns.

    A run may still lack its scale or its height. An opening off its wall, a height below the base or faces that cannot
    be offset are refused, and nothing is changed. Raises `EditError` or `GeometryError` when the edit does not fit the
    job or makes a run that no wall can be.
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
    return store.do(edit)


def set_finish(
    store: JobStore,
    *,
    rooms: Iterable[str] = (),
    runs: Iterable[str] = (),
    colour: str | None = None,
    substrate: Substrate | None = None,
    times: int | None = None,
) -> Change:
    """Say the colour and the substrate of rooms or of single walls, and how often rooms are built; one edit.

    ``colour``, ``substrate`` and ``times``: ``None`` leaves one as it is, an empty colour takes it out. Raises
    `InputError` where single walls are to be built several times: rooms are.
    """
    if times is not None and tuple(runs):
        raise InputError("a wall is built as often as its room", remedy="Name rooms alone to say how often.")
    named = (("colour", colour), ("substrate", substrate))
    given: dict[str, Any] = {name: value for name, value in named if value is not None}
    edits: list[Edit] = [PutRun(run=replace(needed(store.job, "run", id), **given)) for id in runs]
    given |= {} if times is None else {"count": times}
    edits += [PutRoom(room=replace(needed(store.job, "room", id), **given)) for id in rooms]
    what = "how often rooms are built" if list(given) == ["count"] else "colour and substrate"
    return store.do(Batch(title=f"Set {what}", edits=tuple(edits)))


def change_settings(store: JobStore, **named: Any) -> Change:
    """Change some of the settings: name, units, precision, currency, rule."""
    return do_edit(store, SetSettings(settings=changed_settings(store.job.settings, **named)))


def remove_from_job(store: JobStore, *, runs: Sequence[str] = (), rooms: Sequence[str] = ()) -> Change:
    """Remove walls by their ids, and rooms with their walls by id, number or name, as one edit.

    Raises `EditError` when one is not there, or something recorded on site needs it.
    """
    ids = [room_named(store, text).id for text in rooms]
    gone = [run for run in runs if store.job.runs.get(run) is None or store.job.runs[run].room not in ids]
    edits: list[Edit] = [RemoveWalls(runs=tuple(gone))] if gone or not ids else []
    edits += [RemoveRoomWithWalls(room=id) for id in dict.fromkeys(ids)]
    title = edits[0].label if len(edits) == 1 else f"Remove {len(gone)} walls and {len(set(ids))} rooms"
    return do_edit(store, Batch(title=title, edits=tuple(edits)))


def room_named(store: JobStore, text: str) -> Room:
    """Return the room whose id is a text, else the only one whose number or name it is.

    Raises `EditError` when there is none, or more than one.
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


SIZES = ("height", "sill", "width")


def find_points(register: Register, keys: Sequence[str]) -> tuple[OpenPoint, ...]:
    """Return points by their keys; the key of a group stands for all of it that is open."""
    by_key = {point.key: [point] for point in register.points}
    for point in register.open:
        by_key.setdefault(group_key(point.group), []).append(point)
    for key in keys:
        if key not in by_key:
            raise InputError(f'there is no open point "{key}"', remedy="Look at the list again: takeoff points JOB.")
    return tuple(dict.fromkeys(point for key in keys for point in by_key[key]))


def confirm_points(store: JobStore, points: Iterable[OpenPoint]) -> Change:
    """Take open points as they are, as one edit that can be undone.

    Raises `InputError` when something is missing that nobody can confirm: a height, a system, a wall that cannot be
    measured.
    """
    by, at = store.signed()
    confirmed = Confirmed(by=by, at=at)
    bases: list[BasisAt] = []
    settled: list[Settled] = []
    for point in points:
        if not can_confirm(point):
            raise InputError(f"{point.what}: there is nothing to confirm yet", remedy=point.settle)
        place = _basis_at(point)
        if place is not None:
            bases.append(place)
        else:
            words = point.assumes or point.why
            settled.append(Settled(key=point.key, state=point.state, words=words, confirmed=confirmed))
    return store.do(Confirm(confirmed=confirmed, bases=tuple(bases), points=tuple(settled)))


def _basis_at(point: OpenPoint) -> BasisAt | None:
    """Return where the basis of a point's value is; ``None`` where the point is about no single value."""
    where = point.where
    if not point.field:
        return None
    if point.kind == "scale" and where.sheet is not None:
        return BasisAt(kind="calibration", id=calibration_key(where.sheet, where.region), field=point.field)
    if where.run is not None:
        return BasisAt(kind="run", id=where.run, field=point.field, opening=where.opening)
    return None if where.room is None else BasisAt(kind="room", id=where.room, field=point.field)


def can_give(point: OpenPoint) -> bool:
    """Tell whether a point is settled by one value that can be typed."""
    return point.kind == "scale" or point.field in (*SIZES, "system", "times")


def give_value(store: JobStore, points: Sequence[OpenPoint], text: str) -> Change:
    """Give the value of points as people write it, the same to all, as one edit that can be undone.

    Raises `InputError` when a point takes no value, or the text is none that it can have.
    """
    job = store.job
    runs, rooms = dict(job.runs), dict(job.rooms)
    scales: list[Edit] = []
    for point in points:
        if not can_give(point):
            raise InputError(f"{point.what}: this takes no value", remedy=point.settle)
        where = point.where
        if point.kind == "scale":
            scales.append(_scale_given(job, where, text))
        elif where.run is not None:
            runs[where.run] = _run_with(job, runs[where.run], where, point.field, text)
        elif where.room is not None:
            rooms[where.room] = _room_with(job, rooms[where.room], point.field, text)
    edits = [*scales, *(PutRoom(room=r) for id, r in rooms.items() if r is not job.rooms[id])]
    edits += [PutRun(run=run) for id, run in runs.items() if run is not job.runs[id]]
    count = len(points)
    title = f"Give the {points[0].field or 'scale'} of {count} open point{'s' * (count != 1)}: {text}"
    return store.do(edits[0] if len(edits) == 1 else Batch(title=title, edits=tuple(edits)))


def _given(of: str, taken: float | str) -> Basis:
    return Basis(of=of, taken=taken, how="person")


def _run_with(job: Job, run: Run, where: Where, field: str, text: str) -> Run:
    if where.opening is None:
        return replace(run, system=_known_system(job, text), basis=tuple(b for b in run.basis if b.of != field))
    opening = run.openings[where.opening]
    size = (parse_length if field == "sill" else parse_height)(text, system=job.settings.units)
    bases = (*(b for b in opening.basis if b.of != field), _given(field, size))
    sizes: dict[str, float] = {field: size}
    made = replace(opening, basis=bases, **sizes)  # type: ignore[arg-type]
    return replace(run, openings=tuple(made if i == where.opening else o for i, o in enumerate(run.openings)))


def _room_with(job: Job, room: Room, field: str, text: str) -> Room:
    bases = tuple(b for b in room.basis if b.of != field)
    if field == "system":
        return replace(room, system=_known_system(job, text), basis=bases)
    if field == "times":
        return replace(room, count=parse_count(text))
    height = HeightProfile.constant(parse_height(text, system=job.settings.units))
    return replace(room, height=height, basis=bases)


def _known_system(job: Job, text: str) -> str:
    """Return the id of the system of this id, else of the only one of this name."""
    systems, said = catalogue_of(job).systems, text.strip()
    found = [s.id for s in systems if s.id == said] or [s.id for s in systems if s.name.casefold() == said.casefold()]
    if len(found) == 1:
        return found[0]
    if found:
        raise InputError(f'"{said}" is the name of {len(found)} systems', remedy=f"Give an id: {', '.join(found)}.")
    raise InputError(f'there is no system "{said}"', remedy=f"Known systems: {'; '.join(s.name for s in systems)}.")


def _scale_given(job: Job, where: Where, text: str) -> Edit:
    """Take a scale as a person says it; nothing else on the sheet is asked."""
    made = calibration_from_note(where.sheet or 0, text, region=where.region)
    return SetCalibration(calibration=replace(made, basis=(_given("mx", made.mx),)))
