"""Migrations: each step once, in order, whole or not at all."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing

import pytest

from takeoff.job.edits import PutUse
from takeoff.job.schema import APPLICATION_ID, MIGRATIONS, VERSION, migrate
from takeoff.job.store import JobStore
from takeoff.model.site import PackUse


@pytest.fixture
def db(tmp_path) -> Iterator[sqlite3.Connection]:
    with closing(sqlite3.connect(tmp_path / "file", isolation_level=None)) as opened:
        yield opened


def version(db: sqlite3.Connection) -> int:
    return db.execute("PRAGMA user_version").fetchone()[0]


def tables(db: sqlite3.Connection) -> set[str]:
    return {name for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}


def add_note(db: sqlite3.Connection) -> None:
    db.execute("CREATE TABLE note (text TEXT)")
    db.execute("INSERT INTO note SELECT kind || ' ' || id FROM item")


def fail_half_way(db: sqlite3.Connection) -> None:
    db.execute("DROP TABLE item")
    db.execute("INSERT INTO nowhere VALUES (1)")


def test_an_empty_file_gets_the_newest_schema_and_the_mark_of_a_job_file(db):
    migrate(db)
    assert (version(db), tables(db)) == (VERSION, {"item", "journal", "source", "seal"})
    assert db.execute("PRAGMA application_id").fetchone() == (APPLICATION_ID,)


def test_migrating_again_does_nothing(db):
    migrate(db)
    db.execute("INSERT INTO item VALUES ('room', 'x', '{}')")
    migrate(db)
    assert db.execute("SELECT id FROM item").fetchall() == [("x",)]


def test_an_older_file_takes_the_steps_it_lacks_and_keeps_what_it_holds(db):
    migrate(db)
    db.execute("INSERT INTO item VALUES ('room', 'x', '{}')")
    migrate(db, (*MIGRATIONS, add_note))
    assert version(db) == VERSION + 1
    assert db.execute("SELECT text FROM note").fetchall() == [("room x",)]


def test_a_step_that_fails_is_taken_back_whole_and_the_steps_before_it_stay(db):
    migrate(db)
    db.execute("INSERT INTO item VALUES ('room', 'x', '{}')")
    with pytest.raises(sqlite3.OperationalError, match="nowhere"):
        migrate(db, (*MIGRATIONS, add_note, fail_half_way))
    assert version(db) == VERSION + 1
    assert db.execute("SELECT id FROM item").fetchall() == [("x",)]
    assert db.execute("SELECT text FROM note").fetchall() == [("room x",)]
    assert not db.in_transaction


def test_a_first_step_that_fails_leaves_the_file_empty(db):
    with pytest.raises(sqlite3.OperationalError, match="no such table"):
        migrate(db, (fail_half_way,))
    assert (version(db), tables(db)) == (0, set())
    assert db.execute("PRAGMA application_id").fetchone() == (0,)


def test_a_file_of_the_first_schema_opens_with_systems_that_knew_less_and_takes_records(tmp_path):
    # Bodies as the first schema wrote them: neither how mat hangs nor stock lengths are in them.
    path = tmp_path / "old.takeoff"
    step = '{"id": "m", "name": "Mat", "kind": "mat", "basis": "net_area", "product": "p", "lap": 0.05}'
    items = {
        ("settings", ""): '{"name": "Old job"}',
        ("product", "p"): '{"id": "p", "name": "Mat", "unit": "m2", "packs": [], "width": 1.27}',
        ("system", "s"): f'{{"id": "s", "name": "Own", "summary": "", "steps": [{step}]}}',
    }
    with closing(sqlite3.connect(path, isolation_level=None)) as old:
        migrate(old, MIGRATIONS[:1])
        old.executemany("INSERT INTO item VALUES (?, ?, ?)", [(*key, body) for key, body in items.items()])
    use = PackUse(id="u1", system="s", step="m", pack="roll", packs=1.0, area=40.0)
    with JobStore.open(path, lambda: ("ann", "t")) as store:
        (mat,) = store.job.systems["s"].steps
        assert (mat.direction, mat.at_openings, store.job.products["p"].stock_length) == ("up", "cut_out", None)
        store.do(PutUse(use=use))
    with JobStore.open(path) as store:
        assert store.job.uses == {"u1": use}
    with closing(sqlite3.connect(path)) as new:
        assert version(new) == VERSION


def test_sizes_that_an_older_program_assumed_in_tracing_count_as_unknown_and_what_a_person_changed_as_theirs(tmp_path):
    path = tmp_path / "old.takeoff"
    traced = {"id": "a", "sheet": 1, "points_pt": [[0, 0], [10, 0]], "openings": []}
    door = {"at": 1.0, "width": 0.9, "height": 2.1336}
    traced["openings"] = [door, door | {"at": 2.0}]
    now = traced | {"openings": [door, door | {"at": 2.0, "height": 2.4}]}
    by_hand = traced | {"id": "b"}
    with closing(sqlite3.connect(path, isolation_level=None)) as old:
        migrate(old, MIGRATIONS[:3])
        for key, body in (("a", now), ("b", by_hand)):
            old.execute("INSERT INTO item VALUES ('run', ?, ?)", (key, json.dumps(body)))
        old.execute("INSERT INTO item VALUES ('settings', '', '{\"name\": \"Old job\"}')")
        rows = [("Trace 1 room on sheet 1", [["run", "a", None, traced]]), ("Set run b", [["run", "b", None, by_hand]])]
        old.executemany(
            "INSERT INTO journal VALUES (?, '2026-01-05T08:00:00Z', 'ann', 'do', ?, ?)",
            [(n, label, json.dumps(changes)) for n, (label, changes) in enumerate(rows, start=1)],
        )
    with JobStore.open(path) as store:
        assumed, changed = store.job.runs["a"].openings
        assert [(b.of, b.taken, b.how) for b in assumed.basis] == [("height", 2.1336, "unknown")]
        assert changed.basis == ()
        assert all(opening.basis == () for opening in store.job.runs["b"].openings)
