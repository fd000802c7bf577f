"""Walls of a room by the side of the plan that they are on, each with the finish that a schedule gives that side."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from takeoff.actions.given import Given
from takeoff.errors import TakeoffError
from takeoff.job.job import Job
from takeoff.job.reshape import signed_area_pt, split
from takeoff.model.open_points import Basis, basis_of, put_basis
from takeoff.model.plan import Calibration
from takeoff.model.walls import HeightProfile, Room, Run
from takeoff.trace.schedules.elevation_views import SAME, ElevationView, differing
from takeoff.trace.schedules.finish_matching import CodeMeaning
from takeoff.trace.schedules.finish_schedule import FinishRow
from takeoff.trace.texts.north_arrow import NorthArrow
from takeoff.trace.texts.printed_sizes import LOWEST, CeilingNote

SIDES = ("E", "S", "W", "N")
"""Sides of a plan with north up, clockwise from the right."""
JOG = 0.6
"""Metres up to which a wall is a jog or a side of a pillar and goes with the one before it (judgement, no source)."""
SAME_NORTH = math.radians(5.0)
"""By how much north arrows of one sheet may differ (judgement, no source)."""
ASKEW = math.radians(15.0)
"""How far a wall may be turned from the axes of the plan and still be on one side of it (judgement, no source)."""
NOT_COATED = "it is not coated, and taken to be by others"


@dataclass(frozen=True, slots=True)
class _Wall:
    """Segments of a line that follow one another on one side, from the first; whether one stands askew on the plan."""

    side: str
    first: int
    is_askew: bool


@dataclass(frozen=True, slots=True)
class _North:
    """How far a page is to be turned clockwise so that north is up; why that is not certain; what to tell of it."""

    turn: float
    doubt: str = ""
    told: str = ""


def walls_by_side(
    job: Job,
    room: str,
    row: FinishRow,
    meant: Mapping[str, CodeMeaning],
    sheet: int,
    norths: Mapping[int, Sequence[NorthArrow]],
) -> list[Run] | None:
    """Return the walls of a room as a schedule has each side of it; those that are so already are left out.

    A closed line that was traced and not touched since is parted at the corners between its sides. What a person drew,
    reshaped or gave a system stays as it is, and so do pillars. No wall is lost: one whose code is of no system has
    none. North is where the arrow of the walls' sheet says; without one, or where several differ, it is taken to be up
    as displayed, which is open of every wall. ``row``: its row of the schedule, whose walls differ. Gives the runs to
    be put into the job; ``None`` where the walls cannot be told apart by sides.
    """
    if not row.by_side or job.rooms[room].system is not None:
        return None
    own = [(run, scale) for run in job.runs.values() if run.room == room and (scale := job.scale_for(run)) is not None]
    known = {run.sheet: _north(job, run.sheet, norths.get(run.sheet, ())) for run, _ in own}
    found = [(run, scale, _walls(run, known[run.sheet].turn, scale)) for run, scale in own if _is_ours(run)]
    many = Counter(wall.side for _, _, walls in found for wall in walls)
    made: list[Run] = []
    for run, scale, walls in found:
        north = known[run.sheet]
        try:
            pieces = _parted(run, walls, scale)
        except TakeoffError:  # an opening lies across a corner
            return None
        for piece, wall in zip(pieces, walls, strict=True):
            against = (
                "it stands askew to north" if wall.is_askew else "",
                "the room has several walls on that side" if many[wall.side] > 1 else "",
                north.doubt,
            )
            new = _finished(piece, row, wall.side, meant, sheet, against, north.told)
            if new != job.runs.get(new.id):
                made.append(new)
    return made if found else None


def _north(job: Job, sheet: int, arrows: Sequence[NorthArrow]) -> _North:
    """Return where north is on a sheet by its arrows, if they agree."""
    named = job.sheets[sheet].called
    shown = math.radians(job.sheets[sheet].rotation)
    if not arrows:
        return _North(shown, f"north is taken to be up on {named}")
    away = max(abs((arrow.turn - arrows[0].turn + math.pi) % math.tau - math.pi) for arrow in arrows)
    if away > SAME_NORTH:
        words = " and ".join(dict.fromkeys(arrow.words for arrow in arrows))
        return _North(shown, f"north is taken to be up on {named}, and its arrows point {words}")
    return _North(
        shown - arrows[0].turn, told=f"north is {arrows[0].words} by the arrow on {named}" if arrows[0].turn else ""
    )


def _is_ours(run: Run) -> bool:
    """Tell whether a draft may give a wall a finish: it parted it before, or it is the untouched outline of a room."""
    held = basis_of(run, "system")
    if held is not None:
        return held.how == "schedule" and held.confirmed is None
    is_inside = run.closed and run.face == "left" and signed_area_pt(run.points_pt) > 0
    return run.system is None and is_inside and basis_of(run, "outline") is not None


def _walls(run: Run, rotation: float, scale: Calibration) -> list[_Wall]:
    """Group the segments of a closed line by their sides; an open one is one wall.

    ``rotation`` is how far the page is turned clockwise until north is up.
    """
    sides: list[tuple[str, bool] | None] = []
    for (ax, ay), (bx, by), _ in run.path_pt.segments():
        across, down = (bx - ax) * scale.mx, (by - ay) * scale.my
        turns = (math.atan2(across, -down) + rotation) / (math.pi / 2)  # of what lies outside of it
        is_askew = abs(turns - round(turns)) * math.pi / 2 > ASKEW
        sides.append((SIDES[round(turns) % 4], is_askew) if math.hypot(across, down) > JOG else None)
    long = [side for side in sides if side is not None] or [(SIDES[0], True)]
    if not run.closed:
        return [_Wall(long[0][0], 0, long[0][1])]
    before, filled = long[-1], []
    for side in sides:
        before = side or before
        filled.append(before)
    start = next((i for i, (side, _) in enumerate(filled) if side != filled[i - 1][0]), 0)
    order = [(start + k) % len(filled) for k in range(len(filled))]
    groups = [list(group) for _, group in groupby(order, key=lambda i: filled[i][0])]
    return [_Wall(filled[own[0]][0], own[0], any(filled[i][1] for i in own)) for own in groups]


def _parted(run: Run, walls: Sequence[_Wall], scale: Calibration) -> list[Run]:
    """Part a closed line at the first points of its walls; the first piece keeps its id."""
    if len(walls) < 2:
        return [run]
    (rest,) = split(run, run.points_pt[walls[0].first], "", scale)
    pieces = []
    for number, wall in enumerate(walls[1:], start=2):
        first, rest = split(rest, run.points_pt[wall.first], f"{run.id}-{number}", scale)
        pieces.append(first)
    return [_traced(piece, run) for piece in (*pieces, rest)]


def _traced(piece: Run, whole: Run) -> Run:
    """Say of a piece what was said of the whole line and its openings."""
    held = [basis_of(whole, field) for field in ("outline", "gaps")]
    return replace(piece, basis=tuple(replace(b, taken=getattr(piece, b.of)) for b in held if b is not None))


def _finished(
    wall: Run,
    row: FinishRow,
    side: str,
    meant: Mapping[str, CodeMeaning],
    sheet: int,
    against: Sequence[str],
    told: str,
) -> Run:
    """Give a wall the finish of its side; ``against`` says why that is not certain, ``told`` by what the side is."""
    said = next((wall for wall in row.by_side if wall.side == side), None)
    code = meant.get(said.code.upper()) if said is not None else None
    named = f"code {code.code}" + (f" “{code.words}”" if code.words else "") if code is not None else ""
    if said is None:
        why = f"the schedule has no column for the side {side}"
    elif code is None:
        why = f"the schedule gives the side {side} no finish: {NOT_COATED}"
    elif code.system is None:
        why = f"{named} on the side {side} is of no system: {NOT_COATED}"
    else:
        why = f"{named} is taken for {code.system} by its words alone" if code.how == "words" else ""
    text = f"{row.number} {row.name}, wall {side} {said.code if said is not None and said.code else '-'}"
    text = f"{text}; {told}" if told else text
    source = Basis(of="", taken="", how="schedule", text=text, sheet=sheet)
    system = code.system if code is not None else None
    bases = [replace(source, of="system", taken=system or "", unsure="; ".join(filter(None, (why, *against))))]
    if said is not None and said.top is not None:
        wall = replace(wall, height=HeightProfile.constant(said.top))
        bases.append(replace(source, of="height", taken=said.top))
    return replace(wall, system=system, basis=put_basis(wall.basis, *bases))


_SAYS = "an interior elevation says "
"""How the reservation begins that a draft puts to a height, by which the next draft knows it for its own."""


def views_of_rooms(
    rooms: Iterable[Room], views: Iterable[tuple[int, ElevationView]]
) -> dict[str, list[tuple[int, ElevationView]]]:
    """Return the views by the id of the one room that each is of, with the sheets that they stand on."""
    known = list(rooms)
    found: dict[str, list[tuple[int, ElevationView]]] = {}
    for sheet, view in views:
        own = [room.id for room in known if view.names(room.number, room.name)]
        if len(own) == 1:
            found.setdefault(own[0], []).append((sheet, view))
    return found


def seen_in_views(
    room: Room, said: Sequence[tuple[int, CeilingNote]], sheets: Collection[int], unclear: str = ""
) -> Room:
    """Return a room with the height that its elevations show, or with the doubt that they leave.

    Where nobody said a height, theirs is taken if it is one. A height that another sheet said stays; where the
    elevations say another, by more than an inch, or that the ceiling is not level, it is open with both texts. What
    ends below any ceiling is the top of a coating: only a lower ceiling contradicts it. What a person gave or confirmed
    stays as it is.

    Parameters
    ----------
    said
        What its views say, each with its sheet.
    sheets
        The sheets of elevations, by which heights are known that an earlier draft took from them.
    unclear
        What its row of a finish schedule says of the height, where that is not one length: theirs is open then.
    """
    held = basis_of(room, "height")
    notes = differing([note for _, note in said])
    if not notes or (held is not None and held.confirmed is not None):
        return room
    if held is not None and held.how == "stated" and held.sheet in sheets:
        made = _taken(replace(room, height=None), notes, said[0][0], unclear)
        return made if basis_of(made, "height") != held else room
    if room.height is None:
        return _taken(room, notes, said[0][0], unclear) if held is None else room
    weighed = _weighed(held, max(z for _, z in room.height.points), notes) if held is not None else held
    return replace(room, basis=put_basis(room.basis, weighed)) if weighed is not None and weighed != held else room


def _taken(room: Room, notes: Sequence[CeilingNote], sheet: int, unclear: str) -> Room:
    made = Given(height=None, system=None, cove=None, ceilings=()).with_height(room, notes, sheet)
    basis = basis_of(made, "height")
    if basis is None or basis.unsure or not unclear:
        return made
    return replace(made, basis=put_basis(made.basis, replace(basis, unsure=f"the finish schedule says “{unclear}”")))


def _weighed(held: Basis, top: float, notes: Sequence[CeilingNote]) -> Basis:
    """Return the basis of a height that another sheet said, open where the elevations contradict it."""
    own = held.unsure.startswith(_SAYS)
    if held.unsure and not own:
        return held
    other = [note for note in notes if _contradicts(note.height, top)]
    if not other:
        return replace(held, unsure="", low=None, high=None) if own else held
    heights = [top, *(note.height for note in other if note.height is not None)]
    text = " and ".join(f"“{note.text}”" for note in other)
    return replace(held, unsure=f"{_SAYS}{text}", low=min(heights), high=max(heights))


def _contradicts(ceiling: float | None, top: float) -> bool:
    if ceiling is None or ceiling > top:
        return top >= LOWEST and (ceiling is None or ceiling - top > SAME)
    return top - ceiling > SAME
