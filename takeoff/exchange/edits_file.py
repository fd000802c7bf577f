"""The edits file, schema "takeoff.edits/1": rooms and runs with openings from a script or another program.

Bare numbers are metres; texts are lengths as people write them. Nothing is applied unless all of it is good; a refusal
names the JSON path of the fault.
"""

from __future__ import annotations

import codecs
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from difflib import get_close_matches
from functools import partial
from typing import Any, Literal, TypeVar, get_args

import msgspec

from takeoff.errors import EditError, TakeoffError
from takeoff.exchange.edits_changes import WORDS, ChangeEntries, SettingsEntry, edits_in_turn, settings_edit
from takeoff.exchange.json_faults import not_json, types_in_words
from takeoff.job.codec import fault_of
from takeoff.job.edits import Batch, Edit, PutRoom, PutRun, apply_change
from takeoff.job.job import Job, calibration_key
from takeoff.model.walls import Cove, Edge, End, Face, HeightProfile, Line, Opening, OpeningKind, Room, Run, Top
from takeoff.units import parse_length

T = TypeVar("T")
Sized = TypeVar("Sized", Cove, Opening, Run)
Length = float | str
HeightText = float | str | list[tuple[Length, Length]]
_NOT_CHOSEN = ("Invalid enum value ", "Invalid value ")
_CHOICES: dict[str, tuple[str, ...]] = {
    "schema": ("takeoff.edits/1",),
    "face": get_args(Face),
    "line": get_args(Line),
    "top": get_args(Top),
    "ends": get_args(End),
    "kind": get_args(OpeningKind),
    "coated": get_args(Edge),
    "change": WORDS,
}


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
    """Room of the finish schedule."""

    id: str
    name: str = ""
    number: str = ""
    height: HeightText | None = None
    system: str | None = None
    cove: CoveEntry | None = None


class RunEntry(msgspec.Struct, forbid_unknown_fields=True):
    """Traced line of wall face in sheet points."""

    id: str
    sheet: int
    points: list[tuple[float, float]]
    room: str | None = None
    bulges: list[float] = []
    closed: bool = False
    face: Face = "left"
    line: Line = "face"
    thickness: Length = 0.0
    height: HeightText | None = None
    base: Length = 0.0
    system: str | None = None
    cove: CoveEntry | msgspec.UnsetType | None = msgspec.UNSET
    top: Top = "ceiling"
    ends: tuple[End, End] = ("free", "free")
    openings: list[OpeningEntry] = []


class EditsFile(msgspec.Struct, forbid_unknown_fields=True):
    """What an edits file holds."""

    schema: Literal["takeoff.edits/1"]
    settings: SettingsEntry | None = None
    rooms: list[RoomEntry] = []
    runs: list[RunEntry] = []
    changes: list[ChangeEntries] = []


def _with_choices(text: str, path: str) -> str:
    """Add the words that a key takes to the fault of one that takes only these, and the keys there are to a slip."""
    key = _key(path)
    if text.startswith(_NO_SUCH_KEY):
        wrong = text.removeprefix(_NO_SUCH_KEY).strip("`")
        if key == "changes":
            return f'this change has no key "{wrong}"'
        entry = _ENTRIES.get(key, EditsFile)
        near = get_close_matches(wrong, entry.__struct_fields__, n=1)
        hint = f'did you mean "{near[0]}"?' if near else f"keys: {', '.join(entry.__struct_fields__)}"
        return f'there is no key "{wrong}": {hint}'
    said = next((start for start in _NOT_CHOSEN if text.startswith(start)), "")
    chosen = _CHOICES.get(key, ()) if said else ()
    if not chosen:
        return types_in_words(text)
    return f"{text.removeprefix(said)} is not one of {', '.join(chosen)}"


def _key(path: str) -> str:
    """Name of the key that a JSON path leads to."""
    return path.rpartition(".")[2].partition("[")[0]


def _remedy(text: str, path: str) -> str:
    """Say what to write for a key whose value has the wrong form."""
    form = "See the form with: takeoff schema edits."
    return form if text.startswith((_NO_SUCH_KEY, *_NOT_CHOSEN)) else _REMEDIES.get(_key(path), form)


_REMEDIES = {
    "sheet": "Give its position in the register, such as 1: takeoff sheets JOB lists them.",
    "points": "Write points as [[210, 330], [858, 330]].",
    "coated": 'Write a list such as ["jamb", "head"].',
    "ends": 'Write both ends, such as ["free", "abut"].',
    "$": 'A file begins with {"schema": "takeoff.edits/1".',
}


_NO_SUCH_KEY = "Object contains unknown field "
_ENTRIES: dict[str, type[msgspec.Struct]] = {
    "runs": RunEntry,
    "rooms": RoomEntry,
    "openings": OpeningEntry,
    "cove": CoveEntry,
    "settings": SettingsEntry,
}


def edits_schema() -> dict[str, Any]:
    """JSON schema of the edits file."""
    return msgspec.json.schema(EditsFile)


