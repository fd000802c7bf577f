"""Drafting sets of 60 and 240 made sheets on one and two processes and on a cluster: python -m tests.bench.set.

A sixth of the sheets are floor plans; the others elevations, schedules, sheets of other trades. Told are the seconds,
how well the processes are used against one (1 is wholly), the seconds a sheet, those of processors a sheet and of the
process that takes in and prices, which the others wait for, and the largest process.
"""

from __future__ import annotations

import json
import random
import resource
import subprocess
import sys
import tempfile
import time
from contextlib import nullcontext
from dataclasses import replace
from pathlib import Path

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
from takeoff.actions.draft.cluster import Cluster
from takeoff.actions.draft.lanes import Lanes
from takeoff.actions.draft.making import make_draft
from takeoff.actions.jobs import new_job
from takeoff.job.job import JobSettings
from tests.bench.table import print_table

CASES = (("1 process", 60), ("2 processes", 60), ("2 workers of a cluster", 60), ("2 processes", 240))
WHO = {"who": "bench", "at": "2026-01-05T08:00:00Z"}
SCALE = '1/4" = 1\'-0"'
LINES = 4000
"""Lines on a sheet of another trade."""


def made_set(count: int) -> bytes:
    """Draw a set; each plan has room numbers of its own, each sixth sheet is one."""
    luck = random.Random(4)
    document = new_set([str(n) for n in range(count)], ANSI_D)
    layers = add_layers(document)
    for n in range(count):
        page = document[n]
        if n % 6 == 0:
            floorplan.ROOMS = tuple(replace(r, number=f"{n // 6 + 1}{r.number[1:]}") for r in scenario.ROOMS)
            plan_sheet(page, layers, PLAN_IMPERIAL, IMPERIAL, SCALE)
        elif n % 6 == 1:
            elevation_sheet(page, layers)
        elif n % 6 == 2:
            schedule_sheet(page, layers)
        else:
            ink = Ink(page, layers)
            trade = "MPE"[n % 3]
            draw_border(ink, SheetTitle(number=f"{trade}-{100 + n}", title="PLAN OF SERVICES", scale=SCALE))
            for _ in range(LINES):
                x, y = luck.uniform(80, 2000), luck.uniform(80, 1480)
                ink.line("A-EQPM", [(x, y), (x + luck.uniform(-60, 60), y)], 0.35)
            ink.dry()
    return document.tobytes(deflate=True)


def in_child(name: str, plan: Path) -> None:
    """Draft the set once and say what it took."""
    from distributed import LocalCluster

    count = 1 if name.startswith("1") else 2
    is_far = "cluster" in name
    make = LocalCluster(n_workers=count, threads_per_worker=1, dashboard_address=None) if is_far else nullcontext()
    with tempfile.TemporaryDirectory() as folder, make as cluster:
        readers = Cluster(cluster.scheduler_address) if cluster is not None else Lanes(count, is_early=True)
        settings = JobSettings(name="bench")
        start = time.perf_counter()
        store, _ = new_job(Path(folder) / "b.takeoff", [(plan.name, plan.read_bytes())], settings, **WHO)
        opened = time.perf_counter() - start
        with store:
            draft = make_draft(store, readers=readers, **WHO)
        seconds = time.perf_counter() - start
    price = draft.priced.estimate.line("price").amount
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    peaks = [each.ru_maxrss / 1024 for each in used]
    own, others = (each.ru_utime + each.ru_stime for each in used)
    said = {
        "opened": opened,
        "seconds": seconds,
        "busy": own + others,
        "own": own,
        "rooms": len(draft.rooms),
        "price": price,
        "peaks": peaks,
    }
    sys.stdout.write(json.dumps(said))


def main() -> None:
    """Print the table."""
    rows = []
    base = 0.0
    with tempfile.TemporaryDirectory() as folder:
        plans = {count: Path(folder) / f"{count}.pdf" for count in {count for _, count in CASES}}
        for count, path in plans.items():
            path.write_bytes(made_set(count))
        for name, count in CASES:
            command = [sys.executable, "-m", "tests.bench.set", name, str(plans[count])]
            said = json.loads(subprocess.run(command, check=True, capture_output=True).stdout)
            seconds = said["seconds"]
            base = base or seconds / count
            used = 1 if name.startswith("1") else 2
            rows.append(
                [
                    f"{count} sheets, {name}", f"{said['opened']:.1f}", f"{seconds:.1f}",
                    f"{base * count / seconds / used:.2f}", f"{seconds / count:.2f}", f"{said['busy'] / count:.2f}",
                    f"{said['own']:.1f}",
                    f"{said['peaks'][0]:.0f}", f"{said['peaks'][1]:.0f}", str(said["rooms"]), f"{said['price']:,.2f}",
                ]
            )  # fmt: skip
            sys.stderr.write(f"{rows[-1]}\n")
    heads = [
        "case",
        "opened s",
        "drafted s",
        "use of processes",
        "s a sheet",
        "of processors",
        "s in one place",
        "own MiB",
        "worker MiB",
        "rooms",
        "price",
    ]
    print_table("Drafts of made sets, wall time", heads, rows)


if __name__ == "__main__":
    in_child(sys.argv[1], Path(sys.argv[2])) if len(sys.argv) == 3 else main()
