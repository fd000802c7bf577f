"""Measure tracing of scanned sheets on plans with known truth, by kind of plan and quality of scan.

Usage: python -m tests.bench.tracing_scans [--held-out] [--from N] [--seeds N] [--kind KIND ...]
[--quality QUALITY ...] [--dpi DPI] [--faults]
The sample scan is always measured; the scans of the reference plans too where TAKEOFF_REFERENCE names their folder.
Walls count as traced within 1.5 % of a 1 m reach (15 mm), openings as right within 50 mm of their width.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import time

from takeoff.trace.scans.raster_plan import read_raster_plan
from tests.trace.known_scans import reference_scans, sample_scan
from tests.trace.made_scans import QUALITIES, Scan, scan_plan
from tests.trace.plans import DEVELOPMENT, HELD_OUT, KINDS, SHAPES, make_plan
from tests.trace.scoring import Score, polygon_of, score

REACH = 0.015
HEADS = (
    "sheets rooms  found  false  sure  sure wrong  wall length  area error median/worst  openings P / R  "
    "columns  CPU s/sheet median/worst"
)


def measure(scan: Scan, *, faults: bool) -> tuple[Score, list[float], float]:
    """Trace a scan; return its score, the errors of its rooms' areas, and the processor seconds it took."""
    start = time.process_time()
    plan = read_raster_plan(scan.pixels, scan.sheet, scan.calibration)
    seconds = time.process_time() - start
    m_per_pt = (scan.calibration.mx * scan.calibration.my) ** 0.5
    stretch = scan.calibration.mx / scan.calibration.my
    result = score(plan.rooms, scan.rooms, m_per_pt, scan.label, near=REACH, stretch=stretch)
    if faults:
        print("\n".join(result.faults))
    shapes = [polygon_of(room) for room in plan.rooms]
    errors = []
    for true in scan.rooms:
        own = [s for s in shapes if s.is_valid and s.intersection(true.outline_pt).area > 0.5 * true.outline_pt.area]
        if own:
            errors.append(min(abs(s.area / true.outline_pt.area - 1) for s in own))
    return result, errors, seconds


def show(label: str, count: int, s: Score, errors: list[float], seconds: list[float]) -> None:
    """Print one row."""
    median = statistics.median(errors) if errors else float("nan")
    print(
        f"{label:24s} {count:5d} {s.rooms:5d} {s.found / max(s.rooms, 1):6.1%} {s.false_rooms:6d} "
        f"{s.sure:5d} {s.sure_wrong:6d} ({s.sure_wrong / max(s.sure, 1):.1%}) {s.traced / max(s.length, 1e-9):8.1%}"
        f"     {median:6.2%} / {max(errors, default=float('nan')):6.1%}        "
        f"{s.right / max(s.proposed, 1):6.1%} / {s.right / max(s.openings, 1):6.1%}  {s.columns_found}/{s.columns}  "
        f"{statistics.median(seconds):.1f} / {max(seconds):.1f}",
        flush=True,
    )


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--held-out", action="store_true")
    parser.add_argument("--from", dest="first", type=int, default=0, help="leave out so many seeds")
    parser.add_argument("--seeds", type=int, default=4)
    parser.add_argument("--kind", nargs="*", default=(*KINDS, *SHAPES))
    parser.add_argument("--dpi", type=float, default=200.0)
    parser.add_argument("--quality", nargs="*", default=QUALITIES[1:])
    parser.add_argument("--faults", action="store_true")
    wanted = parser.parse_args()
    seeds = list(HELD_OUT if wanted.held_out else DEVELOPMENT)[wanted.first : wanted.first + wanted.seeds]
    print(f"{'kind':24s} {HEADS}")
    total, all_errors, all_seconds = Score(), [], []
    for kind in wanted.kind:
        for quality in wanted.quality:
            summed, errors, seconds = Score(), [], []
            for seed in seeds:
                s, e, t = measure(scan_plan(make_plan(seed, kind), quality, wanted.dpi), faults=wanted.faults)
                summed.add(s)
                errors += e
                seconds.append(t)
            show(f"{kind}, {quality}", len(seeds), summed, errors, seconds)
            total.add(summed)
            all_errors += errors
            all_seconds += seconds
    if all_seconds:
        show("all made-up scans", len(all_seconds), total, all_errors, all_seconds)
    for scan in [sample_scan(), *reference_scans()]:
        s, e, t = measure(scan, faults=wanted.faults)
        show(scan.label, 1, s, e, [t])
    print(f"peak memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB")


if __name__ == "__main__":
    main()
