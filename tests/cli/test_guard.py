"""Commands work in a child that may use only so much; run as programs are."""

from __future__ import annotations

import os
import signal
import subprocess
import sys

import pytest

from takeoff.limits import cores

LINUX = pytest.mark.skipif(not os.path.exists("/proc/self/statm"), reason="this system tells no memory of a process")


def ran(*words: object, **limits: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "takeoff.cli.main", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, env={**os.environ, **limits}, check=False)


def test_what_the_child_writes_and_its_exit_code_are_those_of_the_command(traced, tmp_path):
    assert ran("history", traced).stdout.startswith("History")
    refused = ran("measure", tmp_path / "none")
    assert (refused.returncode, refused.stderr.count("\n")) == (2, 1)


@LINUX
def test_work_that_needs_too_much_memory_is_stopped_and_told_in_one_line(traced):
    stopped = ran("measure", traced, TAKEOFF_MEMORY_MB="40")
    assert (stopped.returncode, stopped.stdout) == (2, "")
    assert "needs more than 40 MB of memory" in stopped.stderr
    assert stopped.stderr.count("\n") == 1


@pytest.mark.skipif(sys.platform == "win32", reason="processor time is not limited here")
def test_work_that_takes_too_long_is_stopped_and_told_in_one_line(tmp_path):
    stopped = ran("demo", "--out", tmp_path, TAKEOFF_SECONDS="1")
    assert stopped.returncode == 2
    assert "took more than 1 s of processor time" in stopped.stderr


@pytest.mark.skipif(sys.platform == "win32", reason="sizes of files are not limited here")
def test_no_file_larger_than_allowed_is_written(job, plans, tmp_path):
    stopped = ran("new", tmp_path / "large.takeoff", "--plan", plans / "facility-scan.png", TAKEOFF_DISK_MB="1")
    assert stopped.returncode == 2
    assert "there is no" not in stopped.stderr
    assert not (tmp_path / "large.takeoff").exists()


@LINUX
def test_work_that_a_person_stops_ends_though_it_does_not_hear_and_no_file_is_blamed(traced):
    """Its output goes where 4 KiB fit and nobody reads on: after the first byte it is at work, and waits for ever."""
    import fcntl

    out, end = os.pipe()
    fcntl.fcntl(end, fcntl.F_SETPIPE_SZ, 4096)
    # what a shell began in the background, as it may these tests, does not hear Ctrl+C (POSIX, Shell 2.11)
    hears = "import signal, sys, takeoff.cli.main as m; signal.signal(2, signal.default_int_handler); sys.exit(m.run())"
    command = [sys.executable, "-c", hears, "measure", str(traced), "--json"]
    with subprocess.Popen(command, stdout=end, stderr=subprocess.PIPE, text=True, start_new_session=True) as work:
        os.close(end)
        os.read(out, 1)
        os.killpg(work.pid, signal.SIGINT)
        told = work.communicate()[1]
    os.close(out)
    assert work.returncode == 130
    assert "error: stopped; what was done before it is kept" in told
    assert "damaged" not in told


@LINUX
@pytest.mark.parametrize(("own", "threads"), [({}, 1), ({"OPENBLAS_NUM_THREADS": "2"}, min(2, cores()))])
def test_no_thread_of_linear_algebra_waits_busily_unless_a_person_asks_for_more(own, threads):
    """A thread without work keeps a processor busy for a while (manual of OpenBLAS, THREAD_TIMEOUT)."""
    code = "import os, takeoff.cli.main as m; m.run(); import numpy; print(len(os.listdir('/proc/self/task')))"
    bare = {name: value for name, value in os.environ.items() if name != "OPENBLAS_NUM_THREADS"}
    command = [sys.executable, "-c", code, "--version"]
    told = subprocess.run(command, capture_output=True, text=True, env={**bare, **own}, check=True).stdout
    assert int(told.split()[-1]) == threads
