"""Opening schedules in the manner of many offices: each row is read as it is written, or told; none is passed over."""

from __future__ import annotations

import pytest

from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.schedules.opening_schedule import read_opening_table
from tests.trace.schedules.office_tables import TABLES, drawn

TOLD = {"feet and inches": {"103"}, "four figures": {"4"}, "a row struck out": {"D2"}}
"""Rows without a size of their own, by table: each is told."""


@pytest.mark.parametrize("name", TABLES)
def test_each_row_is_read_or_told(name: str) -> None:
    data = drawn(TABLES[name])
    sheet = read_sheets(data, "tables.pdf")[0][0]
    schedule = read_opening_table(read_linework(data, sheet), read_lines(data, sheet), sheet)
    assert schedule is not None
    rows = {row.mark: row for row in schedule.rows}
    if name == "named by their size":
        assert not rows
        assert schedule.doubts == ("the table “WINDOW SCHEDULE” on sheet 1 was not read: no column of marks",)
        return
    for mark, size in (one for table in TABLES[name] for one in table.sizes.items()):
        if size is None:
            assert mark not in TOLD.get(name, ()) or any(f" {mark}" in doubt for doubt in schedule.doubts)
            assert mark not in rows or None in (rows[mark].width, rows[mark].height)
        else:
            assert (rows[mark].width, rows[mark].height) == pytest.approx(size, abs=0.001)
