"""Sizes printed in rooms, such as 16'9" x 11'3", against the straight lines on the four sides of their texts.

Which lines are the room's walls nobody knows: furniture and doors stand between. So every pair of lines left and right
of a text is tried with every pair above and below it. A size *fits* a scale where some pairs are as far apart as it
says. Sizes bear a scale out that is told otherwise where more fit than the share of all scales that they fit at
explains, and more than at any scale beside it; by themselves they tell one where that holds of no other scale.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.linework import Floats, Linework
from takeoff.trace.scales.groups import AGREE, APART, SCATTER
from takeoff.trace.scales.lengths import DrawnLength, last_place, placed_u
from takeoff.trace.scales.signs import Signs
from takeoff.units import room_sides

EACH_SIDE = 8
"""Lines on each side of a text that may be a wall: the nearest ones (judgement)."""
LEAST_LONG, AS_LONG = 3.0, 0.5
"""Heights of its text that a wall beside it is long at the least, and part of its distance from it: furniture is
shorter (judgement)."""
WIDE_PT = 2.0
"""Points from which a pen may draw a whole wall, not its face: lines are up to 0.7 mm wide (ISO 128, from memory)."""
LEVELS = (-2.0, 0.0, 2.0)
"""Heights of its text from its middle at which walls are looked for: a door may stand level with it."""
SAME_PT = 0.3
"""Points by which two lines are one."""
SLANT = 0.03
"""Tangent by which a wall may be off the sheet's edge (judgement)."""
CELL = 0.001
"""Step of the natural logarithm in which scales are tried."""
CLAIM, CLAIM_ALONE = 0.001, 0.05
"""Greatest probability of chance at which sizes bear a scale out or tell it, and at which one is proposed by them
alone (our choice)."""
NEAR = 0.06
"""Natural logarithm within which no other scale may fit as many: outer faces of walls for inner ones, or a print that
was made to fit its paper (judgement)."""
FEWEST, FEWEST_ALONE = 3, 4
"""Different sizes that bear a scale out at the least, and that tell it by themselves."""
MIDDLE = 100 * 0.0254 / 72
"""Scale in metres per sheet point around which sizes are tried by themselves: 1:100, from 1:18 to 1:550 (judgement)."""

_BARE = re.compile(r"\d{1,2}[.,]\d{1,2}\s*[xX×]\s*\d{1,2}[.,]\d{1,2}")


@dataclass(frozen=True, slots=True)
class _Tried:
    """A size with the scales that it fits at: their logarithms from the one told, and how far off each may be.

    ``spans`` are the ends of its sides along the sheet and up it, in points, behind which of them is the longer.
    """

    line: TextLine
    sides: tuple[float, float]
    step: float
    scales: Floats
    reach: Floats
    spans: Floats


def faces_of(linework: Linework) -> Floats:
    """Return what may be faces of walls: the straight lines, and both edges of those that a wide pen draws."""
    lines = linework.lines
    half = (linework.width / 2)[linework.line_path] if len(lines) else np.zeros(0)
    is_wide = half > WIDE_PT / 2
    move = (lines[:, 2:] - lines[:, :2])[is_wide]
    aside = half[is_wide, None] * move[:, ::-1] * (-1, 1) / np.maximum(np.hypot(*move.T), 1e-9)[:, None]
    return np.concatenate([lines, *(lines[is_wide] + np.tile(side * aside, 2) for side in (1, -1))])


