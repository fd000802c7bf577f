"""Tracing puts rooms into a job as one step, sure ones by themselves, doubtful ones when they are asked for."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
import shapely
import typer

from takeoff import actions
from takeoff.actions.traced_sheets import read_sheet_trace
from takeoff.actions.tracing import accept_traced, trace_sheet
from takeoff.cli.rim import run_command
from takeoff.cli.trace import trace
from takeoff.errors import CalibrationError, InputError
from takeoff.job.edits import Batch, PutRun, Remove
from takeoff.model.plan import ScaleRegion
from takeoff.model.walls import Cove, HeightProfile
from takeoff.trace.lines.lost_rooms import BY_WALL
from tests.jobs import DONE, PLANS, job_on
from tests.trace.ink import Ink
from tests.trace.lines.test_plan_rooms import filled, place

PROCESS = (300.0, 400.0)
pytestmark = pytest.mark.usefixtures("sheets_read_once")


def job_with(path, *names, ratio="1:48"):
    store = job_on(path, *(PLANS / name for name in names), units="metric")
    if ratio:
        actions.set_scale_ratio(store, store.job.sheets[1], ratio)
    return store


@pytest.fixture
def store(tmp_path):
    with job_with(tmp_path / "trial.takeoff", "facility-imperial.pdf") as opened:
        yield opened


def test_all_rooms_come_in_one_step_that_is_undone_as_one(store):
    traced = trace_sheet(store, 1, all=True, height=3.0)
    assert len(traced.put) == 8
    assert {"R101", "R104"} <= set(store.job.rooms)
    assert store.job.rooms["R104"].name == "PROCESS"
    assert {"R104-walls", "R104-column-1", "R104-column-2"} <= set(store.job.runs)
    actions.undo(store)
    assert not store.job.rooms
    assert not store.job.runs


def test_what_is_traced_measures_as_the_rooms_that_were_traced_by_hand(store):
    """Room 104 by its drawn sizes: 36 × 22 ft, 12 ft high to the ceiling here 3 m."""
    trace_sheet(store, 1, at=[PROCESS], height=3.0)
    measured = actions.measure_ready(store.job)[0].measurement.total.quantities
    gross = 2 * (36 + 22) * 0.3048 * 3.0
    pillars = (4 * 1.5 + 3.14159265 * 2.0) * 0.3048 * 3.0
    assert measured.gross_area == pytest.approx(gross + pillars, rel=1e-3)
    assert measured.inside_corners == 4
    assert measured.outside_corners == 4


def test_a_point_gives_its_room_alone(store):
    traced = trace_sheet(store, 1, at=[PROCESS])
    assert [id for id, _ in traced.put] == ["R104"]
    openings = store.job.runs["R104-walls"].openings
    bases = [{basis.of: basis.how for basis in opening.basis} for opening in openings]
    assert all(basis["height"] in ("schedule", "assumed") for basis in bases)
    assert any("coated to the ceiling height printed in the room: 104 CLG 12'-0\"" in note for note in traced.notes)


def test_a_room_of_the_job_keeps_its_height_and_gets_its_runs(store):
    trace_sheet(store, 1, at=[PROCESS], height=3.0)
    trace_sheet(store, 1, at=[PROCESS], height=4.0)
    assert list(store.job.rooms) == ["R104"]
    assert store.job.rooms["R104"].height.points == ((0.0, 3.0),)
    assert len(store.job.runs) == 3


def test_rooms_that_are_traced_already_are_left_as_they_are(store):
    trace_sheet(store, 1, all=True, height=3.0)
    walls = store.job.runs["R104-walls"]
    higher = replace(walls, openings=(replace(walls.openings[0], height=2.4), *walls.openings[1:]))
    store.do(PutRun(run=higher))
    before = store.job
    for asked in ({"all": True}, {"at": [PROCESS]}):
        again = trace_sheet(store, 1, height=4.0, **asked)
        assert again.change is None
        assert again.put == again.doubtful == ()
        assert "104 PROCESS" in " ".join(again.notes)
        assert store.job is before
    assert len(trace_sheet(store, 1, all=True).known) == 8


def test_a_room_traced_by_hand_is_not_traced_a_second_time(store):
    traced = trace_sheet(store, 1, at=[PROCESS], height=3.0)
    walls = store.job.runs["R104-walls"]
    mine = replace(walls, id="mine", room=None, openings=(), height=HeightProfile.constant(3.0))
    removed = [Remove(kind="run", id=id) for id in list(store.job.runs)]
    store.do(Batch(title="By hand", edits=(*removed, PutRun(run=mine))))
    again = trace_sheet(store, 1, all=True, height=3.0)
    assert len(traced.put) == 1
    assert [room.number for room in again.known] == ["104"]
    assert len(again.put) == 7
    assert all("twice" not in point.what for point in actions.open_points(store.job).points)


def test_a_run_coated_outside_does_not_stand_for_the_room_inside_it(store):
    trace_sheet(store, 1, at=[PROCESS], height=3.0)
    flipped = replace(store.job.runs["R104-walls"], face="right")
    store.do(PutRun(run=flipped))
    assert trace_sheet(store, 1, at=[PROCESS]).known == ()


def test_a_sheet_read_once_answers_many_points(store):
    read = read_sheet_trace(store, 1)
    assert read.room_at(PROCESS).number == "104"
    assert read.room_at((2.0, 2.0)) is None
    traced = trace_sheet(store, 1, at=[PROCESS], read=read)
    assert traced.put[0][1] == read.room_at(PROCESS)


def test_doubtful_rooms_are_left_out_until_a_person_takes_them(store):
    read = read_sheet_trace(store, 1)
    ((region, scale, plan),) = read.parts
    doubted = tuple(replace(r, sure=False, outline_sure=False) if r.number == "104" else r for r in plan.rooms)
    read = replace(read, parts=((region, scale, replace(plan, rooms=doubted)),))
    traced = trace_sheet(store, 1, all=True, read=read)
    assert [r.number for r in traced.doubtful] == ["104"]
    assert "R104" not in store.job.rooms
    accept_traced(store, read, traced.doubtful)
    assert "R104" in store.job.rooms


def test_a_scale_region_is_traced_at_its_own_scale(store):
    outline = ((205.0, 325.0), (205.0, 730.0), (862.0, 730.0), (862.0, 325.0))
    region = ScaleRegion(id="part", sheet=1, outline_pt=outline)
    actions.set_scale_ratio(store, store.job.sheets[1], "1:60", region=region)
    rooms = {r.number: r for r in read_sheet_trace(store, 1).rooms()}
    assert rooms["104"].openings[0].width == pytest.approx(1.8288 * 60 / 48, rel=1e-3)
    assert rooms["107"].openings[0].width == pytest.approx(0.9144, rel=1e-3)


@pytest.mark.parametrize(("points", "every"), [((), False), ((PROCESS,), True)])
def test_points_or_all_but_not_both_nor_neither(store, points, every):
    with pytest.raises(InputError, match="asked for"):
        trace_sheet(store, 1, at=points, all=every)


def test_a_point_in_no_room_is_refused(store):
    with pytest.raises(InputError, match="no closed room was found round 2,2"):
        trace_sheet(store, 1, at=[(2.0, 2.0)])


def test_an_unknown_sheet_is_refused(store):
    with pytest.raises(InputError, match="there is no sheet 9"):
        trace_sheet(store, 9, all=True)


def test_a_sheet_without_a_scale_is_refused(tmp_path):
    with (
        job_with(tmp_path / "bare.takeoff", "facility-imperial.pdf", ratio="") as store,
        pytest.raises(CalibrationError, match="no scale yet"),
    ):
        trace_sheet(store, 1, all=True)


@pytest.fixture
def command(capsys):
    app = typer.Typer()
    app.command("trace")(trace)
    app.command("other")(lambda: None)
    group = typer.main.get_command(app)

    def call(*words):
        capsys.readouterr()
        code = run_command(lambda args: group.main(args, standalone_mode=False), ["trace", *map(str, words)])
        written = capsys.readouterr()
        return code, written.out, written.err

    return call


@pytest.fixture
def job(tmp_path):
    path = tmp_path / "trial.takeoff"
    job_with(path, "facility-imperial.pdf").close()
    return path


def test_the_command_writes_rooms_as_json_to_stdout_alone(job, command):
    code, out, _ = command(job, "1", "--at", "300,400", "--height", "3.0 m", "--json")
    assert code == 0
    value = json.loads(out)
    assert value["schema"] == "takeoff.trace/1"
    assert [(r["room"], r["number"], len(r["openings"]), len(r["columns"])) for r in value["rooms"]] == [
        ("R104", "104", 4, 2)
    ]
    with actions.open_job(job, **DONE) as store:
        assert "R104-walls" in store.job.runs


def test_the_command_tells_a_printed_room_that_was_not_read_and_what_mends_it(tmp_path, command):
    ink = Ink((720, 400), place, layered=True)
    filled(shapely.box(-0.01, -0.01, 5.0, 4.0))(ink)
    ink.text((2.0, 3.0), "STORE", 8.0, "A-ANNO")
    path = tmp_path / "open.takeoff"
    with job_on(path, ("plan.pdf", ink.data(rotate=0))) as store:
        actions.set_scale_ratio(store, store.job.sheets[1], "1:50")
    code, out, _ = command(path, "1", "--all", "--json")
    assert code == 0
    (lost,) = json.loads(out)["lost"]
    assert (lost["name"], lost["mend"]) == ("STORE", BY_WALL)
    _, _, err = command(path, "1", "--all")
    assert "No room: STORE at " in err
    assert BY_WALL in err


def test_the_command_tells_what_it_traced(job, command):
    code, out, err = command(job, "1", "--all", "--height", "9'-0\"")
    assert (code, out) == (0, "")
    assert "R104: 104 PROCESS, 4 sides, 4 openings, 2 columns" in err


def test_the_command_refuses_a_point_in_no_room(job, command):
    code, out, err = command(job, "1", "--at", "2,2")
    assert (code, out) == (2, "")
    assert "no closed room" in err
    assert err.count("\n") == 1


def test_a_room_takes_the_ceiling_height_printed_in_it_before_the_given_one(store):
    """The sample plan prints CLG 12'-0" in 104 and CLG 9'-0" in 101; a foot is 0.3048 m."""
    read = read_sheet_trace(store, 1)
    traced = trace_sheet(store, 1, all=True, height=3.0, ceilings=read.ceilings, read=read)
    heights = {id: room.height.points[0][1] for id, room in store.job.rooms.items() if room.height is not None}
    assert heights["R104"] == pytest.approx(12 * 0.3048)
    assert heights["R101"] == pytest.approx(9 * 0.3048)
    assert any("104 CLG 12'-0\"" in note for note in traced.notes)


