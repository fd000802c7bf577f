"""What is selected, in fields: its room, its wall, its opening. Every change is one edit."""

from __future__ import annotations

import tkinter
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

from takeoff.errors import InputError
from takeoff.gui.entries import COUNT, COVE, HEIGHT, LENGTH, LENGTH_OR_NONE, SIZE, TEXT, Kind, maybe, read_height
from takeoff.gui.session import Selection, Session, assumed
from takeoff.gui.widgets import THEME, Card, Form, Row, ctk, label, show_if
from takeoff.job.wall_edits import PutInRoom
from takeoff.measure.develop import traced_path
from takeoff.measure.totals import room_label
from takeoff.model.open_points import HasBasis, basis_of
from takeoff.model.walls import Edge, HeightProfile, Opening, Room, Run
from takeoff.units import Display

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
    Row("number", "Number", kind=TEXT),
    Row("name", "Name", kind=TEXT),
    Row("height", "Height", "Top of the coating above the floor, such as 10'-0\" or 3000.", kind=HEIGHT),
    Row("system", "System", "What the walls of the room are coated with.", (), maybe(TEXT), is_wide=True),
    Row("cove", "Cove",
        'Integral cove base: its leg, such as 4"; or 6" x 4", radius 1", thick 1/4". Empty for none.', kind=COVE,
        is_wide=True),
    Row("substrate", "Substrate", SUBSTRATE_HINT, (("", "as the rates say"), *SUBSTRATES), maybe(TEXT)),
    Row("colour", "Colour", COLOUR_HINT, kind=TEXT),
    Row("count", "Times built", "How often the room is built as it is traced: all of it counts that often.",
        kind=COUNT),
)
WALL = (
    Row("room", "Room", "The room that the wall belongs to.", (), maybe(TEXT)),
    Row("face", "Coated side", "Left or right hand of someone who walks along the traced line. F changes it.",
        (("left", "left hand"), ("right", "right hand"), ("both", "both faces")), TEXT),
    Row("line", "Traced on", "A line on the wall's middle needs the wall's thickness.",
        (("face", "the wall's face"), ("centre", "its centreline")), TEXT),
    Row("thickness", "Thickness", "Thickness of the wall: needed for both faces, a centreline or a returned end.",
        kind=LENGTH_OR_NONE),
    Row("base", "Bottom at", "How far above the floor the coating starts; 0 for the floor.", kind=LENGTH_OR_NONE),
    Row("height", "Own height",
        "Empty: the room's. Level (9'), sloped (9' to 12'), or by stations (0: 9', 8': 9', 8': 12').", kind=HEIGHT),
    Row("system", "Own system", "", (("", "the room's"),), maybe(TEXT), is_wide=True),
    Row("cove", "Cove", "", (("room", "the room's"), ("none", "none here")),
        Kind(lambda is_left_out, _: "none" if is_left_out else "room", lambda text, *_: text == "none"), "no_cove"),
    Row("substrate", "Own substrate", SUBSTRATE_HINT, (("", "the room's"), *SUBSTRATES), maybe(TEXT)),
    Row("colour", "Own colour", f"Empty: the room's. {COLOUR_HINT}", kind=TEXT),
    Row("top", "Top edge", "A top in the open counts as a termination.",
        (("ceiling", "meets a ceiling"), ("exposed", "ends in the open"), ("return", "is coated over")), TEXT),
    Row("start", "First end", END_HINT, ENDS, Kind(lambda ends, _: ends[0]), "ends"),
    Row("end", "Last end", END_HINT, ENDS, Kind(lambda ends, _: ends[1]), "ends"),
)
OPENING = (
    Row("kind", "Kind", "", [(k, k) for k in ("door", "window", "pass-through", "louvre", "equipment")], TEXT),
    Row("mark", "Mark", kind=TEXT),
    Row("width", "Width", "Clear width.", kind=SIZE),
    Row("height", "Height", "From its sill to its head.", kind=SIZE),
    Row("sill", "Sill", "Height of its lower edge above the floor; 0 for a door.", kind=LENGTH),
    Row("at", "Centre at", "From the wall's first point to the middle of the opening.", kind=LENGTH),
    Row("reveal", "Reveal", "Depth of its reveal.", kind=LENGTH),
    Row("count", "Count", "How many equal ones stand in a row along the wall.", kind=COUNT),
    *(Row(COAT + edge, f"Coat its {edge}", f"Coat the {edge} of its reveal.", is_tick=True) for edge in EDGES),
)
# fmt: on
TITLES = {
    **{row.key: row.label.lower() for row in WALL},
    **{"face": "coated side", "line": "traced line", "base": "bottom", "start": "first end", "end": "last end"},
}
"""What an edit of a field of walls is called."""


