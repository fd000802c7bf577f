"""Carry a run to a new issue of its sheet and check it, and each of its openings, against the new linework."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from takeoff.errors import GeometryError
from takeoff.geometry.paths import Path
from takeoff.measure.develop import traced_path
from takeoff.model.plan import Calibration, Point
from takeoff.model.walls import Run
from takeoff.revise.carry_openings import CarriedOpening, Like
from takeoff.revise.linework_along import Length, Stretch, common_shift, face_spans, in_metres, parallels
from takeoff.revise.registration import Registration, ends_in
from takeoff.revise.run_openings import RunOpenings
from takeoff.revise.sides import SEARCH, Scene, Side, look

LARGEST = 8.0
"""Metres; a room does not go as a whole (judgement, no source)."""

Verdict = Literal[
    "unchanged", "moved", "length changed", "openings changed", "wall gone", "look at it", "not on this sheet"
]


@dataclass(frozen=True, slots=True, kw_only=True)
class CarriedRun:
    """A run's proposal on the new issue.

    ``after`` is the run as proposed, ``None`` where its wall is gone. ``sure`` says that every part of it was found.
    ``lengths`` are those of the traced line before and after in metres, ``moved`` the largest move of a vertex in
    metres beyond the registration. ``notes`` say what was found, ``is_lost`` that
    a part of its wall was not, ``still`` how much of it two pictures draw alike, m. ``written`` are those notes of what
    is written otherwise that taking the proposal does not carry out, such as another finish code.
    """

    before: Run
    after: Run | None
    verdict: Verdict
    sure: bool
    lengths: tuple[float, float]
    moved: float
    openings: tuple[CarriedOpening, ...] = ()
    notes: tuple[str, ...] = ()
    is_lost: bool = False
    still: float = 0.0
    written: tuple[str, ...] = ()


def carry_run(
    run: Run,
    registration: Registration,
    scene: Scene,
    *,
    scale: Calibration,
    sheet: int,
    like: Like,
    length: Length = in_metres,
) -> CarriedRun:
    """Carry one run to a new issue and check it against the linework; new openings are as ``like`` gives them."""
    path = traced_path(replace(run, points_pt=tuple(registration.carry(p) for p in run.points_pt)), scale)
    long = path.stations()[-1]
    sides = look(run, path, scene, trace=max(scale.join_tolerance, scene.tolerance))
    notes: list[str] = []
    if all(s.state == "unseen" and not s.is_still for s in sides):
        sides[0].doubt = sides[0].doubt or "no line is drawn where it was traced"
    shift = None if all(s.state == "same" or s.is_still for s in sides) else _rigid_move(path, sides, scene)
    if shift is not None:
        after = [(x + shift[0], y + shift[1]) for x, y in path.points]
        notes.append(f"the whole of it moved by {length(math.hypot(*shift))}")
        for side in sides:  # found, all of them, with the whole run
            if side.state != "unseen":
                side.state, side.by, side.doubt, side.shift = ("same" if side.stretch else "arc"), 0.0, "", shift
    else:
        if sides and all(s.state == "gone" for s in sides):
            return CarriedRun(
                before=run, after=None, verdict="wall gone", sure=False, lengths=(long, 0.0), moved=0.0,
                notes=("none of its wall is drawn any more",), is_lost=True,
            )  # fmt: skip
        after = _vertices(path, sides)
    placed = _ends(after, sides, scene) if not run.closed and shift is None else after
    found = RunOpenings(run, path, placed, sides, scene, like, length)
    return _settled(found, placed, scale, sheet, notes, rigid=shift)


def _vertices(path: Path, sides: Sequence[Side]) -> list[Point]:
    """Vertices of the run with its sides moved: where neighbouring sides meet."""
    segments = path.segments()
    n = len(path.points)
    out = []
    for k, p in enumerate(path.points):
        before = (k - 1) % len(segments) if path.is_closed or k > 0 else None
        after = k % len(segments) if path.is_closed or k < n - 1 else None
        straight = []
        for i in dict.fromkeys(x for x in (before, after) if x is not None):
            a, b, bulge = segments[i]
            if not bulge:
                straight.append((Stretch(a=a, b=b, hand=1).left, sides[i].by))
        if not any(by for _, by in straight):
            out.append(p)
            continue
        if len(straight) == 2:
            (n0, d0), (n1, d1) = straight
            det = n0[0] * n1[1] - n0[1] * n1[0]
            if abs(det) > 0.05:
                out.append((p[0] + (d0 * n1[1] - d1 * n0[1]) / det, p[1] + (n0[0] * d1 - n1[0] * d0) / det))
                continue
        normal, by = max(straight, key=lambda m: abs(m[1]))
        out.append((p[0] + by * normal[0], p[1] + by * normal[1]))
    return out


def _ends(after: list[Point], sides: Sequence[Side], scene: Scene) -> list[Point]:
    """Vertices of an open run with its ends where its walls end now."""
    out = list(after)
    for vertex, i, last in ((0, 0, 0), (len(after) - 1, len(sides) - 1, 1)):
        side = sides[i]
        if side.stretch is None or side.before is None or side.state not in ("same", "moved"):
            continue
        length = side.stretch.length
        end = length * last
        if abs(side.before[-last][last] - end) > max(scene.tolerance, 0.05):
            continue
        now = face_spans(parallels(scene.new, side.placed, SEARCH, side.heading), 0.0, scene.tolerance)
        holding = [s for s in now if s[0] < length - 0.05 and s[1] > 0.05]
        if not holding:
            continue
        old_all = face_spans(parallels(scene.old, side.stretch, SEARCH, side.heading), 0.0, scene.tolerance)
        within = [s[last] for s in old_all if (s[0] < length if last else s[1] > 0.0)]
        old_end = min(within, key=lambda at, end=end: abs(at - end), default=end)  # type: ignore[misc]
        new_end = max(s[1] for s in holding) if last else min(s[0] for s in holding)
        change = new_end - old_end
        if scene.tolerance < abs(change) <= SEARCH * 3 and abs(change) < length:
            t = side.stretch.along
            out[vertex] = (out[vertex][0] + change * t[0], out[vertex][1] + change * t[1])
    return out


def _settled(
    found: RunOpenings, after: list[Point], scale: Calibration, sheet: int, notes: list[str], *, rigid: Point | None
) -> CarriedRun:
    """Put openings on the moved line, and say how sure all of it is."""
    run, path, sides, say, tolerance = found.run, found.path, found.sides, found.say, found.scene.tolerance
    doubts = [f"side {i + 1}: {s.doubt}" for i, s in enumerate(sides) if s.doubt]
    length, new_length = path.stations()[-1], Path(tuple(after), path.bulges, path.is_closed).stations()[-1]
    openings = found.found()
    doubts.extend(found.missing_face())
    moves = [math.dist(p, q) for p, q in zip(path.points, after, strict=True)]
    kept_openings = tuple(o.after for o in openings if o.after is not None)
    points = tuple((x / scale.mx, y / scale.my) for x, y in after)
    try:
        carried: Run | None = replace(run, sheet=sheet, points_pt=points, openings=kept_openings)
    except GeometryError as error:
        carried = replace(run, sheet=sheet, points_pt=tuple((x / scale.mx, y / scale.my) for x, y in path.points))
        doubts.append(error.message)
    if run.height is not None and not run.height.is_constant and abs(new_length - length) > tolerance:
        doubts.append("its height follows stations and its length changed")
    changed = [o for o in openings if o.verdict != "unchanged"]
    verdict: Verdict = "unchanged"
    if doubts or any(o.verdict == "look at it" for o in openings):
        verdict = "look at it"
    elif max(moves) > tolerance:
        verdict = "length changed" if abs(new_length - length) > 2.0 * tolerance else "moved"
    elif changed:
        verdict = "openings changed"
    notes.extend(o.words(say) for o in changed)
    if max(moves) > tolerance and rigid is None:
        notes.append(f"moved by up to {say(max(moves))}, length {say(length)} to {say(new_length)}")
    sure = not doubts and all(o.verdict in ("unchanged", "moved") for o in openings)
    return CarriedRun(
        before=run,
        after=carried,
        verdict=verdict,
        sure=sure,
        lengths=(length, new_length),
        moved=max(moves) if max(moves) > tolerance else 0.0,
        openings=tuple(openings),
        notes=(*notes, *doubts),
        is_lost=bool(doubts),
        still=sum(math.dist(a, b) for (a, b, _), side in zip(path.segments(), sides, strict=True) if side.is_still),
    )


def _rigid_move(path: Path, sides: Sequence[Side], scene: Scene) -> Point | None:
    """Move of a run as a whole, where all of its drawn lines went and came again in another place."""
    if any(s.state == "same" and not s.doubt for s in sides):
        return None
    points = np.array(path.flattened(0.005))
    if float(np.ptp(points, 0).max()) > LARGEST:
        return None
    reach, low, high = 2.5 * SEARCH, points.min(0) - 0.05, points.max(0) + 0.05
    own, near = (
        drawn.lines[ends_in(drawn.lines, (*(low - by), *(high + by)))]
        for drawn, by in ((scene.gone, 0.0), (scene.came, reach))
    )
    return common_shift(own, near, scene.tolerance) if len(own) >= 2 and len(near) else None
