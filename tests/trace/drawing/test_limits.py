"""The numbers that steer what is read of a drawing: what is drawn on either side of each, and what is read of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from takeoff.model.drafting import DraftingStyle, Look
from takeoff.sheet.files import read_sheets
from takeoff.trace.drawing.crowded import is_crowded, short_paths
from takeoff.trace.drawing.curves import arc_of_curve, chains_to_arcs, fit_arcs, solids_of
from takeoff.trace.drawing.linework import empty_linework
from takeoff.trace.drawing.looks import fitted_to
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


def is_chain(sides: int = 16, count: int = 6, miss: float = 0.0) -> bool:
    """Tell whether so many sides of a polygon, each begun so far beside where the last one ended, are an arc."""
    points = corners(sides)[: count + 1]
    lines = np.column_stack([points[:-1] + np.array([0.0, miss]), points[1:]])
    return not chains_to_arcs(lines, np.zeros(count, np.int64), np.zeros(count, np.int64))[0].all()


def is_on_arc(widest: float) -> bool:
    """Tell whether points on a circle are of an arc, the widest two so many degrees apart and the others 20°."""
    angles = np.radians(np.cumsum([0.0, 20.0, 20.0, widest, 20.0]))
    return bool(fit_arcs(50 * np.column_stack([np.cos(angles), np.sin(angles)]), 0.1))


def is_solid(strokes: int = 40, high: float = 0.5, pen: float = 0.5) -> bool:
    """Tell whether strokes of 1 point over so many points of height are a filled shape."""
    rows = [high * i / (strokes - 1) for i in range(strokes)]
    return bool(solids_of([([("l", (0.0, y), (1.0, y)) for y in rows], pen)]))


WALL, PANE = Look(pen_pt=0.57, ink=(0, 0, 0)), Look(pen_pt=0.24, ink=(0, 0, 0))


def fits_in_pen(wider: float) -> bool:
    """Tell whether a style's windows are found in a pen so many points wider, on a sheet whose walls are the same."""
    style = DraftingStyle(name="office", walls=(WALL,), windows=(PANE,))
    fitted = fitted_to(style, [WALL, replace(PANE, pen_pt=0.24 + wider)])
    return fitted is not None and bool(fitted.windows)


def fits_print(ratio: float) -> bool:
    style = DraftingStyle(name="office", walls=(WALL,))
    return fitted_to(style, [replace(WALL, pen_pt=0.57 * ratio)]) is not None


@pytest.mark.parametrize(
    ("says", "within", "beyond"),
    [
        (is_arc, (0.579, True), (0.584, False)),
        (is_chain_an_arc, (12, True), (11, False)),
        (is_outline_round, (12, True), (11, False)),
        (lambda total: lines_kept(total, 9), (290_000, 290_000), (310_000, 310_000 - 9)),
        (has_too_many, (155_000, True), (145_000, False)),
        (lambda lines: lines_kept(400_000, lines), (8, 400_000), (9, 400_000 - 9)),
        (lambda count: is_chain(count=count), (4, True), (3, False)),
        (lambda miss: is_chain(miss=miss), (0.017, True), (0.023, False)),
        (lambda turn: is_chain(sides=round(360 / turn), count=12), (0.42, True), (0.38, False)),
        (is_on_arc, (33.0, True), (35.0, False)),
        (lambda strokes: is_solid(strokes=strokes), (12, True), (11, False)),
        (lambda high: is_solid(strokes=12, high=high), (1.86, True), (2.16, False)),
        (lambda high: is_solid(high=high, pen=0.0), (3.8, True), (4.2, False)),
        (fits_in_pen, (0.016, True), (0.019, False)),
        (fits_print, (0.32, True), (0.28, False)),
        (fits_print, (2.9, True), (3.1, False)),
    ],
    ids=[
        "curve",
        "chain",
        "outline",
        "many lines",
        "paths",
        "long path",
        "sides",
        "misses",
        "turn",
        "chord",
        "strokes",
        "to and fro",
        "hairline",
        "pen",
        "reduced",
        "enlarged",
    ],
)
def test_on_either_side_of_a_limit_something_else_is_read(says, within, beyond):
    assert [says(within[0]), says(beyond[0])] == [within[1], beyond[1]]
