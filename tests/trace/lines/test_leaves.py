"""Doors without a swing are known by how their leaves are drawn: by common drafting practice, no published source."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import pytest
import shapely

from takeoff.model.plan import Calibration
from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import read_lines
from takeoff.trace.drawing.linework import read_linework
from takeoff.trace.lines.plan_rooms import TracedPlan, read_plan
from tests.trace.ink import Ink, Pen

M_PER_PT = 50 * 0.0254 / 72
WALL, THIN, DASHED = Pen(0.7), Pen(0.18), Pen(0.18, 0.0, "[3 2] 0")
MIDDLE = 5.3
"""Metres; the middle line of the wall between two rooms, 200 mm thick, that runs along y from 0.2 to 6.2."""
Draw = Callable[[Ink, float, float], None]
"""Draws a door into a gap of that wall, from one y to another, in metres."""


def box(ink: Ink, x0: float, y0: float, x1: float, y1: float, pen: Pen = THIN) -> None:
    ink.shape(shapely.box(x0, y0, x1, y1), "A-DOOR", stroke=pen)


def bypass_boxes(ink: Ink, a: float, b: float) -> None:
    """Two leaves of 40 mm, each a bit wider than half the gap, on two tracks."""
    half = (b - a) / 2
    box(ink, MIDDLE - 0.05, a, MIDDLE - 0.01, a + half + 0.05)
    box(ink, MIDDLE + 0.01, b - half - 0.05, MIDDLE + 0.05, b)


def bypass_lines(ink: Ink, a: float, b: float) -> None:
    half = (b - a) / 2
    ink.line((MIDDLE - 0.04, a), (MIDDLE - 0.04, a + half + 0.06), "A-DOOR", THIN)
    ink.line((MIDDLE + 0.04, b - half - 0.06), (MIDDLE + 0.04, b), "A-DOOR", THIN)


def bypass_of_three(ink: Ink, a: float, b: float) -> None:
    third = (b - a) / 3
    for i, x in enumerate((-0.05, 0.0, 0.05)):
        ink.line((MIDDLE + x, max(a, a + i * third - 0.04)), (MIDDLE + x, min(b, a + (i + 1) * third + 0.04)),
                 "A-DOOR", THIN)  # fmt: skip


def pocket_line(ink: Ink, a: float, b: float) -> None:
    """A leaf drawn half open as one line, half of it in the wall."""
    half = (b - a) / 2
    ink.line((MIDDLE, b - half), (MIDDLE, b + half), "A-DOOR", THIN)


def pocket_box_in_dashed_pocket(ink: Ink, a: float, b: float) -> None:
    half = (b - a) / 2
    box(ink, MIDDLE - 0.02, b - half, MIDDLE + 0.02, b + half)
    box(ink, MIDDLE - 0.04, b, MIDDLE + 0.04, b + 2 * half + 0.05, DASHED)


def pocket_dashed_in_the_wall(ink: Ink, a: float, b: float) -> None:
    """The part in the gap in a full line, the part in the wall dashed."""
    half = (b - a) / 2
    ink.line((MIDDLE, a + half), (MIDDLE, a), "A-DOOR", THIN)
    ink.line((MIDDLE, a), (MIDDLE, a - half), "A-DOOR", DASHED)


def pocket_open(ink: Ink, a: float, b: float) -> None:
    """A leaf drawn wholly in its pocket, dashed."""
    box(ink, MIDDLE - 0.02, b, MIDDLE + 0.02, b + (b - a), DASHED)


def folded(ink: Ink, foot: float, way: int, leaf: float, turn: float, *, thick: float = 0.0) -> None:
    """Draw a pair of leaves hung at ``foot``, drawn together by ``turn`` degrees from shut, towards smaller x."""
    out, on = leaf * math.sin(math.radians(turn)), way * leaf * math.cos(math.radians(turn))
    points = [(MIDDLE, foot), (MIDDLE - out, foot + on), (MIDDLE, foot + 2 * on)]
    for p, q in ((points[0], points[1]), (points[1], points[2])):
        if thick:
            line = shapely.LineString([p, q]).buffer(thick / 2, cap_style="flat")
            ink.shape(line, "A-DOOR", stroke=THIN)
        else:
            ink.line(p, q, "A-DOOR", THIN)


def bi_fold(ink: Ink, a: float, b: float) -> None:
    folded(ink, a, 1, (b - a) / 2, 60)


def bi_fold_on_a_track(ink: Ink, a: float, b: float) -> None:
    folded(ink, b, -1, (b - a) / 2, 70)
    ink.line((MIDDLE, a), (MIDDLE, b), "A-DOOR", DASHED)


def bi_fold_pairs(ink: Ink, a: float, b: float) -> None:
    folded(ink, a, 1, (b - a) / 4, 45)
    folded(ink, b, -1, (b - a) / 4, 45)


def bi_fold_thick_pairs(ink: Ink, a: float, b: float) -> None:
    folded(ink, a, 1, (b - a) / 4, 60, thick=0.035)
    folded(ink, b, -1, (b - a) / 4, 60, thick=0.035)


def roll_up_dashed(ink: Ink, a: float, b: float) -> None:
    ink.line((MIDDLE, a), (MIDDLE, b), "A-DOOR", DASHED)


def roll_up_hood(ink: Ink, a: float, b: float) -> None:
    box(ink, MIDDLE + 0.15, a - 0.1, MIDDLE + 0.55, b + 0.1, DASHED)


def roll_up_curtain_and_hood(ink: Ink, a: float, b: float) -> None:
    ink.line((MIDDLE + 0.08, a), (MIDDLE + 0.08, b), "A-DOOR", THIN)
    box(ink, MIDDLE + 0.1, a - 0.15, MIDDLE + 0.5, b + 0.15, DASHED)


def glass(ink: Ink, a: float, b: float) -> None:
    for x in (-0.1, 0.0, 0.1):
        ink.line((MIDDLE + x, a), (MIDDLE + x, b), "A-GLAZ", THIN)


def glass_under_a_soffit(ink: Ink, a: float, b: float) -> None:
    glass(ink, a, b)
    ink.line((MIDDLE + 0.5, a - 0.3), (MIDDLE + 0.5, b + 0.3), "A-CLNG", DASHED)


def framed(ink: Ink, x: float, a: float, b: float, layer: str) -> None:
    """A line of glass between two parts of its frame, 80 mm wide, that are drawn along the wall's faces too."""
    for low in (a, b - 0.08):
        ink.shape(shapely.box(x - 0.025, low, x + 0.025, low + 0.08), layer, stroke=THIN)
        ink.shape(shapely.box(MIDDLE - 0.1, low, MIDDLE + 0.1, low + 0.08), layer, stroke=THIN)
    ink.line((x, a + 0.08), (x, b - 0.08), layer, THIN)


