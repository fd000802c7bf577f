"""Fields of the window: a label with an entry, a choice or a tick, that take effect on Enter or when left."""

from __future__ import annotations

import tkinter
from collections.abc import Callable, Sequence
from tkinter import font

from takeoff.errors import TakeoffError
from takeoff.gui.widgets.parts import Tooltip, reachable
from takeoff.gui.widgets.toolkit import THEME, ctk
from takeoff.gui.wording import words_of

LABEL_WIDTH = 92
ONE_LINE, LINE, MOST_LINES = 26, 18, 3
"""Heights of a field and of each further line in it, in pixels at 100 %, and the most lines."""
FILLED = 0.8
"""Part of a line that is filled where it is broken between words (judgement)."""
YES = "yes"
"""What a tick that is set comes to; one that is not is empty."""


class Field(ctk.CTkFrame):
    """A labelled row in a card."""

    def __init__(self, parent: tkinter.Misc, label: str, hint: str | Callable[[], str] = "") -> None:
        super().__init__(parent, fg_color="transparent")
        self.grid_columnconfigure(1, weight=1)
        self.label = ctk.CTkLabel(self, text=label, width=LABEL_WIDTH, anchor="w", text_color=THEME.quiet)
        self.label.grid(row=0, column=0, sticky="w")
        if hint:
            Tooltip(self.label, hint)

    def stack(self) -> None:
        """Put the label above, so that what is chosen or typed has the whole width."""
        (inner,) = self.grid_slaves(row=0, column=1)
        inner.grid(row=1, column=0, columnspan=2)
        self.label.grid(columnspan=2)


class TextField(Field):
    """A text that is committed on Enter and on leaving; what does not fit is marked and said, never lost.

    ``commit`` raises a `TakeoffError` where the text does not fit; ``refuse`` is called with its sentence.
    """

    def __init__(
        self,
        parent: tkinter.Misc,
        label: str,
        commit: Callable[[str], object],
        refuse: Callable[[str], None],
        *,
        hint: str | Callable[[], str] = "",
    ) -> None:
        super().__init__(parent, label, hint)
        self._commit, self._refuse = commit, refuse
        self._shown = ""
        self._is_wrong = False
        self.entry = ctk.CTkEntry(self, height=ONE_LINE, border_width=1, border_color=THEME.line, fg_color=THEME.ground)
        self.entry.grid(row=0, column=1, sticky="ew")
        for key in ("<Return>", "<KP_Enter>"):
            self.entry.bind(key, self._entered)
        for key in ("<Control-Return>", "<Control-KP_Enter>", "<FocusOut>"):  # a press goes on to the dialog
            self.entry.bind(key, self._left)
        self.entry.bind("<Escape>", self._restore)
        self._hint = hint
        Tooltip(self.entry, self._told)

    @property
    def value(self) -> str:
        """What stands in it, without spaces round it."""
        return str(self.entry.get()).strip()

    @property
    def taken(self) -> str:
        """What was last taken or shown, whatever is being typed."""
        return self._shown.strip()

    def _told(self) -> str:
        """What stands in it, where that is wider than the field, and what it is for."""
        inner, text = self.entry._entry, str(self.entry.get())
        cut = text if _width(inner, text) > inner.winfo_width() else ""
        return "\n".join(t for t in (cut, self._hint if isinstance(self._hint, str) else self._hint()) if t)

    def show(self, text: object) -> None:
        """Show a value, unless the person is typing another one."""
        is_typing = self.entry.get() != self._shown and self.entry.focus_get() is self.entry._entry
        if not is_typing and (text != self._shown or self.entry.get() != text):
            self._put(str(text))

    def _put(self, text: str) -> None:
        self._shown = text
        self.entry.delete(0, "end")
        self.entry.insert(0, text)
        self._mark(is_wrong=False)

    def _mark(self, *, is_wrong: bool) -> None:
        if is_wrong != self._is_wrong:
            self._is_wrong = is_wrong
            self.entry.configure(border_color=THEME.refuse if is_wrong else THEME.line)

    def _entered(self, _event: object) -> str:
        if self._take():
            self.winfo_toplevel().event_generate("<<FieldTaken>>")
        return "break"

    def _left(self, _event: object) -> None:
        self._take()

    def _take(self) -> bool:
        text, before = self.entry.get(), self._shown
        if text == before:
            return True
        self._shown = text  # what is taken may wait, and the field be left meanwhile: it is taken once
        try:
            self._commit(text)
        except TakeoffError as error:
            self._shown = before
            self._mark(is_wrong=True)
            self._refuse(words_of(error))
            self.entry.select_range(0, "end")
            return False
        self._mark(is_wrong=False)
        return True

    def _restore(self, _event: object = None) -> str:
        """Put back what stood here; in a dialog, Escape goes on to it where nothing was typed."""
        was_typed = self.entry.get() != self._shown
        self._put(self._shown)
        top = self.winfo_toplevel()
        top.focus_set()
        return "" if isinstance(top, tkinter.Toplevel) and not was_typed else "break"


