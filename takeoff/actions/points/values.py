"""Open points of values that a reader or a default supplied: openings, rooms, outlines of walls."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from takeoff.actions.points.finding import AS_IT_IS, Found, Variant, Words, place_of, point_found, sentence
from takeoff.job.job import Job
from takeoff.model.open_points import Basis, Where, basis_of
from takeoff.model.walls import HeightProfile, Opening, Room, Run

APART = 0.3
"""Metres to either side that a size could be where nobody says: a foot (common practice, no source)."""
ROOM_HEIGHTS = (2.4384, 3.6576)
"""Metres between which the height of a room lies that nothing is known of: 8 to 12 ft (common practice, no source)."""
REVEAL = 0.1
"""Depth in m that a coated reveal could have where nobody says: 4 in (common practice, no source)."""
OPENING_FIELDS = ("height", "sill", "width", "kind")


def opening_points(job: Job) -> Iterator[Found]:
    """Find the openings of which a size, or that they are there, rests on nothing stated or confirmed."""
    words = Words(job)
    for run in job.runs.values():
        for index, opening in enumerate(run.openings):
            for field in OPENING_FIELDS:
                basis = basis_of(opening, field)
                if basis is not None and (basis.is_open or basis.confirmed is not None):
                    yield _opening_found(words, run, index, field, basis)


def reveal_points(job: Job) -> Iterator[Found]:
    """Find that openings which a reader placed are taken without coated reveals: no reader looks for any."""
    bare = {
        run.id: replace(run, openings=tuple(_revealed(o) for o in run.openings))
        for run in job.runs.values()
        if any(map(_is_bare, run.openings))
    }
    if not bare:
        return
    first = job.runs[next(iter(bare))]
    count = sum(_is_bare(o) for id in bare for o in job.runs[id].openings)
    yield point_found(
        key="reveals",
        kind="opening",
        group="Reveals of openings",
        where=Where(sheet=first.sheet, at_pt=place_of(job, first)),
        what=f"Reveals of {count} opening{'s' * (count != 1)}",
        taken="not coated",
        why="Nobody said whether jambs, heads and sills are coated.",
        settle="Give the reveals that are coated, or confirm that none is.",
        question="Are jambs, heads and sills of openings coated, and how deep are they?",
        assumes="Jambs, heads and sills of openings are not coated.",
        state="not coated",
        variants=(AS_IT_IS, Variant(runs=bare)),
    )


def _is_bare(opening: Opening) -> bool:
    """Tell whether a reader placed an opening, and it has no coated reveal."""
    return not opening.reveal and any(basis.how != "person" for basis in opening.basis)


def _revealed(opening: Opening) -> Opening:
    """An opening as it would be with coated reveals."""
    if not _is_bare(opening):
        return opening
    return replace(opening, reveal=REVEAL, coated=("jamb", "head", "sill") if opening.sill else ("jamb", "head"))


def _opening_found(words: Words, run: Run, index: int, field: str, basis: Basis) -> Found:
    opening = run.openings[index]
    named = f"{opening.kind} {opening.mark}" if opening.mark else opening.kind
    taken = opening.kind if field == "kind" else words.show.length(getattr(opening, field))
    is_plain = basis.how in ("assumed", "unknown") and not basis.unsure
    assumes = f"{opening.kind.capitalize()} {field}s are taken at {taken}; the drawings show none."
    if not is_plain:
        assumes = f"The {field} of {named} on {words.wall(run)} is taken as {taken}: {basis.unsure or basis.text}."
    low, high = _between(basis, getattr(opening, field)) if field != "kind" else (None, None)
    asked = f"What is the {field} of this {opening.kind}?" if field != "kind" else f"Is this a {opening.kind}?"
    return point_found(
        key=f"{field}:{run.id}:{index + 1}",
        kind="opening",
        group=f"{opening.kind.capitalize()} {field}s taken at {taken}" if is_plain else sentence(assumes),
        where=Where(
            sheet=run.sheet, at_pt=place_of(words.job, run, opening.at), room=run.room, run=run.id, opening=index
        ),
        what=f"{field.capitalize()} of {named}",
        taken=taken,
        why=sentence(words.why(basis)),
        settle="Give the size, or confirm what was taken." if field != "kind" else "Look at it; remove it or confirm.",
        question=asked,
        assumes=assumes,
        field=field,
        low=low,
        high=high,
        confirmed=basis.confirmed,
        variants=_opening_variants(run, index, field, low, high),
        like=(field, low, high, *_setting(words.job, run), replace(opening, at=0.0, mark="", basis=())),
    )


def _setting(job: Job, run: Run) -> tuple[object, ...]:
    """What the worth of an opening depends on in its wall, apart from its place."""
    room = job.rooms.get(run.room or "")
    height = run.height or (room.height if room else None)
    system, cove = run.system or (room.system if room else None), run.cove or (room.cove if room else None)
    return (height, system, cove, run.no_cove, run.base, run.face, run.thickness)


def _opening_variants(run: Run, index: int, field: str, low: float | None, high: float | None) -> tuple[Variant, ...]:
    """With the size at its low and high; an opening whose kind is unsure might not be there."""
    if field == "kind":
        kept = tuple(o for i, o in enumerate(run.openings) if i != index)
        return AS_IT_IS, Variant(runs={run.id: replace(run, openings=kept)})
    made = []
    for value in (low, high):
        if value is None:
            return ()
        other = _resized(run.openings[index], field, value)
        openings = tuple(other if i == index else o for i, o in enumerate(run.openings))
        made.append(Variant(runs={run.id: replace(run, openings=openings)}))
    return tuple(made)


def _resized(opening: Opening, field: str, value: float) -> Opening:
    """Set a size; an outline that is no rectangle is stretched with it."""
    sizes: dict[str, Any] = {field: value}
    if field == "sill" or opening.outline is None:
        return replace(opening, **sizes)
    by = value / getattr(opening, field)
    outline = tuple((u * by, v) if field == "width" else (u, v * by) for u, v in opening.outline)
    return replace(opening, outline=outline, **sizes)


def _between(basis: Basis, value: float) -> tuple[float, float]:
    """What a size could be: as its basis says, else `APART` to either side."""
    low = basis.low if basis.low is not None else max(value - APART, 0.0 if basis.of == "sill" else value / 2.0)
    return low, basis.high if basis.high is not None else value + APART


def room_points(job: Job) -> Iterator[Found]:
    """Find the rooms whose height, system or cove nobody gave, or that a reader took with a reservation."""
    words = Words(job)
    runs: dict[str, list[Run]] = {}
    for run in job.runs.values():
        if run.room is not None:
            runs.setdefault(run.room, []).append(run)
    systems = {r.system for r in job.rooms.values() if r.system} | {r.system for r in job.runs.values() if r.system}
    for id, own in runs.items():
        room = job.rooms[id]
        where = Where(sheet=own[0].sheet, at_pt=place_of(job, own[0]), room=id)
        for of in ("scope", "times"):
            if (noted := basis_of(room, of)) is not None:
                yield _noted_found(words, room, where, noted, own)
        if any(run.height is None for run in own):
            yield from _height_found(words, room, where)
        if any(run.system is None and basis_of(run, "system") is None for run in own):
            yield from _system_found(words, room, where, systems)
        cove = basis_of(room, "cove")
        if cove is not None and (cove.is_open or cove.confirmed) and any(not (r.cove or r.no_cove) for r in own):
            yield _cove_found(words, room, where, cove)


def _height_found(words: Words, room: Room, where: Where) -> Iterator[Found]:
    basis = basis_of(room, "height")
    if room.height is not None and (basis is None or not (basis.is_open or basis.confirmed)):
        return
    low, high = ROOM_HEIGHTS
    if basis is not None:
        low, high = basis.low or low, basis.high or high
    taken = "" if room.height is None else words.show.length(room.height.points[0][1])
    variants = [Variant(rooms={room.id: replace(room, height=HeightProfile.constant(h))}) for h in (low, high)]
    yield _room_found(
        words, room, where, "height", basis, taken,
        kind="height",
        group=f"Room heights taken at {taken}" if taken else "Rooms without a height",
        what=f"Height of {words.room(room.id)}",
        lacking="no height is known, so its walls are not in the figures",
        settle="Give the height of the coating." if not taken else "Give the height, or confirm what was taken.",
        question="How high is the wall coating in this room?",
        assumes=f"Walls of {words.room(room.id)} are coated to {taken}." if taken else "",
        low=low,
        high=high,
        variants=tuple(variants) if taken else (AS_IT_IS, *variants),
    )  # fmt: skip


def _room_found(
    words: Words, room: Room, where: Where, of: str, basis: Basis | None, taken: str, *, lacking: str = "", **said: Any
) -> Found:
    """An open point of what a room takes; ``lacking`` says why where nothing tells what that is."""
    return point_found(
        key=f"{of}:{room.id}",
        where=where,
        taken=taken,
        why=sentence(words.why(basis) if basis else lacking),
        field=of,
        confirmed=basis.confirmed if basis and taken else None,
        **said,
    )


def _system_found(words: Words, room: Room, where: Where, systems: set[str]) -> Iterator[Found]:
    basis = basis_of(room, "system")
    if room.system is not None and (basis is None or not (basis.is_open or basis.confirmed)):
        return
    variants = [Variant(rooms={room.id: replace(room, system=id)}) for id in sorted(systems - {room.system})]
    taken = words.system(room.system)
    yield _room_found(
        words, room, where, "system", basis, taken,
        kind="system",
        group=f"Rooms that take {taken}" if taken else "Rooms without a system",
        what=f"System of {words.room(room.id)}",
        lacking="no system is known, so its walls are not priced",
        settle="Confirm the system, or choose another; remove the walls if they are not coated."
        if taken
        else "Choose the system, or remove the walls if they are not coated.",
        question="Which wall coating system does this room take?",
        assumes=f"{words.room(room.id)} takes {taken}." if taken else "",
        variants=(AS_IT_IS, *variants) if variants else (),
    )  # fmt: skip


def _noted_found(words: Words, room: Room, where: Where, basis: Basis, own: list[Run]) -> Found:
    """An open point of a room's scope, or of how often it is built: at stake is what it counts once."""
    named = words.room(room.id)
    group, what, settle, question, assumes = {
        "scope": (
            f"Rooms that may not be in the contract: “{basis.text}”",
            f"Whether {named} is in the contract",
            "Remove its walls if it is not in the contract, or confirm that it is priced.",
            f"Is {named} part of the wall coating contract?",
            f"{named} is priced.",
        ),
        "times": (
            f"Rooms that may be built several times: “{basis.text}”",
            f"How often {named} is built",
            "Give how often it is built, or confirm that it is built once.",
            f"How often is {named} built, and are the others drawn?",
            f"{named} is built once, or each one is drawn.",
        ),
    }[basis.of]
    return _room_found(
        words, room, where, basis.of, basis, getattr(room, basis.of),
        kind="system" if basis.of == "scope" else "sheet",
        group=group, what=what, settle=settle, question=question, assumes=assumes,
        variants=(
            AS_IT_IS,
            Variant(rooms={room.id: replace(room, count=2)})
            if basis.of == "times"
            else Variant(runs={run.id: None for run in own}),
        ),
    )  # fmt: skip


