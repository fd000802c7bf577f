"""The register of open points: all that a job's figures rest on and nobody has confirmed, from one function.

Window, command, reports and JSON read this one list. See `takeoff.model.open_points` for the shape of a point. Rooms
that may count twice are found here too.
"""

from __future__ import annotations

import math
from bisect import bisect
from collections import Counter
from collections.abc import Callable, Hashable, Iterator, Mapping
from dataclasses import replace
from operator import itemgetter
from typing import Any

import shapely

from takeoff.actions.points.figures import face_points, loose_points, pending_points, price_points
from takeoff.actions.points.finding import AS_IT_IS, Found, Stakes, Variant, Words, place_of, point_found, told_found
from takeoff.actions.points.sheets import code_points, finding_points, scale_points, sheet_points, unit_points
from takeoff.actions.points.values import opening_points, outline_points, reveal_points, room_points
from takeoff.actions.quantities import Measured, Pending, Priced, catalogue_of, measure_ready, price_measured
from takeoff.errors import TakeoffError
from takeoff.job.job import Job
from takeoff.job.newer_sheets import newer_sheet
from takeoff.measure.totals import in_names
from takeoff.model.open_points import OpenPoint, Stake, Where
from takeoff.model.point_register import KIND_ORDER, Register, can_confirm, is_unpriced
from takeoff.model.systems import Catalogue
from takeoff.model.walls import Room, Run
from takeoff.units import in_units

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
                variants=(AS_IT_IS, Variant(runs={r.id: None for r in job.runs.values() if r.room in rooms[1:]})),
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


FINDERS: tuple[Callable[[Job], Iterator[Found]], ...] = (
    scale_points,
    sheet_points,
    outline_points,
    room_points,
    loose_points,
    opening_points,
    reveal_points,
    finding_points,
    code_points,
    number_points,
    twice_points,
    unit_points,
)
"""What finds the open points that rest on no figure; those of figures and of the price follow."""
TEXTS = ("group", "what", "why", "settle", "assumes")
"""What a point says of itself."""
NAMES_WALLS = ("overlap", "outline", "unmeasured", "sheet")
"""Kinds of points whose sentences name walls by their ids."""
MANY = 200
"""Points from which those that are alike but for their places are worked out once."""


def open_points(
    job: Job,
    *,
    priced: Priced | None = None,
    ready: tuple[Measured, tuple[Pending, ...]] | None = None,
    catalogue: Catalogue | None = None,
    has_stakes: bool = True,
) -> Register:
    """Derive every open point of a job.

    Parameters
    ----------
    job
        The job; it need not be complete.
    priced
        The job as priced, where that is at hand; walls that it does not hold are told as not measured.
    ready
        What of the job can be measured, and what each other run lacks, where that is at hand.
    has_stakes
        Whether to work out the money at stake; without it the list is in order of kind.
    """
    chosen = priced.catalogue if priced is not None else catalogue or catalogue_of(job)
    found = [one for find in FINDERS for one in find(job)]
    if priced is None:
        measured, pending = ready or measure_ready(job)
        try:
            priced = price_measured(job, measured, catalogue=catalogue)
        except TakeoffError:
            priced = None
    else:
        measured = priced.measured
        is_whole = measured.calibrations.keys() >= job.runs.keys()
        pending = ready[1] if ready else () if is_whole else measure_ready(job)[1]
    found += pending_points(job, pending)
    found += face_points(job, measured.faces, measured.calibrations)
    if priced is not None:
        found += price_points(job, priced, has_stakes=has_stakes)
    stakes = Stakes(job, chosen) if has_stakes else None
    average = _average(priced)
    alike: dict[Hashable, Stake | None] | None = {} if len(found) > MANY else None
    words = Words(job)
    points = [_settled(job, _placed(words, _staked(one, stakes, average, alike))) for one in found]
    points.sort(key=_rank)
    is_priced = priced is not None and priced.estimate.has_price
    price = priced.estimate.line("price").amount if priced is not None and is_priced else 0.0
    return Register(points=tuple(points), price=price, currency=chosen.currency)


def _rank(point: OpenPoint) -> tuple[object, ...]:
    """Put first what is missing from the figures, at a price that nobody knows; then by money, then by kind."""
    money = point.stake.money if point.stake is not None else 0.0
    return not point.is_open, not is_unpriced(point), -money, KIND_ORDER.index(point.kind)


def _average(priced: Priced | None) -> Stake | None:
    """What a metre of wall comes to on average: price and area of it; nothing where no wall is measured and priced."""
    total = priced.measured.measurement.total.quantities if priced is not None else None
    price = priced.estimate.line("price").amount if priced is not None else 0.0
    if total is None or total.length <= 0.0 or price <= 0.0:
        return None
    return Stake(money=price / total.length, area=total.net_area / total.length, length=1.0)


def _staked(
    found: Found, stakes: Stakes | None, average: Stake | None, alike: dict[Hashable, Stake | None] | None
) -> OpenPoint:
    """Add what is at stake; ``alike`` keeps that of points which are like others, where there are many."""
    stake = found.stake
    if alike is not None and found.like is not None and found.like in alike:
        stake = alike[found.like]
    elif stakes is not None and found.variants:
        stake = stakes.between(found.variants) or stake
        if alike is not None and found.like is not None:
            alike[found.like] = stake
    if stake is None and average is not None and found.wall_length > 0.0:
        by = found.wall_length
        stake = Stake(money=average.money * by, area=average.area * by, length=by)
    if stake is not None and not stake.money and not can_confirm(found.point):
        stake = None
    return replace(found.point, stake=stake)


def _placed(words: Words, point: OpenPoint) -> OpenPoint:
    """Say in names what has ids, and in the job's units what readers say in metric ones; key and state stay."""
    job, where = words.job, point.where
    said: dict[str, Any] = {name: in_units(getattr(point, name), words.show) for name in TEXTS}
    if point.kind in NAMES_WALLS:
        said = {name: in_names(text, words.walls) for name, text in said.items()}
    on = words.sheet(where.sheet) if where.sheet in job.sheets else ""
    inside = words.room(where.room) if where.room in job.rooms else ""
    named = words.walls.get(where.run or "", "")
    return replace(point, where=replace(where, on=on, inside=inside, named=named), **said)


def _settled(job: Job, point: OpenPoint) -> OpenPoint:
    """Mark a point that was confirmed as it stands now."""
    known = job.settled.get(point.key)
    if known is None or known.state != point.state or point.confirmed is not None:
        return point
    return replace(point, confirmed=known.confirmed)
