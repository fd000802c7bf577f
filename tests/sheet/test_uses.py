"""What a sheet is for: titles first, then the sheet types of the US National CAD Standard (from memory)."""

from __future__ import annotations

import pytest

from takeoff.model.plan import Sheet
from takeoff.sheet.text import TextLine, Word
from takeoff.sheet.uses import units_of, use_of, use_of_headings


@pytest.mark.parametrize(
    ("number", "title", "use"),
    [
        ("A-101", "FIRST FLOOR PLAN", "floor plan"),
        ("A-102", "Reflected Ceiling Plan", "ceiling plan"),
        ("A-201", "EXTERIOR ELEVATIONS", "elevation"),
        ("A-601", "ROOM FINISH SCHEDULE", "schedule"),
        ("A-501", "WALL DETAILS", "detail"),
        ("A-103", "ROOF PLAN", "other"),
        ("G-001", "COVER SHEET", "other"),
        ("E-101", "POWER PLAN", "other"),
        ("A-110", "", "floor plan"),
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


@pytest.mark.parametrize(
    ("notes", "units"),
    [(["1:50", "1:100", ""], "metric"), (['1/4" = 1\'-0"', "1:50"], "imperial"), (["", ""], "imperial")],
)
def test_the_units_of_a_set_are_told_by_its_written_scales(notes, units):
    sheets = [Sheet(id=i, source="x", page=i, width_pt=1.0, height_pt=1.0, scale_note=n) for i, n in enumerate(notes)]
    assert units_of(sheets) == units


@pytest.mark.parametrize(
    ("heading", "use"),
    [("GROUND FLOOR PLAN", "floor plan"), ("NORTH ELEVATION", "elevation"), ("DOOR SCHEDULE", "schedule"),
     ("WALL SECTION", "detail"), ("SEE THE PLAN FOR THE WIDTH OF EACH OPENING", "unknown"), ("KITCHEN", "unknown")],
)  # fmt: skip
def test_a_sheet_without_a_title_block_is_told_by_its_largest_heading(heading, use):
    notes = [line(f"note on the plan {i}", 8.0) for i in range(20)]
    assert use_of_headings([*notes, line(heading, 16.0)])[0] == use


def test_words_no_larger_than_the_notes_are_no_heading():
    assert use_of_headings([line("SEE ELEVATIONS", 8.0) for _ in range(20)])[0] == "unknown"


def line(text: str, size: float) -> TextLine:
    box = (0.0, 0.0, size * len(text), size)
    return TextLine(words=tuple(Word(text=word, box_pt=box) for word in text.split()), box_pt=box)
