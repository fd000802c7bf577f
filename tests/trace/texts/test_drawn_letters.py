"""Letters that are strokes: figures made of seven bars, as on a panel meter, and a few letters of bars of our own."""

from __future__ import annotations

import pymupdf
import pytest

from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import TextLine, Word
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.texts.drawn_letters import read_drawn_letters

BARS = {  # of a cell 1 wide and 2 high, y down from its top: the seven bars of a figure, then strokes of other signs
    "a": (0, 0, 1, 0), "b": (1, 0, 1, 1), "c": (1, 1, 1, 2), "d": (0, 2, 1, 2), "e": (0, 1, 0, 2), "f": (0, 0, 0, 1),
    "g": (0, 1, 1, 1), "'": (0, 0, 0, 0.5), "-": (0, 1, 0.6, 1), "x": (0, 2, 1, 0), "y": (0, 0, 1, 2),
}  # fmt: skip
SIGNS = {
    "0": "abcdef", "1": "bc", "2": "abged", "3": "abgcd", "4": "fgbc", "5": "afgcd", "6": "afgedc", "7": "abc",
    "8": "abcdefg", "9": "gfabcd", "'": "'", "-": "-", "X": "xy", "L": "fed", "C": "afed", "H": "fegbc", "E": "afegd",
}  # fmt: skip
TAUGHT = ("LCHEX 0123", "456789 -'", "HELL 10'-6\"")


def strokes(text, high):
    """Segments of a text that stands on y = 0 and begins at x = 0."""
    at, found = 0.0, []
    for sign in text.replace('"', "''"):
        if sign != " ":
            low = min(BARS[bar][i] for bar in SIGNS[sign] for i in (0, 2))
            found += [tuple(v * high / 2 for v in (at + x0 - low, y0 - 2, at + x1 - low, y1 - 2)) for x0, y0, x1, y1 in
                      (BARS[bar] for bar in SIGNS[sign])]  # fmt: skip
            wide = max(BARS[bar][i] for bar in SIGNS[sign] for i in (0, 2)) - low
            at += wide + (0.25 if sign == "'" else 0.6)
        else:
            at += 1.6
    return found


def put(page, text, x, y, high, *, up=False):
    """Draw a text on a page and return the line that says it."""
    own = strokes(text, high)
    if up:
        own = [(y0, -x0, y1, -x1) for x0, y0, x1, y1 in own]
    own = [(x + x0, y + y0, x + x1, y + y1) for x0, y0, x1, y1 in own]
    for x0, y0, x1, y1 in own:
        page.draw_line((x0, y0), (x1, y1))
    xs, ys = [v for s in own for v in s[::2]], [v for s in own for v in s[1::2]]
    box = (min(xs), min(ys), max(xs), max(ys))
    return TextLine(words=(Word(text=text, box_pt=box),), box_pt=box)


def sheet_of(draw, rotate=0):
    """What ``draw`` puts on a page, and the lines that it returns."""
    document = pymupdf.open()
    page = document.new_page(width=600, height=400)
    known = draw(page)
    page.set_rotation(rotate)
    data = document.tobytes()
    sheet = read_sheets(data, "plan.pdf")[0][0]
    return read_drawn_letters(read_linework(data, sheet), known, sheet)


def teach(page):
    return [put(page, text, 40, 40 + 30 * i, 10) for i, text in enumerate(TAUGHT)]


@pytest.mark.parametrize("high", [6.0, 10.0, 12.0])
def test_lengths_are_read_by_the_letters_of_lines_whose_words_are_known(high):
    def draw(page):
        known = teach(page)
        put(page, "21'-4\"", 300, 200, high)
        put(page, "8'-10\"", 300, 300, high, up=True)
        return known

    lines = sheet_of(draw)
    assert sorted(line.text for line in lines) == ["21'-4\"", "8'-10\""]
    across = next(line for line in lines if line.text.startswith("21"))
    assert across.box_pt[0] == pytest.approx(300, abs=0.1)
    assert across.box_pt[3] == pytest.approx(200, abs=0.1)
    upward = next(line for line in lines if line.text.startswith("8"))
    assert upward.box_pt[3] == pytest.approx(300, abs=0.1)
    assert upward.box_pt[3] - upward.box_pt[1] > 2 * (upward.box_pt[2] - upward.box_pt[0])


