"""What the selected rooms lack before their walls can be measured and priced, and a typed height that fills it."""

from __future__ import annotations

from dataclasses import replace

from takeoff.errors import InputError
from takeoff.gui.entries import read_height
from takeoff.gui.session import Session
from takeoff.measure.totals import room_label
from takeoff.model.walls import Room


def ask_for_needs(session: Session) -> str:
    """Say what to give the selected rooms next; empty where they lack nothing.

    A wall with a height or a system of its own needs none of its room.
    """
    if rooms := _without(session, "height"):
        example = "10'" if session.display.system == "imperial" else "3 m"
        return f"Type the height of {_names(rooms)}, such as {example}, and press Enter"
    if rooms := _without(session, "system"):
        return f"Choose the system of {_names(rooms)} in the panel (F5 shows it where it is folded)"
    return ""


def idle_prompt(session: Session, begin: str) -> str:
    """Prompt of a tool that has nothing under way: what the selected rooms lack, and how to begin."""
    asked = ask_for_needs(session)
    return f"{asked} · or {begin}" if asked else f"{begin[0].upper()}{begin[1:]}"


def take_height(session: Session, text: str) -> None:
    """Give a typed height to the selected rooms that have none.

    Raises
    ------
    InputError
        No selected room lacks a height, or the text is none.
    """
    rooms = _without(session, "height")
    if not rooms:
        raise InputError(
            f"no tool or field takes the length {text}",
            remedy="Take a tool and click its first point, or change a field in the panel (F5).",
        )
    height = read_height(text, session.display)
    session.put_rooms([replace(room, height=height) for room in rooms], f"Set the height of {_names(rooms)}")


def _without(session: Session, what: str) -> list[Room]:
    """Return the rooms of selected walls where neither wall nor room has a height or a system."""
    ids = dict.fromkeys(run.room for run in session.selected_runs() if run.room and getattr(run, what) is None)
    return [room for room in map(session.job.rooms.__getitem__, ids) if getattr(room, what) is None]


def _names(rooms: list[Room]) -> str:
    if len(rooms) > 2:
        return f"{len(rooms)} rooms"
    return " and ".join(map(room_label, rooms))
