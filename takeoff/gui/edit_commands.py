"""Commands on what is selected: each has the job do an edit, and selects what came of it. No toolkit in here."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from takeoff.gui.session import Selection, Session
from takeoff.job.edits import Batch, Edit, RemoveOpening
from takeoff.job.new_walls import DuplicateWalls
from takeoff.job.wall_edits import RemoveRoomWithWalls, RemoveWalls, RepeatOpening, SplitWall


def select_all(session: Session) -> None:
    """Select every wall of the sheet that is shown."""
    session.select(Selection(runs=tuple(run.id for run in session.runs_here())))


def remove(session: Session) -> bool:
    """Remove the selected opening, else the selected walls with the rooms that only they were in."""
    chosen = session.selection
    if chosen.opening is not None:
        return session.do(RemoveOpening(run=chosen.opening[0], index=chosen.opening[1]))
    return bool(chosen.runs) and session.do(RemoveWalls(runs=chosen.runs))


def remove_rooms(session: Session) -> bool:
    """Remove the rooms of the selected walls, with all their walls."""
    rooms = list(dict.fromkeys(run.room for run in session.selected_runs() if run.room))
    if not rooms:
        session.tell("The selected walls are in no room: Delete removes the walls.", is_refusal=True)
        return False
    names = dict(session.rooms())
    edits = tuple(RemoveRoomWithWalls(room=id) for id in rooms)
    return session.do(Batch(title=f"Remove {', '.join(names[id] for id in rooms)} with all walls", edits=edits))


def on_walls(make: Callable[..., Edit], **more: Any) -> Callable[[Session], bool]:
    """Return a command that does an edit of the selected walls."""
    return lambda session: session.do(make(runs=session.selection.runs, **more))


def duplicate(session: Session) -> bool:
    """Copy the selected walls into a new room, and select the copies."""
    return _made(session, DuplicateWalls(runs=session.selection.runs), "The copy is selected: drag it into place")


def split(session: Session) -> bool:
    """Split the wall at the selected point, and select the part behind it."""
    vertex = session.selection.vertex
    if vertex is None:
        session.tell("No point is selected: click a point of the selected wall, then split.", is_refusal=True)
        return False
    run = session.job.runs[vertex[0]]
    return _made(session, SplitWall(run=run.id, at_pt=run.points_pt[vertex[1]]))


def repeat_opening(session: Session, count: int, spacing: float) -> bool:
    """Copy the selected opening so many times along its wall, metres from centre to centre."""
    chosen = session.selection.opening
    if chosen is None:
        session.tell("Select the opening to repeat first.", is_refusal=True)
        return False
    return session.do(RepeatOpening(run=chosen[0], index=chosen[1], count=count, spacing=spacing))


def _made(session: Session, edit: Edit, told: str = "") -> bool:
    """Do an edit and select the walls that it made; where it made none, what was selected stays so."""
    before = session.job.runs
    if not session.do(edit, told):
        return False
    made = tuple(id for id in session.job.runs if id not in before)
    session.select(Selection(runs=made or session.selection.runs[:1]))
    return True
