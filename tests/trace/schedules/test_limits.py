"""The numbers that steer what is read of elevations and tables: what is drawn on either side and what is read of it."""

from __future__ import annotations

from dataclasses import replace

import pymupdf
import pytest

from sample_plans.sheets import ANSI_D, new_set
from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.schedules.elevation_views import read_views
from takeoff.trace.schedules.opening_schedule import read_opening_table
from tests.trace.schedules.drawn_elevations import Wall, draw_walls
from tests.trace.schedules.office_tables import TABLES, drawn
from tests.trace.schedules.test_finish_schedule import HEADINGS, draw_table, schedule_of
from tests.trace.schedules.test_heading_rows import with_text
from tests.trace.schedules.test_text_tables import draw_fields, sizes

POINTS_PER_METRE = 72 / 0.0254 / 32
"""Of a sheet at 3/8" = 1'-0", at which the walls are drawn."""
LEFT, BETWEEN = 200.0, 420.0
"""Points from the edge of the sheet to the first wall, and from that to the next."""


def views_of(*walls: tuple[Wall, tuple[float, float]], note_at: float | None = None):
    """Draw walls, and a note of the ceiling with its middle so far from the left edge, and read them back."""
    document = new_set(["A-201"], ANSI_D)
    draw_walls(document, walls)
    if note_at is not None:
        half = pymupdf.get_text_length("CLG 9'-0\"", fontsize=8) / 2
        document[0].insert_text((note_at - half, 500), "CLG 9'-0\"", fontsize=8)
    data = document.tobytes()
    sheet = read_sheets(data, "e.pdf")[0][0]
    return read_views(read_lines(data, sheet), sheet, lambda: read_linework(data, sheet))


def is_whole_wall(width: float) -> bool:
    """Tell whether a wall so many metres wide is read as one, whose floor goes on 45 points past an end."""
    (view,) = views_of((Wall(title="104 PROCESS", width=width, heights=(3.0, 3.0), strings=[(0, 3.0)]), (LEFT, 600.0)))
    return bool(view.ceilings)


def is_of_the_view(away: float) -> bool:
    """Tell whether a note that stands so many points beside the only view belongs to it."""
    wall = Wall(title="104 PROCESS", width=3.0, heights=(3.0, 3.0))
    (view,) = views_of((wall, (LEFT, 600.0)), note_at=LEFT + 3.0 * POINTS_PER_METRE + away)
    return bool(view.ceilings)


def is_of_the_nearer_view(share: float) -> bool:
    """Tell whether a note between two views, so much of what is between them away from one, belongs to it."""
    right = LEFT + 3.0 * POINTS_PER_METRE
    walls = [
        (Wall(title=title, width=3.0, heights=(3.0, 3.0)), (x, 600.0))
        for title, x in (("104 PROCESS", LEFT), ("105 STORE", right + BETWEEN))
    ]
    views = views_of(*walls, note_at=right + share * BETWEEN)
    return bool(next(view for view in views if view.title == "104 PROCESS").ceilings)


def is_of_the_headings(rise: float) -> bool:
    """Tell whether a heading that stands so many rows over those beside it is one of the same table."""
    rows = [["", "WIDTH", "HEIGHT"], ["1", "900", "2100"], ["2", "800", "2000"]]
    return bool(sizes(with_text(draw_fields(rows, title="", ruled=False), "DOOR NO.", 0.3, 0.5 - rise)))


def is_of_inches(width: float) -> bool:
    """Tell whether bare numbers of doors, so many wide and 90 high, are read as inches."""
    rows = [["DOOR NO.", "WIDTH", "HEIGHT"], ["1", f"{width:.0f}", "90"]]
    return sizes(draw_fields(rows))["1"] == pytest.approx((width * 0.0254, 90 * 0.0254))


def is_struck_out(off: float) -> bool:
    """Tell whether a line so many heights of its letters under the middle of a row strikes it out."""
    data = drawn([replace(table, off=off) for table in TABLES["a row struck out"]])
    sheet = read_sheets(data, "tables.pdf")[0][0]
    schedule = read_opening_table(read_linework(data, sheet), read_lines(data, sheet), sheet)
    return "D2" not in {row.mark for row in schedule.rows}


def height_of_metric(number: int) -> float:
    """Return the height in metres of windows that are so high in a table with headings of a metric language."""
    rows = [["FENSTER", "BREITE", "HÖHE"], ["F1", "300", str(number)], ["F2", "300", str(number)]]
    return sizes(draw_fields(rows))["F1"][1]


def is_told(words: int) -> bool:
    """Tell whether a table without marks under a title of so many words is told."""
    rows = [["DESCRIPTION", "WIDTH", "HEIGHT"], ["FIXED GLASS", "900", "1200"], ["ROLLING", "800", "1200"]]
    data = draw_fields(rows, title=" ".join(["DOOR", *["AND"] * (words - 2), "SCHEDULE"]))
    sheet = read_sheets(data, "tables.pdf")[0][0]
    return read_opening_table(read_linework(data, sheet), read_lines(data, sheet), sheet) is not None


def is_height_of_a_room(number: int) -> bool:
    """Tell whether a bare number is the height of a room's walls, in millimetres."""
    rows = [["101", "KILN", "F1", "B1", "W1", str(number), "-"]]
    (row,) = schedule_of(draw_table(HEADINGS, rows)).rows
    assert (row.unread_height == "") == (row.height is not None)
    return row.height is not None


def is_note_of_heights(words: int) -> bool:
    """Tell whether a text of so many words beside a schedule is told as a note of its heights."""
    rows = [["DOOR NO.", "WIDTH", "HEIGHT"], ["1", "900", "2100"]]
    data = with_text(draw_fields(rows), " ".join(["DOOR", *["AND"] * (words - 3), "HEIGHT", "2400MM"]), 2.0, 8.0)
    sheet = read_sheets(data, "tables.pdf")[0][0]
    schedule = read_opening_table(read_linework(data, sheet), read_lines(data, sheet), sheet)
    return bool(schedule and schedule.doubts)


@pytest.mark.parametrize(
    ("says", "within", "beyond"),
    [
        (is_whole_wall, (1.6, True), (1.25, False)),
        (is_of_the_view, (280.0, True), (330.0, False)),
        (is_of_the_nearer_view, (0.31, True), (0.36, False)),
        (is_of_the_headings, (1.2, True), (1.35, False)),
        (is_of_inches, (98.0, True), (99.0, False)),
        (is_struck_out, (0.2, True), (0.42, False)),
        (height_of_metric, (440, 4.4), (460, 0.46)),
        (is_told, (6, True), (7, False)),
        (is_height_of_a_room, (1250, True), (1150, False)),
        (is_note_of_heights, (4, True), (3, False)),
    ],
    ids=lambda value: getattr(value, "__name__", ""),
)
def test_on_either_side_of_a_limit_something_else_is_read(says, within, beyond):
    assert [says(within[0]), says(beyond[0])] == [within[1], beyond[1]]
