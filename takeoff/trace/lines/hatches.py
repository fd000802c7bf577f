"""Hatches: families of parallel lines at one spacing, which are no walls however narrow the space between them."""

from __future__ import annotations

import numpy as np
import shapely

from takeoff.trace.drawing.linework import Flags, Floats, Ints, Linework, Pieces
from takeoff.trace.drawing.polygons import spans

_LEAST = 6
_SHORT = 0.12
_EVEN = 0.01
_LONGER = 3.0
"""Times the lines on both its sides from which a line of a hatch is a wall's face, in line with a tread or a joint
(judgement)."""
_SPACING = 0.66
"""Metres; the widest spacing of a hatch: tiles are seldom larger (common practice, no source)."""
_PAIRS = 1_000_000
"""Pairs of lines that are compared at a time: about 50 MB."""
_SLABS, _GAP, _JOINTS = 1.3, 0.016, 24
"""Metres up to which slabs of a floor are wide, the share of it that a joint is wide, 20 mm, and how many lines a grid
of slabs has at least (judgement)."""


def hatch_rows(pieces: Pieces, linework: Linework, is_note: Flags, m_per_pt: float) -> Flags:
    """Tell which pieces of linework belong to a hatch.

    Those are at least six lines of one pen, parallel, evenly spaced and side by side; ``is_note`` are dimension lines,
    and left out. The flags are one per piece.
    """
    flags = np.zeros(len(pieces.segments), bool)
    lengths = np.hypot(*(pieces.segments[:, 2:] - pieces.segments[:, :2]).T)
    rows = np.flatnonzero(pieces.is_whole & linework.stroked[pieces.path] & ~is_note & (lengths > _SHORT / m_per_pt))
    if len(rows) < _LEAST:
        return flags
    d = pieces.segments[rows, 2:] - pieces.segments[rows, :2]
    angle = np.mod(np.degrees(np.arctan2(d[:, 1], d[:, 0])) + 0.25, 180.0)
    number = linework.pens[1]
    family = number[pieces.path[rows]] * 1000 + np.floor(angle * 2).astype(np.int64)
    slabs, reach = np.zeros(len(flags), bool), np.zeros(len(flags))
    for key in np.unique(family):
        members = rows[family == key]
        if len(members) >= _LEAST:
            is_even, reach[members] = _evenly_spaced(pieces.segments[members], _SPACING / m_per_pt)
            flags[members[is_even]] = True
            slabs[members[_evenly_spaced(pieces.segments[members], _SLABS / m_per_pt)[0]]] = True
    kind = np.full(len(flags), -1)
    drawn = pieces.is_whole & linework.stroked[pieces.path] & ~is_note
    kind[drawn] = number[pieces.path[drawn]]
    flags[_grid(pieces.segments, slabs & ~flags, kind, _SLABS / m_per_pt)] = True
    flags[_bounding(pieces.segments, flags, kind, _SPACING / m_per_pt)] = False
    flags[_crossing(pieces.segments, flags, kind, _SPACING / m_per_pt, reach)] = True
    return flags


def _grid(segments: Floats, is_even: Flags, kind: Ints, most: float) -> Ints:
    """Return the rows of the joints of large slabs: evenly spaced lines that others of their pen leave on both sides.

    With them go the lines that cross them, and what walls cut off a joint, up to ``most`` sheet points long: it lies on
    the line of the others.
    """
    u, lengths = spans(segments)
    joint, drawn = most * _GAP, np.flatnonzero(kind >= 0)
    rows = _left_by(np.flatnonzero(is_even), drawn, segments, u, kind, joint, 12 * joint)
    pens, counts = np.unique(kind[rows], return_counts=True)
    joints = np.zeros(len(segments), bool)
    joints[rows[np.isin(kind[rows], pens[counts >= _JOINTS])]] = True
    if not joints.any():
        return np.zeros(0, np.int64)
    turned = np.where(u[:, 0] + 1e-3 * u[:, 1] < 0, -1.0, 1.0)[:, None] * u
    off = segments[:, 0] * turned[:, 1] - segments[:, 1] * turned[:, 0]
    key = np.column_stack([kind, np.round(turned * 200), np.round(off * 5)]).astype(np.int64)
    line = np.unique(key, axis=0, return_inverse=True)[1].ravel()
    short = (kind >= 0) & (lengths <= most)
    joints |= short & np.isin(line, line[joints])
    joints[_crossing(segments, joints, kind, most)] = True
    joints |= short & np.isin(line, line[joints])
    rows = np.flatnonzero(joints)
    return _left_by(rows, rows, segments, u, kind, joint, 4 * joint)


