"""Whether a new sheet shows the same floor as the old one, and which walls lie beyond what it shows."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from takeoff.model.plan import EDGE_PT, Point, Sheet
from takeoff.model.walls import Room, Run
from takeoff.revise.changes import Differences
from takeoff.revise.registration import Box, Floats, Registration, middles_in
from takeoff.sheet.text import TextLine

FEW = 3
"""Printed room numbers or names below which they tell nothing of a sheet (judgement, no source)."""
KEPT = 0.5
"""Part of them that the same floor still has after a revision (judgement, no source)."""
WALLS = 0.8
"""Part of the old drawing that a revision of the same floor still shows where nothing else tells it (measured on pairs
of floors of one building, which share up to 0.7)."""
STILL = 2.0 / 3.0
"""The same of the traced walls where one of the sheets is a picture (measured on made pairs: revisions have 0.69 and
more, other floors of one building up to 0.64 unless they are drawn alike but for a door or two)."""
ALIKE = 0.95
"""Part of the old drawing from which it is the same floor although its rooms were numbered anew (judgement)."""
EMPTY = 0.02
"""Part of the old lines about a wall that chance finds where a sheet shows nothing of it."""
LEAST_LINES = 4
ABOUT_PT = 100.0
"""Points about a room's label within which a sheet that shows the place prints something (judgement, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Likeness:
    """What two sheets have in common: of the printed room numbers, else names, how many are kept; the share of lines.

    ``least`` is the share that tells the same floor where rooms do not.
    """

    kept: int
    of: int
    lines: float
    least: float = WALLS

    @property
    def is_other_floor(self) -> bool:
        """True where printed rooms say that it is another floor."""
        return self.of >= FEW and self.kept < KEPT * self.of and self.lines < ALIKE

    @property
    def is_uncertain(self) -> bool:
        """True where neither rooms nor lines say that it is the same floor."""
        return self.lines < self.least if self.of < FEW else self.kept < KEPT * self.of


def likeness(
    runs: Sequence[Run],
    rooms: Mapping[str, Room],
    registration: Registration,
    old_text: Sequence[TextLine],
    new_text: Sequence[TextLine],
    *,
    lines: float,
    least: float = WALLS,
) -> Likeness:
    """Compare the numbers and names that both sheets print in the traced rooms.

    Parameters
    ----------
    lines
        Part of the old drawing, by length, that the new sheet shows.
    least
        Part from which it is the same floor where neither numbers nor names tell.
    """
    kept = {"number": [0, 0], "name": [0, 0]}
    for run in runs if old_text and new_text else ():  # a picture shows no text
        room = rooms.get(run.room or "")
        if room is None or not run.closed:
            continue
        points = run.path_pt.flattened(1.0)
        before = _texts_in(points, old_text)
        after = [text for text, _ in _texts_in([registration.carry(p) for p in points], new_text)]
        for kind, wanted in (("number", room.number), ("name", room.name)):
            plain = _plain(wanted)
            at = next((at for text, at in before if plain and plain in text), None)
            if at is not None and _is_printed_about(registration.carry(at), new_text):
                kept[kind][1] += 1
                kept[kind][0] += any(plain in text for text in after)
    still, of = kept["number"] if kept["number"][1] >= FEW else kept["name"]
    return Likeness(kept=still, of=of, lines=lines, least=least)


def _plain(text: str) -> str:
    return re.sub(r"[^a-z0-9]", "", text.casefold())


def _texts_in(outline: Sequence[Point], lines: Sequence[TextLine]) -> list[tuple[str, Point]]:
    if len(outline) < 3:
        return []
    shape = shapely.Polygon(outline)
    shapely.prepare(shape)
    return [(_plain(line.text), at) for line in lines if shape.contains(shapely.Point(at := line.middle_pt))]


def _is_printed_about(at: Point, lines: Sequence[TextLine]) -> bool:
    """Tell whether a sheet prints anything near a place; where it does not, it may end there."""
    return any(math.dist(at, line.middle_pt) <= ABOUT_PT for line in lines)


def is_beyond(points_pt: Sequence[Point], sheet: Sheet, old: Floats, new: Floats, margin_pt: float) -> bool:
    """Tell whether a wall lies beyond what the new sheet shows: off its page, or where it draws nothing at all.

    Parameters
    ----------
    points_pt
        The wall's line on the new sheet.
    old, new
        Lines of both in points of the new sheet, shape (n, 4).
    margin_pt
        How far about the wall is looked, points.
    """
    if not all(sheet.holds(p) for p in points_pt):
        return True
    left, top, right, bottom = shapely.MultiPoint(points_pt).bounds
    box = (left - margin_pt, top - margin_pt, right + margin_pt, bottom + margin_pt)
    before, after = _length_in(old, box), _length_in(new, box)
    return before[1] >= LEAST_LINES and after[0] <= EMPTY * before[0]


