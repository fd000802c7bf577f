"""A writer killed at any moment: what it was told is on disk is there, and the file opens."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from takeoff.job.store import JobStore

KILLS = 60

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="processes are not forked here")


@pytest.fixture
def killed() -> Iterator[Callable[..., list[int]]]:
    """Let a writer work for so many seconds from its start or its first word, kill it, and give what it acknowledged.

    Kills from the start fall into opening the file and what an opening repairs, the others between edits and in them.
    """
    words = [sys.executable, str(Path(__file__).with_name("writer.py"))]
    path = os.pathsep.join(p for p in sys.path if p)
    with subprocess.Popen(
        words,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        bufsize=1,
        env={**os.environ, "PYTHONPATH": path},
    ) as server:

        def call(verb: str, path: Path, seconds: float, *, from_first: bool) -> list[int]:
            server.stdin.write(f"{verb} {path}\n")
            pid = int(server.stdout.readline().split()[1])
            first = [server.stdout.readline()] if from_first else []
            time.sleep(seconds)
            os.kill(pid, signal.SIGKILL)
            said = [*first, *iter(server.stdout.readline, "dead\n")]
            return [int(number) for number in said]

        yield call
        server.stdin.close()
        assert server.wait(10) == 0


def rooms_after(lines: int) -> list[str]:
    """Rooms there are after so many journal lines, by what the writer does on each."""
    rooms: list[str] = []
    for seq in range(2, lines + 1):
        if seq % 5:
            rooms.append(str(seq))
        else:
            rooms.pop()
    return rooms


def test_a_writer_killed_at_random_points_loses_no_acknowledged_edit(killed, path, empty, plans):
    JobStore.create(path, empty, plans, sign=lambda: ("w", "t")).close()
    moments = random.Random(7)
    lines = 1
    for kill in range(KILLS):
        acknowledged = killed("write", path, moments.uniform(0.0, 0.02), from_first=bool(kill % 3))
        with JobStore.open(path) as store:
            found = len(store.history())
            last = acknowledged[-1] if acknowledged else lines
            assert acknowledged == list(range(lines + 1, last + 1))
            assert found in (last, last + 1)  # the edit under way is there in full or not at all
            assert list(store.job.rooms) == rooms_after(found)
            assert store.can_undo == (found > 1)
            lines = found
    assert lines > KILLS // 4  # it was at work when it was killed; how much it got done is the machine's affair


def test_a_process_killed_while_it_makes_job_files_leaves_whole_ones_or_none(killed, tmp_path):
    moments = random.Random(11)
    for kill in range(KILLS):
        acknowledged = killed("make", tmp_path / f"{kill}-", moments.uniform(0.0, 0.02), from_first=bool(kill % 3))
        made = [tmp_path / f"{kill}-{number}" for number in range(len(acknowledged) + 1)]
        for place in made:
            if place.exists():
                with JobStore.open(place) as store:
                    assert store.job.settings.name == "Made"
                    assert len(store.source(next(iter(store.job.sources)))) == 50_000
        assert all(place.exists() for place in made[:-1])
        assert not (tmp_path / f"{kill}-{len(made)}").exists()