def glass_in_a_frame(ink: Ink, a: float, b: float) -> None:
    framed(ink, MIDDLE, a, b, "0")
    for x in (-0.1, 0.1):
        ink.line((MIDDLE + x, a), (MIDDLE + x, b), "0", THIN)


def panes_beside_one_another(ink: Ink, a: float, b: float) -> None:
    """Two panes, a bar 40 mm wide between them, two lines each."""
    for x in (-0.02, 0.02):
        framed(ink, MIDDLE + x, a, (a + b) / 2 - 0.02, "0")
        framed(ink, MIDDLE + x, (a + b) / 2 + 0.02, b, "0")


def frame_at_one_face(ink: Ink, a: float, b: float) -> None:
    for x in (-0.1, 0.08, 0.1, 0.12):
        ink.line((MIDDLE + x, a), (MIDDLE + x, b), "0", THIN)


def bare(ink: Ink, a: float, b: float) -> None:
    """Draw nothing."""


CASES: Sequence[tuple[Draw, float, str]] = (
    (bypass_boxes, 1.8, "sliding"),
    (bypass_lines, 1.5, "sliding"),
    (bypass_of_three, 2.7, "sliding"),
    (pocket_line, 0.9, "pocket"),
    (pocket_box_in_dashed_pocket, 0.8, "pocket"),
    (pocket_dashed_in_the_wall, 0.9, "pocket"),
    (pocket_open, 0.9, "pocket"),
    (bi_fold, 0.8, "bi-fold"),
    (bi_fold_on_a_track, 0.9, "bi-fold"),
    (bi_fold_pairs, 1.6, "bi-fold"),
    (bi_fold_thick_pairs, 1.8, "bi-fold"),
    (roll_up_dashed, 2.4, "roll-up"),
    (roll_up_hood, 2.4, "roll-up"),
    (roll_up_curtain_and_hood, 3.0, "roll-up"),
    (glass, 1.8, "window"),
    (glass_under_a_soffit, 1.8, "window"),
    (glass_in_a_frame, 0.6, "window"),
    (panes_beside_one_another, 1.5, "window"),
    (frame_at_one_face, 1.2, "window"),
    (bare, 0.9, "cased"),
)


def traced(draw: Draw, width: float, *, fill: float | None, layered: bool, angle: float = 0.0) -> TracedPlan:
    """Trace two rooms of 5 × 6 m and 3.8 × 6 m with a gap from y = 2 in the wall between them."""
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    ink = Ink(
        (1000, 900),
        lambda p: ((p[0] * c - p[1] * s) / M_PER_PT + 450, (p[0] * s + p[1] * c) / M_PER_PT + 100),
        layered=layered,
    )
    rooms = shapely.union_all([shapely.box(0.2, 0.2, 5.2, 6.2), shapely.box(5.4, 0.2, 9.2, 6.2)])
    gap = shapely.box(5.19, 2.0, 5.41, 2.0 + width)
    for part in shapely.get_parts(shapely.box(0, 0, 9.4, 6.4).difference(rooms.union(gap))).tolist():
        ink.shape(part, "A-WALL", stroke=WALL, fill=fill)
    draw(ink, 2.0, 2.0 + width)
    ink.text((1.5, 5.2), "STORE", 8, "A-AREA-IDEN")
    ink.text((7.9, 5.2), "OFFICE", 8, "A-AREA-IDEN")
    data = ink.data(rotate=0)
    sheet = read_sheets(data, "plan.pdf")[0][0]
    calibration = Calibration(sheet=1, mx=M_PER_PT, my=M_PER_PT)
    return read_plan(read_linework(data, sheet), read_lines(data, sheet), sheet, calibration)


