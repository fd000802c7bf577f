"""How a new issue of a sheet lies on the old one, fitted to matched points, with its accuracy on the building.

Both sheets have sheet points of their own (unrotated page, y down). A registration carries points of the old sheet to
the new one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypedDict, Unpack

import numpy as np
from numpy.typing import NDArray

from takeoff.errors import SheetError
from takeoff.model.plan import Calibration, Point

Floats = NDArray[np.float64]
Box = tuple[float, float, float, float]
Kind = Literal["similarity", "affine"]
Method = Literal["linework", "picture", "points"]

BY_HAND = "Give two or more pairs of points that are the same on both sheets: --points OLDX,OLDY NEWX,NEWY."
OTHER_SHEET = f"Look whether it is a new revision of this sheet (--page N takes another page). If it is: {BY_HAND}"
MANY_PLACES = "the drawing fits in more than one place on the new sheet"
AGAIN = "Check each pair, the point of the old sheet first, and pick them far apart, near opposite corners."


class Aim(TypedDict):
    """What a sheet is registered for: by whatever means, these are asked for by name.

    ``focus_pt`` is the box on the old sheet that matters, within which points will be carried: what lies outside, such
    as a title block, is not looked at. ``m_per_pt`` are metres on the building for each point of the old sheet,
    ``limit`` the largest standard uncertainty in metres that is good enough.
    """

    focus_pt: Box
    m_per_pt: float
    limit: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Registration:
    """An old sheet's points on the new sheet: x' = a·x + b·y + c, y' = d·x + e·y + f for ``matrix`` (a, b, c, d, e, f).

    ``pairs`` is the number of matched points, ``share`` the part of the old drawing (by length or by patches) that was
    found on the new one, ``rms_pt`` the root mean square of what is left between matched points, in points of the new
    sheet. ``u`` is the standard uncertainty in metres on the building with which a point is carried, at the worst
    corner of the drawing.
    """

    matrix: tuple[float, float, float, float, float, float]
    kind: Kind
    method: Method
    pairs: int
    share: float
    rms_pt: float
    u: float

    def carry(self, point: Point) -> Point:
        """Carry a point of the old sheet to the new one."""
        a, b, c, d, e, f = self.matrix
        return (a * point[0] + b * point[1] + c, d * point[0] + e * point[1] + f)

    def carry_all(self, points: Floats) -> Floats:
        """Carry points of the old sheet, shape (n, 2), to the new one."""
        return apply(self.matrix, points)

    def carry_segments(self, segments: Floats) -> Floats:
        """Carry segments of the old sheet, shape (n, 4), to the new one."""
        return self.carry_all(segments.reshape(-1, 2)).reshape(-1, 4)

    def carry_box(self, box: Box) -> Box:
        """The upright box about a box of the old sheet on the new one."""
        left, top, right, bottom = box
        corners = self.carry_all(np.array([(left, top), (right, top), (right, bottom), (left, bottom)]))
        (x0, y0), (x1, y1) = corners.min(0).tolist(), corners.max(0).tolist()
        return (x0, y0, x1, y1)

    def inverse(self, point: Point) -> Point:
        """Carry a point of the new sheet back to the old one."""
        a, b, c, d, e, f = self.matrix
        det = a * e - b * d
        x, y = point[0] - c, point[1] - f
        return ((e * x - b * y) / det, (a * y - d * x) / det)

    @property
    def scale(self) -> float:
        """Points of the new sheet for each point of the old one, the geometric mean of both directions."""
        a, b, _, d, e, _ = self.matrix
        return math.sqrt(abs(a * e - b * d))

    @property
    def turn(self) -> float:
        """Angle in radians by which the drawing was turned, clockwise as displayed (y down)."""
        a, b, _, d, e, _ = self.matrix
        return math.atan2(d - b, a + e)

    @property
    def stretch(self) -> float:
        """Stretch along the new sheet's y against that along its x, less 1."""
        a, b, _, d, e, _ = self.matrix
        return math.hypot(b, e) / math.hypot(a, d) - 1.0

    def scale_of(self, old: Calibration, sheet: int) -> Calibration:
        """Carry the old sheet's scale to the new sheet, with the registration's part in its uncertainty."""
        a, b, _, d, e, _ = self.matrix
        det = abs(a * e - b * d)
        # metres along the new sheet's axes: lengths of the axes carried back to the old sheet
        mx = math.hypot(e / det * old.mx, d / det * old.my)
        my = math.hypot(b / det * old.mx, a / det * old.my)
        return Calibration(
            sheet=sheet,
            mx=mx,
            my=my,
            u_scale=math.hypot(old.u_scale, self.rms_pt / (1000.0 * self.scale)),
            pick=old.pick * self.scale,
            source=old.source,
            stated=f"carried from the old revision, {old.stated}".rstrip(", "),
            doubts=old.doubts,
        )


