"""Develop runs flat: lines, stations, height profiles, openings placed on them, and in words what is doubtful."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from types import MappingProxyType

from takeoff.errors import GeometryError
from takeoff.geometry.arcs import Point
from takeoff.geometry.crossings import crossing_segments
from takeoff.geometry.paths import Path, offset_path
from takeoff.measure.placing import carried_profile, place_openings, shown
from takeoff.measure.rules import ROUNDING
from takeoff.model.figures import PlacedOpening
from takeoff.model.plan import Calibration
from takeoff.model.walls import Cove, HeightProfile, Room, Run

TALL = 20.0
"""Metres from which a height is doubted (judgement, no source)."""


LOW_DOOR = 1.5
"""Metres below which a door that is wider than high may be one whose sizes were swapped (judgement, no source)."""


LOW_BASE = 0.3048
"""Metres up to which a wall that starts above the floor may well have its room's cove below it (judgement)."""


ARC_SAG = 0.002
"""Metres by which drawn chords may leave a true arc; lengths never use chords."""

FaceEnds = Mapping[tuple[str, int], Point]
"""Points in building metres by side and end, 0 the start and 1 the finish of the run."""

NO_ENDS: FaceEnds = MappingProxyType({})
"""Of a run whose faces end square to its traced line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Face:
    """One face of a run before its polygons are built; stations and heights in m, ``turns`` positive for inside."""

    run: Run
    side: str
    room: str | None
    system: str | None
    cove: Cove | None
    path: Path
    stations: tuple[float, ...]
    turns: tuple[float, ...]
    profile: tuple[tuple[float, float], ...]
    has_room_height: bool
    openings: tuple[PlacedOpening, ...]
    doubts: tuple[str, ...]
    times: int = 1

    @property
    def length(self) -> float:
        """Developed length."""
        return self.stations[-1]

    def heights_at(self, station: float) -> tuple[float, float]:
        """Top just before and just after a station."""
        return heights_at(self.profile, station)


def heights_at(profile: tuple[tuple[float, float], ...], station: float) -> tuple[float, float]:
    """Top of a profile just before and just after a station.

    Examples
    --------
    >>> heights_at(((0.0, 3.0), (2.0, 3.0), (2.0, 4.0)), 2.0)
    (3.0, 4.0)
    """
    if len(profile) == 1:
        return profile[0][1], profile[0][1]
    before = after = profile[0][1] if station < profile[0][0] else profile[-1][1]
    same = [h for s, h in profile if s == station]
    if same:
        return (same[0], same[-1])
    for (s0, h0), (s1, h1) in pairwise(profile):
        if s0 < station < s1:
            before = after = h0 + (h1 - h0) * (station - s0) / (s1 - s0)
    return before, after


def traced_path(run: Run, scale: Calibration) -> Path:
    """Traced line in building metres, y down.

    Where x and y scales differ an arc becomes the arc over its stretched chord with the same included angle.
    """
    return Path(tuple(scale.to_metres(p) for p in run.points_pt), run.segment_bulges, run.closed)


def face_offsets(run: Run) -> dict[str, float]:
    """How far each coated face lies to the left of the traced line, in metres, by side."""
    half = run.thickness / 2.0
    if run.line == "centre":
        both = {"left": half, "right": -half}
    else:
        both = {"left": 0.0, "right": -run.thickness if run.face == "both" else 0.0}
    return both if run.face == "both" else {run.face: both[run.face]}


def develop(
    run: Run,
    room: Room | None,
    scale: Calibration,
    *,
    corner_threshold: float = math.radians(10.0),
    ends: FaceEnds = NO_ENDS,
) -> tuple[Face, ...]:
    """Develop the coated faces of a run.

    Raises `GeometryError` without a height, with an opening off it, where its line crosses itself, or a face cannot be
    offset.

    Parameters
    ----------
    corner_threshold
        Turning angle in radians from which a vertex is a corner.
    ends
        Where its faces end if not square to the traced line (`takeoff.measure.mitres`); where that fails they do not.
    """
    height = _height_of(run, room)
    path = traced_path(run, scale)
    at = path.stations()
    tolerance = max(scale.join_tolerance, 1e-6)
    cove = None if run.no_cove else (run.cove or (room.cove if room else None))
    faces: list[Face] = []
    for side, distance in face_offsets(run).items():
        line, is_square = _face_line(run, path, side, distance, ends, tolerance)
        stations = at if line is path else line.stations()
        profile = carried_profile(path, line, at, stations, height.points)
        openings = place_openings(run, path, line, (run.base, *(h for _, h in profile)), tolerance=tolerance)
        top = max(h for _, h in profile)
        short = f"wall {run.id}: it is too short for its {side} face to meet those of the walls beside it"
        doubts = [short] if is_square else []
        if not faces:
            doubts.extend(_run_doubts(run, height, at[-1], cove=cove, top=top, tolerance=tolerance))
        doubts.extend(_opening_doubts(run, openings, top=top, off_side="" if line is path else side))
        faces.append(
            Face(
                run=run,
                side=side,
                room=run.room,
                system=run.system or (room.system if room else None),
                cove=cove,
                path=line,
                stations=stations,
                turns=_inside_turns(line, side, corner_threshold),
                profile=profile,
                has_room_height=run.height is None,
                openings=openings,
                doubts=tuple(doubts),
                times=room.count if room else 1,
            )
        )
    return tuple(faces)


def _run_doubts(
    run: Run, height: HeightProfile, length: float, *, cove: Cove | None, top: float, tolerance: float
) -> Iterator[str]:
    """Say what is doubtful about a run, whichever of its faces is looked at; picks tell ``tolerance`` m apart."""
    if not height.is_constant and height.points[-1][0] > length + tolerance:
        yield f"wall {run.id}: the height profile goes on beyond the wall's end"
    if run.thickness:
        for i, opening in enumerate(run.openings):
            if opening.coated and opening.reveal > run.thickness + tolerance:
                yield f"wall {run.id}, opening {i + 1}: its reveal is deeper than the wall is thick: check both"
    if cove is not None and ROUNDING < run.base <= LOW_BASE:
        yield (
            f"wall {run.id}: it starts {shown(run.base)} above the floor, so its cove is left out: start it at the "
            "floor if the cove is made"
        )
    for i, opening in enumerate(run.openings):
        if opening.kind == "door" and opening.height < min(LOW_DOOR, opening.width):
            size = f"{shown(opening.width)} wide and {shown(opening.height)} high"
            yield f"wall {run.id}, opening {i + 1}: a door {size}: were width and height swapped?"
    if length < tolerance:
        yield f"wall {run.id}: it is {length * 1000:.3g} mm long, less than picks can tell: remove it"
    if top > TALL:
        yield f"wall {run.id}: its top is {shown(top)} above the floor: check the height and its unit"


def _opening_doubts(run: Run, openings: Sequence[PlacedOpening], *, top: float, off_side: str) -> Iterator[str]:
    """Say what is doubtful about the openings of one face; ``off_side`` is its side where it is off the traced line."""
    if off_side:
        for i in sorted(set(range(len(run.openings))) - {o.index for o in openings}):
            where = f"wall {run.id}, opening {i + 1}"
            yield f"{where}: it lies within a corner of the wall and is not on its {off_side} face"
    for o in openings:
        side, other = ("above", "height of the room or wall") if o.z0 >= top else ("below", "base of the wall")
        if o.z0 >= top or o.z1 <= run.base:
            yield (
                f"wall {run.id}, opening {o.index + 1}: it lies wholly {side} the coating and deducts nothing: check "
                f"its sill, and the {other}"
            )


def _inside_turns(line: Path, side: str, threshold: float) -> tuple[float, ...]:
    """Turns of a face's line, positive for inside corners; 0 where they are no corner."""
    sign = 1.0 if side == "left" else -1.0
    return tuple(sign * t if abs(t) >= threshold else 0.0 for t in line.turns())


