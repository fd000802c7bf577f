"""What is drawn on a sheet comes out as lines, arcs and filled shapes in sheet points, with its style and layer."""

import numpy as np
import pymupdf
import pytest

from takeoff.errors import SheetError
from takeoff.sheet.files import read_sheets
from takeoff.trace.drawing.curves import fit_arcs
from takeoff.trace.drawing.linework import empty_linework, read_linework


@pytest.fixture(scope="module")
def read():
    """Read the linework of a page of 600 × 400 points made from drawing instructions (user space: y up)."""

    def read(content, *, rotate=0, layers=()):
        document = pymupdf.open()
        page = document.new_page(width=600, height=400)
        names = " ".join(f"/L{i} {document.add_ocg(name)} 0 R" for i, name in enumerate(layers))
        xref = document.get_new_xref()
        document.update_object(xref, "<<>>")
        document.update_stream(xref, content.encode())
        document.xref_set_key(page.xref, "Contents", f"{xref} 0 R")
        document.xref_set_key(page.xref, "Resources", f"<</Properties<<{names}>>>>")
        page.set_rotation(rotate)
        data = document.tobytes()
        return read_linework(data, read_sheets(data, "plan.pdf")[0][0])

    return read


def test_instructions_nested_without_end_are_refused(read):
    with pytest.raises(SheetError, match="damaged and cannot be read"):
        read("[" * 200_000)


def test_a_line_has_the_place_width_colour_and_dash_of_its_pen(read):
    work = read("2 w 1 0 0 RG [3 2] 0 d 10 390 m 110 380 l S")
    assert work.lines.tolist() == [[10, 10, 110, 20]]
    assert work.width.tolist() == [2]
    assert work.colour.tolist() == [[1, 0, 0]]
    assert (work.stroked.tolist(), work.filled.tolist(), work.dashed.tolist()) == ([True], [False], [True])


def test_what_a_clip_cuts_off_is_not_there(read):
    # user space is y up: the box from (100, 100) to (300, 300) of a page 400 high is the same as displayed
    clip = "q 100 100 200 200 re W n"
    assert read(f"{clip} 0 200 m 600 200 l S Q 5 5 m 9 5 l S").lines.tolist() == [
        [100, 200, 300, 200],
        [5, 395, 9, 395],
    ]
    assert read(f"{clip} 0 50 m 600 50 l S 10 10 m 10 90 20 90 20 10 c S Q").lines.tolist() == []
    assert len(read(f"{clip} 10 10 m 10 16 16 20 20 20 c S Q").arcs) == 0
    nested = f"{clip} q 0 0 150 400 re W n 0 200 m 600 200 l S Q 0 220 m 600 220 l S Q"
    assert read(nested).lines.tolist() == [[100, 200, 150, 200], [100, 180, 300, 180]]
    assert read(f"{clip} 120 120 m 280 280 l S Q").lines.tolist() == [[120, 280, 280, 120]]


def test_a_filled_wall_ends_where_a_clip_or_the_page_cuts_it(read):
    # walls go on beyond a match line in the file, and end there on the sheet
    cut = read("q 100 100 200 200 re W n 0 150 400 10 re f Q")
    assert sorted(cut.ring(0).tolist()) == [[100, 240], [100, 250], [300, 240], [300, 250]]
    assert sorted(read("500 150 400 10 re f").ring(0).tolist()) == [[500, 240], [500, 250], [600, 240], [600, 250]]
    quarter = "q 100 100 200 200 re W n 300 50 m 300 105.23 255.23 150 200 150 c S Q"  # about (200, 50), radius 100
    x0, y0, x1, y1, bulge = read(quarter).arcs[0].tolist()
    # on the circle 30° and 90° from the x axis, as sin 30° = 0.5: the rest is below the clip
    assert sorted([x0, x1]) == pytest.approx([200.0, 286.6], abs=1.0)
    assert sorted([y0, y1]) == pytest.approx([250.0, 300.0], abs=1.0)
    assert abs(bulge) == pytest.approx(np.tan(np.radians(60) / 4), rel=0.01)


def test_what_is_wholly_transparent_is_not_there():
    document = pymupdf.open()
    shape = document.new_page(width=600, height=400).new_shape()
    for x, opacity in ((10, 0.0), (200, 0.5)):
        shape.draw_rect(pymupdf.Rect(x, 10, x + 100, 30))
        shape.finish(fill=(0, 0, 0), color=None, fill_opacity=opacity)
    shape.commit()
    data = document.tobytes()
    work = read_linework(data, read_sheets(data, "plan.pdf")[0][0])
    assert work.path_count == 1
    assert work.ring(0).min(axis=0).tolist() == [200, 10]


def test_the_frame_is_the_unrotated_page(read):
    assert read("10 390 m 110 390 l S", rotate=90).lines.tolist() == [[10, 10, 110, 10]]


def test_a_filled_shape_is_its_rings(read):
    work = read("0.2 g 100 100 m 200 100 l 200 200 l h 120 120 m 180 120 l 180 150 l h f*")
    assert [work.ring(i).tolist() for i in range(2)] == [
        [[100, 300], [200, 300], [200, 200]],
        [[120, 280], [180, 280], [180, 250]],
    ]
    assert work.fill[0] == pytest.approx([0.2] * 3, abs=1e-3)
    assert len(work.lines) == 6


def test_a_rectangle_is_four_lines(read):
    assert len(read("50 50 100 40 re S").lines) == 4


def test_a_curve_that_is_round_is_an_arc_and_two_of_them_are_one(read):
    k = 16.568542
    quarters = f"230 200 m 230 {200 + k} {200 + k} 230 200 230 c {200 - k} 230 170 {200 + k} 170 200 c S"
    work = read(quarters)
    assert work.arcs[0] == pytest.approx([230, 200, 170, 200, 1.0], abs=1e-3)
    assert len(work.arcs) == 1
    assert len(work.lines) == 0


def test_a_curve_that_is_not_round_becomes_short_lines(read):
    work = read("100 100 m 150 100 200 250 350 250 c S")
    assert len(work.arcs) == 0
    assert work.lines[0, :2].tolist() == [100, 300]
    assert work.lines[-1, 2:].tolist() == [350, 150]


def test_layers_are_known_by_name(read):
    work = read("/OC /L0 BDC 10 10 m 20 10 l S EMC 30 10 m 40 10 l S", layers=["A-WALL"])
    assert [work.layer_name(path) for path in range(2)] == ["A-WALL", ""]


def test_a_picture_has_no_linework(make_picture):
    sheet = read_sheets(make_picture, "plan.png")[0][0]
    assert read_linework(make_picture, sheet).path_count == 0
    assert empty_linework().pieces.segments.shape == (0, 4)


@pytest.fixture(scope="module")
def make_picture():
    picture = pymupdf.Pixmap(pymupdf.csGRAY, pymupdf.IRect(0, 0, 40, 30))
    picture.clear_with(255)
    return picture.tobytes("png")


def test_the_corners_of_a_box_lie_on_a_circle_and_are_no_arc():
    """Every rectangle has a circle through its corners (Euclid, Elements, book IV, from memory)."""
    box = np.array([[0.0, 0.0], [30.0, 0.0], [30.0, 40.0], [0.0, 40.0], [0.0, 0.0]])
    assert fit_arcs(box, 0.1) == []
    turns = np.radians(np.arange(0, 91, 15))
    assert len(fit_arcs(np.column_stack([25 * np.cos(turns), 25 * np.sin(turns)]), 0.1)) == 1
