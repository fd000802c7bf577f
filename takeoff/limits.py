"""What work on a file from anybody may take of the machine, and what a process has of its memory."""

from __future__ import annotations

import os
from pathlib import Path

MEMORY_MB = ("TAKEOFF_MEMORY_MB", 1500)
"""Memory of a process and all that it starts, in MB: the largest real sheet measured, an office floor, took 900."""
SECONDS = ("TAKEOFF_SECONDS", 1800)
"""Processor time in seconds: all rooms of an office floor took 300."""
DISK_MB = ("TAKEOFF_DISK_MB", 4000)
"""Size of the largest file that it may write, in MB."""
SHEET_SECONDS = ("TAKEOFF_SHEET_SECONDS", 900)
"""Seconds that one sheet of a draft may take: all rooms of an office floor took 300 on a machine that was quiet."""
LOOK = 0.1
"""Seconds between two looks at a process."""


def limit(of: tuple[str, int]) -> int:
    """Return a limit: what the environment says by its name, else what is usual."""
    name, usual = of
    given = os.environ.get(name, "")
    return int(given) if given.isdecimal() and int(given) > 0 else usual


def cores() -> int:
    """Return how many cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def memory_of(pid: int) -> int:
    """Return the memory in use by a process and those that it started, in bytes; 0 where the system does not tell."""
    try:
        pages = int(Path(f"/proc/{pid}/statm").read_text().split()[1])
        started = [word for tasks in Path(f"/proc/{pid}/task").iterdir() for word in _children(tasks)]
    except (OSError, ValueError, IndexError):
        return 0
    return pages * os.sysconf("SC_PAGE_SIZE") + sum(memory_of(int(word)) for word in started)


def _children(task: Path) -> list[str]:
    try:
        return (task / "children").read_text().split()
    except OSError:
        return []
