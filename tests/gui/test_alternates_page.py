"""The page with alternates: systems chosen by presses, priced in the background, dropped by an edit."""

from __future__ import annotations

import time

from takeoff import actions
from takeoff.gui.session import Selection

CHOSEN = ("mat-urethane", "sheet-panel")


def press(hand, made):
    for event in ("<Enter>", "<ButtonPress-1>", "<ButtonRelease-1>"):
        made._canvas.event_generate(event, x=5, y=5)
    hand.settle(0.05)


def test_chosen_systems_stand_beside_the_job_until_it_is_edited(hand, traced_job):
    hand.open(traced_job)
    session, figures = hand.window.session, hand.window.figures
    press(hand, figures.pages["Alternates"])
    page = figures.alternates
    press(hand, page.compare)
    assert page.state.cget("text").startswith("No system is chosen.")
    assert not page.systems.exists("cove-only")
    for id in (CHOSEN[0], "thin-film", CHOSEN[1], "thin-film"):
        page.systems.see(id)
        hand.settle(0.05)
        x, y, wide, high = page.systems.bbox(id)
        page.systems.event_generate("<ButtonPress-1>", x=x + wide // 2, y=y + high // 2)
        page.systems.event_generate("<ButtonRelease-1>", x=x + wide // 2, y=y + high // 2)
    assert set(page.systems.selection()) == set(CHOSEN)
    press(hand, page.compare)
    assert page.state.cget("text") == "pricing …"
    deadline = time.monotonic() + 90
    while page.result is None and time.monotonic() < deadline:
        hand.settle(0.1)
    assert page.result is not None, page.state.cget("text")
    expected = actions.compare_alternates(session.job, CHOSEN)
    assert page.result.row("price", "price").values == expected.row("price", "price").values
    rows = [page.table.tree.item(id, "values") for id in page.table.tree.get_children()]
    assert len(rows) == len(expected.what_differs)
    assert {"Man-hours", "Price per net area", "Material", "Price"} <= {row[0] for row in rows}
    price = next(row for row in rows if row[0] == "Price")
    as_is, other = (float(text.replace(",", "")) for text in price[2:4])
    assert abs(float(price[5].replace(",", "")) - (other - as_is)) < 0.011

    session.select(Selection(runs=("104-walls",)))
    hand.type(hand.window.details.room_height.entry, "9'-0\"")
    assert page.result is None
    assert page.table.tree.get_children() == ()
    assert set(page.systems.selection()) == set(CHOSEN)
    assert page.state.cget("text").startswith("The job has changed since")
