"""Revisions and what they come to as tables."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from takeoff.cli.rim import notes, say
from takeoff.cli.show import table
from takeoff.report.change_order import beside_lines, unpriced_words
from takeoff.report.tables import shown_amount
from takeoff.units import Display, signed

if TYPE_CHECKING:
    from takeoff.actions.addendum import SheetOfSet
    from takeoff.actions.revising import Accept, Revision
    from takeoff.job.job import Job
    from takeoff.revise.delta import Delta

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
    from takeoff.actions.revision_prices import RevisionPrices

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
    """Print a delta: by room, by change, in material and in money."""
    money = Display(system=show.system, precision=show.precision, currency=delta.currency).money

    def row(label: str, figures: Any, price: float) -> tuple[str, ...]:
        net, base = figures["net_area"], figures["base_length"]
        return (
            label,
            show.area(net.before),
            show.area(net.after),
            signed(show.area(net.change)),
            signed(show.length(base.change)),
            signed(money(price)),
        )

    headings = ("Net before", "Net after", "Net", "Base", "Price")
    whole = row("Total", delta.total, delta.price.change)
    rest = [(text, "", "", "", "", signed(money(amount))) for text, amount in beside_lines(delta, show)]
    for title, name, items in (
        ("Change by room", "Room", delta.rooms),
        ("Change by wall", "Room and wall", delta.runs),
    ):
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
                signed(money(m.cost.change)),
            )
            for m in delta.materials
        ],
    )
    say(
        f"added {show.area(delta.added('net_area'))} and {money(delta.money_added)}, "
        f"deducted {show.area(delta.deducted('net_area'))} and {money(delta.money_deducted)}, "
        f"whole packs {signed(money(delta.whole_packs))}; "
        f"price {money(delta.price.before)} to {money(delta.price.after)}"
    )
    if unpriced := unpriced_words(delta):
        say(unpriced)
