"""North arrows of several forms, on pages turned by any right angle; what is no arrow says nothing."""

from __future__ import annotations

import math

import pymupdf
import pytest

from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.texts.north_arrow import read_north_arrows
from tests.jobs import PLANS


def found(data: bytes) -> list[float]:
    """Degrees of the arrows of the first sheet."""
    sheet = read_sheets(data, "a.pdf")[0][0]
    arrows = read_north_arrows(read_linework(data, sheet), read_lines(data, sheet), sheet)
    return [round(math.degrees(arrow.turn), 1) for arrow in arrows]


def drawn(*pieces: tuple, circle: float = 0.0, letter: tuple[float, float] = (0.0, -46.0), words: str = "N") -> bytes:
    """Draw lines round (300, 300) on a page, a circle there, and a letter with its middle at a place."""
    document = pymupdf.open()
    page = document.new_page(width=600, height=600)
    for a, b in pieces:
        page.draw_line((300 + a[0], 300 + a[1]), (300 + b[0], 300 + b[1]), width=0.7)
    if circle:
        page.draw_circle((300, 300), circle, width=0.7)
    wide = pymupdf.get_text_length(words, fontsize=13)
    page.insert_text((300 + letter[0] - wide / 2, 300 + letter[1] + 4.5), words, fontsize=13)
    return bytes(document.tobytes())


HEAD = (((0, -34), (-9, 0)), ((-9, 0), (9, 0)), ((9, 0), (0, -34)))
SHAFT = (((0, -34), (0, 30)), ((0, -34), (-6, -20)), ((0, -34), (6, -20)))


@pytest.mark.parametrize(
    ("pieces", "circle", "letter"),
    [
        (HEAD, 0.0, (0.0, -46.0)),
        (SHAFT, 0.0, (0.0, -46.0)),
        (SHAFT, 24.0, (0.0, -46.0)),
        ((((0, -34), (-6, -22)), ((0, -34), (6, -22)), ((-6, -22), (6, -22))), 24.0, (0.0, 0.0)),
    ],
)
def test_the_common_forms_are_read(pieces, circle, letter):
    assert found(drawn(*pieces, circle=circle, letter=letter)) == [0.0]


@pytest.mark.parametrize("rotation", [0, 90, 180, 270])
def test_north_is_that_of_the_sheet_as_displayed(rotation):
    with pymupdf.open(stream=drawn(*SHAFT)) as document:
        document[0].set_rotation(rotation)
        assert found(document.tobytes()) == [float(rotation)]


@pytest.mark.parametrize(
    "data",
    [
        drawn(((0, 24), (0, 200)), circle=24.0, letter=(0.0, 0.0)),  # the bubble of a grid line
        drawn(((-20, -30), (-20, 30)), ((-20, 30), (20, 30)), ((20, 30), (20, -30)), ((20, -30), (-20, -30))),  # a box
        drawn(*SHAFT, letter=(46.0, 0.0)),  # beside the arrow, not at its tip
        drawn(*SHAFT, words="NOTE"),
        drawn(((0, -34), (0, 30))),
    ],
    ids=["grid", "box", "beside", "note", "stroke"],
)
def test_what_is_no_plain_arrow_says_nothing(data):
    assert found(data) == []


def test_the_arrow_of_the_sample_plan_points_up():
    # sample_plans/titleblock.py draws it so
    assert found((PLANS / "facility-imperial.pdf").read_bytes()) == [0.0]
