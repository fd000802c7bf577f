"""Marks on the lines of a scan: ticks, dots, arrowheads and lines across are places where dimensions end."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image

from takeoff.sheet.files import read_sheets
from takeoff.sheet.scales import ratio_of
from takeoff.sheet.text import read_lines
from takeoff.trace.scales.ink_marks import find_marks
from takeoff.trace.scales.scale_votes import read_scanned_scale
from takeoff.trace.scales.scale_weighing import ScaleReading
from tests.trace.scales.test_dimensions import Paper

POINT = 0.0254 / 72


def marks(above: int, below: int, aslant: int = 0) -> list[float]:
    """Return where marks are found on a line of 200 pixels that others leave at 100, so far above it and below."""
    ink = np.zeros((60, 260), np.float32)
    ink[30, 30:231] = 1.0
    for rise in range(-below, above + 1):
        ink[30 - rise, 130 + (aslant * rise) // 4] = 1.0
    found = find_marks(ink, np.array([[30.0, 30.0, 230.0, 30.0]]), 100.0)
    return [float(x) - 30.0 for x, _ in found]


@pytest.mark.parametrize("aslant", [0, 4])
def test_ink_on_both_sides_of_a_line_is_a_mark(aslant: int) -> None:
    assert marks(6, 6, aslant) == [pytest.approx(100.0, abs=0.6)]


@pytest.mark.parametrize(("above", "below"), [(6, 0), (0, 6), (1, 1)])
def test_ink_on_one_side_or_within_the_line_is_none(above: int, below: int) -> None:
    assert marks(above, below) == []


def read(paper: Paper, dpi: int = 100) -> ScaleReading:
    """Take a picture of a page and read it with the page's own text, as if every letter had been recognised."""
    pixels, out = paper.page.get_pixmap(dpi=dpi), io.BytesIO()
    Image.frombytes("RGB", (pixels.width, pixels.height), pixels.samples).save(out, "PNG", dpi=(dpi, dpi))
    [sheet] = read_sheets(out.getvalue(), "scan.png")[0]
    return read_scanned_scale(out.getvalue(), sheet, read_lines(paper.data(), paper.sheet), float(dpi))


def chained(ends: str, wide: int = 700) -> Paper:
    """Dimension chains along and up a sheet at 1:50, with lines all over it."""
    paper = Paper((wide, 600))
    for way in (0, 1):
        at = 100.0
        for length in (2.45, 1.3, 3.7, 1.95):
            end = at + length / (50 * POINT)
            ends_at = ((at, 80), (end, 80)) if way == 0 else ((80, at), (80, end))
            paper.dimension(*ends_at, f"{length:.2f} m", ends=ends)
            at = end
    for x in range(100, wide - 60, 20):
        paper.line((x, 120), (x, 520))
    return paper


@pytest.mark.parametrize("ends", ["tick", "dot"])
def test_chains_of_a_scan_come_apart_at_their_marks(ends: str) -> None:
    reading = read(chained(ends))
    assert len(reading.agreeing) >= 5
    assert ratio_of(reading.m_per_pt or 0.0) == pytest.approx(50, rel=0.005)


def test_dimensions_of_a_part_of_a_scan_are_asked_as_no_doors_tell_what_is_beside() -> None:
    whole, part = read(chained("tick")), read(chained("tick", 2400))
    assert [any("a part of what is drawn" in doubt for doubt in reading.doubts) for reading in (whole, part)] == [
        False,
        True,
    ]
