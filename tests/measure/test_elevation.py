import json
import math
from pathlib import Path

import numpy as np
import pytest
import shapely

from takeoff.measure.develop import develop
from takeoff.measure.elevation import boundary_segments, edge_lengths, elevations, section, shared_section

CASES = json.loads((Path(__file__).parents[1] / "cases" / "elevations.json").read_text())["cases"]


def circle(radius, count=720):
    """Outline of a round opening in its width × height."""
    angles = [2 * math.pi * k / count for k in range(count)]
    return tuple((radius * math.cos(t), radius + radius * math.sin(t)) for t in angles)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_figures_agree_with_hand_working(case, wall, figures):
    given = {k: v for k, v in case.items() if k not in ("name", "working", "expect")}
    found = figures(wall(**given))
    assert {k: getattr(found, k) for k in case["expect"]} == pytest.approx(case["expect"], abs=1e-9)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_gross_is_net_and_deducted_together(case, wall, figures):
    found = figures(wall(**{k: v for k, v in case.items() if k not in ("name", "working", "expect")}))
    assert found.net_area + found.deducted_area == pytest.approx(found.gross_area)
    assert 0.0 <= found.net_area <= found.gross_area


def test_round_opening_deducts_its_circle(wall, figures):
    window = {"at": 3.0, "width": 1.0, "height": 1.0, "sill": 1.0, "kind": "window", "outline": circle(0.5)}
    found = figures(wall([(0, 0), (6, 0)], openings=[window]))
    assert found.deducted_area == pytest.approx(math.pi * 0.25, rel=1e-4)
    # The upper half is head and the lower half sill.
    assert found.head_length == pytest.approx(math.pi / 2, rel=1e-3)
    assert found.sill_length == pytest.approx(math.pi / 2, rel=1e-3)


def test_round_opening_across_a_closed_runs_first_vertex_stays_round(wall, figures):
    window = {"at": 20.0, "width": 1.0, "height": 1.0, "sill": 1.0, "kind": "window", "outline": circle(0.5)}
    room = [(0, 0), (0, 4), (6, 4), (6, 0)]
    at_seam = figures(wall(room, closed=True, openings=[window]))
    elsewhere = figures(wall(room, closed=True, openings=[{**window, "at": 10.0}]))
    for name in ("net_area", "head_length", "sill_length", "jamb_length", "inside_corner_length"):
        assert getattr(at_seam, name) == pytest.approx(getattr(elsewhere, name), abs=1e-6)


def test_arched_door_has_a_curved_head(wall, figures):
    # A door 1.2 m wide, 1.5 m to the spring of a half circle of radius 0.6.
    arch = [(0.6 * math.cos(math.pi * k / 360), 1.5 + 0.6 * math.sin(math.pi * k / 360)) for k in range(361)]
    door = {"at": 3.0, "width": 1.2, "height": 2.1, "outline": ((-0.6, 0.0), (0.6, 0.0), *arch)}
    found = figures(wall([(0, 0), (6, 0)], openings=[door]))
    assert found.deducted_area == pytest.approx(1.2 * 1.5 + math.pi * 0.18, rel=1e-4)
    assert found.head_length == pytest.approx(math.pi * 0.6, rel=1e-4)
    assert found.jamb_length == pytest.approx(3.0)


def test_many_faces_at_once_give_what_each_gives_alone(wall, scale):
    runs = [wall(**{k: v for k, v in c.items() if k not in ("name", "working", "expect")}) for c in CASES]
    faces = [face for run in runs for face in develop(run, None, scale)]
    walls, nets = elevations(faces)
    for i, face in enumerate(faces):
        alone_wall, alone_net = elevations([face])
        assert shapely.equals(walls[i], alone_wall[0])
        assert shapely.equals(nets[i], alone_net[0])


def test_net_elevations_are_valid_polygons_with_the_wall_to_their_left(wall, scale):
    runs = [wall(**{k: v for k, v in c.items() if k not in ("name", "working", "expect")}) for c in CASES]
    _, nets = elevations([face for run in runs for face in develop(run, None, scale)])
    assert shapely.is_valid(nets).all()
    for part in shapely.get_parts(nets):
        assert shapely.is_ccw(shapely.get_exterior_ring(part))
        assert not np.any([shapely.is_ccw(ring) for ring in part.interiors])


