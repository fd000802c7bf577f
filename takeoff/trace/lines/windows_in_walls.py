"""Windows that are drawn over walls which go on there, and windows that may be doors, drawn shut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import Geometry, Polygon

from takeoff.trace.drawing.linework import Floats
from takeoff.trace.drawing.polygons import lengths_inside
from takeoff.trace.lines.gap_contents import FRAME
from takeoff.trace.lines.scene import Scene
from takeoff.trace.lines.wall_openings import FoundOpening

_SILL, _BEYOND = 0.15, 0.2
"""Metres that a sill in the walls' own pen stands out at the most, and beyond a jamb where it has ended (common
practice, no source)."""


def windows_in(material: Geometry, scene: Scene) -> list[Geometry]:
    """Find windows that are drawn over an unbroken wall: lines inside it along its run, between two cross lines.

    Returns
    -------
    list of Geometry
        What to cut out of the material so that each is a gap like any other.
    """
    pieces = scene.pieces
    inside = shapely.buffer(material, -scene.pt(0.012))
    is_drawn = pieces.is_whole & scene.linework.stroked[pieces.path] & ~scene.is_symbol & ~scene.is_note
    lines = np.array(shapely.linestrings(pieces.segments.reshape(-1, 2, 2)), object)
    drawn = np.flatnonzero(is_drawn)
    around = shapely.buffer(material, scene.pt(0.01))
    shapely.prepare(around)
    middles = (pieces.segments[drawn, :2] + pieces.segments[drawn, 2:]) / 2
    drawn = drawn[shapely.contains_xy(around, middles)]  # far quicker told than that all of a line is covered
    rows = drawn[shapely.covers(around, lines[drawn])]
    lengths = shapely.length(lines[rows])
    is_long = ~scene.is_hatch[rows] & (lengths > scene.pt(0.35)) & (lengths < scene.pt(6.0))
    glass = rows[is_long]
    glass = glass[lengths_inside(lines[glass], inside) > 0.8 * lengths[is_long]]
    crossing = rows[(lengths > scene.pt(0.05)) & (lengths < scene.pt(0.7))]
    tree = shapely.STRtree(lines[crossing])
    faces = shapely.boundary(material)
    cuts: list[Geometry] = []
    for row in glass[np.argsort(-shapely.length(lines[glass]), kind="stable")].tolist():
        if any(cut.contains(shapely.line_interpolate_point(lines[row], 0.5, normalized=True)) for cut in cuts):
            continue  # another line of the same window
        cut = _window_round(pieces.segments[row], pieces.segments[crossing], tree, faces, material, scene)
        if cut is not None:
            cuts.append(cut)
    return cuts


def _window_round(
    line: Floats, crossing: Floats, tree: shapely.STRtree, faces: Geometry, material: Geometry, scene: Scene
) -> Geometry | None:
    """Return the box of the wall round a line of glass, where a cross line closes both its ends."""
    a, b = line[:2], line[2:]
    u = (b - a) / np.hypot(*(b - a))
    n = np.array([-u[1], u[0]])
    slack = scene.pt(0.02)

    def off(at: Floats) -> float:
        return float(faces.distance(shapely.Point(at)))

    def bounds(one: Floats, other: Floats, out: Floats) -> bool:
        near, far = sorted((one, other), key=off)
        wide = float(np.hypot(*(other - one))) > scene.pt(0.05)
        return wide and off(near) <= slack and (off(far) <= slack or off(far + out * scene.pt(_BEYOND)) <= slack)

    sides: list[tuple[float, float]] = []
    ends: list[Floats] = []
    for end, out in ((a, -u), (b, u)):
        reach = shapely.LineString([end, end + out * scene.pt(FRAME)])
        near = crossing[tree.query(reach, predicate="dwithin", distance=scene.pt(0.03))].reshape(-1, 2, 2)
        d = near[:, 1] - near[:, 0]
        near = near[np.abs(d @ u) < 0.1 * np.hypot(d[:, 0], d[:, 1])]
        at = ((near - end) @ out).mean(1)
        jamb = next(
            (i for i in np.argsort(at) if bounds(near[i][0], near[i][1], out)), None
        )  # the others are the sides of a frame
        if jamb is None:
            return None
        offsets = (near[jamb] - end) @ n
        sides.append((float(offsets.min()), float(offsets.max())))
        ends.append(end + out * at[jamb])
        if not material.contains(shapely.Point(ends[-1] + out * scene.pt(0.08))):
            return None
    low, high = max(s[0] for s in sides), min(s[1] for s in sides)
    a, b = ends
    middle = (a + b) / 2
    if min(-low, high) < slack / 4:
        return None  # a line along a face is no glass
    if max(off(middle + n * low), off(middle + n * high)) > scene.pt(_SILL):
        return None
    low, high = low - off(middle + n * low) - slack, high + off(middle + n * high) + slack
    box = [a + n * low, b + n * low, b + n * high, a + n * high]
    return shapely.Polygon(box)


DOUBT = 0.7
"""The confidence of a window that may be a door (judgement)."""
_OUT = 0.3
"""Metres before a wall's face at which it is asked whether that is outside (judgement)."""


def with_shut_doors(
    openings: Sequence[FoundOpening], rooms: Sequence[Polygon], inside: Geometry, scene: Scene
) -> tuple[FoundOpening, ...]:
    """Return the openings; those windows as doubtful of which nothing tells that they are no doors.

    That are windows between two rooms, those that lack the lines along the wall's face which other windows of the sheet
    have, and those of a room into which no door leads. Leaves that slide in an outer wall may be a window's. Who names
    a layer has told.

    ``rooms`` are those that walls and openings close, ``inside`` is what lies within the building, in sheet points.
    """
    asked = [i for i, one in enumerate(openings) if one.form in ("window", "sliding") and not one.is_told]
    if not asked or not len(rooms):
        return tuple(openings)
    bands = np.array([one.gap.band for one in openings], object)
    room, opening = shapely.STRtree(bands).query(rooms, predicate="dwithin", distance=scene.pt(0.02))
    is_door = np.array([one.kind == "door" for one in openings])
    entered = set(room[is_door[opening]].tolist())
    shut = {o for r, o in zip(room.tolist(), opening.tolist(), strict=True) if r not in entered}
    has_sills = any(openings[i].has_sill for i in asked)
    shapely.prepare(inside)
    doubted = list(openings)
    for i in asked:
        one = openings[i]
        is_inside = bool(shapely.contains(inside, shapely.points(_beside(one, scene))).all())
        reason = ""
        if one.form == "sliding":
            reason = "" if is_inside else "a window with panes that slide looks the same"
        elif i in shut:
            reason = "no door leads into the room, and a door that is drawn shut looks like a window"
        elif has_sills and not one.has_sill:
            reason = "it lacks the lines along the wall that other windows have, as a door that is drawn shut does"
        elif is_inside:
            reason = "it stands inside the building, where a door that is drawn shut looks the same"
        if reason:
            doubted[i] = replace(one, confidence=min(one.confidence, DOUBT), reason=f"{one.reason}, but {reason}")
    return tuple(doubted)


def _beside(opening: FoundOpening, scene: Scene) -> list[tuple[float, float]]:
    """Return the places before both faces of the wall at an opening's middle."""
    aside = np.array([-opening.gap.along[1], opening.gap.along[0]])
    off = opening.gap.thickness_pt / 2 + scene.pt(_OUT)
    middle = np.array(opening.gap.middle_pt)
    return [tuple((middle + sign * off * aside).tolist()) for sign in (1, -1)]
