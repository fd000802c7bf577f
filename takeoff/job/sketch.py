"""A line that is being traced: its points and arcs so far, and the run it makes. Each step is a new value."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from takeoff.geometry.arcs import flatten_segment
from takeoff.geometry.paths import Path
from takeoff.job.reshape import OTHER_HAND, bulge_through, signed_area_pt
from takeoff.model.plan import Point
from takeoff.model.walls import Face, Run

SAG_PT = 0.5
"""Sheet points by which the chords that stand for an arc may miss it on the screen."""
TURNS = 0.002
"""Area between an open line and its chord, as a share of its length squared, from which it has an inside: a bend of
about a degree half way has less (our choice)."""
SAME_PT = 1e-6
"""Sheet points within which two points are one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sketch:
    """Points placed on a sheet, with a bulge for each segment between two of them.

    ``arc`` says what the next point is: "" the end of a straight piece, "end" the end of an arc, "through" a point that
    the arc to ``arc_end`` goes through. ``is_flipped`` coats the other side.
    """

    sheet: int
    points: tuple[Point, ...] = ()
    bulges: tuple[float, ...] = ()
    is_flipped: bool = False
    arc: Literal["", "end", "through"] = ""
    arc_end: Point | None = None

    def placed(self, to: Point) -> Sketch:
        """Take a point: the next of the line, or one of an arc."""
        if self.arc == "end" and self.points:
            return replace(self, arc="through", arc_end=to)
        if self.arc == "through" and self.arc_end is not None:
            bulge = bulge_through(self.points[-1], self.arc_end, to)
            return replace(self, arc="", arc_end=None)._with(self.arc_end, bulge)
        return self._with(to, 0.0)

    def _with(self, to: Point, bulge: float) -> Sketch:
        if not self.points:
            return replace(self, points=(to,))
        x, y = self.points[-1]
        if abs(x - to[0]) < SAME_PT and abs(y - to[1]) < SAME_PT:
            return self
        return replace(self, points=(*self.points, to), bulges=(*self.bulges, bulge))

    def back(self) -> Sketch:
        """Take the last step back: an arc that is begun, else the last point."""
        if self.arc:
            return replace(self, arc="", arc_end=None)
        return replace(self, points=self.points[:-1], bulges=self.bulges[:-1])

    def turned_to_arc(self) -> Sketch:
        """Make the next piece an arc, or a straight one again."""
        return replace(self, arc="" if self.arc or not self.points else "end", arc_end=None)

    def flipped(self) -> Sketch:
        """Coat the other side."""
        return replace(self, is_flipped=not self.is_flipped)

    def flat(self) -> list[Point]:
        """Points of the line with arcs broken into chords."""
        return Path(self.points, self.bulges, False).flattened(SAG_PT) if self.points else []

    def ahead(self, to: Point) -> list[Point]:
        """Points of the piece from the last point to where the next would be, arcs broken into chords."""
        if self.arc_end is not None:
            bulge = bulge_through(self.points[-1], self.arc_end, to)
            return flatten_segment(self.points[-1], self.arc_end, bulge, SAG_PT)
        return [self.points[-1], to]

    def hand(self, *, is_closed: bool, around: Run | None = None) -> Face:
        """Return the coated side: inside a closed line, or an open one that turns; outside round a pillar in a room."""
        flat = self.flat()
        area = signed_area_pt(flat)
        turns = is_closed or abs(area) > TURNS * sum(math.dist(a, b) for a, b in pairwise(flat)) ** 2
        hand: Face = "right" if turns and area <= 0 else "left"
        if is_closed and around is not None:
            hand = OTHER_HAND[hand]
        return OTHER_HAND[hand] if self.is_flipped else hand

    def run(self, *, is_closed: bool, around: Run | None = None) -> Run:
        """Return the run of the line; its id is not one of the job's yet. In another room it belongs to that."""
        bulges = (*self.bulges, 0.0) if is_closed else self.bulges
        return Run(
            id="new",
            sheet=self.sheet,
            points_pt=self.points,
            bulges=bulges if any(bulges) else (),
            closed=is_closed,
            face=self.hand(is_closed=is_closed, around=around),
            room=around.room if around is not None else None,
        )


def run_around(points: Sequence[Point], runs: Sequence[Run]) -> Run | None:
    """Return a closed run, coated inside and in a room, that holds all points; ``None`` where there is none."""
    import shapely

    for run in runs:
        if run.closed and run.room:
            line = run.path_pt.flattened(SAG_PT)
            around = shapely.Polygon(line)
            is_inside = (signed_area_pt(line) > 0) == (run.face == "left")
            if is_inside and around.is_valid and all(around.contains(shapely.Point(p)) for p in points):
                return run
    return None


def box_run(sheet: int, a: Point, b: Point) -> Run:
    """Return the run of a rectangle between two opposite corners, coated inside."""
    (left, right), (top, bottom) = sorted((a[0], b[0])), sorted((a[1], b[1]))
    points = ((left, bottom), (right, bottom), (right, top), (left, top))
    return Run(id="new", sheet=sheet, points_pt=points, closed=True, face="left")
