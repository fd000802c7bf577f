"""Plans on one sheet at scales of their own: a title with its scale stands under each (common practice, no source)."""

from __future__ import annotations

import shapely

from takeoff.model.plan import Calibration
from takeoff.sheet.text import TextLine, Word
from takeoff.trace.lines.other_scales import at_other_scales, in_other_views

EIGHTH = Calibration(sheet=1, mx=96 * 0.0254 / 72, my=96 * 0.0254 / 72)
"""1/8" = 1'-0" is 1:96; a point is 1/72 inch."""
PLAN = [shapely.box(100, 100, 300, 250), shapely.box(304, 100, 500, 250)]
DETAIL = [shapely.box(900, 100, 1200, 300)]


def line(text: str, x: float, y: float, size: float = 8.0) -> TextLine:
    box = (x, y, x + 60.0, y + size)
    return TextLine(words=tuple(Word(text=word, box_pt=box) for word in text.split()), box_pt=box)


UNDER_PLAN = line('SCALE: 1/8" = 1\'-0"', 100, 280)
UNDER_DETAIL = line('SCALE: 1/4" = 1\'-0"', 900, 330)


def test_the_rooms_of_a_plan_with_another_scale_under_it_are_told() -> None:
    said = at_other_scales([*PLAN, *DETAIL], [UNDER_PLAN, UNDER_DETAIL], EIGHTH)
    assert said[:2] == ["", ""]
    assert said[2] == '“SCALE: 1/4" = 1\'-0"” stands nearest to it, and the sheet is measured at 1:96'


def test_one_plan_on_smaller_paper_is_not_told_by_its_note() -> None:
    """The dimensions gave 1:96 and the only note says 1/4": the whole sheet was printed at half size."""
    assert at_other_scales(PLAN, [line('SCALE: 1/4" = 1\'-0"', 100, 280)], EIGHTH) == ["", ""]


def test_the_scale_of_a_detail_beside_the_plan_does_not_reach_the_plan() -> None:
    detail = line('SCALE: 1/4" = 1\'-0"', 560, 330)
    assert at_other_scales(PLAN, [UNDER_PLAN, detail], EIGHTH) == ["", ""]


def test_what_lies_over_the_title_of_a_section_is_told() -> None:
    notes = [line("tiles", 120.0 + 9 * i, 150.0) for i in range(4)]
    titles = [line("GROUND FLOOR PLAN", 200, 280, 12.0), line("SECTION A", 1000, 330, 12.0)]
    said = in_other_views([*PLAN, *DETAIL], [*notes, *titles], EIGHTH)
    assert said == ["", "", "“SECTION A” is the title nearest to it, and no floor plan's"]
    assert in_other_views([*PLAN, *DETAIL], [*notes, titles[1]], EIGHTH) == ["", "", ""]  # which no plan stands beside
