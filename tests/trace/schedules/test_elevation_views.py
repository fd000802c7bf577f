"""Interior elevations drawn here: views are told apart, and only what says the ceiling is taken for its height.

A foot is 0.3048 m exactly (the international foot of 1959); each height is the one that its view is drawn with. The
forms of titles and notes are common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import pymupdf
import pytest

from sample_plans.sheets import ANSI_D, millimetres, new_set
from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.schedules.elevation_views import ElevationView, read_views
from takeoff.trace.texts.printed_sizes import one_height
from tests.trace.schedules.drawn_elevations import Wall, draw_walls

FOOT = 0.3048
METRIC = {"scale": ("1:50", 50), "label": millimetres}
A, B, C = (200.0, 600.0), (1200.0, 600.0), (200.0, 1250.0)


def views_of(*walls, turn=0, **how):
    """Draw walls on a sheet and read it back."""
    document = new_set(["A-201"], ANSI_D)
    draw_walls(document, walls, **how)
    if turn:
        document = turned(document, turn)
    data = document.tobytes()
    sheet = read_sheets(data, "e.pdf")[0][0]
    found = read_views(read_lines(data, sheet), sheet, lambda: read_linework(data, sheet))
    return {view.title: view for view in found}


def turned(document, degrees):
    """Lay the page on its side and have it shown upright again, as plotters do."""
    page = pymupdf.open()
    width, height = ANSI_D
    page.new_page(width=height, height=width).show_pdf_page(
        pymupdf.Rect(0, 0, height, width), document, 0, rotate=degrees
    )
    page[0].set_rotation(degrees)
    return page


def height(view):
    return one_height(view.ceilings)


def test_a_dimension_that_spans_the_wall_from_floor_to_ceiling_gives_its_printed_height():
    wall = Wall(title="104 PROCESS - NORTH", width=9.0, heights=(10 * FOOT, 10 * FOOT), strings=[(0, 10 * FOOT)])
    view = views_of((wall, A))["104 PROCESS - NORTH"]
    assert height(view) == pytest.approx(10 * FOOT, abs=1e-9)
    assert [note.text for note in view.ceilings] == ["10'-0\""]


def test_whole_millimetres_are_read_on_a_metric_sheet():
    wall = Wall(title="INTERIOR ELEVATION 104", width=6.0, heights=(2.7, 2.7), strings=[(0, 2.7)])
    assert height(views_of((wall, A), **METRIC)["INTERIOR ELEVATION 104"]) == pytest.approx(2.7, abs=1e-9)


def test_the_printed_length_counts_and_not_the_measured_one():
    wall = Wall(title="104 PROCESS", width=9.0, heights=(10 * FOOT, 10 * FOOT), strings=[(0, 10 * FOOT)])
    view = views_of((wall, A), label=lambda metres: f"{round(metres / FOOT) + 1}'-0\"")["104 PROCESS"]
    assert height(view) == pytest.approx(11 * FOOT, abs=1e-9)


@pytest.mark.parametrize(
    ("note", "metres"),
    [
        ("CLG 12'-0\"", 12 * FOOT),
        ("CEILING HEIGHT 2700", 2.7),
        ("CEILING +10'-0\"", 10 * FOOT),
        ("9'-0\" CLG", 9 * FOOT),
    ],
)
def test_a_note_of_the_ceiling_in_a_view_is_its_height(note, metres):
    wall = Wall(title="104 PROCESS", width=9.0, heights=(3.6, 3.6), notes=[(note, 3.0)])
    assert height(views_of((wall, A))["104 PROCESS"]) == pytest.approx(metres, abs=1e-9)


@pytest.mark.parametrize(
    "note",
    [
        "WAINSCOT 4'-0\"",
        "T.O. WAINSCOT +4'-0\"",
        "DOOR HEAD 7'-0\"",
        "TOP OF COATING 8'-0\"",
        "COATING TO 8'-0\" A.F.F.",
    ],
)
def test_what_ends_below_the_ceiling_is_no_ceiling(note):
    wall = Wall(
        title="104 PROCESS", width=9.0, heights=(3.6, 3.6), notes=[(note, 2.5)],
        strings=[(0, 8 * FOOT), (0, 4 * FOOT)], wainscot=4 * FOOT, door=7 * FOOT,
    )  # fmt: skip
    assert views_of((wall, A))["104 PROCESS"].ceilings == ()


@pytest.mark.parametrize(
    "wall",
    [
        Wall(title="", width=2.5, heights=(3.6, 3.6), sides=False),  # the wall goes on past what is drawn
        Wall(title="", width=1.8, heights=(3.6, 3.6), door_width=1.7, sides=False),
        Wall(title="", width=2.5, heights=(0.0, 0.0), sides=False),  # no ceiling is drawn
        Wall(title="", width=1.8, heights=(3.6, 2.7), door_width=1.7),  # its ceiling slopes
    ],
)
def test_a_door_is_not_taken_for_a_wall_whose_outline_is_not_closed(wall):
    door = 7 * FOOT
    wall = replace(wall, title="104 PROCESS", strings=[(0, door)], door=door)
    assert views_of((wall, A))["104 PROCESS"].ceilings == ()


def test_a_coating_under_a_ceiling_that_slopes_is_not_taken_for_the_wall():
    wall = Wall(title="104 PROCESS", width=6.0, heights=(3.6, 2.7), strings=[(0, 2.1), (0, 3.6)], wainscot=2.1)
    assert views_of((wall, A), **METRIC)["104 PROCESS"].ceilings == ()


def test_words_that_a_ceiling_is_not_level_leave_no_one_height():
    wall = Wall(
        title="104 PROCESS", width=9.0, heights=(3.0, 3.0), strings=[(0, 3.0)], notes=[("CEILING SLOPES TO EAST", 2.5)]
    )
    assert height(views_of((wall, A), **METRIC)["104 PROCESS"]) is None


def test_a_note_and_a_dimension_that_differ_by_more_than_an_inch_are_no_one_height():
    wall = Wall(title="104 PROCESS", width=9.0, heights=(3.0, 3.0), strings=[(0, 3.0)], notes=[("CLG 2700", 2.0)])
    assert height(views_of((wall, A), **METRIC)["104 PROCESS"]) is None


@pytest.mark.parametrize("turn", [0, 90, 270])
def test_several_views_on_a_sheet_keep_their_own_heights_however_it_is_turned(turn):
    first = Wall(title="104 PROCESS - NORTH", width=8.0, heights=(3.6, 3.6), strings=[(0, 3.6)])
    second = Wall(
        title="103 WASH - EAST", width=5.0, heights=(2.7, 2.7), strings=[(0, 1.2, 2.7), (0, 2.7)], wainscot=1.2
    )
    third = Wall(title="105 COLD ROOM", width=7.0, heights=(3.0, 3.0), notes=[("CEILING +3000", 2.0)])
    found = views_of((first, A), (second, B), (third, C), **METRIC, turn=turn)
    assert {title: height(view) for title, view in found.items()} == {
        "104 PROCESS - NORTH": pytest.approx(3.6),
        "103 WASH - EAST": pytest.approx(2.7),
        "105 COLD ROOM": pytest.approx(3.0),
    }


@pytest.mark.parametrize(
    ("title", "is_own"),
    [
        ("104 PROCESS - NORTH", True),
        ("PROCESS 104, NORTH WALL", True),
        ("INTERIOR ELEVATION 104", True),
        ("ELEVATION 3 - PROCESS 104", True),
        ("ROOM 104 LOOKING EAST", True),
        ("STORE 104", False),  # the name of another room
        ("104 & 105 NORTH", False),
        ("A-104", False),
        ("PROCESS 1042", False),
        ("PROCESS - NORTH", False),
    ],
)
def test_a_title_is_of_a_room_by_its_number_and_by_its_name_where_it_has_one(title, is_own):
    assert ElevationView(title=title, ceilings=()).names("104", "Process") is is_own
