"""Whole packs: the cheapest combination that covers a need, bought once for the whole job."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from takeoff import units
from takeoff.errors import CatalogueError
from takeoff.model.costs import MaterialLine, MaterialNeed, PackCount
from takeoff.model.cut_lists import CutPlan, MatLayout, StockPlan
from takeoff.model.systems import Catalogue, Pack, Product
from takeoff.system.cutting import cut_rolls, cut_stock
from takeoff.system.packing import EFFORT
from takeoff.system.words import METRIC_FIRST, Words
from takeoff.units.money import add, rounded

SLACK = 1e-9
"""Relative play that keeps a float's last digits from adding a pack."""


def cheapest_packs(needed: float, packs: Sequence[Pack], *, colour_pack: float = 0.0) -> tuple[PackCount, ...]:
    """Find the least-cost whole packs that cover a need; equal costs leave the least over, then open fewest packs.

    The search is exact, by branch and bound. The pack with the lowest price per unit fills what the others leave; of
    any other pack no more are tried than m − 1, where m of them could be swapped for those at no higher cost and no
    more left over. A branch is left when even that lowest price on the rest makes it dearer than the best found.
    ``colour_pack``: price of one colour pack, for packs that take some. Gives them in the order of ``packs``, without
    packs that are not bought; empty where nothing is needed.

    Examples
    --------
    >>> kits = (Pack(name="1 gal", size=1.0, price=90.0), Pack(name="3 gal", size=3.0, price=240.0))
    >>> [(p.count, p.pack) for p in cheapest_packs(7.2, kits)]
    [(2, '1 gal'), (2, '3 gal')]
    >>> [(p.count, p.pack) for p in cheapest_packs(8.2, kits)]
    [(3, '3 gal')]
    """
    if not packs:
        raise CatalogueError("there is no pack to buy", remedy="Give the product at least one pack.")
    for pack in packs:
        if not pack.size > 0.0:
            raise CatalogueError(f'pack "{pack.name}" holds nothing', remedy="Give it a size above zero.")
    need = needed * (1.0 - SLACK)
    if need <= 0.0:
        return ()
    counts = _least_cost(need, packs, [pack.price + pack.colours * colour_pack for pack in packs])
    return tuple(
        PackCount(pack=pack.name, size=pack.size, price=pack.price, count=counts[i])
        for i, pack in enumerate(packs)
        if counts[i]
    )


def _least_cost(need: float, packs: Sequence[Pack], costs: Sequence[float]) -> dict[int, int]:
    best = min(range(len(packs)), key=lambda i: (costs[i] / packs[i].size, -packs[i].size))
    others = [i for i in range(len(packs)) if i != best]
    limits = [
        _limit(packs[i].size, costs[i], packs[best].size, costs[best], math.ceil(need / packs[i].size)) for i in others
    ]
    winner: tuple[float, float, int] | None = None
    counts: dict[int, int] = {}
    stack: list[tuple[dict[int, int], float, float]] = [({}, need, 0.0)]
    while stack:
        tried, rest, spent = stack.pop()
        rest = max(0.0, rest)
        if winner is not None and spent + rest * costs[best] / packs[best].size > winner[0] + 1e-6:
            continue
        if len(tried) < len(others):
            i = others[len(tried)]
            most = min(limits[len(tried)], math.ceil(rest / packs[i].size))
            stack += [({**tried, i: n}, rest - n * packs[i].size, spent + n * costs[i]) for n in range(most, -1, -1)]
            continue
        row = {**tried, best: math.ceil(rest / packs[best].size)}
        cost = sum(n * costs[i] for i, n in row.items())
        size = sum(n * packs[i].size for i, n in row.items())
        score = (round(cost, 6), round(size, 6), sum(row.values()))
        if winner is None or score < winner:
            winner, counts = score, row
    return counts


