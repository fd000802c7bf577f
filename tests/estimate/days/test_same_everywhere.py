"""One job, one plan: no slower processor, no load beside it and no other run changes the days or the cuts."""

import os
import subprocess
import sys

PLAN = """
import random
from datetime import date
from takeoff.estimate.days.calendar import Calendar
from takeoff.estimate.days.schedule import plan_days
from takeoff.estimate.days.works import Crew, Follow, Work
from takeoff.system.packing import pack

for count in (6, 30):  # all to the solver; half to dispatching, half to the solver
    draw = random.Random(1)
    works = []
    for room in range(count):
        last = None
        for n, (crew, wait, within) in enumerate([("A", 0, None), ("B", 4, 48), ("B", 12, 48), ("A", 0, None), ("B", 12, 48)]):
            hours = draw.uniform(0.5, 4.0)
            after = (Follow(work=last[0], wait=last[1], within=last[2], abrade_hours=1.0),) if last else ()
            id = str(room) + "." + str(n)
            works.append(Work(id=id, room=str(room), step=str(n), name=id, hours=hours, crews=((crew, 1),), follows=after))
            last = (id, wait, within)
    plan = plan_days(works, [Crew(id="A", name="A"), Crew(id="B", name="B")], Calendar(start=date(2026, 3, 2)), effort=0.5)
    print([(w.work, w.kind, str(w.start), w.crews) for w in plan.works], plan.bound)
    print(pack([draw.randint(115_000, 220_000) for _ in range(40)], 457_200, effort=0.5))
"""  # noqa: E501


def planned():
    return subprocess.run([sys.executable, "-c", PLAN], capture_output=True, text=True, check=True).stdout


def slowed():
    """Plan on one processor that another process keeps busy: at half of its speed."""
    own = os.sched_getaffinity(0)
    os.sched_setaffinity(0, {min(own)})
    busy = subprocess.Popen([sys.executable, "-c", "while True: pass"])
    try:
        return planned()
    finally:
        busy.kill()
        busy.wait()
        os.sched_setaffinity(0, own)


def test_a_slowed_processor_makes_the_same_plan_and_the_same_cuts():
    assert slowed() == planned()
