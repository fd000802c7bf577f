"""Lines of a picture, followed: against what was painted, whose places and widths are known."""

from __future__ import annotations

import math

import cv2
import numpy as np
import pytest

from takeoff.model.plan import Sheet
from takeoff.trace.drawing.linework import Linework
from takeoff.trace.scans.ink_lines import chains_of, linework_of_picture, thinned

DPI = 300
PT = 72 / DPI
"""Sheet points to a pixel."""
M_PER_PT = 50 * 0.0254 / 72
"""1:50."""


FINE = 8
"""Times as fine as it is read a page is painted, so that edges lie where they are said to."""


def paper(width: int = 900, height: int = 700) -> np.ndarray:
    return np.full((height * FINE, width * FINE), 255, np.uint8)


def stroke(page: np.ndarray, a: tuple[float, float], b: tuple[float, float], width: float) -> None:
    """Paint a black line from a to b, so many pixels wide."""
    way = np.subtract(b, a) / math.dist(a, b)
    aside = np.array([-way[1], way[0]]) * width / 2
    ring = (np.array([a + aside, b + aside, b - aside, a - aside]) * FINE - 0.5).astype(np.int32)
    cv2.fillPoly(page, [ring], 0)


def box(page: np.ndarray, x0: float, y0: float, x1: float, y1: float, width: float) -> None:
    half = width / 2
    stroke(page, (x0 - half, y0), (x1 + half, y0), width)
    stroke(page, (x0 - half, y1), (x1 + half, y1), width)
    stroke(page, (x0, y0), (x0, y1), width)
    stroke(page, (x1, y0), (x1, y1), width)


