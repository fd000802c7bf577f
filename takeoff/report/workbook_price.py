"""The sheets of the workbook that recalculate: rates, packs, labour, and the way from direct cost to the price.

Formulas follow `takeoff.estimate.price` line by line, rounded where that rounds. What a spreadsheet cannot
follow stays as estimated and says so: which packs are bought, and how the price is shared among rooms.
"""

from __future__ import annotations

from collections.abc import Sequence

from takeoff.estimate.bill import OWN
from takeoff.estimate.labour import burdened_rate
from takeoff.model.costs import MaterialLine, SiteDays
from takeoff.report.book import Book, CellValue, Formula, form_with, live_sum
from takeoff.report.content import ReportContent
from takeoff.report.tables import amounts, labour_table, material_table, numbers, price_table, shown_amount, texts
from takeoff.report.workbook_walls import Lots, pack_counts
from takeoff.system.bases import counts_wall_area
from takeoff.units.money import places_of, rounded

RATES = "Rates"


def add_rates(book: Book, content: ReportContent) -> None:
    """Add the sheet of inputs; each is a name that formulas use."""
    r, money = content.rates, content.estimate.currency
    wage = burdened_rate(r) / (1.0 + r.burden)
    mean = ", mean of the crew with fringe and overtime" if r.people or r.overtime_after is not None else ""
    hour, part, amount = f"{money}/h", "0.00%", form_with(places_of(money))
    rows: list[tuple[str, str, float | str, str, str]] = [
        ("wage", "Wage", wage if mean else r.wage, hour + mean, amount),
        ("burden", "Burden on the wage", r.burden, "of the wage", part),
        ("crew", "Crew", r.crew, "people", "0"),
        ("shift_hours", "Shift", r.shift_hours, "h", "0.0"),
        ("setup_hours", "Set-up and clean-up", r.setup_hours, "man-hours for the job", "0.0"),
        ("access_per_day", "Access", r.access_per_day, f"{money} for each day that it stands", amount),
        ("freight", "Freight", r.freight, f"{money} for the job", amount),
        ("material_tax", "Tax on material", r.material_tax, "of material", part),
        ("contingency", "Contingency", r.contingency, "of direct cost", part),
        ("overhead", "Overhead", r.overhead, "of direct cost and contingency", part),
        ("profit", "Profit", r.profit, "on the basis below", part),
        ("profit_basis", "Profit is a", r.profit_basis, "markup on cost, or margin of the price before tax", ""),
        ("minimum_charge", "Minimum charge", r.minimum_charge, money, amount),
        ("price_tax", "Tax on the price", r.price_tax, "of the price before tax", part),
    ]
    sheet = book.sheet(RATES)
    for c, (title, width) in enumerate((("Rate", 24), ("Value", 14), ("Unit", 50))):
        sheet.write_string(0, c, title, book.head)
        sheet.set_column(c, c, width)
    for i, (name, title, value, unit, form) in enumerate(rows, start=1):
        sheet.write_string(i, 0, title, book.wrapped)
        look = book.number(form or "@", is_input=True)
        book.put(sheet, i, 1, value, look, look)
        sheet.write_string(i, 2, unit, book.beside)
        book.book.define_name(name, f"={RATES}!$B${i + 1}")
        if name == "profit_basis":
            sheet.data_validation(i, 1, i, 1, {"validate": "list", "source": ["markup", "margin"]})
        elif form == part:
            rule = {"validate": "decimal", "criteria": "between", "minimum": 0, "maximum": 10}
            sheet.data_validation(i, 1, i, 1, {**rule, "error_message": "A fraction such as 12%."})
        else:
            sheet.data_validation(i, 1, i, 1, {"validate": "decimal", "criteria": ">=", "value": 0})
    hint = "Yellow cells are inputs, here and on the other sheets: change one and prices follow."
    sheet.write_string(len(rows) + 2, 0, hint)
    sheet.freeze_panes(1, 1)
    sheet.print_area(0, 0, len(rows) + 2, 2)


