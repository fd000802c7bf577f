"""The part of a net elevation that the cove covers, below the line where the wall coat starts."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from takeoff.measure.develop import Face
from takeoff.measure.elevation import Geometries
from takeoff.measure.settings import ROUNDING


def cove_bands(faces: Sequence[Face], nets: Geometries) -> list[float]:
    """Net area in m² of each face below the top of its cove less the cove's lap; 0 without a cove on the floor."""
    areas = [0.0] * len(faces)
    cut: list[int] = []
    for i, face in enumerate(faces):
        if face.cove is None or face.run.base > ROUNDING:
            continue
        start = face.cove.height - face.cove.lap
        if start <= 0.0:
            continue
        band = _straight_band(face, start)
        if band is None:
            cut.append(i)
        else:
            areas[i] = band
    if cut:
        lengths = np.array([faces[i].length for i in cut])
        starts = np.array([c.height - c.lap for c in (faces[i].cove for i in cut) if c is not None])
        low = np.full(len(cut), -1.0)
        pieces = shapely.intersection(nets[cut], shapely.box(low, low, lengths + 1.0, starts))
        for i, area in zip(cut, shapely.area(pieces).tolist(), strict=True):
            areas[i] = area
    return areas


def _straight_band(face: Face, start: float) -> float | None:
    """Area of a band under a level top whose rectangular openings stand side by side; ``None`` where it is not so."""
    if len(face.profile) > 1 or face.profile[0][1] < start or face.run.base != 0.0:
        return None
    area = face.length * start
    at = 0.0
    for o in sorted((o for o in face.openings if o.z0 < start), key=lambda o: o.x0):
        if o.source.outline is not None or o.x0 < at or o.x1 > face.length:
            return None
        area -= (o.x1 - o.x0) * (min(o.z1, start) - o.z0)
        at = o.x1
    return area
