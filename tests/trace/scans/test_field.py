"""Outlines and openings read from a field of chances are those that the field was made from."""

from __future__ import annotations

import math
from types import SimpleNamespace

import cv2
import numpy as np
import pymupdf
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.model.plan import Calibration, Sheet
from takeoff.trace.lines.traced_rooms import outline_of
from takeoff.trace.scans.field_evidence import FAINT, FieldEvidence, judge_field
from takeoff.trace.scans.field_openings import closed_field, field_openings
from takeoff.trace.scans.field_outlines import outline_rings
from takeoff.trace.scans.field_sides import Side, merged_sides, turned_into
from takeoff.trace.scans.open_edges import openings_in_gaps
from takeoff.trace.scans.raster_plan import rooms_of_field
from takeoff.trace.scans.wall_network import (
    LOW,
    M_PER_PX,
    PASSAGE,
    SWING,
    WALL,
    WINDOW,
    WallField,
    darkness_of,
    inked,
    read_walls,
    sampled,
    tile_counts,
    tiles,
    with_filling,
)
from tests.trace.ink import Ink
from tests.trace.scoring import polygon_of

SIZE = 700


def cover(shape, size=SIZE):
    """How much of each pixel a shape covers, a little blurred as a network's answer is."""
    page = Ink((size, size), lambda point: point, layered=False)
    for part in shapely.get_parts(shape).tolist():
        page.shape(part, "", fill=0.0)
    with pymupdf.open("pdf", page.data(rotate=0)) as document:
        shown = document[0].get_pixmap(colorspace=pymupdf.csGRAY, alpha=False)
        exact = 1.0 - np.frombuffer(shown.samples, np.uint8).reshape(size, size).astype(np.float32) / 255
    return cv2.GaussianBlur(exact, (0, 0), 1.2)


def field_of(wall, openings=(), darkness=None):
    """A field whose walls and openings, given as pairs of row and shape, are known."""
    chances = np.zeros((6, SIZE, SIZE), np.float32)
    chances[WALL] = cover(wall)
    for row, shape in openings:
        chances[row] += cover(shape)
    chances[0] = np.clip(1.0 - chances[1:].sum(0), 0.0, 1.0)
    dark = np.zeros((SIZE, SIZE), np.float32) if darkness is None else darkness
    return WallField(chances=chances, darkness=dark, px_per_pt=(1.0, 1.0))


def room_of(rings):
    (hole,) = [r for r in rings if r.is_hole]
    return shapely.Polygon(hole.points)


def turned(shape, degrees):
    return shapely.affinity.rotate(shape, degrees, origin=(SIZE / 2, SIZE / 2))


@settings(max_examples=30)
@given(st.floats(-45, 45), st.floats(300, 420), st.floats(180, 330), st.floats(8, 40))
def test_the_outline_of_a_room_is_within_a_quarter_of_a_pixel_at_any_angle(angle, wide, deep, thick):
    x, y = (SIZE - wide) / 2, (SIZE - deep) / 2
    room = turned(shapely.box(x, y, x + wide, y + deep), angle)
    found = room_of(outline_rings(cover(room.buffer(thick, join_style="mitre").difference(room)), 64.0))
    assert len(found.exterior.coords) == 5
    assert found.exterior.hausdorff_distance(room.exterior) < 0.25
    assert found.area == pytest.approx(room.area, rel=0.0005)


def test_a_pilaster_of_150_mm_and_a_niche_are_kept():
    depth = 0.15 / M_PER_PX
    room = shapely.box(120, 150, 560, 540)
    room = room.difference(shapely.box(300, 149, 340, 150 + depth)).union(shapely.box(200, 539, 260, 540 + depth))
    found = room_of(outline_rings(cover(room.buffer(40, join_style="mitre").difference(room)), 64.0))
    assert found.symmetric_difference(room).area < 0.001 * room.area
    assert len(found.exterior.coords) == 13


def test_a_curved_wall_comes_as_chords_of_its_circle():
    half = shapely.Point(350, 350).buffer(200, quad_segs=64).intersection(shapely.box(0, 0, 700, 350))
    room = half.union(shapely.box(150, 349.9, 550, 500))
    found = room_of(outline_rings(cover(room.buffer(24, join_style="mitre").difference(room)), 64.0))
    assert found.area == pytest.approx(room.area, rel=0.004)
    above = shapely.get_coordinates(found.exterior)
    above = above[above[:, 1] < 340]
    assert len(above) > 8
    assert np.abs(np.hypot(above[:, 0] - 350, above[:, 1] - 350) - 200).max() < 1.0


