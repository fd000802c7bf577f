"""The pages below the plan: lines lead to the plan and back, days and range are made in the background."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from takeoff.gui.panels.figures_panel import BY_PAGE, FIRST, MORE, PRICED
from takeoff.gui.session import Selection


@pytest.fixture
def figures(hand, opened):
    return hand.window.figures


@pytest.fixture
def days(hand, figures):
    figures.open_page("Days")
    hand.wait(lambda: figures.panels["Days"].result is not None)
    return figures.panels["Days"]


def test_a_line_selects_its_walls_and_a_wall_marks_its_line(hand, figures):
    session = hand.window.session
    figures.open_page("Rooms")
    figures.table.tree.selection_set("2")
    hand.settle()
    assert {session.job.runs[id].room for id in session.selection.runs} == {"R103"}
    session.select(Selection(runs=("107-walls",)))
    hand.settle()
    (row,) = figures.table.tree.selection()
    assert figures.table.tree.item(row, "values")[0].startswith("107")
    assert "gross:" in figures.working.get("1.0", "end")


def test_every_page_opens_and_a_priced_line_shows_its_arithmetic(hand, figures):
    for page in ("Walls", "Systems", "Material", "Labour", "Price"):
        figures.open_page(page)
        hand.settle()
        assert len(figures.table.tree.get_children()) > 3
    figures.open_page("Material")
    figures.table.tree.selection_set("1")
    hand.settle()
    assert "USD" in figures.working.get("1.0", "end")


def test_no_figure_is_shown_before_anything_was_measured(hand, job_file):
    hand.open(job_file)
    totals = hand.window.figures.totals
    assert totals.cget("text") == "Nothing measured yet"
    hand.scale()
    hand.key("b")
    hand.press(300.0, 300.0)
    hand.press(600.0, 500.0)
    assert totals.cget("text") == "1 wall not measured yet"
    hand.type(hand.window.entry, "9'")
    assert totals.cget("text").startswith("Net ")


def test_the_totals_follow_an_edit_and_its_undoing(hand, figures):
    window = hand.window
    before = figures.totals.cget("text")
    window.session.select(Selection(runs=("106-walls",)))
    hand.type(window.details.room["height"].entry, "11'-0\"")
    assert figures.totals.cget("text") != before
    hand.chord("Control-z")
    assert figures.totals.cget("text") == before


@pytest.mark.parametrize("text_size", [1.0, 2.0])
def test_tall_figures_take_most_of_the_plans_height_and_give_it_back(hand, traced_job, text_size):
    window = hand.window
    hand.text_size(text_size)
    hand.open(traced_job)
    hand.settle()
    figures, canvas = window.figures, window.canvas
    both = canvas.winfo_height() + figures.winfo_height()
    before = figures.winfo_height()
    hand.chord("Shift-F9")
    hand.settle()
    assert figures.winfo_height() >= 0.75 * both
    assert canvas.winfo_height() >= 60
    rows = figures.table.tree.winfo_height() // (22 * text_size) - 1
    assert rows >= 4
    hand.chord("Shift-F9")
    hand.settle()
    assert figures.winfo_height() == pytest.approx(max(before, 130 * text_size), abs=2)
    name = figures.pages["Walls"]
    for event in ("<Enter>", *("<ButtonPress-1>", "<ButtonRelease-1>") * 2):
        name._canvas.event_generate(event, x=5, y=5)
    hand.settle()
    assert figures.page == "Walls"
    assert figures.winfo_height() >= 0.75 * both


def test_days_are_planned_in_the_background_and_each_bar_gives_its_reason(hand, days):
    assert days.result.days > 5
    assert all(work.reason for work in days.result.works)
    assert date.fromisoformat(days.start.value).weekday() == 0
    days.crews._put("none")
    days.plan_with(0.0)
    assert "whole number" in days.state.cget("text")


def test_what_is_found_for_days_and_range_is_read_on_their_own_pages_and_on_no_other(hand, figures):
    def read():
        return figures.working.get("1.0", "end-1c")

    figures.open_page("Days")
    figures.open_page("Range")
    figures.open_page("Walls")
    hand.window.session.select(Selection(runs=("107-walls",)))
    before = read()
    assert "Wall of 107 Store" in before
    hand.wait(lambda: figures.panels["Days"].result is not None and figures.panels["Range"].result is not None)
    assert read() == before
    figures.open_page("Days")
    assert read().startswith("Click a bar")
    figures.open_page("Range")
    assert read().startswith("Every rate at its likely value")
    figures.open_page("Walls")
    assert read() == before


def test_the_reason_of_a_bar_stays_until_another_is_pressed(hand, figures):
    figures.open_page("Days")
    hand.wait(lambda: figures.panels["Days"].result is not None)
    days = figures.panels["Days"]
    x0, y0, x1, y1 = days.canvas.bbox("work-0")
    days.canvas.event_generate("<Button-1>", x=(x0 + x1) // 2, y=(y0 + y1) // 2)
    said = figures.working.get("1.0", "end-1c")
    assert days.result.works[0].reason in said
    hand.window.session.select(Selection(runs=("107-walls",)))
    figures.open_page("Rooms")
    figures.open_page("Days")
    assert figures.working.get("1.0", "end-1c") == said


def test_an_edit_drops_the_days_and_they_are_planned_anew(hand, days):
    before = days.result
    hand.window.session.select(Selection(runs=("104-walls",)))
    hand.type(hand.window.details.room["height"].entry, "9'-0\"")
    assert days.result is None
    assert days.canvas.find_all() == ()
    assert days.state.cget("text") == "planning …"
    hand.wait(lambda: days.result is not None)
    assert days.result.hours < before.hours


def test_the_arithmetic_of_a_line_stays_while_nothing_else_is_pressed(hand, figures):
    session = hand.window.session
    figures.open_page("Price")
    figures.table.tree.selection_set("0")
    hand.settle()
    said = "\n".join(figures.priced.estimate.price[0].arithmetic)
    assert figures.working.get("1.0", "end-1c") == said
    session.tell("Something else was said")
    assert figures.working.get("1.0", "end-1c") == said
    assert figures.table.tree.selection() == ("0",)
    session.select(Selection(runs=("107-walls",)))
    assert figures.working.get("1.0", "end-1c").startswith("Wall of 107 Store")
    assert figures.table.tree.selection() == ()


def test_the_range_of_the_price_holds_its_own_order(hand, figures):
    panel = figures.panels["Range"]
    figures.open_page("Range")
    hand.wait(lambda: panel.result is not None)
    r = panel.result
    assert r.p10 < r.p50 < r.p80 < r.p90
    assert "P80" in figures.working.get("1.0", "end")


def test_an_opening_dragged_on_the_elevation_moves_on_the_plan(hand, figures):
    window = hand.window
    session = window.session
    session.select(Selection(runs=("106-walls",)))
    figures.open_page("Elevation")
    hand.settle()
    panel = figures.panels["Elevation"]
    face = panel._faces[0]
    o = face.e.openings[0]
    before = session.job.runs["106-walls"].openings[o.index].at
    x, y = face.at((o.x0 + o.x1) / 2, (o.z0 + o.z1) / 2)
    panel.event_generate("<ButtonPress-1>", x=round(x), y=round(y))
    panel.event_generate("<B1-Motion>", x=round(x) + 30, y=round(y))
    panel.event_generate("<ButtonRelease-1>", x=round(x) + 30, y=round(y))
    hand.settle()
    after = session.job.runs["106-walls"].openings[o.index].at
    assert abs(after - before - 30 / face.scale) < 1e-6
    assert session.selection.opening == ("106-walls", o.index)


def test_systems_and_material_are_named_and_no_id_of_the_catalogue_is_read(hand, figures):
    session = hand.window.session
    figures.open_page("Systems")
    named = {figures.table.tree.item(i, "values")[0] for i in figures.table.tree.get_children()} - {"Total"}
    assert named <= {name for _, name in session.systems()}
    figures.open_page("Material")
    tree = figures.table.tree
    tree.selection_set(next(i for i in tree.get_children() if "primer" in str(tree.item(i, "values")[0])))
    hand.settle()
    said = figures.working.get("1.0", "end")
    assert "101 Corridor · Prime · Flake wall, clear polyaspartic" in said
    assert not any(id in said for id, _ in session.systems())


@pytest.mark.parametrize("is_priced", [True, False])
def test_totals_and_prompt_are_never_cut_whatever_the_size_of_the_text(hand, figures, is_priced):
    window = hand.window
    if not is_priced:
        rooms = [replace(room, system=None) for room in window.session.job.rooms.values()]
        window.session.put_rooms(rooms, "Set the system")
    for size in (1.25, 1.5, 1.75, 2.0):
        hand.text_size(size)
        hand.settle()
        prompt = window.desk.prompt
        assert prompt._label.cget("wraplength") <= prompt.winfo_width() + 2
        totals = figures.totals
        assert totals.cget("text")
        label = totals._label
        assert label.winfo_width() >= label.winfo_reqwidth() > 1
        assert label.winfo_rootx() >= totals.winfo_rootx()
        assert label.winfo_rootx() + label.winfo_width() <= window.winfo_rootx() + window.winfo_width()


def test_pages_of_the_list_are_named_in_it_and_give_their_place_back(hand, figures):
    assert figures.chooser.menu.get() == "More"
    figures.chooser._chosen("Days")
    assert (figures.page, figures.chooser.menu.get()) == ("Days", "Days")
    figures.pages["Price"].invoke()
    assert (figures.page, figures.chooser.menu.get()) == ("Price", "More")
    figures.chooser._chosen("More")
    assert figures.page == "Price"
    assert set(FIRST) | set(MORE) == {*BY_PAGE, *PRICED, *figures.panels}
