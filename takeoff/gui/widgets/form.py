"""Fields made of the rows of a table, so that dialogs and panels are data."""

from __future__ import annotations

import tkinter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from tkinter import filedialog
from typing import Any, Literal

from takeoff.errors import TakeoffError
from takeoff.gui.entries import Kind
from takeoff.gui.widgets.fields import ChoiceField, TextField, TickField
from takeoff.gui.widgets.parts import button
from takeoff.gui.wording import words_of
from takeoff.units import Display

Field = TextField | ChoiceField | TickField
Choices = Sequence[tuple[str, str]]
MIXED = "(differ)"
"""What a field shows of values that differ."""


@dataclass(frozen=True, slots=True)
class Row:
    """One field: its key, its label, what it is for, and what can be chosen where it is no text.

    ``kind`` makes it the field of a value's attribute: the one that ``of`` names, else that of the key.
    ``is_wide`` puts the label above, for what is long.
    ``finds`` gives a text a button that finds a file to read, a file to write or a folder; ``types`` are its kinds.
    """

    key: str
    label: str
    hint: str = ""
    choices: Choices | None = None
    kind: Kind | None = None
    of: str = ""
    is_tick: bool = False
    is_wide: bool = False
    finds: Literal["", "file", "save", "folder"] = ""
    types: Sequence[tuple[str, str]] = (("All files", "*"),)


class Form:
    """Fields by key, one under the other.

    ``commit`` is called with the key and the text of a field that was changed; it may raise a `TakeoffError`, and
    ``refuse`` is called with its sentence. ``add`` puts a field under the last one.
    """

    def __init__(
        self,
        parent: tkinter.Misc,
        rows: Sequence[Row],
        refuse: Callable[[str], None],
        *,
        commit: Callable[[str, str], None] = lambda _key, _text: None,
        add: Callable[[Field], object] = lambda field: field.pack(fill="x", pady=2),
    ) -> None:
        self._fields: dict[str, Field] = {}
        self._rows = {row.key: row for row in rows}
        for row in rows:
            done = partial(commit, row.key)
            chosen = partial(_guarded, done, refuse)
            made: Field
            if row.is_tick:
                made = TickField(parent, row.label, chosen, hint=row.hint)
            elif row.choices is not None:
                made = ChoiceField(parent, row.label, row.choices, chosen, hint=row.hint)
            else:
                made = TextField(parent, row.label, done, refuse, hint=row.hint)
                if row.finds:
                    find = button(made, "…", partial(self._find, row, chosen), hint="Choose it.", width=30)
                    find.grid(row=0, column=2, padx=(4, 0))
            if row.is_wide and not isinstance(made, TickField):
                made.stack()
            assert row.key not in self._fields, row.key
            self._fields[row.key] = made
            add(made)

    def __getitem__(self, key: str) -> Field:
        """Return a field."""
        return self._fields[key]

    def text(self, key: str) -> str:
        """Return what a field holds: its text, the id of what is chosen, or `YES` for a tick."""
        return self._fields[key].value

    def choices(self, key: str, choices: Choices) -> None:
        """Set what can be chosen."""
        field = self._fields[key]
        assert isinstance(field, ChoiceField)
        field.set_choices(choices)

    def choose(self, key: str, id: str) -> None:
        """Show a choice, the first one where this cannot be chosen any more."""
        field = self._fields[key]
        assert isinstance(field, ChoiceField)
        field.show(id if id in field.ids else field.ids[0])

    def show(self, **values: str | bool) -> None:
        """Show values by key."""
        for key, value in values.items():
            self._fields[key].show(value)

    def show_of(self, show: Display, *values: object) -> None:
        """Show the attributes of a value, or those that several have in common."""
        for row in self._rows.values():
            if row.kind is not None:
                texts = {row.kind.show(getattr(value, row.of or row.key), show) for value in values}
                self.show(**{row.key: texts.pop() if len(texts) == 1 else MIXED if texts else ""})

    def read(self, show: Display, *keys: str) -> dict[str, Any]:
        """Read the attributes that fields of these keys, or all, hold; what does not fit is refused (`InputError`)."""
        rows = [self._rows[key] for key in keys or self._rows]
        return {row.of or row.key: row.kind.read(self.text(row.key), show, row.label) for row in rows if row.kind}

    def _find(self, row: Row, done: Callable[[str], None]) -> None:
        parent, at = self._fields[row.key], Path(self.text(row.key) or ".")
        near: dict[str, Any] = {"title": row.label, "initialdir": str(at if at.is_dir() else at.parent)}
        if row.finds == "folder":
            found = filedialog.askdirectory(parent=parent, **near)
        elif row.finds == "save":
            found = str(ask_save(parent, row.label, at, row.types) or "")
        else:
            found = filedialog.askopenfilename(parent=parent, filetypes=row.types, **near)
        if found:
            self.show(**{row.key: str(found)})
            done(str(found))


def ask_save(parent: tkinter.Misc, title: str, at: Path, types: Sequence[tuple[str, str]]) -> Path | None:
    """Ask for a file to write, beginning with a place and a name; ``None`` where none is named."""
    name = filedialog.asksaveasfilename(
        parent=parent,
        title=title,
        initialdir=at.parent,
        initialfile=at.name,
        defaultextension=types[0][1].split()[0].removeprefix("*"),
        filetypes=types,
    )
    return Path(name) if name else None


def pack_labelled(field: Field, wide: int) -> None:
    """Put a field close under the last one, with a label so many pixels wide at 100 %."""
    if not isinstance(field, TickField):
        field.label.configure(width=wide)
    field.pack(fill="x", pady=1)


def _guarded(commit: Callable[[str], None], refuse: Callable[[str], None], text: str) -> None:
    try:
        commit(text)
    except TakeoffError as error:
        refuse(words_of(error))
