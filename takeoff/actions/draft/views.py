"""What interior elevations say of the height of a room, beside what other sheets said."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace

from takeoff.actions.given import Given
from takeoff.model.open_points import Basis, basis_of, put_basis
from takeoff.model.walls import Room
from takeoff.trace.schedules.elevation_views import SAME, ElevationView, differing
from takeoff.trace.texts.ceiling_heights import LOWEST, CeilingNote

_SAYS = "an interior elevation says "
"""How the reservation begins that a draft puts to a height, by which the next draft knows it for its own."""


def views_of_rooms(
    rooms: Iterable[Room], views: Iterable[tuple[int, ElevationView]]
) -> dict[str, list[tuple[int, ElevationView]]]:
    """Return the views by the id of the one room that each is of, with the sheets that they stand on."""
    known = list(rooms)
    found: dict[str, list[tuple[int, ElevationView]]] = {}
    for sheet, view in views:
        own = [room.id for room in known if view.names(room.number, room.name)]
        if len(own) == 1:
            found.setdefault(own[0], []).append((sheet, view))
    return found


def seen_in_views(
    room: Room, said: Sequence[tuple[int, CeilingNote]], sheets: Collection[int], unclear: str = ""
) -> Room:
    """Return a room with the height that its elevations show, or with the doubt that they leave.

    Where nobody said a height, theirs is taken if it is one. A height that another sheet said stays; where the
    elevations say another, by more than an inch, or that the ceiling is not level, it is open with both texts. What
    ends below any ceiling is the top of a coating: only a lower ceiling contradicts it. What a person gave or confirmed
    stays as it is.

    Parameters
    ----------
    room
        The room as it is.
    said
        What its views say, each with its sheet.
    sheets
        The sheets of elevations, by which heights are known that an earlier draft took from them.
    unclear
        What its row of a finish schedule says of the height, where that is not one length: theirs is open then.
    """
    held = basis_of(room, "height")
    notes = differing([note for _, note in said])
    if not notes or (held is not None and held.confirmed is not None):
        return room
    if held is not None and held.how == "stated" and held.sheet in sheets:
        made = _taken(replace(room, height=None), notes, said[0][0], unclear)
        return made if basis_of(made, "height") != held else room
    if room.height is None:
        return _taken(room, notes, said[0][0], unclear) if held is None else room
    weighed = _weighed(held, max(z for _, z in room.height.points), notes) if held is not None else held
    return replace(room, basis=put_basis(room.basis, weighed)) if weighed is not None and weighed != held else room


def _taken(room: Room, notes: Sequence[CeilingNote], sheet: int, unclear: str) -> Room:
    made = Given(height=None, system=None, cove=None, ceilings=()).with_height(room, notes, sheet)
    basis = basis_of(made, "height")
    if basis is None or basis.unsure or not unclear:
        return made
    return replace(made, basis=put_basis(made.basis, replace(basis, unsure=f"the finish schedule says “{unclear}”")))


def _weighed(held: Basis, top: float, notes: Sequence[CeilingNote]) -> Basis:
    """Return the basis of a height that another sheet said, open where the elevations contradict it."""
    own = held.unsure.startswith(_SAYS)
    if held.unsure and not own:
        return held
    other = [note for note in notes if _contradicts(note.height, top)]
    if not other:
        return replace(held, unsure="", low=None, high=None) if own else held
    heights = [top, *(note.height for note in other if note.height is not None)]
    text = " and ".join(f"“{note.text}”" for note in other)
    return replace(held, unsure=f"{_SAYS}{text}", low=min(heights), high=max(heights))


def _contradicts(ceiling: float | None, top: float) -> bool:
    if ceiling is None or ceiling > top:
        return top >= LOWEST and (ceiling is None or ceiling - top > SAME)
    return top - ceiling > SAME
