"""Laws that hold for every sequence of edits: undo leads back, redo leads forth, files and JSON give the same job."""

from __future__ import annotations

from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import event, given, reject, settings
from hypothesis import strategies as st

from takeoff.errors import EditError
from takeoff.exchange.job_json import job_from_json, job_to_json
from takeoff.job import edits as job_edits
from takeoff.job import wall_edits
from takeoff.job.changes import decode, decode_change, encode, encode_change
from takeoff.job.job import JobSettings
from takeoff.job.store import JobStore
from takeoff.model.plan import Calibration, KnownDimension, ScaleRegion
from takeoff.model.systems import Pack, Product, Step, System
from takeoff.model.walls import Cove, HeightProfile, Opening, Room, Run

DONE = {"sign": lambda: ("w", "t")}

texts = st.text(st.characters(codec="utf-8"), max_size=8)
ids = st.sampled_from(["a", "b", "R1", "detail", 'opening 1 - at `$.x`"', "ü/′"])
lengths = st.floats(0.01, 2.0)
coordinates = st.floats(-1e4, 1e4)
points = st.tuples(coordinates, coordinates)
heights = st.builds(HeightProfile.constant, st.floats(2.5, 12.0)) | st.builds(
    lambda a, b, c: HeightProfile(points=((0.0, a), (1.0, b), (1.0, c), (2.0, c))), lengths, lengths, lengths
)
coves = st.builds(lambda h, r: Cove(height=h, toe=h, radius=r * h, thickness=0.01), lengths, st.floats(0.0, 1.0))
openings = st.builds(
    Opening,
    at=st.floats(0.0, 50.0),
    width=lengths,
    height=lengths,
    sill=lengths,
    count=st.integers(1, 3),
    spacing=st.none() | lengths,
    kind=st.sampled_from(["door", "window", "pass-through", "louvre", "equipment"]),
    coated=st.sampled_from([(), ("jamb",), ("jamb", "head", "sill")]),
    mark=texts,
)
rooms = st.builds(
    Room, id=ids, name=texts, number=texts, height=st.none() | heights, system=st.none() | ids, cove=st.none() | coves
)


@st.composite
def runs(draw: st.DrawFn) -> Run:
    line = tuple(draw(st.lists(points, min_size=3, max_size=6, unique=True)))
    return Run(
        id=draw(ids),
        sheet=draw(st.sampled_from([1, 2, 2, 3])),
        room=draw(st.none() | ids),
        points_pt=line,
        bulges=draw(st.just(()) | st.tuples(*[st.floats(-2.0, 2.0)] * len(line))),
        closed=draw(st.booleans()),
        face=draw(st.sampled_from(["left", "right", "both"])),
        thickness=draw(lengths),
        height=draw(st.none() | st.builds(HeightProfile.constant, st.floats(2.5, 12.0))),
        system=draw(st.none() | ids),
        cove=draw(st.none() | coves),
        openings=tuple(draw(st.lists(openings, max_size=3))),
    )


calibrations = st.builds(
    Calibration,
    sheet=st.sampled_from([1, 2, 3]),
    region=st.none() | ids,
    mx=lengths,
    my=lengths,
    dimensions=st.lists(st.builds(KnownDimension, start_pt=points, end_pt=points, length=lengths), max_size=2).map(
        tuple
    ),
    doubts=st.lists(texts, max_size=2).map(tuple),
)
regions = st.builds(
    lambda id, sheet, x, y, a, b: ScaleRegion(id=id, sheet=sheet, outline_pt=((x, y), (x + a, y), (x, y + b))),
    ids,
    st.sampled_from([1, 2, 3]),
    *[st.floats(0.0, 500.0)] * 2,
    *[st.floats(1.0, 99.0)] * 2,
)
steps = st.builds(Step, id=ids, name=texts, kind=st.just("work"), basis=st.just("net_area"), product=st.none() | ids)
systems = st.builds(System, id=ids, name=texts, summary=texts, steps=st.lists(steps, max_size=2).map(tuple))
packs = st.builds(Pack, name=texts, size=lengths, price=lengths)
products = st.builds(Product, id=ids, name=texts, unit=st.just("L"), packs=st.lists(packs, max_size=2).map(tuple))
job_settings = st.builds(
    JobSettings, name=st.sampled_from(["Cold store", "ü"]), units=st.sampled_from(["imperial", "metric"])
)
few = st.lists(ids, max_size=2).map(tuple)
single_edits = st.one_of(
    st.builds(job_edits.PutRoom, room=rooms),
    st.builds(job_edits.PutRun, run=runs()),
    st.builds(job_edits.PutRegion, region=regions),
    st.builds(job_edits.SetCalibration, calibration=calibrations),
    st.builds(job_edits.PutOpening, run=ids, opening=openings, index=st.none() | st.integers(0, 2)),
    st.builds(job_edits.RemoveOpening, run=ids, index=st.integers(0, 2)),
    st.builds(wall_edits.MovePoint, run=ids, index=st.integers(0, 3), to_pt=points),
    st.builds(wall_edits.AddPoint, run=ids, near_pt=points),
    st.builds(wall_edits.RemovePoint, run=ids, index=st.integers(0, 3)),
    st.builds(wall_edits.BendWall, run=ids, index=st.integers(0, 3), through_pt=points),
    st.builds(wall_edits.RepeatOpening, run=ids, index=st.integers(0, 2), count=st.integers(0, 3), spacing=lengths),
    st.builds(wall_edits.AddWalls, runs=st.lists(runs(), max_size=2).map(tuple)),
    st.builds(wall_edits.MoveWalls, runs=few, by_pt=points),
    st.builds(wall_edits.SplitWall, run=ids, at_pt=points),
    *(
        st.builds(kind, runs=few)
        for kind in (
            wall_edits.FlipWalls,
            wall_edits.CoatBothFaces,
            wall_edits.MirrorWalls,
            wall_edits.DuplicateWalls,
            wall_edits.JoinWalls,
            wall_edits.RemoveWalls,
        )
    ),
    st.builds(wall_edits.RemoveRoomWithWalls, room=ids),
    st.builds(job_edits.PutSystem, system=systems),
    st.builds(job_edits.PutProduct, product=products),
    st.builds(job_edits.SetSettings, settings=job_settings),
    st.builds(
        job_edits.Remove,
        kind=st.sampled_from(["run", "run", "room", "region", "calibration", "system", "product"]),
        id=ids,
    ),
)
edits = single_edits | st.builds(job_edits.Batch, title=texts, edits=st.lists(single_edits, max_size=3).map(tuple))


