import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from takeoff.errors import InputError
from takeoff.measure.rules import RULES, RuledFace, RuledOpening, rule_named

CASES = json.loads((Path(__file__).parents[1] / "cases" / "rules.json").read_text())
FOOT = 0.3048
WALL = [(0, 0), (8, 0)]


@pytest.fixture(scope="session")
def measured(figures):
    def area(run, rule):
        return figures(run, rule=rule).measured_area

    return area


@pytest.mark.parametrize("case", CASES["on_the_test_wall"], ids=lambda case: case["rule"])
def test_published_rule_gives_its_hand_worked_figure_on_the_test_wall(case, wall, measured):
    room = wall(**CASES["room"], openings=CASES["openings"].values())
    assert measured(room, case["rule"]) == pytest.approx(case["area"], abs=1e-9), case["working"]


def test_every_rule_has_a_hand_worked_case():
    assert {case["rule"] for case in CASES["on_the_test_wall"]} == set(RULES)


@pytest.mark.parametrize("case", CASES["room_in_feet"]["areas"], ids=lambda case: case["rule"])
def test_old_rules_give_their_hand_worked_figure_on_a_room_in_feet(case, wall, measured):
    points = [(0, 0), (0, 15 * FOOT), (20 * FOOT, 15 * FOOT), (20 * FOOT, 0)]
    sizes = [(8, 3, 7, 0), (25, 6, 4, 3), (50, 8, 8, 0)]
    openings = [
        {"at": at * FOOT, "width": w * FOOT, "height": h * FOOT, "sill": sill * FOOT} for at, w, h, sill in sizes
    ]
    found = measured(wall(points, closed=True, height=10 * FOOT, openings=openings), case["rule"])
    assert found / FOOT**2 == pytest.approx(case["square_feet"])


def test_returns_on_the_test_wall_are_their_own_item(wall, figures):
    # 0.15 x (5.20 + 7.00 + 2.80 + 7.20) = 3.33 m2.
    assert figures(wall(**CASES["room"], openings=CASES["openings"].values())).return_area == pytest.approx(3.33)


def test_both_faces_of_one_finish_deduct_one_face_in_sum(wall, figures):
    # IS 1200 (Part 13):1994: 2 x 60 - (2.10 + 3.00) - 2 x 5.76 = 103.38; without reveals, which are L's alone.
    openings = [{**o, "reveal": 0.0} for o in CASES["openings"].values()]
    one = figures(wall(**CASES["room"], openings=openings), rule="is1200-13-both").measured_area
    assert 2 * one == pytest.approx(103.38)


@pytest.mark.parametrize(
    ("rule", "width", "height", "deducted"),
    [
        ("is1200-13", 2.0, 1.5, 0.0),  # 3.00 m2 does not exceed 3 m2
        ("is1200-13", 2.01, 1.5, 3.015),
        ("is1200-13-narrow", 1.0, 0.5, 0.0),  # 0.50 m2 does not exceed 0.5 m2
        ("is1200-13-narrow", 1.0, 0.51, 0.51),
        ("is1200-13-both", 1.0, 0.51, 0.255),
        ("is1200-13-both", 2.01, 1.5, 3.015),
        ("din18363", 1.25, 2.0, 0.0),  # 2.50 m2 is measured over
        ("din18363", 1.26, 2.0, 2.52),
        ("smm7", 1.0, 0.5, 0.0),
        ("smm7", 1.0, 0.51, 0.51),
        ("nrm2", 1.0, 1.0, 0.0),
        ("nrm2", 1.0, 1.01, 1.01),
        ("smm7", 0.9, 1.0, 0.9),  # deducted under SMM7 and not under NRM2
        ("nrm2", 0.9, 1.0, 0.0),
        ("us-7-yards", 7 * FOOT, 9 * FOOT, 63 * FOOT**2),  # seven yards are no longer under seven yards
        ("us-7-yards", 7 * FOOT, 8.9 * FOOT, 0.0),
    ],
)
@pytest.mark.parametrize(("at", "sill"), [(3.0, 0.1), (1.7, 0.15), (4.4, 0.2)])
def test_limits_hold_to_the_hundredth_wherever_the_opening_stands(
    wall, measured, rule, width, height, deducted, at, sill
):
    # Sizes from stations differ from typed ones by rounding, so a limit must not turn on the sixteenth digit.
    run = wall(WALL, openings=[{"at": at, "width": width, "height": height, "sill": sill}])
    assert 24.0 - measured(run, rule) == pytest.approx(deducted, abs=1e-9)


