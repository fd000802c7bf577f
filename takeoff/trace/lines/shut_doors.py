"""Windows that may be doors: lines from jamb to jamb are a pane, or a leaf that is drawn shut, and look the same."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import Geometry, Polygon

from takeoff.trace.lines.scene import Scene
from takeoff.trace.lines.wall_openings import FoundOpening

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
