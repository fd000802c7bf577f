"""A sheet of very many lines says so at once, and is read by what was shown on it."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from takeoff import actions
from takeoff.actions.drafting import read_drawn_sheet, with_look
from takeoff.actions.traced_sheets import read_sheet_trace
from takeoff.errors import InputError
from takeoff.job.edits import PutStyle
from takeoff.model.drafting import DraftingStyle
from takeoff.sheet.files import read_sheets
from takeoff.trace.drawing.crowded import count_drawn
from tests.jobs import job_on
from tests.trace.ink import Ink
from tests.trace.lines.test_plan_rooms import DOOR, WINDOW, door, outlined, place, window

MANY_PATHS = 10_000
"""What makes a sheet crowded here; ``drawing/test_limits.py`` draws both sides of the true limit."""
COUNT = MANY_PATHS + 500
"""Strokes."""
AT = "2026-01-01T00:00:00+00:00"


@pytest.fixture(autouse=True)
def _few_make_a_crowd(monkeypatch):
    monkeypatch.setattr("takeoff.trace.drawing.crowded.MANY_PATHS", MANY_PATHS)


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A plan of two rooms under a carpet of short grey strokes."""
    path = tmp_path_factory.mktemp("crowded") / "a.takeoff"
    ink = Ink((720, 400), place, layered=False)
    for draw in (outlined(DOOR, WINDOW), door, window):
        draw(ink)
    strokes = " ".join(f"{60 + i % 500} {60 + i // 500} m {60.4 + i % 500} {60.3 + i // 500} l S" for i in range(COUNT))
    ink.parts.append(f"q 0.05 w 0.7 G {strokes} Q")
    plans = [("plan.pdf", ink.data(rotate=0))]
    with job_on(path, *plans) as new:
        actions.set_scale_ratio(new, new.job.sheets[1], "1:50")
    return path


@pytest.fixture
def store(made, tmp_path):
    with actions.open_job(Path(shutil.copy(made, tmp_path)), lambda: ("T", AT)) as opened:
        yield opened


def test_it_says_how_many_lines_it_has_and_what_makes_it_quick_and_reads_by_a_shown_wall(store):
    sheet = store.job.sheets[1]
    pieces = count_drawn(store.source(sheet.source), sheet)
    assert sheet.paths > COUNT
    with pytest.raises(InputError, match=f"it has {pieces:,} lines.*Show one of its walls"):
        read_sheet_trace(store, 1)
    drawn = read_drawn_sheet(store, 1)
    wall = drawn.look_shown(place((3.0, 4.4)))
    store.do(PutStyle(style=with_look(DraftingStyle(name="ours", walls=()), "wall", wall)))
    rooms = read_sheet_trace(store, 1).rooms()
    assert sorted(round(room.area, 1) for room in rooms) == [15.2, 20.0]


def test_that_nothing_bears_out_its_scale_stays_open(store):
    assert [point.kind for point in actions.open_points(store.job, has_stakes=False).open].count("scale") == 1


def test_a_sheet_is_counted_without_being_read():
    """By hand: five lines, of which a box has four."""
    ink = Ink((100, 100), lambda p: p, layered=False)
    ink.parts.append("10 10 m 20 10 l S 30 30 m 40 30 l 40 40 l 30 40 l 30 30 l S")
    data = ink.data(rotate=0)
    assert count_drawn(data, read_sheets(data, "a.pdf")[0][0]) == 5
