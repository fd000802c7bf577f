"""Walls that are measured twice: faces of different runs that lie on one line and are coated on the same side."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence

import numpy as np
import shapely

from takeoff.measure.faces import MeasuredFace
from takeoff.measure.uncertainty import scale_key
from takeoff.model.plan import Calibration

APART = 0.02
"""Metres within which two faces lie on one line (our choice)."""
LEAST = 0.1
"""Metres from which a stretch that two faces share is told."""
TURN = math.radians(1.0)


def doubled_stretches(
    faces: Sequence[MeasuredFace], calibrations: Mapping[str, Calibration]
) -> tuple[tuple[str, str, float], ...]:
    """Find the pairs of runs of which a stretch is measured twice, with its length in m, longest first.

    Two faces count as one wall where they lie on one line of the same sheet, are coated on the same side and their
    heights overlap.

    Parameters
    ----------
    faces
        Measured faces; their lines are in building metres, y down.
    calibrations
        Calibration by run id.
    """
    shared: dict[tuple[str, str], float] = defaultdict(float)
    by_scale: dict[object, list[tuple[MeasuredFace, tuple[float, float], tuple[float, float]]]] = defaultdict(list)
    for face in faces:
        e = face.elevation
        ahead = 1 if e.face == "left" else -1
        for a, b in zip(e.line, e.line[1:], strict=False):
            ends = (a, b) if ahead == 1 else (b, a)
            by_scale[scale_key(calibrations[e.run])].append((face, *ends))
    for rows in by_scale.values():
        lines = shapely.linestrings([(a, b) for _, a, b in rows])
        first, second = shapely.STRtree(lines).query(lines, predicate="dwithin", distance=APART)
        keep = first < second
        for i, j in zip(first[keep].tolist(), second[keep].tolist(), strict=True):
            (one, a, b), (other, c, d) = rows[i], rows[j]
            if one.elevation.run != other.elevation.run and _meet_in_height(one, other):
                length = _shared(a, b, c, d)
                if length > 0.0:
                    key = (one.elevation.run, other.elevation.run)
                    shared[min(key, key[::-1])] += length
    found = [(a, b, length) for (a, b), length in shared.items() if length >= LEAST]
    return tuple(sorted(found, key=lambda f: (-f[2], f[0], f[1])))


def _meet_in_height(one: MeasuredFace, other: MeasuredFace) -> bool:
    a, b = one.elevation, other.elevation
    return max(a.base, b.base) < min(a.base + a.max_height, b.base + b.max_height)


def _shared(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float], d: tuple[float, float]) -> float:
    """Length that two directed segments have in common, 0 unless they run the same way on one line."""
    way = np.subtract(b, a)
    length = float(np.hypot(*way))
    other = np.subtract(d, c)
    if length == 0.0 or float(np.hypot(*other)) == 0.0:
        return 0.0
    unit = way / length
    if float(unit @ other) / float(np.hypot(*other)) < math.cos(TURN):
        return 0.0
    side = (-unit[1], unit[0])
    if any(abs(float(np.dot(np.subtract(p, a), side))) > APART for p in (c, d)):
        return 0.0
    start, end = float(np.dot(np.subtract(c, a), unit)), float(np.dot(np.subtract(d, a), unit))
    return max(0.0, min(end, length) - max(start, 0.0))