def test_a_round_column_is_a_circle():
    column = shapely.Point(350, 350).buffer(24, quad_segs=64)
    (ring,) = outline_rings(cover(column), 64.0)
    off = np.hypot(ring.points[:, 0] - 350, ring.points[:, 1] - 350) - 24
    assert np.abs(off).max() < 0.5
    points, bulges = outline_of(ring.points, 0.1, 0.3)
    assert len(points) <= 4
    assert all(bulges)


def walls_with(hole, angle=0.0):
    """Two rooms side by side, and the wall between them without what lies in a hole."""
    left, right = shapely.box(100, 200, 340, 500), shapely.box(352, 200, 600, 500)
    outer = shapely.box(80, 180, 620, 520)
    walls = outer.difference(shapely.union_all([left, right, hole]))
    return turned(walls, angle), turned(hole, angle)


@pytest.mark.parametrize("angle", [0.0, 17.0, 90.0])
@pytest.mark.parametrize("row", [SWING, PASSAGE, WINDOW, LOW])
def test_an_opening_is_as_wide_as_it_is_and_closes_the_room(row, angle):
    walls, hole = walls_with(shapely.box(340, 300, 352, 372), angle)  # 72 pixels: 0.90 m
    field = field_of(walls, [(row, hole)])
    (opening,) = field_openings(field)
    assert opening.row == row
    assert opening.width == pytest.approx(72, abs=0.5)
    sides = shapely.MultiLineString([opening.left, opening.right])
    assert sides.hausdorff_distance(hole.exterior) < 7.0
    assert shapely.Polygon([*opening.left, *opening.right[::-1]]).symmetric_difference(hole).area < 0.06 * hole.area
    rings = outline_rings(closed_field(field.chances, [opening]), 64.0)
    areas = sorted(shapely.Polygon(r.points).area for r in rings if r.is_hole)
    assert areas == pytest.approx([240 * 300, 248 * 300], rel=0.001)


def test_the_sides_of_an_opening_follow_the_wall_where_the_patch_is_ragged():
    walls, hole = walls_with(shapely.box(340, 300, 352, 372))
    ragged = hole.union(shapely.box(330, 320, 341, 350))
    field = field_of(walls, [(SWING, ragged)])
    (opening,) = field_openings(field)
    x = np.concatenate([opening.left, opening.right])[:, 0]
    assert sorted(np.round(x, 0).tolist()) == [340.0, 340.0, 352.0, 352.0]


def test_an_opening_that_is_seen_but_in_part_goes_on_to_the_wall_near_by():
    walls, _ = walls_with(shapely.box(340, 300, 352, 372))
    field = field_of(walls, [(SWING, shapely.box(340, 318, 352, 372))])
    (opening,) = field_openings(field)
    assert opening.width == pytest.approx(72, abs=1.0)


@pytest.mark.parametrize(("lines", "row"), [([340, 346, 352], WINDOW), ([340], PASSAGE), ([340, 352], PASSAGE)])
def test_a_window_shows_glass_inside_the_wall(lines, row):
    walls, hole = walls_with(shapely.box(340, 300, 352, 372))
    drawn = shapely.union_all([walls.boundary, *(shapely.LineString([(x, 300), (x, 372)]) for x in lines)])
    dark = 0.6 * cover(drawn.buffer(0.7))
    (opening,) = field_openings(field_of(walls, [(WINDOW, hole)], darkness=dark))
    assert opening.row == row
    assert (opening.chance > 0.93) == (row == WINDOW)


@pytest.mark.parametrize("glass", [187, 190])
def test_glass_that_parts_a_window_in_two_halves_is_seen_between_the_faces_of_its_wall(glass):
    walls, hole = walls_with(shapely.box(180, 180, 252, 200))
    drawn = shapely.union_all([walls.boundary, *(shapely.LineString([(180, y), (252, y)]) for y in (180, glass, 200))])
    field = field_of(walls, [(WINDOW, hole)], darkness=0.6 * cover(drawn.buffer(0.7)))
    field.chances[:, glass - 1 : glass + 1, 178:254] = np.eye(6)[0][:, None, None]
    (opening,) = field_openings(field)
    assert (opening.row, opening.chance > 0.93) == (WINDOW, True)
    assert shapely.Polygon([*opening.left, *opening.right[::-1]]).symmetric_difference(hole).area < 0.06 * hole.area


