"""Windows that may be doors which are drawn shut, and windows in the walls' own pen."""

from __future__ import annotations

import itertools
import math

import pytest
import shapely

from tests.trace.ink import Ink, Pen
from tests.trace.lines.test_plan_rooms import (
    DOOR,
    OUTER,
    PEN,
    THIN,
    WINDOW,
    door,
    drawn,
    filled,
    names,
    outlined,
    window,
)

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


def in_leaves(*gaps):
    """Draw the walls with two lines at each end, as those of two leaves have: 80 and 120 mm thick."""

    def draw(ink: Ink) -> None:
        for part in shapely.get_parts(OUTER.difference(shapely.union_all(gaps))).tolist():
            ring = []
            for a, b in itertools.pairwise(part.exterior.coords):
                ring += [a, (a[0] + 0.4 * (b[0] - a[0]), a[1] + 0.4 * (b[1] - a[1]))] if math.dist(a, b) < 0.25 else [a]
            ink.shape(shapely.Polygon(ring, part.interiors), "0", stroke=PEN)

    return draw


@pytest.mark.parametrize("walls", [outlined, in_leaves])
def test_a_window_that_the_faces_run_across_is_read_where_its_jambs_are_drawn_in_two_pieces(walls):
    """Two panes stand between the jambs, 30 mm from one another."""

    def glazed(ink: Ink) -> None:
        for y in (0.0, 0.2):
            ink.line((7.0, y), (8.2, y), "0", PEN)
        for y in (0.085, 0.115):
            ink.line((7.0, y), (8.2, y), "0", THIN)

    office = rooms(walls(DOOR, WINDOW, SECOND), glazed)["OFFICE"]
    assert [round(o.width, 2) for o in office.openings if o.kind == "window"] == [1.2]


LEAF, PANES, FACES, INNER_FACES = (-0.02, 0.02), (-0.03, 0.0, 0.03), (-0.15, 0.15), (-0.06, 0.06)
"""How far the lines of a leaf that is drawn shut, and of a window, lie from the middle of their wall, in metres; and
those of gaps in outer and inner walls in which no more is drawn than the faces of the wall."""


def offices(doors, windows, entrances=(), *, wide_m=1.2):
    """Trace rooms of 3 × 3.3 m in a row on a corridor; for each its door and its window, and the corridor's entrances.

    Each is the places of its lines, "open" with a swing, or nothing where it has none; doors are 0.9 m wide, windows
    ``wide_m``. Walls are filled, inner ones 0.12 m thick and outer ones 0.3 m.
    """
    wide = 3.12 * len(doors) + 0.48
    hollow = [shapely.box(0.3 + 3.12 * i, 0.3, 3.3 + 3.12 * i, 3.6) for i in range(len(doors))]
    hollow.append(shapely.box(0.3, 3.72, wide - 0.3, 5.7))
    gaps = [(1.0 + 3.12 * i, 0.9, 3.66, 0.06, lines) for i, lines in enumerate(doors)]
    gaps += [(1.6 - wide_m / 2 + 3.12 * i, wide_m, 0.15, 0.15, lines) for i, lines in enumerate(windows)]
    gaps += [(2.0 + 3.12 * i, 0.9, 5.85, 0.15, lines) for i, lines in enumerate(entrances)]
    gaps = [gap for gap in gaps if gap[4] is not None]
    cut = [shapely.box(x, y - half - 0.01, x + width, y + half + 0.01) for x, width, y, half, _ in gaps]

    def walls(ink: Ink) -> None:
        solid = shapely.box(0, 0, wide, 6.0).difference(shapely.union_all([*hollow, *cut]))
        for part in shapely.get_parts(solid).tolist():
            ink.shape(part, "0", stroke=PEN, fill=0.3)

    def openings(ink: Ink) -> None:
        for x, width, y, half, lines in gaps:
            if lines == "open":
                ink.line((x, y - half), (x, y - half - width), "0", THIN)
                ink.arc((x, y - half), width, -math.pi / 2, math.pi / 2, "0", THIN)
            for off in lines if lines != "open" else ():
                ink.line((x, y + off), (x + width, y + off), "0", THIN)

    def labels(ink: Ink) -> None:
        for i in range(len(doors)):
            ink.text((1.2 + 3.12 * i, 2.2), "OFFICE", 7, "0")
        ink.text((1.2, 4.8), "CORRIDOR", 7, "0")

    return drawn(walls, openings, labels, size=(wide / 50 / 0.0254 * 72 + 120, 460)).rooms


def told(rooms) -> int:
    """Count the doors that are known."""
    return sum(o.kind == "door" and o.confidence >= 0.9 for room in rooms for o in room.openings)


def test_doors_that_are_all_drawn_shut_are_told_from_windows_by_how_the_sheet_draws_both():
    rooms = offices([LEAF] * 4, [PANES] * 4, [LEAF])
    assert [room.sure for room in rooms] == [True] * 5
    assert {tuple(o.kind for o in sorted(room.openings, key=lambda o: o.kind)) for room in rooms} == {
        ("door", "window"), ("door",) * 5,
    }  # fmt: skip


def test_where_doors_and_windows_are_drawn_alike_none_is_sure():
    assert not any(room.sure for room in offices([LEAF] * 4, [LEAF] * 4))


