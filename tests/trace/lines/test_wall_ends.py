"""Walls drawn as two lines end where they stop, whatever closes them there: a line, or nothing."""

from __future__ import annotations

import numpy as np

from takeoff.trace.lines.wall_ends import capped, drawn_caps

SIZES = {"thin": 0.055, "thick": 0.65, "reach": 0.004}


def test_a_wall_of_which_one_side_runs_on_is_closed_square_from_the_end_of_the_other():
    two = np.array([(0.0, 0.0, 5.0, 0.0), (0.0, 0.2, 3.0, 0.2)])
    caps = capped(two, **SIZES)[2:]
    assert any(np.allclose(cap, (3.0, 0.2, 3.0, 0.0)) for cap in caps)


def test_a_board_between_two_longer_ones_is_closed_by_nothing():
    ends = (4.0, 4.5, 4.2, 4.7, 4.1, 4.6, 4.3)
    boards = np.array([(-end, 0.15 * i, end, 0.15 * i) for i, end in enumerate(ends)])
    caps = capped(boards, **SIZES)[len(boards) :]
    assert not {0.3, 0.6} & {round(float(cap[1]), 2) for cap in caps}  # longer ones lie on both sides of these


def test_a_jamb_in_another_pen_is_one_where_it_runs_square_from_end_to_end():
    sides = np.array([(0.0, 0.0, 3.0, 0.0), (0.0, 0.2, 3.0, 0.2), (3.9, 0.0, 6.0, 0.0), (3.9, 0.2, 6.0, 0.2)])
    others = np.array([(3.0, 0.0, 3.0, 0.2), (3.0, 0.0, 3.9, 0.0), (3.0, 0.0, 3.5, 0.4), (1.0, 0.0, 1.0, 0.2)])
    assert drawn_caps(sides, others, **SIZES).tolist() == [[3.0, 0.0, 3.0, 0.2]]
