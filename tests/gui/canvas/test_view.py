from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.gui.canvas.view import HIGHEST_SCALE, View, fit, scale_limits
from takeoff.model.plan import Sheet

places = st.floats(-5000, 15000)
pixels = st.floats(-500, 4000)
sizes = st.integers(1, 4000)
views = st.builds(View, st.floats(0.01, 32), places, places, sizes, sizes)


@given(views, pixels, pixels)
@settings(deadline=None, max_examples=100)
def test_a_pixel_goes_to_the_sheet_and_back(view, px, py):
    assert view.to_canvas(*view.to_displayed(px, py)) == pytest.approx((px, py), abs=1e-6)


@given(views, st.floats(0.1, 10), pixels, pixels)
@settings(deadline=None, max_examples=100)
def test_zooming_keeps_what_lies_under_the_pointer(view, factor, px, py):
    zoomed = view.zoomed(factor, px, py)
    assert zoomed.to_displayed(px, py) == pytest.approx(view.to_displayed(px, py), abs=1e-6)
    assert zoomed.scale == pytest.approx(view.scale * factor)


@given(views, st.floats(0.1, 10), pixels, pixels)
@settings(deadline=None, max_examples=100)
def test_zooming_in_and_out_by_the_same_factor_changes_nothing(view, factor, px, py):
    again = view.zoomed(factor, px, py).zoomed(1 / factor, px, py)
    assert (again.scale, again.left, again.top) == pytest.approx((view.scale, view.left, view.top), rel=1e-9, abs=1e-6)


@given(views, st.floats(1e-6, 1e6), pixels, pixels)
@settings(deadline=None, max_examples=100)
def test_zooming_keeps_the_scale_within_its_limits_and_the_point_in_place(view, factor, px, py):
    zoomed = view.zoomed(factor, px, py, lowest=0.1, highest=32.0)
    assert 0.1 <= zoomed.scale <= 32.0
    assert zoomed.to_displayed(px, py) == pytest.approx(view.to_displayed(px, py), abs=1e-6)


@given(views, pixels, pixels, places, places)
@settings(deadline=None, max_examples=100)
def test_panning_moves_every_point_by_as_many_pixels(view, dx, dy, x, y):
    before, after = view.to_canvas(x, y), view.panned(dx, dy).to_canvas(x, y)
    assert (after[0] - before[0], after[1] - before[1]) == pytest.approx((dx, dy), abs=1e-5)


@given(views)
@settings(deadline=None, max_examples=50)
def test_the_visible_box_has_the_size_of_the_canvas(view):
    left, top, right, bottom = view.visible_box()
    assert view.to_canvas(left, top) == pytest.approx((0, 0), abs=1e-6)
    assert view.to_canvas(right, bottom) == pytest.approx((view.width, view.height), abs=1e-5)


@given(st.floats(0, 3000), st.floats(0, 3000), st.floats(1, 4000), st.floats(1, 4000), sizes, sizes)
@settings(deadline=None, max_examples=100)
def test_fitting_shows_the_whole_box_and_touches_the_margin_on_two_sides(left, top, across, down, width, height):
    margin = min(width, height) / 8
    view = fit((left, top, left + across, top + down), width, height, margin)
    x0, y0 = view.to_canvas(left, top)
    x1, y1 = view.to_canvas(left + across, top + down)
    room = (max(width - 2 * margin, 1), max(height - 2 * margin, 1))
    assert x1 - x0 <= room[0] * (1 + 1e-9)
    assert y1 - y0 <= room[1] * (1 + 1e-9)
    assert math.isclose(x1 - x0, room[0]) or math.isclose(y1 - y0, room[1])
    assert ((x0 + x1) / 2, (y0 + y1) / 2) == pytest.approx((width / 2, height / 2), abs=1e-4)


@given(views, st.integers(20, 100))
@settings(deadline=None, max_examples=100)
def test_a_held_view_always_shows_some_of_the_sheet(view, least):
    held = view.held((0, 0, 3456, 2592), least)
    left, top, right, bottom = held.visible_box()
    for low, high, side, pixels_there in ((left, right, 3456, view.width), (top, bottom, 2592, view.height)):
        seen = (min(high, side) - max(low, 0)) * view.scale
        assert seen >= min(least, side * view.scale, pixels_there) - 1e-4
    assert held.held((0, 0, 3456, 2592), least) == held


def test_a_view_that_shows_the_sheet_is_held_where_it_is():
    view = View(1.0, 100.0, 50.0, 800, 600)
    assert view.held((0, 0, 3456, 2592), 64) == view


def test_a_single_point_is_fitted_at_the_highest_scale_in_the_middle():
    view = fit((100, 200, 100, 200), 800, 600, 40)
    assert view.scale == HIGHEST_SCALE
    assert view.to_canvas(100, 200) == (400.0, 300.0)


def test_a_canvas_of_another_size_shows_the_same_point_at_its_corner():
    assert View(2.0, 10.0, 20.0, 800, 600).resized(300, 200) == View(2.0, 10.0, 20.0, 300, 200)


def test_the_lowest_scale_shows_a_turned_sheet_by_its_longer_side():
    flat = Sheet(id=1, source="", page=1, width_pt=2400, height_pt=1200)
    turned = Sheet(id=1, source="", page=1, width_pt=2400, height_pt=1200, rotation=90)
    assert scale_limits(flat) == scale_limits(turned) == (0.05, 32.0)
