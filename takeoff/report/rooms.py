"""What is coated in each room: one entry for each of its systems, with the height of the coating in words."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import reduce
from itertools import product
from operator import add

from takeoff.model.figures import Elevation, Quantities
from takeoff.model.open_points import OpenPoint
from takeoff.report.content import ReportContent, Shown
from takeoff.units import Display


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomSystem:
    """The walls of a room under one system; the empty system is none.

    ``height`` says how high the coating goes above the floor, empty where no wall is coated.
    """

    room: str
    label: str
    system: str
    name: str
    runs: tuple[str, ...]
    quantities: Quantities
    height: str

    def lines(self, display: Display) -> tuple[str, ...]:
        """Say system, height and net area, as a plan shows them in the room."""
        q = self.quantities
        if not self.height:
            return (self.name, f"{display.length(q.cove_length)} of cove")
        net = f"{display.area(q.net_area)} net".replace(" ", "\N{NO-BREAK SPACE}")
        return (self.name, f"{self.height}, {net}")


def rooms_by_system(shown: Shown) -> tuple[RoomSystem, ...]:
    """Put the walls of each room together by system, rooms and systems in their order."""
    place, faces, items = {}, defaultdict(list), defaultdict(list)
    for e in shown.elevations:
        place[e.run] = (e.room or "", e.system or "")
        faces[place[e.run]].append(e)
    for item in shown.by_run.items:
        items[place.get(item.sources[0])].append(item)
    made = []
    for room, system in product(shown.by_room.items, shown.system_order):
        if found := items.get((room.id, system)):
            made.append(
                RoomSystem(
                    room=room.id,
                    label=room.label,
                    system=system,
                    name=shown.system_name(system),
                    runs=tuple(run for item in found for run in item.sources),
                    quantities=reduce(add, (item.quantities for item in found), Quantities()),
                    height="" if system in shown.uncoated else height_words(faces[room.id, system], shown.display),
                )
            )
    return tuple(made)


def height_words(faces: Sequence[Elevation], display: Display) -> str:
    """Say how high the coating of some faces goes above the floor, and where it does not go to the ceiling.

    A top edge that is a termination or is coated itself is that of a wainscot or a low wall.
    """
    said = []
    for e in faces:
        low, high = min(h for _, h in e.profile), max(h for _, h in e.profile)
        top = display.length(high) if high - low < 5e-4 else f"{display.length(low)} to {display.length(high)}"
        start = f"from {display.length(e.base)} to " if e.base > 0.0 else ""
        kind = {"exposed": " high, not to the ceiling", "return": " high, low wall"}.get(e.top, " high")
        said.append(f"{start}{top}{kind}")
    return "; ".join(dict.fromkeys(said))


def assumed_words(points: Iterable[OpenPoint], content: ReportContent) -> tuple[str, ...]:
    """Say what is assumed of open points, with names of systems and walls in place of the ids that edits go by."""
    names = {f"system {system.id}": f"system {system.name}" for system in content.catalogue.systems}
    faces: dict[str, list[str]] = {}
    for key in content.walls.walls:
        faces.setdefault(key.rpartition(":")[0], []).append(key)
    for run, keys in faces.items():
        room = content.walls.rooms[keys[0]]
        walls = " and ".join(
            content.walls.face(key).removeprefix(f"{room}, " if n else "") for n, key in enumerate(keys)
        )
        names |= {f"wall {run}": walls, f"wall {run} of {room}": walls}
    longest_first = "|".join(re.escape(id) for id in sorted(names, key=len, reverse=True))
    said = []
    for point in points:
        text = point.assumes or ": ".join(part for part in (point.where.words, point.why) if part)
        text = re.sub(rf"(?<![\w-])({longest_first})(?![\w-])", lambda found: names[found[0]], text)
        said.append(text[:1].upper() + text[1:])
    return tuple(dict.fromkeys(said))
