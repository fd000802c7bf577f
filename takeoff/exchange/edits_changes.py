"""What an edits file can have done to walls, rooms and settings that are in the job: each entry becomes one edit."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, Literal

import msgspec

from takeoff.errors import EditError
from takeoff.job.changes import apply_change, fitting
from takeoff.job.edits import Edit, RemoveOpening, SetSettings
from takeoff.job.job import Job, JobSettings
from takeoff.job.new_walls import DuplicateWalls
from takeoff.job.point_edits import AddPoint, BendWall, MovePoint, RemovePoint, RepeatOpening
from takeoff.job.wall_edits import (
    CoatBothFaces,
    FlipWalls,
    JoinWalls,
    MirrorWalls,
    MoveWalls,
    RemoveRoomWithWalls,
    RemoveWalls,
    SplitWall,
)
from takeoff.measure.rules import rule_named
from takeoff.sheet.frame import displayed_to_sheet

PointText = tuple[float, float]


class SettingsEntry(msgspec.Struct, forbid_unknown_fields=True):
    """Settings of the job; what is left out stays."""

    name: str | None = None
    units: Literal["imperial", "metric"] | None = None
    precision: int | None = None
    currency: str | None = None
    rule: str | None = None


class _Change(msgspec.Struct, forbid_unknown_fields=True, tag_field="change"):
    """One thing to do."""


class _Walls(_Change):
    """Something done to whole walls."""

    runs: list[str]


class RemoveRunsEntry(_Walls, tag="remove-runs"):
    """Remove walls, and rooms that no wall is left in."""


class FlipEntry(_Walls, tag="flip"):
    """Coat the other side."""


class BothFacesEntry(_Walls, tag="both-faces"):
    """Coat both faces; needs the thickness."""


class DuplicateEntry(_Walls, tag="duplicate"):
    """Copy walls beside themselves, into new rooms."""


class JoinEntry(_Walls, tag="join"):
    """Join two walls whose ends meet."""


class MoveEntry(_Walls, tag="move"):
    """Move walls by so many sheet points."""

    by: PointText


class MirrorEntry(_Walls, tag="mirror"):
    """Mirror walls about their middle."""

    way: Literal["left-right", "top-bottom"]


class RemoveRoomEntry(_Change, tag="remove-room"):
    """Remove a room with its walls."""

    room: str


class SplitEntry(_Change, tag="split"):
    """Split a wall near a sheet point."""

    run: str
    at: PointText


class AddPointEntry(_Change, tag="add-point"):
    """Add a point to a wall's line."""

    run: str
    near: PointText


class MovePointEntry(_Change, tag="move-point"):
    """Move a point of a wall."""

    run: str
    index: int
    to: PointText


class RemovePointEntry(_Change, tag="remove-point"):
    """Remove a point of a wall."""

    run: str
    index: int


class BendEntry(_Change, tag="bend"):
    """Bend the piece after a point into an arc."""

    run: str
    index: int
    through: PointText


class RepeatOpeningEntry(_Change, tag="repeat-opening"):
    """Copy an opening along its wall."""

    run: str
    index: int
    count: int
    spacing: float | str


class RemoveOpeningEntry(_Change, tag="remove-opening"):
    """Remove an opening."""

    run: str
    index: int


ChangeEntries = (
    RemoveRunsEntry
    | RemoveRoomEntry
    | FlipEntry
    | BothFacesEntry
    | MoveEntry
    | MirrorEntry
    | DuplicateEntry
    | SplitEntry
    | JoinEntry
    | AddPointEntry
    | MovePointEntry
    | RemovePointEntry
    | BendEntry
    | RepeatOpeningEntry
    | RemoveOpeningEntry
)
WORDS: tuple[str, ...] = tuple(entry.__struct_config__.tag for entry in ChangeEntries.__args__)
"""What ``change`` can be."""
Lengths = Callable[[float | str, str], float]
"""Reads a length of the file, given where it stands."""

