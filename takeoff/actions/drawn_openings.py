"""Openings as they are drawn on a sheet that was read for tracing, each by its place."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from takeoff.actions.traced_sheets import SheetTrace
from takeoff.geometry.nearest import point_at
from takeoff.measure.develop import traced_path
from takeoff.model.plan import Point
from takeoff.model.walls import OpeningKind, Run


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """An opening on the drawing: the sheet point of its middle on the wall's face, metres wide, its kind and mark.

    ``height`` is what a door schedule gives it, ``None`` where none does.
    """

    at_pt: Point
    width: float
    kind: OpeningKind
    mark: str
    height: float | None


def drawn_openings(read: SheetTrace) -> Iterator[Drawn]:
    """Yield the openings of every room of a sheet; one between two rooms comes on both its faces."""
    for _, scale, plan in read.parts:
        for room in plan.rooms:
            run = Run(
                id="drawn", sheet=read.sheet.id, points_pt=room.points_pt, bulges=room.bulges, closed=True, face="left"
            )
            path = traced_path(run, scale)
            for o in room.openings:
                x, y = point_at(path, o.at)
                yield Drawn(
                    at_pt=(x / scale.mx, y / scale.my), width=o.width, kind=o.kind, mark=o.mark, height=o.height
                )
