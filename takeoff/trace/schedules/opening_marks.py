"""What opening schedules say, laid upon the openings of a traced sheet by the marks that stand beside them.

An opening in a wall between two rooms is one of both: they share one *place*. A mark belongs to the place nearest to it
that is of its row's kind, and a place takes one mark, the nearest. The number in a room's own label is no mark. A
letter alone may be that of a grid line: it is a mark only where the opening is as wide as the schedule says.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import shapely

from takeoff.geometry.paths import Path, point_at
from takeoff.model.plan import Calibration, Point
from takeoff.model.walls import OpeningKind
from takeoff.sheet.text import TextLine
from takeoff.trace.lines.plan_rooms import TracedPlan
from takeoff.trace.lines.traced_rooms import Source, TracedOpening, TracedRoom
from takeoff.trace.schedules.opening_schedule import OpeningRow, OpeningSchedule
from takeoff.trace.texts.room_names import label_lines, names_in

REACH = 0.6
"""Metres; how far beyond an opening's width from its middle a mark may stand (common practice, no source)."""
THROUGH = 0.7
"""Metres; the faces of one wall, and so the two sides of one opening, are no further apart."""
SAME = 0.002
"""Metres; sizes in two schedules that differ by no more are one, rounded in other places."""
AGREES = 0.075
"""Metres; a drawn width that is further from the scheduled one than frames explain (common practice, no source)."""
DISAGREES = 0.7
"""The most confidence in an opening whose drawn width is not the scheduled one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkedPlan:
    """A plan with its openings as the schedules have them.

    ``matched`` are the marks that were found at openings; ``loose`` those that stand on the sheet but at no traced one.
    """

    plan: TracedPlan
    matched: tuple[str, ...]
    loose: tuple[str, ...]


@dataclass(slots=True)
class _Place:
    """An opening's middle in metres, its width and kind, and which openings of which rooms it is."""

    at: Point
    width: float
    kind: OpeningKind
    openings: list[tuple[int, int]]
    row: OpeningRow | None = None
    against: OpeningRow | None = None


def mark_openings(
    plan: TracedPlan, schedules: Sequence[OpeningSchedule], lines: Sequence[TextLine], calibration: Calibration
) -> MarkedPlan:
    """Give the openings of a plan the heights and sills that the schedules have for their marks.

    Parameters
    ----------
    plan
        The plan as traced.
    schedules
        The opening schedules, of whatever sheets, the one that counts first where two have one mark.
    lines
        The text of the plan's sheet, in sheet points.
    calibration
        The plan's scale.

    Returns
    -------
    MarkedPlan
        An opening of another width than the schedule's is doubtful, and so are the rooms that it leads into.
    """
    rows: dict[str, list[OpeningRow]] = {}
    names: dict[int, str] = {}
    for schedule, row in ((one, row) for one in schedules for row in one.rows):
        rows.setdefault(row.mark.upper(), []).append(row)
        names[row.sheet] = schedule.sheet
    places = _places(plan, calibration)
    marks = _marks(plan, rows, lines, calibration)
    used = _laid_upon(places, marks)
    rooms = list(plan.rooms)
    for place in places:
        if place.row is not None:
            for room, opening in place.openings:
                rooms[room] = _scheduled(rooms[room], opening, place.row, place.against, names)
    matched = {marks[number][0][0].mark for number in used}
    loose = {own[0].mark for own, _ in marks if any(sign.isdigit() for sign in own[0].mark)} - matched
    return MarkedPlan(
        plan=replace(plan, rooms=tuple(rooms)), matched=tuple(sorted(matched)), loose=tuple(sorted(loose))
    )


def with_sizes(plan: TracedPlan, sheet: int, calibration: Calibration) -> TracedPlan:
    """Give the openings of a plan the sizes that are written beside them, where they are drawn as wide."""
    marks = [
        ([OpeningRow(mark="", width=tag.width, height=tag.height, kind=tag.kind, text=tag.line.text.strip(),
                     sheet=sheet, at_pt=tag.at_pt)], calibration.to_metres(tag.at_pt))
        for tag in plan.sizes
    ]  # fmt: skip
    places = _places(plan, calibration) if marks else []
    _laid_upon(places, marks)
    rooms = list(plan.rooms)
    for place, row in ((place, place.row) for place in places if place.row is not None):
        for room, number in place.openings:
            own = rooms[room].openings[number]
            source = Source(sheet=row.sheet, at_pt=row.at_pt, text=row.text, how="stated")
            reason = f"{own.reason}; the size {row.text} is written beside it"
            made = replace(own, width=row.width or own.width, height=row.height, reason=reason, source=source)
            rooms[room] = _with_opening(rooms[room], number, made)
    return replace(plan, rooms=tuple(rooms))


