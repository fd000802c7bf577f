import math

import pytest

from takeoff.errors import CalibrationError, GeometryError, InputError
from takeoff.measure.rules import MeasureSettings
from takeoff.model.plan import Calibration
from takeoff.model.walls import Cove, HeightProfile, Opening, Room

LINE = [(0, 0), (5, 0)]
ROOM = [(0, 0), (0, 4), (6, 4), (6, 0)]
DOOR = {"at": 2.0, "width": 1.0, "height": 2.0}


@pytest.mark.parametrize(
    ("points", "rest", "reason"),
    [
        ([(0, 0)], {}, "an open wall of 1 point"),
        ([(0, 0), (0, 0)], {}, "points 1 and 2 are the same"),
        ([(0, 0), (5, 0), (5, 0), (5, 5)], {}, "points 2 and 3 are the same"),
        ([(0, 0), (5, 0), (5, 5), (0, 0)], {"closed": True}, "points 4 and 1 are the same"),
        ([(0, 0), (5, 0)], {"closed": True}, "closed wall of 2 points"),
        ([(0, 0), (math.nan, 0)], {}, "not a finite number"),
        ([(0, 0), (math.inf, 0)], {}, "not a finite number"),
        (LINE, {"bulges": (0.0, 0.0, 0.0)}, "3 bulges for 1 segments"),
        (LINE, {"bulges": (math.nan,)}, "not a usable number"),
        (LINE, {"bulges": (1e6,)}, "not a usable number"),
        (LINE, {"face": "both"}, "need the wall's thickness"),
        (LINE, {"line": "centre"}, "need the wall's thickness"),
        (LINE, {"ends": ("return", "free")}, "need the wall's thickness"),
        (LINE, {"thickness": -0.2}, "at least 0 m"),
        (LINE, {"thickness": 200.0}, "more than 10 m"),
        (LINE, {"base": -0.1}, "at least 0 m"),
        (LINE, {"base": 3.0}, "top is not above its base"),
    ],
)
def test_run_that_no_wall_can_have_is_refused(wall, points, rest, reason):
    with pytest.raises(GeometryError, match=reason):
        wall(points, **rest)


@pytest.mark.parametrize(
    ("points", "reason"),
    [
        ([(0.0, 0.0)], "must be at least 0.001 m"),
        ([(0.0, -2.4)], "must be at least 0.001 m"),
        ([(0.0, 2400.0)], "more than 100 m"),
        ([(0.0, math.nan)], "nan"),
        ([(0.0, math.inf)], "inf"),
        ([(-1.0, 2.4)], "height station"),
        ([], "empty"),
        ([(0.0, 2.4), (5.0, 2.4), (4.0, 3.0)], "not in order"),
        ([(0.0, 2.4), (2.0, 2.4), (2.0, 2.6), (2.0, 3.0)], "three heights stand at one station"),
    ],
)
def test_height_that_no_wall_can_have_is_refused(points, reason):
    with pytest.raises(GeometryError, match=reason):
        HeightProfile(points=tuple(points))


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"width": 0.0}, "opening width"),
        ({"width": -1.0}, "opening width"),
        ({"height": 0.0}, "opening height"),
        ({"height": -2.0}, "opening height"),
        ({"height": 2100.0}, "more than 100 m"),
        ({"at": -0.5}, "opening at"),
        ({"sill": -0.1}, "opening sill"),
        ({"width": math.nan}, "nan"),
        ({"reveal": -0.1}, "reveal"),
        ({"count": 0}, "count of 0"),
        ({"count": 10_001}, "count of 10,001"),
        ({"spacing": 0.0}, "opening spacing"),
        ({"outline": ((0.0, 0.0), (0.1, 0.0))}, "three points"),
        ({"outline": ((-0.5, 0.0), (0.5, 0.0), (0.0, 2.5))}, "leaves its width"),
    ],
)
def test_opening_that_no_wall_can_have_is_refused(change, reason):
    with pytest.raises(GeometryError, match=reason):
        Opening(**{**DOOR, **change})


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"width": 6.0, "at": 2.5}, r"wall a, opening 2: it is 6\.000 m \(19'-8 1/4\"\) wide on a wall of 5\.000 m"),
        ({"at": 0.4}, r"wall a, opening 2: it reaches from -0\.100 m .+ to 0\.900 m .+ on a wall of 5\.000 m"),
        ({"at": 4.6}, r"reaches from 4\.100 m .+ to 5\.100 m"),
        ({"at": 50.0}, r"reaches from 49\.500 m .+ to 50\.500 m"),
        ({"count": 4, "spacing": 1.2}, r"reaches from 5\.100 m .+ to 6\.100 m"),
        ({"count": 6}, r"reaches from 4\.500 m .+ to 5\.500 m"),
    ],
)
def test_opening_off_its_run_or_wider_than_it_is_refused_by_place(wall, measure, change, reason):
    run = wall(LINE, openings=[{"at": 1.0, "width": 0.5, "height": 1.0}, {**DOOR, **change}])
    with pytest.raises(GeometryError, match=reason):
        measure(run)


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"width": 21.0}, r"21\.000 m .+ wide on a wall of 20\.000 m"),
        ({"at": 50.0}, r"its centre is at 50\.000 m .+ on a closed wall of 20\.000 m"),
        ({"count": 15, "spacing": 1.5}, r"15 repeats take 22\.000 m .+ on a closed wall of 20\.000 m"),
        ({"count": 21}, r"21 repeats take 21\.000 m"),
    ],
)
def test_opening_beyond_once_round_a_closed_run_is_refused(wall, measure, change, reason):
    with pytest.raises(GeometryError, match=reason):
        measure(wall(ROOM, closed=True, openings=[{**DOOR, **change}]))


