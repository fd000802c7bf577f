"""Pictures on a page are found and drawn without the lines and words that stand over them."""

from __future__ import annotations

import numpy as np
import pymupdf
import pytest

from takeoff.sheet.files import read_sheets
from takeoff.sheet.render import cover_of_pictures, render_array, render_pictures


def tile(level):
    pixels = pymupdf.Pixmap(pymupdf.csGRAY, pymupdf.IRect(0, 0, 40, 40), False)
    pixels.clear_with(level)
    return pixels.tobytes("png")


@pytest.fixture(params=[0, 90])
def mosaic(request):
    """Four tiles, the upper left one black, on the left two thirds of a page, with a line, a word and a mark over."""
    document = pymupdf.open()
    page = document.new_page(width=300, height=200)
    for x in (0, 100):
        for y in (0, 100):
            page.insert_image(pymupdf.Rect(x, y, x + 100, y + 100), stream=tile(0 if x == y == 0 else 200))
    page.draw_line((10, 150), (290, 150), color=(1, 0, 0), width=6)
    page.insert_text((210, 60), "HALL", fontsize=30)
    page.add_rect_annot(pymupdf.Rect(220, 120, 280, 180)).update()
    page.set_rotation(request.param)
    data = document.tobytes()
    return data, read_sheets(data, "mosaic.pdf")[0][0]


def test_pictures_cover_two_thirds_of_the_page(mosaic):
    assert cover_of_pictures(*mosaic) == pytest.approx(2 / 3)


def test_only_the_pictures_are_drawn(mosaic):
    pixels = render_pictures(*mosaic, dpi=72)
    assert pixels.shape == render_array(*mosaic, dpi=72).shape
    levels, counts = np.unique(pixels.reshape(-1, 3), axis=0, return_counts=True)
    shown = {tuple(level): count for level, count in zip(levels.tolist(), counts.tolist(), strict=True) if count > 500}
    # of 60,000 pixels a sixth is black, three sixths are grey, and the rest is paper
    assert set(shown) == {(0, 0, 0), (200, 200, 200), (255, 255, 255)}
    assert shown[0, 0, 0] == pytest.approx(10_000, rel=0.03)
    assert shown[255, 255, 255] == pytest.approx(20_000, rel=0.03)


def test_a_page_without_pictures_is_covered_by_none():
    document = pymupdf.open()
    document.new_page(width=300, height=200).draw_line((10, 150), (290, 150))
    data = document.tobytes()
    assert cover_of_pictures(data, read_sheets(data, "lines.pdf")[0][0]) == 0.0
