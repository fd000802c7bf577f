"""How far a room that was read from a field of chances is to be trusted, and why."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
import shapely
import shapely.affinity
from numpy.typing import NDArray
from shapely import LinearRing, Polygon

from takeoff.trace.drawing.linework import Floats
from takeoff.trace.drawing.polygons import polygons_of
from takeoff.trace.lines.room_verdict import SURE
from takeoff.trace.lines.traced_rooms import TracedOpening
from takeoff.trace.scans.field_openings import FieldOpening
from takeoff.trace.scans.field_outlines import Ring
from takeoff.trace.scans.wall_network import M_PER_PX, OPEN, SWING, WALL, WallField, filled_like, sampled, within
from takeoff.trace.texts.printed_sizes import AGREES

_STEP = 2.0
_DEPTH = 3.0
"""Pixels; how far beyond its edge a wall is looked at."""
_FACE, _FACE_METRES = (-2.0, -1.0, 0.0, 1.0, 2.0, 3.0), 0.25
"""Pixels aside of an edge in which the ink of its wall's face is looked for, and the least stretch of it in metres."""
_PALE = 0.85
"""The confidence at the most of a room with such a stretch: it is never sure, and no more of a guess (our choice)."""
FAINT = 0.6
"""Share of the ink of its side below which a stretch of a face is not drawn: of 76 right rooms on made scans none has
less than 0.84 (measured with `tests.trace.made_scans`, development seeds)."""
_CLEAR, _SWINGS = 0.93, 0.7
"""The chance of its class from which an opening is clear, and of a door that swings: of 28 rooms on storeys of building
models that a swing between the two alone kept from being sure none was wrong."""
_PEN, BLACK = 0.5, 0.75
"""Points by which a pen may stand out of walls that are as black within as at their faces (half of one of 0.35 mm,
common practice, no source), and the share of the faces' ink that is black."""
_PIXEL, ROUGH = 0.5, 0.02
"""Pixels of the picture by which an edge may be off, and the share of a room's area above which that is too much."""
_THICK = 60
"""Pixels beyond an edge in which its wall ends: of one up to 0.75 m."""
MISSED = "Its walls may have an opening that was not read."
CONVERGES = 0.01
"""Share by which lengths differ over a sheet above which no room is sure: half of it at either end, and an area by the
whole, of the 2 % that a sure one may be off."""
FEWEST_PIXELS = 4.0
"""Pixels of the picture itself across a wall below which no room is sure: its two faces are no longer told apart
(judgement; on a scan with 33 mm to the pixel walls of 0.1 m are lost by eye)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldEvidence:
    """What the field says about a room's edge and inside.

    ``blur`` is the share of its outline where wall and room are not told clearly apart; ``inner`` the square metres
    inside that may be solid; ``weak`` the least chance of solid just beyond its edge over 0.25 m, clear openings apart;
    ``hidden`` the greatest chance of an opening there where none was found, over 0.4 m; ``area`` its floor in square
    metres; ``faint`` the least ink of a stretch of its walls' faces, as a share of what is usual there; ``wall_pixels``
    how many pixels of the picture itself lie across its walls, at their median; ``rough`` by what share of its area its
    edge may be off, for what pens and pixels hide; ``is_smoothed`` whether its outline crossed itself before it was
    smoothed; ``converges`` by what share lengths differ over the sheet.
    """

    blur: float
    inner: float
    weak: float
    hidden: float
    area: float
    faint: float = 1.0
    wall_pixels: float = math.inf
    rough: float = 0.0
    is_smoothed: bool = False
    converges: float = 0.0

    @classmethod
    def of(
        cls, ring: Ring, field: WallField, openings: Sequence[FieldOpening], columns: Sequence[Ring]
    ) -> FieldEvidence:
        """Gather it for the outline of a room, in pixels of the field."""
        shape = Polygon(ring.points).buffer(0)
        line = Polygon(ring.points).exterior
        count = max(24, int(line.length / _STEP))
        at = shapely.get_coordinates(shapely.line_interpolate_point(line, np.linspace(0, 1, count), normalized=True))
        step = np.roll(at, -1, axis=0) - np.roll(at, 1, axis=0)
        out = np.column_stack([step[:, 1], -step[:, 0]]) / np.maximum(np.hypot(*step.T), 1e-9)[:, None]
        if not line.is_ccw:
            out = -out
        beyond = at + _DEPTH * out
        solid = 1.0 - sampled(field.chances[0], beyond)
        open_ = sum((sampled(field.chances[row], beyond) for row in OPEN), np.zeros(count))
        read = (openings, [o for o in openings if o.chance >= (_SWINGS if o.row == SWING else _CLEAR)])
        known, clear = (shapely.contains_xy(shapely.union_all([o.band.buffer(6.0) for o in some]), at) for some in read)
        open_[known], solid[clear] = 0.0, 1.0
        thick = _thickness(field, at, out)
        area = float(shape.area) * M_PER_PX**2
        return cls(
            blur=ring.blur,
            inner=_inner(shape, field, columns),
            weak=float(_mean_over(solid, 0.25).min()),
            hidden=float(_mean_over(open_, 0.4).max()),
            area=area,
            faint=_faintest(field, line, at, out, known),
            wall_pixels=thick * M_PER_PX / field.m_per_px,
            rough=_hidden_by_ink(field, at[~known], out[~known], thick)
            * float(line.length)
            * M_PER_PX
            / max(area, 1e-9),
        )


def judge_field(
    evidence: FieldEvidence, openings: Sequence[TracedOpening], names: int | None, printed: Sequence[float] = ()
) -> tuple[float, tuple[str, ...], bool]:
    """Weigh the evidence: a confidence in 0..1, the reasons as sentences, and whether the room is sure.

    ``names`` is how many names stand in the room, nothing where no text was read; ``printed`` the areas in m² that are
    printed in it: one that agrees speaks for its outline, of which an edge may then be pale.
    """
    told = " + ".join(f"{area:.1f}" for area in printed)
    agrees = any(abs(area / evidence.area - 1.0) <= AGREES for area in (*printed, sum(printed)))
    e = replace(evidence, faint=1.0, blur=0.0, rough=0.0) if agrees and len(printed) == 1 else evidence
    against = [
        (e.weak < 0.85, min(0.8, 1.2 * (0.95 - e.weak)), "Its walls are hard to see in places: a gap may be closed."),
        (e.hidden > 0.12, min(0.6, e.hidden), MISSED),
        (e.faint < FAINT, 0.0, "The face of a wall is missing or pale in places: its line may run elsewhere."),
        (e.inner > 0.02, min(0.6, 0.08 + e.inner), f"{e.inner:.2f} m² inside it may be wall."),
        (e.blur > 0.05, min(0.4, 2 * e.blur), f"{e.blur:.0%} of its edge is not clear."),
        (bool(printed) and not agrees, 0.4, f"{told} m² are printed in it, its outline holds {e.area:.1f} m²."),
        (e.is_smoothed, 0.5, "Its outline crossed itself and was smoothed: check its corners."),
        (names == 0, 0.1, "No name stands in it."),
        ((names or 0) > 1, 0.4, f"{names} names stand in it: it may be several rooms that are open to one another."),
        (e.converges > CONVERGES, 0.15, "The picture was taken at an angle: lengths on it differ by "
         f"{e.converges:.1%}. Scan it flat."),
        (e.wall_pixels < FEWEST_PIXELS, 0.15, f"Its walls are only {e.wall_pixels:.1f} pixels thick: scan it finer."),
        (e.rough > ROUGH, 0.15, f"Its walls' faces may be {e.rough:.1%} of its area off: their ink hides them."),
        (all(o.form == "window" for o in openings), 0.1, "No door and no other way leads into it."),
        (e.area < 1.5, 0.1, f"It is only {e.area:.1f} m² large."),
        *((o.confidence < (_SWINGS if o.form in ("swing", "double") else _CLEAR), min(0.5, 1.05 - o.confidence),
           f"An opening is doubtful: {o.reason}, but not clearly.") for o in openings),
    ]  # fmt: skip
    most = _PALE if e.faint < FAINT else 0.98
    confidence = min(most, 0.98 * math.prod(1.0 - weight for holds, weight, _ in against if holds))
    found = [sentence for holds, _, sentence in against if holds]
    found += [f"The {told} m² printed in it agree with its outline."] if agrees else []
    reasons = tuple(dict.fromkeys(("It was read from a picture.", *found)))
    return round(confidence, 3), reasons, confidence >= SURE


def _faintest(field: WallField, line: LinearRing, at: Floats, out: Floats, known: NDArray[np.bool_]) -> float:
    """Return the least ink of a stretch of an outline, as a share of what is usual on its side; openings left out."""
    ink = np.max([sampled(field.darkness, at + aside * out) for aside in _FACE], axis=0)
    ends = np.hypot(*np.diff(shapely.get_coordinates(line), axis=0).T).cumsum()
    side = np.searchsorted(ends, np.linspace(0, ends[-1], len(at)))
    usual = FAINT * float(np.median(ink[~known])) if not known.all() else 0.0
    shares = np.ones(len(at))
    for k in np.unique(side).tolist() if usual else ():
        own = (side == k) & ~known
        # a side may be bare from end to end
        shares[own] = np.minimum(ink[own] / max(float(np.median(ink[own])), usual), 1.0) if own.any() else 1.0
    return float(_mean_over(shares, _FACE_METRES).min())


def _hidden_by_ink(field: WallField, at: Floats, out: Floats, thick: float) -> float:
    """Return by how many metres the face of walls so many pixels thick may lie off its edge."""
    within = sampled(field.darkness, at + 0.5 * thick * out)
    face = np.max([sampled(field.darkness, at + aside * out) for aside in _FACE], axis=0)
    is_black = bool(len(at)) and float(np.median(within)) >= BLACK * float(np.median(face))
    return max(_PIXEL * field.m_per_px, _PEN * field.px_per_pt[0] * M_PER_PX if is_black else 0.0)


def _thickness(field: WallField, at: Floats, out: Floats) -> float:
    """Return how thick the walls beyond an edge are at their median, in pixels of the field."""
    steps = np.arange(1.0, _THICK)
    is_solid = sampled(field.chances[0], at[:, None, :] + steps[None, :, None] * out[:, None, :]) < 0.5
    return float(np.median(np.where(is_solid.all(1), len(steps), is_solid.argmin(1)))) + 0.5


def _inner(shape: Polygon, field: WallField, columns: Sequence[Ring]) -> float:
    """Return the square metres inside a room that may be solid, its edge and its columns left out.

    That is what the network is unsure of, and what is filled as its walls are.
    """
    core = shape.buffer(-5.0)
    for column in columns:
        core = core.difference(Polygon(column.points).buffer(5.0))
    wide = np.array(shape.buffer(_THICK).bounds).reshape(2, 2)
    low, high = np.maximum(wide[0], 0.0).astype(int), wide[1].astype(int)
    around = (slice(low[1], high[1]), slice(low[0], high[0]))
    is_filled = filled_like(field.chances[WALL][around], field.darkness[around])
    thick = cv2.erode(is_filled.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0  # 0.1 m and more: no letters
    may_be_wall = (field.chances[0][around] < 0.7) | thick
    parts = shapely.affinity.translate(core, *-low)
    return sum(int(within(may_be_wall, part).sum()) for part in polygons_of(parts)) * M_PER_PX**2


def _mean_over(values: Floats, metres: float) -> Floats:
    """Return the running mean round a closed outline."""
    size = min(len(values), max(1, round(metres / M_PER_PX / _STEP)))
    wrapped = np.concatenate([values, values[: size - 1]])
    return np.convolve(wrapped, np.full(size, 1.0 / size), mode="valid")