@pytest.mark.parametrize("rule", ["smm7", "nrm2"])
@pytest.mark.parametrize(
    ("at", "sill", "deducted"),
    [(3.0, 1.0, 0.0), (3.0, 0.0, 0.48), (3.0, 2.2, 0.48), (0.3, 1.0, 0.48), (7.7, 1.0, 0.48)],
)
def test_small_void_at_the_boundary_is_deducted_and_one_within_is_not(wall, measured, rule, at, sill, deducted):
    # SMM7 General Rule 3.4: a 0.60 x 0.80 hatch that stands on the floor, hangs from the top or lies at an end.
    run = wall(WALL, openings=[{"at": at, "width": 0.6, "height": 0.8, "sill": sill}])
    assert 24.0 - measured(run, rule) == pytest.approx(deducted)


def test_small_void_at_a_sloped_top_is_at_the_boundary(wall, measured):
    run = wall(WALL, height=[(0, 2.4), (8, 3.2)], openings=[{"at": 3.0, "width": 0.6, "height": 0.6, "sill": 2.2}])
    assert measured(run, "smm7") == pytest.approx(measured(run, "exact-net"))


@pytest.mark.parametrize("height", [3.0, [(0, 3.0), (10, 3.2), (20, 3.0)]])
def test_first_vertex_of_a_closed_run_is_no_boundary_of_the_wall(wall, measured, height):
    room = [(0, 2), (0, 4), (6, 4), (6, 0), (0, 0)]  # the first vertex lies in the middle of a wall
    window = {"width": 0.6, "height": 0.8, "sill": 1.0, "kind": "window"}
    for at in (0.0, 0.3, 19.7, 20.0, 9.0):
        run = wall(room, closed=True, height=height, openings=[{**window, "at": at}])
        bare = wall(room, closed=True, height=height)
        assert measured(run, "smm7") == pytest.approx(measured(bare, "smm7"))


def test_opening_across_a_closed_runs_first_vertex_is_tested_whole(wall, measured):
    room = [(0, 2), (0, 4), (6, 4), (6, 0), (0, 0)]
    for rule in ("is1200-13", "din18363", "smm7"):
        for at in (20.0, 0.7, 9.0):
            run = wall(room, closed=True, openings=[{"at": at, "width": 2.0, "height": 2.0, "sill": 0.5}])
            assert measured(run, rule) == pytest.approx(60.0 - 4.0)


@pytest.mark.parametrize(("at", "deducted"), [(2.0, 4.0), (4.0, 0.0), (4.6, 3.2), (20.0, 0.0)])
def test_opening_round_a_corner_is_tested_wall_by_wall(wall, measured, at, deducted):
    # DIN 18363, section 5: 2.0 x 2.0 = 4.00; half of it each side of a corner is 2.00, not over 2.5; 1.6 x 2.0 is.
    run = wall(**CASES["room"], openings=[{"at": at, "width": 2.0, "height": 2.0, "sill": 0.5}])
    assert 60.0 - measured(run, "din18363") == pytest.approx(deducted)


def test_opening_round_a_corner_under_a_slope_is_tested_wall_by_wall(wall, measured):
    run = wall(
        [(0, 0), (4, 0), (4, -4)],
        height=[(0, 2.5), (8, 3.5)],
        openings=[{"at": 4.6, "width": 2.0, "height": 2.0, "sill": 0.5}],
    )
    assert measured(run, "exact-net") == pytest.approx(24.0 - 4.0)
    assert measured(run, "din18363") == pytest.approx(24.0 - 3.2)