def _left_by(rows: Ints, others: Ints, segments: Floats, u: Floats, kind: Ints, joint: float, far: float) -> Ints:
    """Return those of some rows from which others, of their pen, go off square on both sides: no wall's faces.

    ``joint`` is the width of a joint in sheet points: slabs may be drawn one by one. The others go ``far`` at least.
    """
    lines = shapely.linestrings(segments[others].reshape(-1, 2, 2))
    own = shapely.linestrings(segments[rows].reshape(-1, 2, 2))
    one, other = shapely.STRtree(lines).query(own, predicate="dwithin", distance=joint)
    r, q = rows[one], others[other]
    square = (np.abs((u[r] * u[q]).sum(1)) < 0.02) & (kind[r] == kind[q])
    one, r, q = one[square], r[square], q[square]
    ends = segments[q].reshape(-1, 2, 2) - segments[r, None, :2]
    aside = ends[:, :, 0] * u[r, None, 1] - ends[:, :, 1] * u[r, None, 0]
    goes = [np.bincount(one[side], minlength=len(rows)) > 0 for side in (aside.max(1) > far, aside.min(1) < -far)]
    found: Ints = rows[goes[0] & goes[1]]
    return found


def _bounding(segments: Floats, is_hatch: Flags, kind: Ints, most: float) -> Ints:
    """Return the rows of lines at which a hatch ends: lines of its pen end on them, and all from one side.

    Such a line is the face of a wall that happens to stand at the hatch's spacing. ``most`` is the widest spacing.
    """
    hatch = np.flatnonzero(is_hatch)
    u, lengths = spans(segments[hatch])
    long = lengths > 0.7 * most
    if not long.any():
        return np.zeros(0, np.int64)
    rows, along = hatch[long], u[long]
    sides = np.zeros((2, len(rows)), np.int64)
    ends = np.concatenate([segments[hatch], segments[hatch][:, [2, 3, 0, 1]]])  # each from the end that is asked about
    pen, lengths = np.tile(kind[hatch], 2), np.tile(lengths, 2)
    way = np.round(np.degrees(np.arctan2(along[:, 1], along[:, 0])))
    for angle in np.unique(way):  # turned to level, lines lie in boxes that are as thin as they are
        own = np.flatnonzero(way == angle)
        cos, sin = np.cos(np.radians(angle)), np.sin(np.radians(angle))
        turn = np.array([[cos, -sin], [sin, cos]])
        tree = shapely.STRtree(shapely.linestrings(segments[rows[own]].reshape(-1, 2, 2) @ turn))
        end, touched = tree.query(shapely.points(ends[:, :2] @ turn), "dwithin", 0.1)
        touched = own[touched]
        away = ends[end, 2:] - ends[end, :2]
        aside = along[touched, 0] * away[:, 1] - along[touched, 1] * away[:, 0]
        counts = (pen[end] == kind[rows[touched]]) & (np.abs(aside) > 0.3 * lengths[end])
        for side, is_here in enumerate((aside > 0, aside < 0)):
            sides[side] += np.bincount(touched[counts & is_here], minlength=len(rows))
    found: Ints = rows[(sides.max(0) >= 3) & (sides.min(0) == 0)]
    return found