def test_what_is_drawn_neither_as_the_doors_nor_as_the_windows_stays_in_doubt():
    rooms = {room.name: room for room in offices([LEAF] * 4, [PANES] * 4, [(-0.1, 0.0)])}
    assert rooms["OFFICE"].sure
    assert not rooms["CORRIDOR"].sure
    assert any("neither as the doors nor as the windows" in reason for reason in rooms["CORRIDOR"].unread)


def test_where_doors_are_drawn_open_what_stands_between_rooms_is_not_told():
    assert told(offices(["open", LEAF, LEAF, LEAF], [PANES] * 4)) == 2


@pytest.mark.parametrize(
    ("doors", "windows", "entrances", "count"),
    [
        ([LEAF] * 3, [PANES] * 3, (), 6),
        ([LEAF] * 2, [PANES] * 3, (), 0),
        ([LEAF] * 4, [PANES, PANES, PANES, None], (), 8),
        ([LEAF] * 4, [PANES, PANES, None, None], (), 0),
        ([LEAF] * 3, [PANES] * 3, [LEAF], 7),
        ([LEAF] * 5, [PANES] * 5, [LEAF, LEAF], 0),
        ([LEAF] * 3 + [None] * 4, [PANES] * 7, (), 6),
        ([LEAF] * 3 + [None] * 5, [PANES] * 8, (), 0),
        ([LEAF] * 3 + [(-0.0125, 0.0275)], [PANES] * 4, (), 8),
        ([LEAF] * 3 + [(-0.0115, 0.0285)], [PANES] * 4, (), 6),
    ],
)
def test_how_a_sheet_draws_its_doors_is_told_by_several_of_them(doors, windows, entrances, count):
    """Three between rooms and three windows; a third as many in outer walls; half of the rooms; lines within 8 mm."""
    assert told(offices(doors, windows, entrances)) == count


@pytest.mark.parametrize(
    ("doors", "windows", "wide_m", "count"),
    [
        (["open"] * 3, [FACES] * 3, 1.2, 3),
        (["open"] * 3, [FACES, FACES, None], 1.2, 0),
        (["open"] * 4, [FACES, FACES, FACES, PANES], 1.2, 1),
        ([INNER_FACES] * 3, [FACES] * 3, 1.2, 0),
        (["open"] * 3 + [None], [FACES] * 4, 1.2, 3),
        (["open"] * 3, [FACES] * 3, 2.2, 3),
        (["open"] * 3, [FACES] * 3, 2.4, 0),
    ],
    ids=("three", "two", "glass", "no door is open", "no door leads in", "wide", "as wide as a gate"),
)
def test_lines_along_both_faces_of_outer_walls_are_windows_where_a_sheet_draws_all_so(doors, windows, wide_m, count):
    """A gate for one car is 2.4 m, 8 ft, wide (common practice, no source)."""
    rooms = offices(doors, windows, ["open"], wide_m=wide_m)
    assert sum(o.kind == "window" and o.confidence >= 0.9 for room in rooms for o in room.openings) == count


@pytest.mark.parametrize(
    ("dash", "forms"), [("", ["swing", "window", "window"]), ("[3 2] 0", ["swing", "window"])], ids=("glass", "axis")
)
def test_a_dash_of_an_axis_along_a_wall_is_no_glass(dash, forms):
    """Lines cross the wall 100 mm beyond both its ends, as at a window."""

    def along(ink: Ink) -> None:
        for y in (2.2, 2.9):
            ink.line((5.2, y), (5.4, y), "0", PEN)
        ink.line((5.3, 2.3), (5.3, 2.8), "0", Pen(THIN.width, dash=dash))

    store = rooms(outlined(DOOR, WINDOW), along)["STORE"]
    assert sorted(o.form for o in store.openings) == forms


def test_a_window_over_a_wall_ends_where_another_wall_meets_that():
    """Faces drawn twice, 40 mm apart, run on over a pier of 0.7 m between two windows; a wall stands on that pier.

    By hand: 10 m inside less 0.1 m of the wall, halved: two rooms of 4.95 × 4 m, each with a window of 1 m.
    """
    left, right = shapely.box(3.8, -0.01, 4.8, 0.21), shapely.box(5.5, -0.01, 6.5, 0.21)
    shell = shapely.box(0, 0, 10.4, 4.4).difference(shapely.box(0.2, 0.2, 10.2, 4.2))
    partition = shapely.box(5.15, 0.2, 5.25, 4.2)

    def pier(ink: Ink) -> None:
        ink.shape(shell.union(partition), "A-WALL", stroke=PEN, fill=0.3)
        for y in (0.05, 0.15):
            ink.line((3.8, y), (6.5, y), "0", THIN)
        for gap in (left, right):
            for x in (gap.bounds[0], gap.bounds[2]):
                ink.line((x, 0.0), (x, 0.2), "0", THIN)
            for y in (0.08, 0.12):
                ink.line((gap.bounds[0], y), (gap.bounds[2], y), "0", THIN)

    plan = drawn(pier)
    assert [round(room.area, 2) for room in plan.rooms] == [19.8, 19.8]
    assert [[round(o.width, 2) for o in room.openings] for room in plan.rooms] == [[1.0], [1.0]]
