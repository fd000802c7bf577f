"""Edits: what each changes, what it refuses, and that its change goes both ways."""

from __future__ import annotations

from dataclasses import replace

import pytest

from takeoff.job.changes import Change, ChangeEntry
from takeoff.job.edits import (
    AddSheets,
    Batch,
    PutOpening,
    PutProduct,
    PutRegion,
    PutRoom,
    PutRun,
    PutSystem,
    Remove,
    RemoveOpening,
    SetCalibration,
    SetSettings,
)
from takeoff.model.open_points import Basis, basis_of
from takeoff.model.plan import Calibration, ScaleRegion, Sheet, Source
from takeoff.model.systems import Product, Step, System
from takeoff.model.walls import HeightProfile, Opening, Room, Run
from tests.job.trying import after, refusal

DOOR = Opening(at=2.0, width=1.2, height=2.4, mark="D2")
SQUARE = ((0.0, 0.0), (50.0, 0.0), (50.0, 50.0), (0.0, 50.0))
SYSTEM = System(id="own", name="Own", summary="", steps=(Step(id="s1", kind="work", basis="net_area", name="Sand"),))


def test_sheets_are_added_with_their_plan_file(job):
    source = Source(sha256="ab" * 32, name="more.pdf", size=3)
    added = after(
        job, AddSheets(sources=(source,), sheets=(Sheet(id=3, source=source.sha256, page=1, width_pt=9, height_pt=9),))
    )
    assert list(added.sheets) == [1, 2, 3]
    assert added.sources[source.sha256] == source


def test_sheets_under_a_number_that_is_taken_are_refused(job):
    sheet = job.sheets[2]
    assert "sheet 2 already" in refusal(job, AddSheets(sources=(), sheets=(sheet,))).message
    twice = replace(sheet, id=3)
    assert "sheet 3 already" in refusal(job, AddSheets(sources=(), sheets=(twice, twice))).message


def test_a_sheet_of_a_plan_file_that_is_not_there_is_refused(job):
    sheet = Sheet(id=3, source="ab" * 32, page=1, width_pt=9, height_pt=9)
    assert "not in the job" in refusal(job, AddSheets(sources=(), sheets=(sheet,))).message


def test_a_calibration_is_kept_by_sheet_and_region(job):
    on_sheet = Calibration(sheet=2, mx=0.02, my=0.02)
    in_region = Calibration(sheet=1, region="detail", mx=0.001, my=0.001)
    assert after(job, SetCalibration(calibration=on_sheet)).calibrations["2"] == on_sheet
    assert after(job, SetCalibration(calibration=in_region)).calibrations["1/detail"] == in_region


@pytest.mark.parametrize(
    ("sheet", "region", "said"),
    [(9, None, 'no sheet "9"'), (1, "other", 'no region "other"'), (2, "detail", "on another sheet")],
)
def test_a_calibration_of_what_is_not_there_is_refused(job, sheet, region, said):
    edit = SetCalibration(calibration=Calibration(sheet=sheet, region=region, mx=0.02, my=0.02))
    assert said in refusal(job, edit).message


@pytest.mark.parametrize(
    "outline",
    [
        (),
        ((0.0, 0.0), (9.0, 9.0)),
        ((0.0, 0.0), (9.0, 9.0), (9.0, 0.0), (0.0, 9.0)),
        ((0.0, 0.0), (9.0, 9.0), (4.0, 4.0)),
        ((0.0, 0.0), (9.0, 0.0), (float("nan"), 9.0)),
        ((0.0, 0.0), (9.0, 0.0), (9.0, float("inf"))),
    ],
    ids=["empty", "two points", "crossing itself", "without area", "undefined", "infinite"],
)
def test_a_scale_region_that_holds_no_area_is_refused(job, outline):
    edit = PutRegion(region=ScaleRegion(id="b", sheet=1, outline_pt=outline))
    assert refusal(job, edit).where == "outline_pt"


def test_a_scale_region_keeps_to_its_sheet(job):
    moved = ScaleRegion(id="detail", sheet=2, outline_pt=SQUARE)
    assert "is on sheet 1" in refusal(job, PutRegion(region=moved)).message
    assert 'no sheet "9"' in refusal(job, PutRegion(region=replace(moved, id="b", sheet=9))).message
    redrawn = replace(moved, sheet=1)
    assert after(job, PutRegion(region=redrawn)).regions == {"detail": redrawn}


def test_a_room_and_a_run_are_added_or_replaced(job):
    room = Room(id="R2", name="Wash")
    assert list(after(job, PutRoom(room=room)).rooms.values()) == [job.rooms["R1"], room]
    renamed = replace(job.rooms["R1"], name="Packing")
    assert after(job, PutRoom(room=renamed)).rooms == {"R1": renamed}
    run = Run(id="b", sheet=2, points_pt=((0.0, 0.0), (9.0, 0.0)))
    assert after(job, PutRun(run=run)).runs == {**job.runs, "b": run}


def test_a_run_on_a_sheet_or_in_a_room_that_is_not_there_is_refused_with_those_there_are(job):
    run = job.runs["a"]
    assert "Known: 1, 2." in refusal(job, PutRun(run=replace(run, sheet=3))).remedy
    assert "Known: R1." in refusal(job, PutRun(run=replace(run, room="R9"))).remedy


def test_openings_are_added_replaced_and_removed(job):
    first = job.runs["a"].openings[0]
    added = after(job, PutOpening(run="a", opening=DOOR))
    assert added.runs["a"].openings == (first, DOOR)
    assert after(added, PutOpening(run="a", opening=DOOR, index=0)).runs["a"].openings == (DOOR, DOOR)
    assert after(added, RemoveOpening(run="a", index=0)).runs["a"].openings == (DOOR,)


