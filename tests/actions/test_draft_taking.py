"""What schedules say that does not agree with itself or with other sheets: right or an open point, never silent."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from takeoff.actions.draft.making import make_draft, sheet_tasks
from takeoff.actions.draft.sheet_reads import SheetRead
from takeoff.actions.points.deriving import open_points
from takeoff.job.edits import Batch, PutRoom, PutRun, SetCalibration
from takeoff.job.store import JobStore
from takeoff.model.open_points import Basis
from takeoff.model.plan import Calibration
from takeoff.model.walls import HeightProfile, Room, Run
from takeoff.trace.schedules.finish_schedule import FinishRow, FinishSchedule
from tests.jobs import PLANS, job_on

FOOT = 0.3048
LEGEND = {
    "W1": "Mat-reinforced hygienic wall coating",
    "W4": "Thin-film wall coating",
    "P1": "Paint, two coats",
    "B0": "No integral base",
    "B1": 'Integral cove base, 4" high',
}


@pytest.fixture
def store(tmp_path: Path) -> Iterator[JobStore]:
    """A job of three sheets with one measured room, of which nothing is known yet."""
    plan = PLANS / "facility-imperial.pdf"
    made = job_on(tmp_path / "d.takeoff", plan)
    line = ((0.0, 0.0), (0.0, 300.0), (400.0, 300.0), (400.0, 0.0))
    edits = (
        SetCalibration(calibration=Calibration(sheet=1, mx=0.01, my=0.01)),
        PutRoom(room=Room(id="R1", number="1")),
        PutRun(run=Run(id="w", sheet=1, room="R1", points_pt=line, closed=True)),
    )
    with made:
        made.do(Batch(title="A room", edits=edits))
        yield made


def drafted(store: JobStore, *rows: FinishRow) -> Room:
    """Draft the job from schedules of one row each, on its first sheets, and return the room."""

    def read(tasks, contents):
        for task in tasks:
            schedules = [FinishSchedule(rows=(row,), legend=LEGEND) for row in rows[task.sheet.id - 1 : task.sheet.id]]
            yield SheetRead(sheet=task.sheet.id, use="schedule", why="made", finishes=next(iter(schedules), None))

    make_draft(store, readers=read)
    return store.job.rooms["R1"]


def told(store: JobStore, word: str) -> list[str]:
    """Say why open points are open that have a word in their reason."""
    return [point.why for point in open_points(store.job).open if word in point.why]


def row(**said) -> FinishRow:
    """Make a row of the room."""
    return FinishRow(number="1", **({"walls": ("W1",), "height": 10 * FOOT, "height_text": "10'-0\""} | said))


@pytest.mark.parametrize(
    ("one", "other", "field"),
    [
        ({}, {"walls": ("W4",)}, "system"),
        ({}, {"height": 9 * FOOT, "height_text": "9'-0\""}, "height"),
        ({"base": "B1"}, {"base": "B0"}, "cove"),
    ],
)
def test_two_schedules_that_disagree_leave_the_value_open_also_the_second_time(store, one, other, field):
    for _ in range(2):
        drafted(store, row(**one), row(**other))
        points = [p for p in open_points(store.job).open if p.field == field and "another schedule says" in p.why]
        assert [p.where.room for p in points] == ["R1"]


def test_two_schedules_that_agree_leave_nothing_open(store):
    drafted(store, row(base="B1"), row(base="B1"))
    assert not told(store, "another schedule")


@pytest.mark.parametrize(("ceiling", "is_open"), [(9 * FOOT, True), (10 * FOOT, False), (12 * FOOT, False)])
def test_a_coating_higher_than_the_ceiling_that_is_printed_is_open_also_the_second_time(store, ceiling, is_open):
    printed = Basis(of="height", taken=ceiling, how="stated", text="CLG", sheet=1)
    room = replace(store.job.rooms["R1"], height=HeightProfile.constant(ceiling), basis=(printed,))
    store.do(PutRoom(room=room))
    for _ in range(2):
        assert drafted(store, row()).height == HeightProfile.constant(10 * FOOT)
        assert bool(told(store, "the ceiling is lower")) == is_open


@pytest.mark.parametrize(
    ("base", "is_open"), [("B1", False), ("B0", False), ("CB-9", True), ("EPOXY BASE", True), ("", False)]
)
def test_a_base_that_may_be_a_cove_is_open_where_nothing_says_so(store, base, is_open):
    drafted(store, row(base=base))
    assert bool(told(store, "may be a cove")) == is_open


def test_a_cove_without_a_height_is_open(store):
    drafted(store, row(base="COVE BASE"))
    assert told(store, "is a cove without a height")


def test_a_code_that_stands_for_no_system_is_open(store):
    assert drafted(store, row(walls=("P1",))).system is None
    assert told(store, "code P1")


def test_a_number_that_two_rooms_have_gives_neither_a_finish_and_says_so(store):
    store.do(PutRoom(room=Room(id="R1b", number="1")))
    assert drafted(store, row()).system is None
    assert told(store, "no one room that was traced is it")


def test_a_sheet_that_a_newer_revision_replaces_is_not_read(store):
    old = replace(store.job.sheets[3], replaced_by=2)
    job = replace(store.job, sheets={**store.job.sheets, 3: old})
    assert sorted(task.sheet.id for task in sheet_tasks(job)) == [1, 2]
