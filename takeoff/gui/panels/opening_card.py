"""The selected opening in fields: its kind, size, place, count and coated reveals. Every change is one edit."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from takeoff.gui.entries import read_count, read_length
from takeoff.gui.session import Session
from takeoff.gui.widgets.fields import Card, ChoiceField, TextField, TickField
from takeoff.gui.widgets.theme import THEME
from takeoff.gui.widgets.toolkit import ctk
from takeoff.model.walls import Edge, Opening

EDGES: tuple[Edge, ...] = ("jamb", "head", "sill")
KINDS = ("door", "window", "pass-through", "louvre", "equipment")
LENGTHS = (
    ("width", "Width", "Clear width."),
    ("height", "Height", "From its sill to its head."),
    ("sill", "Sill", "Height of its lower edge above the floor; 0 for a door."),
    ("at", "Centre at", "From the wall's first point to the middle of the opening."),
    ("reveal", "Reveal", "Depth of its reveal."),
)
"""Fields that hold lengths: name, label, hint."""


class OpeningCard(Card):
    """Fields of one opening.

    Parameters
    ----------
    refuse
        Called with what does not fit.
    """

    def __init__(self, parent: tkinter.Misc, refuse: Callable[[str], None]) -> None:
        super().__init__(parent, "Opening")
        self._refuse = refuse
        self._session: Session | None = None
        self.kind = ChoiceField(self, "Kind", [(k, k) for k in KINDS], lambda v: self._put("kind", kind=v))
        self.add(self.kind)
        self.mark = self._text("Mark", lambda t: self._put("mark", mark=t.strip()))
        self.lengths = {name: self._text(label, self._commit(name), hint) for name, label, hint in LENGTHS}
        self.count = self._text(
            "Count",
            lambda t: self._put("count", count=read_count(t)),
            "How many equal ones stand in a row along the wall.",
        )
        self.coated: dict[Edge, TickField] = {}
        row = ctk.CTkFrame(self, fg_color="transparent")
        ctk.CTkLabel(row, text="Coated", width=84, anchor="w", text_color=THEME.quiet).pack(side="left")
        for edge in EDGES:
            tick = TickField(row, edge, self._tick(edge), hint=f"Coat the {edge} of its reveal.")
            tick.configure(width=56)
            tick.pack(side="left")
            self.coated[edge] = tick
        self.add(row)
        self.end()

    def _text(self, label: str, commit: Callable[[str], None], hint: str = "") -> TextField:
        field = TextField(self, label, commit, self._refuse, hint=hint)
        self.add(field)
        return field

    def _commit(self, name: str) -> Callable[[str], None]:
        def commit(text: str) -> None:
            if self._session is not None:
                self._put(name, **{name: read_length(text, self._session.display)})

        return commit

    def _tick(self, edge: Edge) -> Callable[[bool], None]:
        def commit(value: bool) -> None:
            opening = self._opening()
            if opening is None:
                return
            kept = tuple(e for e in EDGES if (e in opening.coated or e == edge) and (e != edge or value))
            self._put("coated reveals", coated=kept)

        return commit

    def _opening(self) -> Opening | None:
        session = self._session
        chosen = session.selection.opening if session is not None else None
        return session.job.runs[chosen[0]].openings[chosen[1]] if session is not None and chosen else None

    def _put(self, what: str, **fields: Any) -> None:
        session, opening = self._session, self._opening()
        if session is None or opening is None or session.selection.opening is None:
            return
        id, index = session.selection.opening
        run = session.job.runs[id]
        after = replace(opening, **fields)
        openings = (*run.openings[:index], after, *run.openings[index + 1 :])
        if session.put_runs([replace(run, openings=openings)], f"Set the {what} of a {opening.kind} on {run.id}"):
            session.defaults = replace(session.defaults, opening=replace(after, at=0.0, mark=""))

    def show(self, session: Session) -> None:
        """Show the opening that is selected in a session."""
        self._session = session
        opening = self._opening()
        if opening is None:
            return
        show = session.display
        self.title.configure(text=f"Opening: {opening.kind} {opening.mark}".rstrip())
        self.kind.show(opening.kind)
        self.mark.show(opening.mark)
        for name, field in self.lengths.items():
            field.show(show.length(getattr(opening, name)))
        self.count.show(str(opening.count))
        for edge, tick in self.coated.items():
            tick.show(edge in opening.coated)