def test_vertical_beside_a_door_is_coated_over_its_whole_height(wall, scale):
    run = wall([(0, 0), (4, 0)], openings=[{"at": 2.0, "width": 1.0, "height": 2.0}])
    (face,) = develop(run, None, scale)
    assert section(face, 1.5, -1) == [(0.0, 3.0)]
    assert section(face, 1.5, +1) == [(2.0, 3.0)]
    assert section(face, 2.5, -1) == [(2.0, 3.0)]
    assert section(face, 2.5, +1) == [(0.0, 3.0)]


def test_vertical_through_a_round_opening_is_cut_where_the_circle_is(wall, scale):
    window = {"at": 2.0, "width": 1.0, "height": 1.0, "sill": 1.0, "outline": circle(0.5)}
    (face,) = develop(wall([(0, 0), (4, 0)], openings=[window]), None, scale)
    (low, high) = section(face, 2.3, +1)
    # Half chord at 0.3 from the centre of a circle of radius 0.5: 0.4.
    assert low == (0.0, pytest.approx(1.1, abs=1e-4))
    assert high == (pytest.approx(1.9, abs=1e-4), 3.0)


def test_first_vertex_of_a_closed_run_meets_its_last(wall, scale):
    room = [(0, 0), (0, 4), (6, 4), (6, 0)]
    (face,) = develop(wall(room, closed=True, height=[(0, 3), (20, 4)]), None, scale)
    assert shared_section(face, 0) == [(0.0, 3.0)]


@pytest.fixture
def developed(wall, scale):
    runs = [wall(**{k: v for k, v in c.items() if k not in ("name", "working", "expect")}) for c in CASES]
    return [face for run in runs for face in develop(run, None, scale)]


def test_edge_classes_sum_to_the_perimeter_of_every_face(developed):
    _, nets = elevations(developed)
    lengths = edge_lengths(developed, nets)
    assert set(lengths) == {"base", "top", "start", "finish", "jamb", "head", "sill"}
    assert sum(lengths.values()) == pytest.approx(shapely.length(nets))


def test_boundary_segments_are_as_long_as_the_boundary(developed):
    _, nets = elevations(developed)
    owner, starts, ends = boundary_segments(nets)
    for i, net in enumerate(nets):
        mine = owner == i
        assert (((ends[mine] - starts[mine]) ** 2).sum(axis=1) ** 0.5).sum() == pytest.approx(net.length)


def test_free_ends_are_the_verticals_at_start_and_finish(wall, scale):
    faces = develop(wall([(0, 0), (5, 0)], height=[(0, 2.4), (5, 3.0)]), None, scale)
    lengths = edge_lengths(faces, elevations(faces)[1])
    assert lengths["start"][0] == pytest.approx(2.4)
    assert lengths["finish"][0] == pytest.approx(3.0)


def test_door_at_the_end_of_an_open_run_takes_that_end_and_keeps_one_jamb(wall, figures):
    found = figures(wall([(0, 0), (5, 0)], openings=[{"at": 0.5, "width": 1.0, "height": 2.0}]))
    assert found.jamb_length == pytest.approx(2.0)
    assert found.end_length == pytest.approx(1.0 + 3.0)
    assert found.base_length == pytest.approx(4.0)


def test_both_verticals_at_a_closed_runs_first_vertex_have_what_is_coated_on_both_sides(wall, scale):
    room = [(0, 0), (0, 4), (6, 4), (6, 0)]
    door = {"at": 0.45, "width": 0.9, "height": 2.1}
    faces = develop(wall(room, closed=True, openings=[door]), None, scale)
    lengths = edge_lengths(faces, elevations(faces)[1])
    assert lengths["start"][0] == pytest.approx(0.9)
    assert lengths["finish"][0] == pytest.approx(0.9)


def test_exposed_top_is_a_termination_and_a_ceiling_is_not(wall, figures):
    assert figures(wall([(0, 0), (5, 0)], height=1.2, top="exposed")).termination_length == pytest.approx(5.0 + 2.4)
    assert figures(wall([(0, 0), (5, 0)], height=1.2)).termination_length == pytest.approx(2.4)


def test_face_without_area_has_no_edges(wall, figures):
    found = figures(wall([(0, 0), (2, 0)], openings=[{"at": 1.0, "width": 2.0, "height": 3.0}]))
    assert found.net_area == 0.0
    assert found.perimeter == 0.0
    assert found.base_length == found.top_length == found.end_length == found.jamb_length == 0.0
