"""How figures came about, in lines that can be followed with a pocket calculator: of a face, and of an estimate."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from takeoff.measure.faces import MeasuredFace
from takeoff.model.costs import Estimate, MaterialLine
from takeoff.model.systems import Catalogue
from takeoff.units import Display


def face_arithmetic(face: MeasuredFace, show: Display) -> tuple[str, ...]:
    """Explain the net area, returns and corners of one measured face.

    Parameters
    ----------
    face
        The face.
    show
        How lengths and areas are shown.
    """
    e, q = face.elevation, face.quantities
    lowest, highest = min(h for _, h in e.profile) - e.base, e.max_height
    height = show.length(highest) if lowest == highest else f"{show.length(lowest)} to {show.length(highest)}"
    lines = [f"gross: {show.length(e.length)} × {height} = {show.area(q.gross_area)}"]
    for o in e.openings:
        lines.append(
            f"{o.source.kind} {o.source.mark}".rstrip()
            + f": {show.length(o.x1 - o.x0)} × {show.length(o.z1 - o.z0)} from {show.length(o.x0)}, "
            f"sill {show.length(o.z0)}"
        )
    lines.append(f"net: {show.area(q.gross_area)} − {show.area(q.deducted_area)} = {show.area(q.net_area)}")
    if q.return_area or q.cove_band_area:
        returns = f" + {show.area(q.return_area)} of coated returns" if q.return_area else ""
        cove = f" − {show.area(q.cove_band_area)} behind the cove" if q.cove_band_area else ""
        lines.append(f"coated: {show.area(q.net_area)}{returns}{cove} = {show.area(q.coated_area)}")
    for c in e.corners:
        kind = "inside" if c.is_inside else "outside"
        joined = f", with {c.joined}" if c.joined else ""
        lines.append(f"{kind} corner at {show.length(c.station)}: {show.length(c.length)}{joined}")
    return tuple(lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Lines under a title (may be empty), each a lead and what follows it."""

    title: str
    lines: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ArithmeticGroups:
    """Coated areas by room, material by product, labour by room, and the way to the price."""

    areas: tuple[Group, ...]
    material: tuple[Group, ...]
    labour: tuple[Group, ...]
    price: tuple[Group, ...]


def group_arithmetic(result: Estimate, catalogue: Catalogue | None = None) -> ArithmeticGroups:
    """Group the lines of an estimate; with the catalogue, steps go by their names instead of their ids."""
    names = {} if catalogue is None else {(s.id, t.id): t.name for s in catalogue.systems for t in s.steps}
    rooms = {r.id: r.label for r in result.rooms}
    labour: dict[str, list[tuple[str, str]]] = {}
    for line in result.labour:
        labour.setdefault(rooms.get(line.room, line.room), []).append((line.name, _joined(line.arithmetic.lines)))
    is_shared = len({line.room for line in result.areas}) < len(result.areas)
    areas = tuple(
        (f"{line.room_label}, {line.system}" if is_shared else line.room_label, _joined(line.arithmetic.lines))
        for line in result.areas
    )
    return ArithmeticGroups(
        areas=(Group(title="", lines=areas),),
        material=tuple(_product(m, rooms, names) for m in result.materials),
        labour=tuple(Group(title=title, lines=tuple(lines)) for title, lines in labour.items()),
        price=(Group(title="", lines=tuple((p.label, _joined(p.arithmetic.lines)) for p in result.price)),),
    )


def _product(line: MaterialLine, rooms: dict[str, str], names: dict[tuple[str, str], str]) -> Group:
    """Needs of one product: what a step says alike of several rooms is said once, and the rooms follow."""
    steps = [names.get((need.system, need.step), need.step) for need in line.needs]
    begin = Counter((step, need.arithmetic.lines[0]) for step, need in zip(steps, line.needs, strict=True))
    heads: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for step, need in zip(steps, line.needs, strict=True):
        said = need.arithmetic.lines
        shared = int(len(said) > 1 and begin[step, said[0]] > 1)
        rest = (rooms.get(need.room, need.room), _joined(said[shared:]))
        heads.setdefault((step, _joined(said[:shared])), []).append(rest)
    lines: list[tuple[str, str]] = []
    for (step, head), needs in heads.items():
        lines.append((step, head))
        lines.extend((f"– {room}", rest) for room, rest in needs)
    lines.append(("Buy", _joined(line.arithmetic.lines)))
    return Group(title=line.name, lines=tuple(lines))


def _joined(lines: Sequence[str]) -> str:
    return "; ".join(text.rstrip(".") for text in lines)
