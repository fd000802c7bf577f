"""Tables of areas drawn on a sheet, made here with the PDF engine."""

from __future__ import annotations

from collections.abc import Sequence

import pymupdf
import pytest

from takeoff.errors import InputError
from takeoff.exchange.stated_headings import Asked
from takeoff.exchange.stated_sheet import read_stated_pages
from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import TextLine, read_lines


def drawn(rows: Sequence[Sequence[str]], *, columns: Sequence[float] = (100, 170, 330)) -> list[TextLine]:
    """A sheet with a title, a table, and notes about it."""
    doc = pymupdf.open()
    page = doc.new_page(width=1200, height=800)
    page.insert_text((100, 80), "ROOM AREA SCHEDULE", fontsize=14)
    for i, row in enumerate(rows):
        for x, cell in zip(columns, row, strict=True):
            page.insert_text((x, 120 + 18 * i), cell, fontsize=9)
    page.insert_text((700, 140), "1. Areas are to faces of walls.", fontsize=9)
    page.insert_text((100, 700), "FLOOR PLAN 104", fontsize=12)
    data = doc.tobytes()
    return read_lines(data, read_sheets(data, "a.pdf")[0][0])


def test_a_table_on_a_drawing_is_read_with_what_stands_beside_it_left_out():
    lines = drawn(
        [
            ("NO.", "ROOM NAME", "WALL AREA (SF)"),
            ("101", "CORRIDOR", "557"),
            ("104", "PROCESS", "1,434"),
            ("106", "COLD ROOM", "693"),
            ("", "TOTAL", "2,684"),
        ]
    )
    table = read_stated_pages([lines], "A-601")
    assert [(a.number, a.name, a.value) for a in table.areas] == [
        ("101", "CORRIDOR", 557.0),
        ("104", "PROCESS", 1434.0),
        ("106", "COLD ROOM", 693.0),
    ]


HEAD = ("NO.", "ROOM NAME", "WALL AREA (SF)")
MORE = [("104", "PROCESS", "1,434"), ("106", "COLD ROOM", "693"), ("", "TOTAL", "2,684")]


@pytest.mark.parametrize("head", [[HEAD], []])
def test_a_table_goes_on_on_the_next_page_with_its_headings_or_without(head):
    pages = [drawn([HEAD, ("101", "CORRIDOR", "557")]), drawn([*head, *MORE])]
    table = read_stated_pages(pages, "areas.pdf")
    assert [a.number for a in table.areas] == ["101", "104", "106"]
    assert table.faults == ()  # the total is that of both pages


def test_a_page_of_prose_behind_a_table_is_no_part_of_it():
    pages = [drawn([HEAD, ("101", "CORRIDOR", "557")]), drawn([("SEE", "SHEET", "A-102"), ("NOTE", "1", "OF 2")])]
    assert [a.number for a in read_stated_pages(pages, "areas.pdf").areas] == ["101"]


def test_a_table_without_a_unit_is_refused_on_a_sheet_too():
    lines = drawn([("NO.", "ROOM NAME", "WALL AREA"), ("101", "CORRIDOR", "557")])
    with pytest.raises(InputError, match="no unit"):
        read_stated_pages([lines], "A-601")
    assert read_stated_pages([lines], "A-601", Asked(unit="sf")).areas[0].value == 557.0


def test_a_sheet_without_such_a_table_is_refused():
    with pytest.raises(InputError, match="shows no table"):
        read_stated_pages([drawn([("MARK", "TYPE", "WIDTH"), ("A", "Door", "3070")])], "A-601")