def _height_of(run: Run, room: Room | None) -> HeightProfile:
    """Height profile of a run or of its room, above the run's base somewhere."""
    height = run.height or (room.height if room else None)
    if height is None:
        raise GeometryError(
            "it has no height, and its room has none",
            remedy='Give the wall or its room a "height".',
            where=f"wall {run.id}",
        )
    if all(h <= run.base for _, h in height.points):
        raise GeometryError(
            f"its top is not above its base of {shown(run.base)}",
            remedy="Raise the height or lower the base.",
            where=f"wall {run.id}",
        )
    return height


def _face_line(run: Run, path: Path, side: str, distance: float, ends: FaceEnds, tolerance: float) -> tuple[Path, bool]:
    """Line of a face, and whether it ends square to the traced line though another wall meets it there."""
    try:
        met = (ends.get((side, 0)), ends.get((side, 1)))
        if met != (None, None):
            try:
                line = offset_path(path, distance, met)
            except GeometryError:
                pass
            else:
                if crossing_segments(line, sag=ARC_SAG, reach=tolerance) is None:
                    return line, False
        line = offset_path(path, distance)
    except GeometryError as error:
        raise GeometryError(error.message, remedy=error.remedy, where=f"wall {run.id}") from error
    if (pair := crossing_segments(line, sag=ARC_SAG, reach=tolerance)) is not None:
        raise GeometryError(
            f"segments {pair[0] + 1} and {pair[1] + 1} of its {'line' if line is path else side + ' face'} cross",
            remedy="Move the points, or trace it as two walls."
            if line is path
            else "The thickness does not fit: trace the faces one by one.",
            where=f"wall {run.id}",
        )
    return line, met != (None, None)