def add_materials(book: Book, content: ReportContent, lots: Lots) -> None:
    """Add the products, what steps take of them, and the packs that cost least for it."""
    e, display = content.estimate, content.display
    places = places_of(e.currency)
    pack_columns = (
        *texts("Product", "Pack"),
        *numbers("Count", decimals=0),
        *amounts("Price", unit=f"{e.currency} a pack"),
        *amounts("Cost", unit=e.currency),
        *numbers("Holds", decimals=3),
        *texts("Unit", "Follows"),
    )
    table = material_table(e, display)
    packs: list[Sequence[CellValue]] = []
    spans = [_packs_of(content, m, f"Materials!$B${r}", packs) for r, m in enumerate(e.materials, start=2)]
    rows: list[Sequence[CellValue]] = []
    for (first, last), cells, m, needs in zip(spans, table.rows, e.materials, lots.needs, strict=True):
        r = len(rows) + 2
        name, need, words, bought, left, unit, colours, _ = cells
        live: CellValue = Formula(text=needs, value=float(need)) if m.needs else need
        if last < first:
            cost = Formula(text=f"ROUND(B{r}*{m.cost / float(need) if need else 0.0!r},{places})", value=m.cost)
            rows.append((name, live, words, live, left, unit, colours, cost))
            continue
        span = f"{first}:{{0}}{last}"
        total = Formula(text=f"SUMPRODUCT(Packs!C{span.format('C')},Packs!F{span.format('F')})", value=float(bought))
        over = Formula(text=f"D{r}-B{r}", value=float(left))
        cost = Formula(text=f"SUM(Packs!E{span.format('E')})", value=m.cost)
        colour: CellValue = Formula(text=f"Packs!C{last}", value=float(colours)) if m.colour_packs else colours
        rows.append((name, live, words, total, over, unit, colour, cost))
    total_cost = sum(m.cost for m in e.materials)
    book.table(
        "Materials",
        table.columns,
        rows,
        total=_total(len(table.columns), {len(table.columns) - 1: total_cost}, len(rows)),
        note="The words under Buy are as estimated; the counts that follow are on the sheet Packs.",
    )
    note = (
        "Packs are the cheapest mix for the need at these prices. Where Follows names the cut list, the count does not "
        "follow: plan the cuts again with the program after a height or length has changed."
    )
    book.table("Packs", pack_columns, packs, total=_total(8, {4: total_cost}, len(packs)), inputs=(3,), note=note)
    book.book.define_name("material_cost", f"=Materials!$H${len(rows) + 2}")


def _packs_of(content: ReportContent, m: MaterialLine, need: str, packs: list[Sequence[CellValue]]) -> tuple[int, int]:
    """Add the packs of a product, and its colour packs last; gives its first row and its last."""
    first = len(packs) + 2
    product, currency = content.catalogue.product(m.product), content.estimate.currency
    places = places_of(currency)
    bought = {p.pack: p for p in m.packs}
    is_cut = m.cut_plan is not None or m.stock_plan is not None
    sold = sorted(product.packs, key=lambda pack: -pack.size)
    follows = not is_cut and len(sold) <= 2 and bool(m.packs)
    listed = sold if follows else [pack for pack in sold if pack.name in bought]
    colour = first + len(listed)
    costs = [f"(D{r}+{p.colours}*D{colour})" if m.colour_packs else f"D{r}" for r, p in enumerate(listed, start=first)]
    sizes = [shown_amount(pack.size, m.unit, content.display) for pack in listed]
    shown = [(size, cost) for (size, _), cost in zip(sizes, costs, strict=True)]
    live = pack_counts(need, shown, first) if follows else []
    why = "" if follows else "by the cut list: does not follow" if is_cut else "more than two sizes: does not follow"
    for i, (pack, (size, unit)) in enumerate(zip(listed, sizes, strict=True)):
        r, count = first + i, bought[pack.name].count if pack.name in bought else 0
        cost = Formula(text=f"ROUND(C{r}*D{r},{places})", value=rounded(count * pack.price, currency))
        counted: CellValue = Formula(text=live[i], value=count) if follows else count
        packs.append((m.name, pack.name, counted, pack.price, cost, size, unit, why))
    if m.colour_packs:
        terms = "+".join(f"C{first + i}*{pack.colours}" for i, pack in enumerate(listed))
        price = product.colour_pack or 0.0
        cost = Formula(text=f"ROUND(C{colour}*D{colour},{places})", value=rounded(m.colour_packs * price, currency))
        packs.append((m.name, "Colour pack", Formula(text=terms, value=m.colour_packs), price, cost, 0.0, "", ""))
    return first, len(packs) + 1


