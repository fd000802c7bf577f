"""Compare two registered sheets by their pictures: ink that is on one of them only."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from takeoff.revise.changes import NEAR, SMALLEST, ChangeKind, Differences, SheetChange, line_tolerance
from takeoff.revise.linework_along import Stretch
from takeoff.revise.registration import Box, Floats, Registration

Picture = NDArray[np.uint8]
Mask = NDArray[np.uint8]
SHORTEST_PX = 6
"""Pixels below which an edge is a letter's or a speck's."""
LINE_TOLERANCE_PX = 1.6
"""Pixels within which lines found in two pictures are one."""
CORNER_PX = 6.0
"""Pixels by which a line found in a picture may stop short of the corner it runs to."""
DARK, FAINT = 0.62, 0.88
"""Parts of the paper's brightness below which ink is surely ink, and above which there surely is none."""
LEAST_TOLERANCE_PX = 2.5
"""Pixels within which ink is one: scans blur a pen's edge by about one (measured on the sample scan)."""
SPECK_PX = 6
"""Pixels below which a lone dot is dirt."""
SHADED = 0.3
"""Metres along a wall over which its ink is compared: the narrowest opening is wider (judgement)."""
MOST_GAIN = 2.0
"""How much darker a wall may be in one of two pictures for its pens and its paper alone (measured: 1.4)."""
SAME_PENS = 0.1
"""Part of a wall's usual ink within which it is drawn by the same pens as most of the wall (judgement)."""
FADED = 0.8
"""How much of their ink finer pens than most of a wall's keep in a scan at the least (measured on two known scans at
150 dpi: 0.72 to 0.77 where wide pens and filled walls keep all; `OTHER_SHADE` forgives the rest)."""


