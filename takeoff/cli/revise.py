"""The command that compares a new revision of a sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from takeoff.cli.opening import opened
from takeoff.cli.options import AsJson, JobPath, read_points
from takeoff.cli.rim import notes, say, say_file, told
from takeoff.errors import InputError
from takeoff.signing import now, person

if TYPE_CHECKING:
    from takeoff.actions.addendum import SheetOfSet
    from takeoff.actions.revising import Revision
    from takeoff.job.store import JobStore
    from takeoff.model.plan import Point
    from takeoff.report.change_letter import ChangeTerms
    from takeoff.revise.delta import Delta
    from takeoff.units import Display


def revise(
    job: JobPath,
    newset: Annotated[
        Path | None,
        typer.Argument(
            metavar="NEWSET", help="A whole new set: every sheet is compared with the job's.", show_default=False
        ),
    ] = None,
    sheet: Annotated[
        str,
        typer.Option(
            "--sheet", metavar="SHEET", help="One sheet as it is in the job: position or number.", show_default=False
        ),
    ] = "",
    plan: Annotated[
        Path | None,
        typer.Option("--plan", metavar="FILE", help="The plan file of its new revision.", show_default=False),
    ] = None,
    page: Annotated[
        int | None,
        typer.Option(metavar="N", help="Its page; without it the one with the same number.", show_default=False),
    ] = None,
    accept: Annotated[
        Literal["sure", "all", "none"],
        typer.Option(
            help="Which proposals to take into the job; the rest stay on the old sheet, and so does, with all, what "
            "is to be looked at."
        ),
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
        typer.Option(
            "--out",
            metavar="PDF",
            help="Write what is taken in, with hours and costs, for your own desk.",
            show_default=False,
        ),
    ] = None,
    letter: Annotated[
        Path | None,
        typer.Option(
            "--letter",
            metavar="FILE",
            help="Write the change order for the client: .pdf, .xlsx or .csv.",
            show_default=False,
        ),
    ] = None,
    number: Annotated[
        str, typer.Option("--number", metavar="TEXT", help="The change order's number.", show_default=False)
    ] = "",
    to: Annotated[
        str, typer.Option("--to", metavar="TEXT", help="To whom the change order goes.", show_default=False)
    ] = "",
    reason: Annotated[
        str,
        typer.Option("--reason", metavar="TEXT", help="Its reason, such as the addendum.", show_default=False),
    ] = "",
    by: Annotated[
        Literal["cost", "unit-price"],
        typer.Option("--by", help="Price it by the estimate's difference, or by the job's own price per area."),
    ] = "cost",
    letterhead: Annotated[
        Path | None,
        typer.Option(
            "--letterhead",
            metavar="FILE.toml",
            help="Company lines, logo and own terms of the change order.",
            show_default=False,
        ),
    ] = None,
) -> None:
    """Compare a new revision of a sheet, or a whole new set, and carry the walls across as far as they are accepted."""
    if newset is not None:
        if sheet or plan or page or run or points or out or letter:
            raise InputError(
                "a whole set was named and options for one sheet",
                remedy="Give the set with --accept alone, or --sheet and --plan for one sheet.",
            )
        with opened(job) as store:
            revise_set(store, newset, accept, as_json=as_json)
        return
    if not sheet or plan is None:
        raise InputError("no new revision was named", remedy="Give NEWSET, or --sheet and --plan for one sheet.")
    if letter is None and (number or to or reason or letterhead or by != "cost"):
        raise InputError("options of a change order were named without one", remedy="Add --letter FILE.")
    written = Written(out=out, letter=letter, terms=_terms(letter, number, to, reason, by, letterhead))
    with opened(job) as store:
        _revise_sheet(
            store, sheet, plan, page=page, accept=accept, runs=run or (), pairs=_pairs(points or ()),
            smallest=smallest, as_json=as_json, written=written,
        )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """What to write of a revision that is taken in: the internal pages, and the change order with its terms."""

    out: Path | None
    letter: Path | None
    terms: ChangeTerms


def _terms(
    letter: Path | None,
    number: str,
    to: str,
    reason: str,
    by: Literal["cost", "unit-price"],
    letterhead: Path | None,
) -> ChangeTerms:
    """Read the terms of a change order, and refuse what could not be written before anything is taken in."""
    from takeoff.actions import read_letterhead
    from takeoff.report.change_letter import ChangeTerms, letter_kind
    from takeoff.report.letterhead import PLAIN

    if letter is not None:
        letter_kind(letter)
    head = PLAIN if letterhead is None else read_letterhead(letterhead)
    return ChangeTerms(number=number, to=to, reason=reason, by=by, letterhead=head)


def _pairs(texts: Sequence[str]) -> list[tuple[Point, Point]]:
    pairs = []
    for text in texts:
        pair = read_points(text)
        if len(pair) != 2:
            raise InputError(f'"{text}" is not a pair of points', remedy="Write it as OLDX,OLDY NEWX,NEWY.")
        pairs.append((pair[0], pair[1]))
    return pairs


def _revise_sheet(
    store: JobStore,
    sheet: str,
    plan: Path,
    *,
    page: int | None,
    accept: Literal["sure", "all", "none"],
    runs: Sequence[str],
    pairs: Sequence[tuple[Point, Point]],
    smallest: str,
    as_json: bool,
    written: Written,
) -> None:
    from takeoff.actions import find_sheet, read_file
    from takeoff.actions.change_letters import send_change
    from takeoff.actions.deltas import revision_delta, write_change_order
    from takeoff.actions.quantities import catalogue_of, refuse_other_currency
    from takeoff.actions.revising import accept_revision, compare_revision
    from takeoff.cli.as_json import dump
    from takeoff.cli.show import display_of, progress
    from takeoff.units import parse_length

    before = store.job
    out, letter = written.out, written.letter
    if out is not None or letter is not None:
        refuse_other_currency(before, catalogue_of(before).currency)
    least = parse_length(smallest)
    data = read_file(plan, "plan file")
    with progress("Comparing") as step:
        found = compare_revision(
            store, find_sheet(before, sheet), plan.name, data, page=page, points=pairs, smallest=least, progress=step
        )
    chosen = [r.before.id for r in found.chosen(accept)]
    chosen.extend(id for id in runs if id not in chosen)
    change = accept_revision(store, found, chosen, who=person(), at=now()) if chosen else None
    delta = None if change is None else revision_delta(before, store.job, found)
    show = display_of(store.job.settings)
    if out is not None and delta is not None:
        told(f"Wrote {write_change_order(store, found, delta, out, taken=chosen, at=now())}")
    if letter is not None and delta is not None:
        sent = send_change(before, store.job, found, delta, letter, written.terms, taken=chosen, at=now())
        told(
            "No room changes its area or price, so there is no change order to send."
            if sent is None
            else f"Wrote {sent.path}"
        )
        notes(() if sent is None else sent.notes)
    notes(found.doubts)
    if as_json:
        say_file(dump({**revision_json(found, chosen), "delta": None if delta is None else delta_json(delta)}))
        return
    show_revision(found, show, chosen)
    if delta is not None:
        show_delta(delta, show)
    if change is not None:
        told(f"Done: {change.label}")
    elif not found.runs:
        told("No wall stands on that sheet of the job, so nothing is to be carried.")
    else:
        told("The job is as it was. Take proposals in with --accept sure, --accept all or --run RUN.")


def revise_set(store: JobStore, path: Path, accept: Literal["sure", "all", "none"], *, as_json: bool) -> None:
    """Compare a whole set, take in what is accepted, and say per sheet what was found."""
    from takeoff.actions import read_file
    from takeoff.actions.addendum import accept_set, compare_set
    from takeoff.cli.as_json import dump
    from takeoff.cli.show import display_of, progress, table

    with progress("Comparing") as step:
        sheets = compare_set(store, path.name, read_file(path, "plan file"), progress=step)
    taken = accept_set(store, sheets, accept, who=person(), at=now()) if accept != "none" else ()
    if as_json:
        say_file(dump(set_json(sheets, accept)))
        return
    rows = []
    for s in sheets:
        found = s.note
        if s.revision is not None:
            sure = sum(r.sure for r in s.revision.runs)
            found = f"{len(s.revision.runs)} walls: {sure} sure, {len(s.revision.runs) - sure} to look at"
        rows.append((s.label, s.state, found))
    table(f"Sheets of {path.name}", ("Sheet", "State", "What was found"), rows, text_columns=3)
    show = display_of(store.job.settings)
    for s in sheets:
        if s.revision is not None:
            say(f"{s.label}:")
            notes(s.revision.doubts)
            show_revision(s.revision, show, [r.before.id for r in s.revision.chosen(accept)])
    for _, change in taken:
        told(f"Done: {change.label}")
    if not taken:
        told("The job is as it was. Take proposals in with --accept sure or --accept all.")


def set_json(sheets: Sequence[SheetOfSet], accept: Literal["sure", "all", "none"]) -> dict[str, Any]:
    """A compared set: a state for each sheet, and the comparison of those that changed."""
    return {
        "schema": "takeoff.revision-set/1",
        "sheets": [
            {
                "state": s.state,
                "sheet": None if s.old is None else s.old.id,
                "page": None if s.new is None else s.new.page,
                "label": s.label,
                "note": s.note,
                "revision": None
                if s.revision is None
                else revision_json(s.revision, [r.before.id for r in s.revision.chosen(accept)]),
            }
            for s in sheets
        ],
    }


def show_revision(found: Revision, show: Display, chosen: list[str]) -> None:
    """Print how the new revision lies on the old one, what changed, and a proposal for each run."""
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
