"""Windows that are drawn over walls which go on there, and windows that may be doors, drawn shut.

An office draws all its doors in one way. Where none is drawn open, what stands between rooms in one look, leads into
the rooms that have no door else, and hardly ever stands in an outer wall, where windows look otherwise, is the doors.
Where doors are drawn open and no glass is, gaps in outer walls with a line along both faces are its windows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import Geometry, Polygon

from takeoff.geometry.intervals import united
from takeoff.trace.drawing.linework import Floats, Ints
from takeoff.trace.drawing.polygons import lengths_inside
from takeoff.trace.lines.gap_contents import FRAME
from takeoff.trace.lines.opening_forms import FACED, FoundOpening
from takeoff.trace.lines.scene import Scene
from takeoff.trace.lines.wall_material import THICK
from takeoff.trace.lines.wall_openings import PARTING

_SILL, _POST = 0.15, 0.03
"""Metres that a sill in the walls' own pen stands out at the most (common practice, no source), and that a wall goes on
beside a window at least, to the next one too (measured: posts of 60 mm)."""
_OUT = 0.3
"""Metres before a wall's face at which it is asked whether that is outside (judgement)."""
_ALIKE = 0.008
"""Metres by which the lines of openings may differ that are drawn alike, from a face or from the middle (judgement)."""
_SEVERAL = 3
"""Openings between rooms, and others in outer walls, from which a sheet shows how it draws them (judgement)."""
_SERVES, _OUTER = 0.5, 0.34
"""Share of the rooms that such doors and no others lead into, and how many of them stand in outer walls over those
between rooms; the same of windows, the other way round (judgement)."""
_OPEN = 0.1
"""Doors that are drawn open over those that are shut, up to which they are mistaken for it (judgement)."""
_SHUT = 0.95
"""The confidence of a leaf that is drawn shut as the others of the sheet are."""
_FACED, _GATE = 0.92, 2.3
"""The confidence of a window that is drawn by two lines as the others of the sheet are, and metres from which such a
gap may be a gate: one for a car is 2.4 m, 8 ft, wide (common practice, no source)."""
_OPEN_FORMS = ("swing", "double", "bi-fold", "pocket")


def windows_in(material: Geometry, scene: Scene) -> list[Geometry]:
    """Find windows that are drawn over an unbroken wall: lines inside it along its run, between two cross lines.

    Returns
    -------
    list of Geometry
        What to cut out of the material so that each is a gap like any other.
    """
    pieces = scene.pieces
    inside = shapely.buffer(material, -scene.pt(0.012))
    is_drawn = pieces.is_whole & scene.linework.stroked[pieces.path]
    is_drawn &= ~(scene.is_symbol | scene.is_note | scene.is_dashed)
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
    is_short = lengths < scene.pt(THICK)
    parts = shapely.get_parts(shapely.intersection(lines[rows[~is_short]], inside))
    crossing = np.concatenate([lines[rows[is_short]], parts])  # a jamb in line with a cross wall's face is one with it
    crossing = crossing[shapely.length(crossing) > scene.pt(0.05)]
    ends = shapely.get_coordinates(crossing).reshape(-1, 4)
    tree = shapely.STRtree(crossing)
    faces = shapely.boundary(material)
    cuts: list[Geometry] = []
    for row in glass[np.argsort(-shapely.length(lines[glass]), kind="stable")].tolist():
        if any(cut.contains(shapely.line_interpolate_point(lines[row], 0.5, normalized=True)) for cut in cuts):
            continue  # another line of the same window
        cut = _window_round(pieces.segments[row], ends, tree, faces, material, scene)
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

    def bounds(one: Floats, other: Floats) -> bool:
        near, far = sorted((off(one), off(other)))
        return float(np.hypot(*(other - one))) > scene.pt(0.05) and near <= slack and far <= scene.pt(_SILL)

    jambs: list[tuple[float, float]] = []
    ends: list[Floats] = []
    for end, out in ((a, -u), (b, u)):
        reach = shapely.LineString([end, end + out * scene.pt(FRAME)])
        near = crossing[tree.query(reach, predicate="dwithin", distance=scene.pt(0.03))].reshape(-1, 2, 2)
        d = near[:, 1] - near[:, 0]
        near = near[np.abs(d @ u) < 0.1 * np.hypot(d[:, 0], d[:, 1])]
        at, offsets = ((near - end) @ out).mean(1), np.sort((near - end) @ n, axis=1)
        whole = [_gone_on(i, at, offsets, slack / 4) for i in range(len(near))]
        corners = [[end + out * one + n * off for off in both] for one, both in zip(at, whole, strict=True)]
        jamb = next((i for i in np.argsort(at) if bounds(*corners[i])), None)  # the others are the sides of a frame
        if jamb is None:
            return None
        jambs.append(whole[jamb])
        ends.append(end + out * at[jamb])
        if not material.contains(shapely.Point(ends[-1] + out * scene.pt(_POST))):
            return None
    low, high = max(s[0] for s in jambs), min(s[1] for s in jambs)
    a, b = ends
    middle = (a + b) / 2
    if min(-low, high) < slack / 4:
        return None  # a line along a face is no glass
    if max(off(middle + n * low), off(middle + n * high)) > scene.pt(_SILL):
        return None
    low, high = low - off(middle + n * low) - slack, high + off(middle + n * high) + slack
    sides = np.array([[a + n * off, b + n * off] for off in (low, high)])
    if shapely.length(shapely.intersection(shapely.linestrings(sides), material)).max() > scene.pt(0.05):
        return None  # a wall ends on it there: that is a pier; at its end one only stands beside
    return shapely.Polygon([*sides[0], *sides[1, ::-1]])