def test_an_outline_longer_than_a_picture_may_be_high_is_followed_to_its_end():
    comb = np.zeros((700, 1400), np.float32)
    comb[40:60, 20:1380] = 1.0
    for x in range(20, 1380, 24):
        comb[60:680, x : x + 12] = 1.0  # 57 teeth, 620 long: OpenCV looks up no more than 32,767 rows at a time
    (ring,) = outline_rings(comb, 64.0)
    length = np.hypot(*(np.roll(ring.points, -1, axis=0) - ring.points).T).sum()
    assert length > 57 * 2 * 610


@pytest.mark.parametrize(("wide", "is_sure"), [(0.2, False), (0.03, True)])
def test_no_room_is_sure_where_its_walls_are_less_than_four_pixels_of_the_picture(wide, is_sure):
    evidence = FieldEvidence(blur=0.0, inner=0.0, weak=1.0, hidden=0.0, area=12.0, wall_pixels=0.15 / wide)
    door = SimpleNamespace(confidence=0.99, form="swing", reason="a door swing was seen at the wall")
    assert judge_field(evidence, [door], 1)[2] is is_sure


@given(st.integers(1, 9000), st.integers(1, 9000))
def test_tiles_answer_for_each_pixel_once_and_see_beyond_what_they_answer_for(height, width):
    for length, count in zip((height, width), tile_counts(height, width), strict=True):
        cut = tiles(length, count)
        weighed = np.zeros(length)
        for tile in cut:
            weighed[tile.start : tile.stop] += tile.weights
            assert (tile.sees_to - tile.sees_from) % 32 == 0  # the network halves five times
            assert tile.sees_from <= max(tile.start - 128, -32)
            assert tile.sees_to >= min(tile.stop + 128, length + 32)
        assert weighed == pytest.approx(1.0, abs=1e-5)  # where two answer, their shares make one


@pytest.mark.parametrize(("reach", "rooms", "openings"), [(372, 1, 0), (500, 2, 2)])
def test_a_way_from_a_walls_end_into_the_middle_of_a_room_is_none(reach, rooms, openings):
    """A wall stands out into a room; beyond its end a way is seen, with no wall on the far side or with one."""
    room, stub = shapely.box(100, 200, 600, 500), shapely.box(340, 200, 352, 300)
    walls, hole = shapely.box(80, 180, 620, 520).difference(room).union(stub), shapely.box(340, 300, 352, reach)
    sheet = Sheet(id=1, source="", page=1, width_pt=SIZE, height_pt=SIZE, kind="image", dpi=72)
    found = rooms_of_field(field_of(walls, [(PASSAGE, hole)]), sheet, Calibration(sheet=1, mx=M_PER_PX, my=M_PER_PX))
    assert len(found.rooms) == rooms
    assert sum(len(r.openings) for r in found.rooms) == openings
    assert sum(r.area for r in found.rooms) == pytest.approx(
        (500 * 300 - 12 * (reach - 200 if rooms > 1 else 100)) * M_PER_PX**2, rel=0.004
    )


@pytest.mark.parametrize(("wide", "count"), [(5, 1), (12, 2)])
def test_an_opening_is_parted_by_a_pier_and_not_by_leaves_that_lie_over_one_another(wide, count):
    walls, hole = walls_with(shapely.box(340, 260, 352, 400))
    pier = shapely.box(340, 330, 352, 330 + wide)  # pixels of 12.5 mm
    open_ = hole.difference(pier).union(shapely.box(350, 260, 352, 400))
    found = field_openings(field_of(walls.union(pier.difference(open_)), [(PASSAGE, open_)]))
    assert len(found) >= 1
    assert max(o.width for o in found) == pytest.approx(140 if count == 1 else 70, abs=3.0)


