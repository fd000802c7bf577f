"""What plans and ceiling plans say otherwise than the finish schedule is an open point with both texts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from sample_plans.ink import Ink
from sample_plans.scenario import ft
from takeoff.actions.draft.making import make_draft
from takeoff.actions.points.deriving import open_points
from takeoff.job.store import JobStore
from tests.actions.drawn_sets import FRAME, drawn_files, finishes, plan, read_once, rooms

CODES = (("W1", "mat-hygienic"), ("W2", "thin-film"))
SHEET = ("A-101", "FLOOR PLAN", "A")


def row(height: str) -> tuple[str, ...]:
    return ("101", "WASH", "", "", "W1", "W1", "W1", "W1", height, "")


@pytest.fixture
def drafted(begin) -> Callable[..., JobStore]:
    """Give what drafts a job of drawn sheets in which two codes are named."""

    def start(*sheets) -> JobStore:
        store = begin(*drawn_files(*sheets), finish_codes=CODES)
        make_draft(store, readers=read_once)
        return store

    return start


def written(text: str) -> Callable[[Ink], None]:
    """Write a text in the first room, clear of its name."""
    return lambda ink: ink.text("A-ANNO-TEXT", FRAME.pt((2.4, 3.2)), text, 9, align="centre")


def whys(store: JobStore, kind: str) -> list[str]:
    return [p.why for p in open_points(store.job).open if p.key == f"{kind}:R101"]


@pytest.mark.parametrize(
    ("height", "is_open"),
    [("VARIES", True), ("SEE NOTE 3", True), ("8'-0\" - 9'-0\"", True), ("CEILING", False), ("-", False)],
)
def test_a_height_that_is_no_length_leaves_that_of_the_ceiling_open(drafted, height, is_open):
    store = drafted((*SHEET, plan(rooms())), ("A-601", "FINISHES", "A", finishes(row(height))))
    assert [f"the finish schedule says “{height}”" in why for why in whys(store, "height")] == [True] * is_open
    before = store.job
    make_draft(store, readers=read_once)
    assert store.job == before


@pytest.mark.parametrize(
    ("ceiling", "height", "is_open"), [(8, "9'-0\"", True), (10, "9'-0\"", False), (10, "", True), (9, "9'-0\"", False)]
)
def test_a_ceiling_plan_that_is_lower_or_prints_another_ceiling_leaves_the_height_open(
    drafted, ceiling, height, is_open
):
    low = [replace(room, ceiling=ft(ceiling)) for room in rooms()]
    ceilings = ("A-121", "REFLECTED CEILING PLAN", "A", plan(low))
    store = drafted((*SHEET, plan(rooms())), ceilings, ("A-601", "FINISHES", "A", finishes(row(height))))
    said = whys(store, "height")
    assert [f"sheet A-121 prints “CLG {ceiling}'-0\"”" in why for why in said] == [True] * is_open


@pytest.mark.parametrize(
    ("text", "is_open"),
    [("W2", True), ("W1/W2", True), ("W2 NORTH WALL", True), ("W1 TO 4'-0\"", True), ("W1", False), ("C3", False)],
)
def test_a_finish_code_in_a_room_that_is_of_another_finish_is_open_with_its_words(drafted, text, is_open):
    schedule = finishes(row("9'-0\""))
    store = drafted((*SHEET, plan(rooms(), written(text))), ("A-601", "FINISHES", "A", schedule))
    assert [f"“{text}”" in why for why in whys(store, "codes")] == [True] * is_open
