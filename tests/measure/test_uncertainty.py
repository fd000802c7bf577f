"""JCGM 100:2008: 5.1.2 eq. (10) for independent inputs, 5.2.2 eq. (13) for correlated ones; worked by hand."""

import math

import numpy as np
import pytest

from takeoff.geometry.paths import offset_path
from takeoff.measure.develop import develop, traced_path
from takeoff.measure.totals import summarise
from takeoff.measure.uncertainty import pick_length
from takeoff.model.plan import Calibration
from takeoff.model.walls import HeightProfile, Room

FOOT = 0.3048
# 1/8" = 1'-0" is 9 points to the foot. Scale from 40 ft over 360 pt, exact, each end picked to 0.5 pt a coordinate
# along the line: u_s / s = sqrt(2) x 0.5 / 360 = 0.19641855 %.
EIGHTH = Calibration(sheet=1, mx=FOOT / 9, my=FOOT / 9, u_scale=math.sqrt(2) * 0.5 / 360, pick=0.5)
SHEET_TWO = Calibration(sheet=2, mx=FOOT / 9, my=FOOT / 9, u_scale=math.sqrt(2) * 0.5 / 360, pick=0.5)


@pytest.fixture(scope="session")
def spread(measure):
    """Expanded uncertainties (k = 2) of the total of runs."""

    def of(*runs, scales, rooms=(), height_u=0.0):
        faces = measure(*runs, scales=scales, rooms=rooms, height_u=height_u)
        return summarise(faces, by="run", rooms={r.id: r for r in rooms}, rule="exact-net").total.u

    return of


def test_hundred_feet_have_the_published_first_order_uncertainty(wall, spread):
    # Scale part 0.196419 ft, own picks sqrt(2) x 0.5 / 9 = 0.078567 ft: u = 0.211549 ft, U = 0.423099 ft.
    u = spread(wall([(0, 0), (900, 0)]), scales={"a": EIGHTH})
    assert u.base_length / FOOT == pytest.approx(0.423099, abs=1e-6)


def test_scale_part_does_not_shrink_with_the_number_of_runs(wall, spread):
    # Four separate runs of 25 ft: scale 0.196419 as before, picks 0.078567 x sqrt(4) = 0.157135: u = 0.251538 ft.
    runs = [wall([(0, 100 * k), (225, 100 * k)], id=f"r{k}") for k in range(4)]
    u = spread(*runs, scales={r.id: EIGHTH for r in runs})
    assert u.base_length / FOOT == pytest.approx(2 * 0.251538, abs=2e-6)


def test_wall_area_takes_its_height_along(wall, spread):
    # 100 ft (u 0.211549) x 10 ft (u 0.02 ft): 0.291124 % of 1000 ft2 = 2.91124 ft2.
    u = spread(wall([(0, 0), (900, 0)], height=10 * FOOT), scales={"a": EIGHTH}, height_u=0.02 * FOOT)
    assert u.net_area / FOOT**2 == pytest.approx(2 * 2.91124, abs=2e-5)


def test_walls_of_one_room_share_its_height(wall, spread):
    room = Room(id="R", height=HeightProfile.constant(3.0))
    exact = Calibration(sheet=1, mx=1.0, my=1.0, pick=0.0)
    lines = {"a": [(0, 0), (6, 0)], "b": [(0, 9), (8, 9)]}
    shared = spread(
        *(wall(p, id=k, height=None, room="R") for k, p in lines.items()),
        scales=dict.fromkeys(lines, exact),
        rooms=(room,),
        height_u=0.01,
    )
    alone = spread(*(wall(p, id=k) for k, p in lines.items()), scales=dict.fromkeys(lines, exact), height_u=0.01)
    assert shared.net_area == pytest.approx(2 * 0.01 * (6 + 8))  # one input: linear
    assert alone.net_area == pytest.approx(2 * 0.01 * math.hypot(6, 8))  # two inputs: root of squares


def test_two_calibrations_are_independent_of_one_another(wall, spread):
    lines = {"a": [(0, 0), (900, 0)], "b": [(0, 0), (900, 0)]}
    runs = [wall(p, id=k, sheet=n) for n, (k, p) in enumerate(lines.items(), 1)]
    one = spread(runs[0], scales={"a": EIGHTH}).base_length
    assert spread(*runs, scales={"a": EIGHTH, "b": SHEET_TWO}).base_length == pytest.approx(one * math.sqrt(2))


def test_exact_scale_picks_and_heights_leave_no_uncertainty(wall, spread):
    exact = Calibration(sheet=1, mx=1.0, my=1.0, pick=0.0)
    u = spread(wall([(0, 0), (9, 0)]), scales={"a": exact})
    assert (u.net_area, u.base_length) == (0.0, 0.0)


def test_vertex_on_a_straight_line_adds_no_uncertainty(wall, spread):
    whole = spread(wall([(0, 0), (900, 0)]), scales={"a": EIGHTH})
    broken = spread(wall([(0, 0), (300, 0), (700, 0), (900, 0)]), scales={"a": EIGHTH})
    assert broken.base_length == pytest.approx(whole.base_length)


SHAPES = [
    ([(0, 0), (9, 0)], {}),
    ([(0, 0), (9, 0), (9, 6)], {}),
    ([(0, 0), (0, 4), (6, 4), (6, 0)], {"closed": True}),
    ([(0, 0), (4, 1), (7, -2), (12, 0)], {}),
    ([(0, 0), (5, 3), (9, -1)], {"closed": True}),
]


@pytest.mark.parametrize(("points", "rest"), SHAPES)
@pytest.mark.parametrize("offset", [0.0, 0.1])
def test_picking_part_agrees_with_a_simulation(wall, points, rest, offset):
    """The independent way: move every coordinate at random, measure each time, and look at the scatter."""
    pick = 0.004
    scale = Calibration(sheet=1, mx=1.0, my=1.0, pick=pick)
    line = {"line": "centre", "thickness": 2 * offset} if offset else {}
    run = wall(points, **rest, **line)
    (face,) = develop(run, None, scale)
    rng = np.random.default_rng(20)
    path = traced_path(run, scale)
    lengths = []
    for _ in range(3000):
        moved = np.asarray(points) + rng.normal(0.0, pick, (len(points), 2))
        shaken = offset_path(type(path)(tuple(map(tuple, moved.tolist())), path.bulges, path.is_closed), offset)
        lengths.append(shaken.stations()[-1])
    # The scatter of 3000 trials is itself known to 1 / sqrt(6000) = 1.3 %; four times that is allowed.
    if offset and len(points) > 2:
        assert np.std(lengths) == pytest.approx(pick_length(face, pick), rel=0.2)
    else:
        assert np.std(lengths) == pytest.approx(pick_length(face, pick), rel=0.052)
