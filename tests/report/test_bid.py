"""The bid: what is in it, what it adds up to, and that nothing of costs is in any of its files."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterator
from dataclasses import fields, replace
from datetime import date, datetime
from html.parser import HTMLParser
from pathlib import Path
from typing import get_args

import openpyxl
import pypdf
import pytest

from takeoff import actions
from takeoff.actions.quantities import Priced
from takeoff.actions.reports import report_content
from takeoff.estimate.alternates import AlternateRow, Comparison
from takeoff.estimate.days.works import DayPlan, PlannedWork, RoomReady
from takeoff.job.edits import PutRoom
from takeoff.model.open_points import OpenPoint, Where
from takeoff.model.systems import Catalogue
from takeoff.report.bid import Bid, alternates_of_bid, make_bid, price_of_bid
from takeoff.report.content import ReportContent
from takeoff.report.files import write_whole
from takeoff.report.html import bid_html, report_html
from takeoff.report.kinds import ReportOrder, kinds_named
from takeoff.report.letterhead import Letterhead, PriceBy
from takeoff.report.pdf import bid_pdf, report_pdf
from takeoff.report.plan_names import assumed_words
from takeoff.report.tables import price_table
from takeoff.report.workbook import bid_workbook, report_workbook
from tests.jobs import AT, sample_on
from tests.report.page_texts import page_texts

LOGO = b'<svg xmlns="http://www.w3.org/2000/svg" width="9" height="4"><rect width="9" height="4"/></svg>'
HEAD = Letterhead(
    company=("Sample Wall Coatings", "1 Example Street"),
    logo=LOGO,
    prepared_by="Estimating",
    to=("Example Builders", "2 Example Road"),
    site=("3 Example Lane",),
    number="B-14",
    addenda=("Addendum 1",),
    payment=("Invoices are paid within 21 days.",),
    exclusions=("Work on Sundays.",),
    qualifications=("Price holds for 30 days.",),
)
ORDER = ReportOrder(edition="bid", letterhead=HEAD)
WORDS = (
    "overhead", "profit", "contingency", "margin", "markup", "wage", "burden", "man-hour", "man-days", "labour", "cost",
    "packs", "pack of", "left over", "cut list", "draws", "p80", "uncertainty", "mobilis",
)  # fmt: skip
"""What an owner is never told."""
RATES = {
    "wage": 41.37, "burden": 0.3173, "setup_hours": 11.83, "access_per_day": 147.91, "freight": 817.53,
    "material_tax": 0.0827, "contingency": 0.0417, "overhead": 0.1319, "profit": 0.1173, "price_tax": 0.0613,
}  # fmt: skip
"""Rates that no length or area of the job happens to equal."""
DRAWN = {"d", "points", "viewbox", "x", "y", "x1", "x2", "y1", "y2", "cx", "cy", "r", "rx", "ry", "width", "height",
         "transform", "stroke-width", "stroke-dasharray", "font-size", "opacity", "data-whole"}  # fmt: skip
"""Attributes that are coordinates of drawings."""


@pytest.fixture(scope="module")
def sample(tmp_path_factory: pytest.TempPathFactory) -> tuple[ReportContent, Priced, Comparison, DayPlan]:
    with sample_on(tmp_path_factory.mktemp("bid") / "job.takeoff", name="Sample dairy") as store:
        own = actions.catalogue_of(store.job)
        catalogue = replace(
            own,
            rates=replace(own.rates, **RATES),
            products=tuple(
                replace(p, packs=tuple(replace(pack, price=round(pack.price * 1.0373, 2)) for pack in p.packs))
                for p in own.products
            ),
        )
        priced = actions.make_estimate(store.job, catalogue=catalogue)
        compared = actions.compare_alternates(store.job, ["sheet-panel"], catalogue=catalogue)
        days = actions.plan_job(priced, start=date(2026, 3, 9), effort=0.0)
        return report_content(store, priced, ORDER, at=AT), priced, compared, days


@pytest.fixture(scope="module")
def bid(sample: tuple[ReportContent, Priced, Comparison, DayPlan]) -> Bid:
    content, _, compared, days = sample
    return make_bid(content, price_by="room", alternates=compared, days=days)


@pytest.fixture(scope="module")
def files(bid: Bid, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Every file of the bid with a price for each room."""
    folder = tmp_path_factory.mktemp("files")
    for kind in kinds_named("pdf", "html", "xlsx", "csv"):
        for name, data in kind.write(bid).items():
            write_whole(folder / name, data)
    return folder


