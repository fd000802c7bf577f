"""Interior elevations: which room a view is of by its title, and what the view says of the ceiling.

A *view* is one elevation with its title beneath. Its *outline* is the rectangle of the wall: floor, ceiling and both
ends. Written notes of the ceiling count, and vertical dimensions that span the outline: the printed length, never the
measured one. Where no outline is certain, as under a ceiling that slopes, dimensions tell nothing.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from takeoff.model.plan import Point, Sheet
from takeoff.sheet.frame import Box, box_round, box_to_displayed, displayed_size, sheet_to_displayed
from takeoff.sheet.text import TextLine, scale_notes
from takeoff.trace.drawing.crowded import MANY
from takeoff.trace.drawing.linework import Flags, Floats, Linework
from takeoff.trace.scales.dimensions import find_dimensions
from takeoff.trace.scales.lengths import DrawnLength, parted_words
from takeoff.trace.schedules.text_tables import straight
from takeoff.trace.texts.printed_sizes import HIGHEST, LOWEST, CeilingNote, read_ceiling_notes

SAME = 0.0254
"""Metres up to which two heights of one room are the same (judgement: an inch, the rounding of many sheets)."""
_TOUCH_PT = 1.5
_SHORTEST_PT = 40.0
"""Points that an end of a wall is high at least: 2.4 m at 1:100 is 68 (derived)."""
_OVERHANG = 0.35
"""A floor line goes on past each end of a wall by this part of it at most (judgement)."""
_STANDS = 0.25
"""What stands on the floor beside an outline and is higher than this part of it may belong to the wall (judgement)."""
_MOST = 200
"""Upright lines of a view that are tried as ends of a wall, the longest first."""
_REACH_PT = 300.0
"""Points that a text stands from its view at most: four inches of paper (judgement)."""
_NEAREST = 0.5
"""A text belongs to a view when it is at most so many times as far from it as from the next one (judgement)."""

_SCALE = re.compile(r"\s*[-(,]?\s*(?:\bSCALE\b|\d+(?:[ -]?\d*/\d+)?\s*[\"”″]\s*=|\b\d+\s*:\s*\d+).*$", re.IGNORECASE)
_ELEVATION = re.compile(r"(?:INT(?:ERIOR)?\.?\s+)?ELEV(?:ATION)?\.?\s[\w ,.–-]*\d[\w ,.–-]*", re.IGNORECASE)
_VIEW_NUMBER = re.compile(r"\b(?:ELEV\w*\.?|VIEW)\s+\w{1,2}\s*[-–:,]|^\s*\d{1,2}\s*[-–:]\s", re.IGNORECASE)
_WORDS = re.compile(
    r"INT(?:ERIOR)?|ELEV(?:ATIONS?)?|VIEW|WALLS?|LOOKING|FACING|ROOM|RM|SIDE|NO|AT|OF|THE|"
    r"NORTH(?:EAST|WEST)?|SOUTH(?:EAST|WEST)?|EAST|WEST|[NS][EW]?|[EW]"
)
"""What titles of interior elevations say beside the room (ordinary words of the trade, no source)."""
_NOT_LEVEL = re.compile(
    r"\b(?:CEILING|CLG|ROOF)\b.*\b(?:FALLS?|SLOP\w+|VARIES|VAULT\w*|PITCH\w*|STEPS?)\b|\b(?:SLOP\w+|VAULT\w*)\s+(?:CEILING|CLG)\b",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ElevationView:
    """A view of a sheet: its title and what it says of the ceiling, each with its place in sheet points."""

    title: str
    ceilings: tuple[CeilingNote, ...]

    def names(self, number: str, name: str) -> bool:
        r"""Tell whether the title is of the room of a number and a name, and of no other.

        Words that are neither of the room nor of elevations make it another's; a number of one or two letters counts
        only with its name.

        Examples
        --------
        >>> view = ElevationView(title="ELEVATION 3 - WASH 103", ceilings=())
        >>> view.names("103", "Wash"), view.names("3", "Office"), view.names("103", "Store")
        (True, False, False)
        """
        title, number = _VIEW_NUMBER.sub(" ", self.title.upper()), number.strip().upper()
        if not number or number not in title:
            return False
        rest, count = re.subn(rf"(?<![\w.])(?<!\b\w-){re.escape(number)}(?!\w|[.-]\d)", " ", title)
        words = {word for word in re.findall(r"\w+", rest) if not _WORDS.fullmatch(word)}
        own_name = set(re.findall(r"\w+", name.upper()))
        if count != 1 or words - own_name:
            return False
        is_named = bool(own_name) and own_name <= set(re.findall(r"\w+", rest))
        return is_named or (not words and len(number) > 2)


@dataclass(slots=True)
class _View:
    """A view in displayed points: the box of its title, the y where the one above ends, its outline if it is certain.

    ``box`` is the outline, else what lies above the title.
    """

    title: str
    title_box: Box
    head: float = 0.0
    is_outlined: bool = False
    box: Box = (0.0, 0.0, 0.0, 0.0)


def read_views(lines: Sequence[TextLine], sheet: Sheet, drawn: Callable[[], Linework]) -> tuple[ElevationView, ...]:
    """Read the views of a sheet of elevations.

    Parameters
    ----------
    lines
        The sheet's text.
    sheet
        The sheet, as it is turned.
    drawn
        Gives what is drawn on it; not asked where no title has a number.

    Returns
    -------
    tuple of ElevationView
        Those whose titles have a number. ``ceilings`` has a height of ``None`` where it is said to be none.
    """
    parts = [tuple(words) for line in lines for words in parted_words(line)]
    pieces = [TextLine(words=words, box_pt=box_round(word.box_pt for word in words)) for words in parts]
    views = [_View(title, box_to_displayed(sheet, box)) for title, box in _titles(pieces, sheet)]
    if not any(_is_numbered(view) for view in views):
        return ()
    linework = drawn()
    dimensions = find_dimensions(linework, lines) if len(linework.lines) <= MANY else ()
    across, upright = _straight(linework, dimensions, sheet)
    for view in views:
        title = view.title_box
        above = (o.title_box for o in views if o.title_box[3] < title[1] - 2)
        view.head = max((box[3] for box in above if box[0] < title[2] and title[0] < box[2]), default=0.0)
        found = _outline(view, across, upright)
        view.is_outlined, view.box = found is not None, found or (title[0], view.head, title[2], title[1])
    notes = [*read_ceiling_notes(pieces)]
    for line in lines:
        if _NOT_LEVEL.search(line.text):
            notes.append(CeilingNote(text=line.text.strip(), at_pt=line.middle_pt, height=None))
    said: dict[int, list[CeilingNote]] = {}
    for note in notes:
        said.setdefault(_nearest(sheet_to_displayed(sheet, *note.at_pt), views), []).append(note)
    for dimension in dimensions:
        own, length = _spanned(dimension, views, sheet)
        if length is not None:
            said[own] = differing([*said.get(own, ()), length])
    return tuple(
        ElevationView(title=view.title, ceilings=tuple(said.get(i, ())))
        for i, view in enumerate(views)
        if _is_numbered(view)
    )


def differing(notes: Sequence[CeilingNote]) -> list[CeilingNote]:
    """Return the notes without those that say again, to an inch, what the first of a height said."""
    kept: list[CeilingNote] = []
    for note in notes:
        same = (o for o in kept if o.height is not None and note.height is not None)
        if not any(abs(o.height - note.height) <= SAME for o in same):  # type: ignore[operator]
            kept.append(note)
    return kept


def _is_numbered(view: _View) -> bool:
    return re.search(r"\d", view.title) is not None


def _titles(pieces: list[TextLine], sheet: Sheet) -> list[tuple[str, Box]]:
    """Return the titles of views: what stands over or before a written scale, and what calls itself an elevation."""
    titles: dict[Box, str] = {}
    scales = {note.box_pt: note.text for note in scale_notes(pieces)}
    shown = {id(piece): box_to_displayed(sheet, piece.box_pt) for piece in pieces}
    wordy = [p for p in pieces if p.box_pt not in scales and re.search(r"[^\W\d]{3}|\w{3}", p.text)]
    for note, text in scales.items():
        own = _SCALE.sub("", text).strip(" -,()")
        if re.search(r"\w{3}", own):
            titles[note] = own
            continue
        box = box_to_displayed(sheet, note)
        near = [p for p in wordy if _is_over(shown[id(p)], box, p.size) or _is_before(shown[id(p)], box, p.size)]
        title = min(near, key=lambda p: math.dist(shown[id(p)][:2], box[:2]), default=None)
        if title is None:
            continue
        said = title.text
        if not re.search(r"\d", said):  # the room may stand on a line of its own over that of the wall
            over = (p for p in wordy if p is not title and abs(p.size - title.size) < 0.1 * title.size)
            first = next((p for p in over if _is_over(shown[id(p)], shown[id(title)], 0.3 * p.size)), None)
            said = f"{first.text} {said}" if first is not None else said
        titles[title.box_pt] = said
    titles |= {p.box_pt: p.text for p in wordy if p.box_pt not in titles and _ELEVATION.fullmatch(p.text.strip())}
    return [(said.strip(), box) for box, said in titles.items()]


def _is_over(box: Box, under: Box, size: float) -> bool:
    gap = under[1] - box[3]
    return (
        -size < gap < 2 * size and box[0] - 3 * size < under[2] and under[0] < box[2] + 3 * size and box[1] < under[1]
    )


def _is_before(box: Box, behind: Box, size: float) -> bool:
    return box[1] < behind[3] and behind[1] < box[3] and 0 <= behind[0] - box[2] < 10 * size


def _straight(linework: Linework, dimensions: Sequence[DrawnLength], sheet: Sheet) -> tuple[Floats, Floats]:
    """Return rows of y and both x of level lines, and of x and both y of upright ones; dimension lines are left out."""
    widest = 0.7 * displayed_size(sheet)[0]
    across, upright = (_merged(rows.tolist()) for rows in straight(linework, sheet))
    across = across[across[:, 2] - across[:, 1] < widest]  # the border of the sheet is no ceiling
    for dimension in dimensions:
        x0, y0, x1, y1 = box_to_displayed(sheet, (*dimension.start_pt, *dimension.end_pt))
        across = across[~_lies_on(across, y0, x0, x1)] if y1 - y0 < 1 else across
        upright = upright[~_lies_on(upright, x0, y0, y1)] if x1 - x0 < 1 else upright
    return across, upright


def _lies_on(rows: Floats, at: float, low: float, high: float) -> Flags:
    on: Flags = (np.abs(rows[:, 0] - at) < 0.6) & (rows[:, 1] < high) & (rows[:, 2] > low)
    return on


def _merged(rows: Sequence[Sequence[float]]) -> Floats:
    """Join pieces in line that touch: rows of where they lie, their low and their high end."""
    joined: list[list[float]] = []
    for at, low, high in sorted(rows, key=lambda row: (round(2 * row[0]), row[1])):
        if joined and abs(at - joined[-1][0]) < 0.3 and low <= joined[-1][2] + 1:
            joined[-1][2] = max(joined[-1][2], high)
        else:
            joined.append([at, low, high])
    return np.array(joined, np.float64).reshape(-1, 3)


def _outline(view: _View, across: Floats, upright: Floats) -> Box | None:
    """Return the largest rectangle over a title that lines close, if nothing speaks against its being the wall."""
    x0, y0, x1, _ = view.title_box
    ends = upright[(upright[:, 1] >= view.head) & (upright[:, 2] <= y0)]
    level = across[(across[:, 0] >= view.head) & (across[:, 0] <= y0)]
    high = ends[ends[:, 2] - ends[:, 1] >= _SHORTEST_PT]
    high = high[np.argsort(high[:, 1] - high[:, 2])][:_MOST]
    best: Box | None = None
    area, rises = 0.0, False
    for a, b in combinations(high[np.argsort(high[:, 0])].tolist(), 2):
        top, foot = max(a[1], b[1]), min(a[2], b[2])
        if b[0] - a[0] < _SHORTEST_PT / 2 or b[0] < x0 or a[0] > x1 or (b[0] - a[0]) * (foot - top) <= area:
            continue
        ys = level[_covers(level, a[0], b[0]) & (level[:, 0] >= top - _TOUCH_PT) & (level[:, 0] <= foot + _TOUCH_PT), 0]
        if len(ys) and np.ptp(ys) >= _SHORTEST_PT and (b[0] - a[0]) * np.ptp(ys) > area:
            best = (a[0], float(ys.min()), b[0], float(ys.max()))
            area, rises = (b[0] - a[0]) * np.ptp(ys), min(a[1], b[1]) < ys.min() - _TOUCH_PT
    return best if best is not None and not rises and _is_wall(best, level, ends) else None


def _covers(level: Floats, x0: float, x1: float) -> Flags:
    covers: Flags = (level[:, 1] <= x0 + _TOUCH_PT) & (level[:, 2] >= x1 - _TOUCH_PT)
    return covers


def _is_wall(box: Box, level: Floats, ends: Floats) -> bool:
    """Tell whether a rectangle is the whole wall: no line over it, and its floor no floor of more than it."""
    x0, top, x1, foot = box
    wide = level[_covers(level, x0, x1)]
    if (wide[:, 0] < top - _TOUCH_PT).any():
        return False
    for y, low, high in wide[wide[:, 0] >= foot - _TOUCH_PT].tolist():
        if max(x0 - low, high - x1) > _OVERHANG * (x1 - x0):
            return False
        outside = (ends[:, 0] < x0 - _TOUCH_PT) | (ends[:, 0] > x1 + _TOUCH_PT)
        on = (np.abs(ends[:, 2] - y) < _TOUCH_PT) & (ends[:, 0] > low - _TOUCH_PT) & (ends[:, 0] < high + _TOUCH_PT)
        if (outside & on & (ends[:, 2] - ends[:, 1] > _STANDS * (foot - top))).any():
            return False
    return True


def _nearest(place: Point, views: Sequence[_View]) -> int:
    """Return the index of the view that a displayed point belongs to; -1 where none is clearly the nearest."""
    x, y = place
    away = sorted(
        (math.hypot(max(v.box[0] - x, 0, x - v.box[2]), max(v.box[1] - y, 0, y - v.box[3])), i)
        for i, v in enumerate(views)
        if v.head <= y <= v.title_box[3]
    )
    if not away or away[0][0] > _REACH_PT or (len(away) > 1 and away[0][0] >= _NEAREST * away[1][0]):
        return -1
    return away[0][1]


def _spanned(dimension: DrawnLength, views: Sequence[_View], sheet: Sheet) -> tuple[int, CeilingNote | None]:
    """Return the view whose outline a dimension spans from floor to ceiling, and what it says."""
    x0, y0, x1, y1 = box_to_displayed(sheet, (*dimension.start_pt, *dimension.end_pt))
    own = _nearest(((x0 + x1) / 2, (y0 + y1) / 2), views)
    view = views[own]
    is_span = own >= 0 and view.is_outlined and x1 - x0 < 1
    is_span = is_span and max(abs(y0 - view.box[1]), abs(y1 - view.box[3])) <= _TOUCH_PT
    if not is_span or not LOWEST <= dimension.length <= HIGHEST:
        return own, None
    middle = ((dimension.box_pt[0] + dimension.box_pt[2]) / 2, (dimension.box_pt[1] + dimension.box_pt[3]) / 2)
    return own, CeilingNote(text=dimension.text, at_pt=middle, height=dimension.length)
