"""What a person may show as a wall next: where names have no room, lines that stand round them as walls do."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray

from takeoff.model.drafting import Look
from takeoff.model.plan import Point
from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.layer_names import is_removed
from takeoff.trace.drawing.linework import Ints, Linework
from takeoff.trace.drawing.looks import in_words, looks_of, roles_of
from takeoff.trace.lines.lost_rooms import BY_PARTING, BY_WALL, LostRoom
from takeoff.trace.lines.not_building import axis_rows, note_rows
from takeoff.trace.lines.open_rooms import rays_from
from takeoff.trace.lines.wall_groups import is_pale_yellow
from takeoff.trace.lines.wall_material import THICK, THIN

_RAYS, _REACH = 36, 8.0
"""Directions that are looked in from a name, and metres that are looked (judgement)."""
_LONG = 0.3
"""Metres that a line of a wall is long at the least (judgement)."""
_AROUND = 3
"""Directions in which two lines of one look must stand as the faces of a wall do (judgement)."""
_ELSE = {BY_WALL: "trace it by hand", BY_PARTING: f"{BY_PARTING[0].lower()}{BY_PARTING[1:]}"}
"""What helps besides."""
_MOST_PLACES = 20
"""Names that are looked from; after one wall was shown the sheet is read again (our choice)."""


def with_walls_to_show(
    lost: Sequence[LostRoom], linework: Linework, lines: Sequence[TextLine], known: Collection[Look], m_per_pt: float
) -> tuple[LostRoom, ...]:
    """Say at each name whose walls were not read which wall to show: where, and how it is drawn.

    ``lines`` are the sheet's text, which tells dimension lines; ``known`` are the looks that were read as walls or
    shown as something; one more is named, the one round most names.
    """
    asked = [i for i, one in enumerate(lost) if one.mend in _ELSE][:_MOST_PLACES]
    looks, number = looks_of(linework)
    pieces = linework.pieces
    ends = pieces.segments.reshape(-1, 2, 2)
    is_free = np.array([look not in known and not _is_no_wall(look) for look in looks], bool)
    is_long = np.hypot(*(ends[:, 1] - ends[:, 0]).T) > _LONG / m_per_pt
    roles = roles_of(linework)
    if not (len(looks) and asked) or (roles == "wall").any():  # other layers than those named for walls are no walls
        return tuple(lost)
    is_other = note_rows(pieces, roles, lines) | axis_rows(pieces, linework, lines) | (roles != "")[pieces.path]
    rows = np.flatnonzero(is_free[number[pieces.path]] & is_long & ~is_other)
    if not len(rows):
        return tuple(lost)
    drawn, kind = shapely.linestrings(ends[rows]), number[pieces.path[rows]]
    tree = shapely.STRtree(drawn)
    seen = [_faces_round(lost[i].at_pt, drawn, kind, tree, m_per_pt) for i in asked]
    counts = [sum(look in places for places in seen) for look in range(len(looks))]
    best = int(np.argmax(counts))
    told = list(lost)
    for i, places in zip(asked, seen, strict=True):
        if best in places:
            x, y = places[best]
            show = f"If what is drawn at {x:.0f},{y:.0f} is a wall ({in_words(looks[best])}), show it"
            told[i] = replace(lost[i], mend=f"{show}; or {_ELSE[lost[i].mend]}")
    return tuple(told)


def _is_no_wall(look: Look) -> bool:
    """Tell whether a look is dashed, or that of what is to be pulled down."""
    is_gone = look.fill is not None and is_pale_yellow(np.array(look.fill) / 255)
    return look.dashed or is_gone or is_removed(look.layer)


def _faces_round(
    at: Point, lines: NDArray[np.object_], kind: Ints, tree: shapely.STRtree, m_per_pt: float
) -> dict[int, Point]:
    """Return the looks whose lines stand round a place in pairs as faces of walls do, each with its nearest face."""
    u, rays = rays_from(at, _RAYS, _REACH / m_per_pt)
    ray, line = tree.query(rays, predicate="intersects")
    off = shapely.distance(shapely.Point(at), shapely.intersection(rays[ray], lines[line])) * m_per_pt
    found: dict[int, list[tuple[float, int]]] = {}
    for one in range(_RAYS):
        hits = sorted(zip(off[ray == one].tolist(), kind[line[ray == one]].tolist(), strict=True))
        for (near, look), (far, other) in pairwise(hits):
            if look == other and THIN < far - near < THICK:
                found.setdefault(look, []).append((near, one))
                break
    places: dict[int, Point] = {}
    for look, faces in found.items():
        if len(faces) >= _AROUND:
            near, one = min(faces)
            places[look] = (at[0] + u[one, 0] * near / m_per_pt, at[1] + u[one, 1] * near / m_per_pt)
    return places
