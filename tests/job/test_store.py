"""The job file: what is written is read back, nothing acknowledged is lost, and what cannot be done changes nothing."""

from __future__ import annotations

import os
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from pathlib import Path

import pytest

from takeoff.errors import EditError, StoreError
from takeoff.job.database import store_errors
from takeoff.job.edits import AddSheets, PutOpening, PutRoom, PutRun, Remove, SetSettings
from takeoff.job.schema import APPLICATION_ID, VERSION
from takeoff.job.store import JobStore
from takeoff.model.plan import Sheet, Source
from takeoff.model.walls import HeightProfile, Opening, Room, Run

DONE = {"sign": lambda: ("ben", "2026-01-05T09:00:00Z")}
DOOR = Opening(at=2.0, width=1.2, height=2.4)
NAN, INFINITE = float("nan"), float("inf")


def rooms(*ids):
    return [PutRoom(room=Room(id=id, name=f"Room {id}")) for id in ids]


def raw(path):
    return closing(sqlite3.connect(path, isolation_level=None))


def refusal(call, kind=StoreError):
    with pytest.raises(kind) as caught:
        call()
    assert "\n" not in str(caught.value)
    return caught.value


# Written and read back


def test_a_new_job_reads_back_as_it_was_given_in_the_same_order(store, job, plans, reopened):
    again = reopened()
    assert store.job == again.job == job
    for name in ("sheets", "rooms", "runs", "calibrations", "regions"):
        assert list(getattr(again.job, name)) == list(getattr(job, name))
    [(sha, content)] = plans.items()
    assert again.source(sha) == content


def test_an_edit_is_in_the_file_before_the_store_is_closed(store, reopened):
    store.do(PutOpening(run="a", opening=DOOR))
    assert reopened().job == store.job
    assert store.job.runs["a"].openings[-1] == DOOR


def test_every_field_of_a_run_survives_the_file(store, reopened):
    run = Run(
        id='it\'s "run" ü ' + "\u2032",
        sheet=2,
        room="R1",
        points_pt=((0.1, 1e-12), (1.0 / 3.0, 2.0), (5e5, 7.0)),
        bulges=(0.1, -1.0, 0.0),
        closed=True,
        face="both",
        line="centre",
        thickness=0.1 + 0.2,
        height=HeightProfile(points=((0.0, 3.0), (1.0, 3.0), (1.0, 2.5))),
        base=0.1,
        no_cove=True,
        top="exposed",
        ends=("return", "abut"),
        openings=(replace(DOOR, outline=((0.0, 0.0), (0.5, 0.0), (0.0, 2.0)), coated=("jamb", "head"), spacing=3.0),),
    )
    store.do(PutRun(run=run))
    assert reopened().job.runs[run.id] == run


def test_sheets_are_added_with_the_bytes_of_their_plan(store, reopened):
    import hashlib

    content = b"another plan"
    source = Source(sha256=hashlib.sha256(content).hexdigest(), name="b.pdf", size=len(content))
    edit = AddSheets(sources=(source,), sheets=(Sheet(id=3, source=source.sha256, page=1, width_pt=9, height_pt=9),))
    assert "the bytes of b.pdf are missing" in refusal(lambda: store.do(edit)).message
    assert "does not match its SHA-256" in refusal(lambda: store.do(edit, sources={source.sha256: b"x"})).message
    assert list(store.job.sheets) == [1, 2]
    store.do(edit, sources={source.sha256: content})
    assert reopened().source(source.sha256) == content
    store.undo()
    store.redo()
    assert store.source(source.sha256) == content


# Undo and redo


