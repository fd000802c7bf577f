"""The frame of sheet points, proved by drawing a mark at a known place and finding it through every way out.

Where a mark must be is worked out from the page boxes alone: with a visible box from (left, bottom) to (right, top) in
user space and a UserUnit u, the user-space point (x, y) is the sheet point ((x − left) u, (top − y) u).
"""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from takeoff.errors import SheetError
from takeoff.model.plan import Sheet
from takeoff.sheet.document import open_page, user_to_sheet
from takeoff.sheet.files import read_sheets
from takeoff.sheet.frame import box_to_displayed, displayed_size, displayed_to_sheet, sheet_to_displayed
from takeoff.sheet.render import full_pixels, pixel_box, render_array, single_page_pdf
from takeoff.sheet.text import read_lines

ROTATIONS = (0, 90, 180, 270)
CROPS = (None, (100, 50, 500, 350))
UNITS = (1, 2.5)
PAGES = [
    pytest.param(rotate, crop, unit, id=f"turned {rotate}, {'cropped' if crop else 'whole'}, unit {unit}")
    for rotate, crop, unit in itertools.product(ROTATIONS, CROPS, UNITS)
]
MEDIA = (10, 20, 610, 420)


def marked_page(make_pdf, rotate, crop, unit):
    """A page with a black square from (140, 300) to (160, 320) in user space, and where that is in sheet points."""
    data = make_pdf("140 300 20 20 re f", media=MEDIA, crop=crop, rotate=rotate, user_unit=unit)
    left, top = (crop or MEDIA)[0], (crop or MEDIA)[3]
    box = tuple(value * unit for value in (140 - left, top - 320, 160 - left, top - 300))
    return data, read_sheets(data, "plan.pdf")[0][0], box


def dark_box(pixels):
    """Left, top, right and bottom of what is dark, in pixels."""
    rows, columns = np.nonzero(pixels.min(axis=2) < 128)
    return columns.min(), rows.min(), columns.max() + 1, rows.max() + 1


