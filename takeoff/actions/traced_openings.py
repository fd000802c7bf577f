"""Walls and openings as tracing puts them into a job, with what each value rests on.

Openings have sizes that a plan does not show.
"""

from __future__ import annotations

import math
from dataclasses import replace

import shapely

from takeoff.actions.given import SAG_PT
from takeoff.model.open_points import Basis, Confirmed
from takeoff.model.walls import Opening, OpeningKind, Run
from takeoff.trace.lines.room_evidence import SURE
from takeoff.trace.lines.traced_rooms import TracedOpening, TracedRoom, TracedRun
from takeoff.units import UnitSystem, usual_size

LONG = 2.5
"""Length over width from which what stands free in a room is rather a wall than a column (our choice)."""
LOW_WALL = "it stands free in the room and is long for a column: a low wall is not as high as the room"
ASSUMED: dict[OpeningKind, tuple[float, float]] = {
    "door": (2.1336, 0.0),
    "window": (1.2192, 0.9144),
    "pass-through": (1.0668, 1.0668),
}
"""Height and sill in metres that an opening is given, as a plan shows neither: a door of 7 ft, a window of 4 ft above
3 ft, a pass-through of 3 1/2 ft above 3 1/2 ft; in metric jobs all such sizes are the decimetres next to them, a door
of 2.1 m (common practice, no source)."""
WIDTHS: dict[OpeningKind, float] = {"door": 0.9144, "window": 1.2192}
"""Width in metres of a door and a window that are placed by hand: 3 and 4 ft (common practice, no source)."""
ROLL_UP_HEIGHT = 2.4384
"""Height in metres that a roll-up door is given: 8 ft (common practice, no source)."""
HEIGHTS: dict[OpeningKind, tuple[float, float]] = {
    "door": (2.032, 2.4384),
    "window": (0.9144, 1.8288),
    "pass-through": (0.9144, 1.2192),
}
"""Metres between which such heights lie: doors 6'-8" to 8 ft, windows 3 to 6 ft, pass-throughs 3 to 4 ft (common
practice, no source)."""
ROLL_UP_HEIGHTS = (2.4384, 3.6576)
"""The same for roll-up doors: 8 to 12 ft (common practice, no source)."""
SILLS: dict[OpeningKind, tuple[float, float]] = {"window": (0.6096, 1.2192), "pass-through": (0.9144, 1.2192)}
"""Metres between which sills lie: of windows 2 to 4 ft, of pass-throughs 3 to 4 ft (common practice, no source). A door
stands on the floor."""


def opening_of(traced: TracedOpening, sheet: int, system: UnitSystem, seen: Confirmed | None = None) -> Opening:
    """Make an opening of a traced one on a sheet; who looked at it confirmed what was unsure of its being there.

    ``system``: what the job is measured in, whose common sizes are assumed.
    """
    is_roll_up = traced.form == "roll-up"
    sizes = (*ASSUMED[traced.kind], *(ROLL_UP_HEIGHTS if is_roll_up else HEIGHTS[traced.kind]))
    height, sill, low, high = (usual_size(size, system) for size in sizes)
    if is_roll_up:
        height = usual_size(ROLL_UP_HEIGHT, system)
    tall = Basis(
        of="height", taken=height, how="assumed", text="a usual size, as the plan shows none", low=low, high=high
    )
    if traced.height is not None:
        height = traced.height
        tall = _scheduled("height", height, traced)
    unsure = "" if traced.confidence >= SURE else f"only {traced.confidence:.0%} sure: {traced.reason}"
    there = Basis(of="kind", taken=traced.kind, how="measured", text=traced.reason, sheet=sheet, unsure=unsure)
    bases = [
        replace(there, confirmed=seen) if unsure else there,
        _scheduled("width", traced.width, traced)
        if traced.source is not None and traced.source.how == "stated"
        else Basis(of="width", taken=traced.width, how="measured", sheet=sheet),
        tall,
    ]
    if traced.kind in SILLS:
        low, high = (usual_size(size, system) for size in SILLS[traced.kind])
        text = "a usual size, as the plan shows none"
        if traced.sill is None:
            bases.append(Basis(of="sill", taken=sill, how="assumed", text=text, low=low, high=high))
        else:
            sill = traced.sill
            bases.append(_scheduled("sill", sill, traced))
    return Opening(
        at=traced.at,
        width=traced.width,
        height=height,
        sill=sill,
        kind=traced.kind,
        mark=traced.mark,
        basis=tuple(bases),
    )


