"""Measure pricing of large jobs, cutting, crew days and the price range: gaps and times.

Run: python tests/bench/estimate.py [--limit EFFORT].
Instances are drawn with a fixed seed. Nothing is asserted: the figures are for reading.
"""

import argparse
import random
import time
from dataclasses import replace
from datetime import date

from measure import SCALE, make_plan

from takeoff.actions.quantities import catalogue_of, make_estimate
from takeoff.estimate.days.calendar import Calendar
from takeoff.estimate.days.schedule import plan_days
from takeoff.estimate.days.works import Follow, Work
from takeoff.estimate.simulate import Part, ThreePoint, simulate_price
from takeoff.job.job import Job, JobSettings
from takeoff.model.cut_lists import Piece
from takeoff.model.systems import Rates
from takeoff.system.cutting import cut_stock
from takeoff.system.packing import pack


def triplets(count, draw):
    """Build the triplet class of Falkenauer (1996): the optimum is the count."""
    sizes = []
    for _ in range(count):
        first = draw.randint(380, 490)
        second = draw.randint(250, (1000 - first) // 2)
        sizes += [first, second, 1000 - first - second]
    return sizes


def worst_for_first_fit(count):
    """Build the class of Johnson and others (1974): 9 lengths for each count, where first-fit decreasing takes 11."""
    return [510] * 6 * count + [270] * 6 * count + [260] * 6 * count + [230] * 12 * count


def cutting(limit):
    draw = random.Random(1)
    heights = [2.40, 2.75, 3.00, 3.60, 4.20, 5.50]
    drops = [round(draw.choice(heights) + 0.1 + draw.choice([0, 0, 0, 0.15, 0.3]), 3) for _ in range(300)]
    sloped = [round(draw.uniform(2.4, 6.2), 3) for _ in range(300)]
    long_drops = [round(draw.uniform(6.0, 20.0), 3) for _ in range(300)]
    strips = [round(draw.uniform(0.8, 2.4), 3) for _ in range(300)]
    longer = [round(draw.uniform(11.5, 22.0), 3) for _ in range(300)]
    for name, lengths, stock in (
        ("300 drops of few heights, roll of 45.72 m", drops, 45.72),
        ("300 drops under sloped tops, roll of 45.72 m", sloped, 45.72),
        ("300 long drops, roll of 45.72 m", long_drops, 45.72),
        ("300 drops, two or three to a roll of 45.72 m", longer, 45.72),
        ("300 strips, stock of 3.048 m", strips, 3.048),
    ):
        began = time.perf_counter()
        plan = cut_stock([Piece(label="", length=x) for x in lengths], stock_length=stock, effort=limit)
        took, gap = time.perf_counter() - began, len(plan.stock) - plan.lower_bound
        print(f"{name:48} {len(plan.stock):4} first fit {plan.first_fit:4} gap {gap} {took:6.2f} s")
    known = [(f"{3 * n} pieces in triplets", triplets(n, random.Random(n)), n) for n in (20, 40, 83, 100)]
    known += [(f"{30 * n} pieces of Johnson's class", worst_for_first_fit(n), 9 * n) for n in (1, 10)]
    for title, sizes, optimum in known:
        began = time.perf_counter()
        found = pack(sizes, 1000, effort=limit)
        took = time.perf_counter() - began
        gap = len(found.bins) - found.lower_bound
        name = f"{title}, optimum {optimum}"
        print(f"{name:48} {len(found.bins):4} first fit {found.first_fit:4} gap {gap} {took:6.2f} s")


def rooms(count, draw):
    """Draw rooms of 30 to 160 m² with seven steps, recoat windows of 4 to 48 h and 12 to 48 h."""
    works = []
    for room in range(count):
        area = draw.uniform(30.0, 160.0)
        steps = (
            ("prepare", 60.0, 0.0, None),
            ("prime", 120.0, 4.0, 48.0),
            ("mat", 25.0, 12.0, 48.0),
            ("sand", 50.0, 0.0, None),
            ("glaze", 60.0, 12.0, 48.0),
            ("second glaze", 60.0, 12.0, 48.0),
            ("sealant", 100.0, 0.0, None),
        )
        last = None
        for n, (name, rate, wait, within) in enumerate(steps):
            hours = area / rate / 2.0
            follows = (
                () if last is None else (Follow(work=last[0], wait=last[1], within=last[2], abrade_hours=last[3]),)
            )
            works.append(Work(id=f"{room}.{n}", room=f"R{room}", step=name, name=name, hours=hours, follows=follows))
            last = (f"{room}.{n}", wait, within, 0.25 * hours)
    return works


def scheduling(limit):
    for count, crews in ((10, 2), (10, 4), (50, 4), (200, 8)):
        works = rooms(count, random.Random(1))
        for seconds in (0.0, limit):
            began = time.perf_counter()
            plan = plan_days(works, Calendar(start=date(2026, 3, 2)), crews=crews, effort=seconds)
            took = time.perf_counter() - began
            print(
                f"{count:4} rooms, {len(works):5} works, {crews} crews, effort {seconds:4.0f}:"
                f" {plan.days:3} days, {plan.hours:7.2f} h, bound {plan.bound:7.2f} h,"
                f" gap {1.0 - plan.bound / plan.hours:6.2%},"
                f" {plan.abraded:3} abraded, {took:6.2f} s"
            )


def simulation():
    for count in (10, 20, 40):
        parts = [Part(id=str(i), label="", kind="labour", amount=1000.0) for i in range(count)]
        spreads = [
            ThreePoint(id=str(i), label="", low=0.85, likely=1.0, high=1.4, governs=(str(i),)) for i in range(count)
        ]
        began = time.perf_counter()
        found = simulate_price(parts, spreads, Rates())
        took = time.perf_counter() - began
        print(f"100 000 draws of {count:2} rates: P50 {found.p50:9.2f}, P80 {found.p80:9.2f}, {took:5.2f} s")


def whole_jobs():
    first = 0.0
    for count in (1_000, 10_000):
        plan = make_plan(count)
        job = Job(settings=JobSettings(name="bench"), runs=plan.runs, calibrations={"1": SCALE})
        systems = dict(zip(("mat", "thin", "flake"), [s.id for s in catalogue_of(job).systems], strict=False))
        job = replace(job, rooms={id: replace(room, system=systems[room.system]) for id, room in plan.rooms.items()})
        began = time.process_time()
        price = make_estimate(job).estimate.line("price").amount
        took = time.process_time() - began
        first = first or took
        print(f"{count:6,} runs measured and priced: {price:,.2f}, {took:5.2f} s, {took / first:4.1f} times the first")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--limit", type=float, default=5.0, help="effort for each exact call")
    seconds = parser.parse_args().limit
    whole_jobs()
    cutting(seconds)
    scheduling(4.0 * seconds)
    simulation()