def test_opening_is_tested_by_what_lies_in_the_wall(wall, measured):
    # 2.0 x 2.0 m, of which 1.0 m is above the top: 2.00 m2 is measured over.
    run = wall(WALL, openings=[{"at": 4.0, "width": 2.0, "height": 2.0, "sill": 2.0}])
    assert measured(run, "din18363") == pytest.approx(24.0)


def test_opening_entered_twice_is_deducted_once(wall, measured):
    window = {"at": 4.0, "width": 2.0, "height": 2.0, "sill": 0.5}
    for rule in RULES:
        one, two = (measured(wall(WALL, openings=[window] * n), rule) for n in (1, 2))
        assert two == pytest.approx(one)


def test_unknown_rule_is_refused_with_those_there_are():
    with pytest.raises(InputError, match=r'no measuring rule "net".*exact-net.*din18363'):
        rule_named("net")


def test_every_rule_names_its_source():
    assert all(rule.source and rule.summary and rule.name == name for name, rule in RULES.items())


@given(st.lists(st.tuples(st.floats(0.01, 8.0), st.booleans()), max_size=6), st.floats(0.0, 1.0))
def test_no_rule_deducts_less_than_nothing_or_more_than_the_openings(sizes, shared):
    openings = tuple(RuledOpening(area=area, touches_edge=touches) for area, touches in sizes)
    true = sum(o.area for o in openings) * (1.0 - 0.5 * shared)  # they may overlap
    face = RuledFace(gross=100.0, net=100.0 - true, openings=openings)
    for rule in RULES.values():
        assert face.net - 1e-9 <= rule.measured_area(face) <= face.gross


def test_a_door_and_the_sidelight_that_touches_it_are_one_opening_under_din_18363(wall, measured):
    # VOB/C ATV DIN 18363, section 5 (that adjoining openings are one: from memory). By hand: 1.0 x 2.1 + 0.6 x 2.1 =
    # 3.36 m2 is over 2.5 m2, 24 - 3.36 = 20.64.
    door, light = {"at": 2.0, "width": 1.0, "height": 2.1}, {"at": 2.8, "width": 0.6, "height": 2.1}
    assert measured(wall(WALL, openings=[door, light]), "din18363") == pytest.approx(20.64)
    # a hand apart they are two, each measured over
    assert measured(wall(WALL, openings=[door, {**light, "at": 2.9}]), "din18363") == pytest.approx(24.0)
    # round a corner each wall is by itself: 0.3 x 2.1 is measured over, (0.7 + 0.6) x 2.1 = 2.73 is deducted
    room = [(0, 0), (0, 4), (6, 4), (6, 0)]
    across = [{**door, "at": 0.2}, {**light, "at": 1.0}]
    assert measured(wall(room, closed=True, openings=across), "din18363") == pytest.approx(60.0 - 2.73)
    # a fanlight over both: 3.36 + 1.6 x 0.5
    fan = {"at": 2.3, "width": 1.6, "height": 0.5, "sill": 2.1}
    assert measured(wall(WALL, openings=[door, light, fan]), "din18363") == pytest.approx(24.0 - 4.16)
    # where openings overlap what both take counts once: 3.36 less 0.1 x 2.1
    lapped = [door, {**light, "at": 2.7}]
    assert measured(wall(WALL, openings=lapped), "din18363") == pytest.approx(24.0 - 3.15)


def test_openings_that_meet_at_a_point_are_two_and_other_rules_join_none(wall, measured):
    door, light = {"at": 2.0, "width": 1.0, "height": 2.1}, {"at": 2.8, "width": 0.6, "height": 2.1}
    assert measured(wall(WALL, openings=[door, light]), "is1200-13") == pytest.approx(24.0)
    window = {"at": 2.8, "width": 0.6, "height": 0.9, "sill": 2.1}  # meets the door at its upper corner only
    assert measured(wall(WALL, openings=[door, window]), "din18363") == pytest.approx(24.0)
