"""Headings of tables in two rows, with units, and in other languages; and numbers whose unit the table tells.

The words of other languages are common trade words, from memory; that doors are some 2 m high is common practice, no
source.
"""

from __future__ import annotations

import pymupdf
import pytest

from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.schedules.finish_schedule import FinishSchedule, read_finish_table
from tests.trace.schedules.test_text_tables import HIGH, WIDE, draw_fields, openings, sizes

TOP = 100.0
"""Where the tables of ``draw_fields`` begin, in points under the top of the page."""


def with_text(data: bytes, text: str, column: float, row: float) -> bytes:
    """Write a text on a drawn table with its middle so many columns from its left edge and rows from its top."""
    document = pymupdf.open(stream=data)
    half = pymupdf.get_text_length(text, fontsize=8) / 2
    document[0].insert_text((50 + WIDE * column - half, TOP + HIGH * row + 3), text, fontsize=8)
    return document.tobytes()


def finishes(data: bytes) -> FinishSchedule:
    sheet = read_sheets(data, "a.pdf")[0][0]
    return read_finish_table(read_linework(data, sheet), read_lines(data, sheet), sheet)


@pytest.mark.parametrize(
    ("title", "headings"),
    [
        ("TÜRLISTE", ["POS.", "BREITE", "HÖHE"]),
        ("CUADRO DE PUERTAS", ["CLAVE", "ANCHO", "ALTURA"]),
        ("PLANILLA DE PUERTAS", ["MARCA", "ANCHO", "ALTO"]),
        ("NOMENCLATURE DES PORTES", ["REPÈRE", "LARGEUR", "HAUTEUR"]),
        ("QUADRO DE PORTAS", ["CÓDIGO", "LARGURA", "ALTURA"]),
    ],
)
def test_openings_are_read_under_headings_of_other_languages(title, headings):
    assert sizes(draw_fields([headings, ["1", "90", "210"], ["2", "80", "200"]], title=title))["2"] == (0.8, 2.0)


@pytest.mark.parametrize(
    ("title", "headings"),
    [
        ("FENSTERLISTE", ["POS.", "ABMESSUNG", "BRÜSTUNG"]),
        ("CUADRO DE VENTANAS", ["CLAVE", "MEDIDAS", "ANTEPECHO"]),
        ("TABLEAU DES FENÊTRES", ["REPÈRE", "DIMENSIONS", "ALLÈGE"]),
        ("QUADRO DE JANELAS", ["CÓDIGO", "DIMENSÕES", "PEITORIL"]),
    ],
)
def test_sizes_and_sills_of_windows_are_read_under_headings_of_other_languages(title, headings):
    table = openings(draw_fields([headings, ["1", "1200 x 1500", "900"], ["2", "600 x 900", "1500"]], title=title))
    assert [(row.width, row.height, row.sill) for row in table.rows] == [(1.2, 1.5, 0.9), (0.6, 0.9, 1.5)]


@pytest.mark.parametrize(
    "headings",
    [
        ["RAUM NR.", "BEZEICHNUNG", "SOCKEL", "WAND", "HÖHE"],
        ["CLAVE", "LOCAL", "ZÓCALO", "MUROS", "ALTURA"],
        ["N°", "PIÈCE", "PLINTHE", "MURS", "HAUTEUR"],
        ["CÓDIGO", "AMBIENTE", "RODAPÉ", "PAREDES", "ALTURA"],
    ],
)
def test_finishes_are_read_under_headings_of_other_languages(headings):
    rows = [headings, ["101", "LAB", "B1", "W1", "2.70 m"], ["102", "BAR", "B2", "W2", "3.00 m"]]
    read = finishes(draw_fields(rows, title="TABLEAU"))
    assert [(row.number, row.base, row.wall, row.height) for row in read.rows] == [
        ("101", "B1", "W1", 2.7),
        ("102", "B2", "W2", 3.0),
    ]


@pytest.mark.parametrize(
    ("unit", "written", "size"),
    [
        ("(MM)", ["600", "400"], (0.6, 0.4)),
        ("[CM]", ["60", "90"], (0.6, 0.9)),
        ("(M)", ["6", "1.2"], (6.0, 1.2)),
        ("(IN)", ["60", "90"], (60 * 0.0254, 90 * 0.0254)),
        ("IN MM", ["600", "400"], (0.6, 0.4)),
    ],
)
def test_a_unit_behind_the_headings_is_that_of_the_bare_numbers(unit, written, size):
    rows = [["WINDOW", f"WIDTH {unit}", f"HEIGHT {unit}"], ["W1", *written], ["W2", *written]]
    assert sizes(draw_fields(rows, title="WINDOW SCHEDULE"))["W1"] == pytest.approx(size)


def test_two_units_behind_the_headings_tell_no_unit():
    rows = [["WINDOW", "WIDTH (CM)", "HEIGHT (IN)"], ["W1", "60", "90"]]
    assert sizes(draw_fields(rows, title="WINDOW SCHEDULE"))["W1"] == (None, None)


