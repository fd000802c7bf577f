"""Edits files that come to a job that another writes to as well, and plans that come to it later."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace

import pytest

from takeoff import actions
from takeoff.actions.points.finding import Words
from takeoff.errors import InputError
from takeoff.job.edits import PutFindings
from tests.jobs import DONE


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


def test_a_number_that_is_another_sheet_s_position_is_asked_for_and_so_are_two_sheets_of_one_number(sample, tmp_path):
    """Real sets begin with a cover: then sheet 1 stands at position 2."""
    path = shutil.copy(sample[0], tmp_path / "job.takeoff")
    with actions.open_job(path) as store:
        job = store.job
    one, two, three = (replace(sheet, number=number) for sheet, number in zip(job.sheets.values(), "211", strict=True))
    shifted = replace(job, sheets={1: one, 2: two, 3: replace(three, number="1")})
    with pytest.raises(InputError, match="position of one sheet and the number of another") as refused:
        actions.find_sheet(shifted, "2")
    assert f"position:1 ({job.sources[one.source].name}, page {one.page})" in refused.value.remedy
    assert [actions.find_sheet(shifted, f"position:{n}").id for n in (1, 2, 3)] == [1, 2, 3]
    assert actions.find_sheet(shifted, "3").id == 3
    alike = replace(job, sheets={1: one, 2: replace(two, number="A-1"), 3: replace(three, number="A-1")})
    with pytest.raises(InputError, match='2 sheets have the number "a-1"'):
        actions.find_sheet(alike, "a-1")
    assert [Words(alike).sheet(n) for n in (1, 2, 3)] == ["sheet 2", "sheet A-1 (position 2)", "sheet A-1 (position 3)"]


def test_the_journal_calls_sheets_by_their_numbers(sample, tmp_path):
    path = shutil.copy(sample[0], tmp_path / "job.takeoff")
    with actions.open_job(path, **DONE) as store:
        sheet = store.job.sheets[1]
        actions.set_scale_ratio(store, sheet, "1:50")
        store.do(PutFindings(sheet=1, about=("mark",), findings=()))
        labels = [line.label for line in store.history()[-2:]]
    assert labels == [f"Set the scale of sheet {sheet.number}", f"Keep what was found on sheet {sheet.number}"]
