from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from takeoff.audit.areas import RoomAreas, room_areas
from takeoff.audit.matching import match_rooms
from takeoff.audit.stated import StatedArea
from takeoff.audit.verdict import AreaCheck, check_rooms, judge
from takeoff.measure.rules import MeasureSettings
from takeoff.model.plan import KnownDimension
from takeoff.model.walls import HeightProfile, Room, Run
from takeoff.sheet.calibrate import fit_calibration
from takeoff.units import Display

Measure = Callable[..., RoomAreas]
METRES_PER_POINT = 50 * 0.0254 / 72


def test_at_the_expanded_uncertainty_it_agrees_and_beyond_it_differs():
    assert judge(102.0, 100.0, 1.0) == ("agrees", 2.0)
    assert judge(102.0001, 100.0, 1.0)[0] == "differs"


def test_a_coarse_measurement_agrees_with_nothing_but_can_still_differ():
    assert judge(101.0, 100.0, 3.0)[0] == "cannot say"
    assert judge(110.0, 100.0, 3.0)[0] == "differs"


def check(stated: list[StatedArea], room: RoomAreas, **more: str) -> AreaCheck:
    return check_rooms(
        match_rooms(stated, (room.room,)),
        {room.room.id: room},
        rule="exact-net",
        basis=more.get("basis", "net"),  # type: ignore[arg-type]
        labels={room.room.id: "104 Process"},
        display=Display(system="metric"),
    )


def test_a_room_that_is_not_in_the_job_cannot_be_judged(measured_room):
    found = check([StatedArea(number="999", value=50, unit="m2")], measured_room())
    assert found.lines[0].verdict == "cannot say"
    assert not found.differs
    assert found.unstated == ("104 Process",)


def test_a_basis_that_the_runs_do_not_give_cannot_be_judged(measured_room):
    found = check([StatedArea(number="104", value=60, unit="m2")], measured_room(), basis="centreline")
    assert found.lines[0].verdict == "cannot say"
    assert "centreline" in found.lines[0].reason


def simulated(random: np.random.Generator) -> bool:
    """Measure a room of known size as a person would, with slips of a known spread; true where it is called different.

    Every coordinate is picked with a spread of half a point; the scale comes from two picked dimensions; the height is
    measured with a spread of 10 mm. The schedule states the true area, rounded to 0.1 m².
    """
    pick, height_u = 0.5, 0.01
    width, depth, height = random.uniform(3.0, 15.0), random.uniform(3.0, 10.0), random.uniform(2.4, 4.5)

    def picked(x: float, y: float) -> tuple[float, float]:
        dx, dy = random.normal(0.0, pick, 2)
        return (x / METRES_PER_POINT + dx, y / METRES_PER_POINT + dy)

    dimensions = [
        KnownDimension(start_pt=picked(0, 0), end_pt=picked(24.0, 0), length=24.0),
        KnownDimension(start_pt=picked(0, 0), end_pt=picked(0, 16.0), length=16.0),
    ]
    scale = fit_calibration(1, dimensions, pick=pick)
    corners = [(0.0, 0.0), (width, 0.0), (width, depth), (0.0, depth)]
    run = Run(
        id="a", sheet=1, room="R1", points_pt=tuple(picked(*c) for c in corners), closed=True, face="right"
    )  # fmt: skip
    room = Room(id="R1", number="104", height=HeightProfile.constant(height + random.normal(0.0, height_u)))
    areas = room_areas(room, (run,), {"a": scale}, settings=MeasureSettings(height_u=height_u))
    true = 2.0 * (width + depth) * height
    stated = StatedArea(number="104", value=round(true, 1), unit="m2", decimals=1)
    area, u = areas.areas["net"]
    return judge(stated.area, area, math.hypot(u, stated.u_rounding))[0] == "differs"


def test_of_a_thousand_true_agreements_at_most_five_in_a_hundred_are_called_different():
    random = np.random.default_rng(20260311)
    called = sum(simulated(random) for _ in range(1000))
    # JCGM 100:2008, 6.2: k = 2 covers about 95 %. Far fewer would mean that the uncertainty is padded.
    assert 5 <= called <= 50
