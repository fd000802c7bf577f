from __future__ import annotations

from dataclasses import replace

import numpy as np

from takeoff.actions.given import openings_like
from takeoff.job.job import Job
from takeoff.revise.carry import CarriedRun, carry_run
from takeoff.revise.changes import Differences, SheetChange
from takeoff.revise.drawn_walls import NewWall, find_new_walls, lines_of_other_looks, new_lines_in_rooms
from takeoff.revise.registration import Floats, Registration
from takeoff.revise.sides import make_scene
from takeoff.trace.drawing.linework import Linework
from tests.revise.conftest import Drawing

SAME = Registration(
    matrix=(1, 0, 0, 0, 1, 0), kind="similarity", method="linework", pairs=900, share=1, rms_pt=0, u=1e-5
)  # fmt: skip


def found(drawing: Drawing, job: Job, lines: Floats, *, like: str) -> tuple[NewWall, ...]:
    """New walls where lines were added in the pen of the first path on a layer."""
    old = drawing.linework
    path = next(p for p in range(old.path_count) if old.layer_name(p) == like)
    new = replace(
        old, lines=np.concatenate([old.lines, lines]),
        line_path=np.concatenate([old.line_path, np.full(len(lines), path, np.int64)]),
    )  # fmt: skip
    scale = job.calibrations["1"]
    return find_new_walls(old, new, SAME, carried(old, new, job), scale=scale, tolerance_pt=0.4, focus_pt=SHEET)


def carried(old: Linework, new: Linework, job: Job) -> list[CarriedRun]:
    scale = job.calibrations["1"]
    scene = make_scene(old.pieces.segments, new.pieces.segments, scale, 0.4)
    return [
        carry_run(r, SAME, scene, scale=scale, sheet=2, like=openings_like((), "metric")) for r in job.runs.values()
    ]


SHEET = (0.0, 0.0, 3000.0, 3000.0)
# a partition in the store 107, 10 ft long and 6 in thick at 18 points to the foot
PARTITION = np.array([[1400.0, 560.0, 1580.0, 560.0], [1400.0, 569.0, 1580.0, 569.0], [1400.0, 560.0, 1400.0, 569.0]])


def test_a_new_partition_is_found_in_its_room(drawings: dict[str, Drawing], traced: dict[str, Job]) -> None:
    (wall,) = found(drawings["A"], traced["A"], PARTITION, like="A-WALL")
    assert wall.runs == ("107-walls",)
    assert abs(wall.length - 10 * 0.3048) < 1e-6


def test_a_new_pier_is_one_wherever_it_stands_but_for_lines_in_a_pen_that_draws_furniture_too(
    drawings: dict[str, Drawing], traced: dict[str, Job]
) -> None:
    # 1 ft square in the middle of the store; an arrow's head as long is 1/4 ft wide
    corners = np.array([[1400.0, 560.0], [1418.0, 560.0], [1418.0, 578.0], [1400.0, 578.0]])
    pier = np.hstack([corners, np.roll(corners, -1, axis=0)])
    drawing, slim = drawings["A"], pier * (1.0, 0.25, 1.0, 0.25) + (0.0, 420.0, 0.0, 420.0)
    bench = PARTITION + np.array((0.0, 60.0, 0.0, 60.0))
    for lines, is_filled, before, count in (
        (pier, True, None, 1), (pier, False, None, 1), (slim, True, None, 0),
        (pier, False, bench, 0), (pier, True, bench, 1),
    ):  # fmt: skip
        linework = replace(drawing.linework, filled=np.full_like(drawing.linework.filled, is_filled))
        if before is not None:
            path = next(p for p in range(linework.path_count) if linework.layer_name(p) == "A-WALL")
            drawn, paths = np.concatenate([linework.lines, before]), np.full(len(before), path, np.int64)
            linework = replace(linework, lines=drawn, line_path=np.concatenate([linework.line_path, paths]))
        walls = found(replace(drawing, linework=linework), traced["A"], lines, like="A-WALL")
        assert [(wall.runs, wall.stands_free) for wall in walls] == [(("107-walls",), False)] * count


def test_a_solid_pier_in_a_picture_is_a_new_wall_and_letters_are_none(traced: dict[str, Job]) -> None:
    job = traced["A"]
    scale = job.calibrations["1"]
    runs = [
        CarriedRun(before=run, after=run, verdict="unchanged", sure=True, lengths=(1.0, 1.0), moved=0.0)
        for run in job.runs.values()
    ]
    for added, count in ((0.9, 1), (0.3, 0)):
        change = SheetChange(
            kind="added", box_pt=(1400.0, 560.0, 1418.0, 578.0), size=0.3, added=round(added * 36 * 36), removed=0
        )
        both = Differences(
            removed=np.zeros((0, 4)), added=np.zeros((0, 4)), changes=(change,), tolerance_pt=0.5, pixel_pt=0.5
        )
        walls = new_lines_in_rooms(both, runs, scale)
        assert [(wall.runs, wall.stands_free) for wall in walls] == [(("107-walls",), False)] * count


def test_new_equipment_is_no_wall(drawings: dict[str, Drawing], traced: dict[str, Job]) -> None:
    assert found(drawings["A"], traced["A"], PARTITION, like="A-EQPM") == ()


def test_walls_that_runs_lie_along_are_not_called_new(drawings: dict[str, Drawing], traced: dict[str, Job]) -> None:
    for old, new, shift in (("A", "B", (18.0, -10.5)), ("B", "C", (186.0, 303.5))):
        registration = replace(SAME, matrix=(1, 0, shift[0], 0, 1, shift[1]))
        job = traced[old]
        scale = registration.scale_of(job.calibrations["1"], 2)
        a, b = drawings[old], drawings[new]
        scene = make_scene(registration.carry_segments(a.lines), b.lines, scale, 0.4)
        runs = [
            carry_run(r, registration, scene, scale=scale, sheet=2, like=openings_like((), "metric"))
            for r in job.runs.values()
        ]
        assert (
            find_new_walls(a.linework, b.linework, registration, runs, scale=scale, tolerance_pt=0.4, focus_pt=SHEET)
            == ()
        )


def test_walls_drawn_in_another_colour_are_told_unless_all_of_them_are(drawings: dict[str, Drawing]) -> None:
    """Walls to be pulled down, to stay and new ones are told apart by colours in many offices (common practice)."""
    old = drawings["A"].linework
    walls = np.flatnonzero([old.layer_name(path) == "A-WALL" for path in range(old.path_count)])
    long = {path: np.ptp(old.pieces.segments[old.pieces.path == path].reshape(-1, 2), 0).sum() for path in walls}
    few = np.array(sorted(walls, key=lambda path: long[path])[:4])

    def told(paths: np.ndarray) -> set[int]:
        new = replace(old, colour=old.colour.copy(), fill=old.fill.copy())
        new.colour[paths] = new.fill[paths] = (0.9, 0.1, 0.1)
        lines = lines_of_other_looks(old, new, SAME, 0.4)
        at = {tuple(line): int(path) for line, path in zip(new.pieces.segments.tolist(), new.pieces.path, strict=True)}
        return {at[tuple(line)] for line in lines.tolist()}

    assert told(few) == set(few.tolist())
    assert told(np.arange(old.path_count)) == set()