def test_a_ceiling_that_slopes_gives_no_height_and_is_told(store):
    """The sample plan prints CLG 12'-0" W TO 9'-0" E in 107."""
    read = read_sheet_trace(store, 1)
    trace_sheet(store, 1, all=True, height=3.0, ceilings=read.ceilings, read=read)
    assert store.job.rooms["R107"].height is None
    assert any("CLG 12'-0\" W TO 9'-0\" E" in basis.text for basis in store.job.rooms["R107"].basis)


def test_a_room_with_a_height_keeps_it_whatever_is_printed(store):
    read = read_sheet_trace(store, 1)
    trace_sheet(store, 1, at=[PROCESS], height=3.0, read=read)
    store.do(Batch(title="", edits=[Remove(kind="run", id=id) for id in store.job.runs]))
    trace_sheet(store, 1, at=[PROCESS], ceilings=read.ceilings, read=read)
    assert store.job.rooms["R104"].height.points == ((0.0, 3.0),)


def test_rooms_new_to_the_job_take_system_and_cove(store):
    cove = Cove(height=0.1, toe=0.1, radius=0.02, thickness=0.006)
    trace_sheet(store, 1, at=[PROCESS], system="mat-hygienic", cove=cove)
    room = store.job.rooms["R104"]
    assert room.system == "mat-hygienic"
    assert room.cove == cove
    assert actions.is_traced(store.job, 1, read_sheet_trace(store, 1).room_at(PROCESS))