def _crossing(segments: Floats, is_hatch: Flags, kind: Ints, most: float, reach: Floats | None = None) -> Ints:
    """Return the rows that cross four lines or more of a hatch in their own pen: the other lines of a grid.

    ``most`` is the widest spacing of a grid in sheet points, ``reach`` how long each line of the hatch is with all that
    goes on in it: those of a grid are longer than what runs from one to the next, the joints of blocks in a wall are
    shorter.
    """
    hatch = np.flatnonzero(is_hatch)
    others = np.flatnonzero((kind >= 0) & ~is_hatch & np.isin(kind, np.unique(kind[hatch])))
    if not len(hatch) or not len(others):
        return np.zeros(0, np.int64)
    u, _ = spans(segments[hatch])
    inset = u * 0.1  # what only ends at a line does not cross it
    shorter = segments[hatch] + np.concatenate([inset, -inset], axis=1)
    whole = shapely.STRtree(shapely.linestrings(segments[hatch].reshape(-1, 2, 2)))
    tree = shapely.STRtree(shapely.linestrings(shorter.reshape(-1, 2, 2)))
    lines, crossed = tree.query(shapely.linestrings(segments[others].reshape(-1, 2, 2)), predicate="intersects")
    alike = kind[others[lines]] == kind[hatch[crossed]]
    lines, crossed = lines[alike], crossed[alike]
    through = _parts(segments[others[lines]], shorter[crossed]) & _parts(shorter[crossed], segments[others[lines]])
    crosses = np.bincount(lines[through], minlength=len(others)) >= 4
    # where the lines of a grid are drawn in pieces, a piece ends on others at both its ends, or goes on one of them
    own, lengths = spans(segments[others])
    ends_on = lengths <= most
    goes_on = np.zeros(len(others), bool)
    for end in (slice(0, 2), slice(2, 4)):
        points, touched = whole.query(shapely.points(segments[others, end]), predicate="dwithin", distance=0.05)
        alike = kind[others[points]] == kind[hatch[touched]]
        if reach is not None:
            alike &= reach[hatch[touched]] > 0.9 * lengths[points]
        points, touched = points[alike], touched[alike]
        ends_on &= np.bincount(points, minlength=len(others)) > 0
        along = np.abs(own[points, 0] * u[touched, 1] - own[points, 1] * u[touched, 0]) < 0.01
        goes_on |= (np.bincount(points[along], minlength=len(others)) > 0) & (lengths <= most)
    found: Ints = others[crosses | ends_on | goes_on]
    return found


def _parts(lines: Floats, others: Floats) -> Flags:
    """Tell row by row which lines, drawn on, have the ends of another one on both their sides."""
    d, off = lines[:, 2:] - lines[:, :2], others.reshape(-1, 2, 2) - lines[:, None, :2]
    aside = d[:, None, 0] * off[:, :, 1] - d[:, None, 1] * off[:, :, 0]
    flags: Flags = aside[:, 0] * aside[:, 1] < 0
    return flags


def _evenly_spaced(lines: Floats, most: float) -> tuple[Flags, Floats]:
    """Tell which of several parallel lines stand in a row of six or more at one spacing, and how long each is in all.

    Lines that follow one another on one line are one.
    """
    ways, lengths = spans(lines)
    u = ways[int(np.argmax(lengths))]
    n = np.array([-u[1], u[0]])
    middle = (lines[:, :2] + lines[:, 2:]) / 2
    offset = middle @ n
    a, b = lines[:, :2] @ u, lines[:, 2:] @ u
    start, end = np.minimum(a, b), np.maximum(a, b)
    whole, offset, start, end = _joined(offset, start, end)
    return _in_rows(offset, start, end, most)[whole], (end - start)[whole]


def _joined(offset: Floats, start: Floats, end: Floats) -> tuple[Ints, Floats, Floats, Floats]:
    """Join lines that follow one another on one line: for each the number of the whole, and the wholes."""
    across = np.argsort(offset, kind="stable")
    on_line = np.empty(len(offset), np.int64)
    on_line[across] = np.cumsum(np.concatenate([[0], np.diff(offset[across]) > 0.05]))
    order = np.lexsort((start, on_line))
    level, low, high = on_line[order], start[order], end[order]
    begins = np.concatenate([[True], (np.diff(level) != 0) | (low[1:] > high[:-1] + 0.2)])
    number = np.cumsum(begins) - 1
    whole = np.empty(len(order), np.int64)
    whole[order] = number
    first = np.flatnonzero(begins)
    return whole, offset[order][first], np.minimum.reduceat(low, first), np.maximum.reduceat(high, first)