@pytest.mark.parametrize(("fill", "layered", "angle"), [(0.3, False, 0.0), (None, False, 25.0), (None, True, 90.0)])
@pytest.mark.parametrize(("draw", "width", "form"), CASES, ids=lambda case: getattr(case, "__name__", None))
def test_an_opening_is_known_by_its_leaves(
    draw: Draw, width: float, form: str, fill: float | None, layered: bool, angle: float
) -> None:
    """The gap's middle is half its width from y = 2 on either face of the wall."""
    plan = traced(draw, width, fill=fill, layered=layered, angle=angle)
    rooms = {room.name: room for room in plan.rooms}
    assert sorted(rooms) == ["OFFICE", "STORE"]
    assert rooms["STORE"].area == pytest.approx(30.0, abs=0.01)
    for room in rooms.values():
        (opening,) = room.openings
        assert (opening.form, opening.kind) == (form, "window" if form == "window" else "door")
        assert opening.width == pytest.approx(width, abs=0.005)
        is_named = layered and draw in (glass, glass_under_a_soffit)  # its layer tells glass
        is_open = form == "window" and not is_named  # between two rooms: a door that is drawn shut looks the same
        assert (opening.confidence >= 0.9) is not is_open
        ring = shapely.LineString([*room.points_pt, room.points_pt[0]])
        at = ring.interpolate(opening.at / M_PER_PT)
        x, y = 5.2 if room.name == "STORE" else 5.4, 2.0 + width / 2
        c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        assert at.distance(shapely.Point((x * c - y * s) / M_PER_PT + 450, (x * s + y * c) / M_PER_PT + 100)) < 0.3


def test_a_table_on_two_legs_beside_a_bare_gap_is_no_bi_fold_door() -> None:
    """Two slanting lines that meet, but whose lengths together are a third of the gap's width more than it."""

    def braces(ink: Ink, a: float, b: float) -> None:
        folded(ink, a, 1, 0.72 * (b - a), 80)

    plan = traced(braces, 0.9, fill=0.3, layered=False)
    assert [o.form for room in plan.rooms for o in room.openings] == ["cased", "cased"]


def test_a_line_through_the_wall_as_long_as_a_room_is_no_pocket_door() -> None:
    def axis(ink: Ink, a: float, b: float) -> None:
        ink.line((MIDDLE, a + 0.4), (MIDDLE, 6.2), "A-DOOR", THIN)

    plan = traced(axis, 0.9, fill=0.3, layered=False)
    assert [o.form for room in plan.rooms for o in room.openings] == ["cased", "cased"]


def test_an_open_leaf_in_the_pen_of_the_walls_speaks_against_no_room() -> None:
    """In a pen without a layer or a fill walls are known by lines in pairs, and a leaf is a line in no pair."""

    def swung(ink: Ink, a: float, b: float) -> None:
        ink.line((MIDDLE + 0.1, a), (MIDDLE + 0.1 + b - a, a), "A-DOOR", WALL)
        ink.arc((MIDDLE + 0.1, a), b - a, 0.0, math.pi / 2, "A-DOOR", THIN)

    rooms = traced(swung, 1.2, fill=None, layered=False).rooms
    assert {room.name for room in rooms if room.outline_sure} == {"OFFICE", "STORE"}


@pytest.mark.parametrize(("glass", "openings"), [((0.06, 0.08), 1), ((), 0)])
def test_what_glass_runs_through_between_ends_of_filled_walls_is_no_wall_though_its_layer_is_theirs(glass, openings):
    def draw(ink: Ink, a: float, b: float) -> None:
        ink.shape(shapely.box(MIDDLE - 0.1, a, MIDDLE + 0.1, b), "A-WALL", fill=1.0)
        for x in (-0.1, 0.1, *glass):
            ink.line((MIDDLE + x, a), (MIDDLE + x, b), "A-WALL", THIN)

    plan = traced(draw, 1.2, fill=0.8, layered=True)
    assert [[o.kind for o in room.openings] for room in plan.rooms] == [["window"] * openings] * 2


@pytest.mark.parametrize(("slid", "is_door"), [(0.24, True), (0.48, False)])
def test_leaves_that_slide_may_be_drawn_partly_open_and_what_stands_on_one_half_of_a_gap_is_none(slid, is_door):
    """Of two leaves, each half as wide as the gap and drawn as a box, one is slid by so much of it over the other."""

    def draw(ink: Ink, a: float, b: float) -> None:
        half = (b - a) / 2
        box(ink, MIDDLE - 0.05, a, MIDDLE - 0.01, a + half)
        box(ink, MIDDLE + 0.01, b - half - slid * (b - a), MIDDLE + 0.05, b - slid * (b - a))

    plan = traced(draw, 2.1, fill=0.3, layered=False)
    assert all((o.form == "sliding") is is_door for room in plan.rooms for o in room.openings)
    assert any(room.openings for room in plan.rooms) or not is_door
