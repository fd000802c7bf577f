"""Small pictures of a sheet: the loupe at the place that is picked, and the whole sheet while little is in view."""

from __future__ import annotations

import os

import numpy as np
import pymupdf
import pytest
from PIL import Image, ImageGrab

from takeoff.gui.canvas.small_pictures import SIDE, TIMES
from takeoff.sheet.frame import displayed_size


def test_the_picture_comes_when_little_of_the_sheet_is_in_view_and_goes_with_all_of_it(hand, opened):
    overview, canvas = hand.window.overview, hand.window.canvas
    assert not overview.winfo_ismapped()
    canvas.zoom_by(6.0)
    hand.settle()
    assert overview.winfo_ismapped()
    left, top, right, bottom = overview.coords(overview.frame_item)
    wide, high = displayed_size(hand.window.session.sheet)
    view = canvas.view
    seen = (view.width / view.scale) * (view.height / view.scale) / (wide * high)
    shown = (right - left) * (bottom - top) / (overview.winfo_reqwidth() - 2) / (overview.winfo_reqheight() - 2)
    assert shown == pytest.approx(seen, rel=0.1)
    hand.window.do("fit-sheet")
    hand.settle()
    assert not overview.winfo_ismapped()


def test_a_click_on_it_brings_that_place_to_the_middle(hand, opened):
    overview, canvas = hand.window.overview, hand.window.canvas
    canvas.zoom_by(8.0)
    hand.settle()
    x, y = overview.winfo_width() // 4, overview.winfo_height() // 3
    overview.event_generate("<Button-1>", x=x, y=y)
    hand.settle()
    view = canvas.view
    wide, high = displayed_size(hand.window.session.sheet)
    middle = view.to_displayed(view.width / 2, view.height / 2)
    assert middle[0] / wide == pytest.approx(x / overview.winfo_reqwidth(), abs=0.03)
    assert middle[1] / high == pytest.approx(y / overview.winfo_reqheight(), abs=0.03)


FIELDS = 15
"""Fields of each side in which pictures are compared: the two renderers draw hairlines of different strength."""
CORNER = (190.0, 224.0)
"""A corner of the process room on the sample plan, with ink on its outer side."""


def test_it_shows_the_place_that_is_picked_four_times_as_large(hand, job_file, sample_plan):
    """Held against the same place drawn by MuPDF, which is another renderer than the window's."""
    hand.open(job_file)
    canvas, loupe = hand.window.canvas, hand.window.pointing._loupe
    hand.move(*CORNER)
    hand.wait(lambda: loupe.find_withtag("picture") and not canvas.renderer.is_busy)
    hand.wait(loupe.winfo_ismapped)

    def shown():
        x, y = loupe.winfo_rootx() + 1, loupe.winfo_rooty() + 1
        return ImageGrab.grab(xdisplay=os.environ["DISPLAY"]).crop((x, y, x + SIDE, y + SIDE)).convert("L")

    scale = canvas.view.scale * TIMES
    # the place moves onto the ink when its lines were read
    hand.wait(lambda: likeness(shown(), drawn(sample_plan, hand.window.tool.at.pt, scale)) > 0.7)
    at, seen = hand.window.tool.at.pt, shown()
    assert likeness(seen, drawn(sample_plan, at, scale / TIMES)) < 0.5
    assert likeness(seen, drawn(sample_plan, (at[0] + 20.0, at[1] + 12.0), scale)) < 0.5


def drawn(plan, at, scale):
    """The place as MuPDF draws it, in grey."""
    half = SIDE / 2 / scale
    with pymupdf.open(plan) as file:
        clip = pymupdf.Rect(at[0] - half, at[1] - half, at[0] + half, at[1] + half)
        pixmap = file[0].get_pixmap(matrix=pymupdf.Matrix(scale, scale), clip=clip, colorspace="gray")
    return Image.frombytes("L", (pixmap.width, pixmap.height), pixmap.samples)


def likeness(one, other):
    """How two pictures agree where they are dark: their correlation in fields large enough for lines of any width."""
    fields = [
        np.asarray(picture.resize((FIELDS, FIELDS), Image.Resampling.BOX), dtype=float) for picture in (one, other)
    ]
    return np.corrcoef(fields[0].ravel(), fields[1].ravel())[0, 1]


def test_it_keeps_away_from_the_pointer_and_goes_with_the_tool(hand, job_file):
    hand.open(job_file)
    canvas, loupe = hand.window.canvas, hand.window.pointing._loupe
    for px, py in ((30, canvas.winfo_height() - 30), (30, 30), (canvas.winfo_width() // 2, 200)):
        hand.move(*canvas.to_sheet(px, py))
        hand.settle()
        left, top = loupe.winfo_x(), loupe.winfo_y()
        assert loupe.winfo_ismapped()
        assert not (left <= px <= left + SIDE and top <= py <= top + SIDE)
    hand.window.use_tool("pick")
    hand.settle()
    assert not loupe.winfo_ismapped()
    hand.window.use_tool("scale")
    hand.move(*CORNER)
    hand.window.close_job()
    hand.settle()
    assert not loupe.winfo_ismapped()