def _cove_found(words: Words, room: Room, where: Where, basis: Basis) -> Found:
    cove = room.cove
    show = words.show.length
    size = f"{show(cove.height)} leg, {show(cove.toe)} toe, {show(cove.thickness)} thick" if cove else "no cove"
    bare = Variant(rooms={room.id: replace(room, cove=None)})
    return _room_found(
        words, room, where, "cove", basis, size,
        kind="cove",
        group=f"Cove taken: {size}" if cove else "Rooms without a cove",
        what=f"Cove of {words.room(room.id)}",
        settle="Give the cove, or confirm what was taken.",
        question="Does this room have an integral cove base, and of which size?",
        assumes=f"Cove base: {size}." if cove else "",
        variants=(AS_IT_IS, bare) if cove else (),
    )  # fmt: skip


_SETTLE = {
    "gaps": "Look for doors and windows that are missing; add them, or confirm it.",
    "outline": "Look whether it lies on the wall; move its points, or confirm it.",
    "system": "Choose the system of this wall, or confirm what was taken.",
}
"""What to do about what is open of a wall."""


def outline_points(job: Job) -> Iterator[Found]:
    """Find the walls of which a reader was not sure that they are where they were traced, or what they are."""
    words = Words(job)
    systems = sorted(
        {room.system or "" for room in job.rooms.values()} | {run.system or "" for run in job.runs.values()}
    )
    for run in job.runs.values():
        for basis in run.basis:
            held = basis_of(run, basis.of)
            if held is None or not (held.is_open or held.confirmed):
                continue
            is_line = basis.of in ("outline", "gaps")
            named = {"gaps": "Openings"}.get(basis.of, basis.of.capitalize())
            what = f"{named} of {words.wall(run)}"
            told = words.system(str(held.taken)) if basis.of == "system" else str(held.taken)
            taken = "as traced" if is_line else told or "not coated"
            others: list[Run | None] = [None]
            if basis.of == "system":
                others = [replace(run, system=id) for id in systems if id and id != run.system] or [None]
            yield point_found(
                key=f"{basis.of}:{run.id}",
                kind="system" if basis.of == "system" else "outline",
                group=sentence(held.unsure) or what,
                where=Where(sheet=run.sheet, at_pt=place_of(job, run), room=run.room, run=run.id),
                what=what,
                taken=taken,
                why=sentence(words.why(held)),
                settle=_SETTLE.get(basis.of, "Give it, or confirm what was taken."),
                assumes=f"The walls of {words.wall(run)} are measured as marked."
                if is_line
                else f"{what} is taken as {taken}: {held.unsure}.",
                field=basis.of,
                confirmed=held.confirmed,
                variants=(AS_IT_IS, *(Variant(runs={run.id: other}) for other in others)),
            )
