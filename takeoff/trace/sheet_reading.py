"""Reading vector sheets: from their lines, from their picture too, and from pictures that stand on them."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from typing import Any, Protocol

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Point as Place
from shapely import Polygon
from shapely.affinity import translate

from takeoff.model.drafting import DraftingStyle
from takeoff.model.plan import Calibration, Point, Sheet
from takeoff.sheet.frame import Box, displayed_size, displayed_to_sheet
from takeoff.sheet.render import cover_of_pictures, darkest, full_pixels, grey, pixel_box, render_array, render_pictures
from takeoff.sheet.text import TextLine
from takeoff.trace.drawing.linework import Linework
from takeoff.trace.drawing.looks import roles_of
from takeoff.trace.drawing.polygons import shared
from takeoff.trace.lines.lost_rooms import LostRoom, lost_fields
from takeoff.trace.lines.open_rooms import moved_words
from takeoff.trace.lines.plan_rooms import TracedPlan, read_plan
from takeoff.trace.lines.swings import find_swings
from takeoff.trace.lines.traced_rooms import TracedRoom, TracedRun
from takeoff.trace.lines.wall_areas import find_lines
from takeoff.trace.lines.walls_to_show import with_walls_to_show
from takeoff.trace.scans.raster_plan import read_raster_plan
from takeoff.trace.scans.wall_network import M_PER_PX
from takeoff.trace.schedules.opening_marks import AGREES, REACH
from takeoff.trace.texts.printed_sizes import SizeTag, size_tags
from takeoff.trace.texts.room_names import has_bare_millimetres, names_of

_CLEAR = 0.7
"""The share of sure rooms from which the lines of a sheet are clear."""
_LARGEST = 4e6
"""Pixels of the network's picture; where more is drawn there is no second look: it takes two seconds a million, and a
sheet is to take ten."""
_LARGEST_MOSAIC = 24e6
"""Pixels of the network's picture up to which the pictures on a page are read: there is no other way to read it."""
MOSAIC = 0.5
"""Share of a page from which its pictures may be the plan, and its lines but notes."""
_GUESS = 0.1
"""A confidence below which a room of the picture is a guess and takes no place of another."""
_GONE = "the lines of the sheet and its picture give its room two outlines"
_GUESSED = "it shows so faintly in the sheet's picture that its outline is a guess"
_SHOWN_IN_VAIN = "What was shown as walls closes no room: it was read as if nothing were shown. Show another wall."
_OTHERWISE = "What was shown as walls gives it another outline."
_SAME, _INSIDE, _BESIDE, _FILLS = 0.9, 0.5, 0.2, 0.4
"""Shares of areas: two readings of one room; a room that lies in another; a room that lies beside all others; rooms
that fill another one's place."""
_ENTERED = 0.5
"""Share of the rooms between single lines that openings lead into; the cells of a grid or a table have none (measured:
rooms 0.6, a grid with dimensions 0.35)."""
_HUNG = 0.34
"""Share of the doors drawn from which rooms that named layers close are all (measured where they are not: 0.17)."""
_LAYERED = 40_000
"""Pieces of lines up to which walls are looked for in all layers: more take longer than a sheet is to (judgement)."""
_NEAR = 0.8
"""Metres; what stands closer together is one thing. It is looked for in a picture that has eight pixels to it."""
_SMALL = 3.0
"""Metres; what is less wide or less deep is no building (common practice, no source)."""
_MARGIN = 1.5
"""Metres of paper that are kept round what is drawn."""
_FRAME = 0.85
"""Share of the sheet's side from which an unbroken line is that of a frame."""
_STRIP, _EDGE = 0.22, 0.06
"""Shares of the sheet's side: a title block lies in a strip as wide as the first, within the second of the edge."""
_INK, _PICTURE_INK = 235, 190
"""Levels of 0 to 255 below which there is ink: on drawings, and on pictures, whose paper may be shaded and whose thin
lines come out pale (measured on three mosaic pages)."""


