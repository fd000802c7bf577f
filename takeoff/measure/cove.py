"""The cove of faces: how long it is, what it takes, its corners, and the part of the wall that it covers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from takeoff.geometry.cove import cove_girth, cove_section
from takeoff.measure.develop import Face
from takeoff.measure.elevation import Geometries, section, shared_section
from takeoff.measure.joins import end_section
from takeoff.measure.settings import ROUNDING
from takeoff.model.figures import Corner, ReturnStrip


@dataclass(frozen=True, slots=True, kw_only=True)
class CoveFigures:
    """Figures of a face's cove, named as those of `takeoff.model.figures.Quantities`; all 0 without a cove."""

    cove_length: float = 0.0
    cove_girth_area: float = 0.0
    cove_volume: float = 0.0
    cove_band_area: float = 0.0
    cove_inside_corners: float = 0.0
    cove_outside_corners: float = 0.0


def cove_bands(faces: Sequence[Face], nets: Geometries) -> list[float]:
    """Net area in m² of each face below the top of its cove less the cove's lap; 0 without a cove on the floor."""
    areas = [0.0] * len(faces)
    starts = [_start(face) for face in faces]
    cut = [i for i, start in enumerate(starts) if start > 0.0]
    if cut:
        lengths, tops = np.array([faces[i].length for i in cut]), np.array([starts[i] for i in cut])
        low = np.full(len(cut), -1.0)
        pieces = shapely.intersection(nets[cut], shapely.box(low, low, lengths + 1.0, tops))
        for i, area in zip(cut, shapely.area(pieces).tolist(), strict=True):
            areas[i] = area
    return areas


def _start(face: Face) -> float:
    """Height above the floor in m at which the wall coat starts; 0 without a cove on the floor."""
    cove = face.cove
    return max(cove.height - cove.lap, 0.0) if cove is not None and face.run.base <= ROUNDING else 0.0


def cove_figures(
    face: Face,
    *,
    band: float,
    base_length: float,
    returns: Sequence[ReturnStrip],
    corners: Sequence[Corner],
    lows: Mapping[int, float],
) -> CoveFigures:
    """Figures of a face's cove.

    Parameters
    ----------
    face
        The face.
    band, base_length
        Net area that the cove covers in m², and length of the net area's base in m.
    returns
        Coated reveals and wall ends: the cove goes round wall ends, and into jambs as far as it is told to; where it
        covers a coated return the wall coat is not ordered twice.
    corners, lows
        Corners of the face, and the lowest heights of its joins by end.
    """
    cove = face.cove
    if cove is None or face.run.base > ROUNDING:
        return CoveFigures()
    floor = face.run.base + ROUNDING
    ends = [s for s in returns if s.edge == "end" and s.low <= floor]
    jambs = [s for s in returns if s.edge == "jamb" and s.low <= floor]
    length = base_length + sum(s.depth for s in ends) + _jambs_at_floor(face) * cove.jamb_return
    covered = [(s.depth, s.length) for s in ends] + [(min(s.depth, cove.jamb_return), s.length) for s in jambs]
    girth = cove_girth(cove.height, cove.toe, cove.radius)
    mortar = cove_section(cove.height + cove.thickness, cove.toe + cove.thickness, cove.radius, cove.thickness)
    standing = [c for c in corners if _reaches_floor(face, c, lows)]
    return CoveFigures(
        cove_length=length,
        cove_girth_area=length * girth,
        cove_volume=length * mortar,
        cove_band_area=band + sum(depth * min(high, _start(face)) for depth, high in covered),
        cove_inside_corners=float(sum(c.is_inside for c in standing)),
        cove_outside_corners=float(sum(not c.is_inside for c in standing)),
    )


def _reaches_floor(face: Face, corner: Corner, lows: Mapping[int, float]) -> bool:
    """Tell whether the coating stands on its base on both sides of a corner."""
    floor = face.run.base + ROUNDING
    end = 0 if corner.station == 0.0 else 1
    if corner.joined:
        return lows[end] <= floor
    if corner.station in (0.0, face.length) and not face.run.closed:
        return any(low <= floor for low, _ in end_section(face, end))
    return any(low <= floor for low, _ in shared_section(face, corner.vertex))


def _jambs_at_floor(face: Face) -> int:
    """Number of jambs that stand on the floor with coating beside them; openings at one place have the same jambs."""
    places = set()
    for o in face.openings:
        if o.z0 <= face.run.base + ROUNDING:
            for x, side in ((o.x0, -1), (o.x1, +1)):
                if face.run.closed and x == (0.0 if side < 0 else face.length):
                    places.add((face.length - x, side))
                elif 0.0 < x < face.length:
                    places.add((x, side))
    return sum(any(a <= face.run.base + ROUNDING for a, _ in section(face, x, side)) for x, side in places)
