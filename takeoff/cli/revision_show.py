"""Revisions and what they come to: as tables, and as JSON with lengths in m, areas in m², sheet points as they are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

from takeoff.cli.as_json import amount, picked
from takeoff.cli.rim import notes, say
from takeoff.cli.show import show_table
from takeoff.cli.table import table
from takeoff.report.change_order import delta_tables, unpriced_words
from takeoff.units import Display, signed
from takeoff.units.money import rounded

if TYPE_CHECKING:
    from takeoff.actions.addendum import SheetOfSet
    from takeoff.actions.revising import Accept, Revision
    from takeoff.job.job import Job
    from takeoff.revise.carry import CarriedRun
    from takeoff.revise.delta import Delta, DeltaItem, Pair

MOST_TEXTS = 20
"""Changed texts beside a plan that are listed."""


def show_set(name: str, sheets: Sequence[SheetOfSet], accept: Accept, show: Display, before: Job) -> None:
    """Print what became of each sheet of a set, then what was found on those that changed."""
    rows = [(s.label, s.state_words, s.found) for s in sheets]
    table(f"Sheets of {name}", ("Sheet", "State", "What was found"), rows, text_columns=3)
    for s in sheets:
        if s.revision is not None and (s.revision.doubts or not s.revision.is_only_beside):
            say(f"{s.label}:")
            notes(s.revision.doubts)
            show_revision(s.revision, show, [r.before.id for r in s.revision.chosen(accept)], before)


def show_revision(found: Revision, show: Display, chosen: Sequence[str], before: Job) -> None:
    """Print how the new revision lies on the old one, what changed, and a proposal for each wall, by money."""
    from takeoff.actions.deltas import RevisionPrices

    prices = RevisionPrices(before, found)
    r = found.registration
    stretch = f", stretched by {r.stretch:+.2%}" if r.kind == "affine" else ""
    turned = round(r.turn * 57.29578, 2) + 0.0
    within = f"{2000 * r.u:.1f} mm" if 2000 * r.u >= 0.1 else "under 0.1 mm"
    on_plan = [c for c in found.changes if c.on_plan]
    beside = [c for c in found.changes if not c.on_plan]
    texts = [c for c in beside if c.kind == "text"]
    if r.pairs:
        say(
            f"registered by {r.method}: {r.pairs} pairs, {r.share:.0%} of the old drawing found, scale {r.scale:.4f}, "
            f"turned {turned:.2f}°{stretch}; points carried to {within} on the building (k = 2)"
        )
        table(
            f"Changes on the plan ({len(beside) - len(texts)} more beside it)",
            ("What", "At", "Size"),
            [(c.words(show.length), _at(c.box_pt), show.length(c.size)) for c in on_plan],
            text_columns=2,
        )
    if texts:
        where = "beside the plan" if r.pairs else "on the sheet"
        rows = [(c.words(show.length), _at(c.box_pt)) for c in texts[:MOST_TEXTS]]
        more = f", {len(texts) - MOST_TEXTS} more in --json" if len(texts) > MOST_TEXTS else ""
        table(f"Texts {where}{more}", ("What", "At"), rows, text_columns=2)
    for row in found.schedule_changes:
        say(row.words)
    for wall in found.new_walls:
        say(f"{wall.words(show.length)} (at {_at(wall.box_pt)})")
    for place in found.rooms_anew:
        say(f"{place.words}: take it with --run {place.key}")
    table(
        "Walls",
        ("Wall", "Proposal", "State", "Length before", "Length after", "Price", "What was found"),
        [
            (
                c.before.id,
                c.verdict,
                ("taken" if c.before.id in chosen else "sure" if c.sure else "look"),
                show.length(c.lengths[0]),
                show.length(c.lengths[1]),
                prices.words(c.before.id),
                "; ".join(c.notes),
            )
            for c in sorted(found.runs, key=lambda c: prices.rank(c.before.id))
        ],
        text_columns=3,
    )


def _at(box_pt: Sequence[float]) -> str:
    return f"{box_pt[0]:.0f},{box_pt[1]:.0f}"


def show_delta(delta: Delta, show: Display) -> None:
    """Print a delta: by room, by wall, by bill line, in material and in money."""
    money = replace(show, currency=delta.currency).money
    for found in delta_tables(delta, show):
        if found.rows:
            show_table(found)
    say(
        f"added {show.area(delta.added('net_area'))} and {money(delta.money_added)}, "
        f"deducted {show.area(delta.deducted('net_area'))} and {money(delta.money_deducted)}, "
        f"whole packs {signed(money(delta.whole_packs))}; "
        f"price {money(delta.price.before)} to {money(delta.price.after)}"
    )
    if unpriced := unpriced_words(delta):
        say(unpriced)


def set_json(sheets: Sequence[SheetOfSet], accept: Accept, before: Job) -> dict[str, Any]:
    """A compared set: a state for each sheet, and the comparison of those that changed."""

    def row(s: SheetOfSet) -> dict[str, Any]:
        found = s.revision
        compared = found and revision_json(found, [r.before.id for r in found.chosen(accept)], before)
        return picked(s, "state label note", sheet=s.old and s.old.id, page=s.new and s.new.page, revision=compared)

    return {"schema": "takeoff.revision-set/1", "sheets": [row(s) for s in sheets]}


def revision_json(found: Revision, chosen: Sequence[str], before: Job) -> dict[str, Any]:
    """A comparison: how the sheets lie on one another, what changed, and a proposal for each wall, with its price."""
    named = "matrix kind method pairs share rms_pt u scale turn stretch"
    return {
        "schema": "takeoff.revision/1",
        "sheet": found.old.id,
        "new_sheet": found.sheet.id,
        "registration": picked(found.registration, named),
        "changes": [picked(c, "kind box_pt size by before after on_plan", words=c.words()) for c in found.changes],
        "runs": [_run(c, is_taken=c.before.id in chosen) for c in found.runs],
        "by_money": _by_money(found, before),
        "new_walls": [picked(w, "box_pt length runs") for w in found.new_walls],
        "rooms_anew": [
            picked(p, "key runs", rooms=[picked(room, "id number") for room, _ in p.rooms]) for p in found.rooms_anew
        ],
        "schedule_changes": [picked(s, "schedule key before after") for s in found.schedule_changes],
        "doubts": found.doubts,
    }


def _by_money(found: Revision, before: Job) -> list[dict[str, Any]]:
    """Walls and new rooms, most at stake first: price and area of each alone, and of all down to it together."""
    from takeoff.actions.deltas import RevisionPrices

    prices = RevisionPrices(before, found)

    def money(value: float | None) -> dict[str, Any] | None:
        return None if value is None else amount(rounded(value, prices.currency), prices.currency)

    out = []
    for id, so_far in prices.in_order(before):
        worth = prices.worths.get(id)
        known = worth if worth is not None and worth.is_known else None
        out.append(
            {
                "id": id,
                "sort": prices.sort(id),
                "price_change": money(None if known is None else known.change),
                "at_stake": money(None if worth is None else worth.stake),
                "net_area": worth and _pair(worth.net_area),
                "price_change_so_far": money(so_far),
            }
        )
    return out


def _run(c: CarriedRun, *, is_taken: bool) -> dict[str, Any]:
    openings = [
        picked(o, "verdict by", words=o.words(), at=o.after and o.after.at, width=o.after and o.after.width)
        for o in c.openings
    ]
    return picked(
        c,
        "verdict sure moved notes",
        id=c.before.id,
        taken=is_taken,
        length_before=c.lengths[0],
        length_after=c.lengths[1],
        points=c.after and c.after.points_pt,
        openings=openings,
    )


def _pair(values: Pair) -> dict[str, Any]:
    return picked(values, "before after")


def delta_json(delta: Delta) -> dict[str, Any]:
    """What a revision comes to: figures before and after, by room, by wall and by product."""
    money = partial(amount, currency=delta.currency)

    def moneys(values: Pair) -> dict[str, Any]:
        return {"before": money(values.before), "after": money(values.after)}

    def item(i: DeltaItem) -> dict[str, Any]:
        figures = {name: _pair(values) for name, values in i.figures.items()}
        return picked(i, "id label words room", figures=figures, price_change=money(i.price_change))

    return {
        "total": {name: _pair(values) for name, values in delta.total.items()},
        "price": moneys(delta.price),
        "hours": _pair(delta.hours),
        "net_area_added": delta.added("net_area"),
        "net_area_deducted": delta.deducted("net_area"),
        **{name: money(getattr(delta, name)) for name in ("money_added", "money_deducted", "whole_packs", "other")},
        "left_over": moneys(delta.left_over),
        "rooms": [item(i) for i in delta.rooms],
        "runs": [item(i) for i in delta.runs],
        "materials": [
            picked(m, "product name unit", bought=_pair(m.bought), cost=moneys(m.cost)) for m in delta.materials
        ],
    }
