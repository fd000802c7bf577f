"""Dimension strings of vector sheets: a written length, the line that it stands at, and the two marks it spans.

A *mark* is where a dimension ends on its line: a tick (a short stroke across), an arrowhead, a dot or small circle, or,
where a drawing has none of them, a line that meets the dimension line square (its extension line). Marks are strong
except the last.
A text is matched to the two neighbouring marks between which its middle lies, so strings of several dimensions on one
line come apart; running dimensions, whose texts stand at their marks, match nothing.
"""

from __future__ import annotations

import math
import statistics
from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict, replace

import numpy as np

from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.linework import Flags, Floats, Ints, Linework
from takeoff.trace.scales.lengths import PLACE_PT, DrawnLength, WrittenLength, written_lengths

REACH = 2.2
"""Farthest that the middle of a text stands from its dimension line, in heights of the text."""
ON_LINE = 0.5
"""The same for a text that stands across a line which is broken for it: its middle is on the line (judgement)."""
OFF_MIDDLE = 0.35
"""Farthest that a text stands from the middle of its dimension, as a part of it; running dimensions stand at 0.5."""
TOUCH_PT = 0.6
"""Points within which a mark lies on a line, or two lines are one."""
IN_LINE_PT = 0.3
"""Points by which pieces of one line lie off each other at the most (judgement)."""
U_WEAK = 0.01
"""Least uncertainty of a dimension without ticks or arrows."""
SHORT_PT = 4.0
"""Points by which a line without marks may stop short of the lines that it spans (judgement)."""
LEAST_WIDE = 1.2
"""Heights of its letters, for each of them, that the line of a number without a unit is long at the least where it has
no marks: twice what the number takes (judgement)."""
WHITE = 0.98
"""Red, green and blue from which a colour is that of the paper (judgement)."""
LONGEST_MARK_PT = 26.0
MARK_LETTERS = 2.0
"""Heights of the lengths' letters that a mark is long at the most where these are large: pages are plotted at the size
of the building too (judgement; 1.2 on such a page)."""
WIDEST_DOT_PT = 9.0
LEAST_SLICES = 5
"""Triangles that meet in the middle of a dot at the least: a plotter's dot is a fan of six or eight (judgement)."""
LEAST_PLACES = 6
"""Ends of strokes, and ends and tops of arcs, that a circle has at the least: those of two halves."""
_LETTER = 0.4
"""Mean width of a digit as a part of the height of its box: 0.5 em in a box of 1.2 em (from memory, no source)."""


def find_dimensions(
    linework: Linework, lines: Sequence[TextLine], place_pt: float = PLACE_PT
) -> tuple[DrawnLength, ...]:
    """Match the written lengths of a sheet to what they span, in the order of its text.

    ``place_pt`` is the standard uncertainty in points of the place of a mark.

    Lengths that stand at no dimension line are left out, and of several that would span the same two points all but the
    one nearest to the middle.
    """
    written = [found for found in written_lengths(lines) if found.length > 0]
    if not written or not len(linework.lines):
        return ()
    letters = statistics.median(min(t.box_pt[2] - t.box_pt[0], t.box_pt[3] - t.box_pt[1]) for t in written)
    drawn = _Drawn(linework, max(LONGEST_MARK_PT, MARK_LETTERS * letters))
    spans: dict[tuple[int, ...], tuple[float, DrawnLength]] = {}
    for off_middle, dimension in filter(None, map(drawn.match, written)):
        span = tuple(round(value) for point in sorted((dimension.start_pt, dimension.end_pt)) for value in point)
        if span not in spans or off_middle < spans[span][0]:
            spans[span] = off_middle, dimension
    return tuple(replace(dimension, place_pt=place_pt) for _, dimension in spans.values())


