"""The edits file, schema "takeoff.edits/1": rooms and runs with openings from a script or another program.

Bare numbers are in the file's length unit; texts are lengths as people write them. Nothing is applied unless all of it
is good; a refusal names the JSON path of the fault.
"""

from __future__ import annotations

import codecs
from collections import Counter
from collections.abc import Sequence
from typing import Any

import msgspec

from takeoff.errors import EditError
from takeoff.exchange.edits_entries import EditsFile, edits_in_turn, run_unturned, settings_edit
from takeoff.exchange.edits_reader import EditsReader
from takeoff.exchange.form_faults import Fault, json_fault, not_json
from takeoff.job.edits import Batch, Edit, PutRoom, PutRun, apply_change
from takeoff.job.job import Job

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
    raw = raw.removeprefix(codecs.BOM_UTF8)
    try:
        file = msgspec.json.decode(raw, type=EditsFile)
    except msgspec.ValidationError as error:
        raise _refusal(json_fault(raw, EditsFile, error)) from error
    except (msgspec.DecodeError, UnicodeError) as error:
        raise EditError(f"the file is not JSON: {not_json(raw)}", where="$", remedy="Nothing was applied.") from error
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
