"""Time and memory of measuring 10,000 runs, and of one edit among 5,000: python tests/bench/measure.py."""

from __future__ import annotations

import gc
import random
import statistics
import sys
import time
from dataclasses import dataclass, replace

import shapely
from table import peak_of_child, print_table, say_peak, timed

from takeoff.actions.quantities import measure_ready
from takeoff.job.job import Job, JobSettings
from takeoff.measure.develop import develop
from takeoff.measure.faces import MeasuredFace, measure_faces
from takeoff.measure.kept import Kept
from takeoff.measure.rules import MeasureSettings
from takeoff.measure.totals import summarise
from takeoff.model.plan import Calibration
from takeoff.model.walls import Cove, HeightProfile, Opening, Room, Run

RUNS = 10_000
EDITS = 30
RATIO_LIMIT = 3.0
EDIT_LIMITS_MS = {1_000: 20.0, 10_000: 150.0}
SCALE = Calibration(sheet=1, mx=0.0169333333, my=0.0169333333, u_scale=0.002)
SETTINGS = MeasureSettings()


@dataclass
class Plan:
    """Runs, rooms and calibrations."""

    runs: dict[str, Run]
    rooms: dict[str, Room]

    @property
    def scales(self) -> dict[str, Calibration]:
        """Calibration by run id."""
        return dict.fromkeys(self.runs, SCALE)


def make_plan(count: int) -> Plan:
    """Rooms of four runs that meet in corners, some with a fifth that ends against another; three openings a run."""
    luck = random.Random(3)
    plan = Plan({}, {})
    cove = Cove(height=0.1, toe=0.1, radius=0.025, thickness=0.006)
    while len(plan.runs) < count:
        n = len(plan.rooms)
        room = f"room-{n}"
        system = luck.choice(["mat", "thin", "flake"])
        plan.rooms[room] = Room(id=room, height=HeightProfile.constant(3.0), system=system, cove=cove)
        x, y = n % 50 * 400.0, n // 50 * 400.0
        wide, deep = luck.uniform(270, 380), luck.uniform(270, 380)
        corners = [(x, y), (x + wide, y), (x + wide, y + deep), (x, y + deep)]
        lines = [(corners[k], corners[(k + 1) % 4]) for k in range(4)]
        if n % 5 == 0:
            lines.append(((x + wide / 2, y + deep), (x + wide / 2, y + 5.0)))
        for start, end in lines:
            id = f"run-{len(plan.runs)}"
            plan.runs[id] = Run(
                id=id, sheet=1, room=room, points_pt=(start, end), face="right", openings=three_openings(luck)
            )
    plan.runs = dict(list(plan.runs.items())[:count])
    return plan


def three_openings(luck: random.Random) -> tuple[Opening, ...]:
    """Make a door, a window and a pass-through side by side on four metres."""
    return (
        Opening(at=luck.uniform(0.6, 0.9), width=0.9, height=2.1),
        Opening(at=luck.uniform(2.0, 2.3), width=1.2, height=1.0, sill=0.9, kind="window"),
        Opening(at=luck.uniform(3.4, 3.7), width=0.6, height=0.6, sill=1.2, kind="pass-through"),
    )


def plain_areas(plan: Plan, lengths: list[float]) -> float:
    """Net area by a plain loop: a wall less the union of its openings, run by run, and nothing else."""
    total = 0.0
    for run, length in zip(plan.runs.values(), lengths, strict=True):
        wall = shapely.box(0.0, 0.0, length, 3.0)
        cuts = [shapely.box(o.at - o.width / 2, o.sill, o.at + o.width / 2, o.sill + o.height) for o in run.openings]
        total += wall.difference(shapely.unary_union(cuts)).area
    return total


def lengths_of(plan: Plan) -> list[float]:
    """Lengths of the runs in m, made before the clock starts."""
    return [develop(run, plan.rooms[run.room or ""], SCALE)[0].length for run in plan.runs.values()]


def all_figures(plan: Plan) -> tuple[MeasuredFace, ...]:
    """Elevations and every quantity of every run."""
    return measure_faces(list(plan.runs.values()), plan.rooms, plan.scales, settings=SETTINGS)


