"""What is doubtful about a run and its openings once it is developed, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from takeoff.measure.placing import shown
from takeoff.measure.settings import ROUNDING
from takeoff.model.figures import PlacedOpening
from takeoff.model.walls import Cove, HeightProfile, Run

TALL = 20.0
"""Metres from which a height is doubted (judgement, no source)."""


LOW_BASE = 0.3048
"""Metres up to which a wall that starts above the floor may well have its room's cove below it (judgement)."""


def run_doubts(
    run: Run, height: HeightProfile, length: float, *, cove: Cove | None, top: float, tolerance: float
) -> Iterator[str]:
    """Say what is doubtful about a run, whichever of its faces is looked at.

    Parameters
    ----------
    run, height
        The run and the height profile that it has from itself or its room.
    length, top
        Its traced length and its highest point above the floor, in m.
    cove
        The cove that it has from itself or its room.
    tolerance
        Metres that picks can tell apart.
    """
    if not height.is_constant and height.points[-1][0] > length + tolerance:
        yield f"run {run.id}: the height profile goes on beyond the run's end"
    if run.thickness:
        for i, opening in enumerate(run.openings):
            if opening.coated and opening.reveal > run.thickness + tolerance:
                yield f"run {run.id}, opening {i + 1}: its reveal is deeper than the wall is thick: check both"
    if cove is not None and ROUNDING < run.base <= LOW_BASE:
        yield (
            f"run {run.id}: it starts {shown(run.base)} above the floor, so its cove is left out: start it at the "
            "floor if the cove is made"
        )
    if length < tolerance:
        yield f"run {run.id}: it is {length * 1000:.3g} mm long, less than picks can tell: remove it"
    if top > TALL:
        yield f"run {run.id}: its top is {shown(top)} above the floor: check the height and its unit"


def corner_doubts(run: Run, side: str) -> Iterator[str]:
    """Say that a face does not meet those of the walls beside it."""
    yield f"run {run.id}: it is too short for its {side} face to meet those of the walls beside it"


def opening_doubts(run: Run, openings: Sequence[PlacedOpening], *, top: float, off_side: str) -> Iterator[str]:
    """Say what is doubtful about the openings of one face.

    Parameters
    ----------
    run, openings
        The run, and where its openings lie on the face.
    top
        Highest point of the face above the floor in m.
    off_side
        Side of a face that lies off the traced line; empty for the traced line itself.
    """
    if off_side:
        for i in sorted(set(range(len(run.openings))) - {o.index for o in openings}):
            where = f"run {run.id}, opening {i + 1}"
            yield f"{where}: it lies within a corner of the wall and is not on its {off_side} face"
    for o in openings:
        if o.z0 >= top:
            yield (
                f"run {run.id}, opening {o.index + 1}: it lies wholly above the coating and deducts nothing: check "
                "its sill, and the height of the room or run"
            )
        elif o.z1 <= run.base:
            yield (
                f"run {run.id}, opening {o.index + 1}: it lies wholly below the coating and deducts nothing: check "
                "its sill, and the base of the run"
            )
