"""How figures came about, in lines that can be followed with a pocket calculator: of a face, and of an estimate."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from takeoff.measure.faces import MeasuredFace
from takeoff.model.costs import Estimate, MaterialLine
from takeoff.model.systems import Catalogue
from takeoff.units import Display


def face_arithmetic(face: MeasuredFace, show: Display) -> tuple[str, ...]:
    """Explain the areas of one measured face, its returns, cove, corners and terminations."""
    q, times = face.once, face.elevation.times
    lines = [f"of one of {times} alike:"] if times > 1 else []
    lines += [*_gross(face, show), *_openings(face, show)]
    lines.append(f"net: {show.area(q.gross_area)} − {show.area(q.deducted_area)} = {show.area(q.net_area)}")
    if abs(q.measured_area - q.net_area) > 1e-6:
        lines.append(f"for payment, by the measuring rule: {show.area(q.measured_area)}")
    lines += _coated(face, show)
    if abs(q.base_length - q.length) > 1e-6:
        taken = f"{show.length(q.length)} − {show.length(q.length - q.base_length)} where openings reach the floor"
        lines.append(f"base: {taken} = {show.length(q.base_length)}")
    for c in face.elevation.corners:
        kind = "inside" if c.is_inside else "outside"
        joined = f", with {c.joined}" if c.joined else ""
        lines.append(f"{kind} corner at {show.length(c.station)}: {show.length(c.length)}{joined}")
    ends = {
        "free ends": q.end_length, "top that stops below the ceiling": q.top_exposed_length,
        "edges of returns": q.return_edge_length, "jambs": q.jamb_length, "heads": q.head_length,
        "sills": q.sill_length,
    }  # fmt: skip
    parts = [f"{show.length(length)} {name}" for name, length in ends.items() if length > 0.0]
    if parts:
        whole = f" = {show.length(q.termination_length)}" if len(parts) > 1 else ""
        lines.append(f"terminations: {' + '.join(parts)}{whole}")
    if times > 1:
        lines.append(f"all {times}: net {times} × {show.area(q.net_area)} = {show.area(face.quantities.net_area)}")
    return tuple(lines)


def _gross(face: MeasuredFace, show: Display) -> list[str]:
    """The face before openings; where the top slopes or steps, piece by piece between its heights."""
    e, q = face.elevation, face.once
    if max(h for _, h in e.profile) - min(h for _, h in e.profile) < 1e-9:
        return [f"gross: {show.length(e.length)} × {show.length(e.max_height)} = {show.area(q.gross_area)}"]
    lines = []
    for (s0, h0), (s1, h1) in pairwise(e.profile):
        if s1 - s0 > 1e-9:
            a, b = h0 - e.base, h1 - e.base
            high = show.length(a) if abs(a - b) < 1e-9 else f"({show.length(a)} + {show.length(b)}) / 2"
            area = show.area((s1 - s0) * (a + b) / 2)
            lines.append(f"from {show.length(s0)}: {show.length(s1 - s0)} × {high} = {area}")
    return [*lines, f"gross: the {len(lines)} pieces together = {show.area(q.gross_area)}"]


def _openings(face: MeasuredFace, show: Display) -> list[str]:
    return [
        f"{o.source.kind} {o.source.mark}".rstrip()
        + f": {show.length(o.x1 - o.x0)} × {show.length(o.z1 - o.z0)} from {show.length(o.x0)}, "
        f"sill {show.length(o.z0)}"
        for o in face.elevation.openings
    ]


def _coated(face: MeasuredFace, show: Display) -> list[str]:
    """Coated returns strip by strip, what is behind the cove, and what is left to coat."""
    e, q = face.elevation, face.once
    lines = []
    marks = {o.index: f"{o.source.kind} {o.source.mark}".rstrip() for o in e.openings}
    for strip in e.returns:
        where = f" of {marks.get(strip.opening, 'an opening')}" if strip.opening is not None else " of the wall"
        size = f"{show.length(strip.length)} × {show.length(strip.depth)} deep"
        lines.append(f"return, {strip.edge}{where}: {size} = {show.area(strip.area)}")
    if q.cove_length > 0.0:
        girth = show.length(q.cove_girth_area / q.cove_length)
        lines.append(
            f"cove: {show.length(q.cove_length)} × {girth} over its face = {show.area(q.cove_girth_area)}; behind it "
            f"{show.area(q.cove_band_area)}, {show.length(q.cove_band_area / q.cove_length)} high"
        )
    if q.return_area or q.cove_band_area:
        returns = f" + {show.area(q.return_area)} of coated returns" if q.return_area else ""
        cove = f" − {show.area(q.cove_band_area)} behind the cove" if q.cove_band_area else ""
        lines.append(f"coated: {show.area(q.net_area)}{returns}{cove} = {show.area(q.coated_area)}")
    return lines


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Lines under a title (may be empty), each a lead and what follows it."""

    title: str
    lines: tuple[tuple[str, str], ...]


def group_arithmetic(result: Estimate, catalogue: Catalogue | None = None) -> dict[str, tuple[Group, ...]]:
    """Group the lines of an estimate: ``areas`` by room, ``material`` by product, ``labour`` by room, and ``price``.

    With the catalogue, steps go by their names instead of their ids.
    """
    names = {} if catalogue is None else {(s.id, t.id): t.name for s in catalogue.systems for t in s.steps}
    rooms = {r.id: r.label for r in result.rooms}
    labour: dict[str, list[tuple[str, str]]] = {}
    for line in result.labour:
        labour.setdefault(rooms.get(line.room, line.room), []).append((line.name, _joined(line.arithmetic)))
    is_shared = len({line.room for line in result.areas}) < len(result.areas)
    areas = tuple(
        (f"{line.room_label}, {line.system}" if is_shared else line.room_label, _joined(line.arithmetic))
        for line in result.areas
    )
    return {
        "areas": (Group(title="", lines=areas),),
        "material": tuple(_product(m, rooms, names) for m in result.materials),
        "labour": tuple(Group(title=title, lines=tuple(lines)) for title, lines in labour.items()),
        "price": (Group(title="", lines=tuple((p.label, _joined(p.arithmetic)) for p in result.price)),),
    }


def _product(line: MaterialLine, rooms: dict[str, str], names: dict[tuple[str, str], str]) -> Group:
    """Needs of one product: what a step says alike of several rooms is said once, and the rooms follow."""
    steps = [names.get((need.system, need.step), need.step) for need in line.needs]
    begin = Counter((step, need.arithmetic[0]) for step, need in zip(steps, line.needs, strict=True))
    heads: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for step, need in zip(steps, line.needs, strict=True):
        said = need.arithmetic
        shared = int(len(said) > 1 and begin[step, said[0]] > 1)
        rest = (rooms.get(need.room, need.room), _joined(said[shared:]))
        heads.setdefault((step, _joined(said[:shared])), []).append(rest)
    lines: list[tuple[str, str]] = []
    for (step, head), needs in heads.items():
        lines.append((step, head))
        lines.extend((f"– {room}", rest) for room, rest in needs)
    lines.append(("Buy", _joined(line.arithmetic)))
    return Group(title=line.name, lines=tuple(lines))


def _joined(lines: Sequence[str]) -> str:
    return "; ".join(text.rstrip(".") for text in lines)
