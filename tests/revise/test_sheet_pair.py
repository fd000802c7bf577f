from __future__ import annotations

import pymupdf
import pytest

from takeoff.model.plan import Calibration
from takeoff.revise.linework_along import in_metres
from takeoff.revise.sheet_pair import SheetPair
from takeoff.sheet.files import read_sheets

ROWS = (("MARK", "WIDTH", "HEIGHT"), ("D1", "900", "2100"), ("D2", "1000", "2100"))


def sheet_with(title: str, rows: tuple[tuple[str, ...], ...]) -> bytes:
    """A vector sheet with a table under a title."""
    with pymupdf.open() as file:
        page = file.new_page(width=800, height=600)
        for k in range(60):
            page.draw_line((20, 20 + 2 * k), (200, 20 + 2 * k))
        page.insert_text((400, 90), title, fontsize=8)
        for i, row in enumerate(rows):
            page.draw_line((400, 100 + 14 * i), (580, 100 + 14 * i))
            for k, text in enumerate(row):
                page.insert_text((404 + 60 * k, 110 + 14 * i), text, fontsize=7)
        for k in range(4):
            page.draw_line((400 + 60 * k, 100), (400 + 60 * k, 100 + 14 * len(rows)))
        page.draw_line((400, 100 + 14 * len(rows)), (580, 100 + 14 * len(rows)))
        return bytes(file.tobytes())


def unread(old: bytes, new: bytes) -> tuple[str, ...]:
    sheets = [read_sheets(data, name)[0][0] for data, name in ((old, "1.pdf"), (new, "2.pdf"))]
    pair = SheetPair(
        old_data=old, new_data=new, old=sheets[0], new=sheets[1], scale=Calibration(sheet=1, mx=0.01, my=0.01),
        focus=(0.0, 0.0, 800.0, 600.0), points=(), limit=0.02, smallest=0.1,
    )  # fmt: skip
    return pair.schedules(in_metres).unread


def test_a_schedule_that_both_revisions_show_as_a_table_leaves_nothing_to_say() -> None:
    sheet = sheet_with("DOOR SCHEDULE", ROWS)
    assert unread(sheet, sheet) == ()


@pytest.mark.parametrize(("title", "name"), [("DOOR SCHEDULE", "opening"), ("ROOM FINISH SCHEDULE", "finish")])
def test_a_schedule_that_can_be_read_on_neither_revision_is_told(title: str, name: str) -> None:
    sheet = sheet_with(title, (("SEE", "THE", "PICTURE"),))
    (said,) = unread(sheet, sheet)
    assert said.startswith(f"the {name} schedule could be read on neither revision")


def test_one_that_only_the_old_revision_shows_as_a_table_is_told() -> None:
    (said,) = unread(sheet_with("DOOR SCHEDULE", ROWS), sheet_with("DOOR SCHEDULE", ()))
    assert "on the old revision only" in said


@pytest.mark.parametrize("note", ["SEE DOOR SCHEDULE", "LIGHTING SCHEDULE", "DOOR SCHEDULE ON A-601"])
def test_a_note_that_points_to_a_schedule_and_one_of_something_else_are_none(note: str) -> None:
    sheet = sheet_with(note, ())
    assert unread(sheet, sheet) == ()
