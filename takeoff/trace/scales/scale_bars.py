"""Graphic scale bars: a row of labels that count lengths from nought, and the blocks or ticks that they stand at.

A row is a bar where three labels or more, nought among them, stand where their numbers say on one straight law, one of
them (or a word beside them) names the unit, and each has an edge, a block's or a tick's, at its place. A row of four or
more that names none is taken for metres, and that is told.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from takeoff.sheet.frame import Box, box_round
from takeoff.sheet.text import TextLine, Word
from takeoff.trace.drawing.linework import Floats, Linework
from takeoff.trace.scales.lengths import PLACE_PT, DrawnLength, parted_words
from takeoff.units import FOOT, INCH

STRAIGHT = 0.02
"""Farthest that a label stands off the straight law, as a part of the bar's length."""
LEAST_BARE = 4
"""Labels of a row that names no unit, at the least (judgement)."""
_UNITS = {
    "'": FOOT, "ft": FOOT, "feet": FOOT, "foot": FOOT, '"': INCH, "in": INCH, "inches": INCH,
    "m": 1.0, "metres": 1.0, "meters": 1.0, "metre": 1.0, "meter": 1.0, "cm": 0.01, "mm": 0.001,
}  # fmt: skip
_UNIT = r"'|ft|feet|foot|\"|in|inches|m|met(?:re|er)s?|cm|mm"
_LABEL = re.compile(rf"(\d+(?:[.,]\d+)?)(?:\s*({_UNIT})\.?)?(?:\s*-?\s*0\s*\")?", re.IGNORECASE)
_UNIT_WORD = re.compile(rf"\(?({_UNIT})\.?\)?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class _Label:
    """A number, its unit if it has one, where it may stand, and the box round it."""

    text: str
    number: float
    unit: str
    box: Box

    @property
    def size(self) -> float:
        """Height of its letters in points; a figure or two are higher than they are wide."""
        sides = (self.box[2] - self.box[0], self.box[3] - self.box[1])
        return max(sides) if len(self.text) < 3 else min(sides)


def find_scale_bars(linework: Linework, lines: Sequence[TextLine]) -> tuple[DrawnLength, ...]:
    """Find the graphic scales of a sheet, along it or up it; where one names no unit, metres are taken."""
    words = [word for line in lines for word in line.words]
    labels = _labels(lines)
    bars: list[DrawnLength] = []
    for axis in (0, 1):
        for zero in (label for label in labels if label.number == 0):
            bar = _bar(zero, labels, words, linework, axis)
            if bar is not None and not any(math.dist(bar.start_pt, other.start_pt) < 1 for other in bars):
                bars.append(bar)
    return tuple(bars)


def _labels(lines: Sequence[TextLine]) -> list[_Label]:
    """Read the numbers of a sheet that stand alone, a unit that follows as a word of its own with them.

    Labels that stand so close that they read as one text come apart.
    """
    labels: list[_Label] = []
    for line in lines:
        for words in parted_words(line):
            whole = _label(words)
            apart = [_label([word]) for word in words] if whole is None else [whole]
            labels += [label for label in apart if label is not None] if None not in apart else []
    return labels


def _label(words: Sequence[Word]) -> _Label | None:
    text = "".join(word.text for word in words).replace("′", "'").replace("″", '"')
    found = _LABEL.fullmatch(text)
    if found is None:
        return None
    number = float(found[1].replace(",", "."))
    box = box_round(word.box_pt for word in words)
    return _Label(" ".join(word.text for word in words), number, (found[2] or "").lower(), box)


def _bar(
    zero: _Label, labels: Sequence[_Label], words: Sequence[Word], linework: Linework, axis: int
) -> DrawnLength | None:
    """Return the bar whose nought a label is, if it is one; ``axis`` 0 runs along the sheet, 1 up it."""
    across = 1 - axis
    row = [label for label in labels if _aligned(label.box, zero.box, across, 0.3 * zero.size)]
    for sign in (1, -1):
        beyond = sorted(
            (label for label in row if sign * (_mid(label.box, axis) - _mid(zero.box, axis)) > 0),
            key=lambda label: sign * _mid(label.box, axis),
        )
        rising = [zero]
        for label in beyond:
            if label.number <= rising[-1].number:
                break
            rising.append(label)
        for count in range(len(rising), 2, -1):
            bar = _fitted(rising[:count], words, linework, axis)
            if bar is not None:
                return bar
    return None


def _fitted(labels: list[_Label], words: Sequence[Word], linework: Linework, axis: int) -> DrawnLength | None:
    """Fit a row of rising labels to the edges that they stand at."""
    unit = _unit(labels, words)
    if unit is None and len(labels) < LEAST_BARE:
        return None
    near = [_edges(label, linework, axis) for label in labels]
    if any(not len(edges) for edges in near):
        return None
    numbers = np.array([label.number for label in labels])
    best: tuple[float, Floats, float] | None = None
    for first in near[0]:
        for last in near[-1]:
            law = first[0] + (last[0] - first[0]) * numbers / numbers[-1]
            if last[0] == first[0]:
                continue
            chosen = np.array([edges[np.abs(edges[:, 0] - at).argmin()] for edges, at in zip(near, law, strict=True)])
            misfit = float(np.abs(chosen[:, 0] - law).max())
            if best is None or misfit < best[0] - 1e-6:
                best = (misfit, chosen, float(np.median(chosen[:, 1])))
    if best is None:
        return None
    misfit, chosen, level = best
    span = abs(float(chosen[-1, 0] - chosen[0, 0]))
    if misfit > max(1.0, STRAIGHT * span / 4) or span < 3 * labels[0].size:
        return None
    start, end = (float(chosen[0, 0]), level), (float(chosen[-1, 0]), level)
    return DrawnLength(
        text=" ".join(label.text for label in labels),
        box_pt=box_round(label.box for label in labels),
        length=float(numbers[-1]) * (unit or 1.0),
        start_pt=start if axis == 0 else start[::-1],
        end_pt=end if axis == 0 else end[::-1],
        reader="bar",
        place_pt=max(PLACE_PT, misfit),  # as far as an edge stands from where its label says
        is_bare=unit is None,
    )


def _unit(labels: Sequence[_Label], words: Sequence[Word]) -> float | None:
    """Return the unit of a row in metres: a label's, else of a word that stands beside the row."""
    named = {label.unit for label in labels if label.unit}
    if not named:
        box = box_round(label.box for label in labels)
        reach = 4 * labels[0].size
        for word in words:
            x, y = _mid(word.box_pt, 0), _mid(word.box_pt, 1)
            found = _UNIT_WORD.fullmatch(word.text)
            inside = box[0] - reach < x < box[2] + reach and box[1] - reach < y < box[3] + reach
            if found and inside:
                named.add(found[1].lower())
    factors = {_UNITS[name] for name in named}
    return factors.pop() if len(factors) == 1 else None


def _edges(label: _Label, linework: Linework, axis: int) -> Floats:
    """Return the places along and across of the square edges at a label, blocks' and ticks'."""
    across = 1 - axis
    size = label.size
    low, high = linework.lines[:, :2], linework.lines[:, 2:]
    along = (low[:, axis] + high[:, axis]) / 2
    is_square = (np.abs(low[:, axis] - high[:, axis]) < 0.3) & (np.abs(low[:, across] - high[:, across]) > 0.5)
    top, bottom = np.minimum(low[:, across], high[:, across]), np.maximum(low[:, across], high[:, across])
    is_short = bottom - top < 3 * size
    beside = (top < label.box[across + 2] + 1.5 * size) & (bottom > label.box[across] - 1.5 * size)
    at = (along > label.box[axis] - 0.6 * size) & (along < label.box[axis + 2] + 0.6 * size)
    rows = np.flatnonzero(is_square & is_short & beside & at)
    return np.unique(np.round(np.column_stack([along[rows], (top[rows] + bottom[rows]) / 2]), 2), axis=0)


def _aligned(one: Box, other: Box, axis: int, slack: float) -> bool:
    """Tell whether two boxes share their low edge, their middle or their high edge along an axis."""
    low, high = one[axis] - other[axis], one[axis + 2] - other[axis + 2]
    return min(abs(low), abs(low + high) / 2, abs(high)) < slack


def _mid(box: Box, axis: int) -> float:
    return (box[axis] + box[axis + 2]) / 2
