"""Place openings on the faces of a run: repeats, carrying to an offset face, and rounding taken out.

Stations and heights that differ by rounding only are made one, so that openings side by side, at a corner, at an end
or up to the ceiling leave no sliver between them.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence

from takeoff.errors import GeometryError
from takeoff.geometry.paths import Path, carry_station
from takeoff.measure.rules import ROUNDING
from takeoff.model.figures import PlacedOpening
from takeoff.model.walls import Opening, Run
from takeoff.units import format_length


def _snapped(value: float, marks: list[float]) -> float:
    """Return the mark that a value differs from by rounding only, or the value, which becomes a mark."""
    for mark in marks:
        if abs(value - mark) < ROUNDING:
            return mark
    marks.append(value)
    return value


def carried(
    path: Path, face: Path, at: Sequence[float], face_at: Sequence[float], x: float, *, forward: bool = True
) -> float:
    """Station on a face of the point square to station ``x`` of the traced line.

    ``at`` and ``face_at`` are the vertices' stations on both. A vertex belongs to the segment after it (``forward``),
    or to the one before it.
    """
    i = min((bisect_right if forward else bisect_left)(at, x, 1) - 1, len(at) - 2)
    return face_at[i] + carry_station(path, face, i, x, stations=tuple(at))


def carried_profile(
    path: Path, face: Path, at: Sequence[float], face_at: Sequence[float], points: Sequence[tuple[float, float]]
) -> tuple[tuple[float, float], ...]:
    """Height profile on a face: what stands at a vertex of the traced line stands at the face's vertex."""
    if face is path:
        return tuple(points)
    out = []
    for s, height in points:
        vertex = next((k for k, v in enumerate(at) if abs(s - v) < ROUNDING), None)
        if vertex is not None:
            out.append((face_at[vertex], height))
        elif s > at[-1]:
            out.append((face_at[-1] + s - at[-1], height))
        else:
            out.append((carried(path, face, at, face_at, s), height))
    return tuple(out)


def _centres(opening: Opening, length: float, is_closed: bool) -> list[float]:
    n = opening.count
    if n == 1:
        return [opening.at]
    pitch = opening.spacing
    if pitch is None:
        room = (length if is_closed else length - opening.at + opening.width / 2.0) / n
        pitch = min(2.0 * opening.width, max(room, opening.width))
    return [opening.at + i * pitch for i in range(n)]


def shown(metres: float) -> str:
    """Write a length in metres and in feet and inches, for a person who may have typed either.

    Examples
    --------
    >>> print(shown(3.0))
    3.000 m (9'-10 1/8")
    """
    return f"{metres:.3f} m ({format_length(metres, system='imperial')})"


def _check(run: Run, opening: Opening, centres: Sequence[float], length: float, tolerance: float, where: str) -> None:
    if opening.width > length + tolerance:
        raise GeometryError(
            f"it is {shown(opening.width)} wide on a wall of {shown(length)}",
            remedy="Check the width and its unit, or the wall's scale.",
            where=where,
        )
    low, high = centres[0] - opening.width / 2.0, centres[-1] + opening.width / 2.0
    if run.closed:
        if opening.at > length + tolerance:
            raise GeometryError(
                f"its centre is at {shown(opening.at)} on a closed wall of {shown(length)}",
                remedy='"at" is its centre\'s station from the first point, once round at most.',
                where=where,
            )
        if high - low > length + tolerance:
            raise GeometryError(
                f"its {opening.count} repeats take {shown(high - low)} on a closed wall of {shown(length)}",
                remedy="Check count and spacing: the last lies over the first.",
                where=where,
            )
    elif low < -tolerance or high > length + tolerance:
        low, high = next(
            (c - opening.width / 2.0, c + opening.width / 2.0)
            for c in centres
            if c - opening.width / 2.0 < -tolerance or c + opening.width / 2.0 > length + tolerance
        )
        raise GeometryError(
            f"it reaches from {shown(low)} to {shown(high)} on a wall of {shown(length)}",
            remedy='"at" is its centre\'s station from the first point; move it, or check count and spacing.',
            where=where,
        )


def _within(low: float, high: float, length: float, is_closed: bool) -> tuple[float, float]:
    """Clip an interval of stations to an open line, or begin it on the first round of a closed one."""
    if not is_closed:
        return max(low, 0.0), min(high, length)
    rounds = math.floor((low + ROUNDING) / length)
    return low - rounds * length, high - rounds * length


def place_openings(
    run: Run, path: Path, face: Path, heights: Sequence[float], *, tolerance: float
) -> tuple[PlacedOpening, ...]:
    """Place a run's openings on one of its faces.

    An opening across a closed run's first vertex gives two: clipped at the seam, or, where it has an outline,
    whole at both of its places, one of them beyond each end. One that lies within the thickness at a corner has no
    place on the inner face. Raises `GeometryError` for an opening wider than the run, off it, or repeated until it lies
    over itself.

    Parameters
    ----------
    run, path, face
        The run, its traced line and the line of the face, in building metres; the last two may be the same.
    heights
        Heights of the coating's base and top in m, which an opening may touch.
    tolerance
        Metres by which an opening may reach over an open run's end; it is clipped there.
    """
    if not run.openings:
        return ()
    at = path.stations()
    face_at = at if face is path else face.stations()
    length, face_length = at[-1], face_at[-1]
    marks, levels, face_marks = list(at), list(heights), list(face_at)
    placed: list[PlacedOpening] = []
    for index, opening in enumerate(run.openings):
        centres = _centres(opening, length, run.closed)
        _check(run, opening, centres, length, tolerance, f"wall {run.id}, opening {index + 1}")
        z0 = _snapped(opening.sill, levels)
        z1 = _snapped(opening.sill + opening.height, levels)
        for centre in centres:
            low, high = _within(centre - opening.width / 2.0, centre + opening.width / 2.0, length, run.closed)
            low = _snapped(low, marks)
            over = high - length if run.closed and high > length + ROUNDING else 0.0
            high = length + _snapped(over, marks) if over else _snapped(high, marks)
            if face is not path:
                low = _snapped(carried(path, face, at, face_at, low), face_marks)
                if over:
                    high = face_length + carried(path, face, at, face_at, high - length, forward=False)
                else:
                    high = _snapped(carried(path, face, at, face_at, high, forward=False), face_marks)
            if not over:
                pieces = [(low, high)]
            elif opening.outline is not None:
                pieces = [(low, high), (low - face_length, high - face_length)]
            else:
                pieces = [(low, face_length), (0.0, _snapped(high - face_length, face_marks))]
            for x0, x1 in pieces:
                if x1 > x0:
                    placed.append(PlacedOpening(x0=x0, x1=x1, z0=z0, z1=z1, source=opening, index=index))
    return tuple(placed)
