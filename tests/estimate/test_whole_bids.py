"""Whole bids drawn by chance, worked again in exact fractions by what docs/estimating.md says, to the smallest unit."""

import math
import random
from fractions import Fraction

import pytest

from takeoff.estimate.price import estimate
from takeoff.model.figures import Lot, Quantities
from takeoff.model.systems import Catalogue, CrewMember, Labour, OwnLine, Pack, Product, Rates, Step, System
from takeoff.report.tables import cost_lines
from takeoff.units import Display

PLACES = {"USD": 2, "JPY": 0, "KWD": 3}  # ISO 4217, from memory
BASES = ("net_area", "coated_area", "base_length", "cove_length", "openings", "room")


def exact(value):
    return Fraction(str(value))


def drawn(seed):
    """A job by chance: catalogue, rates and lots, all of decimals with few places."""
    by = random.Random(seed)
    number = lambda low, high, places=2: round(by.uniform(low, high), places)  # noqa: E731
    currency = by.choice(list(PLACES))
    by_money = {"USD": 1.0, "JPY": 150.0, "KWD": 0.3}[currency]
    money = lambda low, high: round(number(low, high, 4) * by_money, PLACES[currency])  # noqa: E731
    products = []
    for kind in ("L", "kg", "each"):
        large = number(4, 20, 1)
        packs = [Pack(name="large", size=large, price=money(80, 400))]
        if by.random() < 0.6:
            packs.append(Pack(name="small", size=round(large / 4, 2), price=money(30, 120)))
        products.append(
            Product(
                id=kind,
                name=kind,
                unit=kind,
                packs=tuple(packs),
                volume_solids=number(0.3, 1.0),
                density=1.5,
                left_in_tools=number(0, 0.5) if kind == "L" else 0.0,
            )
        )
    steps = [
        Step(id="prime", name="Prime", kind="coat", basis=by.choice(BASES[:2]), product="L", spread=number(3, 9),
             coats=by.randint(1, 3), loss=number(0, 0.4), labour=Labour(rate=number(3, 20))),
        Step(id="film", name="Film", kind="coat", basis="coated_area", product="kg", dry_film=number(1, 9, 1) / 1e4,
             loss=number(0, 0.4), labour=Labour(rate=number(3, 20), height_factor=False)),
        Step(id="throw", name="Throw", kind="broadcast", basis="net_area", product="kg", amount=number(0.2, 4)),
        Step(id="bead", name="Bead", kind="sealant", basis="base_length", product="L", amount=6e-6 * by.randint(4, 9)),
        Step(id="set", name="Set", kind="each", basis=by.choice(BASES[4:]), product="each", loss=number(0, 0.2),
             labour=Labour(minutes=number(5, 50, 0))),
        Step(id="mask", name="Mask", kind="work", basis=by.choice(BASES), labour=Labour(rate=number(2, 30))),
    ]  # fmt: skip
    systems = tuple(
        System(id=id, name=id, summary="", steps=tuple(by.sample(steps, by.randint(1, 6)))) for id in ("a", "b")
    )
    lines = tuple(
        OwnLine(
            id=f"{n}",
            label=f"{n}",
            amount=number(0.005, 0.1, 3) if per == "fraction" else money(5, 500),
            per=per,
            of=by.choice(("material", "labour", "direct", "price")) if per == "fraction" else "",
            at_cost=by.random() < 0.3,
        )
        for n, per in enumerate(by.choices(("job", "area", "length", "hour", "room", "day", "fraction"), k=3))
    )
    people = ()
    crew = by.randint(1, 5)
    if by.random() < 0.4:
        people = (
            CrewMember(name="lead", count=1, wage=money(40, 60), burden=0.4, fringe=money(0, 9)),
            CrewMember(name="hand", count=crew, wage=money(20, 40)),
        )
        crew += 1
    rates = Rates(
        wage=money(20, 60),
        burden=number(0, 0.6),
        crew=crew,
        shift_hours=by.choice((8.0, 10.0)),
        setup_hours=number(0, 9, 1),
        minimum_charge=money(0, 9000),
        height_factors=((0.0, 1.0), (3.0, number(1, 2))),
        cut_up_factor=by.choice((0.0, 0.25)),
        access_per_day=money(0, 90),
        contingency=number(0, 0.2, 3),
        overhead=number(0, 0.3, 3),
        profit=number(0, 0.4, 3),
        profit_basis=by.choice(("markup", "margin")),
        material_tax=number(0, 0.2, 4),
        price_tax=number(0, 0.25, 4),
        freight=money(0, 300),
        people=people,
        overtime_after=by.choice((None, 8.0)),
        lines=lines,
        retention=by.choice((0.0, 0.05, 0.1)),
    )
    lots = []
    for n in range(by.randint(1, 6)):
        net = by.choice((0.0, number(0.01, 5), number(5, 900)))
        low = round(net * by.random(), 2)
        lots.append(
            Lot(
                system=by.choice("ab"),
                room=f"R{n // 2}",
                room_label=f"R{n // 2}",
                quantities=Quantities(
                    net_area=net,
                    return_area=number(0, 9),
                    base_length=number(0, 90),
                    cove_length=number(0, 90),
                    inside_corner_length=number(0, 30),
                    jamb_length=number(0, 30),
                    openings=float(by.randint(0, 7)),
                ),
                bands=((0.0, 3.0, low), (3.0, 6.0, round(net - low, 2))),
            )
        )
    catalogue = Catalogue(name="drawn", currency=currency, products=tuple(products), systems=systems)
    return lots, catalogue, rates