class DetailsPanel(ctk.CTkScrollableFrame):
    """Cards for the room, the wall and the opening that are selected."""

    def __init__(self, parent: tkinter.Misc, refuse: Callable[[str], None]) -> None:
        super().__init__(parent, fg_color=THEME.ground, corner_radius=0)
        self.session: Session | None = None
        self._shown: Sequence[tkinter.Widget] = []
        self.nothing = label(self, anchor="nw", wrap=200, colour=THEME.quiet)
        self.cards = {name: Card(self, name.capitalize()) for name in ("opening", "room", "wall")}
        puts = ((OPENING, self._put_opening), (ROOM, self._put_room), (WALL, self._put_walls))
        self.opening, self.room, self.wall = (
            Form(card, rows, refuse, commit=put, add=card.add)
            for card, (rows, put) in zip(self.cards.values(), puts, strict=True)
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

    def _put_room(self, key: str, _text: str) -> None:
        session, rooms = self._session, self._rooms()
        changes = self.room.read(session.display, key)
        if rooms:
            names = ", ".join(map(room_label, rooms))
            what = next(row.label.lower() for row in ROOM if row.key == key)
            session.put_rooms([replace(room, **changes) for room in rooms], f"Set the {what} of {names}")
        else:
            session.do(PutInRoom(runs=session.selection.runs, like=Room(id="new", **changes)))

    def _put_walls(self, key: str, text: str) -> None:
        session, runs = self._session, self._session.selected_runs()
        if key == "room":
            room = None if text == "+" else text
            session.do(PutInRoom(runs=session.selection.runs, room=room, like=session.next_room))
            return
        if key == "height":
            changed = [replace(run, height=self._height_of(run, text)) for run in runs]
        elif key in ("start", "end"):
            ends: Any = [(text, run.ends[1]) if key == "start" else (run.ends[0], text) for run in runs]
            changed = [replace(run, ends=both) for run, both in zip(runs, ends, strict=True)]
        else:
            changes = self.wall.read(session.display, key)
            changed = [replace(run, **changes) for run in runs]
        session.put_runs(changed, f"Set the {TITLES[key]} of {', '.join(session.selection.runs)}")

    def _height_of(self, run: Run, text: str) -> HeightProfile | None:
        """Read a wall's own height; one that slopes from end to end goes over the length of each wall."""
        session, scale = self._session, self._session.job.scale_for(run)
        if scale is None and " to " in text.lower():
            told = f"{session.wall(run.id)} has no scale, so its length is not known"
            raise InputError(told, remedy="Set the scale first (S).")
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
        else:
            changes = self.opening.read(session.display, key)
        id, index = session.selection.opening
        run, after = session.job.runs[id], replace(opening, **changes)
        openings = (*run.openings[:index], after, *run.openings[index + 1 :])
        if session.put_runs([replace(run, openings=openings)], f"Set the {key} of a {opening.kind} on {run.id}"):
            sizes = ((of, getattr(after, of)) for of in ("width", "height", "sill") if of != "sill" or after.sill)
            basis = tuple(assumed(of, value, "as in the opening before") for of, value in sizes)
            session.next_opening = replace(after, at=0.0, mark="", basis=basis)

    # -- showing -------------------------------------------------------------------------------------------------

    def show(self, session: Session | None) -> None:
        """Show what is selected in a session."""
        self.session = session
        runs = session.selected_runs() if session else []
        opening = self._opening() if runs else None
        cards = list(self.cards.values())[0 if opening else 1 :]
        self._put_cards(cards if runs else [self.nothing])
        if session is None or not runs:
            self.nothing.configure(text=_advice(session))
            return
        self._show_room(session)
        self._show_walls(session, runs)
        if opening is not None:
            self._show_opening(opening, session.display)

    def _put_cards(self, cards: Sequence[tkinter.Widget]) -> None:
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
        names = ", ".join(map(room_label, rooms)) or "none yet"
        self.cards["room"].title.configure(text=f"Room: {names}" if len(rooms) < 4 else f"{len(rooms)} rooms")
        self.room.choices("system", [("", "none"), *session.systems()])
        self.room.show_of(session.display, *rooms)
        _mark(self.room, ROOM, rooms)

    def _show_walls(self, session: Session, runs: list[Run]) -> None:
        title = session.wall(runs[0].id) if len(runs) == 1 else f"{len(runs)} walls"
        self.cards["wall"].title.configure(text=title)
        self.wall.choices("room", [*session.rooms(), ("+", "a new room")])
        self.wall.choices("system", [("", "the room's"), *session.systems()])
        self.wall.show_of(session.display, *runs)
        _mark(self.wall, WALL, runs)
        for key in ("start", "end"):
            show_if(self.wall[key], not all(run.closed for run in runs))

    def _show_opening(self, opening: Opening, show: Display) -> None:
        self.cards["opening"].title.configure(text=f"Opening: {opening.kind} {opening.mark}".rstrip())
        self.opening.show_of(show, opening)
        _mark(self.opening, OPENING, [opening])
        self.opening.show(**{COAT + edge: edge in opening.coated for edge in EDGES})


def _mark(form: Form, rows: Sequence[Row], values: Sequence[HasBasis]) -> None:
    """Put a question mark behind the names of fields whose values nobody gave: they are open points."""
    for row in rows:
        bases = (basis_of(value, row.of or row.key) for value in values)
        is_open = any(basis is not None and basis.is_open for basis in bases)
        text, field = f"{row.label}{' ?' * is_open}", form[row.key]
        if row.kind is not None and not row.is_tick and field.label.cget("text") != text:
            field.label.configure(text=text, text_color=THEME.warn if is_open else THEME.quiet)


def _advice(session: Session | None) -> str:
    if session is None:
        return ""
    if session.selection == Selection() and session.job.runs:
        return "Nothing is selected.\n\nClick a wall, a door or a window on the plan, or a line in the tables below."
    first = "1. Set the scale (S)." if session.scale is None else "1. The scale is set."
    steps = f"{first}\n2. Trace a room by one click (G), walls (T) or a rectangle (B).\n3. Place doors and windows (D)."
    return f"Nothing is traced yet.\n\n{steps}"
