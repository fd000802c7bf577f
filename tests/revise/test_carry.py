from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest

from takeoff.actions.given import openings_like
from takeoff.job.job import Job
from takeoff.model.open_points import basis_of
from takeoff.model.plan import Calibration, Point
from takeoff.model.walls import Opening, Run
from takeoff.revise.carry import CarriedRun, carry_run
from takeoff.revise.changes import line_tolerance
from takeoff.revise.register_lines import register_lines
from takeoff.revise.registration import Floats, Registration
from takeoff.revise.sides import make_scene
from tests.revise.conftest import Drawing

FOCUS = {"A": (150.0, 250.0, 1700.0, 1280.0), "B": (168.0, 240.0, 1718.0, 1270.0)}
M_PER_PT = 48 * 0.0254 / 72


def carried(drawings: dict[str, Drawing], traced: dict[str, Job], old: str, new: str) -> dict[str, CarriedRun]:
    a, b, job = drawings[old], drawings[new], traced[old]
    registration = register_lines(a.lines, b.lines, focus_pt=FOCUS[old], m_per_pt=M_PER_PT, limit=0.01)
    scale = registration.scale_of(job.calibrations["1"], 9)
    scene = make_scene(
        registration.carry_segments(a.lines), b.lines, scale, line_tolerance(registration, M_PER_PT)
    )  # fmt: skip
    like = openings_like([o for run in job.runs.values() for o in run.openings], "imperial")
    return {
        run.id: carry_run(run, registration, scene, scale=scale, sheet=9, like=like) for run in job.runs.values()
    }  # fmt: skip


def off(run: Run, truth: Run) -> float:
    """Largest distance in metres of a carried run's vertices from where the new issue has them."""
    assert len(run.points_pt) == len(truth.points_pt)
    return max(math.dist(p, q) for p, q in zip(run.points_pt, truth.points_pt, strict=True)) * M_PER_PT


def openings(run: Run) -> list[tuple[float, float]]:
    return sorted((o.at, o.width) for o in run.openings)


@pytest.mark.parametrize(("old", "new"), [("A", "B"), ("B", "C"), ("A", "C")])
def test_every_run_of_the_sample_lands_where_the_new_issue_was_traced(
    drawings: dict[str, Drawing], traced: dict[str, Job], old: str, new: str
) -> None:
    found = carried(drawings, traced, old, new)
    for id, run in found.items():
        truth = traced[new].runs.get(id)
        assert (run.after is None) == (truth is None), id
        if run.after is None or truth is None:
            continue
        assert off(run.after, truth) < 0.001, id
        assert np.allclose(openings(run.after), openings(truth), atol=0.001), id


def test_what_happened_to_each_run_is_told(drawings: dict[str, Drawing], traced: dict[str, Job]) -> None:
    b = {id: (r.verdict, r.sure) for id, r in carried(drawings, traced, "A", "B").items()}
    assert b == {
        "101-walls": ("openings changed", True),
        "102-walls": ("openings changed", False),
        "103-walls": ("length changed", False),
        "104-walls": ("openings changed", True),
        "105-walls": ("unchanged", True),
        "106-walls": ("length changed", True),
        "107-walls": ("unchanged", True),
        "108-walls": ("unchanged", True),
        "104-square-pillar": ("unchanged", True),
        "104-round-pillar": ("unchanged", True),
        "103-splash-wall": ("unchanged", True),
    }
    c = carried(drawings, traced, "B", "C")
    assert c["103-splash-wall"].verdict == "wall gone"
    assert not c["103-splash-wall"].sure
    assert c["104-square-pillar"].verdict == "moved"
    assert [o.verdict for o in c["108-walls"].openings].count("width changed") == 1
    untouched = [id for id, r in c.items() if id not in ("103-splash-wall", "104-square-pillar", "108-walls")]
    assert all((c[id].verdict, c[id].sure) == ("unchanged", True) for id in untouched)


def test_a_new_opening_takes_its_height_from_one_as_wide_and_is_never_sure(
    drawings: dict[str, Drawing], traced: dict[str, Job]
) -> None:
    run = carried(drawings, traced, "A", "B")["103-walls"]
    (new,) = [o for o in run.openings if o.verdict == "new"]
    assert new.after is not None
    assert (new.after.kind, round(new.after.height, 4)) == ("door", 2.1336)
    height = basis_of(new.after, "height")
    assert height is not None
    assert height.is_open
    assert not run.sure


SCALE = Calibration(sheet=1, mx=0.01, my=0.01, pick=0.3)
SAME = Registration(
    matrix=(1, 0, 0, 0, 1, 0), kind="similarity", method="linework", pairs=900, share=1, rms_pt=0, u=1e-5
)  # fmt: skip


