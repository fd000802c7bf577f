"""Coated returns of openings, openings as a measuring rule sees them, and the cove that goes round them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np
import shapely

from takeoff.geometry.cove import cove_girth, cove_section
from takeoff.measure.develop import Face
from takeoff.measure.elevation import Geometries, boundary_segments, opening_polygon, section, shared_section
from takeoff.measure.joins import end_section
from takeoff.measure.rules import ROUNDING, RuledOpening
from takeoff.model.figures import Corner, PlacedOpening, ReturnStrip
from takeoff.model.walls import Edge

Line = tuple[tuple[float, float], tuple[float, float]]

_Group = tuple[list[PlacedOpening], RuledOpening]
"""Placed openings that are one, and that one."""

TALL = 1e4
"""Metres above every wall."""


def _sides(face: Face, opening: PlacedOpening, edge: Edge) -> list[Line]:
    """Lines of one coated side; on a closed face both verticals at its first vertex are one."""
    x0, x1, z0, z1 = opening.x0, opening.x1, opening.z0, opening.z1
    if edge != "jamb":
        z = z1 if edge == "head" else z0
        return [((x0, z), (x1, z))]
    if face.run.closed:
        x0, x1 = (face.length if x0 == 0.0 else x0), (0.0 if x1 == face.length else x1)
    return [((x0, z0), (x0, z1)), ((x1, z0), (x1, z1))]


def opening_returns(face: Face, net: shapely.Geometry) -> list[list[ReturnStrip]]:
    """Coated returns of each placed opening: reveal, and the length of the net's boundary on each coated side.

    An opening has one reveal: of a run measured on both faces each face has half of it. A side that another opening
    swallows, or that lies outside the wall, has no return; what two openings share counts for the first. The curved
    head of an outlined opening counts with its jambs and head.
    """
    found: list[list[ReturnStrip]] = [[] for _ in face.openings]
    if not any(o.source.reveal and o.source.coated for o in face.openings):
        return found
    boundary = shapely.boundary(net)
    share = 0.5 if face.run.face == "both" else 1.0
    for i, o in enumerate(face.openings):
        if not (o.source.reveal and o.source.coated):
            continue
        sides = [(edge, _side(face, lines)) for edge, lines in _coated_lines(face, o)]
        for edge, side in sides:
            met = shapely.intersection(boundary, side)
            if (length := float(shapely.length(met))) > 0.0:
                low = float(shapely.bounds(met)[1])
                found[i].append(
                    ReturnStrip(edge=edge, length=length, depth=share * o.source.reveal, low=low, opening=o.index)
                )
        if any(other.x0 <= o.x1 and o.x0 <= other.x1 for other in face.openings[i + 1 :]):
            boundary = shapely.difference(boundary, shapely.union_all([side for _, side in sides]))
    return found


def _coated_lines(face: Face, opening: PlacedOpening) -> list[tuple[Edge, list[Line]]]:
    """Coated sides of an opening, each jamb by itself; the outline of one that is no rectangle edge by edge."""
    coated = opening.source.coated
    if opening.source.outline is None:
        return [(edge, [line]) for edge in coated for line in _sides(face, opening, edge)]
    ring = shapely.get_coordinates(shapely.boundary(opening_polygon(opening))).tolist()
    lines: dict[Edge, list[Line]] = {edge: [] for edge in coated}
    for a, b in pairwise(ring):
        pair = ((a[0], a[1]), (b[0], b[1]))
        if (edge := _edge_of(pair, opening)) in lines:
            lines[edge].append(pair)
    return [(edge, found) for edge, found in lines.items() if found]


def _side(face: Face, lines: Sequence[Line]) -> shapely.Geometry:
    if len(lines) == 1 and len(face.profile) == 1:
        return shapely.LineString(lines[0])
    # where a sloped top or a curve clips a side, its line and the boundary differ by rounding
    parts = shapely.linestrings(lines)
    return shapely.union_all(shapely.buffer(parts, ROUNDING, cap_style="flat"))


def _edge_of(pair: Line, opening: PlacedOpening) -> Edge:
    (xa, za), (xb, zb) = pair
    if abs(xb - xa) < ROUNDING:
        return "jamb"
    return "sill" if max(za, zb) <= opening.z0 + ROUNDING else "head"


def ruled_openings(
    face: Face, wall: shapely.Geometry, returns: Sequence[float], *, joins_touching: bool = False
) -> tuple[RuledOpening, ...]:
    """Openings clipped to their wall, for a measuring rule; those of the same place and size count once.

    The two pieces of an opening across a closed run's first vertex are one opening. With ``joins_touching`` openings
    that touch along an edge, or overlap, are one too.
    """
    pieces: dict[tuple[float, ...], tuple[PlacedOpening, RuledOpening]] = {}
    for o, back in zip(face.openings, returns, strict=True):
        piece = _piece(face, wall, o, back)
        if piece.area > 0.0:
            pieces.setdefault((o.x0, o.x1, o.z0, o.z1), (o, piece))
    out: list[_Group] = []
    seam: tuple[PlacedOpening, RuledOpening] | None = None
    for o, piece in pieces.values():
        if face.run.closed and o.x1 >= face.length and seam is None:
            seam = (o, piece)
        elif seam is not None and o.index == seam[0].index and o.x0 <= 0.0:
            out.append(([seam[0], o], _joined(seam[1], piece, has_corner=face.turns[0] != 0.0)))
            seam = None
        else:
            out.append(([o], piece))
    if seam is not None:
        out.append(([seam[0]], seam[1]))
    if joins_touching:
        out = [_as_one(face, wall, group) for group in _touching(out)]
    return tuple(piece for _, piece in out)


def _touching(openings: Sequence[_Group]) -> list[list[_Group]]:
    groups: list[list[_Group]] = []
    for opening in openings:
        near = [g for g in groups if any(_touch(a, b) for placed, _ in g for a in placed for b in opening[0])]
        groups = [g for g in groups if not any(g is other for other in near)]
        groups.append([*(one for g in near for one in g), opening])
    return groups


def _touch(a: PlacedOpening, b: PlacedOpening) -> bool:
    wide = min(a.x1, b.x1) - max(a.x0, b.x0)
    high = min(a.z1, b.z1) - max(a.z0, b.z0)
    return min(wide, high) > -ROUNDING and max(wide, high) > ROUNDING


def _as_one(face: Face, wall: shapely.Geometry, group: Sequence[_Group]) -> _Group:
    """Make one opening of several, on each wall by itself where they lie round a corner."""
    if len(group) == 1:
        return group[0]
    placed = [o for members, _ in group for o in members]
    clipped = shapely.intersection(shapely.union_all([opening_polygon(o) for o in placed]), wall)
    corners = [s for s, turn in zip(face.stations, face.turns, strict=False) if turn and 0.0 < s < face.length]
    cuts = [0.0, *corners, face.length]
    parts = [
        float(shapely.area(shapely.intersection(clipped, shapely.box(a, -1.0, b, TALL)))) for a, b in pairwise(cuts)
    ]
    if face.run.closed and not face.turns[0]:
        parts = [parts[0] + parts[-1], *parts[1:-1]] if len(parts) > 1 else parts
    parts = [part for part in parts if part > 0.0]
    whole = RuledOpening(
        area=float(shapely.area(clipped)),
        touches_edge=any(piece.touches_edge for _, piece in group),
        returns=sum(piece.returns for _, piece in group),
        parts=tuple(parts) if len(parts) > 1 else (),
    )
    return placed, whole


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


def cove_bands(faces: Sequence[Face], nets: Geometries) -> list[float]:
    """Net area in m² of each face below the top of its cove less the cove's lap; 0 without a cove on the floor."""
    tops = np.array([_start(face) for face in faces])
    cut = np.flatnonzero(tops > 0.0)
    of, a, b = boundary_segments(nets[cut])
    low, high = np.sort(np.stack([a[:, 1], b[:, 1]]), axis=0)
    top = tops[cut][of]
    bottom, most = np.minimum(low, top), np.minimum(high, top)
    below = np.divide(most - bottom, high - low, out=np.ones(len(of)), where=high > low)
    # the integral of the height, no more than the cove's, along the boundary (Green's theorem)
    mean = below * (bottom + most) / 2.0 + (1.0 - below) * top
    areas = np.zeros(len(faces))
    areas[cut] = np.maximum(np.bincount(of, mean * (a[:, 0] - b[:, 0]), len(cut)), 0.0)
    return areas.tolist()


