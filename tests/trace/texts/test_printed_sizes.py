"""Sizes written at doors: four figures are feet and inches of the width, then of the height.

Common practice in drawings of houses in the US, no source; the foot is 0.3048 m exactly (international foot, 1959).
"""

from __future__ import annotations

import math

import pytest
import shapely

from takeoff import actions
from takeoff.actions.traced_sheets import read_sheet_trace
from takeoff.actions.tracing import trace_sheet
from takeoff.model.open_points import basis_of
from takeoff.sheet.text import TextLine, Word
from takeoff.trace.texts.printed_sizes import one_height, printed_inside, read_ceiling_notes, read_printed_areas
from tests.jobs import job_on
from tests.trace.ink import Ink
from tests.trace.lines.test_plan_rooms import THIN, filled, place, window

INCH = 0.0254
LEAF = 32 * INCH
"""A leaf of 2 feet 8 inches."""


def draw_door(ink: Ink) -> None:
    ink.line((5.2, 1.0), (5.2 - LEAF, 1.0), "A-DOOR", THIN)
    ink.arc((5.2, 1.0), LEAF, math.pi / 2, math.pi / 2, "A-DOOR", THIN)


def traced(tmp_path, *texts: tuple[str, float, float]):
    ink = Ink((720, 400), place, layered=False)
    filled(shapely.box(5.19, 1.0, 5.41, 1.0 + LEAF), shapely.box(2.0, -0.01, 3.5, 0.21))(ink)
    draw_door(ink)
    window(ink)
    for text, x, y in texts:
        ink.text((x, y), text, 7.0, "A-ANNO")
    plans = [("plan.pdf", ink.data(rotate=0))]
    with job_on(tmp_path / "a.takeoff", *plans) as store:
        actions.set_scale_ratio(store, store.job.sheets[1], "1:50")
        trace_sheet(store, 1, all=True)
        return store.job, read_sheet_trace(store, 1)


def doors_of(job):
    return [o for run in job.runs.values() for o in run.openings if o.kind == "door"]


NAMES = (("STORE", 1.5, 3.0), ("OFFICE", 7.0, 3.0))


@pytest.mark.parametrize("text", ["2868", "2'-8\" x 6'-8\""])
def test_a_door_is_as_wide_and_high_as_is_written_beside_it_and_says_so(tmp_path, text):
    job, _ = traced(tmp_path, *NAMES, (text, 4.4, 0.8))
    both_sides = doors_of(job)
    assert len(both_sides) == 2
    for door in both_sides:
        assert (door.width, door.height) == pytest.approx((32 * INCH, 80 * INCH))
        for field in ("width", "height"):
            basis = basis_of(door, field)
            assert (basis.how, basis.text, basis.sheet) == ("stated", text, 1)
            assert math.dist(basis.at_pt, place((4.4, 0.8))) < 5.0


def test_a_size_is_no_number_of_a_room_and_no_floor_area(tmp_path):
    job, _ = traced(tmp_path, *NAMES, ("2868", 4.4, 0.8), ("2'-8\" x 6'-8\"", 6.0, 1.4))
    assert sorted((room.name, room.number) for room in job.rooms.values()) == [("OFFICE", ""), ("STORE", "")]


def test_a_size_that_the_drawn_door_has_not_is_not_taken(tmp_path):
    job, _ = traced(tmp_path, *NAMES, ("3668", 4.4, 0.8))
    assert {basis_of(door, "height").how for door in doors_of(job)} == {"assumed"}
    assert {round(door.width, 2) for door in doors_of(job)} == {0.81}


def test_a_number_of_four_figures_under_a_name_stays_the_number_of_its_room(tmp_path):
    job, _ = traced(tmp_path, ("STORE", 4.4, 0.65), ("2868", 4.4, 0.8), ("OFFICE", 7.0, 3.0))
    assert sorted((room.name, room.number) for room in job.rooms.values()) == [("OFFICE", ""), ("STORE", "2868")]


def test_numbers_that_run_on_are_no_sizes(tmp_path):
    job, _ = traced(tmp_path, ("STORE", 1.5, 3.0), ("2067", 1.5, 3.2), ("OFFICE", 7.0, 3.0), ("2068", 7.0, 3.2))
    assert sorted(room.number for room in job.rooms.values()) == ["2067", "2068"]


