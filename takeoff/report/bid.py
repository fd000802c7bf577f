"""The bid: what the owner or the general contractor is handed. It holds quantities and prices, and nothing of costs.

A bid is a value of its own, made once from what the full report shows. The writers see the bid alone, so that no cost,
hour, rate or pack can reach a file that leaves the house.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, fields
from datetime import date, datetime, timedelta

from takeoff.estimate.alternates import Comparison
from takeoff.estimate.days.calendar import day_words
from takeoff.estimate.days.works import DayPlan
from takeoff.estimate.price import ESTIMATE_ONLY
from takeoff.measure.rules import EXACT_NET
from takeoff.model.costs import Estimate
from takeoff.model.point_register import share_words
from takeoff.report.bill_tables import bill, offer_tables, systems_with_cove
from takeoff.report.content import OWN_AFFAIRS, ReportContent, Shown
from takeoff.report.letterhead import PriceBy, bid_qualifications
from takeoff.report.plan_names import assumed_words, rooms_by_system
from takeoff.report.tables import Cell, Table, amounts, numbers, texts
from takeoff.units import Display


@dataclass(frozen=True, slots=True, kw_only=True)
class Bid(Shown):
    """A bid as it is handed over; every list and table is as it will be read.

    ``scope_runs`` are the runs of each row of ``scope``. ``tables`` come in the order they are read in. ``payment``
    says how it is paid, and how long the bid holds.
    """

    currency: str
    headline: tuple[tuple[str, str], ...]
    scope: Table
    scope_runs: tuple[tuple[str, ...], ...]
    price: Table
    unit_prices: Table
    alternates: Table | None
    days: Table | None
    build_up: tuple[Table, ...]
    payment: tuple[str, ...]
    exclusions: tuple[str, ...]
    qualifications: tuple[str, ...]
    cautions: tuple[str, ...]

    def tables(self) -> tuple[Table, ...]:
        """Tables of quantities and prices."""
        every = (self.scope, self.price, self.unit_prices, self.alternates, self.days)
        return tuple(t for t in every if t is not None)

    def head_of_edition(self) -> tuple[tuple[str, str], ...]:
        """To whom it goes, where the work is, and which bid it is."""
        head = self.letterhead
        return (
            ("To", "\n".join(head.to)),
            ("Site", "\n".join(head.site)),
            ("Bid number", head.number),
            ("Date", self.date),
            ("Addenda received", "\n".join(head.addenda)),
        )

    def system_name(self, id: str) -> str:
        """Name a system by its id; walls without one are not bid."""
        return dict(self.systems).get(id, id) or "not in this bid"


def make_bid(
    content: ReportContent,
    *,
    price_by: PriceBy = "lump-sum",
    alternates: Comparison | None = None,
    days: DayPlan | None = None,
    first_day: date | None = None,
) -> Bid:
    """Make a bid of what the full report shows of a priced job.

    Of ``alternates`` (the job as it is, first, and with other systems) only differences of the price are taken, of
    ``days`` only the first and last day of each room. Working days are counted from ``first_day``; where it is ``None``
    the plan's dates are shown. A `CatalogueError` is raised where the catalogue lacks a system of the estimate.
    """
    e, d, catalogue = content.estimate, content.display, content.catalogue
    scope, runs, cove = _scope(content)
    notes = tuple(dict.fromkeys(note for id, _ in content.systems for note in catalogue.system(id).notes))
    walls = len({run for row in runs for run in row})
    unpriced = len(content.by_run.items) - walls
    left = ("Walls that the marked plans show without a system.",) if unpriced else ()
    not_measured = tuple(f"{words}." for words in content.by_room.left_out)
    plan = days if days is not None and days.works else None
    return Bid(
        **{field.name: getattr(content, field.name) for field in fields(Shown)},
        currency=e.currency,
        headline=_headline(e, content, cove, plan),
        scope=scope,
        scope_runs=runs,
        price=price_of_bid(e, d, price_by),
        unit_prices=_unit_prices(content),
        alternates=None if alternates is None else alternates_of_bid(alternates),
        days=None if plan is None else _days(plan, first_day),
        build_up=offer_tables(e, catalogue, d),
        payment=_payment(content, price_by),
        exclusions=(*not_measured, *left, *content.exclusions),
        qualifications=(*_assumed(content), *bid_qualifications(notes), *content.letterhead.qualifications),
        cautions=tuple(text for text in e.cautions if text != ESTIMATE_ONLY),
    )


def _payment(content: ReportContent, by: PriceBy) -> tuple[str, ...]:
    head = content.letterhead
    of = {"lump-sum": "The lump sum is paid", "room": "The price of each room is paid"}
    try:
        last = f", until {date.fromisoformat(content.date) + timedelta(days=head.valid_days)}"
    except ValueError:
        last = ""
    late = content.estimate.retention
    kept_back = (f"Of the price {content.display.money(late)} may be kept back as retention.",) if late else ()
    return (
        f"{of.get(by, 'The price of each system is paid')} as it stands here; it is not measured again.",
        f"Work added or left out by written order is measured {_measured(content)}, and paid at the unit prices.",
        *kept_back,
        *head.payment,
        f"This bid holds for {head.valid_days} days from its date{last}.",
    )


def _unit_prices(content: ReportContent) -> Table:
    """What one unit of each system costs, by its area for payment, or by its cove where it coats no wall."""
    e = content.estimate
    rows = tuple((part.title, f"per {part.unit}", part.rate) for part in bill(content) if part.unit)
    tax = " Tax on the price is in it." if e.line("tax").amount else ""
    columns = (*texts("System", "Unit"), *amounts("Price", unit=e.currency))
    note = (
        "For work that is added or left out by written order. All work of the system is in it: coves, corners, "
        f"edges and returns too; areas are measured {_measured(content)}.{tax}"
    )
    return Table(id="unit-prices", title="Unit prices", columns=columns, rows=rows, note=note)


def _measured(content: ReportContent) -> str:
    return "net of openings" if content.rule == EXACT_NET else f"by {content.rule} ({content.rule_source})"


def _assumed(content: ReportContent) -> tuple[str, ...]:
    """Say what the bid assumes: what was confirmed, and before that what was not."""
    points = content.points
    said = assumed_words((p for p in points.confirmed if p.assumes and p.kind not in OWN_AFFAIRS), content)
    if not points.open:
        return said
    told = [p for p in points.open if p.kind not in OWN_AFFAIRS]
    priced = {None, *(item.id for item in content.by_room.items)}
    ours = assumed_words((p for p in told if p.where.room in priced), content)
    left = tuple(f"Not confirmed yet: {text}" for text in ours)
    own = ("Our own prices and rates are not final.",) if len(told) < len(points.open) else ()
    return (f"This price is provisional. It could move by {share_words(points.share)}.", *own, *left, *said)


def _headline(e: Estimate, content: ReportContent, cove: float, plan: DayPlan | None) -> tuple[tuple[str, str], ...]:
    d = content.display
    figures = (
        ("Walls coated, net of openings", d.area(e.net_area) if e.net_area > 0 else ""),
        (f"Walls for payment, by {content.rule}", d.area(e.paid_area) if e.pays_by_rule else ""),
        ("Cove", d.length(cove) if cove > 0 else ""),
        ("Working days on site", "" if plan is None else f"{plan.days_on_site}"),
        ("Price", d.money(e.line("price").amount)),
    )
    return tuple(figure for figure in figures if figure[1])


def _scope(content: ReportContent) -> tuple[Table, tuple[tuple[str, ...], ...], float]:
    """What is coated with what, room by room, the runs of each row, and the cove in m."""
    d, e = content.display, content.estimate
    with_cove = systems_with_cove(e)
    rows: list[tuple[Cell, ...]] = []
    works = [work for work in rooms_by_system(content) if work.system in dict(content.systems)]
    area, length = d.area_number, d.length_number
    all_cove = 0.0
    for work in works:
        q = work.quantities
        cove = q.cove_length if work.system in with_cove else 0.0
        all_cove += cove
        by_rule = (area(q.measured_area),) if e.pays_by_rule else ()
        corners = (length(q.inside_corner_length), length(q.outside_corner_length), length(q.termination_length))
        wall = (area(q.net_area), *by_rule, length(q.base_length), length(cove) if cove else "", *corners, q.openings)
        if work.system in content.uncoated:
            wall = tuple(value if i == 2 + len(by_rule) else "" for i, value in enumerate(wall))
        rows.append((work.label, work.name, work.height, *wall))
    columns = (
        *texts("Room", "System", "Height of the coating"),
        *numbers("Walls, net", unit=d.area_unit),
        *(numbers("Walls, for payment", unit=d.area_unit) if e.pays_by_rule else ()),
        *numbers("Base", "Cove", "Inside corners", "Outside corners", "Edges", unit=d.length_unit),
        *numbers("Openings", unit="no.", decimals=0),
    )
    foot = [sum(v for v in column if not isinstance(v, str)) for column in list(zip(*rows, strict=True))[3:]]
    table = Table(
        id="scope",
        title="Scope of work",
        columns=columns,
        rows=tuple(rows),
        total=("Total", "", "", *(value or "" for value in foot)) if rows else None,
        note="Walls are net of openings"
        + (f"; for payment they are measured by {content.rule} ({content.rule_source})" if e.pays_by_rule else "")
        + ". Edges are free ends, exposed tops and edges of openings. Coated returns of openings and wall ends are in "
        "the price.",
    )
    return table, tuple(work.runs for work in works), all_cove


def price_of_bid(result: Estimate, display: Display, by: PriceBy) -> Table:
    """Set out the price as one sum or in parts that add up to it; tax on the price is told apart."""
    whole, net, tax = (result.line(id).amount for id in ("price", "net_price", "tax"))
    paid, note = amounts("Price", unit=result.currency), ""
    if by == "lump-sum":
        columns = (*texts("Lump sum"), *paid)
        rows: list[tuple[Cell, ...]] = [("All work in this bid", net), *([("Tax on the price", tax)] if tax else [])]
        total: tuple[Cell, ...] = ("Price", whole)
    else:

        def area(m2: float) -> Cell:
            return display.area_number(m2) if m2 else ""

        columns = (*texts(by.capitalize()), *numbers("Walls, net", unit=display.area_unit), *paid)
        rows = [(p.label, area(p.area), p.price) for p in (result.rooms if by == "room" else result.systems)]
        total = ("Price", area(result.net_area), whole)
        note = f"{display.money(tax)} of tax on the price is in it." if tax else ""
    return Table(id="price", title="Price", columns=columns, rows=tuple(rows), total=total, note=note)


def alternates_of_bid(result: Comparison) -> Table:
    """What each alternate adds to the price or deducts from it."""
    price = result.row("price", "price")
    rows = tuple(
        (name, "Add" if change > 0 else "Deduct" if change < 0 else "No change", abs(change))
        for name, change in zip(result.names[1:], price.differences[1:], strict=True)
    )
    columns = (*texts("Alternate", "Add or deduct"), *amounts("Amount", unit=result.currency))
    note = "Each is the named system in place of this bid's on all walls coated; all else stays as it is bid."
    return Table(id="alternates", title="Alternates", columns=columns, rows=rows, note=note)


def _days(plan: DayPlan, first: date | None) -> Table:

    def words(moment: datetime) -> str:
        return day_words(moment) if first is None else f"day {bisect_left(plan.dates, moment.date()) + 1}"

    rows: list[tuple[Cell, ...]] = []
    for room in plan.rooms:
        begun = min(work.start for work in plan.works if work.room == room.room)
        rows.append((room.room, words(begun), words(room.done - timedelta(minutes=1))))
    counted = "" if first is None else " Days are working days, counted from the first day on site."
    note = f"{plan.days_on_site} working days on site, where every room is handed over in time.{counted}"
    columns = texts("Room", "First day", "Last day")
    return Table(id="days", title="Days on site", columns=columns, rows=tuple(rows), note=note)
