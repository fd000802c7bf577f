"""Letters that are strokes, read by their shapes: a sheet draws each letter the same way wherever it stands.

Drawing programs write with pens, so a page may have its dimensions as strokes alone. Lines of such letters whose words
are known teach what each shape is; once all ten figures are taught every other line with a figure is read by those
shapes. A line with a shape that was not taught is left out whole: a length with a figure lost is another length.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from takeoff.geometry.pairs import linked_groups
from takeoff.model.plan import Sheet
from takeoff.sheet.frame import box_round
from takeoff.sheet.scales import SPELLINGS
from takeoff.sheet.text import TextLine, Word
from takeoff.trace.drawing.linework import Linework

Floats = NDArray[np.float64]
Pictures = NDArray[np.float32]
Ints = NDArray[np.int64]

_JOIN_PT = 0.02
"""Points within which two strokes have one end (files round to a hundredth)."""
_TOUCH = 0.02
"""Part of the letters' height that lies between two letters at least."""
_NEAR, _NEXT, _SPACE = 0.75, 1.1, 0.85
"""Gaps up to which a letter stands in one line with the next, over the larger of both, and a part of a line with the
next part, over their height; and from which a space is between: in stroke fonts two 1s are 0.7 apart, words 0.9 and
more (measured on sheets of one office)."""
_LEVEL = 0.2
"""Part of their height by which two parts of one line differ in height and foot at the most."""
_TALLEST, _LOWEST = 1.3, 0.5
"""Height of letters that are read, over the middle one and the lowest of the lines that were taught (judgement)."""
_LONGEST = 1.6
"""Longer side of a letter at the most, over the height of its line: a W is wider than high (judgement)."""
_CLEAR = 0.5
"""Part of their height beside a line in which nothing else is drawn: a figure that touches a line may be lost."""
_ROWS, _COLUMNS, _HIGH, _FOOT, _EDGE = 26, 24, 14, 18, 3
"""Cells of the picture of a letter: rows and columns, how many of them it is high, the row of its foot, and the empty
ones before it."""
_ALIKE, _CLEARER = 0.85, 0.03
"""Likeness to what was taught from which a letter is read, and by which it must beat other letters (measured on two
sheets: the same letter mostly 0.9 and more; 1 and I, 0 and O are one shape and told by what stands beside)."""
_FEWEST, _MOST = 2, 40
"""Letters of a line that is read."""
_SAME = 0.97
"""Likeness from which a shape of a letter is one that was taught already: text comes in several widths."""


@dataclass(frozen=True, kw_only=True)
class _Ink:
    """Strokes that hang together: boxes (n, 4), and segments with their piece; turned so that text reads right."""

    boxes: Floats
    segments: Floats
    of: Ints

    def turned(self, quarters: int) -> _Ink:
        """Turn it as `_turned` turns boxes."""
        points = self.segments.reshape(-1, 2)
        for _ in range(quarters % 4):
            points = np.stack([-points[:, 1], points[:, 0]], axis=1)
        return _Ink(boxes=_turned(self.boxes, quarters), segments=points.reshape(-1, 4), of=self.of)

    @cached_property
    def tree(self) -> shapely.STRtree:
        """The segments, to be looked up by place."""
        return shapely.STRtree(shapely.linestrings(self.segments.reshape(-1, 2, 2)))


@dataclass(frozen=True, kw_only=True)
class _Row:
    """One line of letters: picture, left and right end of each, foot and height of the line, and the pieces of ink."""

    pictures: Pictures
    left: Floats
    right: Floats
    foot: float
    height: float
    pieces: Ints


