"""What is selected, in fields: its room, its wall, its opening. Every change is one edit."""

from __future__ import annotations

import tkinter
from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

from takeoff.errors import InputError
from takeoff.gui.entries import cove_text, height_text, read_count, read_cove, read_height, read_length
from takeoff.gui.session import Selection, Session
from takeoff.gui.widgets.form import Form, Row
from takeoff.gui.widgets.parts import Card
from takeoff.gui.widgets.theme import THEME
from takeoff.gui.widgets.toolkit import ctk
from takeoff.job.new_walls import PutInRoom
from takeoff.measure.develop import traced_path
from takeoff.model.walls import Edge, HeightProfile, Opening, Room, Run
from takeoff.units import Display

MIXED = "(differ)"
EDGES: tuple[Edge, ...] = ("jamb", "head", "sill")
COAT = "coat-"
"""What the key of an edge's tick begins with."""
ENDS = (("free", "stops in the open"), ("abut", "meets another surface"), ("return", "is coated round"))
END_HINT = (
    "A free end is a termination. Where the coating goes round it, the end is coated as wide as the wall is thick."
)
SUBSTRATES = (
    ("board", "board"), ("concrete", "concrete"), ("plaster", "plaster"), ("block", "concrete block"),
    ("brick", "brick"), ("metal", "metal"), ("existing", "an old coating"),
)  # fmt: skip
SUBSTRATE_HINT = "What the coats go onto. Primer, filler and preparation follow it."
COLOUR_HINT = "Colour of the coats. Kits and colour packs are counted for each colour."
# fmt: off
ROOM = (
    Row("number", "Number"),
    Row("name", "Name"),
    Row("height", "Height", "Top of the coating above the floor, such as 10'-0\" or 3000."),
    Row("system", "System", "What the walls of the room are coated with.", ()),
    Row("cove", "Cove",
        'Integral cove base: its leg, such as 4"; or 6" x 4", radius 1", thick 1/4". Empty for none.'),
    Row("substrate", "Substrate", SUBSTRATE_HINT, (("", "as the rates say"), *SUBSTRATES)),
    Row("colour", "Colour", COLOUR_HINT),
)
WALL = (
    Row("room", "Room", "The room that the wall belongs to.", ()),
    Row("face", "Coated side", "Left or right hand of someone who walks along the traced line. F changes it.",
        (("left", "left hand"), ("right", "right hand"), ("both", "both faces"))),
    Row("line", "Traced on", "A line on the wall's middle needs the wall's thickness.",
        (("face", "the wall's face"), ("centre", "its centreline"))),
    Row("thickness", "Thickness", "Thickness of the wall: needed for both faces, a centreline or a returned end."),
    Row("base", "Bottom at", "How far above the floor the coating starts; 0 for the floor."),
    Row("height", "Own height",
        "Empty: the room's. Level (9'), sloped (9' to 12'), or by stations (0: 9', 8': 9', 8': 12')."),
    Row("system", "Own system", "", (("", "the room's"),)),
    Row("cove", "Cove", "", (("room", "the room's"), ("none", "none here"))),
    Row("substrate", "Own substrate", SUBSTRATE_HINT, (("", "the room's"), *SUBSTRATES)),
    Row("colour", "Own colour", f"Empty: the room's. {COLOUR_HINT}"),
    Row("top", "Top edge", "A top in the open counts as a termination.",
        (("ceiling", "meets a ceiling"), ("exposed", "ends in the open"), ("return", "is coated over"))),
    Row("start", "First end", END_HINT, ENDS),
    Row("end", "Last end", END_HINT, ENDS),
)
OPENING = (
    Row("kind", "Kind", "", [(k, k) for k in ("door", "window", "pass-through", "louvre", "equipment")]),
    Row("mark", "Mark"),
    Row("width", "Width", "Clear width."),
    Row("height", "Height", "From its sill to its head."),
    Row("sill", "Sill", "Height of its lower edge above the floor; 0 for a door."),
    Row("at", "Centre at", "From the wall's first point to the middle of the opening."),
    Row("reveal", "Reveal", "Depth of its reveal."),
    Row("count", "Count", "How many equal ones stand in a row along the wall."),
    *(Row(COAT + edge, f"Coat its {edge}", f"Coat the {edge} of its reveal.", is_tick=True) for edge in EDGES),
)
# fmt: on
ROOM_TEXT: dict[str, Callable[[Room, Display], str]] = {
    "number": lambda room, _: room.number,
    "name": lambda room, _: room.name,
    "height": lambda room, show: height_text(room.height, show),
    "system": lambda room, _: room.system or "",
    "cove": lambda room, show: cove_text(room.cove, show),
    "substrate": lambda room, _: room.substrate or "",
    "colour": lambda room, _: room.colour,
}
WALL_TEXT: dict[str, Callable[[Run, Display], str]] = {
    "room": lambda run, _: run.room or "",
    "face": lambda run, _: run.face,
    "line": lambda run, _: run.line,
    "thickness": lambda run, show: show.length(run.thickness) if run.thickness else "",
    "base": lambda run, show: show.length(run.base) if run.base else "",
    "height": lambda run, show: height_text(run.height, show),
    "system": lambda run, _: run.system or "",
    "cove": lambda run, _: "none" if run.no_cove else "room",
    "substrate": lambda run, _: run.substrate or "",
    "colour": lambda run, _: run.colour,
    "top": lambda run, _: run.top,
    "start": lambda run, _: run.ends[0],
    "end": lambda run, _: run.ends[1],
}
TITLES = {
    **{row.key: row.label.lower() for row in (*ROOM, *WALL)},
    **{"face": "coated side", "line": "traced line", "base": "bottom", "start": "first end", "end": "last end"},
}
"""What an edit of a field is called."""