def test_two_patches_in_one_wall_are_one_opening_as_thick_as_it_and_a_door_in_each_of_two_walls_is_two():
    """A leaf that is drawn shut has two faces. Between the two walls are 50 mm."""
    walls, hole = walls_with(shapely.box(340, 300, 352, 372))
    (opening,) = field_openings(field_of(walls, [(PASSAGE, hole.intersection(shapely.box(x, 0, x + 4.5, 999)))
                                                 for x in (340, 347.5)]))  # fmt: skip
    assert sorted(np.append(opening.left[:, 0], opening.right[:, 0])) == pytest.approx([340, 340, 352, 352], abs=1)
    doors = [shapely.box(x, 300, x + 12, 372) for x in (340, 356)]
    walls = shapely.union_all([walls.union(hole), shapely.box(352, 190, 368, 510)]).difference(
        shapely.union_all([*doors, shapely.box(352, 200, 356, 500)])
    )
    assert len(field_openings(field_of(walls, [(PASSAGE, door) for door in doors]))) == 2


def test_a_bare_gap_as_wide_as_a_door_is_proposed_with_little_trust():
    walls, _ = walls_with(shapely.box(340, 300, 352, 372))
    field = field_of(walls)
    rings = outline_rings(1 - field.chances[0], 64.0)
    (opening,) = openings_in_gaps(field, rings, [])
    assert opening.row == PASSAGE
    assert opening.width == pytest.approx(72, abs=6.0)
    assert opening.chance < 0.5


def test_what_is_filled_like_the_walls_is_wall():
    walls, hole = walls_with(shapely.box(340, 300, 352, 372))
    field = field_of(walls, [(WINDOW, hole)])
    dark = 0.8 * cover(walls.union(hole))
    assert field_openings(field) != []
    filled = WallField(chances=with_filling(field.chances.copy(), dark), darkness=dark, px_per_pt=(1.0, 1.0))
    assert field_openings(filled) == []


def test_a_niche_that_looks_like_a_window_is_no_opening():
    room = shapely.box(120, 150, 560, 540)
    niche = shapely.box(200, 540, 280, 552)
    walls = room.buffer(40, join_style="mitre").difference(room).difference(niche)
    assert field_openings(field_of(walls, [(WINDOW, niche)])) == []


def evidence(**changes):
    told = {"blur": 0.0, "inner": 0.0, "weak": 1.0, "hidden": 0.0, "area": 12.0}
    return FieldEvidence(**{**told, **changes})


def barred_ways(count, swing):
    """How sure ways through are that a line runs along in: so many of them in one wall, beside a door that swings."""
    walls = (
        shapely.box(80, 180, 620, 520)
        .difference(shapely.box(100, 200, 600, 350))
        .difference(shapely.box(100, 362, 600, 500))
    )
    holes = [shapely.box(110 + 70 * k, 350, 160 + 70 * k, 362) for k in range(count + swing)]
    kinds = [PASSAGE] * count + [SWING] * swing
    walls = walls.difference(shapely.union_all(holes))
    panes = [shapely.LineString([(h.bounds[0], 356), (h.bounds[2], 356)]) for h in holes[:count]]
    ink = 0.6 * cover(shapely.union_all([walls.boundary, *panes]).buffer(0.7))
    found = field_openings(field_of(walls, list(zip(kinds, holes, strict=True)), darkness=ink))
    return [o.chance for o in found if o.row == PASSAGE]


@pytest.mark.parametrize(("count", "swing", "is_clear"), [(4, 0, True), (3, 0, False), (4, 2, True), (3, 4, False)])
def test_a_way_that_a_line_runs_along_in_is_clear_only_where_the_sheet_draws_its_doors_shut(count, swing, is_clear):
    """A pane of two lines looks like a leaf that is shut."""
    chances = barred_ways(count, swing)
    assert len(chances) == count
    assert all((chance > 0.93) is is_clear for chance in chances)


class Opening:
    confidence = 0.98
    form = "swing"
    reason = "a door swing was seen at the wall"


@pytest.mark.parametrize(
    ("form", "chance", "is_sure"),
    [("swing", 0.72, True), ("double", 0.68, False), ("cased", 0.94, True), ("window", 0.92, False)],
)
def test_a_swing_is_clear_from_a_smaller_chance_on_than_a_window_or_a_way(form, chance, is_sure):
    opening = Opening()
    opening.form, opening.confidence = form, chance
    assert judge_field(evidence(), [opening, Opening()], None)[2] is is_sure