def _in_rows(offset: Floats, start: Floats, end: Floats, most: float) -> Flags:
    """Tell which of several parallel lines, given across and along, stand in a row of six or more at one spacing."""
    order = np.argsort(offset, kind="stable")
    offset, start, end = offset[order], start[order], end[order]
    flags = np.zeros(len(order), bool)
    following = _next_beside(offset, start, end, 0.02 * most, most)
    if (following < 0).all():
        return flags
    _mark_rows(flags, order, following, offset)
    # lines of other things in between break the rows: look again for the spacing that is commonest
    gap = np.round(offset[following[following >= 0]] - offset[following >= 0], 1)
    values, counts = np.unique(gap, return_counts=True)
    step = float(values[np.argmax(counts)])
    again = _next_beside(offset, start, end, (1 - _EVEN) * step - 0.06, (1 + _EVEN) * step + 0.06)
    _mark_rows(flags, order, again, offset)
    flags[order[_faces(end - start, flags[order], following, again)]] = False
    return flags


def _faces(lengths: Floats, is_hatch: Flags, *following: Ints) -> Ints:
    """Return the lines of a hatch far longer than those on both its sides: a tread or a joint lies on a wall's face.

    ``following`` are for each line the next ones beside it.
    """
    beside = np.zeros(len(lengths))
    for after in following:
        here = np.flatnonzero((after >= 0) & is_hatch & is_hatch[after])
        np.maximum.at(beside, here, lengths[after[here]])
        np.maximum.at(beside, after[here], lengths[here])
    return np.flatnonzero(is_hatch & (beside > 0) & (lengths > _LONGER * beside))


def _mark_rows(flags: Flags, order: Ints, following: Ints, offset: Floats) -> None:
    """Flag the lines that stand in rows of six or more, each row at one spacing, and what goes on at its edges."""
    gap = np.where(following >= 0, offset[following] - offset, np.nan)
    apart, marked = gap.tolist(), flags[order].tolist()  # lists are read one by one far quicker than arrays
    run = [1] * len(order)  # lines in the row that ends here
    back = [-1] * len(order)
    for here, there in enumerate(following.tolist()):
        if there < 0:
            continue
        before = back[here]
        even = before >= 0 and abs(apart[here] - apart[before]) < _EVEN * apart[before] + 0.03
        if (run[here] + 1 if even else 2) > run[there]:
            run[there] = run[here] + 1 if even else 2
            back[there] = here
        if run[there] >= _LEAST:
            step, place = run[there], there
            while step > 0 and place >= 0 and not (marked[place] and step < run[there] - 1):
                marked[place] = True
                place, step = back[place], step - 1
    flags[order] = marked
    _extend(flags, order, following, gap)


def _extend(flags: Flags, order: Ints, following: Ints, gap: Floats) -> None:
    """Take into a hatch the lines at its edges that go on at its spacing."""
    inside = gap[flags[order] & (following >= 0)]
    if not len(inside):
        return
    step = float(np.nanmedian(inside))
    fits = np.flatnonzero((following >= 0) & (np.abs(gap - step) < _EVEN * step + 0.03))
    marked, pairs = flags.tolist(), np.column_stack([order[fits], order[following[fits]]]).tolist()
    for _ in range(3):
        for one, other in pairs:
            marked[one] = marked[other] = marked[one] or marked[other]
    flags[:] = marked


def _next_beside(offset: Floats, start: Floats, end: Floats, least: float, most: float) -> Ints:
    """For each line, find the next one to the side that lies beside it over most of the shorter of both; −1: none."""
    following = np.full(len(offset), -1, np.int64)
    lows, highs = np.searchsorted(offset, offset + least), np.searchsorted(offset, offset + most)
    here = np.flatnonzero(lows < highs)
    many = np.cumsum(highs[here] - lows[here]) // _PAIRS
    for some in np.split(here, np.flatnonzero(np.diff(many)) + 1):
        counts = highs[some] - lows[some]
        own = np.repeat(some, counts)
        other = np.arange(len(own)) + np.repeat(lows[some] - np.cumsum(counts) + counts, counts)
        shared = np.minimum(end[other], end[own]) - np.maximum(start[other], start[own])
        shorter = np.minimum(end[other] - start[other], end[own] - start[own])
        beside = np.flatnonzero(shared > 0.5 * shorter)
        mine, nearest = np.unique(own[beside], return_index=True)
        following[mine] = other[beside[nearest]]
    return following
