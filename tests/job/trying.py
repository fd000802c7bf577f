"""Doing an edit, or having it refused, as the tests of edits do."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from takeoff.errors import EditError
from takeoff.job.changes import apply_change


def after(job, edit):
    """The job after an edit, once it is sure that the edit can be taken back and left the old value alone."""
    before = replace(job)
    change = edit.apply(job)
    changed = apply_change(job, change)
    assert job == before
    assert apply_change(changed, change.reversed()) == job
    assert apply_change(apply_change(changed, change.reversed()), change) == changed
    assert change.label.startswith(edit.label.split(" ")[0])
    return changed


def refusal(job, edit):
    with pytest.raises(EditError) as caught:
        edit.apply(job)
    assert caught.value.remedy
    return caught.value


def length_pt(run):
    return sum(math.dist(a, b) for a, b, _ in run.path_pt.segments())
