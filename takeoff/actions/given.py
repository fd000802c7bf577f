"""What rooms take that are put into a job: system, cove, height, what a drawing prints in them; walls and openings.

Each value comes with what it rests on. Openings have sizes that a plan does not show.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace

import shapely

from takeoff.geometry.paths import Path
from takeoff.job.job import Job
from takeoff.model.open_points import Basis, Confirmed, How, basis_of, put_basis
from takeoff.model.plan import Point
from takeoff.model.walls import Cove, HeightProfile, Opening, OpeningKind, Room, Run
from takeoff.revise.carry_openings import FRAME
from takeoff.sheet.scope_words import finish_codes, scope_line, several_line
from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.polygons import box_sides
from takeoff.trace.lines.room_verdict import SURE
from takeoff.trace.lines.traced_rooms import TracedOpening, TracedRoom, TracedRun
from takeoff.trace.texts.printed_sizes import CeilingNote, one_height, printed_inside, read_ceiling_notes
from takeoff.trace.texts.room_names import label_lines, room_label
from takeoff.units import UnitSystem, usual_size

RECOGNISED = "its letters were recognised: compare them with the drawing"
"""Why a value that rests on recognised letters is open."""
SAG_PT = 0.3
"""Sheet points that a chord may lie off its arc where areas are compared."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """What rooms take that are put into the job; ``height`` in metres, ``ceilings`` those printed on the sheet.

    ``basis`` says how height, system and cove were got, of those that no person gave.
    """

    height: float | None
    system: str | None
    cove: Cove | None
    ceilings: tuple[CeilingNote, ...]
    basis: tuple[Basis, ...] = ()

    def printed_in(self, room: TracedRoom) -> list[CeilingNote]:
        """Return the ceiling heights that are printed in a room."""
        return printed_inside(shape_of(room), self.ceilings) if self.ceilings else []

    def with_height(self, room: Room, printed: Sequence[CeilingNote], sheet: int) -> Room:
        """Return a room that has no height with that of the notes in it, or the given one; and what it rests on."""
        if not printed:
            if self.height is None:
                return room
            bases = put_basis(room.basis, *(b for b in self.basis if b.of == "height"))
            return replace(room, height=HeightProfile.constant(self.height), basis=bases)
        height = one_height(printed)
        text = " and ".join(dict.fromkeys(note.text for note in printed))
        heights = [note.height for note in printed if note.height is not None]
        unsure = RECOGNISED if any(note.is_recognised for note in printed) else ""
        if height is None:
            unsure = "what is printed is not one ceiling height"
        basis = Basis(
            of="height",
            taken="" if height is None else height,
            how="stated",
            text=text,
            sheet=sheet,
            at_pt=printed[0].at_pt,
            low=min(heights, default=None),
            high=max(heights, default=None),
            unsure=unsure,
        )
        made = replace(room, basis=put_basis(room.basis, basis))
        return made if height is None else replace(made, height=HeightProfile.constant(height))


def with_scope(room: Room, shape: shapely.Geometry, lines: Sequence[TextLine], sheet: int) -> Room:
    """Return a room with what stands in it: that it may not be in the contract or is built often, its finish codes."""
    inside = label_lines(shape, lines)
    if (codes := finish_codes(inside)) and basis_of(room, "codes") is None:
        room = replace(
            room, basis=put_basis(room.basis, Basis(of="codes", taken="", how="stated", text=codes, sheet=sheet))
        )
    for of, note in (("scope", scope_line(inside)), ("times", several_line(inside))):
        if note is not None and basis_of(room, of) is None:
            room = in_doubt(room, "stated", note.text.strip(), sheet, note.middle_pt, of=of)
    return room


def in_doubt(room: Room, how: How, text: str, sheet: int, at_pt: Point | None = None, *, of: str = "scope") -> Room:
    """Return a room of which a text on a sheet says that it may not be in the contract, or is built often ("times")."""
    unsure = "its walls stay in the price" if of == "scope" else "its walls are counted once"
    basis = Basis(of=of, taken=getattr(room, of), how=how, text=text, sheet=sheet, at_pt=at_pt, unsure=unsure)
    return replace(room, basis=put_basis(room.basis, basis))


def shape_of(room: TracedRoom) -> shapely.Geometry:
    """Return a room's area in sheet points."""
    bulges = room.bulges or (0.0,) * len(room.points_pt)
    return shapely.Polygon(Path(room.points_pt, bulges, True).flattened(SAG_PT)).buffer(0)


def ceiling_words(job: Job, printed: Mapping[str, Sequence[CeilingNote]]) -> tuple[str, ...]:
    """Say which rooms took the ceiling height that is printed in them, and where what is printed is not one height.

    ``printed``: rooms by id that had no height, with the ceiling heights printed in each.
    """
    told = {id: " and ".join(dict.fromkeys(note.text for note in notes)) for id, notes in printed.items()}
    label = {id: job.rooms[id].number or job.rooms[id].name or id for id in told}
    taken = [f"{label[id]} {text}" for id, text in told.items() if job.rooms[id].height is not None]
    left = [f"{label[id]} {text}" for id, text in told.items() if job.rooms[id].height is None]
    return (
        *((f"coated to the ceiling height printed in the room: {', '.join(taken)}",) if taken else ()),
        *((f"what is printed is not one height: {', '.join(left)}",) if left else ()),
    )


