"""The area schedule of the sample building, as an architect might issue it, with three slips planted in it.

Wall areas net of openings, from the sizes in ``scenario.py`` through the true quantities, rounded to a square foot.
Run ``python -m sample_plans.schedule [FOLDER]`` to write ``area-schedule.csv``.
"""

from __future__ import annotations

import sys
from pathlib import Path

from sample_plans.scenario import FOOT, ROOMS
from sample_plans.tracing import truth

WRONG_HEIGHT, WRONG_BASIS, WRONG_UNIT = "106", "104", "102"
"""Rooms of the slips: walls taken 10'-0" high for 9'-0", the floor for the walls, square metres under square feet."""


def schedule() -> str:
    """Write the schedule as CSV."""
    rooms = truth()["rooms"]
    rows = ["AREA SCHEDULE,,", "Room No.,Room Name,Wall Area (SF)"]
    total = 0
    for room in ROOMS:
        name = "CORR." if room.name == "Corridor" else room.name.upper()
        square_feet = rooms[room.id]["net_area"] / FOOT**2
        if room.number == WRONG_HEIGHT:
            # one foot more of height all round; the door does not reach it
            square_feet += 2 * (20 + 19 + 8 / 12) * 1
        elif room.number == WRONG_BASIS:
            square_feet = 36.0 * 22.0
        elif room.number == WRONG_UNIT:
            square_feet = rooms[room.id]["net_area"]
        total += round(square_feet)
        rows.append(f"{room.number},{name},{round(square_feet)}")
    return "\n".join([*rows, f",TOTAL,{total}", ""])


if __name__ == "__main__":
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent
    (folder / "area-schedule.csv").write_text(schedule(), encoding="utf-8")
