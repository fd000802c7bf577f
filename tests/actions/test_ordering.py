import csv
from dataclasses import replace
from datetime import date, timedelta

import openpyxl
import pytest

from takeoff import actions
from takeoff.errors import InputError
from takeoff.job.edits import PutProduct, PutRoom
from takeoff.model.site import SiteTerms
from takeoff.report.planning_tables import order_table

MONDAY = date(2026, 3, 2)


def test_a_buyer_gets_the_same_list_as_csv_and_as_a_workbook(store, tmp_path):
    lines = actions.order_lines(store.job, actions.make_estimate(store.job), start=MONDAY)
    text = actions.write_order(store.job, lines, tmp_path / "order.csv").read_text(encoding="utf-8-sig")
    head, *rows = csv.reader(text.splitlines())
    sheet = openpyxl.load_workbook(actions.write_order(store.job, lines, tmp_path / "order.xlsx")).active
    cells = [[str(cell.value or "") for cell in row] for row in sheet.iter_rows(max_row=1 + len(rows))]
    assert cells[0] == head
    product, count = head.index("Product"), head.index("Count")
    assert [row[product] for row in cells[1:]] == [row[product] for row in rows]
    assert sum(int(row[count]) for row in rows) == sum(
        sum(pack.count for pack in line.packs) + line.colour_packs for line in lines
    )
    assert rows[0][1] == MONDAY.isoformat()


def test_a_name_that_is_neither_is_refused(store, tmp_path):
    lines = actions.order_lines(store.job, actions.make_estimate(store.job))
    with pytest.raises(InputError, match="neither CSV nor a workbook"):
        actions.write_order(store.job, lines, tmp_path / "order.pdf")


def test_lead_times_that_nobody_asked_for_are_marked_until_the_buyer_confirms_them(store):
    # The shipped lead times and shelf lives are common practice, no source.
    actions.keep_terms(store, SiteTerms(start=MONDAY.isoformat()))
    lines = actions.order_lines(store.job, actions.make_estimate(store.job))
    primer = next(line for line in lines if line.product == "epoxy-primer")
    assert primer.order_by == primer.need_by - timedelta(days=primer.lead_days)
    assert "marked * are common practice without a source" in order_table(lines).note
    point = next(p for p in actions.open_points(store.job, has_stakes=False).open if p.key == "product:keeping")
    assert "Epoxy primer, waterborne, two parts (lead time 10 days, shelf life 365 days)" in point.why
    actions.confirm_points(store, [point])
    table = order_table(actions.order_lines(store.job, actions.make_estimate(store.job)))
    assert "*" not in table.note + "".join(str(cell) for row in table.rows for cell in row)
    glaze = actions.catalogue_of(store.job).product("epoxy-glaze")
    store.do(PutProduct(product=replace(glaze, lead_days=40)))
    assert "product:keeping" in {p.key for p in actions.open_points(store.job, has_stakes=False).open}
    store.do(PutProduct(product=replace(glaze, lead_days=40, assumed=())))
    point = next(p for p in actions.open_points(store.job, has_stakes=False).open if p.key == "product:keeping")
    assert "glaze" not in point.why


def test_colours_are_ordered_apart(store):
    for room, colour in zip(list(store.job.rooms.values())[:2], ("cream", "grey"), strict=True):
        store.do(PutRoom(room=replace(room, colour=colour)))
    lines = actions.order_lines(store.job, actions.make_estimate(store.job))
    glaze = [line for line in lines if line.product == "epoxy-glaze"]
    assert {line.colour for line in glaze} >= {"cream", "grey"}
    assert {line.name for line in glaze} == {"Epoxy glaze, 100 % solids, white base, two parts"}