def costs_of(content: ReportContent, priced: Priced, compared: Comparison) -> dict[str, float]:
    """Every figure of the job that is the contractor's own, by what it is."""
    e = content.estimate
    told = {"net_price", "tax", "price"}
    found = {f"line {p.id}": p.amount for p in e.price if p.id not in told}
    found |= {f"cost of {m.name}": m.cost for m in e.materials}
    found |= {f"pack of {m.name}": p.price for m in e.materials for p in m.packs}
    found |= {f"labour {i}": x.cost for i, x in enumerate(e.labour)}
    found |= {f"{share.id} {kind}": getattr(share, kind) for share in (*e.rooms, *e.systems) for kind in
              ("material", "labour")}  # fmt: skip
    found |= {f"rate {name}": value for name, value in RATES.items()}
    found |= {f"rate {name} in %": value * 100.0 for name, value in RATES.items() if value < 1.0}
    found |= {"man-hours": e.hours, "crew days": e.crew_days}
    found |= {f"{row.kind} {row.id} of an alternate": value for row in compared.rows for value in row.values
              if value is not None and (row.kind, row.id) not in {("price", t) for t in told}
              and row.id not in ("net_area",) and row.unit == e.currency}  # fmt: skip
    assert len({f.name for f in fields(priced.rates)} & set(RATES)) == len(RATES)
    return {name: value for name, value in found.items() if value > 2.0 and round(value, 2) != round(value)}


def numbers(text: str) -> set[float]:
    """Numbers in a text, thousands separators and all, to the cent."""
    return {round(float(n.replace(",", "")), 2) for n in re.findall(r"\d[\d,]*(?:\.\d+)?", text)}


def leaks(text: str, costs: dict[str, float]) -> list[str]:
    seen = numbers(text)
    words = [word for word in WORDS if word in text.lower()]
    return words + [name for name, value in costs.items() if round(value, 2) in seen]


class Texts(HTMLParser):
    """What a page says: its texts and attributes, but for scripts, styles and coordinates of drawings."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.parts: list[str] = []
        self._code = 0
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._code += tag in ("script", "style")
        self.parts += [v for name, v in attrs if v and name not in DRAWN and not v.startswith("data:")]

    def handle_endtag(self, tag: str) -> None:
        self._code -= tag in ("script", "style")

    def handle_data(self, data: str) -> None:
        if not self._code:
            self.parts.append(data)

    def handle_comment(self, data: str) -> None:
        self.parts.append(data)


def html_texts(path: Path) -> str:
    return "\n".join(Texts(path.read_text(encoding="utf-8")).parts)


def pdf_texts(path: Path) -> str:
    """Texts of all pages, descriptions of pictures, bookmarks' file properties and XMP."""
    reader = pypdf.PdfReader(path)
    assert not reader.attachments
    parts = page_texts(path)
    parts += [str(value) for value in (reader.metadata or {}).values()]
    for number in range(1, len(reader.xref[0]) + len(reader.xref_objStm) + 1):
        found = reader.get_object(number) if number in reader.xref[0] or number in reader.xref_objStm else None
        if isinstance(found, pypdf.generic.DictionaryObject):
            parts += [str(found[key]) for key in ("/Alt", "/ActualText", "/Title", "/Contents") if key in found]
            if found.get("/Subtype") == "/XML":
                parts.append(found.get_data().decode("utf-8"))
    return "\n".join(parts)


def book_texts(path: Path) -> str:
    """Every cell as formula and as value, notes, names and properties, and the texts as they lie in the file."""
    parts: list[str] = []
    for only_values in (False, True):
        book = openpyxl.load_workbook(path, data_only=only_values)
        for sheet in book.worksheets:
            parts.append(sheet.title)
            for row in sheet.iter_rows():
                parts += [str(cell.value) for cell in row if cell.value is not None]
                parts += [cell.comment.text for cell in row if cell.comment]
        parts += [str(name) for name in book.defined_names]
        parts += [str(getattr(book.properties, name)) for name in ("title", "subject", "creator", "keywords",
                  "description", "category", "lastModifiedBy")]  # fmt: skip
        parts += [str(p.value) for p in book.custom_doc_props.props]
    with zipfile.ZipFile(path) as archive:
        parts += [archive.read(name).decode() for name in archive.namelist() if "docProps" in name or "Strings" in name]
    return "\n".join(parts)


