"""The sheets of the workbook that measure again: lengths, heights and openings give areas, areas give what steps take.

Lengths, heights, widths and counts are inputs. What is drawn and no formula can follow stays as measured: what walls
take from one another, slopes and outlines (the column "Otherwise"), returns, what is behind the cove, edges of
openings. Corners and ends go with the mean height of the walls of their room and system.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from takeoff.estimate.labour import height_factor
from takeoff.model.costs import MaterialNeed
from takeoff.model.figures import Elevation, Quantities
from takeoff.report.book import Book, CellValue, Formula, sum_where
from takeoff.report.content import ReportContent
from takeoff.report.tables import numbers, shown_amount, shown_basis, texts
from takeoff.system.packs import SLACK
from takeoff.units import Display

MOST_TRIED = 500
"""Of the larger of two packs no more are tried."""
Key = tuple[str, str]
"""Room and system."""


@dataclass(frozen=True, slots=True)
class Lots:
    """Rooms by system, a metre in the unit that lengths are shown in, and the formula of the need of each product.

    ``at`` has the row on the sheet "Areas", net area, gross area and length as measured, in the units that are shown,
    and all that was measured.
    """

    at: Mapping[Key, tuple[int, float, float, float, Quantities]]
    metre: float
    needs: Sequence[str] = ()

    def amount(self, key: Key, basis: str, value: float, shown: float) -> CellValue:
        """Return what a step is counted by, as a formula of the walls where it follows them.

        ``basis`` and ``value`` are the estimate's, in m², m, m³ or pieces; ``shown`` is the same as it is shown.
        """
        if key not in self.at or not value:
            return shown
        row, net, gross, length, measured = self.at[key]
        if basis in ("net_area", "coated_area"):
            return Formula(text=f"{shown!r}+Areas!C{row}-{net!r}", value=shown)
        if basis == "gross_area":
            return Formula(text=f"{shown!r}+Areas!F{row}-{gross!r}", value=shown)
        upright, along = _parts(measured, basis, value)
        by = shown / value
        text = [repr(shown)]
        if upright:
            text.append(f"{upright * by!r}*(Areas!H{row}-1)")
        if along:
            text.append(f"(Areas!G{row}-{length!r})*{along * by / self.metre!r}")
        return Formula(text="+".join(text), value=shown) if len(text) > 1 else shown

    def slowed(self, key: Key, *, of_wall: bool, at_height: bool) -> str:
        """Return what the hours of a step are multiplied with where walls are not as estimated."""
        if key not in self.at:
            return ""
        row = self.at[key][0]
        return f"*Areas!I{row}" * of_wall + f"*Areas!J{row}" * at_height


def _parts(q: Quantities, basis: str, value: float) -> tuple[float, float]:
    """Say how much of a figure stands upright, and how much more there is of it to a metre of wall."""
    lines = float(q.base_length > 0.0) + float(q.top_length > 0.0)
    match basis:
        case "inside_corner_length" | "outside_corner_length" | "corner_length":
            return value, 0.0
        case "termination_length":
            return q.end_length, float(q.top_exposed_length > 0.0)
        case "masked_length":
            return q.end_length, lines
        case "base_length" | "top_length" | "cove_length":
            return 0.0, 1.0
        case "cove_girth_area" | "cove_volume":
            return 0.0, value / q.cove_length if q.cove_length else 0.0
    return 0.0, 0.0


def add_walls(book: Book, content: ReportContent) -> Lots:
    """Add walls, openings, and the areas of each system in each room; gives where those stand."""
    faces = content.elevations
    labels = {item.id: item.label for item in content.by_room.items}
    openings = _openings(book, content, faces)
    d = content.display
    rows: list[Sequence[CellValue]] = []
    for r, e in enumerate(faces, start=2):
        gross, net, length = _sizes(e, d)
        height = gross / length if length else 0.0
        taken = e.times * sum(d.area_number((o.x1 - o.x0) * (o.z1 - o.z0)) for o in e.openings)
        whole = Formula(text=f"D{r}*E{r}", value=gross)
        cut = Formula(text=sum_where("Openings", "F", openings, A=f"A{r}"), value=taken)
        left = Formula(text=f"F{r}-G{r}+H{r}", value=net)
        slower = Formula(text=_at_height(content, e, r, length, height), value=0.0)
        names = (content.wall_name(e.key), labels.get(e.room or "", ""), e.system or "")
        rows.append((*names, length, height, whole, cut, net - gross + taken, left, slower))
    columns = (
        *texts("Wall", "Room", "System"),
        *numbers("Length", "Height", unit=d.length_unit, decimals=3),
        *numbers("Gross", "Openings", "Otherwise", "Net", "Slower at height by", unit=d.area_unit),
    )
    note = (
        "Height is the mean height of the coating. Otherwise is what no height or width tells: slopes, outlines, walls "
        "on one another; it does not follow."
    )
    book.table("Walls", columns, rows, inputs=(3, 4), note=note)
    return _areas(book, content, labels)


def _sizes(e: Elevation, d: Display) -> tuple[float, float, float]:
    """Gross area, net area and length of a face as often as its room is built, in the units that are shown."""
    return (
        e.times * d.area_number(e.wall.area), e.times * d.area_number(e.net.area), e.times * d.length_number(e.length),
    )  # fmt: skip


def _at_height(content: ReportContent, e: Elevation, row: int, length: float, height: float) -> str:
    """Return by how much area more than was estimated a wall takes the time of, for work at height."""
    d, factors = content.display, content.rates.height_factors
    steps = [(d.length_number(h), f - before) for (_, before), (h, f) in pairwise(factors)]
    base = d.length_number(e.base)
    terms = [
        f"{more!r}*(D{row}*MAX(0,E{row}-{high - base!r})-{length * max(0.0, height + base - high)!r})"
        for high, more in steps
    ]
    return "+".join(terms) or "0"


def _openings(book: Book, content: ReportContent, faces: Sequence[Elevation]) -> int:
    """Add the openings of the walls; gives how many rows there are."""
    d = content.display
    rows: list[Sequence[CellValue]] = []
    for e in faces:
        for o in e.openings:
            sizes = d.length_number(o.x1 - o.x0), d.length_number(o.z1 - o.z0)
            area = e.times * d.area_number((o.x1 - o.x0) * (o.z1 - o.z0))
            live = Formula(text=f"C{len(rows) + 2}*D{len(rows) + 2}*E{len(rows) + 2}", value=area)
            rows.append((content.wall_name(e.key), o.source.kind, *sizes, e.times, live))
    columns = (
        *texts("Wall", "Kind"),
        *numbers("Width", "Height", unit=d.length_unit, decimals=3),
        *numbers("Count", decimals=0),
        *numbers("Area", unit=d.area_unit),
    )
    note = "As far as they lie in the coating. Edges and returns of openings do not follow."
    book.table("Openings", columns, rows, inputs=(2, 3, 4), note=note)
    return len(rows)


def _areas(book: Book, content: ReportContent, labels: Mapping[str, str]) -> Lots:
    """Add a row for each system in each room; the last columns compare with the estimate."""
    d = content.display
    at: dict[Key, tuple[int, float, float, float, Quantities]] = {}
    lots = {(lot.room, lot.system): lot for lot in content.lots}
    rows: list[Sequence[CellValue]] = []
    for r, line in enumerate(content.estimate.areas, start=2):
        key = (line.room, line.system)
        sizes = [_sizes(e, d) for e in content.elevations if (e.room or "", e.system or "") == key]
        gross, net, length = map(math.fsum, zip(*sizes, strict=True)) if sizes else (0.0, 0.0, 0.0)
        q = lots[key].quantities
        at[key] = (r, net, gross, length, q)

        def total(column: str, row: int = r) -> str:
            return sum_where("Walls", column, len(content.elevations), B=f"A{row}", C=f"B{row}")

        per = content.rates.cut_up_factor * d.area_number(1.0)
        base = 1.0 + per * (q.corner_length + q.opening_edge_length) / net if net else 1.0
        more = d.area_number(line.coated - line.net)
        slow = height_factor(lots[key].bands, content.rates.height_factors)
        first = content.rates.height_factors[0][1]
        high = f"({net * slow!r}+{first!r}*(C{r}-{net!r})+{total('J')})/C{r}/{slow!r}"
        live = f"IF(C{r}>0,(1+{per!r}*({q.corner_length!r}*H{r}+{q.opening_edge_length!r})/C{r})/{base!r},1)"
        taller = f"IF(G{r}>0,F{r}/G{r}/{gross / length if length else 1.0!r},1)"
        nets = (Formula(text=total("I"), value=net), more, Formula(text=f"C{r}+D{r}", value=net + more))
        along = (Formula(text=total("F"), value=gross), Formula(text=total("D"), value=length))
        changes = (Formula(text=text, value=1.0) for text in (taller, live, f"IF(C{r}>0,{high},1)"))
        rows.append((labels.get(line.room, line.room_label), line.system, *nets, *along, *changes))
    now = ("Height", "Corners and edges", "Work at height")
    columns = (
        *texts("Room", "System"),
        *numbers("Net", "Returns less cove", "Coated", "Gross", unit=d.area_unit),
        *numbers("Length", unit=d.length_unit),
        *numbers(*(f"{name} now / as estimated" for name in now), decimals=4),
    )
    book.table("Areas", columns, rows, note="From the walls; the last two factors slow labour.")
    return Lots(at, d.length_number(1.0))


def add_needs(book: Book, content: ReportContent, lots: Lots) -> Lots:
    """Add what every step takes of every product; gives the lots with the formula of the need of each."""
    d = content.display
    labels = {item.id: item.label for item in content.by_room.items}
    rows: list[Sequence[CellValue]] = []
    needs: list[str] = []
    for m in content.estimate.materials:
        first = len(rows) + 2
        for need in m.needs:
            r = len(rows) + 2
            needed, unit = shown_amount(need.needed, m.unit, d)
            shown, of = shown_basis(need.basis, need.basis_value, d)
            if need.layouts or need.pieces:
                amount: CellValue = shown
                rate, fixed, how = 0.0, needed, "by the cut list: does not follow"
            else:
                amount = lots.amount((need.room, need.system), need.basis, need.basis_value, shown)
                in_tools = need.in_tools / need.needed
                fixed = needed * (in_tools + (1.0 - in_tools) * _lapped(need, content))
                rate, how = (needed - fixed) / shown, ""
            live = Formula(text=f"D{r}*F{r}+G{r}", value=needed)
            room = labels.get(need.room, need.room)
            rows.append((m.name, room, need.system, amount, of, rate, fixed, live, unit, how))
        needs.append(f"SUM(Needs!H{first}:H{len(rows) + 1})")
    columns = (
        *texts("Product", "Room", "System"),
        *numbers("Amount"),
        *texts("Of"),
        *numbers("Takes of each", decimals=5),
        *numbers("And for laps and lengths", decimals=2),
        *numbers("Need", decimals=3),
        *texts("Unit", "Follows"),
    )
    book.table("Needs", columns, rows, inputs=(5,))
    return replace(lots, needs=needs)


def _lapped(need: MaterialNeed, content: ReportContent) -> float:
    """Return the part of a resin that the laps of the mat take, which go with the cut list."""
    steps = content.catalogue.system(need.system).steps
    if next(step.mat_ratio for step in steps if step.id == need.step) is None:
        return 0.0
    every = [n for m in content.estimate.materials for n in m.needs]
    hung = [n.layouts for n in every if (n.room, n.system) == (need.room, need.system)]
    laps = math.fsum(layout.lap_area for layouts in hung for layout in layouts)
    return laps / (need.basis_value + laps)


def pack_counts(need: str, packs: Sequence[tuple[float, str]], first: int) -> list[str]:
    """Return formulas for how many of each pack cost least; the largest packs fill, the smaller ones what is left.

    ``packs`` are one or two, the larger first: the size, and the formula of what one costs. ``first`` is the row of
    the first; counts stand in column C.
    """
    least = f"({need})*{1.0 - SLACK!r}"
    if len(packs) == 1:
        return [f"ROUNDUP({least}/{packs[0][0]!r},0)"]
    (large, large_cost), (small, small_cost) = packs
    tried = f"(ROW($1:${MOST_TRIED})-1)"
    rest = f"({least}-{tried}*{large!r})"
    others = f"ROUNDUP({rest}*({rest}>0)/{small!r},0)"
    # costs decide; of equal ones what leaves the least over
    score = f"(ROUND({tried}*{large_cost}+{others}*{small_cost},4)+({tried}*{large!r}+{others}*{small!r})*0.0000001)"
    return [f"SUMPRODUCT(MATCH(MIN({score}),{score},0)-1)", f"ROUNDUP(MAX(0,{least}-C{first}*{large!r})/{small!r},0)"]
