"""What each system is: its bill of quantities with its share of the price, and its build-up step by step."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import reduce
from operator import add as joined

from takeoff.measure.rules import EXACT_NET
from takeoff.model.costs import Estimate, RoomPrice
from takeoff.model.figures import Quantities
from takeoff.model.systems import Catalogue, Step, System
from takeoff.report.content import ReportContent
from takeoff.report.tables import Cell, Table, numbers, texts
from takeoff.system.bases import counts_wall_area
from takeoff.system.buildup import coat_films
from takeoff.units import Display
from takeoff.units.money import add, places_of, rounded


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
    """The items of one system, what they come to, and its price per ``unit`` of the first, that of a sum if empty."""

    title: str
    lines: tuple[BillLine, ...]
    amount: str
    unit: str
    rate: float


def bill(content: ReportContent) -> tuple[BillPart, ...]:
    """Set out the bill system by system; the parts' amounts add up to the price.

    The first item of a part carries the rate, all its work in: per area by the job's measuring rule, which is the net
    area where it has none, or per length of cove where a system coats no wall; a system of which nothing is measured
    that shows is one sum. Quantity × rate as printed is the amount; what that misses of the system's share of the price
    is an item of its own. A cove that was measured and that no step of the system makes is not included.
    """
    system_of = {e.run: e.system or "" for e in content.elevations}
    estimate = content.estimate
    with_cove = systems_with_cove(estimate)
    parts = []
    for n, share in enumerate(estimate.systems, start=1):
        of_runs = [item.quantities for item in content.by_run.items if system_of.get(item.sources[0]) == share.id]
        parts.append(_part(n, share, reduce(joined, of_runs, Quantities()), content, has_cove=share.id in with_cove))
    return tuple(parts)


def systems_with_cove(result: Estimate) -> set[str]:
    """Ids of the systems of which a step makes a cove."""
    made = {work.system for work in result.labour if work.basis.startswith("cove")}
    return made | {n.system for line in result.materials for n in line.needs if n.basis.startswith("cove")}


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
    shown = [(*item[:2], round(item[2], item[3]), item[3]) for item in items if round(item[2], item[3]) > 0.0]
    shown = shown or [("All work of the system", "", 1.0, 0)]
    currency, unit = content.estimate.currency, shown[0][1]
    rate = rounded(share.price / shown[0][2], currency)
    amount = rounded(shown[0][2] * rate, currency)

    def money(value: float) -> str:
        return f"{value:,.{places_of(currency)}f}"

    lines = []
    for k, (words, one, quantity, decimals) in enumerate(shown, start=1):
        said = money(rate) if k == 1 else "included" if words != "Cove" or has_cove else "not included"
        total, count = money(amount) if k == 1 else "", f"{quantity:,.{decimals}f}"
        lines.append(
            BillLine(number=f"{n}.{k}", words=words, unit=one or "sum", quantity=count, rate=said, amount=total)
        )
    if rest := add((share.price, -amount)):
        number = f"{n}.{len(lines) + 1}"
        lines.append(BillLine(number=number, words="Rounding of the rate", unit="", quantity="", amount=money(rest)))
    return BillPart(title=share.label, lines=tuple(lines), amount=money(share.price), unit=unit, rate=rate)


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
        day = str(days.index(step.day) + 1) if step.day else ""
        films = (display.number("film", film) if film else "" for film in (wet, dry))
        laid = (step.coats if spread else "", *films, display.number("spread", spread) if spread else "")
        rows.append((day, name, product.name if product else "", *laid, _window(step)))
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
