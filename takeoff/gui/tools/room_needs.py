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
    if rooms := _without_height(session):
        example = "10'" if session.display.system == "imperial" else "3 m"
        return f"Type the height of {_names(rooms)}, such as {example}, and press Enter"
    if rooms := _without_system(session):
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
    rooms = _without_height(session)
    if not rooms:
        raise InputError(
            f"no tool or field takes the length {text}",
            remedy="Take a tool and click its first point, or change a field in the panel (F5).",
        )
    height = read_height(text, session.display)
    session.put_rooms([replace(room, height=height) for room in rooms], f"Set the height of {_names(rooms)}")


def _without_height(session: Session) -> list[Room]:
    return [room for room in _rooms_of(session, "height") if room.height is None]


def _without_system(session: Session) -> list[Room]:
    return [room for room in _rooms_of(session, "system") if room.system is None]


def _rooms_of(session: Session, own: str) -> list[Room]:
    ids = dict.fromkeys(run.room for run in session.selected_runs() if run.room and getattr(run, own) is None)
    return [session.job.rooms[id] for id in ids]


def _names(rooms: list[Room]) -> str:
    if len(rooms) > 2:
        return f"{len(rooms)} rooms"
    return " and ".join(map(room_label, rooms))
