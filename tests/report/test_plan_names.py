"""Names of runs on a marked plan: where they stand."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

from takeoff.report.content import Box, Mark, ReportContent, SheetPicture
from takeoff.report.plan_names import SIZE, PlacedName, place_names, place_rooms, rooms_by_system, unit_of


def box_of(name: PlacedName, picture: SheetPicture) -> Box:
    """The box of a name, half an em to a letter."""
    high = SIZE * unit_of(picture)
    half = 0.25 * high * len(name.text)
    return (name.x - half, name.y - 0.7 * high, name.x + half, name.y)


def runs(picture: SheetPicture) -> list[tuple[Mark, str]]:
    return [(mark, mark.label.rpartition(":")[0]) for mark in picture.marks]


def meet(a: Box, b: Box) -> bool:
    return min(a[2], b[2]) > max(a[0], b[0]) and min(a[3], b[3]) > max(a[1], b[1])


def wall(label: str, *points: tuple[float, float]) -> Mark:
    hand = tuple((0.0, 1.0) for _ in points[1:])
    return Mark(label=f"{label}:left", system="s", line_pt=points, hand=hand, openings_pt=(), corners=())


def picture_of(content: ReportContent, *marks: Mark, texts: tuple[Box, ...] = ()) -> SheetPicture:
    return replace(content.pictures[0], marks=marks, texts_pt=texts)


def test_names_on_the_sample_plan_cover_no_writing_and_no_other_name(content):
    for picture in content.pictures:
        names = place_names(picture, runs(picture))
        assert len(picture.texts_pt) > 50
        assert {n.run for n in names} == {m.label.rpartition(":")[0] for m in picture.marks}
        boxes = [box_of(n, picture) for n in names]
        assert not [(a, b) for a, b in combinations(boxes, 2) if meet(a, b)]
        assert not [(a, b) for a in boxes for b in picture.texts_pt if meet(a, b)]


def test_a_name_gives_way_to_what_is_written_where_it_would_stand(content):
    mark = wall("a", (400.0, 400.0), (900.0, 400.0))
    (free,) = place_names(picture_of(content, mark), [(mark, "a")])
    tag = (free.x - 30.0, free.y - 10.0, free.x + 30.0, free.y + 10.0)
    picture = picture_of(content, mark, texts=(tag,))
    (moved,) = place_names(picture, runs(picture))
    assert not meet(box_of(moved, picture), tag)
    assert 400.0 < moved.x < 900.0


def test_names_of_walls_on_one_another_stand_apart(content):
    marks = [wall(name, (400.0, 400.0), (900.0, 400.0)) for name in ("a-wall", "b-wall", "c-wall")]
    picture = picture_of(content, *marks)
    boxes = [box_of(n, picture) for n in place_names(picture, runs(picture))]
    assert len(boxes) == 3
    assert not [pair for pair in combinations(boxes, 2) if meet(*pair)]


def test_a_name_at_the_edge_of_the_sheet_stays_on_it(content):
    mark = replace(wall("a-long-name-at-the-edge", (2.0, 2.0), (2.0, 300.0)), hand=((-1.0, 0.0),))
    picture = picture_of(content, mark)
    (name,) = place_names(picture, runs(picture))
    assert box_of(name, picture)[0] >= 0.0


def test_every_room_says_name_system_height_and_net_area_within_its_walls(content):
    (picture,) = content.pictures
    placed = {room.lines[0]: room for room in place_rooms(picture, rooms_by_system(content), content.display)}
    assert placed.keys() == {item.label for item in content.by_room.items}
    wash = " ".join(placed["103 Wash"].lines)
    assert "Reinforced wall, epoxy glaze and urethane" in wash
    assert "10'-0\" high; 6'-0\" high, not to the ceiling" in wash
    assert "776.3 sf net" in wash
    walls = {m.label: m for m in picture.marks}
    xs, ys = zip(*walls["103-walls:right"].line_pt, strict=True)
    x0, y0, x1, y1 = placed["103 Wash"].box
    assert min(xs) <= x0 < x1 <= max(xs)
    assert min(ys) <= y0 < y1 <= max(ys)
    boxes = [room.box for room in placed.values()]
    assert not [pair for pair in combinations(boxes, 2) if meet(*pair)]


def test_a_room_too_small_for_its_words_keeps_its_name_and_leaves_the_rest_for_below(content):
    (work,) = [w for w in rooms_by_system(content) if w.label == "102 Gowning"]
    closet = Mark(
        label="c:left", system=work.system, room=work.room, hand=((0.0, 1.0),) * 4, openings_pt=(), corners=(),
        line_pt=((100.0, 100.0), (112.0, 100.0), (112.0, 112.0), (100.0, 112.0), (100.0, 100.0)),
    )  # fmt: skip
    hall = replace(wall("b", (100.0, 100.0), (2000.0, 100.0), (2000.0, 1400.0), (100.0, 1400.0)), room="other")
    (room,) = place_rooms(picture_of(content, closet, hall), (work,), content.display)
    assert room.lines == ("102 Gowning",)
    assert room.left == ("102 Gowning", "Thin-film epoxy wall", "9'-0\" high, 573.0 sf net")
