"""The foreman's copy: what is done where, when and with what, and how each wall's mat is cut. Nothing of money.

A foreman's copy is a value of its own, made from what the full report shows; its writer sees it alone, so that no
price, cost or rate can reach it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, fields
from datetime import date, datetime

from takeoff.estimate.climate import limits_of
from takeoff.estimate.days.batches import LatePack
from takeoff.estimate.days.calendar import day_words
from takeoff.estimate.days.works import DayPlan
from takeoff.estimate.price import ESTIMATE_ONLY
from takeoff.model.cut_lists import CutList, Drop, Piece
from takeoff.model.systems import Product
from takeoff.report.bill_tables import build_up_tables
from takeoff.report.content import OWN_AFFAIRS, ReportContent, Shown
from takeoff.report.plan_names import assumed_words, rooms_by_system
from takeoff.report.planning_tables import CutRow, cut_rows, ready_table
from takeoff.report.tables import Cell, Table, shown_amount, texts
from takeoff.units import UnitSystem


@dataclass(frozen=True, slots=True, kw_only=True)
class Foreman(Shown):
    """What a foreman works from; every list and table is as it will be read.

    ``steps`` are the steps with their times, a table for each day, ``mixing`` what is mixed in parts. ``packs`` says
    what each step takes, ``whole`` the packs that come to the site. ``drops`` are the pieces of mat on each
    face by its key, ``cuts`` how they are cut, by the id of the room; ``strips`` what is cut from stock lengths.
    ``first`` says which day the days are counted from, ``open`` what is to be looked at before the work.
    """

    rooms: Table
    plan: DayPlan
    steps: tuple[Table, ...]
    ready: Table
    packs: Table
    whole: Table
    mixing: Table | None
    limits: Table
    build_up: tuple[Table, ...]
    drops: Mapping[str, tuple[Drop, ...]]
    cuts: Mapping[str, Table]
    strips: Table | None
    first: str
    open: tuple[str, ...]
    cautions: tuple[str, ...]

    def head_of_edition(self) -> tuple[tuple[str, str], ...]:
        """Where the work is, and of what day the copy is."""
        return (("Site", "\n".join(self.letterhead.site)), ("Date", self.date), ("Days", self.first))


def make_foreman(
    content: ReportContent, *, plan: DayPlan, late: Sequence[LatePack], cuts: Sequence[CutList], first: str
) -> Foreman:
    """Make the foreman's copy of a priced job.

    Notes of the plan, which speak of the price, are left out. ``late`` are packs that cannot be laid whole within their
    pot life; ``first`` says which day the days are counted from.
    """
    e, d = content.estimate, content.display
    cut = cut_rows(cuts, content.walls)
    drops, places = _drops(cut)
    layouts = [layout for line in e.materials for need in line.needs for layout in need.layouts]
    returns = {drop.label for layout in layouts for drop in layout.returns}
    on_walls = {face: tuple(drop for drop in found if drop.label not in returns) for face, found in drops.items()}
    here = {None, *(item.id for item in content.by_room.items)}
    points = [p for p in content.points.open if p.kind not in OWN_AFFAIRS and p.where.room in here]
    return Foreman(
        **{field.name: getattr(content, field.name) for field in fields(Shown)},
        rooms=_rooms(content),
        plan=plan,
        steps=_steps(plan),
        ready=ready_table(plan),
        packs=_packs(content),
        whole=_whole_packs(content),
        mixing=_mixing(late),
        limits=_limits([content.catalogue.product(line.product) for line in e.materials], d.system),
        build_up=build_up_tables(e, content.catalogue, d),
        drops=on_walls,
        cuts=_cuts(content, drops, places, returns),
        strips=_strips(content, cut),
        first=first,
        open=assumed_words(points, content),
        cautions=tuple(text for text in e.cautions if text != ESTIMATE_ONLY),
    )


def _rooms(content: ReportContent) -> Table:
    d = content.display
    rows: list[tuple[Cell, ...]] = []
    for work in rooms_by_system(content):
        q = work.quantities
        sizes = (d.area(q.net_area) if work.height else "", d.length(q.cove_length) if q.cove_length else "")
        counts = (f"{q.inside_corners + q.outside_corners:.0f}", f"{q.openings:.0f}")
        rows.append((work.label, work.name, work.height, *sizes, *counts))
    titles = ("Room", "System", "Height of the coating", "Walls, net", "Cove", "Corners", "Openings")
    return Table(id="rooms", title="Rooms", columns=texts(*titles), rows=tuple(rows))


def _steps(plan: DayPlan) -> tuple[Table, ...]:
    rows: dict[date, list[tuple[datetime, tuple[Cell, ...]]]] = {}
    has_crews = len({work.crews for work in plan.works}) > 1
    for work in plan.works:
        for n, (begin, end) in enumerate(work.bars):
            last = "end of day" if end.date() > begin.date() else f"{end:%H:%M}"
            batches = f"{work.batches} batch{'es' * (work.batches != 1)}" if work.batches and not n else ""
            crews = (", ".join(work.crews),) if has_crews else ()
            why = "goes on" if n else work.reason
            row = (f"{begin:%H:%M} to {last}", work.room, work.name, *crews, batches, why)
            rows.setdefault(begin.date(), []).append((begin, row))
    titles = ("Time", "Room", "Step", *(("Crew",) if has_crews else ()), "Mix", "Why then")
    in_order = ((day, tuple(row for _, row in sorted(found, key=lambda each: each[0]))) for day, found in rows.items())
    return tuple(
        Table(id=f"day-{day}", title=day_words(day), columns=texts(*titles), rows=each)
        for day, each in sorted(in_order)
    )


def _packs(content: ReportContent) -> Table:
    """What each step of each room takes, in units and in packs of the smallest size bought."""
    e, d = content.estimate, content.display
    labels = {room.id: room.label for room in e.rooms}
    orders = {
        (s.id, t.id): (i, j, t.name) for i, s in enumerate(content.catalogue.systems) for j, t in enumerate(s.steps)
    }
    found: list[tuple[tuple[str, int, int], tuple[Cell, ...]]] = []
    for line in e.materials:
        pack = min((p for p in line.packs if p.count), key=lambda p: p.size, default=None)
        for need in line.needs:
            packs = "" if pack is None else f"{max(0.1, need.needed / pack.size):.1f} × {pack.pack}"
            amount, unit = shown_amount(need.needed, line.unit, d)
            system, step, name = orders[need.system, need.step]
            label = labels.get(need.room, need.room)
            found.append(((label, system, step), (label, name, line.name, f"{amount:,.2f} {unit}", packs)))
    return Table(
        id="packs",
        title="Packs for each step",
        columns=texts("Room", "Step", "Product", "Takes", "In packs"),
        rows=tuple(row for _, row in sorted(found, key=lambda each: each[0])),
        note="Loss is in it. What is left in a pack goes on to the next room.",
    )


def _whole_packs(content: ReportContent) -> Table:
    rows = []
    for line in content.estimate.materials:
        packs = [f"{p.count} × {p.pack}" for p in line.packs if p.count]
        colours = [f"{line.colour_packs} colour pack{'s' * (line.colour_packs != 1)}"] if line.colour_packs else []
        rows.append((line.name, " + ".join((*packs, *colours))))
    return Table(id="whole", title="Whole packs on site", columns=texts("Product", "Packs"), rows=tuple(rows))


def _mixing(late: Sequence[LatePack]) -> Table | None:
    """In how many parts a pack is mixed that takes longer to lay than its pot life."""
    rows = tuple(
        (p.name, p.pack, f"{p.hours * 60:.0f}", f"{p.pot_life * 60:.0f}", str(math.ceil(p.hours / p.pot_life - 1e-9)))
        for p in late
    )
    note = (
        "A whole pack of these sets before the crew has laid it. Mix equal parts by the data sheet's ratio, one after "
        "the other, or send more people."
    )
    columns = texts("Step", "Pack", "Minutes to lay it", "Pot life in minutes", "Mix in parts")
    return Table(id="mixing", title="Mix in parts", columns=columns, rows=rows, note=note) if rows else None


def _limits(products: Sequence[Product], units: UnitSystem) -> Table:

    def degrees(celsius: float) -> str:
        return f"{celsius * 1.8 + 32.0:.0f}" if units == "imperial" else f"{celsius:.0f}"

    rows = []
    for product in products:
        if product.pot_life is None:
            continue
        limits = limits_of(product)
        margin = limits.margin * (1.8 if units == "imperial" else 1.0)
        air = f"{degrees(limits.least_temperature)} to {degrees(limits.most_temperature)}"
        humidity = f"{limits.most_humidity:.0%}".replace("%", " %")
        pot_life = f"{product.pot_life * 60:.0f} min at {degrees(product.temperature)}"
        row = (product.name, air, humidity, f"{margin:.0f}", product.mix, pot_life, product.substrate_moisture)
        rows.append(row)
    unit = "°F" if units == "imperial" else "°C"
    titles = [
        *("Product", f"Air and surface ({unit})", "Humidity at most", f"Surface above dew point ({unit})"),
        *("Mix by volume", f"Pot life ({unit})", "Moisture of the wall"),
    ]
    kept = [i for i, _ in enumerate(titles) if any(row[i] for row in rows)]
    return Table(
        id="limits",
        title="Limits of the day",
        columns=texts(*(titles[i] for i in kept)),
        rows=tuple(tuple(row[i] for i in kept) for row in rows),
        note="Read air, surface and humidity before each coat and write them down. The data sheet governs.",
    )


def _drops(rows: Sequence[CutRow]) -> tuple[dict[str, tuple[Drop, ...]], dict[str, str]]:
    """Pieces of mat on each face in hanging order, and where each comes from, by its label."""
    found: dict[str, dict[int, Drop]] = {}
    places: dict[str, str] = {}
    for row in rows:
        cut = "" if row.number is None else f", cut {row.number}"
        for drop in (row.what, *row.beside):
            if isinstance(drop, Drop):
                found.setdefault(drop.face, {})[drop.number] = drop
                places[drop.label] = row.place + cut + ("" if drop is row.what else ", beside the drop")
    return {face: tuple(drops[n] for n in sorted(drops)) for face, drops in found.items()}, places


def _cuts(
    content: ReportContent, drops: Mapping[str, tuple[Drop, ...]], places: Mapping[str, str], returns: Set[str]
) -> dict[str, Table]:
    d = content.display
    rows: dict[str, list[tuple[Cell, ...]]] = {}
    for e in content.elevations:
        for drop in drops.get(e.key, ()):
            short = ", short" if drop.is_short else ""
            kind = ", for a reveal or a wall end" if drop.label in returns else short
            is_anywhere = drop.label in returns and drop.x0 == 0.0
            wall = content.walls.number(e.key) if is_anywhere else content.walls.at(e.key, drop.x0).short
            row = (wall, str(drop.number), f"{d.length(drop.length)}{kind}",
                   d.length(drop.width), places[drop.label])  # fmt: skip
            rows.setdefault(e.room or "", []).append(row)
    columns = texts("Wall", "Drop", "Cut to length", "Width", "From")
    return {room: Table(id="cuts", title="Cut list", columns=columns, rows=tuple(made)) for room, made in rows.items()}


def _strips(content: ReportContent, rows: Sequence[CutRow]) -> Table | None:
    d, walls = content.display, content.walls
    strips = (row for row in rows if isinstance(row.what, Piece))
    made = tuple((row.name, row.place, d.length(row.length), walls.what(row.what)) for row in strips)
    columns = texts("Product", "From", "Cut", "For")
    return Table(id="strips", title="Strips and trims", columns=columns, rows=made) if made else None
