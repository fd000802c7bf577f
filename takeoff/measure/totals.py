"""Sum measured faces by room, run or system, in the one order, and group them into the lots of an estimate."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from itertools import chain, pairwise
from operator import attrgetter
from string import ascii_uppercase
from typing import Literal

import numpy as np
import shapely

from takeoff.limits import no_sweeps
from takeoff.measure.faces import MeasuredFace
from takeoff.measure.uncertainty import combine
from takeoff.model.figures import QUANTITY_FIELDS, Elevation, Lot, MeasuredItem, Measurement, Quantities, Uncertainty
from takeoff.model.systems import Substrate
from takeoff.model.walls import Room, Run

NaturalKey = tuple[tuple[bool, int, str], ...]


def natural_key(text: str) -> tuple[bool, NaturalKey, str]:
    """Return what to sort a text by: digits by their value, letters without regard to case, an empty text last.

    Examples
    --------
    >>> sorted(["10 Store", "9 Wash", "101A Lab", "", "101 Corridor"], key=natural_key)
    ['9 Wash', '10 Store', '101 Corridor', '101A Lab', '']
    """
    parts = re.split(r"([0-9]+)", text.casefold().strip())
    key = tuple((n % 2 == 0, int(part) if n % 2 else 0, part) for n, part in enumerate(parts) if part.strip())
    return (not key, key, text)


By = Literal["room", "run", "system"]


def sum_quantities(items: Sequence[Quantities]) -> Quantities:
    """Sum figure by figure; each sum is rounded once, so it does not depend on the order."""
    if not items:
        return Quantities()
    if len(items) == 1:
        return items[0]
    return Quantities(
        **dict(zip(QUANTITY_FIELDS, map(math.fsum, zip(*map(_figures, items), strict=True)), strict=True))
    )


_figures = attrgetter(*QUANTITY_FIELDS)


MADE = re.compile(r"^room-(\d+)$")
"""Id of a room that the program made, which people are told as a number."""


def room_label(room: Room | None) -> str:
    """Number and name of a room, and how often it is built where that is more than once; or what stands for none.

    Examples
    --------
    >>> room_label(Room(id="R1", number="104", name="BATH", count=6))
    '104 BATH × 6'
    """
    if room is None:
        return "No room"
    made = MADE.match(room.id)
    named = " ".join(t for t in (room.number, room.name) if t) or (f"Room {made[1]}" if made else room.id)
    return named if room.count == 1 else f"{named} × {room.count}"


ID = re.compile(r"(?P<kind>\b(?:[Rr]uns?|[Ww]alls?) )?(?P<id>\b\w(?:[\w.-]*\w)?)")
"""A word that may be an id, with what is said before one."""
TWICE = re.compile(r"(\bwall(?: [A-Z]+)? of (\S.*?)) of \2")
"""A wall whose room is said once more."""


def wall_labels(runs: Iterable[Run], rooms: Mapping[str, Room]) -> dict[str, str]:
    """Name walls by their room, with a letter where it has several; by id.

    Numbers are kept for what stands from corner to corner, which is counted in documents and cut lists.
    """
    of_room: dict[str | None, list[str]] = {}
    for run in runs:
        of_room.setdefault(run.room if run.room in rooms else None, []).append(run.id)
    names = {}
    for room, ids in of_room.items():
        place = f"of {room_label(rooms[room])}" if room else "in no room"
        for i, id in enumerate(ids):
            letter = f" {ascii_uppercase[i % 26] * (i // 26 + 1)}" if len(ids) > 1 else ""
            names[id] = f"wall{letter} {place}"
    return names


def in_names(text: str, names: Mapping[str, str]) -> str:
    """Write names of walls in place of their ids in a sentence.

    Examples
    --------
    >>> in_names("run run-1, point 2: Split it.", {"run-1": "wall of 104 LAB"})
    'wall of 104 LAB, point 2: Split it.'
    >>> in_names("Walls a and b", {"a": "wall of 104 LAB", "b": "wall in no room"})
    'Wall of 104 LAB and b'
    >>> in_names("Outline of wall a of 104 LAB: a gap", {"a": "wall B of 104 LAB"})
    'Outline of wall B of 104 LAB: a gap'
    """

    def named(found: re.Match[str]) -> str:
        kind, name = found["kind"] or "", names.get(found["id"])
        if name is None or not (kind or not found["id"].isalnum()):
            return found[0]
        return name[:1].upper() + name[1:] if kind[:1].isupper() else name

    return TWICE.sub(r"\1", ID.sub(named, text))


def item_label(key: str, by: By, rooms: Mapping[str, Room]) -> str:
    """Return what a line of a measurement is called."""
    return room_label(rooms.get(key)) if by == "room" else key or "No system"


def item_order(key: str, label: str) -> tuple[object, ...]:
    """Return what lines are sorted by: number and name or id, in natural order; those without a room or system last."""
    return (not key, natural_key(label), natural_key(key))


@no_sweeps()
def summarise(faces: Sequence[MeasuredFace], *, by: By, rooms: Mapping[str, Room], rule: str) -> Measurement:
    """Sum measured faces by room, run or system; items come in natural order of what they are called.

    Every item and the total carry the expanded uncertainty (k = 2) of net area and base length; the scale's part is
    fully correlated within a calibration, so it does not shrink with the number of runs.
    """
    groups: dict[str, list[MeasuredFace]] = defaultdict(list)
    for face, key in zip(faces, map(attrgetter(by), map(attrgetter("elevation"), faces)), strict=True):
        groups[key or ""].append(face)
    items = [_item(key, item_label(key, by, rooms), members) for key, members in groups.items()]
    items.sort(key=lambda item: item_order(item.id, item.label))
    return Measurement(by=by, rule=rule, items=tuple(items), total=_item("total", "Total", faces))


def _item(key: str, label: str, members: Sequence[MeasuredFace]) -> MeasuredItem:
    u_area, u_base = combine([m.spread for m in members])
    return MeasuredItem(
        id=key,
        label=label,
        quantities=Quantities() + sum_quantities([m.quantities for m in members]),
        u=Uncertainty(net_area=2.0 * u_area, base_length=2.0 * u_base),
        sources=tuple(dict.fromkeys(m.elevation.run for m in members)),
        doubts=tuple(chain.from_iterable(m.doubts for m in members if m.doubts)),
    )


Finish = tuple[Substrate | None, str]
"""Substrate and colour of a wall."""


def lots(
    faces: Sequence[MeasuredFace],
    *,
    rooms: Mapping[str, Room],
    band_edges: Sequence[float],
    finishes: Mapping[str, Finish] | None = None,
) -> tuple[Lot, ...]:
    """Group measured faces into lots in the order of the rooms, with net area by height band.

    One per room, system, substrate and colour; ``finishes`` gives the last two by run id. Faces without a system are in
    no lot. ``band_edges`` are heights above the floor in m; the last band is open above.
    """
    groups: dict[tuple[str, str, Finish], list[MeasuredFace]] = defaultdict(list)
    for f in faces:
        if f.elevation.system:
            finish = (finishes or {}).get(f.elevation.run, (None, ""))
            groups[(f.elevation.room or "", f.elevation.system, finish)].append(f)
    order = sorted(
        groups,
        key=lambda key: (
            item_order(key[0], item_label(key[0], "room", rooms)), key[1], key[2][0] or "", natural_key(key[2][1])
        ),
    )  # fmt: skip
    out = []
    for room, system, finish in order:
        members = groups[room, system, finish]
        built = [m.elevation for m in members for _ in range(m.elevation.times)]
        out.append(
            Lot(
                system=system,
                room=room,
                room_label=room_label(rooms.get(room)),
                quantities=sum_quantities([m.quantities for m in members]),
                faces=tuple(built),
                bands=height_bands(built, band_edges),
                runs=tuple(dict.fromkeys(m.elevation.run for m in members)),
                substrate=finish[0],
                colour=finish[1],
                times=members[0].elevation.times,
            )
        )
    return tuple(out)


def height_bands(items: Sequence[Elevation], edges: Sequence[float]) -> tuple[tuple[float, float, float], ...]:
    """Net area between heights above the floor, by clipping, exact for slopes.

    Gives (from, to, area) in m, m and m²; bands without area are left out. The areas sum to the net area.
    """
    bounds = shapely.bounds([e.wall for e in items]) if items else np.zeros((1, 4))
    foot, top = float(bounds[:, 1].min()), float(bounds[:, 3].max())
    cuts = [0.0, *(e for e in edges if 0.0 < e < top), max(top, 0.0)]
    nets, ends = [e.net for e in items], [e.length + 1.0 for e in items]
    bands = []
    for low, high in pairwise(cuts):
        is_whole = low <= foot and high >= top
        inside = nets if is_whole else shapely.intersection(nets, shapely.box(-1.0, low, ends, high))
        area = math.fsum(shapely.area(inside))
        if area > 0:
            bands.append((low, high, area))
    return tuple(bands)
