"""Doors and windows that are painted over filled walls which go on below them, as on plans of measured flats."""

from __future__ import annotations

import math

import pytest
import shapely

from tests.trace.ink import Ink
from tests.trace.lines.test_plan_rooms import OUTER, THIN, drawn, names

PALE, BLUE, FLOOR = 0.88, (0.31, 0.69, 0.89), (0.91, 0.87, 0.82)


def walls(ink: Ink) -> None:
    ink.shape(OUTER, "0", fill=0.0)


def painted(x0, y0, x1, y1, fill=PALE):
    return lambda ink: ink.shape(shapely.box(x0, y0, x1, y1), "0", fill=fill)


def ajar(ink: Ink) -> None:
    """A leaf of 900 mm that stands open by 30°, and its way: a curve that is no circle, but nearly one."""
    ink.line((5.3, 1.0), (5.3 - 0.45, 1.0 + 0.779), "0", THIN)
    ink.arc((5.3, 1.0), 0.9, math.pi / 2, math.pi / 6, "0", THIN)


def panes(ink: Ink) -> None:
    for y in (0.07, 0.13):
        ink.line((2.0, y), (3.5, y), "0", THIN)


def test_openings_painted_over_a_wall_are_read_as_those_in_its_gaps():
    """By hand: 5 × 4 m and 3.8 × 4 m; a door of 900 mm, a window of 1500 mm, a way of 1700 mm without a leaf."""
    steps = (painted(5.2, 1.0, 5.4, 1.9), painted(5.2, 2.1, 5.4, 3.8), painted(2.0, 0.0, 3.5, 0.2, BLUE))
    store, office = drawn(walls, *steps, ajar, panes, names).rooms
    assert (store.area, office.area) == pytest.approx((20.0, 15.2), abs=1e-3)
    assert sorted((o.form, round(o.width, 2)) for o in store.openings) == [
        ("cased", 1.7), ("swing", 0.9), ("window", 1.5),
    ]  # fmt: skip
    assert store.sure


def test_a_layer_within_a_wall_is_no_opening():
    store, _ = drawn(walls, painted(5.2, 0.2, 5.28, 4.2), painted(1.0, 0.05, 4.0, 0.15), names).rooms
    assert store.openings == ()


def test_a_text_on_a_wall_is_no_opening():
    store, _ = drawn(walls, lambda ink: ink.text((5.3, 2.0), "W12", 8, "0", mask=True), names).rooms
    assert store.openings == ()


def test_the_colour_of_floors_fills_a_narrow_closet_and_no_wall():
    """By hand: a closet of 0.6 × 1.2 m behind a wall of 100 mm takes 0.7 × 1.3 m off 20 m²."""
    closet = shapely.box(0.2, 0.2, 0.9, 1.5).difference(shapely.box(0.2, 0.2, 0.8, 1.4))
    floors = [painted(0.2, 0.2, 5.2, 4.2, FLOOR), painted(0.2, 0.2, 0.8, 1.4, FLOOR)]
    steps = (*floors, walls, lambda ink: ink.shape(closet, "0", fill=0.0), painted(5.2, 1.0, 5.4, 1.9))
    rooms = drawn(*steps, painted(0.2, 1.4, 0.8, 1.5), names).rooms
    assert [round(room.area, 2) for room in rooms] == [0.72, 19.09, 15.2]