def test_on_a_turned_page_they_are_read_as_it_is_displayed():
    def draw(page):  # of a page displayed a quarter clockwise, text that reads right runs up the unrotated page
        known = [put(page, text, 40 + 30 * i, 380, 10, up=True) for i, text in enumerate(TAUGHT)]
        put(page, "21'-4\"", 300, 300, 10, up=True)
        return known

    assert [line.text for line in sheet_of(draw, rotate=90)] == ["21'-4\""]


def test_a_line_with_a_letter_that_was_not_taught_or_that_touches_a_line_is_not_read_at_all():
    def draw(page):
        known = teach(page)
        for bar in ((300, 90, 305, 90), (302, 90, 302, 100)):  # a T, which nothing taught, before a 4
            page.draw_line(bar[:2], bar[2:])
        put(page, "4", 308, 100, 10)
        put(page, "16'-4\"", 300, 200, 10)
        page.draw_line((300 - 40, 195), (300 + 5, 195))  # runs into its 1: 6'-4" would be another length
        put(page, "16'-6\"", 300, 300, 10)
        return known

    assert [line.text for line in sheet_of(draw)] == ["16'-6\""]


def test_nothing_is_read_before_all_ten_figures_are_taught():
    def draw(page):  # of seven bars a 2 is all but an 8
        known = [put(page, text, 40, 40 + 30 * i, 10) for i, text in enumerate(TAUGHT[1:])]
        put(page, "21'-4\"", 300, 100, 10)
        return known

    assert sheet_of(draw) == []


def test_nothing_is_read_where_no_line_of_strokes_is_known():
    def draw(page):
        put(page, "21'-4\"", 300, 100, 10)
        return []

    assert sheet_of(draw) == []


@pytest.mark.parametrize(("beside", "is_read"), [(0.4, False), (0.6, True)])
def test_a_line_is_read_where_nothing_stands_beside_it_within_half_its_height(beside, is_read):
    def draw(page):
        known = teach(page)
        line = put(page, "21'-4\"", 300, 200, 10)
        x = line.box_pt[2] + 10 * beside
        page.draw_line((x, 180), (x, 220))
        return known

    assert [line.text for line in sheet_of(draw)] == ["21'-4\""] * is_read


@pytest.mark.parametrize(("gap", "texts"), [(0.8, ["4'6'"]), (0.95, ["4' 6'"]), (1.2, ["4'", "6'"])])
def test_words_of_a_line_are_parted_by_a_gap_of_its_height_and_lines_by_a_wider_one(gap, texts):
    def draw(page):
        known = teach(page)
        first = put(page, "4'", 300, 200, 10)
        put(page, "6'", first.box_pt[2] + 10 * gap, 200, 10)
        return known

    assert sorted(line.text for line in sheet_of(draw)) == texts


def test_dashes_that_stand_at_two_heights_are_no_letters():
    def draw(page):
        known = teach(page)
        for x, y in ((300, 100), (312, 110)):
            page.draw_line((x, y), (x + 5, y))
        put(page, "21'-4\"", 300, 200, 10)
        return [*known, TextLine(words=(Word(text="EL", box_pt=(300, 100, 317, 110)),), box_pt=(300, 100, 317, 110))]

    assert [line.text for line in sheet_of(draw)] == ["21'-4\""]


@pytest.mark.parametrize(
    ("text", "high", "is_read"),
    [
        ("21'-4\"", 12.9, True), ("21'-4\"", 13.3, False),  # letters of 10 points are taught: 1.3 times that
        ("21'-4\"", 5.2, True), ("21'-4\"", 4.8, False),  # and half of it
        ("11", 10.0, True), ("1", 10.0, False),  # two letters at the least
        ("10" * 20, 4.0 * 1.3, True), ("10" * 20 + "1", 4.0 * 1.3, False),  # and forty at the most
    ],
)  # fmt: skip
def test_lines_of_letters_of_other_sizes_and_of_one_or_many_letters_are_read_within_limits(text, high, is_read):
    def draw(page):
        known = teach(page)
        put(page, text, 220, 200, high)
        return known

    assert [line.text for line in sheet_of(draw)] == [text] * is_read


@pytest.mark.parametrize(("off", "texts"), [(0.5, ["4'6'"]), (2.5, ["4'", "6'"])])
def test_two_parts_of_a_line_stand_level_within_a_fifth_of_their_height(off, texts):
    def draw(page):
        known = teach(page)
        first = put(page, "4'", 300, 200, 10)
        put(page, "6'", first.box_pt[2] + 8, 200 + off, 10)
        return known

    assert sorted(line.text for line in sheet_of(draw)) == texts
