"""What is no building: dimension lines, lines of a grid, what stands on layers for other things."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from takeoff.geometry.arcs import arc_centre
from takeoff.model.plan import Point
from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.linework import Flags, Floats, Ints, Linework, Pieces
from takeoff.trace.drawing.looks import Roles
from takeoff.trace.drawing.polygons import spans

_DIMENSION = re.compile(r"[\d'\"′″’”/ .,½¼¾⅛⅜⅝⅞-]*\d[\d'\"′″’”/ .,½¼¾⅛⅜⅝⅞-]*(?:mm|cm|m|ft|in)?\.?", re.IGNORECASE)

_ALONG = 0.1
"""Share of a dimension's text by which a line may fall short of it that runs along all of it (judgement)."""
_TAG = 4.0
"""Radius of the circle round a mark over the height of its letters, at the most; a round room is larger (judgement)."""
_MARK = 1.8
"""How far the mark of a section reaches from its circle's middle, over its radius: that of a box round it, and more."""
_GAP, _DASH = (4.3, 0.45), (20.0, 1.5)
"""Points of paper, and metres where that is less, of the gap between two dashes and of a dash, at the most: 1.5 and
7 mm (common practice, no source)."""
_AXIS = (10.0, 80.0)
"""Points of paper of a gap and of a long stroke of an axis, at the most: 3.5 and 28 mm (measured on a sheet of 1:48: 9
and 36 points)."""
_DOT = 0.5
"""Length of the short strokes of an axis over that of the long ones, at the most (ISO 128 gives less than 0.1; from
memory)."""
_DASHES, _UNEVEN, _TOUCHING_PT = 4, 0.2, 0.1
"""Strokes with even gaps from which they are dashes, the share by which gaps differ, and points up to which there is
no gap (judgement)."""


def _is_dimension(text: str) -> bool:
    """Tell whether a text is a dimension; a bare number of up to three figures is rather that of a room or a door."""
    return _DIMENSION.fullmatch(text) is not None and not (text.isdecimal() and len(text) < 4)


def note_rows(pieces: Pieces, roles: Roles, lines: Sequence[TextLine]) -> Flags:
    """Tell which pieces of linework are dimension lines, or stand on a layer that the standard gives to other things.

    A line that runs along a written dimension of the sheet's text ``lines``, or ends at it, is its dimension line;
    where one runs along all of it, those that pass beside a part of it are none. ``roles`` say for each path what it is
    part of.
    """
    flags: Flags = np.isin(roles, ("other", "pattern"))[pieces.path] if len(pieces.path) else np.zeros(0, bool)
    written = [line for line in lines if _is_dimension(line.text.strip())]
    if not written or not len(pieces.segments):
        return flags
    rows = np.flatnonzero(pieces.is_whole & ~flags)
    tree = shapely.STRtree(shapely.linestrings(pieces.segments[rows].reshape(-1, 2, 2)))
    boxes = shapely.box(*np.array([line.box_pt for line in written]).T)
    texts, hits = tree.query(boxes, predicate="dwithin", distance=0.8 * np.array([line.size for line in written]))
    d = pieces.segments[rows[hits], 2:] - pieces.segments[rows[hits], :2]
    length = np.hypot(d[:, 0], d[:, 1])
    size = np.array([(b[2] - b[0], b[3] - b[1]) for b in (line.box_pt for line in written)])[texts]
    runs_on = (size[:, 0] >= 0.8 * size[:, 1]) & (np.abs(d[:, 1]) < 0.05 * length)
    runs_up = (size[:, 1] >= 0.8 * size[:, 0]) & (np.abs(d[:, 0]) < 0.05 * length)
    is_skew = (np.abs(d) > 0.05 * length[:, None]).all(1)  # the box of slanting words tells nothing of their direction
    fits = (runs_on | runs_up | is_skew) & (length > size.min(1))
    each, along = np.arange(len(hits)), runs_up.astype(int)
    lows, highs = np.sort(pieces.segments[rows[hits]].reshape(-1, 2, 2), axis=1).transpose(1, 0, 2)
    box = np.array([line.box_pt for line in written]).reshape(-1, 2, 2)[texts]
    starts, stops = lows[each, along] - box[each, 0, along], box[each, 1, along] - highs[each, along]
    slack = _ALONG * (box[each, 1, along] - box[each, 0, along])
    is_over, is_under = (starts < slack) & (stops < slack), (starts > -slack) & (stops > -slack)
    off = lows[each, 1 - along]
    is_through = (off > box[each, 0, 1 - along]) & (off < box[each, 1, 1 - along])
    has_own = np.bincount(texts[fits & is_over & ~is_skew], minlength=len(written)) > 0
    flags[rows[hits[fits & (is_over | is_under | is_through | is_skew | ~has_own[texts])]]] = True
    return flags


