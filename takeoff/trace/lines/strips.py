"""Faces between lines that may be walls, and the short lines that close none."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from takeoff.trace.drawing.linework import Flags, Floats, Ints
from takeoff.trace.drawing.polygons import Lines, spans

_WRITTEN, _FULL = 0.02, 0.2
"""Shares of a face that the words in it cover: first where it may be a cell of a table, then where it is one."""
_GRID = 20
"""Parts of the reach of a line's end that lines are cut to."""


def noded(segments: Floats, *, reach: float) -> Lines:
    """Return lines cut where they meet, each lengthened by ``reach`` at both ends, so that corners which miss close.

    ``segments`` are rows x0, y0, x1, y1, in sheet points as ``reach`` is.
    """
    segments = _in_one_line(segments[spans(segments)[1] > 1e-6], reach)
    lines: Lines = shapely.get_parts(shapely.union_all(_longer(segments, reach), grid_size=reach / _GRID))
    return lines


def with_more(lines: Lines, segments: Floats, *, reach: float) -> Lines:
    """Return lines that are cut where they meet with some more of `noded`; only what these touch is cut again."""
    more = _longer(segments, reach)
    met = np.zeros(len(lines), bool)
    met[shapely.STRtree(more).query(lines, "dwithin", reach / _GRID)[0]] = True
    cut = shapely.union_all(np.concatenate([lines[met], more]), grid_size=reach / _GRID)
    return np.concatenate([lines[~met], shapely.get_parts(cut)])


def _longer(segments: Floats, reach: float) -> Lines:
    u = spans(segments)[0] * reach
    return np.asarray(shapely.linestrings((segments + np.concatenate([-u, u], axis=1)).reshape(-1, 2, 2)))


def strips_between(lines: Lines, words: Sequence[Polygon]) -> list[Polygon]:
    """Return the faces that lines of `noded` enclose, but the cells of tables; a wall under a word or two is none.

    ``words`` are boxes of words in sheet points.
    """
    faces = shapely.get_parts(shapely.polygonize(lines))
    faces = faces[shapely.area(faces) > 0]
    if not len(faces) or not words:
        return list(faces)
    boxes = np.array(words, object)
    within = shapely.buffer(boxes, -0.15 * np.sqrt(shapely.area(boxes)).min(initial=np.inf), join_style="mitre")
    word, face = shapely.STRtree(faces).query(within, predicate="within")
    covered = np.bincount(face, shapely.area(boxes)[word], minlength=len(faces))
    share = covered / shapely.area(faces)
    cells = _beside_one_another(faces, np.flatnonzero(share > _WRITTEN)) | set(np.flatnonzero(share > _FULL).tolist())
    return [f for i, f in enumerate(faces.tolist()) if i not in cells]


def _in_one_line(segments: Floats, reach: float) -> Floats:
    """Join strokes that follow one another in one line with gaps that ``reach`` closes: dotted lines, dot by dot."""
    u = spans(segments)[0]
    step = segments[1:, :2] - segments[:-1, 2:]
    on, aside = (step * u[:-1]).sum(1), step[:, 0] * u[:-1, 1] - step[:, 1] * u[:-1, 0]
    follows = (np.abs(u[1:] - u[:-1]).max(1) < 1e-6) & (np.abs(aside) < 1e-3 * reach) & (on >= 0) & (on < 2 * reach)
    begins = np.ones(len(segments), bool)
    begins[1:] = ~follows
    first = np.flatnonzero(begins)
    last = np.append(first, len(segments))[1:] - 1
    return np.concatenate([segments[first, :2], segments[last, 2:]], axis=1)


def _beside_one_another(faces: NDArray[np.object_], chosen: Ints) -> set[int]:
    """Return those of the chosen faces that share most of a long side with another one of them, as cells do."""
    shapes = faces[chosen]
    first, second = shapely.STRtree(shapes).query(shapes, predicate="touches")
    shared = shapely.length(shapely.intersection(shapes[first], shapes[second]))
    long = shapely.length(shapes) / 2 - shapely.area(shapes) / np.maximum(shapely.length(shapes) / 2, 1e-9)
    return set(chosen[np.unique(first[shared > 0.7 * np.minimum(long[first], long[second])])].tolist())


def without_bits(segments: Floats, is_chord: Flags, *, short: float, reach: float) -> Floats:
    """Leave out short lines that end on nothing at both ends, or at one if they are very short.

    They close no face of a wall; the sides of a wall that ends openly beside a door do.

    ``segments`` are rows x0, y0, x1, y1 in sheet points; those that are chords of an arc (``is_chord``) stay. ``short``
    is the length of a short line, ``reach`` how far an end may lie from what it ends on, in sheet points.
    """
    lengths = np.hypot(segments[:, 2] - segments[:, 0], segments[:, 3] - segments[:, 1])
    stays = is_chord | (lengths >= short)
    if stays.all():
        return segments
    ends = segments.reshape(-1, 2)
    meets = (_shares_cell(ends, reach, 0.0) | _shares_cell(ends, reach, 0.5)).reshape(-1, 2)
    tree = shapely.STRtree(shapely.linestrings(segments[stays].reshape(-1, 2, 2)))
    for end, place in ((0, slice(0, 2)), (1, slice(2, 4))):
        rows = np.flatnonzero(~stays & ~meets[:, end])
        hits = tree.query(shapely.points(segments[rows, place]), predicate="dwithin", distance=reach)[0]
        meets[rows[np.unique(hits)], end] = True
    return segments[stays | meets.all(1) | (meets.any(1) & (lengths > 0.6 * short))]


def _shares_cell(points: Floats, size: float, shift: float) -> Flags:
    """Tell which points have another one in their cell of a square grid."""
    cells = np.floor(points / (4 * size) + shift).astype(np.int64)
    _, number, count = np.unique(cells[:, 0] * 2**31 + cells[:, 1], return_inverse=True, return_counts=True)
    flags: Flags = count[number.ravel()] > 1
    return flags