def _start(face: Face) -> float:
    """Height above the floor in m at which the wall coat starts; 0 without a cove on the floor."""
    cove = face.cove
    return max(cove.height - cove.lap, 0.0) if cove is not None and face.run.base <= ROUNDING else 0.0


def cove_figures(
    face: Face,
    *,
    band: float,
    base_length: float,
    returns: Sequence[ReturnStrip],
    corners: Sequence[Corner],
    lows: Mapping[int, float],
) -> dict[str, float]:
    """Figures of a face's cove, by the names of `takeoff.model.figures.Quantities`; none without a cove on the floor.

    Parameters
    ----------
    band, base_length
        Net area that the cove covers in m², and length of the net area's base in m.
    returns
        Coated reveals and wall ends: the cove goes round wall ends, and into jambs as far as it is told to; where it
        covers a coated return the wall coat is not ordered twice.
    corners, lows
        Corners of the face, and the lowest heights of its joins by end.
    """
    cove = face.cove
    if cove is None or face.run.base > ROUNDING:
        return {}
    floor = face.run.base + ROUNDING
    ends = [s for s in returns if s.edge == "end" and s.low <= floor]
    jambs = [s for s in returns if s.edge == "jamb" and s.low <= floor]
    length = base_length + sum(s.depth for s in ends) + _jambs_at_floor(face) * cove.jamb_return
    covered = [(s.depth, s.length) for s in ends] + [(min(s.depth, cove.jamb_return), s.length) for s in jambs]
    girth = cove_girth(cove.height, cove.toe, cove.radius)
    mortar = cove_section(cove.height + cove.thickness, cove.toe + cove.thickness, cove.radius, cove.thickness)
    standing = [c for c in corners if _reaches_floor(face, c, lows)]
    return {
        "cove_length": length,
        "cove_girth_area": length * girth,
        "cove_volume": length * mortar,
        "cove_band_area": band + sum(depth * min(high, _start(face)) for depth, high in covered),
        "cove_inside_corners": float(sum(c.is_inside for c in standing)),
        "cove_outside_corners": float(sum(not c.is_inside for c in standing)),
    }


def _reaches_floor(face: Face, corner: Corner, lows: Mapping[int, float]) -> bool:
    """Tell whether the coating stands on its base on both sides of a corner."""
    floor = face.run.base + ROUNDING
    end = 0 if corner.station == 0.0 else 1
    if corner.joined:
        return lows[end] <= floor
    if corner.station in (0.0, face.length) and not face.run.closed:
        return any(low <= floor for low, _ in end_section(face, end))
    return any(low <= floor for low, _ in shared_section(face, corner.vertex))


def _jambs_at_floor(face: Face) -> int:
    """Number of jambs that stand on the floor with coating beside them; openings at one place have the same jambs."""
    places = set()
    for o in face.openings:
        if o.z0 <= face.run.base + ROUNDING:
            for x, side in ((o.x0, -1), (o.x1, +1)):
                if face.run.closed and x == (0.0 if side < 0 else face.length):
                    places.add((face.length - x, side))
                elif 0.0 < x < face.length:
                    places.add((x, side))
    return sum(any(a <= face.run.base + ROUNDING for a, _ in section(face, x, side)) for x, side in places)
