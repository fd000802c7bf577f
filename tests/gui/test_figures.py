"""The pages below the plan: lines lead to the plan and back, days and range are made in the background."""

from __future__ import annotations

import time
from datetime import date

from takeoff.gui.session import Selection

AT = "2026-03-02T08:00:00+00:00"


def until(hand, is_so, seconds=90):
    deadline = time.monotonic() + seconds
    while not is_so() and time.monotonic() < deadline:
        hand.settle(0.1)
    assert is_so()


def test_a_line_selects_its_walls_and_a_wall_marks_its_line(hand, traced_job):
    hand.open(traced_job)
    figures, session = hand.window.figures, hand.window.session
    figures.open_page("Rooms")
    figures.table.tree.selection_set("2")
    hand.settle(0.1)
    assert {session.job.runs[id].room for id in session.selection.runs} == {"R103"}
    session.select(Selection(runs=("107-walls",)))
    hand.settle(0.1)
    (row,) = figures.table.tree.selection()
    assert figures.table.tree.item(row, "values")[0].startswith("107")
    assert "gross:" in figures.working.get("1.0", "end")


def test_every_page_opens_and_a_priced_line_shows_its_arithmetic(hand, traced_job):
    hand.open(traced_job)
    figures = hand.window.figures
    for page in ("Walls", "Systems", "Material", "Labour", "Price"):
        figures.open_page(page)
        hand.settle(0.05)
        assert len(figures.table.tree.get_children()) > 3
    figures.open_page("Material")
    figures.table.tree.selection_set("1")
    hand.settle(0.1)
    assert "USD" in figures.working.get("1.0", "end")


def test_the_totals_follow_an_edit_and_its_undoing(hand, traced_job):
    hand.open(traced_job)
    window = hand.window
    before = window.figures.totals.cget("text")
    window.session.select(Selection(runs=("106-walls",)))
    hand.type(window.details.room_height.entry, "11'-0\"")
    assert window.figures.totals.cget("text") != before
    hand.chord("Control-z")
    assert window.figures.totals.cget("text") == before


def test_days_are_planned_in_the_background_and_each_bar_gives_its_reason(hand, traced_job):
    hand.open(traced_job)
    days = hand.window.figures.days
    hand.window.figures.open_page("Days")
    until(hand, lambda: days.plan is not None)
    assert days.plan.days > 5
    assert all(work.reason for work in days.plan.works)
    assert date.fromisoformat(days.start.get()).weekday() == 0
    days.crews.delete(0, "end")
    days.crews.insert(0, "none")
    days.ask(0.0)
    assert "whole number" in days.state.cget("text")


def test_the_range_of_the_price_holds_its_own_order(hand, traced_job):
    hand.open(traced_job)
    panel = hand.window.figures.range
    hand.window.figures.open_page("Range")
    until(hand, lambda: panel.range is not None)
    r = panel.range
    assert r.p10 < r.p50 < r.p80 < r.p90
    assert "P80" in hand.window.figures.working.get("1.0", "end")


def test_an_opening_dragged_on_the_elevation_moves_on_the_plan(hand, traced_job):
    hand.open(traced_job)
    window = hand.window
    session = window.session
    session.select(Selection(runs=("106-walls",)))
    window.figures.open_page("Elevation")
    hand.settle(0.1)
    panel = window.figures.elevation
    e, scale, left, base = panel._faces[0]
    o = e.openings[0]
    before = session.job.runs["106-walls"].openings[o.index].at
    x, y = left + (o.x0 + o.x1) / 2 * scale, base - (o.z0 + o.z1) / 2 * scale
    panel.event_generate("<ButtonPress-1>", x=round(x), y=round(y))
    panel.event_generate("<B1-Motion>", x=round(x) + 30, y=round(y))
    panel.event_generate("<ButtonRelease-1>", x=round(x) + 30, y=round(y))
    hand.settle(0.1)
    after = session.job.runs["106-walls"].openings[o.index].at
    assert abs(after - before - 30 / scale) < 1e-6
    assert session.selection.opening == ("106-walls", o.index)