class Draw(Protocol):
    """Draws a sheet, or what counts of it: `takeoff.sheet.render.render_array` and its like."""

    def __call__(self, data: bytes, sheet: Sheet, *, dpi: float, clip_pt: Box | None = None) -> NDArray[np.uint8]:
        """Draw a box of a sheet at so many dots per inch."""


def read_vector_plan(
    data: bytes,
    linework: Linework,
    lines: Sequence[TextLine],
    sheet: Sheet,
    calibration: Calibration,
    style: DraftingStyle | None = None,
    *,
    is_all: bool = True,
) -> TracedPlan:
    """Read the rooms of a vector sheet from its lines, and from its picture too where the lines leave most in doubt.

    Where pictures cover half of the page and its lines give no sure room, the pictures are read alone: the plan may be
    tiles of pictures under notes that are lines. Raises `SheetError` when a picture cannot be drawn.

    ``data`` is the file, ``linework`` and ``lines`` are what is drawn and written on the sheet. ``style`` is how walls,
    doors and windows are drawn, where a person has shown it: then the picture is not asked. ``is_all`` says whether the
    linework is all of the sheet; where it is but what is shown, nothing is read without the style. The rooms are as
    `takeoff.trace.lines.plan_rooms.read_plan` gives them; those that were read from the picture are never sure unless
    the plan is pictures alone.
    """
    sizes = _sizes(linework, lines, calibration)
    own = {id(tag.line) for tag in sizes}
    rest = [line for line in lines if id(line) not in own]
    plan = _read(data, linework, rest, sheet, calibration, style, is_all=is_all)
    m_per_pt = math.sqrt(calibration.mx * calibration.my)
    fields = lost_fields(plan.shapes, shapely.union(plan.walls, plan.gates), plan.lost, m_per_pt)
    shown = (*style.walls, *style.doors, *style.windows, *style.others) if style is not None else ()
    lost = with_walls_to_show(plan.lost, linework, lines, {*plan.looks, *shown}, m_per_pt)
    return replace(plan, sizes=sizes, lost=(*lost, *fields))


def _sizes(linework: Linework, lines: Sequence[TextLine], calibration: Calibration) -> tuple[SizeTag, ...]:
    """Return the sizes of openings that are written on a sheet, as the door swings beside them tell."""
    m_per_pt = math.sqrt(calibration.mx * calibration.my)
    swings = find_swings(linework, m_per_pt) if len(linework.arcs) else ()

    def is_drawn(tag: SizeTag) -> bool:
        text = shapely.box(*tag.line.box_pt).buffer(REACH / m_per_pt)
        return any(
            min(abs(tag.width - leaves * s.radius_pt * m_per_pt) for leaves in (1, 2)) <= AGREES
            and text.intersects(Polygon([s.hinge_pt, s.open_pt, s.shut_pt]))
            for s in swings
        )

    return () if has_bare_millimetres(lines) else size_tags(lines, names_of(lines), is_drawn)