def _gone_on(one: int, at: Floats, offsets: Floats, slack: float) -> tuple[float, float]:
    """Return from where to where a cross line goes with what follows it on its line, as the ends of two leaves do."""
    on_line = np.sort(offsets[np.abs(at - at[one]) < slack], axis=1)
    middle = float(offsets[one].mean())
    return next(span for span in united(on_line.tolist(), slack) if span[0] <= middle <= span[1])


def with_shut_doors(
    openings: Sequence[FoundOpening], rooms: Sequence[Polygon], inside: Geometry, scene: Scene
) -> tuple[FoundOpening, ...]:
    """Return the openings; those windows as doubtful of which nothing tells that they are no doors.

    That are windows between two rooms, those that lack the lines along the wall's face which other windows of the sheet
    have, and those of a room into which no door leads. Leaves that slide in an outer wall may be a window's. Who names
    a layer has told.

    ``rooms`` are those that walls and openings close, ``inside`` is what lies within the building, in sheet points.
    """
    faced = [i for i, one in enumerate(openings) if one.reason == FACED]
    asked = [i for i, one in enumerate(openings) if one.form in ("window", "sliding") and not one.is_told]
    if not (asked or faced) or not len(rooms):
        return tuple(openings)
    bands = np.array([one.gap.band for one in openings], object)
    leads = shapely.STRtree(bands).query(rooms, predicate="dwithin", distance=scene.pt(0.02))
    shapely.prepare(inside)
    beside = {i: shapely.points(_beside(openings[i], scene)) for i in (*asked, *faced)}
    within = {i: bool(shapely.contains(inside, both).all()) for i, both in beside.items()}
    doubted = list(openings)
    doors, windows = _told_apart(openings, within, leads, scene)
    for i in doors:
        reason = "a leaf is drawn shut in it, as in the other openings between rooms"
        doubted[i] = replace(openings[i], form="swing", confidence=_SHUT, reason=reason)
    room, opening = leads.tolist()
    entered = {r for r, o in zip(room, opening, strict=True) if doubted[o].kind == "door"}
    shut = {o for r, o in zip(room, opening, strict=True) if r not in entered}
    for i in _faced_windows(openings, faced, within, scene):
        if i not in shut:
            doubted[i] = replace(openings[i], form="window", confidence=_FACED, reason=f"{FACED} in an outer wall")
    asked = [i for i in asked if doubted[i] is openings[i]]
    has_sills = any(openings[i].has_sill for i in asked)
    for i in asked:
        one, is_inside, reason = openings[i], within[i], ""
        if one.form == "sliding":
            reason = "" if is_inside else "a window with panes that slide looks the same"
        elif i in shut:
            reason = "no door leads into the room, and a door that is drawn shut looks like a window"
        elif doors and i not in windows:
            reason = "it is drawn neither as the doors nor as the windows of the sheet are"
        elif has_sills and not one.has_sill:
            reason = "it lacks the lines along the wall that other windows have, as a door that is drawn shut does"
        elif is_inside:
            reason = "it stands inside the building, where a door that is drawn shut looks the same"
        if reason:
            doubted[i] = replace(one, confidence=min(one.confidence, PARTING), reason=f"{one.reason}, but {reason}")
    return tuple(doubted)


