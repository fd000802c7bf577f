"""Windows that may be doors which are drawn shut, and windows in the walls' own pen."""

from __future__ import annotations

import math

import pytest
import shapely

from tests.trace.ink import Ink
from tests.trace.lines.test_plan_rooms import DOOR, PEN, THIN, WINDOW, door, drawn, filled, names, outlined, window

SECOND = shapely.box(7.0, -0.01, 8.2, 0.21)
"""A gap of 1.2 m in the outer wall of the room on the right, OFFICE."""
BETWEEN = shapely.box(5.19, 2.4, 5.41, 3.4)
"""A gap of 1 m in the wall between the rooms."""


def pane(ink: Ink) -> None:
    """Draw one line of glass, or a leaf that is shut, in the middle of the wall."""
    ink.line((7.0, 0.1), (8.2, 0.1), "0", THIN)


def pane_with_sill(ink: Ink) -> None:
    pane(ink)
    ink.line((6.95, -0.1), (8.25, -0.1), "0", THIN)


def inner(ink: Ink) -> None:
    ink.line((5.3, 2.4), (5.3, 3.4), "0", THIN)


def rooms(*steps):
    return {room.name: room for room in drawn(*steps, door, window, names).rooms}


def kinds(room):
    return sorted((o.kind, o.confidence >= 0.9) for o in room.openings)


@pytest.mark.parametrize(("step", "is_told"), [(pane, False), (pane_with_sill, True)])
def test_a_window_without_the_lines_that_others_have_may_be_a_door_drawn_shut(step, is_told):
    office = rooms(filled(DOOR, WINDOW, SECOND), step)["OFFICE"]
    assert kinds(office) == [("door", True), ("window", is_told)]
    assert (office.outline_sure, office.sure) == (True, is_told)


def test_a_line_across_a_gap_between_two_rooms_may_be_a_door_drawn_shut():
    both = rooms(filled(DOOR, WINDOW, BETWEEN), inner)
    assert kinds(both["OFFICE"]) == [("door", True), ("window", False)]
    assert not both["STORE"].sure


def test_a_room_that_only_windows_lead_into_has_a_door_that_is_drawn_shut():
    office = {room.name: room for room in drawn(filled(WINDOW, SECOND), pane_with_sill, window, names).rooms}["OFFICE"]
    assert kinds(office) == [("window", False)]
    assert any("no door leads into the room" in reason for reason in office.unread)


def test_a_door_beside_a_window_without_a_post_is_told():
    """The gap is 2.2 m wide: a leaf of 0.9 m hangs where glass of 1.3 m ends."""

    def both(ink: Ink) -> None:
        ink.line((5.6, 0.1), (6.9, 0.1), "0", THIN)
        ink.line((6.9, 0.2), (6.9, 1.1), "0", THIN)
        ink.arc((6.9, 0.2), 0.9, 0.0, math.pi / 2, "0", THIN)

    office = rooms(filled(DOOR, WINDOW, shapely.box(5.6, -0.01, 7.8, 0.21)), both)["OFFICE"]
    assert not office.sure


@pytest.mark.parametrize("sill", [None, 0.05, 0.12])
def test_a_window_in_the_walls_own_pen_is_read_with_its_frame_and_sill(sill):
    """Frames of 50 mm stand at both jambs, two panes between them; the faces go on across the window."""

    def framed(ink: Ink) -> None:
        for x in (7.0, 8.15):
            ink.shape(shapely.box(x, 0.06, x + 0.05, 0.14), "0", stroke=PEN)
        for y in (0.08, 0.12):
            ink.line((7.05, y), (8.15, y), "0", PEN)
        for y in (0.0, 0.2):
            ink.line((7.0, y), (8.2, y), "0", PEN)
        if sill:
            ink.shape(shapely.box(6.95, -sill, 8.25, 0.0), "0", stroke=PEN)

    office = rooms(outlined(DOOR, WINDOW, SECOND), framed)["OFFICE"]
    assert [round(o.width, 2) for o in office.openings if o.kind == "window"] == [1.2]
