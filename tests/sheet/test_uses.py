"""What a sheet is for: titles first, then the sheet types of the US National CAD Standard (from memory)."""

from __future__ import annotations

import pytest

from takeoff.model.plan import Sheet
from takeoff.sheet.text import TextLine, Word
from takeoff.sheet.uses import is_named_floor_plan, shows_no_plan, units_of, use_of, use_of_headings


@pytest.mark.parametrize(
    ("number", "title", "use"),
    [
        ("A-101", "FIRST FLOOR PLAN", "floor plan"),
        ("A-102", "Reflected Ceiling Plan", "ceiling plan"),
        ("A-201", "EXTERIOR ELEVATIONS", "elevation"),
        ("A-601", "ROOM FINISH SCHEDULE", "schedule"),
        ("A-501", "WALL DETAILS", "detail"),
        ("A-103", "ROOF PLAN", "other"),
        ("A-901", "Perspective 1", "other"),
        ("A-102", "PLANS & ELEVATIONS", "floor plan"),
        ("A-102", "Grundriss EG und Schnitt A-A", "floor plan"),
        ("A-102", "Roof & framing plan", "other"),
        ("A-111", "1st Floor RCP", "ceiling plan"),
        ("G-001", "COVER SHEET", "other"),
        ("E-101", "POWER PLAN", "other"),
        ("A-110", "", "floor plan"),
        ("A2.14", "LEVEL 5 - TERRACE", "floor plan"),
        ("", "Layout of 2nd, 3rd & 4th floor", "floor plan"),
        ("", "SECOND FLOOR FRAMING", "other"),
        ("", "Elevación oriente", "elevation"),
        ("", "PLANTA DE CUBIERTAS", "other"),
        ("", "Planta baja y cubiertas", "floor plan"),
        ("", "Piano terra", "floor plan"),
        ("", "REZ-DE-CHAUSSÉE", "floor plan"),
        ("", "Plano de ubicación", "other"),
        ("A1.01", "", "floor plan"),
        ("AD-10", "", "unknown"),  # the tenth of a row: no digit tells its type
        ("E-1", "", "other"),
        ("G-1", "GROUND FLOOR PLAN", "floor plan"),
        ("J-2", "TYPICAL FLOOR PLAN", "floor plan"),
        ("FP-101", "FIRST FLOOR PLAN", "other"),
        ("A-301", "", "detail"),
        ("", "", "unknown"),
    ],
)
def test_the_use_of_a_sheet_is_told_by_its_title_or_else_its_number(number, title, use):
    sheet = Sheet(id=1, source="x", page=1, width_pt=612.0, height_pt=792.0, number=number, title=title)
    assert use_of(sheet)[0] == use


def pages(notes, size=(100.0, 100.0)):
    return [
        Sheet(id=i, source="x", page=i, width_pt=size[0], height_pt=size[1], scale_note=note)
        for i, note in enumerate(notes, 1)
    ]


@pytest.mark.parametrize(
    ("notes", "units", "is_open"),
    [(["1:50", "1:100", ""], "metric", False), (['1/4" = 1\'-0"', "AS NOTED"], "imperial", False),
     (['1/4" = 1\'-0"', '1/8" = 1\'-0"', "1:50"], "imperial", True)],
)  # fmt: skip
def test_the_units_of_a_set_are_told_by_its_written_scales(notes, units, is_open):
    told, basis = units_of(pages(notes))
    assert (told, basis.how, basis.is_open) == (units, "note", is_open)


@pytest.mark.parametrize(
    ("lines", "units"),
    [(["3600", "12400", "2750", "900", "1020", "4 mm SEALANT"], "metric"),
     (["12'-6\"", "3' 4 1/2\"", "10'-0\"", "8'-8\"", "24'-0\" CLEAR"], "imperial"),
     (["A: 6.42 m2", "12.98 m²", "9,5 m²", "A: 4.34 m2", "11.32 m2", "900"], "metric"),
     (["120 SF", "250 sq. ft.", "98 sq ft", "1,200 SF", "75 SF"], "imperial")],
)  # fmt: skip
def test_without_a_scale_note_the_lengths_and_areas_on_the_sheets_tell_the_units(lines, units):
    told, basis = units_of(pages(["", "NTS"]), lines)
    assert (told, basis.how, basis.is_open) == (units, "measured", False)


def test_a_scale_without_units_on_sheets_in_feet_does_not_make_them_metric():
    lines = ["12'-6\"", "3' 4 1/2\"", "10'-0\"", "8'-8\"", "24'-0\" CLEAR"]
    assert [units_of(pages(["1:100"]), said)[0] for said in (lines, lines[:3])] == ["imperial", "metric"]


# A1 and ARCH D in points: 594 mm x 841 mm by ISO 216; 24 in x 36 in.
@pytest.mark.parametrize(
    ("size", "units"), [((2384.0, 1684.0), "metric"), ((2592.0, 1728.0), "imperial"), ((500.0, 500.0), "imperial")]
)
def test_units_that_only_the_paper_tells_or_nothing_are_open(size, units):
    told, basis = units_of(pages([""], size), ["ROOM 101", "10'-0\"", "3600"])
    assert (told, basis.how, basis.is_open) == (units, "assumed", True)


@pytest.mark.parametrize(
    ("title", "is_one"),
    [("FIRST FLOOR PLAN", True), ("FIRST FLOOR PLAN - LIGHTING", False), ("HVAC FLOOR PLAN", False), ("SITE", False)],
)
def test_a_title_says_floor_plan_where_no_word_of_it_is_of_another_trade(title, is_one):
    assert is_named_floor_plan(Sheet(id=1, source="x", page=1, width_pt=1.0, height_pt=1.0, title=title)) == is_one


@pytest.mark.parametrize(
    ("heading", "use"),
    [("GROUND FLOOR PLAN", "floor plan"), ("NORTH ELEVATION", "elevation"), ("DOOR SCHEDULE", "schedule"),
     ("WALL SECTION", "detail"), ("SITE PLAN:", "unknown"),
     ("SEE THE PLAN FOR THE WIDTH OF EACH OPENING", "unknown"), ("KITCHEN", "unknown")],
)  # fmt: skip
def test_a_sheet_without_a_title_block_is_told_by_its_largest_heading(heading, use):
    notes = [line(f"note on the plan {i}", 8.0) for i in range(20)]
    assert use_of_headings([*notes, line(heading, 16.0)])[0] == use


def test_words_no_larger_than_the_notes_are_no_heading():
    assert use_of_headings([line("SEE ELEVATIONS", 8.0) for _ in range(20)])[0] == "unknown"


def line(text: str, size: float) -> TextLine:
    box = (0.0, 0.0, size * len(text), size)
    return TextLine(words=tuple(Word(text=word, box_pt=box) for word in text.split()), box_pt=box)


@pytest.mark.parametrize(
    ("number", "heading", "is_none"),
    [
        ("A301", "SEZIONE BB", True),
        ("A301", "PIANTA PIANO TERRA", False),
        ("A101", "SEZIONE BB", False),
        ("", "SECTION A", False),
    ],
)
def test_number_and_heading_together_tell_that_a_sheet_shows_no_plan(number, heading, is_none):
    sheet = Sheet(id=1, source="x", page=1, width_pt=612.0, height_pt=792.0, number=number, title="HOUSE ON THE HILL")
    lines = [line(heading, 20.0), *(line(text, 8.0) for text in ("4.00", "5.00", "KITCHEN"))]
    assert bool(shows_no_plan(sheet, lines)) == is_none
