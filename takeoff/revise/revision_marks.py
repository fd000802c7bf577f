"""The marks by which a sheet shows what was revised, clouds and tags: they are no part of the building."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import shapely

from takeoff.revise.registration import Box, Floats
from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.linework import Linework

LONGEST_PT = 60.0
"""Points of a tag's side, or of a chord of a cloud's bow."""
LEAST_TAG_PT = 8.0
"""Points of a tag's side at the least."""
GRAIN_PT = 0.05
"""Points within which ends of lines meet."""
BOWS = 6
"""Bows that a cloud has at the least (judgement, no source)."""
CUSP = np.radians(50.0)
"""Turn between two bows; chords of one bow turn less (judgement, no source)."""
ONE_HAND = 0.9
"""Part of a cloud's chords that turn to one hand, and of its cusps to the other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RevisionMark:
    """A revision cloud, or a tag with its number, and its box in sheet points."""

    kind: Literal["cloud", "tag"]
    box_pt: Box
    text: str = ""


def without_marks(
    linework: Linework, texts: Sequence[TextLine]
) -> tuple[Linework, list[TextLine], tuple[RevisionMark, ...]]:
    """Part a sheet's revision marks from what else is drawn and written on it.

    A cloud is a ring of bows, all of one hand; a tag is a triangle of equal sides about a number or letter.
    """
    pieces = linework.pieces
    ends = np.round(pieces.segments / GRAIN_PT) * GRAIN_PT
    long = np.hypot(ends[:, 2] - ends[:, 0], ends[:, 3] - ends[:, 1])
    is_short = (long > 0.0) & (long <= LONGEST_PT)
    merged = shapely.line_merge(shapely.multilinestrings(shapely.linestrings(ends[is_short].reshape(-1, 2, 2))))
    marks, corners, within = [], [], set()
    for ring in shapely.get_parts(merged):
        points = shapely.get_coordinates(ring)
        left, top, right, bottom = (float(v) for v in ring.bounds)
        if not ring.is_ring:
            continue
        if _is_cloud(points):
            marks.append(RevisionMark(kind="cloud", box_pt=(left, top, right, bottom)))
        elif (text := _number_in(points, texts)) is not None:
            marks.append(RevisionMark(kind="tag", box_pt=(left, top, right, bottom), text=text.text.strip()))
            within.add(id(text))
        else:
            continue
        corners.append(points)
    if not marks:
        return linework, list(texts), ()
    known = {tuple(key) for key in np.rint(np.concatenate(corners) / GRAIN_PT).astype(int).tolist()}
    keys = np.rint(ends / GRAIN_PT).astype(int).tolist()
    own = is_short & np.array([(a, b) in known and (c, d) in known for a, b, c, d in keys], bool)
    straight = ~own[: len(linework.lines)]
    bent = np.ones(len(linework.arcs), bool)
    bent[pieces.arc[own & (pieces.arc >= 0)]] = False
    rest = replace(
        linework, lines=linework.lines[straight], line_path=linework.line_path[straight],
        arcs=linework.arcs[bent], arc_path=linework.arc_path[bent],
    )  # fmt: skip
    return rest, [line for line in texts if id(line) not in within], tuple(marks)


def _is_cloud(ring: Floats) -> bool:
    steps = np.diff(ring, axis=0)
    after = np.roll(steps, -1, axis=0)
    turns = np.arctan2(steps[:, 0] * after[:, 1] - steps[:, 1] * after[:, 0], (steps * after).sum(1))
    cusps = turns[np.abs(turns) >= CUSP]
    bent = turns[(np.abs(turns) < CUSP) & (np.abs(turns) > 1e-3)]
    if len(cusps) < BOWS or len(bent) < len(cusps):
        return False
    hand = np.sign(np.median(cusps))
    return bool((cusps * hand > 0).mean() >= ONE_HAND and (bent * hand < 0).mean() >= ONE_HAND)


def _number_in(ring: Floats, texts: Sequence[TextLine]) -> TextLine | None:
    sides = np.hypot(*np.diff(ring, axis=0).T)
    if len(sides) != 3 or sides.max() > 1.3 * sides.min() or sides.min() < LEAST_TAG_PT:
        return None
    triangle = shapely.Polygon(ring)
    return next(
        (t for t in texts if len(t.text.strip()) <= 3 and triangle.contains(shapely.Point(t.middle_pt))), None
    )  # fmt: skip