def add_labour(book: Book, content: ReportContent, lots: Lots) -> None:
    """Add the labour: amount over production rate gives hours, hours at the burdened wage give cost."""
    e, display = content.estimate, content.display
    table, places = labour_table(e, display), places_of(e.currency)
    room, step, amount, unit, hours, cost = table.columns
    rows: list[Sequence[CellValue]] = []
    for r, (line, cells) in enumerate(zip(e.labour, table.rows, strict=True), start=2):
        pace = float(cells[2]) / line.hours if line.hours > 0 else 0.0
        key = (line.room, line.system)
        amount_now = lots.amount(key, line.basis, line.basis_value, float(cells[2]))
        one = next(s for s in content.catalogue.system(line.system).steps if s.id == line.step)
        at_height = one.labour is not None and one.labour.height_factor
        slowed = lots.slowed(key, of_wall=counts_wall_area(one.basis), at_height=at_height)
        time = Formula(text=f"IF(E{r}>0,C{r}/E{r}{slowed},0)", value=line.hours)
        paid = Formula(text=f"ROUND(F{r}*wage*(1+burden),{places})", value=line.cost)
        rows.append((*cells[:2], amount_now, cells[3], pace, time, paid))
    n = len(rows)
    sums = {5: sum(x.hours for x in e.labour), 6: sum(x.cost for x in e.labour)}
    book.table(
        "Labour",
        (room, step, amount, unit, *numbers("Rate", unit="amount/h", decimals=3), hours, cost),
        rows,
        total=_total(7, sums, n),
        note="The rate holds coats, height and cut-up rooms as estimated: hours are amount over rate, and follow "
        "corners, edges and work at height of the walls as they are now.",
        inputs=(4,),
    )
    book.book.define_name("labour_cost", f"=Labour!$G${n + 2}")
    book.book.define_name("line_hours", f"=Labour!$F${n + 2}")