def edited(plan: Plan, luck: random.Random) -> Plan:
    """Move a vertex or change an opening of one run."""
    id = luck.choice(list(plan.runs))
    run = plan.runs[id]
    if luck.random() < 0.5:
        start, (x, y) = run.points_pt
        changed = replace(run, points_pt=(start, (x + luck.uniform(-1, 1), y + luck.uniform(-1, 1))))
    else:
        changed = replace(run, openings=(replace(run.openings[0], width=luck.uniform(0.8, 1.0)), *run.openings[1:]))
    return replace(plan, runs={**plan.runs, id: changed})


def time_edits(plan: Plan) -> tuple[list[float], float]:
    """Seconds from each edited job to its faces and all totals, and of the first time when all is new."""
    luck, kept = random.Random(7), Kept()
    settings, scales = JobSettings(name="bench"), {"1": SCALE}
    job = Job(settings=settings, runs=plan.runs, rooms=plan.rooms, calibrations=scales)

    def figures() -> tuple[MeasuredFace, ...]:
        measured, _ = measure_ready(job, by="room", kept=kept)
        for by in ("run", "system"):
            summarise(measured.faces, by=by, rooms=job.rooms, rule=SETTINGS.rule)
        return measured.faces

    start = time.process_time()
    figures()
    first = time.process_time() - start
    seconds = []
    for _ in range(EDITS):
        plan = edited(plan, luck)
        job = replace(job, runs=plan.runs)
        start = time.process_time()
        faces = figures()
        gc.collect(0)
        seconds.append(time.process_time() - start)
    assert faces == all_figures(plan)
    return seconds, first


def bench_whole(count: int) -> None:
    """Print the table of measuring everything."""
    names = ["plain loop, net areas alone", "all figures", "  and totals by room"]
    peaks = {name: peak_of_child(__file__, name, str(count)) for name in names[:2]}
    plan = make_plan(count)
    lengths = lengths_of(plan)
    assert abs(plain_areas(plan, lengths) - sum(f.quantities.net_area for f in all_figures(plan))) < 1e-6

    def with_totals() -> object:
        return summarise(all_figures(plan), by="room", rooms=plan.rooms, rule=SETTINGS.rule)

    cases = {names[0]: lambda: plain_areas(plan, lengths), names[1]: lambda: all_figures(plan), names[2]: with_totals}
    seconds = timed(cases, rounds=5)
    base = seconds[names[0]]
    rows = []
    for name in names:
        ratio = statistics.median(s / b for s, b in zip(seconds[name], base, strict=True))
        peak = f"{peaks[name]:.0f}" if name in peaks else ""
        limit = f"{RATIO_LIMIT:.2f}" if name == names[1] else ""
        median, best = statistics.median(seconds[name]), min(seconds[name])
        rows.append([name, f"{median * 1e3:.0f}", f"{best * 1e3:.0f}", f"{ratio:.2f}", limit, peak])
    title = f"{count:,} runs with three openings each; processor time, ratio is the median of the rounds"
    print_table(title, ["case", "median ms", "best ms", "ratio", "limit", "peak MiB"], rows)


def bench_edits() -> None:
    """Print the table of one edit in jobs of several sizes."""
    rows = []
    for count, limit in EDIT_LIMITS_MS.items():
        seconds, first = time_edits(make_plan(count))
        ms = sorted(s * 1e3 for s in seconds)
        peak = peak_of_child(__file__, "edits", str(count))
        times = [f"{t:.1f}" for t in (statistics.median(ms), ms[-1])]
        rows.append([f"{count:,}", *times, f"{limit:.0f}", f"{first * 1e3:.0f}", f"{peak:.0f}"])
    title = f"One edit to faces and all totals by room, run and system, processor time; {EDITS} edits"
    print_table(title, ["runs", "median ms", "worst ms", "limit", "first time, all runs", "peak MiB"], rows)


def in_child(case: str, count: int) -> None:
    """Do one case and print the peak of memory."""
    plan = make_plan(count)
    kept: object
    if case == "edits":
        kept = time_edits(plan)
    elif case == "all figures":
        kept = all_figures(plan)
    else:
        kept = plain_areas(plan, lengths_of(plan))
    say_peak()
    del kept


if __name__ == "__main__":
    if len(sys.argv) == 3:
        in_child(sys.argv[1], int(sys.argv[2]))
    else:
        bench_whole(RUNS)
        bench_edits()
