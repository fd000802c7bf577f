"""A few of the made cases, one of each sort that is fast; ``python -m tests.revise.made_cases`` has all."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.revise.made_cases import cases, judge

GROUPS = ("opening moved", "opening removed", "wall moved", "print: ceiling", "half size", "97 %", "nothing changed",
          "turned scan", "picture, then drawing", "scan: kind of opening")  # fmt: skip
CASES = {case.label: case for group in GROUPS for case in [next(c for c in cases() if c.group == group)]}


@pytest.mark.parametrize("label", CASES)
def test_untouched_walls_are_carried_and_no_changed_one_is_taken_as_it_was(label: str, tmp_path: Path) -> None:
    result = judge(CASES[label], tmp_path)
    assert result.runs["untouched", "carried"] + result.runs["changed", "right"] > 0
    assert sum(n for (_, outcome), n in result.runs.items() if outcome == "wrong") == 0, result.remarks
    assert result.runs["untouched", "refused"] == 0, result.remarks
    assert result.false_lines == 0, result.remarks


def test_another_floor_of_the_same_building_is_refused_or_asked_about(tmp_path: Path) -> None:
    case = next(c for c in cases() if c.group == "wrong floor")
    assert judge(case, tmp_path).sheet in ("refused", "asked")
