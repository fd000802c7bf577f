"""Rooms of a picture read in two ways, by the network and from its lines: where both say the same a room is sure."""

from __future__ import annotations

import math
from dataclasses import replace

import shapely
from shapely import LinearRing, Point, Polygon

from takeoff.model.plan import Calibration
from takeoff.trace.drawing.polygons import shared
from takeoff.trace.lines.plan_rooms import TracedPlan
from takeoff.trace.lines.traced_rooms import TracedRoom

AGREED = 0.95
"""The confidence of a room that both readings have alike."""
_ALIKE, _DISPUTED, _OVER = 0.95, 0.8, 0.2
"""Shares of common area: of two readings of one room; of those that differ, where the network's stays; of rooms that
lie over one another."""
_ASTRAY, _STUB = 0.03, 0.02
"""Metres; half of the least width of what the network has as wall and the lines as floor, a pilaster that is filled; of
what the lines have as wall in a room that the network is sure of, a shaft between thin boards."""
_PIXEL, _LESS = 0.75, 0.02
"""Pixels by which an edge of a picture may be off, and the share of a room's area that this is at the most where it is
sure."""
_PLACE, _WIDTH, _SHARE = 0.1, 0.06, 0.06
"""Metres by which two readings of an opening differ in place and width, and share of its width (as for a sure one)."""
_STANDS = 0.8
"""The confidence of a room in which the lines have something built in (of 21 such ones 19 were right)."""
_BUILT_IN = "Its lines, followed one by one, have a part of it as wall: a shaft or a pier may stand there."
_TWICE = "Its lines, followed one by one, give the same room and the same openings."
_LINES = "It was read from the lines of a picture: the network has it otherwise."
_Room = tuple[TracedRoom, Polygon]


def both_readings(seen: TracedPlan, drawn: TracedPlan, calibration: Calibration, m_per_px: float) -> TracedPlan:
    """Return a picture's rooms as the network has them, surer where its lines say the same, and more of the lines.

    ``seen`` was read by the network, ``drawn`` from the picture's lines; ``m_per_px`` is how wide a pixel of it is.
    """
    m_per_pt = math.sqrt(calibration.mx * calibration.my)
    others = [(room, shape) for room, shape in zip(drawn.rooms, drawn.shapes, strict=True) if not room.leaks_pt]
    kept: list[_Room] = []
    firm: list[Polygon] = []
    for room, shape in zip(seen.rooms, seen.shapes, strict=True):
        near = max(others, key=lambda other: shared(shape, other[1]), default=None)
        twin = near if near is not None and shared(shape, near[1]) > _ALIKE else None
        is_disputed = near is not None and shared(shape, near[1]) > _DISPUTED
        if twin is not None:
            others = [other for other in others if other is not twin]
            if (
                twin[0].sure
                and not (room.sure or room.leaks_pt or room.unread)
                and _same_openings(room, twin[0], m_per_pt)
            ):
                room, shape = _settled((room, shape), twin, m_per_pt, m_per_px)
            elif room.sure and _is_wider(shape, twin[1], _STUB / m_per_pt):
                room = replace(room, sure=False, confidence=_STANDS, reasons=(*room.reasons, _BUILT_IN))
        if is_disputed or room.sure:
            firm.append(shape)
        kept.append((room, shape))
    for room, shape in others:
        if not room.outline_sure or any(_over(shape, one) for one in firm):
            continue
        kept = [one for one in kept if not _over(shape, one[1])]
        told = replace(room, sure=False, outline_sure=False, reasons=(_LINES, *room.reasons))
        kept.append((told, shape))
    lost = tuple(one for one in seen.lost if not any(s.contains(Point(one.at_pt)) for _, s in kept))
    return replace(seen, rooms=tuple(r for r, _ in kept), shapes=tuple(s for _, s in kept), lost=lost)


def _over(one: Polygon, other: Polygon) -> bool:
    return bool(one.intersection(other).area > _OVER * min(one.area, other.area))


def _is_wider(one: Polygon, other: Polygon, half: float) -> bool:
    """Tell whether a shape has a part beyond another that is more than twice so wide."""
    return not shapely.buffer(shapely.difference(one, other), -half, quad_segs=1).is_empty


def _settled(seen: _Room, drawn: _Room, m_per_pt: float, m_per_px: float) -> _Room:
    """Return a room that both readings have as the lines have it and sure, where the picture is fine enough for that.

    What is filled is not among the lines: none of it may stand in the room.
    """
    (first, within), (room, shape) = seen, drawn
    is_rough = _PIXEL * m_per_px / m_per_pt * shape.length > _LESS * shape.area
    if is_rough or _is_wider(shape, within, _ASTRAY / m_per_pt) or len(room.columns) != len(first.columns):
        return seen
    openings = tuple(replace(o, confidence=max(o.confidence, AGREED)) for o in room.openings)
    reasons = (*first.reasons[:1], _TWICE)
    told = replace(room, openings=openings, sure=True, outline_sure=True, confidence=AGREED, reasons=reasons)
    return told, shape


def _same_openings(one: TracedRoom, other: TracedRoom, m_per_pt: float) -> bool:
    """Tell whether each opening of either room has one of the same kind, place and width in the other."""
    left = _places(other, m_per_pt)
    for kind, width, at in _places(one, m_per_pt):
        fits = [
            place
            for place in left
            if place[0] == kind
            and abs(place[1] - width) < max(_WIDTH, _SHARE * width)
            and at.distance(place[2]) * m_per_pt < _PLACE * (1 + width)
        ]
        if not fits:
            return False
        left.remove(fits[0])
    return not left


def _places(room: TracedRoom, m_per_pt: float) -> list[tuple[str, float, Point]]:
    ring = LinearRing(room.points_pt)
    return [(o.kind, o.width, ring.interpolate(min(o.at / m_per_pt, ring.length))) for o in room.openings]
