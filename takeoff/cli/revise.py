"""The command that takes a new issue of a sheet in."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from takeoff.cli.opening import opened
from takeoff.cli.options import AsJson, JobPath, read_points
from takeoff.cli.rim import notes, say, say_file, told
from takeoff.errors import InputError
from takeoff.signing import now, person

if TYPE_CHECKING:
    from takeoff.actions.revising import Revision
    from takeoff.revise.delta import Delta
    from takeoff.units import Display


def revise(
    job: JobPath,
    sheet: Annotated[
        str, typer.Option("--sheet", metavar="SHEET", help="The sheet as it is in the job: position or number.")
    ],
    plan: Annotated[Path, typer.Option("--plan", metavar="FILE", help="The plan file of the new revision.")],
    page: Annotated[
        int | None,
        typer.Option(metavar="N", help="Its page; without it the one with the same number.", show_default=False),
    ] = None,
    accept: Annotated[
        Literal["sure", "all", "none"],
        typer.Option(help="Which proposals to take into the job; the rest stay on the old sheet."),
    ] = "none",
    run: Annotated[
        list[str] | None, typer.Option(metavar="RUN", help="Take the proposal for this run too.", show_default=False)
    ] = None,
    points: Annotated[
        list[str] | None,
        typer.Option(
            metavar="OLDX,OLDY NEWX,NEWY",
            help="A point of the old sheet and the same one on the new; two or more register the sheets.",
            show_default=False,
        ),
    ] = None,
    smallest: Annotated[
        str, typer.Option(metavar="LENGTH", help="Changes of linework smaller than this are left out.")
    ] = "100 mm",
    as_json: AsJson = False,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="PDF", help="Write what is taken in as a change order.", show_default=False),
    ] = None,
) -> None:
    """Compare a new revision of a sheet with the old one, and carry the walls across as far as they are accepted."""
    from takeoff.actions import find_sheet, read_file
    from takeoff.actions.deltas import revision_delta, write_change_order
    from takeoff.actions.quantities import catalogue_of, refuse_other_currency
    from takeoff.actions.revising import accept_revision, compare_revision
    from takeoff.cli.as_json import dump
    from takeoff.cli.show import display_of, progress
    from takeoff.units import parse_length

    data = read_file(plan, "plan file")
    pairs = []
    for text in points or ():
        pair = read_points(text)
        if len(pair) != 2:
            raise InputError(f'"{text}" is not a pair of points', remedy="Write it as OLDX,OLDY NEWX,NEWY.")
        pairs.append((pair[0], pair[1]))
    with opened(job) as store:
        before = store.job
        if out is not None:
            refuse_other_currency(before, catalogue_of(before).currency)
        with progress("Comparing") as step:
            found = compare_revision(
                store,
                find_sheet(before, sheet),
                plan.name,
                data,
                page=page,
                points=pairs,
                smallest=parse_length(smallest),
                progress=step,
            )
        chosen = [r.before.id for r in found.chosen(accept)]
        chosen.extend(id for id in run or () if id not in chosen)
        change = accept_revision(store, found, chosen, who=person(), at=now()) if chosen else None
        delta = None if change is None else revision_delta(before, store.job, found)
        show = display_of(store.job.settings)
        if out is not None and delta is not None:
            told(f"Wrote {write_change_order(store, found, delta, out, taken=chosen, at=now())}")
    notes(found.doubts)
    if as_json:
        say_file(dump({**revision_json(found, chosen), "delta": None if delta is None else delta_json(delta)}))
        return
    show_revision(found, show, chosen)
    if delta is not None:
        show_delta(delta, show)
    if change is None:
        told("The job is as it was. Take proposals in with --accept sure, --accept all or --run RUN.")
    else:
        told(f"Done: {change.label}")


def show_revision(found: Revision, show: Display, chosen: list[str]) -> None:
    """Print how the new issue lies on the old one, what changed, and a proposal for each run."""
    from takeoff.cli.show import table

    r = found.registration
    stretch = f", stretched by {r.stretch:+.2%}" if r.kind == "affine" else ""
    turned = round(r.turn * 57.29578, 2) + 0.0
    within = f"{2000 * r.u:.1f} mm" if 2000 * r.u >= 0.1 else "under 0.1 mm"
    say(
        f"registered by {r.method}: {r.pairs} pairs, {r.share:.0%} of the old drawing found, scale {r.scale:.4f}, "
        f"turned {turned:.2f}°{stretch}; points carried to {within} on the building (k = 2)"
    )
    on_plan = [c for c in found.changes if c.on_plan]
    table(
        f"Changes on the plan ({len(found.changes) - len(on_plan)} more beside it)",
        ("What", "At", "Size"),
        [(c.words(show.length), f"{c.box_pt[0]:.0f},{c.box_pt[1]:.0f}", show.length(c.size)) for c in on_plan],
        text_columns=2,
    )
    for row in found.schedule_changes:
        say(row.words)
    for wall in found.new_walls:
        say(f"{wall.words(show.length)} (at {wall.box_pt[0]:.0f},{wall.box_pt[1]:.0f})")
    table(
        "Runs",
        ("Run", "Proposal", "State", "Length before", "Length after", "What was found"),
        [
            (
                c.before.id,
                c.verdict,
                ("taken" if c.before.id in chosen else "sure" if c.sure else "look"),
                show.length(c.lengths[0]),
                show.length(c.lengths[1]),
                "; ".join(c.notes),
            )
            for c in found.runs
        ],
        text_columns=3,
    )


def show_delta(delta: Delta, show: Display) -> None:
    """Print a delta: by room, by change, in material and in money."""
    from takeoff.cli.show import table
    from takeoff.report.change_order import beside_lines
    from takeoff.report.tables import shown_amount
    from takeoff.units import Display as Shown

    money = Shown(system=show.system, precision=show.precision, currency=delta.currency).money

    def signed(value: float, text: str) -> str:
        if not any(c in "123456789" for c in text):
            return text.lstrip("−")
        return text if value < 0 else f"+{text}"

    def row(label: str, figures: Any, price: float) -> tuple[str, ...]:
        net, base = figures["net_area"], figures["base_length"]
        return (
            label,
            show.area(net.before),
            show.area(net.after),
            signed(net.change, show.area(net.change)),
            signed(base.change, show.length(base.change)),
            signed(price, money(price)),
        )

    headings = ("Net before", "Net after", "Net", "Base", "Price")
    whole = row("Total", delta.total, delta.price.change)
    rest = [(text, "", "", "", "", signed(amount, money(amount))) for text, amount in beside_lines(delta, show)]
    for title, name, items in (("Change by room", "Room", delta.rooms), ("Change by run", "Room and run", delta.runs)):
        rows = [row(f"{i.room}: {i.label}" if i.room else i.label, i.figures, i.price_change) for i in items]
        table(title, (name, *headings), [*rows, *rest, whole])
    table(
        "Material",
        ("Product", "Before", "After", "Unit", "Cost"),
        [
            (
                m.name,
                f"{shown_amount(m.bought.before, m.unit, show)[0]:,.2f}",
                f"{shown_amount(m.bought.after, m.unit, show)[0]:,.2f}",
                shown_amount(m.bought.after, m.unit, show)[1],
                signed(m.cost.change, money(m.cost.change)),
            )
            for m in delta.materials
        ],
    )
    say(
        f"added {show.area(delta.added('net_area'))} and {money(delta.money_added)}, "
        f"deducted {show.area(delta.deducted('net_area'))} and {money(delta.money_deducted)}, "
        f"whole packs {signed(delta.whole_packs, money(delta.whole_packs))}; "
        f"price {money(delta.price.before)} to {money(delta.price.after)}"
    )


def revision_json(found: Revision, chosen: list[str]) -> dict[str, Any]:
    """A comparison with lengths in m and sheet points as they are."""
    r = found.registration
    return {
        "schema": "takeoff.revision/1",
        "sheet": found.old.id,
        "new_sheet": found.sheet.id,
        "registration": {
            "matrix": list(r.matrix),
            "kind": r.kind,
            "method": r.method,
            "pairs": r.pairs,
            "share": r.share,
            "rms_pt": r.rms_pt,
            "u": r.u,
            "scale": r.scale,
            "turn": r.turn,
            "stretch": r.stretch,
        },
        "changes": [
            {
                "kind": c.kind,
                "words": c.words(),
                "box_pt": list(c.box_pt),
                "size": c.size,
                "by": None if c.by is None else list(c.by),
                "before": c.before,
                "after": c.after,
                "on_plan": c.on_plan,
            }
            for c in found.changes
        ],
        "runs": [
            {
                "id": c.before.id,
                "verdict": c.verdict,
                "sure": c.sure,
                "taken": c.before.id in chosen,
                "length_before": c.lengths[0],
                "length_after": c.lengths[1],
                "moved": c.moved,
                "points": None if c.after is None else [list(p) for p in c.after.points_pt],
                "openings": [
                    {
                        "verdict": o.verdict,
                        "words": o.words(),
                        "by": o.by,
                        "at": None if o.after is None else o.after.at,
                        "width": None if o.after is None else o.after.width,
                    }
                    for o in c.openings
                ],
                "notes": list(c.notes),
            }
            for c in found.runs
        ],
        "new_walls": [{"box_pt": list(w.box_pt), "length": w.length, "runs": list(w.runs)} for w in found.new_walls],
        "schedule_changes": [
            {"schedule": s.schedule, "key": s.key, "before": s.before, "after": s.after} for s in found.schedule_changes
        ],
        "doubts": list(found.doubts),
    }


def delta_json(delta: Delta) -> dict[str, Any]:
    """A delta with areas in m², lengths in m, and money with its currency."""

    def money(amount: float) -> dict[str, Any]:
        return {"amount": amount, "currency": delta.currency}

    def item(i: Any) -> dict[str, Any]:
        return {
            "id": i.id,
            "label": i.label,
            "words": list(i.words),
            "figures": {name: {"before": p.before, "after": p.after} for name, p in i.figures.items()},
            "room": i.room,
            "price_change": money(i.price_change),
        }

    return {
        "total": {name: {"before": p.before, "after": p.after} for name, p in delta.total.items()},
        "price": {"before": money(delta.price.before), "after": money(delta.price.after)},
        "hours": {"before": delta.hours.before, "after": delta.hours.after},
        "net_area_added": delta.added("net_area"),
        "net_area_deducted": delta.deducted("net_area"),
        "money_added": money(delta.money_added),
        "money_deducted": money(delta.money_deducted),
        "left_over": {"before": money(delta.left_over.before), "after": money(delta.left_over.after)},
        "whole_packs": money(delta.whole_packs),
        "other": money(delta.other),
        "rooms": [item(i) for i in delta.rooms],
        "runs": [item(i) for i in delta.runs],
        "materials": [
            {
                "product": m.product,
                "name": m.name,
                "unit": m.unit,
                "bought": {"before": m.bought.before, "after": m.bought.after},
                "cost": {"before": money(m.cost.before), "after": money(m.cost.after)},
            }
            for m in delta.materials
        ],
    }