def test_undo_and_redo_go_on_where_they_were_after_the_file_is_opened_again(store, path, job):
    states = [store.job]
    for edit in rooms("x", "y", "z"):
        store.do(edit)
        states.append(store.job)
    store.undo()
    store.close()
    with JobStore.open(path, **DONE) as second:
        assert second.job == states[2]
        assert second.can_redo
        second.undo()
        assert second.job == states[1]
    with JobStore.open(path, **DONE) as third:
        third.redo()
        third.redo()
        assert third.job == states[3]
        assert not third.can_redo
        for _ in range(3):
            third.undo()
        assert third.job == job
        assert not third.can_undo


def test_the_making_of_the_job_is_not_undone(store, job):
    assert store.undo() is None
    assert store.redo() is None
    assert store.job == job
    assert len(store.history()) == 1


def test_an_edit_after_undo_leaves_nothing_to_redo(store, path):
    first, second = rooms("x", "y")
    store.do(first)
    store.undo()
    store.do(second)
    assert not store.can_redo
    store.close()
    with JobStore.open(path, **DONE) as again:
        assert not again.can_redo
        assert list(again.job.rooms) == ["R1", "y"]


def test_undo_puts_a_removed_run_back_with_its_openings(store, job, reopened):
    store.do(Remove(kind="run", id="a"))
    assert reopened().job.runs == {}
    store.undo()
    assert reopened().job.runs == job.runs


# The journal


def test_the_history_says_who_did_what_when(store):
    [edit] = rooms("x")
    store.sign = lambda: ("ben", "2026-01-05T09:00:00Z")
    store.do(edit)
    store.sign = lambda: ("eva", "2026-01-05T10:00:00Z")
    store.undo()
    store.redo()
    assert [(h.seq, h.at[11:16], h.who, h.verb, h.label) for h in store.history()] == [
        (1, "08:00", "ann", "do", "New job"),
        (2, "09:00", "ben", "do", "Set room x"),
        (3, "10:00", "eva", "undo", "Set room x"),
        (4, "10:00", "eva", "redo", "Set room x"),
    ]


@pytest.mark.parametrize("statement", ["DELETE FROM journal", "UPDATE journal SET who = 'someone else'"])
def test_the_journal_takes_no_change_to_its_lines(store, path, statement):
    with raw(path) as db, pytest.raises(sqlite3.IntegrityError, match="append-only"):
        db.execute(statement)
    assert [h.who for h in store.history()] == ["ann"]


# Values that cannot be kept


@pytest.mark.parametrize("value", [NAN, INFINITE, -INFINITE])
def test_a_number_that_is_not_finite_is_refused_as_an_edit_and_not_stored_as_nothing(store, job, reopened, value):
    edits = [
        SetSettings(settings=replace(job.settings, height_u=value)),
        PutRun(run=replace(job.runs["a"], openings=(replace(DOOR, width=2.0, outline=((0, 0), (1, 0), (0, 1))),))),
    ]
    sheet = replace(job.sheets[1], id=3, dpi=value)
    assert "cannot be stored" in refusal(lambda: store.do(edits[0]), EditError).message
    added = AddSheets(sources=(), sheets=(sheet,))
    assert "cannot be stored" in refusal(lambda: store.do(added), EditError).message
    assert store.job == reopened().job == job
    assert len(store.history()) == 1
    store.do(edits[1])
    assert store.job == reopened().job


@pytest.mark.parametrize("id", ["\ud800", "room \udfff 2"])
def test_a_text_with_half_a_character_is_refused_and_nothing_is_changed(store, job, reopened, id):
    assert "cannot be stored" in refusal(lambda: store.do(*rooms(id)), EditError).message
    at_work, store.sign = store.sign, lambda: (id, "")
    assert "cannot be stored" in refusal(lambda: store.do(*rooms("x"))).message
    store.sign = at_work
    assert store.job == reopened().job == job
    store.do(*rooms("x"))
    assert reopened().job == store.job


def test_a_new_job_with_such_a_value_leaves_no_file(path, job, plans):
    bad = replace(job, settings=replace(job.settings, height_u=NAN))
    refusal(lambda: JobStore.create(path, bad, plans, **DONE), EditError)
    assert list(path.parent.iterdir()) == []