def usual_opening(kind: OpeningKind, system: UnitSystem) -> Opening:
    """Return the door or window that is placed until somebody gives a size: each of its sizes is assumed."""
    width = usual_size(WIDTHS[kind], system)
    traced = TracedOpening(at=0.0, width=width, form="swing", kind=kind, confidence=1.0, reason="")
    made = opening_of(traced, 0, system)
    wide = Basis(of="width", taken=width, how="assumed", text="a usual size, as none was given")
    return replace(made, basis=(wide, *(basis for basis in made.basis if basis.how == "assumed")))


def opening_as_drawn(traced: TracedOpening, like: Opening, sheet: int, system: UnitSystem) -> Opening:
    """Return an opening as it is drawn on a sheet; what the drawing does not give is as of ``like``, with its bases."""
    made = opening_of(traced, sheet, system)
    if like.kind != traced.kind:
        return made
    own = {"kind", "width", *(of for of in ("height", "sill") if getattr(traced, of) is not None)}
    basis = (*(b for b in like.basis if b.of not in own), *(b for b in made.basis if b.of in own))
    return replace(like, at=traced.at, mark=traced.mark, basis=basis, **{of: getattr(made, of) for of in own})


def _scheduled(of: str, taken: float, traced: TracedOpening) -> Basis:
    """Make the basis of a size that an opening schedule gives, or that is written beside the opening."""
    source = traced.source
    if source is None:
        return Basis(of=of, taken=taken, how="schedule", text=f"{traced.kind} {traced.mark}")
    return Basis(
        of=of,
        taken=taken,
        how=source.how,
        text=source.text,
        sheet=source.sheet,
        at_pt=source.at_pt,
        unsure=source.unsure,
    )


def _is_long(run: Run) -> bool:
    """Tell whether what stands free in a room is long for a column."""
    box = shapely.minimum_rotated_rectangle(shapely.Polygon(run.path_pt.flattened(SAG_PT)))
    corners = shapely.get_coordinates(box)
    if len(corners) < 4:
        return True
    sides = sorted((math.dist(corners[0], corners[1]), math.dist(corners[1], corners[2])))
    return sides[1] > LONG * sides[0]


def runs_of(room: TracedRoom, id: str, sheet: int, system: UnitSystem, seen: Confirmed | None) -> list[Run]:
    """Make the runs of a room; where somebody looked at it, what was unsure about it is confirmed."""
    walls = TracedRun(points_pt=room.points_pt, bulges=room.bulges, openings=room.openings)
    named = [(f"{id}-walls", walls), *((f"{id}-column-{i}", c) for i, c in enumerate(room.columns, start=1))]
    against = [reason for reason in room.reasons[1:] if reason not in room.unread]
    looks = room.taken if room.sure or room.outline_sure else against or room.reasons
    unsure = " ".join(looks).rstrip(".")
    unread = " ".join(room.unread).rstrip(".")
    made = []
    for name, traced in named:
        run = Run(
            id=name,
            sheet=sheet,
            room=id,
            points_pt=traced.points_pt,
            bulges=traced.bulges if any(traced.bulges) else (),
            closed=True,
            face="left",
            openings=tuple(opening_of(o, sheet, system, seen) for o in traced.openings),
        )
        told = room.reasons[0].rstrip(".")
        looked = "; ".join(filter(None, (unsure, LOW_WALL if name != named[0][0] and _is_long(run) else "")))
        line = Basis(of="outline", taken=run.outline, how="measured", text=told, sheet=sheet, unsure=looked)
        bases = [replace(line, confirmed=seen if looked else None)]
        if unread and name.endswith("-walls"):
            gaps = Basis(of="gaps", taken=run.gaps, how="measured", sheet=sheet, unsure=unread, confirmed=seen)
            bases.append(gaps)
        made.append(replace(run, basis=tuple(bases)))
    return made