def read_edits(data: bytes | str, job: Job, *, known_systems: frozenset[str]) -> Batch:
    """Read an edits file into one edit of a job.

    Parameters
    ----------
    data
        JSON text of the file.
    job
        The job it is meant for: sheets, rooms and scales are checked against it.
    known_systems
        Ids of systems that may be named.

    Raises
    ------
    EditError
        With the JSON path of the first fault in ``where``.
    """
    raw = data.encode("utf-8", "surrogatepass") if isinstance(data, str) else data
    try:
        file = msgspec.json.decode(raw.removeprefix(codecs.BOM_UTF8), type=EditsFile)
    except msgspec.ValidationError as error:
        text, path = fault_of(str(error))
        raise EditError(
            _with_choices(text, path),
            where=path,
            remedy=f"{_remedy(text, path)} Nothing was applied.",
        ) from error
    except (msgspec.DecodeError, UnicodeError) as error:
        raise EditError(
            f"the file is not JSON: {not_json(raw.removeprefix(codecs.BOM_UTF8), error)}",
            where="$",
            remedy="Nothing was applied.",
        ) from error
    reader = _Reader(job, known_systems)
    rooms = [reader.room(r, f"$.rooms[{i}]") for i, r in enumerate(file.rooms)]
    _unique([r.id for r in rooms], "rooms")
    _unique([r.id for r in file.runs], "runs")
    all_rooms = {**job.rooms, **{r.id: r for r in rooms}}
    runs = [reader.run(r, f"$.runs[{i}]", all_rooms) for i, r in enumerate(file.runs)]
    edits: list[Edit] = [] if file.settings is None else [settings_edit(job, file.settings)]
    edits += [*(PutRoom(room=r) for r in rooms), *(PutRun(run=r) for r in runs)]
    before = apply_change(job, Batch(title="", edits=tuple(edits)).apply(job))
    edits += edits_in_turn(before, file.changes, reader.length)
    title = f"Apply {_count(rooms, 'room')} and {_count(runs, 'run')}"
    return Batch(title=f"{title} and {_count(file.changes, 'change')}" if file.changes else title, edits=tuple(edits))


def _count(things: Sequence[object], name: str) -> str:
    return f"{len(things)} {name}{'s' * (len(things) != 1)}"


def _unique(ids: Sequence[str], name: str) -> None:
    for id, count in Counter(ids).items():
        if count > 1:
            place = f"$.{name}[{len(ids) - 1 - list(reversed(ids)).index(id)}].id"
            raise EditError(f'"{id}" is used {count} times', where=place, remedy="Give each its own id.")


