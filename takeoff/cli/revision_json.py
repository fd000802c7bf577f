"""Revisions and what they come to as JSON: lengths in m, areas in m², sheet points as they are, money with currency."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from takeoff.actions.addendum import SheetOfSet
    from takeoff.actions.revising import Accept, Revision
    from takeoff.job.job import Job
    from takeoff.revise.carry import CarriedRun
    from takeoff.revise.changes import SheetChange
    from takeoff.revise.delta import Delta
    from takeoff.revise.registration import Registration


def set_json(sheets: Sequence[SheetOfSet], accept: Accept, before: Job) -> dict[str, Any]:
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
                else revision_json(s.revision, [r.before.id for r in s.revision.chosen(accept)], before),
            }
            for s in sheets
        ],
    }


def revision_json(found: Revision, chosen: Sequence[str], before: Job) -> dict[str, Any]:
    """A comparison: how the sheets lie on one another, what changed, and a proposal for each run, with its price."""
    return {
        "schema": "takeoff.revision/1",
        "sheet": found.old.id,
        "new_sheet": found.sheet.id,
        "registration": _registration(found.registration),
        "changes": [_change(c) for c in found.changes],
        "runs": [_run(c, is_taken=c.before.id in chosen) for c in found.runs],
        "by_money": _by_money(found, before),
        "new_walls": [{"box_pt": list(w.box_pt), "length": w.length, "runs": list(w.runs)} for w in found.new_walls],
        "rooms_anew": [
            {"key": p.key, "runs": list(p.runs), "rooms": [{"id": r.id, "number": r.number} for r, _ in p.rooms]}
            for p in found.rooms_anew
        ],
        "schedule_changes": [
            {"schedule": s.schedule, "key": s.key, "before": s.before, "after": s.after} for s in found.schedule_changes
        ],
        "doubts": list(found.doubts),
    }


def _by_money(found: Revision, before: Job) -> list[dict[str, Any]]:
    """Walls and new rooms, most at stake first: price and area of each alone, and of all down to it together."""
    from takeoff.actions.revision_prices import RevisionPrices

    prices = RevisionPrices(before, found)

    def money(amount: float | None) -> dict[str, Any] | None:
        return None if amount is None else {"amount": round(amount, 2), "currency": prices.currency}

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
                "net_area": worth and {"before": worth.net_area.before, "after": worth.net_area.after},
                "price_change_so_far": money(so_far),
            }
        )
    return out


def _registration(r: Registration) -> dict[str, Any]:
    named = ("kind", "method", "pairs", "share", "rms_pt", "u", "scale", "turn", "stretch")
    return {"matrix": list(r.matrix), **{name: getattr(r, name) for name in named}}


def _change(c: SheetChange) -> dict[str, Any]:
    return {
        "kind": c.kind,
        "words": c.words(),
        "box_pt": list(c.box_pt),
        "size": c.size,
        "by": None if c.by is None else list(c.by),
        "before": c.before,
        "after": c.after,
        "on_plan": c.on_plan,
    }


def _run(c: CarriedRun, *, is_taken: bool) -> dict[str, Any]:
    return {
        "id": c.before.id,
        "verdict": c.verdict,
        "sure": c.sure,
        "taken": is_taken,
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


def delta_json(delta: Delta) -> dict[str, Any]:
    """What a revision comes to: figures before and after, by room, by run and by product."""

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