def printed_room(lines: Sequence[TextLine], sheet: int, outline_pt: Sequence[Point], room: Room) -> Room:
    """Return a room with the name, the number and the ceiling height that stand inside an outline of sheet points.

    What is not printed there stays as it is; a printed height goes before the one that the room has, and its source is
    kept with it.
    """
    outline = shapely.Polygon(outline_pt)
    shape = outline if outline.is_valid else outline.convex_hull
    name, number = room_label(shape, lines)
    named = with_scope(replace(room, name=name or room.name, number=number or room.number), shape, lines, sheet)
    notes = printed_inside(shape, read_ceiling_notes(lines))
    if not notes:
        return named
    given = Given(height=None, system=None, cove=None, ceilings=())
    return given.with_height(replace(named, height=None), notes, sheet)


LONG = 2.5
"""Length over width from which what stands free in a room is rather a wall than a column (our choice)."""
LOW_WALL = "it stands free in the room and is long for a column: a low wall is not as high as the room"
HEIGHTS: dict[str, tuple[float, float, float]] = {
    "door": (2.1336, 2.032, 2.4384),
    "roll-up": (2.4384, 2.4384, 3.6576),
    "window": (1.2192, 0.9144, 1.8288),
    "pass-through": (1.0668, 0.9144, 1.2192),
}
"""Height in metres that an opening is given, as a plan shows none, and the two between which such heights lie: a door
of 7 ft, 6'-8" to 8 ft; a roll-up door of 8 ft, to 12 ft; a window of 4 ft, 3 to 6 ft; a pass-through of 3 1/2 ft, 3 to
4 ft. In metric jobs all such sizes are the decimetres next to them, a door of 2.1 m (common practice, no source)."""
SILLS: dict[OpeningKind, tuple[float, float, float]] = {
    "window": (0.9144, 0.6096, 1.2192),
    "pass-through": (1.0668, 0.9144, 1.2192),
}
"""The same for sills: 3 ft, 2 to 4 ft; 3 1/2 ft, 3 to 4 ft (common practice, no source). A door stands on the floor."""
WIDTHS: dict[OpeningKind, float] = {"door": 0.9144, "window": 1.2192}
"""Width in metres of a door and a window that are placed by hand: 3 and 4 ft (common practice, no source)."""
USUAL = "a usual size, as the plan shows none"
AS_WIDE = "that of one as wide, as the plan shows none"


def opening_of(traced: TracedOpening, sheet: int, system: UnitSystem, seen: Confirmed | None = None) -> Opening:
    """Make an opening of a traced one on a sheet; who looked at it confirmed what was unsure of its being there.

    ``system``: what the job is measured in, whose common sizes are assumed.
    """
    kind = "roll-up" if traced.form == "roll-up" else traced.kind
    height, tall = _size("height", traced.height, HEIGHTS[kind], traced, system)
    unsure = "" if traced.confidence >= SURE else f"only {traced.confidence:.0%} sure: {traced.reason}"
    there = Basis(of="kind", taken=traced.kind, how="measured", text=traced.reason, sheet=sheet, unsure=unsure)
    bases = [
        replace(there, confirmed=seen) if unsure else there,
        _scheduled("width", traced.width, traced)
        if traced.source is not None and traced.source.how == "stated"
        else Basis(of="width", taken=traced.width, how="measured", sheet=sheet),
        tall,
    ]
    sill = 0.0
    if traced.kind in SILLS:
        sill, low = _size("sill", traced.sill, SILLS[traced.kind], traced, system)
        bases.append(low)
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


def openings_like(known: Sequence[Opening], system: UnitSystem) -> Callable[[OpeningKind, float], Opening]:
    """Return what gives an opening of a kind and a width in metres the height and sill of a known one as wide.

    Where none is, they are the usual ones; assumed they are either way.
    """

    def like(kind: OpeningKind, width: float) -> Opening:
        made = replace(usual_opening(kind, system), width=width)
        same = next((one for one in known if one.kind == kind and abs(one.width - width) <= FRAME), None)
        if same is None:
            return made
        sizes = {basis.of: getattr(same, basis.of) for basis in made.basis if basis.of != "width"}
        basis = [Basis(of=of, taken=size, how="assumed", text=AS_WIDE) for of, size in sizes.items()]
        return replace(made, basis=tuple(basis), **sizes)

    return like


def opening_as_drawn(traced: TracedOpening, like: Opening, sheet: int, system: UnitSystem) -> Opening:
    """Return an opening as it is drawn on a sheet; what the drawing does not give is as of ``like``, with its bases."""
    made = opening_of(traced, sheet, system)
    if like.kind != traced.kind:
        return made
    own = {"kind", "width", *(of for of in ("height", "sill") if getattr(traced, of) is not None)}
    basis = (*(b for b in like.basis if b.of not in own), *(b for b in made.basis if b.of in own))
    return replace(like, at=traced.at, mark=traced.mark, basis=basis, **{of: getattr(made, of) for of in own})


def _size(
    of: str, told: float | None, usual: tuple[float, float, float], traced: TracedOpening, system: UnitSystem
) -> tuple[float, Basis]:
    """Return a size that is told, else the usual one of three in a system, and its basis."""
    if told is not None:
        return told, _scheduled(of, told, traced)
    size, low, high = (usual_size(one, system) for one in usual)
    return size, Basis(of=of, taken=size, how="assumed", text=USUAL, low=low, high=high)


def _scheduled(of: str, taken: float, traced: TracedOpening) -> Basis:
    """Make the basis of a size that an opening schedule gives, or that is written beside the opening."""
    if traced.source is None:
        return Basis(of=of, taken=taken, how="schedule", text=f"{traced.kind} {traced.mark}")
    return Basis(of=of, taken=taken, **asdict(traced.source))


def _is_long(run: Run) -> bool:
    """Tell whether what stands free in a room is long for a column."""
    sides = box_sides(shapely.minimum_rotated_rectangle(shapely.Polygon(run.path_pt.flattened(SAG_PT))))
    return bool(sides.max() > LONG * sides.min())


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
