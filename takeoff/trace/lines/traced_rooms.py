"""Rooms as they are traced, and the runs round them with their openings."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from shapely import Polygon

from takeoff.geometry.arcs import segment_length
from takeoff.model.plan import Calibration, Point
from takeoff.model.walls import OpeningKind
from takeoff.trace.drawing.fitted_outline import outline_of
from takeoff.trace.drawing.linework import Floats
from takeoff.trace.lines.wall_openings import Form, FoundOpening


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where on the drawings a value stands: the sheet's id, the place in sheet points, and the words.

    ``how`` says whether a schedule has it or it is stated at its place, ``unsure`` what speaks against it.
    """

    sheet: int
    at_pt: Point | None
    text: str
    unsure: str = ""
    how: Literal["schedule", "stated"] = "schedule"


@dataclass(frozen=True, slots=True, kw_only=True)
class TracedOpening:
    """An opening on a traced run.

    ``at`` is the station of its centre and ``width`` its clear width between jambs, in metres along the run;
    ``form`` is how it is drawn, ``kind`` what the model knows it as; ``confidence`` is in 0..1, for ``reason``.
    ``mark`` is its mark where an opening schedule has it, ``height`` and ``sill`` in metres are what the schedule or a
    size written beside it gives, and ``source`` is where that stands.
    """

    at: float
    width: float
    form: Form
    kind: OpeningKind
    confidence: float
    reason: str
    mark: str = ""
    height: float | None = None
    sill: float | None = None
    source: Source | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TracedRun:
    """A closed run of wall faces in sheet points, the face on its left hand as displayed (the model's convention)."""

    points_pt: tuple[Point, ...]
    bulges: tuple[float, ...]
    openings: tuple[TracedOpening, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class TracedRoom:
    """A room as it was traced: its inner face, the columns inside it, and how far to trust it.

    ``points_pt``, ``bulges`` and ``openings`` are those of the inner face. ``columns`` are what stands free in the
    room, each a run of its own. ``area`` is the floor between faces in m², columns left out. ``confidence`` is the
    chance in 0..1 that the room is right; ``sure`` says whether it may be taken without a look; ``reasons`` are
    sentences. ``outline_sure`` says whether its outline may be taken without a look, whatever ``unread`` says, in
    sentences too, that is not known of its openings; ``taken`` says what was taken where the drawing may mean
    otherwise: an open point however sure the room is. ``leaks_pt`` are lines across which its outline goes on where no
    wall is.
    """

    points_pt: tuple[Point, ...]
    bulges: tuple[float, ...]
    openings: tuple[TracedOpening, ...]
    columns: tuple[TracedRun, ...]
    name: str
    number: str
    area: float
    confidence: float
    reasons: tuple[str, ...]
    sure: bool
    outline_sure: bool = False
    unread: tuple[str, ...] = ()
    taken: tuple[str, ...] = ()
    leaks_pt: tuple[tuple[Point, Point], ...] = ()

    @property
    def label(self) -> str:
        """Its number and name, as far as it has them."""
        return " ".join(text for text in (self.number, self.name) if text)


def run_round(
    shape: Polygon,
    openings: Sequence[FoundOpening],
    calibration: Calibration,
    m_per_pt: float,
    *,
    is_column: bool,
    slack: float = 0.01,
) -> TracedRun:
    """Make the run round a shape, its face to the left as walked, with the openings within ``slack`` metres of it."""
    ring = shapely.get_coordinates(shape.exterior)[:-1]
    # y is down: what goes anticlockwise as computed goes clockwise as displayed
    if shape.exterior.is_ccw != is_column:
        ring = ring[::-1]
    points, bulges = outline_of(np.round(ring, 6), max(0.02, 0.0005 / m_per_pt), max(0.07, 0.002 / m_per_pt))
    near = shapely.buffer(shape.exterior, slack / m_per_pt)
    traced: list[TracedOpening] = []
    for opening in openings:
        for side in (opening.gap.left_pt, opening.gap.right_pt):
            line = shapely.LineString(side)
            if shapely.intersection(line, near).length > 0.9 * line.length:
                at = _station(points, bulges, side, calibration)
                traced.append(
                    TracedOpening(
                        at=at,
                        width=math.dist(calibration.to_metres(side[0]), calibration.to_metres(side[1])),
                        form=opening.form,
                        kind=opening.kind,
                        confidence=opening.confidence,
                        reason=opening.reason,
                    )
                )
                break
    traced.sort(key=lambda o: o.at)
    return TracedRun(points_pt=points, bulges=bulges, openings=tuple(traced))


def _station(
    points: Sequence[Point], bulges: Sequence[float], side: tuple[Point, Point], calibration: Calibration
) -> float:
    """Return the station in metres of the middle of an opening's side on a run."""
    middle = ((side[0][0] + side[1][0]) / 2, (side[0][1] + side[1][1]) / 2)
    best, station, at = math.inf, 0.0, 0.0
    for i, bulge in enumerate(bulges):
        a, b = points[i], points[(i + 1) % len(points)]
        length = segment_length(calibration.to_metres(a), calibration.to_metres(b), bulge)
        line: Floats = np.array([a, b])
        d = line[1] - line[0]
        share = float(np.clip(((np.array(middle) - line[0]) @ d) / (d @ d), 0.0, 1.0))
        # an arc is met by its chord: near enough to tell which segment, and exact in its middle
        off = math.dist(middle, (float(a[0] + share * d[0]), float(a[1] + share * d[1])))
        off = max(0.0, off - abs(bulge) * math.dist(a, b) / 2)
        if off < best - 1e-9:
            best, at = off, station + share * length
        station += length
    return at
