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
from takeoff.trace.drawing.curves import MOST_TURN, Arc, fit_arcs
from takeoff.trace.drawing.linework import Floats
from takeoff.trace.lines.opening_forms import Form, FoundOpening

LEAST_CHORDS = 5
_JAGGED = math.radians(5)
_WHOLE, _CUT = 0.9, 0.5
"""Share of an opening that lies on a run where it is there from jamb to jamb; its confidence at the most otherwise."""


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
    share: float = _WHOLE,
) -> TracedRun:
    """Make the run round a shape, its face to the left as walked, with the openings within ``slack`` metres of it.

    Of an opening's width ``share`` is there at the least; what reaches beyond a corner is cut off, and it is doubtful.
    """
    ring = shapely.get_coordinates(shape.exterior)[:-1]
    # y is down: what goes anticlockwise as computed goes clockwise as displayed
    if shape.exterior.is_ccw != is_column:
        ring = ring[::-1]
    points, bulges = outline_of(np.round(ring, 6), max(0.02, 0.0005 / m_per_pt), max(0.07, 0.002 / m_per_pt))
    near = shapely.buffer(shape.exterior, slack / m_per_pt)
    traced: list[TracedOpening] = []
    for opening in openings:
        sides = shapely.linestrings([opening.gap.left_pt, opening.gap.right_pt])
        parts = shapely.intersection(sides, near)
        shares = shapely.length(parts) / np.maximum(shapely.length(sides), 1e-9)
        for k in np.flatnonzero(shares > _WHOLE)[:1].tolist() or np.flatnonzero(shares > share)[:1].tolist():
            is_whole = bool(shares[k] > _WHOLE)
            ends = shapely.get_coordinates(sides[k] if is_whole else parts[k])
            a, b = ((float(x), float(y)) for x, y in (ends[0], ends[-1]))
            traced.append(
                TracedOpening(
                    at=_station(points, bulges, (a, b), calibration),
                    width=math.dist(calibration.to_metres(a), calibration.to_metres(b)),
                    form=opening.form,
                    kind=opening.kind,
                    confidence=opening.confidence if is_whole else min(opening.confidence, _CUT),
                    reason=opening.reason,
                )
            )
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


def outline_of(ring: Floats, straight: float, round_off: float) -> tuple[tuple[Point, ...], tuple[float, ...]]:
    """Return the vertices and bulges of a closed ring.

    ``ring`` holds its vertices in sheet points, the first not repeated. ``straight`` is how far a vertex may lie from
    the line through its neighbours to be dropped, ``round_off`` how far those of a chain may lie from the arc that
    replaces it, in points.

    Examples
    --------
    >>> outline_of(np.array([[0.0, 0], [4, 0], [9, 0], [9, 9], [0, 9]]), 0.1, 0.1)
    (((0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0)), (0.0, 0.0, 0.0, 0.0))
    """
    ring = _without_straight(ring, straight)
    d = np.roll(ring, -1, axis=0) - ring
    before = np.roll(d, 1, axis=0)
    turn = np.arctan2(before[:, 0] * d[:, 1] - before[:, 1] * d[:, 0], (before * d).sum(1))
    first = int(np.argmax(np.abs(turn)))  # start where it turns most, so that no arc is cut by the start
    ring, turn = np.roll(ring, -first, axis=0), np.roll(turn, -first)
    closed = np.concatenate([ring, ring[:1]])
    pieces: list[Arc] = []
    here = 0
    while here < len(ring):
        last, arcs = _arc_from(closed, turn, here, round_off)
        if arcs:
            pieces.extend(arcs)
            here = last
        else:
            pieces.append((*map(float, closed[here]), *map(float, closed[here + 1]), 0.0))  # type: ignore[arg-type]
            here += 1
    return tuple((p[0], p[1]) for p in pieces), tuple(p[4] for p in pieces)


def _arc_from(points: Floats, turn: Floats, here: int, tolerance: float) -> tuple[int, list[Arc]]:
    """Find the longest arc that starts at a vertex: the vertex that it ends at, and the arc in pieces up to half."""
    last = here + 1
    side = np.sign(turn[here + 1 : here + 3].sum())
    while last < len(turn) and -_JAGGED < turn[last] * side < MOST_TURN:
        last += 1
    if not fit_arcs(points[here : here + LEAST_CHORDS + 1], 2 * tolerance):
        return here, []  # where its beginning is off the arc the whole is too: ragged edges have many beginnings
    while last - here >= LEAST_CHORDS:
        arcs = fit_arcs(points[here : last + 1], tolerance)
        if arcs:
            return last, arcs
        last -= 1
    return here, []


def _without_straight(ring: Floats, tolerance: float) -> Floats:
    """Drop vertices that lie on the line through their neighbours, and repeated ones."""
    points = ring
    while len(points) > 3:
        before, after = np.roll(points, 1, axis=0), np.roll(points, -1, axis=0)
        d = after - before
        length = np.hypot(d[:, 0], d[:, 1])
        off = np.abs((points - before)[:, 0] * d[:, 1] - (points - before)[:, 1] * d[:, 0]) / np.maximum(length, 1e-9)
        step = np.hypot(*(points - before).T)
        goes_on = ((points - before) * (after - points)).sum(1) >= 0
        needless = ((off < tolerance) & goes_on) | (step < 1e-9)
        if not needless.any():
            break
        rank = np.cumsum(needless)  # of neighbours that are all needless, every other one in a round
        needless &= ~np.roll(needless, 1) | (rank % 2 == 1)
        points = points[~needless]
    return points
