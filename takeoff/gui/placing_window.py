"""Where the window stands: where it was, else as large as the screen lets it, whole on the screen in any case."""

from __future__ import annotations

import contextlib
import tkinter

from takeoff.gui.preferences import Place

SMALL_SCREEN = (1600, 1000)
"""Screens up to this size are filled by the window."""
MENU = 32
"""Pixels at 100 % that the menu takes of the screen's height."""
BARS = 62
"""Pixels kept free for a title bar and a task bar where nothing tells their size (measured on common desktops)."""
USUAL = (1440, 900)
"""Size of the window on larger screens."""


def usual_place(width: int, height: int, menu: int) -> Place:
    """Return where the window first stands on a screen of so many pixels; ``menu`` is the height of its menu.

    Examples
    --------
    >>> usual_place(1366, 768, 32).height + 32 + 62 <= 768
    True
    """
    room = height - menu - BARS
    is_small = width <= SMALL_SCREEN[0] or height <= SMALL_SCREEN[1]
    return Place(width=min(USUAL[0], width), height=min(USUAL[1], room), is_whole=is_small)


def on_screen(place: Place, width: int, height: int, menu: int) -> Place:
    """Return a place that is whole on a screen: a window that stood on a screen no longer there is moved onto this one.

    Examples
    --------
    >>> on_screen(Place(left=3000, top=40, width=1200, height=800), 1366, 768, 32).left
    166
    """
    wide, high = min(place.width, width), min(place.height, height - menu - BARS)
    return Place(
        left=min(max(place.left, 0), width - wide),
        top=min(max(place.top, 0), max(height - menu - BARS - high, 0)),
        width=wide,
        height=high,
        is_whole=place.is_whole,
    )


def take_place(window: tkinter.Tk, kept: Place, text_size: float) -> None:
    """Put the window where it stood; one that is to fill the screen is filled in by whoever manages windows."""
    screen, menu = (window.winfo_screenwidth(), window.winfo_screenheight()), round(MENU * text_size)
    place = on_screen(kept, *screen, menu) if kept.width else usual_place(*screen, menu)
    where = f"+{place.left}+{place.top}" if place.left or place.top else ""
    window.geometry(f"{place.width}x{place.height}{where}")
    if place.is_whole:
        try:
            window.state("zoomed")
        except tkinter.TclError:
            with contextlib.suppress(tkinter.TclError):
                window.attributes("-zoomed", True)


def keep_on_screen(window: tkinter.Tk, text_size: float) -> None:
    """Make the window lower where its menu, which grows with the text, has pushed its foot off the screen."""
    room = int(window.winfo_screenheight() - MENU * text_size - BARS)
    if window.winfo_height() > room and not place_of(window).is_whole:
        window.geometry(f"{window.winfo_width()}x{room}")


def place_of(window: tkinter.Tk) -> Place:
    """Return where the window stands now."""
    is_whole = window.state() == "zoomed"
    with contextlib.suppress(tkinter.TclError):
        is_whole = is_whole or bool(int(window.attributes("-zoomed")))
    return Place(
        left=window.winfo_x(),
        top=window.winfo_y(),
        width=window.winfo_width(),
        height=window.winfo_height(),
        is_whole=is_whole,
    )
