from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from takeoff.revise.changes import Differences, SheetChange, find_changes
from takeoff.revise.linework_along import unmatched
from takeoff.revise.registration import Floats, Registration
from takeoff.revise.text_changes import is_note, text_changes
from takeoff.sheet.text import TextLine, Word
from takeoff.trace.drawing.linework import Linework
from tests.revise.conftest import Drawing

M_PER_PT = 48 * 0.0254 / 72
FOCUS = (150.0, 250.0, 1700.0, 1280.0)
SAME = Registration(
    matrix=(1, 0, 0, 0, 1, 0), kind="similarity", method="linework", pairs=900, share=1, rms_pt=0, u=1e-5
)  # fmt: skip


def with_lines(linework: Linework, lines: Floats) -> Linework:
    """Linework with lines more, drawn with the first pen."""
    return replace(
        linework,
        lines=np.concatenate([linework.lines, lines]),
        line_path=np.concatenate([linework.line_path, np.zeros(len(lines), np.int64)]),
    )


def box_of(x: float, y: float, w: float, h: float) -> Floats:
    return np.array([[x, y, x + w, y], [x + w, y, x + w, y + h], [x + w, y + h, x, y + h], [x, y + h, x, y]])


def changes(old: Linework, new: Linework, registration: Registration = SAME) -> Differences:
    return find_changes(old, new, registration, m_per_pt=M_PER_PT, focus_pt=FOCUS)


def test_a_sheet_has_not_changed_against_itself(drawings: dict[str, Drawing]) -> None:
    assert changes(drawings["A"].linework, drawings["A"].linework).changes == ()


def test_a_small_error_of_registration_is_no_change(drawings: dict[str, Drawing]) -> None:
    off = replace(SAME, matrix=(1, 0, 0.25, 0, 1, -0.25))
    assert changes(drawings["A"].linework, drawings["A"].linework, off).changes == ()


def test_lines_drawn_anew_in_other_pieces_are_no_change(drawings: dict[str, Drawing]) -> None:
    old = drawings["A"].linework
    lines = old.lines
    middle = lines[:, :2] * 0.37 + lines[:, 2:] * 0.63
    pieces = np.concatenate([np.concatenate([lines[:, 2:], middle], 1), np.concatenate([middle, lines[:, :2]], 1)])
    new = replace(old, lines=pieces, line_path=np.concatenate([old.line_path, old.line_path]))
    assert [c for c in changes(old, new).changes if c.size > 0.3] == []


@pytest.mark.parametrize("size_mm", [120, 150, 300, 1000])
def test_a_new_box_over_the_smallest_size_is_found_and_one_below_is_not(
    drawings: dict[str, Drawing], size_mm: int
) -> None:
    old = drawings["A"].linework
    side = size_mm / 1000 / M_PER_PT
    found = changes(old, with_lines(old, box_of(700.0, 870.0, side, side))).changes
    assert [c.kind for c in found] == ["added"]
    assert found[0].size == pytest.approx(size_mm / 1000, rel=1e-6)
    small = 0.09 / M_PER_PT
    assert changes(old, with_lines(old, box_of(700.0, 870.0, small, small))).changes == ()


def test_what_is_taken_away_is_found_where_it_was(drawings: dict[str, Drawing]) -> None:
    old = drawings["A"].linework
    extra = box_of(700.0, 860.0, 30.0, 15.0)
    (change,) = changes(with_lines(old, extra), old).changes
    assert change.kind == "removed"
    assert change.box_pt == pytest.approx((700.0, 860.0, 730.0, 875.0))


@pytest.mark.parametrize("move_mm", [101, 150, 250, 600])
def test_what_moved_is_told_with_its_move(drawings: dict[str, Drawing], move_mm: int) -> None:
    old = drawings["A"].linework
    by = move_mm / 1000 / M_PER_PT
    a, b = box_of(700.0, 860.0, 40.0, 6.0), box_of(700.0 + by, 860.0, 40.0, 6.0)
    found = changes(with_lines(old, a), with_lines(old, b)).changes
    assert [c.kind for c in found] == ["moved"]
    assert found[0].by == pytest.approx((move_mm / 1000, 0.0), abs=1e-3)


def test_changes_beside_the_plan_are_marked_as_such(drawings: dict[str, Drawing]) -> None:
    old = drawings["A"].linework
    (change,) = changes(old, with_lines(old, box_of(2000.0, 700.0, 50.0, 50.0))).changes
    assert not change.on_plan


def test_precision_and_recall_on_two_hundred_generated_changes(drawings: dict[str, Drawing]) -> None:
    """Boxes of 0.1 m to 2 m, added or taken away in free places of the plan, among the redrawn rest."""
    rng = np.random.default_rng(42)
    old = drawings["A"].linework
    found = wanted = right = 0
    for _ in range(20):
        before, after, truth = old, old, []
        for row in range(10):
            w, h = rng.uniform(0.11, 2.0, 2) / M_PER_PT
            x, y = 230.0 + row * 140.0, rng.uniform(795.0, 870.0)
            w, h = min(w, 110.0), min(h, 60.0)
            box = box_of(x, y, w, h)
            if rng.random() < 0.5:
                before = with_lines(before, box)
                truth.append(("removed", x, y))
            else:
                after = with_lines(after, box)
                truth.append(("added", x, y))
        # the whole of the new issue is off by up to a fifth of a point, as a plotter may be
        after = replace(after, lines=after.lines + rng.uniform(-0.2, 0.2, (1, 4))[:, [0, 1, 0, 1]])
        got = changes(before, after).changes
        hits = [
            t
            for t in truth
            if any(c.kind == t[0] and abs(c.box_pt[0] - t[1]) < 1 and abs(c.box_pt[1] - t[2]) < 1 for c in got)
        ]
        found, wanted, right = found + len(got), wanted + len(truth), right + len(hits)
    assert right / wanted >= 0.98
    assert right / found >= 0.98


