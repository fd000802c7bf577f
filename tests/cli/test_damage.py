"""A job that is damaged: what every command says of it, and how it is saved."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest


@pytest.fixture
def total(traced, done):
    """Figures of the job before it is damaged."""
    return done("measure", traced, "--json").json["total"]


@pytest.fixture
def damaged(traced, total):
    with closing(sqlite3.connect(traced)) as db:
        db.execute("UPDATE item SET body = replace(body, '3.6576', '8.6576') WHERE kind = 'room' AND id = 'R104'")
        db.commit()
    return traced


def test_every_figure_of_a_damaged_job_is_told_with_the_damage(damaged, takeoff):
    for words in (("measure",), ("estimate", "--json"), ("sheets",)):
        outcome = takeoff(words[0], damaged, *words[1:])
        assert outcome.code == 1
        assert "damaged: room R104 is damaged: it is as the journal says" in outcome.err


def test_a_damaged_job_takes_no_edit(damaged, refused, edits_file, takeoff):
    outcome = takeoff("apply", damaged, edits_file())
    assert outcome.code == 2
    assert "takeoff rescue JOB NEW" in outcome.err


def test_a_rescued_job_has_the_figures_of_before_and_lists_what_was_repaired(damaged, total, done, takeoff, tmp_path):
    outcome = takeoff("rescue", damaged, tmp_path / "saved.takeoff")
    assert (outcome.code, outcome.out) == (1, "room R104 is damaged: it is as the journal says\n")
    assert done("measure", tmp_path / "saved.takeoff", "--json").json["total"] == total


def test_a_copy_is_the_job(traced, done, refused, tmp_path):
    done("copy", traced, tmp_path / "copy.takeoff")
    assert done("history", tmp_path / "copy.takeoff").out == done("history", traced).out
    assert "exists already" in refused("copy", traced, tmp_path / "copy.takeoff")
