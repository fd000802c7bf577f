"""Edits files that come to a job that another writes to as well, and plans that come to it later."""

from __future__ import annotations

import json
import shutil

import pytest

from takeoff import actions
from takeoff.errors import InputError

DONE = {"sign": lambda: ("test", "2026-03-02T10:00:00+00:00")}


def room(id: str) -> bytes:
    return json.dumps({"schema": "takeoff.edits/1", "rooms": [{"id": id, "name": id}]}).encode()


def test_an_edits_file_is_applied_to_what_another_has_written_since_the_job_was_opened(sample, tmp_path):
    path = shutil.copy(sample[0], tmp_path / "job.takeoff")
    with actions.open_job(path, **DONE) as first, actions.open_job(path, **DONE) as second:
        actions.apply_edits(first, room("x"))
        actions.apply_edits(second, room("y"))
        assert {"x", "y"} <= set(second.job.rooms)
    with actions.open_job(path, **DONE) as store:
        assert {"x", "y"} <= set(store.job.rooms)


def test_plans_that_come_later_are_added_but_for_sheets_whose_number_the_job_has(sample, tmp_path):
    """The set of nine sheets has the three numbers of the job (A-101, A-201, A-601) and others."""
    path = shutil.copy(sample[0], tmp_path / "job.takeoff")
    later = actions.read_file(actions.sample_plans() / "facility-set.pdf", "plan file")
    with actions.open_job(path, **DONE) as store:
        before = store.job
        change, told = actions.add_plans(store, [("later.pdf", later)])
        added = [sheet for id, sheet in store.job.sheets.items() if id not in before.sheets]
        assert change.label == f"Add {len(added)} sheets"
        assert not {sheet.number for sheet in added} & {sheet.number for sheet in before.sheets.values()}
        assert [sheet.id for sheet in added] == list(range(max(before.sheets) + 1, max(store.job.sheets) + 1))
        assert store.source(added[0].source) == later
        assert told[0].startswith("left out, as the job has sheets of that number: A-101, A-201, A-601;")
        with pytest.raises(InputError, match="has every sheet"):
            actions.add_plans(store, [("later.pdf", later)])
        actions.undo(store)
        assert store.job.sheets == before.sheets


def test_a_job_file_is_taken_for_no_plan_and_not_even_opened(tmp_path):
    # whoever opens the file of an open job by other ways drops its locks on closing it (sqlite.org/howtocorrupt.html)
    with pytest.raises(InputError, match="is a job file, not a plan file"):
        actions.read_file(tmp_path / "none there.takeoff", "plan file")
