import json
import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from takeoff.errors import CatalogueError, InputError
from takeoff.model.figures import Corner, Elevation
from takeoff.model.systems import Step
from takeoff.system.hanging import drop_count, hang_mat

CASES = json.loads((Path(__file__).parents[1] / "cases" / "drops.json").read_text())

DOOR = (4.0, 0.0, 4.9, 2.1)
WINDOW = (2.0, 1.0, 5.0, 2.2)


def make_face(length=20.0, height=3.0, openings=(), *, is_closed=False, wall=None, corners=()):
    wall = wall or box(0.0, 0.0, length, height)
    return Elevation(
        run="a",
        face="left",
        room="R1",
        system="s",
        length=length,
        is_closed=is_closed,
        top="ceiling",
        base=0.0,
        wall=wall,
        net=wall.difference(unary_union([box(*o) for o in openings])),
        profile=((0.0, height), (length, height)),
        openings=(),
        corners=tuple(Corner(station=s, turn=math.pi / 2, length=height, vertex=0) for s in corners),
        line=(),
    )


def hang(face, *, width, longest=math.inf, **how):
    step = Step(id="mat", name="Mat", kind="mat", basis="net_area", **how)
    return hang_mat(face, step, width=width, longest=longest)


@pytest.mark.parametrize(("is_closed", "count"), [(True, 17), (False, 17)])
def test_twenty_metres_take_seventeen_drops(is_closed, count):
    # Derived: ceil(20 / 1.22) around, ceil(19.95 / 1.22) along an open face.
    layout = hang(make_face(is_closed=is_closed), width=1.27, lap=0.05, trim_top=0.1)
    assert len(layout.drops) == count
    assert {round(d.length, 9) for d in layout.drops} == {3.1}
    assert layout.seam_length == pytest.approx(3.0 * (17 if is_closed else 16))


def test_opening_cut_out_of_a_drop_leaves_the_drop_whole_and_a_rectangle_free():
    # Mat 1 m wide, butted: the door from 4.0 to 4.9 lies in the fifth drop.
    layout = hang(make_face(openings=[DOOR]), width=1.0)
    assert len(layout.drops) == 20
    assert all(drop.length == pytest.approx(3.0) for drop in layout.drops)
    (offcut,) = layout.offcuts
    assert (offcut.source, round(offcut.length, 9), round(offcut.width, 9)) == ("a:left/5", 2.1, 0.9)


def test_drop_wholly_over_a_window_is_cut_into_a_piece_over_it_and_a_piece_under_it():
    # Drops 3, 4 and 5 hang from 2 to 5 m, where the window is 1.0 to 2.2 m above the floor.
    layout = hang(make_face(openings=[WINDOW]), width=1.0, trim_top=0.1, trim_base=0.2)
    shorts = [d for d in layout.drops if d.is_short]
    assert [round(d.length, 9) for d in shorts] == [1.2, 0.9] * 3
    assert [(d.z0, d.z1) for d in shorts[:2]] == [(0.0, 1.0), (2.2, 3.0)]
    assert layout.offcuts == ()


def test_mat_hung_around_a_door_stops_at_the_jambs_and_laps_a_short_piece_over_it():
    # Left of the door 4 m: ceil(3.95/1.22) = 4 drops; right 15.1 m: ceil(15.05/1.22) = 13; one piece 0.9 + 2 laps wide.
    layout = hang(make_face(openings=[DOOR]), width=1.27, lap=0.05, at_openings="hung_around")
    (short,) = [d for d in layout.drops if d.is_short]
    assert len(layout.drops) == 4 + 13 + 1
    assert (round(short.length, 9), round(short.width, 9)) == (0.9, 1.0)
    # Joints: 3 and 12 between full drops at 3 m, and 0.9 m at each jamb.
    assert layout.seam_length == pytest.approx(15 * 3.0 + 2 * 0.9)


def test_closed_face_hung_around_a_door_begins_at_the_door():
    layout = hang(make_face(openings=[DOOR], is_closed=True), width=1.0, at_openings="hung_around")
    full = [d for d in layout.drops if not d.is_short]
    assert len(full) == 20  # ceil(19.1 / 1)
    assert full[0].x0 == pytest.approx(4.9)
    assert full[-1].x1 == pytest.approx(24.0)


def test_door_across_the_start_of_a_closed_face_takes_one_piece_over_it():
    openings = [(0.0, 0.0, 0.4, 2.1), (19.5, 0.0, 20.0, 2.1)]
    layout = hang(make_face(openings=openings, is_closed=True), width=1.0, at_openings="hung_around")
    assert [(round(d.x0, 9), round(d.x1, 9)) for d in layout.drops if d.is_short] == [(19.5, 20.4)]


def test_drops_follow_a_sloped_top():
    # 2 m to 4 m over 4 m: each drop is as long as its higher side, 2.5, 3, 3.5, 4.
    wall = Polygon([(0, 0), (4, 0), (4, 4), (0, 2)])
    layout = hang(make_face(length=4.0, wall=wall), width=1.0)
    assert [round(d.length, 9) for d in layout.drops] == [2.5, 3.0, 3.5, 4.0]


