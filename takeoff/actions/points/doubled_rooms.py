"""Open points of rooms that two sheets show, or that have one number: each may count twice."""

from __future__ import annotations

import math
from bisect import bisect
from collections import Counter
from collections.abc import Iterator, Mapping
from operator import itemgetter

import shapely

from takeoff.actions.points.finding import AS_IT_IS, Found, Variant, Words, place_of, point_found, told_found
from takeoff.job.job import Job
from takeoff.job.newer_sheets import newer_sheet
from takeoff.model.open_points import Where
from takeoff.model.walls import Room, Run

SAME_FLOOR = 0.03
"""Part by which the floor areas of one room on two sheets may differ: a little more than two scales do (judgement)."""
SAME_SIZE = 0.01
"""Part by which area and length round of one room without a name on two sheets may differ (judgement)."""
MOST_NAMED = 4
"""Rooms that are named of those that two sheets show."""


def twice_points(job: Job) -> Iterator[Found]:
    """Find sheets that show the same rooms, such as a plan and a larger one of a part of it: each room may count twice.

    Rooms are taken for the same by number and name, or by name and floor area (within `SAME_FLOOR`); where half of the
    rooms without a name on a sheet are as large as rooms of another one, and as long round, these are.
    """
    words = Words(job)
    runs: dict[tuple[int, str], list[Run]] = {}
    for run in job.runs.values():
        if run.room is not None and run.room in job.rooms:
            runs.setdefault((run.sheet, run.room), []).append(run)
    named: dict[str, list[tuple[int, str]]] = {}
    for sheet, room in runs:
        named.setdefault(_named(job.rooms[room]), []).append((sheet, room))
    sizes = {place: _size(job, own) for place, own in runs.items()}
    pairs: dict[tuple[int, int], list[str]] = {}
    for name, places in named.items():
        for i, one in enumerate(places):
            for other in places[:i]:
                low, high = sorted((sizes[one][0], sizes[other][0]))
                is_same = bool(job.rooms[one[1]].number.strip()) or 0.0 < high <= (1.0 + SAME_FLOOR) * low
                if name and one[0] != other[0] and one[1] != other[1] and is_same:
                    pairs.setdefault((other[0], one[0]), []).append(one[1])
    for both, rooms in _alike(job, sizes).items():
        pairs.setdefault(both, []).extend(rooms)
    for (first, second), rooms in pairs.items():
        if job.sheets[second] in (newer_sheet(job.sheets, job.sheets[first]), job.sheets[first]):
            continue
        on, also = words.sheet(first), words.sheet(second)
        count = len(rooms)
        names = ", ".join(words.room(room) for room in rooms[:MOST_NAMED]) + (" …" if count > MOST_NAMED else "")
        taken = {run.id: None for room in rooms for run in runs[second, room]}
        yield point_found(
            key=f"twice:{first}:{second}",
            kind="sheet",
            where=Where(sheet=second, at_pt=place_of(job, job.runs[next(iter(taken))]), room=rooms[0]),
            what=f"Rooms on {on} and on {also}",
            taken=f"{count} room{'s' * (count != 1)} on both",
            why=f"Both sheets show {names}, and the walls of both are counted.",
            settle="Remove the walls of one sheet, or confirm that they are different rooms.",
            question=f"Are the rooms {names} on {on} and on {also} the same rooms?",
            assumes=f"Rooms that look the same on {on} and on {also} are different rooms: {names}.",
            state=" ".join(sorted(rooms)),
            variants=(AS_IT_IS, Variant(runs=taken)),
        )


def number_points(job: Job) -> Iterator[Found]:
    """Find rooms of one number on one sheet: they may be one room, or the number may be misread."""
    words = Words(job)
    by_number: dict[tuple[int, str], list[str]] = {}
    for run in job.runs.values():
        room = job.rooms.get(run.room or "")
        if room is not None and room.number.strip():
            rooms = by_number.setdefault((run.sheet, room.number.strip().casefold()), [])
            if room.id not in rooms:
                rooms.append(room.id)
    for (sheet, _), rooms in by_number.items():
        if len(rooms) > 1:
            run = next(run for run in job.runs.values() if run.room == rooms[1] and run.sheet == sheet)
            number = job.rooms[rooms[0]].number
            yield told_found(
                "sheet",
                f"number:{sheet}:{rooms[0]}",
                f"{len(rooms)} rooms on {words.sheet(sheet)} have the same number {number}: {', '.join(rooms)}",
                Where(sheet=sheet, at_pt=place_of(job, run), room=rooms[1]),
                what=f"Rooms {number} on {words.sheet(sheet)}",
                settle="Give each its own number, or confirm that they are different rooms.",
                assumes="",
            )


def _alike(job: Job, sizes: Mapping[tuple[int, str], tuple[float, float]]) -> dict[tuple[int, int], list[str]]:
    """Rooms of the later of two sheets that are of one size with rooms of the other, where either has no name."""
    bare = [place for place in sizes if not _named(job.rooms[place[1]])]
    found: dict[tuple[int, int], dict[str, None]] = {}
    by_area = sorted((size, place) for place, size in sizes.items() if size[0] > 0.0)
    for one in bare:
        area, length = sizes[one]
        within = (area / (1.0 + SAME_SIZE), length / (1.0 + SAME_SIZE)), (area * (1.0 + SAME_SIZE), math.inf)
        start, end = (bisect(by_area, limit, key=itemgetter(0)) for limit in within)
        for (_, other_length), other in by_area[start:end]:
            low, high = sorted((length, other_length))
            if one[0] != other[0] and high <= (1.0 + SAME_SIZE) * low:
                first, second = sorted((one, other))
                found.setdefault((first[0], second[0]), {})[second[1]] = None
    counts = Counter(sheet for sheet, _ in bare)
    return {
        both: list(rooms)
        for both, rooms in found.items()
        if 2 * len(rooms) >= min(counts[sheet] for sheet in both if counts[sheet])
    }


def _named(room: Room) -> str:
    return " ".join(f"{room.number} {room.name}".casefold().split())


def _size(job: Job, runs: list[Run]) -> tuple[float, float]:
    """Floor area of a room in m² and its length round in m: its largest closed wall; 0 where none has a scale."""
    closed = ((run, job.scale_for(run)) for run in runs if run.closed)
    rings = ((shapely.Polygon(run.path_pt.flattened(0.5)), scale) for run, scale in closed if scale)
    return max(
        ((ring.area * s.mx * s.my, ring.length * math.sqrt(s.mx * s.my)) for ring, s in rings), default=(0.0, 0.0)
    )