def test_a_sign_before_three_figures_is_one_for_thousands_of_millimetres():
    assert sizes(draw_fields([["DOOR NO.", "WIDTH", "HEIGHT"], ["1", "900", "2,100"]]))["1"] == (0.9, 2.1)
    rows = [["ROOM NO.", "NAME", "BASE", "WALLS", "HEIGHT"], ["101", "LAB", "B1", "W1", "2,700"]]
    assert finishes(draw_fields(rows, title="FINISH SCHEDULE")).rows[0].height == 2.7


@pytest.mark.parametrize("size", ["900/2100", "900 / 2100", "0,90/2,10"])
def test_a_stroke_between_two_sides_parts_them(size):
    assert sizes(draw_fields([["DOOR NO.", "SIZE"], ["1", size]]))["1"] == (0.9, 2.1)


@pytest.mark.parametrize("mark_at", [-0.5, 0.0, 0.5])
def test_a_heading_over_two_columns_is_of_both_and_its_neighbours_may_stand_in_either_row(mark_at):
    rows = [["", "WIDTH", "HEIGHT", "TYPE"], ["1", "900", "2100", "A"], ["2", "800", "2000", "B"]]
    data = with_text(draw_fields(rows, ruled=False), "OPENING SIZE", 2.0, -0.5)
    read = sizes(with_text(data, "DOOR NO.", 0.3, mark_at))
    assert read == {"1": (0.9, 2.1), "2": (0.8, 2.0)}


@pytest.mark.parametrize("over", [("WIDTH", "HEIGHT"), ("", "")])
def test_inches_may_stand_in_a_column_behind_the_feet(over):
    """As one heading over two columns, or each with its unit; 5'-10 1/2" by 7'-2" is 1.7907 m by 2.1844 m."""
    sides = over if over[0] else ("WIDTH ", "HEIGHT ")
    units = ("FT", "IN") if over[0] else ("(FT)", "(IN)")
    heads = ["DOOR", *(f"{'' if over[0] else side}{unit}" for side in sides for unit in units)]
    data = draw_fields([heads, ["1", "3", "0", "7", ""], ["2", "5", "10 1/2", "7", "2"]], ruled=False)
    for place, side in zip((2.0, 4.0), over, strict=True):
        data = with_text(data, side, place, -0.5)
    read = sizes(data)
    assert read["1"] == pytest.approx((0.9144, 2.1336))
    assert read["2"] == pytest.approx((1.7907, 2.1844))


def test_of_sizes_under_several_headings_that_of_the_opening_counts():
    rows = [["DOOR", "WIDTH", "HEIGHT", "WIDTH", "HEIGHT"], ["1", "826", "2040", "910", "2110"]]
    data = with_text(draw_fields(rows, ruled=False), "LEAF", 2.0, -0.5)
    assert sizes(with_text(data, "ROUGH OPENING", 4.0, -0.5)) == {"1": (0.91, 2.11)}


def test_what_stands_side_by_side_in_one_column_is_no_one_number():
    data = draw_fields([["DOOR NO.", "WIDTH", "HEIGHT"], ["1", "900 mm", "6"], ["2", "900 mm", "1900 mm"]])
    table = openings(with_text(data, "900 mm", 2.65, 1.5))
    assert [(row.mark, row.height) for row in table.rows] == [("1", None), ("2", 1.9)]
    assert "6; 900 mm" in table.doubts[0]


@pytest.mark.parametrize(
    ("title", "over", "letters"),
    [
        ("FINISH SCHEDULE", "WALLS", "NESW"),
        ("RAUMBUCH", "WAND", "NOSW"),
        ("CUADRO DE ACABADOS", "MUROS", "NESO"),
        ("TABLEAU DES FINITIONS", "MURS", "NESO"),
        ("QUADRO DE ACABAMENTOS", "PAREDES", "NLSO"),
    ],
)
def test_letters_under_a_heading_of_walls_are_the_sides_of_the_room_each_in_its_language(title, over, letters):
    rows = [
        ["NO.", "NAME", "BASE", *letters],
        ["101", "LAB", "B1", "W1", "W2", "W3", "W4"],
        ["102", "BAR", "B1", "W1", "W1", "W1", "W1"],
    ]
    lab, bar = finishes(with_text(draw_fields(rows, title=title, ruled=False), over, 5.0, -0.5)).rows
    assert {side.side: side.code for side in lab.by_side} == {"N": "W1", "E": "W2", "S": "W3", "W": "W4"}
    assert (lab.wall, bar.wall) == ("", "W1")


def test_a_column_of_walls_without_a_finish_where_no_sides_are_told_is_a_doubt():
    rows = [["NO.", "NAME", "BASE", "WALLS", "WALL TILE"], ["101", "LAB", "B1", "W1", "-"]]
    read = finishes(draw_fields(rows, title="FINISH SCHEDULE"))
    assert any("101: not every column of its walls has a finish" in doubt for doubt in read.doubts)
