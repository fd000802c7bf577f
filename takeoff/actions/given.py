"""What rooms take that are put into a job: system, cove and height, and what a drawing prints in them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import shapely

from takeoff.geometry.paths import Path
from takeoff.job.job import Job
from takeoff.model.open_points import Basis, How, basis_of, put_basis
from takeoff.model.plan import Point
from takeoff.model.walls import Cove, HeightProfile, Room
from takeoff.sheet.scope_words import finish_codes, scope_line, several_line
from takeoff.sheet.text import TextLine
from takeoff.trace.lines.traced_rooms import TracedRoom
from takeoff.trace.texts.printed_sizes import CeilingNote, one_height, printed_inside, read_ceiling_notes
from takeoff.trace.texts.room_names import label_lines, room_label

SAG_PT = 0.3
"""Sheet points that a chord may lie off its arc where areas are compared."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """What rooms take that are put into the job; ``height`` in metres, ``ceilings`` those printed on the sheet.

    ``basis`` says how height, system and cove were got, of those that no person gave.
    """

    height: float | None
    system: str | None
    cove: Cove | None
    ceilings: tuple[CeilingNote, ...]
    basis: tuple[Basis, ...] = ()

    def printed_in(self, room: TracedRoom) -> list[CeilingNote]:
        """Return the ceiling heights that are printed in a room."""
        return printed_inside(shape_of(room), self.ceilings) if self.ceilings else []

    def with_height(self, room: Room, printed: Sequence[CeilingNote], sheet: int) -> Room:
        """Return a room that has no height with that of the notes in it, or the given one; and what it rests on."""
        if not printed:
            if self.height is None:
                return room
            bases = put_basis(room.basis, *(b for b in self.basis if b.of == "height"))
            return replace(room, height=HeightProfile.constant(self.height), basis=bases)
        height = one_height(printed)
        text = " and ".join(dict.fromkeys(note.text for note in printed))
        heights = [note.height for note in printed if note.height is not None]
        basis = Basis(
            of="height",
            taken="" if height is None else height,
            how="stated",
            text=text,
            sheet=sheet,
            at_pt=printed[0].at_pt,
            low=min(heights, default=None),
            high=max(heights, default=None),
            unsure="what is printed is not one ceiling height" if height is None else "",
        )
        made = replace(room, basis=put_basis(room.basis, basis))
        return made if height is None else replace(made, height=HeightProfile.constant(height))


def with_scope(room: Room, shape: shapely.Geometry, lines: Sequence[TextLine], sheet: int) -> Room:
    """Return a room with what stands in it: that it may not be in the contract or is built often, its finish codes."""
    inside = label_lines(shape, lines)
    if (codes := finish_codes(inside)) and basis_of(room, "codes") is None:
        room = replace(
            room, basis=put_basis(room.basis, Basis(of="codes", taken="", how="stated", text=codes, sheet=sheet))
        )
    for of, note in (("scope", scope_line(inside)), ("times", several_line(inside))):
        if note is not None and basis_of(room, of) is None:
            room = in_doubt(room, "stated", note.text.strip(), sheet, note.middle_pt, of=of)
    return room


def in_doubt(room: Room, how: How, text: str, sheet: int, at_pt: Point | None = None, *, of: str = "scope") -> Room:
    """Return a room of which a text on a sheet says that it may not be in the contract, or is built often ("times")."""
    unsure = "its walls stay in the price" if of == "scope" else "its walls are counted once"
    basis = Basis(of=of, taken=getattr(room, of), how=how, text=text, sheet=sheet, at_pt=at_pt, unsure=unsure)
    return replace(room, basis=put_basis(room.basis, basis))


def shape_of(room: TracedRoom) -> shapely.Geometry:
    """Return a room's area in sheet points."""
    bulges = room.bulges or (0.0,) * len(room.points_pt)
    return shapely.Polygon(Path(room.points_pt, bulges, True).flattened(SAG_PT)).buffer(0)


def ceiling_words(job: Job, printed: Mapping[str, Sequence[CeilingNote]]) -> tuple[str, ...]:
    """Say which rooms took the ceiling height that is printed in them, and where what is printed is not one height.

    ``printed``: rooms by id that had no height, with the ceiling heights printed in each.
    """
    told = {id: " and ".join(dict.fromkeys(note.text for note in notes)) for id, notes in printed.items()}
    label = {id: job.rooms[id].number or job.rooms[id].name or id for id in told}
    taken = [f"{label[id]} {text}" for id, text in told.items() if job.rooms[id].height is not None]
    left = [f"{label[id]} {text}" for id, text in told.items() if job.rooms[id].height is None]
    return (
        *((f"coated to the ceiling height printed in the room: {', '.join(taken)}",) if taken else ()),
        *((f"what is printed is not one height: {', '.join(left)}",) if left else ()),
    )


def printed_room(lines: Sequence[TextLine], sheet: int, outline_pt: Sequence[Point], room: Room) -> Room:
    """Return a room with the name, the number and the ceiling height that stand inside an outline of sheet points.

    What is not printed there stays as it is; a printed height goes before the one that the room has, and its source is
    kept with it.
    """
    outline = shapely.Polygon(outline_pt)
    shape = outline if outline.is_valid else outline.convex_hull
    name, number = room_label(shape, lines)
    named = with_scope(replace(room, name=name or room.name, number=number or room.number), shape, lines, sheet)
    notes = printed_inside(shape, read_ceiling_notes(lines))
    if not notes:
        return named
    given = Given(height=None, system=None, cove=None, ceilings=())
    return given.with_height(replace(named, height=None), notes, sheet)


def next_id(letter: str, taken: Iterable[str]) -> str:
    """Return an id of a letter and the next number.

    Examples
    --------
    >>> next_id("u", ["u1", "u9", "x20"])
    'u10'
    """
    numbers = [int(id[1:]) for id in taken if id[:1] == letter and id[1:].isdigit()]
    return f"{letter}{max(numbers, default=0) + 1}"