def texts_of(folder: Path, name: str) -> Iterator[tuple[str, str]]:
    yield f"{name}.pdf", pdf_texts(folder / f"{name}.pdf")
    yield f"{name}.html", html_texts(folder / f"{name}.html")
    yield f"{name}.xlsx", book_texts(folder / f"{name}.xlsx")


def test_no_file_of_a_bid_has_a_cost_rate_hour_or_pack_of_the_job(sample, files):
    content, priced, compared, _ = sample
    costs = costs_of(content, priced, compared)
    assert len(costs) > 150
    for name, text in texts_of(files, "bid"):
        assert leaks(text, costs) == [], name
    for path in files.glob("bid-*.csv"):
        assert leaks(path.read_text(encoding="utf-8-sig"), costs) == [], path.name


def test_the_same_search_finds_the_costs_in_every_file_of_the_full_report(sample, tmp_path):
    content, priced, compared, _ = sample
    costs = costs_of(content, priced, compared)
    write_whole(tmp_path / "report.pdf", report_pdf(replace(content, pictures=(), elevations=())))
    write_whole(tmp_path / "report.html", report_html(content))
    write_whole(tmp_path / "report.xlsx", report_workbook(content))
    for name, text in texts_of(tmp_path, "report"):
        found = leaks(text, costs)
        assert len(found) > 80, name
        assert {"overhead", "profit", "line direct", "man-hour"} <= set(found), name


def test_a_bid_holds_no_value_that_costs_could_be_read_from():
    names = {f.name for f in fields(Bid)}
    assert names.isdisjoint({"estimate", "catalogue", "planning", "points"})
    assert {f.name for f in fields(ReportContent)} > {"estimate", "catalogue", "planning", "points"}


def test_nothing_in_the_workbook_is_hidden_and_only_totals_are_formulas(files, bid):
    book = openpyxl.load_workbook(files / "bid.xlsx")
    assert [s.title for s in book.worksheets] == [
        "Bid", "Scope of work", "Price", "Unit prices", "Alternates", "Days on site", "Wall systems", "Terms"
    ]  # fmt: skip
    for sheet in book.worksheets:
        assert sheet.sheet_state == "visible"
        assert not any(d.hidden for d in (*sheet.row_dimensions.values(), *sheet.column_dimensions.values()))
        formulas = {cell.row for row in sheet.iter_rows() for cell in row if cell.data_type == "f"}
        assert len(formulas) <= 1
    assert book.properties.creator == "Estimating"
    assert [row[0].value for row in book["Bid"].iter_rows(min_row=2)][:9] == [
        "Company", "Company", "Job", "To", "To", "Site", "Bid number", "Date", "Addenda received"
    ]  # fmt: skip
    assert book["Price"].cell(len(bid.price.rows) + 2, 3).value == f"=SUM(C2:C{len(bid.price.rows) + 1})"


def test_the_logo_stands_beside_the_first_lines_of_the_workbook_and_is_printed_with_them(files, bid, tmp_path):
    book = openpyxl.load_workbook(files / "bid.xlsx")
    first = book["Bid"]
    (picture,) = first._images
    corner = picture.anchor._from
    assert (corner.row, corner.col) == (1, first.max_column), "below the headings, right of the texts"
    assert first.print_area.endswith(f"$C${first.max_row}")
    with zipfile.ZipFile(files / "bid.xlsx") as parts:
        drawing = next(parts.read(n).decode() for n in parts.namelist() if n.startswith("xl/drawings/drawing"))
    assert 'descr="Logo Sample Wall Coatings"' in drawing
    plain = io.BytesIO(bid_workbook(replace(bid, letterhead=Letterhead())))
    assert openpyxl.load_workbook(plain)["Bid"]._images == []


@pytest.mark.parametrize("by", get_args(PriceBy))
def test_the_parts_of_the_price_add_up_to_it_to_the_cent(sample, by):
    content = sample[0]
    table = price_of_bid(content.estimate, content.display, by)
    price = content.estimate.line("price").amount
    assert table.total is not None
    assert table.total[-1] == price
    assert sum(row[-1] for row in table.rows) == pytest.approx(price, abs=0.004)
    # the tax of these rates, 6.13 % of the price before it, is told in every form
    shown = table.note + " ".join(table.columns[-1].text(row[-1]) for row in table.rows)
    assert f"{content.estimate.line('tax').amount:,.2f}" in shown