@pytest.mark.parametrize("index", [-1, 1])
def test_an_opening_that_is_not_there_is_neither_replaced_nor_removed(job, index):
    assert refusal(job, PutOpening(run="a", opening=DOOR, index=index)).where == "index"
    assert refusal(job, RemoveOpening(run="a", index=index)).where == "index"
    assert "Known: a." in refusal(job, RemoveOpening(run="b", index=0)).remedy


def test_systems_products_and_settings_are_put(job):
    product = Product(id="p", name="Primer", unit="L", packs=())
    assert after(job, PutProduct(product=product)).products == {"p": product}
    assert after(job, PutSystem(system=SYSTEM)).systems == {"own": SYSTEM}
    settings = replace(job.settings, units="metric", currency="EUR")
    assert after(job, SetSettings(settings=settings)).settings == settings


def test_what_nothing_needs_is_removed(job):
    bare = after(job, Remove(kind="run", id="a"))
    assert bare.runs == {}
    assert after(bare, Remove(kind="room", id="R1")).rooms == {}
    assert list(after(job, Remove(kind="calibration", id="1/detail")).calibrations) == ["1"]
    with_system = after(job, PutSystem(system=SYSTEM))
    assert after(with_system, Remove(kind="system", id="own")).systems == {}


def test_a_scale_region_goes_with_its_scale(job):
    gone = after(job, Remove(kind="region", id="detail"))
    assert (gone.regions, list(gone.calibrations)) == ({}, ["1"])


def test_what_is_in_use_is_not_removed_and_its_users_are_named(job):
    assert "wall a" in refusal(job, Remove(kind="room", id="R1")).message
    step = Step(id="s1", kind="coat", basis="net_area", name="Prime", product="p")
    used = after(job, PutProduct(product=Product(id="p", name="Primer", unit="L", packs=())))
    used = after(used, PutSystem(system=replace(SYSTEM, steps=(step,))))
    used = after(used, PutRun(run=replace(used.runs["a"], system="own")))
    used = after(used, PutRoom(room=replace(used.rooms["R1"], system="own")))
    assert "room R1, wall a" in refusal(used, Remove(kind="system", id="own")).message
    assert "system own" in refusal(used, Remove(kind="product", id="p")).message


@pytest.mark.parametrize("kind", ["sheet", "source", "settings", "nonsense"])
def test_what_undo_alone_takes_back_is_not_removed(job, kind):
    assert refusal(job, Remove(kind=kind, id="1")).where == "kind"


def test_a_batch_is_one_change_from_the_first_state_to_the_last(job):
    room, run = Room(id="R2"), replace(job.runs["a"], room="R2")
    edit = Batch(title="Two", edits=(PutRoom(room=room), PutRun(run=run), PutOpening(run="a", opening=DOOR)))
    changed = after(job, edit)
    assert len(changed.runs["a"].openings) == 2
    assert edit.apply(job) == Change(
        "Two", (ChangeEntry("room", "R2", None, room), ChangeEntry("run", "a", job.runs["a"], changed.runs["a"]))
    )


def test_a_batch_with_one_bad_edit_changes_nothing(job):
    edit = Batch(title="Two", edits=(PutRoom(room=Room(id="R2")), Remove(kind="run", id="b")))
    assert 'no run "b"' in refusal(job, edit).message
    assert "R2" not in job.rooms


@pytest.mark.parametrize("width", ["measured", "given"])
def test_openings_and_heights_stay_where_they_are_on_the_plan_when_the_scale_becomes_another(job, width):
    at_half = Calibration(sheet=2, mx=0.01, my=0.01)
    basis = (Basis(of="width", taken=1.0, how="measured", low=0.9, high=1.1),) if width == "measured" else ()
    door = Opening(at=2.0, width=1.0, height=2.0, basis=basis)
    rising = HeightProfile(points=((0.0, 3.0), (4.0, 5.0)))
    run = Run(id="z", sheet=2, points_pt=((6.0, 600.0), (606.0, 600.0)), height=rising, openings=(door,))
    before = after(job, Batch(title="", edits=(SetCalibration(calibration=at_half), PutRun(run=run))))
    changed = SetCalibration(calibration=Calibration(sheet=2, mx=0.02, my=0.02))
    found = after(before, changed)
    wall, opening = found.runs["z"], found.runs["z"].openings[0]
    # the wall of 600 points was 6 m and is 12 m: what was at a third of it still is
    assert (opening.at, wall.height.points) == (4.0, ((0.0, 3.0), (8.0, 5.0)))
    assert opening.width == (2.0 if width == "measured" else 1.0)
    held = basis_of(opening, "width")
    assert held.is_open == (width == "given")
    assert (held.low, held.high) == ((1.8, 2.2) if width == "measured" else (None, None))
    again = after(found, SetCalibration(calibration=at_half)).runs["z"]
    assert (again.openings[0].at, again.height) == (2.0, rising)


def test_a_scale_that_is_set_for_the_first_time_moves_nothing(job):
    bare = replace(job, calibrations={})
    assert after(bare, SetCalibration(calibration=Calibration(sheet=1, mx=0.02, my=0.02))).runs == job.runs


def test_prices_of_the_job_are_not_renamed_to_another_currency(job):
    priced = replace(job, products={"p": Product(id="p", name="P", unit="L", packs=())})
    euros = replace(job.settings, currency="EUR")
    refused = refusal(priced, SetSettings(settings=euros))
    assert "are in USD, and would stand there as EUR" in refused.message
    assert after(priced, SetSettings(settings=euros, has_prices=True)).settings == euros
    assert after(job, SetSettings(settings=euros)).settings == euros  # it has no prices of its own
