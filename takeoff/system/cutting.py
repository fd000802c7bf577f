"""Cutting lists: drops from whole rolls, strips and beads from stock lengths. Lengths in metres, areas m².

Pieces narrower than the roll, and short ones over and under openings, are first laid beside each other and into the
rectangles that come free where openings are cut out; what is left to cut across the roll goes to
`takeoff.system.packing`. Lengths are rounded up to a tenth of a millimetre.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from takeoff.errors import CatalogueError
from takeoff.model.cut_lists import Cut, CutPlan, Drop, MatLayout, Piece, Reuse, Roll, StockLength, StockPlan
from takeoff.system.packing import EFFORT, Packing, pack

GRAIN = 10_000
"""Parts of a metre that lengths are counted in."""

PLAY = 1e-9
"""Metres by which a piece may be too long or too wide for a rectangle: a float's last digits."""


def cut_rolls(layouts: Sequence[MatLayout], *, roll_length: float, effort: float = EFFORT) -> CutPlan:
    """Cut the drops of several faces from the fewest whole rolls found, never more than first-fit decreasing takes.

    Whether the number of rolls is proven least is said of the cuts across the roll; the laying of narrow and short
    pieces into what is free before them is a good one, not proven best. Layouts, one at least, are
    of one roll width.
    """
    drops = [drop for layout in layouts for drop in layout.pieces]
    plain = pack_lengths([drop.length for drop in drops], roll_length, effort=0.0)
    cuts, reused = _lay_out(layouts, drops)
    found = pack_lengths([length for length, _, _ in cuts], roll_length, effort=effort)
    bins = found.bins
    if len(bins) > plain.first_fit:
        cuts, reused, bins = [(drop.length, drop, ()) for drop in drops], [], plain.bins
    rolls: list[Roll] = []
    number = 0
    for row in bins:
        roll_cuts = []
        for index in row:
            number += 1
            length, drop, beside = cuts[index]
            roll_cuts.append(Cut(number=number, length=length, drop=drop, beside=beside))
        left = max(0.0, roll_length - math.fsum(cut.length for cut in roll_cuts))
        rolls.append(Roll(number=len(rolls) + 1, cuts=tuple(roll_cuts), left=left))
    return CutPlan(
        roll_length=roll_length,
        roll_width=layouts[0].roll_width,
        rolls=tuple(rolls),
        reused=tuple(reused),
        lower_bound=min(found.lower_bound, len(rolls)),
        first_fit=plain.first_fit,
        seam_length=math.fsum(layout.seam_length for layout in layouts),
        lap_length=math.fsum(layout.seam_length for layout in layouts if layout.lap > 0.0),
        lap_area=math.fsum(layout.lap_area for layout in layouts),
        mat_area=math.fsum(layout.mat_area for layout in layouts),
        free_area=math.fsum(layout.free_area for layout in layouts),
        net_area=math.fsum(layout.net_area for layout in layouts),
    )


def cut_stock(pieces: Sequence[Piece], *, stock_length: float, effort: float = EFFORT) -> StockPlan:
    """Cut strips or beads from the fewest stock lengths found.

    A piece longer than the stock is made of whole stock lengths and a rest; pieces without length are left out.
    ``stock_length``: length sold, in m, above zero; what a cut takes is left aside.

    Examples
    --------
    >>> plan = cut_stock([Piece(label="jamb", length=2.1)] * 2 + [Piece(label="head", length=0.9)], stock_length=3.0)
    >>> [[piece.label for piece in stock.pieces] for stock in plan.stock], plan.lower_bound
    ([['jamb', 'head'], ['jamb']], 2)
    """
    todo: list[Piece] = []
    joints = 0
    for piece in pieces:
        parts = max(1, math.ceil((piece.length - PLAY) / stock_length))
        joints += parts - 1
        todo += [replace(piece, length=stock_length)] * (parts - 1)
        rest = piece.length - (parts - 1) * stock_length
        if rest > PLAY:
            todo.append(replace(piece, length=rest))
    found = pack_lengths([piece.length for piece in todo], stock_length, effort=effort)
    stock: list[StockLength] = []
    for row in found.bins:
        cut = tuple(todo[index] for index in row)
        used = math.fsum(piece.length for piece in cut)
        stock.append(StockLength(number=len(stock) + 1, pieces=cut, left=max(0.0, stock_length - used)))
    return StockPlan(
        stock_length=stock_length,
        stock=tuple(stock),
        lower_bound=found.lower_bound,
        first_fit=found.first_fit,
        joints=joints,
    )


