"""What lines that are no building do to the rooms of a plan."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from takeoff.trace.drawing.polygons import as_wide, lengths_inside
from takeoff.trace.lines.strips import noded, strips_between
from tests.trace.plans import make_plan
from tests.trace.scoring import polygon_of, read, score
from tests.trace.stray import with_strays


@pytest.mark.parametrize(("kind", "seed"), [("poché", 3), ("mixed", 1), ("mixed", 2), ("outline", 0), ("layered", 0)])
def test_a_room_is_not_sure_and_wrong_because_of_two_lines_drawn_across_walls(kind: str, seed: int) -> None:
    plan = with_strays(make_plan(seed, kind), "across walls", 2)
    found = score(read(plan).rooms, plan.rooms, plan.m_per_pt)
    assert found.sure_wrong == 0
    assert found.found >= found.rooms - 1


def test_walls_on_named_layers_are_read_through_clutter() -> None:
    """50,000 lines on no layer, some of them in doors and windows."""
    plan = with_strays(make_plan(0, "layered"), "clutter", 50_000)
    found = score(read(plan).rooms, plan.rooms, plan.m_per_pt)
    assert (found.found, found.sure_wrong, found.false_rooms) == (found.rooms, 0, 0)
    assert found.right == found.openings


@pytest.mark.parametrize(
    ("kind", "seed"), [("poché", 1), ("mixed", 0), ("heavy", 0), ("outline", 7), ("outline-through", 6), ("one-pen", 1)]
)
def test_a_plan_in_its_own_frame_has_the_same_rooms_on_a_larger_sheet(kind: str, seed: int) -> None:
    """The frame of two lines is no wall; a building whose outer walls nothing breaks is no frame."""
    plan = make_plan(seed, kind)
    alone, beside = read(plan).rooms, read(with_strays(plan, "clutter", 0)).rooms
    assert alone
    assert [(r.name, r.number, r.sure) for r in beside] == [(r.name, r.number, r.sure) for r in alone]
    for one, other in zip(alone, beside, strict=True):
        assert polygon_of(other).hausdorff_distance(polygon_of(one)) < 0.02
        openings = [sorted((o.form, round(o.width, 3)) for o in room.openings) for room in (one, other)]
        assert openings[0] == openings[1]


def test_lengths_inside_an_area_are_those_of_one_intersection_of_each_line_with_all_of_it() -> None:
    random = np.random.default_rng(5)
    lines = shapely.linestrings(random.uniform(0, 100, (300, 2, 2)))
    area = shapely.buffer(shapely.union_all(lines[:40]), 1.5)
    assert shapely.get_num_coordinates(area) > 1_000
    wanted = shapely.length(shapely.intersection(lines, area))
    assert lengths_inside(lines, area) == pytest.approx(wanted, abs=1e-6)


def test_a_line_that_is_plotted_dot_by_dot_bounds_the_faces_of_a_whole_one() -> None:
    """A square of 10 by 10 that a dotted line halves: two faces of 50, and the corners of whole lines alone."""
    square = [(0.0, 0.0, 10.0, 0.0), (10.0, 0.0, 10.0, 10.0), (10.0, 10.0, 0.0, 10.0), (0.0, 10.0, 0.0, 0.0)]
    dots = [(5.0, 0.3 * i, 5.0, 0.3 * i + 0.18) for i in range(34)]
    faces = strips_between(noded(np.array([*square, *dots]), reach=0.2), [])
    assert [face.area for face in faces] == pytest.approx([50.0, 50.0])
    assert {shapely.get_num_coordinates(face) for face in faces} == {5}
    apart = [(5.0, 0.7 * i, 5.0, 0.7 * i + 0.18) for i in range(14)]  # gaps of 0.52 are more than two reach over
    assert len(strips_between(noded(np.array([*square, *apart]), reach=0.2), [])) == 1


def test_a_polygon_is_as_wide_as_every_circle_that_fits_into_it() -> None:
    random = np.random.default_rng(6)
    for shape in (shapely.convex_hull(shapely.multipoints(random.uniform(0, 10, (5, 2)))) for _ in range(40)):
        width = 2 * shapely.length(shapely.maximum_inscribed_circle(shape, tolerance=1e-4))
        assert as_wide([shape], 0.97 * width).all()
        assert not as_wide([shape], 1.03 * width).any()