class ByHand:
    """The bid once more: fractions all through, no code of the program but its values."""

    def __init__(self, lots, catalogue, rates):
        self.lots, self.catalogue, self.rates = lots, catalogue, rates
        self.unit = Fraction(1, 10 ** PLACES[catalogue.currency])

    def money(self, value):
        return math.floor(value / self.unit + Fraction(1, 2)) * self.unit

    def figure(self, q, basis):
        if basis == "room":
            return Fraction(1)
        if basis == "coated_area":
            return exact(q.net_area) + exact(q.return_area)
        return exact(getattr(q, basis))

    def hour(self):
        r = self.rates
        shift, after = exact(r.shift_hours), r.overtime_after
        over = 1 if after is None or shift <= after else (exact(after) + (shift - exact(after)) * exact(1.5)) / shift
        people = [(m.count, m.wage, r.burden if m.burden is None else m.burden, m.fringe) for m in r.people]
        people = people or [(1, r.wage, r.burden, 0.0)]
        whole = sum(n * (exact(w) * (1 + exact(b)) * over + exact(f)) for n, w, b, f in people)
        return whole / sum(n for n, *_ in people)

    def material(self):
        needs = {}
        for lot in self.lots:
            for step in self.catalogue.system(lot.system).steps:
                value = self.figure(lot.quantities, step.basis)
                if step.product is None or value == 0:
                    continue
                product, solids = self.catalogue.product(step.product), Fraction(1)
                if step.kind == "coat":
                    solids = exact(self.catalogue.product(step.product).volume_solids)
                    litres = value * step.coats / exact(step.spread) if step.spread else None
                    litres = value * step.coats * exact(step.dry_film) * 1000 / solids if litres is None else litres
                elif step.kind == "sealant":
                    litres = value * exact(step.amount) * 1000
                else:
                    litres = None
                amount = value * exact(1 if step.amount is None else step.amount)
                if litres is not None:
                    amount = litres * (exact(product.density) if product.unit == "kg" else 1)
                need = amount / (1 - exact(step.loss))
                if step.kind == "coat":
                    need += step.coats * exact(product.left_in_tools)
                needs[product.id] = needs.get(product.id, 0) + need
        return sum((self.money(self.cheapest(id, need)) for id, need in needs.items()), Fraction(0))

    def cheapest(self, id, need):
        packs = [(exact(p.size), exact(p.price)) for p in self.catalogue.product(id).packs]
        if len(packs) == 1:
            return math.ceil(need / packs[0][0]) * packs[0][1]
        (large, dear), (small, cheap) = packs
        most = math.ceil(need / large)
        return min(n * dear + max(0, math.ceil((need - n * large) / small)) * cheap for n in range(most + 1))

    def labour(self):
        hours, cost = Fraction(0), Fraction(0)
        for lot in self.lots:
            q = lot.quantities
            (_, _, low), (_, _, high) = lot.bands
            area, factor = exact(low) + exact(high), exact(self.rates.height_factors[1][1])
            height = (exact(low) + exact(high) * factor) / area if area else 1
            edges = exact(q.inside_corner_length) + exact(q.jamb_length)
            cut_up = 1 + exact(self.rates.cut_up_factor) * edges / exact(q.net_area) if q.net_area else 1
            for step in self.catalogue.system(lot.system).steps:
                value, work = self.figure(q, step.basis), step.labour
                if work is None or value == 0:
                    continue
                own = value / exact(work.rate) if work.rate else value * exact(work.minutes) / 60
                own *= step.coats * (height if work.height_factor else 1)
                own *= cut_up if step.basis in ("net_area", "coated_area") else 1
                hours, cost = hours + own, cost + self.money(own * self.hour())
        return hours, cost

    def coated(self):
        return [
            lot for lot in self.lots
            if any(s.basis in ("net_area", "coated_area") for s in self.catalogue.system(lot.system).steps)
        ]  # fmt: skip

    def own(self, line, hours, days, sums):
        counted = {
            "job": Fraction(1),
            "area": sum((exact(lot.quantities.net_area) for lot in self.coated()), Fraction(0)),
            "length": sum(exact(lot.quantities.base_length) for lot in self.lots),
            "hour": hours,
            "room": Fraction(len({lot.room for lot in self.lots})),
            "day": Fraction(math.ceil(days)),
        }
        return self.money(exact(line.amount) * (sums[line.of] if line.per == "fraction" else counted[line.per]))

    def price(self):
        r = self.rates
        material, (work, labour) = self.material(), self.labour()
        setup = exact(r.setup_hours)
        hours = work + setup
        days = hours / (r.crew * exact(r.shift_hours))
        sums = {"material": material, "labour": labour}
        direct = material + self.money(material * exact(r.material_tax)) + labour + self.money(setup * self.hour())
        direct += self.money(exact(r.freight)) if material else 0
        direct += self.money(math.ceil(days) * exact(r.access_per_day))
        above = [line for line in r.lines if not line.at_cost and line.of not in ("price", "direct")]
        direct += sum(self.own(line, hours, days, sums) for line in above)
        of_direct = [line for line in r.lines if not line.at_cost and line.of == "direct"]
        so_far = direct
        direct += sum(self.own(line, hours, days, {"direct": so_far}) for line in of_direct)
        sums["direct"] = direct
        contingency = self.money(direct * exact(r.contingency))
        overhead = self.money((direct + contingency) * exact(r.overhead))
        cost, profit = direct + contingency + overhead, exact(r.profit)
        net = cost + self.money(cost * (profit / (1 - profit) if r.profit_basis == "margin" else profit))
        net = max(net, self.money(exact(r.minimum_charge)))
        at_cost = [line for line in r.lines if line.at_cost and line.of != "price"]
        net += sum(self.own(line, hours, days, sums) for line in at_cost)
        of_price = [line for line in r.lines if line.of == "price"]
        net += sum(self.own(line, hours, days, {"price": net}) for line in of_price)
        return net + self.money(net * exact(r.price_tax))