def test_the_scope_sums_to_the_measured_walls_but_for_those_that_are_not_coated(sample, bid):
    content = sample[0]
    area = content.display.area_number
    at = [c.title for c in bid.scope.columns].index("Walls, net")
    by_room = {item.label: area(item.quantities.net_area) for item in content.by_room.items}
    walls = {row[0]: row[at] for row in bid.scope.rows}
    assert set(walls) == set(by_room)
    assert walls.pop("108 Receiving") == ""  # cove alone
    by_room.pop("108 Receiving")
    assert walls == pytest.approx(by_room)
    assert bid.scope.total is not None
    assert bid.scope.total[at] == pytest.approx(sum(by_room.values()))
    assert bid.scope.total[at] == pytest.approx(area(content.estimate.net_area))


def test_walls_without_a_system_are_not_in_the_scope_and_said_to_be_left_out(tmp_path):
    with sample_on(tmp_path / "job.takeoff", name="Sample dairy") as store:
        store.do(PutRoom(room=replace(store.job.rooms["R101"], system=None)))
        priced = actions.make_estimate(store.job)
        made = make_bid(report_content(store, priced, at=AT))
    assert "101 Corridor" not in [row[0] for row in made.scope.rows]
    assert "101 Corridor" not in str(made.price)
    assert made.exclusions[0] == "Walls that the marked plans show without a system."
    page = bid_html(made).decode()
    assert "not in this bid" in page
    assert 'href="#scope"' in page


def test_a_room_that_cannot_be_measured_is_not_included_and_nothing_is_assumed_of_it(tmp_path):
    with sample_on(tmp_path / "job.takeoff", name="Sample dairy") as store:
        store.do(PutRoom(room=replace(store.job.rooms["R102"], height=None)))
        made = make_bid(report_content(store, actions.make_estimate(store.job), at=AT))
    assert made.exclusions[0] == "102 Gowning: 1 wall not measured."
    assert not any("102 Gowning" in text for text in made.qualifications)


def test_an_alternate_is_what_it_adds_to_the_price_or_deducts():
    row = AlternateRow(kind="price", id="price", label="Price", unit="USD", values=(1000.0, 1250.5, 900.0, 1000.0))
    table = alternates_of_bid(
        Comparison(currency="USD", names=("As in the job", "A", "B", "C"), rows=(row,), notes=("Only A takes: mat.",))
    )
    assert table.rows == (("A", "Add", 250.5), ("B", "Deduct", 100.0), ("C", "No change", 0.0))
    assert "mat" not in table.note


def test_days_are_dates_where_the_first_is_known_and_else_working_days_counted(sample):
    content, *_ = sample

    def work(room: str, start: datetime, end: datetime) -> PlannedWork:
        return PlannedWork(work=room, room=room, step="x", name="x", kind="work", start=start, end=end,
                           bars=((start, end),), crews=("1",), reason="")  # fmt: skip

    friday, monday = datetime(2026, 3, 6, 7), datetime(2026, 3, 9, 15)
    plan = DayPlan(
        works=(work("A", friday, friday), work("A", monday, monday), work("B", monday, monday)),
        rooms=(RoomReady(room="A", done=monday, ready=monday), RoomReady(room="B", done=monday, ready=monday)),
        finish=monday, days=2, hours=1.0, bound=1.0, abraded=0, dates=(friday.date(), monday.date()),
    )  # fmt: skip
    dated = make_bid(content, days=plan).days
    counted = make_bid(content, days=plan, first_day=date(2026, 3, 6)).days
    assert dated is not None
    assert counted is not None
    assert dated.rows == (("A", "Fri 2026-03-06", "Mon 2026-03-09"), ("B", "Mon 2026-03-09", "Mon 2026-03-09"))
    assert counted.rows == (("A", "day 1", "day 2"), ("B", "day 2", "day 2"))


def test_what_the_catalogue_says_to_the_estimator_stays_at_home(sample, bid):
    priced: Priced = sample[1]
    catalogue: Catalogue = priced.catalogue
    assert any("example catalogue" in note for note in catalogue.notes)
    assert not any("example catalogue" in text for text in bid.qualifications)
    assert bid.qualifications[-1] == "Price holds for 30 days."
    assert bid.exclusions[-1] == "Work on Sundays."
    assert any("finish on a sample panel" in text for text in bid.qualifications)
    assert bid.cautions
    assert not any("estimate" in text for text in bid.cautions)
    assert {t.title for t in bid.build_up} == {name for _, name in bid.systems}
    assert {c.title for t in bid.build_up for c in t.columns} == {"Step", "Product", "Coats", "Wet", "Dry"}


