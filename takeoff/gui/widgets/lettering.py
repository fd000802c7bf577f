"""Text on canvases: its face at a size of text, and what of it fits a width."""

from __future__ import annotations

import tkinter
from tkinter import font as tkfont

Face = tuple[str, int] | tuple[str, int, str]


def face(height: int, text_size: float, *, is_bold: bool = False) -> Face:
    """Return the window's face so many pixels high at 100 %, at a size of text."""
    plain = ("TkDefaultFont", -round(height * text_size))
    return (*plain, "bold") if is_bold else plain


def width_of(widget: tkinter.Misc, text: str, letters: Face) -> int:
    """Width of a text in pixels."""
    return tkfont.Font(widget, font=letters).measure(text)


def fitted(widget: tkinter.Misc, text: str, letters: Face, wide: float) -> str:
    """Return a text, or as much of its beginning as fits a width in pixels, with an ellipsis behind it."""
    measure = tkfont.Font(widget, font=letters).measure
    if measure(text) <= wide:
        return text
    kept = len(text)
    while kept and measure(f"{text[:kept].rstrip()}…") > wide:
        kept -= 1
    return f"{text[:kept].rstrip()}…"
