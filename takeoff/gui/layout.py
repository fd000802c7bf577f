"""Where the window stands on the screen, and how the plan and what stands round it share it."""

from __future__ import annotations

import contextlib
import tkinter
from collections.abc import Mapping
from dataclasses import dataclass

from takeoff.gui.host import Part
from takeoff.gui.preferences import Place, Sizes

NARROW, TINY = 1230.0, 900.0
"""Widths in pixels at 100 % text below which the job's name leaves the bar, and the sheets leave the plan's side."""
FEW_SHEETS = 1100.0
"""Width below which the sheets are folded until they are wanted."""
HIGH = 940.0
"""Height from which the tables are open until they are folded: below it the plan would be less than half of it."""
WIDE = 1700.0
"""Width from which the panel stays beside the plan when nothing is selected."""
TABLE_MOST = 0.6
"""Part of the window's height that the tables may take."""
TALL = 0.8
"""Part that tall tables take of the height that they and the plan share."""
BARS, TINY_BARS = 160.0, 172.0
"""Height of the tools, the prompt, the names of the pages and the last line; a tiny window has more rows of them."""
TABLE_SMALL, LOW = 130.0, 600.0
"""Height of the tables in a window lower than so much."""
BOUNDS = {"sheets": (110, 142, 340), "side": (220, 284, 520), "table": (90, 194, 700)}
"""Least, usual and greatest width or height of what stands round the plan, in pixels at 100 %."""
SIZES: dict[Part, str] = {"sheets": "sheets", "side": "side", "figures": "table"}
"""Which of them is the size of a part."""
USUAL = Sizes(**{name: usual for name, (_, usual, _) in BOUNDS.items()})


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """What is shown round the plan, and how high the tables are, in pixels at 100 %; 0 where they are folded."""

    is_narrow: bool
    is_tiny: bool
    shows_sheets: bool
    shows_side: bool
    table: int

    def shows(self, part: Part) -> bool:
        """Tell whether a part is to be seen."""
        return {"sheets": self.shows_sheets, "side": self.shows_side, "figures": self.table > 0}[part]


def layout_of(
    width: float, height: float, *, wishes: Mapping[Part, bool], is_wanted: bool, is_tall: bool, sizes: Sizes
) -> Layout:
    """Share a window of so many pixels at 100 % text.

    ``wishes`` are what a person folded (false) or unfolded (true); what is not in it gives way by itself. The panel
    ``is_wanted`` where it has something to show: a selection, or what the tool needs. Tables that are ``is_tall`` take
    most of the height; ``sizes`` are those that were dragged.

    Examples
    --------
    >>> bare = layout_of(1366, 700, wishes={}, is_wanted=False, is_tall=False, sizes=USUAL)
    >>> (bare.shows_sheets, bare.shows_side, bare.table)
    (True, False, 0)
    """
    is_tiny = width < TINY
    shows_table = wishes.get("figures", height >= HIGH)
    table = min(TABLE_SMALL if height < LOW else sizes.table, TABLE_MOST * height)
    if is_tall:
        table = max(TALL * (height - (TINY_BARS if is_tiny else BARS)), 0.0)
    return Layout(
        is_narrow=width < NARROW,
        is_tiny=is_tiny,
        shows_sheets=wishes.get("sheets", width >= FEW_SHEETS),
        shows_side=wishes.get("side", (is_wanted and not is_tiny) or width >= WIDE),
        table=round(table) if shows_table else 0,
    )


def sizes_within(sizes: Sizes) -> Sizes:
    """Return sizes that are neither too small nor too large; what is 0 is the usual one."""
    bounds = BOUNDS.items()
    return Sizes(
        **{name: min(max(getattr(sizes, name) or usual, least), most) for name, (least, usual, most) in bounds}
    )


SMALL_SCREEN = (1600, 1000)
"""Screens up to this size are filled by the window."""
MENU = 32
"""Pixels at 100 % that the menu takes of the screen's height."""
SCREEN_BARS = 62
"""Pixels kept free for a title bar and a task bar where nothing tells their size (measured on common desktops)."""
USUAL_SCREEN = (1440, 900)
"""Size of the window on larger screens."""


def usual_place(width: int, height: int, menu: int) -> Place:
    """Return where the window first stands on a screen of so many pixels; ``menu`` is the height of its menu.

    Examples
    --------
    >>> usual_place(1366, 768, 32).height + 32 + 62 <= 768
    True
    """
    room = height - menu - SCREEN_BARS
    is_small = width <= SMALL_SCREEN[0] or height <= SMALL_SCREEN[1]
    return Place(width=min(USUAL_SCREEN[0], width), height=min(USUAL_SCREEN[1], room), is_whole=is_small)


def on_screen(place: Place, width: int, height: int, menu: int) -> Place:
    """Return a place that is whole on a screen: a window that stood on a screen no longer there is moved onto this one.

    Examples
    --------
    >>> on_screen(Place(left=3000, top=40, width=1200, height=800), 1366, 768, 32).left
    166
    """
    wide, high = min(place.width, width), min(place.height, height - menu - SCREEN_BARS)
    return Place(
        left=min(max(place.left, 0), width - wide),
        top=min(max(place.top, 0), max(height - menu - SCREEN_BARS - high, 0)),
        width=wide,
        height=high,
        is_whole=place.is_whole,
    )


def take_place(window: tkinter.Tk, kept: Place, text_size: float) -> bool:
    """Put the window where it stood; tell whether it is to fill the screen, which whoever manages windows sees to."""
    screen, menu = (window.winfo_screenwidth(), window.winfo_screenheight()), round(MENU * text_size)
    place = on_screen(kept, *screen, menu) if kept.width else usual_place(*screen, menu)
    where = f"+{place.left}+{place.top}" if place.left or place.top else ""
    window.geometry(f"{place.width}x{place.height}{where}")
    if place.is_whole:
        fill_screen(window)
    return place.is_whole


def fill_screen(window: tkinter.Tk) -> None:
    """Have whoever manages windows fill the screen with it."""
    try:
        window.state("zoomed")
    except tkinter.TclError:
        with contextlib.suppress(tkinter.TclError):
            window.attributes("-zoomed", True)


def keep_on_screen(window: tkinter.Tk, text_size: float) -> None:
    """Make the window lower where its menu, which grows with the text, has pushed its foot off the screen."""
    room = int(window.winfo_screenheight() - MENU * text_size - SCREEN_BARS)
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


def hide_dot_files(window: tkinter.Tk) -> None:
    """Have dialogs that ask for a file leave out those whose names begin with a dot, where they are Tk's own."""
    with contextlib.suppress(tkinter.TclError):
        window.tk.call("tk_getOpenFile", "-none")  # has Tk take its dialogs in
    for name, value in (("showHiddenBtn", 1), ("showHiddenVar", 0)):
        window.tk.call("namespace", "eval", "::tk::dialog::file", f"variable {name} {value}")