class _Reader:
    def __init__(self, job: Job, known_systems: frozenset[str]) -> None:
        self.job = job
        self.known_systems = known_systems | frozenset(job.systems)

    def length(self, value: Length, path: str) -> float:
        if not isinstance(value, str):
            return float(value)
        try:
            return parse_length(value, system=self.job.settings.units)
        except TakeoffError as error:
            raise EditError(error.message, remedy=error.remedy, where=path) from error

    def height(self, value: HeightText | None, path: str) -> HeightProfile | None:
        if value is None:
            return None
        if isinstance(value, list):
            pairs = tuple(
                (self.length(s, f"{path}[{i}][0]"), self.length(h, f"{path}[{i}][1]")) for i, (s, h) in enumerate(value)
            )
            return _made(path, lambda: HeightProfile(points=pairs))
        top = self.length(value, path)
        return _made(path, lambda: HeightProfile.constant(top))

    def cove(self, entry: CoveEntry | None, path: str) -> Cove | None:
        if entry is None:
            return None
        sizes = {f: self.length(getattr(entry, f), f"{path}.{f}") for f in entry.__struct_fields__}
        return _set_in_turn(_PLAIN_COVE, path, sizes)

    def system(self, id: str | None, path: str) -> str | None:
        if id is not None and id not in self.known_systems:
            known = ", ".join(sorted(self.known_systems))
            raise EditError(f'there is no system "{id}"', where=path, remedy=f"Known systems: {known}.")
        return id

    def room(self, entry: RoomEntry, path: str) -> Room:
        if not entry.id:
            raise EditError("the id is empty", where=f"{path}.id", remedy="Give each room its own id.")
        return Room(
            id=entry.id,
            name=entry.name,
            number=entry.number,
            height=self.height(entry.height, f"{path}.height"),
            system=self.system(entry.system, f"{path}.system"),
            cove=self.cove(entry.cove, f"{path}.cove"),
        )

    def opening(self, entry: OpeningEntry, path: str) -> Opening:
        sizes = {f: self.length(getattr(entry, f), f"{path}.{f}") for f in ("at", "width", "height", "sill", "reveal")}
        spacing = None if entry.spacing is None else self.length(entry.spacing, f"{path}.spacing")
        outline = None
        if entry.outline is not None:
            outline = tuple(
                (self.length(u, f"{path}.outline[{i}][0]"), self.length(v, f"{path}.outline[{i}][1]"))
                for i, (u, v) in enumerate(entry.outline)
            )
        plain = replace(_PLAIN_OPENING, kind=entry.kind, coated=tuple(dict.fromkeys(entry.coated)), mark=entry.mark)
        return _set_in_turn(plain, path, {**sizes, "count": entry.count, "spacing": spacing, "outline": outline})

    def run(self, entry: RunEntry, path: str, rooms: dict[str, Room]) -> Run:
        if not entry.id:
            raise EditError("the id is empty", where=f"{path}.id", remedy="Give each run its own id.")
        sheet = self.job.sheets.get(entry.sheet)
        if sheet is None:
            known = ", ".join(str(s) for s in self.job.sheets) or "none"
            raise EditError(f"there is no sheet {entry.sheet}", where=f"{path}.sheet", remedy=f"Sheets: {known}.")
        if entry.room is not None and entry.room not in rooms:
            known = ", ".join(rooms) or "none"
            raise EditError(f'there is no room "{entry.room}"', where=f"{path}.room", remedy=f"Rooms: {known}.")
        for i, (x, y) in enumerate(entry.points):
            if not sheet.holds((x, y)):
                raise EditError(
                    f"({x:g}, {y:g}) lies off the sheet of {sheet.width_pt:g} × {sheet.height_pt:g} points",
                    where=f"{path}.points[{i}]",
                    remedy="Points are 1/72 inch from the unrotated page's top left corner, y down.",
                )
        openings = tuple(self.opening(o, f"{path}.openings[{i}]") for i, o in enumerate(entry.openings))
        thickness, base = self.length(entry.thickness, f"{path}.thickness"), self.length(entry.base, f"{path}.base")
        height = self.height(entry.height, f"{path}.height")
        system, cove = self.system(entry.system, f"{path}.system"), None
        if not isinstance(entry.cove, msgspec.UnsetType):
            cove = self.cove(entry.cove, f"{path}.cove")
        line = _made(
            f"{path}.points",
            lambda: Run(
                id=entry.id,
                sheet=entry.sheet,
                room=entry.room,
                points_pt=tuple(entry.points),
                bulges=(1.0,) * len(entry.points) if any(entry.bulges) else (),
                closed=entry.closed,
                system=system,
                cove=cove,
                no_cove=entry.cove is None,
                top=entry.top,
                openings=openings,
            ),
        )
        run = _set_in_turn(
            line,
            path,
            {
                "bulges": tuple(entry.bulges),
                "thickness": thickness,
                "face": entry.face,
                "line": entry.line,
                "ends": entry.ends,
                "base": base,
                "height": height,
            },
        )
        _check_line(run, path)
        self._check_on_wall(run, path, rooms.get(run.room or ""))
        return run

    def _check_on_wall(self, run: Run, path: str, room: Room | None) -> None:
        """Develop the run where its sheet has a scale, so that openings off it are refused here and not later."""
        from takeoff.measure.develop import develop, traced_path

        region = _made(f"{path}.points", partial(self.job.region_for, run))
        if run.height is None and (room is None or room.height is None):
            raise EditError(
                "the run has no height, and its room has none",
                where=f"{path}.height",
                remedy="Give one of them a height.",
            )
        scale = self.job.calibrations.get(calibration_key(run.sheet, region))
        if scale is None:
            return
        developed = partial(develop, room=room, scale=scale, corner_threshold=self.job.settings.corner_threshold)
        try:
            developed(run)
        except TakeoffError as error:
            _made(path, partial(developed, replace(run, openings=())))
            length = traced_path(run, scale).stations()[-1]
            for i, opening in enumerate(run.openings):
                field = "width" if opening.width > length else "at"
                _made(f"{path}.openings[{i}].{field}", partial(developed, replace(run, openings=(opening,))))
            raise EditError(error.message, remedy=error.remedy, where=path) from error


_PLAIN_COVE = Cove(height=2.0, toe=2.0, radius=0.0, thickness=0.0)
_PLAIN_OPENING = Opening(at=0.0, width=1.0, height=1.0)


def _set_in_turn(value: Sized, path: str, fields: Mapping[str, Any]) -> Sized:
    """Set fields one after another, so that the path of a refusal ends in the field at fault."""
    for name, content in fields.items():
        value = _made(f"{path}.{name}", partial(replace, value, **{name: content}))
    return value


def _made(path: str, make: Callable[[], T]) -> T:
    """Make a model value; its refusal gets the JSON path."""
    try:
        return make()
    except EditError:
        raise
    except TakeoffError as error:
        raise EditError(error.message, remedy=error.remedy, where=path) from error


def _check_line(run: Run, path: str) -> None:
    """Refuse lines that cross themselves: which side is coated would change on the way."""
    import shapely

    points = run.path_pt.flattened(0.05)
    if run.closed and (len(points) < 4 or shapely.Polygon(points).area <= 1e-9):
        raise EditError("the closed run has no area", where=f"{path}.points", remedy="Check the order of its points.")
    if not shapely.LineString(points).is_simple:
        raise EditError(
            "the run crosses or touches itself", where=f"{path}.points", remedy="Check the order of its points."
        )
