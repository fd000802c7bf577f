"""What work on a file from anybody may take of the machine, who watches it, and that it ends when its parent does."""

from __future__ import annotations

import contextlib
import ctypes
import gc
import os
import signal
import sys
import threading
import time
from collections.abc import Iterator
from typing import NamedTuple

MEMORY_MB = ("TAKEOFF_MEMORY_MB", 1500)
"""Memory of a process and all that it starts, in MB: an office floor of 1.07 million line pieces took 410."""
SECONDS = ("TAKEOFF_SECONDS", 1800)
"""Processor time in seconds: all rooms of that office floor took 10."""
DISK_MB = ("TAKEOFF_DISK_MB", 4000)
"""Size of the largest file that it may write, in MB."""
SHEET_SECONDS = ("TAKEOFF_SHEET_SECONDS", 900)
"""Seconds that one sheet may take beside others, on a machine that is busy with more."""
LOOK = 0.2
"""Seconds between two looks at a process; a look takes 4 ms."""
STOPPED = 130
"""Exit code where a person stopped the work: 128 and the number of SIGINT, as of shells, from memory."""
_QUIET = {
    "ORT_DISABLE_TELEMETRY": "1",  # it tells its makers what is worked on: by default since 1.29, from its import on
    "OPENBLAS_NUM_THREADS": "1",
    "OPENCV_THREAD_POOL_ACTIVE_WAIT_MAIN": "0",
    "OPENCV_THREAD_POOL_ACTIVE_WAIT_WORKER": "0",
}
"""What libraries read as they are loaded: that they tell nobody of the work, and that their threads do not wait for
more by keeping a processor busy (comparing and reading pictures took 18 % less processor time)."""
_DIE_WITH_PARENT = 1
"""PR_SET_PDEATHSIG of prctl(2)."""


class Excess(NamedTuple):
    """What a process took too much of, and the name of the limit."""

    why: str
    name: str


def limit(of: tuple[str, int]) -> int:
    """Return a limit: what the environment says by its name, else what is usual."""
    name, usual = of
    given = os.environ.get(name, "")
    return int(given) if given.isdecimal() and int(given) > 0 else usual


def quiet_libraries() -> None:
    """Keep libraries not loaded yet from the network and from waiting busily, here and in processes begun from here."""
    for name, value in _QUIET.items():
        os.environ.setdefault(name, value)


def cores() -> int:
    """Return how many cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@contextlib.contextmanager
def no_sweeps() -> Iterator[None]:
    """Hold the collector of reference cycles off: many values are made that form none, in place of as many old ones.

    Walking over ten thousand measured runs takes longer than measuring them again, and over what is drawn on a sheet a
    third of the time in which it is read.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def excess_of(pid: int, processes: int = 1) -> Excess | None:
    """Say what a process and those that it started took too much of; nothing while they keep to the limits.

    Parameters
    ----------
    pid
        The process.
    processes
        How many there may be, each with the limits of one.
    """
    import psutil

    memory, seconds, written = 0, 0.0, 0
    try:
        first = psutil.Process(pid)
        for process in (first, *first.children(recursive=True)):
            with contextlib.suppress(psutil.Error), process.oneshot():
                memory += process.memory_info().rss
                times = process.cpu_times()
                seconds = max(seconds, times.user + times.system)
                if sys.platform == "win32":  # elsewhere the system itself holds the size of a file
                    written = max(written, process.io_counters().write_bytes)
    except psutil.Error:
        return None
    if memory > processes * limit(MEMORY_MB) * 1_000_000:
        return Excess(f"it needs more than {limit(MEMORY_MB):,} MB of memory", MEMORY_MB[0])
    if seconds > limit(SECONDS):
        return Excess(f"it took more than {limit(SECONDS):,} s of processor time", SECONDS[0])
    if written > limit(DISK_MB) * 1_000_000:
        return Excess(f"it writes more than {limit(DISK_MB):,} MB", DISK_MB[0])
    return None


def bind(parent: int) -> None:
    """In a process that was started for work on foreign files: end when the parent does, and write no huge file.

    Parameters
    ----------
    parent
        The process that started this one, or had it copied from one that does not end with it.
    """
    gc.set_threshold(50_000, 20)  # much is made of a file, and next to nothing in cycles: fewer looks for them
    is_killed = sys.platform == "linux" and ctypes.CDLL(None).prctl(_DIE_WITH_PARENT, int(signal.SIGKILL)) == 0
    if not is_killed or os.getppid() != parent:
        threading.Thread(target=_end_with, args=(parent,), daemon=True).start()
    try:
        import resource
    except ImportError:  # Windows: there the parent looks at what is written
        return
    size, hard = limit(DISK_MB) * 1_000_000, resource.getrlimit(resource.RLIMIT_FSIZE)[1]
    with contextlib.suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_FSIZE, (size if hard < 0 else min(size, hard), hard))


def _end_with(parent: int) -> None:
    """End this process as soon as another is no more."""
    import psutil

    with contextlib.suppress(psutil.Error):
        watched = psutil.Process(parent)
        while watched.is_running() and watched.status() != psutil.STATUS_ZOMBIE:
            time.sleep(LOOK)
    os._exit(1)