def wall(a: Point, b: Point, thick: float, openings: Sequence[tuple[float, float]] = ()) -> list[list[float]]:
    """A wall's two faces and its jambs in points; the first face runs from a to b, its body to the left."""
    length = math.dist(a, b)
    t = ((b[0] - a[0]) / length, (b[1] - a[1]) / length)
    n = (t[1], -t[0])

    def at(s: float, off: float) -> Point:
        return (a[0] + s * t[0] + off * n[0], a[1] + s * t[1] + off * n[1])

    cuts = [0.0, *(v for o in openings for v in o), length]
    lines = []
    for s, e in zip(cuts[::2], cuts[1::2], strict=True):
        for off in (0.0, thick):
            lines.append([*at(s, off), *at(e, off)])
        lines.extend([[*at(s, 0.0), *at(s, thick)], [*at(e, 0.0), *at(e, thick)]])
    return lines


def check(old: list[list[float]], new: list[list[float]], run: Run) -> CarriedRun:
    scene = make_scene(np.array(old), np.array(new), SCALE, 0.5)
    return carry_run(run, SAME, scene, scale=SCALE, sheet=2, like=openings_like((), "metric"))


RUN = Run(id="a", sheet=1, points_pt=((100, 500), (1100, 500)), face="right")
"""Ten metres of wall whose body lies to the left, which is up on the sheet."""


@pytest.mark.parametrize("by_mm", [-600, -150, 20, 100, 150, 300, 900])
def test_a_straight_wall_that_moved_is_followed_to_its_own_face(by_mm: int) -> None:
    by = by_mm / 10
    old, new = wall((100, 500), (1100, 500), 15), wall((100, 500 + by), (1100, 500 + by), 15)
    found = check(old, new, RUN)
    assert found.after is not None
    assert [p[1] for p in found.after.points_pt] == pytest.approx([500 + by, 500 + by], abs=1e-6)
    assert (found.verdict, found.sure) == ("moved", True)


def test_a_wall_that_took_the_dimension_before_it_along_is_followed_to_its_face_and_not_to_the_dimension() -> None:
    """The dimension's line lies as far before the face as the wall is thick, so it looks like a face with a wall."""

    def drawn(y: float) -> list[list[float]]:
        return [*wall((100, y), (1100, y), 15), [100.0, y + 15, 1100.0, y + 15]]

    found = check(drawn(500), drawn(440), RUN)
    assert found.after is not None
    assert [p[1] for p in found.after.points_pt] == pytest.approx([440, 440], abs=1e-6)
    assert found.sure
    # a line that came without the wall having had one may be the face as well
    assert not check(wall((100, 500), (1100, 500), 15), drawn(440), RUN).sure


def test_a_wall_drawn_on_the_other_side_of_its_face_with_another_thickness_is_to_be_looked_at() -> None:
    found = check(wall((100, 500), (1100, 500), 15), wall((100, 510), (1100, 510), 10), RUN)
    assert (found.verdict, found.sure) == ("look at it", False)
    # a thinner wall keeps its face
    assert check(wall((100, 500), (1100, 500), 15), wall((100, 500), (1100, 500), 10), RUN).verdict == "unchanged"


@pytest.mark.parametrize("longer_mm", [-2000, -300, 150, 1500])
def test_a_straight_wall_that_was_lengthened_is_followed_to_its_end(longer_mm: int) -> None:
    end = 1100 + longer_mm / 10
    found = check(wall((100, 500), (1100, 500), 15), wall((100, 500), (end, 500), 15), RUN)
    assert found.lengths[1] == pytest.approx(10.0 + longer_mm / 1000, abs=1e-6)
    assert found.verdict == "length changed"


def test_a_wall_that_is_gone_is_proposed_to_be_removed_and_never_surely() -> None:
    found = check(wall((100, 500), (1100, 500), 15), wall((100, 900), (1100, 900), 15), RUN)
    assert (found.verdict, found.after, found.sure) == ("wall gone", None, False)


@pytest.mark.parametrize(
    ("new_spans", "verdict", "result"),
    [
        ([(300, 390)], "unchanged", [(3.45, 0.9)]),
        ([(420, 510)], "moved", [(4.65, 0.9)]),
        ([(300, 480)], "width changed", [(3.9, 1.8)]),
        ([], "gone", []),
    ],
)
def test_an_opening_is_checked_against_the_jambs_drawn(
    new_spans: list[tuple[float, float]], verdict: str, result: list[tuple[float, float]]
) -> None:
    door = Opening(at=3.45, width=0.9, height=2.1, mark="1")
    run = Run(id="a", sheet=1, points_pt=RUN.points_pt, face="right", openings=(door,))
    old = wall((100, 500), (1100, 500), 15, [(300, 390)])
    found = check(old, wall((100, 500), (1100, 500), 15, new_spans), run)
    assert [o.verdict for o in found.openings] == [verdict]
    assert found.after is not None
    assert np.allclose(openings(found.after), result, atol=1e-6)