def _read(
    data: bytes,
    linework: Linework,
    lines: Sequence[TextLine],
    sheet: Sheet,
    calibration: Calibration,
    style: DraftingStyle | None,
    *,
    is_all: bool = True,
) -> TracedPlan:
    def with_single_lines(plan: TracedPlan) -> TracedPlan:
        if _closes(plan) or len(linework.pieces.path) > _LAYERED:
            return plan
        single = read_plan(linework, lines, sheet, calibration, style, walls_by=find_lines)
        entered = sum(bool(room.openings) for room in single.rooms)
        cells = len(single.rooms) + sum(not one.name for one in single.lost)  # without name or opening
        return max(plan, single, key=_worth) if entered > _ENTERED * cells else plan

    plan = read_plan(linework, lines, sheet, calibration, style)
    is_named = style is None and bool((roles_of(linework) == "wall").any())
    if is_named and _leaves_doors(plan, linework, calibration) and len(linework.pieces.path) <= _LAYERED:
        # layers named for walls that close no room, or few with doors, hold a part of them: as if nothing were named
        bare = replace(linework, layers=("",), layer=np.zeros_like(linework.layer))
        plan = max(plan, read_plan(bare, lines, sheet, calibration), key=_worth)
    if style is not None and not _closes(plan):
        plan = with_single_lines(plan)
        if not _closes(plan):
            plan = _read(data, linework, lines, sheet, calibration, None)
            told = tuple(replace(room, reasons=(*room.reasons, _SHOWN_IN_VAIN)) for room in plan.rooms)
            return replace(plan, rooms=told)
    if style is not None and is_all and (plan.lost or not all(room.sure for room in plan.rooms)):
        plan = with_own(plan, _read(data, linework, lines, sheet, calibration, None))
    is_said = style is not None or (is_named and _closes(plan))
    if not any(room.sure for room in plan.rooms) and cover_of_pictures(data, sheet) >= MOSAIC:
        seen = _look(data, lines, sheet, calibration, draw=render_pictures, largest=_LARGEST_MOSAIC)
        seen = _without_guesses(seen, names_of(lines))
        if not plan.rooms or (seen.rooms and (not is_said or _worth(seen) > _worth(plan))):
            return seen
    if is_said:
        return plan  # a person or the names of layers have said what the walls are
    look = partial(_look, data, lines, sheet, calibration, draw=render_array, largest=_LARGEST)
    return with_single_lines(with_second_look(plan, look, names_of(lines)))


def with_own(shown: TracedPlan, own: TracedPlan) -> TracedPlan:
    """Return a plan read as shown, and sure or further rooms read without that; where both differ none is sure."""
    first = list(zip(shown.rooms, shown.shapes, strict=True))
    kept: list[tuple[TracedRoom, Polygon]] = []
    both = [*first, *zip(own.rooms, own.shapes, strict=True)]  # a bed may close as well as the room that it stands in
    for room, shape in sorted(both, key=lambda r: (not r[0].sure and r not in first, -r[0].confidence)):
        if all(_is_beside(shape, s) for _, s in kept):
            if not all(room is r or _is_beside(shape, s) or shared(shape, s) > _SAME for r, s in first):
                room = replace(room, sure=False, outline_sure=False, reasons=(*room.reasons, _OTHERWISE))
            kept.append((room, shape))
    lost = tuple(one for one in shown.lost if not any(s.contains(Place(one.at_pt)) for _, s in kept))
    return replace(shown, rooms=tuple(r for r, _ in kept), shapes=tuple(s for _, s in kept), lost=lost)


def _is_beside(one: Polygon, other: Polygon) -> bool:
    return bool(one.intersection(other).area < _BESIDE * min(one.area, other.area))


def _closes(plan: TracedPlan) -> bool:
    """Tell whether the walls of a plan close a room."""
    return not all(room.leaks_pt for room in plan.rooms)


def _leaves_doors(plan: TracedPlan, linework: Linework, calibration: Calibration) -> bool:
    """Tell whether the walls of a plan close no room, or some with doors, but most doors drawn lead into none."""
    swings = [s for s in find_swings(linework, math.sqrt(calibration.mx * calibration.my)) if s.has_leaf]
    hung = sum(opening.form in ("swing", "double") for room in plan.rooms for opening in room.openings)
    return not _closes(plan) or 0 < hung < _HUNG * len(swings)


def _worth(plan: TracedPlan) -> float:
    """Return how much is known of a sheet's rooms: how many are right, as far as they are trusted."""
    return sum(room.confidence for room in plan.rooms if not room.leaks_pt)


def _without_guesses(plan: TracedPlan, names: Sequence[TextLine]) -> TracedPlan:
    """Leave out the rooms of a picture that are but guessed; their names are lost."""
    kept = [i for i, room in enumerate(plan.rooms) if room.confidence >= _GUESS]
    shapes = tuple(plan.shapes[i] for i in kept)
    lost = (*plan.lost, *_names_gone(names, plan.shapes, shapes, _GUESSED))
    return replace(plan, rooms=tuple(plan.rooms[i] for i in kept), shapes=shapes, lost=lost)


