"""What is selected, in fields: its room, its wall, its opening. Every change is one edit."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from takeoff.gui.entries import (
    cove_text,
    height_text,
    read_cove,
    read_height,
    read_length,
)
from takeoff.gui.panels.opening_card import OpeningCard
from takeoff.gui.session import Selection, Session
from takeoff.gui.widgets.fields import Card, ChoiceField, TextField
from takeoff.gui.widgets.theme import THEME
from takeoff.gui.widgets.toolkit import ctk
from takeoff.job.new_walls import PutInRoom
from takeoff.measure.develop import traced_path
from takeoff.model.walls import Room, Run

MIXED = "(differ)"


class DetailsPanel(ctk.CTkScrollableFrame):
    """Cards for the room, the wall and the opening that are selected."""

    def __init__(self, parent: tkinter.Misc, refuse: Callable[[str], None]) -> None:
        super().__init__(parent, fg_color=THEME.ground, corner_radius=0)
        self.session: Session | None = None
        self._refuse = refuse
        self._cards: list[tkinter.Widget] = []
        self.nothing = ctk.CTkLabel(self, text="", anchor="nw", justify="left", wraplength=200, text_color=THEME.quiet)
        self.room = self._room_card()
        self.run = self._run_card()
        self.opening = OpeningCard(self, refuse)

    # -- building ------------------------------------------------------------------------------------------------

    def _text(self, card: Card, label: str, commit: Callable[[str], None], hint: str = "") -> TextField:
        field = TextField(card, label, commit, self._refuse, hint=hint)
        card.add(field)
        return field

    def _choice(
        self, card: Card, label: str, choices: list[tuple[str, str]], commit: Callable[[str], None], hint: str = ""
    ) -> ChoiceField:
        field = ChoiceField(card, label, choices, commit, hint=hint)
        card.add(field)
        return field

    def _room_card(self) -> Card:
        card = Card(self, "Room")
        self.room_number = self._text(card, "Number", lambda t: self._put_room("number", number=t.strip()))
        self.room_name = self._text(card, "Name", lambda t: self._put_room("name", name=t.strip()))
        self.room_height = self._text(
            card,
            "Height",
            lambda t: self._put_room("height", height=read_height(t, self._session.display)),
            "Top of the coating above the floor, such as 10'-0\" or 3000.",
        )
        self.room_system = self._choice(
            card,
            "System",
            [("", "none")],
            lambda id: self._put_room("system", system=id or None),
            "What the walls of the room are coated with.",
        )
        self.room_cove = self._text(
            card,
            "Cove",
            lambda t: self._put_room("cove", cove=read_cove(t, self._session.display)),
            'Integral cove base: its leg, such as 4"; or 6" x 4", radius 1", thick 1/4". Empty for none.',
        )
        card.end()
        return card

    def _run_card(self) -> Card:
        card = Card(self, "Wall")
        self.run_room = self._choice(card, "Room", [], self._move_to_room, "The room that the wall belongs to.")
        self.run_face = self._choice(
            card,
            "Coated side",
            [("left", "left hand"), ("right", "right hand"), ("both", "both faces")],
            lambda v: self._put_runs("coated side", face=v),
            "Left or right hand of someone who walks along the traced line. F changes it.",
        )
        self.run_line = self._choice(
            card,
            "Traced on",
            [("face", "the wall's face"), ("centre", "its centreline")],
            lambda v: self._put_runs("traced line", line=v),
            "A line on the wall's middle needs the wall's thickness.",
        )
        self.run_thickness = self._text(
            card,
            "Thickness",
            lambda t: self._put_runs("thickness", thickness=read_length(t, self._session.display)),
            "Thickness of the wall: needed for both faces, a centreline or a returned end.",
        )
        self.run_base = self._text(
            card,
            "Bottom at",
            lambda t: self._put_runs("base", base=read_length(t, self._session.display)),
            "How far above the floor the coating starts; 0 for the floor.",
        )
        self.run_height = self._text(
            card,
            "Own height",
            self._put_run_height,
            "Empty: the room's. Level (9'), sloped (9' to 12'), or by stations (0: 9', 8': 9', 8': 12').",
        )
        self.run_system = self._choice(
            card, "Own system", [("", "the room's")], lambda id: self._put_runs("system", system=id or None)
        )
        self.run_cove = self._choice(
            card,
            "Cove",
            [("room", "the room's"), ("none", "none here")],
            lambda v: self._put_runs("cove", no_cove=v == "none"),
        )
        self.run_top = self._choice(
            card,
            "Top edge",
            [("ceiling", "meets a ceiling"), ("exposed", "ends in the open"), ("return", "is coated over")],
            lambda v: self._put_runs("top edge", top=v),
            "A top in the open counts as a termination.",
        )
        ends = [("free", "stops in the open"), ("abut", "meets another surface"), ("return", "is coated round")]
        told = "An end in the open is a termination; one coated round has a return as wide as the wall is thick."
        self.run_start = self._choice(card, "First end", ends, lambda v: self._put_end(0, v), told)
        self.run_end = self._choice(card, "Last end", ends, lambda v: self._put_end(1, v), told)
        card.end()
        return card

    # -- edits ---------------------------------------------------------------------------------------------------

    @property
    def _session(self) -> Session:
        assert self.session is not None
        return self.session

    def _rooms(self) -> list[Room]:
        ids = dict.fromkeys(run.room for run in self._session.selected_runs() if run.room)
        return [self._session.job.rooms[id] for id in ids]

    def _put_room(self, what: str, **fields: Any) -> None:
        session = self._session
        rooms = [replace(room, **fields) for room in self._rooms()]
        if rooms:
            session.put_rooms(rooms, f"Set the {what} of {', '.join(r.number or r.name or r.id for r in rooms)}")
        else:
            self._room_for_loose_runs(fields)

    def _room_for_loose_runs(self, fields: dict[str, Any]) -> None:
        session = self._session
        session.do(PutInRoom(runs=session.selection.runs, like=Room(id="new", **fields)))

    def _put_runs(self, what: str, **fields: Any) -> None:
        session = self._session
        names = ", ".join(session.selection.runs)
        session.reshape(
            lambda: [replace(run, **fields) for run in session.selected_runs()], f"Set the {what} of {names}"
        )

    def _put_run_height(self, text: str) -> None:
        session = self._session
        runs = session.selected_runs()
        scale = session.scale_for(runs[0]) if len(runs) == 1 else None
        length = traced_path(runs[0], scale).stations()[-1] if scale else None
        self._put_runs("height", height=read_height(text, session.display, length))

    def _put_end(self, index: int, value: str) -> None:
        session = self._session

        def make() -> list[Run]:
            runs = []
            for run in session.selected_runs():
                ends: Any = (value, run.ends[1]) if index == 0 else (run.ends[0], value)
                runs.append(replace(run, ends=ends))
            return runs

        session.reshape(make, f"Set an end of {', '.join(session.selection.runs)}")

    def _move_to_room(self, id: str) -> None:
        session = self._session
        d = session.defaults
        like = Room(id="new", height=d.height, system=d.system, cove=d.cove)
        session.do(PutInRoom(runs=session.selection.runs, room=None if id == "+" else id, like=like))

    # -- showing -------------------------------------------------------------------------------------------------

    def show(self, session: Session | None) -> None:
        """Show what is selected in a session."""
        self.session = session
        runs = session.selected_runs() if session else []
        has_opening = session is not None and session.selection.opening is not None
        cards: list[tkinter.Widget] = [self.room, self.run] if runs else [self.nothing]
        if runs and has_opening:
            cards.insert(0, self.opening)
        if cards != self._cards:
            self._put_cards(cards)
        if session is None or not runs:
            self.nothing.configure(text=_advice(session))
            return
        self._show_room(session)
        self._show_runs(session, runs)
        if session.selection.opening is not None:
            self.opening.show(session)

    def _put_cards(self, cards: list[tkinter.Widget]) -> None:
        """Put these cards one under the other, the first at the top of what is seen."""
        for card in self._cards:
            card.pack_forget()
        for card in cards:
            card.pack(fill="x", padx=6, pady=4)
        self._cards = cards
        self._parent_canvas.yview_moveto(0.0)

    def _show_room(self, session: Session) -> None:
        rooms = self._rooms()
        show = session.display
        names = ", ".join(" ".join(t for t in (r.number, r.name) if t) or r.id for r in rooms) or "none yet"
        self.room.title.configure(text=f"Room: {names}" if len(rooms) < 4 else f"{len(rooms)} rooms")
        self.room_number.show(_same(r.number for r in rooms))
        self.room_name.show(_same(r.name for r in rooms))
        self.room_height.show(_same(height_text(r.height, show) for r in rooms))
        self.room_system.set_choices([("", "none"), *session.systems()])
        self.room_system.show(_same(r.system or "" for r in rooms))
        self.room_cove.show(_same(cove_text(r.cove, show) for r in rooms))

    def _show_runs(self, session: Session, runs: list[Run]) -> None:
        show = session.display
        one = runs[0].id if len(runs) == 1 else f"{len(runs)} walls"
        self.run.title.configure(text=f"Wall: {one}")
        self.run_room.set_choices([*session.rooms(), ("+", "a new room")])
        self.run_room.show(_same(run.room or "" for run in runs))
        self.run_face.show(_same(run.face for run in runs))
        self.run_line.show(_same(run.line for run in runs))
        self.run_thickness.show(_same(show.length(run.thickness) if run.thickness else "" for run in runs))
        self.run_base.show(_same(show.length(run.base) if run.base else "" for run in runs))
        self.run_height.show(_same(height_text(run.height, show) for run in runs))
        self.run_system.set_choices([("", "the room's"), *session.systems()])
        self.run_system.show(_same(run.system or "" for run in runs))
        self.run_cove.show(_same("none" if run.no_cove else "room" for run in runs))
        self.run_top.show(_same(run.top for run in runs))
        self.run_start.show(_same(run.ends[0] for run in runs))
        self.run_end.show(_same(run.ends[1] for run in runs))
        for field in (self.run_start, self.run_end):
            if all(run.closed for run in runs):
                field.grid_remove()
            else:
                field.grid()


def _same(values: Any) -> str:
    found = set(values)
    return found.pop() if len(found) == 1 else (MIXED if found else "")


def _advice(session: Session | None) -> str:
    if session is None:
        return ""
    if session.selection == Selection() and session.job.runs:
        return "Nothing is selected.\n\nClick a wall, a door or a window on the plan, or a line in the tables below."
    first = "1. Set the scale (S)." if session.scale is None else "1. The scale is set."
    steps = f"{first}\n2. Trace a room by one click (G), walls (T) or a box room (B).\n3. Place doors and windows (D)."
    return f"Nothing is traced yet.\n\n{steps}"
