"""The page of what to order: listed in the background, dated by a first day, written as the command writes it."""

from __future__ import annotations

from datetime import date

import pytest

from takeoff import actions
from takeoff.cli.main import run
from takeoff.model.site import SiteTerms


@pytest.fixture
def order(hand, opened):
    hand.window.figures.open_page("Order")
    page = hand.window.figures.panels["Order"]
    hand.wait(lambda: page.result is not None)
    return page


def rows(page):
    return [page.table.tree.item(id, "values") for id in page.table.tree.get_children()]


def test_without_a_first_day_nothing_is_dated_and_the_page_says_what_to_do(hand, order):
    session = hand.window.session
    assert "Needed by" not in order.table.tree["columns"]  # a column in which nothing stands is left out
    assert "type the first day" in order.state.cget("text")
    terms = SiteTerms(start="2026-03-02")
    session.attempt(lambda: actions.keep_terms(session.store, terms), "kept")
    hand.wait(lambda: order.result is not None)
    needed = order.table.tree["columns"].index("Needed by")
    assert min(row[needed] for row in rows(order)) == "2026-03-02"


def test_a_first_day_gives_each_delivery_its_days_as_the_command_does(hand, order, tmp_path, monkeypatch, capsys):
    hand.type(order.start.entry, "soon")
    assert "is not a date" in order.state.cget("text")
    hand.type(order.start.entry, "2026-05-04")
    hand.wait(lambda: any(line.need_by and line.need_by.month >= 5 for line in order.result or ()))
    first = min(line.order_by for line in order.result if line.order_by)
    assert f"order the first by {first}" in order.state.cget("text")
    assert (", which has passed" in order.state.cget("text")) == (first < date.today())
    assert "order the first by 2026-" in order.state.cget("text")
    order.table.tree.selection_set("0")
    hand.settle()
    assert "Needed by: 2026-05-" in hand.window.figures.working.get("1.0", "end")
    out = tmp_path / "order.csv"
    monkeypatch.setattr("takeoff.gui.widgets.form.filedialog.asksaveasfilename", lambda **_: str(out))
    order.write.invoke()
    job, by_command = str(hand.window.session.path), tmp_path / "by-command.csv"
    capsys.readouterr()
    assert run(["order", job, "--start", "2026-05-04", "--out", str(by_command)]) == 0
    assert out.read_bytes() == by_command.read_bytes()