def buy(
    needs: Sequence[MaterialNeed],
    catalogue: Catalogue,
    *,
    cut_effort: float = EFFORT,
    as_used: bool = False,
    words: Words = METRIC_FIRST,
) -> tuple[MaterialLine, ...]:
    """Buy each product once for the whole job, in whole packs, in the order the steps first ask for it.

    What takes colour is bought for each colour by itself.

    Mat is bought in whole rolls of one kind by a cutting plan over every drop of the job; of several roll sizes the
    cheapest total is taken. Strips with a stock length are bought by what is cut from whole lengths. Each amount is
    rounded to the currency's smallest unit. ``as_used``: take just what is needed at the lowest price per unit of the
    product's packs: no packs, nothing left over.
    """
    groups: dict[tuple[str, str], list[MaterialNeed]] = {}
    for need in needs:
        groups.setdefault((need.product, need.colour), []).append(need)
    if as_used:
        return tuple(
            _used(catalogue.product(id), tuple(group), catalogue.currency, words) for (id, _), group in groups.items()
        )
    return tuple(
        _line(catalogue.product(id), tuple(group), catalogue.currency, cut_effort, words)
        for (id, _), group in groups.items()
    )


def _bought(
    product: Product, needs: tuple[MaterialNeed, ...], needed: float, lines: Sequence[str], **more: Any
) -> MaterialLine:
    colour = needs[0].colour
    return MaterialLine(
        product=product.id,
        name=f"{product.name}, {colour}" if colour else product.name,
        colour=colour,
        unit=product.unit,
        needed=needed,
        arithmetic=tuple(lines),
        needs=needs,
        **more,
    )


def _used(product: Product, needs: tuple[MaterialNeed, ...], currency: str, words: Words) -> MaterialLine:
    needed = math.fsum(need.needed for need in needs)
    colour_price = product.colour_pack or 0.0
    rates = [(p.price + p.colours * colour_price) / p.size for p in product.packs if p.size > 0.0]
    if not rates:
        raise CatalogueError(f'"{product.id}" has no pack to buy', remedy="Give the product at least one pack.")
    said, cost = f"{words.amount(needed, product.unit)} as used.", rounded(needed * min(rates), currency)
    return _bought(product, needs, needed, [said], packs=(), bought=needed, left_over=0.0, colour_packs=0, cost=cost)


def _line(
    product: Product, needs: tuple[MaterialNeed, ...], currency: str, cut_effort: float, words: Words
) -> MaterialLine:
    needed = math.fsum(need.needed for need in needs)
    layouts = [layout for need in needs for layout in need.layouts]
    pieces = [piece for need in needs for piece in need.pieces]
    colour_price = product.colour_pack or 0.0
    cut_plan: CutPlan | None = None
    stock_plan: StockPlan | None = None
    if any(layout.pieces for layout in layouts):
        packs, cut_plan = _rolls(product, layouts, cut_effort, words)
    elif product.stock_length is not None and pieces:
        stock_plan = cut_stock(pieces, stock_length=product.stock_length, effort=cut_effort)
        whole = len(stock_plan.stock) * product.stock_length
        packs = cheapest_packs(whole, product.packs, colour_pack=colour_price)
    else:
        packs = cheapest_packs(needed, product.packs, colour_pack=colour_price)
    colours = {pack.name: pack.colours for pack in product.packs}
    colour_packs = sum(p.count * colours[p.pack] for p in packs)
    bought = math.fsum(p.count * p.size for p in packs)
    amounts = [*(p.count * p.price for p in packs), colour_packs * colour_price]
    cost = add(rounded(amount, currency) for amount in amounts)
    lines = [f"{len(needs)} {'step needs' if len(needs) == 1 else 'steps need'} {words.amount(needed, product.unit)}."]
    if cut_plan is not None:
        lines += cut_words(cut_plan, words)
    if stock_plan is not None:
        lines += stock_words(stock_plan, words)
    lines.append(
        " + ".join(f"{p.count} × {p.pack} at {units.format_money(p.price, currency)}" for p in packs)
        or "Nothing to buy."
    )
    if colour_packs:
        lines.append(f"{colour_packs} colour packs at {units.format_money(colour_price, currency)}.")
    left = max(0.0, bought - needed)
    lines.append(f"Bought {words.amount(bought, product.unit)}, left over {words.amount(left, product.unit)}.")
    lines.append(f"Cost {units.format_money(cost, currency)}.")
    return _bought(
        product, needs, needed, lines, packs=packs, bought=bought, left_over=left, colour_packs=colour_packs, cost=cost,
        cut_plan=cut_plan, stock_plan=stock_plan,
    )  # fmt: skip


