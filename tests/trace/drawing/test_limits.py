"""The numbers that steer what is read of a drawing: what is drawn on either side of each, and what is read of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from takeoff.sheet.files import read_sheets
from takeoff.trace.drawing.crowded import is_crowded, short_paths
from takeoff.trace.drawing.curves import arc_of_curve, chains_to_arcs
from takeoff.trace.drawing.linework import empty_linework
from takeoff.trace.lines.traced_rooms import outline_of
from tests.trace.ink import Ink


def corners(sides: int) -> np.ndarray:
    """Corners of a polygon on a circle of 50 points, which turns by 360° over its sides at each."""
    angle = 2 * np.pi * np.arange(sides) / sides
    return np.column_stack([100 + 50 * np.cos(angle), 100 + 50 * np.sin(angle)])


def is_arc(handle: float) -> bool:
    """Tell whether a quarter of a circle of radius 1, drawn as a curve with handles of this length, is read as an arc.

    The handles of 0.5523 leave the circle by 0.0003 (common knowledge). The curve is measured here by its distance from
    the circle through its ends and its middle, which for 0.579 is 0.0037 of the radius and for 0.584 it is 0.0045.
    """
    return arc_of_curve(((1, 0), (1, -handle), (handle, -1), (0, -1))) is not None


def is_chain_an_arc(sides: int) -> bool:
    points = corners(sides)[:7]
    lines = np.column_stack([points[:-1], points[1:]])
    return not chains_to_arcs(lines, np.zeros(6, np.int64), np.zeros(6, np.int64))[0].all()


def is_outline_round(sides: int) -> bool:
    return any(outline_of(corners(sides), 0.1, 1.5)[1])


def lines_kept(total: int, in_one_path: int) -> int:
    """Count what is left for scales of so many lines, of which some are in one path and each other is one by itself."""
    path = np.maximum(np.arange(total) - in_one_path + 1, 0)
    none = np.zeros(int(path[-1]) + 1, bool)
    return len(short_paths(replace(empty_linework(), lines=np.zeros((total, 4)), line_path=path, stroked=none)).lines)


def has_too_many(paths: int) -> bool:
    ink = Ink((100, 100), lambda point: point, layered=False)
    ink.parts.append("1 1 m 2 2 l S " * paths)
    data = ink.data(rotate=0)
    return is_crowded(read_sheets(data, "a.pdf")[0][0])


@pytest.mark.parametrize(
    ("says", "within", "beyond"),
    [
        (is_arc, (0.579, True), (0.584, False)),
        (is_chain_an_arc, (12, True), (11, False)),
        (is_outline_round, (12, True), (11, False)),
        (lambda total: lines_kept(total, 9), (290_000, 290_000), (310_000, 310_000 - 9)),
        (has_too_many, (155_000, True), (145_000, False)),
        (lambda lines: lines_kept(400_000, lines), (8, 400_000), (9, 400_000 - 9)),
    ],
    ids=["curve", "chain", "outline", "many lines", "paths", "long path"],
)
def test_on_either_side_of_a_limit_something_else_is_read(says, within, beyond):
    assert [says(within[0]), says(beyond[0])] == [within[1], beyond[1]]
