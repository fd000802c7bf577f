"""How often rooms are right by how sure they are called, on plans with known truth.

Usage: python -m tests.bench.reliability [--seeds N] [--scans N] [--kind KIND ...] [--real FILE]
Plans: made ones of every kind (held-out seeds), the sample plans, and the reference plans where TAKEOFF_REFERENCE names
their folder; with ``--scans`` so many of each kind as scans too, the sample scan and the reference scans. Each kind is
a way of drawing of its own, as an office has, and none of them was trained on. ``--real`` adds the sheets of a file
that ``tests.real.sheet_scores --json`` wrote.

A room is right when its outline is (area within 2 %, intersection over union above 0.97) and its net wall area is
within 2 %, which its openings decide. "At most" is the exact bound (Clopper and Pearson, 1934) that a share of wrong
rooms stays under with 95 % confidence, were the plans drawn like those that are to come; rooms of one plan fail
together, so the number of plans is printed beside it.
"""

from __future__ import annotations

import argparse
import json
import math
from collections.abc import Iterable, Sequence
from itertools import pairwise
from pathlib import Path

from takeoff.trace.lines.traced_rooms import TracedRoom
from takeoff.trace.scans.raster_plan import read_raster_plan
from tests.trace.known_plans import reference_plans, sample_plans_known
from tests.trace.known_scans import reference_scans, sample_scan
from tests.trace.made_scans import QUALITIES, Scan, scan_plan
from tests.trace.plans import HELD_OUT, KINDS, SHAPES, TrueRoom, make_plan
from tests.trace.scoring import read, score
from tests.trace.site_plans import SITES, make_any

BINS = (0.0, 0.5, 0.8, 0.9, 0.95, 1.001)
"""Edges of what rooms are called."""
CONFIDENCE = 0.95
"""How surely the bound holds."""


def most_wrong(wrong: int, count: int) -> float:
    """Return the exact upper bound of a share, of which ``wrong`` in ``count`` were seen.

    Examples
    --------
    >>> round(most_wrong(0, 299), 4), round(most_wrong(1, 473), 4)
    (0.01, 0.01)
    """
    if wrong >= count:
        return 1.0
    low, high = wrong / count, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        seen = sum(math.comb(count, k) * middle**k * (1 - middle) ** (count - k) for k in range(wrong + 1))
        low, high = (middle, high) if seen > 1 - CONFIDENCE else (low, middle)
    return high


Outcome = tuple[TracedRoom, bool, bool]
"""A traced room, whether it is right, and whether its outline is."""


def outcomes(
    rooms: Iterable[TracedRoom], true: Sequence[TrueRoom], m_per_pt: float, stretch: float = 1.0
) -> list[Outcome]:
    """Judge the traced rooms of a sheet."""
    judged = [(room, score([room], true, m_per_pt, stretch=stretch)) for room in rooms]
    return [(room, own.found == 1 and own.errors[0] <= 0.02, own.found == 1) for room, own in judged]


def scanned(scan: Scan) -> list[Outcome]:
    """Read a scan, and judge its rooms."""
    mx, my = scan.calibration.mx, scan.calibration.my
    rooms = read_raster_plan(scan.pixels, scan.sheet, scan.calibration).rooms
    return outcomes(rooms, scan.rooms, math.sqrt(mx * my), mx / my)


def show(label: str, right: int, count: int) -> None:
    """Print one row."""
    if count:
        bound = most_wrong(count - right, count)
        print(f"{label:28s} {count:6d} {right:6d} {right / count:8.1%}   wrong at most {bound:.1%}")


def table(label: str, sheets: list[list[Outcome]]) -> None:
    """Print the outcomes of some sheets."""
    rows = [row for sheet in sheets for row in sheet]
    print(f"{len(sheets)} plans read {label}, {len(rows)} rooms\n{'called':28s}  rooms  right    share")
    for low, high in pairwise(BINS):
        here = [is_right for room, is_right, _ in rows if low <= room.confidence < high]
        show(f"{low:.0%} to {min(high, 1.0):.0%}", sum(here), len(here))
    sure = [is_right for room, is_right, _ in rows if room.sure]
    show(f"sure, on {sum(any(r.sure for r, _, _ in sheet) for sheet in sheets)} plans", sum(sure), len(sure))
    outline = [is_outline for room, _, is_outline in rows if room.outline_sure]
    show("outline sure (outline right)", sum(outline), len(outline))


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seeds", type=int, default=4)
    parser.add_argument("--scans", type=int, default=0)
    parser.add_argument("--kind", nargs="*", default=(*KINDS, *SITES))
    parser.add_argument("--real", type=Path)
    wanted = parser.parse_args()
    made = [make_any(seed, kind) for kind in wanted.kind for seed in list(HELD_OUT)[: wanted.seeds]]
    plans = [*made, *sample_plans_known(), *reference_plans()] if wanted.seeds else []
    if plans:
        table("as lines", [outcomes(read(plan).rooms, plan.rooms, plan.m_per_pt) for plan in plans])
    if wanted.scans:
        kinds = [kind for kind in (*KINDS, *SHAPES) if kind in wanted.kind or kind in SHAPES]
        pages = [make_plan(seed, kind) for kind in kinds for seed in list(HELD_OUT)[-wanted.scans :]]
        scans = (scan_plan(page, QUALITIES[1 + i % 3]) for i, page in enumerate(pages))
        table("as scans", [scanned(scan) for scan in (*scans, sample_scan(), *reference_scans())])
    if wanted.real:
        sheets = json.loads(wanted.real.read_text(encoding="utf-8")).values()
        judged = sum(sheet.get("sure_judged", 0) for sheet in sheets)
        show(f"sure on {len(sheets)} real sheets", judged - sum(sheet.get("sure_wrong", 0) for sheet in sheets), judged)


if __name__ == "__main__":
    main()
