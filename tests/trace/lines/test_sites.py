"""Rooms are read from sheets as they come: with closets, bays, notes over walls, details and key plans beside."""

from __future__ import annotations

import pytest
import shapely
import shapely.affinity

from tests.trace.lines.test_plan_rooms import DOOR, OUTER, PEN, THIN, WINDOW, door, drawn, names, outlined, window
from tests.trace.scoring import read, score
from tests.trace.site_plans import SITES, make_any, make_site


@pytest.mark.parametrize("kind", SITES)
def test_the_rooms_of_a_made_up_sheet_are_found(kind: str) -> None:
    plan = make_site(1, kind)
    result = score(read(plan).rooms, plan.rooms, plan.m_per_pt)
    # the picture of the imperial sheet is read too, and the wall network misses one room of it
    missed = 1 if kind == "imperial" else 0
    assert (result.false_rooms, result.sure_wrong) == (0, 0), result.faults
    assert result.found >= result.rooms - missed, result.faults
    assert result.traced > (0.98 - 0.15 * missed) * result.length


@pytest.mark.parametrize(("kind", "seed"), [("closets", 3), ("cavity", 5), ("phased", 6), ("details", 5)])
def test_plans_that_were_misread_once_are_read_right(kind: str, seed: int) -> None:
    """A closet's front taken for the end of a wall; tiles for glass; filled walls for glass; a key plan for rooms."""
    plan = make_site(seed, kind)
    result = score(read(plan).rooms, plan.rooms, plan.m_per_pt)
    assert (result.found, result.false_rooms, result.sure_wrong) == (result.rooms, 0, 0), result.faults


def test_outer_walls_that_nothing_breaks_are_no_frame_where_walls_stand_on_their_inner_side() -> None:
    """In this plan faces run through the windows, and doors part most inner walls from the outer ones."""
    plan = make_any(1036, "outline-through")
    result = score(read(plan).rooms, plan.rooms, plan.m_per_pt)
    assert (result.found, result.sure_wrong) == (result.rooms, 0), result.faults


def test_a_filled_wall_between_the_ends_of_outlined_ones_is_a_wall() -> None:
    """The middle metre of the wall between the rooms is new and filled, as are 2 m of the outer wall."""
    new = [shapely.box(5.2, 2.4, 5.4, 3.4), shapely.box(6.0, 0.0, 8.0, 0.2)]

    def walls(ink):
        for part in shapely.get_parts(OUTER.difference(shapely.union_all([DOOR, WINDOW, *new]))).tolist():
            ink.shape(part, "A-WALL", stroke=PEN)
        for part in new:
            ink.shape(part, "A-WALL", stroke=PEN, fill=0.0)

    rooms = drawn(walls, door, window, names).rooms
    assert [round(r.area, 3) for r in rooms] == [20.0, 15.2]


def test_a_key_plan_without_names_is_no_building() -> None:
    """The same two rooms at a fifth of the size beside the plan, in the same pen."""

    def key(ink):
        small = shapely.affinity.scale(OUTER, 0.2, 0.2, origin=(0, 0))
        ink.shape(shapely.affinity.translate(small, 0.2, 9.0), "A-ANNO-KEYN", stroke=PEN)
        ink.line((-0.5, 8.7), (9.5, 8.7), "A-ANNO-KEYN", THIN)

    rooms = drawn(outlined(DOOR, WINDOW), door, window, names, key, size=(720, 800)).rooms
    assert [r.number for r in rooms] == ["12", "13"]
    assert all(r.sure for r in rooms)


def test_a_short_piece_of_wall_with_a_word_in_it_is_a_wall_and_a_column_of_cells_with_words_is_none() -> None:
    gaps = (WINDOW, shapely.box(4.2, -0.01, 5.0, 0.21))

    def glass_and_word(ink):
        for y in (0.0, 0.1, 0.2):
            ink.line((4.2, y), (5.0, y), "A-GLAZ", THIN)
        ink.text((3.85, 0.1), "1 HR", 5, "A-ANNO-NOTE")

    def cells(ink):
        for i in range(4):
            ink.shape(shapely.box(3.0, 2.0 + 0.3 * i, 4.6, 2.3 + 0.3 * i), "A-ANNO-SCHD", stroke=PEN)
            ink.text((3.8, 2.15 + 0.3 * i), "D9 900 x 2100", 5, "A-ANNO-SCHD")

    room = drawn(outlined(DOOR, *gaps), door, window, names, glass_and_word, cells).rooms[0]
    assert room.area == pytest.approx(20.0, abs=1e-3)
    assert [o.form for o in room.openings].count("window") == 2
