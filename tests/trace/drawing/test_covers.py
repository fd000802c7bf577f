"""What a white patch hides is no line of the sheet: a door that was painted over, with a wall drawn on the patch."""

import pytest

from tests.trace.drawing.test_linework import read  # noqa: F401

LINE = "0 G 1 w 120 300 m 180 300 l S "
PATCH = "1 g 100 250 100 100 re f "
"""White from 100 to 200 across and from 50 to 150 down."""


def test_a_line_an_arc_and_a_fill_under_a_white_patch_are_not_read(read):  # noqa: F811
    arc = "150 290 m 155.523 290 160 294.477 160 300 c S "
    fill = "0.5 g 130 270 20 20 re f "
    work = read(LINE + arc + fill)
    assert (len(work.lines), len(work.arcs), len(work.ring_path)) == (5, 1, 1)
    work = read(LINE + arc + fill + PATCH)
    assert (len(work.lines), len(work.arcs)) == (4, 0)  # the sides of the patch
    assert work.ring_path.tolist() == [work.path_count - 1]
    assert work.ring(0).min(0).tolist() == [100.0, 50.0]


@pytest.mark.parametrize(
    "content",
    [
        PATCH + LINE,
        LINE + PATCH.replace("1 g", "0.9 g"),
        LINE + "0.1 0 0 0.1 0 0 cm " + PATCH,
        LINE + "q 0 0 m 600 0 l 0 400 l h W n " + PATCH + "Q",
        "0 G 1 w 120 300 m 280 300 l S " + PATCH,
    ],
    ids=["drawn later", "grey", "elsewhere", "clipped aslant", "goes on beyond it"],
)
def test_what_a_patch_does_not_hide_for_sure_is_read(read, content):  # noqa: F811
    assert [120.0, 100.0] in read(content).lines[:, :2].tolist()


@pytest.mark.parametrize(("off", "is_read"), [(0.3, True), (0.7, False)])
def test_a_line_along_the_edge_of_a_patch_is_its_outline(read, off, is_read):  # noqa: F811
    work = read(f"0 G 1 w 120 {250 + off} m 180 {250 + off} l S " + PATCH)
    assert (len(work.lines) == 5) == is_read


@pytest.mark.parametrize(("side", "is_read"), [(5.8, True), (6.2, False)])
def test_a_patch_has_a_size(read, side, is_read):  # noqa: F811
    work = read(f"0 G 1 w 121 300 m 123 300 l S 1 g 120 297 {side} {side} re f ")
    assert (len(work.lines) == 5) == is_read


@pytest.mark.parametrize(("shade", "is_read"), [(0.985, True), (0.995, False)])
def test_a_patch_is_white(read, shade, is_read):  # noqa: F811
    assert (len(read(LINE + PATCH.replace("1 g", f"{shade} g")).lines) == 5) == is_read
