"""Drafting styles are kept, replaced and removed like anything else in a job."""

from __future__ import annotations

from dataclasses import replace

import pytest

from takeoff.errors import EditError
from takeoff.job.changes import apply_change
from takeoff.job.edits import PutStyle, Remove
from takeoff.job.job import Job, JobSettings
from takeoff.model.drafting import DraftingStyle, Look

STYLE = DraftingStyle(name="office", walls=(Look(pen_pt=0.57, ink=(0, 0, 0)),))


def test_a_style_is_kept_replaced_and_removed_and_each_can_be_taken_back():
    empty = Job(settings=JobSettings(name="x"))
    put = PutStyle(style=STYLE).apply(empty)
    kept = apply_change(empty, put)
    assert kept.styles == {"office": STYLE}
    wider = replace(STYLE, doors=(Look(pen_pt=0.24, ink=(0, 0, 0)),))
    assert apply_change(kept, PutStyle(style=wider).apply(kept)).styles == {"office": wider}
    gone = apply_change(kept, Remove(kind="style", id="office").apply(kept))
    assert gone.styles == {}
    assert apply_change(kept, put.reversed()) == empty


def test_a_style_without_a_wall_or_a_name_is_refused():
    job = Job(settings=JobSettings(name="x"))
    with pytest.raises(EditError, match="no wall"):
        PutStyle(style=replace(STYLE, walls=())).apply(job)
    with pytest.raises(EditError, match="no name"):
        PutStyle(style=replace(STYLE, name=" ")).apply(job)
    with pytest.raises(EditError, match="office"):
        Remove(kind="style", id="office").apply(job)
