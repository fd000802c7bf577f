import json
from pathlib import Path

import pytest
import shapely

from takeoff.measure.develop import develop
from takeoff.measure.edges import EDGE_CLASSES, boundary_segments, edge_lengths
from takeoff.measure.elevation import elevations

CASES = json.loads((Path(__file__).parents[1] / "cases" / "elevations.json").read_text())["cases"]


@pytest.fixture
def developed(wall, scale):
    runs = [wall(**{k: v for k, v in c.items() if k not in ("name", "working", "expect")}) for c in CASES]
    return [face for run in runs for face in develop(run, None, scale)]


def test_edge_classes_sum_to_the_perimeter_of_every_face(developed):
    _, nets = elevations(developed)
    lengths = edge_lengths(developed, nets)
    assert set(lengths) == set(EDGE_CLASSES)
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