def text(words: str, x: float, y: float) -> TextLine:
    box = (x, y, x + 6.0 * len(words), y + 9.0)
    return TextLine(words=(Word(text=words, box_pt=box),), box_pt=box)


def text_found(old: list[TextLine], new: list[TextLine]) -> list[str]:
    return [c.words() for c in text_changes(old, new, SAME, m_per_pt=M_PER_PT, focus_pt=FOCUS)]


def test_a_dimension_that_was_changed_is_told_with_both_texts() -> None:
    old = [text("12'-0\"", 500.0, 500.0), text("STORE", 800.0, 600.0)]
    new = [text("14'-0\"", 501.0, 500.0), text("STORE", 803.0, 601.0)]
    assert text_found(old, new) == ['text "12\'-0"" is now "14\'-0""']


def test_texts_that_came_went_and_moved_are_told() -> None:
    old = [text("A", 500.0, 500.0), text("GONE", 700.0, 700.0)]
    new = [text("A", 560.0, 500.0), text("NEW", 900.0, 900.0)]
    assert sorted(text_found(old, new)) == ['text "A" moved by 1.016 m', 'text "GONE" is gone', 'text "NEW" is new']


def test_a_title_block_that_moved_with_its_texts_says_nothing() -> None:
    old = [text("PROJECT", 2200.0, 900.0), text("SCALE", 2200.0, 950.0)]
    new = [text("PROJECT", 2900.0, 1900.0), text("SCALE", 2900.0, 1950.0)]
    assert text_found(old, new) == []


def test_revisions_b_and_c_show_exactly_what_was_changed(drawings: dict[str, Drawing]) -> None:
    def on_plan(old: str, new: str, shift: tuple[float, float]) -> list[SheetChange]:
        a, b = drawings[old], drawings[new]
        registration = replace(SAME, matrix=(1, 0, shift[0], 0, 1, shift[1]))
        focus = (shift[0] + 200.0, shift[1] + 280.0, shift[0] + 1640.0, shift[1] + 1256.0)
        if old == "B":
            focus = (404.0, 570.0, 1850.0, 1550.0)
        lines = find_changes(a.linework, b.linework, registration, m_per_pt=M_PER_PT, focus_pt=focus).changes
        texts = text_changes(a.text, b.text, registration, m_per_pt=M_PER_PT, focus_pt=focus)
        return sorted((c for c in (*lines, *texts) if c.on_plan), key=lambda c: (round(c.box_pt[1] / 20), c.box_pt[0]))

    b = on_plan("A", "B", (18.0, -10.5))
    assert 'text "STORE" is now "DRY STORE"' in [c.words() for c in b]
    # doors 104A, wall 103/106 with door 103B, window of 102; tags and texts that go with them
    kinds = [c.kind for c in b]
    assert (kinds.count("moved"), kinds.count("redrawn")) == (1, 1)
    assert next(c for c in b if c.kind == "moved").by == pytest.approx((0.6096, 0.0), abs=1e-3)
    c = on_plan("B", "C", (186.0, 303.5))
    assert [x.kind for x in c if x.kind != "text"] == ["moved", "removed", "redrawn"]
    assert c[0].by == pytest.approx((0.6096, 0.0), abs=1e-3)


def test_no_line_of_an_empty_sheet_matches() -> None:
    lines = np.array([[0.0, 0.0, 10.0, 0.0]])
    assert unmatched(lines, np.zeros((0, 4)), 0.4).tolist() == [True]
    assert unmatched(np.zeros((0, 4)), lines, 0.4).tolist() == []


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        ("", "ALL CLG HTS 10'-0\"", True), ("1. WALLS TO 9'-0\".", "1. WALLS TO 4'-0\".", True),
        ("DELTA 2: ROOM 106 W3", "", True), ("", "W2 TO CEILING", True), ("", "CORRIDOR N.I.C.", True),
        ("", "DRAWN BY: MK", False), ("DATE: 2026-03-02", "DATE: 2026-04-02", False), ("REV 1", "REV 2", False),
        ("SCALE: 1/4\" = 1'-0\"", "SCALE: 1/8\" = 1'-0\"", False), ("", "3'-0\"", False), ("", "COPYRIGHT 2026", False),
        ("", "106", False), ("", "FIRST FLOOR PLAN", False),
    ],
)  # fmt: skip
def test_short_notes_beside_the_plan_are_told_where_they_speak_of_walls(before: str, after: str, told: bool) -> None:
    change = SheetChange(kind="text", box_pt=(0, 0, 1, 1), size=1.0, before=before, after=after, on_plan=False)
    assert is_note(change, ("106", "w2")) == told
