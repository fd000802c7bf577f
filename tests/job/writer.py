"""A writer to be killed: forks a child for each line it reads, so that only one interpreter has to start.

A line is "write PATH" (go on editing the job file for ever) or "make PATH" (make new ones for ever: PATH0, PATH1 …).
It answers "pid N" at once, then a number for each journal line (or file) that the library says is on disk, and "dead".
"""

from __future__ import annotations

import hashlib
import os
import sys
from itertools import count
from pathlib import Path
from tempfile import TemporaryDirectory

from takeoff.job.edits import PutRoom
from takeoff.job.job import Job, JobSettings
from takeoff.job.store import JobStore
from takeoff.model.plan import Source
from takeoff.model.walls import Room

PLAN = bytes(50_000)


def say(word: object) -> None:
    os.write(1, f"{word}\n".encode())


def write(path: Path) -> None:
    """Put rooms named after their journal line; take the one before back on every fifth line."""
    with JobStore.open(path, lambda: ("w", "t")) as store:
        for seq in count(len(store.history()) + 1):
            if seq % 5 == 0:
                store.undo()
            else:
                store.do(PutRoom(room=Room(id=str(seq), name="long name " * 200)))
            say(seq)


def make(path: Path) -> None:
    sha = hashlib.sha256(PLAN).hexdigest()
    job = Job(settings=JobSettings(name="Made"), sources={sha: Source(sha256=sha, name="plan", size=len(PLAN))})
    for number in count():
        JobStore.create(Path(f"{path}{number}"), job, {sha: PLAN}, sign=lambda: ("w", "t")).close()
        say(number)


def main() -> None:
    with TemporaryDirectory() as folder:  # what is slow the first time is done before anyone is killed
        store = JobStore.create(
            Path(folder) / "first", Job(settings=JobSettings(name="First")), {}, sign=lambda: ("w", "t")
        )
        store.do(PutRoom(room=Room(id="first")))
        store.close()
    for line in sys.stdin:
        verb, _, name = line.rstrip("\n").partition(" ")
        pid = os.fork()
        if pid == 0:
            say(f"pid {os.getpid()}")
            {"write": write, "make": make}[verb](Path(name))
        os.waitpid(pid, 0)
        say("dead")


if __name__ == "__main__":
    main()
