"""Mat in drops: how many a face takes, how long they are, and the rolls they are cut from. Lengths in metres."""

from __future__ import annotations

import math
from collections.abc import Iterable

from takeoff.errors import CatalogueError

SLACK = 1e-9
"""Relative play that keeps a float's last digits from adding a drop or a roll."""


def drop_count(length: float, *, width: float, lap: float, is_closed: bool) -> int:
    """Count the drops that cover a face of ``length`` m.

    Around a closed face each drop laps the next, n = ⌈P / (w − lap)⌉; on an open one the last laps nothing,
    n = ⌈(L − lap) / (w − lap)⌉.

    Parameters
    ----------
    length
        Developed length of the face in m.
    width, lap
        Roll width and side lap in m.
    is_closed
        Whether the face closes on itself.

    Raises
    ------
    CatalogueError
        When the lap leaves nothing of the width.

    Examples
    --------
    >>> drop_count(20.0, width=1.27, lap=0.05, is_closed=True)
    17
    """
    if not 0.0 <= lap < width:
        raise CatalogueError(
            f"a lap of {lap:g} m on a mat {width:g} m wide", remedy="The lap must be less than the roll's width."
        )
    if length <= 0.0:
        return 0
    covered = length if is_closed else length - lap
    return max(1, math.ceil(covered / (width - lap) * (1.0 - SLACK)))


def pack_drops(drops: Iterable[float], *, roll_length: float) -> tuple[tuple[float, ...], ...]:
    """Cut drops from whole rolls, longest first, each from the first roll that still holds it.

    First-fit decreasing: at most 11/9 of the fewest rolls and 6/9 more (Dósa 2007, from memory); for drops of one
    length it is the fewest.

    Parameters
    ----------
    drops
        Lengths to cut in m.
    roll_length
        Length of one roll in m.

    Returns
    -------
    tuple of tuple of float
        The drops of each roll.

    Raises
    ------
    CatalogueError
        When a drop is longer than a roll.

    Examples
    --------
    Five drops of 8.5 m come from a roll of 50 m, so 17 take four rolls:

    >>> len(pack_drops([8.5] * 17, roll_length=50.0))
    4
    """
    rolls: list[list[float]] = []
    left: list[float] = []
    room = roll_length * (1.0 + SLACK)
    for drop in sorted(drops, reverse=True):
        if drop > room:
            raise CatalogueError(
                f"a mat drop of {drop:.2f} m is longer than a roll of {roll_length:.2f} m",
                remedy="Choose a longer roll, or split the run where a lift ends.",
            )
        index = next((i for i, rest in enumerate(left) if rest >= drop), len(rolls))
        if index == len(rolls):
            rolls.append([])
            left.append(room)
        rolls[index].append(drop)
        left[index] -= drop
    return tuple(tuple(roll) for roll in rolls)
