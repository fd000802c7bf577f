"""The numbers that steer what is read of pictures: what a field has on either side of each, and what is read of it."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial
from types import SimpleNamespace

import numpy as np
import pytest
import shapely

from takeoff.model.plan import Calibration, Sheet
from takeoff.trace.lines.gaps import gap_between
from takeoff.trace.lines.opening_forms import FoundOpening
from takeoff.trace.lines.traced_rooms import run_round
from takeoff.trace.scans import raster_plan
from takeoff.trace.scans.field_evidence import FAINT, FieldEvidence, judge_field
from takeoff.trace.scans.field_openings import closed_field, field_openings
from takeoff.trace.scans.field_outlines import outline_rings
from takeoff.trace.scans.field_sides import Side, merged_sides, turned_into
from takeoff.trace.scans.raster_plan import ON_RUN
from takeoff.trace.scans.wall_network import PASSAGE, SWING, WINDOW, WallField, with_filling
from tests.trace.scans.test_field import cover, field_of, walls_with

WALLS, HOLE = walls_with(shapely.box(340, 300, 352, 372))
"""A wall of 150 mm between two rooms, and an opening of 0.9 m in it, in pixels of 12.5 mm."""


def is_filled(darkness: float) -> bool:
    """Tell whether what is as dark as the walls is wall too, where both are so dark."""
    field, dark = field_of(WALLS, [(WINDOW, HOLE)]), darkness * cover(WALLS.union(HOLE))
    chances = with_filling(field.chances.copy(), dark)
    return field_openings(WallField(chances=chances, darkness=dark, px_per_pt=(1.0, 1.0))) == []


def side(x: float, y: float, degrees: float, length: float) -> Side:
    along = np.array([math.cos(math.radians(degrees)), math.sin(math.radians(degrees))])
    return Side(foot=np.array([x, y]), along=along, low=0.0, high=length)


def takes_direction(degrees: float) -> bool:
    """Tell whether a long side takes a common direction that it is so far off."""
    return math.isclose(turned_into(side(0, 0, degrees, 5000.0), np.zeros(1)).along[1], 0.0, abs_tol=1e-12)


def sides_left(step: float) -> int:
    """Count the sides of a box of which one goes on so many pixels aside."""
    box = [side(0, 0, 0, 100), side(100, step, 0, 100), side(200, 0, 90, 80), side(200, 80, 180, 200)]
    return len(merged_sides([*box, side(0, 80, 270, 80)]))


def sides_of_bent(degrees: float) -> int:
    """Count the sides of a box of which one ends in a stub of five pixels that is turned so far."""
    box = [side(0, 0, 0, 100), side(100, 0, degrees, 5), side(105, 0, 90, 80), side(105, 80, 180, 105)]
    return len(merged_sides([*box, side(0, 80, 270, 80)]))


def has_glass(darkness: float) -> bool:
    """Tell whether a line so dark between the faces of an opening is glass; of a pixel's width nine tenths are seen."""
    ink = np.zeros(cover(WALLS).shape, np.float32)
    for x, dark in ((340, 0.5), (346, darkness), (352, 0.5)):
        ink[295:377, x] = dark
    (opening,) = field_openings(field_of(WALLS, [(WINDOW, HOLE)], darkness=ink))
    return opening.row == WINDOW


def has_glass_beside(patch: float, thick: float) -> bool:
    """Tell whether glass is seen beside so many pixels of a window that reach from one face of a thicker wall to it."""
    hole = shapely.box(250, 180, 330, 180 + thick)
    walls = shapely.box(80, 180, 620, 180 + thick).difference(hole)
    drawn = [shapely.LineString([(250, y), (330, y)]) for y in (180, 182 + patch, 180 + thick)]
    ink = 0.6 * cover(shapely.union_all([walls.boundary, *drawn]).buffer(0.7))
    (opening,) = field_openings(field_of(walls, [(WINDOW, shapely.box(250, 180, 330, 180 + patch))], darkness=ink))
    return opening.row == WINDOW


def openings_side_by_side(width: float) -> int:
    """Count the openings where a window of so many pixels stands beside a door of twice that, without a jamb."""
    walls, _ = walls_with(shapely.box(340, 250, 352, 250 + 3 * width))
    parts = [(WINDOW, shapely.box(340, 250, 352, 250 + width))]
    parts.append((SWING, shapely.box(340, 250 + width, 352, 250 + 3 * width)))
    return len(field_openings(field_of(walls, parts)))


def is_opening(width: float) -> bool:
    walls, hole = walls_with(shapely.box(340, 300, 352, 300 + width))
    return bool(field_openings(field_of(walls, [(PASSAGE, hole)])))


def is_thick_enough(thick: float) -> bool:
    """Tell whether an opening is found in a wall so many pixels thick."""
    walls = shapely.box(80, 180, 620, 520).difference(shapely.box(80 + thick, 180 + thick, 620 - thick, 520 - thick))
    hole = shapely.box(80, 300, 80 + thick, 372)
    return bool(field_openings(field_of(walls.difference(hole), [(PASSAGE, hole)])))


def goes_on(unseen: float) -> bool:
    """Tell whether an opening of which so many pixels are not seen goes on to the wall."""
    parts = [(PASSAGE, shapely.box(340, 250 + unseen, 352, 400))]
    walls, _ = walls_with(shapely.box(340, 250, 352, 400))
    (opening,) = field_openings(field_of(walls, parts))
    return abs(opening.width - 150) < 2


