"""The openings of one run on a new issue: each looked for on its side, new ones found, and what no opening explains."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import shapely

from takeoff.geometry.paths import Path
from takeoff.model.plan import Point
from takeoff.model.walls import Opening, Run
from takeoff.revise.carry_openings import CarriedOpening, carry_opening, new_openings, usual_size
from takeoff.revise.fittings import changed_kind, fitting_between
from takeoff.revise.linework_along import (
    Drawn,
    Length,
    Stretch,
    clipped,
    face_spans,
    jambs,
    parallels,
    total,
    united,
    without,
)
from takeoff.revise.sides import Scene, Side, wall_depth

QUIET = 0.3
"""Metres before and behind a wall within which nothing changes at an opening that is as before (judgement)."""
BESIDE = 0.12
"""Metres beside an opening within which nothing changes at one that is as before: a frame (judgement, no source)."""
Jambs = Mapping[int, tuple[list[float], list[float]]]
"""Stations of jambs on the old and on the new issue, by side."""
Used = dict[int, list[tuple[float, float]]]
"""Spans of openings that were found, by side."""


def known_openings(
    run: Run,
    path: Path,
    after: Sequence[Point],
    sides: Sequence[Side],
    scene: Scene,
    events: Jambs,
    used: Used,
    known: Sequence[Opening],
) -> list[CarriedOpening]:
    """Every opening of the run, looked for on its side of the new revision."""
    stations, new_stations = path.stations(), Path(tuple(after), path.bulges, path.is_closed).stations()
    out = []
    for opening in run.openings:
        i = _segment_of(stations, opening.at)
        side = sides[i]
        start = _start_moved(path, after, i)
        if side.stretch is None:
            at = opening.at - stations[i] - start + new_stations[i]
            is_still = side.state == "arc" and not side.doubt
            out.append(
                CarriedOpening(
                    before=opening, after=replace(opening, at=max(at, 0.0)),
                    verdict="unchanged" if is_still else "look at it",
                    note="" if is_still else "it could not be checked",
                )
            )  # fmt: skip
            continue
        local = opening.at - stations[i]
        depth = wall_depth(side, scene)
        own = (scene.gone, scene.came) if scene.ink is None else (scene.ink,)
        is_quiet = _is_quiet(side.stretch, local, opening.width, depth, own)
        solid = face_spans(parallels(scene.new, side.placed, 0.05, side.heading), 0.0, scene.tolerance)
        found = carry_opening(
            opening, local, *events[i], solid, used.setdefault(i, []), scene.tolerance, is_quiet=is_quiet
        )
        if scene.ink is not None:
            found = _by_ink(found, local, is_same=is_quiet)
        elif not is_quiet:
            found = _same_kind(found, side, scene, depth, known)
        if found.after is not None:
            at = found.after.at - start + new_stations[i]
            found = replace(found, after=replace(found.after, at=max(at, 0.0)))
        out.append(found)
    return out


def _by_ink(found: CarriedOpening, local: float, *, is_same: bool) -> CarriedOpening:
    """Settle by its ink an opening that two pictures show alike; one that they do not is no longer unchanged."""
    assert found.before is not None
    if is_same:
        return CarriedOpening(before=found.before, after=replace(found.before, at=max(local, 0.0)), verdict="unchanged")
    if found.verdict == "unchanged":
        return replace(found, verdict="look at it", note="what is drawn in it or beside it changed")
    return found


def _same_kind(
    found: CarriedOpening, side: Side, scene: Scene, depth: float, known: Sequence[Opening]
) -> CarriedOpening:
    """Compare what is drawn between the jambs: a door that was filled in or became a window is to be looked at."""
    if found.jambs is None or found.after is None or side.stretch is None:
        return found
    e0, e1, n0, n1 = found.jambs
    before = fitting_between(scene.old, side.stretch, e0, e1, depth)
    now = fitting_between(scene.new, side.placed, n0, n1, depth)
    gone = fitting_between(scene.gone, side.stretch, e0, e1, depth)
    came = fitting_between(scene.came, side.placed, n0, n1, depth)
    change = changed_kind(before, now, gone, came)
    if not change:
        return found
    if now.is_wall:
        return replace(found, after=None, verdict="gone", note=change)
    kind = now.kind
    if kind in (None, found.after.kind):
        return replace(found, verdict="look at it", note=change)
    height, sill = usual_size(kind, found.after.width, known)
    after = replace(found.after, kind=kind, height=height, sill=sill, mark="", basis=())
    return replace(found, after=after, verdict="look at it", note=change)


def added_openings(
    path: Path,
    after: Sequence[Point],
    sides: Sequence[Side],
    scene: Scene,
    events: Jambs,
    used: Used,
    known: Sequence[Opening],
    say: Length,
) -> list[CarriedOpening]:
    """Openings that only the new revision has."""
    new_stations = Path(tuple(after), path.bulges, path.is_closed).stations()
    added: list[CarriedOpening] = []
    for i, side in enumerate(sides):
        if side.stretch is None or side.before is None or side.state == "gone" or side.is_still:
            continue
        now = face_spans(parallels(scene.new, side.placed, 0.05, side.heading), 0.0, scene.tolerance)
        start = _start_moved(path, after, i)
        end = math.dist(after[i], after[(i + 1) % len(after)]) + start
        for new in new_openings(
            *events[i], side.before, now, used.setdefault(i, []), known, scene.tolerance,
            limits=(start, end), length=say,
        ):  # fmt: skip
            assert new.after is not None
            added.append(replace(new, after=replace(new.after, at=new.after.at - start + new_stations[i])))
    return added


def jambs_of_sides(sides: Sequence[Side], scene: Scene) -> Mapping[int, tuple[list[float], list[float]]]:
    """Jambs of each straight side on both issues, as stations from where the side began on the old one."""
    out = {}
    for i, side in enumerate(sides):
        if side.stretch is None:
            continue
        longer = _longer(side.placed, 3.0)
        new = [s - 3.0 for s in jambs(scene.new, longer, 0.0, scene.reach, scene.tolerance)]
        before = _longer(side.stretch, 3.0)
        old = [s - 3.0 for s in jambs(scene.old, before, 0.0, scene.reach, scene.tolerance)]
        out[i] = (old, new)
    return out


def _is_quiet(face: Stretch, local: float, width: float, depth: float, own: Sequence[Drawn]) -> bool:
    """Tell whether nothing was drawn or wiped out in an opening, beside it and where its leaves are hung."""
    half = width / 2.0 + BESIDE
    sides = [face.shifted(-face.hand * QUIET), face.shifted(face.hand * (depth + QUIET))]
    corners = [side.at(local + s * half) for side, s in zip((*sides, *sides[::-1]), (-1, -1, 1, 1), strict=True)]
    place = shapely.Polygon(corners)
    return not any(len(drawn.about(place, 0.0)) for drawn in own)


def _longer(stretch: Stretch, by: float) -> Stretch:
    return Stretch(a=stretch.at(-by), b=stretch.at(stretch.length + by), hand=stretch.hand)


def _segment_of(stations: Sequence[float], at: float) -> int:
    length = stations[-1]
    at = at % length if at > length else at
    return next((i for i in range(len(stations) - 1) if stations[i] <= at <= stations[i + 1]), len(stations) - 2)


def _start_moved(path: Path, after: Sequence[Point], i: int) -> float:
    """By how much the start of a straight segment moved along it."""
    a, b, _ = path.segments()[i]
    length = math.dist(a, b)
    return ((after[i][0] - a[0]) * (b[0] - a[0]) + (after[i][1] - a[1]) * (b[1] - a[1])) / length


def missing_face(
    sides: Sequence[Side],
    path: Path,
    after: Sequence[Point],
    scene: Scene,
    used: Mapping[int, list[tuple[float, float]]],
    *,
    say: Length,
) -> list[str]:
    """Stretches of face that are not drawn any more and that no opening explains."""
    out = []
    n = len(after)
    for i, side in enumerate(sides):
        if side.stretch is None or side.before is None or side.state == "gone" or side.doubt or side.is_still:
            continue
        start = _start_moved(path, after, i)
        end = start + math.dist(after[i], after[(i + 1) % n])
        now = face_spans(parallels(scene.new, side.placed, 0.05, side.heading), 0.0, scene.tolerance)
        spans = united(used.get(i, []), scene.tolerance)
        wanted = clipped(side.before, start, end)
        left = [
            p
            for p in without(without(wanted, now), spans)
            if p[1] - p[0] > max(4.0 * scene.tolerance, 3.0 * scene.reach, 0.05)
        ]
        if left:
            out.append(f"side {i + 1}: {say(total(left))} of its face is not drawn any more")
    return out