def test_the_printed_bid_is_tagged_and_has_its_parts_in_order(files):
    reader = pypdf.PdfReader(files / "bid.pdf")
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert reader.metadata is not None
    assert (reader.metadata.title, reader.metadata.author) == ("Sample dairy", "Sample Wall Coatings")
    titles = [str(item.title) for item in reader.outline if not isinstance(item, list)]
    assert [re.sub(r"^\d+ ", "", t) for t in titles] == [
        "Scope of work", "Price", "Payment and how long this bid holds", "Days on site", "Wall systems",
        "What is not included", "Qualifications", "Safety", "Signatures", "Marked plans", "Developed elevations",
    ]  # fmt: skip
    first = page_texts(files / "bid.pdf")[0]
    assert "Sample Wall Coatings" in first
    assert "Price" in first


def test_the_bid_says_to_whom_it_goes_for_what_and_how_it_is_paid_and_no_id_of_a_wall(bid, files, sample):
    content, priced, _, _ = sample
    printed = " ".join(page_texts(files / "bid.pdf"))
    for text in (printed, " ".join(html_texts(files / "bid.html").split())):
        for words in ("Example Builders", "3 Example Lane", "B-14", "Addendum 1", "Invoices are paid within 21 days."):
            assert words in text
        assert "This bid holds for 30 days from its date, until 2026-04-01." in text  # 2026-03-02 and 30 days
        assert "4'-0\" high, not to the ceiling" in text
        assert not [run for run in {e.run for e in content.elevations} if run in text]
    thin = next(share for share in priced.estimate.systems if share.label == "Thin-film epoxy wall")
    per_foot = round(thin.price / round(thin.area / 0.09290304, 1), 2)  # 1 sf = 0.09290304 m² (NIST SP 811)
    assert ("Thin-film epoxy wall", "per sf", per_foot) in bid.unit_prices.rows


def test_every_link_of_the_page_has_its_place_and_names_of_systems_stand_in_the_legend(bid, files):
    page = (files / "bid.html").read_text(encoding="utf-8")
    places = set(re.findall(r'\bid="([^"]+)"', page))
    assert set(re.findall(r'href="#([^"]+)"', page)) <= places
    legend = re.findall(r"</svg> ([^<]+)</label>", page)
    assert set(legend) == {name for _, name in bid.systems}
    assert not any(id in html_texts(files / "bid.html") for id, _ in bid.systems)


def test_names_that_mean_harm_stay_texts_in_every_file_of_a_bid(hostile, tmp_path):
    made = make_bid(replace(hostile, letterhead=replace(HEAD, company=(hostile.job,))))
    page = bid_html(made).decode()
    assert page.count("<script>") == 1
    assert "<img src=x" not in page
    book = openpyxl.load_workbook(io.BytesIO(bid_workbook(made)))
    formulas = [c.value for s in book.worksheets for row in s.iter_rows() for c in row if c.data_type == "f"]
    assert all(re.fullmatch(r"=SUM\([A-Z]2:[A-Z]\d+\)", f) for f in formulas)
    assert pypdf.PdfReader(io.BytesIO(bid_pdf(made))).metadata.title == hostile.job


def test_retention_is_told_and_not_taken_off_the_price(sample):
    content, _, _, _ = sample
    late = replace(content, estimate=replace(content.estimate, retention=5310.0))
    assert "Of the price USD 5,310.00 is retention" in price_table(late.estimate, late.display).note
    made = make_bid(late)
    assert "Of the price USD 5,310.00 may be kept back as retention." in made.payment
    assert made.price.total == make_bid(content).price.total
    assert not any("retention" in line for line in make_bid(content).payment)


def test_what_is_assumed_names_systems_and_walls_and_no_id(sample):
    content, _, _, _ = sample
    where = Where(sheet=1, on="A-101", inside="103 Wash")
    point = OpenPoint(key="a", kind="outline", group="", where=where, what="", taken="", why="", settle="")

    def said(text: str) -> str:
        return assumed_words([replace(point, assumes=text)], content)[0]

    name = "Reinforced wall, epoxy glaze and urethane"
    assert said("103 Wash takes the system mat-urethane.") == f"103 Wash takes the system {name}."
    walls = "The walls of 103 Wash, wall 5 (top of plan) and wall 6 (bottom of plan) are measured as marked."
    assert said("The walls of wall B of 103 Wash are measured as marked.") == walls
    assert said("Wall of 101 Corridor is as drawn.") == "101 Corridor, walls 1 to 4 is as drawn."
    (bare,) = assumed_words([replace(point, why="No height is printed.")], content)
    assert bare == "A-101, 103 Wash: No height is printed."
