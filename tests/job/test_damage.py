"""Job files from anybody, and job files gone bad: what is refused, what is noticed, what is saved."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest

from takeoff.errors import StoreError
from takeoff.job.edits import PutRoom
from takeoff.job.rescue import rescue
from takeoff.job.schema import reseal
from takeoff.job.store import JobStore
from takeoff.model.walls import HeightProfile, Room

DONE = {"sign": lambda: ("ann", "2026-01-05T09:00:00Z")}


def change(path, *statements):
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        for statement in statements:
            db.executescript(statement)


@pytest.fixture
def edited(store, path):
    """A closed file with two edits of one room and one of another."""
    for id, height in (("R1", 2.5), ("R2", 3.0), ("R1", 3.5)):
        store.do(PutRoom(room=Room(id=id, height=HeightProfile.constant(height))))
    store.close()
    return path


# Files that another program changed


@pytest.mark.parametrize(
    ("statement", "name"),
    [
        (
            "CREATE TRIGGER gone AFTER INSERT ON journal BEGIN DELETE FROM item WHERE kind = 'run'; END",
            'trigger "gone"',
        ),
        (
            "ALTER TABLE item RENAME TO kept; CREATE VIEW item AS SELECT * FROM kept UNION ALL SELECT * FROM kept",
            "item",
        ),
        ("CREATE VIEW w AS WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i FROM n) SELECT * FROM n", 'view "w"'),
        ("CREATE INDEX fast ON item (body)", 'index "fast"'),
        ("CREATE TABLE more (x)", 'table "more"'),
        ("DROP TRIGGER journal_keeps_update", 'trigger "journal_keeps_update"'),
        ("DROP TABLE seal", 'table "seal"'),
    ],
)
def test_a_file_with_anything_but_a_job_in_it_is_refused_by_name_and_left_as_it_is(edited, statement, name):
    change(edited, statement)
    before = edited.read_bytes()
    with pytest.raises(StoreError, match=name):
        JobStore.open(edited, **DONE)
    assert edited.read_bytes() == before


def test_a_value_larger_than_any_job_has_is_refused_before_it_is_read(edited):
    change(edited, "UPDATE item SET body = hex(zeroblob(100000001)) WHERE kind = 'run'")
    with pytest.raises(StoreError, match=r"the largest of 200\.0 MB"):
        JobStore.open(edited, **DONE)


# Values gone bad


def test_one_digit_changed_in_any_value_or_checksum_is_noticed(edited):
    whole = edited.read_bytes()
    with closing(sqlite3.connect(edited)) as db:
        texts = [
            (table, column, row, text)
            for table, column in (("item", "body"), ("seal", "sum"))
            for row, text in db.execute(f"SELECT rowid, {column} FROM {table}")
        ]
    tried = 0
    for table, column, row, text in texts:
        digit = next((at for at, letter in enumerate(text) if letter in "12345678"), None)
        if digit is None:
            continue
        other = text[:digit] + str(int(text[digit]) + 1) + text[digit + 1 :]
        edited.write_bytes(whole)
        with closing(sqlite3.connect(edited)) as db:
            db.execute(f"UPDATE {table} SET {column} = ? WHERE rowid = ?", (other, row))
            db.commit()
        with JobStore.open(edited, **DONE) as opened:
            assert opened.faults, (table, text)
            assert opened.job.rooms["R1"].height == HeightProfile.constant(3.5)
        tried += 1
    assert tried >= 10


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE item SET body = replace(body, '3.5', '8.5') WHERE id = 'R1' AND kind = 'room'",
        "UPDATE item SET body = '{\"id\":' WHERE id = 'R1' AND kind = 'room'",
        "UPDATE item SET kind = 'ghost' WHERE id = 'R1' AND kind = 'room'",
        "DELETE FROM item WHERE id = 'R1' AND kind = 'room'",
        "UPDATE seal SET sum = '00' WHERE id = 'R1' AND kind = 'room'",
    ],
)
def test_a_value_gone_bad_is_told_and_is_as_the_journal_says(edited, statement):
    change(edited, statement)
    with JobStore.open(edited, **DONE) as opened:
        assert any("room R1" in fault for fault in opened.faults)
        assert opened.job.rooms["R1"].height == HeightProfile.constant(3.5)
        assert set(opened.job.runs) == {"a"}
        with pytest.raises(StoreError, match="takeoff rescue"):
            opened.do(PutRoom(room=Room(id="R9")))


def test_an_older_value_put_back_with_its_checksum_is_noticed(edited):
    with closing(sqlite3.connect(edited)) as db:
        key = "kind = 'room' AND id = 'R1'"
        new = [db.execute(f"SELECT * FROM {table} WHERE {key}").fetchone() for table in ("item", "seal")]
    with JobStore.open(edited, **DONE) as opened:
        opened.do(PutRoom(room=Room(id="R1", height=HeightProfile.constant(4.0))))
    change(edited, f"UPDATE item SET body = '{new[0][2]}' WHERE {key}; UPDATE seal SET sum = '{new[1][2]}' WHERE {key}")
    with JobStore.open(edited, **DONE) as opened:
        assert opened.faults == ("room R1 is not what was written last: it is as the journal says",)
        assert opened.job.rooms["R1"].height == HeightProfile.constant(4.0)


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE journal SET changes = replace(changes, '2.5', '2.6') WHERE seq = 2",
        "DELETE FROM journal WHERE seq = 3",
        "UPDATE journal SET who = 'bob' WHERE seq = 2",
        "INSERT INTO journal VALUES (9, 't', 'bob', 'do', 'x', '[]')",
    ],
)
def test_a_journal_gone_bad_is_told_and_the_items_stand(edited, statement):
    with closing(sqlite3.connect(edited)) as db:
        triggers = [sql for (sql,) in db.execute("SELECT sql FROM sqlite_schema WHERE type = 'trigger'")]
    change(
        edited, "DROP TRIGGER journal_keeps_update; DROP TRIGGER journal_keeps_delete", statement, ";".join(triggers)
    )
    with JobStore.open(edited, **DONE) as opened:
        assert opened.faults
        assert {id: room.height.points[0][1] for id, room in opened.job.rooms.items()} == {"R1": 3.5, "R2": 3.0}


def test_a_file_that_is_whole_has_no_faults_whatever_is_done_to_it(edited):
    with JobStore.open(edited, **DONE) as opened:
        assert opened.faults == ()
        opened.undo()
        opened.undo()
        opened.redo()
    with JobStore.open(edited, **DONE) as opened:
        assert (opened.faults, opened.is_read_only) == ((), False)


def test_seals_kept_along_the_way_are_those_made_at_once(edited):
    with closing(sqlite3.connect(edited, isolation_level=None)) as db:

        def seals():
            return dict(db.execute("SELECT kind || ' ' || id, sum FROM seal WHERE kind != 'journal'").fetchall())

        kept, last = seals(), "SELECT sum FROM seal WHERE kind = 'journal' AND id = '4'"
        state = db.execute(last).fetchone()[0].partition(":")[2]
        reseal(db)
        assert seals() == kept
        assert db.execute(last).fetchone()[0].partition(":")[2] == state


# Edits beside the file


@pytest.fixture
def with_log(store, path, tmp_path):
    """A copy of an open file with its log, in which the last two edits are."""
    store.do(PutRoom(room=Room(id="R1", name="first")))
    store.do(PutRoom(room=Room(id="R2", name="last")))
    copy = tmp_path / "copy.takeoff"
    copy.write_bytes(path.read_bytes())
    log = copy.with_name(copy.name + "-wal")
    log.write_bytes(path.with_name(path.name + "-wal").read_bytes())
    return copy, log


def test_a_log_that_is_whole_is_taken_in(with_log):
    with JobStore.open(with_log[0], **DONE) as opened:
        assert opened.faults == ()
        assert opened.job.rooms["R2"].name == "last"


@pytest.mark.parametrize("share", [0.0, 0.3, 0.6, 0.99])
def test_a_damaged_log_is_told_and_not_dropped_in_silence(with_log, share):
    path, log = with_log
    data = bytearray(log.read_bytes())
    data[int(share * (len(data) - 1))] ^= 0x10
    log.write_bytes(data)
    with JobStore.open(path, **DONE) as opened:
        assert any("edits in it are lost" in fault for fault in opened.faults)
        assert opened.is_read_only


def test_a_frame_cut_short_is_no_damage(with_log):
    path, log = with_log
    log.write_bytes(log.read_bytes()[:-100])
    with JobStore.open(path, **DONE) as opened:
        assert opened.faults == ()


def test_a_job_that_is_closed_lies_in_its_file_alone(store, path, tmp_path):
    store.do(PutRoom(room=Room(id="R2", name="last")))
    store.close()
    assert [p.name for p in path.parent.glob(f"{path.name}*")] == [path.name]
    (tmp_path / "mailed").write_bytes(path.read_bytes())
    with JobStore.open(tmp_path / "mailed", **DONE) as opened:
        assert opened.job.rooms["R2"].name == "last"


def test_a_copy_of_an_open_job_has_its_last_edit(store, path, tmp_path):
    store.do(PutRoom(room=Room(id="R2", name="last")))
    with JobStore.open(path, **DONE) as other:
        other.copy_to(tmp_path / "copy.takeoff")
    assert not list(tmp_path.glob("copy.takeoff?*"))
    with JobStore.open(tmp_path / "copy.takeoff", **DONE) as copy:
        assert copy.job == store.job
        assert copy.history() == store.history()


# Rescue


def test_a_rescue_of_a_whole_file_is_the_job_with_its_plans_and_journal(edited, plans):
    found = rescue(edited)
    with JobStore.open(edited, **DONE) as opened:
        assert (found.job, found.sources, found.faults) == (opened.job, plans, ())
        assert [line for line, _ in found.history] == opened.history()


def test_a_rescue_runs_nothing_of_the_file_and_goes_on_without_checksums(edited):
    whole = rescue(edited)
    change(edited, "DROP TABLE seal; CREATE VIEW seal AS WITH RECURSIVE n(kind, id, sum) AS "
           "(SELECT 'a', 1, '' UNION ALL SELECT kind, id + 1, sum FROM n) SELECT * FROM n")  # fmt: skip
    found = rescue(edited)
    assert (found.job, found.history) == (whole.job, whole.history)
    assert found.faults == ("its checksums are gone: nothing tells whether a value is the one that was written",)
    change(edited, "ALTER TABLE item RENAME TO kept; CREATE VIEW item AS SELECT * FROM kept")
    with pytest.raises(StoreError, match="no table item of a job file"):
        rescue(edited)


def test_a_rescue_lists_what_is_lost_and_takes_the_rest(edited):
    change(edited, "UPDATE item SET body = '{}' WHERE kind = 'run'", "UPDATE source SET bytes = x'00'")
    found = rescue(edited)
    assert any(fault.startswith("run a is damaged") for fault in found.faults)
    assert any("plan file plan.pdf is damaged" in fault for fault in found.faults)
    assert set(found.job.runs) == {"a"}, "the journal has it"
    assert found.sources == {}


def test_a_file_with_a_page_overwritten_is_saved_as_far_as_its_rows_can_be_read(store, path):
    for number in range(300):
        store.do(PutRoom(room=Room(id=f"room-{number}", name="long name " * 20)))
    whole = store.job
    store.close()
    data = bytearray(path.read_bytes())
    size = int.from_bytes(data[16:18], "big")
    saved = 0
    for page in range(8, len(data) // size, 12):
        spoilt = data[:]
        spoilt[page * size : page * size + 64] = b"\xa5" * 64
        path.write_bytes(spoilt)
        try:
            found = rescue(path)
        except StoreError:
            continue
        saved += 1
        assert found.faults or found.job == whole, "a page of an index alone may be spoilt"
    assert saved >= 3


@pytest.mark.parametrize("ends_an_edit", [False, True])
def test_what_a_killed_program_left_of_an_edit_in_the_log_is_no_damage(with_log, ends_an_edit):
    """sqlite.org/walformat.html: a frame that ends an edit has the file's pages in its second word, others have 0.

    Such frames have the salts of now and sums that go on from others; one that ends an edit would be an edit lost.
    """
    path, log = with_log
    data = log.read_bytes()
    size = 24 + int.from_bytes(data[8:12], "big")
    left = bytearray(data[-size:])
    left[4:8] = (9 if ends_an_edit else 0).to_bytes(4, "big")
    log.write_bytes(data + left)
    with JobStore.open(path, **DONE) as opened:
        assert opened.job.rooms["R2"].name == "last"
        assert bool(opened.faults) == ends_an_edit