COLOUR = 60
"""Levels between the strongest and the weakest of red, green and blue from which a pixel is in colour (judgement)."""
LEAST_COLOUR = 2e-4
"""Part of a sheet in colour from which its colours are its own, and tell nothing of marks by hand (judgement)."""
MOST_BLACK = 0.5
"""Part of the new ink in one place that is in colour from which a hand made it (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shades:
    """How dark two pictures of one frame are, 0 to 1, the old laid over the new; ``pixel`` is a pixel's size, m."""

    old: NDArray[np.float32]
    new: NDArray[np.float32]
    pixel: Floats

    def across(self, face: Stretch, depth: float, out: float) -> InkAcross:
        """Ink of both pictures across a wall, ``depth`` metres deep behind its face, and ``out`` before and behind."""
        import cv2

        first, across = face.shifted(-face.hand * out), depth + 2.0 * out
        step = float(self.pixel.min())
        stations = (np.arange(0.0, face.length, step) + 0.5 * step)[None, :, None]
        depths = face.hand * np.arange(0.0, across, 0.5 * step)[:, None, None]
        places = np.array(first.a) + stations * np.array(face.along) + depths * np.array(face.left)
        x, y = np.moveaxis((places / self.pixel - 0.5).astype(np.float32), 2, 0)
        shades = [cv2.remap(shade, x, y, cv2.INTER_LINEAR) for shade in (self.old, self.new)]
        ink = [shade.mean(0).astype(np.float64) * across for shade in shades]
        inner = slice(len(x) // 3, max(len(x) - len(x) // 3, len(x) // 3 + 1))
        lightest = [shade[inner].min(0).astype(np.float64) for shade in shades]
        return InkAcross(
            stations=stations[0, :, 0], step=step, before=ink[0], after=ink[1], lighter=lightest[0] - lightest[1]
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class InkAcross:
    """Metres of ink that two pictures have across a wall at stations ``step`` metres apart along it.

    ``lighter`` is by how much the new picture's lightest place within the wall is lighter than the old one's, 0 to 1.
    ``usual`` is the ink of the old picture along most of the wall, ``gain`` how many times as much the new one has.
    """

    stations: Floats
    step: float
    before: Floats
    after: Floats
    lighter: Floats
    usual: float = 0.0
    gain: float = 1.0

    def with_usual(self, within: NDArray[np.bool_], least: float = 0.0) -> InkAcross:
        """Take what is usual from some of the stations; it is ``least`` at the least."""
        if not within.any():
            return self
        before, after = (float(np.median(ink[within])) for ink in (self.before, self.after))
        gain = min(max(after / before, 1.0 / MOST_GAIN), MOST_GAIN) if min(before, after) > 0.0 else 1.0
        return replace(self, usual=max(before, after / gain, least), gain=gain)

    def most_bare(self, within: NDArray[np.bool_]) -> float:
        """By how much one of both is bare within the wall, and the other is not, over `SHADED` metres at the most.

        Lines of glass may have as much ink as the grey that fills a wall; it is the paper between them that tells.
        """
        window = max(round(SHADED / self.step), 1)
        if within.sum() < window:
            return 0.0
        other = self.lighter - float(np.median(self.lighter[within]))
        mean, whole = (
            np.convolve(v, np.full(window, 1.0 / window), "valid") for v in (other, within.astype(np.float64))
        )
        return float(np.abs(mean)[whole > 1.0 - 0.5 / window].max(initial=0.0))

    def most_off(self, within: NDArray[np.bool_]) -> float:
        """By how much both differ over `SHADED` metres at the most, as a part of what is usual or of what both have.

        What is drawn by other pens than most of the wall, as a window that was not told, may have become lighter or
        darker than that: a scan draws fine pens lighter and leaves filled walls black.
        """
        window = max(round(SHADED / self.step), 1)
        if within.sum() < window:
            return 0.0
        is_usual = np.abs(self.before - self.usual) <= SAME_PENS * self.usual
        kept = np.where(self.before < self.usual, FADED, 1.0)
        least = np.where(is_usual, self.gain, kept * min(self.gain, 1.0))
        most = np.where(is_usual, self.gain, max(self.gain, 1.0) / kept)
        low, high, before, after, whole = (
            np.convolve(values, np.full(window, 1.0 / window), "valid")
            for values in (least * self.before, most * self.before, self.before, self.after, within.astype(np.float64))
        )
        # a wall that has less ink than a pixel is one in which nothing is drawn
        usual = np.maximum(np.minimum(before, after), max(self.usual * max(self.gain, 1.0), self.step))
        off = np.maximum(after - high, low - after) / usual
        return float(off[whole > 1.0 - 0.5 / window].max(initial=0.0))


def picture_lines(picture: Picture, *, dpi: float, focus_pt: Box) -> Floats:
    """Find straight edges of ink within a box of a sheet; gives segments in sheet points, shape (n, 4).

    Every edge has its ink on the same hand, so the two edges of one stroke go opposite ways.
    """
    import cv2

    to_px = dpi / 72.0
    left, top = max(int(focus_pt[0] * to_px), 0), max(int(focus_pt[1] * to_px), 0)
    part = picture[top : math.ceil(focus_pt[3] * to_px), left : math.ceil(focus_pt[2] * to_px)]
    if part.size == 0:
        return np.zeros((0, 4))
    found = cv2.createLineSegmentDetector(cv2.LSD_REFINE_STD, scale=0.8).detect(np.ascontiguousarray(part))[0]
    if found is None:
        return np.zeros((0, 4))
    lines = np.asarray(found, np.float64).reshape(-1, 4)
    lines = lines[np.hypot(lines[:, 2] - lines[:, 0], lines[:, 3] - lines[:, 1]) >= SHORTEST_PX]
    placed: Floats = (lines + 0.5 + np.array([left, top, left, top])) / to_px
    return placed


def _darkness(picture: Picture) -> NDArray[np.float32]:
    """How dark a picture is, 0 for its paper and 1 for black."""
    import cv2

    paper = _paper(picture)
    dark = np.clip((paper - np.arange(256, dtype=np.float32)) / np.float32(paper), 0.0, 1.0)
    # as one row, which took an eighth of the time of many
    return np.asarray(cv2.LUT(picture.reshape(1, -1), dark), np.float32).reshape(picture.shape)


def carried_picture(
    old: Picture, new_shape: tuple[int, int], registration: Registration, *, old_dpi: float, new_dpi: float
) -> tuple[Picture, Mask]:
    """Lay the old picture over the new one; gives it and a mask of where it has something to show."""
    import cv2

    a, b, c, d, e, f = registration.matrix
    s, t = 72.0 / old_dpi, new_dpi / 72.0
    matrix = np.array([[a * s * t, b * s * t, c * t], [d * s * t, e * s * t, f * t]])
    matrix[:, 2] += matrix[:, :2] @ np.array([0.5, 0.5]) - 0.5
    size = (new_shape[1], new_shape[0])
    shrink = math.sqrt(abs(np.linalg.det(matrix[:, :2])))
    source = cv2.GaussianBlur(old, (0, 0), 0.4 / shrink) if shrink < 0.7 else old
    laid = cv2.warpAffine(source, matrix, size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=255)
    seen = cv2.warpAffine(np.full_like(old, 255), matrix, size, flags=cv2.INTER_NEAREST)
    return np.asarray(laid, np.uint8), np.asarray(seen, np.uint8)


def picture_changes(
    old: Picture,
    new: Picture,
    registration: Registration,
    *,
    old_dpi: float,
    new_dpi: float,
    m_per_pt: float,
    focus_pt: Box,
    smallest: float = SMALLEST,
    coloured: NDArray[np.bool_] | None = None,
) -> Differences:
    """Find what changed between two registered sheets by their ink; lines are the outlines of ink that one alone has.

    ``coloured``: which pixels of the new picture are in colour, where the old one has none that are.
    """
    to_px = new_dpi / 72.0
    laid, seen = carried_picture(old, (new.shape[0], new.shape[1]), registration, old_dpi=old_dpi, new_dpi=new_dpi)
    left, top = max(int(focus_pt[0] * to_px), 0), max(int(focus_pt[1] * to_px), 0)
    right, bottom = math.ceil(focus_pt[2] * to_px), math.ceil(focus_pt[3] * to_px)
    before, after, seen = laid[top:bottom, left:right], new[top:bottom, left:right], seen[top:bottom, left:right]
    tolerance = line_tolerance(registration, m_per_pt, LEAST_TOLERANCE_PX / to_px) * to_px
    px_per_m = to_px / m_per_pt
    least = max(SPECK_PX, 0.5 * smallest * px_per_m)
    (removed, gone), (added, came) = (
        _only(*both, tolerance, least) for both in ((before, after), (after, before))
    )  # fmt: skip
    removed, added = removed & (seen > 0), added & (seen > 0)
    specks = np.argwhere((gone | came) & (seen > 0))[:, ::-1] + 0.5 + np.array([left, top])
    hand = np.zeros_like(added) if coloured is None else coloured[top:bottom, left:right]
    found = _gathered(removed, added, hand, (left, top), to_px=to_px, m_per_pt=m_per_pt, smallest=smallest)
    return Differences(
        removed=_outlines(removed, (left, top)) / to_px,
        added=_outlines(added, (left, top)) / to_px,
        changes=tuple(sorted(found, key=lambda c: (round(c.box_pt[1] / 20), c.box_pt[0]))),
        tolerance_pt=tolerance / to_px,
        specks=specks / to_px,
        shades=(_darkness(laid), _darkness(new)),
        pixel_pt=1.0 / to_px,
    )


def _outlines(ink: NDArray[np.bool_], corner_px: tuple[int, int]) -> Floats:
    """Segments round ink, in pixels of the whole picture, shape (n, 4)."""
    import cv2

    rings = cv2.findContours(ink.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)[0]
    points = [cv2.approxPolyDP(ring, 0.7, True).reshape(-1, 2) for ring in rings]
    lines = [np.hstack([p, np.roll(p, -1, axis=0)]) for p in points]
    made: Floats = np.concatenate([np.zeros((0, 4)), *lines]) + 0.5 + np.tile(corner_px, 2)
    return made


def _gathered(
    removed: NDArray[np.bool_],
    added: NDArray[np.bool_],
    coloured: NDArray[np.bool_],
    corner_px: tuple[int, int],
    *,
    to_px: float,
    m_per_pt: float,
    smallest: float,
) -> Iterator[SheetChange]:
    """Changes of ink that lies together: a wall's two faces, a door's leaf and its swing."""
    import cv2

    px_per_m = to_px / m_per_pt
    both = (removed | added).astype(np.uint8)
    gap = max(int(NEAR * px_per_m / 2), 1)
    wide = cv2.dilate(both, cv2.getStructuringElement(cv2.MORPH_RECT, (2 * gap + 1, 2 * gap + 1)))
    count, labels = cv2.connectedComponents(wide, connectivity=8)
    rows, columns = np.nonzero(both)
    owner = np.asarray(labels)[rows, columns]
    left, top = corner_px
    for label in range(1, count):
        own = owner == label
        y, x = rows[own], columns[own]
        size = max(int(np.ptp(x)), int(np.ptp(y))) / px_per_m if len(x) else 0.0
        if not len(x) or size < smallest:
            continue
        plus, minus = int(added[y, x].sum()), int(removed[y, x].sum())
        kind: ChangeKind = "added" if minus < 0.1 * plus else "removed" if plus < 0.1 * minus else "redrawn"
        if (coloured[y, x] & added[y, x]).sum() > MOST_BLACK * plus:
            kind = "marked"
        box = (left + x.min(), top + y.min(), left + x.max() + 1, top + y.max() + 1)
        yield SheetChange(
            kind=kind,
            box_pt=(float(box[0]) / to_px, float(box[1]) / to_px, float(box[2]) / to_px, float(box[3]) / to_px),
            size=size,
            added=plus,
            removed=minus,
        )


def _only(
    first: Picture, second: Picture, tolerance: float, least: float
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Ink of the first picture that has none of the second within the tolerance: without specks, and the specks."""
    import cv2

    dark = (first < DARK * _paper(first)).astype(np.uint8)
    faint = (second < FAINT * _paper(second)).astype(np.uint8)
    away = cv2.distanceTransform(1 - faint, cv2.DIST_L2, 3)
    lone = ((dark > 0) & (np.asarray(away) > tolerance)).astype(np.uint8)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(lone, connectivity=8)
    extent = np.maximum(stats[:, cv2.CC_STAT_WIDTH], stats[:, cv2.CC_STAT_HEIGHT])
    keep = extent >= least
    keep[0] = False
    kept = np.asarray(keep[labels], bool) if count > 1 else np.zeros(lone.shape, bool)
    return kept, (lone > 0) & ~kept


def _paper(picture: Picture) -> float:
    """Brightness of the paper: the most common one of the lighter half."""
    counts = np.bincount(picture[::4, ::4].ravel(), minlength=256)
    return float(128 + int(np.argmax(counts[128:])))
