"""The build-up of each system as a table: steps in order, films, spreads and recoat windows."""

from __future__ import annotations

from dataclasses import replace

from takeoff.model.costs import Estimate
from takeoff.model.systems import Catalogue, Step, System
from takeoff.report.tables import Cell, Table, texts
from takeoff.system.bases import counts_wall_area
from takeoff.system.buildup import coat_films
from takeoff.units import Display


def build_up_tables(result: Estimate, catalogue: Catalogue, display: Display) -> tuple[Table, ...]:
    """Set out the steps that this job takes of each system in it.

    Raises
    ------
    CatalogueError
        When a system or product of the estimate is not in the catalogue.
    """
    used = _used(result)
    return tuple(_table(catalogue.system(s.id), used, catalogue, display) for s in result.systems)


def offer_tables(result: Estimate, catalogue: Catalogue, display: Display) -> tuple[Table, ...]:
    """Set out of each system what is offered; tools, days, spreads, recoat windows and notes are the contractor's own.

    Raises
    ------
    CatalogueError
        When a system or product of the estimate is not in the catalogue.
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
    columns = (
        *texts("Day", "Step", "Product", "Coats"),
        *texts("Wet", "Dry", unit=display.film_unit),
        *texts("Spread", unit=display.spread_unit),
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
                str(step.coats) if spread else "",
                _film(wet, display),
                _film(dry, display),
                f"{display.spread_number(spread):,.{0 if display.system == 'imperial' else 1}f}" if spread else "",
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


def _film(film: float, display: Display) -> str:
    return f"{display.film_number(film):,.{1 if display.system == 'imperial' else 0}f}" if film else ""


def _window(step: Step) -> str:
    if step.min_recoat is None and step.max_recoat is None:
        return ""
    if step.max_recoat is None:
        return f"from {step.min_recoat:g}"
    return f"{step.min_recoat or 0.0:g} to {step.max_recoat:g}"
