"""What an edits file holds, as it is written: schema "takeoff.edits/1"."""

from __future__ import annotations

from typing import Literal, TypeVar

import msgspec
from msgspec import UNSET, UnsetType

from takeoff.exchange.edits_changes import ChangeEntries, SettingsEntry
from takeoff.job.job import Job
from takeoff.model.systems import Substrate
from takeoff.model.walls import Edge, End, Face, Line, OpeningKind, Top
from takeoff.sheet.frame import displayed_to_sheet

T = TypeVar("T")
Length = float | str
HeightText = float | str | list[tuple[Length, Length]]
LengthUnit = Literal["m", "ft"]


class CoveEntry(msgspec.Struct, forbid_unknown_fields=True):
    """Cove of a room or run; lengths."""

    height: Length
    toe: Length
    radius: Length
    thickness: Length
    jamb_return: Length = 0.0
    lap: Length = 0.0


class OpeningEntry(msgspec.Struct, forbid_unknown_fields=True):
    """Opening on a run; ``at`` is the station of its centre from the first vertex."""

    at: Length
    width: Length
    height: Length
    sill: Length = 0.0
    count: int = 1
    spacing: Length | None = None
    kind: OpeningKind = "door"
    reveal: Length = 0.0
    coated: list[Edge] = []
    outline: list[tuple[Length, Length]] | None = None
    mark: str = ""


class RoomEntry(msgspec.Struct, forbid_unknown_fields=True):
    """Room of the finish schedule. A key left out keeps what the job has, null clears it."""

    id: str
    name: str | UnsetType | None = UNSET
    number: str | UnsetType | None = UNSET
    height: HeightText | UnsetType | None = UNSET
    system: str | UnsetType | None = UNSET
    cove: CoveEntry | UnsetType | None = UNSET
    colour: str | UnsetType | None = UNSET
    substrate: Substrate | UnsetType | None = UNSET


class RunEntry(msgspec.Struct, forbid_unknown_fields=True):
    """Traced line of wall face in sheet points. A key left out keeps what the job has, null clears it.

    ``cove`` null keeps the room's cove off the run, "room" takes it again.
    """

    id: str
    sheet: int | UnsetType = UNSET
    points: list[tuple[float, float]] | UnsetType = UNSET
    room: str | UnsetType | None = UNSET
    bulges: list[float] | UnsetType | None = UNSET
    closed: bool | UnsetType | None = UNSET
    face: Face | UnsetType | None = UNSET
    line: Line | UnsetType | None = UNSET
    thickness: Length | UnsetType | None = UNSET
    height: HeightText | UnsetType | None = UNSET
    base: Length | UnsetType | None = UNSET
    system: str | UnsetType | None = UNSET
    cove: CoveEntry | Literal["room"] | UnsetType | None = UNSET
    top: Top | UnsetType | None = UNSET
    ends: tuple[End, End] | UnsetType | None = UNSET
    openings: list[OpeningEntry] | UnsetType | None = UNSET
    colour: str | UnsetType | None = UNSET
    substrate: Substrate | UnsetType | None = UNSET


class EditsFile(msgspec.Struct, forbid_unknown_fields=True):
    """What an edits file holds; ``length_unit`` is that of bare numbers, ``page`` of what points are."""

    schema: Literal["takeoff.edits/1"]
    length_unit: LengthUnit | None = None
    page: Literal["unrotated", "as-shown"] = "unrotated"
    settings: SettingsEntry | None = None
    rooms: list[RoomEntry] = []
    runs: list[RunEntry] = []
    changes: list[ChangeEntries] = []


def kept(given: T | UnsetType | None, old: T, blank: T) -> T:
    """Choose the value of a key: what is given, the blank where null is, and what there was where it is left out."""
    if isinstance(given, UnsetType):
        return old
    return blank if given is None else given


def run_unturned(run: RunEntry, job: Job) -> RunEntry:
    """Return a run whose points, given on the page as it is shown, are those of the page unrotated."""
    old = job.runs.get(run.id)
    sheet = job.sheets.get(kept(run.sheet, old.sheet if old else 0, 0))
    if sheet is None or not run.points:
        return run
    return msgspec.structs.replace(run, points=[displayed_to_sheet(sheet, x, y) for x, y in run.points])


def line_of(run: RunEntry) -> tuple[list[tuple[float, float]], list[float], bool]:
    """Points and bulges of a run's entry, and whether it is closed."""
    return kept(run.points, [], []), kept(run.bulges, [], []), kept(run.closed, False, False)
