"""The small picture of the sheet: shown while little of it is in view, and a way to go elsewhere."""

from __future__ import annotations

import pytest

from takeoff.sheet.frame import displayed_size


def test_the_picture_comes_when_little_of_the_sheet_is_in_view_and_goes_with_all_of_it(hand, traced_job):
    hand.open(traced_job)
    overview, canvas = hand.window.overview, hand.window.canvas
    assert not overview.winfo_ismapped()
    canvas.zoom_by(6.0)
    hand.settle(0.4)
    assert overview.winfo_ismapped()
    left, top, right, bottom = overview.coords(overview.frame_item)
    wide, high = displayed_size(hand.window.session.sheet)
    view = canvas.view
    seen = (view.width / view.scale) * (view.height / view.scale) / (wide * high)
    shown = (right - left) * (bottom - top) / (overview.winfo_reqwidth() - 2) / (overview.winfo_reqheight() - 2)
    assert shown == pytest.approx(seen, rel=0.1)
    hand.window.do("fit-sheet")
    hand.settle(0.1)
    assert not overview.winfo_ismapped()


def test_a_click_on_it_brings_that_place_to_the_middle(hand, traced_job):
    hand.open(traced_job)
    overview, canvas = hand.window.overview, hand.window.canvas
    canvas.zoom_by(8.0)
    hand.settle(0.3)
    x, y = overview.winfo_width() // 4, overview.winfo_height() // 3
    overview.event_generate("<Button-1>", x=x, y=y)
    hand.settle(0.1)
    view = canvas.view
    wide, high = displayed_size(hand.window.session.sheet)
    middle = view.to_displayed(view.width / 2, view.height / 2)
    assert middle[0] / wide == pytest.approx(x / overview.winfo_reqwidth(), abs=0.03)
    assert middle[1] / high == pytest.approx(y / overview.winfo_reqheight(), abs=0.03)