class _Drawn:
    """The strokes of a sheet with what a search along a line needs of them."""

    def __init__(self, linework: Linework, longest_mark: float) -> None:
        kept = np.hypot(*(linework.lines[:, 2:] - linework.lines[:, :2]).T) > 0.05
        kept &= _is_seen(linework)[linework.line_path]
        self.segments = linework.lines[kept]
        self.move = self.segments[:, 2:] - self.segments[:, :2]
        self.length = np.hypot(self.move[:, 0], self.move[:, 1])
        self.unit = self.move / self.length[:, None]
        self.middle = (self.segments[:, :2] + self.segments[:, 2:]) / 2
        is_short = (self.length > 0.8) & (self.length <= longest_mark)
        self.short, self.short_unit, self.short_middle = (
            self.segments[is_short],
            self.unit[is_short],
            self.middle[is_short],
        )
        self.angle = np.mod(np.arctan2(self.unit[:, 1], self.unit[:, 0]), math.pi)
        self.by_angle = np.argsort(self.angle, kind="stable")
        self.angles = self.angle[self.by_angle]
        self.is_stroke = linework.stroked[linework.line_path[kept]]
        tips, bases = _small_fills(linework, longest_mark)
        circles = _small_circles(linework)
        self.tips, self.bases = np.concatenate([tips, circles]), np.concatenate([bases, circles])

    def match(self, text: WrittenLength) -> tuple[float, DrawnLength] | None:
        """Find what a text spans: the nearest line that has strong marks on both sides of it, else weak ones.

        Before it stands how far the text is from the middle, as a part of the distance.
        """
        x0, y0, x1, y1 = text.box_pt
        centre = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
        beside = (centre - self.segments[:, :2]) @ np.array([[0.0, -1.0], [1.0, 0.0]])
        off = np.abs((beside * self.unit).sum(1))
        along = ((centre - self.segments[:, :2]) * self.unit).sum(1)
        level, across = _letter_size(text, self.unit), _letter_size(text, self.unit[:, ::-1])
        is_broken = (level == 0) & ((along < 0) | (along > self.length))  # for a text that stands across it
        size = np.where(is_broken, across, level)
        slack = _gap_reach(text)
        near = self.is_stroke & (off <= np.where(is_broken, ON_LINE, REACH) * size) & (self.length > 0.5 * size)
        near &= (along >= -slack) & (along <= self.length + slack)
        rows = np.flatnonzero(near & (size > 0))
        rows = rows[np.argsort(off[rows] - 1e-3 * np.minimum(self.length[rows], 500))]
        weak: tuple[float, DrawnLength] | None = None
        seen: list[tuple[float, float, float]] = []
        for row in rows[:24].tolist():
            unit = self.unit[row]
            key = (abs(float(unit[0])), float(unit[1] * math.copysign(1, unit[0])), float(off[row]))
            if any(math.dist(key, other) < 0.3 for other in seen if abs(key[0] - other[0]) < 0.02):
                continue
            seen.append(key)
            for is_strong in (True, False):
                if not is_strong and (weak is not None or (text.is_bare and text.text.isdecimal())):
                    continue  # a whole number between two lines that meet a third is a room's as often as a length
                found = self._spanned(text, centre, row, float(size[row]), is_strong)
                if found is not None and is_strong:
                    return found
                weak = weak or found
        return weak

    def _spanned(
        self, text: WrittenLength, centre: Floats, row: int, size: float, is_strong: bool
    ) -> tuple[float, DrawnLength] | None:
        """Return the dimension between the marks beside a text on the line of one segment."""
        unit, origin = self.unit[row], self.segments[row, :2]
        normal = np.array([-unit[1], unit[0]])
        at = float((centre - origin) @ unit)
        strong = self._strong(origin, unit, normal) if is_strong else None
        if strong is not None and not ((strong < at).any() and (strong > at).any()):
            return None
        line = self._extent(row, at, text)
        if line is None:
            return None
        if strong is not None:
            marks = strong[(strong >= line[0] - TOUCH_PT) & (strong <= line[1] + TOUCH_PT)]
        elif text.is_bare and line[1] - line[0] < LEAST_WIDE * len(text.text) * size:
            return None  # a number in its box
        else:
            marks = self._square(origin, unit, normal, line)
        marks = np.unique(np.round(marks, 3))
        before, after = marks[marks < at], marks[marks > at]
        is_running = bool((np.abs(marks - at) < 0.25 * size).any())
        if is_running or not len(before) or not len(after):
            return None
        low, high = float(before[-1]), float(after[0])
        off_middle = abs((low + high) / 2 - at) / (high - low)
        if high - low < 2 or off_middle > (OFF_MIDDLE if is_strong else 0.1):
            return None
        start, end = origin + low * unit, origin + high * unit
        return off_middle, DrawnLength(
            **asdict(text),
            start_pt=(float(start[0]), float(start[1])),
            end_pt=(float(end[0]), float(end[1])),
            u_least=0.0 if is_strong else U_WEAK,
        )

    def _extent(self, row: int, at: float, text: WrittenLength) -> tuple[float, float] | None:
        """Return where the line of a segment begins and ends, pieces in line with it joined, the text's gap too."""
        unit, origin = self.unit[row], self.segments[row, :2]
        normal = np.array([-unit[1], unit[0]])
        level = self._level_with(row)
        level = level[np.abs((self.middle[level] - origin) @ normal) < IN_LINE_PT]
        offs = np.abs((self.segments[level].reshape(-1, 2, 2) - origin) @ normal).max(1)
        same = level[(offs < IN_LINE_PT) & self.is_stroke[level]]
        ends = np.sort((self.segments[same].reshape(-1, 2, 2) - origin) @ unit, axis=1)
        ends = np.concatenate([ends, self._heads(origin, unit, normal)])  # a line may end where its arrowhead begins
        ends = ends[np.argsort(ends[:, 0])]
        half = _gap_reach(text)
        merged: list[list[float]] = []
        for low, high in ends.tolist():
            reach = merged[-1][1] if merged else -math.inf
            is_gap_of_text = reach > at - half and reach <= at and low < at + half and low >= at
            if merged and (low - reach <= 1.0 or is_gap_of_text):
                merged[-1][1] = max(reach, high)
            else:
                merged.append([low, high])
        for low, high in merged:
            if low <= at <= high:
                return low, high
        return None

    def _heads(self, origin: Floats, unit: Floats, normal: Floats) -> Floats:
        """Return the low and high stations of the filled arrowheads that lie along a line."""
        on = np.abs(np.stack([self.tips - origin, self.bases - origin]) @ normal).max(0) < TOUCH_PT
        stations = np.stack([(self.tips[on] - origin) @ unit, (self.bases[on] - origin) @ unit], axis=1)
        return np.sort(stations, axis=1)

    def _level_with(self, row: int) -> Ints:
        """Return the segments that run as one does, within two hundredths of a radian."""
        angle, near = float(self.angle[row]), 0.02
        low, high = np.searchsorted(self.angles, (angle - near, angle + near))
        parts = [self.by_angle[low:high]]
        if angle < near:
            parts.append(self.by_angle[np.searchsorted(self.angles, math.pi + angle - near) :])
        if angle > math.pi - near:
            parts.append(self.by_angle[: np.searchsorted(self.angles, angle + near - math.pi)])
        return np.concatenate(parts)

    def _strong(self, origin: Floats, unit: Floats, normal: Floats) -> Floats:
        """Return the stations of ticks, arrowheads and dots on a line."""
        cosine = np.abs(self.short_unit @ unit)
        starts, ends = (self.short[:, :2] - origin) @ normal, (self.short[:, 2:] - origin) @ normal
        is_oblique = (cosine > 0.3) & (cosine < 0.995)
        is_tick = is_oblique & (cosine < 0.95) & (np.abs(starts + ends) < 2 * TOUCH_PT) & (starts * ends < 0)
        stations = [(self.short_middle[is_tick] - origin) @ unit]
        touching = [
            (self.short[is_oblique & (np.abs(off) < TOUCH_PT / 2) & ~is_tick, column : column + 2] - origin) @ unit
            for column, off in ((0, starts), (2, ends))
        ]
        places = np.sort(np.concatenate(touching))
        # two strokes that end at one point of the line: the barbs of an arrow, or the halves of a tick
        stations.append(places[np.flatnonzero(np.diff(places) < TOUCH_PT / 2)])
        drawn = np.concatenate(stations)
        filled = ((self.tips - origin) @ unit)[np.abs((self.tips - origin) @ normal) < TOUCH_PT]
        if len(filled):  # strokes within an arrowhead or a dot are parts of it: a dot may be a fan of triangles
            drawn = drawn[np.abs(drawn[:, None] - filled).min(axis=1) > WIDEST_DOT_PT / 2]
        return np.concatenate([drawn, filled])

    def _square(self, origin: Floats, unit: Floats, normal: Floats, line: tuple[float, float]) -> Floats:
        """Return the stations of the lines square to a line that its two ends meet, or stop short of by a little."""
        is_square = (np.abs(self.unit @ unit) < 0.05) & (self.length > 3)
        sides = np.stack([(self.segments[:, :2] - origin) @ normal, (self.segments[:, 2:] - origin) @ normal])
        meets = is_square & (sides.min(0) < TOUCH_PT) & (sides.max(0) > -TOUCH_PT)
        stations: Floats = ((self.middle - origin) @ unit)[meets]
        before, after = line[0] - stations, stations - line[1]
        near = [np.where((off > -TOUCH_PT) & (off < SHORT_PT), np.abs(off), np.inf) for off in (before, after)]
        ends: Floats = np.array([stations[off.argmin()] for off in near if np.isfinite(off.min(initial=np.inf))])
        return ends


