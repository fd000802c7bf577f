"""How the benches time, weigh and print: processor time in rounds, and a child process for each peak of memory."""

from __future__ import annotations

import gc
import os
import resource
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def timed(cases: dict[str, Callable[[], object]], rounds: int) -> dict[str, list[float]]:
    """Seconds of processor time of each case in each round; cases take turns, so that a busy machine slows all."""
    seconds: dict[str, list[float]] = {name: [] for name in cases}
    for _ in range(rounds):
        for name, case in cases.items():
            gc.collect()
            start = time.process_time()
            result = case()
            gc.collect(0)  # what was made is walked over once, within the time
            seconds[name].append(time.process_time() - start)
            del result
    return seconds


def peak_of_child(script: str, *arguments: str) -> float:
    """Peak resident memory in MiB of a script's run in a process of its own."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        [sys.executable, script, *arguments], check=True, capture_output=True, text=True, env=environment
    )
    return float(done.stdout.split()[-1])


def say_peak() -> None:
    """Print this process's own peak for `peak_of_child`."""
    # ru_maxrss is in KiB on Linux and in bytes on macOS
    unit = 1 if sys.platform == "darwin" else 1024
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit / 2**20)


def print_table(title: str, head: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Print rows under a head, the first column to the left and the others to the right."""
    widths = [max(len(row[i]) for row in (head, *rows)) for i in range(len(head))]
    print(title)
    for row in (head, ["-" * w for w in widths], *rows):
        cells = [
            cell.ljust(w) if i == 0 else cell.rjust(w) for i, (cell, w) in enumerate(zip(row, widths, strict=True))
        ]
        print("  ".join(cells).rstrip())
    print()