def axis_rows(pieces: Pieces, linework: Linework, lines: Sequence[TextLine]) -> Flags:
    """Tell which pieces of linework are lines of a grid or a section, or their marks: they end at a circle with words.

    ``linework`` is asked for its circles, ``lines`` is the sheet's text.
    """
    flags = np.zeros(len(pieces.segments), bool)
    circles = _circles(linework)
    words = [word.box_pt for line in lines for word in line.words]
    rows = np.flatnonzero(pieces.is_whole)
    if not circles or not words or not len(rows):
        return flags
    middles = shapely.points([((b[0] + b[2]) / 2, (b[1] + b[3]) / 2) for b in words])
    places = shapely.points([centre for centre, _, _ in circles])
    radius = np.array([r for _, r, _ in circles])
    inside, word = shapely.STRtree(middles).query(places, predicate="dwithin", distance=0.6 * radius)
    written = np.unique(inside)
    size = np.array([min(b[2] - b[0], b[3] - b[1]) for b in words])
    marks = np.unique(inside[radius[inside] < _TAG * size[word]])  # of doors and windows
    flags |= np.isin(pieces.arc, [row for i in marks.tolist() for row in circles[i][2]])
    ends = pieces.segments[rows].reshape(-1, 2)
    tree = shapely.STRtree(shapely.points(ends))
    for i in written.tolist():
        (x, y), r, _ = circles[i]
        near = tree.query(places[i], predicate="dwithin", distance=1.06 * r + 0.3)
        near = near[np.hypot(*(ends[near] - (x, y)).T) > 0.94 * r - 0.3]
        d = ends[near ^ 1] - ends[near]  # from the end at the circle to the other one
        to = (x, y) - ends[near]
        length = np.hypot(d[:, 0], d[:, 1])
        leads_off = (np.abs(d[:, 0] * to[:, 1] - d[:, 1] * to[:, 0]) < 0.12 * r * length) & ((d * to).sum(1) < 0)
        flags[rows[near[leads_off & (length > 3 * r)] // 2]] = True
        halves = np.hypot(*(ends[near ^ 1] - (x, y)).T) < 1.06 * r + 0.3
        if (halves & (length > 1.9 * r)).any():  # the arrow or the box round a halved circle is part of its mark
            flags |= (np.hypot(*(pieces.segments - (x, y, x, y)).reshape(-1, 2).T).reshape(-1, 2) < _MARK * r).all(1)
    return flags


def dash_rows(pieces: Pieces, linework: Linework, m_per_pt: float) -> Flags:
    """Tell which pieces of linework are dashes: of a dashed pen, or strokes in one line with even gaps between them.

    Some programs plot dashed lines stroke by stroke, and axes as long strokes and short ones by turns; ``m_per_pt`` is
    metres per sheet point.
    """
    flags: Flags = linework.dashed[pieces.path] if len(pieces.path) else np.zeros(0, bool)
    u, lengths = spans(pieces.segments)
    pen = linework.pens[1][pieces.path]
    gap_pt, dash_pt = (min(pt, m / m_per_pt) for pt, m in (_GAP, _DASH))
    is_open = pieces.is_whole & linework.stroked[pieces.path] & ~flags
    rows = np.flatnonzero(is_open & (lengths <= dash_pt))
    for run in _even_rows(pieces.segments[rows], u[rows], pen[rows], gap_pt):
        flags[rows[run]] = True
    rows = np.flatnonzero(is_open & ~flags & (lengths <= _AXIS[1]))
    for place in _even_rows(pieces.segments[rows], u[rows], pen[rows], _AXIS[0]):
        run = rows[place]
        turns = [lengths[run[1:-1][first::2]] for first in (0, 1)]  # the ends of an axis may be cut
        if len(run) >= _DASHES + 2 and all(np.ptp(own) < _UNEVEN * own.mean() for own in turns):
            short, long = sorted(own.mean() for own in turns)
            flags[run] |= short < _DOT * long
    return flags


def _even_rows(own: Floats, u: Floats, pen: Ints, gap_pt: float) -> Iterator[Ints]:
    """Yield runs of strokes that one pen drew in one line with even gaps, of up to so many points, in order.

    ``own`` are the strokes, ``u`` their directions and ``pen`` the numbers of their pens.
    """
    if len(own) < _DASHES:
        return
    turned = np.where(u[:, 0] + 1e-3 * u[:, 1] < 0, -1.0, 1.0)[:, None] * u
    aside = own[:, 0] * turned[:, 1] - own[:, 1] * turned[:, 0]
    ends = np.sort(np.stack([(own[:, :2] * turned).sum(1), (own[:, 2:] * turned).sum(1)]), axis=0)
    for shift in (0.0, 0.5):  # lines that miss one another by a hair share a place in one of the two
        key = np.column_stack([pen, np.round(turned * 200), np.round(aside * 5 + shift)])
        line = np.unique(key, axis=0, return_inverse=True)[1].ravel()
        order = np.lexsort((ends[0], line))
        gap = ends[0][order][1:] - ends[1][order][:-1]
        follows = (np.diff(line[order]) == 0) & (gap > _TOUCHING_PT) & (gap <= gap_pt)
        even = follows[:-1] & follows[1:] & (np.abs(np.diff(gap)) < _UNEVEN * gap[:-1] + _TOUCHING_PT)
        turns = np.flatnonzero(np.diff(np.concatenate([[False], even, [False]]).astype(np.int8)))
        for first, last in zip(turns[::2].tolist(), turns[1::2].tolist(), strict=True):
            if last - first >= _DASHES - 2:
                yield order[first : last + 2]


def _circles(linework: Linework) -> list[tuple[Point, float, list[int]]]:
    """Return the centres, the radii and the arcs of circles, which a linework holds as two halves."""
    halves: dict[tuple[int, int, int], list[int]] = {}
    found: list[tuple[Point, float, list[int]]] = []
    for row in np.flatnonzero(np.abs(np.abs(linework.arcs[:, 4]) - 1) < 0.1).tolist():
        x0, y0, x1, y1, bulge = linework.arcs[row].tolist()
        centre, radius = arc_centre((x0, y0), (x1, y1), bulge)
        own = halves.setdefault((round(centre[0]), round(centre[1]), round(math.log(radius) * 20)), [])
        own.append(row)
        if len(own) == 2:
            found.append((centre, radius, own))
    return found
