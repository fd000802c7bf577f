"""Runs that end inside the wall of another: what lies in that wall is measured, and nobody coats it.

- body: what a run's wall takes of the plan, by its traced line and thickness.
- An end counts as inside where it is deeper in a body than picks can tell. Where two walls meet end to end each end
  lies on the edge of the other body; those meetings are corners (see `takeoff.measure.mitres`).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import shapely

from takeoff.measure.develop import ARC_SAG, traced_path
from takeoff.measure.joins import join_reach, open_ends
from takeoff.measure.uncertainty import scale_key
from takeoff.model.plan import Calibration
from takeoff.model.walls import Run


@dataclass(frozen=True, slots=True, kw_only=True)
class EndInside:
    """A run that ends inside the wall of another: how much of its line lies in there, and what it covers, both in m.

    ``covered`` is the length of the other's coated face behind the run: its thickness where it comes from a coated
    side, else 0.
    """

    run: str
    other: str
    inside: float
    covered: float


def ends_inside(runs: Iterable[Run], calibrations: Mapping[str, Calibration]) -> tuple[EndInside, ...]:
    """Find the ends of runs that lie inside another run's wall, in the order of the runs.

    Parameters
    ----------
    runs
        The runs; those without a calibration are passed over.
    calibrations
        Calibration by run id.
    """
    by_scale: dict[object, list[Run]] = defaultdict(list)
    for run in runs:
        if run.id in calibrations:
            by_scale[scale_key(calibrations[run.id])].append(run)
    found: list[EndInside] = []
    for members in by_scale.values():
        thick = [run for run in members if run.thickness > 0.0]
        ends = [(run, end) for run in members for end in open_ends(run)] if thick else []
        if not ends:
            continue
        lines = {run.id: _line(run, calibrations[run.id]) for run in members}
        bodies = [_body(run, lines[run.id]) for run in thick]
        points = shapely.points([lines[run.id].coords[0 if end == 0 else -1] for run, end in ends])
        near = shapely.STRtree(bodies).query(points, predicate="intersects")
        for j, k in sorted(near.T.tolist()):
            (run, _end), other = ends[j], thick[k]
            reach = join_reach(calibrations[run.id])
            if run.id == other.id or shapely.distance(points[j], bodies[k].boundary) <= reach:
                continue
            way_in = _piece(shapely.intersection(lines[run.id], bodies[k]), points[j])
            comes = _side(lines[other.id], way_in, points[j])
            is_coated = other.face in ("both", comes)
            found.append(
                EndInside(
                    run=run.id,
                    other=other.id,
                    inside=float(way_in.length),
                    covered=run.thickness if is_coated else 0.0,
                )
            )
    return tuple(found)


def _line(run: Run, scale: Calibration) -> Any:
    """Traced line in building metres, y down."""
    return shapely.LineString(traced_path(run, scale).flattened(ARC_SAG))


def _body(run: Run, line: Any) -> Any:
    """What the wall of a run takes of the plan."""
    if run.line == "centre":
        return line.buffer(run.thickness / 2.0, cap_style="flat", join_style="mitre")
    # with y down what shapely calls left is the right hand as displayed; the body is behind the coated face
    by = -run.thickness if run.face == "right" else run.thickness
    return line.buffer(by, single_sided=True, join_style="mitre")


def _piece(inside: Any, end: Any) -> Any:
    """The part of a line inside a body that leads to its end."""
    return min(shapely.get_parts(inside), key=lambda part: shapely.distance(part, end))


def _side(line: Any, way_in: Any, end: Any) -> str:
    """From which hand of a line as displayed somebody comes in."""
    entry = max((shapely.Point(c) for c in way_in.coords), key=lambda p: p.distance(end))
    at = line.project(entry)
    step = min(1e-3, line.length / 4.0)
    before, after = line.interpolate(max(at - step, 0.0)), line.interpolate(min(at + step, line.length))
    across = (after.x - before.x) * (entry.y - before.y) - (after.y - before.y) * (entry.x - before.x)
    return "left" if across < 0.0 else "right"