def test_an_edit_that_does_not_fit_leaves_the_file_as_it_is(store, path, job):
    before = len(store.history())
    refusal(lambda: store.do(Remove(kind="run", id="b")), EditError)
    assert store.job == job
    assert len(store.history()) == before


# Files that are not what they should be


def test_a_job_file_that_is_there_is_not_written_over(store, path, job, plans):
    content = path.read_bytes()
    assert "exists already" in refusal(lambda: JobStore.create(path, job, plans, **DONE)).message
    assert path.read_bytes() == content


def test_a_half_made_file_left_behind_by_a_killed_process_is_not_in_the_way(path, job, plans):
    path.with_name(path.name + ".part").write_bytes(b"SQLite format 3\x00 and then nothing")
    with JobStore.create(path, job, plans, **DONE) as store:
        assert store.job == job
    assert list(path.parent.iterdir()) == [path]


def test_a_job_whose_plan_is_not_given_is_not_made(path, job):
    assert "the bytes of plan.pdf are missing" in refusal(lambda: JobStore.create(path, job, {}, **DONE)).message
    assert list(path.parent.iterdir()) == []


def test_a_file_of_a_newer_schema_is_refused_and_left_as_it_is(store, path):
    store.close()
    with raw(path) as db:
        db.execute(f"PRAGMA user_version = {VERSION + 1}")
    content = path.read_bytes()
    error = refusal(lambda: JobStore.open(path, **DONE))
    assert f"schema version {VERSION + 1}, this program knows up to {VERSION}" in error.message
    assert "newer version of the program" in error.remedy
    assert path.read_bytes() == content


@pytest.mark.parametrize("content", [b"", b"%PDF-1.7", b"SQLite format 3\x00", b"SQLite format 3\x00" + b"\xa5" * 5000])
def test_a_file_that_is_no_job_file_is_refused_and_left_as_it_is(path, content):
    path.write_bytes(content)
    assert refusal(lambda: JobStore.open(path, **DONE)).remedy
    assert path.read_bytes() == content


OTHER = """
import sys
from pathlib import Path
from takeoff.job.edits import PutRoom
from takeoff.job.store import JobStore
from takeoff.model.walls import Room
with JobStore.open(Path(sys.argv[1]), lambda: ("ann", "2026-01-05T09:01:00Z")) as store:
    store.do(PutRoom(room=Room(id=sys.argv[2])))
"""


def test_a_job_that_one_program_has_open_twice_is_still_known_as_open_to_others(store, path):
    # the log beside the file goes when the last program that has it open closes it (sqlite.org/wal.html); a program
    # that reads the file by itself drops its own locks on closing it (sqlite.org/howtocorrupt.html, 2.2)
    for number in range(3):
        JobStore.open(path).close()
        subprocess.run([sys.executable, "-c", OTHER, str(path), f"other{number}"], check=True)
        assert path.with_name(f"{path.name}-wal").exists()
        store.catch_up()
        store.do(PutRoom(room=Room(id=f"own{number}")))
    store.close()
    with raw(path) as db:
        assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    with JobStore.open(path) as again:
        assert {f"{who}{number}" for who in ("own", "other") for number in range(3)} <= set(again.job.rooms)


def test_a_database_of_another_program_is_refused_and_left_as_it_is(path):
    with raw(path) as db:
        db.execute("CREATE TABLE item (kind TEXT, id TEXT, body TEXT)")
    content = path.read_bytes()
    assert "is not a job file" in refusal(lambda: JobStore.open(path, **DONE)).message
    assert path.read_bytes() == content


def test_a_file_that_is_not_there_or_is_a_folder_is_refused(path):
    assert "there is no file" in refusal(lambda: JobStore.open(path, **DONE)).message
    path.mkdir()
    assert "is a folder" in refusal(lambda: JobStore.open(path, **DONE)).message


