"""Canvases that figures are drawn on, and texts on them: their face, and what of them fits a width."""

from __future__ import annotations

import tkinter
from collections.abc import Callable
from tkinter import font as tkfont

from takeoff.gui.widgets.toolkit import colour, text_size

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
        plain = ("TkDefaultFont", -self.px(height))
        return (*plain, "bold") if is_bold else plain

    def width_of(self, text: str, letters: Face) -> int:
        """Width of a text in pixels."""
        return tkfont.Font(self, font=letters).measure(text)

    def fitted(self, text: str, letters: Face, wide: float) -> str:
        """Return a text, or as much of its beginning as fits a width in pixels, with an ellipsis behind it."""
        if self.width_of(text, letters) <= wide:
            return text
        kept = len(text)
        while kept and self.width_of(f"{text[:kept].rstrip()}…", letters) > wide:
            kept -= 1
        return f"{text[:kept].rstrip()}…"
