"""A dimension that fitted on the old revision and is drawn otherwise than written now is told at its walls."""

from __future__ import annotations

import pytest

from takeoff.model.plan import Calibration
from takeoff.model.walls import Run
from takeoff.revise.carry import CarriedRun
from takeoff.revise.linework_along import in_metres
from takeoff.revise.registration import Registration
from takeoff.revise.text_changes import contradictions
from takeoff.trace.scales.lengths import DrawnLength

OLD, NEW = Calibration(sheet=1, mx=0.01, my=0.01), Calibration(sheet=2, mx=0.02, my=0.02)
HALF = Registration(
    matrix=(0.5, 0, 0, 0, 0.5, 0), kind="similarity", method="linework", pairs=900, share=1, rms_pt=0, u=1e-4
)  # fmt: skip
"""The new sheet is plotted at half the size: a point of it is two of the old one."""


def written(text: str, from_x: float, to_x: float, y: float = 10.0) -> DrawnLength:
    """A dimension in millimetres along a level line."""
    return DrawnLength(
        text=text, length=int(text) / 1000, start_pt=(from_x, y), end_pt=(to_x, y), box_pt=(0, 0, 9, 9), step=0.001,
        is_bare=True,
    )  # fmt: skip


def room(name: str, left: float, right: float) -> CarriedRun:
    """A room in metres, on the new sheet."""
    x0, x1 = left / NEW.mx, right / NEW.mx
    run = Run(id=name, sheet=2, points_pt=((x0, 50), (x1, 50), (x1, 200), (x0, 200)), closed=True, face="right")
    return CarriedRun(before=run, after=run, verdict="unchanged", sure=True, lengths=(1, 1), moved=0)


ROOMS = [room("west", 0.0, 4.94), room("east", 5.06, 9.15), room("hall", 0.0, 14.0)]


@pytest.mark.parametrize(
    ("now", "told"),
    [
        (written("9000", 0, 450), []),  # as before, at the other scale
        (written("9300", 0, 465), []),  # moved, and written so
        (written("9000", 0, 465), ["east"]),  # the wall moved, and the dimension did not
        (written("9300", 0, 450), ["west", "east"]),  # only the text: either end may be wrong
        (written("9000", 0, 450.5), []),  # 10 mm are drawn no nearer
        (written("9000", 0, 465, y=80), []),  # another line, of which the old sheet says nothing
    ],
)
def test_only_a_dimension_that_fitted_before_and_does_not_now_is_told_at_the_walls_it_ends_on(
    now: DrawnLength, told: list[str]
) -> None:
    found = list(contradictions([written("9000", 0, 900, y=20)], [now], HALF, OLD, NEW))
    at = [one.before.id for one in ROOMS for dimension in found if dimension.stands_at(one, NEW)]
    assert at == told
    for dimension in found:
        assert dimension.words(in_metres).startswith(f'the dimension "{now.text}" is drawn 9.')


def test_what_did_not_fit_before_either_is_no_news() -> None:
    wrong = written("9000", 0, 930, y=20)
    assert not list(contradictions([wrong], [written("9000", 0, 465)], HALF, OLD, NEW))
