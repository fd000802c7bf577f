from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.geometry.intervals import overlap, total, united, without
from takeoff.revise.linework_along import Drawn, Spans, Stretch, jambs, parallels

spans = st.lists(
    st.tuples(st.integers(0, 60), st.integers(1, 15)).map(lambda p: (float(p[0]), float(p[0] + p[1]))), max_size=8
).map(united)


@settings(deadline=None, max_examples=100)
@given(spans, spans)
def test_what_is_common_and_what_is_left_make_the_whole(first: Spans, second: Spans) -> None:
    assert total(overlap(first, second)) + total(without(first, second)) == pytest.approx(total(first))
    assert overlap(first, second) == overlap(second, first)


@settings(deadline=None, max_examples=50)
@given(st.floats(0.0, 6.28), st.floats(-1.0, 1.0))
def test_a_line_beside_a_stretch_is_found_at_its_offset_whichever_way_it_lies(turn: float, offset: float) -> None:
    c, s = np.cos(turn), np.sin(turn)

    def at(x: float, y: float) -> tuple[float, float]:
        return (float(c * x - s * y), float(s * x + c * y))

    # y down: the left hand of someone walking along x is up, towards −y
    drawn = Drawn(np.array([[*at(0.5, -offset), *at(2.5, -offset)]]))
    ((off, start, end),) = parallels(drawn, Stretch(a=at(0, 0), b=at(4, 0), hand=1), 1.5)
    assert off == pytest.approx(offset, abs=1e-9)
    assert (start, end) == pytest.approx((0.5, 2.5))


def test_jambs_are_lines_square_into_the_wall_and_nothing_else() -> None:
    face = Stretch(a=(0.0, 0.0), b=(5.0, 0.0), hand=1)
    lines = np.array(
        [
            [1.0, 0.0, 1.0, -0.2],  # a jamb: up, where the wall is
            [2.0, 0.0, 2.0, 0.2],  # on the room's side: a cabinet
            [3.0, -0.05, 3.0, -0.2],  # does not reach the face
            [4.0, 0.0, 4.15, -0.15],  # slanted
            [4.5, 0.0, 4.5, -0.03],  # too short
        ]
    )
    assert jambs(Drawn(lines), face, 0.01, 0.01) == [1.0]
