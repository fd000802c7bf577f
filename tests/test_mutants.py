"""Files changed at random are read or refused, never a fault; other ones each week, and those that once were faults."""

from __future__ import annotations

import subprocess
import sys
from datetime import date
from pathlib import Path

from tests.mutants import KINDS

COUNT = 200
ONCE_FAULTS: tuple[int, ...] = (202648011, 202648156)
"""Seeds that a fault was found with, kept for good."""


def faults(first: int, count: int) -> list[str]:
    """Read so many mutants in a process of their own, which one of them may end."""
    script = Path(__file__).with_name("mutants.py")
    command = [sys.executable, str(script), str(first), str(count)]
    done = subprocess.run(command, capture_output=True, text=True, cwd=script.parents[1], check=False)
    if done.returncode:
        return [*done.stdout.splitlines(), f"ended with {done.returncode} at {done.stderr.splitlines()[-1]}"]
    return done.stdout.splitlines()


def test_the_mutants_of_this_week_are_read_or_refused():
    year, week, _ = date.today().isocalendar()
    first = (year * 100 + week) * 1000
    assert 20 * len(KINDS) <= COUNT
    assert faults(first, COUNT) == []


def test_what_once_was_a_fault_is_none_any_more():
    assert [said for seed in ONCE_FAULTS for said in faults(seed, 1)] == []