def _laid_upon(places: Sequence[_Place], marks: Sequence[tuple[list[OpeningRow], Point]]) -> set[int]:
    """Give each place the nearest mark that it can be of; return which marks found one."""
    near = sorted(
        (math.dist(at, place.at), number, i)
        for number, (_, at) in enumerate(marks)
        for i, place in enumerate(places)
        if math.dist(at, place.at) <= place.width + REACH
    )
    used: set[int] = set()
    for _, number, i in near:
        if number in used or places[i].row is not None:
            continue
        fitting = _rows_for(places[i], marks[number][0])
        if fitting:
            places[i].row, places[i].against = fitting[0], next((r for r in fitting if _differs(r, fitting[0])), None)
            used.add(number)
    return used


def _rows_for(place: _Place, rows: Sequence[OpeningRow]) -> list[OpeningRow]:
    """Return the rows with a mark that an opening can be of; none where the mark is another thing's."""
    return [
        row
        for row in rows
        if row.kind in (None, place.kind)
        and (any(map(str.isdigit, row.mark)) or (row.width is not None and abs(row.width - place.width) <= AGREES))
    ]


def _differs(one: OpeningRow, other: OpeningRow) -> bool:
    """Tell whether two rows of one mark say different sizes."""
    pairs = ((one.width, other.width), (one.height, other.height), (one.sill, other.sill))
    return any(a is not None and b is not None and abs(a - b) > SAME for a, b in pairs)


def _places(plan: TracedPlan, calibration: Calibration) -> list[_Place]:
    """Return the openings of a plan, the two sides of one as one place."""
    places: list[_Place] = []
    for room, traced in enumerate(plan.rooms):
        path = Path(tuple(calibration.to_metres(p) for p in traced.points_pt), traced.bulges, True)
        for number, opening in enumerate(traced.openings):
            at = point_at(path, opening.at)
            same = next((p for p in places if _is_other_side(p, at, opening, room)), None)
            if same is None:
                places.append(_Place(at, opening.width, opening.kind, [(room, number)]))
            else:
                same.at = ((same.at[0] + at[0]) / 2, (same.at[1] + at[1]) / 2)
                same.openings.append((room, number))
    return places


def _is_other_side(place: _Place, at: Point, opening: TracedOpening, room: int) -> bool:
    is_alone = len(place.openings) == 1 and place.openings[0][0] != room and place.kind == opening.kind
    return is_alone and math.dist(place.at, at) < THROUGH and abs(place.width - opening.width) < 0.1


def _marks(
    plan: TracedPlan, rows: dict[str, list[OpeningRow]], lines: Sequence[TextLine], calibration: Calibration
) -> list[tuple[list[OpeningRow], Point]]:
    """Return where the marks of schedules stand on a plan, in metres; the numbers of rooms in their labels do not."""
    labels = {
        id(line) for room, shape in zip(plan.rooms, plan.shapes, strict=True) for line in _label(room, shape, lines)
    }
    return [
        (own, calibration.to_metres(line.middle_pt))
        for line in lines
        if (own := rows.get(line.text.strip().upper())) is not None and id(line) not in labels
    ]


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


def _with_opening(room: TracedRoom, number: int, made: TracedOpening) -> TracedRoom:
    return replace(room, openings=(*room.openings[:number], made, *room.openings[number + 1 :]))


def _scheduled(
    room: TracedRoom, number: int, row: OpeningRow, against: OpeningRow | None, names: Mapping[int, str]
) -> TracedRoom:
    """Return a room with one of its openings as the schedule has it; ``against`` is a row of the mark that differs."""
    before = room.openings[number]
    source = f"{before.kind} {row.mark} of the schedule on sheet {names[row.sheet]}"
    differs = before.source is not None and before.height is not None and abs(before.height - (row.height or 0)) > SAME
    unsure = f"the size {before.source.text} is written beside it" if before.source and differs else row.unsure
    if against is not None:
        unsure = f"the schedule on sheet {names[against.sheet]} says {against.text}"
    made = replace(
        before,
        mark=row.mark,
        height=row.height,
        sill=row.sill if before.kind != "door" else None,
        source=Source(sheet=row.sheet, at_pt=row.at_pt, text=row.text or source, unsure=unsure),
    )
    if row.height is not None:
        made = replace(made, reason=f"{before.reason}; its height is that of {source}")
    if row.width is not None and abs(row.width - before.width) > AGREES:
        told = f"drawn {before.width:.2f} m wide, but {source} is {row.width:.2f} m"
        made = replace(made, confidence=min(before.confidence, DISAGREES), reason=told)
        reasons = (*room.reasons, f"An opening is doubtful: {told}.")
        room = replace(room, confidence=round(room.confidence * DISAGREES, 3), sure=False, reasons=reasons)
    return _with_opening(room, number, made)
