"""Runs reshaped: vertices put in, moved and taken out, runs split, joined, moved, mirrored and copied.

Openings stay where they are on the plan: each is carried to the point of the new line nearest to where it was.
"""

from __future__ import annotations

import math
from collections.abc import Container, Mapping, Sequence
from dataclasses import replace
from itertools import count, pairwise

from takeoff.errors import EditError
from takeoff.geometry.paths import nearest_station, part_nearest, point_at, point_on_segment, split_bulge
from takeoff.measure.develop import heights_at, traced_path
from takeoff.measure.placing import shown
from takeoff.model.open_points import Basis, basis_of, put_basis
from takeoff.model.plan import Calibration, Point
from takeoff.model.walls import Face, HeightProfile, Opening, Run

TOLD_CHANGE = 0.005
"""Part by which a scale changes from which widths that a person gave are asked about (judgement, no source)."""
OTHER_HAND: Mapping[Face, Face] = {"left": "right", "right": "left", "both": "both"}


def carry_openings(before: Run, after: Run, scale: Calibration | None) -> Run:
    """Return ``after`` with the openings of ``before`` at the nearest places on its line; ``scale`` is the sheet's."""
    if not before.openings or scale is None:
        return after
    old, new = traced_path(before, scale), traced_path(after, scale)
    return replace(
        after, openings=tuple(replace(o, at=nearest_station(new, point_at(old, o.at))[0]) for o in before.openings)
    )


def at_scale(run: Run, old: Calibration, new: Calibration) -> Run:
    """Return a run as it is on the plan when its scale becomes another.

    Openings and changes of height stay at their places, and widths that a reader measured go with the scale. A width
    that a person gave stays, and is open where the scale changes by more than `TOLD_CHANGE`.
    """
    by = traced_path(run, new).stations()[-1] / traced_path(run, old).stations()[-1]
    if by == 1.0:
        return run
    height = run.height
    if height is not None and not height.is_constant:
        height = HeightProfile(points=tuple((s * by, h) for s, h in height.points))
    return replace(run, height=height, openings=tuple(_opening_at_scale(o, by) for o in run.openings))


def _opening_at_scale(opening: Opening, by: float) -> Opening:
    held, width, outline = basis_of(opening, "width"), opening.width, opening.outline
    bases = opening.basis
    if held is not None and held.how == "measured":
        width *= by
        outline = outline and tuple((u * by, v) for u, v in outline)
        low, high = (None if end is None else end * by for end in (held.low, held.high))
        bases = put_basis(bases, replace(held, taken=width, low=low, high=high))
    elif held is None and abs(by - 1.0) > TOLD_CHANGE:
        told = "the scale of its sheet was changed after it was given"
        bases = put_basis(bases, Basis(of="width", taken=width, how="person", unsure=told))
    return replace(opening, at=opening.at * by, width=width, outline=outline, basis=bases)


def with_vertices(run: Run, moved: Mapping[int, Point], scale: Calibration | None) -> Run:
    """Move vertices, counted from 0, to new sheet points."""
    points = tuple(moved.get(i, p) for i, p in enumerate(run.points_pt))
    return carry_openings(run, replace(run, points_pt=points), scale)


def with_vertex_added(run: Run, near_pt: Point) -> tuple[Run, int]:
    """Put a vertex in where the line comes nearest to a sheet point; return the run and the new vertex's number."""
    _, nearest, _ = nearest_station(run.path_pt, near_pt)
    a, b, bulge = run.path_pt.segments()[nearest]
    part = part_nearest(a, b, bulge, near_pt)
    if not 1e-6 < part < 1 - 1e-6:
        raise EditError("there is a point there already", remedy="Choose a place between two points.")
    at = point_on_segment(a, b, bulge, part)
    first, second = split_bulge(bulge, part)
    bulges = list(run.segment_bulges)
    bulges[nearest : nearest + 1] = [first, second]
    points = (*run.points_pt[: nearest + 1], at, *run.points_pt[nearest + 1 :])
    return replace(run, points_pt=points, bulges=_kept(bulges)), nearest + 1


def without_vertex(run: Run, index: int, scale: Calibration | None) -> Run:
    """Take a vertex out; the two segments at it become one straight one."""
    fewest = 4 if run.closed else 3
    if len(run.points_pt) < fewest:
        raise EditError(
            "it would leave no line", remedy="Remove the wall instead.", where=f"wall {run.id}, point {index + 1}"
        )
    points = tuple(p for i, p in enumerate(run.points_pt) if i != index)
    bulges = list(run.segment_bulges)
    if run.closed or 0 < index < len(points):
        bulges[index - 1] = 0.0
    del bulges[min(index, len(bulges) - 1)]
    after = replace(run, points_pt=points, bulges=_kept(bulges))
    return carry_openings(run, after, scale)