def test_an_opening_that_begins_at_a_corner_stays_beside_one_that_changed_and_is_gone_where_it_was_closed() -> None:
    doors = (Opening(at=0.45, width=0.9, height=2.1), Opening(at=3.45, width=0.9, height=2.1))
    run = Run(id="a", sheet=1, points_pt=((100, 500), (1100, 500)), face="right", openings=doors)
    whole = wall((100, 500), (1100, 500), 15)
    no_corner = [line for line in wall((100, 500), (1100, 500), 15, [(0, 90), (300, 390)]) if line[0] > 150]
    assert [o.verdict for o in check(no_corner, no_corner, run).openings] == ["unchanged", "unchanged"]
    one_left = [line for line in wall((100, 500), (1100, 500), 15, [(0, 90)]) if line[0] > 150]
    assert [o.verdict for o in check(no_corner, one_left, run).openings] == ["unchanged", "gone"]
    assert [o.verdict for o in check(no_corner, whole, run).openings] == ["gone", "gone"]


def test_a_new_opening_beside_one_that_stayed_is_found_alone() -> None:
    door = Opening(at=3.45, width=0.9, height=2.1)
    run = Run(id="a", sheet=1, points_pt=RUN.points_pt, face="right", openings=(door,))
    old = wall((100, 500), (1100, 500), 15, [(300, 390)])
    new = wall((100, 500), (1100, 500), 15, [(300, 390), (700, 820)])
    found = check(old, new, run)
    assert [o.verdict for o in found.openings] == ["unchanged", "new"]
    assert found.after is not None
    assert found.after.openings[1].at == pytest.approx(7.6)
    assert found.after.openings[1].width == pytest.approx(1.2)


def test_repeated_openings_are_unchanged_while_every_jamb_stays() -> None:
    doors = Opening(at=3.45, width=0.9, height=2.1, count=2, spacing=2.0)
    run = Run(id="a", sheet=1, points_pt=RUN.points_pt, face="right", openings=(doors,))
    old = wall((100, 500), (1100, 500), 15, [(300, 390), (500, 590)])
    assert check(old, old, run).verdict == "unchanged"
    one_moved = wall((100, 500), (1100, 500), 15, [(300, 390), (560, 650)])
    assert check(old, one_moved, run).verdict == "look at it"


def test_a_run_traced_where_nothing_is_drawn_is_to_be_looked_at() -> None:
    run = Run(id="a", sheet=1, points_pt=((100, 800), (1100, 800)), face="right")
    drawn: Floats = np.array(wall((100, 500), (1100, 500), 15))
    found = check(drawn.tolist(), drawn.tolist(), run)
    assert (found.verdict, found.sure) == ("look at it", False)


def test_a_face_that_was_cut_off_without_an_opening_is_to_be_looked_at() -> None:
    old = wall((100, 500), (1100, 500), 15)
    new = [*wall((100, 500), (500, 500), 15)[:1], *wall((800, 500), (1100, 500), 15)[:1]]
    found = check(old, new, RUN)
    assert (found.verdict, found.sure) == ("look at it", False)
    assert any("not drawn any more" in note or "drawn any more" in note for note in found.notes)


def test_a_room_keeps_its_shape_when_one_wall_moves() -> None:
    corners = [(100.0, 100.0), (700.0, 100.0), (700.0, 500.0), (100.0, 500.0)]
    moved = [(100.0, 100.0), (760.0, 100.0), (760.0, 500.0), (100.0, 500.0)]

    def room(c: list[Point]) -> list[list[float]]:
        return [line for i in range(4) for line in wall(c[i], c[(i + 1) % 4], 15)]

    run = Run(id="a", sheet=1, points_pt=tuple(corners), closed=True, face="right")
    found = check(room(corners), room(moved), run)
    assert found.after is not None
    assert np.allclose(found.after.points_pt, moved, atol=1e-6)
    # 2 × (6.0 + 4.0) before, 2 × (6.6 + 4.0) after
    assert found.lengths == pytest.approx((20.0, 21.2))
    assert (found.verdict, found.sure) == ("length changed", True)


def test_two_lines_across_a_wall_that_goes_on_are_no_opening_for_sure() -> None:
    """A cupboard's sides or another wall's faces look so; a window has glass between its jambs."""
    whole, sides = wall((100, 500), (1100, 500), 15), [[400, 500, 400, 485], [490, 500, 490, 485]]
    found = check(whole, [*whole, *sides], RUN)
    assert found.verdict == "look at it"
    glass = [[400, 495, 490, 495], [400, 490, 490, 490]]
    (window,) = check(whole, [*whole, *sides, *glass], RUN).openings
    assert (window.verdict, window.after and window.after.kind) == ("new", "window")
