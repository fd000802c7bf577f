"""Sheets of a set that a draft takes nothing from, and sheets that are not there: each is told as an open point."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from sample_plans.scenario import FOOT, ft
from takeoff import actions
from takeoff.actions.draft.making import make_draft
from takeoff.actions.points.deriving import open_points
from takeoff.job.store import JobStore
from tests.actions.drawn_sets import drawn_files, finishes, plan, read_once, rooms, sheet_list
from tests.trace.scales.test_dimensions import Paper

TITLE = "FLOOR PLAN"
LIST = (("G-001", "COVER"), ("A-101", TITLE), ("A-601", "FINISHES"), ("A-401", "LARGER PLANS"), ("E-101", "POWER"))


@pytest.fixture
def job(begin) -> Callable[..., JobStore]:
    """Give what starts a job of drawn sheets and drafts it."""

    def start(*sheets) -> JobStore:
        store = begin(*drawn_files(*sheets))
        make_draft(store, readers=read_once)
        return store

    return start


def whys(store: JobStore) -> list[str]:
    return [point.why for point in open_points(store.job).open]


def lengths(store: JobStore) -> dict[str, float]:
    """Width from west to east of each room by its number, in feet."""
    job, found = store.job, {}
    for run in job.runs.values():
        xs = [x for x, _ in run.points_pt]
        number = job.rooms[run.room].number
        assert number not in found
        found[number] = (max(xs) - min(xs)) * job.calibration_for(run).mx / FOOT
    return found


@pytest.mark.parametrize("is_newer_first", [False, True])
def test_of_two_revisions_of_a_sheet_the_newer_is_taken_wherever_it_stands(job, is_newer_first):
    sheets = [("A-101", TITLE, "A", plan(rooms(ft(12), ft(12)))), ("A-101", TITLE, "B", plan(rooms()))]
    store = job(*(reversed(sheets) if is_newer_first else sheets))
    assert lengths(store) == {"101": pytest.approx(14.0, abs=0.05), "102": pytest.approx(10.0, abs=0.05)}
    assert len([why for why in whys(store) if "is there in a newer revision B" in why]) == 1


def test_of_a_sheet_that_is_in_two_files_one_is_taken_and_the_other_is_told(job):
    store = job(("A-101", TITLE, "A", plan(rooms())), ("A-101", TITLE, "A", plan(rooms(ft(12), ft(12)))))
    assert len(lengths(store)) == 2
    assert len([why for why in whys(store) if "has the same number, title and revision" in why]) == 1


@pytest.mark.parametrize(
    "title", ["FLOOR PLAN - ALTERNATE NO. 2", "FLOOR PLAN - PHASE 2", "EXISTING FLOOR PLAN", "REMOVAL PLAN"]
)
def test_a_plan_beside_the_contract_is_left_out_and_told_unless_it_is_the_only_one(job, title):
    other = ("A-151", title, "A", plan(rooms(ft(20), ft(8))))
    store = job(("A-101", TITLE, "A", plan(rooms())), other)
    assert lengths(store) == {"101": pytest.approx(14.0, abs=0.05), "102": pytest.approx(10.0, abs=0.05)}
    assert [why for why in whys(store) if f"its title says {title}, and it is left out" in why]
    alone = job(other)
    assert lengths(alone)["101"] == pytest.approx(20.0, abs=0.05)


def test_a_plan_of_another_trade_is_left_out_and_told_where_there_is_a_floor_plan(job):
    store = job(("", TITLE, "A", plan(rooms())), ("", "ELECTRICAL FLOOR PLAN", "A", plan(rooms())))
    assert len(lengths(store)) == 2  # each room once
    assert any("its title says ELECTRICAL FLOOR PLAN, and it is left out" in why for why in whys(store))
    assert len(lengths(job(("", "ELECTRICAL FLOOR PLAN", "A", plan(rooms()))))) == 2


def numbered(number: str, heading: str = "") -> tuple[str, bytes]:
    """Draw a sheet that has but a number in its corner, and a heading."""
    paper = Paper((1200, 900))
    paper.write(number, (1150, 870), size=20)
    paper.line((100, 100), (400, 100))
    for place in range(4):
        paper.write("SEE THE NOTES ON THE FIRST SHEET", (300, 600 + 20 * place))
    if heading:
        paper.write(heading, (300, 500), size=16)
    return f"{number}.pdf", paper.data()


def test_a_sheet_that_its_number_alone_leaves_out_is_told_unless_its_heading_says_floor_plan(begin):
    store = begin(numbered("P-101"), numbered("P-102", "GROUND FLOOR PLAN"))
    assert [(s.number, s.title) for s in store.job.sheets.values()] == [("P-101", ""), ("P-102", "")]
    assert [sheet.use for sheet in make_draft(store).sheets] == ["other", "floor plan"]
    told = "it has no title, and it is left out: its number P-101 is of another trade"
    assert len([why for why in whys(store) if told in why]) == 1


def test_a_sheet_that_the_cover_lists_and_the_set_lacks_is_told_those_of_other_trades_are_not(job):
    cover = ("G-001", "COVER", "A", sheet_list(*LIST))
    schedule = ("A-601", "FINISHES", "A", finishes(("101", "WASH", "", "", "W1", "W1", "W1", "W1", "9'-0\"", "")))
    store = job(cover, ("A-101", TITLE, "A", plan(rooms())), schedule)
    said = [why for why in whys(store) if "list of sheets" in why]
    assert said == ["Sheet G-001: its list of sheets names what the set lacks: A-401 LARGER PLANS."]


@pytest.mark.parametrize(
    ("remark", "is_open"),
    [
        ("W2 ON SOUTH WALL", True),
        ("SEE ELEV 3/A5.1", True),
        ("Wainscot on north wall only", True),
        ("WALLS N & E ONLY", True),
        ("Coating to 2100 AFF", True),
        ("See note 3", True),
        ("N.I.C.", True),
        ("No wall coating", True),
        ("Epoxy to 8'-0\", paint above ceiling", True),
        ("Tile to window sill", True),
        ("3 sides only", True),
        ("Up to U/S slab", True),
        ("Sloped ceiling", True),
        ("See spec", True),
        ("Seal the floor; north wall curved", False),
    ],
)
def test_remarks_that_speak_of_walls_leave_the_system_open_also_where_its_code_is_named(job, remark, is_open):
    rows = [(n, "", "", "", "W1", "W1", "W1", "W1", "9'-0\"", r) for n, r in (("101", remark), ("102", ""))]
    store = job(("A-101", TITLE, "A", plan(rooms())), ("A-601", "FINISHES", "A", finishes(*rows)))
    actions.schedules.keep_codes(store, {"W1": "mat-hygienic"})
    make_draft(store, readers=read_once)
    points = [p for p in open_points(store.job).open if p.field == "system"]
    assert {store.job.rooms[p.where.room].number for p in points} == ({"101"} if is_open else set())
    assert all(f"its remarks say “{remark}”" in p.why for p in points)
    assert {room.system for room in store.job.rooms.values()} == {"mat-hygienic"}


@pytest.mark.parametrize(("name", "is_open"), [("OFFICE", True), ("WASH", False), ("Wsh. Rm", False), ("", False)])
def test_a_row_of_a_room_s_number_under_another_name_leaves_what_it_gives_open(job, name, is_open):
    schedule = finishes(("101", name, "", "", "W1", "W1", "W1", "W1", "8'-0\"", ""))
    store = job(("A-101", TITLE, "A", plan(rooms())), ("A-601", "FINISHES", "A", schedule))
    said = [why for why in whys(store) if f"the row is of {name}, and the plan calls the room WASH" in why]
    assert bool(said) == is_open