def fit(old: Floats, new: Floats, weights: Floats, kind: Kind) -> tuple[float, ...]:
    """Fit a similarity or affine map of old points to new ones, shape (n, 2), by weighted least squares."""
    centre, target = (np.average(points, axis=0, weights=weights) for points in (old, new))
    x, y = old - centre, new - target
    if kind == "similarity":
        p, q = (weights[:, None] * x * y).sum(), (weights * (x[:, 0] * y[:, 1] - x[:, 1] * y[:, 0])).sum()
        linear = np.array([[p, -q], [q, p]]) / (weights[:, None] * x * x).sum()
    else:
        w = np.sqrt(weights)[:, None]
        linear = np.linalg.lstsq(x * w, y * w, rcond=None)[0].T
    (a, b), (d, e) = linear.tolist()
    c, f = (target - linear @ centre).tolist()
    return (a, b, c, d, e, f)


def apply(matrix: Sequence[float], points: Floats) -> Floats:
    """Map points, shape (n, 2)."""
    a, b, c, d, e, f = matrix
    moved: Floats = points @ np.array([[a, d], [b, e]]) + np.array([c, f])
    return moved


def middles_in(lines: Floats, box: Sequence[float]) -> NDArray[np.bool_]:
    """Tell which lines, shape (n, 4), have their middles in a box."""
    x, y = lines[:, [0, 2]].mean(1), lines[:, [1, 3]].mean(1)
    return np.asarray((x >= box[0]) & (x <= box[2]) & (y >= box[1]) & (y <= box[3]), bool)


def ends_in(lines: Floats, box: Sequence[float]) -> NDArray[np.bool_]:
    """Tell which lines, shape (n, 4), have both ends in a box."""
    ends = lines.reshape(-1, 2, 2)
    return np.asarray(((ends >= box[:2]) & (ends <= box[2:])).all((1, 2)), bool)


def fit_robust(
    old: Floats, new: Floats, kind: Kind, *, floor: float, rounds: int = 12
) -> tuple[tuple[float, ...], Floats]:
    """Fit a map that pairs which do not belong pull on ever less (Cauchy weights); gives it and the residual lengths.

    ``floor`` is the least spread in points of the new sheet that residuals are taken to have.
    """
    weights = np.ones(len(old))
    matrix = fit(old, new, weights, kind)
    off = np.hypot(*(apply(matrix, old) - new).T)
    for _ in range(rounds):
        spread = max(1.4826 * float(np.median(off)), floor)
        weights = 1.0 / (1.0 + (off / (2.0 * spread)) ** 2)
        matrix = fit(old, new, weights, kind)
        off = np.hypot(*(apply(matrix, old) - new).T)
    return matrix, off


def leverage(old: Floats, corners: Floats, kind: Kind) -> float:
    """Largest standard uncertainty at corners where each coordinate of the fitted points has that of 1."""
    from_centre, away = old - old.mean(0), corners - old.mean(0)
    spread = from_centre.T @ from_centre
    if kind == "similarity":
        spread = np.trace(spread) * np.eye(2)
    shares = 1.0 / len(old) + ((away @ np.linalg.pinv(spread)) * away).sum(1)
    return float(np.sqrt(shares.max()))


