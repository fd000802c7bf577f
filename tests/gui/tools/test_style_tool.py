"""A click on a wall lights up everything drawn like it; Enter keeps the drafting style in the job."""

from __future__ import annotations

import pytest

from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.drawing.looks import looks_on_sheet

CONTROL = 0x4
"""The bit of the Control key in the toolkit's state of keys."""


@pytest.fixture
def shown(hand, job_file):
    """The tool in hand, and a place on a wall and on glass of the sample plan, by the names of their layers."""
    hand.open(job_file)
    session = hand.window.session
    data = session.store.source(session.sheet.source)
    listed = looks_on_sheet(read_linework(data, session.sheet))
    places = {one.look.layer: one.sample[0] for one in reversed(listed)}
    hand.key("w")
    assert hand.window.tool.id == "style"
    return hand, {layer: ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for layer, (a, b) in places.items()}


def test_what_is_drawn_like_a_clicked_wall_lights_up_and_enter_keeps_the_style(shown):
    hand, places = shown
    hand.press(*places["A-WALL"])
    assert len(hand.window.tool.preview()) > 20
    hand.press(*places["A-GLAZ"], state=CONTROL)
    hand.key("Return")
    style = hand.window.session.job.styles["office"]
    assert {look.layer for look in style.walls} == {"A-WALL"}
    assert {look.layer for look in style.windows} == {"A-GLAZ"}


def test_a_second_click_takes_it_away_and_without_a_wall_nothing_is_kept(shown):
    hand, places = shown
    hand.press(*places["A-WALL"])
    hand.press(*places["A-WALL"])
    assert hand.window.tool.preview() == ()
    hand.key("Return")
    assert hand.window.session.job.styles == {}
    assert "Show one wall" in hand.window.session.message