@pytest.mark.parametrize(
    "against",
    [{"weak": 0.5}, {"hidden": 0.4}, {"inner": 0.3}, {"blur": 0.4}, {"faint": 0.3}, {"rough": 0.03}],
    ids=["weak", "hidden", "inner", "blur", "faint", "rough"],
)
def test_a_room_is_sure_unless_something_speaks_against_it(against):
    assert judge_field(evidence(), [Opening()], None)[2]
    confidence, reasons, sure = judge_field(evidence(**against), [Opening()], None)
    assert not sure
    assert confidence < judge_field(evidence(), [Opening()], None)[0]
    assert len(reasons) == 2


@pytest.mark.parametrize(("deep", "is_told"), [(20, True), (6, False)])
def test_a_pier_that_is_filled_like_the_walls_and_was_not_seen_as_one_may_be_wall(deep, is_told):
    """Of 0.7 m by 250 mm; strokes of 75 mm are letters or leaves."""
    walls, hole = walls_with(shapely.box(340, 300, 352, 372))
    ink = 0.8 * cover(walls.union(shapely.box(100, 240, 156, 240 + deep)))
    field = field_of(walls, [(SWING, hole)], darkness=ink)
    openings = field_openings(field)
    rings = [r for r in outline_rings(closed_field(field.chances, openings), 64.0) if r.is_hole]
    left = min(rings, key=lambda ring: ring.points[:, 0].min())
    assert (FieldEvidence.of(left, field, openings, []).inner > 0.02) is is_told


@pytest.mark.parametrize(("drawn", "is_faint"), [(True, False), (False, True)])
def test_a_side_of_a_room_that_shows_no_line_from_end_to_end_is_faint(drawn, is_faint):
    walls, hole = walls_with(shapely.box(340, 300, 352, 372))
    ink = cover(walls.union(hole).boundary.buffer(1.5))
    ink[480:520, 95:345] *= drawn  # the lower side of the room on the left
    field = field_of(walls, [(SWING, hole)], darkness=ink)
    openings = field_openings(field)
    rings = [r for r in outline_rings(closed_field(field.chances, openings), 64.0) if r.is_hole]
    left = min(rings, key=lambda ring: ring.points[:, 0].min())
    assert (FieldEvidence.of(left, field, openings, []).faint < FAINT) is is_faint


@pytest.mark.parametrize(
    ("printed", "against", "is_sure"),
    [
        ((12.2,), {"blur": 0.3}, True),
        ((12.2,), {"faint": 0.3}, True),
        ((12.2,), {"weak": 0.6}, False),  # an opening may be closed there, of which an area tells nothing
        ((12.2,), {"hidden": 0.3}, False),
        ((12.5,), {}, False),
        ((5.0, 7.0), {}, True),
        ((5.0, 7.0), {"blur": 0.3}, False),
    ],
)
def test_an_area_printed_in_a_room_speaks_for_its_outline_or_against_it(printed, against, is_sure):
    assert judge_field(evidence(**{"area": 12.0, **against}), [Opening()], 1, printed)[2] is is_sure


def test_a_wall_is_not_weak_where_an_opening_was_read_in_it():
    """Between the face of its wall and the glass of a window there is nothing."""
    walls, hole = walls_with(shapely.box(340, 300, 352, 372))
    field = field_of(walls, [(WINDOW, hole)])
    openings = field_openings(field)
    rings = [r for r in outline_rings(closed_field(field.chances, openings), 64.0) if r.is_hole]
    left = min(rings, key=lambda ring: ring.points[:, 0].min())
    field.chances[:, 298:374, 340:347] = np.eye(6)[0][:, None, None]
    assert [FieldEvidence.of(left, field, read, []).weak > 0.85 for read in (openings, [])] == [True, False]


def test_two_names_or_none_or_no_way_in_or_little_floor_make_a_room_doubtful():
    window = Opening()
    window.form = "window"
    assert not judge_field(evidence(), [window], 1)[2]
    assert not judge_field(evidence(area=1.4), [Opening()], 1)[2]
    assert not judge_field(evidence(), [Opening()], 2)[2]
    assert not judge_field(evidence(), [Opening()], 0)[2]
    assert not judge_field(evidence(), [], 1)[2]


