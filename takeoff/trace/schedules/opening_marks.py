"""What a door schedule says, laid upon the doors of a traced sheet by the marks that stand beside them.

A door in a wall between two rooms is an opening of both: they share one *place*. A mark belongs to the place nearest to
it, and a place takes one mark, the nearest. The number in a room's own label is no mark.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from takeoff.geometry.nearest import point_at
from takeoff.geometry.paths import Path
from takeoff.model.plan import Calibration, Point
from takeoff.sheet.text import TextLine
from takeoff.trace.lines.plan_rooms import TracedOpening, TracedPlan, TracedRoom
from takeoff.trace.schedules.opening_schedule import OpeningRow, OpeningSchedule
from takeoff.trace.texts.room_names import label_lines, names_in

REACH = 0.6
"""Metres; how far beyond a door's width from its middle a mark may stand (common practice, no source)."""
THROUGH = 0.7
"""Metres; the faces of one wall, and so the two sides of one door, are no further apart."""
AGREES = 0.075
"""Metres; a drawn width that is further from the scheduled one than frames explain (common practice, no source)."""
DISAGREES = 0.7
"""The most confidence in an opening whose drawn width is not the scheduled one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkedPlan:
    """A plan with its doors as the schedule has them, and what is to be told about it as sentences.

    ``matched`` are the marks that were found at doors; ``loose`` those that stand on the sheet but at no traced door.
    """

    plan: TracedPlan
    matched: tuple[str, ...]
    loose: tuple[str, ...]


@dataclass(slots=True)
class _Place:
    """A door's middle in metres, its width, and which openings of which rooms it is."""

    at: Point
    width: float
    openings: list[tuple[int, int]]
    row: OpeningRow | None = None


def mark_openings(
    plan: TracedPlan, schedule: OpeningSchedule, lines: Sequence[TextLine], calibration: Calibration
) -> MarkedPlan:
    """Give the doors of a plan the heights that a schedule has for their marks.

    Parameters
    ----------
    plan
        The plan as traced.
    schedule
        The door schedule, of whatever sheet.
    lines
        The text of the plan's sheet, in sheet points.
    calibration
        The plan's scale.

    Returns
    -------
    MarkedPlan
        A door of another width than the schedule's is doubtful, and so are the rooms that it leads into.
    """
    rows = {row.mark.upper(): row for row in schedule.rows}
    places = _places(plan, calibration)
    marks = _marks(plan, rows, lines, calibration)
    near = sorted(
        (math.dist(at, place.at), number, i)
        for number, (_, at) in enumerate(marks)
        for i, place in enumerate(places)
        if math.dist(at, place.at) <= place.width + REACH
    )
    used: set[int] = set()
    for _, number, i in near:
        if number not in used and places[i].row is None:
            places[i].row = marks[number][0]
            used.add(number)
    rooms = list(plan.rooms)
    for place in places:
        if place.row is not None:
            for room, opening in place.openings:
                rooms[room] = _scheduled(rooms[room], opening, place.row, schedule.sheet)
    matched = {marks[number][0].mark for number in used}
    loose = {row.mark for row, _ in marks} - matched
    return MarkedPlan(
        plan=replace(plan, rooms=tuple(rooms)), matched=tuple(sorted(matched)), loose=tuple(sorted(loose))
    )


def _places(plan: TracedPlan, calibration: Calibration) -> list[_Place]:
    """Return the doors of a plan, the two sides of one as one place."""
    places: list[_Place] = []
    for room, traced in enumerate(plan.rooms):
        path = Path(tuple(calibration.to_metres(p) for p in traced.points_pt), traced.bulges, True)
        for number, opening in enumerate(traced.openings):
            if opening.kind != "door":
                continue
            at = point_at(path, opening.at)
            same = next((p for p in places if _is_other_side(p, at, opening, room)), None)
            if same is None:
                places.append(_Place(at, opening.width, [(room, number)]))
            else:
                same.at = ((same.at[0] + at[0]) / 2, (same.at[1] + at[1]) / 2)
                same.openings.append((room, number))
    return places


def _is_other_side(place: _Place, at: Point, opening: TracedOpening, room: int) -> bool:
    is_alone = len(place.openings) == 1 and place.openings[0][0] != room
    return is_alone and math.dist(place.at, at) < THROUGH and abs(place.width - opening.width) < 0.1


def _marks(
    plan: TracedPlan, rows: dict[str, OpeningRow], lines: Sequence[TextLine], calibration: Calibration
) -> list[tuple[OpeningRow, Point]]:
    """Return where the marks of a schedule stand on a plan, in metres; the numbers of rooms in their labels do not."""
    labels = {
        id(line) for room, shape in zip(plan.rooms, plan.shapes, strict=True) for line in _label(room, shape, lines)
    }
    found: list[tuple[OpeningRow, Point]] = []
    for line in lines:
        row = rows.get(line.text.strip().upper())
        if row is not None and id(line) not in labels:
            x0, y0, x1, y1 = line.box_pt
            found.append((row, calibration.to_metres(((x0 + x1) / 2, (y0 + y1) / 2))))
    return found


def _label(room: TracedRoom, shape: shapely.Polygon, lines: Sequence[TextLine]) -> list[TextLine]:
    """Return the line that gives a room its number: of those with it inside, the nearest to the room's name."""
    numbers = [line for line in label_lines(shape, lines) if room.number and line.text.strip() == room.number]
    names = names_in(shape, lines)
    if not numbers:
        return []
    if not names:
        return numbers[:1]
    name = shapely.box(*names[0].box_pt)
    return [min(numbers, key=lambda line: float(shapely.box(*line.box_pt).distance(name)))]


def _scheduled(room: TracedRoom, number: int, row: OpeningRow, sheet: str) -> TracedRoom:
    """Return a room with one of its doors as the schedule has it."""
    before = room.openings[number]
    source = f"door {row.mark} of the schedule on sheet {sheet}"
    made = replace(before, mark=row.mark, height=row.height, reason=f"{before.reason}; its height is that of {source}")
    if row.height is None:
        made = replace(before, mark=row.mark)
    confidence, reasons, sure = room.confidence, room.reasons, room.sure
    if row.width is not None and abs(row.width - before.width) > AGREES:
        told = f"drawn {before.width:.2f} m wide, but {source} is {row.width:.2f} m"
        made = replace(made, confidence=min(before.confidence, DISAGREES), reason=told)
        confidence, sure = round(confidence * DISAGREES, 3), False
        reasons = (*reasons, f"An opening is doubtful: {told}.")
    openings = (*room.openings[:number], made, *room.openings[number + 1 :])
    return replace(room, openings=openings, confidence=confidence, reasons=reasons, sure=sure)
