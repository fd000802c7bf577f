"""The edits file, schema "takeoff.edits/1": rooms and runs with openings from a script or another program.

Bare numbers are in the file's length unit; texts are lengths as people write them. Nothing is applied unless all of it
is good; a refusal names the JSON path of the fault.
"""

from __future__ import annotations

import codecs
from collections import Counter
from collections.abc import Sequence
from difflib import get_close_matches
from typing import Any, get_args

import msgspec

from takeoff.errors import EditError
from takeoff.exchange.edits_changes import WORDS, SettingsEntry, edits_in_turn, settings_edit
from takeoff.exchange.edits_entries import CoveEntry, EditsFile, LengthUnit, OpeningEntry, RoomEntry, RunEntry
from takeoff.exchange.edits_reader import EditsReader
from takeoff.exchange.json_faults import not_json, types_in_words
from takeoff.job.codec import fault_of
from takeoff.job.edits import Batch, Edit, PutRoom, PutRun, apply_change
from takeoff.job.job import Job
from takeoff.model.walls import Edge, End, Face, Line, OpeningKind, Top

LARGEST_FILE = 20_000_000
"""Bytes of a file; all walls of a hospital have some 3 MB."""
_NOT_CHOSEN = ("Invalid enum value ", "Invalid value ")
_CHOICES: dict[str, tuple[str, ...]] = {
    "schema": ("takeoff.edits/1",),
    "length_unit": get_args(LengthUnit),
    "face": get_args(Face),
    "line": get_args(Line),
    "top": get_args(Top),
    "ends": get_args(End),
    "kind": get_args(OpeningKind),
    "coated": get_args(Edge),
    "change": WORDS,
}


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
    if len(raw) > LARGEST_FILE:
        raise EditError(
            f"the file has {len(raw) / 1e6:,.0f} MB", remedy=f"Give at most {LARGEST_FILE / 1e6:.0f} MB at a time."
        )
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
    units = (file.settings and file.settings.units) or job.settings.units
    reader = EditsReader(job, known_systems, units=units, length_unit=file.length_unit)
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
