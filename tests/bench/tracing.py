"""Measure tracing on plans with known truth, by kind of plan.

Usage: python -m tests.bench.tracing [--held-out | --last] [--seeds N] [--from N] [--kind KIND ...] [--faults]
       [--strays]
The sample plans are always measured; the reference plans too where TAKEOFF_REFERENCE names their folder.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import time

from tests.trace.known_plans import reference_plans, sample_plans_known
from tests.trace.plans import DEVELOPMENT, HELD_OUT, KINDS, Plan
from tests.trace.scoring import Score, read, score
from tests.trace.site_plans import SITES, make_any
from tests.trace.stray import with_strays

CLUTTER = 50_000
"""Stray lines on a sheet; all rooms of it are to be read within 10 s."""

LAST = range(1050, 1060)
"""Seeds kept back from all other runs, to judge a finished change by once."""

HEADS = (
    "plans rooms  found  false  sure  sure wrong  wall length  net area median/worst (sure)  openings P / R  "
    "columns  names  CPU s/sheet median/worst"
)


def measure(plans: list[Plan], *, faults: bool) -> tuple[Score, list[float]]:
    """Trace plans and sum their scores and processor seconds."""
    total, seconds = Score(), []
    for plan in plans:
        start = time.process_time()
        traced = read(plan)
        seconds.append(time.process_time() - start)
        total.add(score(traced.rooms, plan.rooms, plan.m_per_pt, f"{plan.kind} {plan.seed}"))
    if faults:
        print("\n".join(total.faults))
    return total, seconds


def show(label: str, count: int, s: Score, seconds: list[float]) -> None:
    """Print one row."""
    median = statistics.median(s.errors) if s.errors else float("nan")
    worst = max(s.sure_errors, default=float("nan"))
    print(
        f"{label:22s} {count:5d} {s.rooms:5d} {s.found / max(s.rooms, 1):6.1%} {s.false_rooms:6d} "
        f"{s.sure:5d} {s.sure_wrong:6d} ({s.sure_wrong / max(s.sure, 1):.1%}) {s.traced / max(s.length, 1e-9):8.1%}"
        f"     {median:6.2%} / {worst:6.2%}              {s.right / max(s.proposed, 1):6.1%} / "
        f"{s.right / max(s.openings, 1):6.1%}  {s.columns_found}/{s.columns}  {s.named}/{s.rooms}  "
        f"{statistics.median(seconds):.2f} / {max(seconds):.2f}",
        flush=True,
    )


def measure_strays(seeds: list[int], kinds: list[str], *, faults: bool) -> None:
    """Measure plans of each kind with two lines across their walls, and one of each on a sheet of 50,000 lines."""
    for kind in kinds:
        plans = [with_strays(make_any(seed, kind), "across walls", 2) for seed in seeds]
        show(f"{kind}, across", len(plans), *measure(plans, faults=faults))
    for strays in ("clutter", "clutter in the walls' pen"):
        for kind in kinds:
            plan = with_strays(make_any(seeds[0], kind), strays, CLUTTER)
            show(f"{kind}, {strays}", 1, *measure([plan], faults=faults))


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    judged = parser.add_mutually_exclusive_group()
    judged.add_argument("--held-out", action="store_true")
    judged.add_argument("--last", action="store_true", help=f"seeds {LAST.start} to {LAST.stop - 1}, for one run")
    parser.add_argument("--seeds", type=int, default=12)
    parser.add_argument("--from", type=int, default=0, dest="first", help="leave out this many seeds")
    parser.add_argument("--kind", nargs="*", default=(*KINDS, *SITES))
    parser.add_argument("--faults", action="store_true")
    parser.add_argument("--strays", action="store_true", help="also with lines over the plans that are no building")
    wanted = parser.parse_args()
    chosen = LAST if wanted.last else HELD_OUT if wanted.held_out else DEVELOPMENT
    seeds = list(chosen)[wanted.first : wanted.first + wanted.seeds]
    if not seeds:
        parser.error(f"no seeds are left: there are {len(chosen)} of them")
    print(f"{'kind':22s} {HEADS}")
    total, all_seconds, count = Score(), [], 0
    for kind in wanted.kind:
        plans = [make_any(seed, kind) for seed in seeds]
        s, seconds = measure(plans, faults=wanted.faults)
        show(kind, len(plans), s, seconds)
        total.add(s)
        all_seconds += seconds
        count += len(plans)
    show("all made-up plans", count, total, all_seconds)
    if wanted.strays:
        measure_strays(seeds, wanted.kind, faults=wanted.faults)
    for plan in [*sample_plans_known(), *reference_plans()]:
        s, seconds = measure([plan], faults=wanted.faults)
        show(plan.kind, 1, s, seconds)
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB")


if __name__ == "__main__":
    main()