def pack_lengths(lengths: Sequence[float], stock_length: float, *, effort: float = EFFORT) -> Packing:
    """Pack lengths in m into stock lengths, counted in whole grains (`takeoff.system.packing.pack`).

    Raises `CatalogueError` when a piece is longer than what it is cut from.

    Examples
    --------
    Five drops of 8.5 m come from a roll of 50 m, so 17 take four rolls:

    >>> len(pack_lengths([8.5] * 17, 50.0).bins)
    4
    """
    sizes = [max(1, math.ceil(length * GRAIN - 1e-4)) for length in lengths]
    capacity = math.floor(stock_length * GRAIN + 1e-4)
    if sizes and max(sizes) > capacity:
        raise CatalogueError(
            f"a piece of {max(lengths):.3f} m is longer than the {stock_length:.3f} m it is cut from",
            remedy="Choose a longer roll or stock length, or split the wall where a lift ends.",
        )
    return pack(sizes, capacity, effort=effort)


def _lay_out(
    layouts: Sequence[MatLayout], drops: Sequence[Drop]
) -> tuple[list[tuple[float, Drop, tuple[Drop, ...]]], list[Reuse]]:
    """Lay narrow and short pieces into free rectangles, longest first into the smallest that holds them.

    What a piece leaves of its rectangle, beyond its end over the full width and beside it, stays free.
    """
    roll_width = layouts[0].roll_width
    free = _Free(sum(len(layout.offcuts) for layout in layouts) + 2 * len(drops))
    for layout in layouts:
        for offcut in layout.offcuts:
            free.add(offcut.length, offcut.width, offcut.source, -1)
    cuts: list[tuple[float, Drop, list[Drop]]] = []
    reused: list[Reuse] = []
    for drop in sorted(drops, key=lambda d: (-d.length, -d.width)):
        held = free.take(drop.length, drop.width)
        if held is not None:
            length, width, source, owner = held
            if owner < 0:
                reused.append(Reuse(drop=drop, source=source))
            else:
                cuts[owner][2].append(drop)
            left = ((length - drop.length, width), (drop.length, width - drop.width))
        else:
            source, owner = drop.label, len(cuts)
            cuts.append((drop.length, drop, []))
            left = ((0.0, 0.0), (drop.length, roll_width - drop.width))
        for a, b in left:
            if a > PLAY and b > PLAY:
                free.add(a, b, source, owner)
    return [(length, drop, tuple(beside)) for length, drop, beside in cuts], reused


class _Free:
    """Free rectangles of mat: sizes in a table of ``most`` rows in the order in which they came, and their owners."""

    def __init__(self, most: int) -> None:
        self._sizes = np.zeros((most, 2))
        self._of: list[tuple[str, int]] = []

    def add(self, length: float, width: float, source: str, owner: int) -> None:
        """Put in a rectangle, with what it is of."""
        self._sizes[len(self._of)] = length, width
        self._of.append((source, owner))

    def take(self, length: float, width: float) -> tuple[float, float, str, int] | None:
        """Take out the smallest rectangle that holds a piece, of equal ones the first; ``None`` where none does."""
        sizes = self._sizes[: len(self._of)]
        fits = np.flatnonzero((sizes[:, 0] >= length - PLAY) & (sizes[:, 1] >= width - PLAY))
        if not fits.size:
            return None
        at = int(fits[np.argmin(sizes[fits, 0] * sizes[fits, 1])])
        held = (float(sizes[at, 0]), float(sizes[at, 1]), *self._of[at])
        sizes[at] = 0.0
        return held
