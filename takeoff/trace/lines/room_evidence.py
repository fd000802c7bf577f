"""How far a traced room is to be trusted, and why: what speaks against it, each with its weight."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import shapely
from shapely import Polygon

from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.polygons import lengths_inside
from takeoff.trace.lines.scene import Scene
from takeoff.trace.lines.swings import Swing
from takeoff.trace.lines.wall_areas import Style, Walls
from takeoff.trace.lines.wall_openings import FoundOpening
from takeoff.trace.texts.room_names import groups_of_names

SURE = 0.9
"""A room at or above this confidence is called sure."""

_BY_STYLE: dict[Style, float] = {"layer": 0.995, "poché": 0.99, "outline": 0.97, "heavy line": 0.93}


class HasConfidence(Protocol):
    """An opening with its confidence and its reason."""

    @property
    def confidence(self) -> float:
        """The chance in 0..1 that it is right."""

    @property
    def reason(self) -> str:
        """What it is believed for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What speaks for and against a room, as numbers; lengths and areas in metres.

    ``names`` is how many names stand in it; ``stray`` the length of wall-like lines inside it that are in no wall;
    ``short_edges`` how many sides under 50 mm its outline has; ``loose_swings`` the door swings at its outline that fit
    no opening; ``area`` its floor; ``purity`` that of its building's walls.
    """

    style: Style
    names: int
    stray: float
    short_edges: int
    loose_swings: int
    area: float
    purity: float

    @classmethod
    def of(
        cls,
        shape: Polygon,
        scene: Scene,
        walls: Walls,
        openings: Sequence[FoundOpening],
        swings: Sequence[Swing],
        lines: Sequence[TextLine],
    ) -> Evidence:
        """Gather it for a room's area in sheet points."""
        core = shapely.buffer(shape, -scene.pt(0.05))
        is_loose = ~scene.is_hatch & ~scene.is_symbol & ~scene.linework.dashed[scene.pieces.path]
        rows = walls.rows[is_loose[walls.rows]]
        x0, y0, x1, y1 = shape.bounds
        ends = scene.pieces.segments[rows].reshape(-1, 2, 2)
        low, high = ends.min(1), ends.max(1)
        strokes = shapely.linestrings(ends[(high >= (x0, y0)).all(1) & (low <= (x1, y1)).all(1)])
        solid = shapely.intersection([walls.material, walls.low], shapely.box(x0, y0, x1, y1))
        stands = shapely.difference(core, shapely.buffer(shapely.union_all(solid), scene.pt(0.03)))
        stray = float(lengths_inside(strokes, stands).sum())
        coordinates = shapely.get_coordinates(shape.exterior)
        steps = np.hypot(*np.diff(coordinates, axis=0).T)
        near = shapely.buffer(shape.exterior, scene.pt(0.3))
        bands = [o.gap.band.buffer(scene.pt(0.25)) for o in openings]
        loose = [
            s
            for s in swings
            if s.has_leaf
            and near.contains(shapely.Point(s.hinge_pt))
            and not any(b.contains(shapely.Point(s.hinge_pt)) for b in bands)
        ]
        return cls(
            style=walls.style,
            names=groups_of_names(shape, lines),
            stray=stray * scene.m_per_pt,
            short_edges=int((steps < scene.pt(0.04)).sum()),
            loose_swings=len(loose),
            purity=walls.purity_at(shape),
            area=float(shape.area) * scene.m_per_pt**2,
        )


def judge(evidence: Evidence, openings: Sequence[HasConfidence]) -> tuple[float, tuple[str, ...], bool]:
    """Weigh the evidence: a confidence in 0..1, the reasons as sentences, and whether the room is sure."""
    confidence = _BY_STYLE[evidence.style]
    reasons = [f"The walls were read from {_WORDS[evidence.style]}."]

    def against(weight: float, sentence: str) -> None:
        nonlocal confidence
        confidence *= 1.0 - weight
        reasons.append(sentence)

    if evidence.purity < 0.97:
        against(0.15, f"{1 - evidence.purity:.0%} of what is drawn in the pen of the walls is something else.")
    if evidence.names > 1:
        against(0.4, f"{evidence.names} names stand in it: it may be several rooms that are open to one another.")
    if evidence.names == 0:
        against(0.06, "No name stands in it.")
    if not openings:
        against(0.2, "No opening leads into it.")
    if evidence.loose_swings:
        against(0.15, f"{evidence.loose_swings} door swings at its walls fit no opening.")
    if evidence.stray > 0.5:
        against(0.12, f"{evidence.stray:.1f} m of lines drawn like walls stand in it and are in no wall.")
    if evidence.short_edges:
        against(min(0.3, 0.02 * evidence.short_edges), f"{evidence.short_edges} sides are shorter than 40 mm.")
    if evidence.area < 1.5:
        against(0.08, f"It is only {evidence.area:.1f} m² large.")
    for opening in openings:
        if opening.confidence < 0.9:
            against(1.0 - opening.confidence, f"An opening is doubtful: {opening.reason}.")
    return round(confidence, 3), tuple(reasons), confidence >= SURE


_WORDS: dict[Style, str] = {
    "layer": "layers named for walls",
    "poché": "filled shapes",
    "outline": "pairs of lines",
    "heavy line": "single heavy lines",
}
