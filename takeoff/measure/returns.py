"""Coated returns of openings, and openings as a measuring rule sees them."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import shapely

from takeoff.measure.develop import Face
from takeoff.measure.elevation import opening_polygon
from takeoff.measure.rules import RuledOpening
from takeoff.measure.settings import ROUNDING
from takeoff.model.figures import PlacedOpening

Line = tuple[tuple[float, float], tuple[float, float]]


def _sides(face: Face, opening: PlacedOpening, edge: str) -> list[Line]:
    """Lines of one coated side; on a closed face both verticals at its first vertex are one."""
    x0, x1, z0, z1 = opening.x0, opening.x1, opening.z0, opening.z1
    if edge != "jamb":
        z = z1 if edge == "head" else z0
        return [((x0, z), (x1, z))]
    if face.run.closed:
        x0, x1 = (face.length if x0 == 0.0 else x0), (0.0 if x1 == face.length else x1)
    return [((x0, z0), (x0, z1)), ((x1, z0), (x1, z1))]


def opening_returns(face: Face, net: shapely.Geometry) -> list[float]:
    """Coated returns of each placed opening in m²: reveal × the length of the net's boundary on its coated sides.

    An opening has one reveal: of a run measured on both faces each face has half of it. A side that another opening
    swallows, or that lies outside the wall, has no return; what two openings share counts for the first. The curved
    head of an outlined opening counts with its jambs and head.
    """
    areas = [0.0] * len(face.openings)
    if not any(o.source.reveal and o.source.coated for o in face.openings):
        return areas
    boundary = shapely.boundary(net)
    share = 0.5 if face.run.face == "both" else 1.0
    for i, o in enumerate(face.openings):
        if not (o.source.reveal and o.source.coated):
            continue
        if o.source.outline is not None:
            ring = shapely.get_coordinates(shapely.boundary(opening_polygon(o))).tolist()
            pairs = [((a[0], a[1]), (b[0], b[1])) for a, b in pairwise(ring)]
            lines = [pair for pair in pairs if _edge_of(pair, o) in o.source.coated]
        else:
            lines = [line for edge in o.source.coated for line in _sides(face, o, edge)]
        if not lines:
            continue
        side = shapely.MultiLineString(lines)
        if o.source.outline is not None or len(face.profile) > 1:
            # where a sloped top or a curve clips a side, its line and the boundary differ by rounding
            side = shapely.union_all(shapely.buffer(shapely.get_parts(side), ROUNDING, cap_style="flat"))
        areas[i] = share * o.source.reveal * float(shapely.length(shapely.intersection(boundary, side)))
        if any(other.x0 <= o.x1 and o.x0 <= other.x1 for other in face.openings[i + 1 :]):
            boundary = shapely.difference(boundary, side)
    return areas


def _edge_of(pair: Line, opening: PlacedOpening) -> str:
    (xa, za), (xb, zb) = pair
    if abs(xb - xa) < ROUNDING:
        return "jamb"
    return "sill" if max(za, zb) <= opening.z0 + ROUNDING else "head"


def ruled_openings(face: Face, wall: shapely.Geometry, returns: Sequence[float]) -> tuple[RuledOpening, ...]:
    """Openings clipped to their wall, for a measuring rule; those of the same place and size count once.

    The two pieces of an opening across a closed run's first vertex are one opening.
    """
    pieces: dict[tuple[float, ...], tuple[PlacedOpening, RuledOpening]] = {}
    for o, back in zip(face.openings, returns, strict=True):
        piece = _piece(face, wall, o, back)
        if piece.area > 0.0:
            pieces.setdefault((o.x0, o.x1, o.z0, o.z1), (o, piece))
    out: list[RuledOpening] = []
    seam: tuple[PlacedOpening, RuledOpening] | None = None
    for o, piece in pieces.values():
        if face.run.closed and o.x1 >= face.length and seam is None:
            seam = (o, piece)
        elif seam is not None and o.index == seam[0].index and o.x0 <= 0.0:
            out.append(_joined(seam[1], piece, has_corner=face.turns[0] != 0.0))
            seam = None
        else:
            out.append(piece)
    return (*out, seam[1]) if seam is not None else tuple(out)


def _piece(face: Face, wall: shapely.Geometry, opening: PlacedOpening, back: float) -> RuledOpening:
    corners = [s for s, turn in zip(face.stations, face.turns, strict=False) if turn and opening.x0 < s < opening.x1]
    x0, x1 = max(opening.x0, 0.0), min(opening.x1, face.length)
    cuts = [x0, *corners, x1]
    if opening.source.outline is None and len(face.profile) == 1:
        base, top = face.run.base, face.profile[0][1]
        height = max(min(opening.z1, top) - max(opening.z0, base), 0.0)
        parts = tuple((b - a) * height for a, b in pairwise(cuts))
        touches = opening.z0 <= base or opening.z1 >= top or (not face.run.closed and (x0 <= 0.0 or x1 >= face.length))
        area = (x1 - x0) * height
    else:
        clipped = shapely.intersection(opening_polygon(opening), wall)
        edge = shapely.boundary(wall)
        if face.run.closed:
            ends = shapely.linestrings([[(x, -1.0), (x, 2.0 * opening.z1 + 200.0)] for x in (0.0, face.length)])
            edge = shapely.difference(edge, shapely.union_all(shapely.buffer(ends, ROUNDING)))
        touches = bool(shapely.dwithin(clipped, edge, 2.0 * ROUNDING))
        area = float(shapely.area(clipped))
        parts = tuple(
            float(shapely.area(shapely.intersection(clipped, shapely.box(a, opening.z0 - 1.0, b, opening.z1 + 1.0))))
            for a, b in pairwise(cuts)
        )
    return RuledOpening(area=area, touches_edge=touches, returns=back, parts=parts if len(parts) > 1 else ())


def _joined(first: RuledOpening, second: RuledOpening, *, has_corner: bool) -> RuledOpening:
    before, after = first.parts or (first.area,), second.parts or (second.area,)
    parts = (*before, *after) if has_corner else (*before[:-1], before[-1] + after[0], *after[1:])
    return RuledOpening(
        area=first.area + second.area,
        touches_edge=first.touches_edge or second.touches_edge,
        returns=first.returns + second.returns,
        parts=parts if len(parts) > 1 else (),
    )
