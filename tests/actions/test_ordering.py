import csv
from datetime import date

import openpyxl
import pytest

from takeoff import actions
from takeoff.errors import InputError

MONDAY = date(2026, 3, 2)


def test_a_buyer_gets_the_same_list_as_csv_and_as_a_workbook(store, tmp_path):
    lines = actions.order_lines(actions.make_estimate(store.job), start=MONDAY)
    text = actions.write_order(store.job, lines, tmp_path / "order.csv").read_text(encoding="utf-8-sig")
    head, *rows = csv.reader(text.splitlines())
    sheet = openpyxl.load_workbook(actions.write_order(store.job, lines, tmp_path / "order.xlsx")).active
    cells = [[str(cell.value or "") for cell in row] for row in sheet.iter_rows(max_row=1 + len(rows))]
    assert cells[0] == head
    assert [row[3] for row in cells[1:]] == [row[3] for row in rows]
    assert sum(int(row[6]) for row in rows) == sum(
        sum(pack.count for pack in line.packs) + line.colour_packs for line in lines
    )
    assert rows[0][1] == MONDAY.isoformat()


def test_a_name_that_is_neither_is_refused(store, tmp_path):
    lines = actions.order_lines(actions.make_estimate(store.job))
    with pytest.raises(InputError, match="neither CSV nor a workbook"):
        actions.write_order(store.job, lines, tmp_path / "order.pdf")
