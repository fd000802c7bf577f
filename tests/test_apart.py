"""Work on files from anybody in a process apart: it keeps to limits, dies alone, and ends with its parent."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from multiprocessing import active_children

import psutil
import pytest

from takeoff.apart import Apart
from takeoff.errors import SheetError

PATIENCE = 5


@pytest.fixture
def apart():
    process = Apart(PATIENCE)
    yield process
    process.close()


def hold(megabytes: int) -> None:
    kept = bytearray(megabytes * 1_000_000)
    time.sleep(100_000)
    del kept


def fail() -> None:
    raise SheetError("the page is damaged", remedy="Export it again.", where="sheet 2")


@pytest.mark.skipif(not hasattr(os, "nice"), reason="processes have no such order here")
def test_the_process_comes_after_others_where_both_want_the_processor(apart):
    assert apart.submit(os.nice, 0).result(timeout=60) == min(os.nice(0) + PATIENCE, 19)


def test_a_refusal_comes_back_whole(apart):
    with pytest.raises(SheetError) as refused:
        apart.submit(fail).result(timeout=60)
    assert str(refused.value) == "sheet 2: the page is damaged. Export it again."


def test_what_cannot_be_handed_over_or_back_is_an_error_and_the_process_goes_on(apart):
    with pytest.raises(Exception, match="pickle"):
        apart.submit(lambda: 1).result(timeout=60)
    with pytest.raises(TypeError, match="cannot be handed back"):
        apart.submit(open, os.devnull).result(timeout=60)
    assert apart.submit(len, "ab").result(timeout=60) == 2


@pytest.mark.parametrize(
    ("name", "most", "work", "given", "why"),
    [
        ("TAKEOFF_MEMORY_MB", "200", hold, 400, "more than 200 MB of memory"),
        ("TAKEOFF_SHEET_SECONDS", "1", time.sleep, 100_000, "more than 1 s"),
        ("TAKEOFF_MEMORY_MB", "1500", os._exit, 1, "ended the process"),
    ],
)
def test_work_beyond_a_limit_is_refused_and_the_next_gets_a_new_process(
    apart, monkeypatch, name, most, work, given, why
):
    first = apart.submit(os.getpid).result(timeout=60)
    monkeypatch.setenv(name, most)
    with pytest.raises(SheetError, match=why):
        apart.submit(work, given).result(timeout=60)
    assert apart.submit(os.getpid).result(timeout=60) != first


def test_an_idle_process_is_ended_and_the_next_work_gets_a_new_one():
    apart = Apart(idle=0.1)
    first = apart.submit(os.getpid).result(timeout=60)
    deadline = time.monotonic() + 60
    while psutil.pid_exists(first):
        assert time.monotonic() < deadline, "the idle process is still there"
        time.sleep(0.01)
    assert apart.submit(os.getpid).result(timeout=60) != first
    apart.close()


@pytest.mark.parametrize("is_begun", [True, False])
def test_closing_does_not_wait_for_what_is_being_read(apart, is_begun):
    before = active_children()  # those of a window that tests share may live
    if is_begun:
        apart.submit(os.getpid).result(timeout=60)
    asked = [apart.submit(time.sleep, 100_000), apart.submit(os.getpid)]
    apart.close()
    assert all(future.cancelled() or isinstance(future.exception(timeout=60), SheetError) for future in asked)
    assert [child for child in active_children() if child not in before] == []


def test_a_closed_process_begins_anew_when_something_is_asked_of_it(apart):
    first = apart.submit(os.getpid).result(timeout=60)
    apart.close()
    assert apart.submit(os.getpid).result(timeout=60) != first
    apart.close()
    apart.close()


PARENT = """
import os, sys, time
from takeoff import limits
from takeoff.apart import Apart
if __name__ == "__main__":
    apart = Apart()
    print(apart.submit(os.getpid).result(), flush=True)
    apart.submit(time.sleep, 100_000)
    time.sleep(100_000)
"""


@pytest.mark.parametrize("by", ["the system", "a look at the parent", "the one that it is copied from"])
def test_a_process_apart_ends_when_its_parent_is_killed(tmp_path, by):
    script = tmp_path / "parent.py"
    without = "limits._is_killed_with_parent = lambda: False\nif __name__"  # as on every system but Linux
    text = PARENT.replace("if __name__", without) if by == "a look at the parent" else PARENT
    if by == "the one that it is copied from":
        text = text.replace("Apart()", "Apart(loads=('takeoff.limits',))")
    script.write_text(text)
    path = os.pathsep.join(part for part in sys.path if part)
    environment = {**os.environ, "PYTHONPATH": path}
    with subprocess.Popen([sys.executable, str(script)], stdout=subprocess.PIPE, text=True, env=environment) as parent:
        child = psutil.Process(int(parent.stdout.readline()))
        parent.kill()
        parent.wait()
        child.wait(timeout=60)
    assert not child.is_running() or child.status() == psutil.STATUS_ZOMBIE


def test_a_process_at_rest_is_kept_and_one_at_work_is_ended(apart):
    first = apart.submit(os.getpid).result(timeout=60)
    apart.rest()
    assert apart.submit(os.getpid).result(timeout=60) == first
    asked = apart.submit(time.sleep, 100_000)
    apart.rest()
    assert asked.cancelled() or asked.exception(timeout=60) is not None
    assert apart.submit(os.getpid).result(timeout=60) != first