class DetailsPanel(ctk.CTkScrollableFrame):
    """Cards for the room, the wall and the opening that are selected."""

    def __init__(self, parent: tkinter.Misc, refuse: Callable[[str], None]) -> None:
        super().__init__(parent, fg_color=THEME.ground, corner_radius=0)
        self.session: Session | None = None
        self._shown: list[tkinter.Widget] = []
        self.nothing = ctk.CTkLabel(self, text="", anchor="nw", justify="left", wraplength=200, text_color=THEME.quiet)
        self.cards = {name: Card(self, name.capitalize()) for name in ("opening", "room", "wall")}
        self.opening, self.room, self.wall = (
            Form(self.cards[name], rows, refuse, commit=put, add=self.cards[name].add)
            for name, rows, put in (
                ("opening", OPENING, self._put_opening),
                ("room", ROOM, self._put_room),
                ("wall", WALL, self._put_walls),
            )
        )
        for card in self.cards.values():
            card.end()

    # -- edits ---------------------------------------------------------------------------------------------------

    @property
    def _session(self) -> Session:
        assert self.session is not None
        return self.session

    def _rooms(self) -> list[Room]:
        ids = dict.fromkeys(run.room for run in self._session.selected_runs() if run.room)
        return [self._session.job.rooms[id] for id in ids]

    def _put_room(self, key: str, text: str) -> None:
        session = self._session
        value: Any = text.strip()
        if key == "height":
            value = read_height(text, session.display)
        elif key == "cove":
            value = read_cove(text, session.display)
        elif key in ("system", "substrate"):
            value = text or None
        rooms = [replace(room, **{key: value}) for room in self._rooms()]
        if rooms:
            session.put_rooms(rooms, f"Set the {TITLES[key]} of {', '.join(r.number or r.name or r.id for r in rooms)}")
        else:
            session.do(PutInRoom(runs=session.selection.runs, like=Room(id="new", **{key: value})))

    def _put_walls(self, key: str, text: str) -> None:
        session = self._session
        if key == "room":
            room = None if text == "+" else text
            session.do(PutInRoom(runs=session.selection.runs, room=room, like=session.defaults.room))
            return
        value = read_length(text, session.display) if key in ("thickness", "base") else text

        def changed(run: Run) -> Run:
            match key:
                case "height":
                    return replace(run, height=self._height_of(run, text))
                case "start" | "end":
                    ends: Any = (text, run.ends[1]) if key == "start" else (run.ends[0], text)
                    return replace(run, ends=ends)
                case "cove":
                    return replace(run, no_cove=text == "none")
                case "system" | "substrate":
                    chosen: Any = {key: text or None}
                    return replace(run, **chosen)
                case "colour":
                    return replace(run, colour=text.strip())
                case _:
                    changes: Any = {key: value}
                    return replace(run, **changes)

        names = ", ".join(session.selection.runs)
        runs = [changed(run) for run in session.selected_runs()]
        session.put_runs(runs, f"Set the {TITLES[key]} of {names}")

    def _height_of(self, run: Run, text: str) -> HeightProfile | None:
        """Read a wall's own height; one that slopes from end to end goes over the length of each wall."""
        session, scale = self._session, self._session.job.scale_for(run)
        if scale is None and " to " in text.lower():
            raise InputError(f"{run.id} has no scale, so its length is not known", remedy="Set the scale first (S).")
        length = traced_path(run, scale).stations()[-1] if scale else None
        return read_height(text, session.display, length)

    def _opening(self) -> Opening | None:
        chosen = self.session.selection.opening if self.session is not None else None
        return self._session.job.runs[chosen[0]].openings[chosen[1]] if chosen else None

    def _put_opening(self, key: str, text: str) -> None:
        session, opening = self._session, self._opening()
        if opening is None or session.selection.opening is None:
            return
        changes: dict[str, Any]
        if key.startswith(COAT):
            edge = key.removeprefix(COAT)
            kept = tuple(e for e in EDGES if (e in opening.coated or e == edge) and (e != edge or text))
            key, changes = "coated reveals", {"coated": kept}
        elif key in ("kind", "mark"):
            changes = {key: text.strip()}
        else:
            changes = {key: read_count(text) if key == "count" else read_length(text, session.display)}
        id, index = session.selection.opening
        run, after = session.job.runs[id], replace(opening, **changes)
        openings = (*run.openings[:index], after, *run.openings[index + 1 :])
        if session.put_runs([replace(run, openings=openings)], f"Set the {key} of a {opening.kind} on {run.id}"):
            session.defaults = replace(session.defaults, opening=replace(after, at=0.0, mark=""))

    # -- showing -------------------------------------------------------------------------------------------------

    def show(self, session: Session | None) -> None:
        """Show what is selected in a session."""
        self.session = session
        runs = session.selected_runs() if session else []
        opening = self._opening() if runs else None
        names = ("opening", "room", "wall") if opening else ("room", "wall")
        self._put_cards([self.cards[name] for name in names] if runs else [self.nothing])
        if session is None or not runs:
            self.nothing.configure(text=_advice(session))
            return
        self._show_room(session)
        self._show_walls(session, runs)
        if opening is not None:
            self._show_opening(opening, session.display)

    def _put_cards(self, cards: list[tkinter.Widget]) -> None:
        """Put these cards one under the other, the first at the top of what is seen."""
        if cards == self._shown:
            return
        for card in self._shown:
            card.pack_forget()
        for card in cards:
            card.pack(fill="x", padx=6, pady=4)
        self._shown = cards
        self._parent_canvas.yview_moveto(0.0)

    def _show_room(self, session: Session) -> None:
        rooms = self._rooms()
        names = ", ".join(" ".join(t for t in (r.number, r.name) if t) or r.id for r in rooms) or "none yet"
        self.cards["room"].title.configure(text=f"Room: {names}" if len(rooms) < 4 else f"{len(rooms)} rooms")
        self.room.choices("system", [("", "none"), *session.systems()])
        self.room.show(**{key: _same(text(room, session.display) for room in rooms) for key, text in ROOM_TEXT.items()})

    def _show_walls(self, session: Session, runs: list[Run]) -> None:
        one = runs[0].id if len(runs) == 1 else f"{len(runs)} walls"
        self.cards["wall"].title.configure(text=f"Wall: {one}")
        self.wall.choices("room", [*session.rooms(), ("+", "a new room")])
        self.wall.choices("system", [("", "the room's"), *session.systems()])
        self.wall.show(**{key: _same(text(run, session.display) for run in runs) for key, text in WALL_TEXT.items()})
        for key in ("start", "end"):
            if all(run.closed for run in runs):
                self.wall[key].grid_remove()
            else:
                self.wall[key].grid()

    def _show_opening(self, opening: Opening, show: Display) -> None:
        self.cards["opening"].title.configure(text=f"Opening: {opening.kind} {opening.mark}".rstrip())
        lengths = {key: show.length(getattr(opening, key)) for key in ("width", "height", "sill", "at", "reveal")}
        self.opening.show(kind=opening.kind, mark=opening.mark, count=str(opening.count), **lengths)
        self.opening.show(**{COAT + edge: edge in opening.coated for edge in EDGES})


def _same(values: Iterable[str]) -> str:
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
