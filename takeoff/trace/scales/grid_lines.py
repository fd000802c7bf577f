"""Grid lines of a building, and the lengths between them that another sheet of the set tells.

A set draws the same grid on many sheets and gives its dimensions on few (common practice, no source). A grid line is a
straight line along or up the sheet that ends at a circle with its name alone in it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from takeoff.model.plan import Point
from takeoff.sheet.text import TextLine, Word
from takeoff.trace.drawing.curves import fit_circle
from takeoff.trace.drawing.linework import Floats, Linework
from takeoff.trace.scales.lengths import PLACE_PT, DrawnLength

_NAME = re.compile(r"[A-Z]{1,2}(?:\.?\d)?['’]?|\d{1,2}(?:\.\d|[A-Z])?['’]?")
"""Names of grid lines: letters one way and numbers the other, with parts between (common practice, no source)."""
INSIDE = 0.6
"""Part of the radius within which the name stands round the middle (judgement)."""
WITHIN = (0.9, 1.3, 1.8, 2.5)
"""Sizes of a name within which the circle round a name is looked for, one after another: others stand near it
(judgement)."""
PLACES, OFF, ROUNDED_PT, ROUNDS = 8, 0.04, 0.4, 6
"""Ends of strokes that tell a circle at the least; the part of the radius, or the points, by which they may lie off it;
and how often what lies farthest off is left out (judgement)."""
OPEN = math.radians(70)
"""Widest part of a circle without an end of a stroke (judgement)."""
AIM = 0.1
"""Part of the radius by which a line misses the middle at the most, and by which it ends off the circle (judgement)."""
SHORTEST = 0.5
"""Radii that its first dash is long at the least (judgement)."""
SAME_PT = 0.5
"""Points within which the two ends of a grid line lie on one line."""
FIT_PT = 0.75
"""Points by which a grid line may lie off where the other sheet has it: places on both sheets, and rounding."""
FEWEST, EACH_WAY = 3, 2
"""Grid lines one way that know their spacing by themselves, where they are not all as far apart, and those each way
that know it together (judgement)."""
UNEVEN = 1.05
"""Times that a bay is wider than another where bays tell two parts of a building apart (judgement)."""
ONE = 0.003
"""Natural logarithm by which the two ways of a grid may differ in scale (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GridLine:
    """A grid line: its name, whether it runs along the sheet, where it lies across that, and its circle."""

    name: str
    is_along: bool
    at_pt: float
    mark_pt: float
    radius_pt: float


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownGrid:
    """The grid lines of a sheet whose scale is known, in metres per sheet point, with its relative uncertainty."""

    called: str
    m_per_pt: float
    u: float
    lines: tuple[GridLine, ...]


def read_grid(linework: Linework, lines: Sequence[TextLine]) -> tuple[GridLine, ...]:
    """Find the grid lines of a sheet, of each of the plans that stand on it."""
    words = [word for line in lines for word in line.words]
    named = [word for word in words if _NAME.fullmatch(word.text)]
    segments = linework.pieces.segments
    if not named or not len(segments):
        return ()
    texts = shapely.STRtree(shapely.points([_middle(word) for word in words]))
    chords = shapely.STRtree(shapely.points((segments[:, :2] + segments[:, 2:]) / 2))
    ends = shapely.STRtree(shapely.points(segments.reshape(-1, 2)))
    found: list[GridLine] = []
    for word in named:
        circle = _circle_round(word, segments, chords)
        if circle is None or len(texts.query(shapely.Point(circle[:2]), "dwithin", distance=circle[2])) > 1:
            continue
        for is_along, at in _lines_from(circle, segments.reshape(-1, 2), ends):
            mark = circle[0] if is_along else circle[1]
            found.append(GridLine(name=word.text, is_along=is_along, at_pt=at, mark_pt=mark, radius_pt=circle[2]))
    return tuple(found)


def _middle(word: Word) -> Point:
    x0, y0, x1, y1 = word.box_pt
    return ((x0 + x1) / 2, (y0 + y1) / 2)


def _circle_round(word: Word, segments: Floats, chords: shapely.STRtree) -> tuple[float, float, float] | None:
    """Return middle and radius of the circle of short strokes round a word."""
    x, y = _middle(word)
    size = max(word.box_pt[2] - word.box_pt[0], word.box_pt[3] - word.box_pt[1])
    near = segments[chords.query(shapely.Point(x, y), "dwithin", distance=WITHIN[-1] * size)]
    near = near[np.hypot(*(near[:, 2:] - near[:, :2]).T) < size]
    places = near.reshape(-1, 2) - (x, y)
    away = np.hypot(*places.T)
    circles = (_circle_through(places[away < times * size]) for times in WITHIN)
    a, b, radius = next((circle for circle in circles if circle is not None), (0.0, 0.0, 0.0))
    return (x + a, y + b, radius) if math.hypot(a, b) < INSIDE * radius else None


def _circle_through(places: Floats) -> tuple[float, float, float] | None:
    """Return middle and radius of the circle that most of some places lie on, all round it."""
    for _ in range(ROUNDS):
        fitted = fit_circle(places) if len(places) >= PLACES else None
        if fitted is None:
            return None
        (a, b), radius = fitted
        off = np.abs(np.hypot(*(places - (a, b)).T) - radius)
        is_on = off < max(OFF * radius, ROUNDED_PT)
        if is_on.all():
            break
        places = places[off <= max(np.median(off), ROUNDED_PT)]
    else:
        return None
    around = np.sort(np.arctan2(*(places - (a, b)).T))
    widest = np.diff(around, append=around[0] + 2 * math.pi).max(initial=0.0)
    return (float(a), float(b), radius) if widest < OPEN else None


def _lines_from(circle: tuple[float, float, float], ends: Floats, tree: shapely.STRtree) -> list[tuple[bool, float]]:
    """Return of the straight lines that leave a circle whether they run along the sheet, and where across that."""
    x, y, r = circle
    at = tree.query(shapely.Point(x, y), "dwithin", distance=(1 + AIM) * r + SAME_PT)
    off, run = ends[at] - (x, y), ends[at ^ 1] - ends[at]
    leaves = (np.hypot(*off.T) > (1 - AIM) * r - SAME_PT) & ((off * run).sum(1) > 0)
    leaves &= np.hypot(*run.T) > SHORTEST * r
    found = []
    for is_along, across in ((True, 1), (False, 0)):
        hits = at[leaves & (np.abs(run[:, across]) < SAME_PT) & (np.abs(off[:, across]) < AIM * r)]
        if len(hits):
            found.append((is_along, float(np.median(ends[hits][:, across]))))
    return found


def grid_lengths(grid: Sequence[GridLine], others: Sequence[KnownGrid]) -> list[DrawnLength]:
    """Return lengths between grid lines of a sheet that another sheet tells, the one that has most of them."""
    return max((_told_by(grid, known) for known in others), key=len, default=[])


def _told_by(grid: Sequence[GridLine], known: KnownGrid) -> list[DrawnLength]:
    """Return lengths between grid lines that another sheet tells; none where the two grids are not one.

    Two parts of a building may name their grid lines alike: the bays must fit one another, and either differ among each
    other or fit both ways.
    """
    found: list[DrawnLength] = []
    told: dict[bool, float] = {}
    is_uneven = False
    rows = _rows(known.lines)
    for row in _rows(grid):
        there = max(rows, key=lambda other: len(row.keys() & other.keys()) * _is_one_way(row, other), default={})
        names = sorted(row.keys() & there.keys(), key=lambda name: row[name].at_pt)
        if len(names) < EACH_WAY or not _is_one_way(row, there):
            continue
        here, other = (np.array([one[name].at_pt for name in names]) for one in (row, there))
        times, start = np.polyfit(here, other, 1)
        if times <= 0.0 or np.abs(times * here + start - other).max() > FIT_PT * max(1.0, times):
            return []
        bays = np.diff(here)
        is_uneven |= len(names) >= FEWEST and bays.max() > UNEVEN * bays.min()
        if abs(math.log(times) - told.setdefault(row[names[0]].is_along, math.log(times))) > ONE:
            return []  # plans at scales of their own
        pairs = {*pairwise(names), (names[0], names[-1])}
        found += [_length(row[a], row[b], abs(there[b].at_pt - there[a].at_pt), known) for a, b in sorted(pairs)]
    if not told or max(told.values()) - min(told.values()) > ONE or not (is_uneven or len(told) > 1):
        return []
    return found


Row = dict[str, GridLine]
"""The grid lines whose circles stand in one row, by name."""


def _rows(grid: Sequence[GridLine]) -> list[Row]:
    """Part grid lines by the rows that their circles stand in; where names begin again another plan stands beside."""
    lanes: list[list[GridLine]] = []
    for line in sorted(grid, key=lambda g: (g.is_along, g.mark_pt)):
        last = lanes[-1][-1] if lanes else None
        if last is not None and last.is_along == line.is_along and line.mark_pt - last.mark_pt < line.radius_pt:
            lanes[-1].append(line)
        else:
            lanes.append([line])
    rows: list[Row] = []
    for lane in lanes:
        rows.append({})
        for line in sorted(lane, key=lambda g: g.at_pt):
            before = rows[-1].get(line.name)
            if before is not None and line.at_pt - before.at_pt > SAME_PT:
                rows.append({})
            rows[-1].setdefault(line.name, line)
    return rows


def _is_one_way(row: Row, other: Row) -> bool:
    """Tell whether two rows are both of lines along the sheet, or both of lines up it."""
    return bool(row and other) and next(iter(row.values())).is_along == next(iter(other.values())).is_along


def _length(a: GridLine, b: GridLine, length_pt: float, known: KnownGrid) -> DrawnLength:
    """Return the length between two grid lines that are so many points apart on the sheet that tells it."""
    start, end = [(a.mark_pt, g.at_pt) if g.is_along else (g.at_pt, a.mark_pt) for g in (a, b)]
    return DrawnLength(
        text=f"{a.name} to {b.name} on {known.called}",
        length=known.m_per_pt * length_pt,
        box_pt=(*start, *start),
        start_pt=start,
        end_pt=end,
        reader="grid",
        u_least=math.hypot(known.u, math.sqrt(2.0) * PLACE_PT / length_pt),
    )
