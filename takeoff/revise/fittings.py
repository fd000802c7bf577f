"""What is drawn between the jambs of an opening: leaves, glass, a wall; compared between two revisions."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from takeoff.geometry.intervals import overlap, total
from takeoff.model.walls import OpeningKind
from takeoff.revise.linework_along import PARALLEL, Drawn, Stretch, face_spans

HINGE = 0.12
"""Metres from a jamb within which a leaf begins: a frame and a drawn hinge (judgement, no source)."""
LEAF = (0.35, 1.15)
"""Length of a leaf as a part of the opening's width: a leaf of an uneven pair to one that overlaps its frame
(judgement, no source)."""
SLACK_IN_BAND = 0.03
"""Metres by which what lies in the wall's band may stand out of it: a drawn frame (judgement, no source)."""
SPANNED = 0.7
"""Part of the width that lines across an opening cover at least, together, to be glass, a sill or a face."""
PIECES = 0.02
"""Metres within which lines across an opening lie at one depth."""
OUT = 0.3
"""Part of the opening's width by which a leaf stands out of the wall at least, drawn open 20° or more."""
OTHER_LEAF = 0.25
"""Part of the width by which a leaf differs where a pair of leaves became one, or one a pair."""
LEANING = math.sin(math.radians(10.0))
"""A leaf stands out of the wall by more than this part of its length."""


@dataclass(frozen=True, slots=True)
class Fitting:
    """The leaves that begin at the first and at the second jamb, and how many lines run across the opening.

    A leaf is given by its length as a part of the opening's width, 0 for none; ``in_face`` tells whether the face of
    the wall itself is drawn across.
    """

    leaves: tuple[float, float]
    across: int
    in_face: bool

    @property
    def is_wall(self) -> bool:
        """True where the wall goes on across it: both faces are drawn through, and no leaf stands in it."""
        return self.in_face and self.across == 2 and not any(self.leaves)

    @property
    def kind(self) -> OpeningKind | None:
        """The kind of opening that it shows, where it does."""
        if any(self.leaves):
            return "door"
        return "window" if self.across >= 3 else "door" if not self.across else None

    @property
    def words(self) -> str:
        """What it is, for people."""
        if any(self.leaves):
            return "a pair of leaves" if all(self.leaves) else "one leaf"
        if self.across >= 3:
            return "lines across it, as for a window"
        return "the wall, drawn through" if self.is_wall else "nothing" if not self.across else "a line across it"


def fitting_between(drawn: Drawn, side: Stretch, low: float, high: float, thickness: float) -> Fitting:
    """Read what is drawn between two jambs.

    Parameters
    ----------
    side
        The face on which the opening lies.
    low, high
        Stations of the jambs, m.
    thickness
        How deep the wall is, m.
    """
    width = high - low
    local = side.local(drawn.near(side.at(low), side.at(high), thickness + 1.2 * width))
    span = np.hypot(local[:, 2] - local[:, 0], local[:, 3] - local[:, 1])
    depths = _depths(local, span, low, high, side.hand, thickness)
    return Fitting(
        leaves=(
            _leaf(local, span, low, width, side.hand, thickness),
            _leaf(local, span, high, width, side.hand, thickness),
        ),
        across=len(depths),
        in_face=any(abs(depth) <= PIECES for depth in depths),
    )


def _leaf(local: np.ndarray, span: np.ndarray, jamb: float, width: float, hand: int, thickness: float) -> float:
    """Length over width of the longest line of a leaf's length that begins at a jamb and stands out of the wall."""
    long = (span >= LEAF[0] * width) & (span <= LEAF[1] * width)
    leaning = np.abs(local[:, 3] - local[:, 1]) >= LEANING * span
    found = np.zeros(len(local), bool)
    for near, far in ((0, 2), (2, 0)):
        depth = hand * local[:, far + 1]
        out = (depth <= -OUT * width) | (depth >= thickness + OUT * width)  # jambs end within the wall
        hung = hand * local[:, near + 1]
        at_jamb = (np.abs(local[:, near] - jamb) <= HINGE) & (hung >= -HINGE) & (hung <= thickness + HINGE)
        found |= long & leaning & out & at_jamb
    return float(span[found].max()) / width if found.any() else 0.0


def _depths(local: np.ndarray, span: np.ndarray, low: float, high: float, hand: int, thickness: float) -> list[float]:
    """Depths in the wall at which lines run across the opening."""
    level = np.abs(local[:, 3] - local[:, 1]) <= PARALLEL * np.maximum(span, 1e-9)
    depth = hand * (local[:, 1] + local[:, 3]) / 2.0
    inside = level & (depth >= -SLACK_IN_BAND) & (depth <= thickness + SLACK_IN_BAND)
    found: list[tuple[float, float, float]] = [
        (float(d), float(min(p, q)), float(max(p, q)))
        for d, p, q in zip(depth[inside], local[inside, 0], local[inside, 2], strict=True)
    ]
    out: list[float] = []
    for depth_here in sorted({round(d, 3) for d, _, _ in found}):
        if out and depth_here - out[-1] <= PIECES:
            continue
        if total(overlap(face_spans(found, depth_here, PIECES), [(low, high)])) >= SPANNED * (high - low):
            out.append(depth_here)
    return out


def changed_kind(before: Fitting, after: Fitting, gone: Fitting, came: Fitting) -> str:
    """Say how what stands in an opening changed kind; empty where it did not.

    ``gone`` and ``came`` are read from what only one revision draws: a wall that begins beside a jamb may look like a
    leaf, and does so on both. A leaf that is hung at the other jamb or opens the other way is the same door.

    Examples
    --------
    >>> none, left, right = (Fitting((a, b), 0, False) for a, b in ((0, 0), (1, 0), (0, 1)))
    >>> changed_kind(left, right, left, right)
    ''
    >>> changed_kind(left, Fitting((0, 0), 3, True), left, none)
    'one leaf before, lines across it, as for a window now'
    """
    is_same = _count(before) == _count(after) and _count(gone) == _count(came)
    is_same &= _across(before) == _across(after) and before.in_face == after.in_face
    if _count(gone) and _count(came):
        is_same &= abs(max(gone.leaves) - max(came.leaves)) <= OTHER_LEAF
    if is_same:
        return ""
    if before.words != after.words:
        return f"{before.words} before, {after.words} now"
    if after.in_face and not before.in_face:
        return "the wall's face is drawn across it now"
    return "its leaves or what is drawn in it changed"


def _count(fitting: Fitting) -> int:
    return sum(leaf > 0.0 for leaf in fitting.leaves)


def _across(fitting: Fitting) -> str:
    """Whether lines across an opening are none or a threshold, a wall's faces, or a window's."""
    if fitting.across >= 3:
        return "window"
    return "wall" if fitting.is_wall else "open"