def _names_gone(
    names: Sequence[TextLine], before: Sequence[Polygon], after: Sequence[Polygon], reason: str
) -> list[LostRoom]:
    """Return the names that stood in a room and stand in none now."""
    gone = [LostRoom(name=n.text.strip(), at_pt=n.middle_pt, reason=reason) for n in names]
    return [
        one
        for one in gone
        if any(s.contains(Place(one.at_pt)) for s in before) and not any(s.contains(Place(one.at_pt)) for s in after)
    ]


def _look(
    data: bytes, lines: Sequence[TextLine], sheet: Sheet, calibration: Calibration, *, draw: Draw, largest: float
) -> TracedPlan:
    """Read the rooms from a picture of the part that is drawn on; none where that is too large."""
    m_per_pt = math.sqrt(calibration.mx * calibration.my)
    dpi = min(300.0, max(72.0, 72.0 * 2.0 * m_per_pt / M_PER_PX))
    box = drawn_part(data, sheet, m_per_pt, draw=draw, is_picture=draw is render_pictures)
    left, top, right, bottom = pixel_box(sheet, dpi, box)
    across, down = (size / pixels for size, pixels in zip(displayed_size(sheet), full_pixels(sheet, dpi), strict=True))
    ends = [displayed_to_sheet(sheet, x * across, y * down) for x, y in ((left, top), (right, bottom))]
    (x0, x1), (y0, y1) = (sorted(values) for values in zip(*ends, strict=True))
    if (x1 - x0) * (y1 - y0) * (m_per_pt / M_PER_PX) ** 2 > largest:
        return TracedPlan(rooms=(), shapes=())
    part = replace(sheet, width_pt=x1 - x0, height_pt=y1 - y0)
    inset = 1e-3  # the box is one of whole pixels: without this it might grow by one at each side
    clip = (x0 + inset, y0 + inset, x1 - inset, y1 - inset)
    own = [_moved_line(line, -x0, -y0) for line in lines]
    # the picture has no name here, so that it is let go of once it was looked at
    seen = read_raster_plan(
        grey(draw(data, sheet, dpi=dpi, clip_pt=clip)), part, calibration, own, follow=draw is render_pictures
    )
    return TracedPlan(
        rooms=tuple(_moved_room(room, x0, y0) for room in seen.rooms),
        shapes=tuple(translate(shape, x0, y0) for shape in seen.shapes),
        lost=tuple(lost.moved(x0, y0) for lost in seen.lost),
        walls=translate(seen.walls, x0, y0),
    )


def _moved_line(line: TextLine, x: float, y: float) -> TextLine:
    def moved(box: Box) -> Box:
        return (box[0] + x, box[1] + y, box[2] + x, box[3] + y)

    words = tuple(replace(word, box_pt=moved(word.box_pt)) for word in line.words)
    return replace(line, words=words, box_pt=moved(line.box_pt))


def _moved_room(room: TracedRoom, x: float, y: float) -> TracedRoom:
    columns = tuple(replace(run, points_pt=_moved_points(run, x, y)) for run in room.columns)
    leaks = tuple(((a[0] + x, a[1] + y), (b[0] + x, b[1] + y)) for a, b in room.leaks_pt)
    told: dict[str, Any] = {
        of: tuple(moved_words(text, x, y) for text in getattr(room, of)) for of in ("reasons", "taken", "unread")
    }
    return replace(room, points_pt=_moved_points(room, x, y), columns=columns, leaks_pt=leaks, **told)


def _moved_points(run: TracedRoom | TracedRun, x: float, y: float) -> tuple[Point, ...]:
    return tuple((a + x, b + y) for a, b in run.points_pt)