def _faced_windows(
    openings: Sequence[FoundOpening], faced: Sequence[int], within: dict[int, bool], scene: Scene
) -> list[int]:
    """Return which gaps with but a line along both faces are windows, where the sheet draws all its windows so."""
    outer = [i for i in faced if not within[i]]
    is_glazed = any(one.form == "window" and not within.get(i, False) for i, one in enumerate(openings))
    opens = any(one.form in _OPEN_FORMS for one in openings)
    if is_glazed or not opens or len(outer) < _SEVERAL or len(faced) - len(outer) > _OUTER * len(outer):
        return []
    return [i for i in outer if openings[i].gap.width_pt < scene.pt(_GATE)]


def _told_apart(
    openings: Sequence[FoundOpening], within: dict[int, bool], leads: Ints, scene: Scene
) -> tuple[list[int], list[int]]:
    """Return which openings are drawn as the doors of a sheet are that draws them shut, and which as its windows.

    ``within`` says of those that are asked whether they stand between rooms, ``leads`` has rooms and openings in pairs.
    """
    looks: list[list[int]] = []
    for i in (i for i in within if openings[i].lines_pt):
        own = next((look for look in looks if _are_alike(openings[i], openings[look[0]], scene)), None)
        looks.append([i]) if own is None else own.append(i)
    inner = np.array([sum(within[i] for i in look) for look in looks])
    outer = np.array([len(look) for look in looks]) - inner
    are_doors = (inner >= _SEVERAL) & (outer <= _OUTER * inner)
    are_windows = (outer >= _SEVERAL) & ~are_doors
    drawn_open = sum(one.form in _OPEN_FORMS for one in openings)
    are_doors &= drawn_open <= _OPEN * inner
    if not are_doors.any() or are_windows.sum() != 1 or (inner > _OUTER * outer)[are_windows].any():
        return [], []
    doors = looks[int(np.argmax(inner * are_doors))]
    pairs = leads.T.tolist()
    lacking = {r for r, _ in pairs} - {r for r, o in pairs if openings[o].kind == "door"}
    served = {r for r, o in pairs if o in doors} & lacking
    is_so = len(served) >= _SERVES * len({r for r, _ in pairs})
    return (doors, looks[int(np.argmax(are_windows))]) if is_so else ([], [])


def _are_alike(one: FoundOpening, other: FoundOpening, scene: Scene) -> bool:
    """Tell whether as many lines cross two gaps, as far from the middle of the wall or from one of its faces."""
    if len(one.lines_pt) != len(other.lines_pt) or one.has_sill != other.has_sill:
        return False
    own, half = np.array(one.lines_pt), one.gap.thickness_pt / 2
    off = np.array([np.sort(np.array(other.lines_pt) * sign) for sign in (1, -1)])
    from_face = off - other.gap.thickness_pt / 2
    misses = [np.abs(off - own), np.abs(from_face - (own - half)), np.abs(from_face + half + own[::-1])]
    return bool(min(miss.max(1).min() for miss in misses) < scene.pt(_ALIKE))


def _beside(opening: FoundOpening, scene: Scene) -> list[tuple[float, float]]:
    """Return the places before both faces of the wall at an opening's middle."""
    aside = np.array([-opening.gap.along[1], opening.gap.along[0]])
    off = opening.gap.thickness_pt / 2 + scene.pt(_OUT)
    middle = np.array(opening.gap.middle_pt)
    return [tuple((middle + sign * off * aside).tolist()) for sign in (1, -1)]
