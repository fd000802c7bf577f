"""Recoat windows of 200 made jobs: how many surfaces are covered past theirs, with abrading and without.

python -m tests.bench.recoat_windows [--jobs 200] [--seed 16]
"""

from __future__ import annotations

import argparse
import random

from tests.estimate.days.test_recoat_windows import planned


def main() -> None:
    """Plan made jobs and print what the catalogue alone says of them."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--jobs", type=int, default=200)
    parser.add_argument("--seed", type=int, default=16)
    given = parser.parse_args()
    draw = random.Random(given.seed)
    works = abraded = jobs_abraded = 0
    bad: list[str] = []
    for n in range(given.jobs):
        faulty, plan = planned(draw)
        works += sum(work.kind == "work" for work in plan.works)
        abraded += plan.abraded
        jobs_abraded += plan.abraded > 0
        bad += [f"job {n}: {said}" for said in faulty]
    print(f"{given.jobs} made jobs, {works} works planned")
    print(f"windows missed and abraded first: {abraded}, in {jobs_abraded} jobs")
    print(f"windows missed without abrading, waits not kept, or abrading for nothing: {len(bad)}")
    for said in bad:
        print(f"  {said}")


if __name__ == "__main__":
    main()
