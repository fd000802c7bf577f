import math

import pytest

from takeoff.model.walls import Cove

WALL = [(0, 0), (8, 0)]
DOOR = {"at": 2.0, "width": 0.9, "height": 2.1, "reveal": 0.1, "coated": ("jamb", "head")}
ALL = ("jamb", "head", "sill")


def test_return_is_the_reveal_times_the_coated_sides(wall, figures):
    # 0.1 x (2 x 2.1 + 0.9).
    assert figures(wall(WALL, openings=[DOOR])).return_area == pytest.approx(0.51)


@pytest.mark.parametrize(
    ("coated", "length"), [((), 0.0), (("jamb",), 2.0), (("head",), 1.2), (("sill",), 1.2), (ALL, 4.4)]
)
def test_only_the_named_sides_of_a_window_are_coated(wall, figures, coated, length):
    window = {"at": 3.0, "width": 1.2, "height": 1.0, "sill": 0.9, "reveal": 0.15, "coated": coated}
    assert figures(wall(WALL, openings=[window])).return_area == pytest.approx(0.15 * length)


def test_door_to_the_floor_has_no_sill_to_coat(wall, figures):
    assert figures(wall(WALL, openings=[{**DOOR, "coated": ALL}])).return_area == pytest.approx(0.51)


def test_reveal_that_is_not_coated_adds_nothing(wall, figures):
    assert figures(wall(WALL, openings=[{**DOOR, "coated": ()}])).return_area == 0.0


def test_an_opening_through_a_wall_coated_on_both_faces_has_one_reveal(wall, measure):
    """A wall 0.3 m thick with a hole of 1.2 m × 1.0 m coated all round: 4.4 m round, 0.3 m deep, 1.32 m² of wall."""
    hole = {"at": 2.0, "width": 1.2, "height": 1.0, "sill": 1.0, "reveal": 0.3, "coated": ("jamb", "head", "sill")}
    run = wall([(0, 0), (4, 0)], face="both", line="centre", thickness=0.3, openings=[hole])
    faces = measure(run)
    assert [f.quantities.return_area for f in faces] == pytest.approx([0.66, 0.66])
    # the same hole by solid geometry: skin of the wall less its ends, top and bottom
    block = 2 * 4.0 * 3.0 - 2 * 1.2 * 1.0 + 0.3 * 2 * (1.2 + 1.0)
    assert sum(f.quantities.net_area + f.quantities.return_area for f in faces) == pytest.approx(block)


def test_a_reveal_deeper_than_the_wall_is_doubted_once(wall, measure):
    hole = {"at": 2.0, "width": 1.2, "height": 1.0, "kind": "window", "reveal": 0.4, "coated": ("jamb",)}
    faces = measure(wall([(0, 0), (4, 0)], face="both", line="centre", thickness=0.3, openings=[hole]))
    doubts = [d for f in faces for d in f.doubts]
    assert doubts == ["wall a, opening 1: its reveal is deeper than the wall is thick: check both"]


def test_returns_are_not_in_the_net_area_and_are_in_the_coated_area(wall, figures):
    found = figures(wall(WALL, openings=[DOOR]))
    assert found.net_area == pytest.approx(24.0 - 1.89)
    assert found.coated_area == pytest.approx(24.0 - 1.89 + 0.51)


def test_opening_taller_than_the_coating_has_jambs_up_to_it_and_no_head(wall, figures):
    assert figures(wall(WALL, height=1.5, openings=[DOOR])).return_area == pytest.approx(0.1 * 3.0)


def test_jambs_of_a_door_through_a_sloped_top_end_at_the_slope(wall, figures):
    # Top 2.4 + 0.1 s: 2.555 m at 1.55 m and 2.645 m at 2.45 m.
    run = wall(WALL, height=[(0, 2.4), (8, 3.2)], openings=[{**DOOR, "height": 4.0}])
    assert figures(run).return_area == pytest.approx(0.1 * (2.555 + 2.645), abs=1e-6)


def test_door_entered_twice_has_its_returns_once(wall, figures):
    assert figures(wall(WALL, openings=[DOOR, DOOR])).return_area == pytest.approx(0.51)