def _is_seen(linework: Linework) -> Flags:
    """Tell which paths are not white: white ones cover a line behind its text. All, where most are white on black."""
    colours = (linework.stroked, linework.colour), (linework.filled, linework.fill)
    seen: Flags = np.logical_or(*(painted & (colour < WHITE).any(axis=1) for painted, colour in colours))
    return seen if 2 * seen.sum() > len(seen) else np.ones(len(seen), bool)


def _gap_reach(text: WrittenLength) -> float:
    """Return how far from the middle of a text a line that is broken for it may end."""
    width, height = text.box_pt[2] - text.box_pt[0], text.box_pt[3] - text.box_pt[1]
    return math.hypot(width, height) / 2 + 2 * min(width, height)


def _letter_size(text: WrittenLength, unit: Floats) -> Floats:
    """Return the height of a text's letters if it ran along each direction; 0 where its box says that it does not."""
    width, height = text.box_pt[2] - text.box_pt[0], text.box_pt[3] - text.box_pt[1]
    c, s = np.abs(unit[:, 0]), np.abs(unit[:, 1])
    run = _LETTER * len(text.text)
    size = (width + height) / ((run + 1) * (c + s))
    misfit = np.abs(size * (run * c + s) - width) + np.abs(size * (run * s + c) - height)
    straight = (width + height) / (run + 1)
    upright = min(
        abs(straight * run - width) + abs(straight - height), abs(straight - width) + abs(straight * run - height)
    )
    return np.where(misfit < min(0.45 * (width + height), upright + 0.1 * (width + height)), size, 0.0)


