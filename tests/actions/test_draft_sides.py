"""Walls of one room with several finishes: each side of the plan takes its own, and which way is north is open."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from sample_plans import scenario
from sample_plans.ink import add_layers
from sample_plans.sheets import ANSI_D, IMPERIAL, PLAN_IMPERIAL, new_set, plan_sheet, schedule_sheet
from takeoff.actions.draft.elevation_walls import walls_by_side
from takeoff.actions.draft.making import make_draft, sheet_tasks
from takeoff.actions.draft.sheet_reads import Readers, read_here
from takeoff.actions.editing import confirm_points, give_value
from takeoff.actions.points.deriving import open_points
from takeoff.actions.schedules import keep_codes
from takeoff.job.job import Job, JobSettings
from takeoff.job.store import JobStore
from takeoff.job.wall_edits import RemoveWalls
from takeoff.model.open_points import Basis, basis_of
from takeoff.model.plan import Calibration, Sheet
from takeoff.model.walls import Room, Run
from takeoff.trace.schedules.finish_matching import CodeMeaning
from takeoff.trace.schedules.finish_schedule import FinishRow, WallFinish
from tests.actions.drawn_sets import drawn_set, finishes, north_arrow, plan
from tests.actions.drawn_sets import rooms as drawn_rooms
from tests.jobs import job_on

CODES = {"104": "W1/W4 TO 4'-0\"/P9/-", "105": "W3/W3/W1/W3"}
ROOMS = tuple(
    replace(room, codes=(*room.codes[:2], CODES.get(room.number, room.codes[2]), room.codes[3]))
    for room in scenario.ROOMS
)
FOOT = 0.3048
SHEET = Sheet(id=1, source="", page=1, width_pt=700.0, height_pt=700.0)


@pytest.fixture(scope="module")
def plans() -> bytes:
    """Draw the sample plan with a schedule that gives the sides of two rooms other finishes."""
    document = new_set(["A-101", "A-601"], ANSI_D)
    layers = add_layers(document)
    plan_sheet(document[0], layers, PLAN_IMPERIAL, IMPERIAL, '1/4" = 1\'-0"')
    schedule_sheet(document[1], layers, first=ROOMS)
    return document.tobytes()


@pytest.fixture
def store(tmp_path: Path, plans: bytes) -> Iterator[JobStore]:
    """Start a job of these plans."""
    with job_on(tmp_path / "d.takeoff", ("set.pdf", plans)) as made:
        yield made


@pytest.fixture(scope="module")
def readers(tmp_path_factory: pytest.TempPathFactory, plans: bytes) -> Readers:
    """Read the sheets once for all tests: what becomes of it is what they are about."""
    path = tmp_path_factory.mktemp("read") / "d.takeoff"
    with job_on(path, ("set.pdf", plans)) as made:
        read = list(read_here(sheet_tasks(made.job), made.source))
    return lambda tasks, contents: iter(read)


def walls_of(store: JobStore, room: str) -> list:
    """Walls of a room that are not pillars."""
    return [run for run in store.job.runs.values() if run.room == room and not run.closed]


def test_each_side_of_a_room_takes_its_finish_and_height(store, readers):
    keep_codes(store, {"W1": "mat-hygienic", "W4": "thin-film"})
    draft = make_draft(store, readers=readers)
    north, east, south, west = sorted(walls_of(store, "R104"), key=lambda run: run.id)
    # the room's inner face is drawn from its north-west corner clockwise as displayed: sample_plans/scenario.py
    (x0, y0), (x1, _), (_, y1), _ = next(room.points for room in ROOMS if room.number == "104")
    found = {
        face.elevation.run: (round(face.elevation.length, 2), face.elevation.system)
        for face in draft.priced.measured.faces
    }
    sides = {run.basis[-1].text.split("wall ")[1][0]: run for run in (north, east, south, west)}
    assert {side: found[run.id] for side, run in sides.items()} == {
        "N": (pytest.approx(x1 - x0, abs=0.02), "mat-hygienic"),
        "E": (pytest.approx(y1 - y0, abs=0.02), "thin-film"),
        "S": (pytest.approx(x1 - x0, abs=0.02), None),
        "W": (pytest.approx(y1 - y0, abs=0.02), None),
    }
    tops = {y for _, y in sides["N"].points_pt}
    assert max(tops) < min(y for _, y in sides["S"].points_pt)  # north is up, and y goes down
    assert sides["E"].height.points[0][1] == pytest.approx(4 * FOOT)
    assert sides["N"].height is None
    points = {p.where.run: p for p in draft.points.open if p.field == "system" and p.where.run}
    assert sides["N"].id not in points  # the sheet has an arrow that points up
    assert "code P9 on the side S is of no system" in points[sides["S"].id].why
    assert points[sides["W"].id].taken == "not coated"
    assert points[sides["S"].id].stake.money > 0.0


@pytest.mark.parametrize(("rotation", "first"), [(0, "N"), (90, "E"), (180, "S"), (270, "W")])
def test_sides_are_those_of_the_sheet_as_displayed_and_a_side_with_two_walls_is_open(rotation, first):
    # an L of 6 x 6 m less 3 x 3 m at its south-east corner, walked with the room at the left hand
    points = ((0.0, 0.0), (0.0, 600.0), (300.0, 600.0), (300.0, 300.0), (600.0, 300.0), (600.0, 0.0))
    outline = Run(id="w", sheet=1, room="r", points_pt=points, closed=True)
    traced = Basis(of="outline", taken=outline.outline, how="measured")
    job = Job(
        settings=JobSettings(name="S"),
        sheets={id: replace(SHEET, id=id, rotation=rotation) for id in (1, 2)},
        calibrations={"1": Calibration(sheet=1, mx=0.01, my=0.01)},
        rooms={"r": Room(id="r", number="1")},
        runs={"w": replace(outline, basis=(traced,))},
    )
    row = FinishRow(number="1", walls=("A", "B"), by_side=(WallFinish(side=first, code="A"),))
    meant = {"A": CodeMeaning(code="A", words="", system="one", how="id")}
    made = walls_by_side(job, "r", row, meant, 2, {})
    top = next(run for run in made if {y for _, y in run.points_pt} == {0.0})
    assert [run.system for run in made if run is not top] == [None] * 5
    assert top.system == "one"  # the upper wall of the page, 6 m long and the only one on its side of it
    assert sum(math.dist(a, b) for run in made for a, b in pairwise(run.points_pt)) == pytest.approx(2400.0)
    unsure = ["several walls on that side" in basis_of(run, "system").unsure for run in made]
    assert sorted(unsure) == [False, False, True, True, True, True]


UP, RIGHT, DOWN, LEFT = 0.0, 90.0, 180.0, 270.0


@pytest.mark.parametrize(
    ("arrows", "upper", "doubt"),
    [
        ((UP,), "N", ""),
        ((RIGHT,), "W", ""),
        ((DOWN,), "S", ""),
        ((LEFT,), "E", ""),
        ((), "N", "north is taken to be up on sheet A-101."),
        ((UP, RIGHT), "N", "north is taken to be up on sheet A-101, and its arrows point up and right"),
        ((40.0,), "N", "it stands askew to north"),
    ],
)
@pytest.mark.parametrize("has_circle", [True, False])
def test_sides_are_named_by_the_north_arrow_of_the_plan_and_open_where_it_has_none(
    tmp_path, arrows, upper, doubt, has_circle
):
    def draw(ink):
        for place, degrees in enumerate(arrows):
            north_arrow(degrees, has_circle=has_circle, at=(1400.0, 700.0 + 300.0 * place))(ink)

    row = ("101", "WASH", "F1", "B1", "W1", "W2", "P1", "P1", "9'-0\"", "")
    data = drawn_set(("A-101", "FLOOR PLAN", "A", plan(drawn_rooms(), draw)), ("A-601", "FINISHES", "A", finishes(row)))
    with job_on(tmp_path / "n.takeoff", ("set.pdf", data)) as store:
        keep_codes(store, {"W1": "mat-hygienic", "W2": "thin-film"})
        make_draft(store)
        walls = walls_of(store, next(id for id, room in store.job.rooms.items() if room.number == "101"))
        (top,) = [
            run for run in walls if max(y for _, y in run.points_pt) == min(y for w in walls for _, y in w.points_pt)
        ]
        held = basis_of(top, "system")
        assert top.system == {"N": "mat-hygienic", "E": "thin-film"}.get(upper)
        assert f"wall {upper} " in held.text
        assert ("by the arrow on sheet A-101" in held.text) == (len(arrows) == 1 and arrows[0] != UP)
        points = {p.where.run: p.why for p in open_points(store.job).open if p.field == "system"}
        assert ("taken to be up" in points.get(top.id, "")) == ("taken to be up" in doubt)
        assert doubt in points.get(top.id, "")


def test_drafting_again_changes_nothing_and_brings_no_wall_back(store, readers):
    make_draft(store, readers=readers)
    job, lines = store.job, len(store.history())
    make_draft(store, readers=readers)
    assert (store.job, len(store.history())) == (job, lines)
    gone = walls_of(store, "R104")[0].id
    store.do(RemoveWalls(runs=(gone,)))
    make_draft(store, readers=readers)
    assert gone not in store.job.runs
    assert len(walls_of(store, "R104")) == 3


def test_a_code_that_is_named_later_reaches_its_walls_and_what_a_person_chose_stays(store, readers):
    make_draft(store, readers=readers)
    unnamed = [p for p in open_points(store.job).open if p.field == "system" and "code P9" in p.why]
    assert len(unnamed) == 1
    west = next(p for p in open_points(store.job).open if p.taken == "not coated" and p not in unnamed)
    give_value(store, [west], "block-filled")
    keep_codes(store, {"P9": "flake-wall"})
    make_draft(store, readers=readers)
    assert store.job.runs[unnamed[0].where.run].system == "flake-wall"
    assert store.job.runs[west.where.run].system == "block-filled"


def test_walls_by_others_are_settled_by_confirming_them(store, readers):
    make_draft(store, readers=readers)
    bare = [p for p in open_points(store.job).open if p.taken == "not coated"]
    confirm_points(store, bare)
    make_draft(store, readers=readers)
    left = open_points(store.job).open
    assert not [p for p in left if p.taken == "not coated"]
