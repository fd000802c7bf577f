"""What a drawing prints in a room that was traced by hand: its name, its number and its ceiling height."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import shapely

from takeoff.actions.given import Given, with_scope
from takeoff.model.plan import Point
from takeoff.model.walls import Room
from takeoff.sheet.text import TextLine
from takeoff.trace.texts.ceiling_heights import notes_inside, read_ceiling_notes
from takeoff.trace.texts.room_names import room_label


def printed_room(lines: Sequence[TextLine], sheet: int, outline_pt: Sequence[Point], room: Room) -> Room:
    """Return a room with the name, the number and the ceiling height that stand inside an outline of sheet points.

    What is not printed there stays as it is; a printed height goes before the one that the room has, and its source is
    kept with it.
    """
    outline = shapely.Polygon(outline_pt)
    shape = outline if outline.is_valid else outline.convex_hull
    name, number = room_label(shape, lines)
    named = with_scope(replace(room, name=name or room.name, number=number or room.number), shape, lines, sheet)
    notes = notes_inside(shape, read_ceiling_notes(lines))
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