def read_drawn_letters(linework: Linework, known: Sequence[TextLine], sheet: Sheet) -> list[TextLine]:
    """Read lines of letters that are strokes by those of the ``known`` lines that are; gives the lines not known."""
    boxes = np.array([line.box_pt for line in known]).reshape(-1, 4)
    ink = _ink_of(linework)
    quarters = [sheet.rotation // 90 + turns for turns in (0, 1)]  # of text that runs right as displayed, and up
    frames = [(ink.turned(by), _turned(boxes, by)) for by in quarters]
    across, down = (frames[0][1][:, 2:] - frames[0][1][:, :2]).T
    runs_up = np.array([len(line.text) > 1 for line in known], bool) & (down > across)
    shapes: dict[str, list[NDArray[np.float32]]] = defaultdict(list)
    heights: list[float] = []
    for (turned, places), own in zip(frames, (~runs_up, runs_up), strict=True):
        at = np.flatnonzero(own)
        for i, row in _rows(turned, _within(turned.boxes, places[at]), 1):
            if _teach(shapes, known[at[i]].text.translate(SPELLINGS).replace(" ", ""), row):
                heights.append(row.height)
    if not set("0123456789") <= shapes.keys():  # a 2 that was not taught may be like an 8
        return []
    taught = _Taught(shapes)
    found = []
    for (turned, places), by in zip(frames, quarters, strict=True):
        size = (turned.boxes[:, 2:] - turned.boxes[:, :2]).max(axis=1)
        rest = np.flatnonzero((size < _TALLEST * float(np.median(heights))) & (_within(turned.boxes, places) < 0))
        line = np.full(len(size), -1)
        line[rest] = _lines(turned.boxes[rest], _LOWEST * min(heights))
        for _, row in _rows(turned, line, _FEWEST):
            if (letters := taught.line_of(row)) and _stands_clear(row, turned):
                found.append(_placed(letters, row, by))
    return found


def _turned(boxes: Floats, quarters: int) -> Floats:
    """Turn boxes (n, 4) about the origin by quarters clockwise as displayed."""
    for _ in range(quarters % 4):
        boxes = np.stack([-boxes[:, 3], boxes[:, 0], -boxes[:, 1], boxes[:, 2]], axis=1)
    return boxes


def _ink_of(linework: Linework) -> _Ink:
    """Return what is drawn, in sheet points."""
    segments = linework.pieces.segments
    ends = np.round(segments.reshape(-1, 2) / _JOIN_PT).astype(np.int64)
    _, at = np.unique(ends[:, 0] * (1 << 32) + ends[:, 1], return_inverse=True)
    start, end = at.reshape(-1, 2).T
    of = np.unique(linked_groups(int(at.max(initial=-1)) + 1, start, end)[start], return_inverse=True)[1]
    low, high = (np.full((int(of.max(initial=-1)) + 1, 2), v) for v in (np.inf, -np.inf))
    for p in np.hsplit(segments, 2):
        np.minimum.at(low, of, p)
        np.maximum.at(high, of, p)
    return _Ink(boxes=np.hstack([low, high]), segments=segments, of=of)


def _within(boxes: Floats, around: Floats) -> Ints:
    """Return for each box which line's box holds it, −1 for none, or where it is too long for a letter of it."""
    room = _TOUCH * (around[:, 3] - around[:, 1])[:, None] * np.array([-1.0, -1.0, 1.0, 1.0])
    tree = shapely.STRtree(shapely.box(*boxes.T))
    which, held = tree.query(shapely.box(*(around + room).T), predicate="covers")
    line = np.full(len(boxes), -1)
    high = around[which, 3] - around[which, 1]
    is_letter = (boxes[held, 2:] - boxes[held, :2]).max(axis=1) <= _LONGEST * high  # and no frame round the line
    line[held[is_letter]] = which[is_letter]
    return line


def _lines(boxes: Floats, lowest: float) -> Ints:
    """Number the lines that letters stand in, −1 where there is none."""
    x0, y0, x1, y1 = boxes.T
    size = np.maximum(x1 - x0, y1 - y0)
    tree = shapely.STRtree(shapely.box(x0, y0, x1, y1))
    a, b = tree.query(shapely.box(x0 - _NEAR * size, y0, x1 + _NEAR * size, y1))
    part = linked_groups(len(boxes), a, b)
    count = int(part.max(initial=-1)) + 1
    low, high = np.full((count, 2), np.inf), np.full((count, 2), -np.inf)
    np.minimum.at(low, part, boxes[:, :2])
    np.maximum.at(high, part, boxes[:, 2:])
    height = high[:, 1] - low[:, 1]
    a, b = shapely.STRtree(shapely.box(*low.T, *high.T)).query(
        shapely.box(*low.T, high[:, 0] + _NEXT * height, high[:, 1])
    )
    is_one = (a != b) & (np.abs(high[a, 1] - high[b, 1]) < _LEVEL * height[a])
    is_one &= np.abs(height[a] - height[b]) < _LEVEL * height[a]
    whole = linked_groups(count, a[is_one], b[is_one])
    line = whole[part] if count else part
    counts = np.bincount(line, minlength=1)[line]
    return np.where((counts >= _FEWEST) & (height[part] >= lowest), line, -1)


def _rows(ink: _Ink, line: Ints, least: int) -> Iterator[tuple[int, _Row]]:
    """Yield lines of so many letters with their pictures: strokes over one another, seen along the line, are one."""
    order = np.lexsort((ink.boxes[:, 0], line))
    order = order[line[order] >= 0]
    if not len(order):
        return
    segment_order = np.argsort(ink.of, kind="stable")
    first = np.searchsorted(ink.of[segment_order], np.arange(len(ink.boxes) + 1))
    starts = np.flatnonzero(np.diff(line[order], prepend=-1))
    for pieces in np.split(order, starts[1:]):
        box = ink.boxes[pieces]
        height = float(np.ptp(box[:, [1, 3]]))
        reach = np.maximum.accumulate(box[:, 2])
        begins = np.flatnonzero(np.concatenate([[True], box[1:, 0] > reach[:-1] + _TOUCH * height]))
        top, foot = np.minimum.reduceat(box[:, 1], begins), np.maximum.reduceat(box[:, 3], begins)
        if not least <= len(begins) <= _MOST or (foot == top).all():  # dashes, one above the other
            continue
        is_tall = foot - top >= 0.6 * (foot - top).max()  # brackets and commas reach lower
        level, height = float(np.median(foot[is_tall])), float(np.median((foot - top)[is_tall]))
        left, right = box[begins, 0], np.maximum.reduceat(box[:, 2], begins)
        own = [segment_order[first[p] : first[p + 1]] for p in pieces]
        letter = np.repeat(np.searchsorted(begins, np.arange(len(pieces)), side="right") - 1, [len(s) for s in own])
        pictures = _pictures(ink.segments[np.concatenate(own)], letter, left, level, height)
        yield (
            int(line[pieces[0]]),
            _Row(pictures=pictures, left=left, right=right, foot=level, height=height, pieces=pieces),
        )


def _pictures(segments: Floats, letter: Ints, left: Floats, foot: float, height: float) -> Pictures:
    """Draw the letters of a line a little blurred, as one row of cells each, of length 1."""
    size = height / _HIGH
    length = np.hypot(*(segments[:, 2:] - segments[:, :2]).T)
    count = np.ceil(2.0 * length / size).astype(np.int64) + 2
    which = np.repeat(np.arange(len(segments)), count)
    along = (np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)) / np.repeat(count - 1, count)
    at = segments[which, :2] + (segments[which, 2:] - segments[which, :2]) * along[:, None]
    of = letter[which]
    column = np.round((at[:, 0] - left[of]) / size).astype(np.int64) + _EDGE
    row = np.round((at[:, 1] - foot) / size).astype(np.int64) + _FOOT
    shown = (column >= 0) & (column < _COLUMNS) & (row >= 0) & (row < _ROWS)
    cells = np.zeros((len(left), _ROWS + 2, _COLUMNS + 2), np.float32)
    cells[of[shown], row[shown] + 1, column[shown] + 1] = 1.0
    for _ in range(2):
        cells[:, 1:-1] = 0.25 * cells[:, :-2] + 0.5 * cells[:, 1:-1] + 0.25 * cells[:, 2:]
        cells[:, :, 1:-1] = 0.25 * cells[:, :, :-2] + 0.5 * cells[:, :, 1:-1] + 0.25 * cells[:, :, 2:]
    flat = cells.reshape(len(left), -1)
    pictures: Pictures = flat / np.maximum(np.linalg.norm(flat, axis=1, keepdims=True), 1e-9)
    return pictures


