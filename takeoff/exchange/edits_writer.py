"""Runs and rooms as entries of an edits file, without loss: the form in which other files carry them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

import msgspec

from takeoff.exchange.edits_entries import CoveEntry, EditsFile, HeightText, OpeningEntry, RoomEntry, RunEntry
from takeoff.model.walls import Cove, HeightProfile, Opening, Room, Run

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

    Parameters
    ----------
    own
        Runs that the program wrote, each with its room; they keep their ids, copies count on.
    foreign
        Names and runs that other programs drew.
    taken
        Ids that those must not get.
    doubts
        What is doubtful besides.
    what
        What foreign runs were in the file, in the plural.
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
    used = set(taken)
    out = []
    for id in wanted:
        new, number = id, 2
        while new in used:
            new, number = f"{id}-{number}", number + 1
        used.add(new)
        out.append(new)
    return out


def _height(profile: HeightProfile | None) -> HeightText | None:
    return None if profile is None else [(s, h) for s, h in profile.points]


def _cove(cove: Cove | None) -> CoveEntry | None:
    return None if cove is None else _entry(cove, CoveEntry)


def _opening(o: Opening) -> OpeningEntry:
    return _entry(o, OpeningEntry, coated=list(o.coated), outline=None if o.outline is None else list(o.outline))