def in_sheet_points(sheet, pixels, dark):
    """Turn a box of pixels of the whole sheet into sheet points through the public conversions."""
    across, down = displayed_size(sheet)
    height, width = pixels.shape[:2]
    corners = [displayed_to_sheet(sheet, x * across / width, y * down / height) for x in dark[::2] for y in dark[1::2]]
    xs, ys = zip(*corners, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


@pytest.mark.parametrize(("rotate", "crop", "unit"), PAGES)
def test_mark_is_found_at_its_sheet_point_in_the_picture(make_pdf, rotate, crop, unit):
    data, sheet, box = marked_page(make_pdf, rotate, crop, unit)
    pixels = render_array(data, sheet, dpi=144)
    assert in_sheet_points(sheet, pixels, dark_box(pixels)) == pytest.approx(box, abs=0.6)


@pytest.mark.parametrize(("rotate", "crop", "unit"), PAGES)
def test_mark_is_found_at_its_sheet_point_in_the_linework(make_pdf, rotate, crop, unit):
    data, sheet, box = marked_page(make_pdf, rotate, crop, unit)
    with open_page(data, sheet.page) as page:
        assert tuple(page.get_drawings()[0]["rect"]) == pytest.approx(box, abs=1e-3)
        a, b, c, d, e, f = user_to_sheet(page)
        assert page.rotation == rotate
    assert (a * 140 + c * 320 + e, b * 140 + d * 320 + f) == pytest.approx(box[:2], abs=1e-3)


@pytest.mark.parametrize(("rotate", "crop", "unit"), PAGES)
def test_word_is_found_at_its_sheet_point(make_pdf, write_text, rotate, crop, unit):
    data = make_pdf(write_text(150, 300, 12, "OFFICE"), media=MEDIA, crop=crop, rotate=rotate, user_unit=unit)
    word = read_lines(data, read_sheets(data, "plan.pdf")[0][0])[0]
    left, top = (crop or MEDIA)[0], (crop or MEDIA)[3]
    assert word.text == "OFFICE"
    assert word.box_pt[0] == pytest.approx((150 - left) * unit, abs=0.1)
    assert word.box_pt[1] < (top - 300) * unit < word.box_pt[3]  # the baseline lies in the box


@pytest.mark.parametrize(("rotate", "crop", "unit"), PAGES)
def test_part_of_a_sheet_is_that_part_of_the_whole_picture(make_pdf, rotate, crop, unit):
    data, sheet, box = marked_page(make_pdf, rotate, crop, unit)
    whole = render_array(data, sheet, dpi=100)
    clip = (box[0] - 7, box[1] - 11, box[2] + 13, box[3] + 5)
    left, top, right, bottom = pixel_box(sheet, 100, clip)
    part = render_array(data, sheet, dpi=100, clip_pt=clip)
    assert part.shape == (bottom - top, right - left, 3)
    difference = np.abs(part.astype(int) - whole[top:bottom, left:right])
    assert difference.mean() < 1
    assert part.min() < 50


@pytest.mark.parametrize(("rotate", "crop", "unit"), PAGES)
def test_page_of_its_own_shows_the_sheet_as_displayed_with_nothing_left_to_apply(make_pdf, rotate, crop, unit):
    data, sheet, box = marked_page(make_pdf, rotate, crop, unit)
    alone = single_page_pdf(data, sheet)
    flat, doubts = read_sheets(alone, "page.pdf")
    assert doubts == []
    assert (flat[0].width_pt, flat[0].height_pt, flat[0].rotation) == pytest.approx((*displayed_size(sheet), 0))
    with open_page(alone, 1) as page:
        assert tuple(page.get_drawings()[0]["rect"]) == pytest.approx(box_to_displayed(sheet, box), abs=0.01)
    assert single_page_pdf(data, sheet) == alone


def test_page_of_its_own_keeps_marks_made_as_annotations(make_pdf):
    mark = "/Annots[<</Type/Annot/Subtype/Square/Rect[140 300 160 320]/IC[0 0 0]/C[0 0 0]/BS<</W 1>>>>]"
    data = make_pdf("", page=mark, rotate=90)
    sheet = read_sheets(data, "plan.pdf")[0][0]
    alone = single_page_pdf(data, sheet)
    flat = read_sheets(alone, "page.pdf")[0][0]
    pixels = render_array(alone, flat, dpi=72)
    # unrotated sheet box 140, 80, 160, 100 on a page 400 high, turned 90°: x = 400 − y
    assert dark_box(pixels) == pytest.approx((300, 140, 320, 160), abs=1.5)


def test_empty_page_gives_an_empty_page_of_its_own(make_pdf):
    data = make_pdf("")
    assert render_array(single_page_pdf(data, read_sheets(data, "p")[0][0]), Sheet(
        id=1, source="", page=1, width_pt=600, height_pt=400), dpi=36).min() == 255  # fmt: skip


@pytest.mark.parametrize("form", ["PNG", "JPEG", "TIFF"])
def test_mark_in_a_picture_is_found_at_its_sheet_point_and_size(make_picture, form):
    data = make_picture(form, size=(600, 400), mark=(100, 50, 140, 90), dpi=(150, 150))
    sheet = read_sheets(data, "scan")[0][0]
    # 150 dpi: 100 pixels are 48 pt
    box = (48, 24, 67.2, 43.2)
    pixels = render_array(data, sheet, dpi=300)
    assert in_sheet_points(sheet, pixels, dark_box(pixels)) == pytest.approx(box, abs=0.3)
    alone = single_page_pdf(data, sheet)
    flat = read_sheets(alone, "page.pdf")[0][0]
    assert (flat.width_pt, flat.height_pt) == pytest.approx((288, 192), rel=1e-3)
    assert flat.kind == "scan"
    again = render_array(alone, flat, dpi=300)
    assert in_sheet_points(flat, again, dark_box(again)) == pytest.approx(box, abs=0.3)


def test_part_of_a_picture_is_that_part_of_the_whole(make_picture):
    data = make_picture("PNG", dpi=(200, 200))
    sheet = read_sheets(data, "scan")[0][0]
    clip = (30.0, 12.0, 60.0, 40.0)
    left, top, right, bottom = pixel_box(sheet, 200, clip)
    part = render_array(data, sheet, dpi=200, clip_pt=clip)
    assert np.array_equal(part, render_array(data, sheet, dpi=200)[top:bottom, left:right])


def test_picture_on_its_side_gives_an_upright_page_of_its_own(make_picture):
    exif = Image.Exif()
    exif[0x0112] = 6
    data = make_picture("JPEG", mark=(0, 0, 40, 20), exif=exif, dpi=(100, 100))
    sheet = read_sheets(data, "photo.jpg")[0][0]
    alone = single_page_pdf(data, sheet)
    pixels = render_array(alone, read_sheets(alone, "page.pdf")[0][0], dpi=100)
    assert dark_box(pixels) == pytest.approx((380, 0, 400, 40), abs=1)


def test_file_that_had_to_be_repaired_is_drawn_too(make_pdf):
    data = make_pdf("140 300 20 20 re f").replace(b"endobj\n", b"endobj\n%\n", 2)
    broken = data[: data.rindex(b"xref\n0")] + b"%%EOF\n"
    sheets, doubts = read_sheets(broken, "plan.pdf")
    assert doubts
    assert render_array(broken, sheets[0], dpi=72).min() == 0


@pytest.mark.parametrize("dpi", [0, -1, float("nan"), float("inf")])
def test_resolution_that_is_none_is_refused(dpi):
    with pytest.raises(SheetError, match="no resolution"):
        full_pixels(Sheet(id=1, source="", page=1, width_pt=600, height_pt=400), dpi)


def test_part_off_the_sheet_and_picture_too_large_are_refused():
    sheet = Sheet(id=1, source="", page=1, width_pt=600, height_pt=400)
    with pytest.raises(SheetError, match="off the sheet"):
        pixel_box(sheet, 72, (700, 0, 800, 100))
    with pytest.raises(SheetError, match="megapixels"):
        pixel_box(sheet, 10000)


@given(
    rotation=st.sampled_from(ROTATIONS),
    width=st.floats(1, 15000),
    height=st.floats(1, 15000),
    x=st.floats(-1e4, 1e4),
    y=st.floats(-1e4, 1e4),
)
def test_displayed_and_sheet_points_turn_into_each_other(rotation, width, height, x, y):
    sheet = Sheet(id=1, source="", page=1, width_pt=width, height_pt=height, rotation=rotation)
    assert displayed_to_sheet(sheet, *sheet_to_displayed(sheet, x, y)) == pytest.approx((x, y), abs=1e-9)
    across, down = displayed_size(sheet)
    shown = sheet_to_displayed(sheet, width / 3, height / 4)
    assert 0 <= shown[0] <= across
    assert 0 <= shown[1] <= down


def test_thin_strokes_do_not_run_together_on_a_small_picture(make_pdf):
    """Strokes of 0.2 pt, 4 pt apart: 5 % of the sheet is ink, and at 18 dpi each point is a quarter of a pixel."""
    data = make_pdf("0.2 w " + " ".join(f"{x} 20 m {x} 420 l S" for x in range(10, 611, 4)), media=MEDIA)
    sheet = read_sheets(data, "plan.pdf")[0][0]
    assert render_array(data, sheet, dpi=18).mean() > 0.5 * 255
