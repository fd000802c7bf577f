"""Mat in drops: how many a face takes, how long they are, and the rolls they are cut from. Lengths in metres."""

from __future__ import annotations

import math
from collections.abc import Iterable

from takeoff.errors import CatalogueError

SLACK = 1e-9
"""Relative play that keeps a float's last digits from adding a drop or a roll."""


class FirstFit:
    """Stock lengths in a row; a piece is cut from the first that still holds it.

    What is left of them stands in a binary tree, each node the most of the two under it, so that a piece is placed in
    a time that grows with the logarithm of their number. Lengths are in any one unit.
    """

    def __init__(self, most: int, room: float) -> None:
        """Take ``most`` stock lengths that each hold ``room``."""
        self._leaves = 1 << max(0, most - 1).bit_length()
        self._left = [room] * (2 * self._leaves)

    def place(self, length: float) -> int:
        """Return the first stock length that holds a piece, and take the piece from it; one that is new holds any."""
        left, at = self._left, 1
        while at < self._leaves:
            at = 2 * at + (left[2 * at] < length)
        index = at - self._leaves
        left[at] -= length
        while at > 1:
            at //= 2
            left[at] = max(left[2 * at], left[2 * at + 1])
        return index


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
    ordered = sorted(drops, reverse=True)
    room = roll_length * (1.0 + SLACK)
    if ordered and ordered[0] > room:
        raise CatalogueError(
            f"a mat drop of {ordered[0]:.2f} m is longer than a roll of {roll_length:.2f} m",
            remedy="Choose a longer roll, or split the run where a lift ends.",
        )
    rolls: list[list[float]] = []
    fit = FirstFit(len(ordered), room)
    for drop in ordered:
        index = fit.place(drop)
        if index == len(rolls):
            rolls.append([])
        rolls[index].append(drop)
    return tuple(tuple(roll) for roll in rolls)
