"""The page with alternates: systems chosen by presses, priced in the background, dropped by an edit."""

from __future__ import annotations

from tkinter import font as tkfont

import pytest

from takeoff import actions
from takeoff.gui.session import Selection

CHOSEN = ("mat-urethane", "sheet-panel")


def test_chosen_systems_stand_beside_the_job_until_it_is_edited(hand, opened):
    session, figures = hand.window.session, hand.window.figures
    figures.chooser._chosen("Alternates")
    hand.settle()
    page = figures.panels["Alternates"]
    hand.click(page.compare._canvas)
    assert page.state.cget("text").startswith("No system is chosen.")
    assert not page.systems.exists("cove-only")
    for id in (CHOSEN[0], "thin-film", CHOSEN[1], "thin-film"):
        page.systems.see(id)
        hand.settle()
        x, y, wide, high = page.systems.bbox(id)
        page.systems.event_generate("<ButtonPress-1>", x=x + wide // 2, y=y + high // 2)
        page.systems.event_generate("<ButtonRelease-1>", x=x + wide // 2, y=y + high // 2)
    assert set(page.systems.selection()) == set(CHOSEN)
    hand.click(page.compare._canvas)
    assert page.state.cget("text") == "pricing …"
    hand.wait(lambda: page.result is not None)
    assert page.result is not None, page.state.cget("text")
    expected = actions.compare_alternates(session.job, CHOSEN)
    assert page.result.row("price", "price").values == expected.row("price", "price").values
    rows = [page.table.tree.item(id, "values") for id in page.table.tree.get_children()]
    assert len(rows) == len(expected.what_differs)
    assert {"Man-hours (h)", "Price per net area (USD per sf)", "Material", "Price"} <= {row[0] for row in rows}
    assert rows[0][0] == "Price"
    as_is, other, difference = (float(text.replace(",", "")) for text in rows[0][1:4])
    assert (as_is, other) == tuple(round(v, 2) for v in expected.row("price", "price").values[:2])
    assert abs(difference - (other - as_is)) < 0.011

    hand.click(page.list._canvas)
    assert page.systems.winfo_ismapped()
    assert page.systems.item(CHOSEN[0], "text").startswith("1 ")
    hand.click(page.compare._canvas)
    hand.wait(lambda: page.table.winfo_ismapped())
    session.select(Selection(runs=("104-walls",)))
    hand.type(hand.window.details.room["height"].entry, "9'-0\"")
    assert page.result is None
    hand.settle()
    assert not page.table.winfo_ismapped()
    assert set(page.systems.selection()) == set(CHOSEN)
    assert page.state.cget("text").startswith("The job has changed since")


@pytest.mark.parametrize("text_size", [1.0, 2.0])
def test_two_alternates_stand_beside_the_job_whole_at_every_size_of_text(hand, traced_job, text_size):
    window = hand.window
    hand.text_size(text_size)
    hand.open(traced_job)
    page = window.figures.panels["Alternates"]
    window.figures.chooser._chosen("Alternates")
    hand.settle()
    page.systems.selection_set(*CHOSEN)
    page.ask()
    hand.wait(lambda: page.result is not None)
    tree = page.table.tree
    assert tree.xview() == (0.0, 1.0)
    measure = tkfont.nametofont("TkDefaultFont").measure
    heading = tkfont.nametofont("TkHeadingFont").measure
    for i, name in enumerate(tree["columns"]):
        wide = tree.column(name, "width")
        assert heading(name) <= wide
        if i:
            assert max(measure(tree.item(row, "values")[i]) for row in tree.get_children()) <= wide
    for number, name in enumerate(page.result.names[1:], start=1):
        assert f"{number}: {name}" in page.state.cget("text")
    row = max(range(len(tree.get_children())), key=lambda i: measure(tree.item(str(i), "values")[0]))
    tree.selection_set(str(row))
    hand.settle()
    said = page.state.cget("text") if text_size > 1 else window.figures.working.get("1.0", "end")
    assert tree.item(str(row), "values")[0] in said
    assert all(name in said for name in page.result.names)