@pytest.mark.parametrize("tens", range(20))
def test_two_hundred_bids_agree_with_exact_fractions(tens):
    for seed in range(10 * tens, 10 * tens + 10):
        lots, catalogue, rates = drawn(seed)
        found, by_hand = estimate(lots, catalogue, rates), ByHand(lots, catalogue, rates)
        amounts = {line.id: exact(line.amount) for line in found.price}
        assert amounts["material"] == by_hand.material(), seed
        assert amounts["labour"] == by_hand.labour()[1], seed
        assert amounts["price"] == by_hand.price(), seed
        assert exact(found.retention) == by_hand.money(by_hand.price() * exact(rates.retention)), seed
        for shares in (found.rooms, found.systems):
            assert sum(exact(share.price) for share in shares) == amounts["price"], seed
        printed = cost_lines(found, catalogue, Display(currency=catalogue.currency))
        texts = [printed.columns[-1].text(row[-1]).replace(",", "") for row in printed.rows]
        assert sum(map(exact, texts)) == amounts["price"], seed
        steps = [line.id for line in found.price]
        direct = found.price[: steps.index("direct")]
        assert sum(exact(line.amount) for line in direct) == amounts["direct"], seed
        above = found.price[steps.index("direct") : steps.index("net_price")]
        assert sum(exact(line.amount) for line in above) == amounts["net_price"], seed