def cut_words(plan: CutPlan, words: Words) -> list[str]:
    """Say how the drops of a job come out of rolls: cuts, reuse, bound, waste, laps."""
    beside = sum(len(cut.beside) for roll in plan.rolls for cut in roll.cuts)
    cuts = sum(len(roll.cuts) for roll in plan.rolls)
    drops = cuts + beside + len(plan.reused)
    rolls = "1 roll" if len(plan.rolls) == 1 else f"{len(plan.rolls)} rolls"
    lines = [f"{drops} drops in {cuts} cuts across {rolls} of {words.length(plan.roll_length)}."]
    if beside or plan.reused:
        pieces = "1 narrow or short piece" if beside == 1 else f"{beside} narrow or short pieces"
        lines.append(f"{pieces} cut beside others, {len(plan.reused)} from openings cut out of drops.")
    bound = f"no plan for these cuts takes fewer than {plan.lower_bound}"
    if plan.gap:
        bound += f", so {plan.gap} fewer {'is' if plan.gap == 1 else 'are'} not ruled out"
    lines.append(f"Longest first, nothing reused: {plan.first_fit}; {bound}.")
    lines.append(
        f"Waste {words.area(plan.waste_area)}, {plan.waste * 100:.1f} % of what is bought; laps"
        f" {words.area(plan.lap_area)} on {words.length(plan.lap_length)} of joints."
    )
    return lines


def stock_words(plan: StockPlan, words: Words) -> list[str]:
    """Say how strips come out of stock lengths: pieces, joints, bound, waste."""
    count = sum(len(length.pieces) for length in plan.stock)
    lengths = "1 length" if len(plan.stock) == 1 else f"{len(plan.stock)} lengths"
    joints = f", {plan.joints} joints in longer pieces" if plan.joints else ""
    bound = f"no plan takes fewer than {plan.lower_bound}"
    return [
        f"{count} pieces from {lengths} of {words.length(plan.stock_length)}{joints}.",
        f"Longest first: {plan.first_fit}; {bound}. Waste {words.length(plan.waste_length)}.",
    ]


def _rolls(
    product: Product, layouts: Sequence[MatLayout], cut_effort: float, words: Words
) -> tuple[tuple[PackCount, ...], CutPlan]:
    """Choose the roll whose whole rolls cost least for these drops; the least bought on equal cost."""
    width = product.width or 0.0
    longest = max(drop.length for layout in layouts for drop in layout.pieces)
    fitting = [pack for pack in product.packs if width > 0.0 and pack.size / width * (1.0 + SLACK) >= longest]
    if not fitting:
        raise CatalogueError(
            f'no roll of "{product.id}" is long enough for a drop of {words.length(longest)}',
            remedy="Add a longer roll, or split the wall where a lift ends.",
        )
    offers = []
    for pack in fitting:
        plan = cut_rolls(layouts, roll_length=pack.size / width, effort=cut_effort)
        count = PackCount(pack=pack.name, size=pack.size, price=pack.price, count=len(plan.rolls))
        offers.append((count, plan))
    count, plan = min(offers, key=lambda offer: (offer[0].count * offer[0].price, offer[0].count * offer[0].size))
    return (count,), plan


def _limit(size: float, cost: float, best_size: float, best_cost: float, most: int) -> int:
    """Return the most of a pack worth trying: fewer than m that the best pack replaces for less, or for the same."""
    for m in range(1, most + 1):
        swap = math.ceil(m * size / best_size * (1.0 - SLACK))
        saved = m * cost - swap * best_cost
        is_same_size = math.isclose(swap * best_size, m * size, rel_tol=SLACK)
        if saved > 1e-6 or (is_same_size and saved > -1e-6 and swap <= m):
            return m - 1
    return most
