"""How the plan and what stands round it share the window: what gives way by itself, and what a person folded."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from takeoff.gui.host import Part
from takeoff.gui.preferences import Sizes

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
BARS, TINY_BARS = 144.0, 210.0
"""Height of the tools, the prompt, the names of the pages and the last line; a tiny window has more rows of them."""
TABLE_SMALL, LOW = 130.0, 600.0
"""Height of the tables in a window lower than so much."""
SHEETS, SIDE, TABLE = (110, 142, 340), (220, 284, 520), (90, 194, 700)
"""Least, usual and greatest width or height of what stands round the plan, in pixels at 100 %."""


USUAL = Sizes(sheets=SHEETS[1], side=SIDE[1], table=TABLE[1])


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """What is shown round the plan, and how high the tables are, in pixels at 100 %; 0 where they are folded."""

    is_narrow: bool
    is_tiny: bool
    shows_sheets: bool
    shows_side: bool
    table: int


def layout_of(
    width: float, height: float, *, wishes: Mapping[Part, bool], is_wanted: bool, is_tall: bool, sizes: Sizes
) -> Layout:
    """Share a window of so many pixels at 100 % text.

    Parameters
    ----------
    width, height
        Of the window.
    wishes
        What a person folded (false) or unfolded (true); what is not in it gives way by itself.
    is_wanted
        Whether the panel has something to show: a selection, or what the tool needs.
    is_tall
        Whether the tables are to have most of the height.
    sizes
        Sizes as dragged.

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
    return Sizes(
        sheets=within(sizes.sheets or SHEETS[1], SHEETS),
        side=within(sizes.side or SIDE[1], SIDE),
        table=within(sizes.table or TABLE[1], TABLE),
    )


def within(value: float, bounds: tuple[int, int, int]) -> int:
    """Return a size between the least and the greatest of its bounds."""
    return round(min(max(value, bounds[0]), bounds[2]))
