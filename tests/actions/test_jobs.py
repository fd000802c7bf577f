"""Edits files that come to a job that another has open and writes to as well."""

from __future__ import annotations

import json
import shutil

from takeoff import actions

DONE = {"who": "test", "at": "2026-03-02T10:00:00+00:00"}


def room(id: str) -> bytes:
    return json.dumps({"schema": "takeoff.edits/1", "rooms": [{"id": id, "name": id}]}).encode()


def test_an_edits_file_is_applied_to_what_another_has_written_since_the_job_was_opened(sample, tmp_path):
    path = shutil.copy(sample[0], tmp_path / "job.takeoff")
    with actions.open_job(path) as first, actions.open_job(path) as second:
        actions.apply_edits(first, room("x"), **DONE)
        actions.apply_edits(second, room("y"), **DONE)
        assert {"x", "y"} <= set(second.job.rooms)
    with actions.open_job(path) as store:
        assert {"x", "y"} <= set(store.job.rooms)
