"""Commands on what is selected: flip, both faces, duplicate, mirror, split, join. No toolkit in here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from takeoff.errors import EditError, TakeoffError
from takeoff.gui.job_shapes import polyline
from takeoff.gui.session import Selection, Session
from takeoff.gui.wording import words_of
from takeoff.job.edits import Batch, Edit, PutRoom, PutRun, Remove
from takeoff.job.reshape import OTHER_HAND, free_id, join, mirrored, moved, split
from takeoff.measure.develop import traced_path
from takeoff.model.walls import Opening, Run

JOIN_PT = 4.0
"""Sheet points within which two ends meet."""


def arrange(session: Session, what: str) -> bool:
    """Do one of the commands; a refusal is told.

    Returns
    -------
    bool
        Whether anything was changed.
    """
    if what == "select-all":
        session.select(Selection(runs=tuple(run.id for run in session.runs_here())))
        return False
    if what == "delete":
        return session.remove_selected()
    work = {
        "flip": _flip,
        "both": _both,
        "duplicate": _duplicate,
        "mirror-x": lambda s: _mirror(s, is_across=True),
        "mirror-y": lambda s: _mirror(s, is_across=False),
        "split": _split,
        "join": _join,
    }[what]
    try:
        return work(session)
    except TakeoffError as error:
        session.tell(words_of(error), is_refusal=True)
        return False


def _flip(session: Session) -> bool:
    runs = [replace(run, face=OTHER_HAND[run.face]) for run in session.selected_runs()]
    return session.put_runs(runs, f"Coat the other side of {_names(runs)}")


def _both(session: Session) -> bool:
    runs = session.selected_runs()
    if any(run.thickness == 0 for run in runs):
        raise EditError("both faces need the wall's thickness", remedy="Set the thickness first.")
    return session.put_runs([replace(run, face="both") for run in runs], f"Coat both faces of {_names(runs)}")


def _duplicate(session: Session) -> bool:
    runs = session.selected_runs()
    job = session.job
    rooms = {run.room: job.rooms.get(run.room) for run in runs if run.room}
    edits: list[Edit] = []
    room_ids: dict[str, str] = {}
    taken_rooms = set(job.rooms)
    for id, room in rooms.items():
        if room is not None:
            new = free_id(sorted(taken_rooms), "room")
            taken_rooms.add(new)
            room_ids[str(id)] = new
            edits.append(PutRoom(room=replace(room, id=new, number="", name=f"{room.name} copy".strip())))
    taken = set(job.runs)
    ids = []
    xs = [x for run in runs for x, _ in polyline(run)]
    shift = (max(xs) - min(xs)) + 24.0
    for run in runs:
        new = free_id(sorted(taken), "run")
        taken.add(new)
        ids.append(new)
        edits.append(PutRun(run=replace(moved(run, shift, 0.0), id=new, room=room_ids.get(run.room or ""))))
    if session.do(Batch(title=f"Duplicate {_names(runs)}", edits=tuple(edits)), "Duplicated: drag the copy into place"):
        session.select(Selection(runs=tuple(ids)))
        return True
    return False


def _mirror(session: Session, *, is_across: bool) -> bool:
    runs = session.selected_runs()
    points = [p for run in runs for p in polyline(run)]
    x = (min(p[0] for p in points) + max(p[0] for p in points)) / 2
    y = (min(p[1] for p in points) + max(p[1] for p in points)) / 2
    a, b = ((x, y), (x, y + 1.0)) if is_across else ((x, y), (x + 1.0, y))
    return session.put_runs([mirrored(run, a, b) for run in runs], f"Mirror {_names(runs)}")


def _split(session: Session) -> bool:
    vertex = session.selection.vertex
    if vertex is None:
        raise EditError("no corner is selected", remedy="Press a corner of the selected wall, then split.")
    run = session.job.runs[vertex[0]]
    scale = session.job.calibration_for(run)
    parts = split(run, run.points_pt[vertex[1]], free_id(session.job.runs, "run"), scale)
    if session.put_runs(parts, f"Split {run.id}"):
        session.select(Selection(runs=(parts[-1].id,)))
        return True
    return False


def _join(session: Session) -> bool:
    runs = session.selected_runs()
    if len(runs) != 2:
        raise EditError(f"{len(runs)} walls are selected", remedy="Select two walls whose ends meet.")
    scale = session.job.calibration_for(runs[0])
    after = join(runs[0], runs[1], JOIN_PT, scale)
    edits: tuple[Edit, ...] = (PutRun(run=after), Remove(kind="run", id=runs[1].id))
    if session.do(Batch(title=f"Join {_names(runs)}", edits=edits)):
        session.select(Selection(runs=(after.id,)))
        return True
    return False


def repeat_opening(session: Session, count: int, spacing: float) -> bool:
    """Copy the selected opening so many times along its wall, metres from centre to centre."""
    chosen = session.selection.opening
    if chosen is None:
        session.tell("Select the opening to repeat first.", is_refusal=True)
        return False
    run = session.job.runs[chosen[0]]
    opening = run.openings[chosen[1]]
    scale = session.scale_for(run)
    length = traced_path(run, scale).stations()[-1] if scale else 0.0
    copies: list[Opening] = []
    for i in range(1, count + 1):
        at = opening.at + i * spacing
        copies.append(replace(opening, at=at % length if run.closed and length else at, mark=opening.mark))
    after = replace(run, openings=(*run.openings, *copies))
    return session.put_runs([after], f"Repeat a {opening.kind} {count} times on {run.id}")


def _names(runs: Sequence[Run]) -> str:
    return ", ".join(run.id for run in runs) if len(runs) < 4 else f"{len(runs)} walls"