def is_cut(points_pt: Sequence[Point], sheet: Sheet, old: Floats, margin_pt: float) -> bool:
    """Tell whether the new sheet ends within what the old one draws about a wall; parameters as for `is_beyond`."""
    size = np.array([sheet.width_pt, sheet.height_pt, sheet.width_pt, sheet.height_pt])
    off = old[((old < -EDGE_PT) | (old > size + EDGE_PT)).any(1)]
    if not len(off):
        return False
    return bool(
        shapely.dwithin(shapely.LineString(points_pt), shapely.linestrings(off.reshape(-1, 2, 2)), margin_pt).any()
    )


def _length_in(lines: Floats, box: Box) -> tuple[float, int]:
    inside = lines[middles_in(lines, box)]
    return float(np.hypot(inside[:, 2] - inside[:, 0], inside[:, 3] - inside[:, 1]).sum()), len(inside)


LETTER_PT = (1.2, 12.0)
"""Height or width in points of a printed letter (common practice, no source)."""
GAP_PT = 1.0
"""Points from one letter of a word to the next, at the most half of it."""
INK = 0.35
"""Darkness from which a pixel is ink of a letter."""
SAME_WORD = 0.8
"""Correlation from which a word is the same: 0.85 and more for the same word, up to 0.7 for most others (measured
on made scans at 150 dpi)."""
BLUR_PX = 0.8

Shade = NDArray[np.float32]


def words_kept(differences: Differences, rooms: Sequence[shapely.Geometry]) -> tuple[int, int]:
    """Count the words of the old picture that stand in their room on the new one, and all of the old one's.

    ``rooms`` are areas in points of the new sheet, clear of their walls.
    """
    import cv2

    kept = of = 0
    if differences.shades is None:
        return kept, of
    for room in (part for area in rooms for part in shapely.get_parts(area) if part.area > 0.0):
        outline = shapely.get_coordinates(room.exterior) / differences.pixel_pt
        (left, top), (right, bottom) = np.floor(outline.min(0)).astype(int), np.ceil(outline.max(0)).astype(int)
        box = np.s_[max(top, 0) : bottom, max(left, 0) : right]
        before, now = (shade[box] for shade in differences.shades)
        if not before.size:
            continue
        inside = np.zeros(before.shape, np.uint8)
        cv2.fillPoly(inside, [np.round(outline - (max(left, 0), max(top, 0))).astype(np.int32)], 1)
        soft_before, soft_now = (cv2.GaussianBlur(shade, (0, 0), BLUR_PX) for shade in (before, now))
        for x, y, wide, high in _words(before * inside, differences.pixel_pt):
            of += 1
            word = soft_before[y : y + high, x : x + wide]
            # most stand where they stood: to look there first takes a hundredth of the time
            where = soft_now[max(y - high, 0) : y + 2 * high, max(x - high, 0) : x + wide + high]
            kept += _holds(where, word) or _holds(soft_now, word)
    return kept, of


def _holds(shade: Shade, word: Shade) -> bool:
    """Tell whether a word is drawn somewhere in a picture."""
    import cv2

    alike = np.asarray(cv2.matchTemplate(shade, word, cv2.TM_CCOEFF_NORMED))
    ink = cv2.boxFilter(shade, -1, word.shape[::-1], anchor=(0, 0))[: alike.shape[0], : alike.shape[1]]
    return bool(((alike >= SAME_WORD) & (ink > 0.5 * word.mean())).any())  # bare paper is like anything


def _words(shade: Shade, pixel_pt: float) -> Iterator[tuple[int, int, int, int]]:
    """Boxes (left, top, width, height) of ink of a letter's size that stands close together, two letters or more."""
    import cv2

    _, labels, boxes, middles = cv2.connectedComponentsWithStats((shade > INK).astype(np.uint8), connectivity=8)
    extent = boxes[:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]].max(1) * pixel_pt
    is_letter = (extent >= LETTER_PT[0]) & (extent <= LETTER_PT[1])
    is_letter[0] = False
    size = 2 * max(round(GAP_PT / pixel_pt), 1) + 1
    wide = cv2.dilate(is_letter[labels].astype(np.uint8), np.ones((size, size), np.uint8))
    count, words, bounds, _ = cv2.connectedComponentsWithStats(wide, connectivity=8)
    x, y = np.round(middles[is_letter]).astype(int).T
    letters = np.bincount(np.asarray(words)[y, x], minlength=count)
    for row in np.flatnonzero(letters[1:] >= 2) + 1:
        yield tuple(int(v) for v in bounds[row, :4])  # type: ignore[misc]
