from __future__ import annotations

import json
from collections.abc import Callable

import pytest

from takeoff.audit.areas import RoomAreas, height_that_gives, room_areas
from takeoff.measure.rules import MeasureSettings
from takeoff.model.walls import Opening
from tests.jobs import PLANS

Measure = Callable[..., RoomAreas]
DOOR = Opening(at=2.0, width=1.0, height=2.1)
WINDOW = Opening(at=8.0, width=2.0, height=1.5, sill=0.9, kind="window")


def test_a_box_room_has_the_areas_that_arithmetic_gives(measured_room):
    room = measured_room(openings=(DOOR, WINDOW))
    assert room.areas["gross"][0] == pytest.approx(2 * (6 + 4) * 3)
    assert room.areas["net"][0] == pytest.approx(60 - 2.1 - 3.0)
    assert room.areas["floor"][0] == pytest.approx(24.0)
    assert "centreline" not in room.areas


def test_the_centreline_of_a_box_room_adds_four_thicknesses_of_length(measured_room):
    # outward by half a thickness on each side: (6 + t) and (4 + t), so the perimeter grows by 4 t
    room = measured_room(thickness=0.2)
    assert room.areas["centreline"][0] == pytest.approx(2 * (6.2 + 4.2) * 3)


def test_the_floor_follows_the_curved_wall_and_leaves_pillars_out(sample_job):
    def floor(id: str) -> float:
        runs = [r for r in sample_job.runs.values() if r.room == id]
        scales = {r.id: sample_job.calibration_for(r) for r in runs}
        return room_areas(sample_job.rooms[id], runs, scales, settings=MeasureSettings()).areas["floor"][0]

    foot = 0.3048
    pillars = 1.5**2 + 3.14159265 * 1.0**2
    assert floor("R104") == pytest.approx((36 * 22 - pillars) * foot**2, rel=1e-4)
    # circular segment over a 26 ft chord with a 3 ft rise: r²(θ − sin θ)/2
    import math

    radius = (13**2 + 3**2) / 6
    angle = 2 * math.asin(13 / radius)
    assert floor("R105") == pytest.approx((26 * 22 + radius**2 * (angle - math.sin(angle)) / 2) * foot**2, rel=1e-3)


def test_solving_for_the_height_gives_back_the_height(measured_room):
    room = measured_room(openings=(DOOR, WINDOW))
    for height in (1.0, 2.4, 3.5):
        area = room.at_height(height)
        assert height_that_gives(room, area) == pytest.approx(height, abs=2e-4)


def test_net_areas_of_every_room_of_the_sample_are_the_true_ones(sample_job):
    truth = json.loads((PLANS / "facility-truth.json").read_text())["rooms"]
    for id, room in sample_job.rooms.items():
        runs = [r for r in sample_job.runs.values() if r.room == id]
        scales = {r.id: sample_job.calibration_for(r) for r in runs}
        areas = room_areas(room, runs, scales, settings=MeasureSettings()).areas
        assert areas["net"][0] == pytest.approx(truth[id]["net_area"], abs=1e-4)
        assert areas["with-returns"][0] == pytest.approx(truth[id]["net_area"] + truth[id]["return_area"], abs=1e-4)