def test_a_window_takes_its_written_size_where_the_sheet_has_sizes_of_doors(tmp_path):
    job, _ = traced(tmp_path, *NAMES, ("2868", 4.4, 0.8), ("41140", 2.75, 0.5), ("5040", 2.75, -0.6))
    [glass] = [o for run in job.runs.values() for o in run.openings if o.kind == "window"]
    assert (glass.width, glass.height) == pytest.approx((59 * INCH, 48 * INCH))
    assert basis_of(glass, "height").text == "41140"


def test_a_size_beside_a_name_that_is_as_high_as_the_other_doors_of_the_sheet_is_no_number(tmp_path):
    stated = (("MSTR. BATH", 1.5, 3.0), ("2668", 1.5, 3.2), ("2868", 4.4, 0.8), ("2868", 9.0, 5.4))
    job, _ = traced(tmp_path, *stated, ("OFFICE", 7.0, 3.0))
    assert sorted((room.name, room.number) for room in job.rooms.values()) == [("MSTR. BATH", ""), ("OFFICE", "")]


def line(text, x=10.0, y=10.0):
    box = (x - 5.0, y - 2.0, x + 5.0, y + 2.0)
    return TextLine(words=(Word(text=text, box_pt=box),), box_pt=box)


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("CLG 10'-0\"", 3.048),
        ("CLG. HT. 9'-6\"", 2.8956),
        ("CEILING HEIGHT: 12'", 3.6576),
        ("9'-0\" CLG", 2.7432),
        ("CH 2700", 2.7),
        ("C.H. 2700 mm", 2.7),
        ("CH=2.70 m", 2.7),
        ("clg 10'-0\" AFF", 3.048),
        ("CLG +9'-0\" A.F.F.", 2.7432),
        ("CH 1.9 m", 1.9),
        ("CH 28.5 m", 28.5),
    ],
)
def test_a_printed_height_is_read_in_the_forms_that_plans_have(text, metres):
    (note,) = read_ceiling_notes([line(text)])
    assert note.height == pytest.approx(metres, abs=1e-9)
    assert note.text == text


@pytest.mark.parametrize("text", ["CLG 12'-0\" W TO 9'-0\" E", "CLG 9", "CH 9.5", 'CLG 6"', "CH 1.7 m", "CH 31.5 m"])
def test_what_is_not_one_believable_height_is_a_note_without_a_height(text):
    (note,) = read_ceiling_notes([line(text)])
    assert note.height is None


@pytest.mark.parametrize("text", ["PROCESS", "104", "10'-0\"", "ACT CEILING", "CHASE 2700", "W TO 9'-0\"", "BENCH 900"])
def test_other_text_is_no_note(text):
    assert read_ceiling_notes([line(text)]) == ()


def test_a_room_has_the_notes_that_stand_in_it():
    notes = read_ceiling_notes([line("CH 2700", 10, 10), line("CH 3000", 90, 10)])
    room = shapely.box(0, 0, 50, 50)
    assert [note.text for note in printed_inside(room, notes)] == ["CH 2700"]


def test_notes_that_agree_give_a_height_and_notes_that_differ_give_none():
    same = read_ceiling_notes([line("CH 2700"), line("CLG 2.7 m")])
    assert one_height(same) == pytest.approx(2.7)
    assert one_height(read_ceiling_notes([line("CH 2700"), line("CH 3000")])) is None
    assert one_height(()) is None


def test_what_a_ceiling_is_made_of_is_no_height() -> None:
    assert read_ceiling_notes([line('PLATFORM 5/8" TYPE "X" GYP. BD. ON CEILING'), line('5/8" GYP. BD. CEILING')]) == ()


@pytest.mark.parametrize("text", ["PD=270", "HSP: 2.70 m", "RH = 2,70 m"])
def test_words_of_other_languages_and_centimetres_give_a_height(text: str) -> None:
    assert [note.height for note in read_ceiling_notes([line(text)])] == [pytest.approx(2.7)]


@pytest.mark.parametrize(
    ("figures", "heights", "areas"),
    [
        (("24,30m", "77,01m", "18,18m", "5,70m"), 3, 4),  # one without a height, as large as the others
        (("24,30m", "77,01m", "18,18m", "5,70m"), 2, 0),
        (("1,20m", "0,90m", "2,40m"), 3, 0),  # windows and how high they are
    ],
)
def test_figures_in_metres_over_heights_are_areas_whose_raised_two_was_lost(figures, heights, areas) -> None:
    lines = [line(text, 0, 60 * i) for i, text in enumerate(figures)]
    lines += [line("h=2,70m", 0, 60 * i + 7) for i in range(heights)]
    assert len(read_printed_areas(lines)) == areas
