"""What is read beside the tables: how a line or a wall came to its figures, and what is not measured yet."""

from __future__ import annotations

from takeoff import actions
from takeoff.actions.onsite import step_called
from takeoff.gui.session import Session
from takeoff.report.arithmetic import face_arithmetic

MOST_WAITING, MOST_FACES = 12, 30
"""Walls that wait and faces that are told of at once; more would not be read."""
NOTHING_CHOSEN = "Click a line, or a wall on the plan, to see how its figures came about."


def line_words(session: Session, priced: actions.Priced, page: str, row: int) -> str:
    """Return the arithmetic of a line of material, labour or price."""
    e = priced.estimate
    if page == "Material":
        line = e.materials[row]
        said = list(line.arithmetic.lines)
        rooms = dict(session.rooms())
        for need in line.needs:
            called = step_called(priced.catalogue, (need.system, need.step))
            place = rooms.get(need.room, need.room)
            said += ["", " · ".join(t for t in (place, called) if t), *(f"  {t}" for t in need.arithmetic.lines)]
        return "\n".join(said)
    lines = e.labour if page == "Labour" else e.price
    return "\n".join(lines[row].arithmetic.lines)


def wall_words(session: Session) -> str:
    """Return the arithmetic of the walls that are selected, and why one cannot be measured yet."""
    measured, pending = session.measured()
    chosen = set(session.selection.runs)
    faces = [f for f in measured.faces if f.elevation.run in chosen][:MOST_FACES]
    blocks = [
        f"{session.wall(f.elevation.run)}, {f.elevation.face} face\n"
        + "\n".join(f"  {t}" for t in face_arithmetic(f, session.display))
        for f in faces
    ]
    blocks += [_waiting(session, p) for p in pending if p.run in chosen]
    return "\n\n".join(blocks)


def waiting_words(session: Session, missing: str) -> str:
    """Say what there is no price for, and which walls are not measured yet."""
    waiting = "\n".join(f"• {_waiting(session, p)}" for p in session.measured()[1][:MOST_WAITING])
    parts = (missing, f"Not measured yet:\n{waiting}" if waiting else "")
    return "\n\n".join(part for part in parts if part) or NOTHING_CHOSEN


def _waiting(session: Session, pending: actions.Pending) -> str:
    return f"{session.wall(pending.run)}: {pending.message}. {pending.remedy}"
