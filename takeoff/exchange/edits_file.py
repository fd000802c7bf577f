"""The edits file, schema "takeoff.edits/1": rooms and runs with openings from a script or another program.

Bare numbers are in the file's length unit; texts are lengths as people write them. Nothing is applied unless all of it
is good; a refusal names the JSON path of the fault.
"""

from __future__ import annotations

import codecs
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

import msgspec

from takeoff.errors import EditError
from takeoff.exchange.edits_entries import (
    CoveEntry,
    EditsFile,
    HeightText,
    OpeningEntry,
    RoomEntry,
    RunEntry,
    edits_in_turn,
    run_unturned,
    settings_edit,
)
from takeoff.exchange.edits_reader import EditsReader
from takeoff.exchange.form_faults import Fault, doubled_keys, json_fault, not_json
from takeoff.job.edits import Batch, Edit, PutRoom, PutRun, apply_change
from takeoff.job.job import Job
from takeoff.job.reshape import free_id
from takeoff.model.walls import Cove, HeightProfile, Opening, Room, Run

LARGEST_FILE = 20_000_000
"""Bytes of a file; all walls of a hospital have some 3 MB."""
_FORM = "See the form with: takeoff schema edits."
_REMEDIES = {
    "sheet": "Give its position in the register, such as 1: takeoff sheets JOB lists them.",
    "points": "Write points as [[210, 330], [858, 330]].",
    "coated": 'Write a list such as ["jamb", "head"].',
    "ends": 'Write both ends, such as ["free", "abut"].',
    "$": 'A file begins with {"schema": "takeoff.edits/1".',
}
"""What to write for a key whose value has the wrong form."""


def _refusal(fault: Fault) -> EditError:
    key = fault.path.rpartition(".")[2].partition("[")[0]
    remedy = _FORM if fault.kind in ("key", "choice") else _REMEDIES.get(key, _FORM)
    return EditError(fault.words, where=fault.path, remedy=f"{remedy} Nothing was applied.")


def edits_schema() -> dict[str, Any]:
    """JSON schema of the edits file."""
    return msgspec.json.schema(EditsFile)


def read_edits(data: bytes | str, job: Job, *, known_systems: frozenset[str]) -> Edit:
    """Read an edits file into one edit of a job.

    ``job``: the job it is meant for: sheets, rooms and scales are checked against it.
    """
    raw = data.encode("utf-8", "surrogatepass") if isinstance(data, str) else data
    if len(raw) > LARGEST_FILE:
        raise EditError(
            f"the file has {len(raw) / 1e6:,.0f} MB", remedy=f"Give at most {LARGEST_FILE / 1e6:.0f} MB at a time."
        )
    raw = raw.removeprefix(codecs.BOM_UTF8)
    try:
        file = msgspec.json.decode(raw, type=EditsFile)
    except msgspec.ValidationError as error:
        raise _refusal(json_fault(raw, EditsFile, error)) from error
    except (msgspec.DecodeError, UnicodeError) as error:
        raise EditError(f"the file is not JSON: {not_json(raw)}", where="$", remedy="Nothing was applied.") from error
    if twice := doubled_keys(raw):
        raise EditError(f'the key "{twice[0]}" stands twice in one place', where="$", remedy="Leave one of them out.")
    units = (file.settings and file.settings.units) or job.settings.units
    reader = EditsReader(job, known_systems, units=units, length_unit=file.length_unit)
    rooms = [reader.room(r, f"$.rooms[{i}]") for i, r in enumerate(file.rooms)]
    _unique([r.id for r in rooms], "rooms")
    _unique([r.id for r in file.runs], "runs")
    as_shown = file.page == "as-shown"
    all_rooms = {**job.rooms, **{r.id: r for r in rooms}}
    lines = [run_unturned(r, job) for r in file.runs] if as_shown else file.runs
    runs = [reader.run(r, f"$.runs[{i}]", all_rooms) for i, r in enumerate(lines)]
    edits: list[Edit] = [] if file.settings is None else [settings_edit(job, file.settings)]
    edits += [*(PutRoom(room=r) for r in rooms), *(PutRun(run=r) for r in runs)]
    before = apply_change(job, Batch(title="", edits=tuple(edits)).apply(job))
    edits += edits_in_turn(before, file.changes, reader.length, as_shown=as_shown)
    title = f"Apply {_count(rooms, 'room')} and {_count(runs, 'wall')}"
    return Batch(title=f"{title} and {_count(file.changes, 'change')}" if file.changes else title, edits=tuple(edits))


def _count(things: Sequence[object], name: str) -> str:
    return f"{len(things)} {name}{'s' * (len(things) != 1)}"