def is_faint(share: float) -> bool:
    """Tell whether a face is missing where half a metre of it is drawn with so much of the ink that the rest has."""
    ink = cover(WALLS.union(HOLE).buffer(1).boundary.buffer(1.5))
    ink[195:205, 180:220] *= share
    field = field_of(WALLS, [(SWING, HOLE)], darkness=ink)
    openings = field_openings(field)
    rings = [r for r in outline_rings(closed_field(field.chances, openings), 64.0) if r.is_hole]
    return min(FieldEvidence.of(r, field, openings, []).faint for r in rings) < FAINT


def may_hide(tone: float) -> float:
    """Return by what share of its area the left room's edge may be off, its walls so dark between faces of full ink."""
    holes = [(SWING, HOLE)]
    ink = np.maximum(tone * cover(WALLS), cover(WALLS.boundary.buffer(2.5)))
    field = replace(field_of(WALLS, holes, darkness=ink), px_per_pt=(4.0, 4.0))
    rings = outline_rings(closed_field(field.chances, field_openings(field)), 64.0)
    ring = min((r for r in rings if r.is_hole), key=lambda r: r.points[:, 0].min())
    return FieldEvidence.of(ring, field, field_openings(field), []).rough


def is_sure(name: str, value: float) -> bool:
    """Tell whether a room of which all else is clear is sure with so much of one thing."""
    clear = {"blur": 0.0, "inner": 0.0, "weak": 1.0, "hidden": 0.0, "area": 12.0}
    door = SimpleNamespace(confidence=0.99, form="swing", reason="")
    return judge_field(FieldEvidence(**{**clear, name: value}), [door], None)[2]


def width_of_blurred(reach: float) -> float:
    """Return how wide a square of 200 pixels is read whose chance falls from 0.5 to 0.3 over so many pixels."""
    y, x = np.abs(np.mgrid[0:400, 0:400] + 0.5 - 200)
    field = np.clip(0.5 + 0.2 / reach * (100 - np.maximum(x, y)), 0, 1).astype(np.float32)
    (ring,) = outline_rings(field, 64.0)
    return float(np.ptp(ring.points[:, 0]))


def cut_opening(beyond: float) -> tuple[float, float] | None:
    """Return width and confidence of an opening of 0.8 m that was read so many centimetres beyond a corner."""
    left, right = (np.array([[x, 220.0 + beyond], [x, 300.0 + beyond]]) for x in (400.0, 415.0))
    gap = gap_between((left[0], left[1]), (right[0], right[1]), is_capped=True)
    found = FoundOpening(gap=gap, form="swing", confidence=0.95, reason="a swing")
    room = shapely.box(0, 0, 400, 300)
    scale = Calibration(sheet=1, mx=0.01, my=0.01)
    run = run_round(room, [found], scale, 0.01, is_column=False, slack=0.01, share=ON_RUN)
    return next(((round(o.width, 1), o.confidence) for o in run.openings), None)


@pytest.mark.parametrize(("millimetres", "is_followed"), [(19.5, True), (20.5, False)])
def test_lines_are_followed_where_a_pixel_is_less_than_20_mm(monkeypatch, millimetres, is_followed):
    asked = []
    monkeypatch.setattr(raster_plan, "linework_of_picture", lambda *_: asked.append(1))
    page, scale = np.full((60, 60), 255, np.uint8), Calibration(sheet=1, mx=millimetres / 1e3, my=millimetres / 1e3)
    raster_plan.read_raster_plan(page, Sheet(id=1, source="", page=1, width_pt=60, height_pt=60), scale)
    assert bool(asked) == is_followed


@pytest.mark.parametrize(
    ("says", "within", "beyond"),
    [
        (cut_opening, (6, (0.8, 0.95)), (12, (0.7, 0.5))),
        (cut_opening, (34, (0.5, 0.5)), (44, None)),
        (is_filled, (0.27, True), (0.235, False)),
        (takes_direction, (0.64, True), (0.78, False)),
        (sides_left, (1.1, 4), (1.3, 5)),
        (sides_of_bent, (10.5, 4), (13.5, 5)),
        (has_glass, (0.0245, True), (0.0205, False)),
        (partial(has_glass_beside, 10), (24, True), (28, False)),
        (partial(has_glass_beside, 20), (42, True), (46, False)),
        (openings_side_by_side, (30.5, 2), (25.5, 1)),
        (is_opening, (26.0, True), (22.0, False)),
        (is_thick_enough, (3.4, True), (2.6, False)),
        (goes_on, (30.0, True), (35.0, False)),
        (is_faint, (0.52, True), (0.68, False)),
        # 12 m² within 14 m: half a pixel of 12.5 mm, or half a point at 1 : 142 where the walls are black
        (may_hide, (0.7, pytest.approx(0.008, abs=0.002)), (0.8, pytest.approx(0.031, abs=0.006))),
        (partial(is_sure, "rough"), (0.019, True), (0.021, False)),
        (width_of_blurred, (3.3, pytest.approx(200, abs=0.2)), (3.9, pytest.approx(207, abs=1))),
    ],
    ids=lambda value: getattr(value, "__name__", ""),
)
def test_on_either_side_of_a_limit_something_else_is_read(says, within, beyond):
    assert [says(within[0]), says(beyond[0])] == [within[1], beyond[1]]