def test_a_file_cut_short_is_refused(store, path):
    store.close()
    content = path.read_bytes()
    for part in (0.1, 0.5, 0.9):
        path.write_bytes(content[: int(len(content) * part)])
        assert re.search(
            "Restore the file from a copy|takeoff rescue", refusal(lambda: JobStore.open(path, **DONE)).remedy
        )


def test_a_page_of_the_file_overwritten_is_refused(store, path):
    for edit in rooms(*(f"room-{i}" for i in range(200))):
        store.do(edit)
    store.close()
    content = bytearray(path.read_bytes())
    size = int.from_bytes(content[16:18], "big")
    for page in range(1, len(content) // size):
        spoilt = content[:]
        spoilt[page * size : page * size + 64] = b"\xa5" * 64
        path.write_bytes(spoilt)
        refusal(lambda: JobStore.open(path, **DONE))


def test_a_plan_damaged_in_the_file_is_not_given_out(store, path, plans):
    [sha] = plans
    with raw(path) as db:
        db.execute("UPDATE source SET bytes = x'00'")
        assert "damaged" in refusal(lambda: store.source(sha)).message
        db.execute("DELETE FROM source")
        assert "missing" in refusal(lambda: store.source(sha)).message


# Places that cannot be written, and other writers


@contextmanager
def as_an_ordinary_user() -> Iterator[None]:
    """Permissions bind everyone but the superuser; where the tests run as that one, leave it for a moment."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)


@pytest.fixture
def read_only_folder(job, plans) -> Iterator[Path]:
    """A folder with a job in it that its user may read and not write."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        JobStore.create(folder / "job", job, plans, **DONE).close()
        (folder / "job").chmod(0o444)
        folder.chmod(0o555)
        yield folder
        folder.chmod(0o755)


@pytest.mark.skipif(os.name != "posix", reason="folders have permissions of another kind here")
def test_no_job_is_made_in_a_read_only_folder(read_only_folder, job, plans):
    with as_an_ordinary_user():
        error = refusal(lambda: JobStore.create(read_only_folder / "new", job, plans, **DONE))
        assert "folder" in error.remedy
    assert [p.name for p in read_only_folder.iterdir()] == ["job"]


@pytest.mark.skipif(os.name != "posix", reason="folders have permissions of another kind here")
def test_a_job_in_a_read_only_folder_is_read_and_takes_no_edit(read_only_folder, job, plans):
    path = read_only_folder / "job"
    before = path.read_bytes()
    with as_an_ordinary_user(), JobStore.open(path, **DONE) as store:
        assert store.is_read_only
        assert store.job == job
        assert store.source(next(iter(plans))) == next(iter(plans.values()))
        assert len(store.history()) == 1
        error = refusal(lambda: store.do(*rooms("x")))
        assert "opened to be read" in error.message
        assert "Copy it" in error.remedy
        assert store.job == job
    assert path.read_bytes() == before
    assert [p.name for p in read_only_folder.iterdir()] == ["job"]


@pytest.mark.skipif(os.name != "posix", reason="folders have permissions of another kind here")
def test_a_job_in_a_folder_that_may_not_be_looked_into_is_refused(job, plans):
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "closed"
        folder.mkdir()
        JobStore.create(folder / "job", job, plans, **DONE).close()
        folder.chmod(0o000)
        Path(name).chmod(0o755)
        with as_an_ordinary_user():
            assert "permissions" in refusal(lambda: JobStore.open(folder / "job", **DONE)).remedy
        folder.chmod(0o755)


@pytest.mark.skipif(os.name != "posix", reason="folders have permissions of another kind here")
def test_a_read_only_job_in_use_by_another_is_read_with_what_was_done_last(job, plans):
    with tempfile.TemporaryDirectory() as name, JobStore.create(Path(name) / "job", job, plans, **DONE) as writer:
        writer.do(*rooms("x"))
        for path in Path(name).iterdir():
            path.chmod(0o444)
        Path(name).chmod(0o555)
        with as_an_ordinary_user(), JobStore.open(Path(name) / "job", **DONE) as reader:
            assert reader.is_read_only
            assert reader.job == writer.job != job
        Path(name).chmod(0o755)


def test_a_folder_that_is_not_there_or_is_a_file_is_refused(tmp_path, job, plans):
    (tmp_path / "file").write_bytes(b"")
    for place in (tmp_path / "file" / "job", tmp_path / "nowhere" / "job"):
        assert refusal(lambda p=place: JobStore.create(p, job, plans, **DONE)).remedy
    assert [p.name for p in tmp_path.iterdir()] == ["file"]


def fill(store):
    """Forbid the file to grow, as a full disk does."""
    pages = store._db.execute("PRAGMA page_count").fetchone()[0]
    store._db.execute(f"PRAGMA max_page_count = {pages}")


def test_on_a_full_disk_an_edit_is_refused_and_everything_before_it_is_there(store, reopened):
    fill(store)
    done = [store.job]
    error = None
    for edit in rooms(*(f"room-{i}" for i in range(1000))):
        try:
            store.do(edit)
        except StoreError as refused:
            error = refused
            break
        done.append(store.job)
    assert "full" in error.message
    assert "Make room on the disk" in error.remedy
    assert store.job == done[-1] == reopened().job
    assert len(store.history()) == len(done)
    store._db.execute("PRAGMA max_page_count = 100000")
    store.do(*rooms("later"))
    assert reopened().job == store.job


@contextmanager
def no_file_may_grow() -> Iterator[None]:
    """Let every write beyond the beginning of a file fail, as on a disk without room for one block more."""
    import resource

    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


@pytest.mark.skipif(os.name != "posix", reason="files are limited in another way here")
def test_on_a_full_disk_a_job_is_read_and_takes_no_edit_until_there_is_room(job, plans, tmp_path):
    path = tmp_path / "job"
    JobStore.create(path, job, plans, **DONE).close()
    before = path.read_bytes()
    with no_file_may_grow(), JobStore.open(path, **DONE) as store:
        assert store.is_read_only
        assert store.job == job
        assert store.source(next(iter(plans))) == next(iter(plans.values()))
        error = refusal(lambda: store.do(*rooms("x")))
    assert "the disk is full" in error.message
    assert "Make room" in error.remedy
    assert path.read_bytes() == before
    with JobStore.open(path, **DONE) as store:
        assert not store.is_read_only
        store.do(*rooms("x"))


@pytest.mark.skipif(os.name != "posix", reason="files are limited in another way here")
def test_on_a_full_disk_edits_that_still_lie_beside_the_job_are_not_left_out(job, plans, tmp_path):
    with JobStore.create(tmp_path / "job", job, plans, **DONE) as writer:
        writer.do(*rooms("x"))
        for name in ("job", "job-wal"):
            shutil.copy(tmp_path / name, tmp_path / f"left-{name}")
    with no_file_may_grow():
        error = refusal(lambda: JobStore.open(tmp_path / "left-job", **DONE))
    assert "make room" in error.remedy
    with JobStore.open(tmp_path / "left-job", **DONE) as store:
        assert "x" in store.job.rooms


def test_a_file_that_has_become_read_only_takes_no_edit(store, job, reopened):
    store._db.execute("PRAGMA query_only = ON")
    error = refusal(lambda: store.do(*rooms("x")))
    assert "permissions" in error.remedy
    assert store.job == reopened().job == job


def test_a_second_writer_is_refused_once_the_first_has_written(store, reopened, job):
    second = reopened()
    store.do(*rooms("x"))
    assert "has changed the job meanwhile" in refusal(lambda: second.do(*rooms("y"))).message
    assert second.job == job
    assert reopened().job == store.job
    assert list(reopened().job.rooms) == ["R1", "x"]


def test_a_second_writer_that_takes_up_what_the_first_wrote_goes_on_from_there(store, reopened):
    second = reopened()
    assert second.catch_up() is None
    store.do(*rooms("x"))
    assert second.catch_up().verb == "do"
    assert second.job == store.job
    second.do(*rooms("y"))
    assert list(reopened().job.rooms) == ["R1", "x", "y"]
    assert store.catch_up() is not None
    store.undo()
    assert list(reopened().job.rooms) == ["R1", "x"]


def test_undo_and_redo_of_a_second_writer_are_refused_too(store, reopened):
    store.do(*rooms("x"))
    store.do(*rooms("y"))
    store.undo()
    second = reopened()
    store.do(*rooms("z"))
    before = (second.job, second.can_undo, second.can_redo)
    refusal(lambda: second.undo())
    refusal(lambda: second.redo())
    assert (second.job, second.can_undo, second.can_redo) == before
    assert reopened().job == store.job


def test_while_another_program_is_writing_an_edit_is_refused(store, path, job):
    store._db.execute("PRAGMA busy_timeout = 10")
    with raw(path) as db:
        db.execute("BEGIN IMMEDIATE")
        assert "Close the other program" in refusal(lambda: store.do(*rooms("x"))).remedy
        db.execute("ROLLBACK")
    assert store.job == job
    store.do(*rooms("x"))


def test_the_file_says_what_it_is(store, path):
    # bytes 68 to 71 of an SQLite file hold its application id (sqlite.org/fileformat2.html, section 1.3)
    store.close()
    assert int.from_bytes(path.read_bytes()[68:72], "big") == APPLICATION_ID
    assert path.read_bytes()[68:72] == b"TKOF"


def test_a_file_that_is_copied_while_it_is_open_holds_every_edit(store, path, tmp_path):
    store.do(*rooms("x"))
    store.do(*rooms("y"))
    shutil.copy(path, tmp_path / "copied")  # alone, as a mail program or a synchronised folder takes it
    with JobStore.open(tmp_path / "copied") as copied:
        assert copied.job == store.job
        assert copied.faults == ()


@pytest.mark.parametrize("happening", ["replaced", "removed", "moved"])
@pytest.mark.skipif(os.name != "posix", reason="an open file can be neither replaced nor removed here")
def test_a_file_that_is_no_longer_in_its_place_takes_no_edit_and_can_still_be_copied(store, path, tmp_path, happening):
    store.do(*rooms("x"))
    if happening == "replaced":
        shutil.copy(path, tmp_path / "other")
        os.replace(tmp_path / "other", path)
    elif happening == "removed":
        path.unlink()
    else:
        path.rename(tmp_path / "elsewhere")
    error = refusal(lambda: store.do(*rooms("y")))
    assert "moved, removed or replaced" in error.message
    assert "Save a copy" in error.remedy
    assert "y" not in store.job.rooms
    store.copy_to(tmp_path / "saved")
    with JobStore.open(tmp_path / "saved") as saved:
        assert "x" in saved.job.rooms


@pytest.mark.parametrize("code", [sqlite3.SQLITE_PROTOCOL, sqlite3.SQLITE_IOERR_LOCK, sqlite3.SQLITE_IOERR_SHMMAP])
def test_a_folder_that_keeps_no_locks_is_told_as_that(path, code):
    """sqlite.org/rescode.html: locking protocol, and I/O errors of locks, which network folders give."""
    error = sqlite3.OperationalError("disk I/O error")
    error.sqlite_errorcode = code

    def fail():
        with store_errors(path):
            raise error

    assert "keeps no locks" in refusal(fail).message


def test_a_name_that_is_too_long_is_told_as_that(tmp_path, job, plans):
    error = refusal(lambda: JobStore.create(tmp_path / ("x" * 300), job, plans, **DONE))
    assert "shorter name" in error.remedy
