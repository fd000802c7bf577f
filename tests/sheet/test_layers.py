"""Layers of a sheet hidden and dimmed; what is hidden is compared with another renderer of the same file (MuPDF)."""

from __future__ import annotations

import numpy as np
import pymupdf
import pytest

from takeoff.model.plan import Sheet
from takeoff.sheet.files import read_sheets
from takeoff.sheet.layers import NOTES, Layer, LayerLook, read_layers, without_layers
from takeoff.sheet.opened import open_sheet

SHEET = Sheet(id=1, source="", page=1, width_pt=200.0, height_pt=100.0)
WHOLE, ALL = (200, 100), (0, 0, 200, 100)
WALLS, DESKS, GRID = (30, 30), (80, 30), (130, 30)
"""A pixel inside the square of each layer."""
RED, BLUE, GREEN, WHITE = (255, 0, 0), (0, 0, 255), (0, 255, 0), (255, 255, 255)


@pytest.fixture(scope="module")
def plan():
    """A page with squares on three layers, the last of which the file hides, and an annotation."""
    document = pymupdf.open()
    document.new_page(width=200, height=100)
    document.new_page()
    walls, desks, grid, other = (document.add_ocg(name) for name in ("Walls", "desks", "Grid", "Elsewhere"))
    page, second = document[0], document[1]
    for x, colour, layer in ((10, (1, 0, 0), walls), (60, (0, 0, 1), desks), (110, (0, 1, 0), grid)):
        page.draw_rect((x, 10, x + 40, 50), color=colour, fill=colour, oc=layer)
    second.draw_rect((0, 0, 9, 9), oc=other)
    page.add_rect_annot((160, 60, 190, 90))
    document.set_layer(-1, on=[walls, desks, other], off=[grid])
    return document.tobytes()


def drawn(data, look=None):
    sheet = open_sheet(data, SHEET, look)
    try:
        return sheet.draw_while(WHOLE, ALL, lambda: True)
    finally:
        sheet.close()


def pixel(pixels, at):
    return tuple(int(v) for v in pixels[at[1], at[0]])


def test_layers_that_something_on_the_sheet_is_drawn_on_are_listed_hidden_ones_too(plan):
    # each square is a fill and a stroke
    assert read_layers(plan, SHEET) == (
        Layer("desks", 2, is_on=True),
        Layer("Grid", 2, is_on=False),
        Layer("Walls", 2, is_on=True),
        Layer(NOTES, 1, is_on=True),
    )


def test_a_hidden_layer_is_not_drawn_and_one_that_the_file_hides_can_be_shown(plan):
    pixels = drawn(plan, LayerLook(hidden=frozenset({"desks"})))
    assert [pixel(pixels, at) for at in (WALLS, DESKS, GRID)] == [RED, WHITE, GREEN]
    with pymupdf.open(stream=without_layers(plan, {"desks"}), filetype="pdf") as written:
        other = written[0].get_pixmap()
    reference = np.frombuffer(other.samples, np.uint8).reshape(100, 200, 3)
    assert [pixel(reference, at) for at in (WALLS, DESKS, GRID)] == [RED, WHITE, GREEN]


def test_a_dimmed_layer_is_drawn_paler_and_the_rest_as_it_is(plan):
    pixels = drawn(plan, LayerLook(hidden=frozenset({"Grid"}), dimmed=frozenset({"Walls"})))
    red, green, blue = pixel(pixels, WALLS)
    assert red == 255
    assert 128 < green == blue < 255
    assert [pixel(pixels, at) for at in (DESKS, GRID)] == [BLUE, WHITE]


def test_annotations_are_hidden_and_dimmed_like_a_layer(plan):
    edge = (160, 75)
    dark, none, dim = (
        sum(pixel(drawn(plan, look), edge))
        for look in (LayerLook(), LayerLook(hidden=frozenset({NOTES})), LayerLook(dimmed=frozenset({NOTES})))
    )
    assert dark < dim < none == sum(WHITE)


def test_parts_of_a_sheet_fit_together_where_layers_are_dimmed(plan):
    look = LayerLook(dimmed=frozenset({"Walls"}))
    sheet = open_sheet(plan, SHEET, look)
    left, right = sheet.draw(WHOLE, (0, 0, 100, 100)), sheet.draw(WHOLE, (100, 0, 200, 100))
    sheet.close()
    assert np.array_equal(np.hstack((left, right)), drawn(plan, look))


@pytest.mark.parametrize(
    ("usage", "told"),
    [
        (("Walls", "/Print<</PrintState/OFF>>"), "Walls is not printed: what is on it is read"),
        (
            ("Walls", "/View<</ViewState/OFF>>"),
            "Walls is printed, or shows in some programs: what is on it is not read",
        ),
        (("Grid", "/Print<</PrintState/ON>>"), "Grid is printed, or shows in some programs: what is on it is not read"),
        (("desks", "/Print<</PrintState/ON>>/View<</ViewState/ON>>"), ""),
        (("Elsewhere", "/Print<</PrintState/OFF>>"), ""),
    ],
)
def test_a_layer_that_is_read_and_not_printed_or_the_other_way_about_is_told_where_it_is(plan, usage, told):
    """How a layer shows and is printed: ISO 32000-1:2008 table 102."""
    with pymupdf.open(stream=plan) as document:
        (xref,) = (xref for xref, group in document.get_ocgs().items() if group["name"] == usage[0])
        document.xref_set_key(xref, "Usage", f"<<{usage[1]}>>")
        data = document.tobytes()
    sheet = read_sheets(data, "plan.pdf")[0][0]
    assert [found.text for found in sheet.findings] == ([f"its layer {told}"] if told else [])
    with pymupdf.open(stream=data) as document:
        read = {drawing["layer"] for drawing in document[0].get_cdrawings() if drawing["layer"]}
    assert read == {layer.name for layer in read_layers(data, SHEET) if layer.is_on and layer.name}


@pytest.mark.parametrize("listed", ["7", "<</OCGs[9999 0 R null]/D<<>>>>"])
def test_layers_that_the_file_lists_and_does_not_have_are_none(plan, listed):
    with pymupdf.open(stream=plan) as document:
        document.xref_set_key(document.pdf_catalog(), "OCProperties", listed)
        data = document.tobytes()
    assert read_sheets(data, "plan.pdf")[0][0].findings == ()
    assert [layer.name for layer in read_layers(data, SHEET) if layer.name] == []