def test_doors_that_overlap_share_their_head(wall, figures):
    # 1.55..2.45 and 2.05..2.95: two jambs and a head of 1.4 m.
    found = figures(wall(WALL, openings=[DOOR, {**DOOR, "at": 2.5}]))
    assert found.return_area == pytest.approx(0.1 * (4.2 + 1.4))


def test_repeated_windows_have_their_returns_each(wall, figures):
    windows = {**DOOR, "at": 1.0, "count": 3, "spacing": 2.0}
    assert figures(wall(WALL, openings=[windows])).return_area == pytest.approx(3 * 0.51)


@pytest.mark.parametrize("at", [2.0, 0.45, 4.45, 19.55, 20.0, 0.2])
def test_returns_do_not_depend_on_where_a_closed_run_begins(wall, figures, at):
    room = [(0, 0), (0, 4), (6, 4), (6, 0)]
    assert figures(wall(room, closed=True, openings=[{**DOOR, "at": at}])).return_area == pytest.approx(0.51)


def arched(radius, spring, count):
    arch = [
        (radius * math.cos(math.pi * k / count), spring + radius * math.sin(math.pi * k / count)) for k in range(count)
    ]
    return ((-radius, 0.0), (radius, 0.0), *arch, (-radius, spring))


def test_curved_head_is_coated_along_its_curve(wall, figures):
    door = {"at": 3.0, "width": 1.2, "height": 2.1, "reveal": 0.1, "coated": ("jamb", "head")}
    found = figures(wall(WALL, openings=[{**door, "outline": arched(0.6, 1.5, 400)}]))
    assert found.return_area == pytest.approx(0.1 * (3.0 + 0.6 * math.pi), rel=1e-4)


def test_curved_head_under_a_sloped_top_is_coated_as_far_as_it_is_there(wall, figures):
    door = {"at": 3.0, "width": 1.2, "height": 2.1, "reveal": 0.1, "coated": ("jamb", "head")}
    run = wall(WALL, height=[(0, 1.7), (8, 2.1)], openings=[{**door, "outline": arched(0.6, 1.5, 16)}])
    found = figures(run)
    assert found.return_area == pytest.approx(0.1 * (found.jamb_length + found.head_length), abs=1e-6)
    assert 0.0 < found.head_length < 0.6 * math.pi


def test_cove_returns_into_each_jamb_of_a_door_once(wall, figures):
    cove = Cove(height=0.1, toe=0.1, radius=0.025, thickness=0.006, jamb_return=0.05)
    for doors in ([DOOR], [DOOR, DOOR]):
        found = figures(wall(WALL, cove=cove, openings=doors))
        assert found.cove_length == pytest.approx(8.0 - 0.9 + 2 * 0.05)
    window = {**DOOR, "sill": 0.9, "height": 1.0}
    assert figures(wall(WALL, cove=cove, openings=[window])).cove_length == pytest.approx(8.0)


@pytest.mark.parametrize("at", [0.45, 19.55, 20.0, 9.0])
def test_cove_returns_into_both_jambs_wherever_a_closed_run_begins(wall, figures, at):
    cove = Cove(height=0.1, toe=0.1, radius=0.025, thickness=0.006, jamb_return=0.05)
    room = [(0, 0), (0, 4), (6, 4), (6, 0)]
    found = figures(wall(room, closed=True, cove=cove, openings=[{**DOOR, "at": at}]))
    assert found.cove_length == pytest.approx(20.0 - 0.9 + 0.1)


def test_cove_figures_follow_its_girth_and_section(wall, figures):
    # Derived: girth 0.1892699 m; on legs of 0.106 from the bare corner b (h + t - b) + (1 - pi/4) r2 = 0.00137013 m2.
    cove = Cove(height=0.1, toe=0.1, radius=0.025, thickness=0.006)
    found = figures(wall(WALL, cove=cove))
    assert found.cove_length == pytest.approx(8.0)
    assert found.cove_girth_area == pytest.approx(8.0 * 0.1892699, rel=1e-6)
    assert found.cove_volume == pytest.approx(8.0 * (0.006 * (0.106 + 0.106 - 0.006) + 0.00013412613), rel=1e-6)
    assert found.cove_band_area == pytest.approx(0.8)


