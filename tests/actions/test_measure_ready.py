"""Figures that follow a job while it is edited are those of measuring it anew."""

from __future__ import annotations

import random
from dataclasses import replace

from takeoff.actions.points.deriving import open_points
from takeoff.actions.quantities import measure_ready
from takeoff.job.job import Job, JobSettings
from takeoff.measure.kept import Kept
from takeoff.model.plan import Calibration, ScaleRegion
from takeoff.model.walls import HeightProfile, Opening, Room, Run


def a_job() -> Job:
    """Six rooms of four runs on sheet 1, and one run on sheet 2, which has no scale yet."""
    runs, rooms = {}, {}
    for n in range(6):
        rooms[f"r{n}"] = Room(id=f"r{n}", height=HeightProfile.constant(3.0), system="thin")
        x = n * 300.0
        corners = [(x, 0.0), (x + 280.0, 0.0), (x + 280.0, 280.0), (x, 280.0)]
        for k in range(4):
            line = (corners[k], corners[(k + 1) % 4])
            id = f"r{n}-{k}"
            runs[id] = Run(id=id, sheet=1, room=f"r{n}", points_pt=line, face="right")
    runs["far"] = Run(id="far", sheet=2, room="r0", points_pt=((0.0, 0.0), (100.0, 0.0)))
    scale = Calibration(sheet=1, mx=0.0169333333, my=0.0169333333, u_scale=0.002, doubts=("only one dimension",))
    return Job(settings=JobSettings(name="works"), runs=runs, rooms=rooms, calibrations={"1": scale})


def edited(job: Job, luck: random.Random) -> Job:
    """Change one thing, also for the worse: a run may then have no height, or an opening off it."""
    id = luck.choice(list(job.runs))
    run = job.runs[id]
    what = luck.choice(["vertex", "vertex", "opening", "remove", "add", "room", "scale", "region", "rule"])
    if what == "vertex":
        (x, y), end = run.points_pt
        return replace(job, runs={**job.runs, id: replace(run, points_pt=((x + luck.choice([1.0, -30.0]), y), end))})
    if what == "opening":
        opening = Opening(at=luck.choice([0.6, 2.0, 40.0]), width=0.9, height=2.1)
        return replace(job, runs={**job.runs, id: replace(run, openings=(opening,))})
    if what == "remove" and len(job.runs) > 4:
        return replace(job, runs={k: v for k, v in job.runs.items() if k != id})
    if what == "room":
        height = luck.choice([None, HeightProfile.constant(2.5)])
        return replace(job, rooms={**job.rooms, "r2": replace(job.rooms["r2"], height=height)})
    if what == "scale":
        second = Calibration(sheet=2, mx=0.02, my=0.02)
        return replace(job, calibrations={**job.calibrations, "2": second})
    if what == "region":
        outline = ((1190.0, -20.0), (1490.0, -20.0), (1490.0, 300.0), (1190.0, 300.0))
        regions = {"detail": ScaleRegion(id="detail", sheet=1, outline_pt=outline)} if not job.regions else {}
        return replace(job, regions=regions)
    if what == "rule":
        return replace(job, settings=replace(job.settings, rule=luck.choice(["exact-net", "din18363"])))
    new = f"new-{luck.randint(0, 10**9)}"
    return replace(job, runs={**job.runs, new: replace(run, id=new)})


def check_equal_to_anew(kept: Kept, job: Job) -> int:
    """Compare three ways; return how many runs wait for something."""
    for by in ("room", "run", "system"):
        found = measure_ready(job, by=by, kept=kept)
        assert found == measure_ready(job, by=by)
    return len(found[1])


def test_figures_after_any_edits_are_those_of_measuring_anew():
    waited = []
    for seed in range(4):
        luck, job, kept = random.Random(seed), a_job(), Kept()
        for _ in range(12):
            waited.append(check_equal_to_anew(kept, job))
            job = edited(job, luck)
    assert max(waited) > 2


def test_a_run_on_a_sheet_without_scale_waits_until_it_has_one():
    job, kept = a_job(), Kept()
    before, pending = measure_ready(job, kept=kept)
    assert [p.run for p in pending] == ["far"]
    scaled = replace(job, calibrations={**job.calibrations, "2": Calibration(sheet=2, mx=0.02, my=0.02)})
    after, pending = measure_ready(scaled, kept=kept)
    assert pending == ()
    assert [face.elevation.run for face in after.faces if face not in before.faces] == ["far"]


def test_an_edit_of_one_run_measures_no_other_room():
    job, kept = a_job(), Kept()
    before, _ = measure_ready(job, kept=kept)
    opening = Opening(at=2.0, width=0.9, height=2.1)
    cut = replace(job, runs={**job.runs, "r3-1": replace(job.runs["r3-1"], openings=(opening,))})
    after, _ = measure_ready(cut, kept=kept)
    assert {b.elevation.room for a, b in zip(before.faces, after.faces, strict=True) if a is not b} == {"r3"}


def test_a_wall_of_a_room_that_is_traced_backwards_is_told_with_what_it_meets():
    job = a_job()
    runs = {id: run for id, run in job.runs.items() if id.startswith("r1")}
    job = replace(job, runs=runs)
    assert not [p for p in open_points(job, has_stakes=False).open if "the other way" in p.why]
    backwards = replace(runs["r1-2"], points_pt=runs["r1-2"].points_pt[::-1])
    job = replace(job, runs={**runs, "r1-2": backwards})
    (point,) = [p for p in open_points(job, has_stakes=False).open if p.key.startswith("facing:r1-2")]
    assert point.why.startswith("Wall C of r1 meets wall B of r1 and wall D of r1 with")
    assert point.where.run == "r1-2"


def test_walls_of_a_room_that_almost_meet_are_an_open_point():
    job = a_job()
    runs = {id: run for id, run in job.runs.items() if id.startswith("r1")}
    (x, y), end = runs["r1-2"].points_pt
    # 5 points at 1:48 are 85 mm; ends meet within 2 points
    job = replace(job, runs={**runs, "r1-2": replace(runs["r1-2"], points_pt=((x - 5.0, y), end))})
    (point,) = [p for p in open_points(job, has_stakes=False).open if p.key.startswith("gap:")]
    assert "no corner is counted there" in point.why
    assert not [p for p in open_points(replace(job, runs=runs), has_stakes=False).open if p.key.startswith("gap:")]