def _unique(ids: Sequence[str], name: str) -> None:
    for id, count in Counter(ids).items():
        if count > 1:
            place = f"$.{name}[{len(ids) - 1 - list(reversed(ids)).index(id)}].id"
            raise EditError(f'"{id}" is used {count} times', where=place, remedy="Give each its own id.")


Form = TypeVar("Form", CoveEntry, OpeningEntry, RoomEntry, RunEntry)


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundRuns:
    """Runs and rooms found in another file, as an edits file, and what is doubtful about them."""

    edits: bytes
    count: int
    doubts: tuple[str, ...]


def found_runs(
    own: Sequence[tuple[RunEntry, RoomEntry | None]],
    foreign: Sequence[tuple[str, RunEntry]],
    *,
    taken: Sequence[str],
    doubts: Sequence[str],
    what: str,
) -> FoundRuns:
    """Put together what a file carries, with ids unlike one another.

    ``own`` are runs that the program wrote, each with its room; they keep their ids, copies count on. ``foreign`` are
    names and runs that other programs drew, ``what`` they were in the file, in the plural; ``doubts`` are those
    besides.
    """
    ids = free_ids([run.id for run, _ in own], ())
    copies = [
        f"wall {run.id} was copied in another program" for id, (run, _) in zip(ids, own, strict=True) if id != run.id
    ]
    ids += free_ids([name for name, _ in foreign], [*ids, *taken])
    entries = [*(run for run, _ in own), *(run for _, run in foreign)]
    more = [f"{len(foreign)} {what} came in as walls: check their coated side, height and room"] if foreign else []
    rooms = {room.id: room for _, room in own if room is not None}
    runs = [msgspec.structs.replace(run, id=id) for id, run in zip(ids, entries, strict=True)]
    return FoundRuns(
        edits=edits_text(list(rooms.values()), runs),
        count=len(runs),
        doubts=tuple(dict.fromkeys([*doubts, *copies, *more])),
    )


def edits_text(rooms: Sequence[RoomEntry], runs: Sequence[RunEntry]) -> bytes:
    """Write an edits file, UTF-8 JSON; floats keep every digit."""
    file = EditsFile(schema="takeoff.edits/1", length_unit="m", rooms=list(rooms), runs=list(runs))
    return msgspec.json.format(msgspec.json.encode(file), indent=1)


def room_entry(room: Room) -> RoomEntry:
    """Give a room as an entry; lengths in metres."""
    more = {"height": _height(room.height), "cove": _cove(room.cove), "colour": room.colour or None}
    return _entry(room, RoomEntry, **more)


def run_entry(run: Run) -> RunEntry:
    """Give a run as an entry; lengths in metres, points in sheet points."""
    return _entry(
        run,
        RunEntry,
        points=list(run.points_pt),
        bulges=list(run.bulges),
        height=_height(run.height),
        cove=None if run.no_cove else (_cove(run.cove) or "room"),
        openings=[_opening(o) for o in run.openings],
        colour=run.colour or None,
    )


def _entry(value: object, form: type[Form], **other: Any) -> Form:
    """Give a value as an entry of a form: fields of the same names, and others as they are given."""
    return form(**{name: other[name] if name in other else getattr(value, name) for name in form.__struct_fields__})


def read_entry(text: str) -> tuple[RunEntry, RoomEntry | None] | None:
    """Read what `entry_text` wrote; nothing where it is something else."""
    try:
        return msgspec.json.decode(text, type=tuple[RunEntry, RoomEntry | None])
    except (msgspec.MsgspecError, UnicodeError):
        return None


def entry_text(run: Run, room: Room | None) -> str:
    """Write one run and its room as JSON text for a file that carries runs one by one."""
    return msgspec.json.encode((run_entry(run), None if room is None else room_entry(room))).decode()


def free_ids(wanted: Iterable[str], taken: Iterable[str]) -> list[str]:
    """Make ids unlike one another and unlike those taken by counting on.

    Examples
    --------
    >>> free_ids(["a", "a", "b"], ["b"])
    ['a', 'a-2', 'b-2']
    """
    used, out = set(taken), list[str]()
    for id in wanted:
        out.append(free_id(used, id, 2) if id in used else id)
        used.add(out[-1])
    return out


def _height(profile: HeightProfile | None) -> HeightText | None:
    return None if profile is None else [(s, h) for s, h in profile.points]


def _cove(cove: Cove | None) -> CoveEntry | None:
    return None if cove is None else _entry(cove, CoveEntry)


def _opening(o: Opening) -> OpeningEntry:
    return _entry(o, OpeningEntry, coated=list(o.coated), outline=None if o.outline is None else list(o.outline))
