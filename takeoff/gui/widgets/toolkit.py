"""The toolkit of the window, brought in without disturbing windows that are already open.

Where it is imported, customtkinter copies its fonts into the person's font folder, each time over the files that are
there. A window of another process has those very files mapped into memory: cut short under its hands, even for a
moment, they end it with a bus error. Here a font that is already the same is left alone, and a new one is put in place
whole. Every module of the window takes the toolkit from here.
"""

from __future__ import annotations

import filecmp
import os
import shutil
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

Pair = tuple[str, str]
"""A colour in light and in dark."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Theme:
    """Colours by what they are for; each in light and in dark."""

    ground: Pair = ("#EEF1F2", "#1B2226")
    card: Pair = ("#FFFFFF", "#252E33")
    line: Pair = ("#C3CCD0", "#3D4A50")
    text: Pair = ("#14201F", "#EAF0F0")
    quiet: Pair = ("#4A5A5C", "#A9B8BA")
    accent: Pair = ("#005A87", "#7CC4EC")
    accent_text: Pair = ("#FFFFFF", "#0C1A22")
    disabled: Pair = ("#8A979A", "#75868A")
    chosen: Pair = ("#CFE4F0", "#20465A")
    good: Pair = ("#00614A", "#5FD3AE")
    warn: Pair = ("#8A3E00", "#FFB27A")
    refuse: Pair = ("#A1203A", "#FF9AA8")
    desk: Pair = ("#C9D1D3", "#12181B")
    coated: Pair = ("#CFE4F0", "#2E5468")

    def of(self, name: str, is_dark: bool) -> str:
        """Return one colour."""
        pair: Pair = getattr(self, name)
        return pair[1] if is_dark else pair[0]


THEME = Theme()


def keep_font(source: str, folder: str) -> None:
    """Put a font into a folder, in one step, unless the same is there already; an `OSError` where that cannot be."""
    target = Path(folder) / Path(source).name
    if target.exists() and filecmp.cmp(source, target, shallow=False):
        return
    handle, half = tempfile.mkstemp(dir=folder, prefix=f".{target.name}.")
    os.close(handle)
    try:
        shutil.copyfile(source, half)
        shutil.copymode(source, half)
        Path(half).replace(target)
    except OSError:
        Path(half).unlink()
        raise


_copy = shutil.copy
shutil.copy = keep_font  # type: ignore[assignment]
try:
    import customtkinter as ctk
finally:
    shutil.copy = _copy


def text_size() -> float:
    """Size of the window's text; 1 is 100 %."""
    return float(ctk.ScalingTracker.widget_scaling)


def family() -> str:
    """Family of the window's letters: what is no widget of the toolkit has the same."""
    return str(ctk.CTkFont().actual("family"))


def colour(name: str) -> str:
    """One colour of the theme, as the window is light or dark, for what is no widget of the toolkit."""
    return THEME.of(name, ctk.get_appearance_mode() == "Dark")


_set, _draw = ctk.CTkScrollbar.set, ctk.CTkScrollbar._draw


def _set_where_it_moves(bar: ctk.CTkScrollbar, start: float, end: float) -> None:
    """Draw a scroll bar anew only where it moves: each drawing lays out the whole window, and most move none."""
    if bar.get() != (float(start), float(end)):
        _set(bar, start, end)


def _draw_where_it_can_move(bar: ctk.CTkScrollbar, *given: bool, **named: bool) -> None:
    """Draw a scroll bar only where there is something to scroll; its place is kept, so that nothing else moves."""
    _draw(bar, *given, **named)
    bar._canvas.itemconfigure("scrollbar_parts", state="hidden" if bar.get() == (0.0, 1.0) else "normal")


ctk.CTkScrollbar.set, ctk.CTkScrollbar._draw = _set_where_it_moves, _draw_where_it_can_move


_holds = ctk.CTkScrollableFrame._check_if_valid_scroll
# a wheel turned over a dialog or menu of Tk's own comes with a name in place of a widget
ctk.CTkScrollableFrame._check_if_valid_scroll = lambda frame, widget: (
    not isinstance(widget, str) and _holds(frame, widget)
)


class Bound:
    """What the toolkit binds for the whole program once more for each dialog, bound for its window alone.

    Bindings of the whole program outlive a dialog and keep it, with all that is in it, in older versions of Python.
    """

    winfo_toplevel: Callable[[], Any]

    def bind_all(self, sequence: Any = None, func: Any = None, add: Any = None) -> Any:
        """Bind to its window in place of the whole program."""
        return self.winfo_toplevel().bind(sequence, func, add)


class Toplevel(Bound, ctk.CTkToplevel):
    """A window of its own that is let go of once it is closed: the toolkit keeps each one, with all that is in it."""

    def destroy(self) -> None:
        """Close it."""
        super().destroy()
        ctk.ScalingTracker.window_dpi_scaling_dict.pop(self, None)


class ScrolledFrame(Bound, ctk.CTkScrollableFrame):
    """A frame that scrolls and is gone with its window."""


__all__ = ["ScrolledFrame", "Toplevel", "colour", "ctk", "family", "keep_font", "text_size"]