def test_cove_band_less_its_lap_is_left_to_the_cove(wall, figures):
    cove = Cove(height=0.1, toe=0.1, radius=0.025, thickness=0.006, lap=0.04)
    found = figures(wall(WALL, cove=cove, openings=[DOOR]))
    assert found.cove_band_area == pytest.approx((8.0 - 0.9) * 0.06)
    assert found.coated_area == pytest.approx(found.net_area + found.return_area - 0.426)


def test_wainscot_above_the_floor_has_no_cove(wall, figures):
    cove = Cove(height=0.1, toe=0.1, radius=0.025, thickness=0.006)
    assert figures(wall(WALL, base=0.9, cove=cove)).cove_length == 0.0


def test_the_cove_on_coated_jambs_and_wall_ends_is_taken_from_the_wall_coat(wall, figures):
    cove = Cove(height=0.1, toe=0.025, radius=0.02, thickness=0.005, jamb_return=0.05)
    door = {"at": 2.0, "width": 0.9, "height": 2.1, "reveal": 0.1, "coated": ("jamb",)}
    # by hand: (8.0 - 0.9) x 0.1 of wall, and 2 jambs x 0.05 x 0.1 of the reveals
    assert figures(wall(WALL, cove=cove, openings=[door])).cove_band_area == pytest.approx(0.71 + 0.01)
    # the cove is no deeper than the reveal, and a reveal that is not coated has no coat to leave out
    shallow = {**door, "reveal": 0.03}
    assert figures(wall(WALL, cove=cove, openings=[shallow])).cove_band_area == pytest.approx(0.71 + 0.006)
    assert figures(wall(WALL, cove=cove, openings=[{**door, "coated": ()}])).cove_band_area == pytest.approx(0.71)
    # a nib 2 m long and 0.2 m thick, coated round its end: 2 x 2 x 0.1 of wall, and 0.2 x 0.1 of its end
    nib = wall([(0, 0), (2, 0)], face="both", line="centre", thickness=0.2, ends=("abut", "return"), cove=cove)
    assert figures(nib).cove_length == pytest.approx(4.2)
    assert figures(nib).cove_band_area == pytest.approx(0.42)


def test_the_top_of_a_coated_wall_end_in_the_open_is_a_termination(wall, figures):
    nib = {"face": "both", "line": "centre", "thickness": 0.2, "ends": ("abut", "return")}
    closed, exposed = (figures(wall([(0, 0), (2, 0)], top=top, **nib)) for top in ("ceiling", "exposed"))
    assert closed.termination_length == pytest.approx(0.0)
    assert exposed.termination_length == pytest.approx(2.0 + 2.0 + 0.2)  # both faces and the end between them


@pytest.mark.parametrize(("face", "area", "edges"), [("both", 0.45, 0.0), ("left", 0.45, 3.0)])
def test_the_top_of_a_low_wall_is_coated_as_deep_as_the_wall_is_thick(wall, figures, face, area, edges):
    # 3 m x 0.15 m on top; with one face coated the coat stops at the far arris, 3 m long
    low = wall([(0, 0), (3, 0)], height=1.2, face=face, thickness=0.15, ends=("abut", "abut"), top="return")
    found = figures(low)
    assert found.return_area == pytest.approx(area)
    assert found.termination_length == pytest.approx(edges)
    assert found.top_exposed_length == 0.0


def test_what_is_masked_are_terminations_and_the_lines_of_floor_and_ceiling(wall, figures):
    # A room of 6 x 4 m with a door of 0.9 x 2.1: 19.1 m of floor, 20 m of ceiling, 2 x 2.1 + 0.9 round the door.
    room = [(0, 0), (0, 4), (6, 4), (6, 0)]
    found = figures(wall(room, closed=True, openings=[{"at": 2.0, "width": 0.9, "height": 2.1}]))
    assert found.masked_length == pytest.approx(19.1 + 20.0 + 5.1)
    # an exposed top is a termination already, and counts once
    assert figures(wall(room, closed=True, top="exposed")).masked_length == pytest.approx(40.0)
