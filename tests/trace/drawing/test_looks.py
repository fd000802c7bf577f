"""What is drawn alike is one look; a style says what looks are, and holds on a print of another size."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from takeoff.model.drafting import DraftingStyle, Look
from takeoff.sheet.files import read_sheets
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.drawing.looks import fitted_to, lines_alike, look_at, looks_of, looks_on_sheet, roles_of
from tests.trace.ink import Ink, Pen

WALL = Look(pen_pt=0.57, ink=(0, 0, 0))
THIN = Look(pen_pt=0.24, ink=(0, 0, 0))


def drawn(steps, *, layered=False):
    ink = Ink((400, 300), lambda point: (100 * point[0], 100 * point[1]), layered=layered)
    for step in steps:
        step(ink)
    data = ink.data(rotate=0)
    return read_linework(data, read_sheets(data, "plan.pdf")[0][0])


def heavy(ink):
    ink.line((0.5, 0.5), (3.5, 0.5), "A-WALL", Pen(0.57))
    ink.line((0.5, 0.7), (3.5, 0.7), "A-WALL", Pen(0.57))


def light(ink):
    for i in range(5):
        ink.line((0.5 + 0.2 * i, 1.0), (0.5 + 0.2 * i, 2.0), "A-FLOR", Pen(0.24))


def test_lines_of_one_pen_are_one_look_and_can_be_lit_up():
    work = drawn([heavy, light])
    assert set(looks_of(work)[0]) == {WALL, THIN}
    assert look_at(work, (200.0, 51.0), 6.0) == WALL
    assert look_at(work, (200.0, 30.0), 6.0) is None
    alike = lines_alike(work, WALL)
    assert sorted(alike[:, 1].tolist()) == pytest.approx([50.0, 70.0])


def test_the_list_says_how_often_and_how_long_a_look_is_drawn():
    """By hand: 2 lines of 300 points, 5 of 100."""
    listed = {one.look: (one.paths, round(one.length_pt)) for one in looks_on_sheet(drawn([heavy, light]))}
    assert listed == {WALL: (2, 600), THIN: (5, 500)}


def test_a_style_takes_nothing_for_a_wall_that_it_does_not_show():
    work = drawn([heavy, light], layered=True)
    on_layer = replace(THIN, layer="A-FLOR")
    by_style = roles_of(work, DraftingStyle(name="office", walls=(on_layer,)))
    assert set(roles_of(work)[:2]) == {"wall"}
    assert set(by_style[:2]) == {""}
    assert set(by_style[2:]) == {"wall"}


def test_a_style_fits_a_print_of_another_size_by_the_ratio_of_its_pens():
    small = [replace(WALL, pen_pt=0.38), replace(THIN, pen_pt=0.16)]
    fitted = fitted_to(DraftingStyle(name="office", walls=(WALL,), windows=(THIN,)), small)
    assert fitted is not None
    assert (fitted.walls, fitted.windows) == ((small[0],), (small[1],))


def test_a_style_of_another_office_does_not_fit():
    other = DraftingStyle(name="other", walls=(Look(layer="WALL", pen_pt=0.7, ink=(0, 255, 0)),))
    assert fitted_to(other, [WALL, THIN]) is None
    assert not np.isin(roles_of(drawn([heavy, light]), other), ("wall",)).any()


def test_a_click_between_the_edges_of_a_filled_wall_shows_its_fill():
    """A wall 10 points thick: its middle is 5 points from its edges, less than a pointer reaches."""

    def poche(ink):
        ink.shape(shapely.box(0.5, 0.5, 3.5, 0.6), "0", stroke=Pen(0.24))
        ink.shape(shapely.box(0.5, 0.5, 3.5, 0.6), "0", fill=0.4)
        ink.shape(shapely.box(0.5, 1.0, 3.5, 2.5), "0", fill=0.9)
        ink.line((0.5, 1.75), (3.5, 1.75), "0", Pen(0.24))

    work = drawn([poche])
    assert look_at(work, (200.0, 55.0), 6.0) == Look(fill=(102, 102, 102))
    assert look_at(work, (200.0, 50.5), 6.0) == THIN
    assert look_at(work, (200.0, 51.65), 6.0) == THIN  # within 0.3 of the pointer's reach
    assert look_at(work, (200.0, 51.95), 6.0) == Look(fill=(102, 102, 102))
    assert look_at(work, (200.0, 178.0), 6.0) == THIN  # a floor is wide: the line on it is meant


def test_a_line_in_the_colour_of_the_fill_that_it_lies_on_is_the_edge_of_that():
    def seamed(ink):
        for part in (((0.5, 0.5), (3.5, 0.5), (0.5, 0.6)), ((3.5, 0.5), (3.5, 0.6), (0.5, 0.6))):
            ink.shape(shapely.Polygon(part), "0", fill=0.4)
            ink.shape(shapely.Polygon(part), "0", stroke=Pen(0.05, 0.4))

    assert look_at(drawn([seamed]), (200.0, 54.0), 6.0) == Look(fill=(102, 102, 102))


def test_what_is_shown_as_a_door_and_as_a_window_is_an_opening():
    style = DraftingStyle(name="office", walls=(WALL,), doors=(THIN,), windows=(THIN,))
    assert set(roles_of(drawn([heavy, light]), style)) == {"wall", "opening"}
