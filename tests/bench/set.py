"""Drafting sets of made sheets on one and two processes and on a cluster: python -m tests.bench.set [--heavy].

A sixth of the sheets are floor plans; the others elevations, schedules, sheets of other trades. Plans of the light sets
are read in half a second, less than any real sheet; with ``--heavy`` there are twelve sheets, and every other is a plan
with as many strokes as a real one, read in some five seconds. Told are the seconds, how well the processes are used
against one (1 is wholly), the seconds of processors a sheet, and those of the process that registers, takes in and
prices alone, from which follows what two processes come to where nothing else runs (Amdahl). The load of the machine
stands beside: with more than its processors can do, the seconds of a clock say nothing, and the looks at the reading
processes, some 20 ms of each second, make the part that runs alone larger than it is.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import threading
import time
from contextlib import nullcontext
from pathlib import Path

LIGHT = (("1 process", 60), ("2 processes", 60), ("2 workers of a cluster", 60), ("2 processes", 240))
HEAVY = (("1 process", 12), ("2 processes", 12))
WHO = {"sign": lambda: ("bench", "2026-01-05T08:00:00Z")}
SCALE = '1/4" = 1\'-0"'
LINES = 4000
"""Lines on a sheet of another trade."""
STROKES = 40_000
"""Short strokes on a heavy plan: it is read in 4 to 6 s of a processor, as the real sheets that were tried."""


def made_set(count: int, *, is_heavy: bool = False) -> bytes:
    """Draw a set; each plan has room numbers of its own; each sixth sheet is one, of a heavy set every other."""
    import random
    from dataclasses import replace

    from sample_plans import floorplan, scenario
    from sample_plans.ink import Ink, add_layers
    from sample_plans.sheets import (
        ANSI_D,
        IMPERIAL,
        PLAN_IMPERIAL,
        elevation_sheet,
        new_set,
        plan_sheet,
        schedule_sheet,
    )
    from sample_plans.titleblock import SheetTitle, draw_border

    luck = random.Random(4)
    document = new_set([str(n) for n in range(count)], ANSI_D)
    layers = add_layers(document)

    def strokes(ink: Ink, many: int, across: float, up: float) -> None:
        for _ in range(many):
            x, y = luck.uniform(80, 2000), luck.uniform(80, 1480)
            ink.line("A-EQPM", [(x, y), (x + luck.uniform(-across, across), y + luck.uniform(-up, up))], 0.2)

    for n in range(count):
        page, ink = document[n], Ink(document[n], layers)
        if (is_heavy and n % 2 == 0) or n % 6 == 0:
            floorplan.ROOMS = tuple(
                replace(r, number=f"{n // (2 if is_heavy else 6) + 1}{r.number[1:]}") for r in scenario.ROOMS
            )
            plan_sheet(page, layers, PLAN_IMPERIAL, IMPERIAL, SCALE)
            strokes(ink, STROKES * is_heavy, 12, 12)
        elif n % 6 == 1:
            elevation_sheet(page, layers)
        elif n % 6 == 2 + is_heavy:
            schedule_sheet(page, layers)
        else:
            draw_border(ink, SheetTitle(number=f"{'MPE'[n % 3]}-{100 + n}", title="PLAN OF SERVICES", scale=SCALE))
            strokes(ink, LINES, 60, 0)
        ink.dry()
    return document.tobytes(deflate=True)


class Watched:
    """Processor time and largest memory of all processes that this one started, while a ``with`` block lasts."""

    def __enter__(self) -> Watched:
        """Begin to look."""
        self.seconds: dict[int, float] = {}
        self.peak = self.own = 0.0
        self._done = threading.Event()
        self._looker = threading.Thread(target=self._look)
        self._looker.start()
        return self

    def __exit__(self, *error: object) -> None:
        """Look no more."""
        self._done.set()
        self._looker.join()

    def _look(self) -> None:
        import psutil

        own = psutil.Process()
        while not self._done.wait(0.5):
            for process in own.children(recursive=True):
                try:
                    times = process.cpu_times()
                    self.seconds[process.pid] = times.user + times.system
                    self.peak = max(self.peak, process.memory_info().rss / 2**20)
                except psutil.Error:
                    continue
            self.own = time.thread_time()


def in_child(name: str, plan: Path) -> None:
    """Draft the set once and say what it took."""
    from distributed import LocalCluster

    from takeoff.actions.draft.making import make_draft
    from takeoff.actions.draft.sheet_reads import Cluster, Lanes
    from takeoff.actions.jobs import new_job
    from takeoff.job.job import JobSettings

    count = 1 if name.startswith("1") else 2
    is_far = "cluster" in name
    make = LocalCluster(n_workers=count, threads_per_worker=1, dashboard_address=None) if is_far else nullcontext()
    with tempfile.TemporaryDirectory() as folder, make as cluster, Watched() as others:
        start, alone = time.perf_counter(), time.process_time()
        readers = Cluster(cluster.scheduler_address) if cluster is not None else Lanes(count, is_early=True)
        settings = JobSettings(name="bench")
        store, _ = new_job(Path(folder) / "b.takeoff", [(plan.name, plan.read_bytes())], settings, **WHO)
        with store:
            draft = make_draft(store, readers=readers)
        seconds, alone = time.perf_counter() - start, time.process_time() - alone
    said = {
        "seconds": seconds,
        "alone": alone - others.own,
        "others": sum(others.seconds.values()),
        "peak": others.peak,
        "rooms": len(draft.rooms),
        "price": draft.priced.estimate.line("price").amount,
    }
    sys.stdout.write(json.dumps(said))


def main() -> None:
    """Print the table."""
    from tests.bench.table import print_table

    is_heavy = "--heavy" in sys.argv
    cases = HEAVY if is_heavy else LIGHT
    rows = []
    base = 0.0
    with tempfile.TemporaryDirectory() as folder:
        plans = {count: Path(folder) / f"{count}.pdf" for count in {count for _, count in cases}}
        for count, path in plans.items():
            path.write_bytes(made_set(count, is_heavy=is_heavy))
        for name, count in cases:
            load = os.getloadavg()[0]
            command = [sys.executable, "-m", "tests.bench.set", name, str(plans[count])]
            said = json.loads(subprocess.run(command, check=True, capture_output=True).stdout)
            seconds, alone, others = said["seconds"], said["alone"], said["others"]
            base = base or seconds / count
            used = 1 if name.startswith("1") else 2
            row = [
                f"{count} sheets, {name}", f"{load:.1f}", f"{seconds:.1f}", f"{base * count / seconds / used:.2f}",
                f"{(alone + others) / count:.2f}", f"{alone:.1f}", f"{(alone + others) / (alone + others / 2):.2f}",
                f"{said['peak']:.0f}", str(said["rooms"]), f"{said['price']:,.2f}",
            ]  # fmt: skip
            rows.append(row)
            sys.stderr.write(f"{row}\n")
    heads = [
        "case",
        "load before",
        "drafted s",
        "use of processes",
        "of processors a sheet",
        "of them alone s",
        "two could be",
        "worker MiB",
        "rooms",
        "price",
    ]
    print_table("Drafts of made sets", heads, rows)


if __name__ == "__main__":
    in_child(sys.argv[1], Path(sys.argv[2])) if len(sys.argv) == 3 else main()
