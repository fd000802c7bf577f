"""Parts of the window that are no fields: what it does later, buttons, cards, tooltips, drawings."""

from __future__ import annotations

import tkinter
from collections.abc import Callable, Sequence
from tkinter import font as tkfont
from typing import Any, TypeVar

from takeoff.gui.widgets.toolkit import THEME, Pair, colour, ctk, family, text_size


class Later:
    """One piece of work that a widget's event loop does in its time, once; it may have itself done again."""

    def __init__(self, widget: tkinter.Misc, work: Callable[[], object]) -> None:
        self._widget, self._work = widget, work
        self._job = ""

    @property
    def is_waiting(self) -> bool:
        """Whether it will be done."""
        return bool(self._job)

    def begin(self, ms: int = 0) -> None:
        """Have it done after so many milliseconds, or as soon as nothing else is to be done; once where it waits."""
        if not self._job:
            self._job = self._widget.after(ms, self._do) if ms else self._widget.after_idle(self._do)

    def begin_anew(self, ms: int) -> None:
        """Have it done so many milliseconds from now, and not before."""
        self.stop()
        self.begin(ms)

    def stop(self) -> None:
        """Have it done no more."""
        if self._job:
            self._widget.after_cancel(self._job)
            self._job = ""

    def _do(self) -> None:
        self._job = ""
        self._work()


Part = TypeVar("Part", bound=tkinter.Widget)


def reachable(
    widget: ctk.CTkBaseClass, act: Callable[[], object], keys: Sequence[str] = ("space", "Return"), **shown: Any
) -> None:
    """Let Tab reach a widget of the toolkit, and keys use it; how it is ``shown`` while it has them tells that."""
    inner: tkinter.Canvas = widget._canvas
    rest: dict[str, Any] = {}

    def take(_event: object) -> None:
        rest.update({name: widget.cget(name) for name in shown})
        widget.configure(**shown)

    inner.bind("<FocusIn>", take, add="+")
    inner.bind("<FocusOut>", lambda _e: widget.configure(**rest), add="+")
    inner.configure(takefocus=1)

    def use(_event: object) -> str:
        act()
        return "break"

    for key in keys:
        inner.bind(f"<KeyPress-{key}>", use, add="+")


class Tooltip:
    """A sentence shown when the pointer rests on a widget; one that changes is a function."""

    DELAY = 500

    def __init__(self, widget: tkinter.Misc, text: str | Callable[[], str]) -> None:
        self.widget, self.text = widget, text
        self._later = Later(widget, self._show)
        self._window: tkinter.Toplevel | None = None
        widget.bind("<Enter>", self._arm, add="+")
        widget.bind("<Leave>", self._hide, add="+")
        for press in ("<Button>", "<Button-1>"):
            widget.bind(press, self._hide, add="+")
        widget.bind("<Destroy>", self._hide, add="+")

    def _arm(self, _event: object) -> None:
        self._hide()
        self._later.begin(self.DELAY)

    def _show(self) -> None:
        text = self.text if isinstance(self.text, str) else self.text()
        if not text:
            return
        x = self.widget.winfo_rootx() + 8
        y = self.widget.winfo_rooty() + self.widget.winfo_height() + 4
        self._window = tkinter.Toplevel(self.widget)
        self._window.wm_overrideredirect(True)
        look: dict[str, Any] = {"background": "#14201F", "foreground": "#FFFFFF", "justify": "left"}
        tkinter.Label(self._window, text=text, padx=8, pady=4, wraplength=320, **look).pack()
        self._window.update_idletasks()
        right = self.widget.winfo_screenwidth() - self._window.winfo_reqwidth() - 4
        self._window.wm_geometry(f"+{min(x, max(right, 0))}+{y}")

    def _hide(self, _event: object = None) -> None:
        self._later.stop()
        if self._window is not None:
            self._window.destroy()
            self._window = None


class Card(ctk.CTkFrame):
    """A titled group of fields."""

    def __init__(self, parent: tkinter.Misc, title: str) -> None:
        super().__init__(parent, fg_color=THEME.card, border_color=THEME.line, border_width=1, corner_radius=6)
        self.grid_columnconfigure(0, weight=1)
        self.title = label(self, title, font=bold())
        self.title.grid(row=0, column=0, sticky="ew", padx=10, pady=(4, 0))
        self._next = 1

    def add(self, widget: Part) -> Part:
        """Put a widget under the last one, and return it."""
        widget.grid(row=self._next, column=0, sticky="ew", padx=10, pady=2)
        self._next += 1
        return widget

    def end(self) -> None:
        """Leave a little space at the bottom."""
        self.grid_rowconfigure(self._next, minsize=6)

    def stand(self) -> None:
        """End it, and put it under the card before it."""
        self.end()
        self.pack(fill="x", padx=6, pady=4)


class ReadText(ctk.CTkTextbox):
    """A text to be read, over several lines."""

    def __init__(self, parent: tkinter.Misc, text: str = "", **given: Any) -> None:
        super().__init__(parent, **given)
        self.say(text)

    def say(self, text: str) -> None:
        """Show another text; the same one stays where it is scrolled to."""
        if self.get("1.0", "end-1c") != text:
            self.configure(state="normal")
            self.delete("1.0", "end")
            self.insert("1.0", text)
        self.configure(state="disabled")