def with_bulge(run: Run, segment: int, through_pt: Point, scale: Calibration | None) -> Run:
    """Bend a segment into the arc through a sheet point; through a point on its chord it becomes straight."""
    a, b, _ = run.path_pt.segments()[segment]
    bulges = list(run.segment_bulges)
    bulges[segment] = bulge_through(a, b, through_pt)
    return carry_openings(run, replace(run, bulges=_kept(bulges)), scale)


def _kept(bulges: Sequence[float]) -> tuple[float, ...]:
    """Bulges as a run keeps them: none where all of it is straight."""
    return tuple(bulges) if any(bulges) else ()


def bulge_through(a: Point, b: Point, via: Point) -> float:
    """Bulge of the arc from a to b through a third point, 0 where the three lie on a line.

    Examples
    --------
    >>> round(bulge_through((0.0, 0.0), (2.0, 0.0), (1.0, 1.0)), 9)  # y down: the half circle below, turning left
    1.0
    """
    one, two = (via[0] - a[0], via[1] - a[1]), (b[0] - via[0], b[1] - via[1])
    half = math.atan2(one[1] * two[0] - one[0] * two[1], one[0] * two[0] + one[1] * two[1])
    return 0.0 if abs(half) < 1e-6 else math.tan(half / 2.0)


def split(run: Run, near_pt: Point, second: str, scale: Calibration) -> tuple[Run, ...]:
    """Split a run at the point of its line nearest to a sheet point.

    A closed run is opened there and stays one run; of an open one the part behind becomes the run ``second``.
    """
    path = traced_path(run, scale)
    station, _, _ = nearest_station(path, scale.to_metres(near_pt))
    vertices = path.stations()
    near = min(range(len(run.points_pt)), key=lambda i: abs(vertices[i] - station))
    if abs(vertices[near] - station) > 1e-6:
        run, near = with_vertex_added(run, near_pt)
    if run.closed:
        return (_opened(run, near, scale),)
    if near in (0, len(run.points_pt) - 1):
        raise EditError("a wall is not split at its end", remedy="Choose a place along it.", where=f"wall {run.id}")
    at = traced_path(run, scale).stations()[near]
    bulges = run.segment_bulges
    first_openings: list[Opening] = []
    second_openings: list[Opening] = []
    for o in run.openings:
        if o.at - o.width / 2 < at < o.at + o.width / 2:
            raise EditError(
                f"the {o.kind} {o.mark} lies across the place".replace("  ", " "),
                remedy="Split beside it, or move it first.",
                where=f"wall {run.id}",
            )
        (first_openings if o.at < at else second_openings).append(o)
    low, high = _parted(run.height, at)
    a = replace(
        run,
        points_pt=run.points_pt[: near + 1],
        bulges=_kept(bulges[:near]),
        height=low,
        ends=(run.ends[0], "abut"),
        openings=tuple(first_openings),
    )
    b = replace(
        run,
        id=second,
        points_pt=run.points_pt[near:],
        bulges=_kept(bulges[near:]),
        height=high,
        ends=("abut", run.ends[1]),
        openings=tuple(replace(o, at=o.at - at) for o in second_openings),
    )
    return a, b


def gap_between(first: Run, second: Run, scale: Calibration) -> tuple[float, int, int]:
    """Gap in m between the nearest ends of two open runs, and which vertex of each lies there: 0 or −1."""
    gaps = [
        (math.dist(scale.to_metres(first.points_pt[i]), scale.to_metres(second.points_pt[j])), i, j)
        for i in (0, -1)
        for j in (0, -1)
    ]
    return min(gaps, key=lambda found: found[0])


def join(first: Run, second: Run, scale: Calibration) -> Run:
    """Join two open runs into one, under the first one's id and details.

    Ends meet where picks cannot tell them apart (`Calibration.join_tolerance`). The second run then begins at the
    first one's end, and its openings stay where they are on the plan.
    """
    if first.closed or second.closed:
        raise EditError("a closed wall has no end to join", remedy="Choose two open walls.", where=f"wall {first.id}")
    gap, i, j = gap_between(first, second, scale)
    if gap > scale.join_tolerance + 1e-9:
        raise EditError(
            f"the ends of {first.id} and {second.id} do not meet: {shown(gap)} lie between them, and ends meet within "
            f"{shown(scale.join_tolerance)} at this scale",
            remedy="Drag one onto the other first.",
            where=f"wall {first.id}",
        )
    a = first if i == -1 else reversed_run(first, scale)
    b = second if j == 0 else reversed_run(second, scale)
    if a.face != b.face:
        raise EditError(
            f"{first.id} and {second.id} are coated on different sides", remedy="Flip one of them first.", where="face"
        )
    length = traced_path(a, scale).stations()[-1]
    carried = carry_openings(b, replace(b, points_pt=(a.points_pt[-1], *b.points_pt[1:])), scale)
    bulges = (*a.segment_bulges, *b.segment_bulges)
    height = a.height
    if a.height != b.height and a.height is not None and b.height is not None:
        after = [(s + length, h) for s, h in b.height.points]
        height = HeightProfile(points=(*_until(a.height, length), *_from(after, length)))
    return replace(
        a,
        points_pt=(*a.points_pt, *b.points_pt[1:]),
        bulges=_kept(bulges),
        height=height,
        ends=(a.ends[0], b.ends[1]),
        openings=(*a.openings, *(replace(o, at=o.at + length) for o in carried.openings)),
    )