_WHOLE: dict[type[_Walls], Callable[..., Edit]] = {
    RemoveRunsEntry: RemoveWalls,
    FlipEntry: FlipWalls,
    BothFacesEntry: CoatBothFaces,
    DuplicateEntry: DuplicateWalls,
    JoinEntry: JoinWalls,
}
_FIELDS = {"by": "by_pt", "at": "at_pt", "near": "near_pt", "to": "to_pt", "through": "through_pt"}
"""Keys of the file and the fields of the edits that take them."""
_SINGLE: dict[type[_Change], Callable[..., Edit]] = {
    RemoveRoomEntry: RemoveRoomWithWalls,
    SplitEntry: SplitWall,
    AddPointEntry: AddPoint,
    MovePointEntry: MovePoint,
    RemovePointEntry: RemovePoint,
    BendEntry: BendWall,
    RemoveOpeningEntry: RemoveOpening,
}


def edit_of(entry: ChangeEntries, path: str, length: Lengths) -> Edit:
    """Return the edit that an entry asks for."""
    match entry:
        case MoveEntry(runs=runs, by=by):
            return MoveWalls(runs=tuple(runs), by_pt=by)
        case MirrorEntry(runs=runs, way=way):
            return MirrorWalls(runs=tuple(runs), is_across=way == "left-right")
        case RepeatOpeningEntry(run=run, index=index, count=count, spacing=spacing):
            return RepeatOpening(run=run, index=index, count=count, spacing=length(spacing, f"{path}.spacing"))
        case _Walls(runs=runs):
            return _WHOLE[type(entry)](runs=tuple(runs))
    fields: dict[str, Any] = {_FIELDS.get(name, name): getattr(entry, name) for name in entry.__struct_fields__}
    return _SINGLE[type(entry)](**fields)


def _unturned(entry: ChangeEntries, job: Job) -> ChangeEntries:
    """Return an entry whose places, given on the page as it is shown, are those of the page unrotated."""
    names = entry.__struct_fields__
    runs = [entry.run] if "run" in names else getattr(entry, "runs", [])  # type: ignore[union-attr]
    run = next((job.runs[id] for id in runs if id in job.runs), None)
    if run is None:
        return entry
    sheet = job.sheets[run.sheet]
    changed: dict[str, Any] = {
        name: displayed_to_sheet(sheet, *getattr(entry, name)) for name in _FIELDS if name in names
    }
    if isinstance(entry, MoveEntry):
        x, y = displayed_to_sheet(sheet, 0.0, 0.0)
        changed["by"] = (changed["by"][0] - x, changed["by"][1] - y)
    if isinstance(entry, MirrorEntry) and sheet.rotation % 180:
        changed["way"] = "top-bottom" if entry.way == "left-right" else "left-right"
    return msgspec.structs.replace(entry, **changed)


def edits_in_turn(
    job: Job, entries: Sequence[ChangeEntries], length: Lengths, *, as_shown: bool = False
) -> tuple[Edit, ...]:
    """Return the edits of a file's ``changes``, each tried on what those before it leave.

    ``as_shown`` tells that places are given on the page as it is shown.

    Raises
    ------
    EditError
        With the JSON path of the first that does not fit.
    """
    edits = []
    keys = {field: key for key, field in _FIELDS.items()}
    for i, entry in enumerate(entries):
        path = f"$.changes[{i}]"
        edit = edit_of(_unturned(entry, job) if as_shown else entry, path, length)
        try:
            job = apply_change(job, edit.apply(job))
        except EditError as error:
            names = entry.__struct_fields__
            key = keys.get(error.where, error.where)
            key = key if key in names else f"{error.where}s" if f"{error.where}s" in names else ""
            where = f"{path}.{key}" if key else path
            raise EditError(error.message, remedy=error.remedy, where=where) from error
        edits.append(edit)
    return tuple(edits)


def settings_edit(job: Job, entry: SettingsEntry) -> SetSettings:
    """Return the edit that changes the settings that an entry names.

    Raises
    ------
    EditError
        With the JSON path of what does not fit.
    """
    named = {name: value for name in entry.__struct_fields__ if (value := getattr(entry, name)) is not None}
    settings = fitting("$.settings", lambda: changed_settings(job.settings, **named))
    return SetSettings(settings=settings)


def changed_settings(settings: JobSettings, **named: Any) -> JobSettings:
    """Return settings with some of them changed.

    Raises
    ------
    InputError
        When one is not known: a rule, units, a currency, a fraction of an inch, or a name that is empty.
    """
    after = replace(settings, **named)
    _ = after.display  # refuses units, a fraction or a currency that are none
    if "rule" in named:
        rule_named(after.rule)
    return after