def test_the_evidence_of_a_clear_room_speaks_against_nothing():
    walls, hole = walls_with(shapely.box(340, 300, 352, 372))
    field = field_of(walls, [(SWING, hole)])
    openings = field_openings(field)
    rings = [r for r in outline_rings(closed_field(field.chances, openings), 64.0) if r.is_hole]
    for ring in rings:
        told = FieldEvidence.of(ring, field, openings, [])
        assert told.weak > 0.9
        assert told.hidden < 0.05
        assert told.inner == 0.0
        assert math.isclose(told.area, shapely.Polygon(ring.points).area * M_PER_PX**2)


@settings(max_examples=25)
@given(st.integers(0, 10_000))
def test_however_torn_a_field_is_no_run_crosses_itself(seed):
    walls, hole = walls_with(shapely.box(340, 300, 352, 372))
    field = field_of(walls, [(SWING, hole)])
    noise = cv2.GaussianBlur(np.random.default_rng(seed).normal(0, 1, (SIZE, SIZE)).astype(np.float32), (0, 0), 4)
    torn = field.chances.copy()
    torn[WALL] = np.clip(torn[WALL] + 0.35 * noise / noise.std(), 0, 1) * (
        cv2.dilate(torn[WALL], np.ones((9, 9))) > 0.1
    )
    torn[0] = np.clip(1 - torn[1:].sum(0), 0, 1)
    sheet = Sheet(id=1, source="", page=1, width_pt=SIZE, height_pt=SIZE, kind="image", dpi=72)
    scale = Calibration(sheet=1, mx=M_PER_PX, my=M_PER_PX)
    told = WallField(chances=torn, darkness=field.darkness, px_per_pt=(1.0, 1.0))
    for room in rooms_of_field(told, sheet, scale).rooms:
        assert polygon_of(room).is_valid
        assert room.area > 0.7


@pytest.mark.parametrize("kind", [np.float16, np.float32])
def test_a_part_of_a_field_is_looked_up_as_in_the_whole_of_it(kind):
    """The plane x / 200 + y / 400 is its own linear interpolation; beyond its edges a field goes on as it ends."""
    y, x = np.mgrid[0:60, 0:80] + 0.5
    field = (x / 200 + y / 400).astype(kind)
    at = np.array([[10.0, 12.25], [40.5, 33.75], [71.0, 50.0]])
    assert sampled(field, at) == pytest.approx(at @ (1 / 200, 1 / 400), abs=1e-3)
    beyond = np.array([[-30.0, 20.0], [300.0, 20.0], [40.0, 500.0]])
    held = np.clip(beyond, 0.5, (79.5, 59.5))
    assert sampled(field, beyond) == pytest.approx(held @ (1 / 200, 1 / 400), abs=2e-3)


def test_the_chances_of_a_sheet_are_kept_in_two_bytes_each():
    """A sheet of 17 million pixels has 100 million of them: single numbers would take 0.4 GB."""
    darkness, m_per_px = darkness_of(np.full((64, 64), 255, np.uint8), (64.0, 64.0), (M_PER_PX, M_PER_PX))
    field = read_walls(darkness, (64.0, 64.0), m_per_px)
    assert field.chances.nbytes == 2 * 6 * 64 * 64
    assert (field.chances[0] == 1.0).all()


def test_the_network_is_asked_about_the_part_that_has_ink():
    picture = np.zeros((640, 960), np.float32)
    assert inked(picture) is None  # blank paper is not asked about
    picture[100:200, 300:310] = 1.0
    part = inked(picture)
    assert picture[part].sum() == picture.sum()
    assert picture[part].size < 0.1 * picture.size
    assert (picture[part][:16] == 0.0).all()  # blank paper stands round it
    picture[0, 0] = picture[-1, -1] = 1.0
    assert picture[inked(picture)].shape == (640, 960)


def test_a_side_without_length_is_turned_and_joined_like_any_other():
    side = Side(foot=np.array([5.0, 5.0]), along=np.array([1.0, 0.0]), low=0.0, high=0.0)
    common = np.array([0.02, math.pi / 2])
    assert turned_into(side, common).length == 0.0
    (one, *_) = merged_sides([side, side, side, side])
    assert np.isfinite(one.foot).all()
    assert np.isfinite(one.along).all()
