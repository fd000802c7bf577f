"""Names of runs on a marked plan: where they stand."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

from takeoff.report.content import Box, Mark, ReportContent, SheetPicture
from takeoff.report.plan_names import SIZE, PlacedName, place_names


def box_of(name: PlacedName, picture: SheetPicture) -> Box:
    """The box of a name, half an em to a letter: a little less than it takes in any fixed-pitch face."""
    high = SIZE * max(picture.size_pt) / 1000.0
    half = 0.25 * high * len(name.text)
    return (name.x - half, name.y - 0.7 * high, name.x + half, name.y)


def meet(a: Box, b: Box) -> bool:
    return min(a[2], b[2]) > max(a[0], b[0]) and min(a[3], b[3]) > max(a[1], b[1])


def wall(label: str, *points: tuple[float, float]) -> Mark:
    hand = tuple((0.0, 1.0) for _ in points[1:])
    return Mark(label=f"{label}:left", system="s", line_pt=points, hand=hand, openings_pt=(), corners=())


def picture_of(content: ReportContent, *marks: Mark, texts: tuple[Box, ...] = ()) -> SheetPicture:
    return replace(content.pictures[0], marks=marks, texts_pt=texts)


def test_names_on_the_sample_plan_cover_no_writing_and_no_other_name(content: ReportContent) -> None:
    for picture in content.pictures:
        names = place_names(picture)
        assert len(picture.texts_pt) > 50
        assert {n.run for n in names} == {m.label.rpartition(":")[0] for m in picture.marks}
        boxes = [box_of(n, picture) for n in names]
        assert not [(a, b) for a, b in combinations(boxes, 2) if meet(a, b)]
        assert not [(a, b) for a in boxes for b in picture.texts_pt if meet(a, b)]


def test_a_name_gives_way_to_what_is_written_where_it_would_stand(content: ReportContent) -> None:
    mark = wall("a", (400.0, 400.0), (900.0, 400.0))
    (free,) = place_names(picture_of(content, mark))
    tag = (free.x - 30.0, free.y - 10.0, free.x + 30.0, free.y + 10.0)
    picture = picture_of(content, mark, texts=(tag,))
    (moved,) = place_names(picture)
    assert not meet(box_of(moved, picture), tag)
    assert 400.0 < moved.x < 900.0


def test_names_of_walls_on_one_another_stand_apart(content: ReportContent) -> None:
    marks = [wall(name, (400.0, 400.0), (900.0, 400.0)) for name in ("a-wall", "b-wall", "c-wall")]
    picture = picture_of(content, *marks)
    boxes = [box_of(n, picture) for n in place_names(picture)]
    assert len(boxes) == 3
    assert not [pair for pair in combinations(boxes, 2) if meet(*pair)]


def test_a_name_at_the_edge_of_the_sheet_stays_on_it(content: ReportContent) -> None:
    mark = replace(wall("a-long-name-at-the-edge", (2.0, 2.0), (2.0, 300.0)), hand=((-1.0, 0.0),))
    picture = picture_of(content, mark)
    (name,) = place_names(picture)
    assert box_of(name, picture)[0] >= 0.0