@pytest.mark.parametrize(
    ("points", "rest", "reason"),
    [
        ([(0, 0), (6, 4), (6, 0), (0, 4)], {"closed": True}, "wall a: segments 1 and 3 of its line cross"),
        ([(0, 0), (6, 0), (6, 3), (3, 3), (3, -2)], {}, "wall a: segments 1 and 4 of its line cross"),
        ([(0, 0), (6, 0), (6, 1), (0, 1)], {"closed": True, "bulges": (1, 0, 0, 0)}, "segments 1 and 3 of its line"),
        # a slot 0.3 m wide leaves no room for faces 0.2 m off the line on each side
        (
            [(0, 0), (0, 4), (2, 4), (2, 1), (2.3, 1), (2.3, 4), (6, 4), (6, 0)],
            {"closed": True, "line": "centre", "thickness": 0.4, "face": "right"},
            "shorter than the wall's thickness",
        ),
        # a neck 0.3 m wide, whose two sides are no neighbours
        (
            [
                (0, 0),
                (0, 4),
                (4, 4),
                (4, 2.15),
                (8, 2.15),
                (8, 4),
                (12, 4),
                (12, 0),
                (8, 0),
                (8, 1.85),
                (4.5, 1.85),
                (4.5, 0),
            ],
            {"closed": True, "line": "centre", "thickness": 0.4},
            "of its left face cross",
        ),
    ],
)
def test_line_or_face_that_crosses_itself_is_refused(wall, measure, points, rest, reason):
    with pytest.raises(GeometryError, match=reason):
        measure(wall(points, **rest))


def test_end_that_overshoots_by_less_than_the_picking_error_is_no_crossing(wall, measure):
    loop = [(0, 0), (0, 4), (6, 4), (6, 0), (-0.001, 0)]
    (face,) = measure(wall(loop))
    assert face.quantities.inside_corners == 4


@pytest.mark.parametrize(
    ("rest", "reason"),
    [
        ({"height": None}, "wall a: it has no height"),
        (
            {"line": "centre", "thickness": 0.3, "points": [(0, 0), (4, 0), (1, 0)]},
            "wall a: the line turns back on itself",
        ),
        (
            {"line": "centre", "thickness": 3.0, "points": [(0, 0), (2, 0)], "bulges": (1.0,)},
            "wall a: .*no radius left",
        ),
    ],
)
def test_run_that_cannot_be_developed_is_refused_by_name(wall, measure, rest, reason):
    with pytest.raises(GeometryError, match=reason) as caught:
        measure(wall(rest.pop("points", LINE), **rest))
    assert caught.value.remedy


def test_height_from_the_room_that_is_below_the_runs_base_is_refused(wall, measure):
    low = Room(id="R", height=HeightProfile.constant(1.0))
    with pytest.raises(GeometryError, match=r"top is not above its base of 1\.200 m"):
        measure(wall(LINE, height=None, base=1.2, room="R"), rooms=(low,))


@pytest.mark.parametrize("mx", [0.0, -1.0, math.nan, math.inf])
def test_scale_that_no_drawing_can_have_is_refused(mx):
    with pytest.raises(CalibrationError, match="must be a positive number"):
        Calibration(sheet=1, mx=mx, my=1.0)


@pytest.mark.parametrize(
    ("settings", "reason"),
    [
        ({"corner_threshold": 0.0}, "corner threshold"),
        ({"corner_threshold": math.pi}, "corner threshold"),
        ({"height_u": -0.01}, "height uncertainty"),
        ({"height_u": math.nan}, "height uncertainty"),
        ({"rule": "net"}, "no measuring rule"),
    ],
)
def test_settings_without_meaning_are_refused(wall, measure, settings, reason):
    with pytest.raises(InputError, match=reason):
        measure(wall(LINE), **settings)


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"radius": 0.2}, "does not fit legs"),
        ({"height": 0.0}, "cove height"),
        ({"toe": -0.1}, "cove toe"),
        ({"lap": 0.2}, "cove lap"),
        ({"thickness": 0.5}, "cove thickness"),
        ({"jamb_return": -0.1}, "cove jamb return"),
    ],
)
def test_cove_that_cannot_be_is_refused(change, reason):
    with pytest.raises(GeometryError, match=reason):
        Cove(**{"height": 0.1, "toe": 0.1, "radius": 0.025, "thickness": 0.006, **change})


def test_no_runs_measure_to_nothing(measure):
    assert measure() == ()


def test_settings_are_checked_when_there_is_nothing_to_measure():
    with pytest.raises(InputError, match="corner threshold"):
        MeasureSettings(corner_threshold=4.0)
