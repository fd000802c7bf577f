"""What each system is: its bill of quantities with its share of the price, and its build-up step by step."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import reduce
from operator import add

from takeoff.measure.rules import EXACT_NET
from takeoff.model.costs import Estimate, RoomPrice
from takeoff.model.figures import Quantities
from takeoff.model.systems import Catalogue, Step, System
from takeoff.report.content import ReportContent
from takeoff.report.tables import Cell, Table, numbers, texts
from takeoff.system.bases import counts_wall_area
from takeoff.system.buildup import coat_films
from takeoff.units import Display
from takeoff.units.money import places_of, rounded


@dataclass(frozen=True, slots=True, kw_only=True)
class BillLine:
    """One item: number, words, unit, quantity, rate and amount as shown; empty where the item above covers it."""

    number: str
    words: str
    unit: str
    quantity: str
    rate: str = ""
    amount: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BillPart:
    """The items of one system, and what they come to."""

    title: str
    lines: tuple[BillLine, ...]
    amount: str


def bill(content: ReportContent) -> tuple[BillPart, ...]:
    """Set out the bill system by system; the parts' amounts add up to the price.

    The first item of a part carries the rate, all its work in: per area by the job's measuring rule, which is the net
    area where it has none, or per length of cove where a system coats no wall. The rate has as many decimals as it
    takes for quantity × rate to give the amount. A cove that was measured and that no step of the system makes is not
    included.
    """
    system_of = {e.run: e.system or "" for e in content.elevations}
    estimate = content.estimate
    with_cove = systems_with_cove(estimate)
    parts = []
    for n, share in enumerate(estimate.systems, start=1):
        of_runs = [item.quantities for item in content.by_run.items if system_of.get(item.sources[0]) == share.id]
        parts.append(_part(n, share, reduce(add, of_runs, Quantities()), content, has_cove=share.id in with_cove))
    return tuple(parts)


def unit_rates(content: ReportContent) -> tuple[tuple[BillPart, float], ...]:
    """Give the part of each system with something to measure, and its rounded price per unit of its first item."""
    parts = [part for part in bill(content) if part.lines]
    currency = content.estimate.currency
    return tuple((part, rounded(float(part.lines[0].rate.replace(",", "")), currency)) for part in parts)


def systems_with_cove(result: Estimate) -> set[str]:
    """Ids of the systems of which a step makes a cove."""
    made = {work.system for work in result.labour if work.basis.startswith("cove")}
    return made | {n.system for line in result.materials for n in line.needs if n.basis.startswith("cove")}


def rate_for(amount: float, quantity: float, currency: str) -> str:
    """Write a rate with the fewest decimals, its currency's or more, with which quantity × rate is the amount.

    Examples
    --------
    >>> rate_for(15897.33, 1030.7, "USD"), rate_for(100.0, 8.0, "USD")
    ('15.42382', '12.50')
    """
    for decimals in range(places_of(currency), 10):
        rate = round(amount / quantity, decimals)
        if rounded(quantity * rate, currency) == amount:
            break
    return f"{rate:,.{decimals}f}"


def _amount(value: float, content: ReportContent) -> str:
    return f"{value:,.{places_of(content.estimate.currency)}f}"


def _part(n: int, share: RoomPrice, q: Quantities, content: ReportContent, *, has_cove: bool) -> BillPart:
    d = content.display
    area, length = d.area_number, d.length_number
    walls = [("Walls coated, net of openings", d.area_unit, area(share.area), 1)]
    if content.rule != EXACT_NET and share.area > 0.0:
        paid = (f"Walls coated, measured by {content.rule}", d.area_unit, area(q.measured_area), 1)
        walls = [paid, ("Walls coated, net of openings, as ordered", *walls[0][1:])]
    items = [
        *walls,
        ("Cove", d.length_unit, length(q.cove_length), 1),
        ("Returns coated", d.area_unit, area(q.return_area), 1),
        ("Inside corners", d.length_unit, length(q.inside_corner_length), 1),
        ("Outside corners", d.length_unit, length(q.outside_corner_length), 1),
        ("Terminations and edges of openings", d.length_unit, length(q.termination_length), 1),
        ("Openings cut out", "each", q.openings, 0),
    ]
    shown = [item for item in items if item[2] > 0.0]
    lines = []
    for k, (words, unit, quantity, decimals) in enumerate(shown, start=1):
        first = k == 1
        covered = "included" if words != "Cove" or has_cove else "not included"
        lines.append(
            BillLine(
                number=f"{n}.{k}",
                words=words,
                unit=unit,
                quantity=f"{quantity:,.{decimals}f}",
                rate=rate_for(share.price, round(quantity, decimals), content.estimate.currency) if first else covered,
                amount=_amount(share.price, content) if first else "",
            )
        )
    return BillPart(title=share.label, lines=tuple(lines), amount=_amount(share.price, content))


def build_up_tables(result: Estimate, catalogue: Catalogue, display: Display) -> tuple[Table, ...]:
    """Set out the steps that this job takes of each system; one that the catalogue lacks is a `CatalogueError`."""
    used = _used(result)
    return tuple(_table(catalogue.system(s.id), used, catalogue, display) for s in result.systems)


def offer_tables(result: Estimate, catalogue: Catalogue, display: Display) -> tuple[Table, ...]:
    """Set out what is offered of each system; one that the catalogue lacks is a `CatalogueError`.

    Tools, days, spreads, recoat windows and notes are the contractor's own.
    """
    used, tables = _used(result), []
    for share in result.systems:
        system = catalogue.system(share.id)
        table = _table(system, used, catalogue, display)
        steps = [step for step in system.steps if (system.id, step.id) in used]
        done = [(step, row) for step, row in zip(steps, table.rows, strict=True) if step.kind != "each" or step.labour]
        rows = tuple((step.name, *row[2:6]) for step, row in done)
        tables.append(replace(table, columns=table.columns[1:6], rows=rows))
    return tuple(tables)


def _used(result: Estimate) -> set[tuple[str, str]]:
    used = {(line.system, line.step) for line in result.labour}
    return used | {(need.system, need.step) for line in result.materials for need in line.needs}


def _table(system: System, used: set[tuple[str, str]], catalogue: Catalogue, display: Display) -> Table:
    is_imperial = display.system == "imperial"
    columns = (
        *texts("Day", "Step", "Product"),
        *numbers("Coats", decimals=0),
        *numbers("Wet", "Dry", unit=display.unit("film"), decimals=int(is_imperial)),
        *numbers("Spread", unit=display.unit("spread"), decimals=int(not is_imperial)),
        *texts("Recoat", unit="h"),
    )
    rows: list[tuple[Cell, ...]] = []
    days = sorted({step.day for step in system.steps if step.day and (system.id, step.id) in used})
    dry_total, mat, has_filler = 0.0, None, False
    mine = [step.on for step in system.steps if step.on and step.kind == "coat" and (system.id, step.id) in used]
    is_one = not mine or bool(set(mine[0]).intersection(*mine))
    for step in system.steps:
        product = None if step.product is None else catalogue.product(step.product)
        if step.kind == "mat":
            mat = product
        if (system.id, step.id) not in used:
            continue
        wet, dry, spread = coat_films(step, product, mat)
        if dry and counts_wall_area(step.basis) and (is_one or not step.on):
            dry_total += dry * step.coats
        has_filler = has_filler or step.fills_pores
        name = step.name + (f". {step.note}" if step.note else "")
        rows.append(
            (
                str(days.index(step.day) + 1) if step.day else "",
                name,
                product.name if product else "",
                step.coats if spread else "",
                *(display.number("film", film) if film else "" for film in (wet, dry)),
                display.number("spread", spread) if spread else "",
                _window(step),
            )
        )
    note = f"{system.summary} " if system.summary else ""
    if dry_total and not any(step.kind == "panel" for step in system.steps):
        note += f"Nominal dry film of the wall coats together: {display.film(dry_total)}"
        besides = [f"the mat ({mat.name[:1].lower()}{mat.name[1:]})"] if mat else []
        besides += ["what fills the pores"] if has_filler else []
        besides += [] if is_one else ["the primers, which follow the substrate"]
        note += f", besides {' and '.join(besides)}." if besides else "."
    return Table(id=system.id, title=system.name, columns=columns, rows=tuple(rows), note=note.strip())


def _window(step: Step) -> str:
    if step.min_recoat is None and step.max_recoat is None:
        return ""
    if step.max_recoat is None:
        return f"from {step.min_recoat:g}"
    return f"{step.min_recoat or 0.0:g} to {step.max_recoat:g}"
