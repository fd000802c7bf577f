"""Edits of one wall's line and of its openings."""

from __future__ import annotations

import math

import pytest

from takeoff.errors import EditError
from takeoff.job.edits import apply_change
from takeoff.job.wall_edits import AddPoint, BendWall, MovePoint, RemovePoint, RepeatOpening


def after(job, edit):
    change = edit.apply(job)
    changed = apply_change(job, change)
    assert apply_change(changed, change.reversed()) == job
    return changed


def refusal(job, edit):
    with pytest.raises(EditError) as caught:
        edit.apply(job)
    assert caught.value.remedy
    return caught.value


def test_a_point_is_moved(job):
    moved = after(job, MovePoint(run="a", index=2, to_pt=(300.0, 400.0)))
    assert moved.runs["a"].points_pt == ((100.0, 100.0), (300.0, 100.0), (300.0, 400.0))


@pytest.mark.parametrize("index", [3, -1])
def test_a_point_that_is_not_there_is_refused(job, index):
    assert refusal(job, MovePoint(run="a", index=index, to_pt=(0.0, 0.0))).where == "index"
    assert refusal(job, RemovePoint(run="a", index=index)).where == "index"


@pytest.mark.parametrize("to", [(300.0, 100.0), (float("nan"), 0.0), (0.0, float("inf"))])
def test_a_point_moved_onto_its_neighbour_or_to_nowhere_is_refused(job, to):
    assert refusal(job, MovePoint(run="a", index=0, to_pt=to)).where == "to_pt"


def test_a_point_off_the_sheet_is_refused(job):
    assert "off the sheet" in refusal(job, MovePoint(run="a", index=0, to_pt=(-5.0, 100.0))).message


def test_an_added_point_lies_on_the_line_and_is_removed_again(job):
    more = after(job, AddPoint(run="a", near_pt=(200.0, 108.0)))
    assert more.runs["a"].points_pt[1] == pytest.approx((200.0, 100.0))
    assert after(more, RemovePoint(run="a", index=1)).runs["a"].points_pt == job.runs["a"].points_pt


def test_a_wall_bent_through_the_top_of_its_half_circle_has_bulge_one(job):
    """Bulge 1 is a half circle: tan of a quarter of 180 degrees (the DXF convention, from memory)."""
    bent = after(job, BendWall(run="a", index=0, through_pt=(200.0, 200.0)))
    assert abs(bent.runs["a"].bulges[0]) == pytest.approx(math.tan(math.pi / 4))
    assert after(bent, BendWall(run="a", index=0, through_pt=(200.0, 100.0))).runs["a"].bulges == ()
    assert "last point" in refusal(job, BendWall(run="a", index=2, through_pt=(0.0, 0.0))).message


def test_an_opening_is_repeated_from_centre_to_centre(job):
    more = after(job, RepeatOpening(run="a", index=0, count=2, spacing=0.75))
    assert [o.at for o in more.runs["a"].openings] == pytest.approx([1.0, 1.75, 2.5])
    assert refusal(job, RepeatOpening(run="a", index=1, count=1, spacing=1.0)).where == "index"
    for count in (0, 501):
        assert refusal(job, RepeatOpening(run="a", index=0, count=count, spacing=1.0)).where == "count"
