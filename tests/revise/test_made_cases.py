"""A few of the made cases, one of each sort that is fast; ``python -m tests.revise.made_cases`` has all."""

from __future__ import annotations

import tempfile
from functools import cache
from pathlib import Path

import pytest

from takeoff.actions.comparing import compare_revision
from takeoff.actions.editing import confirm_points
from takeoff.actions.points.deriving import open_points
from takeoff.actions.revising import accept_revision
from takeoff.actions.schedule_revisions import UNREAD
from tests.revise import made_issues as made
from tests.revise.made_cases import Case, Result, cases, drawn_cases, job_of, judge, pair_of


def first_of(group: str) -> Case:
    return next(case for case in cases() if case.group == group)


GROUPS = ("opening moved", "opening removed", "wall moved", "print: ceiling", "half size", "97 %", "nothing changed",
          "turned scan", "picture, then drawing", "picture, then turned page", "scan: kind of opening")  # fmt: skip
CASES = {case.label: case for group in GROUPS for case in [first_of(group)]}
DRAWN = {
    "a schedule on a page that lies sideways": (5, 25008),
    "a frame of two lines at each jamb": (5, 25013),
    "a window in a thick pen on a coarse scan": (5, 25037),
    "a window that left a wall with the line of its finish": (30, 50015),
}
CASES |= {said: case for said, (draw, seed) in DRAWN.items() for case in drawn_cases(draw, 38) if case.seed == seed}

CASES["a door that moved along a wall with the line of its finish"] = Case(
    group="opening moved", seed=770006, way="finish-lines", change=lambda issue, by: made.opening_moved(issue, by, 0.5)
)


@cache
def judged(label: str) -> Result:
    """What became of a case, which is compared once for all tests."""
    with tempfile.TemporaryDirectory() as folder:
        return judge(CASES[label], Path(folder))


@pytest.mark.parametrize("label", CASES)
def test_untouched_walls_are_carried_and_no_changed_one_is_taken_as_it_was(label: str) -> None:
    result = judged(label)
    assert result.runs["untouched", "carried"] + result.runs["changed", "right"] > 0
    assert sum(n for (_, outcome), n in result.runs.items() if outcome == "wrong") == 0, result.remarks
    assert result.runs["untouched", "refused"] == 0, result.remarks
    assert result.false_lines == 0, result.remarks


def test_another_floor_of_the_same_building_is_refused_or_asked_about(tmp_path: Path) -> None:
    case = first_of("wrong floor")
    assert judge(case, tmp_path).sheet in ("refused", "asked")


def test_rooms_beyond_a_sheet_issued_in_part_stay_on_the_old_sheet_whatever_is_accepted(tmp_path: Path) -> None:
    case = first_of("issued in part")
    pair = pair_of(case)
    with job_of(pair, tmp_path / "part.takeoff", case.seed) as store:
        before = store.job.runs
        found = compare_revision(store, store.job.sheets[1], pair.new.name, pair.new.data)
        beyond = {r.before.id for r in found.runs if r.verdict == "not on this sheet"}
        assert beyond
        accept_revision(store, found, "all")
        assert {id: run for id, run in store.job.runs.items() if id in beyond} == {id: before[id] for id in beyond}


def test_that_nothing_written_was_compared_with_a_scan_is_said_and_stays_open_until_confirmed(tmp_path: Path) -> None:
    case = first_of("turned scan")
    pair, found = pair_of(case), judged(case.label).found
    assert found is not None
    assert UNREAD in found.doubts
    with job_of(pair, tmp_path / "scan.takeoff", case.seed) as store:
        accept_revision(store, found, "sure")
        told = [p for p in open_points(store.job, has_stakes=False).open if UNREAD in p.why]
        assert [p.where.sheet for p in told] == [found.sheet.id]
        assert "Look at both sheets" in told[0].settle
        confirm_points(store, told)
        again = compare_revision(store, store.job.sheets[1], pair.new.name, pair.new.data)
        accept_revision(store, again, "all")
        assert not [p for p in open_points(store.job, has_stakes=False).open if UNREAD in p.why]


def test_nothing_is_said_of_what_is_written_where_both_sheets_have_it_as_text() -> None:
    found = judged(first_of("opening moved").label).found
    assert found is not None
    assert UNREAD not in found.doubts
    assert not found.sheet.findings


@pytest.mark.parametrize("ways", [("poché-plain", "finish-lines"), ("outline-through", "finish-lines")])
def test_a_sheet_that_is_drawn_in_another_way_than_before_gives_nothing_without_a_look(ways, tmp_path: Path) -> None:
    pair = pair_of(Case(group="drawn otherwise", seed=941603, way=ways[0]))
    anew = made.draw(pair.second, pair.first, pair.paper, ways[1])
    with job_of(pair, tmp_path / "ways.takeoff", 1) as store:
        found = compare_revision(store, store.job.sheets[1], anew.name, anew.data)
    assert any("the sheet may be drawn in another way than before" in doubt for doubt in found.doubts)
    assert {one.verdict for one in found.runs} == {"look at it"}
