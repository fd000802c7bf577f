"""Sizes printed in rooms, such as 16'9" x 11'3", against the straight lines on the four sides of their texts.

Which lines are the room's walls nobody knows: furniture and doors stand between. So every pair of lines left and right
of a text is tried with every pair above and below it. A size *fits* a scale where some pairs are as far apart as it
says. Sizes never tell a scale, as they may be of inner or outer faces; they bear one out that is told otherwise, where
more fit than the share of all scales that they fit at explains, and more than at any scale beside it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.linework import Floats, Linework
from takeoff.trace.scales.groups import AGREE, APART, SCATTER
from takeoff.trace.scales.lengths import DrawnLength, last_place, placed_u
from takeoff.units import room_sides

EACH_SIDE = 8
"""Lines on each side of a text that may be a wall: the nearest ones (judgement)."""
LEAST_LONG, AS_LONG = 3.0, 0.5
"""Heights of its text that a wall beside it is long at the least, and part of its distance from it: furniture is
shorter (judgement)."""
LEVELS = (-2.0, 0.0, 2.0)
"""Heights of its text from its middle at which walls are looked for: a door may stand level with it."""
SAME_PT = 0.3
"""Points by which two lines are one."""
SLANT = 0.03
"""Tangent by which a wall may be off the sheet's edge (judgement)."""
CELL = 0.001
"""Step of the natural logarithm in which scales are tried."""
CLAIM = 0.001
"""Greatest probability of chance at which sizes bear a scale out (our choice)."""
NEAR = 0.06
"""Natural logarithm within which no other scale may fit as many: outer faces of walls for inner ones, or a print that
was made to fit its paper (judgement)."""
FEWEST = 3
"""Different sizes that bear a scale out at the least."""


@dataclass(frozen=True, slots=True)
class _Tried:
    """A size with the scales that it fits at: their logarithms from the one told, and how far off each may be.

    ``spans`` are the ends of its sides along the sheet and up it, in points, behind which of them is the longer.
    """

    line: TextLine
    sides: tuple[float, float]
    scales: Floats
    reach: Floats
    spans: Floats


def room_sizes_at(
    linework: Linework, lines: Sequence[TextLine], m_per_pt: float, u: float = 0.0
) -> tuple[DrawnLength, ...]:
    """Match the sizes that are printed in rooms to the walls around them at a scale that is told otherwise.

    ``m_per_pt`` and ``u`` are that scale in metres per sheet point and its relative standard uncertainty. Gives the
    longer side of each text that fits; none where fewer than three different sizes fit, where chance may have them fit,
    or where as many fit at a scale beside it.
    """
    printed = [(line, sides) for line in lines if (sides := room_sides(line.text)) is not None]
    if len({sides for _, sides in printed}) < FEWEST:
        return ()
    step = min(last_place(line.text) for line, _ in printed)
    move = np.abs(linework.lines[:, 2:] - linework.lines[:, :2])
    upright, level = (linework.lines[move[:, i] <= SLANT * move[:, 1 - i]] for i in (0, 1))
    tried = [_try(line, sides, step, (upright, level[:, [1, 0, 3, 2]]), math.log(m_per_pt)) for line, sides in printed]
    slack = APART * u
    if not _is_told(tried, slack):
        return ()
    return tuple(_fitted(one, step) for one in tried if (np.abs(one.scales) <= one.reach + slack).any())


def _try(line: TextLine, sides: tuple[float, float], step: float, walls: tuple[Floats, Floats], scale: float) -> _Tried:
    x, y = line.middle_pt
    pairs = _spans(x, y, line.size, walls[0]), _spans(y, x, line.size, walls[1])
    rows = [np.zeros((0, 7))]
    for own in dict.fromkeys((sides, sides[::-1])):
        spans = [pair[:, 1] - pair[:, 0] for pair in pairs]
        at = [np.log(side / span) for side, span in zip(own, spans, strict=True)]
        slack = [APART * placed_u(side, span, step) for side, span in zip(own, spans, strict=True)]
        reach = np.maximum(AGREE, np.minimum(slack[0][:, None], slack[1][None, :]))
        i, j = np.nonzero(np.abs(at[0][:, None] - at[1][None, :]) <= reach)
        is_up = own[1] > own[0]
        found = (at[1][j] if is_up else at[0][i]) - scale
        rows.append(np.column_stack([found, reach[i, j], np.full(len(i), is_up), pairs[0][i], pairs[1][j]]))
    table = np.concatenate(rows)
    return _Tried(line, sides, table[:, 0], table[:, 1], table[:, 2:])


def _spans(at: float, level: float, size: float, walls: Floats) -> Floats:
    """Return the low and high ends of what may be a side of a room: pairs of walls on both sides of its text."""
    places = np.zeros(0)
    low, high = walls[:, [1, 3]].min(axis=1), walls[:, [1, 3]].max(axis=1)
    for y in (level + heights * size for heights in LEVELS):
        a, start, b, end = walls[(low <= y) & (y <= high) & (high - low >= LEAST_LONG * size)].T
        place = a + (b - a) * (y - start) / (end - start)
        places = np.concatenate([places, place[np.abs(end - start) > AS_LONG * np.abs(place - at)]])
    places = np.unique(np.round(places / SAME_PT)) * SAME_PT
    before, after = places[places < at][-EACH_SIDE:], places[places > at][:EACH_SIDE]
    pairs: Floats = np.array(np.meshgrid(before, after)).reshape(2, -1).T
    return pairs


def _is_told(tried: Sequence[_Tried], slack: float) -> bool:
    """Tell whether more sizes fit at a scale than at any beside it, and more than chance explains."""
    half = round(SCATTER / 2 / CELL)
    fitting: dict[tuple[float, float], Floats] = {}
    for one in tried:
        ends = np.zeros(2 * half + 2)
        for way, edge in ((1, np.floor), (-1, np.ceil)):
            cells = edge((one.scales - way * one.reach) / CELL).astype(int) + half
            np.add.at(ends, np.clip(cells, 0, 2 * half + 1), way)
        own = np.cumsum(ends)[:-1] > 0.5
        fitting[one.sides] = np.maximum(own, fitting.get(one.sides, 0.0)).astype(float)
    support = np.sum(list(fitting.values()), axis=0)
    away = np.abs(np.arange(-half, half + 1)) * CELL
    count = int(support[away <= max(slack, CELL)].max())
    chance = np.array([1.0])
    for share in (min(0.95, float(one.mean()) + 2 * slack / SCATTER) for one in fitting.values()):
        chance = np.convolve(chance, [1.0 - share, share])  # how many fit at a scale taken by chance
    beside = float(support[(away > slack + 2 * AGREE) & (away < NEAR)].max(initial=0.0))
    return count >= FEWEST and beside < count and float(chance[count:].sum()) <= CLAIM


def _fitted(one: _Tried, step: float) -> DrawnLength:
    """Return the longer side of a size between the lines that fit the scale best."""
    is_up, x0, x1, y0, y1 = one.spans[int(np.abs(one.scales).argmin())].tolist()
    x, y = one.line.middle_pt
    return DrawnLength(
        length=max(one.sides),
        start_pt=(x, y0) if is_up else (x0, y),
        end_pt=(x, y1) if is_up else (x1, y),
        text=one.line.text.strip(),
        box_pt=one.line.box_pt,
        step=step,
    )