class ChoiceField(Field):
    """One of several values."""

    def __init__(
        self,
        parent: tkinter.Misc,
        label: str,
        choices: Sequence[tuple[str, str]],
        commit: Callable[[str], None],
        *,
        hint: str = "",
    ) -> None:
        super().__init__(parent, label, hint)
        self._commit = commit
        self.value = ""
        colours = {"fg_color": THEME.ground, "button_color": THEME.line, "button_hover_color": THEME.quiet}
        size = {"height": ONE_LINE, "dynamic_resizing": False, "text_color": THEME.text}
        self.menu = ctk.CTkOptionMenu(self, values=[""], command=self._chosen, **colours, **size)
        self.menu.grid(row=0, column=1, sticky="ew")
        reachable(self.menu, self.menu._clicked, ("space", "Return", "Down"), fg_color=THEME.chosen)
        self.set_choices(choices)
        self.menu.bind("<Configure>", self._fit)
        Tooltip(self.menu, lambda: "\n".join(t for t in (self.menu.get(), hint) if t))

    @property
    def ids(self) -> list[str]:
        """What can be chosen."""
        return list(self._labels)

    def set_choices(self, choices: Sequence[tuple[str, str]]) -> None:
        """Set the values (id, label) that can be chosen."""
        if dict(choices) == getattr(self, "_labels", None):
            return
        self._ids = {label: id for id, label in choices}
        self._labels = dict(choices)
        self.menu.configure(values=[label for _, label in choices])

    def show(self, id: object) -> None:
        """Show a value; one that is no choice shows as several."""
        self.value = str(id)
        label = self._labels.get(self.value, "—")
        if self.menu.get() != label:
            self.menu.set(label)
            self._fit()

    def _fit(self, _event: object = None) -> None:
        """Give a choice that is wider than the field the lines that it needs."""
        menu, size = self.menu, self.menu._get_widget_scaling()
        wide, pad = menu.winfo_width() / size, 2 * menu.cget("corner_radius")
        needed, lines, height = _width(menu._text_label, menu.get()) / size, 1, ONE_LINE
        while needed > (lines if lines == 1 else FILLED * lines) * (wide - height - pad) and lines < MOST_LINES:
            lines, height = lines + 1, height + LINE
        if height != menu.cget("height"):
            menu.configure(height=height)
            menu._create_grid()
        menu._text_label.configure(wraplength=round((wide - height - pad) * size) if lines > 1 else 0, justify="left")

    def _chosen(self, label: str) -> None:
        """Take a choice; the keys go back to the plan unless Tab has brought them here."""
        has_keys = self.focus_get() is self.menu._canvas
        self.value = self._ids[label]
        self._fit()
        self._commit(self.value)
        if not has_keys and self.winfo_exists() and not isinstance(self.winfo_toplevel(), tkinter.Toplevel):
            self.winfo_toplevel().event_generate("<<FieldTaken>>")


class TickField(ctk.CTkCheckBox):
    """Yes or no."""

    def __init__(self, parent: tkinter.Misc, label: str, commit: Callable[[str], None], *, hint: str = "") -> None:
        box = {"checkbox_width": 18, "checkbox_height": 18, "border_width": 2, "border_color": THEME.quiet}
        colours = {"fg_color": THEME.accent, "text_color": THEME.text}
        super().__init__(parent, text=label, command=lambda: commit(self.value), **box, **colours)
        reachable(self, self.toggle, ("space",), border_width=4)
        if hint:
            Tooltip(self, hint)

    @property
    def value(self) -> str:
        """`YES` where it is set, else nothing."""
        return YES if self.get() else ""

    def show(self, value: object) -> None:
        """Show a value: whether it is one."""
        if bool(self.get()) != bool(value):
            (self.select if value else self.deselect)()


def _width(widget: tkinter.Misc, text: str) -> int:
    return font.Font(root=widget, font=widget.cget("font")).measure(text)
