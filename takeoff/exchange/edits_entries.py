"""What an edits file holds, as it is written: schema "takeoff.edits/1"."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Any, Literal, TypeVar, Union

import msgspec
from msgspec import UNSET, UnsetType

from takeoff.errors import EditError
from takeoff.job import wall_edits
from takeoff.job.changes import apply_change, fitting
from takeoff.job.edits import Edit, RemoveOpening, SetSettings
from takeoff.job.job import Job, JobSettings
from takeoff.measure.rules import rule_named
from takeoff.model.systems import Substrate
from takeoff.model.walls import MOST_ALIKE, Edge, End, Face, Line, OpeningKind, Top
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


_RUNS, _RUN, _AT = {"runs": list[str]}, {"run": str}, {"run": str, "index": int}
_CHANGES: dict[str, tuple[Callable[..., Edit], str, dict[str, Any]]] = {
    "remove-runs": (wall_edits.RemoveWalls, "Remove walls, and rooms that no wall is left in.", _RUNS),
    "remove-room": (wall_edits.RemoveRoomWithWalls, "Remove a room with its walls.", {"room": str}),
    "flip": (wall_edits.FlipWalls, "Coat the other side.", _RUNS),
    "both-faces": (wall_edits.CoatBothFaces, "Coat both faces; needs the thickness.", _RUNS),
    "move": (wall_edits.MoveWalls, "Move walls by so many sheet points.", {**_RUNS, "by": PointText}),
    "mirror": (
        wall_edits.MirrorWalls,
        "Mirror walls about their middle.",
        {**_RUNS, "way": Literal["left-right", "top-bottom"]},
    ),
    "duplicate": (wall_edits.DuplicateWalls, "Copy walls beside themselves, into new rooms.", _RUNS),
    "split": (wall_edits.SplitWall, "Split a wall near a sheet point.", {**_RUN, "at": PointText}),
    "join": (wall_edits.JoinWalls, "Join two walls whose ends meet.", _RUNS),
    "add-point": (wall_edits.AddPoint, "Add a point to a wall's line.", {**_RUN, "near": PointText}),
    "move-point": (wall_edits.MovePoint, "Move a point of a wall.", {**_AT, "to": PointText}),
    "remove-point": (wall_edits.RemovePoint, "Remove a point of a wall.", _AT),
    "bend": (wall_edits.BendWall, "Bend the piece after a point into an arc.", {**_AT, "through": PointText}),
    "repeat-opening": (
        wall_edits.RepeatOpening,
        "Copy an opening along its wall.",
        {**_AT, "count": int, "spacing": float | str},
    ),
    "remove-opening": (RemoveOpening, "Remove an opening.", _AT),
}
"""What ``change`` can be: the edit, what it does for people, and the keys that it takes."""
WORDS = tuple(_CHANGES)
ENTRIES = tuple(
    msgspec.defstruct(
        "".join(part.title() for part in word.split("-")) + "Entry",
        list(keys.items()),
        bases=(_Change,),
        namespace={"__doc__": says},
        module=__name__,
        tag=word,
    )
    for word, (_, says, keys) in _CHANGES.items()
)
if TYPE_CHECKING:
    ChangeEntries = _Change
else:
    ChangeEntries = Union[ENTRIES]  # noqa: UP007 - they are made from the table
Lengths = Callable[[float | str, str], float]
"""Reads a length of the file, given where it stands."""

_FIELDS = {"by": "by_pt", "at": "at_pt", "near": "near_pt", "to": "to_pt", "through": "through_pt"}
"""Keys of the file and the fields of the edits that take them."""


def edit_of(entry: ChangeEntries, path: str, length: Lengths) -> Edit:
    """Return the edit that an entry asks for."""
    word = str(entry.__struct_config__.tag)
    fields: dict[str, Any] = {_FIELDS.get(name, name): getattr(entry, name) for name in entry.__struct_fields__}
    if "runs" in fields:
        fields["runs"] = tuple(fields["runs"])
    if "way" in fields:
        fields["is_across"] = fields.pop("way") == "left-right"
    if "spacing" in fields:
        fields["spacing"] = length(fields["spacing"], f"{path}.spacing")
    return _CHANGES[word][0](**fields)


def _unturned(entry: ChangeEntries, job: Job) -> ChangeEntries:
    """Return an entry whose places, given on the page as it is shown, are those of the page unrotated."""
    given: dict[str, Any] = msgspec.structs.asdict(entry)
    runs = [given["run"]] if "run" in given else given.get("runs", [])
    run = next((job.runs[id] for id in runs if id in job.runs), None)
    if run is None:
        return entry
    sheet = job.sheets[run.sheet]
    changed: dict[str, Any] = {name: displayed_to_sheet(sheet, *given[name]) for name in _FIELDS if name in given}
    if "by" in changed:
        x, y = displayed_to_sheet(sheet, 0.0, 0.0)
        changed["by"] = (changed["by"][0] - x, changed["by"][1] - y)
    if "way" in given and sheet.rotation % 180:
        changed["way"] = "top-bottom" if given["way"] == "left-right" else "left-right"
    return msgspec.structs.replace(entry, **changed)


def edits_in_turn(
    job: Job, entries: Sequence[ChangeEntries], length: Lengths, *, as_shown: bool = False
) -> tuple[Edit, ...]:
    """Return the edits of a file's ``changes``, each tried on what those before it leave.

    ``as_shown`` tells that places are given on the page as it is shown.
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


def settings_edit(job: Job, entry: SettingsEntry) -> Edit:
    """Return the edit that changes the settings that an entry names."""
    named = {name: value for name in entry.__struct_fields__ if (value := getattr(entry, name)) is not None}
    settings = fitting("$.settings", lambda: changed_settings(job.settings, **named))
    return SetSettings(settings=settings)


def changed_settings(settings: JobSettings, **named: Any) -> JobSettings:
    """Return settings with some of them changed.

    Raises `InputError` when one is not known: a rule, units, a currency, a fraction of an inch, or a name that is
    empty.
    """
    after = replace(settings, **named)
    _ = after.display  # refuses units, a fraction or a currency that are none
    if "rule" in named:
        rule_named(after.rule)
    return after


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
    count: Annotated[int, msgspec.Meta(ge=1, le=MOST_ALIKE)] | UnsetType | None = UNSET


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
