"""A picture as linework: its thin strokes as lines and arcs of pens of their own width; what is filled is left out.

Coordinates are pixels, the middle of the first at 0, y down; a line is a row x0, y0, x1, y1, an arc one more with its
bulge, as `takeoff.trace.drawing.curves.fit_arcs` gives it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from itertools import pairwise

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray

from takeoff.geometry.pairs import linked_groups
from takeoff.model.plan import Sheet
from takeoff.sheet.frame import displayed_size
from takeoff.trace.drawing.curves import fit_arcs
from takeoff.trace.drawing.linework import Floats, Ints, Linework, empty_linework
from takeoff.trace.drawing.polygons import spans
from takeoff.trace.drawing.raster_strokes import fitted, joined_lines, pairs_in_line, sampled
from takeoff.trace.scans.field_sides import Side, common_directions, turned_into
from takeoff.trace.scans.wall_network import against_paper, turning

Mask = NDArray[np.uint8]

_FINE, _MOST_PIXELS = 11.8, 3.6e7
"""Pixels to a millimetre of paper that strokes are followed at, 300 to the inch, as far as there are no more pixels
than the second: a sheet of 420 × 594 mm."""
_PEN, _LEAF = 0.8, 0.065
"""Millimetres of the widest pen on paper, metres of the thickest leaf: what is wider is a fill (common practice)."""
_LETTER, _SLIM = 3.6, 0.25
"""Millimetres of the largest letter of common text on paper; width over length of what is a dash and no letter."""
_DARK, _RIDGE = 0.22, 2
"""Darkness of a stroke over its ground, and times that its middle may be as dark as its edge: between are two."""
_ROUGH = 1.5
"""Pixels; how far a chain may lie from its straight pieces."""
_CUT = (math.radians(4), math.radians(42))
_ARC_TURN, _ARC_RISE = math.radians(25), 3.5
"""Turns between pieces of an arc; how far an arc turns and how many pixels it rises at the least: corners that
thinning has rounded do neither."""
_SHORT = 6.4
"""Pixels of the shortest piece: below are rounded corners."""
_ALIKE = 1.35
"""Widths of one pen differ by less; wall faces are drawn 1.5 times as wide as thresholds (common practice)."""
_BREAK = 16.0
"""Pixels over which a line goes on through ink."""
_ASIDE, _INK = 0.9, 0.15
"""Pixels by which what is one line may miss; darkness from which there is ink."""
_MEETS = 5.3
"""Pixels by which an end that reaches another line is lengthened or cut."""
_MOST = 20_000
"""Chains; a sheet that has more is a photograph or dirt, not lines (judgement)."""
_WEIGHED = 15.0
"""Pixels of a line from which it tells of its pen."""


def linework_of_picture(grey: Mask, sheet: Sheet, m_per_pt: float) -> Linework | None:
    """Return the strokes of a picture as linework in sheet points; nothing where there are none, or dirt.

    Pictures of over 36 million pixels are not followed: it took 6 s more, for nothing on the three real ones so large.

    ``grey`` is the whole sheet as displayed; ``m_per_pt`` its scale.
    """
    height, width = grey.shape
    across, down = displayed_size(sheet)
    px_per_mm = width / across * 72 / 25.4
    if grey.size > _MOST_PIXELS:
        return None
    dark = np.asarray(np.clip(against_paper(grey), 0.0, 1.0) * np.float32(255), np.uint8)
    widest = round(max(_PEN * px_per_mm, _LEAF / m_per_pt * width / across + 0.2 * px_per_mm, 4)) | 1
    dark = cv2.subtract(dark, cv2.morphologyEx(dark, cv2.MORPH_OPEN, np.ones((widest, widest), np.uint8)))
    grow = max(1.0, min(_FINE / px_per_mm, math.sqrt(_MOST_PIXELS / dark.size), 2.0))
    if grow > 1.0:
        dark = cv2.resize(dark, None, fx=grow, fy=grow, interpolation=cv2.INTER_CUBIC)
    found = _ink_lines(dark / np.float32(255), _strokes(np.asarray(dark, np.uint8), px_per_mm * grow))
    if found is None:
        return None
    straight, pens, round_ = found
    turn = turning(sheet, (width / across, height / down))
    lines, arcs = (turn((rows[:, :4].reshape(-1, 2) + 0.5) / grow).reshape(-1, 4) for rows in (straight, round_))
    strokes, total = len(straight), len(straight) + len(round_)
    pens = np.append(pens, np.full(total - strokes, pens.min()))  # leaves swing in the thinnest
    return replace(
        empty_linework(),
        lines=lines,
        line_path=np.arange(strokes),
        arcs=np.column_stack([arcs, round_[:, 4]]),
        arc_path=np.arange(strokes, total),
        stroked=np.ones(total, bool),
        filled=np.zeros(total, bool),
        width=np.round(pens / grow * across / width, 2),
        colour=np.zeros((total, 3)),
        fill=np.zeros((total, 3)),
        dashed=np.zeros(total, bool),
        layer=np.zeros(total, np.int64),
    )


def _strokes(thin: Mask, px_per_mm: float) -> Mask:
    """Tell where strokes are: dark over their ground, and no letters nor specks."""
    reach = 2 * round(px_per_mm / _FINE * 2) + 1
    ridge = cv2.dilate(thin, np.ones((max(3, reach), max(3, reach)), np.uint8)) // _RIDGE
    mask = ((thin > 255 * _DARK) & (thin > ridge)).astype(np.uint8)
    _, labels, stats, _ = cv2.connectedComponentsWithStats(mask, connectivity=8)
    long, wide = (np.sort(stats[:, 2:4], axis=1)[:, k] for k in (1, 0))
    is_left_out = ((long < _LETTER * px_per_mm) & (wide > _SLIM * long)) | (long < px_per_mm)
    is_left_out[0] = True
    return (~is_left_out[labels]).astype(np.uint8)


def _ink_lines(ink: NDArray[np.float32], mask: Mask) -> tuple[Floats, Floats, Floats] | None:
    """Find the lines of thin ink, the width of each one's pen, and the arcs; nothing in dirt.

    ``ink`` is darkness from 0 to 1, ``mask`` where there is any.
    """
    chains = chains_of(thinned(mask))
    if not chains or len(chains) > _MOST:
        return None
    pieces, arcs = _pieces(chains)
    pieces = pieces[spans(pieces)[1] > _SHORT]
    if not len(pieces):
        return None
    placed, weights = fitted(ink, pieces)
    lines, weights = fitted(ink, joined_lines(placed, _one_line(placed, weights, ink)))
    sides = [_side(row) for row in lines]
    common = common_directions(sides)
    lines = np.array([(*side.start, *side.stop) for side in (turned_into(side, common) for side in sides)])
    pens = _pens(weights, spans(lines)[1])
    return _met(lines), pens, arcs


def _side(row: Floats) -> Side:
    along = row[2:] - row[:2]
    half = float(np.hypot(*along)) / 2
    return Side(foot=(row[:2] + row[2:]) / 2, along=along / max(2 * half, 1e-9), low=-half, high=half)


def _pieces(chains: Sequence[Floats]) -> tuple[Floats, Floats]:
    """Cut chains into straight pieces and arcs."""
    lines: list[Floats] = []
    arcs: list[tuple[float, ...]] = []
    for chain in chains:
        pixels = chain.astype(np.int32)
        rough = _ROUGH if len(chain) > 10 * _ROUGH else 2 * _ROUGH
        cuts = cv2.approxPolyDP(pixels.reshape(-1, 1, 2), rough, closed=False)[:, 0, :]
        rows = sorted({0, len(chain) - 1, *(int(np.argmax((pixels == cut).all(1))) for cut in cuts)})
        used, found = _arcs(chain, rows)
        arcs.extend(found)
        lines.extend(np.concatenate([chain[a], chain[b]]) for k, (a, b) in enumerate(pairwise(rows)) if k not in used)
    return np.array(lines).reshape(-1, 4), np.array(arcs).reshape(-1, 5)


def _arcs(chain: Floats, rows: list[int]) -> tuple[set[int], list[tuple[float, ...]]]:
    """Find runs of pieces that bend one way and lie on a circle: their numbers, and the arcs."""
    used: set[int] = set()
    arcs: list[tuple[float, ...]] = []
    if len(rows) < 4:
        return used, arcs
    step = np.diff(chain[rows], axis=0)
    turn = np.diff(np.arctan2(step[:, 1], step[:, 0]))
    turn = (turn + math.pi) % (2 * math.pi) - math.pi
    bends = (np.abs(turn) > _CUT[0]) & (np.abs(turn) < _CUT[1])
    first = 0
    while first < len(turn):
        last = first
        while last < len(turn) and bends[last] and turn[last] * turn[first] > 0:
            last += 1
        for a, b in ((first, last), (first + 1, last), (first, last - 1), (first + 1, last - 1)):
            points = chain[rows[a] : rows[b + 1] + 1] if last - first > 1 and b > a else chain[:0]
            found = fit_arcs(points, 1.2) if len(points) > 8 else []
            rise = sum(abs(arc[4]) * math.dist(arc[:2], arc[2:4]) / 2 for arc in found)
            if rise > _ARC_RISE and 4 * sum(math.atan(abs(arc[4])) for arc in found) > _ARC_TURN:
                arcs.extend(found)
                used.update(range(a, b + 1))
                break
        first = max(last, first + 1)
    return used, arcs


def _one_line(lines: Floats, weights: Floats, ink: NDArray[np.float32]) -> Ints:
    """Number the pieces that are one line: of one pen, in line, with ink between them."""
    a, b = pairs_in_line(lines, _BREAK + _ASIDE, _ASIDE)
    pen = np.maximum(weights[a], weights[b])
    fits = pen < _ALIKE * np.maximum(np.minimum(weights[a], weights[b]), 0.1)
    a, b = a[fits], b[fits]
    ends, others = lines[a].reshape(-1, 2, 2), lines[b].reshape(-1, 2, 2)
    apart = np.hypot(*(ends[:, :, None] - others[:, None]).transpose(3, 0, 1, 2)).reshape(-1, 4)
    nearest, gap = apart.argmin(1), apart.min(1)
    rows = np.arange(len(a))
    p, q = ends[rows, nearest // 2], others[rows, nearest % 2]
    along = sampled(ink, p[:, None] + np.linspace(0, 1, 17)[None, :, None] * (q - p)[:, None]).min(1)
    goes_on = (gap < 2.5) | (along > _INK)
    return linked_groups(len(lines), a[goes_on], b[goes_on])


def _pens(weights: Floats, lengths: Floats) -> Floats:
    """Return for each line the mean width of the pen that drew it: widths with few between them are two pens."""
    size, tells = np.log(np.clip(weights, 0.3, 12.0)), lengths > _WEIGHED
    edges = np.arange(math.log(0.3), math.log(12.0) + 0.06, 0.06)
    drawn = np.convolve(np.histogram(size[tells], edges, weights=lengths[tells])[0], (0.25, 0.5, 0.25), "same")
    least = 0.02 * drawn.sum()
    peaks = [i for i in range(1, len(drawn) - 1) if drawn[i - 1] <= drawn[i] > max(drawn[i + 1], least)]
    cuts: list[float] = []
    for peak in peaks[1:]:
        last = max((p for p in peaks if p < peak and (not cuts or edges[p] > cuts[-1])), key=lambda p: float(drawn[p]))
        low = last + int(np.argmin(drawn[last : peak + 1]))
        if drawn[low] < 0.35 * min(drawn[last], drawn[peak]):
            cuts.append(float(edges[low]) + 0.03)
    kind = np.searchsorted(cuts, size)
    total = np.bincount(kind, lengths + 1e-9, len(cuts) + 1)
    return np.asarray((np.bincount(kind, weights * (lengths + 1e-9), len(cuts) + 1) / np.maximum(total, 1e-9))[kind])


def _met(lines: Floats) -> Floats:
    """Lengthen or cut ends so that they lie on the line that they reach."""
    shapes = shapely.linestrings(lines.reshape(-1, 2, 2))
    u, length = spans(lines)
    ends = lines.reshape(-1, 2).copy()
    end, other = shapely.STRtree(shapes).query(shapely.points(ends), predicate="dwithin", distance=_MEETS)
    own = end // 2
    cross = u[own, 0] * u[other, 1] - u[own, 1] * u[other, 0]
    kept = np.abs(cross) > 0.35
    end, other, own, cross = end[kept], other[kept], own[kept], cross[kept]
    to = lines[other, :2] - ends[end]
    move = (to[:, 0] * u[other, 1] - to[:, 1] * u[other, 0]) / cross
    place = ends[end] + u[own] * move[:, None]
    along = ((place - lines[other, :2]) * u[other]).sum(1)
    over = np.maximum(np.maximum(-along, along - length[other]), 0.0)
    cost = np.abs(move) + over - 0.3 * (np.where(end % 2, move, -move) > 0)
    fits = (np.abs(move) < _MEETS) & (over < _MEETS)
    for row in np.argsort(-cost).tolist():  # the nearest last
        if fits[row]:
            ends[end[row]] = place[row]
    return ends.reshape(-1, 4)


_AROUND = np.array([[1, 2, 4], [128, 0, 8], [64, 32, 16]], np.float32)
_PASSES = 12
"""Pixels; half the width of the widest stroke that is thinned to its middle."""


@cache
def _tables() -> Mask:
    """Return by the code of a pixel's neighbours whether either half of a pass takes it.

    Z. Guo and R. W. Hall, Parallel thinning with two-subiteration algorithms, Communications of the ACM 32 (1989).
    """
    taken = np.zeros((2, 256), np.uint8)
    for code in range(256):
        p2, p3, p4, p5, p6, p7, p8, p9 = ((code >> k) & 1 for k in (1, 2, 3, 4, 5, 6, 7, 0))
        parts = sum(not a and (b or c) for a, b, c in ((p2, p3, p4), (p4, p5, p6), (p6, p7, p8), (p8, p9, p2)))
        near = min((p9 | p2) + (p3 | p4) + (p5 | p6) + (p7 | p8), (p2 | p3) + (p4 | p5) + (p6 | p7) + (p8 | p9))
        for half, holds in enumerate(((p6 | p7 | (1 - p9)) & p8, (p2 | p3 | (1 - p5)) & p4)):
            taken[half, code] = parts == 1 and 2 <= near <= 3 and not holds
    return taken


def thinned(mask: Mask) -> Mask:
    """Return the middles of the strokes of a mask of 0 and 1."""
    kept = mask.copy()
    for _ in range(_PASSES):
        before = cv2.countNonZero(kept)
        for table in _tables():
            codes = cv2.filter2D(kept, cv2.CV_8U, _AROUND, borderType=cv2.BORDER_CONSTANT)
            kept -= np.asarray(cv2.LUT(codes, table) & kept, np.uint8)
        if cv2.countNonZero(kept) == before:
            break
    return kept


def chains_of(middles: Mask) -> list[Floats]:
    """Return the chains of pixels between ends and meetings of what is one pixel wide, rows x, y; rings are closed."""
    ink = np.pad(middles > 0, 1)
    links = []
    for down, across in ((0, 1), (1, 0), (1, 1), (1, -1)):
        is_next = ink[1:-1, 1:-1] & np.roll(ink, (-down, -across), (0, 1))[1:-1, 1:-1]
        if down and across:  # not past a pixel that both touch by a side
            is_next &= ~(np.roll(ink, -down, 0) | np.roll(ink, -across, 1))[1:-1, 1:-1]
        ys, xs = np.nonzero(is_next)
        links.append(np.column_stack([xs, ys, xs + across, ys + down]).reshape(-1, 2, 2))
    merged = shapely.line_merge(shapely.multilinestrings(np.concatenate(links).astype(np.float64)))
    return [shapely.get_coordinates(part) for part in shapely.get_parts(merged)]