def room_sizes_at(faces: Floats, lines: Sequence[TextLine], m_per_pt: float, u: float = 0.0) -> tuple[DrawnLength, ...]:
    """Match the sizes that are printed in rooms to the walls around them at a scale that is told otherwise.

    ``faces`` are the straight lines that may be theirs; ``m_per_pt`` and ``u`` are that scale in metres per sheet point
    and its relative standard uncertainty. Gives a side of each text that fits; none where fewer than three different
    sizes fit, where chance may have them fit, or where as many fit at a scale beside it.
    """
    tried = _tried(faces, lines, m_per_pt)
    support, shares = _supported(tried)
    away = np.abs(np.arange(len(support)) - len(support) // 2) * CELL
    slack = APART * u
    count = support[away <= max(slack, CELL)].max()
    beside = support[(away > slack + 2 * AGREE) & (away < NEAR)].max(initial=0.0)
    if count < FEWEST or beside >= count or _chance(count, shares, 2 * slack / SCATTER) > CLAIM:
        return ()
    return _fitted(tried, 0.0, slack)


def room_sizes_alone(faces: Floats, lines: Sequence[TextLine], signs: Signs) -> tuple[tuple[DrawnLength, ...], bool]:
    """Match the sizes that are printed in rooms to the walls around them at the one scale at which most fit.

    It is looked for where the doors of the sheet may be doors. Gives nothing where fewer than four different sizes fit,
    as many at another scale, or where chance may have them fit at any; and whether they tell it for sure.
    """
    tried = _tried(faces, lines, MIDDLE)
    support, shares = _supported(tried)
    off = (np.arange(len(support)) - len(support) // 2) * CELL
    allowed = np.array([signs.doors_fit(MIDDLE * math.exp(one)) is not False for one in off])
    count = support[allowed].max(initial=0.0)
    best = off[(support == count) & allowed]
    chance = allowed.sum() * CELL / (2 * AGREE) * _chance(count, shares)
    if count < FEWEST_ALONE or np.ptp(best) > NEAR or chance > CLAIM_ALONE:
        return (), False
    return _fitted(tried, float(best.mean())), bool(np.ptp(best) <= 4 * AGREE and chance <= CLAIM)


def _tried(faces: Floats, lines: Sequence[TextLine], m_per_pt: float) -> list[_Tried]:
    """Try the sizes of a sheet around a scale in metres per sheet point; none where there are few different ones."""
    printed = [(line, sides) for line in lines if (sides := room_sides(_named(line.text))) is not None]
    if len({sides for _, sides in printed}) < FEWEST:
        return []
    step = min(last_place(_named(line.text)) for line, _ in printed)
    move = np.abs(faces[:, 2:] - faces[:, :2])
    upright, level = (faces[move[:, i] <= SLANT * move[:, 1 - i]] for i in (0, 1))
    walls = (upright, level[:, [1, 0, 3, 2]])
    return [_try(line, sides, step, walls, math.log(m_per_pt)) for line, sides in printed]


def _named(text: str) -> str:
    """Return the size of a room with its unit: numbers with decimals and none are in metres, as bare dimensions are."""
    return f"{text.strip()} m" if _BARE.fullmatch(text.strip()) else text


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
    return _Tried(line, sides, step, table[:, 0], table[:, 1], table[:, 2:])


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


def _supported(tried: Sequence[_Tried]) -> tuple[Floats, list[float]]:
    """Return how many different sizes fit at each scale around the one tried, and at what part of them each does."""
    half = round(SCATTER / 2 / CELL)
    fitting: dict[tuple[float, float], Floats] = {}
    for one in tried:
        ends = np.zeros(2 * half + 2)
        for way, edge in ((1, np.floor), (-1, np.ceil)):
            cells = edge((one.scales - way * one.reach) / CELL).astype(int) + half
            np.add.at(ends, np.clip(cells, 0, 2 * half + 1), way)
        own = np.cumsum(ends)[:-1] > 0.5
        fitting[one.sides] = np.maximum(own, fitting.get(one.sides, 0.0)).astype(float)
    support: Floats = np.sum([np.zeros(2 * half + 1), *fitting.values()], axis=0)
    return support, [float(own.mean()) for own in fitting.values()]


def _chance(count: float, shares: Sequence[float], more: float = 0.0) -> float:
    """Return how likely so many sizes or more fit at a scale taken by chance, each at its part of all and ``more``."""
    chance = np.array([1.0])
    for share in shares:
        share = min(0.95, share + more)
        chance = np.convolve(chance, [1.0 - share, share])
    return float(chance[int(count) :].sum())


def _fitted(tried: Sequence[_Tried], scale: float, slack: float = 0.0) -> tuple[DrawnLength, ...]:
    """Return the longer side of each size that fits a scale, between the lines that fit it best.

    Where all would run one way the most even one of them gives its other side.
    """
    fits = [one for one in tried if (np.abs(one.scales - scale) <= one.reach + slack).any()]
    spans = [one.spans[int(np.abs(one.scales - scale).argmin())].tolist() for one in fits]
    even = min(range(len(fits)), key=lambda i: max(fits[i].sides) / min(fits[i].sides))
    turned = even if len({is_up for is_up, *_ in spans}) == 1 else None
    return tuple(_side(one, span, is_other=i == turned) for i, (one, span) in enumerate(zip(fits, spans, strict=True)))


def _side(one: _Tried, span: tuple[float, ...], *, is_other: bool) -> DrawnLength:
    """Return the longer side of a size, or the other."""
    is_up, x0, x1, y0, y1 = span
    x, y = one.line.middle_pt
    goes_up = bool(is_up) is not is_other
    return DrawnLength(
        length=min(one.sides) if is_other else max(one.sides),
        start_pt=(x, y0) if goes_up else (x0, y),
        end_pt=(x, y1) if goes_up else (x1, y),
        text=one.line.text.strip(),
        box_pt=one.line.box_pt,
        step=one.step,
    )