def add_price(book: Book, content: ReportContent) -> None:
    """Add the way from direct cost to the price, each line a formula of the rates and of the lines above it."""
    e = content.estimate
    places, has_work = places_of(e.currency), bool(e.labour or e.materials)
    at = {p.id: f"B{i}" for i, p in enumerate(e.price, start=2)}
    setup = "setup_hours" if has_work else "0"
    cost = f"({at['direct']}+{at['contingency']}+{at['overhead']})"
    lift = f"MAX(0,ROUND(minimum_charge,{places})-({cost}+{at['profit']}))"
    formulas = {
        "material": "material_cost",
        "material_tax": f"ROUND({at['material']}*material_tax,{places})",
        "freight": f"ROUND(freight,{places})" if e.materials else "0",
        "labour": "labour_cost",
        "setup": f"ROUND({setup}*wage*(1+burden),{places})",
        "access": f"ROUND({e.access_days or 'ROUNDUP(crew_days-0.000000001,0)'}*access_per_day,{places})",
        "contingency": f"ROUND({at['direct']}*contingency,{places})",
        "overhead": f"ROUND(({at['direct']}+{at['contingency']})*overhead,{places})",
        "profit": f'ROUND({cost}*IF(profit_basis="margin",profit/(1-profit),profit),{places})',
        "minimum": f"ROUND({lift},{places})" if has_work else "0",
        "net_price": f"ROUND({cost}+{at['profit']}+{at['minimum']},{places})",
        "tax": f"ROUND({at['net_price']}*price_tax,{places})",
        "price": f"ROUND({at['net_price']}+{at['tax']},{places})",
    }
    if e.site is not None:
        formulas |= _site_formulas(e.site, places)
    own = [p.id for p in e.price if p.id.startswith(OWN)]
    first = [p.id for p in e.price]
    last_direct = first[first.index("direct") - 1]
    formulas["direct"] = f"SUM({at['material']}:{at[last_direct]})"
    over = "+".join(at[id] for id in own if first.index(id) > first.index("direct"))
    if over:
        formulas["net_price"] = f"ROUND({cost}+{at['profit']}+{at['minimum']}+{over},{places})"
    table = price_table(e, content.display)
    rows: list[Sequence[CellValue]] = [
        (p.label, Formula(text=formulas[p.id], value=p.amount) if p.id in formulas else p.amount) for p in e.price
    ]
    sheet = book.table("Price", table.columns, rows)
    n = len(rows)
    hours: CellValue = Formula(text=f"line_hours+{setup}", value=e.hours) if e.site is None else e.hours
    per_crew = Formula(text="labour_hours/(crew*shift_hours)", value=e.crew_days)
    days: CellValue = per_crew if e.site is None else e.crew_days
    coated = "+".join(f"Areas!C{r}" for r, a in enumerate(e.areas, start=2) if a.is_coated)
    area: CellValue = Formula(text=f"SUM({coated})", value=content.display.area_number(e.net_area)) if coated else 0.0
    extra: tuple[tuple[str, str, CellValue, str], ...] = (
        ("labour_hours", "Man-hours", hours, "#,##0.00"),
        ("crew_days", "Crew days", days, "#,##0.00"),
        ("priced_area", f"Net area under systems that coat walls ({content.display.area_unit})", area, "#,##0.0"),
    )
    for r, (name, label, value, form) in enumerate(extra, start=n + 2):
        sheet.write_string(r, 0, label, book.wrapped)
        book.put(sheet, r, 1, value, book.number(form), book.wrapped)
        book.book.define_name(name, f"=Price!$B${r + 1}")
    sheet.set_column(0, 0, 40)
    still = [p.label for p in e.price if p.id not in formulas and p.amount]
    end = n + 1 + len(extra)
    if still:
        end += 2
        book.note(sheet, end, f"As estimated; these lines do not recalculate: {', '.join(still)}.", (40, 14))
    sheet.print_area(0, 0, end, 1)
    book.book.define_name("price_total", f"=Price!${at['price'][0]}${at['price'][1:]}")


def _site_formulas(site: SiteDays, places: int) -> dict[str, str]:
    """Return the formulas of what a plan of days takes: its counts as they are, the rates live."""
    hour = "wage*(1+burden)"
    return {
        "abrading": f"ROUND({site.abrading!r}*crew*{hour},{places})",
        "waiting": f"ROUND({site.waiting!r}*crew*{hour},{places})",
        "setup": f"ROUND({site.phases}*setup_hours*{hour},{places})",
    }


def add_shares(book: Book, content: ReportContent) -> None:
    """Add the price by room: the estimate's shares of whatever the price is now."""
    e, d = content.estimate, content.display
    whole, places = e.line("price").amount, places_of(e.currency)
    rows: list[Sequence[CellValue]] = []
    for r, room in enumerate(e.rooms, start=2):
        share = room.price / whole if whole else 0.0
        live = Formula(text=f"ROUND(C{r}*price_total,{places})", value=room.price)
        rows.append((room.label, d.area_number(room.area), share, live))
    columns = (
        *texts("Room"),
        *numbers("Net coated", unit=d.area_unit),
        *numbers("Share of the price", decimals=6),
        *amounts("Price", unit=e.currency),
    )
    sums = {1: sum(d.area_number(r.area) for r in e.rooms), 2: 1.0 if whole else 0.0, 3: whole}
    book.table(
        "Price by room",
        columns,
        rows,
        total=_total(4, sums, len(rows)),
        note="Shares are those of each room's own direct cost as estimated; they do not recalculate.",
    )


def _total(width: int, values: dict[int, float], count: int) -> list[CellValue]:
    out: list[CellValue] = ["Total", *([""] * (width - 1))]
    for c, value in values.items():
        out[c] = live_sum(c, count, value) if count else 0.0
    return out
