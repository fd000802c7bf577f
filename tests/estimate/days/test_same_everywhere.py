"""One job, one plan: no slower processor, no load beside it and no other run changes the days or the cuts."""

import os
import subprocess
import sys

import pytest

PLAN = """
import random, sys
from datetime import date
from takeoff.estimate.days.calendar import Calendar
from takeoff.estimate.days.schedule import plan_days
from takeoff.estimate.days.works import Follow, Work
from takeoff.system.packing import pack

times = float(sys.argv[1])
for count, effort in ((8, 0.1), (26, 0.1)):  # all to the solver; half to dispatching, half to the solver
    draw = random.Random(1)
    works = []
    for room in range(count):
        last = None
        for n in range(5):
            hours, wait, id = draw.uniform(0.5, 4.0), draw.choice([0, 4, 8, 12, 16]), str(room) + "." + str(n)
            within = wait + 12 if wait else None
            after = (Follow(work=last, wait=wait, within=within, abrade_hours=1.0),) if last else ()
            works.append(Work(id=id, room=str(room), step=str(n), name=id, hours=hours, follows=after))
            last = id
    plan = plan_days(works, Calendar(start=date(2026, 3, 2)), crews=3, effort=times * effort)
    print([(w.work, w.kind, str(w.start), w.crews) for w in plan.works], plan.bound)
draw, pieces = random.Random(20), []
for _ in range(20):  # three to a length of 457.2 mm without waste
    a = draw.randint(115_000, 180_000)
    b = draw.randint(115_000, 342_200 - a)
    pieces += [a, b, 457_200 - a - b]
print(pack(pieces, 457_200, effort=times * 0.02))
"""


def planning(times):
    """Begin to print two plans and a cut list, each looked for some times as long, in a process of its own."""
    return subprocess.Popen([sys.executable, "-c", PLAN, str(times)], stdout=subprocess.PIPE, text=True)


def printed(work):
    told = work.communicate()[0]
    assert work.returncode == 0
    return told.splitlines()


@pytest.fixture(scope="module")
def usual():
    """What they are at full speed."""
    return printed(planning(1))


@pytest.fixture(scope="module")
def slowed():
    """What they are at half of a processor's speed, and when looked for six times as long, which takes the rest."""
    own = os.sched_getaffinity(0)
    os.sched_setaffinity(0, {min(own)})
    try:
        works = [planning(6), planning(1)]
    finally:
        os.sched_setaffinity(0, own)
    longer, slow = map(printed, works)
    return slow, longer


def test_a_slowed_processor_makes_the_same_plan_and_the_same_cuts(usual, slowed):
    assert slowed[0] == usual


def test_each_plan_is_cut_off_before_the_best_is_found(usual, slowed):
    """Otherwise no clock could change it, and the test above could not fail."""
    for short, long in zip(usual[:-1], slowed[1][:-1], strict=True):
        assert short != long