def _small_fills(linework: Linework, longest: float) -> tuple[Floats, Floats]:
    """Return the tips of filled arrowheads and the middles of filled dots, and the middles of the arrowheads' bases."""
    tips: list[Floats] = []
    bases: list[Floats] = []
    corners: Counter[tuple[float, float]] = Counter()
    for index in range(len(linework.ring_path)):
        ring = linework.ring(index)
        span = np.ptp(ring, axis=0)
        if span.max() > longest or span.max() < 0.8:
            continue
        if len(ring) == 3:
            corners.update((round(x, 1), round(y, 1)) for x, y in ring.tolist())
            sides = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)
            if sides.max() > 1.4 * sides.min():
                short = int(sides.argmin())
                tips.append(ring[(short + 2) % 3])
                bases.append((ring[short] + ring[(short + 1) % 3]) / 2)
        elif span.min() > 0.8 * span.max() and span.max() < WIDEST_DOT_PT and len(ring) > 4:
            tips.append(ring.mean(axis=0))
            bases.append(ring.mean(axis=0))
    fans = [np.array(place) for place, count in corners.items() if count >= LEAST_SLICES]
    tips, bases = tips + fans, bases + fans
    return np.array(tips, np.float64).reshape(-1, 2), np.array(bases, np.float64).reshape(-1, 2)


def _small_circles(linework: Linework) -> Floats:
    """Return the middles of the small circles that are drawn, as arcs or as short strokes."""
    start, end, bulge = linework.arcs[:, :2], linework.arcs[:, 2:4], linework.arcs[:, 4:]
    tops = (start + end) / 2 - bulge / 2 * (end - start)[:, ::-1] * (1, -1)
    ends = np.concatenate([linework.lines.reshape(-1, 2), linework.arcs[:, :4].reshape(-1, 2), tops])
    owner = np.concatenate([np.repeat(linework.line_path, 2), np.repeat(linework.arc_path, 2), linework.arc_path])
    count = np.bincount(owner, minlength=linework.path_count)
    low, high = (np.where(count[:, None] > 0, far, 0.0) * np.ones(2) for far in (math.inf, -math.inf))
    np.minimum.at(low, owner, ends)
    np.maximum.at(high, owner, ends)
    span, middle = high - low, (low + high) / 2
    is_round = (span.max(1) <= WIDEST_DOT_PT) & (span.min(1) > 0.8 * span.max(1)) & (span.max(1) > 0.8)
    is_round &= linework.stroked & (count >= LEAST_PLACES)
    off = np.abs(np.hypot(*(ends - middle[owner]).T) - span[owner].max(1) / 2)
    is_round[owner[off > 0.1 * span[owner].max(1)]] = False
    circles: Floats = middle[is_round]
    return circles
