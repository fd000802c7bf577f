"""Clouds and tags as programs plot them: bows of chords, few or so many that they are arcs; a tag with its number."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pymupdf
import pytest

from takeoff.revise.registration import Registration
from takeoff.revise.sheet_texts import RevisionMark, without_marks
from takeoff.revise.text_changes import mark_changes
from takeoff.sheet.files import read_sheets
from takeoff.sheet.text import TextLine, read_lines
from takeoff.trace.drawing.linework import Linework, read_linework

SAME = Registration(
    matrix=(1, 0, 0, 0, 1, 0), kind="similarity", method="linework", pairs=900, share=1, rms_pt=0, u=1e-5
)  # fmt: skip
CLOUD, TAG = (100.0, 100.0, 300.0, 200.0), (320.0, 90.0)


def read(pieces: int | None, *, has_tag: bool, number: str = "2") -> tuple[Linework, list[TextLine]]:
    """A room; about it a cloud of semicircles, each of so many chords; a tag beside it."""
    with pymupdf.open() as document:
        page = document.new_page(width=500, height=400)
        page.draw_rect(pymupdf.Rect(130, 120, 420, 330), width=1.0)
        if pieces is not None:
            drawn = page.new_shape()
            for a, b in bows():
                middle, radius = (a + b) / 2, float(np.hypot(*(b - a))) / 2
                start = math.atan2(*(a - middle)[::-1])
                turn = np.linspace(start, start + math.pi, pieces + 1)
                drawn.draw_polyline([tuple(middle + radius * np.array([math.cos(t), math.sin(t)])) for t in turn])
            drawn.finish(width=1.0, closePath=False)
            drawn.commit()
        if has_tag:
            x, y = TAG
            page.draw_polyline([(x - 9, y + 7), (x + 9, y + 7), (x, y - 9), (x - 9, y + 7)], width=0.6)
            page.insert_text((x - 2, y + 4), number, fontsize=7)
        data = document.tobytes()
    sheet = read_sheets(data, "marks.pdf")[0][0]
    return read_linework(data, sheet), read_lines(data, sheet)


def bows() -> list[tuple[np.ndarray, np.ndarray]]:
    left, top, right, bottom = CLOUD
    corners = [np.array(p) for p in ((left, top), (right, top), (right, bottom), (left, bottom), (left, top))]
    points = [a + (b - a) * k / 10 for a, b in pairwise(corners) for k in range(10)]
    return list(zip(points, [*points[1:], points[0]], strict=True))


@pytest.mark.parametrize("pieces", [8, 12, 24])
def test_a_ring_of_bows_is_a_cloud_and_a_triangle_about_a_number_a_tag(pieces: int) -> None:
    linework, texts, marks = without_marks(*read(pieces, has_tag=True))
    assert [(mark.kind, mark.text) for mark in marks] in ([("cloud", ""), ("tag", "2")], [("tag", "2"), ("cloud", "")])
    plain, _ = read(None, has_tag=False)
    assert len(linework.lines) == len(plain.lines)
    assert not len(linework.arcs)
    assert not texts


def test_a_room_and_a_triangle_without_a_number_are_no_marks() -> None:
    linework, texts = read(None, has_tag=True, number="")
    rest, _, marks = without_marks(linework, texts)
    assert not marks
    assert len(rest.lines) == len(linework.lines)


def test_a_mark_is_a_change_only_where_it_did_not_stand_before() -> None:
    cloud, tag = RevisionMark(kind="cloud", box_pt=CLOUD), RevisionMark(kind="tag", box_pt=(311, 81, 329, 97), text="2")

    def kinds(old: list[RevisionMark], new: list[RevisionMark]) -> list[str]:
        found = mark_changes(old, new, SAME, m_per_pt=0.01, focus_pt=(0, 0, 500, 400))
        return [change.words() for change in found]

    assert sorted(kinds([], [cloud, tag])) == ["a revision cloud", "a revision tag 2"]
    assert kinds([cloud, tag], [cloud, tag]) == []
    assert kinds([cloud, tag], []) == []