def reversed_run(run: Run, scale: Calibration) -> Run:
    """Trace a run the other way round, the same side coated: nothing that is measured changes."""
    length = traced_path(run, scale).stations()[-1]
    bulges = tuple(-b for b in reversed(run.segment_bulges))
    points = tuple(reversed(run.points_pt))
    if run.closed:
        points = (points[-1], *points[:-1])
    height = run.height
    if height is not None and not height.is_constant:
        height = HeightProfile(points=tuple((max(length - s, 0.0), h) for s, h in reversed(height.points)))
    return replace(
        run,
        points_pt=points,
        bulges=_kept(bulges),
        face=OTHER_HAND[run.face],
        height=height,
        ends=(run.ends[1], run.ends[0]),
        openings=tuple(replace(o, at=length - o.at) for o in run.openings),
    )


def moved(run: Run, dx_pt: float, dy_pt: float) -> Run:
    """Move a run on its sheet."""
    return replace(run, points_pt=tuple((x + dx_pt, y + dy_pt) for x, y in run.points_pt))


def mirrored(run: Run, a: Point, b: Point) -> Run:
    """Mirror a run in the line through two sheet points; the coated side goes along."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    square = dx * dx + dy * dy
    if square == 0.0:
        raise EditError("the mirror line has no length", remedy="Choose two different points.")

    def over(p: Point) -> Point:
        k = ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / square
        return (2.0 * (a[0] + k * dx) - p[0], 2.0 * (a[1] + k * dy) - p[1])

    return replace(
        run,
        points_pt=tuple(over(p) for p in run.points_pt),
        bulges=tuple(-b for b in run.bulges),
        face=OTHER_HAND[run.face],
    )


def free_id(taken: Container[str], stem: str, first: int = 1) -> str:
    """Return the first of ``stem-1``, ``stem-2`` … that is not taken, from a number on.

    Examples
    --------
    >>> free_id(["run-1", "run-3"], "run"), free_id(["glaze", "glaze-2"], "glaze", 2)
    ('run-2', 'glaze-3')
    """
    return next(id for n in count(first) if (id := f"{stem}-{n}") not in taken)


def _opened(run: Run, near: int, scale: Calibration) -> Run:
    """Open a closed run at a vertex, which becomes both its ends."""
    points = (*run.points_pt[near:], *run.points_pt[: near + 1])
    bulges = (*run.segment_bulges[near:], *run.segment_bulges[:near])
    at = traced_path(run, scale).stations()
    length, shift = at[-1], at[near]
    height = run.height
    if height is not None and not height.is_constant:
        raise EditError(
            "its height changes along it",
            remedy="Set one height, split it, then set the others.",
            where=f"wall {run.id}",
        )
    return replace(
        run,
        points_pt=points,
        bulges=_kept(bulges),
        closed=False,
        ends=("abut", "abut"),
        openings=tuple(replace(o, at=(o.at - shift) % length) for o in run.openings),
    )


def _parted(height: HeightProfile | None, at: float) -> tuple[HeightProfile | None, HeightProfile | None]:
    if height is None or height.is_constant:
        return height, height
    behind = [(s - at, h) for s, h in _from(height.points, at)]
    return HeightProfile(points=_until(height, at)), HeightProfile(points=tuple(behind))


def _until(height: HeightProfile, at: float) -> tuple[tuple[float, float], ...]:
    before = heights_at(height.points, at)[0]
    kept = tuple((s, h) for s, h in height.points if s < at)
    return (*kept, (at, before))


def _from(points: Sequence[tuple[float, float]], at: float) -> tuple[tuple[float, float], ...]:
    after = heights_at(tuple(points), at)[1]
    return ((at, after), *((s, h) for s, h in points if s > at))


def signed_area_pt(points: Sequence[Point]) -> float:
    """Area in a closed line of sheet points, positive where it runs counter-clockwise on the unrotated page."""
    return -sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise([*points, points[0]])) / 2.0