def _teach(shapes: dict[str, list[NDArray[np.float32]]], text: str, row: _Row) -> bool:
    """Take the shapes of a line whose letters are known, where as many stand there; a double prime is two strokes."""
    for letters in (text.replace('"', "''"), text):
        if len(letters) == len(row.left):
            for letter, picture in zip(letters, row.pictures, strict=True):
                if not any(float(picture @ other) >= _SAME for other in shapes[letter]):
                    shapes[letter].append(picture)
            return True
    return False


class _Taught:
    """What each shape of a sheet is."""

    def __init__(self, shapes: dict[str, list[NDArray[np.float32]]]) -> None:
        self._letters = np.array([letter for letter, own in shapes.items() for _ in own])
        self._pictures = np.array([picture for own in shapes.values() for picture in own])

    def _read(self, pictures: Pictures) -> list[set[str]]:
        """Return for each letter which ones it may be; none where it is like nothing taught."""
        alike = pictures @ self._pictures.T
        best = alike.max(axis=1)
        return [
            set(self._letters[one >= top - _CLEARER].tolist()) if top >= _ALIKE else set()
            for one, top in zip(alike, best, strict=True)
        ]

    def line_of(self, row: _Row) -> list[str]:
        """Return the letters of a line; none without a figure, or where a letter is not told."""
        if not self._read(row.pictures[:1])[0]:  # most lines are hatches and furniture
            return []
        could = self._read(row.pictures)
        is_word = any(may and all(letter.isalpha() for letter in may) for may in could)
        kinds = [{a for a in may if a.isalpha() == is_word} if len(may) > 1 else may for may in could]
        if any(len(kind) != 1 for kind in kinds):
            return []
        letters = [letter for kind in kinds for letter in kind]
        return letters if any(letter.isdigit() for letter in letters) else []


def _stands_clear(row: _Row, ink: _Ink) -> bool:
    """Tell whether nothing that is not of a line stands beside its letters."""
    room = _CLEAR * row.height
    x0, x1 = float(row.left[0]), float(row.right.max())
    around = (x0 - room, row.foot - row.height, x1 + room, row.foot)
    near = ink.tree.query(shapely.box(*around), predicate="intersects")
    return not np.setdiff1d(ink.of[near], row.pieces).size


def _placed(letters: Sequence[str], row: _Row, quarters: int) -> TextLine:
    """Put a line of letters on the sheet, in words where there is room between them."""
    words: list[Word] = []
    text, begin, end = "", row.left[0], row.left[0]
    for letter, left, right in zip([*letters, " "], [*row.left, np.inf], [*row.right, np.inf], strict=True):
        if left - end > _SPACE * row.height:
            box = np.array([[begin, row.foot - row.height, end, row.foot]])
            x0, y0, x1, y1 = _turned(box, -quarters)[0].tolist()
            words.append(Word(text=text.replace("''", '"'), box_pt=(x0, y0, x1, y1)))
            text, begin = "", left
        text, end = text + letter, right
    return TextLine(words=tuple(words), box_pt=box_round(word.box_pt for word in words))
