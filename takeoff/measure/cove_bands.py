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
    starts = [f.cove.height - f.cove.lap if f.cove is not None and f.run.base <= ROUNDING else 0.0 for f in faces]
    cut = [i for i, start in enumerate(starts) if start > 0.0]
    if cut:
        lengths, tops = np.array([faces[i].length for i in cut]), np.array([starts[i] for i in cut])
        low = np.full(len(cut), -1.0)
        pieces = shapely.intersection(nets[cut], shapely.box(low, low, lengths + 1.0, tops))
        for i, area in zip(cut, shapely.area(pieces).tolist(), strict=True):
            areas[i] = area
    return areas