def test_cut_at_corners_uses_a_lap_up_at_each():
    # 12 m with corners at 4 and 8 m: ceil((12 + 2 x 0.05 - 0.05) / 1.22) = 10; wrapped ceil(11.95 / 1.22) = 10.
    # 12.2 m wrapped fit ceil(12.15 / 1.22) = 10, cut ceil(12.25 / 1.22) = 11.
    def count(length, **how):
        face = make_face(length=length, corners=(4.0, 8.0))
        return len(hang(face, width=1.27, lap=0.05, **how).drops)

    assert (count(12.0), count(12.0, wraps_corners=False)) == (10, 10)
    assert (count(12.2), count(12.2, wraps_corners=False)) == (10, 11)


def test_mat_run_along_goes_in_bands_and_is_joined_where_it_is_longer_than_the_roll():
    # 3 m high, 1.27 wide lapped 0.05: ceil(2.95 / 1.22) = 3 bands of 20 m; 12 m at the longest: two pieces each of
    # (20 - 0.05) / 2 + 0.05 = 10.025 m.
    layout = hang(make_face(), width=1.27, lap=0.05, direction="along", longest=12.0)
    assert [round(d.length, 9) for d in layout.drops] == [10.025] * 6
    # Joints: two between bands, and one in each band as high as the band is cut, the third 3 - 2 x 1.22 = 0.56 m.
    assert layout.seam_length == pytest.approx(2 * 20.0 + 2 * 1.27 + 0.56)


def test_mat_run_along_stops_at_a_door_that_crosses_the_whole_band():
    layout = hang(make_face(openings=[DOOR]), width=1.0, direction="along")
    assert [round(d.length, 9) for d in layout.drops] == [4.0, 15.1, 4.0, 15.1, 20.0]
    assert [(o.source, round(o.length, 9), round(o.width, 9)) for o in layout.offcuts] == [("a:left/5", 0.9, 0.1)]


def test_refusals_name_the_lap_and_the_direction():
    with pytest.raises(CatalogueError, match=r"a lap of 1\.3 m"):
        hang(make_face(), width=1.27, lap=1.3)
    with pytest.raises(InputError, match="hung around"):
        hang(make_face(), width=1.27, direction="along", at_openings="hung_around")


@settings(deadline=None, max_examples=60)
@given(st.floats(0.5, 40.0), st.floats(0.5, 2.0), st.floats(0.0, 0.2), st.booleans())
def test_face_without_openings_takes_as_many_drops_as_the_formula(length, width, lap, is_closed):
    layout = hang(make_face(length=length, is_closed=is_closed), width=width, lap=lap)
    assert len(layout.drops) == drop_count(length, width=width, lap=lap, is_closed=is_closed)


rectangles = st.builds(
    lambda x, z, w, h: (x, z, min(x + w, 12.0), min(z + h, 3.0)),
    st.floats(0.0, 11.0),
    st.floats(0.0, 2.5),
    st.floats(0.3, 4.0),
    st.floats(0.3, 2.5),
)


@settings(deadline=None, max_examples=60)
@given(
    st.lists(rectangles, max_size=3),
    st.booleans(),
    st.sampled_from(["cut_out", "hung_around"]),
    st.sampled_from(["up", "along"]),
)
def test_drops_cover_the_whole_net_area_whatever_the_openings(openings, is_closed, at_openings, direction):
    face = make_face(length=12.0, openings=openings, is_closed=is_closed)
    how = {"direction": direction, "at_openings": "cut_out" if direction == "along" else at_openings}
    layout = hang(face, width=1.27, lap=0.05, **how)
    hung = [box(d.x0, d.z0, d.x1, d.z1) for d in layout.drops]
    again = [box(d.x0 - 12.0, d.z0, d.x1 - 12.0, d.z1) for d in layout.drops if is_closed]
    assert face.net.difference(unary_union(hung + again)).area < 1e-4
    assert layout.mat_area >= face.net.area - 1e-4
    assert all(d.width <= 1.27 + 1e-9 for d in layout.drops)


@pytest.mark.parametrize("case", CASES["counts"], ids=lambda case: case["working"])
def test_drops_agree_with_hand_working(case):
    found = drop_count(case["length"], width=case["width"], lap=case["lap"], is_closed=case["closed"])
    assert found == case["drops"]


@pytest.mark.parametrize("lap", [1.27, 2.0, -0.01])
def test_lap_that_leaves_nothing_of_the_width_is_refused(lap):
    with pytest.raises(CatalogueError, match="lap"):
        drop_count(20.0, width=1.27, lap=lap, is_closed=True)


@given(st.floats(0.01, 500), st.floats(0.5, 2), st.floats(0, 0.2), st.booleans())
def test_drops_cover_the_face_and_one_fewer_would_not(length, width, lap, is_closed):
    count = drop_count(length, width=width, lap=lap, is_closed=is_closed)
    ends = 0.0 if is_closed else lap
    assert count * (width - lap) + ends >= length * (1 - 1e-6)
    if count > 1:
        assert (count - 1) * (width - lap) + ends < length
