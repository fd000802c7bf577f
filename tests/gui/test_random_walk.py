"""A clumsy person: random clicks, drags, keys and texts, and nothing breaks, is lost or cannot be undone."""

from __future__ import annotations

import random

import pytest

from takeoff import actions
from takeoff.job.store import JobStore

STEPS = 120
"""More steps in one walk only draw more walls: what a walk finds comes from other beginnings."""
KEYS = ("t", "b", "d", "v", "r", "f", "a", "c", "w", "z", "Return", "BackSpace", "Escape", "Delete", "Home")
CHORDS = ("Control-z", "Control-y", "Control-d", "Control-k", "Control-j", "Control-a")
TEXTS = (
    "12'-6\"", "3.2 m", "10' 90°", "", "nonsense", "3070", "4' x 3' sill 3'", "1:50", "-4", "99999999", "0",
    "20' x 12'", "=1+1", "1/4\" = 1'-0\"",
)  # fmt: skip


def one_step(chance, hand):
    window = hand.window
    session = window.session
    sheet = session.sheet

    def point():
        return chance.uniform(0, sheet.width_pt), chance.uniform(0, sheet.height_pt)

    kind = chance.choices(
        ("press", "drag", "key", "chord", "entry", "double", "wheel", "height", "sheet", "page"),
        (34, 10, 18, 8, 8, 3, 4, 6, 2, 3),
    )[0]
    if kind == "press":
        runs = session.runs_here()
        if runs and chance.random() < 0.4:
            hand.press(*chance.choice(chance.choice(runs).points_pt), state=chance.choice((0, 0, 1, 4)))
        else:
            hand.press(*point(), state=chance.choice((0, 0, 0, 1, 4)))
    elif kind == "drag":
        runs = session.runs_here()
        start = chance.choice(chance.choice(runs).points_pt) if runs and chance.random() < 0.7 else point()
        hand.drag(start, (start[0] + chance.uniform(-90, 90), start[1] + chance.uniform(-90, 90)))
    elif kind == "key":
        hand.key(chance.choice(KEYS))
    elif kind == "chord":
        hand.chord(chance.choice(CHORDS))
    elif kind == "entry":
        hand.type(window.entry, chance.choice(TEXTS))
    elif kind == "double":
        at = point()
        hand.press(*at)
        hand.press(*at)
    elif kind == "wheel":
        window.canvas.event_generate(chance.choice(("<Button-4>", "<Button-5>")), x=300, y=200)
        window.update()
    elif kind == "height" and session.selection.runs:
        field = chance.choice(
            (window.details.room["height"], window.details.wall["base"], window.details.wall["height"])
        )
        hand.type(field.entry, chance.choice(("9'", "10'-6\"", "8' to 12'", "0: 9', 4': 12'", "", "0", "no")))
    elif kind == "sheet":
        window.do(chance.choice(("next-sheet", "previous-sheet")))
    elif kind == "page":
        window.figures.open_page(chance.choice(("Rooms", "Walls", "Price", "Elevation", "Material")))


@pytest.mark.long
@pytest.mark.parametrize("seed", [20260302, 20261129, 3, 4])
def test_random_actions_break_nothing_and_all_come_undone(hand, job_file, seed):
    chance = random.Random(seed)
    hand.open(job_file)
    window = hand.window
    store = window.session.store
    for id in store.job.sheets:
        sheet = store.job.sheets[id]
        actions.set_scale_ratio(store, sheet, "1:48")
    start = store.job
    before = len(store.history())
    for _ in range(STEPS):
        one_step(chance, hand)
    window.use_tool("pick")  # a line that is not ended yet is kept as a wall
    done = store.job
    assert len(store.history()) - before > STEPS / 40
    assert window.session.measured() is not None
    window.close_job()

    with JobStore.open(job_file) as again:
        assert again.job == done
    hand.open(job_file)
    while window.session.job != start and window.session.store.can_undo:
        window.session.undo()
    assert window.session.job == start
