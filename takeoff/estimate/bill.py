"""The way from what a job takes to its price, line by line, rounded to the cent where a line stands."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from takeoff.estimate.labour import burdened_rate, wage_words
from takeoff.model.costs import LabourLine, MaterialLine, PriceLine, SiteDays
from takeoff.model.systems import OwnLine, Rates
from takeoff.system.words import METRIC_FIRST, Words, percent
from takeoff.units.money import add, rounded


def margin_of_markup(markup: float) -> float:
    """Return the margin on price that a markup on cost makes, m / (1 + m).

    Examples
    --------
    >>> margin_of_markup(0.25)
    0.2
    """
    return markup / (1.0 + markup)


def markup_of_margin(margin: float) -> float:
    """Return the markup on cost that makes a margin on price, g / (1 − g), for a margin below 1.

    Examples
    --------
    >>> markup_of_margin(0.2)
    0.25
    """
    return margin / (1.0 - margin)


OWN = "own:"
"""What the id of an own line begins with among price lines."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """What lines are counted by: rooms, m² and m of coated wall, man-hours, and what is on site.

    ``visits``, ``days`` and ``phases`` are those of the plan of days; where none is priced, whole crew days and one.
    """

    rooms: int
    area: float
    length: float
    hours: float
    visits: int
    days: int
    phases: int


NOUNS = {"phase": "phases", "visit": "visits", "day": "days on site", "room": "rooms"}
"""What a line of one's own may be counted by, and what people call that; the first word is the count."""
OF_WORDS = {
    "material": "material",
    "labour": "labour",
    "direct": "the direct cost above",
    "price": "the price before lines of the price",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What a job takes: material, labour, days of a full crew, and the plan of days where it is priced by one.

    ``is_empty`` says that there is no work at all: then neither set-up nor a minimum is charged, nor lines of one's
    own. ``kind`` is how material is counted, in words; ``counts`` what lines of one's own are counted by.
    ``access_days`` are the working days that access stands for where it is not ``site`` that says it; None
    where no days are planned.
    """

    materials: Sequence[MaterialLine]
    labour: Sequence[LabourLine]
    days: float
    counts: Counts
    is_empty: bool
    kind: str
    site: SiteDays | None = None
    access_days: int | None = None


def price_lines(taken: Taken, rates: Rates, *, currency: str, words: Words = METRIC_FIRST) -> tuple[PriceLine, ...]:
    """Give every line from material to the price, the price last."""
    bill = _Bill(taken, rates, currency, words)
    direct = bill.direct_lines()
    cost = bill.cost_lines(direct)
    return (*direct, *cost, *bill.price_lines(direct, cost))


class _Bill:
    def __init__(self, taken: Taken, rates: Rates, currency: str, words: Words) -> None:
        self.taken, self.rates, self.currency, self.words = taken, rates, currency, words
        self.rate = burdened_rate(rates)

    def money(self, value: float) -> str:
        return self.words.money(value, self.currency)

    def rounded(self, value: float) -> float:
        return rounded(value, self.currency)

    def of(self, fraction: float, base: float) -> str:
        return f"{percent(fraction)} of {self.money(base)}"

    def part(self, id: str, label: str, fraction: float, *base: float) -> PriceLine:
        """Make a line that is a fraction of some amounts together."""
        whole = add(base)
        return _line(id, label, self.rounded(whole * fraction), self.of(fraction, whole))

    def man_hours(self, id: str, label: str, hours: float, how: str) -> PriceLine:
        """Make a line of hours at the burdened rate."""
        return _line(id, label, self.rounded(hours * self.rate), f"{hours:.2f} h × {self.money(self.rate)}: {how}")

    def own(self, lines: Iterable[OwnLine], sums: dict[str, float]) -> tuple[PriceLine, ...]:
        """Make lines of one's own; ``sums`` are those that a fraction can be of, by name."""
        return () if self.taken.is_empty else tuple(self.own_line(line, sums) for line in lines)

    def own_line(self, line: OwnLine, sums: Mapping[str, float]) -> PriceLine:
        """Make one of them."""
        counts, each = self.taken.counts, self.money(line.amount)
        if line.per == "fraction":
            value, how = sums[line.of], f"{percent(line.amount)} of {OF_WORDS[line.of]}, {self.money(sums[line.of])}"
        elif line.per == "job":
            value, how = 1.0, "A sum for the job."
        elif line.per == "area":
            value, how = counts.area, f"{self.words.area(counts.area)} at {each} a m²"
        elif line.per == "length":
            value, how = counts.length, f"{self.words.length(counts.length)} at {each} a m"
        elif line.per == "hour":
            value, how = counts.hours, f"{counts.hours:.2f} man-hours × {each}"
        else:
            noun = NOUNS[line.per]
            value = getattr(counts, noun.split()[0])
            how = f"{value:g} {noun} × {each}"
        return _line(OWN + line.id, line.label, self.rounded(line.amount * value), how)

    def direct_lines(self) -> tuple[PriceLine, ...]:
        """Give the lines of direct cost."""
        t, r = self.taken, self.rates
        material = add(line.cost for line in t.materials)
        labour = add(line.cost for line in t.labour)
        freight = self.rounded(r.freight) if t.materials else 0.0
        lines = [
            _line("material", "Material", material, f"{len(t.materials)} products {t.kind}."),
            self.part("material_tax", "Tax on material", r.material_tax, material),
            _line("freight", "Freight", freight, "A sum for the job, where there is material."),
            _line("labour", "Labour", labour, *wage_words(r, self.currency), f"{len(t.labour)} lines of hours."),
            *(self.plan_lines(t.site) if t.site is not None else self.hour_lines()),
        ]
        sums = {"material": material, "labour": labour}
        mine = [line for line in r.lines if not line.at_cost and line.of != "price"]
        lines += self.own((line for line in mine if line.of != "direct"), sums)
        lines += self.own((line for line in mine if line.of == "direct"), {"direct": add(p.amount for p in lines)})
        return tuple(lines)

    def retained(self, price: float) -> tuple[str, ...]:
        """Say what of the price is paid late."""
        share = self.rates.retention
        if not share:
            return ()
        late = self.money(self.rounded(price * share))
        return (f"Of it {late}, {percent(share)}, is retention: paid late, and not taken off.",)

    def hour_lines(self) -> Iterable[PriceLine]:
        """Give set-up and access by hours alone."""
        r = self.rates
        hours = 0.0 if self.taken.is_empty else r.setup_hours
        how = f"{hours:g} h × {self.money(self.rate)}: half to set up, half to clean up."
        yield _line("setup", "Set-up and clean-up", self.rounded(hours * self.rate), how)
        yield self.access_line(
            "Set-up is counted by hours, without a plan of days: waiting, abrading, travel, nights away and further"
            " phases are left out."
        )

    def access_line(self, *more: str) -> PriceLine:
        """Give access by the working days that it stands; by started crew days where none are planned."""
        site = self.taken.site
        each, days = self.rates.access_per_day, self.taken.access_days if site is None else site.access_days
        what = "working days from the first to the last of each phase"
        if days is None:
            days, what = math.ceil(self.taken.days - 1e-9), "started crew days, as no days are planned"
        how = f"{days} {what} × {self.money(each)}" if each else "The rates give no cost of access a day."
        return _line("access", "Access", self.rounded(days * each), how, *more)

    def plan_lines(self, site: SiteDays) -> Iterable[PriceLine]:
        """Give what the plan of days is paid for: abrading, waiting, phases, travel, nights away, access."""
        r = self.rates
        yield self.man_hours(
            "abrading",
            "Abrading of missed windows",
            site.abrading * r.crew,
            f"{site.abrading:.2f} crew hours that the plan adds × {r.crew} people.",
        )
        yield self.man_hours(
            "waiting",
            "Waiting on site",
            site.waiting * r.crew,
            f"{site.waiting:.2f} crew hours × {r.crew} people; {site.visits} visits, each paid from its first work to"
            f" its last, {r.least_visit_hours:g} h at least.",
        )
        phases = "1 phase" if site.phases == 1 else f"{site.phases} phases"
        yield self.man_hours(
            "setup",
            "Set-up and clean-up",
            site.phases * r.setup_hours,
            f"{phases} × {r.setup_hours:g} h, half to set up, half to clean up.",
        )
        yield from self.away_lines(site)
        yield self.access_line()

    def away_lines(self, site: SiteDays) -> Iterable[PriceLine]:
        """Give travel and nights away, where there is any."""
        r = self.rates
        hours = site.trips * 2.0 * site.travel_hours * r.crew
        drive = self.rounded(site.trips * 2.0 * site.travel_km * r.travel_per_km)
        if hours or drive:
            paid = self.rounded(hours * self.rate)
            yield _line(
                "travel",
                "Travel",
                add((paid, drive)),
                f"{site.trips} trips of a crew, there and back: {site.trips} × 2 × {site.travel_hours:g} h × {r.crew}"
                f" people = {hours:g} h × {self.money(self.rate)} = {self.money(paid)}",
                f"{site.trips} × 2 × {site.travel_km:g} km × {self.money(r.travel_per_km)} = {self.money(drive)}",
            )
        if site.day_rates:
            meals, beds = self.rounded(site.day_rates * r.per_diem), self.rounded(site.nights * r.lodging)
            yield _line(
                "stay",
                "Nights away",
                add((meals, beds)),
                f"{site.day_rates} days of a person away × {self.money(r.per_diem)} = {self.money(meals)}",
                f"{site.nights} nights of a person × {self.money(r.lodging)} = {self.money(beds)}",
            )

    def cost_lines(self, lines: Sequence[PriceLine]) -> tuple[PriceLine, ...]:
        """Give direct cost, contingency and overhead."""
        r = self.rates
        direct = add(line.amount for line in lines)
        labels = [line.label if n == 0 else line.label[:1].lower() + line.label[1:] for n, line in enumerate(lines)]
        contingency = self.part("contingency", "Contingency", r.contingency, direct)
        overhead = self.part("overhead", "Overhead", r.overhead, direct, contingency.amount)
        return (_line("direct", "Direct cost", direct, f"{', '.join(labels)}."), contingency, overhead)

    def price_lines(self, direct: Sequence[PriceLine], costs: Sequence[PriceLine]) -> tuple[PriceLine, ...]:
        """Give profit, the minimum, lines at cost, tax and the price."""
        r, is_empty = self.rates, self.taken.is_empty
        cost = add(line.amount for line in costs)
        is_margin = r.profit_basis == "margin"
        profit = self.rounded(cost * (markup_of_margin(r.profit) if is_margin else r.profit))
        before = add((cost, profit))
        lift = 0.0 if is_empty else max(0.0, add((self.rounded(r.minimum_charge), -before)))
        sums = {line.id: line.amount for line in (*direct, *costs)}
        own = list(self.own((line for line in r.lines if line.at_cost and line.of != "price"), sums))
        so_far = add((before, lift, *(line.amount for line in own)))
        own += self.own((line for line in r.lines if line.of == "price"), {"price": so_far})
        net = add((before, lift, *(line.amount for line in own)))
        tax = self.part("tax", "Tax on price", r.price_tax, net)
        price = add((net, tax.amount))
        words = f"Markup of {self.of(r.profit, cost)}: a margin of {margin_of_markup(r.profit) * 100:.2f} % of price."
        if is_margin:
            markup = markup_of_margin(r.profit) * 100
            words = (
                f"Margin of {self.of(r.profit, before)} before tax: a markup of {markup:.2f} % on {self.money(cost)}."
            )
        more = ", lines at cost and of the price" if own else ""
        return (
            _line("profit", "Profit", profit, words),
            _line("minimum", "Up to the minimum charge", lift, f"Minimum charge {self.money(r.minimum_charge)}."),
            *own,
            _line("net_price", "Price before tax", net, f"Direct cost, contingency, overhead, profit, minimum{more}."),
            tax,
            _line("price", "Price", price, f"{self.money(net)} + {self.money(tax.amount)}", *self.retained(price)),
        )


def _line(id: str, label: str, amount: float, *lines: str) -> PriceLine:
    return PriceLine(id=id, label=label, amount=amount, arithmetic=lines)