def finished(
    old: Floats, new: Floats, *, method: Method, share: float, floor: float, bias: float = 0.0, **aim: Unpack[Aim]
) -> Registration:
    """Fit matched points for good, choose between similarity and affine, and refuse what is not good enough.

    Raises `SheetError` when the sheets do not match well enough; it says by how much and what to do.

    Parameters
    ----------
    old, new
        Matched points of both sheets, shape (n, 2).
    method, share
        How they were matched, and the part of the old drawing that was found.
    floor
        Least spread of matched points in points of the new sheet.
    bias
        Standard uncertainty in points of the new sheet that all matched points share.
    aim
        What for (`Aim`).
    """
    kind, matrix, kept, rms = _better_fit(old, new, floor)
    a, b, _, d, e, _ = matrix
    scale = math.sqrt(abs(a * e - b * d))
    left, top, right, bottom = aim["focus_pt"]
    corners = np.array([(left, top), (right, top), (left, bottom), (right, bottom)])
    spread = max(rms, floor)
    u = math.hypot(rms, spread * leverage(old[kept], corners, kind), bias) / scale * aim["m_per_pt"]
    made = Registration(
        matrix=(matrix[0], matrix[1], matrix[2], matrix[3], matrix[4], matrix[5]),
        kind=kind, method=method, pairs=int(kept.sum()), share=share, rms_pt=rms, u=u,
    )  # fmt: skip
    remedy = AGAIN if method == "points" else BY_HAND
    if a * e - b * d <= 0 or not 0.1 <= scale <= 10.0 or abs(made.stretch) > 0.05:
        raise SheetError("the sheets match only when one is mirrored or stretched out of shape", remedy=remedy)
    if u > (limit := aim["limit"]):
        raise SheetError(
            f"the sheets match to {u * 1000:.0f} mm on the building (1 sigma), and {limit * 1000:.0f} mm are needed",
            remedy=remedy,
        )
    return made


def _better_fit(old: Floats, new: Floats, floor: float) -> tuple[Kind, tuple[float, ...], NDArray[np.bool_], float]:
    """Fit both kinds; affine where it is clearly closer. Gives kind, map, the pairs that count and what is left."""
    fits = {}
    kinds: tuple[Kind, ...] = ("similarity", "affine") if len(old) >= 6 else ("similarity",)
    for kind in kinds:
        matrix, off = fit_robust(old, new, kind, floor=floor)
        spread = max(1.4826 * float(np.median(off)), floor)
        kept = off <= 4.0 * spread
        matrix = fit(old[kept], new[kept], np.ones(int(kept.sum())), kind)
        off = np.hypot(*(apply(matrix, old[kept]) - new[kept]).T)
        fits[kind] = (matrix, kept, float(np.sqrt(np.mean(off**2) / 2.0)))
    left = fits["similarity"][2]
    chosen: Kind = "affine" if "affine" in fits and fits["affine"][2] < 0.8 * left and left > floor else "similarity"
    return (chosen, *fits[chosen])


def register_points(pairs: Sequence[tuple[Point, Point]], *, pick: float = 0.5, **aim: Unpack[Aim]) -> Registration:
    """Register a new sheet onto an old one by pairs of points picked by hand.

    Raises `SheetError` when there are fewer than two pairs, they lie too close together, or they contradict one
    another.

    Parameters
    ----------
    pairs
        Points of the old sheet and the same points on the new one, two or more.
    pick
        Standard uncertainty of a picked coordinate in points.
    aim
        What for (`Aim`).

    Examples
    --------
    >>> moved = register_points(
    ...     [((0, 0), (10, 20)), ((400, 0), (410, 20))], focus_pt=(0, 0, 400, 300), m_per_pt=0.01, limit=0.05
    ... )
    >>> [round(v, 6) for v in moved.carry((100.0, 50.0))]
    [110.0, 70.0]
    """
    if len(pairs) < 2:
        raise SheetError(f"{len(pairs)} pair of points does not register a sheet", remedy=BY_HAND)
    old = np.array([p[0] for p in pairs], float)
    new = np.array([p[1] for p in pairs], float)
    if np.ptp(old, 0).max() < 1.0 or np.ptp(new, 0).max() < 1.0:
        raise SheetError("the points lie on one another", remedy=AGAIN)
    return finished(old, new, method="points", share=1.0, floor=pick, **aim)
