"""Heights from interior elevations in a draft: taken, or open; never in the place of what another sheet says.

The plan is that of the sample set without its heights; the elevations are drawn here, so each height is the one that
its view is drawn with. A foot is 0.3048 m exactly (the international foot of 1959).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import pytest

from sample_plans.ink import add_layers
from sample_plans.sheets import ANSI_D, IMPERIAL, PLAN_IMPERIAL, millimetres, new_set, plan_sheet, schedule_sheet
from takeoff.actions.draft.making import make_draft
from takeoff.actions.draft.sheet_reads import SheetRead, SheetTask, read_sheet
from takeoff.job.edits import PutRoom
from takeoff.job.store import JobStore
from takeoff.model.open_points import basis_of
from takeoff.model.walls import HeightProfile
from tests.trace.schedules.drawn_elevations import Wall, draw_walls

FOOT = 0.3048
A, B, C = (200.0, 600.0), (1200.0, 600.0), (200.0, 1250.0)


@dataclass
class Made:
    """A job of a plan, elevations and perhaps a finish schedule, and what reads its sheets."""

    store: JobStore
    readers: Callable[..., Iterator[SheetRead]]

    def draft(self):
        return make_draft(self.store, readers=self.readers)

    def height(self, room: str):
        profile = self.store.job.rooms[room].height
        return None if profile is None else profile.points[0][1]


@pytest.fixture(scope="module")
def known() -> dict[str, SheetRead]:
    """Plans and schedules that were read, by their numbers: they are the same in every set of this module."""
    return {}


@pytest.fixture
def made(begin, known: dict[str, SheetRead]) -> Callable[..., Made]:
    """Make a job of elevations and the sample plan."""

    def make(*walls: tuple[Wall, tuple[float, float]], has_schedule: bool = False, **how) -> Made:
        document = new_set(["A-101", "A-201", *["A-601"] * has_schedule], ANSI_D)
        layers = add_layers(document)
        plan_sheet(document[0], layers, PLAN_IMPERIAL, IMPERIAL, '1/4" = 1\'-0"', is_of_set=True)
        draw_walls(document, walls, page=1, **how)
        if has_schedule:
            schedule_sheet(document[2], layers)
        return Made(store=begin(("set.pdf", document.tobytes())), readers=read)

    def read(tasks: list[SheetTask], contents: Callable[[str], bytes]) -> Iterator[SheetRead]:
        for task in tasks:
            if task.sheet.number == "A-201":
                yield read_sheet(task, contents(task.sheet.source))
                continue
            if task.sheet.number not in known:
                known[task.sheet.number] = read_sheet(task, contents(task.sheet.source))
            yield known[task.sheet.number]

    return make


def open_heights(draft) -> dict[str, object]:
    return {p.where.room: p for p in draft.points.open if p.kind == "height"}


def wall(title: str, height: float, **more) -> Wall:
    return Wall(title=title, width=8.0, heights=(height, height), **more)


def test_rooms_without_another_height_take_the_one_of_their_elevation_and_say_where_it_stands(made):
    job = made(
        (wall("104 PROCESS - NORTH", 12 * FOOT, strings=[(0, 12 * FOOT)]), A),
        (wall("104 PROCESS - EAST", 12 * FOOT, strings=[(0, 4 * FOOT, 12 * FOOT), (0, 12 * FOOT)], wainscot=1.2), B),
        (wall("INTERIOR ELEVATION 105", 9 * FOOT, notes=[("CLG 9'-0\"", 2.0)]), C),
    )
    draft = job.draft()
    assert (job.height("R104"), job.height("R105")) == (pytest.approx(12 * FOOT), pytest.approx(9 * FOOT))
    basis = basis_of(job.store.job.rooms["R105"], "height")
    assert (basis.how, basis.text, basis.unsure) == ("stated", "CLG 9'-0\"", "")
    assert job.store.job.sheets[basis.sheet].number == "A-201"
    (told,) = [value for room in draft.rooms if room.room == "R105" for value in room.values if value.of == "height"]
    assert told.source == "written on sheet A-201: “CLG 9'-0\"”"
    assert not {"R104", "R105"} & open_heights(draft).keys()
    assert "R103" in open_heights(draft)  # no view is of it
    assert "elevations of 2 rooms, 2 heights set" in [sheet.done for sheet in draft.sheets]


def test_metric_elevations_give_metres(made):
    job = made(
        (wall("104 PROCESS", 3.6, strings=[(0, 3.6)]), A),
        (wall("103 WASH", 2.7, notes=[("CEILING HEIGHT 2700", 2.0)]), B),
        scale=("1:50", 50),
        label=millimetres,
    )
    job.draft()
    assert (job.height("R104"), job.height("R103")) == (pytest.approx(3.6), pytest.approx(2.7))


def test_views_with_different_heights_leave_the_room_open_between_them(made):
    job = made(
        (wall("104 PROCESS - NORTH", 12 * FOOT, strings=[(0, 12 * FOOT)]), A),
        (wall("104 PROCESS - SOUTH", 10 * FOOT, strings=[(0, 10 * FOOT)]), B),
    )
    point = open_heights(job.draft())["R104"]
    assert job.height("R104") is None
    assert (point.low, point.high) == (pytest.approx(10 * FOOT), pytest.approx(12 * FOOT))
    assert "12'-0\"" in point.why
    assert "10'-0\"" in point.why


def test_a_wainscot_is_no_height_and_a_view_of_a_room_that_is_not_in_the_job_changes_none(made):
    job = made(
        (wall("104 PROCESS", 12 * FOOT, strings=[(0, 4 * FOOT)], notes=[("WAINSCOT 4'-0\"", 1.3)], wainscot=1.22), A),
        (wall("STORE 105", 10 * FOOT, strings=[(0, 10 * FOOT)]), B),  # 105 has another name
        (wall("BAKERY 904", 10 * FOOT, strings=[(0, 10 * FOOT)]), C),
    )
    draft = job.draft()
    assert all(room.height is None for room in job.store.job.rooms.values())
    assert open_heights(draft).keys() == job.store.job.rooms.keys()


def test_a_schedule_goes_first_and_an_elevation_that_contradicts_it_is_open_with_both_texts(made):
    # facility-truth.json: the schedule has 104 at 12 ft, and of 101 a wainscot of 4 ft, which is no ceiling
    job = made(
        (wall("104 PROCESS", 10 * FOOT, strings=[(0, 10 * FOOT)]), A),
        (wall("101 CORRIDOR", 9 * FOOT, strings=[(0, 9 * FOOT)]), B),
        has_schedule=True,
    )
    draft = job.draft()
    assert (job.height("R104"), job.height("R101")) == (pytest.approx(12 * FOOT), pytest.approx(4 * FOOT))
    point = open_heights(draft)["R104"]
    assert "104 PROCESS" in point.why
    assert "an interior elevation says “10'-0\"”" in point.why
    assert (point.low, point.high) == (pytest.approx(10 * FOOT), pytest.approx(12 * FOOT))
    assert "R101" not in open_heights(draft)
    agreeing = made((wall("104 PROCESS", 12 * FOOT, strings=[(0, 12 * FOOT)]), A), has_schedule=True)
    assert "R104" not in open_heights(agreeing.draft())


def test_one_height_of_an_elevation_is_open_where_the_schedule_says_two(made):
    # the schedule has 107 at 12'-0" TO 9'-0" (sample_plans.scenario)
    job = made((wall("107 STORE", 12 * FOOT, strings=[(0, 12 * FOOT)]), A), has_schedule=True)
    assert "the finish schedule says “12'-0\" TO 9'-0\"”" in open_heights(job.draft())["R107"].why


def test_what_a_person_gave_stays_and_drafting_again_adds_nothing(made):
    job = made(
        (wall("104 PROCESS - NORTH", 10 * FOOT, strings=[(0, 10 * FOOT)]), A),
        (wall("105 PACKING", 9 * FOOT, notes=[("CLG 11'-0\"", 2.0)]), B),
        (wall("107 STORE", 12 * FOOT, strings=[(0, 12 * FOOT)]), C),
        has_schedule=True,
    )
    job.draft()
    mine = replace(job.store.job.rooms["R105"], height=HeightProfile.constant(2.5))
    job.store.do(PutRoom(room=mine))
    before, lines = job.store.job, len(job.store.history())
    job.draft()
    assert (job.store.job, len(job.store.history())) == (before, lines)
    assert job.height("R105") == 2.5