def show_if(widget: tkinter.Widget, is_shown: bool) -> None:
    """Show a widget at its place in a grid, or leave its place to others until it is shown again."""
    if is_shown:
        widget.grid()
    else:
        widget.grid_remove()


def bold(size: int = 13) -> ctk.CTkFont:
    """The window's bold face."""
    return ctk.CTkFont(size=size, weight="bold")


def label(
    parent: tkinter.Misc, text: str = "", *, colour: Pair = THEME.text, wrap: int = 0, anchor: str = "w", **more: Any
) -> ctk.CTkLabel:
    """A text whose lines begin at the left; ``wrap`` is where they are broken, in pixels at 100 %."""
    return ctk.CTkLabel(parent, text=text, text_color=colour, wraplength=wrap, anchor=anchor, justify="left", **more)


def clear(parent: tkinter.Misc, **more: Any) -> ctk.CTkFrame:
    """A frame of the colour of what it stands on."""
    return ctk.CTkFrame(parent, fg_color="transparent", **more)


class Button(ctk.CTkButton):
    """A button whose text stays legible under the pointer whatever it is filled with, and that keys reach."""

    def __init__(self, parent: tkinter.Misc, *, is_main: bool, **given: Any) -> None:
        super().__init__(
            parent,
            height=28,
            corner_radius=5,
            fg_color=THEME.accent if is_main else "transparent",
            text_color=THEME.accent_text if is_main else THEME.text,
            border_width=0 if is_main else 1,
            border_color=THEME.line,
            hover_color=THEME.accent if is_main else THEME.chosen,
            **given,
        )
        reachable(self, self.invoke, border_width=2, border_color=THEME.text)
        self.bind("<Button-1>", self._pressed)

    def configure(self, require_redraw: bool = False, **given: Any) -> None:
        """Change how it looks; a filled one keeps its ground under the pointer."""
        if "fg_color" in given:
            given.setdefault("hover_color", THEME.accent if given["fg_color"] == THEME.accent else THEME.chosen)
        super().configure(require_redraw, **given)

    def _pressed(self, _event: object) -> str:
        """Take the keys from the field that has them; on the desk they go to the plan."""
        top = self.winfo_toplevel()
        if isinstance(top, tkinter.Toplevel):
            self._canvas.focus_set()
        else:
            top.event_generate("<<FieldTaken>>")
        return "break"


def button(
    parent: tkinter.Misc,
    text: str,
    command: Callable[[], object],
    *,
    hint: str = "",
    is_main: bool = False,
    width: int = 0,
    side: str = "",
    padx: int | tuple[int, int] = 0,
) -> ctk.CTkButton:
    """A button; the main one of its place is filled. With a ``side`` it is packed there, ``padx`` pixels beside it."""
    made = Button(parent, is_main=is_main, text=text, command=command, width=width or max(len(text) * 8 + 18, 30))
    if hint:
        Tooltip(made, hint)
    if side:
        made.pack(side=side, padx=padx)
    return made


def light(made: ctk.CTkButton, *, is_on: bool) -> None:
    """Fill a button that stands for what is shown now, or leave it bare."""
    made.configure(
        fg_color=THEME.accent if is_on else "transparent", text_color=THEME.accent_text if is_on else THEME.text
    )


def fitted(text: str, wide: float, width_of: Callable[[str], float] | None = None) -> str:
    """Return a text, or as much of its beginning as fits a width in pixels, with an ellipsis behind it.

    Without ``width_of`` it is measured in the toolkit's letters, at 100 %.
    """
    measure = width_of or ctk.CTkFont().measure
    if measure(text) <= wide:
        return text
    least, most = 0, len(text)  # the width grows with the letters
    while least < most:
        middle = (least + most + 1) // 2
        least, most = (middle, most) if measure(f"{text[:middle].rstrip()}…") <= wide else (least, middle - 1)
    return f"{text[:least].rstrip()}…"


Face = tuple[str, int] | tuple[str, int, str]


class Drawing(tkinter.Canvas):
    """A canvas that is drawn anew with its size and its look: it is emptied, and ``draw`` draws what there is."""

    def __init__(self, parent: tkinter.Misc, draw: Callable[[], None]) -> None:
        super().__init__(parent, highlightthickness=0, height=40)
        self._draw = draw
        self.bind("<Configure>", lambda _e: self.renew())

    def renew(self) -> None:
        """Draw anew."""
        self.delete("all")
        self.configure(background=colour("card"))
        self._draw()

    def px(self, at_100: float) -> int:
        """Pixels at the size of text of so many at 100 %."""
        return round(at_100 * text_size())

    def face(self, height: int, *, is_bold: bool = False) -> Face:
        """Return the window's face so many pixels high at 100 %."""
        plain = (family(), -self.px(height))
        return (*plain, "bold") if is_bold else plain

    def width_of(self, text: str, letters: Face) -> int:
        """Width of a text in pixels."""
        return tkfont.Font(self, font=letters).measure(text)

    def fitted(self, text: str, letters: Face, wide: float) -> str:
        """Return a text, or as much of its beginning as fits a width in pixels."""
        return fitted(text, wide, lambda part: self.width_of(part, letters))