def with_second_look(plan: TracedPlan, look: Callable[[], TracedPlan], names: Sequence[TextLine] = ()) -> TracedPlan:
    """Return a plan with what a second reading found where the first was in doubt.

    A room whose outline is sure stays as it is. A doubtful one gives way to those that the second reading has in its
    place, unless both have it alike. Rooms that only the second reading has are added, but none that it all but
    guesses. Of the sheet's ``names`` those are lost too that stood in a room which gave way.
    """
    if plan.rooms and sum(r.outline_sure for r in plan.rooms) >= _CLEAR * len(plan.rooms):
        return plan
    seen = _without_guesses(look(), ())
    found = list(zip(seen.rooms, seen.shapes, strict=True))
    kept: list[tuple[TracedRoom, Polygon]] = []
    for room, shape in zip(plan.rooms, plan.shapes, strict=True):
        inside = [s for _, s in found if s.intersection(shape).area > _INSIDE * s.area]
        is_filled = shapely.union_all(inside).intersection(shape).area > _FILLS * shape.area
        if room.outline_sure or not is_filled or any(shared(s, shape) > _SAME for s in inside):
            kept.append((room, shape))
    first = [shape for _, shape in kept]
    for room, shape in found:
        if all(_is_beside(shape, f) for f in first):
            reasons = ("The lines of the sheet were not clear.", *room.reasons)
            kept.append((replace(room, sure=False, outline_sure=False, reasons=reasons), shape))
    shapes = tuple(shape for _, shape in kept)
    lost = [one for one in plan.lost if not any(s.contains(Place(one.at_pt)) for s in shapes)]
    lost += _names_gone(names, plan.shapes, shapes, _GONE)
    return replace(plan, rooms=tuple(room for room, _ in kept), shapes=shapes, lost=tuple(lost))


def drawn_part(
    data: bytes, sheet: Sheet, m_per_pt: float, *, draw: Draw = render_array, is_picture: bool = False
) -> Box:
    """Return the box in sheet points that holds all that may be a building; the whole sheet where nothing may.

    ``draw`` draws what is looked at, ``is_picture`` tells whether that is pictures and no drawing. Raises `SheetError`
    when it cannot be drawn.
    """
    pixels = draw(data, sheet, dpi=max(72.0 * m_per_pt * 8 / _NEAR, 4.0))
    ink = (darkest(pixels) < (_PICTURE_INK if is_picture else _INK)).astype(np.uint8)
    height, width = ink.shape
    across, down = displayed_size(sheet)
    per_m = width / (across * m_per_pt)
    wide, high = (max(2, round(_FRAME * side)) for side in (width, height))
    kernels = (np.ones(shape, np.uint8) for shape in ((1, wide), (high, 1)))
    lines = np.maximum(*(cv2.morphologyEx(ink, cv2.MORPH_OPEN, kernel) for kernel in kernels))
    ink = ink & ~cv2.dilate(lines, np.ones((3, 3), np.uint8))
    near = 2 * round(_NEAR * per_m / 2) + 1
    _, _, stats, _ = cv2.connectedComponentsWithStats(cv2.dilate(ink, np.ones((near, near), np.uint8)))
    low, sides = stats[1:, :2], stats[1:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]]
    size = np.array([width, height])
    at_edge = (low < _EDGE * size) | (low + sides > (1 - _EDGE) * size)
    is_strip = at_edge & ((low > (1 - _STRIP) * size) | (low + sides < _STRIP * size))
    boxes = stats[1:][(sides.min(1) - near > _SMALL * per_m) & ~is_strip.any(1)]
    if not len(boxes):
        return (0.0, 0.0, sheet.width_pt, sheet.height_pt)
    more = math.ceil((_MARGIN - _NEAR / 2) * per_m)
    first = np.maximum(boxes[:, :2].min(0) - more, 0) * (across, down) / size
    last = np.minimum((boxes[:, :2] + boxes[:, 2:4]).max(0) + more, size) * (across, down) / size
    corners = np.array([displayed_to_sheet(sheet, *first.tolist()), displayed_to_sheet(sheet, *last.tolist())])
    return (*map(float, corners.min(0)), *map(float, corners.max(0)))  # type: ignore[return-value]