def read(page: np.ndarray) -> Linework:
    height, width = (size // FINE for size in page.shape)
    page = cv2.resize(page, (width, height), interpolation=cv2.INTER_AREA)
    sheet = Sheet(id=1, source="", page=1, width_pt=width * PT, height_pt=height * PT)
    found = linework_of_picture(page, sheet, M_PER_PT)
    assert found is not None
    return found


def in_pixels(found: Linework) -> np.ndarray:
    """Return the lines in pixels, the longest first."""
    lines = found.lines / PT
    return lines[np.argsort(-np.hypot(*(lines[:, 2:] - lines[:, :2]).T))]


def test_thinning_leaves_the_middle_of_a_stroke_and_a_ring_of_a_ring():
    page = np.zeros((40, 60), np.uint8)
    page[18:21, 5:55] = 1
    middle = thinned(page)
    assert set(np.nonzero(middle)[0].tolist()) == {19}
    ring = np.zeros((40, 60), np.uint8)
    ring[5:35, 5:55] = 1
    ring[8:32, 8:52] = 0
    (chain,) = chains_of(thinned(ring))
    assert (chain[0] == chain[-1]).all()
    assert len(chain) > 100


def test_chains_end_where_strokes_meet():
    page = np.zeros((60, 80), np.uint8)
    page[30, 5:75] = 1
    page[31:55, 40] = 1
    ends = [tuple(np.round(chain[k]).astype(int)) for chain in chains_of(page) for k in (0, -1)]
    assert ends.count((40, 30)) == 3


@pytest.mark.parametrize("turn", [0.0, 0.7, 20.0])
def test_a_box_is_four_lines_that_meet_at_its_corners_within_a_fifth_of_a_pixel(turn):
    page = paper()
    box(page, 200, 150, 700, 550, 4)
    middle = (450.0, 350.0)
    about = (450 * FINE - 0.5, 350 * FINE - 0.5)
    page = cv2.warpAffine(page, cv2.getRotationMatrix2D(about, turn, 1.0), page.shape[::-1], borderValue=255)
    lines = in_pixels(read(page))
    assert len(lines) == 4
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    for x, y in ((200, 150), (700, 150), (700, 550), (200, 550)):
        dx, dy = x - middle[0], y - middle[1]
        corner = (middle[0] + c * dx + s * dy, middle[1] - s * dx + c * dy)
        ends = lines.reshape(-1, 2)
        assert np.sort(np.hypot(*(ends - corner).T))[1] < 0.2


def test_heavy_and_light_pens_are_told_apart_and_their_widths_are_true():
    page = paper()
    box(page, 200, 150, 700, 550, 6)
    for y in (250, 350, 450):
        stroke(page, (200, y), (700, y), 3)
    found = read(page)
    widths = sorted(set(found.width[found.line_path].tolist()))
    assert widths == pytest.approx([3 * PT, 6 * PT], abs=0.3 * PT)
    assert int((found.width[found.line_path] > 4.5 * PT).sum()) == 4


def test_a_light_line_does_not_go_on_as_a_heavy_one_that_is_in_line_with_it():
    """A threshold in line with a wall's face is no face, or it would close the door's gap."""
    page = paper()
    stroke(page, (100, 300), (400, 300), 6)
    stroke(page, (400, 300), (600, 300), 3)
    stroke(page, (600, 300), (850, 300), 6)
    for x in (400, 600):
        stroke(page, (x, 297), (x, 340), 6)
    found = read(page)
    flat = found.lines[np.abs(found.lines[:, 1] - found.lines[:, 3]) < 0.1]
    assert len(flat) == 3


def test_a_quarter_circle_is_an_arc_of_its_radius():
    page = paper()
    stroke(page, (100, 100), (100, 600), 4)
    cv2.ellipse(page, (400 * FINE, 400 * FINE), (180 * FINE, 180 * FINE), 0, 0, 90, 0, 4 * FINE)
    found = read(page)
    (arc,) = found.arcs
    assert 4 * math.degrees(math.atan(abs(arc[4]))) == pytest.approx(90, abs=4)
    chord = math.dist(arc[:2], arc[2:4]) / PT
    assert chord == pytest.approx(180 * math.sqrt(2), rel=0.04)


def test_letters_are_left_out_and_lines_beside_them_are_not():
    page = paper()
    cv2.putText(page, "STORE 12", (150 * FINE, 300 * FINE), cv2.FONT_HERSHEY_SIMPLEX, 1.2 * FINE, 0, 2 * FINE)
    stroke(page, (100, 400), (800, 400), 4)
    assert len(read(page).lines) == 1


def test_what_is_filled_is_left_out_and_the_pen_round_it_is_not():
    page = paper()
    cv2.rectangle(page, (200 * FINE, 200 * FINE), (700 * FINE - 1, 260 * FINE - 1), 190, -1)
    box(page, 200, 200, 700, 260, 4)
    cv2.rectangle(page, (200 * FINE, 400 * FINE), (700 * FINE - 1, 460 * FINE - 1), 0, -1)
    lines = in_pixels(read(page))
    assert len(lines) == 4
    assert lines[:, 1::2].max() == pytest.approx(260, abs=0.7)


def test_two_close_lines_are_two():
    page = paper()
    stroke(page, (100, 300), (800, 300), 3)
    stroke(page, (100, 308), (800, 308), 3)
    found = read(page)
    assert len(found.lines) == 2


def lines_of(*strokes: tuple[tuple[float, float], tuple[float, float], float]) -> np.ndarray:
    page = paper()
    for a, b, width in strokes:
        stroke(page, a, b, width)
    height, width = (size // FINE for size in page.shape)
    sheet = Sheet(id=1, source="", page=1, width_pt=width * PT, height_pt=height * PT)
    found = linework_of_picture(cv2.resize(page, (width, height), interpolation=cv2.INTER_AREA), sheet, M_PER_PT)
    return np.zeros((0, 4)) if found is None else in_pixels(found)


LONG = ((100, 600), (800, 600), 4)


def is_letter(size: float) -> bool:
    """Tell whether a box of so many pixels is left out."""
    x, y = 200 + size, 200 + size
    box = [((198, 200), (x + 2, 200), 4), ((198, y), (x + 2, y), 4), ((200, 200), (200, y), 4), ((x, 200), (x, y), 4)]
    return len(lines_of(LONG, *box)) == 1


def is_dash(length: float) -> bool:
    return len(lines_of(LONG, ((200, 200), (200 + length, 200), 4))) == 2


def is_pen(width: float) -> bool:
    """Tell whether what is so many pixels wide is a stroke; a leaf of 65 mm is 15.4 of them."""
    return len(lines_of(LONG, ((200, 200), (700, 200), width))) == 2


def reaches(gap: float) -> bool:
    """Tell whether a line that ends so many pixels before the middle of another is lengthened to it."""
    across = ((400, 100), (400, 598 - gap), 3)
    return bool(np.abs(lines_of(LONG, across)[1, 1::2] - 600).min() < 0.2)


def is_one_line(width: float) -> bool:
    """Tell whether a line of a pen of four pixels goes on beyond a crossing where it is so wide."""
    found = lines_of(((100, 300), (450, 300), 4), ((450, 300), (800, 300), width), ((450, 250), (450, 350), 4))
    return len(found) == 2


def is_ink(darkness: float) -> bool:
    page = np.full((700, 900), 255, np.uint8)
    page[598:602, 100:800] = 0
    page[298:302, 100:800] = round(255 * (1 - darkness))
    sheet = Sheet(id=1, source="", page=1, width_pt=900 * PT, height_pt=700 * PT)
    found = linework_of_picture(page, sheet, M_PER_PT)
    return found is not None and len(found.lines) == 2


def are_two(apart: float) -> bool:
    """Tell whether two lines of three pixels are told apart whose middles lie so many pixels apart."""
    return len(lines_of(LONG, ((100, 300), (800, 300), 3), ((100, 300 + apart), (800, 300 + apart), 3))) == 3


def bent(points: list[tuple[float, float]]) -> int:
    """Count the arcs of a chain of lines of four pixels."""
    page = paper()
    ring = (np.array(points) * FINE).astype(np.int32).reshape(-1, 1, 2)
    cv2.polylines(page, [ring], False, 0, 4 * FINE)
    stroke(page, *LONG)
    return len(read(page).arcs)


def circle(radius: float, degrees: float, step: float) -> list[tuple[float, float]]:
    turns = np.radians(np.arange(0.0, degrees + 1e-6, step))
    return [(400 + radius * math.sin(a), 450 - radius * math.cos(a)) for a in turns]


def is_arc(degrees: float) -> bool:
    """Tell whether a bow of 300 pixels' radius that turns so far is an arc."""
    return bent(circle(300, degrees, 1)) > 0


def is_round(radius: float) -> bool:
    """Tell whether a quarter circle of so many pixels' radius is an arc, not the rounded corner of two lines."""
    return bent([(100, 450 - radius), *circle(radius, 90, 5), (400 + radius, 590)]) > 0


def is_stub(length: float) -> bool:
    """Tell whether what stands out of a line so many pixels from its middle is a line."""
    return len(lines_of(LONG, ((400, 600), (400, 600 - length), 4))) == 2


def is_bridged(gap: float, darkness: float, aside: float = 0.0) -> bool:
    """Tell whether a line goes on over so many pixels that are so dark, and so many aside."""
    page = np.full((700, 900), 255, np.uint8)
    page[298:302, 100:400] = page[598:602, 100:800] = 0
    page[round(298 + aside) : round(302 + aside), round(400 + gap) : 800] = 0
    page[298:302, 400 : round(400 + gap)] = round(255 * (1 - darkness))
    sheet = Sheet(id=1, source="", page=1, width_pt=900 * PT, height_pt=700 * PT)
    found = linework_of_picture(page, sheet, M_PER_PT)
    return found is not None and len(found.lines) == 2


@pytest.mark.parametrize(
    ("says", "within", "beyond"),
    [
        (is_letter, 36, 48),
        (is_dash, 22, 13),
        (is_pen, 15, 23),
        (reaches, 1, 6),
        (is_one_line, 4.8, 6),
        (is_ink, 0.26, 0.18),
        (are_two, 8, 3.4),
        (is_arc, 40, 18),
        (is_round, 40, 6),
        (is_stub, 14, 6),
        (lambda gap: is_bridged(gap, 0.19), 12, 24),
        (lambda darkness: is_bridged(12, darkness), 0.19, 0.1),
        (lambda aside: is_bridged(12, 0.19, aside), 0, 2),
    ],
    ids=lambda value: getattr(value, "__name__", ""),
)
def test_on_either_side_of_a_limit_something_else_is_read(says, within, beyond):
    assert [says(within), says(beyond)] == [True, False]