@contextmanager
def new_file(job, plans):
    with TemporaryDirectory() as folder:
        path = Path(folder) / "job"
        with JobStore.create(path, job, plans, **DONE) as store:
            yield path, store


def orders(job):
    return [list(getattr(job, name)) for name in ("sheets", "regions", "calibrations", "rooms", "runs", "systems")]


def done(store, wanted):
    """Do the edits that fit; the states from the first to the last. One that does not fit changes nothing."""
    states = [store.job]
    for edit in wanted:
        try:
            store.do(edit)
        except EditError:
            assert store.job is states[-1]
            continue
        states.append(store.job)
    event(f"{min(len(states) - 1, 6)} edits fit")
    return states


@given(st.lists(edits, max_size=10))
@settings(deadline=None, max_examples=25)
def test_undoing_all_leads_back_state_by_state_and_redoing_all_forth(job, plans, wanted):
    with new_file(job, plans) as (_, store):
        states = done(store, wanted)
        for state in reversed(states[:-1]):
            store.undo()
            assert store.job == state
        assert store.undo() is None
        assert store.job == job
        for state in states[1:]:
            store.redo()
            assert store.job == state
        assert store.redo() is None


@given(st.lists(edits, max_size=8), st.lists(st.sampled_from(["undo", "redo", "edit"]), max_size=8), edits)
@settings(deadline=None, max_examples=25)
def test_a_file_opened_again_is_the_job_that_was_closed(job, plans, wanted, moves, one_more):
    with new_file(job, plans) as (path, store):
        done(store, wanted)
        for move in moves:
            if move == "edit":
                done(store, [one_more])
            else:
                getattr(store, move)()
        with JobStore.open(path, **DONE) as again:
            assert again.job == store.job
            assert orders(again.job) == orders(store.job)
            assert (again.can_undo, again.can_redo) == (store.can_undo, store.can_redo)
            assert again.history() == store.history()
            while again.can_redo:
                again.redo()
            while again.can_undo:
                again.undo()
            assert again.job == job


@given(st.lists(edits, max_size=10))
@settings(deadline=None, max_examples=25)
def test_a_job_goes_through_json_without_loss(job, plans, wanted):
    with new_file(job, plans) as (path, store):
        states = done(store, wanted)
        text = job_to_json(store)
        read, sources, history = job_from_json(text)
        assert read == states[-1]
        assert orders(read) == orders(states[-1])
        assert sources == plans
        with JobStore.create(path.with_name("imported"), read, sources, history=history, **DONE) as imported:
            assert imported.job == states[-1]
            assert job_to_json(imported) == text
            for state in reversed(states[:-1]):
                imported.undo()
                assert imported.job == state


@given(edits)
@settings(deadline=None, max_examples=60)
def test_every_change_goes_through_the_journal_without_loss(job, edit):
    try:
        change = edit.apply(job)
    except EditError:
        reject()
    read = decode_change(change.label, encode_change(change))
    assert read == change
    assert job_edits.apply_change(job, read) == job_edits.apply_change(job, change)
    assert read.reversed().reversed() == read


@given(runs())
@settings(deadline=None, max_examples=40)
def test_every_run_goes_through_its_stored_form_without_loss(run):
    assert decode("run", encode(run)) == run


@given(st.sampled_from([float("nan"), float("inf"), -float("inf")]))
@settings(deadline=None, max_examples=20)
def test_no_calibration_with_a_number_that_is_not_finite_has_a_stored_form(number):
    with pytest.raises(EditError):
        encode(Calibration(sheet=1, mx=1.0, my=1.0, u_scale=number))
